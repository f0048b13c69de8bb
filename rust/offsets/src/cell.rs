//! Where a number stands in the table.

use crate::Block;

/// Where a number stands in the table.
///
/// For rows of a block: the row's index in `rows` and the station's in `stations`. For profiles `row` is
/// 0 (`from stem`) or 1 (`height`) and `column` the spot; for points `row` is the point and `column`
/// 0 (height) or 1 (half-breadth). Of the distances of stations `column` is the station; of the transom's facts `row` is
/// 0 (foot) or 1 (head) and `column` 0 (from stem) or 1 (height).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct CellId {
    /// The block.
    pub block: Block,
    /// The row.
    pub row: usize,
    /// The column.
    pub column: usize,
}
