//! The posterior mean carried over to patches, fine enough that nobody can tell the difference.

use crate::fit::{breaks, even_breaks};
use crate::frame::Frame;
use crate::joint::Joint;
use crate::{Patch, Surface};
use scrieve_surface::bspline::greville;

/// Spans of a patch along and across to begin with; doubled while the surface is off the fit by more than
/// [`CARRIED`], [`REFINEMENTS`] times at most.
const PATCH_SPANS: (usize, usize) = (24, 12);
/// See [`PATCH_SPANS`]; m.
const CARRIED: f64 = 1e-5;
/// See [`PATCH_SPANS`].
const REFINEMENTS: usize = 2;
/// So many breaks at one place let a patch have a corner there.
const CORNER: usize = 5;
/// So often the first span up a sternpost is halved toward the heel: over a heel that is round the planking's lower edge
/// runs along the post by less than the square root of v, and even spans let it saw there by millimetres.
const AT_THE_HEEL: i32 = 8;
/// How the planking's last misfit at a sternpost dies away: by this power of u, and over so much of v above the post.
const AHEAD: i32 = 16;
const ABOVE: f64 = 0.05;
/// How far below the foot, as a part of v there, the misfit's slope is taken.
const CLOSE_BELOW: f64 = 1e-3;

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
            let [u, v] = patch_breaks(frame, strake, now);
            let (gu, gv) = (greville(5, &u), greville(5, &v));
            let bulge =
                |us: &[f64], vs: &[f64]| bulge(frame, strake, us, vs, |t, v| joint.bulge(strake, t, v));
            let patch = Patch::through(&u, &v, &points(frame, strake, &gu, &gv, &bulge(&gu, &gv)));
            if known.is_some() {
                break (patch, 0.0);
            }
            let middle = |b: &[f64]| {
                b.windows(2).filter(|p| p[0] < p[1]).map(|p| 0.5 * (p[0] + p[1])).collect::<Vec<f64>>()
            };
            let (mu, mv) = (middle(&u), middle(&v));
            let mut worst = 0.0f64;
            for (a, (t, s)) in points(frame, strake, &mu, &mv, &bulge(&mu, &mv))
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

/// Breaks of a strake's patch of so many spans along and across. At the corners of its after edge the patch may have a
/// corner along the boat too: the surface runs smoothly through it.
pub(crate) fn patch_breaks(frame: &Frame, strake: usize, spans: (usize, usize)) -> [Vec<f64>; 2] {
    let Some(post) = frame.post.as_ref().filter(|_| strake == 0) else {
        return [breaks(spans.0), even_breaks(spans.1)];
    };
    let (mut across, mut from) = (vec![0.0], 0.0);
    for to in post.corners().into_iter().chain([1.0]) {
        if from == 0.0 {
            let first = to / spans.1 as f64;
            across.extend((1..=AT_THE_HEEL).rev().map(|k| first * 0.5f64.powi(k)));
        }
        let within = even_breaks(spans.1).into_iter().skip(1).map(|part| from + part * (to - from));
        across.extend(within);
        across.pop();
        across.extend(std::iter::repeat_n(to, if to < 1.0 { CORNER } else { 1 }));
        from = to;
    }
    [breaks(spans.0), across]
}

/// The bulge over a grid of a patch, v fastest, given how to find it at places of the field. On a sternpost the planking
/// ends at its side exactly, and what it is off that dies away along it and above.
pub(crate) fn bulge(
    frame: &Frame,
    strake: usize,
    us: &[f64],
    vs: &[f64],
    of: impl Fn(&[f64], &[f64]) -> Vec<f64>,
) -> Vec<f64> {
    let Some(post) = frame.post.as_ref().filter(|_| strake == 0) else {
        let ts: Vec<f64> = us.iter().map(|&u| frame.t_of(strake, u, 0.5)).collect();
        let mut out = of(&ts, vs);
        let places = ts.iter().flat_map(|&t| vs.iter().map(move |&v| (t, v)));
        out.iter_mut().zip(places).for_each(|(w, (t, v))| *w += frame.straight_across(strake, t, v));
        return out;
    };
    let mut out = vec![0.0; us.len() * vs.len()];
    let short = |v: f64| {
        let t = frame.t_of(0, 1.0, v);
        let chord = frame.chord(0, t);
        let w = (frame.half_siding.value(t) - chord.low.0 - v * chord.delta().0) / chord.mirror().0;
        w - of(&[t], &[v])[0]
    };
    // Above the post as it comes up to the foot, so that the planking has no knuckle there that the fit has not.
    let below = post.foot * (1.0 - CLOSE_BELOW);
    let (at_foot, near) = (short(post.foot), short(below));
    let slope = (at_foot - near) / (post.foot - below);
    for (j, &v) in vs.iter().enumerate() {
        let short = if v == 0.0 || v == 1.0 {
            0.0
        } else if v < post.foot {
            short(v)
        } else {
            let up = v - post.foot;
            (at_foot + slope * up) * (-(up / ABOVE).powi(2)).exp()
        };
        let ts: Vec<f64> = us.iter().map(|&u| frame.t_of(0, u, v)).collect();
        for (i, w) in of(&ts, &[v]).into_iter().enumerate() {
            out[i * vs.len() + j] = w + short * us[i].powi(AHEAD);
        }
    }
    out
}

/// Points of a strake's patch over a grid of u and v, v fastest, given the bulge there.
pub(crate) fn points(frame: &Frame, strake: usize, us: &[f64], vs: &[f64], bulge: &[f64]) -> Vec<[f64; 3]> {
    let mut out = Vec::with_capacity(bulge.len());
    for (&u, w) in us.iter().zip(bulge.chunks_exact(vs.len())) {
        for (&v, &w) in vs.iter().zip(w) {
            let t = frame.t_of(strake, u, v);
            let chord = frame.chord(strake, t);
            let (keel, sheer) = (frame.edge(0, t).1, frame.edge(frame.strakes(), t).1);
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
