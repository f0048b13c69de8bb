//! Drawings and their writers.

pub mod arcs;
mod ascii;
mod check;
mod model;

pub use ascii::to_ascii;
pub use check::{Fault, Finding, check};
pub use model::{Anchor, Drawing, Item, Layer, Operation, Stroke};
