//! Slips of the whole: what each is, what would have to be written to put it right, and how it is said.

use scrieve_notation::{Length, Mark, Precision, Units, parse_cell};
use scrieve_offsets::{Block, CellId, LineKind, Table, Written};

use crate::slips::in_hand;

/// A slip of a whole row, column or block of a table.
#[derive(Clone, Debug, PartialEq)]
pub enum WholeSlip {
    /// Readings of a row beside each other stand a station too far aft or forward. The cell that they came from holds
    /// nothing, or the reading beside it once more: putting it right erases nothing else.
    RowShifted {
        /// The row.
        row: usize,
        /// The first column whose reading is another station's.
        first: usize,
        /// The last.
        last: usize,
        /// Too far aft.
        aft: bool,
    },
    /// Readings of a station stand a row too far down or up in a block.
    ColumnShifted {
        /// The block.
        block: Block,
        /// The station.
        column: usize,
        /// Too far down.
        down: bool,
    },
    /// The readings of two rows of one block stand in each other's place.
    RowsExchanged(usize, usize),
    /// The same from one station to another only.
    RowsExchangedBetween {
        /// The rows.
        rows: (usize, usize),
        /// The first station.
        first: usize,
        /// The last.
        last: usize,
    },
    /// The sheer's half-breadths stand far outside of all that is below them. By how much they are off is told by nothing.
    FarOut {
        /// The row.
        row: usize,
    },
    /// The readings of two stations stand in each other's place.
    ColumnsExchanged(usize, usize),
    /// The same of one block only.
    ColumnsExchangedIn {
        /// The block.
        block: Block,
        /// The stations.
        columns: (usize, usize),
    },
    /// All readings of a station in a block, or in every block, are measured from elsewhere.
    ColumnDatum {
        /// The block; none for every one.
        block: Option<Block>,
        /// The station.
        column: usize,
        /// Readings are to be so much greater, as read.
        by: Length,
    },
    /// The distance from one station to the next is another, and all from there on stand where that puts them.
    Gap {
        /// The first station that is in the wrong place.
        column: usize,
        /// Their distances from the stem are to be so much greater, as read.
        by: Length,
    },
    /// The readings of a station stand at another, those between moved by one to make room.
    ColumnMoved {
        /// Where they stand.
        from: usize,
        /// Where they belong.
        to: usize,
    },
    /// The readings of stations beside each other stand in reversed order.
    Reversed {
        /// The first of them.
        first: usize,
        /// The last.
        last: usize,
    },
    /// A waterline or buttock lies at another distance than its label says.
    Heading {
        /// The row.
        row: usize,
        /// The distance, as written.
        to: String,
    },
    /// A diagonal leaves the centreline at another height than is said.
    Diagonal {
        /// Its row.
        row: usize,
        /// The height, as written.
        to: String,
    },
    /// A station stands at another distance from the stem.
    Station {
        /// The column.
        column: usize,
        /// The distance, as written.
        to: String,
    },
    /// A row is written in another unit.
    Unit {
        /// The row.
        row: usize,
        /// Which.
        unit: Mistaken,
    },
    /// A row, or all of a block, is measured from elsewhere.
    Datum {
        /// The rows.
        rows: Vec<usize>,
        /// Readings are to be so much greater, as read.
        by: Length,
        /// They run the other way: readings are to be this less what they are.
        down: bool,
    },
    /// All readings of a block are drawn out or shrunk.
    Shrunk {
        /// The block.
        block: Block,
        /// What they are to be multiplied by.
        factor: f64,
    },
}

/// How a unit is taken for another: what readings have to be multiplied by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mistaken {
    /// By a whole number or one over it, and in words.
    Times(i64, i64, &'static str),
    /// Another unit, by how many parts of the other, in words, and what is written behind a number of it.
    Named(i64, i64, &'static str, &'static str),
    /// Inches and eighths, read as feet and inches.
    InchesAndEighths,
    /// Feet and inches, read as inches and eighths.
    FeetAndInches,
}

impl Mistaken {
    /// Of half-breadths: written from side to side.
    pub const WHOLE: Mistaken = Mistaken::Times(1, 2, "whole breadths");
    /// All that are known.
    pub const ALL: [Mistaken; 18] = [
        Mistaken::WHOLE,
        Mistaken::InchesAndEighths,
        Mistaken::FeetAndInches,
        Mistaken::Times(1, 12, "inches, read as feet"),
        Mistaken::Times(12, 1, "feet, read as inches"),
        Mistaken::Times(10, 1, "too small by a decimal place"),
        Mistaken::Times(1, 10, "too great by a decimal place"),
        Mistaken::Times(100, 1, "too small by two decimal places"),
        Mistaken::Times(1, 100, "too great by two decimal places"),
        Mistaken::Times(254, 10, "inches, read as millimetres"),
        Mistaken::Times(10, 254, "millimetres, read as inches"),
        Mistaken::Times(254, 100, "inches, read as centimetres"),
        Mistaken::Times(3048, 10, "feet, read as millimetres"),
        Mistaken::Named(10_000, 3048, "metres, read as feet", "m"),
        Mistaken::Named(3048, 10_000, "feet, read as metres", "ft"),
        Mistaken::Named(10_000, 254, "metres, read as inches", "m"),
        Mistaken::Named(100, 254, "centimetres, read as inches", "cm"),
        Mistaken::Named(3048, 100, "feet, read as centimetres", "ft"),
    ];

    /// Whether it is a decimal misplaced.
    pub(crate) fn is_decimal(self) -> bool {
        matches!(self, Mistaken::Times(10 | 100, 1, _) | Mistaken::Times(1, 10 | 100, _))
    }

    fn of(self, length: Length) -> Option<Length> {
        let (per_inch, magnitude) = (Length::INCH.ticks(), length.abs());
        match self {
            Mistaken::Times(n, d, _) | Mistaken::Named(n, d, ..) => length.scaled(n, d),
            Mistaken::InchesAndEighths => {
                // Feet are inches, inches are eighths; what is left over has no meaning.
                let inches = magnitude.ticks() / per_inch;
                (magnitude.ticks() % per_inch == 0 && inches % 12 < 8 && length >= Length::ZERO)
                    .then(|| Length::EIGHTH.checked_mul(inches / 12 * 8 + inches % 12))?
            }
            Mistaken::FeetAndInches => {
                let eighths = magnitude.ticks() / Length::EIGHTH.ticks();
                (magnitude.ticks() % Length::EIGHTH.ticks() == 0 && length >= Length::ZERO)
                    .then(|| Length::INCH.checked_mul(eighths / 8 * 12 + eighths % 8))?
            }
        }
    }
}

/// What a cell says that holds nothing.
const EMPTY: &str = "-";

type Edits = Vec<(Written, String)>;

impl WholeSlip {
    /// What is to be written to put it right; `None` where that cannot be, or would move a held reading.
    pub fn edits(&self, table: &Table) -> Option<Edits> {
        let text = |cell: CellId| {
            table
                .written_at(Written::Cell(cell))
                .map_or(EMPTY, |t| if t.trim().is_empty() { EMPTY } else { t })
        };
        let in_row = |row: usize, column: usize| CellId { block: table.rows[row].block, row, column };
        // Cells take the text of others, in order; past the end there is none.
        let moved = |cells: &[CellId], from: &dyn Fn(usize) -> Option<usize>| -> Edits {
            let new = |i: usize| from(i).and_then(|j| cells.get(j)).map_or(EMPTY, |c| text(*c)).to_owned();
            let edits = cells.iter().enumerate().map(|(i, cell)| (Written::Cell(*cell), new(i)));
            edits.filter(|(at, new)| table.written_at(*at) != Some(new.as_str())).collect()
        };
        let columns = table.stations.len();
        let edits = match self {
            WholeSlip::RowShifted { row, first, last, aft } => {
                let range = if *aft { first.checked_sub(1)?..last + 1 } else { *first..last + 2 };
                let cells: Vec<CellId> =
                    range.filter(|c| *c < columns).map(|column| in_row(*row, column)).collect();
                if *aft { moved(&cells, &|i| Some(i + 1)) } else { moved(&cells, &|i| i.checked_sub(1)) }
            }
            WholeSlip::ColumnShifted { block, column, down } => {
                let rows = (0..table.rows.len()).filter(|&row| table.rows[row].block == *block);
                let cells: Vec<CellId> = rows.map(|row| in_row(row, *column)).collect();
                if *down { moved(&cells, &|i| Some(i + 1)) } else { moved(&cells, &|i| i.checked_sub(1)) }
            }
            WholeSlip::RowsExchanged(a, b) => {
                let label = |row: usize| table.written_at(Written::Label(row)).map(str::to_owned);
                vec![(Written::Label(*a), label(*b)?), (Written::Label(*b), label(*a)?)]
            }
            WholeSlip::RowsExchangedBetween { rows: (a, b), first, last } => {
                let of = |row, other| (*first..=*last).map(move |c| (in_row(row, c), in_row(other, c)));
                let both = of(*a, *b).chain(of(*b, *a));
                let edits = both.map(|(to, from)| (Written::Cell(to), text(from).to_owned()));
                edits.filter(|(at, new)| table.written_at(*at) != Some(new.as_str())).collect()
            }
            WholeSlip::FarOut { .. } => return None,
            WholeSlip::ColumnsExchanged(..)
            | WholeSlip::ColumnsExchangedIn { .. }
            | WholeSlip::ColumnMoved { .. }
            | WholeSlip::Reversed { .. } => self.in_all_rows(table),
            WholeSlip::ColumnDatum { block, column, by } => {
                let mut edits = Edits::new();
                for (row, r) in table.rows.iter().enumerate().filter(|(_, r)| is_of(*block, r.block)) {
                    let Some(reading) = r.cells.get(*column).and_then(Option::as_ref) else { continue };
                    let cell = in_row(row, *column);
                    let new = in_hand(table, cell, reading.length.checked_add(*by)?)?;
                    edits.push((Written::Cell(cell), new + reading.mark.text()));
                }
                edits
            }
            WholeSlip::Gap { column, by } => {
                let at = |column: usize| CellId { block: Block::Stations, row: 0, column };
                let mut edits = Edits::new();
                for (i, station) in table.stations.iter().enumerate().skip(*column) {
                    let Some(reading) = station.from_stem.as_ref() else { continue };
                    let length = reading.length.checked_add(*by)?;
                    edits.push((Written::Cell(at(i)), in_hand(table, at(i), length)? + reading.mark.text()));
                }
                edits
            }
            WholeSlip::Heading { row, to } => {
                let label = table.written_at(Written::Label(*row))?;
                let word = label.split_whitespace().next()?;
                vec![(Written::Label(*row), format!("{word} {to}"))]
            }
            WholeSlip::Diagonal { row, to } => {
                vec![(Written::Diagonal(diagonal_of(table, *row)?), to.clone())]
            }
            WholeSlip::Station { column, to } => {
                let cell = CellId { block: Block::Stations, row: 0, column: *column };
                vec![(Written::Cell(cell), to.clone())]
            }
            WholeSlip::Unit { row, unit } => self.rewritten(table, &[*row], &|length| unit.of(length))?,
            WholeSlip::Datum { rows, by, down } => self.rewritten(table, rows, &|length| {
                if *down { by.checked_sub(length) } else { length.checked_add(*by) }
            })?,
            WholeSlip::Shrunk { block, factor } => {
                let rows: Vec<usize> =
                    (0..table.rows.len()).filter(|&row| table.rows[row].block == *block).collect();
                self.rewritten(table, &rows, &|length| Length::from_metres(length.metres() * factor))?
            }
        };
        let held = |at: &Written| match at {
            Written::Cell(cell) => table.cell(*cell).is_some_and(|r| r.mark == Mark::Held),
            Written::Diagonal(_) => table.written_at(*at).is_some_and(|text| text.ends_with('!')),
            Written::Label(row) => {
                table.rows[*row].cells.iter().flatten().any(|reading| reading.mark == Mark::Held)
            }
        };
        (!edits.is_empty() && !edits.iter().any(|(at, _)| held(at))).then_some(edits)
    }

    /// Cells of every row take the text of those at other stations.
    fn in_all_rows(&self, table: &Table) -> Edits {
        let from = |column| self.station_from(column);
        let of = |of: Block| !matches!(self, WholeSlip::ColumnsExchangedIn { block, .. } if *block != of);
        let mut edits = Edits::new();
        for (row, r) in table.rows.iter().enumerate().filter(|(_, r)| of(r.block)) {
            for column in (0..r.cells.len()).filter(|&column| from(column) != column) {
                let cell = |column| CellId { block: r.block, row, column };
                let text = |column| table.written_at(Written::Cell(cell(column)));
                let new = text(from(column)).filter(|t| !t.trim().is_empty()).unwrap_or(EMPTY);
                if text(column) != Some(new) {
                    edits.push((Written::Cell(cell(column)), new.to_owned()));
                }
            }
        }
        edits
    }

    /// Readings of rows that become others.
    fn rewritten(
        &self,
        table: &Table,
        rows: &[usize],
        of: &dyn Fn(Length) -> Option<Length>,
    ) -> Option<Edits> {
        let mut edits = Edits::new();
        for &row in rows {
            for (column, reading) in table.rows[row].cells.iter().enumerate() {
                let Some(reading) = reading else { continue };
                let cell = CellId { block: table.rows[row].block, row, column };
                let length = of(reading.length)?;
                let dialect = &table.facts.dialect;
                // A decimal that was misplaced had figures of its own.
                let exact = matches!(self, WholeSlip::Unit { .. });
                let plain = || {
                    let text = dialect.write(length, Precision::Exact);
                    parse_cell(&text, dialect)
                        .is_ok_and(|r| r.is_some_and(|r| r.length == length))
                        .then_some(text)
                };
                // In its own unit it keeps its own figures.
                let named = match self {
                    WholeSlip::Unit { unit: Mistaken::Named(_, _, _, unit), .. } => Some(*unit),
                    _ => None,
                };
                let in_unit = |unit: &str| {
                    let number = reading.written.trim_end_matches(['?', '!', '+']);
                    let text = format!("{number}{unit}");
                    let near = |l: Length| (l.metres() - length.metres()).abs() < 1e-6;
                    let bare = number.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-'));
                    let reads = parse_cell(&text, dialect).is_ok_and(|r| r.is_some_and(|r| near(r.length)));
                    (bare && reads).then_some(text)
                };
                let new = if let Some(unit) = named {
                    in_unit(unit)
                } else if exact {
                    plain()
                } else {
                    in_hand(table, cell, length)
                };
                edits.push((Written::Cell(cell), new? + reading.mark.text()));
            }
        }
        Some(edits)
    }

    /// The log of how much greater a density in metres of what is put right is than one in metres of what was read.
    pub(crate) fn jacobian(&self, table: &Table) -> f64 {
        let count = |row: usize| table.rows[row].cells.iter().flatten().count() as f64;
        match self {
            WholeSlip::Unit { row, unit } => {
                let per_reading = match unit {
                    Mistaken::Times(n, d, _) | Mistaken::Named(n, d, ..) => (*n as f64 / *d as f64).ln(),
                    Mistaken::InchesAndEighths => -12f64.ln(),
                    Mistaken::FeetAndInches => 12f64.ln(),
                };
                count(*row) * per_reading
            }
            WholeSlip::Shrunk { block, factor } => {
                let rows = (0..table.rows.len()).filter(|&row| table.rows[row].block == *block);
                rows.map(count).sum::<f64>() * factor.ln()
            }
            _ => 0.0,
        }
    }

    /// What is to be said of it.
    ///
    /// `within` is how far off its amount may be, m as read (of what is drawn out, as a part), where the rest of the boat
    /// tells it only about.
    pub fn text(&self, table: &Table, within: Option<f64>) -> String {
        let name = |row: usize| table.row_name(row);
        let station = |column: usize| table.stations.get(column).map_or(String::new(), |s| s.name.clone());
        let columns = table.stations.len();
        let roughly = if within.is_some() { "about " } else { "" };
        let give = within.map_or(String::new(), |m| {
            format!(" (give or take {})", plainly(table, Length::from_metres(m).unwrap_or_default()))
        });
        match self {
            WholeSlip::RowShifted { row, first, last, aft } => {
                let read = |columns: std::ops::Range<usize>| {
                    table.rows[*row].cells[columns].iter().any(Option::is_some)
                };
                // What stands twice is not one of them.
                let source = if *aft { first - 1 } else { last + 1 };
                let twice = read(source..source + 1);
                let before = read(0..if *aft { source } else { *first });
                let after = read(if *aft { last + 1 } else { (source + 1).min(columns) }..columns);
                let part = match (before || *aft && twice, after || !*aft && twice) {
                    (false, false) => String::new(),
                    (true, false) => format!(" from station {} on", station(*first)),
                    (false, true) => format!(" as far as station {}", station(*last)),
                    (true, true) => format!(" from station {} to {}", station(*first), station(*last)),
                };
                let way = if *aft { "aft" } else { "forward" };
                format!("{}: its readings{part} stand one station too far {way}", name(*row))
            }
            WholeSlip::ColumnShifted { block, column, down } => {
                let way = if *down { "down" } else { "up" };
                format!("station {}: its {block} stand one row too far {way}", station(*column))
            }
            WholeSlip::RowsExchanged(a, b) => {
                format!("{} and {}: the readings of each are those of the other", name(*a), name(*b))
            }
            WholeSlip::RowsExchangedBetween { rows: (a, b), first, last } => {
                let (from, to) = (station(*first), station(*last));
                format!(
                    "{} and {}: from station {from} to {to} the readings of each are those of the other",
                    name(*a),
                    name(*b)
                )
            }
            WholeSlip::FarOut { row } => {
                format!("{}: the topside would run out to it nearly level, as no boat's does", name(*row))
            }
            WholeSlip::ColumnsExchanged(a, b) => {
                format!(
                    "stations {} and {}: the readings of each are those of the other",
                    station(*a),
                    station(*b)
                )
            }
            WholeSlip::ColumnsExchangedIn { block, columns: (a, b) } => {
                format!(
                    "stations {} and {}: the {block} of each are those of the other",
                    station(*a),
                    station(*b)
                )
            }
            WholeSlip::ColumnDatum { block, column, by } => {
                let off = format!("{roughly}{}{give}", plainly(table, by.abs()));
                let Some(block) = block else {
                    let way = if *by > Length::ZERO { "small" } else { "great" };
                    return format!("station {}: all its readings are {off} too {way}", station(*column));
                };
                let way = match (*block == Block::Heights, *by > Length::ZERO) {
                    (true, true) => "low",
                    (true, false) => "high",
                    (false, true) => "far in",
                    (false, false) => "far out",
                };
                format!("station {}: its {block} are all {off} too {way}", station(*column))
            }
            WholeSlip::Gap { column, by } => {
                let off = format!("{roughly}{}{give}", plainly(table, by.abs()));
                let way = if *by > Length::ZERO { "short" } else { "great" };
                let on = if column + 1 < columns {
                    ", and all from there on stand where that puts them"
                } else {
                    ""
                };
                format!(
                    "station {}: its distance from station {} is {off} too {way}{on}",
                    station(*column),
                    station(column.saturating_sub(1))
                )
            }
            WholeSlip::ColumnMoved { from, to } => {
                let (first, last, way) =
                    if to > from { (from + 1, *to, "aft") } else { (*to, from - 1, "forward") };
                format!(
                    "station {}: the readings under it are those of station {}, and those under {} to {} stand one station \
                     too far {way}",
                    station(*from),
                    station(*to),
                    station(first),
                    station(last)
                )
            }
            WholeSlip::Reversed { first, last } => {
                format!(
                    "stations {} to {}: their readings stand in reversed order",
                    station(*first),
                    station(*last)
                )
            }
            WholeSlip::Heading { row, to } => {
                format!("{}: its readings are those of {roughly}{to}{give}", name(*row))
            }
            WholeSlip::Diagonal { row, to } => {
                let at = diagonal_of(table, *row).map(Written::Diagonal);
                let given = at.and_then(|at| table.written_at(at)).unwrap_or(EMPTY);
                format!("{}: it leaves the centreline at {roughly}{to}{give}, not {given}", name(*row))
            }
            WholeSlip::Station { column, to } => {
                let given = table.stations[*column].from_stem.as_ref().map_or("", |r| r.written.as_str());
                format!(
                    "station {}: it stands at {roughly}{to}{give} from the stem, not {given}",
                    station(*column)
                )
            }
            WholeSlip::Unit { row, unit } => match unit {
                Mistaken::Times(_, _, what) | Mistaken::Named(_, _, what, _) => {
                    format!("{}: its readings are {what}", name(*row))
                }
                Mistaken::InchesAndEighths => {
                    format!("{}: its readings are inches and eighths, read as feet and inches", name(*row))
                }
                Mistaken::FeetAndInches => {
                    format!("{}: its readings are feet and inches, read as inches and eighths", name(*row))
                }
            },
            WholeSlip::Datum { rows, by, down } => {
                let whose = match &rows[..] {
                    [row] => format!("{}: its readings are", name(*row)),
                    _ => format!("all {}: they are", table.rows[rows[0]].block),
                };
                let heights = table.rows[rows[0]].block == Block::Heights;
                let off = format!("{roughly}{}{give}", plainly(table, by.abs()));
                if *down {
                    return format!("{whose} measured down from {off} above the base line");
                }
                let from = match (heights, *by > Length::ZERO) {
                    (true, true) => format!("{off} above the base line"),
                    (true, false) => format!("{off} below the base line"),
                    (false, true) => format!("{off} out from the centreline"),
                    (false, false) => format!("{off} on the other side of the centreline"),
                };
                format!("{whose} measured from {from}{}", named_datum(table, rows[0], *by))
            }
            WholeSlip::Shrunk { block, factor } => {
                let part = 100.0 / factor;
                let part = match within {
                    // To as many places as it is known.
                    Some(within) if within > 0.005 => {
                        format!("about {part:.0} % (give or take {:.0})", 100.0 * within)
                    }
                    Some(within) => {
                        format!("about {part:.1} % (give or take {:.1})", (100.0 * within).max(0.1))
                    }
                    None => match ratio(1.0 / factor) {
                        Some((n, d)) => format!("{n}/{d}"),
                        None => format!("{part:.1} %"),
                    },
                };
                format!("all {block}: they are {part} of what they should be")
            }
        }
    }

    /// How to put it right, as one would say it to whoever holds the pen.
    pub fn offer(&self, table: &Table, edits: &[(Written, String)]) -> String {
        let at = |at: Written| {
            table.place(at).map_or(String::new(), |(_, line, column)| format!("line {line}, column {column}"))
        };
        let was = |at: Written| table.written_at(at).unwrap_or(EMPTY).to_owned();
        match edits {
            [] => String::new(),
            [(one, new)] => format!("{}: write `{new}` for `{}`", at(*one), was(*one)),
            [(a, new_a), (b, new_b)] => {
                format!(
                    "{}: write `{new_a}` for `{}`; {}: `{new_b}` for `{}`",
                    at(*a),
                    was(*a),
                    at(*b),
                    was(*b)
                )
            }
            [(first, new), rest @ ..] => {
                let mut lines: Vec<usize> =
                    edits.iter().filter_map(|(at, _)| table.place(*at)).map(|p| p.1).collect();
                lines.sort_unstable();
                lines.dedup();
                let across = match (lines.first(), lines.last()) {
                    (Some(a), Some(b)) if a != b => format!("lines {a} to {b}"),
                    (Some(a), _) => format!("line {a}"),
                    _ => String::new(),
                };
                format!(
                    "{across}: {} cells to write anew, from {}: `{new}` for `{}`",
                    rest.len() + 1,
                    at(*first),
                    was(*first)
                )
            }
        }
    }

    /// Where what belongs in a cell stands before the slip is put right.
    pub(crate) fn came_from(&self, table: &Table, cell: CellId) -> CellId {
        if table.rows.get(cell.row).is_none_or(|row| row.block != cell.block) {
            return cell;
        }
        let at = |column: usize| CellId { column, ..cell };
        match self {
            WholeSlip::ColumnsExchangedIn { block, .. } if cell.block != *block => cell,
            WholeSlip::RowShifted { row, first, last, aft } if cell.row == *row => match aft {
                true if (*first..=*last).contains(&(cell.column + 1)) => at(cell.column + 1),
                false if (first + 1..=last + 1).contains(&cell.column) => at(cell.column - 1),
                _ => cell,
            },
            WholeSlip::RowsExchangedBetween { rows: (a, b), first, last }
                if (*first..=*last).contains(&cell.column) && (cell.row == *a || cell.row == *b) =>
            {
                CellId { row: a + b - cell.row, ..cell }
            }
            WholeSlip::ColumnShifted { block, column, down }
                if (cell.block, cell.column) == (*block, *column) =>
            {
                let row = if *down { cell.row + 1 } else { cell.row.saturating_sub(1) };
                let there = table.rows.get(row).is_some_and(|r| r.block == *block);
                if there { CellId { row, ..cell } } else { cell }
            }
            _ => at(self.station_from(cell.column)),
        }
    }

    /// The station under which stands what belongs to another.
    fn station_from(&self, i: usize) -> usize {
        match self {
            WholeSlip::ColumnsExchanged(a, b) if i == *a => *b,
            WholeSlip::ColumnsExchanged(a, b) if i == *b => *a,
            WholeSlip::ColumnsExchangedIn { columns: (a, b), .. } if i == *a => *b,
            WholeSlip::ColumnsExchangedIn { columns: (a, b), .. } if i == *b => *a,
            WholeSlip::ColumnMoved { from, to } if i == *to => *from,
            WholeSlip::ColumnMoved { from, to } if (*from..*to).contains(&i) => i + 1,
            WholeSlip::ColumnMoved { from, to } if (*to + 1..=*from).contains(&i) => i - 1,
            WholeSlip::Reversed { first, last } if (*first..=*last).contains(&i) => first + last - i,
            _ => i,
        }
    }

    /// Whether it is of what readings are measured from or in.
    pub(crate) fn is_of_measure(&self) -> bool {
        matches!(
            self,
            WholeSlip::Datum { .. }
                | WholeSlip::ColumnDatum { .. }
                | WholeSlip::Shrunk { .. }
                | WholeSlip::Unit { .. }
        )
    }

    /// Whether two are the same slip by another amount.
    pub(crate) fn is_same_but_for_amount(&self, other: &WholeSlip) -> bool {
        match (self, other) {
            (WholeSlip::Heading { row: a, .. }, WholeSlip::Heading { row: b, .. }) => a == b,
            (WholeSlip::Diagonal { row: a, .. }, WholeSlip::Diagonal { row: b, .. }) => a == b,
            (WholeSlip::Station { column: a, .. }, WholeSlip::Station { column: b, .. }) => a == b,
            (WholeSlip::Shrunk { block: a, .. }, WholeSlip::Shrunk { block: b, .. }) => a == b,
            (WholeSlip::Gap { column: a, .. }, WholeSlip::Gap { column: b, .. }) => a == b,
            (
                WholeSlip::ColumnDatum { block: a, column: i, .. },
                WholeSlip::ColumnDatum { block: b, column: j, .. },
            ) => (a, i) == (b, j),
            (WholeSlip::Datum { rows: a, down, .. }, WholeSlip::Datum { rows: b, down: other, .. }) => {
                a == b && down == other
            }
            _ => false,
        }
    }

    /// Rows that it is of; of a station or a block of columns, none.
    pub(crate) fn rows(&self) -> Vec<usize> {
        match self {
            WholeSlip::RowShifted { row, .. }
            | WholeSlip::Heading { row, .. }
            | WholeSlip::Diagonal { row, .. }
            | WholeSlip::FarOut { row }
            | WholeSlip::Unit { row, .. } => {
                vec![*row]
            }
            WholeSlip::RowsExchanged(a, b) | WholeSlip::RowsExchangedBetween { rows: (a, b), .. } => {
                vec![*a, *b]
            }
            WholeSlip::Datum { rows, .. } => rows.clone(),
            _ => Vec::new(),
        }
    }

    /// In a word, as data.
    pub fn name(&self) -> &'static str {
        match self {
            WholeSlip::RowShifted { .. } => "row shifted",
            WholeSlip::ColumnShifted { .. } => "column shifted",
            WholeSlip::RowsExchanged(..) => "rows exchanged",
            WholeSlip::RowsExchangedBetween { .. } => "rows exchanged in part",
            WholeSlip::FarOut { .. } => "too far out",
            WholeSlip::ColumnsExchanged(..) => "stations exchanged",
            WholeSlip::ColumnsExchangedIn { .. } => "stations exchanged in part",
            WholeSlip::ColumnDatum { .. } => "station's datum",
            WholeSlip::Gap { .. } => "space of stations",
            WholeSlip::ColumnMoved { .. } => "station out of place",
            WholeSlip::Reversed { .. } => "stations reversed",
            WholeSlip::Heading { .. } => "heading",
            WholeSlip::Diagonal { .. } => "diagonal's height",
            WholeSlip::Station { .. } => "station's distance",
            WholeSlip::Unit { .. } => "unit",
            WholeSlip::Datum { .. } => "datum",
            WholeSlip::Shrunk { .. } => "shrunk",
        }
    }
}

/// Whether what is of a block, or of every block where none is named, is of this one.
pub(crate) fn is_of(named: Option<Block>, block: Block) -> bool {
    let in_rows = matches!(block, Block::Heights | Block::HalfBreadths | Block::Diagonals);
    named.map_or(in_rows, |named| named == block)
}

/// The diagonal that a row is of, among the table's.
pub(crate) fn diagonal_of(table: &Table, row: usize) -> Option<usize> {
    let LineKind::Diagonal(name) = &table.rows.get(row)?.line else { return None };
    table.diagonals.iter().position(|d| d.name == *name)
}

/// Scales that a plan is printed or measured at in place of another, as its own over what it should be.
pub(crate) const RATIOS: [(i32, i32); 20] = [
    (11, 12),
    (12, 11),
    (10, 12),
    (12, 10),
    (1, 2),
    (2, 1),
    (3, 4),
    (4, 3),
    (2, 3),
    (3, 2),
    (4, 5),
    (5, 4),
    (9, 10),
    (10, 9),
    (10, 11),
    (11, 10),
    (15, 16),
    (16, 15),
    (7, 8),
    (8, 7),
];

/// The ratio that a part is, if it is one of those.
fn ratio(part: f64) -> Option<(i32, i32)> {
    RATIOS.into_iter().find(|(n, d)| (part - f64::from(*n) / f64::from(*d)).abs() < 1e-6)
}

/// A length as the table would write it, to the place it is read to.
fn plainly(table: &Table, length: Length) -> String {
    let dialect = &table.facts.dialect;
    let place = match dialect.units {
        Units::FeetInchesEighths => Length::EIGHTH,
        _ => table.hand().unwrap_or(Length::EIGHTH),
    };
    let rounded = length.rounded(place);
    let rounded = if rounded == Length::ZERO { place } else { rounded };
    dialect.write(if length == Length::ZERO { length } else { rounded }, Precision::Eighth)
}

/// What a datum is called, where the table has a name for it.
fn named_datum(table: &Table, row: usize, by: Length) -> String {
    let place = table.hand().unwrap_or(Length::EIGHTH);
    let near = |length: Option<Length>| {
        length.is_some_and(|l| by.checked_sub(l).is_some_and(|d| d.abs().metres() < 0.6 * place.metres()))
    };
    let heights = table.rows[row].block == Block::Heights;
    let facts = &table.facts;
    let waterlines = || {
        table.rows.iter().filter_map(|r| match r.line {
            LineKind::Waterline(at) => Some(at),
            _ => None,
        })
    };
    if heights && near(facts.load_waterline) {
        ", the load waterline".to_owned()
    } else if !heights
        && near(facts.half_siding.and_then(|l| Length::from_metres(l.metres() / facts.factors().1)))
    {
        ", the side of the keel".to_owned()
    } else if heights && waterlines().any(|at| near(Some(at))) {
        ", one of her waterlines".to_owned()
    } else {
        String::new()
    }
}
