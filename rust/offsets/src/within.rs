//! Tolerances a loftsman gives beside the file's: for all readings, a row or block, or one reading.

use std::collections::HashMap;

use crate::nearest::suggest;
use crate::survey::Worth;
use crate::{Block, CellId, EditError, Survey, Table};

/// How far a reading may be off, for the readings it names. The narrower outweighs the wider: one reading its
/// row, a row all.
#[derive(Clone, Debug, PartialEq)]
pub enum Tolerance {
    /// Every reading, m at full size.
    All(f64),
    /// Every reading of the rows that a label means, or of a block by its heading; m at full size.
    Row(String, f64),
    /// One reading: its station, its row, and m at full size.
    Reading(String, String, f64),
}

impl Survey {
    /// The survey with other tolerances than the table's own. A held reading stays held; a doubtful one is
    /// worth a quarter of its tolerance, as ever.
    ///
    /// # Errors
    /// A row or reading that the table has not, or a tolerance that is no length above 0.
    pub fn within(mut self, table: &Table, given: &[Tolerance]) -> Result<Self, EditError> {
        if given.is_empty() {
            return Ok(self);
        }
        let mut worth = HashMap::new();
        for given in given {
            let (cells, metres, width) = table.named_by(given)?;
            if !(metres.is_finite() && metres > 0.0) {
                return Err(EditError::Tolerance { metres });
            }
            for cell in cells {
                let own = worth.entry(whole(cell)).or_insert((width, metres));
                if own.0 <= width {
                    *own = (width, metres);
                }
            }
        }
        let find = |cell: CellId| worth.get(&whole(cell)).map(|w| w.1);
        for l in &mut self.lines {
            if let Some(Worth { sd, tolerance }) = find(l.cell).map(|m| Worth::of(l.mark, m)) {
                (l.sd, l.tolerance) = (sd, tolerance);
            }
        }
        for s in &mut self.spots {
            if let Some(Worth { sd, tolerance }) = find(s.cell).map(|m| Worth::of(s.mark, m)) {
                (s.sd, s.tolerance) = (sd, tolerance);
            }
        }
        for s in self.stem.iter_mut().chain(&mut self.stern).chain(&mut self.keel) {
            if let Some(Worth { sd, tolerance }) = find(s.cell).map(|m| Worth::of(s.mark, m)) {
                (s.sd, s.tolerance) = (sd, tolerance);
            }
        }
        Ok(self)
    }
}

/// The two readings of a point or of a spot in profile make one spot: either stands for both.
fn whole(cell: CellId) -> CellId {
    match cell.block {
        Block::StemProfile | Block::SternProfile => CellId { row: 0, ..cell },
        Block::Points => CellId { column: 0, ..cell },
        _ => cell,
    }
}

impl Table {
    /// The cells a tolerance is for, the tolerance, and how narrow it is.
    fn named_by(&self, given: &Tolerance) -> Result<(Vec<CellId>, f64, u8), EditError> {
        match given {
            Tolerance::All(metres) => Ok((self.cells().collect(), *metres, 0)),
            Tolerance::Reading(station, row, metres) => Ok((vec![self.expect(station, row)?], *metres, 2)),
            Tolerance::Row(row, metres) => {
                let rows = self.rows_called(row);
                let block = Block::ALL.into_iter().find(|block| block.heading() == row.trim());
                let of = |cell: &CellId| match block {
                    Some(block) => cell.block == block,
                    None => {
                        rows.contains(&cell.row)
                            && self.rows.get(cell.row).is_some_and(|r| r.block == cell.block)
                    }
                };
                if block.is_none() && rows.is_empty() {
                    let names = (0..self.rows.len()).map(|row| self.row_name(row)).collect::<Vec<_>>();
                    let names = names.iter().map(String::as_str).collect::<Vec<_>>();
                    let expected = suggest(row, &names);
                    return Err(EditError::NoRow { row: row.clone(), expected });
                }
                Ok((self.cells().filter(of).collect(), *metres, 1))
            }
        }
    }
}
