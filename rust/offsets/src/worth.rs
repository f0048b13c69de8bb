//! What a cell's reading is worth: its factor to full size, and how finely the hand that wrote it read.

use scrieve_notation::Length;

use crate::grid::Worths;
use crate::{Block, CellId, Facts, LineKind, Table};

/// One in so many cells must be written to a place for it to be the hand's. A hand that reads to the
/// sixteenth writes `+` or `-` on half its readings, one that reads to the eighth hardly ever; a lower
/// number would take a table with a few dropped `+` for a coarser one.
const HAND_SHARE: usize = 20;

/// The way a diagonal runs, in readings: height where it leaves the centreline, m, and unit steps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Direction {
    pub(crate) start: f64,
    pub(crate) across: f64,
    pub(crate) up: f64,
}

impl Direction {
    /// A step along it at full size: across and up.
    pub(crate) fn full_size(&self, facts: &Facts) -> (f64, f64) {
        let (_, breadth, height) = facts.factors();
        (self.across * breadth, self.up * height)
    }

    /// What a distance along it is multiplied by to give full size.
    pub(crate) fn factor(&self, facts: &Facts) -> f64 {
        let (across, up) = self.full_size(facts);
        across.hypot(up)
    }
}

impl Table {
    /// What a cell's reading is multiplied by to give full size.
    pub fn factor(&self, cell: CellId) -> f64 {
        let (length, breadth, height) = self.facts.factors();
        match (cell.block, cell.row, cell.column) {
            (Block::Heights, ..) | (Block::Points, _, 0) => height,
            (Block::HalfBreadths, ..) | (Block::Points, ..) => breadth,
            (Block::StemProfile | Block::SternProfile, 0, _) | (Block::Stations, ..) => length,
            (Block::Transom, _, 0) => length,
            (Block::Transom, ..) => height,
            (Block::StemProfile | Block::SternProfile, ..) => height,
            (Block::Diagonals, row, _) => self.diagonal_of(row).map_or(breadth, |d| d.factor(&self.facts)),
        }
    }

    /// The diagonal a row is measured along.
    pub(crate) fn diagonal_of(&self, row: usize) -> Option<Direction> {
        let LineKind::Diagonal(name) = &self.rows.get(row)?.line else { return None };
        let found = self.diagonals.binary_search_by(|d| d.name.cmp(name)).ok()?;
        let diagonal = &self.diagonals[found];
        let start = diagonal.centreline_height.metres();
        let across = diagonal.through_half_breadth.metres();
        let up = diagonal.through_height.metres() - start;
        let run = across.hypot(up);
        Some(Direction { start, across: across / run, up: up / run })
    }

    /// The spacing of the readings this hand wrote: the finest place that more than a few cells have.
    pub fn hand(&self) -> Option<Length> {
        let mut places = self.cells().filter_map(|cell| self.cell(cell)).map(|r| r.place).collect::<Vec<_>>();
        places.sort();
        places.get(places.len() / HAND_SHARE).copied()
    }

    /// The spacing of the readings that the hand took where a cell stands: of those it could have written, or of the
    /// grid that readings of this kind lie on.
    pub fn hand_at(&self, cell: CellId) -> Option<Length> {
        Worths::of(self).finest(cell)
    }
}
