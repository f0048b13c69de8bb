//! Geometry that knows no boat: patches and B-splines, the batten, vectors, small solvers, quadrature.
//!
//! A [`Surface`] is what fairing makes and all that comes after it asks.

mod batten;
pub mod bernstein;
pub mod bspline;
mod patch;
pub mod quadrature;
pub mod solved;
pub mod vector;

pub use batten::{Batten, BattenError, MOST_NAILS, Nail, OnBatten, batten};
pub use bspline::{BSpline, MAX_DEGREE, greville};
pub use patch::{Jet, Patch, Surface};
