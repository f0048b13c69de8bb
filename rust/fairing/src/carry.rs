//! The posterior mean carried over to patches, fine enough that nobody can tell the difference.

use crate::bspline::greville;
use crate::fit::{breaks, even_breaks};
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

/// What came of it.
pub(crate) struct Carried {
    pub surface: Surface,
    /// Spans of each patch, along and across.
    pub spans: Vec<(usize, usize)>,
    /// How far the surface is off the fit at worst in the middle of its spans, m; 0 where that was not asked.
    pub off: f64,
}

/// Carries the fit over; to patches of `spans`, and unchecked, where these are known to be fine enough.
pub(crate) fn carry(frame: &Frame, joint: &Joint, spans: Option<&[(usize, usize)]>) -> Carried {
    let mut carried = Carried { surface: Surface { patches: Vec::new() }, spans: Vec::new(), off: 0.0 };
    for strake in 0..frame.strakes() {
        let known = spans.and_then(|s| s.get(strake)).copied();
        let (mut now, mut refinements) = (known.unwrap_or(PATCH_SPANS), 0);
        let (patch, off) = loop {
            let (u, v) = (breaks(now.0), even_breaks(now.1));
            let (gu, gv) = (greville(5, &u), greville(5, &v));
            let bulge = joint.bulge(strake, &gu, &gv);
            let patch = Patch::through(&u, &v, &points(frame, strake, &gu, &gv, &bulge));
            if known.is_some() {
                break (patch, 0.0);
            }
            let middle = |b: &[f64]| b.windows(2).map(|p| 0.5 * (p[0] + p[1])).collect::<Vec<f64>>();
            let (mu, mv) = (middle(&u), middle(&v));
            let mut worst = 0.0f64;
            for (a, (t, s)) in points(frame, strake, &mu, &mv, &joint.bulge(strake, &mu, &mv))
                .into_iter()
                .zip(mu.iter().flat_map(|&t| mv.iter().map(move |&s| (t, s))))
            {
                let b = patch.point(t, s);
                worst = worst.max((0..3).map(|k| (a[k] - b[k]).abs()).fold(0.0, f64::max));
            }
            if worst < CARRIED || refinements == REFINEMENTS {
                break (patch, worst);
            }
            now = (2 * now.0, 2 * now.1);
            refinements += 1;
        };
        carried.surface.patches.push(patch);
        carried.spans.push(now);
        carried.off = carried.off.max(off);
    }
    carried
}

/// Points of a strake over a grid of t and v, v fastest, given the bulge there.
pub(crate) fn points(frame: &Frame, strake: usize, ts: &[f64], vs: &[f64], bulge: &[f64]) -> Vec<[f64; 3]> {
    let mut out = Vec::with_capacity(bulge.len());
    for (&t, w) in ts.iter().zip(bulge.chunks_exact(vs.len())) {
        let chord = frame.chord(strake, t);
        let (keel, sheer) = (frame.edge(0, t).1, frame.edge(frame.strakes(), t).1);
        for (&v, &w) in vs.iter().zip(w) {
            // The edges are taken bare, so that neighbours share them bit for bit.
            let (y, z) = if v == 0.0 {
                chord.low
            } else if v == 1.0 {
                chord.high
            } else {
                chord.point(v, w)
            };
            out.push([frame.x(t, y, (z - keel) / (sheer - keel)), y, z]);
        }
    }
    out
}
