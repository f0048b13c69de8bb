//! Many readings from one text.

use crate::{Dialect, NotationError, Parsed, parse_cell};

/// Reads a column, one reading a line: for each line what `parse_cell` makes of it, so a blank line is no
/// reading. Spans count from the start of their line. Either kind of line end and a byte-order mark are
/// accepted. Nothing is allocated for a sound reading.
pub fn read_column<'a>(
    text: &'a str,
    dialect: &'a Dialect,
) -> impl Iterator<Item = Result<Option<Parsed<'a>>, NotationError>> {
    text.strip_prefix('\u{feff}').unwrap_or(text).lines().map(|line| parse_cell(line, dialect))
}
