//! Facts against the readings that tell the same, without a fit: the transom's foot is the end of the rabbet and of the
//! sternpost, no reading lies inside the side of the keel, and stations are set out in step.
//!
//! Each says what two things do not go together, not which is wrong. A fact that is held (`!`) is not asked.

use scrieve_offsets::{Axis, Block, CellId, LineReading, ProfileSpot, RefLine, Survey, Table};

use crate::consistency::Disagreement;

/// The same place told twice is off by no more than this part of her length, and by no less than this, m, before it is
/// said: foot and rabbet may be measured to either side of a plank or a seam.
const SAME: (f64, f64) = (0.003, 0.03);
/// A sternpost's spots run on to a transom's foot that stands above them within this part of the way.
const RUNS_ON: f64 = 0.3;
/// A transom's head this far forward of its foot, m, is not a plumb one's rounding.
pub(crate) const FORWARD: f64 = 0.005;
/// Readings inside the side of the keel by so many of their tolerances; one alone is a slip of its own.
const INSIDE: (f64, usize) = (4.0, 2);
/// Stations are in step where this part of the spaces, and this many, are the usual one to within this part of it and
/// this, m.
const IN_STEP: (f64, usize, f64, f64) = (0.6, 4, 0.04, 0.03);
/// One is out of step by more than this part of a space; two spaces about it then still make two.
const OUT_OF_STEP: f64 = 0.1;

/// How far apart two places that are one may be given, m.
pub(crate) fn same_place(survey: &Survey) -> f64 {
    SAME.1.max(SAME.0 * survey.stations.iter().copied().fold(0.0, f64::max))
}

/// The rabbet's height on the transom, where its foot is told again: not on a bottom, which is wider than the keel there.
pub(crate) fn rabbet_at_foot(survey: &Survey) -> Option<usize> {
    let at_side = |column: usize| {
        let wide = |l: &&LineReading| {
            l.line == RefLine::Rabbet && l.axis == Axis::HalfBreadth && l.cell.column == column
        };
        survey.lines.iter().find(wide).is_none_or(|l| l.value < 2.0 * survey.half_siding)
    };
    survey.lines.iter().position(|l| {
        l.on_transom && l.line == RefLine::Rabbet && l.axis == Axis::Height && at_side(l.cell.column)
    })
}

/// The uppermost spot of a sternpost.
pub(crate) fn head_of_post(survey: &Survey) -> Option<&ProfileSpot> {
    survey.stern.iter().max_by(|a, b| a.z.total_cmp(&b.z))
}

fn of_transom(row: usize, column: usize) -> CellId {
    CellId { block: Block::Transom, row, column }
}

fn written(table: &Table, cell: CellId) -> &str {
    table.cell(cell).map_or("-", |r| r.written.as_str())
}

/// Where facts and readings cannot all be so; `survey` is the table's.
pub(crate) fn against_facts(table: &Table, survey: &Survey) -> Vec<Disagreement> {
    let same = same_place(survey);
    let mut found: Vec<Disagreement> =
        foot_and_rabbet(table, survey, same).into_iter().chain(foot_and_post(table, survey, same)).collect();
    found.extend(rakes_forward(table, survey));
    found.extend(inside_keel(table, survey));
    found.extend(out_of_step(table, survey));
    found
}

fn foot_and_rabbet(table: &Table, survey: &Survey, same: f64) -> Option<Disagreement> {
    let foot = survey.transom?.foot;
    let rabbet = survey.lines[rabbet_at_foot(survey)?];
    let cell = of_transom(0, 1);
    // A sternpost's head is the same place told a third time: two that agree are believed.
    let agrees = head_of_post(survey).filter(|head| (head.z - rabbet.value).abs() < 0.5 * same);
    if let Some(head) =
        agrees.filter(|_| (rabbet.value - foot.1).abs() > same && !survey.held.contains(&cell))
    {
        return Some(Disagreement {
            cells: vec![cell],
            text: format!(
                "the transom's foot is given {} up; the rabbet on the transom, {}, and the head of the sternpost, {}, agree that \
                 it is not: these two are the likelier",
                written(table, cell),
                written(table, rabbet.cell),
                written(table, CellId { row: 1, ..head.cell })
            ),
        });
    }
    ((rabbet.value - foot.1).abs() > same && !survey.held.contains(&cell)).then(|| Disagreement {
        cells: vec![cell, rabbet.cell],
        text: format!(
            "the transom's foot is given {} up, the rabbet on the transom {}: they are one place, so one of them is wrong",
            written(table, cell),
            written(table, rabbet.cell)
        ),
    })
}

/// A sternpost below a transom ends at its foot.
fn foot_and_post(table: &Table, survey: &Survey, same: f64) -> Option<Disagreement> {
    let foot = survey.transom?.foot;
    let mut spots: Vec<&ProfileSpot> = survey.stern.iter().collect();
    spots.sort_by(|a, b| b.z.total_cmp(&a.z));
    let (head, next) = (spots.first()?, spots.get(1)?);
    let over = foot.1 - head.z;
    let below = over < -same;
    // Where the two uppermost spots run to at the foot's height.
    let slope = (head.x - next.x) / (head.z - next.z).max(1e-3);
    let off = (head.x + slope * over.max(0.0) - foot.0).abs() > same + RUNS_ON * over.max(0.0);
    let cells = [of_transom(0, 0), of_transom(0, 1)];
    if !(below || off) || cells.iter().all(|cell| survey.held.contains(cell)) {
        return None;
    }
    let (told, of_post) = if below { (cells[1], 1) } else { (cells[0], 0) };
    let spot = CellId { row: of_post, ..head.cell };
    let axis = if below { "up" } else { "from the stem" };
    Some(Disagreement {
        cells: vec![told, spot],
        text: format!(
            "the transom's foot is given {} {axis}, the sternpost that ends there {} at its head: one of them is wrong",
            written(table, told),
            written(table, spot)
        ),
    })
}

fn rakes_forward(table: &Table, survey: &Survey) -> Option<Disagreement> {
    let transom = survey.transom?;
    let cells = [of_transom(0, 0), of_transom(1, 0)];
    let forward = transom.head.0 < transom.foot.0 - FORWARD;
    (forward && !cells.iter().any(|cell| survey.held.contains(cell))).then(|| Disagreement {
        cells: cells.to_vec(),
        text: format!(
            "the transom's head is given {} from the stem and its foot {}: it would rake forward, as hardly any does; if it \
             does, hold one of them (!)",
            written(table, cells[1]),
            written(table, cells[0])
        ),
    })
}

/// Half-breadths less than the half-siding, where no row tells how wide the keel is.
fn inside_keel(table: &Table, survey: &Survey) -> Option<Disagreement> {
    let told = |l: &scrieve_offsets::LineReading| l.line == RefLine::Rabbet && l.axis == Axis::HalfBreadth;
    if survey.lines.iter().any(told) {
        return None;
    }
    let side = survey.half_siding;
    let rows = survey.spots.iter().filter(|s| s.cell.block == Block::HalfBreadths);
    let lines = survey.lines.iter().filter(|l| l.axis == Axis::HalfBreadth);
    let readings =
        rows.map(|s| (s.y, s.tolerance, s.cell)).chain(lines.map(|l| (l.value, l.tolerance, l.cell)));
    let inside: Vec<CellId> = readings.filter(|r| r.0 < side - INSIDE.0 * r.1).map(|r| r.2).collect();
    let thin = table.facts.planking.map(|p| p.metres()).filter(|&thick| side < thick && side > 0.0);
    let [first, second, ..] = inside[..] else {
        return thin.map(|thick| Disagreement {
            cells: Vec::new(),
            text: format!(
                "half the siding of the backbone is given as {:.0} mm and the planking as {:.0} mm: no rabbet could be cut \
                 in it, so one of them is wrong",
                1e3 * side,
                1e3 * thick
            ),
        });
    };
    let name = |cell: CellId| {
        let (station, row) = table.describe(cell);
        format!("{row} at {station}, {}", written(table, cell))
    };
    debug_assert!(inside.len() >= INSIDE.1);
    Some(Disagreement {
        text: format!(
            "{} half-breadths are less than half the siding of the backbone, {:.0} mm, such as {} and {}: it may be the whole \
             siding that was given",
            inside.len(),
            1e3 * side,
            name(first),
            name(second)
        ),
        cells: inside,
    })
}

/// A station that stands between its neighbours elsewhere than the rest are set out.
fn out_of_step(table: &Table, survey: &Survey) -> Vec<Disagreement> {
    let placed = table.stations.iter().enumerate().filter(|(_, s)| s.from_stem.is_some());
    let mut at: Vec<(f64, usize)> =
        placed.filter_map(|(column, _)| Some((*survey.stations.get(column)?, column))).collect();
    at.sort_by(|a, b| a.0.total_cmp(&b.0));
    let spaces: Vec<f64> = at.windows(2).map(|w| w[1].0 - w[0].0).collect();
    let mut found = Vec::new();
    for i in 1..spaces.len() {
        let mut rest: Vec<f64> =
            spaces.iter().enumerate().filter(|(k, _)| *k != i && *k + 1 != i).map(|(_, s)| *s).collect();
        rest.sort_by(f64::total_cmp);
        let Some(&usual) = rest.get(rest.len() / 2) else { continue };
        let near = IN_STEP.3.max(IN_STEP.2 * usual);
        let in_step = rest.iter().filter(|s| (*s - usual).abs() <= near).count();
        let (before, after, column) = (spaces[i - 1], spaces[i], at[i].1);
        let out = before - usual;
        let cell = CellId { block: Block::Stations, row: 0, column };
        if in_step < IN_STEP.1
            || (in_step as f64) < IN_STEP.0 * rest.len() as f64
            || (before + after - 2.0 * usual).abs() > 2.0 * near
            || out.abs() < (OUT_OF_STEP * usual).max(2.0 * near)
            || survey.held.contains(&cell)
        {
            continue;
        }
        found.push(Disagreement {
            cells: vec![cell],
            text: format!(
                "station {} is given {} from the stem: {:.3} m {} of where the others, {usual:.3} m apart, put it; if it \
                 stands there, hold it (!)",
                table.describe(cell).0,
                written(table, cell),
                out.abs(),
                if out > 0.0 { "abaft" } else { "forward" }
            ),
        });
    }
    found
}
