//! Empty cells, and what they mean: on the base line, at the rabbet, on the stem, at a height told once,
//! or not taken.
//!
//! Printers left a cell empty for all of these. A file says which under `[blank]`, by row or by block; what it does not
//! say is not guessed at: such a cell is no reading.

use std::ops::Range;

use scrieve_notation::{Length, Mark, Precision, Reading, Units};

use crate::mistake::Log;
use crate::nearest::suggest;
use crate::table::{Blank, Contents};
use crate::{Block, CellId, LineKind};

/// What empty cells of a row mean, where they stand before its first reading, between two, and after its last.
pub(crate) struct Told {
    /// The row or block, as the file names it.
    pub(crate) name: String,
    pub(crate) name_at: Range<usize>,
    /// Forward of the first reading, between, abaft the last.
    pub(crate) means: [Option<Blank>; 3],
}

/// Names of the three, as a file has them.
pub(crate) const PARTS: [&str; 3] = ["forward", "between", "aft"];

/// Gives the blanks of a table the meanings told, and readings to those that have one.
pub(crate) fn tell(told: &[Told], contents: &mut Contents, log: &mut Log<'_>) {
    let mut own: Vec<Option<&Told>> = vec![None; contents.rows.len()];
    // Blocks first, so that what is said of a row outweighs it.
    for by_row in [false, true] {
        for told in told {
            let block = Block::ALL.into_iter().find(|block| block.heading() == told.name.trim());
            if block.is_some() == by_row {
                continue;
            }
            let rows = match block {
                Some(block) => {
                    (0..contents.rows.len()).filter(|&i| contents.rows[i].block == block).collect()
                }
                None => contents.rows_called(&told.name),
            };
            if rows.is_empty() && block.is_none() {
                let names = (0..contents.rows.len()).map(|row| contents.row_name(row)).collect::<Vec<_>>();
                let names = names.iter().map(String::as_str).collect::<Vec<_>>();
                log.error(
                    told.name_at.clone(),
                    format!("no row is called `{}`", told.name),
                    suggest(&told.name, &names),
                );
            }
            for row in rows {
                own[row] = Some(told);
            }
        }
    }
    for (row, told) in own.into_iter().enumerate() {
        if let Some(told) = told {
            tell_row(row, told, contents, log);
        }
    }
}

fn tell_row(row: usize, told: &Told, contents: &mut Contents, log: &mut Log<'_>) {
    let cells = &contents.rows[row].cells;
    let first = cells.iter().position(Option::is_some).unwrap_or(cells.len());
    let last = cells.iter().rposition(Option::is_some).unwrap_or(cells.len());
    for column in 0..contents.rows[row].cells.len() {
        if contents.rows[row].cells[column].is_some() {
            continue;
        }
        let part = if column < first {
            0
        } else if column < last {
            1
        } else {
            2
        };
        let Some(blank) = told.means[part] else { continue };
        let block = contents.rows[row].block;
        if matches!(blank, Blank::BaseLine | Blank::At(_)) && block != Block::Heights {
            let problem = format!("a blank of {} cannot be {}", contents.row_name(row), blank.word());
            log.error(told.name_at.clone(), problem, "`at the rabbet`, `on the stem` or `not taken`");
            return;
        }
        let reading = contents.reading_of(row, column, blank);
        contents.rows[row].cells[column] = reading;
        contents.blanks.push((CellId { block, row, column }, blank));
    }
}

impl Contents {
    /// The reading that a blank stands for, if it stands for one: a height on the base line, or the end of a line that
    /// runs out on the rabbet.
    fn reading_of(&self, row: usize, column: usize, blank: Blank) -> Option<Reading> {
        let row = &self.rows[row];
        let length = match (blank, row.block, &row.line) {
            (Blank::BaseLine, ..) => Length::ZERO,
            (Blank::At(height), ..) => height,
            (Blank::Rabbet, Block::Heights, LineKind::Keel | LineKind::Chine(_)) => {
                self.of_rabbet(Block::Heights, column)?
            }
            (Blank::Rabbet | Blank::Stem, Block::HalfBreadths, LineKind::Sheer | LineKind::Chine(_)) => {
                self.of_rabbet(Block::HalfBreadths, column).unwrap_or_else(|| self.half_siding())
            }
            _ => return None,
        };
        let dialect = &self.facts.dialect;
        // Taken by the same hand as the row: to its finest place.
        let places = row.cells.iter().flatten().map(|reading| reading.place).min();
        let place = places.unwrap_or(match dialect.units {
            Units::FeetInchesEighths | Units::Inches | Units::Feet => Length::EIGHTH,
            Units::Millimetres | Units::Centimetres | Units::Metres => Length::MILLIMETRE,
        });
        Some(Reading { length, mark: Mark::Plain, place, written: dialect.write(length, Precision::Exact) })
    }

    fn of_rabbet(&self, block: Block, column: usize) -> Option<Length> {
        let rabbet = self.rows.iter().find(|row| row.block == block && row.line == LineKind::Rabbet)?;
        rabbet.cells.get(column)?.as_ref().map(|reading| reading.length)
    }

    /// Half-siding as half-breadths are read; it is given at full size.
    fn half_siding(&self) -> Length {
        let (_, breadth, _) = self.facts.factors();
        let half = self.facts.half_siding.map_or(0.0, Length::metres) / breadth;
        Length::from_metres(half).unwrap_or(Length::ZERO)
    }

    /// The sheer's height at a distance from the forward end, from the two readings nearest that end.
    pub(crate) fn sheer_at(&self, x: Length, forward: bool) -> Option<Length> {
        let sheer =
            self.rows.iter().find(|row| row.block == Block::Heights && row.line == LineKind::Sheer)?;
        let places =
            self.stations.iter().map(|station| station.from_stem.as_ref().map(|r| r.length.metres()));
        let mut read: Vec<(f64, f64)> =
            places.zip(&sheer.cells).filter_map(|(x, z)| Some((x?, z.as_ref()?.length.metres()))).collect();
        if !forward {
            read.reverse();
        }
        let height = match *read.as_slice() {
            [] => return None,
            [(_, z)] => z,
            [(x0, z0), (x1, z1), ..] if x1 != x0 => z0 + (z1 - z0) * (x.metres() - x0) / (x1 - x0),
            [(_, z), ..] => z,
        };
        // Inches and their eighths are all a sheer carried on is worth.
        Length::from_metres(height).map(|length| match self.facts.dialect.units {
            Units::FeetInchesEighths | Units::Inches | Units::Feet => length.rounded(Length::EIGHTH),
            Units::Millimetres | Units::Centimetres | Units::Metres => length.rounded(Length::MILLIMETRE),
        })
    }

    /// Blanks whose meaning nothing says, by row: its index and the columns.
    pub fn blanks_untold(&self) -> Vec<(usize, Vec<usize>)> {
        let told = |row, column| self.blanks.iter().any(|(c, _)| c.row == row && c.column == column);
        let of_row = |(row, r): (usize, &crate::Row)| {
            let empty = |column: &usize| r.cells[*column].is_none() && !told(row, *column);
            let columns = (0..r.cells.len()).filter(empty).collect::<Vec<_>>();
            (!columns.is_empty()).then_some((row, columns))
        };
        self.rows.iter().enumerate().filter_map(of_row).collect()
    }
}
