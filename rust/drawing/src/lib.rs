//! Drawings and their writers.

pub mod arcs;
pub mod backbone;
pub mod bevels;
mod check;
mod dxf;
mod error;
pub mod fashion;
mod fixed;
pub mod inside;
mod leads;
mod lettering;
pub mod lines;
mod model;
pub mod moulds;
pub mod nest;
mod pdf;
mod relief;
pub mod sail_plan;
pub mod set_up;
mod short;
mod space;
mod spots;
mod svg;
mod title;
mod told;
pub mod transom;

pub use check::{Fault, Finding, check};
pub use dxf::{DxfOptions, DxfVersion, Letters, MARK_DEPTH_MM, Outlines, write_dxf};
pub use error::WriteError;
pub use lettering::{engraved, engraved_width};
pub use model::{Anchor, CHECK_SQUARE, Drawing, Engraved, Item, Layer, Operation, Part, Stroke};
pub use pdf::{Pages, Paper, write_pdf};
pub use relief::{ReliefError, Unreached};
pub use scrieve_notation::to_ascii;
pub use short::LEAST_SEGMENT_MM;
pub use svg::{SvgOptions, svg, write_svg};
