//! The posterior mean carried over to patches, fine enough that nobody can tell the difference.

use crate::bspline::greville;
use crate::fit::{BREAKS_WARP, breaks};
use crate::frame::Frame;
use crate::joint::Joint;
use crate::{Patch, Surface};

/// Spans of a patch along and across to begin with; doubled while the surface is off the fit by more than
/// [`CARRIED`], [`REFINEMENTS`] times at most.
const PATCH_SPANS: (usize, usize) = (24, 12);
/// See [`PATCH_SPANS`]; m.
pub(crate) const CARRIED: f64 = 1e-5;
/// See [`PATCH_SPANS`].
const REFINEMENTS: usize = 2;

/// The surface, and how far it is off the fit at worst in the middle of its spans, m.
pub(crate) fn carry(frame: &Frame, joint: &Joint) -> (Surface, f64) {
    let mut worst_off = 0.0f64;
    let patches = (0..frame.strakes())
        .map(|strake| {
            let point = |t: f64, v: f64, w: f64| {
                let chord = frame.chord(strake, t);
                // The edges are taken bare, so that neighbours share them bit for bit.
                let (y, z) = if v == 0.0 {
                    chord.low
                } else if v == 1.0 {
                    chord.high
                } else {
                    chord.point(v, w)
                };
                [frame.x(t, y, frame.zeta(t, z)), y, z]
            };
            let (mut spans, mut refinements) = (PATCH_SPANS, 0);
            loop {
                let (u, v) = (breaks(spans.0, BREAKS_WARP), breaks(spans.1, 0.0));
                let grid = |u: &[f64], v: &[f64]| {
                    let w = joint.bulge(strake, u, v);
                    move |i: usize, j: usize, n: usize| w[i * n + j]
                };
                let (gu, gv) = (greville(5, &u), greville(5, &v));
                let w = grid(&gu, &gv);
                let find = |g: &[f64], t: f64| g.partition_point(|&x| x < t).min(g.len() - 1);
                let patch =
                    Patch::interpolating(&u, &v, |t, s| point(t, s, w(find(&gu, t), find(&gv, s), gv.len())));
                let middle = |b: &[f64]| b.windows(2).map(|p| 0.5 * (p[0] + p[1])).collect::<Vec<f64>>();
                let (mu, mv) = (middle(&u), middle(&v));
                let w = grid(&mu, &mv);
                let mut worst = 0.0f64;
                for (i, &t) in mu.iter().enumerate() {
                    for (j, &s) in mv.iter().enumerate() {
                        let (a, b) = (point(t, s, w(i, j, mv.len())), patch.point(t, s));
                        worst = worst.max((0..3).map(|k| (a[k] - b[k]).abs()).fold(0.0, f64::max));
                    }
                }
                if worst < CARRIED || refinements == REFINEMENTS {
                    worst_off = worst_off.max(worst);
                    return patch;
                }
                spans = (2 * spans.0, 2 * spans.1);
                refinements += 1;
            }
        })
        .collect();
    (Surface { patches }, worst_off)
}
