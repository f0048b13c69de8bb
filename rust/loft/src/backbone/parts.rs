//! Where the builder parts the backbone's line into stem, keel and sternpost.
//!
//! The stem takes the line down to where it has come round to the keel's own run: to the corner where there is one,
//! and on a rounded forefoot to where a straight-grained keel begins. A sternpost likewise.

use scrieve_hull::{BackboneLine, Boat, Curve, Sample};

use crate::rabbet::End;

/// The keel is what lies within this of its run amidships, radians (20 degrees): more has to be a grown crook, or
/// a piece of its own (common practice).
const KEEL_TURN: f64 = 0.35;
/// Spots of a run of the line at which its direction is looked at.
const LOOKS: usize = 64;

/// The backbone's line and its parts, by length from its forward end, m.
pub(crate) struct Parts {
    pub line: BackboneLine,
    /// Where the stem ends and the keel begins; nothing without a stem.
    pub fore: f64,
    /// Where the keel ends and the post begins; the line's length without a post.
    pub aft: f64,
    pub length: f64,
}

impl Parts {
    pub fn of(hull: &Boat, half_siding: Option<f64>) -> Parts {
        let line = hull.backbone_line(half_siding);
        let length = line.curve.length();
        let mut parts = Parts { line, fore: 0.0, aft: length, length };
        let looks = parts.looks();
        let xs = looks.iter().map(|(_, s)| s.p[0]);
        let middle = 0.5 * (xs.clone().fold(f64::INFINITY, f64::min) + xs.fold(f64::NEG_INFINITY, f64::max));
        let Some(amidships) = looks.iter().rposition(|(_, s)| s.p[0] <= middle) else { return parts };
        // A heel far forward leaves a long raked post amidships: the keel's run is then the line's flattest.
        let rise = |k: usize| {
            let t = looks[k].1.tangent;
            t[2].atan2(t[0]).abs()
        };
        let flattest = || (0..looks.len()).min_by(|&a, &b| rise(a).total_cmp(&rise(b)));
        let amidships = if rise(amidships) > KEEL_TURN { flattest().unwrap_or(amidships) } else { amidships };
        let run = looks[amidships].1.tangent;
        let off = |k: usize| {
            let t = looks[k].1.tangent;
            (run[0] * t[2] - run[2] * t[0]).atan2(run[0] * t[0] + run[2] * t[2]).abs()
        };
        // From the last look within the turn to the first past it.
        let between = |inside: usize, outside: usize| {
            let ((a, _), (b, _)) = (looks[inside], looks[outside]);
            let (low, high) = (off(inside), off(outside));
            a + (b - a) * ((KEEL_TURN - low) / (high - low)).clamp(0.0, 1.0)
        };
        if parts.line.has_stem {
            let found = (0..amidships).rev().find(|&k| off(k) > KEEL_TURN);
            parts.fore = found.map_or(0.0, |k| between(k + 1, k));
        }
        if parts.line.has_post {
            let found = (amidships..looks.len()).find(|&k| off(k) > KEEL_TURN);
            parts.aft = found.map_or(length, |k| between(k.saturating_sub(1), k));
        }
        parts
    }

    /// Which part a length along the line is on; `None` is the keel.
    pub fn end(&self, s: f64) -> Option<End> {
        if s < self.fore {
            Some(End::Stem)
        } else if s > self.aft {
            Some(End::Sternpost)
        } else {
            None
        }
    }

    /// Whether the line runs on from stem to keel, or keel to post, without a corner.
    pub fn runs_on(&self, at: f64) -> bool {
        self.line.runs().iter().any(|(from, to)| at > from + RUNS_ON_M && at < to - RUNS_ON_M)
    }

    /// The part of the line an end takes, from the keel to its head; `None` where there is none.
    pub fn of_end(&self, end: End) -> Option<Curve> {
        let curve = match end {
            End::Stem if self.fore > RUNS_ON_M => self.line.curve.trimmed(0.0, self.fore).reversed(),
            End::Sternpost if self.aft < self.length - RUNS_ON_M => {
                self.line.curve.trimmed(self.aft, self.length)
            }
            _ => return None,
        };
        Some(curve)
    }

    /// Each run of the line between corners: where it begins, m, and itself.
    pub fn runs(&self) -> Vec<(f64, Curve)> {
        let of = |piece: &Vec<Sample>| Curve { plane: self.line.curve.plane, pieces: vec![piece.clone()] };
        let curves = self.line.curve.pieces.iter().map(of);
        self.line.runs().into_iter().map(|(from, _)| from).zip(curves).collect()
    }

    fn looks(&self) -> Vec<(f64, Sample)> {
        let mut looks = Vec::new();
        for (from, run) in self.runs() {
            let length = run.length();
            let at: Vec<f64> = (0..=LOOKS).map(|i| length * i as f64 / LOOKS as f64).collect();
            looks.extend(at.iter().map(|s| from + s).zip(run.at_lengths(&at)));
        }
        looks
    }
}

/// Lengths nearer than this are one place of the line, m.
const RUNS_ON_M: f64 = 1e-5;
