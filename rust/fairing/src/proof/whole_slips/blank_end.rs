//! A row that is blank at one end where its fellow is read: the sheer's heights begin a station after its half-breadths, or end
//! one before. A row copied a station too far aft or forward leaves just that behind.
//!
//! Sheer heights run so straight that a shift by a station may be no more than a slightly other sheer to the rest of the boat;
//! the blank says what to ask.

use scrieve_offsets::{Block, LineKind, Table};

use super::kinds::WholeSlip;

/// What is believed of a shift where such a blank is, as a log: a cell that was never filled is as common.
pub(super) const TOLD: f64 = -1.1;
/// Such a shift is named, and not put right, if it gains so much.
pub(super) const LIKELIER: f64 = 3.0;
/// Of rows of fewer readings nothing is told.
const FEWEST: usize = 4;

/// Shifts that such blanks tell of.
pub(super) fn by_blank_ends(table: &Table) -> Vec<WholeSlip> {
    let read = |row: usize| -> Vec<usize> {
        let cells = &table.rows[row].cells;
        (0..cells.len()).filter(|&c| cells[c].is_some()).collect()
    };
    let in_block = |block: Block| {
        let is_line = |row: &usize| matches!(table.rows[*row].line, LineKind::Sheer | LineKind::Chine(_));
        (0..table.rows.len()).filter(move |&row| table.rows[row].block == block).filter(is_line)
    };
    let mut told = Vec::new();
    for heights in in_block(Block::Heights) {
        let same = |row: &usize| table.rows[*row].line == table.rows[heights].line;
        let Some(breadths) = in_block(Block::HalfBreadths).find(same) else { continue };
        for (row, fellow) in [(heights, breadths), (breadths, heights)] {
            let (own, others) = (read(row), read(fellow));
            let (Some(&first), Some(&last)) = (own.first(), own.last()) else { continue };
            if own.len() < FEWEST {
                continue;
            }
            if others.get(1..) == Some(&own[..]) {
                told.push(WholeSlip::RowShifted { row, first, last, aft: true });
            } else if others.split_last().is_some_and(|(_, rest)| rest == own) {
                told.push(WholeSlip::RowShifted { row, first, last, aft: false });
            }
        }
    }
    told
}

/// That in words, for a row that no reading tells to stand where it does.
pub(super) fn said(table: &Table, slip: &WholeSlip) -> Option<String> {
    let WholeSlip::RowShifted { row, first, last, aft } = slip else { return None };
    let (blank, way) = if *aft { (first.checked_sub(1)?, "aft") } else { (last + 1, "forward") };
    let station = &table.stations.get(blank)?.name;
    Some(format!(
        "{}, blank at station {station} where its other row is read (the readings do not tell whether all of it stands one \
         station too far {way})",
        table.row_name(*row)
    ))
}
