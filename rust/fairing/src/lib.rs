//! Fairing: from readings of known worth to one fair surface.
//!
//! [`fair`] takes a [`Survey`](scrieve_offsets::Survey) and gives a [`Faired`]: the [`Surface`], how far
//! every reading moved, what the others expect in its place, and how sure the surface is.
//!
//! In rooms. `process`: the Gaussian processes, of one line, of a strake's bulge, and of all together with the arithmetic of
//! `gp` and `matern`. `frame`: stem, keel and sternpost faired in profile as one line in `backbone`, which is the frame's
//! lowest in `keel`; spots between lines turned into one scalar bulge a strake; `carry` makes the surface of it. `fit`:
//! the fit itself; `judge` finds slips by the `evidence` with and without them, where `robust` has looked first; `ends` reads
//! profiles otherwise; `residual` compares, `impossible` says what no hull can be, `unsure` where she is little known, `draws`
//! what else she may be; after a reading has changed, `again` starts from the fit before. `proof`: [`proof_table`] proofreads by the
//! same judgement: `facts` where transom and stations stand, `slips` what a reading may have been, `whole_slips` what a
//! whole row or column may have, `consistency` and `fact_check` hold the table against itself, `one_hull` says that it is no
//! one hull's.

mod fit;
mod frame;
mod options;
mod process;
mod proof;

// Within the crate a module is known by its own name, whichever room it stands in.
use fit::{
    again, cause, certainty, draws, ends, evidence, impossible, judge, many, residual, robust, rounding,
    unsure, ways,
};
use frame::{backbone, carry, keel, keel_row, profile, sheet};
use process::{field, gp, joint, lines, matern, random};
use proof::{consistency, fact_check, facts, one_hull, slips, table_proof, whole_slips};
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
