//! Upright figures.

use std::f64::consts::PI;

use scrieve_yardstick::known::{Family, Known};

use super::forms::*;
use crate::floating::{Body, FloatingError, Hydrostatics, NODES, Water, simpson};

/// A hundredth of what the handbook asks of closed forms.
const CLOSED: f64 = 1e-6;

fn at(body: &Body, draught: f64) -> Hydrostatics {
    body.hydrostatics(draught, Water::SEA).unwrap()
}

/// Closed form.
#[test]
fn a_box_is_full_and_its_figures_are_its_sides() {
    let (l, b, t) = (6.0, 2.0, 0.5);
    let h = at(&Body::new(&box_hull(l, b, 0.9)), t);
    for (got, want) in [
        (h.volume, l * b * t),
        (h.mass, 1026.021 * l * b * t),
        (h.lwl, l),
        (h.bwl, b),
        (h.awp, l * b),
        (h.am, b * t),
        (h.cb, 1.0),
        (h.cp, 1.0),
        (h.cm, 1.0),
        (h.cwp, 1.0),
        (h.lcb, l / 2.0),
        (h.lcf, l / 2.0),
        (h.kb, t / 2.0),
        (h.bmt, b * b / (12.0 * t)),
        (h.bml, l * l / (12.0 * t)),
        (h.km, t / 2.0 + b * b / (12.0 * t)),
        (h.wetted_surface, l * b + 2.0 * t * (l + b)),
        (h.lateral.area, l * t),
        (h.lateral.centre[0], l / 2.0),
        (h.lateral.centre[1], t / 2.0),
        (h.immersion, 1.026021 * l * b),
        (h.moment_to_trim, 1.026021 * b * l * l / 12.0),
    ] {
        close(got, want, 1e-10);
    }
}

/// Closed form.
#[test]
fn a_half_immersed_cylinder_has_its_metacentre_on_its_axis() {
    let (l, r) = (5.0, 0.7);
    let h = at(&Body::new(&cylinder(l, r, 0.5)), r);
    for (got, want) in [
        (h.volume, PI * r * r * l / 2.0),
        (h.awp, 2.0 * r * l),
        (h.am, PI * r * r / 2.0),
        (h.cb, PI / 4.0),
        (h.kb, r - 4.0 * r / (3.0 * PI)),
        (h.km, r),
        (h.lcb, l / 2.0),
        (h.wetted_surface, PI * r * l + PI * r * r),
    ] {
        close(got, want, CLOSED);
    }
}

/// Closed form.
#[test]
fn a_wedge_is_half_its_block() {
    let (l, t, slope) = (4.0, 0.6, 1.2);
    let b = 2.0 * slope * t;
    let h = at(&Body::new(&wedge(l, 0.0, slope, 1.0)), t);
    for (got, want) in [
        (h.volume, 0.5 * l * b * t),
        (h.cm, 0.5),
        (h.cp, 1.0),
        (h.kb, 2.0 * t / 3.0),
        (h.bmt, b * b / (6.0 * t)),
        (h.wetted_surface, 2.0 * l * t * (1.0 + slope * slope).sqrt() + b * t),
    ] {
        close(got, want, 1e-10);
    }
}

/// Closed form: a V cut off flat is a trapezium, and its flat keel is wet.
#[test]
fn the_flat_between_the_rabbet_lines_is_counted() {
    let (l, t, s, slope) = (4.0, 0.6, 0.04, 1.2);
    let h = at(&Body::new(&wedge(l, s, slope, 1.0)), t);
    let section = t * (2.0 * s + slope * t);
    close(h.volume, l * section, 1e-10);
    close(h.wetted_surface, 2.0 * l * t * (1.0 + slope * slope).sqrt() + 2.0 * section + 2.0 * s * l, 1e-10);
}

/// Handbook, section 15.
#[test]
fn the_parabolic_hull_has_the_coefficients_of_its_formula() {
    let (l, b, t) = (8.0, 1.8, 0.6);
    let h = at(&Body::new(&parabolic(l, b, t)), t);
    for (got, want) in [
        (h.volume, 4.0 / 9.0 * l * b * t),
        (h.lwl, l),
        (h.bwl, b),
        (h.cb, 4.0 / 9.0),
        (h.cm, 2.0 / 3.0),
        (h.cp, 2.0 / 3.0),
        (h.cwp, 2.0 / 3.0),
        (h.am_x, l / 2.0),
        (h.lcb, l / 2.0),
        (h.lcf, l / 2.0),
        (h.kb, 5.0 * t / 8.0),
        (h.bmt, 3.0 * b * b / (35.0 * t)),
        // ∫x² dA = B L³/30 over ∇.
        (h.bml, 3.0 * l * l / (40.0 * t)),
    ] {
        close(got, want, CLOSED);
    }
}

/// Known hulls integrated column by column from their formula, by Simpson's rule.
#[test]
fn a_boat_displaces_what_her_formula_does() {
    for family in [Family::RakedTransom, Family::DoubleEnder, Family::Tumblehome, Family::ScowBow] {
        let hull = Known::new(family, 7);
        let body = Body::new(&known(&hull, 24));
        let draught = body.lowest + 0.4 * (body.lowest_sheer - body.lowest);
        let h = at(&body, draught);
        let heights = 400;
        let (mut volume, mut moment, mut waterline) = (Vec::new(), Vec::new(), Vec::new());
        let foot = hull.stem_x(hull.stem_heights().0).unwrap_or(0.0);
        for i in 0..=heights {
            let z = body.lowest + (draught - body.lowest) * i as f64 / heights as f64;
            // The rabbet bounds the waterline below, stem and after end beside it.
            let inside = |x: f64| hull.rabbet(x.max(foot)) <= z;
            let (fore, aft) = (fore_end(&hull, z), hull.after_end(z));
            let n = 2000;
            let dx = (aft - fore) / n as f64;
            let (mut area, mut first) = (0.0, 0.0);
            for k in 0..n {
                let x = fore + dx * (k as f64 + 0.5);
                if inside(x) {
                    let y = 2.0 * hull.half_breadth(x, z) * dx;
                    area += y;
                    first += x * y;
                }
            }
            volume.push(area);
            moment.push(first);
            waterline.push(area);
        }
        let dz = (draught - body.lowest) / heights as f64;
        let want = simpson(&volume, dz).unwrap();
        close(h.volume, want, 2e-4);
        close(h.lcb, simpson(&moment, dz).unwrap() / want, 2e-4);
        close(h.awp, *waterline.last().unwrap(), 2e-4);
        close(h.lwl, hull.after_end(draught) - fore_end(&hull, draught), 1e-5);
    }
}

/// The curve of sectional areas has the volume under it (ITTC).
#[test]
fn the_curve_of_areas_encloses_the_volume() {
    let hull = Known::new(Family::RakedTransom, 3);
    let body = Body::new(&known(&hull, 16));
    let draught = body.lowest + 0.35 * (body.lowest_sheer - body.lowest);
    let h = at(&body, draught);
    // Close together, for Simpson's rule to pass over the corner at the foot of the transom.
    let n = 4000;
    let [fore, aft] = body.ends;
    let dx = (aft - fore) / n as f64;
    let areas: Vec<f64> = (0..=n).map(|i| body.sectional_area(fore + dx * i as f64, draught)).collect();
    close(simpson(&areas, dx).unwrap(), h.volume, 1e-5);
    let greatest = areas.iter().copied().fold(0.0, f64::max);
    assert!(h.am >= greatest && h.am < greatest * (1.0 + 1e-5), "{} {greatest}", h.am);
}

/// Gauss–Legendre: the error falls by orders with each node, so that the default is far within its claim.
#[test]
fn figures_settle_with_the_number_of_nodes() {
    let surface = known(&Known::new(Family::RoundBilge, 2), 16);
    let of = |nodes: usize| {
        let body = Body::with_nodes(&surface, nodes);
        let h = at(&body, body.lowest + 0.4 * (body.lowest_sheer - body.lowest));
        [h.volume, h.awp, h.bmt, h.kb, h.wetted_surface]
    };
    let (fine, few, usual) = (of(14), of(2), of(NODES));
    for k in 0..fine.len() {
        close(usual[k], fine[k], 2e-6);
        assert!((usual[k] - fine[k]).abs() <= (few[k] - fine[k]).abs().max(1e-12));
    }
}

/// Barrass and Derrett, Ship Stability for Masters and Mates: 1207 m² and 12.37 t per cm.
#[test]
fn simpsons_first_rule_gives_the_published_waterplane() {
    let awp = 2.0 * simpson(&[0.0, 3.7, 5.9, 7.6, 7.5, 4.6, 0.1], 20.0).unwrap();
    assert_eq!(awp.round(), 1207.0);
    assert_eq!((awp * 1.025).round() / 100.0, 12.37);
    assert_eq!(simpson(&[1.0, 2.0], 1.0), None);
}

#[test]
fn water_that_does_not_reach_her_or_covers_her_sheer_is_refused() {
    let body = Body::new(&box_hull(4.0, 1.0, 0.6));
    assert_eq!(body.hydrostatics(-0.1, Water::SEA), Err(FloatingError::Dry { draught: -0.1, lowest: 0.0 }));
    let over = body.hydrostatics(0.6, Water::SEA);
    assert!(matches!(over, Err(FloatingError::OverTheSheer { draught: 0.6, .. })), "{over:?}");
    assert!(matches!(body.hydrostatics(f64::NAN, Water::SEA), Err(FloatingError::Argument(_))));
    assert!(matches!(body.hydrostatics(0.3, Water { density: 0.0 }), Err(FloatingError::Argument(_))));
}

/// Closed form.
#[test]
fn a_box_sinks_to_her_mass_over_her_waterplane() {
    let (l, b) = (6.0, 2.0);
    let body = Body::new(&box_hull(l, b, 0.9));
    close(body.level_draught(1026.021 * 5.0, Water::SEA).unwrap(), 5.0 / (l * b), 1e-10);
    let most = 1026.021 * l * b * 0.9;
    assert!(matches!(body.level_draught(1.01 * most, Water::SEA), Err(FloatingError::Sinks { .. })));
    assert!(matches!(body.level_draught(-1.0, Water::SEA), Err(FloatingError::Argument(_))));
    let body = Body::new(&known(&Known::new(Family::RoundBilge, 3), 16));
    let h = at(&body, 0.4 * body.lowest_sheer);
    close(body.level_draught(h.mass, Water::SEA).unwrap(), h.draught, 1e-9);
}
