//! What is picked up from the loft floor.
//!
//! Shapes in metres, drawn in the plane they lie in; how they look on a sheet is the drawing crate's.

pub mod backbone;
mod beam;
mod bevels;
mod blank;
mod edge;
pub mod flat;
mod grid;
mod holes;
pub mod inside;
pub mod lifts;
mod limb;
mod marks;
pub mod moulds;
mod outline;
pub mod pieces;
pub mod rabbet;
pub mod ribbands;
pub mod spar;
mod stock;
pub mod transom;

pub use beam::RoundOfBeam;
pub use bevels::{EdgeBevel, bevel, chine_name};
pub use blank::parted;
pub use grid::{DiagonalAt, Grid, written};
pub use marks::{Mark, MarkKind, clear_within};
pub use stock::{Stock, narrowest_board};
