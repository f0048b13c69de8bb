//! Drawings and their writers.

mod model;

pub use model::{Anchor, Drawing, Item, Layer, Operation, Stroke};
