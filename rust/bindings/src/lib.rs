//! Python classes over the core: conversions and errors only.

use pyo3::prelude::*;

mod reading;

/// The compiled core of scrieve.
#[pymodule]
mod _core {
    #[pymodule_export]
    use crate::reading::{PyReading, ReadingError, read_column};
}
