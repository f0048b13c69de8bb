//! Hulls the readings leave possible, for Python.

use std::sync::OnceLock;

use pyo3::prelude::*;
use scrieve_hull::HullError;

use crate::hull::{Hull, fairing_error, hull_error};
use crate::patience::patiently;

/// Hulls the readings leave possible, `count` of them, drawn by a seed; the first are the same whatever the
/// count. Raises `FairingError` where the readings are too loose to make a hull of every draw,
/// `HullError` where one cannot be carried to the face of the planking that hull is.
#[pyfunction]
pub fn samples(py: Python<'_>, hull: Py<Hull>, count: usize, seed: u64) -> PyResult<Vec<Hull>> {
    let drawn = patiently(py, move || hull.get().boat.draws(count, seed))?.map_err(|error| match error {
        HullError::Fairing(error) => fairing_error(error),
        error => hull_error(error),
    })?;
    let drawn = drawn.into_iter();
    let none = |boat| Hull {
        boat,
        remarks: Vec::new(),
        no_hull: None,
        whole_slips: Vec::new(),
        against: Vec::new(),
        is_weighed: OnceLock::new(),
    };
    Ok(drawn.map(none).collect())
}
