//! Fairing: from readings of known worth to one fair surface.
//!
//! [`fair`] takes a [`Survey`](scrieve_offsets::Survey) and gives a [`Faired`]: the [`Surface`](scrieve_surface::Surface), how far
//! every reading moved, what the others expect in its place, and how sure the surface is.
//!
//! Stem, keel and sternpost are faired in profile as one line in `backbone`, which is the frame's lowest in `keel`; each
//! other line in `lines`; `frame` turns the spots between them into
//! one scalar bulge a strake, whose process is `field`; `joint` solves for backbone, lines and fields together with the
//! arithmetic of `gp` and `matern`; `judge` finds slips by the `evidence` with and without them, where `robust` has
//! looked first; `carry` makes the surface, `residual` compares, `impossible` says what no hull can be,
//! `unsure` where she is little known.
//! After a reading has changed, `again` starts from the fit before.
//! [`proof_table`] proofreads by the same judgement: `ends` reads profiles otherwise, `facts` where transom and stations stand, `proof` says what fairing
//! doubts, `slips` what a reading may have been, `whole_slips` what a whole row or column may have, `consistency` and
//! `fact_check` hold the table against itself, `one_hull` says that it is no one hull's.

mod again;
mod backbone;
mod carry;
mod cause;
mod certainty;
mod consistency;
mod draws;
mod ends;
mod evidence;
mod fact_check;
mod facts;
mod field;
mod fit;
mod frame;
mod gp;
mod impossible;
mod joint;
mod judge;
mod keel;
mod keel_row;
mod lines;
mod many;
mod matern;
mod one_hull;
mod options;
mod profile;
mod proof;
mod random;
mod residual;
mod robust;
mod rounding;
mod sheet;
mod slips;
mod table_proof;
mod unsure;
mod ways;
mod whole_slips;

use scrieve_surface::{BSpline, Patch, Surface};

pub use again::fair_again;
pub use consistency::{Disagreement, disagreements, facts_apart};
pub use fit::{Faired, FairingError, fair};
pub use lines::fair_line;
pub use one_hull::{NoHull, no_hull};
pub use options::Options;
pub use proof::{Confidence, Query, proof};
pub use random::Random;
pub use residual::Residual;
pub use slips::{Slip, Suggestion, suggestions};
pub use table_proof::{
    Finding, Proof, ProofError, beyond_readings, beyond_readings_within, findings, proof_table, proof_whole,
};
pub use unsure::Unsure;
pub use whole_slips::{FoundSlip, Mistaken, WholeSlip, whole_slips, whole_slips_of};
