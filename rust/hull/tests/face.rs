//! Hulls carried to the other face of their planking, measured against what they were.

use scrieve_fairing::{Options, fair};
use scrieve_hull::Boat;
use scrieve_offsets::read;
use scrieve_surface::Patch;
use scrieve_yardstick::known::Place;
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};

const THICKNESS: f64 = 0.0127;

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
}

/// Distance to the nearest point of the patches, by halving a net about the best of it: no derivatives asked. With
/// whether that point lies off every edge.
fn nearest(patches: &[Patch], p: [f64; 3]) -> (f64, bool) {
    let mut best = (f64::MAX, true);
    for patch in patches {
        let n = 20;
        let mut at = (f64::MAX, 0.0, 0.0);
        for i in 0..=n {
            for j in 0..=n {
                let (u, v) = (f64::from(i) / f64::from(n), f64::from(j) / f64::from(n));
                let d = distance(patch.point(u, v), p);
                if d < at.0 {
                    at = (d, u, v);
                }
            }
        }
        let mut reach = 1.0 / f64::from(n);
        while reach > 1e-6 {
            let (_, u, v) = at;
            let before = at.0;
            for i in -2..=2 {
                for j in -2..=2 {
                    let (a, b) = (
                        (u + reach * f64::from(i) / 2.0).clamp(0.0, 1.0),
                        (v + reach * f64::from(j) / 2.0).clamp(0.0, 1.0),
                    );
                    let d = distance(patch.point(a, b), p);
                    if d < at.0 {
                        at = (d, a, b);
                    }
                }
            }
            if at.0 >= before {
                reach *= 0.5;
            }
        }
        if at.0 < best.0 {
            let inside = |t: f64| (1e-5..=1.0 - 1e-5).contains(&t);
            best = (at.0, inside(at.1) && inside(at.2));
        }
    }
    best
}

fn faired(kind: Kind) -> Boat {
    let known = AsBuilt::new(kind, 1);
    let text = known.table_text(&known.taking(9), Place::Eighth, "Turnstone");
    let table = read(text.as_bytes(), "turnstone.offsets").expect("a table");
    let (survey, _) = table.survey().expect("a survey");
    let faired = fair(&survey, &Options::default()).expect("a fair hull");
    Boat::new(table, survey, faired)
}

/// Places of a patch: all over, and close to each end.
fn places() -> Vec<(f64, f64)> {
    let ts = [0.0, 0.003, 0.02, 0.35, 0.8, 0.99, 1.0];
    ts.iter().flat_map(|&u| ts.iter().map(move |&v| (u, v))).collect()
}

/// The kinds whose planking's inside is told; the others are refused, with the reason.
const CARRIED: [Kind; 15] = [
    Kind::RoundedStem,
    Kind::PlumbStem,
    Kind::Cutaway,
    Kind::SpoonBow,
    Kind::ClipperBow,
    Kind::Wineglass,
    Kind::Tuck,
    Kind::CanoeStern,
    Kind::Scow,
    Kind::Pram,
    Kind::MultiChine,
    Kind::Tumblehome,
    Kind::Reverse,
    Kind::CurvedTransom,
    Kind::WideKeel,
];

#[test]
fn the_inside_of_a_boat_as_built_is_her_planking_off_her_outside_to_the_very_ends() {
    for kind in CARRIED {
        let hull = faired(kind);
        let inside = hull.on_face(true, Some(THICKNESS)).expect("her other face");
        assert!(inside.is_inside() && !hull.is_inside() && inside.carried_by() == Some(THICKNESS));
        let mut measured = 0;
        for patch in &inside.surface().patches {
            for (u, v) in places() {
                let p = patch.point(u, v);
                let (d, off_edges) = nearest(&hull.surface().patches, p);
                // Beyond the transom's old edge by a hair, or round a chine, the nearest lies on an edge.
                if off_edges {
                    assert!((d - THICKNESS).abs() < 1.2e-4, "{kind:?} {u} {v} {p:?}: {d}");
                    measured += 1;
                }
            }
        }
        assert!(measured > 20, "{kind:?} {measured}");
    }
}

#[test]
fn carried_in_and_out_again_she_is_what_she_was() {
    for kind in [Kind::RoundedStem, Kind::Cutaway, Kind::SpoonBow, Kind::Tuck, Kind::Pram, Kind::Reverse] {
        let hull = faired(kind);
        let inside = hull.on_face(true, Some(THICKNESS)).expect("her inside");
        let again = inside.on_face(false, Some(THICKNESS)).expect("her other face");
        for (now, was) in [(&again, &hull), (&hull, &again)] {
            for patch in &now.surface().patches {
                for (u, v) in places() {
                    let (d, _) = nearest(&was.surface().patches, patch.point(u, v));
                    // How far she runs on is less sure than where she lies: planking at 8 degrees to the side of the
                    // stem comes out of it seven times as far off as it is off itself.
                    let within = [u, v].iter().all(|t| (0.02..=0.98).contains(t));
                    assert!(d < if within { 2e-4 } else { 4e-3 }, "{kind:?} {u} {v}: {d}");
                }
            }
        }
    }
}

#[test]
fn what_cannot_be_carried_is_refused_with_the_place() {
    let mut refused = 0;
    for kind in Kind::ALL.into_iter().filter(|kind| !CARRIED.contains(kind)) {
        if let Err(error) = faired(kind).on_face(true, Some(THICKNESS)) {
            assert!(error.to_string().contains("x = "), "{kind:?}: {error}");
            refused += 1;
        }
    }
    assert!(refused > 0);
}
