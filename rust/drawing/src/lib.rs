//! Drawings and their writers.

pub mod arcs;
mod model;

pub use model::{Anchor, Drawing, Item, Layer, Operation, Stroke};
