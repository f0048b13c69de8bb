//! A curved transom, against closed forms of the segment of a circle and sums over columns of water.

use scrieve_fairing::{Options, fair};
use scrieve_offsets::TransomPlane;
use scrieve_surface::{Patch, Surface};
use scrieve_yardstick::known::{Family, Known, Place};

use super::forms::close;
use crate::floating::{Body, Deck, Loading, NODES, Water};
use crate::forms::even;

const L: f64 = 4.0;
const B: f64 = 1.4;
const DEPTH: f64 = 0.8;
const R: f64 = 1.1;

/// A box whose after end is a cylinder of radius R about an axis raked by `slope` (run to rise); the middle of
/// its face stands aftmost, and its edge leaves the foot of the side at x = L.
fn round_ended(slope: f64) -> (Surface, TransomPlane) {
    let half = 0.5 * B;
    let patch = |f: &dyn Fn(f64, f64) -> [f64; 3]| Patch::interpolating(&even(6), &even(4), f);
    let tilt = slope.hypot(1.0);
    // Where the face stands at half-breadth y and height z.
    let end =
        move |y: f64, z: f64| L + slope * z + ((R * R - y * y).sqrt() - (R * R - half * half).sqrt()) * tilt;
    let plane =
        TransomPlane { foot: (end(0.0, 0.0), 0.0), head: (end(0.0, DEPTH), DEPTH), curve_radius: Some(R) };
    let surface = Surface {
        patches: vec![
            patch(&move |u, v| [end(half * v, 0.0) * u, half * v, 0.0]),
            patch(&move |u, v| [end(half, DEPTH * v) * u, half, DEPTH * v]),
        ],
    };
    (surface, plane)
}

/// Area of the segment between the chord B and the arc, and its centre's distance abaft the chord.
fn segment() -> (f64, f64) {
    let half = (0.5 * B / R).asin();
    let area = R * R * (half - half.sin() * half.cos());
    (area, B.powi(3) / (12.0 * area) - R * half.cos())
}

/// Closed form: the segment of a circle, B³/12A from the centre (from memory, checked below by summing).
#[test]
fn a_box_with_a_round_end_is_a_box_and_a_segment() {
    let (surface, plane) = round_ended(0.0);
    let body = Body::closed(&surface, Some(&plane), NODES);
    let (area, beyond) = segment();
    let n = 200_000;
    let (mut summed, mut moment) = (0.0, 0.0);
    for i in 0..n {
        let y = B * ((f64::from(i) + 0.5) / f64::from(n) - 0.5);
        let depth = (R * R - y * y).sqrt() - (R * R - 0.25 * B * B).sqrt();
        summed += depth * B / f64::from(n);
        moment += 0.5 * depth * depth * B / f64::from(n);
    }
    close(summed, area, 1e-9);
    close(moment / summed, beyond, 1e-9);

    let draught = 0.3;
    let h = body.hydrostatics(draught, Water::SEA).unwrap();
    let plan = L * B + area;
    let sagitta = R - (R * R - 0.25 * B * B).sqrt();
    let arc = 2.0 * R * (0.5 * B / R).asin();
    for (got, want) in [
        (h.volume, plan * draught),
        (h.awp, plan),
        (h.lwl, L + sagitta),
        (h.bwl, B),
        (h.am, B * draught),
        (h.lcb, (L * B * 0.5 * L + area * (L + beyond)) / plan),
        (h.lcf, (L * B * 0.5 * L + area * (L + beyond)) / plan),
        (h.kb, 0.5 * draught),
        (h.wetted_surface, plan + draught * (2.0 * L + B + arc)),
        (h.lateral.area, (L + sagitta) * draught),
        (body.sectional_area(L + 0.5 * sagitta, draught), {
            let across = (R * R - (R - 0.5 * sagitta).powi(2)).sqrt();
            2.0 * across * draught
        }),
        (body.ends()[1], L + sagitta),
    ] {
        close(got, want, 1e-6);
    }
    let flat = Body::new(&surface).hydrostatics(draught, Water::SEA).unwrap();
    close(flat.volume, L * B * draught, 1e-6);
}

/// Cavalieri: slices square to the cylinder's axis are all the same segment, however it is raked. A raked slice
/// droops by its distance abaft the chord times the slope; what droops below the bottom is cut off by it.
#[test]
fn a_raked_round_end_holds_the_same_segment_in_every_slice() {
    let slope = 0.35;
    let (surface, plane) = round_ended(slope);
    let closed = Body::closed(&surface, Some(&plane), NODES).volume - Body::new(&surface).volume;
    let (area, beyond) = segment();
    close(closed, area * DEPTH * slope.hypot(1.0) - area * beyond * slope, 1e-5);
}

/// Volume and its moments under a heeled plane by columns along the boat, from the closed form of the face.
#[test]
fn a_round_ended_box_heels_as_her_columns_do() {
    let (surface, plane) = round_ended(0.0);
    let body = Body::closed(&surface, Some(&plane), NODES);
    let load = Loading { mass: 1026.021 * 1.9, centre: [2.1, 0.0, 0.45] };
    let heels = [0.2_f64, 0.5, 0.9];
    let arms = body.arms(&heels, &load, Water::SEA, Deck::Decked).unwrap();
    for (i, heel) in heels.into_iter().enumerate() {
        let balance = body.balance(&load, Water::SEA, heel, None).unwrap();
        let level = balance.level;
        let (n, m) = (400, 1200);
        let (mut volume, mut moment) = (0.0, [0.0; 3]);
        for a in 0..n {
            let y = B * ((f64::from(a) + 0.5) / f64::from(n) - 0.5);
            let end = L + (R * R - y * y).sqrt() - (R * R - 0.25 * B * B).sqrt();
            for b in 0..m {
                let x = end * (f64::from(b) + 0.5) / f64::from(m);
                let top = ((level.reach - level.up[0] * x - level.up[1] * y) / level.up[2]).clamp(0.0, DEPTH);
                let column = top * end / f64::from(m) * B / f64::from(n);
                volume += column;
                for (k, at) in [x, y, 0.5 * top].into_iter().enumerate() {
                    moment[k] += column * at;
                }
            }
        }
        close(volume, 1.9, 2e-4);
        let apart: f64 = (0..3).map(|k| level.across[k] * (moment[k] / volume - load.centre[k])).sum();
        assert!((apart - arms.gz[i].unwrap()).abs() < 2e-4, "{apart} {:?}", arms.gz[i]);
    }
}

/// Where the face of a faired boat ends at her sides it is her surface's own edge, so nothing is counted twice.
#[test]
fn a_faired_boats_curved_transom_is_closed_without_a_gap() {
    let known = Known::new(Family::RakedTransom, 2);
    let mut survey = known.survey(&known.layout(11), Place::Eighth);
    let plane = survey.transom.as_mut().unwrap();
    plane.curve_radius = Some(1.8);
    let plane = *plane;
    let faired = fair(&survey, &Options::default()).unwrap();
    let body = Body::closed(&faired.surface, Some(&plane), NODES);
    let straight = Body::new(&faired.surface);
    let draught = 0.6 * body.lowest_sheer;
    let h = body.hydrostatics(draught, Water::SEA).unwrap();
    let flat = straight.hydrostatics(draught, Water::SEA).unwrap();
    // Summed by slices square to the face's axis up the wet edge: the segment beyond each chord.
    let edge = |v: f64| faired.surface.patches[0].point(1.0, v);
    let (n, mut bulge) = (20_000, 0.0);
    for i in 0..n {
        let (a, b) = (edge(f64::from(i) / f64::from(n)), edge(f64::from(i + 1) / f64::from(n)));
        let half = (0.5 * (a[1] + b[1]) / 1.8).asin();
        let (dx, dz) = (plane.head.0 - plane.foot.0, plane.head.1 - plane.foot.1);
        let up = ((b[0] - a[0]) * dx + (b[2] - a[2]) * dz) / dx.hypot(dz);
        if b[2] < draught {
            bulge += 1.8 * 1.8 * (half - half.sin() * half.cos()) * up;
        }
    }
    assert!(bulge > 0.0);
    // The water cuts slices slantwise near its surface, for which a tenth of the bulge is far more than enough.
    assert!((h.volume - flat.volume - bulge).abs() < 0.1 * bulge, "{} {bulge}", h.volume - flat.volume);
    assert!(h.wetted_surface > 0.99 * flat.wetted_surface && h.lwl >= flat.lwl - 1e-9);
}
