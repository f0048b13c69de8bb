//! Tables of more readings than it takes to know a hull: she is judged by some of them, spread over the boat, the
//! rest is held against what these make of her, and then all are faired together.
//!
//! A search among explanations solves systems of all its readings again and again, at the cube of their number, and past
//! some hundreds they say nothing new of the parameters. A reading that had no part in a hull is judged by her the more
//! plainly: it cannot have bent her.

use std::collections::BTreeMap;

use scrieve_notation::Mark;
use scrieve_offsets::{CellId, LineReading, Survey};

use crate::evidence::{Out, Settled, Which, gain};
use crate::facts::{OffFact, Otherwise};
use crate::fit::Fit;
use crate::joint::Joint;
use crate::judge::{Doubts, Judgement, SURE, WORTH_SAYING};
use crate::robust::Judged;
use crate::ways::Ways;
use crate::{Faired, FairingError, Options};

/// How many spots, and how many readings of each line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Most {
    spots: usize,
    of_line: usize,
}

/// A hull is judged by no more than these: twice what a table of 13 stations has.
pub(crate) const JUDGED: Most = Most { spots: 240, of_line: 32 };
/// Where to begin with a table that is no hull is told by no more: many fits are made of it.
pub(crate) const LOOKED_AT: Most = Most { spots: 140, of_line: 16 };
/// And faired through no more than these, besides what is held: past them readings only repeat each other.
const FAIRED: Most = Most { spots: 600, of_line: 96 };
/// Rounds in which all readings find their places about the hull that some of them made.
const ROUNDS: usize = 2;

/// Some of a survey's readings, evenly over the boat, ends of lines among them; none where there are no more.
pub(crate) fn some_of(survey: &Survey, most: Most, with_held: bool) -> Option<Survey> {
    let stays = |mark: Mark| with_held && mark == Mark::Held;
    let mut lines: Vec<LineReading> = Vec::with_capacity(survey.lines.len());
    let kind = |l: &LineReading| (l.line, l.axis);
    let mut kinds: Vec<_> = Vec::new();
    for l in &survey.lines {
        if !kinds.contains(&kind(l)) {
            kinds.push(kind(l));
        }
    }
    for of in kinds {
        let mut own: Vec<LineReading> = survey.lines.iter().filter(|l| kind(l) == of).copied().collect();
        own.sort_by(|a, b| {
            (a.on_transom, a.x).partial_cmp(&(b.on_transom, b.x)).unwrap_or(a.cell.cmp(&b.cell))
        });
        let (last, every) = (own.len() - 1, own.len().div_ceil(most.of_line));
        let kept = own.into_iter().enumerate();
        lines.extend(kept.filter(|(i, l)| i % every == 0 || *i == last || stays(l.mark)).map(|(_, l)| l));
    }
    let mut spots = survey.spots.clone();
    // Counted along each section and section by section, the places taken change from one to the next.
    spots.sort_by(|a, b| (a.x, a.y + a.z).partial_cmp(&(b.x, b.y + b.z)).unwrap_or(a.cell.cmp(&b.cell)));
    let every = spots.len().div_ceil(most.spots).max(1);
    let mut count = 0;
    spots.retain(|s| {
        count += 1;
        count % every == 0 || stays(s.mark)
    });
    let fewer = (lines.len(), spots.len()) != (survey.lines.len(), survey.spots.len());
    fewer.then(|| Survey { lines, spots, ..survey.clone() })
}

/// The readings of a survey by their cells.
fn by_cell(survey: &Survey) -> BTreeMap<CellId, Which> {
    let lines = survey.lines.iter().enumerate().map(|(i, l)| (l.cell, Which::Line(i)));
    let spots = survey.spots.iter().enumerate().map(|(i, s)| (s.cell, Which::Spot(i)));
    let stem = survey.stem.iter().enumerate().map(|(i, s)| (s.cell, Which::Stem(i)));
    let stern = survey.stern.iter().enumerate().map(|(i, s)| (s.cell, Which::Stern(i)));
    lines.chain(spots).chain(stem).chain(stern).collect()
}

impl Judgement<'_> {
    /// The hull of all readings of a survey, of which she has been judged by some.
    pub(crate) fn of_all(self, whole: &Survey, options: &Options) -> Result<Faired, FairingError> {
        let (judged_by, evidence) = (self.settled.fit.survey, self.settled.evidence);
        // Its profiles and facts are as they were judged.
        let taken: Vec<OffFact> = self.facts.iter().filter(|f| f.taken).map(|f| f.off).collect();
        let whole = Otherwise::applied(&taken, whole);
        let whole = &Survey { stem: judged_by.stem.clone(), stern: judged_by.stern.clone(), ..whole };
        let faired_through = some_of(whole, FAIRED, true);
        let used = faired_through.as_ref().unwrap_or(whole);
        let more = self.settled.among(used, options, &self.queried)?;
        let (suspects, facts, told_alone, ways) = (self.suspects, self.facts, self.told_alone, self.ways);
        let Judgement { settled, queried, .. } = more;
        let settled = settled.stiffened()?.straightened()?;
        let rest = if used.spots.len() + used.lines.len() < whole.spots.len() + whole.lines.len() {
            Some(settled.held_against(whole, options)?)
        } else {
            None
        };
        let Settled { fit, joint, rows, judged, out, .. } = settled;
        let doubts =
            Doubts { out, queried, premise: fit.premise, suspects, facts, told_alone, ways, evidence };
        let joint_of_rest = rest.as_ref().map(|_| joint.clone());
        let mut faired = fit.finish(joint, &rows, &judged, doubts, None)?;
        if let (Some((fit, doubts)), Some(joint)) = (rest, joint_of_rest) {
            faired.remarks.push(format!(
                "{} of {} spots are used, evenly over the hull: more would not tell more; the others are held against it",
                used.spots.len(),
                whole.spots.len()
            ));
            let known = by_cell(used);
            let (rows, judged) = fit.rows(&doubts.out);
            let misfit = |i: usize| joint.against(&rows[i]);
            let all = fit.residuals(&faired.surface, &joint, (&rows, &judged), &misfit, &doubts);
            faired.residuals.extend(all.into_iter().filter(|r| !known.contains_key(&r.cell)));
        }
        Ok(faired)
    }
}

impl Settled<'_> {
    /// The same readings as those of another survey.
    fn as_in(&self, out: &Out, cells: &BTreeMap<CellId, Which>) -> Out {
        out.iter().filter_map(|which| cells.get(&which.cell(self.fit.survey)).copied()).collect()
    }

    /// Another survey's readings placed about this hull, those that are left out here among them; nothing is solved.
    fn placed<'b>(&self, survey: &'b Survey, options: &'b Options) -> Result<Fit<'b>, FairingError> {
        let cells = by_cell(survey);
        let mut fit = Fit::begin(survey, options, &Out::new())?;
        fit.premise = self.fit.premise;
        fit.stiffness = self.fit.stiffness;
        fit.begin_from(&self.fit, |which| cells.get(&which.cell(self.fit.survey)).copied())?;
        fit.look_again(&self.joint);
        Ok(fit)
    }

    /// All readings of another survey that the hull, who has had no part in them, contradicts.
    fn contradicted(&self, fit: &Fit<'_>, of: &[(usize, f64)], judged: &[Judged]) -> Out {
        let wild = fit.out_of_place(true);
        let off = of.iter().filter(|(_, gain)| *gain > SURE).filter_map(|(i, _)| judged[*i].which);
        off.chain(wild).collect()
    }

    /// The hull of this and all other readings of a survey; those here stay judged as they are.
    fn among<'b>(
        &self,
        survey: &'b Survey,
        options: &'b Options,
        queried: &Out,
    ) -> Result<Judgement<'b>, FairingError> {
        let cells = by_cell(survey);
        let here: Out = by_cell(self.fit.survey).keys().filter_map(|cell| cells.get(cell).copied()).collect();
        let (mut out, mut queried) = (self.as_in(&self.out, &cells), self.as_in(queried, &cells));
        let mut fit = self.placed(survey, options)?;
        let new = |j: &Judged| j.open && options.robust && j.which.is_some_and(|w| !here.contains(&w));
        let (rows, judged) = fit.rows(&Out::new());
        let gains: Vec<(usize, f64)> = (0..rows.len())
            .filter(|&i| new(&judged[i]))
            .map(|i| (i, gain(&judged[i], self.joint.against(&rows[i]), 0.0)))
            .collect();
        if options.robust {
            out.extend(self.contradicted(&fit, &gains, &judged));
        }
        for round in 0..ROUNDS {
            let (rows, judged) = fit.rows(&out);
            let joint = fit.solve(&rows, self.joint.theta, false)?;
            if round + 1 == ROUNDS {
                let worth_saying = |i: &usize| {
                    let kept = judged[*i].which.is_some_and(|w| !out.contains(&w));
                    kept && new(&judged[*i]) && gain(&judged[*i], joint.left_out(*i), 0.0) > WORTH_SAYING
                };
                queried.extend((0..rows.len()).filter(worth_saying).filter_map(|i| judged[i].which));
                let settled = Settled::new(fit, joint, rows, judged, out);
                return Ok(Judgement {
                    settled,
                    queried,
                    suspects: Vec::new(),
                    facts: Vec::new(),
                    told_alone: Default::default(),
                    ways: Ways::default(),
                });
            }
            // With their neighbours among them readings are told apart more finely.
            for (i, j) in judged.iter().enumerate().filter(|(_, j)| new(j)) {
                let Some(which) = j.which else { continue };
                let was = out.contains(&which);
                let gain =
                    gain(j, joint.left_out(i), if was { rows[i].sd.powi(2) - j.sd.powi(2) } else { 0.0 });
                if was && gain < 0.0 {
                    out.remove(&which);
                } else if !was && gain > SURE {
                    out.insert(which);
                }
            }
            fit.round(&joint)?;
        }
        Err(FairingError::Contradiction("no surface".to_string()))
    }

    /// A survey's readings placed about this hull, and what of them she contradicts.
    fn held_against<'b>(
        &self,
        survey: &'b Survey,
        options: &'b Options,
    ) -> Result<(Fit<'b>, Doubts), FairingError> {
        let fit = self.placed(survey, options)?;
        let (rows, judged) = fit.rows(&Out::new());
        let gains: Vec<(usize, f64)> = (0..rows.len())
            .filter(|&i| judged[i].open && options.robust)
            .map(|i| (i, gain(&judged[i], self.joint.against(&rows[i]), 0.0)))
            .collect();
        let out = if options.robust { self.contradicted(&fit, &gains, &judged) } else { Out::new() };
        let doubts = Doubts { out, premise: fit.premise, ..Doubts::default() };
        Ok((fit, doubts))
    }
}

impl Fit<'_> {
    /// Slopes at all spots by a solution.
    fn look_again(&mut self, joint: &Joint) {
        for placed in self.placed.iter_mut().filter(|p| !p.idle) {
            placed.slope = joint.slope(placed.strake, placed.t, placed.v);
        }
    }
}
