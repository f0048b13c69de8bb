//! Many readings from one text.

use crate::{Dialect, NotationError, Parsed, parse_cell};

/// Reads a column, one reading a line: for each line what `parse_cell` makes of it, so a blank line is no
/// reading. Spans count from the start of their line. Either kind of line end and a byte-order mark are
/// accepted. Nothing is allocated for a sound reading.
pub fn read_column<'a>(
    text: &'a str,
    dialect: &'a Dialect,
) -> impl Iterator<Item = Result<Option<Parsed<'a>>, NotationError>> {
    let mut rest = text.strip_prefix('\u{feff}').unwrap_or(text);
    // Not `lines`, whose search is for longer ones; a carriage return goes with the blanks round a cell.
    std::iter::from_fn(move || {
        let end = rest.bytes().position(|b| b == b'\n');
        let line = &rest[..end.unwrap_or(rest.len())];
        rest = end.map_or("", |end| &rest[end + 1..]);
        (end.is_some() || !line.is_empty()).then(|| parse_cell(line, dialect))
    })
}
