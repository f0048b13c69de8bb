//! Drawings and their writers.

pub mod arcs;
mod ascii;
mod check;
mod dxf;
mod model;

pub use ascii::to_ascii;
pub use check::{Fault, Finding, check};
pub use dxf::{DxfOptions, DxfVersion, WriteError, write_dxf};
pub use model::{Anchor, Drawing, Item, Layer, Operation, Stroke};
