//! The table of offsets and its file.
//!
//! A [`Table`] is what a person wrote: stations, rows, profiles and facts, every reading kept as written,
//! beside the very text it was read from. It is never changed in place: an edit gives a new table, whose
//! text differs in the edited cells only. A [`Survey`] is the same in metres at full size, which is all
//! that fairing sees.
//!
//! [`Table::open`] and [`read`] take a file; [`Draft`] builds a table from scratch; every way in goes
//! through the one reader, so every table has passed the same checks.

mod cell;
mod check;
mod draft;
mod edit;
mod facts;
mod head;
mod label;
mod mistake;
mod nearest;
mod read;
mod scale;
mod survey;
mod table;
mod worth;

pub use cell::CellId;
pub use draft::Draft;
pub use edit::EditError;
pub use facts::{Fact, Facts, Sail, Shrinkage};
pub use label::LineKind;
pub use mistake::{Mistake, Mistakes, Severity};
pub use read::{OpenError, READ_CAP, read};
pub use survey::{Axis, LineReading, ProfileSpot, RefLine, Remark, Spot, Survey, TransomPlane};
pub use table::{Block, Contents, Diagonal, Point, Profile, Row, Station, Table, Transom};

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests;
