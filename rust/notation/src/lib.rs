//! Readings: one measurement as the trade writes it, held exactly.
//!
//! A reading is feet, inches and eighths (`3-4-5+`), or a metric or decimal-inch length with its unit.
//! Every value is a whole number of ten-millionths of a millimetre, which holds both 1/128 in
//! (0.198 437 5 mm, by the exact inch of NIST SP 811, appendix B) and decimal millimetres without
//! rounding.

mod length;
mod reading;

pub use length::Length;
pub use reading::{
    Dialect, Mark, NotationError, Precision, Reading, TwoPart, Units, parse_cell, write_length,
};
