//! The backbone of plane-sided hulls, whose rabbet lines are straight and whose pieces are polygons.

mod shapes;

use kurbo::{ParamCurve, Shape as _};
use scrieve_loft::MarkKind;
use scrieve_loft::backbone::{Backbone, BackboneOptions, SCARF, backbone};
use scrieve_loft::rabbet::{RabbetError, RabbetOptions, rabbet_at};
use scrieve_offsets::{Survey, TransomPlane};
use shapes::with_survey;

const T: f64 = 0.0127;
const H: f64 = 0.03;
const RISE: f64 = 0.5;
const CLIMB: f64 = 0.05;

fn transom() -> TransomPlane {
    TransomPlane { foot: (4.0, 0.2 + CLIMB * 4.0), head: (4.3, 1.2), curve_radius: None }
}

/// A V bottom whose rabbet climbs aft, z = 0.2 + climb x + rise (y - half-siding), with a raked transom.
fn boat(transom: Option<TransomPlane>) -> scrieve_hull::Boat {
    let survey = Survey { half_siding: H, stations: vec![1.0, 2.0, 3.0], transom, ..Survey::default() };
    with_survey("planking = \"12.7mm\"", survey, |u, v| {
        let x = 4.0 * u;
        let y = H + 0.8 * v;
        [x, y, 0.2 + CLIMB * x + RISE * (y - H)]
    })
}

fn made(hull: &scrieve_hull::Boat) -> Backbone {
    let made = backbone(hull, &BackboneOptions::default()).expect("a backbone");
    assert!(made.failures.is_empty(), "{:?}", made.failures);
    made
}

#[test]
fn the_three_lines_of_plane_planking_are_straight_and_parallel() {
    let b = made(&boat(None));
    let long = (1.0 + RISE * RISE + CLIMB * CLIMB).sqrt();
    let heights = [0.0, T * long, T / long * (1.0 + CLIMB * CLIMB)];
    for (line, above) in b.lines.iter().zip(heights) {
        for p in line.segments().flat_map(|s| [s.start(), s.eval(0.5), s.end()]) {
            assert!((p.y - (0.2 + CLIMB * p.x + above)).abs() < 5e-5, "{p:?} {above}");
        }
    }
}

#[test]
fn the_keels_table_is_that_of_its_rabbets() {
    let hull = boat(None);
    let b = made(&hull);
    assert_eq!(b.keel.len(), 3);
    for k in &b.keel {
        assert_eq!(k.rabbet, rabbet_at(&hull, k.x, &RabbetOptions::default()).expect("a rabbet"));
        assert!((k.rabbet.rabbet.y - k.underside - 0.075).abs() < 1e-9);
        assert!((k.bottom_bevel - CLIMB.atan()).abs() < 1e-6, "{}", k.bottom_bevel);
    }
    let middle = &b.keel[1];
    assert!((b.scarf - SCARF * (middle.upper - middle.underside)).abs() < 1e-12);
}

/// Above the keel the arm runs along its climb; up the transom it leans with the rake.
#[test]
fn the_stern_knee_has_the_angle_between_keel_and_transom() {
    let b = made(&boat(Some(transom())));
    let t = transom();
    let rake = (t.head.0 - t.foot.0).atan2(t.head.1 - t.foot.1);
    let exact = std::f64::consts::FRAC_PI_2 + rake + CLIMB.atan();
    assert!((b.knee_angle.expect("a knee") - exact).abs() < 1e-4);
    assert!(made(&boat(None)).knee_angle.is_none());
    let names: Vec<&str> = b.pieces.iter().map(|p| p.name).collect();
    assert_eq!(names, ["keel", "stern knee"]);
    let corner = b.pieces[1].outline.segments().next().expect("a corner").start();
    // Square off the transom's after face by its thickness.
    let off = (corner.x - t.x(0.0, corner.y)) * rake.cos();
    assert!((off + BackboneOptions::default().transom_thickness).abs() < 1e-9, "{off}");
}

#[test]
fn every_piece_is_closed_and_carries_its_marks_in_the_wood() {
    for piece in made(&boat(Some(transom()))).pieces {
        let corners = piece.outline.elements();
        assert!(corners.ends_with(&[kurbo::PathEl::ClosePath]) && piece.outline.area().abs() > 1e-3);
        for mark in piece.marks {
            for p in mark.path.segments().map(|s| s.eval(0.5)) {
                assert_ne!(piece.outline.winding(p), 0, "{:?} {p:?}", mark.kind);
            }
            assert!(piece.name != "keel" || mark.kind != MarkKind::BaseLine);
        }
    }
}

#[test]
fn sizes_that_are_none_are_named() {
    let hull = boat(None);
    for bad in [
        BackboneOptions { keel_depth: 0.0, ..BackboneOptions::default() },
        BackboneOptions { section_every: f64::NAN, ..BackboneOptions::default() },
        BackboneOptions { inside: -0.1, ..BackboneOptions::default() },
    ] {
        assert!(matches!(backbone(&hull, &bad), Err(RabbetError::BadLength { .. })));
    }
    let thick = RabbetOptions { planking: Some(0.08), half_siding: None };
    let error = backbone(&hull, &BackboneOptions { rabbet: thick, ..BackboneOptions::default() });
    assert!(matches!(error, Err(RabbetError::TooThick { .. })), "{error:?}");
}

/// A known double-ender, read to the eighth and faired: the sternpost's rabbet is a mirror of the stem's work.
#[test]
fn a_double_ender_has_a_sternpost_in_place_of_a_knee() {
    use scrieve_loft::rabbet::{End, rabbet_on};
    use scrieve_yardstick::known::{Family, Known, Place};
    let known = Known::new(Family::DoubleEnder, 3);
    let text = known.table_text(&known.layout(13), Place::Eighth, "Turnstone");
    let table = scrieve_offsets::read(text.as_bytes(), "turnstone.offsets").expect("a table");
    let (survey, _) = table.survey().expect("a survey");
    let faired = scrieve_fairing::fair(&survey, &scrieve_fairing::Options::default()).expect("a fair hull");
    let hull = scrieve_hull::Boat::new(table, survey, faired);
    let rabbet = RabbetOptions { planking: Some(T), half_siding: None };
    let b = backbone(&hull, &BackboneOptions { rabbet, ..BackboneOptions::default() }).expect("a backbone");
    assert!(b.failures.is_empty() && b.knee_angle.is_none(), "{:?}", b.failures);
    let names: Vec<&str> = b.pieces.iter().map(|p| p.name).collect();
    assert_eq!(names, ["keel", "stem", "sternpost", "heel knee"]);
    for (end, forward) in [(End::Stem, false), (End::Sternpost, true)] {
        for z in [0.3, 0.45, 0.6] {
            let r = rabbet_on(&hull, end, z, &rabbet).expect("a rabbet");
            // Inward of the stem is aft, of the sternpost forward; the plank lies between.
            assert_eq!(r.plane.up[0] < 0.0, forward);
            let [line, bearding, middle] = r.in_space();
            assert!((line[0] - bearding[0]) * r.plane.up[0] < 0.0 && middle[1] < line[1]);
            let apart = (0..3).map(|k| (middle[k] - line[k]).powi(2)).sum::<f64>().sqrt();
            assert!((T - 1e-9..1.05 * T).contains(&apart), "{apart}");
        }
    }
}
