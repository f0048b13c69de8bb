//! Fairing: from readings of known worth to one fair surface.
//!
//! [`fair`] takes a [`Survey`](scrieve_offsets::Survey) and gives a [`Faired`]: the [`Surface`], how far
//! every reading moved, and how sure the surface is.

mod bspline;
mod fit;
pub mod known;
mod options;
mod surface;

pub use bspline::{BSpline, MAX_DEGREE, greville};
pub use fit::{Faired, FairingError, Residual, fair};
pub use options::Options;
pub use surface::{Jet, Patch, Surface};
