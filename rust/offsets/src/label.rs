//! What a row of the table measures, as its label says.

use std::ops::Range;

use scrieve_notation::{Dialect, Length, parse_cell};

use crate::Block;
use crate::nearest::suggest;

/// What a row of the table measures.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LineKind {
    /// The sheer.
    Sheer,
    /// The rabbet.
    Rabbet,
    /// The underside of the keel.
    Keel,
    /// A chine or knuckle, by name; the name is empty where the boat has only one.
    Chine(String),
    /// A waterline at a height above the base line.
    Waterline(Length),
    /// A buttock at a distance from the centreline.
    Buttock(Length),
    /// A diagonal, by name.
    Diagonal(String),
}

/// Why a label is not one.
pub(crate) struct LabelError {
    /// The offending bytes of the label.
    pub(crate) at: Range<usize>,
    /// What is wrong.
    pub(crate) problem: String,
    /// What was expected.
    pub(crate) expected: String,
}

/// Reads the label of a row that stands in `block`; `lifts` are the heights of the glue lines.
pub(crate) fn parse_label(
    block: Block,
    label: &str,
    dialect: &Dialect,
    lifts: &[Length],
) -> Result<LineKind, LabelError> {
    if block == Block::Diagonals {
        let name = label.strip_prefix("diagonal ").unwrap_or(label).trim();
        return Ok(LineKind::Diagonal(name.to_owned()));
    }
    let (first, rest) = label.split_once(char::is_whitespace).unwrap_or((label, ""));
    let rest = rest.trim();
    let word = first.to_lowercase();
    let wrong = |at, problem, expected| LabelError { at, problem, expected };
    let of_rest = label.len() - rest.len()..label.len();
    let distance = |what: &str| match parse_cell(rest, dialect) {
        Ok(Some(reading)) => Ok(reading.length),
        Ok(None) => {
            Err(wrong(0..label.len(), format!("{what} is missing"), "a reading after the word".to_owned()))
        }
        Err(e) => Err(wrong(of_rest.start + e.span.start..of_rest.start + e.span.end, e.found, e.expected)),
    };
    let (kind, home) = match word.as_str() {
        "sheer" | "rabbet" | "keel" if !rest.is_empty() => {
            return Err(wrong(of_rest, format!("`{rest}` after {word}"), format!("`{word}` alone")));
        }
        "sheer" => (LineKind::Sheer, block),
        "rabbet" => (LineKind::Rabbet, block),
        "keel" => (LineKind::Keel, Block::Heights),
        "chine" | "knuckle" => (LineKind::Chine(rest.to_owned()), block),
        "waterline" => (LineKind::Waterline(distance("a waterline's height")?), Block::HalfBreadths),
        "buttock" => (LineKind::Buttock(distance("a buttock's half-breadth")?), Block::Heights),
        "lift" => {
            let top = rest.parse::<usize>().ok().and_then(|n| lifts.get(n.checked_sub(1)?));
            let Some(top) = top else {
                let expected = match lifts.len() {
                    0 => "`[lifts]` with `thicknesses` among the facts".to_owned(),
                    n => format!("a number from 1 to {n}, counted from the keel up"),
                };
                return Err(wrong(of_rest, format!("no lift `{rest}`"), expected));
            };
            (LineKind::Waterline(*top), Block::HalfBreadths)
        }
        _ => {
            let expected = suggest(&word, labels_of(block));
            return Err(wrong(0..first.len(), format!("no row is called `{first}`"), expected));
        }
    };
    if home == block {
        Ok(kind)
    } else {
        let (problem, expected) = (format!("a {word} row under [{block}]"), format!("a row under [{home}]"));
        Err(wrong(0..label.len(), problem, expected))
    }
}

fn labels_of(block: Block) -> &'static [&'static str] {
    match block {
        Block::Heights => &["sheer", "rabbet", "keel", "chine", "buttock"],
        _ => &["sheer", "rabbet", "chine", "waterline", "lift"],
    }
}
