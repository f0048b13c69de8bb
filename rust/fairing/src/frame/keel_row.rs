//! Proofreading the underside of the keel, which no planking touches: a reading that lies off the batten through its
//! neighbours, and one that lies above the rabbet, where there is no keel.
//!
//! As of any reading two explanations are weighed: a line so rough, and a smoother one with a slip on it, each with its
//! parameters chosen again. Without the rest of the boat to speak for it a keel's corner is hard to tell from a slip, so that
//! a reading at either end of the row is left alone.

use scrieve_notation::Mark;
use scrieve_offsets::{Axis, ProfileSpot, RefLine, Survey};

use crate::evidence::odds;
use crate::lines::{FittedLine, LineDatum, USUAL_HEIGHTS, likeliest_line};
use crate::proof::{Confidence, Query};

/// Readings that a batten is laid through at least, besides the one that is judged: fewer bend to any.
const FEWEST: usize = 5;
/// Slips of one row at most.
const MOST: usize = 3;
/// A slip is so many standard deviations off the rest at least.
const OFF: f64 = 5.0;
/// Logs by which a slip must be the better explanation: the row has only itself to be judged by.
const GAIN: f64 = 3.0;

/// The queries of a keel's heights.
pub(crate) fn off_keel(survey: &Survey, queried: &[Query]) -> Vec<Query> {
    let mut spots: Vec<ProfileSpot> = survey.keel.clone();
    spots.sort_by(|a, b| a.x.total_cmp(&b.x));
    let mut found: Vec<Query> = Vec::new();
    while found.len() < MOST {
        let Some((k, query)) = worst(&spots) else { break };
        spots.remove(k);
        found.push(query);
    }
    for spot in &survey.keel {
        let same = |l: &&scrieve_offsets::LineReading| {
            l.line == RefLine::Rabbet && l.axis == Axis::Height && l.cell.column == spot.cell.column
        };
        let Some(rabbet) = survey.lines.iter().find(same) else { continue };
        let told = |cell| queried.iter().chain(&found).any(|q: &Query| q.cell == cell);
        let above = spot.z > rabbet.value + spot.tolerance.max(rabbet.tolerance);
        if !above || spot.mark == Mark::Held || told(spot.cell) || told(rabbet.cell) {
            continue;
        }
        let others: Vec<ProfileSpot> = spots.iter().filter(|s| s.cell != spot.cell).copied().collect();
        let (z, sd) = Row::new(&others).and_then(|row| row.at(spot.x)).unwrap_or((rabbet.value, spot.sd));
        let (expected, sd) = (z.min(rabbet.value), sd.hypot(spot.sd).min(spot.z - z.min(rabbet.value)));
        let misfit = (spot.z - expected) / sd;
        // Which of the two is off, the keel or the rabbet, the two alone do not tell.
        found.push(Query {
            cell: spot.cell,
            read: spot.z,
            expected,
            sd,
            misfit,
            confidence: Confidence::Low,
        });
    }
    found
}

/// Readings along the keel as a line, and how likely they are.
struct Row {
    line: FittedLine,
    evidence: f64,
    from: f64,
    length: f64,
}

impl Row {
    fn new(spots: &[ProfileSpot]) -> Option<Row> {
        let (from, to) = (spots.first()?.x, spots.last()?.x);
        let length = to - from;
        if length <= 0.0 || spots.len() < 3 {
            return None;
        }
        Row::over(spots, from, length)
    }

    fn over(spots: &[ProfileSpot], from: f64, length: f64) -> Option<Row> {
        let data: Vec<LineDatum> = spots
            .iter()
            .map(|s| LineDatum { t: (s.x - from) / length, value: s.z / length, sd: s.sd / length })
            .collect();
        let prior = likeliest_line(&data, USUAL_HEIGHTS);
        let line = FittedLine::new(&data, prior)?;
        let evidence = line.evidence(&data) + prior.log_prior(USUAL_HEIGHTS);
        Some(Row { line, evidence, from, length })
    }

    /// Height at x and its standard deviation, m.
    fn at(&self, x: f64) -> Option<(f64, f64)> {
        let t = (x - self.from) / self.length;
        let (z, sd) = (self.line.value(t) * self.length, self.line.sd(t) * self.length);
        (z.is_finite() && sd.is_finite()).then_some((z, sd))
    }
}

/// The reading whose slip explains the row best, if one does.
fn worst(spots: &[ProfileSpot]) -> Option<(usize, Query)> {
    if spots.len() < FEWEST + 1 {
        return None;
    }
    let whole = Row::new(spots)?;
    let within = 1..spots.len() - 1;
    let judged = within.filter(|&k| spots[k].mark != Mark::Held).filter_map(|k| {
        let spot = spots[k];
        let others: Vec<ProfileSpot> =
            spots.iter().enumerate().filter(|(i, _)| *i != k).map(|(_, s)| *s).collect();
        let row = Row::over(&others, whole.from, whole.length)?;
        let (expected, own) = row.at(spot.x)?;
        let (off, sd) = (spot.z - expected, own.hypot(spot.sd));
        let dropped = 0.5 * std::f64::consts::TAU.ln() - (spot.sd / whole.length).ln();
        let gain = row.evidence + dropped + odds(off, spot.sd, spot.tolerance) - whole.evidence;
        let misfit = off / sd;
        let query =
            Query { cell: spot.cell, read: spot.z, expected, sd, misfit, confidence: Confidence::High };
        (gain > GAIN && misfit.abs() > OFF && off.abs() > spot.tolerance).then_some((gain, k, query))
    });
    judged.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, k, query)| (k, query))
}
