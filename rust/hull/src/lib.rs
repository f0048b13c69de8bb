//! The faired hull: everything that can be measured on its surface.

mod curve;
mod hull;

pub use curve::{Curve, Plane, Sample};
pub use hull::{Hull, HullError};
