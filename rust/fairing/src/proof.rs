//! Proofreading: readings that the rest of the boat contradicts.
//!
//! The judgement is that of fairing: what it leaves out is queried, and what it keeps though the rest would
//! gain a little without it, with low confidence. A reading left out has no part in what is expected of it.

pub(crate) mod consistency;
pub(crate) mod fact_check;
pub(crate) mod facts;
pub(crate) mod one_hull;
pub(crate) mod slips;
pub(crate) mod table_proof;
pub(crate) mod whole_slips;

use scrieve_offsets::{Axis, CellId, LineReading, ProfileSpot, RefLine, Survey};

use crate::ends::{OffProfile, ProfileSuspect, of_profile};
use crate::facts::OffFact;
use crate::keel_row::off_keel;
use crate::residual::{reading_of, way_of};
use crate::{Faired, FairingError, Options, Residual, fair};

/// A reading that the rest can place no better than this, in tolerances, says little when it misses: a
/// waterline on a nearly flat floor.
const PLACED: f64 = 4.0;
/// Under this misfit one reading of a sheer spot cannot be told from the other.
const TELLS_SHEER: f64 = 10.0;

/// How sure it is that this reading, and not another near it, is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Confidence {
    /// Cannot be told from a slip near it: the other reading of a sheer spot, an end station's rabbet or
    /// sheer, a waterline on a nearly flat floor.
    Low,
    /// Only this reading explains it.
    High,
}

/// A reading that the rest of the boat contradicts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Query {
    /// Its cell.
    pub cell: CellId,
    /// What it says, m.
    pub read: f64,
    /// What the rest expects there, m; nothing of the reading is in it.
    pub expected: f64,
    /// One standard deviation of a sound reading about `expected`, m.
    pub sd: f64,
    /// `read - expected` in those.
    pub misfit: f64,
    /// How sure it is.
    pub confidence: Confidence,
}

/// The readings of a survey that the rest of the boat contradicts, worst first.
///
/// `options.robust` is taken as set, its stiffness as 1. A held reading (`!`) is never queried.
///
/// # Errors
/// As [`fair`].
pub fn proof(survey: &Survey, options: &Options) -> Result<Vec<Query>, FairingError> {
    let (mut queries, of_profiles) = apart(survey, &fair(survey, &judging(options))?);
    queries.extend(of_profiles.iter().map(|suspect| {
        // Of its two readings, the one the curve places better.
        let x = suspect.from_stem.filter(|x| x.sd < suspect.height.sd);
        of_profile_query(x.unwrap_or(suspect.height))
    }));
    worst_first(&mut queries);
    Ok(queries)
}

pub(crate) fn worst_first(queries: &mut [Query]) {
    queries.sort_by(|a, b| b.misfit.abs().total_cmp(&a.misfit.abs()));
}

pub(crate) fn of_profile_query(off: OffProfile) -> Query {
    let OffProfile { cell, read, expected, sd } = off;
    Query { cell, read, expected, sd, misfit: (read - expected) / sd, confidence: Confidence::Low }
}

/// Readings are judged by the batten they call for themselves.
pub(crate) fn judging(options: &Options) -> Options {
    let mut judging = options.clone();
    (judging.robust, judging.stiffness) = (true, 1.0);
    judging
}

/// Queries of rows and points, and suspects of the profiles, of a hull that has been faired so.
pub(crate) fn apart(survey: &Survey, faired: &Faired) -> (Vec<Query>, Vec<ProfileSuspect>) {
    let doubts = faired.kept.as_ref().map(|kept| kept.doubts.clone()).unwrap_or_default();
    let unsure: Vec<CellId> = faired.kept.iter().flat_map(|kept| kept.queried()).collect();
    let of_rows = faired.residuals.iter().filter(|r| !of_profile(r.cell));
    let queried = of_rows.filter(|r| r.doubted || unsure.contains(&r.cell));
    let mut queries: Vec<Query> =
        queried.filter_map(|r| query(survey, r, unsure.contains(&r.cell))).collect();
    queries.extend(doubts.facts.iter().filter_map(|fact| {
        let OffFact { cell, read, expected, sd } = fact.off;
        let confidence = if fact.taken { Confidence::High } else { Confidence::Low };
        Some(Query { cell: cell?, read, expected, sd, misfit: (read - expected) / sd, confidence })
    }));
    queries.extend(off_keel(survey, &queries));
    (queries, doubts.suspects)
}

/// What is to be said of a doubted reading; `unsure` of one that stays in the fit.
fn query(survey: &Survey, r: &Residual, unsure: bool) -> Option<Query> {
    let line = survey.lines.iter().find(|l| l.cell == r.cell);
    let spot = survey.spots.iter().find(|s| s.cell == r.cell);
    let read = line.map(|l| l.value).or(spot.map(reading_of))?;
    let (expected, sd) = (r.expected, r.expected_sd);
    let misfit = (read - expected) / sd;
    let low = unsure
        || spot.is_some_and(|_| sd > PLACED * r.tolerance)
        || line.is_some_and(|l| at_end(survey, l) || l.line == RefLine::Sheer && misfit.abs() < TELLS_SHEER);
    let confidence = if low { Confidence::Low } else { Confidence::High };
    Some(Query { cell: r.cell, read, expected, sd, misfit, confidence })
}

/// Where a query's reading belongs by what the rest expects: x, y and z, m.
pub(crate) fn place(survey: &Survey, query: &Query) -> Option<[f64; 3]> {
    let (cell, value) = (query.cell, query.expected);
    if let Some(spot) = survey.spots.iter().find(|s| s.cell == cell) {
        let (by, along) = (value - reading_of(spot), way_of(spot));
        return Some([spot.x, spot.y + by * along.0, spot.z + by * along.1]);
    }
    if let Some(l) = survey.lines.iter().find(|l| l.cell == cell) {
        let own = |axis| {
            let same = |o: &&LineReading| o.line == l.line && o.axis == axis && o.cell.column == cell.column;
            survey.lines.iter().find(same).map(|o| o.value)
        };
        let half_siding = (l.line == RefLine::Rabbet).then_some(survey.half_siding);
        return match l.axis {
            Axis::Height => own(Axis::HalfBreadth).or(half_siding).map(|y| [l.x, y, value]),
            Axis::HalfBreadth => own(Axis::Height).map(|z| [l.x, value, z]),
        };
    }
    let of_spot = |s: &&ProfileSpot| s.cell.block == cell.block && s.cell.column == cell.column;
    let spot = survey.stem.iter().chain(&survey.stern).find(of_spot)?;
    let (x, z) = if cell.row == 0 { (value, spot.z) } else { (spot.x, value) };
    Some([x, survey.half_siding, z])
}

/// Whether a line's reading is the first or last there is.
fn at_end(survey: &Survey, line: &LineReading) -> bool {
    let same = survey.lines.iter().filter(|l| l.line == line.line && l.axis == line.axis);
    let (before, after) =
        same.fold((0, 0), |n, l| (n.0 + usize::from(l.x < line.x), n.1 + usize::from(l.x > line.x)));
    before == 0 || after == 0
}
