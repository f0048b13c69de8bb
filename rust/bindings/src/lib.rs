//! Python classes over the core: conversions and errors only.

use pyo3::prelude::*;

/// The compiled core of scrieve.
#[pymodule]
mod _core {}
