//! A reading, and what can be wrong with one.

use std::ops::Range;

use crate::Length;

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

impl Mark {
    /// As it is written: nothing, `?` or `!`.
    pub fn text(self) -> &'static str {
        match self {
            Mark::Plain => "",
            Mark::Doubtful => "?",
            Mark::Held => "!",
        }
    }
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

/// A reading as it came out of a text, which it still borrows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Parsed<'a> {
    /// The value.
    pub length: Length,
    /// The mark.
    pub mark: Mark,
    /// What its last written place is worth.
    pub place: Length,
    /// As written, without the mark.
    pub written: &'a str,
    /// Parts out of range that a lenient dialect let pass.
    pub warnings: Vec<NotationError>,
}

impl Parsed<'_> {
    /// The reading, to keep.
    pub fn into_reading(self) -> Reading {
        Reading { length: self.length, mark: self.mark, place: self.place, written: self.written.to_owned() }
    }
}

/// Why a text is not a reading.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{found}: expected {expected}")]
pub struct NotationError {
    /// The offending bytes within the text given; empty where something is missing.
    pub span: Range<usize>,
    /// What stands there.
    pub found: String,
    /// What was expected instead.
    pub expected: String,
}

impl NotationError {
    /// The text on one line and, on the next, carets under what is wrong; of a long text, the part about it.
    pub fn underlined(&self, text: &str) -> String {
        /// Characters shown before the slip, and in all: what fits a narrow terminal.
        const BEFORE: usize = 40;
        const SHOWN: usize = 78;
        let before = text.char_indices().take_while(|(at, _)| *at < self.span.start).count();
        let start = before.saturating_sub(BEFORE);
        let shown = || text.char_indices().skip(start).take(SHOWN);
        let plain: String = shown().map(|(_, c)| if c.is_control() { ' ' } else { c }).collect();
        let under = shown().filter(|(at, _)| self.span.contains(at)).count().max(1);
        format!("{plain}\n{}{}", " ".repeat(before - start), "^".repeat(under))
    }
}
