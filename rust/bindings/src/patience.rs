//! Long work that Ctrl-C ends at once: it runs on a thread of its own while the caller listens for signals.
//!
//! Work that is given up runs on unheard until it is done, or the process ends; what it was given it owns, so
//! nothing is half changed by that.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread;
use std::time::Duration;

use pyo3::exceptions::PyKeyboardInterrupt;
use pyo3::prelude::*;

use crate::error::InternalError;

/// How long a signal may wait. Longer and a person presses the keys again; much shorter and listening would
/// itself cost something.
const SLICE: Duration = Duration::from_millis(50);

/// As much as a system gives its main thread.
const STACK_BYTES: usize = 8 << 20;

/// Raised by each call of [`give_up`]; work begun before is given up.
static GIVEN_UP: AtomicU64 = AtomicU64::new(0);

/// Gives up all work begun before now, on whichever thread it is waited for: signals reach the main thread only.
#[pyfunction]
pub fn give_up() {
    GIVEN_UP.fetch_add(1, Ordering::SeqCst);
}

/// Ends as a fault of scrieve's own would, on the thread that does the work or on one of that thread's own, so that what
/// then becomes of it can be tried. Raises InternalError.
#[pyfunction]
#[pyo3(signature = (said, *, deeper = false))]
#[allow(clippy::panic)]
pub fn fault(py: Python<'_>, said: String, deeper: bool) -> PyResult<()> {
    patiently(py, move || {
        if !deeper {
            panic!("{said}");
        }
        thread::scope(|scope| {
            let worker = scope.spawn(|| panic!("{said}"));
            let Err(panic) = worker.join();
            std::panic::resume_unwind(panic);
        });
    })
}

/// What `work` gives, or KeyboardInterrupt, or what else a signal's handler raises.
pub fn patiently<T: Send + 'static>(
    py: Python<'_>,
    work: impl FnOnce() -> T + Send + 'static,
) -> PyResult<T> {
    let begun = GIVEN_UP.load(Ordering::SeqCst);
    let (tell, mut told) = mpsc::channel();
    let worker = thread::Builder::new().name("scrieve".into()).stack_size(STACK_BYTES).spawn(move || {
        // Nobody listens any more where the work was given up.
        let _ = tell.send(work());
    })?;
    loop {
        let heard;
        (heard, told) = py.detach(move || (told.recv_timeout(SLICE), told));
        match heard {
            Ok(made) => return Ok(made),
            Err(RecvTimeoutError::Timeout) => {
                py.check_signals()?;
                if GIVEN_UP.load(Ordering::SeqCst) != begun {
                    return Err(PyKeyboardInterrupt::new_err("given up"));
                }
            }
            // It panicked, there or on a thread of its own.
            Err(RecvTimeoutError::Disconnected) => {
                let panic = worker.join().err();
                let said = panic.as_deref().and_then(|panic| {
                    panic
                        .downcast_ref::<String>()
                        .map(String::as_str)
                        .or(panic.downcast_ref::<&str>().copied())
                });
                return Err(InternalError::new_err(format!(
                    "a fault of scrieve itself, not of the table: {}; please report it with the table",
                    said.unwrap_or("work ended without a result")
                )));
            }
        }
    }
}
