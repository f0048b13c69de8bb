//! Fairing: from readings of known worth to one fair surface.
//!
//! [`fair`] takes a [`Survey`](scrieve_offsets::Survey) and gives a [`Faired`]: the [`Surface`], how far
//! every reading moved, what the others expect in its place, and how sure the surface is.
//!
//! Stem and stern are faired in `profile`, each line in `lines`; `frame` turns the spots between them into
//! one scalar bulge a strake, whose process is `field`; `joint` solves for lines and fields together with the
//! arithmetic of `gp` and `matern`; `robust` looks for slips; `carry` makes the surface, `residual` compares.
//! After a reading has changed, `again` starts from the fit before.
//! [`proof_table`] proofreads: `ends` looks at profiles and gross slips, `proof` at what fairing doubts,
//! `slips` for what a reading may have been, `consistency` at the table against itself.
//! `batten` bends one line through nails, the curve of least bending energy.
//! `known` holds hulls in closed form and `copyist` the slips of a tired hand, to measure all this with.

mod again;
mod backbone;
mod batten;
mod bspline;
mod carry;
mod certainty;
mod consistency;
pub mod copyist;
mod draws;
mod ends;
mod evidence;
mod field;
mod fit;
mod frame;
mod gp;
mod joint;
mod judge;
mod keel;
pub mod known;
mod lines;
mod matern;
mod misfit;
mod options;
mod profile;
mod proof;
mod random;
mod residual;
mod robust;
mod sheet;
mod slips;
mod surface;
mod table_proof;

pub use again::fair_again;
pub use batten::{Batten, BattenError, MOST_NAILS, Nail, OnBatten, batten};
pub use bspline::{BSpline, MAX_DEGREE, greville};
pub use consistency::{Disagreement, disagreements};
pub use fit::{Faired, FairingError, fair};
pub use lines::fair_line;
pub use options::Options;
pub use proof::{Confidence, Query, proof};
pub use residual::Residual;
pub use slips::{Slip, Suggestion, suggestions};
pub use surface::{Jet, Patch, Surface};
pub use table_proof::{Finding, ProofError, proof_table};
