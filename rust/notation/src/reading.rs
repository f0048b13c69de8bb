//! Readings, the dialects they are written in, and what can be wrong with them.

use std::ops::Range;

use crate::Length;

/// The units a table is written in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Units {
    /// `3-4-5`: feet, inches, eighths.
    #[default]
    FeetInchesEighths,
    /// Decimal inches.
    Inches,
    /// Millimetres.
    Millimetres,
    /// Metres.
    Metres,
}

/// What a reading of two parts means where a file declares it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TwoPart {
    /// `1-6` is 1 ft 6 in.
    FeetInches,
    /// `1-6` is 1 in and 6 eighths.
    InchesEighths,
}

/// How readings are to be understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dialect {
    /// Units of a number written without one.
    pub units: Units,
    /// What `+` and `-` are worth; a sixteenth of an inch unless the file says otherwise.
    pub plus: Length,
    /// The meaning of a two-part reading; `None` makes one an error.
    pub two_part: Option<TwoPart>,
    /// Accept parts out of range (`3-12-0`) with a warning.
    pub lenient: bool,
}

impl Default for Dialect {
    fn default() -> Self {
        Dialect { units: Units::default(), plus: Length::from_128ths(8), two_part: None, lenient: false }
    }
}

/// A mark a person puts on a reading.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Mark {
    /// None.
    #[default]
    Plain,
    /// `?`: counts for less in fairing.
    Doubtful,
    /// `!`: fairing must not move it.
    Held,
}

/// One reading: its exact value, its mark and the hand it was written in.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Reading {
    /// The value.
    pub length: Length,
    /// The mark.
    pub mark: Mark,
    /// What its last written place is worth: the spacing of the readings this hand could have written.
    pub place: Length,
    /// As written, without the mark.
    pub written: String,
}

/// How finely a length is written in feet, inches and eighths.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Precision {
    /// To the eighth.
    Eighth,
    /// To the sixteenth, with `+` and `-`.
    #[default]
    Sixteenth,
    /// To the thirty-second.
    ThirtySecond,
}

/// Why a text is not a reading.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{found}: expected {expected}")]
pub struct NotationError {
    /// The offending bytes within the text given.
    pub span: Range<usize>,
    /// What stands there.
    pub found: String,
    /// What was expected instead.
    pub expected: String,
}

/// Reads one cell: `Ok(None)` for `-` or `x`, no reading here.
pub fn parse_cell(_text: &str, _dialect: &Dialect) -> Result<Option<Reading>, NotationError> {
    unimplemented!("the grammar")
}

/// Writes a length in the given units; `precision` matters for feet, inches and eighths only.
pub fn write_length(_length: Length, _units: Units, _precision: Precision) -> String {
    unimplemented!("the writer")
}
