//! How well a hull explains its readings where some of them are taken for slips: the log of its evidence.
//!
//! A fit is settled with given readings left out and its parameters chosen again for the rest. Its evidence is
//! that of all readings, a density in metres of reading: those kept by the fit, those left out by how common
//! slips are and how large (Bayes' factors, Kass and Raftery, J. Am. Stat. Assoc. 90, 1995). Slips of any size
//! are taken for equally common in the log of it.

use std::collections::BTreeSet;

use scrieve_offsets::{CellId, Survey};

use crate::field::{JUDGING, Theta, USUAL, priors, stiffer};
use crate::fit::{Fit, Premise};
use crate::gp::log_prior;
use crate::joint::{Joint, Row};
use crate::lines::usual;
use crate::robust::{DOUBTED_SD, Judged};
use crate::{FairingError, Options};

/// A reading of a survey, by its place there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Which {
    Line(usize),
    Spot(usize),
    /// A spot of the stem's profile.
    Stem(usize),
    /// A spot of the sternpost's.
    Stern(usize),
}

impl Which {
    /// Its cell.
    pub fn cell(self, survey: &Survey) -> CellId {
        match self {
            Which::Line(i) => survey.lines[i].cell,
            Which::Spot(i) => survey.spots[i].cell,
            Which::Stem(i) => survey.stem[i].cell,
            Which::Stern(i) => survey.stern[i].cell,
        }
    }
}

/// Readings left out.
pub(crate) type Out = BTreeSet<Which>;

/// One reading in so many is a slip.
const RARE: f64 = 200.0;
/// Logs between the smallest slip and the largest, 3 mm and 2 ft: the log of their ratio, rounded down as the
/// largest are rare.
const SIZES: f64 = 4.2;
/// A slip of less than this, m, or of fewer tolerances is hardly one: so much less likely, as a log. Finer readings make
/// slips no smaller: it is as many feet, inches and digits that are lost.
const SMALL: (f64, f64, f64) = (6e-3, 3.8, -8.0);
/// The outermost reading of a line that is off by less than this, m: what the rest expects there is carried on from it, or
/// runs quickly to the stem, and lines are not quite what they are taken for. As a log.
const OUTERMOST: (f64, f64) = (0.0254, -14.0);
/// The same of a spot of the first or last section.
const IN_OUTERMOST: (f64, f64) = (0.0127, -8.0);
/// One of a line that is off by more and has nothing beyond it to speak against it, as a log.
const END: f64 = -4.0;
/// Two neighbours in a line that are both slips, as a log: it is far oftener a line that is quick there.
const BESIDE: f64 = -6.0;
/// A reading of a line with no more readings than this, as a log: few neighbours speak, and each much.
const FEW: (usize, f64) = (8, -3.7);
/// The sheer is the fairest line of a boat: what is believed of it before the readings counts so often.
const FAIREST: f64 = 2.0;
/// So does what is believed of a profile: its few spots say little of its roughness.
const PROFILE: f64 = 2.0;
/// A spot that lies so many tolerances below the rabbet or above the sheer is none of the section.
const BEYOND: f64 = 4.0;
/// Rounds of a fit from lines begun anew, and from those of another.
const ROUNDS: (usize, usize) = (5, 3);
/// A fit whose evidence still changes by more than this, in logs, has not come to rest, and goes on for so many rounds
/// more, with parameters chosen again in this one of them.
const UNREST: (f64, usize, usize) = (1.0, 8, 1);
/// The round of a fit begun anew in which its parameters are chosen.
const CHOSEN: usize = 2;
/// A strake between chines with one reading a station, and those off straight lines across it by no more than chance has them, is
/// straight: how much worse a straight one may meet them, in squares of standard deviations (three free figures of a bulge have
/// 11.3 in one of a hundred by chance), how far off they may lie on the average, in its own standard deviations, and how far their
/// sum of squares may be above what it is by chance, in its.
const STRAIGHT: (f64, f64, f64) = (11.3, 2.0, 1.5);
/// What is believed of noise greater than said, before the readings: the sd of its log.
const NOISIER: f64 = 0.5;

/// The log of how likely a slip is that puts a reading `off` what the rest expects, against a density of one
/// standard deviation `sd`.
pub(crate) fn odds(off: f64, sd: f64, tolerance: f64) -> f64 {
    let small = if off.abs() < SMALL.0.max(SMALL.1 * tolerance) { SMALL.2 } else { 0.0 };
    -RARE.ln() - (SIZES * (off.abs() / sd).max(1.0)).ln() + small
}

impl Judged {
    /// The log of how likely a slip is here, `misfit` off what the rest expects, as [`odds`].
    fn odds(&self, misfit: f64) -> f64 {
        let off = misfit.abs() * self.metres;
        let outermost = if self.of_line { OUTERMOST } else { IN_OUTERMOST };
        let end = match off < outermost.0 {
            true if self.outermost => outermost.1,
            false if self.end => END,
            _ => 0.0,
        };
        let few = if self.of_line && self.in_line <= FEW.0 { FEW.1 } else { 0.0 };
        odds(off, self.sd * self.metres, self.tolerance) + end + few
    }
}

/// A fit with its parameters chosen for the readings it keeps.
#[derive(Clone, Debug)]
pub(crate) struct Settled<'a> {
    pub fit: Fit<'a>,
    pub joint: Joint,
    pub rows: Vec<Row>,
    pub judged: Vec<Judged>,
    pub out: Out,
    pub evidence: f64,
}

/// Settles a survey with readings left out, from the lines and parameters of another fit of it if there is one.
pub(crate) fn settle<'a>(
    survey: &'a Survey,
    options: &'a Options,
    out: &Out,
    premise: Premise,
    from: Option<&Settled<'a>>,
) -> Result<Settled<'a>, FairingError> {
    match from {
        Some(from) => from.fit.clone().settle(out, from.joint.theta, ROUNDS.1, true),
        None => {
            let mut fit = Fit::begin(survey, options, out)?;
            fit.premise = premise;
            fit.start(out, false)?;
            fit.settle(out, JUDGING, ROUNDS.0, true)
        }
    }
}

/// Settles a fit whose backbone is faired already, on another premise.
pub(crate) fn settle_begun<'a>(
    mut fit: Fit<'a>,
    premise: Premise,
    out: &Out,
) -> Result<Settled<'a>, FairingError> {
    fit.premise = premise;
    if let Some(keel) = fit.keel.clone() {
        fit.take_backbone(keel.backbone.clone());
    }
    fit.start(out, false)?;
    fit.settle(out, JUDGING, ROUNDS.0, true)
}

impl<'a> Settled<'a> {
    /// The same readings kept, by the stiffer or weaker batten that was asked for.
    pub fn stiffened(self) -> Result<Self, FairingError> {
        let mut fit = self.fit.clone();
        if fit.asked_stiffness == fit.stiffness {
            return Ok(self);
        }
        fit.stiffness = fit.asked_stiffness;
        let theta = stiffer(self.joint.theta, fit.stiffness);
        fit.settle(&self.out, theta, ROUNDS.1, true)
    }

    /// The same, strakes between chines straight across where that is all their readings tell, one a station, in the planes of the
    /// stations or along lines that slant as the ends do. A panel as little bent as the readings let it be else takes up what they
    /// are rounded by. Strakes with more readings a station bulge by less for it, and those tell better how they run.
    pub fn straightened(self) -> Result<Self, FairingError> {
        let strakes = self.fit.frame.strakes();
        if self.fit.survey.chines == 0 || self.fit.transom_on_post() {
            return Ok(self);
        }
        let as_it_is = squares(&self.joint);
        let mut fit = self.fit.clone();
        (fit.straight, fit.frame.square) = (vec![false; strakes], vec![false; strakes]);
        let own = |rows: &[Row], strake: usize| -> Vec<usize> {
            let of = |i: &usize| rows[*i].of.field.is_some_and(|f| f.0 == strake);
            (0..rows.len()).filter(of).collect()
        };
        for strake in 0..strakes {
            let read = own(&self.rows, strake);
            if read.is_empty() || !self.joint.is_lone(strake) {
                continue;
            }
            let worse = |square: bool| {
                let mut fit = self.fit.clone();
                (fit.straight, fit.frame.square) = (vec![false; strakes], vec![false; strakes]);
                (fit.straight[strake], fit.frame.square[strake]) = (true, square);
                let (rows, _) = fit.rows(&self.out);
                let joint = Joint::new(&rows, &fit.priors, self.joint.theta, false)?;
                let off = |i: &usize| (rows[*i].value - joint.value(&rows[*i].of)) / rows[*i].sd;
                let count = read.len() as f64;
                let mean = read.iter().map(off).sum::<f64>() / count.sqrt();
                let worse = squares(&joint) - as_it_is;
                let all = read.iter().map(|i| off(i).powi(2)).sum::<f64>();
                // A bulge free to follow each of them says no more of it than their sum does.
                let by_chance = worse < STRAIGHT.0 || all < count + STRAIGHT.2 * (2.0 * count).sqrt();
                (by_chance && mean.abs() < STRAIGHT.1).then_some((square, worse))
            };
            let likelier = [false, true].into_iter().filter_map(worse).min_by(|a, b| a.1.total_cmp(&b.1));
            if let Some((square, _)) = likelier {
                (fit.straight[strake], fit.frame.square[strake]) = (true, square);
            }
        }
        if !fit.straight.contains(&true) {
            return Ok(self);
        }
        fit.settle(&self.out, self.joint.theta, ROUNDS.1, false)
    }

    /// Other readings left out, its lines taken to be such as they are here. What is likeliest of a line by its own
    /// readings is not always so by the planking's.
    pub fn with_out(&self, out: &Out) -> Result<Self, FairingError> {
        self.fit.clone().settle(out, self.joint.theta, ROUNDS.1, false)
    }
}

impl<'a> Fit<'a> {
    /// `choose` what is likeliest of its lines, too.
    fn settle(
        mut self,
        asked: &Out,
        mut theta: Theta,
        rounds: usize,
        choose: bool,
    ) -> Result<Settled<'a>, FairingError> {
        let mut out = asked.clone();
        let chosen = if rounds == ROUNDS.0 { CHOSEN } else { 0 };
        let mut before = f64::MIN;
        for round in 0..rounds + UNREST.1 {
            if self.options.robust && self.stiffness == 1.0 && round > 0 {
                // One that was out of place only while another bent the lines comes back.
                out.clone_from(asked);
                out.extend(self.out_of_place(round + 2 > rounds));
            }
            if round == chosen {
                self.fair_backbone(&out, false)?;
                if choose {
                    self.fit_lines(&out);
                }
            }
            let (rows, judged) = self.rows(&out);
            // Parameters that were chosen while it swung are chosen again.
            let choosing = round == chosen || round == rounds + UNREST.2;
            let start = if choosing && rounds == ROUNDS.0 { USUAL } else { theta };
            // A stiffer batten than the readings call for has their parameters, but for the length it bends in.
            let joint = self.solve(&rows, start, choosing && self.stiffness == 1.0)?;
            theta = joint.theta;
            let evidence = joint.solved.evidence(&joint.y);
            let rests = (evidence - before).abs() < UNREST.0 && round != rounds;
            if round + 1 >= rounds && (rests || round + 1 == rounds + UNREST.1) {
                return Ok(Settled::new(self, joint, rows, judged, out));
            }
            before = evidence;
            if round + 1 >= rounds {
                // What swings to and fro comes to rest half-way.
                (self.step, self.holds) = (0.5, true);
            }
            self.round(&joint)?;
        }
        Err(FairingError::Contradiction("no surface".to_string()))
    }

    /// Spots where no planking can be: wild ones, and with `strictly` those below the rabbet or above the sheer.
    pub(crate) fn out_of_place(&self, strictly: bool) -> Vec<Which> {
        let gone = |i: usize| self.wild(i) || strictly && self.beyond_edges(i, BEYOND);
        (0..self.placed.len()).filter(|&i| gone(i)).map(Which::Spot).collect()
    }

    /// The log of the evidence of stem and stern, and of half-breadths read on them.
    fn evidence_of_ends(&self) -> f64 {
        let on_them = self.survey.spots.iter().zip(&self.placed).filter(|(_, p)| p.idle).map(|(s, p)| {
            let off = s.y - self.frame.half_siding.value(p.t);
            (-0.5 * (off / s.sd).powi(2)).max(odds(off, s.sd, s.tolerance)) - s.sd.ln()
        });
        let backbone = self.keel.as_ref().map_or(0.0, |keel| keel.backbone.log_prior());
        PROFILE * backbone + on_them.sum::<f64>()
    }
}

impl<'a> Settled<'a> {
    pub fn new(fit: Fit<'a>, joint: Joint, rows: Vec<Row>, judged: Vec<Judged>, out: Out) -> Self {
        let mut settled = Settled { fit, joint, rows, judged, out, evidence: 0.0 };
        settled.evidence = settled.weighed();
        settled
    }

    /// Noise added to row `i`, as a variance.
    pub(crate) fn added(&self, i: usize) -> f64 {
        self.rows[i].sd.powi(2) - self.judged[i].sd.powi(2)
    }

    /// Of the readings left out, the outermost of a line that are off by less than an inch: the rest is only carried on to
    /// where they stand, and cannot speak against them. A spot has others of its section beside it that can. So with a reading of
    /// the backbone in a bend that is made up without it.
    pub fn slight(&self) -> Out {
        let bends = self.fit.keel.as_ref().map_or_else(Vec::new, |keel| keel.backbone.unread_bends());
        let in_bend = |which: Which| {
            let own = self.fit.nails.iter().find(|n| n.1 == which);
            // Within the circle on the bend's chord.
            own.is_some_and(|(n, _)| {
                bends.iter().any(|[p, q]| (n.x - p.0) * (n.x - q.0) + (n.z - p.1) * (n.z - q.1) <= 0.0)
            })
        };
        let slight = |(i, row): &(usize, &Judged)| {
            let off = (self.joint.left_out(*i).0 * row.metres).abs();
            let unopposed = row.of_line && row.outermost || row.which.is_some_and(in_bend);
            self.left_out(*i) && unopposed && off < OUTERMOST.0
        };
        self.judged.iter().enumerate().filter(slight).filter_map(|(_, row)| row.which).collect()
    }

    pub fn left_out(&self, i: usize) -> bool {
        self.judged[i].which.is_some_and(|w| self.out.contains(&w))
    }

    /// The log of the evidence.
    fn weighed(&self) -> f64 {
        let Settled { fit, joint, judged, .. } = self;
        let mut evidence = joint.solved.evidence(&joint.y) + log_prior(&priors(&joint.theta), &joint.theta);
        let sheer = fit.priors.len() - 1;
        for (l, prior) in fit.priors.iter().enumerate() {
            let own = prior.own().map_or(0.0, |prior| prior.log_prior(usual(l)));
            evidence += own * if l == sheer { FAIREST } else { 1.0 };
        }
        for (i, row) in judged.iter().enumerate().filter(|(_, r)| r.metres > 0.0) {
            evidence -= row.metres.ln();
            if self.left_out(i) {
                // Its own row out again, and in its place how likely such a slip is.
                let (misfit, variance) = joint.left_out(i);
                evidence += DOUBTED_SD.ln() + 0.5 * misfit * misfit / variance + row.odds(misfit);
            }
        }
        evidence += BESIDE * fit.beside(&self.out) as f64;
        evidence - 0.5 * (fit.premise.noise.ln() / NOISIER).powi(2) + fit.evidence_of_ends()
    }

    /// What leaving row `i` out gains, or if it is left out has gained, parameters as they are.
    pub fn gain(&self, i: usize) -> f64 {
        gain(&self.judged[i], self.joint.left_out(i), if self.left_out(i) { self.added(i) } else { 0.0 })
    }
}

/// The sum of squares of what a hull leaves of its readings, in their standard deviations.
fn squares(joint: &Joint) -> f64 {
    joint.y.iter().zip(joint.solved.times(&joint.y)).map(|(y, w)| y * w).sum()
}

/// What leaving a reading out gains, from its misfit to all others and the variance of that; `added` is the
/// noise in that by which it is weighed down already.
pub(crate) fn gain(row: &Judged, (misfit, variance): (f64, f64), added: f64) -> f64 {
    let variance = (variance - added).max(row.sd * row.sd);
    0.5 * misfit * misfit / variance + 0.5 * (variance / (row.sd * row.sd)).ln() + row.odds(misfit)
}
