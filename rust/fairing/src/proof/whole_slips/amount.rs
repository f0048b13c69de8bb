//! By how much: the distance of a heading or a station, the datum that rows are measured from, how far a plan is drawn
//! out. The evidence of the boat against the amount is near a parabola in its log, whose top and width say what the
//! readings tell of it. People slip by round amounts, or by one that the table has a name for: such a one is taken where
//! it explains the readings as well, and else the amount is told no finer than it is known.

use scrieve_notation::{Length, Reading, Units, parse_cell};
use scrieve_offsets::{Block, LineKind, Survey, Table, Written};

use super::kinds::{RATIOS, WholeSlip, diagonal_of, is_of};
use super::leans::abaft;
use crate::Options;
use crate::evidence::Out;
use crate::evidence::settle;
use crate::fit::Premise;
use crate::slips::headings;

/// Round amounts are asked so many standard deviations about what the readings tell.
const REACH: f64 = 2.0;
/// The standard deviation is too small where the fit does not follow a boat, and it cannot know that.
const WIDER: f64 = 2.0;
/// More than paper shrinks or stretches by, as a part; beyond it scales are told apart by no less than this.
const PAPER: f64 = 0.05;
const SCALE_SD: f64 = 0.004;
/// Another amount is a rival that is no less natural than by so much, and explains the readings within so much, as logs.
const RIVAL: (f64, f64) = (3.0, 8.0);
/// What is believed of an amount that is none of those, as a log.
const FITTED: f64 = -6.0;
/// Steps towards the top.
const ROUNDS: usize = 3;
/// The first step: part of the boat's length, or of the whole for what is drawn out.
const STEP: f64 = 6e-4;

/// A slip with the amount it is most likely by.
pub(crate) struct Exactly {
    pub slip: WholeSlip,
    /// How far off that may be (twice the standard deviation), m as read, or as a part; none where it is round.
    pub within: Option<f64>,
    /// Another amount that does about as well.
    pub rival: Option<WholeSlip>,
}

/// Data that a table has a name for, as read, m: waterlines, the load waterline and the rabbet's least height above the base
/// line; the half-siding, the siding and the planking out from the centreline.
pub(crate) fn data_named(table: &Table, heights: bool) -> Vec<Length> {
    let facts = &table.facts;
    let (_, across, up) = facts.factors();
    let read = |l: Length, factor: f64| Length::from_metres(l.metres() / factor);
    let mut named: Vec<Length> = Vec::new();
    if heights {
        named.extend(facts.load_waterline);
        named.extend(table.rows.iter().filter_map(|r| match r.line {
            LineKind::Waterline(at) => Some(at),
            _ => None,
        }));
        let keel = table
            .rows
            .iter()
            .filter(|r| r.block == Block::Heights && matches!(r.line, LineKind::Rabbet | LineKind::Keel));
        named.extend(keel.filter_map(|r| r.cells.iter().flatten().map(|c| c.length).min()));
        named.extend(facts.planking.and_then(|l| read(l, up)));
    } else {
        let siding = facts.half_siding.and_then(|l| read(l, across));
        named.extend(siding);
        named.extend(siding.and_then(|l| l.checked_mul(2)));
        named.extend(facts.planking.and_then(|l| read(l, across)));
    }
    named.retain(|l| *l > Length::ZERO);
    named.sort();
    named.dedup();
    named
}

/// Round steps of a table's unit, and what is believed of an amount that is a whole number of them.
fn round_steps(table: &Table) -> [(Length, f64); 4] {
    let mm = |n: i64| Length::from_metres(n as f64 / 1e3).unwrap_or_default();
    let inches = |n: i64| Length::INCH.checked_mul(n).unwrap_or_default();
    match table.facts.dialect.units {
        Units::FeetInchesEighths | Units::Inches | Units::Feet => {
            [(inches(12), -1.0), (inches(6), -2.0), (inches(1), -3.0), (inches(1).rounded_half(), -4.5)]
        }
        _ => [(mm(100), -1.0), (mm(50), -2.0), (mm(10), -3.0), (mm(5), -4.5)],
    }
}

/// Half a length.
trait Half {
    fn rounded_half(self) -> Length;
}

impl Half for Length {
    fn rounded_half(self) -> Length {
        Length::from_metres(self.metres() / 2.0).unwrap_or_default()
    }
}

fn hand(table: &Table) -> Length {
    table.hand().unwrap_or(Length::EIGHTH)
}

/// Amounts near one that a first look calls for: to the place the table is read to, and the nearest round one.
pub(crate) fn data_near(table: &Table, about: f64) -> Vec<Length> {
    let Some(about) = Length::from_metres(about) else { return Vec::new() };
    let steps = round_steps(table);
    vec![about.rounded(hand(table)), about.rounded(steps[0].0), about.rounded(steps[2].0)]
}

/// The amount that a slip is by, where it has one: what the readings of the boat, `survey` with the slip put right as
/// it is, make of it.
pub(crate) fn exactly(
    table: &Table,
    slip: &WholeSlip,
    survey: &Survey,
    options: &Options,
    premise: Premise,
) -> Option<Exactly> {
    let (given, factor) = amount(table, slip)?;
    let (off, sd) = top(table, slip, survey, options, premise)?;
    // As read.
    let (best, sd) = (given + off / factor, WIDER * sd / factor);
    let place = match slip {
        WholeSlip::Shrunk { .. } => 1e-3,
        _ => hand(table).metres(),
    };
    // Paper does not shrink by so much, but a scale is misread by it.
    let scale = matches!(slip, WholeSlip::Shrunk { .. }) && (best - 1.0).abs() > PAPER;
    let sd = sd.max(if scale { SCALE_SD * best } else { 0.5 * place });
    let mut round: Vec<(WholeSlip, f64, f64)> = round_ones(table, slip, best, REACH * sd);
    let believed: Vec<(f64, f64)> = round.iter().map(|r| (r.2, r.1)).collect();
    for r in &mut round {
        r.1 -= 0.5 * ((r.2 - best) / sd).powi(2);
    }
    round.sort_by(|a, b| b.1.total_cmp(&a.1));
    if let Some((slip, score, at)) = round.first().cloned()
        && score > FITTED
    {
        let natural = |at: f64| {
            let of = believed.iter().filter(|b| (b.0 - at).abs() < 1e-9).map(|b| b.1);
            of.fold(f64::MIN, f64::max)
        };
        // Headings and stations are laid out on whole inches: beside one of those an eighth more or less is none.
        let round_as = |at: f64| {
            let at = Length::from_metres(at);
            let of = |(step, weight): (Length, f64)| (at == at.map(|l| l.rounded(step))).then_some(weight);
            round_steps(table).into_iter().filter_map(of).fold(FITTED, f64::max)
        };
        let laid_out = matches!(
            slip,
            WholeSlip::Heading { .. } | WholeSlip::Station { .. } | WholeSlip::Diagonal { .. }
        );
        let is_rival = |r: &&(WholeSlip, f64, f64)| {
            (r.2 - at).abs() > 1e-9
                && natural(r.2) > natural(at) - RIVAL.0
                && r.1 > score - RIVAL.1
                && !(laid_out && round_as(r.2) < round_as(at))
        };
        let rival = round.iter().find(is_rival).map(|r| r.0.clone());
        return Some(Exactly { slip, within: None, rival });
    }
    let slip = fitted(table, slip, best, sd)?;
    Some(Exactly { slip, within: Some((2.0 * sd).max(place)), rival: None })
}

/// The amount of a slip as it is, m as read or a factor, and what one as read is at full size.
fn amount(table: &Table, slip: &WholeSlip) -> Option<(f64, f64)> {
    let (along, across, up) = table.facts.factors();
    let metres = |text: &str| Some(parse_cell(text, &table.facts.dialect).ok()??.length.metres());
    match slip {
        WholeSlip::Heading { row, to } => {
            let waterline = matches!(table.rows[*row].line, LineKind::Waterline(_));
            Some((metres(to)?, if waterline { up } else { across }))
        }
        WholeSlip::Diagonal { to, .. } => Some((metres(to)?, up)),
        WholeSlip::Station { to, .. } => Some((metres(to)?, along)),
        WholeSlip::Datum { rows, by, .. } => {
            Some((by.metres(), if table.rows[rows[0]].block == Block::Heights { up } else { across }))
        }
        WholeSlip::ColumnDatum { block, by, .. } => {
            Some((by.metres(), if *block == Some(Block::Heights) { up } else { across }))
        }
        WholeSlip::Gap { by, .. } => Some((by.metres(), along)),
        WholeSlip::Shrunk { factor, .. } => Some((*factor, 1.0 / factor)),
        _ => None,
    }
}

/// Amounts that people slip by, near one that is best; each with the log of what is believed of it, and itself.
fn round_ones(table: &Table, slip: &WholeSlip, best: f64, within: f64) -> Vec<(WholeSlip, f64, f64)> {
    let near = |m: f64| (m - best).abs() < within;
    let steps = || {
        round_steps(table).into_iter().filter_map(move |(step, weight)| {
            let length = Length::from_metres(best)?.rounded(step);
            (length != Length::ZERO && near(length.metres())).then_some((length, weight))
        })
    };
    match slip {
        WholeSlip::Datum { rows, down, .. } => {
            let heights = table.rows[rows[0]].block == Block::Heights;
            let named = data_named(table, heights).into_iter().flat_map(|l| [l, -l]).map(|l| (l, 0.0));
            let all = named.filter(|(l, _)| near(l.metres())).chain(steps());
            let of = |by: Length| WholeSlip::Datum { rows: rows.clone(), by, down: *down };
            all.map(|(by, weight)| (of(by), weight, by.metres())).collect()
        }
        WholeSlip::ColumnDatum { block, column, .. } => {
            let of = |by: Length| WholeSlip::ColumnDatum { block: *block, column: *column, by };
            steps().map(|(by, weight)| (of(by), weight, by.metres())).collect()
        }
        WholeSlip::Gap { column, .. } => {
            let even = even_spaces(table, *column).into_iter().filter(|l| near(l.metres())).map(|l| (l, 0.0));
            let of = |by: Length| WholeSlip::Gap { column: *column, by };
            even.chain(steps()).map(|(by, weight)| (of(by), weight, by.metres())).collect()
        }
        WholeSlip::Heading { row, .. } => {
            let label: String =
                table.rows[*row].label.split_whitespace().skip(1).collect::<Vec<_>>().join(" ");
            let Ok(Some(reading)) = parse_cell(&label, &table.facts.dialect) else { return Vec::new() };
            let reading = reading.into_reading();
            let kind = |line: &LineKind| match (&table.rows[*row].line, line) {
                (LineKind::Waterline(_), LineKind::Waterline(at))
                | (LineKind::Buttock(_), LineKind::Buttock(at)) => Some(*at),
                _ => None,
            };
            let others = table.rows.iter().enumerate().filter(|(i, _)| i != row);
            let mut places: Vec<Length> = others.filter_map(|(_, r)| kind(&r.line)).collect();
            places.sort();
            places.dedup();
            let mut found = written(table, &reading, best, within, spaced(&places));
            found.retain(|(length, ..)| !places.contains(length));
            let of = |to: String| WholeSlip::Heading { row: *row, to };
            found.into_iter().map(|(at, to, weight)| (of(to), weight, at.metres())).collect()
        }
        WholeSlip::Diagonal { row, .. } => {
            let Some(reading) = centreline(table, *row) else { return Vec::new() };
            let found = written(table, &reading, best, within, Vec::new());
            let of = |to: String| WholeSlip::Diagonal { row: *row, to };
            found.into_iter().map(|(at, to, weight)| (of(to), weight, at.metres())).collect()
        }
        WholeSlip::Station { column, .. } => {
            let Some(reading) = table.stations[*column].from_stem.as_ref() else { return Vec::new() };
            let at = |i: usize| table.stations.get(i)?.from_stem.as_ref().map(|r| r.length);
            let beside: Vec<Length> =
                (0..table.stations.len()).filter(|i| i != column).filter_map(at).collect();
            let found = written(table, reading, best, within, spaced(&beside));
            let of = |to: String| WholeSlip::Station { column: *column, to };
            found.into_iter().map(|(at, to, weight)| (of(to), weight, at.metres())).collect()
        }
        WholeSlip::Shrunk { block, .. } => {
            let ratios = RATIOS.into_iter().map(|(n, d)| f64::from(d) / f64::from(n));
            ratios
                .filter(|f| near(*f))
                .map(|factor| (WholeSlip::Shrunk { block: *block, factor }, -2.0, factor))
                .collect()
        }
        _ => Vec::new(),
    }
}

/// The height at which a row's diagonal leaves the centreline, as it is written.
pub(crate) fn centreline(table: &Table, row: usize) -> Option<Reading> {
    let text = table.written_at(Written::Diagonal(diagonal_of(table, row)?))?;
    Some(parse_cell(text, &table.facts.dialect).ok()??.into_reading())
}

/// By how much the space before a station would have to be greater to be one of the others.
pub(crate) fn even_spaces(table: &Table, column: usize) -> Vec<Length> {
    let at: Vec<Option<Length>> =
        table.stations.iter().map(|s| s.from_stem.as_ref().map(|r| r.length)).collect();
    let space =
        |i: usize| at.get(i).copied().flatten()?.checked_sub(at.get(i.checked_sub(1)?).copied().flatten()?);
    let Some(own) = space(column) else { return Vec::new() };
    let others = (1..at.len()).filter(|&i| i != column).filter_map(space);
    let mut by: Vec<Length> = others.filter_map(|other| other.checked_sub(own)).collect();
    by.retain(|l| *l != Length::ZERO);
    by.sort();
    by.dedup();
    by
}

/// Where one more would stand among places evenly spaced: midway between two, and one usual space beyond either end.
fn spaced(places: &[Length]) -> Vec<Length> {
    let mut spaces: Vec<Length> = places.windows(2).filter_map(|w| w[1].checked_sub(w[0])).collect();
    spaces.sort();
    let Some(&usual) = spaces.get(spaces.len() / 2) else { return Vec::new() };
    let between = places.windows(2).filter_map(|w| w[0].checked_add(w[1].checked_sub(w[0])?.rounded_half()));
    let beyond = places.iter().flat_map(|p| [p.checked_sub(usual), p.checked_add(usual)]).flatten();
    between.chain(beyond).collect()
}

/// Lengths near one that is best in the hand of a reading, with what is believed of each.
fn written(
    table: &Table,
    reading: &Reading,
    best: f64,
    within: f64,
    even: Vec<Length>,
) -> Vec<(Length, String, f64)> {
    let has_unit = |text: &str| text.contains(|c: char| c.is_ascii_alphabetic());
    let own = has_unit(&reading.written);
    let parsed = |text: &str| Some(parse_cell(text, &table.facts.dialect).ok()??.length);
    let steps = round_steps(table);
    let found = headings(table, reading, best, within).into_iter().filter(|(to, _)| own || !has_unit(to));
    found
        .filter_map(|(to, weight)| {
            let length = parsed(&to)?;
            let whole = |step: Length| length.rounded(step) == length;
            let round = steps.iter().filter(|s| whole(s.0)).map(|s| s.1 - 0.5).fold(f64::MIN, f64::max);
            let regular = if even.contains(&length) { 0.0 } else { f64::MIN };
            let weight = weight.ln().max(round).max(regular);
            Some((length, to, weight))
        })
        .collect()
}

/// The slip by an amount that is none of those, no finer than it is known.
fn fitted(table: &Table, slip: &WholeSlip, best: f64, sd: f64) -> Option<WholeSlip> {
    let place = hand(table);
    // The place, or the round step that is no finer than the amount is known.
    let mut steps: Vec<Length> = round_steps(table).into_iter().map(|s| s.0).filter(|s| *s > place).collect();
    steps.sort();
    let step =
        std::iter::once(place).chain(steps).take_while(|s| s.metres() < 1.5 * sd).last().unwrap_or(place);
    let length = Length::from_metres(best)?.rounded(step);
    let in_hand = |reading: &Reading| {
        let found = headings(table, reading, length.metres(), 0.6 * step.metres());
        let near = found.into_iter().filter(|(to, _)| {
            parse_cell(to, &table.facts.dialect).is_ok_and(|r| r.is_some_and(|r| r.length == length))
        });
        near.map(|f| f.0).next()
    };
    match slip {
        WholeSlip::Datum { rows, down, .. } => {
            (length != Length::ZERO).then(|| WholeSlip::Datum { rows: rows.clone(), by: length, down: *down })
        }
        WholeSlip::ColumnDatum { block, column, .. } => (length != Length::ZERO)
            .then_some(WholeSlip::ColumnDatum { block: *block, column: *column, by: length }),
        WholeSlip::Gap { column, .. } => {
            (length != Length::ZERO).then_some(WholeSlip::Gap { column: *column, by: length })
        }
        WholeSlip::Heading { row, .. } => {
            let label: String =
                table.rows[*row].label.split_whitespace().skip(1).collect::<Vec<_>>().join(" ");
            let reading = parse_cell(&label, &table.facts.dialect).ok()??.into_reading();
            Some(WholeSlip::Heading { row: *row, to: in_hand(&reading)? })
        }
        WholeSlip::Diagonal { row, .. } => {
            Some(WholeSlip::Diagonal { row: *row, to: in_hand(&centreline(table, *row)?)? })
        }
        WholeSlip::Station { column, .. } => {
            let reading = table.stations[*column].from_stem.as_ref()?;
            Some(WholeSlip::Station { column: *column, to: in_hand(reading)? })
        }
        WholeSlip::Shrunk { block, .. } => {
            let step = if sd > 0.004 { 5e-3 } else { 1e-3 };
            // Of what they are, in so many parts of a hundred.
            let part = ((1.0 / best) / step).round() * step;
            Some(WholeSlip::Shrunk { block: *block, factor: 1.0 / part })
        }
        _ => None,
    }
}

/// How far the top of the evidence lies from the amount as it is, and its standard deviation, m at full size (of what is
/// drawn out, as a part).
fn top(
    table: &Table,
    slip: &WholeSlip,
    survey: &Survey,
    options: &Options,
    premise: Premise,
) -> Option<(f64, f64)> {
    let length = survey.stations.iter().fold(1e-3f64, |a, b| a.max(*b));
    let mut step = if matches!(slip, WholeSlip::Shrunk { .. }) { 5e-3 } else { STEP * length };
    // Readings that are plain slips of their own have no say in it.
    let first = settle(survey, options, &Out::new(), premise, None).ok()?;
    let out: Out = first.without_plain().1.into_iter().collect();
    let start = if out.is_empty() {
        first.evidence
    } else {
        settle(survey, options, &out, premise, None).ok()?.evidence
    };
    let of = |off: f64| {
        let moved = nudged(survey, table, slip, off);
        settle(&moved, options, &out, premise, None).ok().map(|s| s.evidence)
    };
    let (mut at, mut here) = (0.0, start);
    let mut told = None;
    for _ in 0..ROUNDS {
        let (below, above) = (of(at - step)?, of(at + step)?);
        let bend = (below - 2.0 * here + above) / step.powi(2);
        let slope = (above - below) / (2.0 * step);
        if bend >= 0.0 {
            // No top near: on towards the better side.
            (at, here) = if above > below { (at + step, above) } else { (at - step, below) };
            step *= 2.0;
            continue;
        }
        let sd = 1.0 / (-bend).sqrt();
        let off = (-slope / bend).clamp(-4.0 * step, 4.0 * step);
        told = Some((at + off, sd));
        if off.abs() < 1.5 * step && sd > 0.4 * step {
            break;
        }
        at += off;
        here = of(at)?;
        step = sd.clamp(0.25 * step, 2.0 * step);
    }
    told
}

/// A survey with the amount of a slip changed by so much, m at full size (of what is drawn out, as a part).
fn nudged(survey: &Survey, table: &Table, slip: &WholeSlip, off: f64) -> Survey {
    let mut now = survey.clone();
    let in_rows = |rows: &[usize], cell: scrieve_offsets::CellId| {
        rows.contains(&cell.row) && table.rows.get(cell.row).is_some_and(|r| r.block == cell.block)
    };
    match slip {
        WholeSlip::Datum { rows, .. } => {
            for l in now.lines.iter_mut().filter(|l| in_rows(rows, l.cell)) {
                l.value += off;
            }
            for s in now.spots.iter_mut().filter(|s| in_rows(rows, s.cell)) {
                (s.y, s.z) = (s.y + off * s.along.0, s.z + off * s.along.1);
            }
        }
        WholeSlip::ColumnDatum { block, column, .. } => {
            let here = |cell: scrieve_offsets::CellId| cell.column == *column && is_of(*block, cell.block);
            now.lines.iter_mut().filter(|l| here(l.cell)).for_each(|l| l.value += off);
            for s in now.spots.iter_mut().filter(|s| here(s.cell)) {
                (s.y, s.z) = (s.y + off * s.along.0, s.z + off * s.along.1);
            }
        }
        WholeSlip::Gap { column, .. } => now = abaft(survey, *column, off),
        WholeSlip::Heading { row, .. } => {
            for s in now.spots.iter_mut().filter(|s| in_rows(&[*row], s.cell)) {
                if s.along.0 > 0.5 { s.z += off } else { s.y += off }
            }
        }
        WholeSlip::Diagonal { row, to } => {
            let Some(d) = diagonal_of(table, *row).and_then(|i| table.diagonals.get(i)) else { return now };
            let Ok(Some(from)) = parse_cell(to, &table.facts.dialect) else { return now };
            let (_, across, up) = table.facts.factors();
            let from = from.length.metres() * up;
            let (out, high) = (d.through_half_breadth.metres() * across, d.through_height.metres() * up);
            let drop = high - from - off;
            let all = out.hypot(drop).max(1e-9);
            for s in now.spots.iter_mut().filter(|s| in_rows(&[*row], s.cell)) {
                let read = s.y.hypot(s.z - from);
                s.along = (out / all, drop / all);
                (s.y, s.z) = (read * s.along.0, from + off + read * s.along.1);
            }
        }
        WholeSlip::Station { column, .. } => {
            let here = |cell: scrieve_offsets::CellId| {
                cell.column == *column
                    && matches!(cell.block, Block::Heights | Block::HalfBreadths | Block::Diagonals)
            };
            now.stations[*column] += off;
            now.lines.iter_mut().filter(|l| here(l.cell)).for_each(|l| l.x += off);
            now.spots.iter_mut().filter(|s| here(s.cell)).for_each(|s| s.x += off);
        }
        WholeSlip::Shrunk { block, .. } => {
            for l in now.lines.iter_mut().filter(|l| l.cell.block == *block) {
                l.value *= 1.0 + off;
            }
            for s in now.spots.iter_mut().filter(|s| s.cell.block == *block) {
                let read = s.y * s.along.0 + s.z * s.along.1;
                (s.y, s.z) = (s.y + off * read * s.along.0, s.z + off * read * s.along.1);
            }
        }
        _ => {}
    }
    now
}
