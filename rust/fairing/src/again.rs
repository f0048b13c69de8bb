//! Fairing again after a reading has changed: from the lines, parameters and doubts of the fit before.
//!
//! Parameters hardly move with one reading, and they are what a fit spends its time on. The spots are placed
//! in the frame of the fit before, the joint system is solved once, what has changed is judged by the evidence of
//! the rest, and the surface is carried over to breaks known to be fine enough.

use std::sync::Arc;

use scrieve_offsets::{CellId, Survey};

use crate::evidence::{Out, Which, gain};
use crate::field::Theta;
use crate::fit::{Fit, Placed};
use crate::frame::Frame;
use crate::judge::{Doubts, SURE};
use crate::keel::{Keel, Line};
use crate::{Faired, FairingError, Options, fair};

/// With more changed readings than this the parameters are looked for anew: together they may make another
/// boat of it.
const MOST_CHANGED: usize = 3;

/// What is kept of a fit for the next.
#[derive(Clone, Debug)]
pub(crate) struct Kept {
    pub survey: Survey,
    pub options: Options,
    pub priors: Vec<Line>,
    pub theta: Theta,
    pub frame: Frame,
    pub placed: Vec<Placed>,
    pub doubts: Doubts,
    pub keel: Arc<Keel>,
    pub keel_out: Out,
    pub shared: Vec<(Which, usize)>,
    pub along_post: Vec<(f64, f64)>,
    pub straight: Vec<bool>,
    /// Spans of each patch.
    pub spans: Vec<(usize, usize)>,
}

impl Kept {
    /// Cells of readings that stay in the fit and are queried.
    pub fn queried(&self) -> Vec<CellId> {
        self.doubts.queried.iter().map(|which| which.cell(&self.survey)).collect()
    }

    /// Whether a survey is that of this fit but for a few readings.
    fn serves(&self, survey: &Survey, options: &Options) -> bool {
        let old = &self.survey;
        let cells = |s: &Survey| -> Vec<_> {
            s.lines.iter().map(|l| l.cell).chain(s.spots.iter().map(|p| p.cell)).collect()
        };
        let whole = (old.chines, old.half_siding, old.transom, &old.stations, &old.stem, &old.stern)
            == (
                survey.chines,
                survey.half_siding,
                survey.transom,
                &survey.stations,
                &survey.stem,
                &survey.stern,
            );
        if !whole
            || !self.doubts.suspects.is_empty()
            || !self.doubts.facts.is_empty()
            || self.options != *options
            || cells(old) != cells(survey)
        {
            return false;
        }
        let changed = old.lines.iter().zip(&survey.lines).filter(|(a, b)| a != b).count()
            + old.spots.iter().zip(&survey.spots).filter(|(a, b)| a != b).count();
        changed <= MOST_CHANGED
    }
}

/// Fairs a survey that differs from that of `previous` in a few readings, with the parameters of that fit.
/// Where more differs, or the options do, this is [`fair`].
pub fn fair_again(survey: &Survey, options: &Options, previous: &Faired) -> Result<Faired, FairingError> {
    match &previous.kept {
        Some(kept) if kept.serves(survey, options) && !previous.is_no_hull() => {
            crate::fit::sound(survey)?;
            match Fit::begin(survey, options, &kept.doubts.out)?.judge_again(kept)? {
                Some(again) => Ok(again),
                None => fair(survey, options),
            }
        }
        _ => fair(survey, options),
    }
}

impl Fit<'_> {
    /// From the solution before: parameters kept, one solve, and another where doubts change. None where a
    /// reading that has not changed becomes doubtful: then all are to be judged anew.
    fn judge_again(mut self, kept: &Kept) -> Result<Option<Faired>, FairingError> {
        self.premise = kept.doubts.premise;
        self.stiffness = self.asked_stiffness;
        self.resume(kept)?;
        let mut out = kept.doubts.out.clone();
        let (mut rows, judged) = self.rows(&out);
        let mut joint = self.solve(&rows, kept.theta, false)?;
        if self.options.robust {
            let mut now = out.clone();
            for (i, row) in judged.iter().enumerate() {
                let Some(which) = row.which.filter(|_| row.open) else { continue };
                let was = out.contains(&which);
                let gain = gain(row, joint.left_out(i), if was { row.added() } else { 0.0 });
                let changed = match which {
                    Which::Line(i) => kept.survey.lines[i] != self.survey.lines[i],
                    Which::Spot(i) => kept.survey.spots[i] != self.survey.spots[i],
                    Which::Stem(_) | Which::Stern(_) => false,
                };
                if was && gain < 0.0 {
                    now.remove(&which);
                } else if !was && gain > SURE {
                    if !changed {
                        return Ok(None);
                    }
                    now.insert(which);
                }
            }
            now.extend(self.out_of_place(false));
            if now != out {
                out = now;
                rows = self.rows(&out).0;
                joint = self.solve(&rows, kept.theta, false)?;
            }
        }
        let doubts = Doubts { out, suspects: Vec::new(), ..kept.doubts.clone() };
        self.finish(joint, &rows, &judged, doubts, Some(&kept.spans)).map(Some)
    }
}
