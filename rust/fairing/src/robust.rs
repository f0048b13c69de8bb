//! Finding readings that the rest of the boat contradicts.
//!
//! Each reading is compared with what all others expect of it, in units of the uncertainty of that; the
//! worst is weighed down and the rest judged again. Parameters are fixed at usual ones at first, since those
//! fitted with slips among the readings are inflated and hide them.

use crate::gp::Solved;
use crate::lines::{FittedLine, LineDatum, LinePrior};

/// Misfit in standard deviations beyond which a reading is doubted before parameters are fitted; lower finds
/// smaller slips and more that are none.
pub(crate) const FIRST: f64 = 5.0;
/// The same once they are: for spots, and for readings of lines, where few neighbours speak.
pub(crate) const SECOND: (f64, f64) = (4.2, 5.0);
/// A doubted reading comes back below this.
pub(crate) const READMIT: f64 = 3.6;
/// A misfit under this many tolerances is hardly a slip, whatever the fit's certainty: it counts for
/// [`SMALL_COUNTS`] of itself.
pub(crate) const SMALL: f64 = 3.8;
/// See [`SMALL`].
pub(crate) const SMALL_COUNTS: f64 = 0.3;
/// An end of a line has neighbours on one side only: its misfit counts for this part.
const END_COUNTS: f64 = 0.5;
/// A doubted reading keeps this many times its standard deviation: too much to bend anything.
pub(crate) const DOUBTED_SD: f64 = 1e3;
/// Warps a line is judged under: it is quicker at either end, or at neither.
const WARPS: [f64; 4] = [-2.0, 0.0, 1.5, 3.0];
/// At most this part of the readings is doubted; beyond it nothing is left to judge by.
pub(crate) const MOST: f64 = 0.25;

/// Which readings of a line, in order along it, the others contradict, whatever the warp.
pub(crate) fn judge_line(data: &[LineDatum], usual: LinePrior) -> Vec<bool> {
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
        let Some((worst, score)) = scores.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)) else { break };
        if *score < FIRST || *score == f64::MAX {
            break;
        }
        doubted[kept[worst]] = true;
    }
    doubted
}

/// A reading as the judge sees it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Judged {
    /// Its noise's standard deviation before any doubt, in the units of the system.
    pub sd: f64,
    /// Metres of the reading to one unit.
    pub metres: f64,
    /// Its tolerance, m.
    pub tolerance: f64,
    /// It belongs to a line, not to a spot between.
    pub of_line: bool,
    /// The first or last of its line.
    pub end: bool,
    /// It may be doubted at all: not held, and no condition of the frame.
    pub open: bool,
}

impl Judged {
    /// Misfit in standard deviations as it counts; `added` is the noise it was weighed down by.
    fn score(&self, (misfit, variance): (f64, f64), added: f64) -> f64 {
        let sd = (variance - added).max(self.sd * self.sd).sqrt();
        let small = misfit.abs() * self.metres < SMALL * self.tolerance;
        let counts = if small { SMALL_COUNTS } else { 1.0 } * if self.end { END_COUNTS } else { 1.0 };
        misfit.abs() / sd * counts
    }

    /// Noise added when it is doubted, as a variance.
    pub fn added(&self) -> f64 {
        self.sd * self.sd * (DOUBTED_SD * DOUBTED_SD - 1.0)
    }
}

/// Weighs down the worst, again and again, until none is beyond its threshold; returns whether any was.
pub(crate) fn judge(
    solved: &mut Solved,
    y: &[f64],
    readings: &[Judged],
    doubted: &mut [bool],
    threshold: (f64, f64),
) -> bool {
    let most = (readings.len() as f64 * MOST) as usize;
    let mut any = false;
    while doubted.iter().filter(|d| **d).count() < most {
        let alpha = solved.times(y);
        let worst = (0..readings.len())
            .filter(|&i| readings[i].open && !doubted[i])
            .map(|i| {
                let limit = if readings[i].of_line { threshold.1 } else { threshold.0 };
                (i, readings[i].score(solved.left_out(i, &alpha), 0.0) / limit)
            })
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let Some((i, _)) = worst.filter(|w| w.1 > 1.0) else { break };
        solved.weigh_down(i, readings[i].added());
        doubted[i] = true;
        any = true;
    }
    any
}

/// Takes back those doubted readings that now fit; returns whether any did.
pub(crate) fn readmit(solved: &Solved, y: &[f64], readings: &[Judged], doubted: &mut [bool]) -> bool {
    let alpha = solved.times(y);
    let mut any = false;
    for i in 0..readings.len() {
        if doubted[i] && readings[i].score(solved.left_out(i, &alpha), readings[i].added()) < READMIT {
            doubted[i] = false;
            any = true;
        }
    }
    any
}
