//! Other ways to read a stem or a sternpost in profile, for one slip there bends every waterline, and the fit
//! that would find it: what of its spots may be off, and the survey that would be sound then.
//!
//! Heights must fall from sheer to keel; the rest must lie on one curve; its head must lie where the sheer
//! runs to, and its foot where the rabbet does.

use scrieve_notation::Mark;
use scrieve_offsets::{Axis, Block, CellId, LineReading, ProfileSpot, RefLine, Survey};

use crate::evidence::odds;
use crate::lines::{FittedLine, LineDatum, LinePrior, USUAL_HEIGHTS};
use crate::profile::ProfileCurve;
use crate::robust::judge_line;

/// Fewest spots a curve is made of once suspects are left out.
const LEAST_SPOTS: usize = 3;
/// Suspects in one profile at most.
const MOST: usize = 2;
/// A profile is not so much shorter for want of one spot, unless that lies far off.
const FAR: f64 = 0.4;
/// Misfit of a profile's end against the line that runs to it, in standard deviations, that makes it suspect.
const END_OFF: f64 = 6.0;
/// The reading next to the end is doubted before the end is if the others put it so far off.
const NEXT_OFF: f64 = 2.0;
/// A spot is read otherwise only if it is off by so many standard deviations.
const OFF: f64 = 3.0;
/// A curve carried on beyond its last spot is so much less sure than at it.
const END_WORTH: f64 = 4.0;
/// How quick toward the end the line may be.
const WARPS: [f64; 3] = [0.0, 1.5, 3.0];

/// What one of the readings of a profile's spot says and what the rest expects, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct OffProfile {
    pub cell: CellId,
    pub read: f64,
    pub expected: f64,
    pub sd: f64,
}

/// A suspect of a profile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ProfileSuspect {
    /// If it is the height that is wrong.
    pub height: OffProfile,
    /// If it is the distance from the stem.
    pub from_stem: Option<OffProfile>,
    /// It has no part in the fit as it was read.
    pub left_out: bool,
}

/// Another way to read the ends of a survey: its suspects left out, or put where a line runs to.
#[derive(Clone, Debug)]
pub(crate) struct Otherwise {
    pub survey: Survey,
    pub suspects: Vec<ProfileSuspect>,
}

impl Otherwise {
    /// How far off the others put its first suspect, by its height or by its distance, whichever says more, in standard
    /// deviations.
    pub fn misfit(&self) -> Option<f64> {
        let of = |of: &OffProfile| (of.read - of.expected).abs() / of.sd;
        let first = self.suspects.first()?;
        Some(of(&first.height).max(first.from_stem.as_ref().map_or(0.0, of)))
    }

    /// The log of how likely its slips are; `given` is the survey as it stands.
    pub fn odds(&self, given: &Survey) -> f64 {
        let spots = || given.stem.iter().chain(&given.stern);
        let of = |suspect: &ProfileSuspect| {
            let (block, column) = (suspect.height.cell.block, suspect.height.cell.column);
            let spot = spots().find(|s| s.cell.block == block && s.cell.column == column)?;
            let off = |of: &OffProfile| (of.read - of.expected).abs();
            let off = off(&suspect.height).min(suspect.from_stem.as_ref().map_or(f64::MAX, off));
            let kept = self.survey.stem.iter().chain(&self.survey.stern).any(|s| s.cell == spot.cell);
            // One left out has no part in the evidence: its density is that of slips.
            let density = if kept { 0.0 } else { -spot.sd.ln() };
            Some(density + odds(off, spot.sd, spot.tolerance))
        };
        self.suspects.iter().filter_map(of).sum()
    }
}

/// What looks off in the profiles by themselves, if anything does.
pub(crate) fn proof_ends(survey: &Survey) -> Option<Otherwise> {
    let mut sound = survey.clone();
    let mut suspects = Vec::new();
    // A sternpost below a transom ends at neither sheer nor rabbet: it is the backbone's to judge.
    for stem in [true, false].into_iter().filter(|&stem| stem || survey.transom.is_none()) {
        let given = if stem { &survey.stem } else { &survey.stern }.clone();
        if given.len() < LEAST_SPOTS {
            continue;
        }
        let mut kept: Vec<usize> = (0..given.len()).collect();
        while kept.len() > LEAST_SPOTS && given.len() - kept.len() < MOST {
            let badness = |kept: &[usize]| {
                let spots: Vec<ProfileSpot> = kept.iter().map(|&i| given[i]).collect();
                let (wrong, off) = badness(&spots);
                let mut wrong = 2 * wrong;
                for (of, end, line) in [
                    (0, spots[0], RefLine::Sheer),
                    (given.len() - 1, spots[spots.len() - 1], RefLine::Rabbet),
                ] {
                    let meets = line_at_end(survey, end, line, stem)
                        .is_none_or(|(z, sd)| (z - end.z).abs() < END_OFF * sd)
                        || line == RefLine::Rabbet && stops_short(&spots, end);
                    // Of two explanations, the one that keeps the profile's ends.
                    wrong += if kept.contains(&of) { 2 * usize::from(!meets) } else { 1 };
                }
                (wrong, off)
            };
            if badness(&kept).0 < 2 {
                break;
            }
            let without = |out: usize| kept.iter().copied().filter(|&i| i != out).collect::<Vec<_>>();
            let open = kept.iter().filter(|&&i| given[i].mark != Mark::Held);
            let best = open.map(|&i| (badness(&without(i)), i));
            let best = best.min_by(|a, b| a.0.0.cmp(&b.0.0).then(a.0.1.total_cmp(&b.0.1)));
            let Some((_, out)) = best else { break };
            kept = without(out);
        }
        let mut spots: Vec<ProfileSpot> = kept.iter().map(|&i| given[i]).collect();
        let curve = ProfileCurve::new(&data(&spots), false);
        for out in (0..given.len()).filter(|i| !kept.contains(i)) {
            let Some(curve) = &curve else { continue };
            let line = if out == 0 { RefLine::Sheer } else { RefLine::Rabbet };
            let spot = given[out];
            if out > 0 && out + 1 < given.len() {
                let above = kept.iter().filter(|&&i| i < out).map(|&i| given[i].z).fold(f64::MAX, f64::min);
                let below = kept.iter().filter(|&&i| i > out).map(|&i| given[i].z).fold(f64::MIN, f64::max);
                let suspect = off_profile(curve, &spot);
                suspects.extend(suspect.map(|s| ProfileSuspect {
                    // Out of order, it has the wrong height, whatever the curve says of it.
                    from_stem: s.from_stem.filter(|_| below < spot.z && spot.z < above),
                    ..s
                }));
                continue;
            }
            // The end itself: the line runs to its height, or else the curve to its distance.
            let near = ProfileSpot { x: curve.x(spot.z), ..spot };
            let put = match (line_at_end(survey, spot, line, stem), line_at_end(survey, near, line, stem)) {
                (_, Some((z, sd))) if (z - spot.z).abs() < END_OFF * sd => {
                    let x = shifted(curve, &spot);
                    suspects.push(ProfileSuspect { height: x, from_stem: None, left_out: true });
                    near
                }
                (Some((z, sd)), _) => {
                    let height = OffProfile { cell: spot.cell, read: spot.z, expected: z, sd };
                    suspects.push(ProfileSuspect { height, from_stem: None, left_out: true });
                    ProfileSpot { z, ..spot }
                }
                _ => continue,
            };
            if out == 0 { spots.insert(0, put) } else { spots.push(put) }
        }
        *if stem { &mut sound.stem } else { &mut sound.stern } = spots;
    }
    for stem in [true, false].into_iter().filter(|&stem| stem || survey.transom.is_none()) {
        let Some((moved, suspect)) = end_moved(&sound, stem, true, false) else { continue };
        let OffProfile { cell, read, expected, sd } = suspect.height;
        let known = suspects.iter().any(|s| s.height.cell == cell);
        if !known && (read - expected).abs() > END_OFF * sd {
            sound = moved;
            suspects.push(suspect);
        }
    }
    (!suspects.is_empty()).then_some(Otherwise { survey: sound, suspects })
}

/// The survey with the head or foot of a profile put where the sheer or the rabbet runs to.
///
/// `surely` even where the reading next to it may be what is wrong.
fn end_moved(survey: &Survey, stem: bool, head: bool, surely: bool) -> Option<(Survey, ProfileSuspect)> {
    let profile = if stem { &survey.stem } else { &survey.stern };
    let i = end_of(profile, head)?;
    if !head && stops_short(profile, profile[i]) {
        return None;
    }
    let mut moved = survey.clone();
    let spot = if stem { &mut moved.stem[i] } else { &mut moved.stern[i] };
    if spot.mark == Mark::Held {
        return None;
    }
    let line = if head { RefLine::Sheer } else { RefLine::Rabbet };
    let (z, sd) = if surely {
        let (data, far) = line_to_end(survey, *spot, line, stem)?;
        run_to(&data, far, *spot)?
    } else {
        line_at_end(survey, *spot, line, stem)?
    };
    let height = OffProfile { cell: spot.cell, read: spot.z, expected: z, sd };
    spot.z = z;
    Some((moved, ProfileSuspect { height, from_stem: None, left_out: true }))
}

/// Whether the lowest spot of a profile lies where its other spots run to: it is sound then, however far above the rabbet the
/// profile was read no further.
fn stops_short(spots: &[ProfileSpot], foot: ProfileSpot) -> bool {
    let others: Vec<ProfileSpot> = spots.iter().filter(|s| s.cell != foot.cell).copied().collect();
    let above = others.iter().all(|s| s.z > foot.z);
    let curve = ProfileCurve::new(&data(&others), false).filter(|_| above && others.len() >= LEAST_SPOTS);
    curve.is_some_and(|curve| {
        let off = shifted(&curve, &foot);
        (off.read - off.expected).abs() < END_OFF * off.sd / END_WORTH
    })
}

/// The survey with the head or foot of a profile put where its other spots run to.
fn end_shifted(survey: &Survey, stem: bool, head: bool) -> Option<(Survey, ProfileSuspect)> {
    let i = end_of(if stem { &survey.stem } else { &survey.stern }, head)?;
    let mut moved = survey.clone();
    let spots = if stem { &mut moved.stem } else { &mut moved.stern };
    let spot = spots.remove(i);
    let curve = ProfileCurve::new(&data(spots), false).filter(|_| spot.mark != Mark::Held)?;
    let off = shifted(&curve, &spot);
    spots.insert(i, ProfileSpot { x: off.expected, ..spot });
    Some((moved, ProfileSuspect { height: off, from_stem: None, left_out: true }))
}

/// What a curve without its end says of that end's distance from the stem.
fn shifted(curve: &ProfileCurve, end: &ProfileSpot) -> OffProfile {
    OffProfile {
        cell: CellId { row: 0, ..end.cell },
        read: end.x,
        expected: curve.x(end.z),
        sd: END_WORTH * curve.sd(end.z).hypot(end.sd),
    }
}

/// Every way one spot of a profile may be wrong: surveys that would be sound then, and the suspect.
pub(crate) fn one_off(survey: &Survey, stem: bool) -> Vec<Otherwise> {
    let ends = [true, false].into_iter().filter_map(|head| end_moved(survey, stem, head, true));
    let shifted = [true, false].into_iter().filter_map(|head| end_shifted(survey, stem, head));
    let spots = if stem { &survey.stem } else { &survey.stern };
    let open = (0..spots.len()).filter(|&i| spots.len() > LEAST_SPOTS && spots[i].mark != Mark::Held);
    let left_out = open.filter_map(|i| {
        let mut rest = survey.clone();
        let kept = if stem { &mut rest.stem } else { &mut rest.stern };
        let spot = kept.remove(i);
        let suspect = off_profile(&ProfileCurve::new(&data(kept), false)?, &spot)?;
        (Some(i) != end_of(spots, true) && Some(i) != end_of(spots, false)).then_some((rest, suspect))
    });
    let all = ends.chain(shifted).chain(left_out).filter(|(_, suspect)| is_off(suspect));
    all.map(|(survey, suspect)| Otherwise { survey, suspects: vec![suspect] }).collect()
}

/// Whether the rest of the profile contradicts a spot at all: where it says no better than that, another place for the spot
/// would only be one more thing to fit by.
fn is_off(suspect: &ProfileSuspect) -> bool {
    let off = |of: &OffProfile| (of.read - of.expected).abs() > OFF * of.sd;
    off(&suspect.height) || suspect.from_stem.as_ref().is_some_and(off)
}

fn data(spots: &[ProfileSpot]) -> Vec<(f64, f64, f64)> {
    spots.iter().map(|s| (s.x, s.z, s.sd)).collect()
}

/// How many things are wrong with a profile, and how far it is from a curve, in its own uncertainties.
fn badness(spots: &[ProfileSpot]) -> (usize, f64) {
    let rises = spots.windows(2).filter(|p| p[1].z >= p[0].z).count();
    let Some(curve) = ProfileCurve::new(&data(spots), true) else { return (rises + spots.len(), f64::MAX) };
    let doubted = curve.doubted.iter().filter(|d| **d).count();
    let far = (0..spots.len()).filter(|&i| path(spots, Some(i)) < FAR * path(spots, None)).count();
    (rises + doubted + far, curve.left_out.iter().map(|(off, sd)| off.abs() / sd).fold(0.0, f64::max))
}

/// Length of the chain of straights from spot to spot, one of them left out.
fn path(spots: &[ProfileSpot], without: Option<usize>) -> f64 {
    let kept: Vec<_> = (0..spots.len()).filter(|i| Some(*i) != without).map(|i| spots[i]).collect();
    kept.windows(2).map(|p| (p[1].x - p[0].x).hypot(p[1].z - p[0].z)).sum()
}

/// A spot that lies off a curve, x over z between two heights, of which one standard deviation square to it is
/// `sd`, m: by its height, or by its distance from the stem.
pub(crate) fn off_curve(
    x: &dyn Fn(f64) -> f64,
    (low, high): (f64, f64),
    sd: f64,
    spot: &ProfileSpot,
) -> Option<ProfileSuspect> {
    const STEP: f64 = 1e-3;
    if low.is_nan() || high.is_nan() || low >= high {
        return None;
    }
    let square = sd.hypot(spot.sd);
    let at = |z: f64| x(z.clamp(low, high));
    let run = |z: f64| (at(z + STEP) - at(z - STEP)) / (2.0 * STEP);
    let expected = at(spot.z);
    let from_stem = OffProfile {
        cell: CellId { row: 0, ..spot.cell },
        read: spot.x,
        expected,
        sd: square * run(spot.z.clamp(low, high)).hypot(1.0),
    };
    // The height at which the curve comes to that x.
    let (mut a, mut b) = (low, high);
    let rises = at(b) > at(a);
    for _ in 0..60 {
        let middle = 0.5 * (a + b);
        if (at(middle) > spot.x) == rises { b = middle } else { a = middle }
    }
    let z = 0.5 * (a + b);
    let sd = square * run(z).hypot(1.0) / run(z).abs().max(1e-3);
    let height = OffProfile { cell: spot.cell, read: spot.z, expected: z, sd };
    let within = (low..=high).contains(&spot.z) && (spot.x - from_stem.expected).abs() > 3.0 * from_stem.sd;
    Some(ProfileSuspect { height, from_stem: within.then_some(from_stem), left_out: true })
}

/// The same off a curve of its own.
fn off_profile(curve: &ProfileCurve, spot: &ProfileSpot) -> Option<ProfileSuspect> {
    let (low, high) = (curve.foot_z, curve.head_z);
    off_curve(&|z| curve.x(z), (low, high), curve.sd(spot.z.clamp(low, high)), spot)
}

/// The highest or lowest spot.
fn end_of(spots: &[ProfileSpot], head: bool) -> Option<usize> {
    (0..spots.len()).min_by(|&a, &b| {
        let up = spots[a].z.total_cmp(&spots[b].z);
        if head { up.reverse() } else { up }
    })
}

/// Where a line runs to at the end of a profile, m, and how sure a reading there would be.
fn line_at_end(survey: &Survey, end: ProfileSpot, line: RefLine, stem: bool) -> Option<(f64, f64)> {
    let (data, far) = line_to_end(survey, end, line, stem)?;
    // The reading next to the end may be the one that is off: then the rest runs to the end without it.
    let without = data.get(1..).unwrap_or_default();
    let next_off = |line: FittedLine| {
        let (off, variance) = line.left_out(0);
        off.abs() > NEXT_OFF * variance.sqrt()
    };
    if data.len() > LEAST_SPOTS + 1
        && FittedLine::new(&data, USUAL_HEIGHTS).is_some_and(next_off)
        && meets(without, far, end)
        && !meets(&data, far, end)
    {
        return None;
    }
    run_to(&data, far, end)
}

/// The readings of a line that make sense together, by their distance from the end of a profile as a part of
/// the farthest, m.
fn line_to_end(
    survey: &Survey,
    end: ProfileSpot,
    line: RefLine,
    stem: bool,
) -> Option<(Vec<LineDatum>, f64)> {
    let same = survey.lines.iter().filter(|l| l.line == line && l.axis == Axis::Height && !l.on_transom);
    let same: Vec<&LineReading> = same.filter(|l| if stem { l.x > end.x } else { l.x < end.x }).collect();
    let far = same.iter().map(|l| (l.x - end.x).abs()).fold(0.0, f64::max);
    // A stern is a bow's mirror image.
    let place =
        |l: &&LineReading| LineDatum { t: (l.x - end.x).abs() / far, value: l.value / far, sd: l.sd / far };
    let mut data: Vec<LineDatum> = same.iter().map(place).collect();
    data.sort_by(|a, b| a.t.total_cmp(&b.t));
    let mut doubted = judge_line(&data, &vec![true; data.len()], USUAL_HEIGHTS).into_iter();
    data.retain(|_| !doubted.next().unwrap_or(false));
    Some((data, far))
}

/// Where the line of `data` runs to at t = 0, under the warp that agrees best with `end`, m.
fn run_to(data: &[LineDatum], far: f64, end: ProfileSpot) -> Option<(f64, f64)> {
    let run = WARPS.iter().filter_map(|&alpha| {
        let fitted = FittedLine::new(data, LinePrior { alpha, ..USUAL_HEIGHTS })?;
        Some((far * fitted.value(0.0), (far * fitted.sd(0.0)).hypot(end.sd)))
    });
    let off = |run: &(f64, f64)| (end.z - run.0).abs() / run.1;
    run.min_by(|a, b| off(a).total_cmp(&off(b)))
}

fn meets(data: &[LineDatum], far: f64, end: ProfileSpot) -> bool {
    run_to(data, far, end).is_some_and(|(z, sd)| (z - end.z).abs() < END_OFF * sd)
}

/// Whether a cell belongs to a profile.
pub(crate) fn of_profile(cell: CellId) -> bool {
    matches!(cell.block, Block::StemProfile | Block::SternProfile)
}
