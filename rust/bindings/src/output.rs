//! What is written, for Python: over no input, and whole or not at all.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use pyo3::exceptions::PyOSError;
use pyo3::prelude::*;
use scrieve_offsets::write_whole as write_file_whole;

/// Writes a file whole or not at all: what was there is replaced only when its successor is complete. Raises
/// ScrieveError where it is an input, OSError where it cannot be written or is no plain file.
#[pyfunction]
pub fn write_whole(py: Python<'_>, path: PathBuf, data: &[u8]) -> PyResult<()> {
    over_no_input(py, &path)?;
    py.detach(|| write_file_whole::<io::Error>(&path, |file| file.write_all(data)))
        .map_err(|error| os_error(&error, &path))?;
    written(py, &path)
}

/// Raises where the file is one that was read.
pub fn over_no_input(py: Python<'_>, path: &Path) -> PyResult<()> {
    outputs(py)?.call_method1("refuse_input", (path,)).map(|_| ())
}

/// Notes that the file is our own now.
pub fn written(py: Python<'_>, path: &Path) -> PyResult<()> {
    outputs(py)?.call_method1("note_written", (path,)).map(|_| ())
}

/// The one place where files that were read are kept, which readers in Python fill.
fn outputs<'py>(py: Python<'py>) -> PyResult<Bound<'py, PyModule>> {
    py.import("scrieve.outputs")
}

/// An `OSError` with the system's number, from which Python chooses the class, and the file's name.
pub fn os_error(error: &io::Error, path: &Path) -> PyErr {
    match error.raw_os_error() {
        Some(number) => {
            // Python adds the number itself.
            let says = error.to_string();
            let says = says.split(" (os error").next().unwrap_or_default().to_owned();
            PyOSError::new_err((number, says, path.as_os_str().to_owned()))
        }
        None => PyOSError::new_err(format!("{}: {error}", path.display())),
    }
}
