//! Rows, stations and distances that the rest of the boat would have elsewhere as one.
//!
//! A sheer all of whose half-breadths are a foot too great is as smooth as a sound one: nothing of it is rough, and no
//! reading of it is queried. By parameters fitted with it among the readings the boat makes room for it; by usual ones she
//! does not. How the misfits of all readings go with such a slip tells, under those and without another solve, by how
//! much it would best be moved and what that would gain (the score test, as for `facts`). It only proposes: a boat that
//! is not as boats usually are leans too.

use scrieve_offsets::{Block, CellId, RefLine, Survey};

use crate::Options;
use crate::evidence::{Out, Settled, settle};
use crate::fit::Premise;
use crate::gp::{Solved, dot};

/// What may lean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lean {
    /// All readings of a row, by one amount.
    Row(Block, usize),
    /// All readings of a station in a block, by one amount.
    Station(Block, usize),
    /// A station's distance and those of all abaft it.
    Gap(usize),
    /// A row's readings toward those of the next station forward (`aft`) or aft, by a part of the way.
    Shift(usize, bool),
}

/// How far something would best be moved, as a look by usual parameters has it: m, or a part of a shift.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Leaning {
    pub lean: Lean,
    pub by: f64,
    /// What that would gain, as a log of evidence.
    pub gain: f64,
}

/// What is to be tried gains so much by usual parameters, in logs: sound boats come to sixty where they are quick.
const LEANS: f64 = 60.0;
/// And moves so far, as a part of the boat's length: less is a boat that is not quite as usual.
const FAR: f64 = 4e-3;
/// So many are tried, those that gain most.
const MOST: usize = 4;
/// A row counts as shifted by a station if it would best be moved so far on the way to the next.
const SHIFTED: (f64, f64) = (0.6, 1.4);
/// Of a row of fewer readings nothing is told.
const FEWEST: usize = 4;
/// Spaces are alike that differ by less than this part, or by an inch, m, as inches round them.
const ALIKE: (f64, f64) = (0.07, 0.026);
/// And of so many others a usual one is told.
const ENOUGH_SPACES: usize = 2;
/// A space unlike all others is tried if its station gains so much, in logs.
const LEANS_APART: f64 = 20.0;
/// A lean explains what is unusual in a table if with it put right this part of it is left, or this much of a lesser part; a
/// reading of a usual boat comes to a half, as a log.
const EXPLAINS: (f64, f64, f64) = (0.2, 0.5, 2.0);
/// And nothing leans any more by so much of what it did.
const LEFT: f64 = 0.1;
/// Moved by so much to see what goes with it, m, or as a part.
const STEP: f64 = 1e-3;

impl Lean {
    /// Those of a survey.
    fn all(survey: &Survey) -> Vec<Lean> {
        let bounds = |l: &&scrieve_offsets::LineReading| l.line == RefLine::Rabbet;
        let of_keel: Vec<(Block, usize)> =
            survey.lines.iter().filter(bounds).map(|l| (l.cell.block, l.cell.row)).collect();
        let cells: Vec<CellId> =
            survey.lines.iter().map(|l| l.cell).chain(survey.spots.iter().map(|s| s.cell)).collect();
        let in_rows =
            |block: Block| !matches!(block, Block::Points | Block::StemProfile | Block::SternProfile);
        let often = |mut of: Vec<(Block, usize)>| {
            of.sort();
            let many = of.chunk_by(|a, b| a == b).filter(|same| same.len() >= FEWEST);
            many.map(|same| same[0]).collect::<Vec<_>>()
        };
        let rows = often(cells.iter().filter(|c| in_rows(c.block)).map(|c| (c.block, c.row)).collect());
        let stations =
            often(cells.iter().filter(|c| in_rows(c.block)).map(|c| (c.block, c.column)).collect());
        let open = || rows.iter().filter(|row| !of_keel.contains(row));
        let sheer = |l: &&scrieve_offsets::LineReading| l.line == RefLine::Sheer;
        let mut of_sheer: Vec<usize> = survey.lines.iter().filter(sheer).map(|l| l.cell.row).collect();
        of_sheer.sort_unstable();
        of_sheer.dedup();
        let shifts = of_sheer.into_iter().flat_map(|row| [true, false].map(|aft| Lean::Shift(row, aft)));
        let gaps = (1..survey.stations.len()).filter(|&c| unlike_the_others(survey, c));
        open()
            .map(|&(block, row)| Lean::Row(block, row))
            .chain(stations.into_iter().map(|(block, column)| Lean::Station(block, column)))
            .chain(gaps.map(Lean::Gap))
            .chain(shifts)
            .collect()
    }

    /// The survey with it moved by so much.
    pub fn moved(self, survey: &Survey, by: f64) -> Survey {
        let mut now = survey.clone();
        let has = |cell: CellId| match self {
            Lean::Row(block, row) => (cell.block, cell.row) == (block, row),
            Lean::Station(block, column) => (cell.block, cell.column) == (block, column),
            Lean::Gap(_) | Lean::Shift(..) => false,
        };
        match self {
            Lean::Row(..) | Lean::Station(..) => {
                now.lines.iter_mut().filter(|l| has(l.cell)).for_each(|l| l.value += by);
                for s in now.spots.iter_mut().filter(|s| has(s.cell)) {
                    (s.y, s.z) = (s.y + by * s.along.0, s.z + by * s.along.1);
                }
            }
            Lean::Gap(column) => now = abaft(survey, column, by),
            Lean::Shift(row, aft) => {
                let mut own: Vec<usize> = (0..survey.lines.len())
                    .filter(|&i| survey.lines[i].line == RefLine::Sheer && survey.lines[i].cell.row == row)
                    .collect();
                own.sort_by_key(|&i| survey.lines[i].cell.column);
                for pair in own.windows(2) {
                    let (at, from) = if aft { (pair[0], pair[1]) } else { (pair[1], pair[0]) };
                    now.lines[at].value += by * (survey.lines[from].value - survey.lines[at].value);
                }
            }
        }
        now
    }
}

/// Whether the space before a station is unlike all others, which are like each other; those at the ends are often less.
pub(super) fn unlike_the_others(survey: &Survey, column: usize) -> bool {
    let told = |c: usize| survey.lines.iter().any(|l| l.on_transom && l.cell.column == c);
    let x: Vec<f64> = (0..survey.stations.len()).filter(|&c| !told(c)).map(|c| survey.stations[c]).collect();
    let space = |c: usize| x[c] - x[c - 1];
    if column == 0 || column >= x.len() {
        return false;
    }
    let mut others: Vec<f64> = (2..x.len().saturating_sub(1)).filter(|&c| c != column).map(space).collect();
    others.sort_by(f64::total_cmp);
    let Some(&usual) = others.get(others.len() / 2) else { return false };
    let like = |space: &f64| (space - usual).abs() < ALIKE.1.max(ALIKE.0 * usual);
    others.len() >= ENOUGH_SPACES && others.iter().all(like) && !like(&space(column))
}

/// The survey with a station and all abaft it moved by so much, m; the transom stays where it is told.
pub(crate) fn abaft(survey: &Survey, column: usize, by: f64) -> Survey {
    let mut now = survey.clone();
    let Some(&x) = survey.stations.get(column) else { return now };
    let from = x - 1e-9;
    let told = |c: usize| survey.lines.iter().any(|l| l.on_transom && l.cell.column == c);
    for (c, x) in now.stations.iter_mut().enumerate() {
        *x += if *x >= from && !told(c) { by } else { 0.0 };
    }
    now.lines.iter_mut().filter(|l| !l.on_transom && l.x >= from).for_each(|l| l.x += by);
    now.spots.iter_mut().filter(|s| !s.on_transom && s.x >= from).for_each(|s| s.x += by);
    now
}

/// A hull's readings under usual parameters, those left `out` that stay so.
fn usual(settled: &Settled<'_>) -> Option<(Solved, Vec<f64>, Vec<f64>)> {
    let joint = settled.by_usual()?;
    let mut solved = joint.solved.clone();
    for i in (0..settled.judged.len()).filter(|&i| settled.left_out(i)) {
        solved.weigh_down(i, -settled.added(i));
    }
    let alpha = solved.times(&joint.y);
    Some((solved, alpha, joint.y))
}

/// What a look by usual parameters makes of a survey.
#[derive(Clone, Debug, Default)]
pub(crate) struct Look {
    /// What leans, most first.
    pub leans: Vec<Leaning>,
    /// How far all readings are from a usual boat's: as a log, of each.
    pub unusual: f64,
}

impl Look {
    /// `out` are readings that are slips of their own.
    pub fn at(survey: &Survey, options: &Options, premise: Premise, out: &Out) -> Option<Look> {
        let settled = settle(survey, options, out, premise, None).ok()?;
        let (solved, alpha, y) = usual(&settled)?;
        let length = survey.stations.iter().fold(1e-3f64, |a, b| a.max(*b));
        let mut leans: Vec<Leaning> = Vec::new();
        for lean in Lean::all(survey) {
            let moved = lean.moved(survey, STEP);
            let Some(along) = settled.leaning_to(&settled.fit.among(&moved)) else { continue };
            let (pull, size) = (dot(&along, &alpha), dot(&along, &solved.times(&along)));
            let (by, gain) = (-pull / size, 0.5 * pull * pull / size);
            let far = match lean {
                Lean::Shift(..) => (SHIFTED.0..SHIFTED.1).contains(&by),
                _ => by.abs() > FAR * length,
            };
            let least = if matches!(lean, Lean::Gap(_)) { LEANS_APART } else { LEANS };
            if size > 0.0 && gain.is_finite() && gain > least && far {
                leans.push(Leaning { lean, by, gain });
            }
        }
        leans.sort_by(|a, b| b.gain.total_cmp(&a.gain));
        leans.truncate(MOST);
        Some(Look { leans, unusual: 0.5 * dot(&alpha, &y) / y.len().max(1) as f64 })
    }

    /// Whether `after`, the same with what leans put right, has next to nothing unusual left.
    pub fn is_explained_by(&self, gain: f64, after: &Look) -> bool {
        let left = after.leans.first().is_some_and(|l| l.gain > LEFT * gain);
        let (part, some, least) = EXPLAINS;
        let explained =
            after.unusual < part * self.unusual || after.unusual < (some * self.unusual).min(least);
        after.unusual.is_finite() && explained && !left
    }
}
