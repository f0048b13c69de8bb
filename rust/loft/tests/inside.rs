//! Inside structure against closed forms: a plane-sided wedge and a cylinder (handbook, section 13).

mod shapes;

use kurbo::{Point, Shape as _};
use scrieve_loft::RoundOfBeam;
use scrieve_loft::inside::{
    HeightAt, InsideError, StringerOptions, bulkhead, deck_beam, deck_outline, stringer, thwart,
};
use shapes::from_surface;

const D: f64 = 0.02;

/// Flaring plane sides y = 0.4 + 0.1 x + 0.3 z, from z = 0 to 1.
fn sides() -> scrieve_hull::Hull {
    from_surface(|u, v| [4.0 * u, 0.4 + 0.4 * u + 0.3 * v, v])
}

fn half(x: f64, z: f64) -> f64 {
    0.4 + 0.1 * x + 0.3 * z - D * (1.0_f64 + 0.01 + 0.09).sqrt()
}

fn along(height: HeightAt, from: f64, to: f64) -> StringerOptions {
    StringerOptions { height, from, to, depth: 0.04, thickness: 0.018, level: false, inside: D }
}

#[test]
fn a_thwart_between_plane_sides_is_a_trapezium_with_bevelled_ends() {
    let (at, width, thick) = (Point::new(1.5, 0.6), 0.25, 0.02);
    let t = thwart(&sides(), at, width, thick, D).expect("a thwart");
    for (path, z) in [(&t.under, at.y), (&t.upper, at.y + thick)] {
        let exact = width * (half(at.x, z) + half(at.x + width, z));
        assert!((path.area().abs() - exact).abs() < 1e-6, "{} {exact}", path.area());
    }
    for (edge, x) in t.edges.iter().zip([at.x, at.x + width]) {
        // As long as its larger face: the upper, since the sides flare.
        assert!((edge.length - 2.0 * half(x, at.y + thick)).abs() < 1e-6);
        assert!((edge.in_plan.tan() - 0.1).abs() < 1e-6 && (edge.flare.tan() - 0.3).abs() < 1e-6);
    }
}

#[test]
fn a_stringer_along_plane_sides_is_straight() {
    let s = stringer(&sides(), &along(HeightAt::Level(0.5), 0.5, 3.5)).expect("a stringer");
    assert!((s.length - 3.0 * 1.01_f64.sqrt()).abs() < 1e-6);
    assert!((s.ends[1].section[0].x - half(3.5, 0.5)).abs() < 1e-6);
    // The sheer of the inside lies at the planking's edge set in, so the two heights differ by a constant.
    let below = stringer(&sides(), &along(HeightAt::BelowSheer(0.3), 0.5, 3.5)).expect("a stringer");
    assert!(below.line.iter().all(|p| (p[2] - below.line[0][2]).abs() < 1e-6));
    assert!((below.line[0][1] - half(0.5, below.line[0][2])).abs() < 1e-6);
}

/// With beam b and camber c the radius is (b²/4 + c²)/2c (handbook, section 13).
#[test]
fn a_deck_beam_follows_the_round_of_beam_between_the_sides() {
    let round = RoundOfBeam { beam: 1.6, camber: 0.06 };
    let beam = deck_beam(&sides(), 2.0, round, 0.07, D).expect("a beam");
    assert!((beam.radius - (0.64 + 0.0036) / 0.12).abs() < 1e-12);
    let bounds = beam.outline.bounding_box();
    let wide = 2.0 * half(2.0, beam.end.z);
    assert!((beam.end.length - wide).abs() < 1e-6 && (bounds.width() - wide).abs() < 1e-6);
    let rise = beam.radius - (beam.radius.powi(2) - wide * wide / 4.0).sqrt();
    assert!((beam.camber - rise).abs() < 1e-9 && (bounds.y1 - beam.end.z - rise).abs() < 1e-6);
    // All of the wood is as deep as it is moulded, plumb, save the triangles cut at the flaring ends.
    let ends = 0.3 * 0.07 * 0.07;
    assert!((beam.outline.area().abs() - (0.07 * wide - ends)).abs() < 3e-4);
    let tall = RoundOfBeam { beam: 0.4, camber: 0.2 };
    assert!(matches!(deck_beam(&sides(), 2.0, tall, 0.07, D), Err(InsideError::NoRound(_))));
}

#[test]
fn a_bulkhead_in_a_cylinder_is_a_half_circle_of_the_inside() {
    let hull = from_surface(|u, v| {
        let (s, c) = (v * std::f64::consts::FRAC_PI_2).sin_cos();
        [4.0 * u, s, 1.0 - c]
    });
    let b = bulkhead(&hull, 2.0, None, 0.012, None, D).expect("a bulkhead");
    let exact = std::f64::consts::FRAC_PI_2 * (1.0 - D) * (1.0 - D);
    assert!((b.outline.area().abs() - exact).abs() < 1e-5, "{}", b.outline.area());
    assert!(b.bevels.iter().all(|bevel| bevel.angle.abs() < 1e-6));
    let level = bulkhead(&hull, 2.0, Some(0.5), 0.012, None, D).expect("a bulkhead");
    assert!((level.outline.bounding_box().y1 - 0.5).abs() < 1e-6);
    let high = bulkhead(&hull, 2.0, Some(1.4), 0.012, None, D);
    assert!(matches!(high, Err(InsideError::OffTheHull { .. })));
}

#[test]
fn the_deck_outline_is_the_sheer_in_plan() {
    // y from 0.7 to 1.1 over 4 m.
    assert!((deck_outline(&sides()).area().abs() - 3.6).abs() < 1e-6);
}

#[test]
fn what_does_not_fit_is_named() {
    let at = |z: f64| thwart(&sides(), Point::new(1.5, z), 0.2, 0.02, D);
    let error = at(1.4).expect_err("above the sheer");
    assert!(error.to_string().contains("check the height"), "{error}");
    assert!(matches!(
        thwart(&sides(), Point::new(1.5, 0.5), 0.0, 0.02, D),
        Err(InsideError::BadLength { .. })
    ));
    let back = stringer(&sides(), &along(HeightAt::Level(0.5), 3.0, 1.0));
    assert!(matches!(back, Err(InsideError::BadLength { .. })));
    assert!(matches!(at(f64::NAN), Err(InsideError::OffTheHull { .. })));
}
