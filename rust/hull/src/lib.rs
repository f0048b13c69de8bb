//! The faired hull: everything that can be measured on its surface.
//!
//! [`Hull`] gives sections, waterlines, buttocks, diagonals and any other plane cut as [`Curve`]s, the
//! half-breadth, height, normal and bevel anywhere, and the sections of the parallel surface that moulds
//! are cut to. [`Boat`] is a hull with her record beside it: the table, its survey, what fairing made of them. Metres and
//! radians throughout.

mod backbone;
mod boat;
mod contour;
mod curve;
mod evidence;
mod face;
mod fairness;
pub mod floating;
#[cfg(test)]
mod forms;
mod from_edge;
mod hull;
mod lookup;
mod mesh;
mod newton;
mod offset_places;
mod parallel;
mod planking;
mod record;
mod shape;

pub use backbone::BackboneLine;
pub use boat::Boat;
pub use curve::{Curve, Mark, Plane, Sample};
pub use evidence::{Evidence, Stretch, Unread};
pub use face::{CARRIED_M, CARRIED_PART};
pub use fairness::{FELT_M, Fairness, Hump};
pub use from_edge::{FromEdge, WaySpot};
pub use hull::{Dimensions, Hull, HullError, Spot};
pub use lookup::Place;
pub use mesh::Mesh;
pub use offset_places::{OffsetPlace, OffsetPlaces};
pub use parallel::{ChineOn, ParallelSection, mitre};
pub use planking::Planking;
pub use record::Correction;
