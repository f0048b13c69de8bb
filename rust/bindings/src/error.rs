//! What every error of scrieve is.

use pyo3::create_exception;
use pyo3::exceptions::PyValueError;

create_exception!(
    scrieve,
    ScrieveError,
    PyValueError,
    "Something asked of scrieve that it cannot do; the message says what would do."
);
create_exception!(
    scrieve,
    InternalError,
    ScrieveError,
    "A fault of scrieve itself, and none of the table or of what was asked."
);
