//! Finding readings that the rest of the boat contradicts.
//!
//! Each reading is compared with what all others expect of it, in units of the uncertainty of that; the
//! worst is weighed down and the rest judged again. Parameters are fixed at usual ones at first, since those
//! fitted with slips among the readings are inflated and hide them.

use scrieve_notation::Mark;
use scrieve_offsets::{Axis, LineReading, RefLine, Survey};

use crate::evidence::{Out, Which};
use crate::gp::Solved;
use crate::lines::{FittedLine, LineDatum, LinePrior};

/// Misfit in standard deviations beyond which a reading is doubted before parameters are fitted; lower finds
/// smaller slips and more that are none.
pub(crate) const FIRST: f64 = 5.0;
/// The same once they are: for spots, and for readings of lines, where few neighbours speak.
pub(crate) const SECOND: (f64, f64) = (4.2, 5.0);
/// A doubted reading comes back below this.
const READMIT: f64 = 3.6;
/// A misfit under this many tolerances is hardly a slip, whatever the fit's certainty: it counts for
/// [`SMALL_COUNTS`] of itself.
const SMALL: f64 = 3.8;
/// See [`SMALL`].
const SMALL_COUNTS: f64 = 0.3;
/// An end of a line has neighbours on one side only: its misfit counts for this part.
const END_COUNTS: f64 = 0.5;
/// So many tolerances off, it counts in full all the same.
const END_SURE: f64 = 16.0;
/// A reading of a line is grossly off if the line is this many times smoother without it.
const SMOOTHER: f64 = 3.0;
/// A doubted reading keeps this many times its standard deviation: too much to bend anything.
pub(crate) const DOUBTED_SD: f64 = 1e3;
/// Warps a line is judged under: it is quicker at either end, or at neither.
const WARPS: [f64; 5] = [-3.0, -1.5, 0.0, 1.5, 3.0];
/// How far along the boat, as a part of it, a slip in a line upsets spots: two or three stations.
const NEAR: f64 = 0.25;
/// How much more likely, as a log, another explanation must be to be taken.
const CLEARLY: f64 = 2.0;
/// At most this part of the readings is doubted; beyond it nothing is left to judge by.
const MOST: f64 = 0.25;

/// Which readings of a line, in order along it, the others contradict, whatever the warp; of those only that
/// are `open` to doubt.
pub(crate) fn judge_line(data: &[LineDatum], open: &[bool], usual: LinePrior) -> Vec<bool> {
    let mut doubted = vec![false; data.len()];
    for _ in 0..(data.len() as f64 * MOST) as usize {
        let kept: Vec<usize> = (0..data.len()).filter(|&i| !doubted[i]).collect();
        let trusted: Vec<LineDatum> = kept.iter().map(|&i| data[i]).collect();
        if trusted.len() < 5 {
            break;
        }
        let mut scores = vec![f64::MAX; trusted.len()];
        for alpha in WARPS {
            let Some(line) = FittedLine::new(&trusted, LinePrior { alpha, ..usual }) else { continue };
            for (i, score) in scores.iter_mut().enumerate() {
                let (misfit, variance) = line.left_out(i);
                let end = i == 0 || i + 1 == trusted.len();
                *score = score.min(misfit.abs() / variance.sqrt() * if end { END_COUNTS } else { 1.0 });
            }
        }
        let of_open = scores.iter().enumerate().filter(|(i, _)| open[kept[*i]]);
        let Some((worst, score)) = of_open.max_by(|a, b| a.1.total_cmp(b.1)) else { break };
        if *score < FIRST || *score == f64::MAX {
            break;
        }
        doubted[kept[worst]] = true;
    }
    doubted
}

/// Readings of lines without which their line is many times smoother: where one keeps a hull from being found at
/// all, a judge must begin without it.
pub(crate) fn gross(survey: &Survey) -> Out {
    let mut found = Out::new();
    let mut kinds: Vec<(RefLine, Axis)> = survey.lines.iter().map(|l| (l.line, l.axis)).collect();
    kinds.sort();
    kinds.dedup();
    for kind in kinds {
        let own = survey.lines.iter().enumerate().filter(|(_, l)| (l.line, l.axis) == kind);
        let mut of: Vec<(usize, &LineReading)> = own.collect();
        of.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
        for _ in 0..of.len() / 4 {
            let without = |out: usize| {
                let rest: Vec<_> = (0..of.len()).filter(|&i| i != out).map(|i| of[i]).collect();
                roughness(&rest)
            };
            let open = (0..of.len()).filter(|&i| of[i].1.mark != Mark::Held);
            let best = open.map(|i| (without(i), i)).min_by(|a, b| a.0.total_cmp(&b.0));
            let Some((_, out)) = best.filter(|b| b.0 * SMOOTHER < roughness(&of)) else { break };
            found.insert(Which::Line(of.remove(out).0));
        }
    }
    found
}

/// Mean height of the breaks in the chain of straights from reading to reading.
fn roughness(of: &[(usize, &LineReading)]) -> f64 {
    let breaks = of.windows(3).map(|w| {
        let [a, b, c] = [w[0].1, w[1].1, w[2].1];
        (b.value - a.value - (b.x - a.x) / (c.x - a.x) * (c.value - a.value)).abs()
    });
    breaks.sum::<f64>() / of.len().max(3) as f64
}

/// A reading as the judge sees it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Judged {
    /// Where along the boat.
    pub t: f64,
    /// Its noise's standard deviation before any doubt, in the units of the system.
    pub sd: f64,
    /// Metres of the reading to one unit.
    pub metres: f64,
    /// Its tolerance, m.
    pub tolerance: f64,
    /// It belongs to a line, not to a spot between.
    pub of_line: bool,
    /// Readings of its line, conditions of the frame among them.
    pub in_line: usize,
    /// The first or last of its line, with nothing held beyond.
    pub end: bool,
    /// The first or last reading of its line or profile, whatever is held beyond; a spot of the first or last section.
    pub outermost: bool,
    /// It may be doubted at all: not held, and no condition of the frame.
    pub open: bool,
    /// The reading; none where it is a condition of the frame.
    pub which: Option<Which>,
}

impl Judged {
    /// Misfit in standard deviations as it counts; `added` is the noise it was weighed down by.
    fn score(&self, (misfit, variance): (f64, f64), added: f64) -> f64 {
        let sd = (variance - added).max(self.sd * self.sd).sqrt();
        let tolerances = misfit.abs() * self.metres / self.tolerance;
        let counts = if tolerances < SMALL {
            SMALL_COUNTS
        } else if self.end && tolerances < END_SURE {
            END_COUNTS
        } else {
            1.0
        };
        misfit.abs() / sd * counts
    }

    /// Noise added when it is doubted, as a variance.
    pub fn added(&self) -> f64 {
        self.sd * self.sd * (DOUBTED_SD * DOUBTED_SD - 1.0)
    }
}

/// Which readings are doubted, and the system with those weighed down.
#[derive(Clone)]
pub(crate) struct Verdict<'a> {
    solved: Solved,
    y: &'a [f64],
    readings: &'a [Judged],
    pub doubted: Vec<bool>,
}

impl<'a> Verdict<'a> {
    /// `solved` has those already `doubted` weighed down.
    pub fn new(solved: Solved, y: &'a [f64], readings: &'a [Judged], doubted: Vec<bool>) -> Self {
        Verdict { solved, y, readings, doubted }
    }

    fn set(&mut self, i: usize, doubted: bool) {
        let added = self.readings[i].added();
        self.solved.weigh_down(i, if doubted { added } else { -added });
        self.doubted[i] = doubted;
    }

    /// Weighs down the worst, again and again, until none is beyond its threshold: (spots', lines').
    pub fn doubt(&mut self, threshold: (f64, f64)) {
        let most = (self.readings.len() as f64 * MOST) as usize;
        while self.doubted.iter().filter(|d| **d).count() < most {
            let alpha = self.solved.times(self.y);
            let worst = (0..self.readings.len())
                .filter(|&i| self.readings[i].open && !self.doubted[i])
                .map(|i| {
                    let limit = if self.readings[i].of_line { threshold.1 } else { threshold.0 };
                    (i, self.readings[i].score(self.solved.left_out(i, &alpha), 0.0) / limit)
                })
                .max_by(|a, b| a.1.total_cmp(&b.1));
            let Some((i, _)) = worst.filter(|w| w.1 > 1.0) else { break };
            self.set(i, true);
        }
    }

    /// One slip in a line upsets the spots about it. Wherever readings are doubted, tries whether one of a
    /// line near them, doubted alone, explains more; doubting costs what [`DOUBTED_SD`] makes it cost.
    pub fn blame_lines(&mut self, threshold: (f64, f64)) {
        for line in 0..self.readings.len() {
            let at = self.readings[line];
            if !at.open || !at.of_line {
                continue;
            }
            let near: Vec<usize> = (0..self.readings.len())
                .filter(|&i| i != line && self.doubted[i] && (self.readings[i].t - at.t).abs() < NEAR)
                .collect();
            if near.is_empty() {
                continue;
            }
            let mut other = self.clone();
            near.iter().for_each(|&i| other.set(i, false));
            if !other.doubted[line] {
                other.set(line, true);
            }
            other.doubt(threshold);
            if other.solved.evidence(self.y) > self.solved.evidence(self.y) + CLEARLY {
                *self = other;
            }
        }
    }

    /// Takes back those that now fit.
    pub fn readmit(&mut self) {
        let alpha = self.solved.times(self.y);
        for (i, reading) in self.readings.iter().enumerate() {
            if self.doubted[i] && reading.score(self.solved.left_out(i, &alpha), reading.added()) < READMIT {
                self.doubted[i] = false;
            }
        }
    }
}
