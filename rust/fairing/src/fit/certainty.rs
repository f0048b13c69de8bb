//! How sure the surface is, anywhere on it.
//!
//! To the variance of the hull given its parameters comes what doubt of the parameters adds where readings are
//! few: how far the mean moves, and how much the variance gains, when they are one standard deviation off in
//! each independent way (the delta method, as in Kackar and Harville, J. Am. Stat. Assoc. 79, 1984); and what premises
//! about the ends add that explain the readings about as well (`ways`).

use std::sync::{Arc, OnceLock};

use crate::Surface;
use crate::frame::Frame;
use crate::joint::{Functional, Joint, Row};
use crate::keel::Keel;
use crate::ways::Ways;

/// Places along the hull and across a strake where moves of the mean are kept; between them they run evenly
/// enough for a variance.
const MOVES: (usize, usize) = (33, 13);
/// The same for what the variance of w gains; each costs a solve for every parameter, either side.
const GAINS: (usize, usize) = (17, 9);

/// Beyond the second section from either end she may be quicker than the rest of her tells, and the standard deviation, which takes
/// her to be alike throughout, is too small: it is widened by up to so much of itself where it comes to so much, m, and by less in
/// proportion where readings leave less open. Of places at the ends of scows, canoe and cruiser sterns and double-enders off by more
/// than 10 mm, two of half as much again held 98 in 100 at 5 stations (88 without) and 74 at 9 (60 without).
const QUICK_END: (f64, f64) = (0.6, 3e-3);

/// How far the mean moves with one change of the parameters: each line over t, and w of each strake over t
/// and v.
#[derive(Debug)]
struct Move {
    lines: Vec<Vec<f64>>,
    bulge: Vec<Vec<f64>>,
}

/// What doubt of the parameters adds.
#[derive(Debug)]
struct Doubt {
    moves: Vec<Move>,
    /// For each strake over t and v, how much greater the variance of w is on the average over parameters.
    gains: Vec<Vec<f64>>,
}

/// What of the fit is needed to say so.
#[derive(Debug)]
pub(crate) struct Certainty {
    pub joint: Joint,
    pub rows: Vec<Row>,
    frame: Frame,
    pub keel: Arc<Keel>,
    pub ways: Ways,
    /// t of the second section from either end.
    within: (f64, f64),
    doubt: OnceLock<Doubt>,
}

impl Certainty {
    pub fn new(joint: Joint, rows: Vec<Row>, frame: Frame, keel: Arc<Keel>, ways: Ways) -> Self {
        let sections = joint.sections();
        let second = |at: Option<&f64>, end: f64| at.copied().unwrap_or(end);
        let within = (second(sections.get(1), 0.0), second(sections.iter().rev().nth(1), 1.0));
        Certainty { joint, rows, frame, keel, ways, within, doubt: OnceLock::new() }
    }

    fn doubt(&self) -> &Doubt {
        self.doubt.get_or_init(|| {
            let even = |n: usize| (0..n).map(|i| i as f64 / (n - 1) as f64).collect::<Vec<_>>();
            let strakes = self.frame.strakes();
            let (ts, vs) = (even(MOVES.0), even(MOVES.1));
            let mean = |j: &Joint| Move {
                lines: (0..self.frame.lines.len())
                    .map(|l| ts.iter().map(|&t| j.line(l, t)).collect())
                    .collect(),
                bulge: (0..strakes).map(|strake| j.bulge(strake, &ts, &vs)).collect(),
            };
            let here = mean(&self.joint);
            let moved = |j: &Joint| {
                let mut there = mean(j);
                for (a, b) in [(&mut there.lines, &here.lines), (&mut there.bulge, &here.bulge)] {
                    a.iter_mut().flatten().zip(b.iter().flatten()).for_each(|(a, b)| *a -= b);
                }
                there
            };
            let fields = self.joint.fields_one_off(&self.rows);
            let lines = self.joint.lines_one_off(&self.rows);
            let moves = fields.iter().map(|pair| &pair[0]).chain(&lines).map(moved).collect();
            let (ts, vs) = (even(GAINS.0), even(GAINS.1));
            let gain = |strake: usize, t: f64, v: f64| {
                let of = Functional { t, lines: Vec::new(), field: Some((strake, v, 1.0)), post: None };
                let own = self.joint.variance(&of);
                let gain = |[a, b]: &[Joint; 2]| 0.5 * (a.variance(&of) + b.variance(&of)) - own;
                fields.iter().map(gain).sum::<f64>().max(0.0)
            };
            let gains = (0..strakes)
                .map(|s| {
                    ts.iter()
                        .flat_map(|&t| vs.iter().map(move |&v| (t, v)))
                        .map(|(t, v)| gain(s, t, v))
                        .collect()
                })
                .collect();
            Doubt { moves, gains }
        })
    }

    /// Variance of a functional from that of the parameters.
    fn of_parameters(&self, of: &Functional) -> f64 {
        let doubt = self.doubt();
        let moved = |m: &Move| -> f64 {
            let lines: f64 =
                of.lines.iter().map(|&(l, c)| c * over(&m.lines[l], (MOVES.0, 1), of.t, 0.0)).sum();
            lines + of.field.map_or(0.0, |(strake, v, c)| c * over(&m.bulge[strake], MOVES, of.t, v))
        };
        let gained =
            of.field.map_or(0.0, |(strake, v, c)| c * c * over(&doubt.gains[strake], GAINS, of.t, v));
        gained + doubt.moves.iter().map(|m| moved(m).powi(2)).sum::<f64>()
    }

    /// One standard deviation along the surface's normal, m: that of lines and field together, and near the
    /// ends that of stem and stern.
    pub fn sd(&self, surface: &Surface, patch: usize, u: f64, v: f64) -> f64 {
        let strake = patch.min(surface.patches.len() - 1);
        let (sd, t) = (self.sd_as_throughout(surface, patch, u, v), self.frame.t_of(strake, u, v));
        let (fore, aft) = self.within;
        let beyond = ((fore - t) / fore.max(1e-9)).max((t - aft) / (1.0 - aft).max(1e-9)).clamp(0.0, 0.5);
        sd * (1.0 + QUICK_END.0 * (2.0 * beyond) * (sd / QUICK_END.1).min(1.0))
    }

    /// The same for a boat that is no quicker at her ends than elsewhere.
    pub fn sd_as_throughout(&self, surface: &Surface, patch: usize, u: f64, v: f64) -> f64 {
        self.sd_with(surface, patch, (u, v), true)
    }

    /// Of its square, what premises about an end add that explain the readings about as well, m².
    pub fn of_ways(&self, patch: usize, u: f64, v: f64) -> f64 {
        self.ways.variance(patch, self.frame.t_of(patch, u, v), v)
    }

    /// The same with the parameters as they are, which is soon found.
    pub fn least_sd(&self, surface: &Surface, patch: usize, at: (f64, f64)) -> f64 {
        self.sd_with(surface, patch, at, false)
    }

    fn sd_with(&self, surface: &Surface, patch: usize, (u, v): (f64, f64), doubtful: bool) -> f64 {
        let strake = patch.min(surface.patches.len() - 1);
        let (u, v) = (u.clamp(0.0, 1.0), v.clamp(0.0, 1.0));
        let j = surface.patches[strake].jet(u, v);
        let n = cross(j.du, j.dv);
        let norm = n.iter().map(|c| c * c).sum::<f64>().sqrt();
        if norm <= 0.0 {
            return 0.0;
        }
        let n = n.map(|c| c / norm);
        let (frame, length) = (&self.frame, self.frame.length());
        let t = frame.t_of(strake, u, v);
        let chord = frame.chord(strake, t);
        let (_, w) = chord.place((j.p[1], j.p[2]));
        let w = if w.is_finite() { w } else { 0.0 };
        let square = |d: (f64, f64)| n[1] * d.0 + n[2] * d.1;
        let edges = chord.by_edges(v, w).map(square);
        let mut lines = vec![(2 * strake, edges[1] * length)];
        if strake > 0 {
            lines.push((2 * strake - 1, edges[0] * length));
        }
        lines.push((2 * strake + 1, edges[2] * length));
        lines.push((2 * strake + 2, edges[3] * length));
        let of = Functional { t, lines, field: Some((strake, v, square(chord.aside(v).0))), post: None };
        let of_parameters = if doubtful { self.of_parameters(&of) } else { 0.0 };
        let mut variance = self.joint.variance(&of) + of_parameters + self.ways.variance(strake, t, v);
        let keel = &self.keel;
        for (parts, fore, fade) in
            [(keel.fore, true, frame.fades_at(t).0), (keel.aft, false, frame.fades_at(t).1)]
        {
            // A sternpost under a transom moves nothing: it cuts off the planking.
            if let Some(parts) = parts.filter(|_| fore || !keel.goes_on) {
                let at = keel.backbone.at_height(parts, fore, j.p[2]).0;
                let of = Functional {
                    t: Keel::written(at),
                    lines: vec![(0, length * n[0] * fade)],
                    field: None,
                    post: None,
                };
                variance += self.joint.variance(&of);
            }
        }
        variance.sqrt()
    }
}

/// Between the values on an even grid of t and v, linearly; with one column over t alone.
fn over(values: &[f64], n: (usize, usize), t: f64, v: f64) -> f64 {
    let between = |x: f64, n: usize| {
        let x = x * (n - 1) as f64;
        let i = (x as usize).min(n.saturating_sub(2));
        (i, x - i as f64)
    };
    let ((i, a), (j, b)) = (between(t, n.0), between(v, n.1));
    let along = |j: usize| (1.0 - a) * values[i * n.1 + j] + a * values[(i + 1) * n.1 + j];
    if n.1 == 1 { along(0) } else { (1.0 - b) * along(j) + b * along(j + 1) }
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
