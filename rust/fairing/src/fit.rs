//! The fit.

use scrieve_offsets::{CellId, Survey};

use crate::{Options, Surface};

/// How a reading sits on the faired surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual {
    /// The cell.
    pub cell: CellId,
    /// The reading, m.
    pub read: f64,
    /// The same place on the faired surface, measured the same way, m.
    pub faired: f64,
    /// One standard deviation of the faired value, m.
    pub sd: f64,
    /// Its tolerance, m.
    pub tolerance: f64,
    /// Left out, or weighed down, because the rest of the boat contradicts it.
    pub doubted: bool,
}

/// A faired hull.
#[derive(Clone, Debug, PartialEq)]
pub struct Faired {
    /// The surface.
    pub surface: Surface,
    /// One for every reading used.
    pub residuals: Vec<Residual>,
    /// What the fit has to say: assumptions made, readings that stood in the way.
    pub remarks: Vec<String>,
}

/// Why a survey cannot be faired.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FairingError {
    /// There is too little to make a surface of.
    #[error("too few readings for a surface: {0}")]
    TooFew(String),
    /// Readings contradict each other so that no hull can pass near them.
    #[error("the readings contradict each other: {0}")]
    Contradiction(String),
}

/// Fairs a survey.
pub fn fair(_survey: &Survey, _options: &Options) -> Result<Faired, FairingError> {
    unimplemented!("the fit")
}
