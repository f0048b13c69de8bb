//! One judgement of the readings: which of them the rest of the boat contradicts, by evidence.
//!
//! A stiff judge looks first, with parameters fixed at usual ones, since those fitted with slips among the
//! readings are inflated and hide them. What it finds is no verdict: a rougher hull without slips may explain
//! the readings better. Sets of slips are compared by their evidence, each with parameters of its own: up from
//! none, reading by reading, and where that does not lead to what the stiff judge found, down from it; and
//! readings that are noisier than they are said to be are one more explanation.

use std::collections::BTreeMap;

use scrieve_notation::Mark;
use scrieve_offsets::{Block, CellId, RefLine, Survey};

use crate::cause::single_causes;
use crate::ends::{Otherwise, ProfileSuspect, one_off, proof_ends};
use crate::evidence::{Out, Settled, Which, gain, settle, settle_begun};
use crate::fact_check::{rabbet_at_foot, same_place};
use crate::facts::{self, Doubted, ToldAlone};
use crate::field::{JUDGING, USUAL};
use crate::fit::{Fit, PARTINGS, Premise};
use crate::gp::Solved;
use crate::joint::Joint;
use crate::keel::Line;
use crate::lines::usual;
use crate::many::{JUDGED, some_of};
use crate::robust::{FIRST, SECOND, Verdict, gross};
use crate::ways::Ways;
use crate::{Faired, FairingError, Options};

/// A reading is left out only if that gains so much, in logs of evidence; one that gains less stays, and is
/// queried.
pub(crate) const SURE: f64 = 4.0;
/// And this much is worth a query.
pub(crate) const WORTH_SAYING: f64 = 2.0;
/// A reading whose leaving out gains so much while parameters stay as they are is a slip whatever they become,
/// and several such are left out in one step.
const PLAIN: f64 = 12.0;
/// One that loses more than this, parameters as they are, is not tried.
const HOPELESS: f64 = -5.0;
/// Steps up that may gain nothing before the search ends: a slip may hide behind another.
const PATIENCE: usize = 2;
/// Fits a search may make of a table of usual size; cost grows with the cube of the size.
const TRIES: (f64, f64) = (30.0, 160.0);
/// And of any.
const LEAST_TRIES: usize = 6;
/// One set of readings left out explains clearly more than another by this.
pub(crate) const CLEARLY: f64 = 10.0;
/// And is so far behind another that none near it is worth a try.
const FAR: f64 = 25.0;
/// How many times noisier than said readings are tried as.
const NOISES: [f64; 2] = [2.0, 4.0];
/// How far from an end, as a part of the boat, a bad spot of its profile upsets readings.
const NEAR_END: f64 = 0.3;
/// So many doubted there are worth asking the profile for.
const UPSET: usize = 2;
/// Of the spots of a profile that the others speak against most so many are weighed.
const UNEVEN: usize = 3;
/// One that the others put so far off, in standard deviations, may make a corner by itself: at a true one they tell too little
/// of where the spot would be without it.
const ALONE_MAKES: f64 = 6.0;
/// A spot of a profile is weighed by a hull without it if leaving it out promises more than this, parameters as they are: a sound
/// one is off by too little to.
const PROMISING: f64 = -11.0;
/// And is queried if it is likelier than this to be a slip, as a log, or, beside a slip elsewhere, than the other: sound ones come
/// to 2.2 and to 3.7 there.
const SUSPECT: (f64, f64) = (5.0, 6.0);
/// That the rest of the rabbet runs to the transom's foot is worth so much, as a log: it would be a slip of that besides.
const AGREED: f64 = 8.0;
/// Rounds of the stiff judge, and the one in which its parameters are chosen.
const ROUNDS: (usize, usize) = (5, 2);

/// What came of it.
#[derive(Debug)]
pub(crate) struct Judgement<'a> {
    /// The fit without the readings left out.
    pub settled: Settled<'a>,
    /// Readings that stay, though the fit would gain a little without them.
    pub queried: Out,
    /// Spots of the profiles left out or put elsewhere.
    pub suspects: Vec<ProfileSuspect>,
    /// Facts that are off.
    pub facts: Vec<Doubted>,
    /// How far where the transom stands could be off unseen.
    pub told_alone: ToldAlone,
    /// What other premises would have come to.
    pub ways: Ways,
}

/// What is held against readings.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Doubts {
    /// Left out.
    pub out: Out,
    /// Kept, and queried.
    pub queried: Out,
    /// What was taken for granted.
    pub premise: Premise,
    /// Spots of the profiles left out or put elsewhere.
    pub suspects: Vec<ProfileSuspect>,
    /// Facts that are off.
    pub facts: Vec<Doubted>,
    /// How far where the transom stands could be off unseen.
    pub told_alone: ToldAlone,
    /// What other premises would have come to.
    pub ways: Ways,
    /// The log of the evidence of the readings she was judged by.
    pub evidence: f64,
}

/// Judges a survey, its profiles among it, and fairs what is kept.
pub(crate) fn judge_and_fair(whole: &Survey, options: &Options) -> Result<Faired, FairingError> {
    let some = some_of(whole, JUDGED, false);
    let survey = some.as_ref().unwrap_or(whole);
    let off = proof_ends(survey).filter(|_| options.robust);
    // Where the line parts hardly hangs on one reading: it is looked for once.
    let (premise, none, ways) = framed(off.as_ref().map_or(survey, |off| &off.survey), options);
    let finish = |judgement: Judgement<'_>, suspects| {
        let judgement = Judgement { suspects, ways: ways.clone(), ..judgement };
        if some.is_some() { judgement.of_all(whole, options) } else { judgement.finish() }
    };
    let (none_off, none) = if off.is_some() { (none, None) } else { (None, none) };
    let other = off.as_ref().and_then(|off| {
        let judgement = judge_above(&off.survey, options, premise, none_off, f64::MIN).ok()?;
        let evidence = judgement.settled.evidence + off.odds(survey);
        Some((judgement, evidence, off))
    });
    // A survey without a surface may have one with its ends read otherwise.
    let given = judge_above(survey, options, premise, none, other.as_ref().map_or(f64::MIN, |other| other.1));
    if let Some((judgement, evidence, off)) = other
        && given.as_ref().map_or(f64::MIN, |given| given.settled.evidence) < evidence
    {
        return finish(judgement, off.suspects.clone());
    }
    let mut given = given?;
    let evidence = given.settled.evidence;
    let of_facts = if options.robust {
        facts::judged(&given.settled, &given.queried, options)
    } else {
        facts::Judged::default()
    };
    given.told_alone = of_facts.told_alone;
    // What is faired by a fact that is surely off.
    let by_fact = |off: &facts::Otherwise| {
        let judged = |survey| judge_above(survey, options, off.premise, None, f64::MIN).ok();
        let judgement = if off.sure { judged(&off.survey) } else { None };
        let judgement = judgement.filter(|j| j.settled.evidence + off.odds > evidence + SURE);
        Some(finish(
            Judgement { facts: said(off, true), told_alone: of_facts.told_alone, ..judgement? },
            Vec::new(),
        ))
    };
    if let Some(off) = &of_facts.likeliest {
        if let Some(faired) = by_fact(off) {
            return faired;
        }
        given.facts = said(off, false);
    }
    if options.robust
        && let Some(off) = facts::foot_off_rabbet(&given.settled)
    {
        // The plane goes through it: she is faired by where the rabbet ends.
        let put = facts::Otherwise::applied(&[off], survey);
        if let Ok(judgement) = judge_above(&put, options, premise, None, f64::MIN) {
            let mut facts = vec![Doubted { off, taken: true }];
            facts.append(&mut given.facts);
            return finish(Judgement { facts, told_alone: given.told_alone, ..judgement }, Vec::new());
        }
    }
    if options.robust
        && let Some(settled) = given.rabbet_off_foot(options)
    {
        given.queried.retain(|&which| !is_rabbet(survey, which));
        given.settled = settled;
    }
    // A profile whose head is told to be off has been judged.
    let block = |stem| if stem { Block::StemProfile } else { Block::SternProfile };
    let judged: Vec<Block> = given.facts.iter().filter_map(|f| Some(f.off.cell?.block)).collect();
    let open = |stem: &bool| !judged.contains(&block(*stem));
    for stem in [true, false].into_iter().filter(open).filter(|&stem| given.upset(stem)) {
        let readings = one_off(survey, stem);
        let of = |off: &Otherwise| {
            let out = given.without_end(stem);
            let settled = settle(&off.survey, options, &out, given.settled.fit.premise, None).ok()?;
            Some(settled.evidence + off.odds(survey))
        };
        let weighed = readings.iter().filter_map(|off| Some((off, of(off)?)));
        let Some((likeliest, _)) = weighed.max_by(|a, b| a.1.total_cmp(&b.1)) else { continue };
        if let Some(judgement) = better_read(survey, likeliest, options, (premise, evidence)) {
            return finish(judgement, likeliest.suspects.clone());
        }
    }
    let mut unsure = Vec::new();
    for stem in [true, false].into_iter().filter(open) {
        let Some((off, gain)) = given.uneven(survey, options, stem) else { continue };
        // A station next to it that is off makes a profile look so.
        if let Some(station) = facts::end_station(&given.settled, options, stem, gain) {
            if let Some(faired) = by_fact(&station) {
                return faired;
            }
            given.facts.extend(said(&station, false));
            continue;
        }
        if let Some(judgement) = better_read(survey, &off, options, (premise, evidence)) {
            return finish(judgement, off.suspects.clone());
        }
        unsure.extend(off.suspects.iter().map(|&s| ProfileSuspect { left_out: false, ..s }));
    }
    if let Some((which, gain, without)) =
        given.suspect_spot(options).filter(|of| open(&matches!(of.0, Which::Stem(_))))
    {
        let stem = matches!(which, Which::Stem(_));
        if let Some(station) = facts::end_station(&given.settled, options, stem, gain) {
            if let Some(faired) = by_fact(&station) {
                return faired;
            }
            given.facts.extend(said(&station, false));
        } else if gain > SURE && !matches!(which, Which::Stem(0) | Which::Stern(0)) {
            // A head that the line's own run alone speaks against is queried and kept: a curve may straighten there.
            return finish(Judgement { settled: without, ..given }, unsure);
        }
        let by_station = given.facts.iter().any(|f| f.off.cell.is_some_and(|c| c.block == Block::Stations));
        let cell = which.cell(survey);
        let known =
            |s: &ProfileSuspect| s.height.cell.block == cell.block && s.height.cell.column == cell.column;
        if !by_station && !unsure.iter().any(known) {
            let suspect = without.expected_of(which);
            unsure.extend(suspect.map(|s| ProfileSuspect { left_out: false, ..s }));
        }
    }
    finish(given, unsure)
}

fn is_rabbet(survey: &Survey, which: Which) -> bool {
    matches!(which, Which::Line(i) if survey.lines[i].line == RefLine::Rabbet)
}

/// The facts of a survey read otherwise; `taken`, the hull is faired so.
fn said(off: &facts::Otherwise, taken: bool) -> Vec<Doubted> {
    off.facts.iter().map(|&off| Doubted { off, taken }).collect()
}

/// A survey read otherwise, if that has more evidence, its slips paid for.
fn better_read<'a>(
    survey: &Survey,
    off: &'a Otherwise,
    options: &'a Options,
    (premise, than): (Premise, f64),
) -> Option<Judgement<'a>> {
    let other = judge_above(&off.survey, options, premise, None, f64::MIN).ok()?;
    (other.settled.evidence + off.odds(survey) > than).then_some(other)
}

impl<'a> Judgement<'a> {
    /// The hull.
    fn finish(self) -> Result<Faired, FairingError> {
        let evidence = self.settled.evidence;
        let Settled { fit, joint, rows, judged, out, .. } = self.settled.stiffened()?.straightened()?;
        let doubts = Doubts {
            out,
            queried: self.queried,
            premise: fit.premise,
            suspects: self.suspects,
            facts: self.facts,
            told_alone: self.told_alone,
            ways: self.ways,
            evidence,
        };
        fit.finish(joint, &rows, &judged, doubts, None)
    }

    /// How far a row lies from an end, as a part of the boat.
    fn near_end(t: f64, stem: bool) -> bool {
        (if stem { t } else { 1.0 - t }) < NEAR_END
    }

    /// Whether so many readings are doubted near an end that its profile may be what is wrong.
    fn upset(&self, stem: bool) -> bool {
        let s = &self.settled;
        let profile = if stem { &s.fit.survey.stem } else { &s.fit.survey.stern };
        let doubted = |w: Which| s.out.contains(&w) || self.queried.contains(&w);
        let near = s.judged.iter().filter(|j| Self::near_end(j.t, stem) && j.which.is_some_and(doubted));
        let pointed = stem || s.fit.survey.transom.is_none();
        pointed && !profile.is_empty() && near.count() >= UPSET
    }

    /// The spot between the ends of a profile that its other spots speak against most, if leaving it out gains enough to be
    /// sure. A slip there makes the profile as rough as it needs to be, and no reading of the planking may stand near.
    fn uneven(&self, survey: &Survey, options: &Options, stem: bool) -> Option<(Otherwise, f64)> {
        let s = &self.settled;
        let profile = |survey: &Survey| if stem { survey.stem.len() } else { survey.stern.len() };
        let mut spots: Vec<(Otherwise, f64)> = (one_off(survey, stem).into_iter())
            .filter(|off| profile(&off.survey) < profile(survey))
            .filter_map(|off| off.misfit().map(|misfit| (off, misfit)))
            .collect();
        spots.sort_by(|a, b| b.1.total_cmp(&a.1));
        spots.truncate(UNEVEN);
        let known = |cell: CellId| {
            let asked = |w: &Which| {
                let own = w.cell(survey);
                own.block == cell.block && own.column == cell.column
            };
            s.out.iter().chain(&self.queried).any(asked)
        };
        if spots.iter().any(|(off, _)| off.suspects.iter().any(|s| known(s.height.cell))) {
            return None;
        }
        let out: Out =
            s.out.iter().copied().filter(|w| !matches!(w, Which::Stem(_) | Which::Stern(_))).collect();
        let weighed = spots.into_iter().filter_map(|(off, misfit)| {
            let settled = settle(&off.survey, options, &out, s.fit.premise, None).ok()?;
            let gain = settled.evidence + off.odds(survey) - s.evidence;
            // A corner that is there for one spot only, the line smooth without it, is that spot's slip if it is as likely.
            let smooth = misfit > ALONE_MAKES && settled.pieces() < s.pieces();
            let sure = if s.out.is_empty() { SURE } else { SUSPECT.1 };
            let least = if smooth { -SURE } else { sure };
            (gain > least).then_some((off, gain))
        });
        weighed.max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// The spot of a profile that is likeliest to be a slip, if one is likely at all; how likely, as a log; and the fit
    /// without it.
    fn suspect_spot(&self, options: &'a Options) -> Option<(Which, f64, Settled<'a>)> {
        let s = &self.settled;
        let tried = s.judged.iter().enumerate().filter_map(|(i, j)| {
            let which = j.which.filter(|w| matches!(w, Which::Stem(_) | Which::Stern(_)))?;
            // A foot that lies on the keel is a corner's as often as not, and puts little off.
            let survey = s.fit.survey;
            let foot = which == Which::Stem(survey.stem.len().wrapping_sub(1))
                || which == Which::Stern(survey.stern.len().wrapping_sub(1));
            let open = j.open && !foot && !s.left_out(i) && !self.queried.contains(&which);
            (open && s.gain(i) > PROMISING).then_some(which)
        });
        let weighed = tried.filter_map(|which| {
            let without = settle(s.fit.survey, options, &s.with([which]), s.fit.premise, None).ok()?;
            let gain = without.evidence - s.evidence;
            // Beside a corner that comes or goes with it, it is the corner's, which others judge.
            (without.pieces() == s.pieces()).then_some((which, gain, without))
        });
        let likeliest = weighed.max_by(|a, b| a.1.total_cmp(&b.1));
        let least = if s.out.is_empty() { SUSPECT.0 } else { SUSPECT.1 };
        likeliest.filter(|of| of.1 > least)
    }

    /// The fit without the rabbet's reading on the transom in place of others of the rabbet, where these run to the
    /// transom's foot without it: three tell the one place, and two agree.
    fn rabbet_off_foot(&self, options: &'a Options) -> Option<Settled<'a>> {
        let s = &self.settled;
        let survey = s.fit.survey;
        let foot = survey.transom?.foot;
        let i = rabbet_at_foot(survey)?;
        let (which, rabbet) = (Which::Line(i), &survey.lines[i]);
        let apart = foot.1 - rabbet.value;
        let upset = s.out.iter().chain(&self.queried).any(|&w| is_rabbet(survey, w));
        if !upset || apart.abs() <= same_place(survey) || rabbet.mark == Mark::Held || s.out.contains(&which)
        {
            return None;
        }
        let rest = s.out.iter().copied().filter(|&w| !is_rabbet(survey, w));
        let out: Out = rest.chain([which]).collect();
        let without = settle(survey, options, &out, s.fit.premise, None).ok()?;
        let row = without.judged.iter().position(|j| j.which == Some(which))?;
        let off = without.joint.left_out(row).0 * without.judged[row].metres + apart;
        (off.abs() < 0.5 * apart.abs() && without.evidence > s.evidence - AGREED).then_some(without)
    }

    /// What is left out elsewhere.
    fn without_end(&self, stem: bool) -> Out {
        let s = &self.settled;
        let near = s.judged.iter().filter(|j| Self::near_end(j.t, stem)).filter_map(|j| j.which);
        let near: Out = near.collect();
        s.out.difference(&near).copied().collect()
    }
}

/// Judges a survey as it stands, stem and stern trusted; `none` is the fit with nothing left out, where that is known.
/// Only a first look where that is far below what is known to be had: `than`.
fn judge_above<'a>(
    survey: &'a Survey,
    options: &'a Options,
    premise: Premise,
    none: Option<Settled<'a>>,
    than: f64,
) -> Result<Judgement<'a>, FairingError> {
    let certain = |settled| Judgement {
        settled,
        queried: Out::new(),
        suspects: Vec::new(),
        facts: Vec::new(),
        told_alone: ToldAlone::default(),
        ways: Ways::default(),
    };
    if !options.robust {
        let none = none.map_or_else(|| settle(survey, options, &Out::new(), premise, None), Ok);
        return none.map(certain);
    }
    let stiff = |out: Out| {
        let mut fit = Fit::begin(survey, options, &out)?;
        fit.premise = premise;
        fit.stiffly(out)
    };
    let stiff = stiff(Out::new()).or_else(|error| match gross(survey) {
        out if out.is_empty() => Err(error),
        out => stiff(out),
    });
    match stiff {
        Ok(stiff) if stiff.out.is_empty() && stiff.likeliest_slip() < HOPELESS => Ok(certain(stiff)),
        Err(error) if than > f64::MIN => Err(error),
        stiff => {
            let mut search = Search::new(survey, options, premise);
            if none.is_some() {
                search.known.insert(Out::new(), none);
            }
            if than > f64::MIN {
                let none = search.settle(&Out::new(), None);
                let first = better(stiff.as_ref().ok().cloned(), none);
                if let Some(first) = first.filter(|first| first.evidence < than - FAR) {
                    return Ok(certain(first));
                }
            }
            search.whole(stiff)
        }
    }
}

/// Where stem and sternpost part from the keel: where the line turns smoothly, as explains the readings best; whether an
/// end is round in plan; and the fit on that premise with nothing left out, where one was made.
pub(crate) fn framed<'a>(survey: &'a Survey, options: &'a Options) -> (Premise, Option<Settled<'a>>, Ways) {
    let mut best = (Premise::default(), None);
    let mut tried: [Vec<Settled<'a>>; 2] = [Vec::new(), Vec::new()];
    let none = |best: (Premise, Option<Settled<'a>>)| (best.0, best.1, Ways::default());
    let Ok(mut begun) = Fit::begin(survey, options, &Out::new()) else { return none(best) };
    if begun.fair_backbone(&Out::new(), false).is_err() {
        return none(best);
    }
    let evidence = |of: &Option<Settled<'_>>| of.as_ref().map_or(f64::MIN, |s| s.evidence);
    if begun.keel.as_ref().is_some_and(|keel| keel.backbone.may_be_smooth())
        && let Some((smooth, settled)) = without_corner(survey, options)
    {
        best.1 = settle_begun(begun.clone(), best.0, &Out::new()).ok();
        for tried in &mut tried {
            tried.extend(best.1.iter().cloned().chain([settled.clone()]));
        }
        if settled.evidence > evidence(&best.1) {
            (begun, best) = (smooth, (settled.fit.premise, Some(settled)));
        }
    }
    let Some(keel) = &begun.keel else { return none(best) };
    let bends = [keel.fore.is_some() && !keel.corners[0], keel.aft.is_some() && !keel.corners[1]];
    let full = [true, false].map(|fore| begun.full_to_end(fore));
    let tumbles = begun.tumbles_home();
    if bends == [false, false] && full == [false, false] && !tumbles {
        return none(best);
    }
    let settled = |premise| settle_begun(begun.clone(), premise, &Out::new()).ok();
    if best.1.is_none() {
        best.1 = settled(best.0);
    }
    if tumbles {
        let lean = Premise { lean: true, ..best.0 };
        let settled = settled(lean);
        if evidence(&settled) > evidence(&best.1) {
            best = (lean, settled);
        }
    }
    if keel.goes_on && !keel.corners[1] {
        let along = Premise { across: false, ..best.0 };
        let settled = settled(along);
        tried[1].extend(best.1.iter().chain(&settled).cloned());
        if evidence(&settled) > evidence(&best.1) {
            best = (along, settled);
        }
    }
    // Either end by itself, so that a boat turned end for end is judged alike, and then both together.
    let mut won = Vec::new();
    let (usual, least) = (best.0, evidence(&best.1));
    for end in [0, 1].into_iter().filter(|&e| bends[e] || full[e]) {
        let with = |partings: f64, round: bool| {
            let mut other = usual;
            (other.partings[end], other.round[end]) = (partings, round);
            (other, settled(other))
        };
        let best_of = |a: (Premise, Option<Settled<'a>>), b: (Premise, Option<Settled<'a>>)| {
            if evidence(&b.1) > evidence(&a.1) { b } else { a }
        };
        let shares = if bends[end] { &PARTINGS[1..] } else { &[] };
        let mut ways: Vec<_> = shares.iter().map(|&share| with(share, false)).collect();
        let parted = ways.iter().cloned().fold(best.clone(), best_of);
        if full[end] {
            ways.push(with(parted.0.partings[end], true));
        }
        let first = best.1.iter().filter(|_| tried[end].is_empty()).cloned();
        let all: Vec<_> = first.chain(ways.iter().filter_map(|way| way.1.clone())).collect();
        tried[end].extend(all);
        let own = ways.into_iter().fold(best.clone(), best_of);
        won.extend(Some(own).filter(|own| evidence(&own.1) > least));
    }
    if let [fore, aft] = &won[..] {
        let both = Premise {
            partings: [fore.0.partings[0], aft.0.partings[1]],
            round: [fore.0.round[0], aft.0.round[1]],
            ..usual
        };
        won.push((both, settled(both)));
    }
    for way in won {
        if evidence(&way.1) > evidence(&best.1) {
            best = way;
        }
    }
    let ways = best.1.as_ref().map_or_else(Ways::default, |best| Ways::new(best, [&tried[0], &tried[1]]));
    (best.0, best.1, ways)
}

/// The fit of a backbone without its doubtful corners.
fn without_corner<'a>(survey: &'a Survey, options: &'a Options) -> Option<(Fit<'a>, Settled<'a>)> {
    let mut fit = Fit::begin(survey, options, &Out::new()).ok()?;
    fit.premise.smooth = true;
    fit.fair_backbone(&Out::new(), false).ok()?;
    let settled = settle_begun(fit.clone(), fit.premise, &Out::new()).ok()?;
    Some((fit, settled))
}

impl<'a> Fit<'a> {
    /// The stiff judge, who begins without the readings already left `out` and may take them back: what it
    /// doubts, and the fit without that.
    fn stiffly(mut self, mut out: Out) -> Result<Settled<'a>, FairingError> {
        self.start(&out, true)?;
        let mut theta = JUDGING;
        for round in 0..ROUNDS.0 {
            let wild = self.out_of_place(false);
            if round < 2 {
                // A line that was bent by a slip may have made its neighbours look wild.
                out.retain(|which| matches!(which, Which::Line(_)) || wild.contains(which));
            }
            out.extend(wild);
            let chosen = round == ROUNDS.1;
            if chosen {
                self.fair_backbone(&out, false)?;
                self.fit_lines(&out);
            }
            let (mut rows, judged) = self.rows(&out);
            let mut joint = self.solve(&rows, if chosen { USUAL } else { theta }, chosen)?;
            if round > 0 && round + 1 < ROUNDS.0 {
                let threshold = if round == 1 { (FIRST, FIRST) } else { SECOND };
                let doubted = judged.iter().map(|j| j.which.is_some_and(|w| out.contains(&w))).collect();
                let mut verdict = Verdict::new(joint.solved.clone(), &joint.y, &judged, doubted);
                verdict.doubt(threshold);
                verdict.blame_lines(threshold);
                if round > 1 {
                    verdict.readmit();
                }
                let doubted = judged.iter().zip(&verdict.doubted).filter(|(_, d)| **d);
                let mut now: Out = doubted.filter_map(|(j, _)| j.which).collect();
                now.extend(self.out_of_place(false));
                if now != out {
                    out = now;
                    rows = self.rows(&out).0;
                    joint = self.solve(&rows, joint.theta, false)?;
                }
            }
            theta = joint.theta;
            if round + 1 == ROUNDS.0 {
                return Ok(Settled::new(self, joint, rows, judged, out));
            }
            self.round(&joint)?;
        }
        Err(FairingError::Contradiction("no surface".to_string()))
    }
}

/// A search among sets of readings left out, with readings so many times noisier than said.
struct Search<'a> {
    survey: &'a Survey,
    options: &'a Options,
    premise: Premise,
    tries: usize,
    known: BTreeMap<Out, Option<Settled<'a>>>,
}

/// The better by evidence.
fn better<'a>(a: Option<Settled<'a>>, b: Option<Settled<'a>>) -> Option<Settled<'a>> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.evidence > a.evidence { b } else { a }),
        (a, b) => a.or(b),
    }
}

impl<'a> Search<'a> {
    fn new(survey: &'a Survey, options: &'a Options, premise: Premise) -> Self {
        let size = (survey.lines.len() + survey.spots.len()) as f64;
        let tries = (TRIES.0 * (TRIES.1 / size).powi(3).min(1.0)) as usize;
        Search { survey, options, premise, tries: tries.max(LEAST_TRIES), known: BTreeMap::new() }
    }

    /// The fit with readings left out; none where there is none, or no try is left.
    fn settle(&mut self, out: &Out, from: Option<&Settled<'a>>) -> Option<Settled<'a>> {
        if let Some(known) = self.known.get(out) {
            return known.clone();
        }
        self.tries = self.tries.checked_sub(1)?;
        let settled = settle(self.survey, self.options, out, self.premise, from).ok();
        self.known.insert(out.clone(), settled.clone());
        settled
    }

    /// The whole search; `stiff` is what the stiff judge found.
    fn whole(&mut self, stiff: Result<Settled<'a>, FairingError>) -> Result<Judgement<'a>, FairingError> {
        let found = stiff.as_ref().ok().and_then(|stiff| self.settle(&stiff.out, Some(stiff)));
        let doubted = found.as_ref().map_or(Out::new(), |f| f.out.clone());
        let of_found = found.as_ref().map_or(f64::MIN, |f| f.evidence);
        let none = self.settle(&Out::new(), None).filter(|none| none.evidence > of_found - FAR);
        let hopeful = none.is_some();
        let up = none.and_then(|none| self.up(none, &doubted));
        let agreed = up.as_ref().is_some_and(|up| up.out == doubted);
        let clear = up.as_ref().is_some_and(|up| up.evidence > of_found + CLEARLY);
        let mut best = better(up, found.clone());
        if !agreed && !clear {
            let start = found.map(|found| self.down(found));
            let up = start.and_then(|start| self.up(start, &doubted));
            best = better(best, up);
        }
        if !agreed {
            best = self.noisier(best, &doubted, hopeful);
            // The same again from lines begun anew: likelihoods have several summits.
            let warm = best.as_ref().filter(|b| !b.out.is_empty());
            let anew = warm.and_then(|b| settle(self.survey, self.options, &b.out, self.premise, None).ok());
            best = better(best, anew);
        }
        match (best, stiff) {
            (Some(best), _) => {
                let best = self.one_cause(best);
                Ok(self.back(best))
            }
            (None, Err(error)) => Err(error),
            (None, Ok(stiff)) => Ok(Judgement {
                settled: stiff,
                queried: Out::new(),
                suspects: Vec::new(),
                facts: Vec::new(),
                told_alone: ToldAlone::default(),
                ways: Ways::default(),
            }),
        }
    }

    /// The best there is, or one by which a single slip in a line is why several near it were left out.
    fn one_cause(&mut self, best: Settled<'a>) -> Settled<'a> {
        let causes = single_causes(&best);
        self.tries = self.tries.max(causes.len());
        let tried: Vec<_> = causes.iter().filter_map(|out| self.settle(out, None)).collect();
        let likeliest = tried.into_iter().max_by(|a, b| a.evidence.total_cmp(&b.evidence));
        likeliest.filter(|other| other.evidence > best.evidence).unwrap_or(best)
    }

    /// The best there is, or a better one by which all readings are noisier than said, and none of them a slip if
    /// that is `hopeful`.
    fn noisier(
        &mut self,
        mut best: Option<Settled<'a>>,
        doubted: &Out,
        hopeful: bool,
    ) -> Option<Settled<'a>> {
        for noise in NOISES {
            let Some(than) = &best else { break };
            let mut search = Search::new(self.survey, self.options, Premise { noise, ..self.premise });
            search.tries = search.tries.min(self.tries.max(LEAST_TRIES));
            let none = hopeful.then(Out::new);
            let start = none
                .iter()
                .chain([&than.out])
                .fold(None, |so_far, out| better(so_far, search.settle(out, None)));
            // A start so far off is not worth a search.
            let Some(start) = start.filter(|start| start.evidence > than.evidence - CLEARLY) else { break };
            let start = search.down(start);
            let Some(up) = search.up(start, doubted).filter(|up| up.evidence > than.evidence) else { break };
            (*self, best) = (search, Some(up));
        }
        best
    }

    /// Up from a fit: the reading, or the plain slips together, whose leaving out gains most, and again.
    fn up(&mut self, start: Settled<'a>, doubted: &Out) -> Option<Settled<'a>> {
        let (mut best, mut now, mut idle) = (start.clone(), start, 0);
        while idle < PATIENCE {
            let tried = now.candidates(doubted);
            let next = tried.iter().filter_map(|out| self.settle(out, Some(&now)));
            let Some(next) = next.max_by(|a, b| a.evidence.total_cmp(&b.evidence)) else { break };
            if next.evidence > best.evidence {
                (best, idle) = (next.clone(), 0);
            } else {
                idle += 1;
            }
            now = next;
        }
        Some(best)
    }

    /// Down from a fit, each time the soundest taken back, as long as that is not far worse than the best so far.
    fn down(&mut self, start: Settled<'a>) -> Settled<'a> {
        let (mut now, mut best) = (start.clone(), start);
        while let Some((soundest, _)) = now.soundest().filter(|_| now.evidence > best.evidence - FAR) {
            let mut less = now.out.clone();
            less.remove(&soundest);
            let Some(next) = self.settle(&less, Some(&now)) else { break };
            if next.out.len() >= now.out.len() {
                break;
            }
            if next.evidence > best.evidence {
                best = next.clone();
            }
            now = next;
        }
        best
    }

    /// Readings whose leaving out hardly gains are taken back.
    fn back(&mut self, mut best: Settled<'a>) -> Judgement<'a> {
        let mut queried = Out::new();
        self.tries = self.tries.max(LEAST_TRIES);
        while let Some((soundest, _)) = best.soundest().filter(|s| s.1 < PLAIN + SURE) {
            let mut less = best.out.clone();
            less.remove(&soundest);
            // From this fit even where it is known: the likelihood may have had another summit from there.
            let known = self.known.remove(&less).flatten();
            let without = better(self.settle(&less, Some(&best)), known);
            let Some(without) = better(best.with_out(&less).ok(), without) else { break };
            if without.out.contains(&soundest) || best.evidence - without.evidence > SURE {
                break;
            }
            if best.evidence - without.evidence > WORTH_SAYING {
                queried.insert(soundest);
            }
            best = without;
        }
        // What the end of a line says is queried and kept, if it is not far off: nothing beyond it is read, and a sound
        // reading left out there costs the builder more than a slip that is told and small.
        let slight = best.slight();
        let rest = best.out.difference(&slight).copied().collect();
        if !slight.is_empty()
            && let Ok(with) = best.with_out(&rest)
        {
            queried.extend(slight.into_iter().filter(|which| !with.out.contains(which)));
            // Other ways to read the survey are still weighed against what explains it best.
            best = Settled { evidence: best.evidence, ..with };
        }
        Judgement {
            settled: best,
            queried,
            suspects: Vec::new(),
            facts: Vec::new(),
            told_alone: ToldAlone::default(),
            ways: Ways::default(),
        }
    }
}

impl<'a> Settled<'a> {
    /// How many pieces the backbone is of, from corner to corner.
    fn pieces(&self) -> usize {
        self.fit.keel.as_ref().map_or(0, |keel| keel.backbone.pieces.len())
    }

    /// What the rest expects of a spot of a profile that is left out.
    fn expected_of(&self, which: Which) -> Option<ProfileSuspect> {
        let i = self.judged.iter().position(|j| j.which == Some(which))?;
        let sd = self.judged[i].metres * self.joint.variance(&self.rows[i].of).sqrt();
        self.fit.off_end(which, sd)
    }

    /// Of the readings left out, that whose leaving out gains least, and how much, parameters as they are.
    fn soundest(&self) -> Option<(Which, f64)> {
        let out = self.judged.iter().enumerate().filter(|(i, _)| self.left_out(*i));
        out.filter_map(|(i, j)| Some((j.which?, self.gain(i)))).min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// What leaving out the likeliest slip gains, parameters as they are.
    fn likeliest_slip(&self) -> f64 {
        let open = (0..self.judged.len()).filter(|&i| self.judged[i].open && !self.left_out(i));
        open.map(|i| self.gain(i)).fold(f64::MIN, f64::max)
    }

    fn with(&self, more: impl IntoIterator<Item = Which>) -> Out {
        let mut out = self.out.clone();
        out.extend(more);
        out
    }

    /// Sets of readings left out that might do better: with all plain slips, with the reading that gains most,
    /// with the one of those `doubted` that does, and with that of a line that does under usual parameters,
    /// where a slip that has made a line rough still stands out.
    fn candidates(&self, doubted: &Out) -> Vec<Out> {
        let open: Vec<usize> =
            (0..self.judged.len()).filter(|&i| self.judged[i].open && !self.left_out(i)).collect();
        let by_gain = |i: &usize| self.judged[*i].which.map(|w| (w, self.gain(*i)));
        let most = |a: &(Which, f64), b: &(Which, f64)| a.1.total_cmp(&b.1);
        let gains: Vec<(Which, f64)> = open.iter().filter_map(by_gain).collect();
        let best = gains.iter().copied().max_by(most).filter(|g| g.1 > HOPELESS);
        let of_doubted = gains.iter().copied().filter(|g| doubted.contains(&g.0)).max_by(most);
        let plain = self.plain(&open);
        let mut tried = vec![self.with(plain.iter().copied())];
        if plain.len() < 2 {
            tried.extend(best.map(|g| self.with([g.0])));
            tried.extend(of_doubted.map(|g| self.with([g.0])));
        }
        tried.extend(self.worst_of_lines(&open).map(|w| self.with([w])));
        tried.retain(|out| out.len() > self.out.len());
        tried.sort();
        tried.dedup();
        tried
    }

    /// Readings that are plainly slips, each judged with those before it left out.
    fn plain(&self, open: &[usize]) -> Vec<Which> {
        self.plain_slips(open).0
    }

    /// The log of the evidence without its plain slips, parameters as they are; and those.
    pub(crate) fn without_plain(&self) -> (f64, Vec<Which>) {
        let open: Vec<usize> = (0..self.judged.len()).filter(|&i| self.judged[i].open).collect();
        let (plain, gained) = self.plain_slips(&open);
        (self.evidence + gained, plain)
    }

    /// And what leaving them out gains.
    fn plain_slips(&self, open: &[usize]) -> (Vec<Which>, f64) {
        let (mut solved, mut plain): (Solved, Vec<Which>) = (self.joint.solved.clone(), Vec::new());
        let mut gained = 0.0;
        loop {
            let alpha = solved.times(&self.joint.y);
            let left = open.iter().filter(|&&i| self.judged[i].which.is_some_and(|w| !plain.contains(&w)));
            let gains = left.map(|&i| (i, gain(&self.judged[i], solved.left_out(i, &alpha), 0.0)));
            let Some((i, most)) = gains.max_by(|a, b| a.1.total_cmp(&b.1)) else { break };
            if most < PLAIN {
                break;
            }
            solved.weigh_down(i, self.judged[i].added());
            plain.extend(self.judged[i].which);
            gained += most;
        }
        (plain, gained)
    }

    /// The same readings under usual parameters, lines' among them.
    pub(crate) fn by_usual(&self) -> Option<Joint> {
        let stiff = |(l, line): (usize, &Line)| match line {
            Line::Own(_) => Line::Own(usual(l)),
            Line::Keel(keel) => Line::Keel(keel.clone()),
        };
        let priors: Vec<Line> = self.fit.priors.iter().enumerate().map(stiff).collect();
        Joint::new(&self.rows, &priors, JUDGING, false)
    }

    fn worst_of_lines(&self, open: &[usize]) -> Option<Which> {
        let stiff = self.by_usual()?;
        let of_lines = open.iter().filter(|&&i| self.judged[i].of_line);
        let gains = of_lines.map(|&i| (i, gain(&self.judged[i], stiff.left_out(i), 0.0)));
        let (i, most) = gains.max_by(|a, b| a.1.total_cmp(&b.1))?;
        self.judged[i].which.filter(|_| most > 0.0)
    }
}
