//! Readings: one measurement as the trade writes it, held exactly.
//!
//! A reading is feet, inches and eighths (`3-4-5+`), or a metric or decimal-inch length with its unit.
//! Every value is a whole number of ten-millionths of a millimetre, which holds both 1/128 in
//! (0.198 437 5 mm, by the exact inch of NIST SP 811, appendix B) and decimal millimetres without
//! rounding.

mod column;
mod dialect;
mod grammar;
mod length;
mod meaning;
mod plain;
mod reading;
mod write;

pub use column::read_column;
pub use dialect::{Dialect, OnePart, Precision, TwoPart, Units};
pub use length::Length;
pub use meaning::{LONGEST, parse_cell, parse_plus};
pub use plain::to_ascii;
pub use reading::{Mark, NotationError, Parsed, Reading};
pub use write::write_length;

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests;
