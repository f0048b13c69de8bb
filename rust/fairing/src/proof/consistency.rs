//! The table against itself, without a fit: readings of one station that no section can have together.
//!
//! Going up, a section widens to its greatest breadth and narrows above it; whatever it is measured by,
//! waterlines, buttocks or diagonals, its spots must do so too. And a rabbet read within the length of the
//! stem's profile lies between the profile's spots on either side of it.

use crate::fact_check::against_facts;

use scrieve_offsets::{Axis, CellId, LineReading, ProfileSpot, RefLine, Survey, Table};

/// Readings that cannot be true together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Disagreement {
    /// The reading most of the others speak against, first; then those that do.
    pub cells: Vec<CellId>,
    /// What there is to say, the cells named.
    pub text: String,
}

/// How far two readings' tolerances together are stretched before they disagree: readings a little over
/// their tolerance are for fairing to judge.
const STRETCH: f64 = 2.0;

/// A spot of a section.
#[derive(Clone, Copy)]
struct SectionSpot {
    y: f64,
    z: f64,
    tolerance: f64,
    cell: CellId,
}

/// Where a table contradicts itself, station by station; `survey` is the table's, unsifted.
pub fn disagreements(table: &Table, survey: &Survey) -> Vec<Disagreement> {
    let mut found = Vec::new();
    for column in 0..table.stations.len() {
        found.extend(in_section(table, section(survey, column)));
    }
    for (spots, forward) in [(&survey.stem, true), (&survey.stern, false)] {
        found.extend(against_profile(table, survey, spots, forward));
    }
    found.extend(against_facts(table, survey));
    found
}

/// Of those, facts that do not go with readings that tell the same: what no fit sees, as it takes facts for granted.
pub fn facts_apart(table: &Table, survey: &Survey) -> Vec<Disagreement> {
    against_facts(table, survey)
}

/// The spots of one station, lowest first.
fn section(survey: &Survey, column: usize) -> Vec<SectionSpot> {
    let x = survey.stations[column];
    let here = |l: &&LineReading| l.cell.column == column;
    let rows = survey.spots.iter().filter(|s| {
        let a_point = s.cell.block == scrieve_offsets::Block::Points;
        if a_point { !s.on_transom && s.x == x } else { s.cell.column == column }
    });
    let mut spots: Vec<SectionSpot> =
        rows.map(|s| SectionSpot { y: s.y, z: s.z, tolerance: s.tolerance, cell: s.cell }).collect();
    for half_breadth in survey.lines.iter().filter(here).filter(|l| l.axis == Axis::HalfBreadth) {
        let mut heights = survey.lines.iter().filter(here);
        let height = heights.find(|l| l.axis == Axis::Height && l.line == half_breadth.line);
        spots.extend(height.map(|h| SectionSpot {
            y: half_breadth.value,
            z: h.value,
            tolerance: half_breadth.tolerance.max(h.tolerance),
            cell: half_breadth.cell,
        }));
    }
    spots.sort_by(|a, b| a.z.total_cmp(&b.z));
    spots
}

/// Spots that lie inside of both a lower and a higher one; each time the one spoken against most is named and
/// left out.
fn in_section(table: &Table, mut spots: Vec<SectionSpot>) -> Vec<Disagreement> {
    let mut found = Vec::new();
    loop {
        let apart =
            |a: f64, b: f64, i: &SectionSpot, j: &SectionSpot| a - b > STRETCH * (i.tolerance + j.tolerance);
        let mut hollow = Vec::new();
        for (b, in_) in spots.iter().enumerate() {
            let below = spots[..b].iter().filter(|a| apart(a.y, in_.y, a, in_) && apart(in_.z, a.z, a, in_));
            let above =
                spots[b + 1..].iter().filter(|c| apart(c.y, in_.y, c, in_) && apart(c.z, in_.z, c, in_));
            let widest = |a: &&SectionSpot, b: &&SectionSpot| a.y.total_cmp(&b.y);
            if let (Some(a), Some(c)) = (below.clone().max_by(widest), above.clone().max_by(widest)) {
                hollow.push((in_.cell, a.cell, c.cell, below.count() + above.count()));
            }
        }
        let Some(worst) = hollow.iter().max_by_key(|h| h.3).copied() else { return found };
        // Without which of the three is there least left to say? A tie goes to the one inside.
        let hollows = |without: CellId| hollow.iter().filter(|h| ![h.0, h.1, h.2].contains(&without)).count();
        let accused = [worst.1, worst.2].into_iter().filter(|&c| hollows(c) < hollows(worst.0));
        let accused = accused.min_by_key(|&c| hollows(c)).unwrap_or(worst.0);
        let others: Vec<CellId> = [worst.0, worst.1, worst.2].into_iter().filter(|c| *c != accused).collect();
        let name = |cell: CellId| format!("{} {}", table.describe(cell).1, written(table, cell));
        let text = format!(
            "station {}: {} does not lie on one section with {} and {}; one of them is wrong",
            table.describe(accused).0,
            name(accused),
            name(others[0]),
            name(others[1])
        );
        found.push(Disagreement { cells: [vec![accused], others].concat(), text });
        spots.retain(|s| s.cell != accused);
    }
}

/// Heights of a profile that do not fall; else, heights of the rabbet that do not lie between the profile's
/// spots on either side.
fn against_profile(
    table: &Table,
    survey: &Survey,
    spots: &[ProfileSpot],
    forward: bool,
) -> Vec<Disagreement> {
    let whose = if forward { "stem" } else { "sternpost" };
    let rises = spots.windows(2).filter(|p| p[1].z > p[0].z + STRETCH * (p[0].tolerance + p[1].tolerance));
    let rises: Vec<Disagreement> = rises
        .map(|p| Disagreement {
            cells: vec![p[1].cell, p[0].cell],
            text: format!(
                "the {whose}'s profile: height {} comes after {}, which is lower; one of them is wrong",
                written(table, p[1].cell),
                written(table, p[0].cell)
            ),
        })
        .collect();
    if !rises.is_empty() {
        return rises;
    }
    let mut found: Vec<(&LineReading, ProfileSpot, ProfileSpot)> = Vec::new();
    let rabbet = survey.lines.iter().filter(|l| l.line == RefLine::Rabbet && l.axis == Axis::Height);
    for l in rabbet.filter(|l| !l.on_transom) {
        // At a plumb stem a station stands between every two spots: it need lie between some.
        let beside = spots.windows(2).filter(|p| (p[0].x.min(p[1].x)..=p[0].x.max(p[1].x)).contains(&l.x));
        let outside = |a: &ProfileSpot, b: &ProfileSpot| {
            let slack = STRETCH * (l.tolerance + a.tolerance.max(b.tolerance));
            (l.value - a.z.max(b.z) - slack).max(a.z.min(b.z) - slack - l.value)
        };
        let nearest = beside.min_by(|p, q| outside(&p[0], &p[1]).total_cmp(&outside(&q[0], &q[1])));
        let Some(&[a, b]) = nearest else { continue };
        if outside(&a, &b) > 0.0 {
            found.push((l, a, b));
        }
    }
    // Several stations against one spot: the spot is wrong.
    let several = found.len() > 1;
    found.truncate(1);
    let say = |(l, a, b): (&LineReading, ProfileSpot, ProfileSpot)| {
        let (station, row) = table.describe(l.cell);
        let (a_says, b_says) = (written(table, a.cell), written(table, b.cell));
        let text = format!(
            "station {station}: {row} {} does not lie between {a_says} and {b_says} of the {whose}'s profile",
            written(table, l.cell),
        );
        let cells = if several { vec![b.cell, a.cell, l.cell] } else { vec![l.cell, a.cell, b.cell] };
        Disagreement { cells, text }
    };
    found.into_iter().map(say).collect()
}

fn written(table: &Table, cell: CellId) -> &str {
    table.cell(cell).map_or("-", |r| r.written.as_str())
}
