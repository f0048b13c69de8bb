//! Whether a slip of the whole is put right, or only named. Readings are never changed wrongly: what is put right must
//! leave nothing in doubt that was not, and nothing else may explain the readings about as well.

use scrieve_offsets::{Axis, Block, CellId, LineKind, RefLine, Survey, Table, Written};

use scrieve_notation::Length;

use super::FoundSlip;
use super::amount::even_spaces;
use super::kinds::{Mistaken, WholeSlip, diagonal_of};
use crate::consistency::disagreements;

/// An amount told no finer than so many of the table's places is not written into it.
const PLACES: f64 = 3.0;
/// Paper draws out by no more than this, as a part; beyond it only a scale's ratio is believed.
const PAPER: f64 = 0.05;
/// A head of stem or transom bears a datum out that is this part of it off, or where the transom's tells it this, or so many
/// places.
const OF_HEAD: (f64, f64) = (0.1, 0.4);
const HEAD_PLACES: f64 = 2.0;
/// What leans is told to this part of itself.
pub(super) const ABOUT: f64 = 0.1;
/// The topside runs out nearly level that goes so much farther out than up, and so many times what it does below.
const LEVEL: (f64, f64) = (2.5, 3.0);
/// And the sheer stands at least so much outside of the row below it, as a part.
const OUTSIDE: f64 = 0.25;
/// At this part of the stations.
const MOST_OF: f64 = 0.7;
/// No boat is broader than this part of her length.
const BROADEST: f64 = 0.6;

/// What is asked of a slip put right.
pub(super) struct Asked<'a> {
    pub table: &'a Table,
    pub slip: &'a WholeSlip,
    pub edits: &'a [(Written, String)],
    pub right: &'a Table,
    pub survey: &'a Survey,
    /// Queried before and after.
    pub before: &'a [CellId],
    pub after: &'a [CellId],
    pub within: Option<f64>,
}

impl Asked<'_> {
    /// Why it is not put right.
    pub fn why_not(&self) -> Option<String> {
        self.amount()
            .or_else(|| self.edge())
            .or_else(|| self.space())
            .or_else(|| self.left())
            .or_else(|| self.contradicted())
    }

    fn place(&self) -> f64 {
        self.table.hand().unwrap_or(Length::EIGHTH).metres()
    }

    fn amount(&self) -> Option<String> {
        let within = self.within?;
        let unsure = match self.slip {
            WholeSlip::Shrunk { factor, .. } => within > 0.005 || (factor - 1.0).abs() > PAPER,
            _ => within > PLACES * self.place(),
        };
        unsure.then(|| "the rest of the boat does not tell by how much".to_owned())
    }

    /// Sheer, rabbet and keel bound the surface: no row crosses them, and only the heads tell a constant of them.
    fn edge(&self) -> Option<String> {
        let rows = self.slip.rows();
        let [row] = rows[..] else { return None };
        let line = &self.table.rows[row].line;
        if !matches!(line, LineKind::Sheer | LineKind::Rabbet | LineKind::Keel) {
            return None;
        }
        let none = Some("no other row tells it by how much".to_owned());
        match self.slip {
            WholeSlip::Unit { unit: Mistaken::Times(n, d, _), .. } => {
                let tens = |n: i64| n == 1 || n % 10 == 0 && n % 254 != 0 && n <= 100 || n == 12;
                if tens(*n) && tens(*d) { None } else { none }
            }
            WholeSlip::Datum { by, .. } if *line == LineKind::Sheer => {
                let heights = self.table.rows[row].block == Block::Heights;
                let off = if heights { heads(self.survey) } else { Vec::new() };
                // A transom's head tells it to the place; a sheer run on to a stem's only about.
                let told = heights && told_by_transom(self.table, self.survey, Length::ZERO);
                let part = if told { OF_HEAD.1 } else { OF_HEAD.0 };
                let near = (part * by.metres().abs()).max(HEAD_PLACES * self.place());
                match off.iter().find(|o| o.abs() > near) {
                    Some(_) => Some("the heads of stem and transom do not bear it out".to_owned()),
                    None if off.is_empty() => none,
                    None => None,
                }
            }
            WholeSlip::Datum { .. } => none,
            _ => None,
        }
    }

    /// One space is put right only to what all others are.
    fn space(&self) -> Option<String> {
        let WholeSlip::Gap { column, by } = self.slip else { return None };
        let even = even_spaces(self.table, *column);
        (even[..] != [*by]).then(|| "the other spaces do not tell by how much".to_owned())
    }

    /// What is queried once it is put right.
    fn left(&self) -> Option<String> {
        let touched = |c: &CellId| {
            self.edits.iter().any(|(at, _)| match at {
                Written::Cell(cell) => cell == c,
                Written::Diagonal(i) => {
                    c.block == Block::Diagonals && diagonal_of(self.table, c.row) == Some(*i)
                }
                Written::Label(row) => c.row == *row && c.block == self.table.rows[*row].block,
            })
        };
        let was = |c: &CellId| self.before.contains(&self.slip.came_from(self.table, *c));
        let cell = self.after.iter().find(|c| touched(c) || !was(c))?;
        let (station, row) = self.right.describe(*cell);
        Some(format!("{row} at station {station} would be queried with it put right"))
    }

    fn contradicted(&self) -> Option<String> {
        let all = |t: &Table| {
            let survey = t.survey_unsifted().map(|s| s.0);
            survey.map_or(Vec::new(), |s| disagreements(t, &s))
        };
        // Rows may be called otherwise now: what spoke against each other before is known by its cells.
        let before: Vec<Vec<CellId>> = all(self.table).into_iter().map(|d| d.cells).collect();
        let known = |cells: &[CellId]| {
            let was: Vec<CellId> = cells.iter().map(|c| self.slip.came_from(self.table, *c)).collect();
            before.iter().any(|b| was.iter().all(|c| b.contains(c)))
        };
        let new = all(self.right).into_iter().find(|d| !known(&d.cells))?.text;
        Some(format!("the table would stand against itself: {new}"))
    }
}

/// Whether the sheer read on the transom, moved by so much as read, comes to the transom's head, to the place.
pub(super) fn told_by_transom(table: &Table, survey: &Survey, by: Length) -> bool {
    let is = |l: &&scrieve_offsets::LineReading| {
        l.line == RefLine::Sheer && l.axis == Axis::Height && l.on_transom
    };
    let place = table.hand().unwrap_or(Length::EIGHTH).metres();
    let up = table.facts.factors().2;
    let head = survey.transom.map(|t| t.head.1);
    let off = survey.lines.iter().find(is).zip(head).map(|(l, head)| l.value - head + up * by.metres());
    off.is_some_and(|off| off.abs() < 1.1 * place * up)
}

/// How far the sheer's height, run on to the heads of stem and sternpost, and on the transom, lies off each, m.
fn heads(survey: &Survey) -> Vec<f64> {
    let is = |l: &&scrieve_offsets::LineReading| l.line == RefLine::Sheer && l.axis == Axis::Height;
    let mut sheer: Vec<(f64, f64)> = survey.lines.iter().filter(is).map(|l| (l.x, l.value)).collect();
    sheer.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (Some(&first), Some(&last)) = (sheer.first(), sheer.last()) else { return Vec::new() };
    let top = |spots: &[scrieve_offsets::ProfileSpot]| {
        spots.iter().max_by(|a, b| a.z.total_cmp(&b.z)).map(|s| (s.x, s.z))
    };
    let on = |ends: &[(f64, f64)], x: f64| {
        // A parabola through three: the sheer rises towards its ends.
        let [a, b, c] = [ends[0], ends[1], ends[2]];
        let of = |p: (f64, f64), q: (f64, f64), r: (f64, f64)| {
            p.1 * (x - q.0) * (x - r.0) / ((p.0 - q.0) * (p.0 - r.0))
        };
        of(a, b, c) + of(b, a, c) + of(c, a, b)
    };
    if sheer.len() < 3 {
        return Vec::new();
    }
    let stem = top(&survey.stem).filter(|h| h.0 <= first.0).map(|h| on(&sheer[..3], h.0) - h.1);
    let aft = top(&survey.stern).filter(|h| h.0 >= last.0 && survey.transom.is_none());
    let stern = aft.map(|h| on(&sheer[sheer.len() - 3..], h.0) - h.1);
    let on_transom = |l: &&scrieve_offsets::LineReading| is(l) && l.on_transom;
    let transom = survey.transom.zip(survey.lines.iter().find(on_transom)).map(|(t, l)| l.value - t.head.1);
    stem.into_iter().chain(stern).chain(transom).filter(|o| o.is_finite()).collect()
}

/// A sheer that stands far outside of all that is below it, or a boat broader than any: told by the shape alone, and so
/// named, and never put right.
pub(super) fn far_out(table: &Table, survey: &Survey) -> Option<FoundSlip> {
    let line = |axis: Axis, column: usize| {
        let of = |l: &&scrieve_offsets::LineReading| {
            l.line == RefLine::Sheer && l.axis == axis && l.cell.column == column
        };
        survey.lines.iter().find(of).map(|l| (l.value, l.cell))
    };
    let (mut asked, mut level, mut ratios, mut row, mut breadths) = (0, 0, Vec::new(), None, Vec::new());
    for column in 0..survey.stations.len() {
        let Some((out, cell)) = line(Axis::HalfBreadth, column) else { continue };
        breadths.push(2.0 * out);
        row = Some(cell.row);
        let Some((up, _)) = line(Axis::Height, column) else { continue };
        let mut spots: Vec<(f64, f64)> =
            survey.spots.iter().filter(|s| s.cell.column == column && s.z < up).map(|s| (s.y, s.z)).collect();
        spots.sort_by(|a, b| b.1.total_cmp(&a.1));
        let [top, rest @ ..] = &spots[..] else { continue };
        // The next that is not just beside it.
        let Some(below) = rest.iter().find(|s| top.1 - s.1 > 0.3 * (up - top.1)) else { continue };
        asked += 1;
        let slope = (out - top.0) / (up - top.1);
        let usual = ((top.0 - below.0) / (top.1 - below.1)).max(0.0);
        if slope > LEVEL.0 && slope > LEVEL.1 * usual && out - top.0 > OUTSIDE * top.0 {
            level += 1;
            ratios.push(out / top.0);
        }
    }
    let row = row?;
    let length = survey.stations.iter().fold(0.0f64, |a, b| a.max(*b));
    let named = |slip: WholeSlip, text: String, why: &str| FoundSlip {
        offer: super::not_put_right(why),
        unsure: Some(why.to_owned()),
        slip,
        text,
        edits: Vec::new(),
        table: table.clone(),
        explains: Vec::new(),
        gain: 0.0,
        within: None,
    };
    if asked > 2 && f64::from(level) > MOST_OF * f64::from(asked) {
        let slip = WholeSlip::FarOut { row };
        ratios.sort_by(f64::total_cmp);
        let twice = (1.5..2.6).contains(&ratios[ratios.len() / 2]);
        let perhaps = if twice { "; are its readings whole breadths?" } else { "" };
        let text = format!("{}{perhaps}", slip.text(table, None));
        return Some(named(slip, text, "no other row tells how broad she is at the sheer"));
    }
    // One or two readings alone are slips of their own.
    breadths.sort_by(|a: &f64, b| b.total_cmp(a));
    let broad = breadths.get(2).copied().unwrap_or(0.0);
    if length > 0.0 && broad > BROADEST * length {
        let slip = WholeSlip::Shrunk { block: Block::HalfBreadths, factor: 0.5 };
        let text = format!(
            "all half-breadths: she would be {:.0} % as broad as long, which no boat is; are they whole breadths?",
            100.0 * broad / length
        );
        return Some(named(slip, text, "nothing else in the table tells"));
    }
    None
}
