//! Boats of every family, faired from their tables as a user's would be.

use scrieve_fairing::{Options, fair};
use scrieve_yardstick::known::{Family, Known, Place};

use super::forms::*;
use crate::floating::{Body, Deck, Loading, NODES, Water, simpson};

/// Volume below a height from the hull's own formula, by midpoints along and Simpson's rule upward.
fn volume_of(hull: &Known, low: f64, draught: f64) -> f64 {
    let foot = hull.stem_x(hull.stem_heights().0).unwrap_or(0.0);
    let heel = hull.stern_x(hull.stern_heights().0).unwrap_or(f64::MAX);
    let (heights, n) = (200, 800);
    let areas: Vec<f64> = (0..=heights)
        .map(|i| {
            let z = low + (draught - low) * i as f64 / heights as f64;
            let (fore, aft) = (fore_end(hull, z), hull.after_end(z));
            let dx = (aft - fore) / n as f64;
            let xs = (0..n).map(|k| fore + dx * (k as f64 + 0.5));
            xs.filter(|x| hull.rabbet(x.clamp(foot, heel)) <= z)
                .map(|x| 2.0 * hull.half_breadth(x, z) * dx)
                .sum()
        })
        .collect();
    simpson(&areas, (draught - low) / heights as f64).unwrap()
}

/// Known hulls read to the eighth: half a millimetre all over is some 0.3 % of what they displace.
#[test]
fn a_boat_of_every_family_floats_from_her_table() {
    for family in Family::ALL {
        let known = Known::new(family, 1);
        let faired = fair(&known.survey(&known.layout(11), Place::Eighth), &Options::default()).unwrap();
        let body = Body::new(&faired.surface);
        let finer = Body::with_nodes(&faired.surface, NODES + 3);
        let [fore, aft] = body.ends();
        for part in [0.25, 0.45, 0.7] {
            let draught = body.lowest + part * (body.lowest_sheer - body.lowest);
            let h = body.hydrostatics(draught, Water::SEA).unwrap();
            close(h.volume, volume_of(&known, body.lowest, draught), 5e-3);
            let fine = finer.hydrostatics(draught, Water::SEA).unwrap();
            for (usual, fine) in [
                (h.volume, fine.volume),
                (h.lcb, fine.lcb),
                (h.awp, fine.awp),
                (h.am, fine.am),
                (h.bmt, fine.bmt),
                (h.wetted_surface, fine.wetted_surface),
            ] {
                close(usual, fine, 1e-5);
            }
            let dx = (aft - fore) / 400.0;
            let areas: Vec<f64> =
                (0..=400).map(|i| body.sectional_area(fore + dx * f64::from(i), draught)).collect();
            close(simpson(&areas, dx).unwrap(), h.volume, 2e-4);

            let centre = [h.lcb + 0.02 * (aft - fore), 0.0, h.kb + 0.3];
            let load = Loading { mass: h.mass, centre };
            let heels: Vec<f64> = (-6..=6).map(|i| f64::from(30 * i).to_radians()).collect();
            let arms = body.arms(&heels, &load, Water::SEA, Deck::Decked).unwrap();
            let fine = finer.arms(&heels, &load, Water::SEA, Deck::Decked).unwrap();
            for (i, gz) in arms.gz.iter().enumerate() {
                assert!((gz.unwrap() - fine.gz[i].unwrap()).abs() < 1e-6, "{family:?} {part} {i}");
                assert!((gz.unwrap() + arms.gz[12 - i].unwrap()).abs() < 1e-7, "{family:?} {part} {i}");
            }
            assert!(arms.gz[12].unwrap().abs() < 1e-7, "bottom up she is level again");
        }
    }
}
