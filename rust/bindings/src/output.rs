//! What is written, for Python: over no input, and whole or not at all.

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use pyo3::exceptions::PyOSError;
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
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

/// Those who keep what was read and what was written: they are handed in, since they stand on the floors above.
static KEPT: PyOnceLock<[Py<PyAny>; 2]> = PyOnceLock::new();
/// What was written before anyone kept it.
static WRITTEN: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Hands in who is asked before a file is written, and who is told after it was: each is given the path. Once, by
/// `scrieve.outputs`.
#[pyfunction]
pub fn keep_outputs(py: Python<'_>, refuse_input: Py<PyAny>, note_written: Py<PyAny>) -> PyResult<()> {
    let [_, told] = KEPT.get_or_init(py, || [refuse_input, note_written]);
    let earlier = std::mem::take(&mut *WRITTEN.lock().unwrap_or_else(PoisonError::into_inner));
    earlier.into_iter().try_for_each(|path| told.call1(py, (path,)).map(|_| ()))
}

/// Raises where the file is one that was read; where nobody keeps what was, nothing was.
pub fn over_no_input(py: Python<'_>, path: &Path) -> PyResult<()> {
    KEPT.get(py).map_or(Ok(()), |[asked, _]| asked.call1(py, (path,)).map(|_| ()))
}

/// Notes that the file is our own now.
pub fn written(py: Python<'_>, path: &Path) -> PyResult<()> {
    if let Some([_, told]) = KEPT.get(py) {
        return told.call1(py, (path,)).map(|_| ());
    }
    WRITTEN.lock().unwrap_or_else(PoisonError::into_inner).push(path.to_owned());
    Ok(())
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
