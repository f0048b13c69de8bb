//! Edits: a cell's own characters are replaced and nothing else, so that comments, order and spelling of
//! the rest survive. The new text is read again whole, so an edit passes every check the file did.

use std::io::{self, Write};
use std::path::Path;

use scrieve_notation::{Length, NotationError, Precision, Units, parse_cell};

use crate::mistake::Mistakes;
use crate::nearest::{one_of, suggest};
use crate::read::read_from;
use crate::{Block, CellId, Table, write_whole};

/// The place decimal readings are written to where the hand of the table is coarser: a tenth of a
/// millimetre, a fifth of a pencil line's width.
const DECIMAL_PLACE: Length = Length::from_ticks(Length::PER_MM / 10);
/// The same in decimal feet, which no tenth of a millimetre divides.
const FOOT_PLACE: Length = Length::from_ticks(Length::FOOT.ticks() / 10_000);

/// Why a table could not be edited, or asked so; it is as it was.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum EditError {
    /// There is no such cell.
    #[error("no cell at station {station}, row `{row}`: expected {expected}")]
    NoCell {
        /// The station asked for.
        station: String,
        /// The row asked for.
        row: String,
        /// What could have been asked for.
        expected: String,
    },
    /// There is no such row.
    #[error("no row `{row}`: expected {expected}")]
    NoRow {
        /// The row asked for.
        row: String,
        /// What could have been asked for.
        expected: String,
    },
    /// What was given is no tolerance.
    #[error(
        "a tolerance of {metres} m: expected a length above 0 (a reading that must not move is marked `!`)"
    )]
    Tolerance {
        /// What was given.
        metres: f64,
    },
    /// What was to be written is no reading.
    #[error("{}\n{}", source, source.underlined(text))]
    Reading {
        /// What was to be written.
        text: String,
        /// What is wrong with it.
        source: NotationError,
    },
    /// The table would be mistaken.
    #[error("the table would be mistaken:\n{0}")]
    Mistakes(#[from] Mistakes),
}

/// A piece of the file that says one thing of the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Written {
    /// A cell.
    Cell(CellId),
    /// The label of a row, by its index.
    Label(usize),
    /// The height of a diagonal on the centreline, by its place among the table's.
    Diagonal(usize),
}

impl Table {
    /// What stands there, marks and all; `None` where nothing is written.
    pub fn written_at(&self, at: Written) -> Option<&str> {
        self.text.get(self.layout.of(at)?)
    }

    /// The table with several pieces written otherwise at once, and nothing else touched. A piece that is written
    /// nowhere is passed over.
    ///
    /// # Errors
    /// If the table would be mistaken.
    pub fn with_written(&self, edits: &[(Written, String)]) -> Result<Table, EditError> {
        let mut places = edits
            .iter()
            .filter_map(|(at, new)| Some((self.layout.of(*at)?, new.as_str())))
            .collect::<Vec<_>>();
        places.sort_by_key(|(at, _)| at.start);
        let mut text = String::with_capacity(self.text.len() + 16 * edits.len());
        let mut origins = self.origins.clone();
        let mut done = 0;
        for (at, new) in places {
            text.push_str(&self.text[done..at.start]);
            let start = text.len();
            text.push_str(new);
            let old = &self.text[at.clone()];
            done = at.end + refit(old, new, &self.text[at.end..], &mut text);
            if let Some(origins) = &mut origins {
                origins.shift(&(start..start + done - at.start), text.len() - start);
            }
        }
        text.push_str(&self.text[done..]);
        Ok(read_from(text.as_bytes(), &self.file, origins)?)
    }

    /// The same, and a line under `[corrections]` that says why.
    ///
    /// # Errors
    /// If the table would be mistaken.
    pub fn put_right(&self, edits: &[(Written, String)], reason: &str) -> Result<Table, EditError> {
        let edited = self.with_written(edits)?;
        let reason = reason.split_whitespace().collect::<Vec<_>>().join(" ");
        let text = edited.text_with_correction(&reason);
        Ok(read_from(text.as_bytes(), &self.file, edited.origins)?)
    }

    /// The table with another reading, as written, at a station and in a row (see [`Table::find`]).
    pub fn with_reading(&self, station: &str, row: &str, reading: &str) -> Result<Table, EditError> {
        self.with_cells(&[(self.written(station, row)?, self.word(reading)?)])
    }

    /// The table with another reading, and a line under `[corrections]` that keeps the old one and says why.
    pub fn with_correction(
        &self,
        station: &str,
        row: &str,
        reading: &str,
        reason: &str,
    ) -> Result<Table, EditError> {
        let cell = self.written(station, row)?;
        let (station, row) = self.describe(cell);
        let old = self.layout.cell(cell).map_or("-", |at| &self.text[at]);
        let new = self.word(reading)?;
        let reason = reason.split(|c: char| c.is_whitespace() || c.is_control()).filter(|w| !w.is_empty());
        let reason = reason.collect::<Vec<_>>().join(" ");
        let column = match cell.block {
            Block::StemProfile | Block::SternProfile => "spot",
            _ => "station",
        };
        let line = format!("{column} {station} | {row} | was {old} | now {new} | {reason}");
        let edited = self.with_cells(&[(cell, new)])?;
        let text = edited.text_with_correction(line.trim_end());
        Ok(read_from(text.as_bytes(), &self.file, edited.origins)?)
    }

    /// The table with every reading written anew in the file's own units and scale, as `value` gives it:
    /// metres at full size, the inverse of [`Table::survey`]. Cells it gives none for stay as they are;
    /// marks stay. Facts, comments and layout are kept.
    ///
    /// `precision` is for feet, inches and eighths. Other units are written to the tenth of a millimetre, or
    /// the last place of the table's own readings if that is finer; not rounded if `precision` is exact.
    pub fn with_values(
        &self,
        value: impl Fn(CellId) -> Option<f64>,
        precision: Precision,
    ) -> Result<Table, EditError> {
        let place = self.hand().unwrap_or(DECIMAL_PLACE).min(DECIMAL_PLACE);
        let dialect = &self.facts.dialect;
        let edits = self.cells().filter_map(|cell| {
            let length = Length::from_metres(value(cell)? / self.factor(cell))?;
            let decimal = dialect.units != Units::FeetInchesEighths && precision != Precision::Exact;
            let place = if dialect.units == Units::Feet { place.min(FOOT_PLACE) } else { place };
            let length = if decimal { length.rounded(place) } else { length };
            let mark = self.cell(cell).map(|reading| reading.mark).unwrap_or_default();
            Some((cell, dialect.write(length, precision) + mark.text()))
        });
        self.with_cells(&edits.collect::<Vec<_>>())
    }

    /// Writes the file, whole or not at all.
    pub fn write(&self, path: impl AsRef<Path>) -> io::Result<()> {
        write_whole(path.as_ref(), |file| file.write_all(self.text.as_bytes()))
    }

    /// The cell at a station and in a row, or what is wrong with asking for it.
    pub fn expect(&self, station: &str, row: &str) -> Result<CellId, EditError> {
        self.find(station, row).ok_or_else(|| {
            let rows = self.rows_called(row);
            let names = |rows: &[usize]| rows.iter().map(|&row| self.row_name(row)).collect::<Vec<_>>();
            let expected = match rows.as_slice() {
                [_] => {
                    let names = self.stations.iter().map(|s| s.name.as_str()).collect::<Vec<_>>();
                    format!("the station to be {}", suggest(station, &names))
                }
                rows => {
                    let all = (0..self.rows.len()).collect::<Vec<_>>();
                    let names = names(if rows.is_empty() { &all } else { rows });
                    let names = names.iter().map(String::as_str).collect::<Vec<_>>();
                    format!(
                        "the row to be {}",
                        if rows.is_empty() { suggest(row, &names) } else { one_of(&names) }
                    )
                }
            };
            EditError::NoCell { station: station.to_owned(), row: row.to_owned(), expected }
        })
    }

    /// The cell at a station and in a row, if it is written in the file: a spot that follows from others is not.
    fn written(&self, station: &str, row: &str) -> Result<CellId, EditError> {
        let cell = self.expect(station, row)?;
        if self.layout.cell(cell).is_none() {
            let expected = "a spot that is written; this one follows from the others".to_owned();
            return Err(EditError::NoCell { station: station.to_owned(), row: row.to_owned(), expected });
        }
        Ok(cell)
    }

    /// What is written in one cell: a reading without spaces, or none.
    fn word(&self, reading: &str) -> Result<String, EditError> {
        let text = reading.trim();
        let wrong = |source| EditError::Reading { text: text.to_owned(), source };
        let cell = parse_cell(text, &self.facts.dialect).map_err(wrong)?;
        let Some(cell) = cell else { return Ok("-".to_owned()) };
        let apart = text.find(char::is_whitespace);
        match apart {
            None => Ok(text.to_owned()),
            // `40.6 in`: in a file the unit is written on, and parts are joined by dashes.
            Some(_) => Ok(self.facts.dialect.write(cell.length, Precision::Exact) + cell.mark.text()),
        }
    }

    fn with_cells(&self, edits: &[(CellId, String)]) -> Result<Table, EditError> {
        let edits = edits.iter().map(|(cell, new)| (Written::Cell(*cell), new.clone()));
        self.with_written(&edits.collect::<Vec<_>>())
    }

    fn text_with_correction(&self, line: &str) -> String {
        let end = if self.text.contains("\r\n") { "\r\n" } else { "\n" };
        let mut text = self.text.clone();
        match self.layout.corrections_end {
            Some(at) => text.insert_str(at, &format!("{end}{line}")),
            None => {
                if !text.ends_with('\n') {
                    text.push_str(end);
                }
                text.push_str(&format!("{end}[corrections]{end}{line}{end}"));
            }
        }
        text
    }
}

/// Keeps what follows a cell in its column where there are spaces to give or take: pads `out`, or says how
/// many bytes of `rest` to leave out.
fn refit(old: &str, new: &str, rest: &str, out: &mut String) -> usize {
    let (was, is) = (old.chars().count(), new.chars().count());
    let line = rest.lines().next().unwrap_or_default();
    // Within quotes there is no column to keep.
    if line.trim().is_empty() || line.starts_with(['"', '\'']) {
        return 0;
    }
    if is < was {
        out.push_str(&" ".repeat(was - is));
        return 0;
    }
    let spaces = line.len() - line.trim_start_matches(' ').len();
    (is - was).min(spaces.saturating_sub(1))
}
