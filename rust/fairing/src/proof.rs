//! Proofreading: readings that the rest of the boat contradicts.
//!
//! The robust fit names the readings it cannot reconcile. Each is then looked at again from where it ought to
//! stand: it is put at what the others expect and weighed down, so that neither it nor another slip beside it
//! has any part in the expectation it is judged by; and the fit is made again until no more are found.

use std::collections::BTreeMap;

use scrieve_offsets::{Axis, CellId, LineReading, ProfileSpot, RefLine, Spot, Survey};

use crate::ends::{OffProfile, ProfileSuspect, of_profile, one_off, proof_ends};
use crate::{Faired, FairingError, Options, Surface, fair};

/// What a suspect's reading is worth beside a sound one when the rest is asked about it: its standard
/// deviation times this. More leaves less of its pull (a part in its square) and fewer figures of the answer.
const ASIDE: f64 = 30.0;
/// Rounds of looking again; slips that hide behind others come out in the second.
const ROUNDS: usize = 4;
/// A suspect that lies within so many standard deviations of what the rest expects is none.
const SOUND: f64 = 3.6;
/// At the end of a line neighbours stand on one side only: there, so many.
const SOUND_END: f64 = 8.0;
/// Unless it is off by so many tolerances.
const END_SURE: f64 = 16.0;
/// And so is one nearer than so many tolerances: no copyist's slip is so small, and fits are not so sure.
const NEAR: f64 = 2.5;
/// A reading that the rest can place no better than this, in tolerances, says little when it misses: a
/// waterline on a nearly flat floor.
const PLACED: f64 = 4.0;
/// How far off the centreline, in tolerances, a stem's side may be that no fact gives.
const UNGIVEN_SIDE: f64 = 2.0;
/// Under this misfit one reading of a sheer spot cannot be told from the other.
const TELLS_SHEER: f64 = 10.0;

/// A spot the fit has no place for is queried if it is off the surface by so many tolerances.
const LOST: f64 = 20.0;
/// How far from an end, as a part of the boat, a bad spot of its profile upsets readings.
const NEAR_END: f64 = 0.3;
/// So many doubted there are worth asking the profile for.
const UPSET: usize = 2;
/// Places on a section where its crossing with a reading's line is looked for; 40 tell any two apart.
const SAMPLES: usize = 40;
/// Newton's steps from one place on a section to the next.
const NEWTON: usize = 6;

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
/// `options.robust` is taken as set. A held reading (`!`) is never queried.
///
/// # Errors
/// As [`fair`].
pub fn proof(survey: &Survey, options: &Options) -> Result<Vec<Query>, FairingError> {
    let (mut queries, of_profiles) = proof_apart(survey, options)?;
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

/// Queries of rows and points; and suspects of the profiles.
pub(crate) fn proof_apart(
    survey: &Survey,
    options: &Options,
) -> Result<(Vec<Query>, Vec<ProfileSuspect>), FairingError> {
    let options = Options { robust: true, ..options.clone() };
    let (mut survey, mut of_profiles, gross) = proof_ends(survey);
    // What each suspect is put at while it stands aside, m.
    let mut aside: BTreeMap<CellId, f64> = gross.into_iter().collect();
    let mut faired = fair(&with_aside(&survey, &aside), &options)?;
    for stem in [true, false] {
        if let Some((better, suspect, fit)) = blame_profile(&survey, &aside, &faired, stem, &options) {
            (survey, faired) = (better, fit);
            of_profiles.push(suspect);
        }
    }
    let mut queries: Vec<Query> = Vec::new();
    for round in 0..ROUNDS {
        let known = aside.len();
        for r in faired.residuals.iter().filter(|r| r.doubted && !of_profile(r.cell)) {
            let spot = survey.spots.iter().find(|s| s.cell == r.cell);
            let at = spot.and_then(|s| on_section(&faired.surface, s)).unwrap_or(r.faired);
            aside.entry(r.cell).or_insert(at);
        }
        // A spot so far off that it has no place in the frame.
        for spot in &survey.spots {
            if faired.residuals.iter().all(|r| r.cell != spot.cell) {
                let at = on_section(&faired.surface, spot);
                let off = at.filter(|at| (at - reading_of(spot)).abs() > LOST * spot.tolerance);
                off.map(|at| aside.entry(spot.cell).or_insert(at));
            }
        }
        if aside.is_empty() || (round > 0 && aside.len() == known) {
            break;
        }
        // Twice: where a suspect belongs is better known once it has been near there.
        for _ in 0..2 {
            faired = fair(&with_aside(&survey, &aside), &options)?;
            for r in &faired.residuals {
                aside.entry(r.cell).and_modify(|at| *at = r.faired);
            }
        }
        queries = aside.keys().filter_map(|&cell| query(&survey, &faired, cell)).collect();
        aside.retain(|cell, _| queries.iter().any(|q| q.cell == *cell));
    }
    Ok((queries, of_profiles))
}

/// One bad spot of a profile upsets readings all about that end. Where several there are doubted, tries
/// whether one of the profile's instead leaves fewer.
fn blame_profile(
    survey: &Survey,
    aside: &BTreeMap<CellId, f64>,
    faired: &Faired,
    stem: bool,
    options: &Options,
) -> Option<(Survey, ProfileSuspect, Faired)> {
    let xs = || survey.stations.iter().copied();
    let (first, last) = (xs().fold(f64::MAX, f64::min), xs().fold(f64::MIN, f64::max));
    let near = |x: f64| (if stem { x - first } else { last - x }) < NEAR_END * (last - first);
    let x_of = |cell: CellId| {
        let line = survey.lines.iter().find(|l| l.cell == cell).map(|l| l.x);
        line.or(survey.spots.iter().find(|s| s.cell == cell).map(|s| s.x))
    };
    let doubted =
        |f: &Faired| f.residuals.iter().filter(|r| r.doubted && x_of(r.cell).is_none_or(near)).count();
    let now = doubted(faired);
    if now < UPSET {
        return None;
    }
    let others = one_off(survey, stem).into_iter().filter_map(|(other, suspect)| {
        let fit = fair(&with_aside(&other, aside), options).ok()?;
        Some((doubted(&fit), other, suspect, fit))
    });
    let (left, other, suspect, fit) = others.min_by_key(|o| o.0)?;
    let off = (suspect.height.read - suspect.height.expected).abs() / suspect.height.sd;
    (left + 1 < now && off > SOUND).then_some((other, suspect, fit))
}

/// Where a spot's reading would be if it lay on the surface: the crossing of the section at its station with
/// the line it was measured along nearest to it, m.
fn on_section(surface: &Surface, spot: &Spot) -> Option<f64> {
    let along = way_of(spot);
    let mut crossings = Vec::new();
    for patch in &surface.patches {
        let mut u = 0.5;
        let mut at = |v: f64| {
            for _ in 0..NEWTON {
                let (p, du, _) = patch.tangents(u, v);
                if spot.on_transom {
                    u = 1.0;
                } else if du[0].abs() > 1e-9 {
                    u = (u - (p[0] - spot.x) / du[0]).clamp(0.0, 1.0);
                }
            }
            let p = patch.point(u, v);
            let from = (p[1] - spot.y, p[2] - spot.z);
            (from.0 * along.1 - from.1 * along.0, from.0 * along.0 + from.1 * along.1)
        };
        let points: Vec<_> = (0..=SAMPLES).map(|i| at(i as f64 / SAMPLES as f64)).collect();
        crossings.extend(points.windows(2).filter(|w| w[0].0 * w[1].0 <= 0.0).map(|w| {
            let part = w[0].0 / (w[0].0 - w[1].0);
            w[0].1 + if part.is_finite() { part } else { 0.5 } * (w[1].1 - w[0].1)
        }));
    }
    let by = crossings.into_iter().min_by(|a, b| a.abs().total_cmp(&b.abs()))?;
    Some(reading_of(spot) + by)
}

/// The survey with suspects put at `aside` and weighed down.
fn with_aside(survey: &Survey, aside: &BTreeMap<CellId, f64>) -> Survey {
    let mut again = survey.clone();
    for line in &mut again.lines {
        let Some(&value) = aside.get(&line.cell) else { continue };
        line.value = value;
        line.sd *= ASIDE;
    }
    for spot in &mut again.spots {
        let Some(&value) = aside.get(&spot.cell) else { continue };
        let by = value - reading_of(spot);
        let along = way_of(spot);
        (spot.y, spot.z, spot.sd) = (spot.y + by * along.0, spot.z + by * along.1, spot.sd * ASIDE);
    }
    let Some(transom) = survey.transom else { return again };
    // What is read on the transom lies where its plane is at that height.
    let sheers: Vec<_> = again.lines.iter().filter(|l| l.on_transom).copied().collect();
    for line in again.lines.iter_mut().filter(|l| l.on_transom) {
        let own = |axis| sheers.iter().find(|l| l.line == line.line && l.axis == axis).map(|l| l.value);
        let height = if line.axis == Axis::Height { Some(line.value) } else { own(Axis::Height) };
        if let Some(z) = height {
            line.x = transom.x(own(Axis::HalfBreadth).unwrap_or(survey.half_siding), z);
        }
    }
    for spot in again.spots.iter_mut().filter(|s| s.on_transom && aside.contains_key(&s.cell)) {
        spot.x = transom.x(spot.y, spot.z);
    }
    again
}

/// The way a spot's reading runs; that of one given by both co-ordinates is its half-breadth.
fn way_of(spot: &Spot) -> (f64, f64) {
    if spot.along == (0.0, 0.0) { (1.0, 0.0) } else { spot.along }
}

/// What is read of a spot: a height, a half-breadth or a distance out.
fn reading_of(spot: &Spot) -> f64 {
    let along = way_of(spot);
    if along.0 == 0.0 { spot.z } else { spot.y / along.0 }
}

/// What is to be said of a suspect that stands aside, if it is one.
fn query(survey: &Survey, faired: &Faired, cell: CellId) -> Option<Query> {
    let r = faired.residuals.iter().find(|r| r.cell == cell)?;
    let line = survey.lines.iter().find(|l| l.cell == cell);
    let spot = survey.spots.iter().find(|s| s.cell == cell);
    let (read, own) = line.map(|l| (l.value, l.sd)).or(spot.map(|s| (reading_of(s), s.sd)))?;
    let aside = (own * ASIDE).powi(2);
    let mut sd = ((r.expected_sd.powi(2) - aside).max(0.0) + own * own).sqrt();
    if r.sd == 0.0 && survey.half_siding == 0.0 {
        // On the stem itself, whose side is not given.
        sd = sd.hypot(UNGIVEN_SIDE * r.tolerance);
    }
    let expected = r.faired;
    let misfit = (read - expected) / sd;
    let at_end = line.is_some_and(|l| at_end(survey, l));
    let low = spot.is_some_and(|_| sd > PLACED * r.tolerance)
        || at_end
        || line.is_some_and(|l| l.line == RefLine::Sheer && misfit.abs() < TELLS_SHEER);
    let confidence = if low { Confidence::Low } else { Confidence::High };
    let sound = if at_end && (read - expected).abs() < END_SURE * r.tolerance { SOUND_END } else { SOUND };
    let counts = misfit.abs() > sound && (read - expected).abs() > NEAR * r.tolerance;
    counts.then_some(Query { cell, read, expected, sd, misfit, confidence })
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
