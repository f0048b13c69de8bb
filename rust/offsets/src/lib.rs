//! The table of offsets and its file.
//!
//! A [`Table`] is what a person wrote: stations, rows, profiles and facts, every reading kept as written.
//! A [`Survey`] is the same in metres at full size, which is all that fairing sees.

mod survey;
mod table;

pub use survey::{Axis, CellId, LineReading, ProfileSpot, RefLine, Spot, Survey, TransomPlane};
pub use table::{Block, Diagonal, Facts, LineKind, Point, Profile, Row, Station, Table, Transom};
