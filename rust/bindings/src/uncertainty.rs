//! Hulls the readings leave possible, for Python.

use pyo3::prelude::*;

use crate::hull::{Hull, fairing_error};
use crate::patience::patiently;

/// Hulls the readings leave possible, `count` of them, drawn by a seed; the first are the same whatever the
/// count. Raises `FairingError` where the readings are too loose to make a hull of every draw.
#[pyfunction]
pub fn samples(py: Python<'_>, hull: Py<Hull>, count: usize, seed: u64) -> PyResult<Vec<Hull>> {
    let drawn = patiently(py, move || hull.get().hull.draws(count, seed))?.map_err(fairing_error)?;
    Ok(drawn.into_iter().map(|hull| Hull { hull, remarks: Vec::new() }).collect())
}
