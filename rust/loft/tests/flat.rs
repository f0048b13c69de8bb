//! Flat-bottomed boats, multi-chine transoms and bow transoms, in closed form.

mod shapes;

use kurbo::{Point, Shape as _};
use scrieve_hull::Boat;
use scrieve_loft::backbone::{BackboneOptions, backbone};
use scrieve_loft::flat::{Bottom, ToldAs, bottom, flat_bottom};
use scrieve_loft::moulds::{MouldOptions, Stations, moulds};
use scrieve_loft::transom::{TransomError, TransomOptions, bow_transom, has_bow_transom, transom};
use scrieve_offsets::{Survey, TransomPlane};
use scrieve_surface::Patch;
use shapes::boats::side;
use shapes::boats::{FLARE, LENGTH, edge, rocker, skiff, survey, told_as_a_strake, told_by_its_edge};
use shapes::{even, of_patches};

const T: f64 = 0.0127;
fn both() -> [(Boat, ToldAs); 3] {
    [
        (told_by_its_edge(), ToldAs::Edge),
        (told_as_a_strake(0.02), ToldAs::Strake),
        (told_as_a_strake(0.0), ToldAs::Strake),
    ]
}

/// Length of a parabola z = k x² from 0 to x (from its integral).
fn parabola(k: f64, x: f64) -> f64 {
    let s = 2.0 * k * x;
    (s * (1.0 + s * s).sqrt() + s.asinh()) / (4.0 * k)
}

#[test]
fn a_flat_bottom_is_laid_flat_with_the_lengths_of_its_profile() {
    for (hull, told_as) in both() {
        let b: Bottom = bottom(&hull).expect("a flat bottom");
        assert_eq!(b.told_as, told_as);
        let along = |x: f64| parabola(0.04, 2.0) + parabola(0.04, (x - 2.0).abs()) * (x - 2.0).signum();
        assert!((b.length - along(LENGTH)).abs() < 2e-5, "{}", b.length);
        assert!((b.breadth - 1.0).abs() < 1e-4, "{}", b.breadth);
        assert_eq!(b.stations.len(), 3);
        for at in &b.stations {
            assert!((at.along - along(at.x)).abs() < 2e-5 && (at.half_breadth - edge(at.x)).abs() < 1e-6);
            // The outward normals of the bottom and of the side, from their formulas.
            let (slope, narrows) = (0.08 * (at.x - 2.0), -0.12 * (at.x - 2.1));
            let (below, above) = ([slope, 0.0, -1.0], [-narrows + FLARE * slope, 1.0, -FLARE]);
            let dot = |a: [f64; 3], b: [f64; 3]| -> f64 { (0..3).map(|k| a[k] * b[k]).sum() };
            let cosine = dot(below, above) / (dot(below, below) * dot(above, above)).sqrt();
            assert!(
                (at.side_angle - (std::f64::consts::PI - cosine.acos())).to_degrees().abs() < 0.05,
                "{at:?}"
            );
        }
        let area = b.outline.area().abs();
        let exact: f64 = {
            let n = 4000;
            let mid = |i: usize| LENGTH * (i as f64 + 0.5) / n as f64;
            (0..n)
                .map(|i| {
                    2.0 * edge(mid(i)) * (1.0 + (0.08 * (mid(i) - 2.0)).powi(2)).sqrt() * LENGTH / n as f64
                })
                .sum()
        };
        assert!((area - exact).abs() < 1e-4, "{area} {exact}");
    }
}

#[test]
fn a_flat_bottomed_boat_has_no_keel_and_is_told_so() {
    for (hull, _) in both() {
        let b = backbone(&hull, &BackboneOptions::default()).expect("a bottom");
        assert!(b.keel.is_empty() && b.pieces.iter().all(|p| p.name != "keel"));
        assert!(b.bottom.is_some() && b.failures.is_empty(), "{:?}", b.failures);
        assert!(
            b.remarks.iter().any(|r| r.contains("no keel: her bottom is flat across")),
            "{:?}",
            b.remarks
        );
        assert!(
            b.remarks.iter().any(|r| r.contains("taken to end forward in a bow transom")),
            "{:?}",
            b.remarks
        );
    }
}

#[test]
fn a_bottom_with_deadrise_and_a_round_one_are_not_flat() {
    let vee = Patch::interpolating(&even(20), &even(4), |u, v| {
        let x = LENGTH * u;
        [x, 0.02 + (edge(x) - 0.02) * v, rocker(x) - 0.1 * (1.0 - v)]
    });
    let hull = of_patches(&[1.0, 2.0, 3.0], "", survey(0.02), vec![vee, side()]);
    assert_eq!(flat_bottom(&hull), None);
    use scrieve_yardstick::known::{Family, Known};
    for family in Family::ALL.into_iter().filter(|f| *f != Family::HardChine) {
        let known = Known::new(family, 2);
        assert_eq!(flat_bottom(&shapes::known(&known, &[1.0, 2.0])), None, "{family:?}");
    }
}

/// Inside the planking the bottom lies one thickness square above the outside, and the sides as much within.
#[test]
fn the_moulds_of_a_flat_bottomed_boat_go_across_clear_of_the_bottoms_planking() {
    for (hull, told_as) in both() {
        let asked = MouldOptions { stations: Stations::At(vec![1.0, 3.0]), ..MouldOptions::default() };
        let set = moulds(&hull, &asked).expect("moulds");
        assert_eq!(set.remarks.iter().any(|r| r.contains("edge of a bottom")), told_as == ToldAs::Edge);
        for mould in &set.moulds {
            let slope: f64 = 0.08 * (mould.x - 2.0);
            let inside = rocker(mould.x) + T * (1.0 + slope * slope).sqrt();
            let at = |name: &str| mould.bevels.iter().find(|b| b.at == name).expect("a bevel").clone();
            assert!((at("lower end").spot.y - inside).abs() < 5e-5, "{}", at("lower end").spot.y);
            assert!((at("chine below").spot.y - inside).abs() < 5e-5);
            // The bottom's bevel is its slope along the boat.
            let bevel = at("chine below").angle;
            assert!((bevel - slope.atan()).to_degrees().abs() < 0.05, "{}", bevel.to_degrees());
            let narrows = -0.12 * (mould.x - 2.1);
            let exact = (-narrows + FLARE * slope).atan2((1.0 + FLARE * FLARE).sqrt());
            assert!((at("chine above").angle - exact).to_degrees().abs() < 0.1);
        }
    }
}

#[test]
fn a_punt_has_a_transom_at_either_end_and_neither_crosses_itself() {
    for (hull, _) in both() {
        assert!(has_bow_transom(&hull));
        for planking in [0.0, T, 0.03] {
            let options = TransomOptions { planking: Some(planking), ..TransomOptions::default() };
            let (bow, aft) = (bow_transom(&hull, &options), transom(&hull, &options));
            let (bow, aft) = (bow.expect("a bow transom"), aft.expect("a transom"));
            assert!(bow.is_bow && !aft.is_bow && bow.rake.abs() < 1e-9);
            for (made, x) in [(&bow, 0.0), (&aft, LENGTH)] {
                let slope: f64 = 0.08 * (x - 2.0);
                let low = rocker(x) + planking * (1.0 + slope * slope).sqrt();
                assert!((made.outer.points(2)[0][2] - low).abs() < 2e-4, "{x} {planking}");
                let chines: Vec<_> = made.bevels.iter().filter(|b| b.at.starts_with("chine")).collect();
                assert_eq!(chines.len(), 2, "{:?}", made.bevels);
                // Half the outline, in from the bottom and the flared side: a trapezium.
                let (wide, high) = (edge(x), rocker(x) + 0.5);
                if planking == 0.0 {
                    let area = (wide + 0.25 * FLARE) * 2.0 * (high - low);
                    assert!((made.outline().area().abs() - area).abs() < 1e-4, "{}", made.outline().area());
                }
            }
            assert!(bow.bevels.iter().all(|b| b.at != "chine above" || b.is_open()), "she widens going aft");
        }
    }
}

#[test]
fn a_stated_bow_plane_is_cut_where_it_stands() {
    let hull = told_as_a_strake(0.02);
    let face = TransomPlane { foot: (0.3, rocker(0.3)), head: (0.3, 1.0), curve_radius: None };
    let options = TransomOptions { planking: Some(0.0), face: Some(face), ..TransomOptions::default() };
    let made = bow_transom(&hull, &options).expect("a bow transom");
    assert!((made.outer.points(2)[0][2] - rocker(0.3)).abs() < 1e-6);
    let corner = made.bevels.iter().find(|b| b.at == "chine below").expect("a chine").spot;
    assert!(corner.distance(Point::new(edge(0.3), rocker(0.3))) < 1e-6);
}

#[test]
fn a_boat_with_a_stem_has_no_bow_transom() {
    use scrieve_yardstick::known::{Family, Known};
    let hull = shapes::known(&Known::new(Family::RoundBilge, 1), &[1.0, 2.0]);
    assert!(!has_bow_transom(&hull));
    assert_eq!(bow_transom(&hull, &TransomOptions::default()).expect_err("a stem"), TransomError::Stem);
}

/// A prism of three chines ended square: inside the planking each corner is that of lines one thickness in.
#[test]
fn at_every_chine_of_a_multi_chine_transom_the_corner_is_mitred() {
    let corners = [(0.02, 0.1), (0.5, 0.2), (0.75, 0.45), (0.85, 0.8), (0.8, 1.1)];
    let patches = corners.windows(2).map(|w| {
        let ((y0, z0), (y1, z1)) = (w[0], w[1]);
        Patch::interpolating(&even(4), &even(4), move |u, v| {
            [3.0 * u, y0 + (y1 - y0) * v, z0 + (z1 - z0) * v]
        })
    });
    let face = TransomPlane { foot: (3.0, 0.1), head: (3.0, 1.1), curve_radius: None };
    let survey = Survey { half_siding: 0.02, transom: Some(face), ..Survey::default() };
    let hull = of_patches(&[1.0, 2.0], "", survey, patches.collect());
    for planking in [0.0, T, 0.04] {
        let options = TransomOptions { planking: Some(planking), ..TransomOptions::default() };
        let made = transom(&hull, &options).expect("a transom");
        let within = |k: usize| {
            // The line of side k, one thickness in: n · p = c.
            let ((y0, z0), (y1, z1)) = (corners[k], corners[k + 1]);
            let (dy, dz) = (y1 - y0, z1 - z0);
            let long = f64::hypot(dy, dz);
            let (ny, nz) = (dz / long, -dy / long);
            (ny, nz, ny * y0 + nz * z0 - planking)
        };
        for k in 0..3 {
            let ((a, b, c), (d, e, f)) = (within(k), within(k + 1));
            let area = a * e - b * d;
            let corner = Point::new((c * e - b * f) / area, (a * f - c * d) / area);
            let name = format!("chine {}", k + 1);
            let at: Vec<_> = made.bevels.iter().filter(|bevel| bevel.at.starts_with(&name)).collect();
            // A prism ended square has no bevel, below the chine or above.
            assert!(!at.is_empty() && at.iter().all(|bevel| bevel.spot.distance(corner) < 1e-6), "{name}");
            assert!(at.iter().all(|bevel| bevel.angle.abs() < 1e-9));
        }
    }
}

#[test]
fn the_stem_of_a_flat_bottomed_boat_stands_on_her_bottom() {
    let hull = skiff();
    assert_eq!(flat_bottom(&hull), Some(ToldAs::Strake));
    let b = backbone(&hull, &BackboneOptions::default()).expect("a stem and a bottom");
    assert!(b.failures.is_empty(), "{:?}", b.failures);
    assert_eq!(b.pieces.iter().map(|p| p.name).collect::<Vec<_>>(), ["stem"]);
    let stem = b.pieces[0].outline.bounding_box();
    // Its heel is cut along the bottom, which falls aft at 0.16 in 1 there.
    assert!(stem.y1 <= rocker(0.0) + 0.5 + 1e-3 && stem.y0 > rocker(0.0) - 0.16 * stem.x1 - 1e-3, "{stem:?}");
    assert!(stem.x0 < -0.04 && (b.pieces[0].sided - 0.04).abs() < 1e-9);
    assert!(!has_bow_transom(&hull));
}
