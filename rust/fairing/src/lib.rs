//! Fairing: from readings of known worth to one fair surface.
//!
//! [`fair`] takes a [`Survey`](scrieve_offsets::Survey) and gives a [`Faired`]: the [`Surface`], how far
//! every reading moved, and how sure the surface is.

mod bspline;
mod certainty;
mod field;
mod fit;
mod frame;
mod gp;
mod joint;
pub mod known;
mod lines;
mod matern;
mod misfit;
mod options;
mod profile;
mod robust;
mod surface;

pub use bspline::{BSpline, MAX_DEGREE, greville};
pub use fit::{Faired, FairingError, Residual, fair};
pub use options::Options;
pub use surface::{Jet, Patch, Surface};
