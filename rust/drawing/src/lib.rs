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
mod pdf;
pub mod set_up;
mod space;
mod svg;
pub mod transom;

pub use check::{Fault, Finding, check};
pub use dxf::{DxfOptions, DxfVersion, write_dxf};
pub use error::WriteError;
pub use lettering::{engraved, engraved_width};
pub use model::{Anchor, Drawing, Item, Layer, Operation, Stroke};
pub use pdf::{Pages, Paper, write_pdf};
pub use scrieve_notation::to_ascii;
pub use svg::{SvgOptions, svg, write_svg};
