//! Why a drawing was not written.

use crate::check::{Finding, check_numbers};
use crate::model::Drawing;
use std::io;

/// Why a drawing was not written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The drawing would make a broken file.
    #[error("drawing \"{name}\" cannot be written: {first}{}", more(*.others))]
    Broken {
        /// The drawing's name.
        name: String,
        /// The first thing wrong.
        first: Box<Finding>,
        /// How many more there are.
        others: usize,
    },
    /// The tolerance is not a positive number, or a coarse one.
    #[error("chord error must be more than 0 mm and at most 1 mm, not {0}")]
    Tolerance(f64),
    /// Segments would be joined that are no short ones.
    #[error("least segment must be 5 mm or less, not {0}")]
    Segment(f64),
    /// Marks would go through a part.
    #[error("marks {depth} mm deep would cut through {part}, which is {thickness} mm thick")]
    Through {
        /// Its name.
        part: String,
        /// How deep marks are cut, mm.
        depth: f64,
        /// How thick it is, mm.
        thickness: f64,
    },
    /// A length that is negative or no number.
    #[error("{what} must be 0 mm or more, not {length}")]
    Length {
        /// Which.
        what: &'static str,
        /// Its value, mm.
        length: f64,
    },
    /// Splines asked of a version that has none.
    #[error("an R12 DXF has no splines: take arcs or polylines, or R2000")]
    NoSplines,
    /// Sheets that overlap by this much leave too little of the paper, or none.
    #[error("sheets must overlap by 0 mm or more, and by {most:.1} mm or less on {on}, not by {overlap} mm")]
    Overlap {
        /// What was asked for, mm.
        overlap: f64,
        /// The most there may be, mm: 100 mm of the paper are kept both ways.
        most: f64,
        /// What they are on.
        on: &'static str,
    },
    /// More paper than anybody joins.
    #[error("it would take {0} sheets of this paper: take larger paper, one piece at a time, or no --paper")]
    TooManyTiles(f64),
    /// A picture of too many or too few dots.
    #[error("a picture must have 10 to 2400 dots to the inch, not {0}")]
    Resolution(f64),
    /// A picture too large to be held.
    #[error(
        "a picture of {width} x {height} pixels is too large: at most {most} dots to the inch, or another file"
    )]
    Pixels {
        /// Pixels across.
        width: f64,
        /// Pixels up.
        height: f64,
        /// Dots to the inch at which it could be written.
        most: f64,
    },
    /// No drawing.
    #[error("there is no drawing to write")]
    Nothing,
    /// The file could not be written.
    #[error(transparent)]
    Io(#[from] io::Error),
}

fn more(others: usize) -> String {
    if others == 0 { String::new() } else { format!(", and {others} more") }
}

/// The error for a drawing that no writer can put down.
pub(crate) fn refuse_broken(drawing: &Drawing) -> Result<(), WriteError> {
    let mut fatal = check_numbers(drawing).into_iter();
    match fatal.next() {
        None => Ok(()),
        Some(first) => Err(WriteError::Broken {
            name: drawing.name.clone(),
            first: Box::new(first),
            others: fatal.count(),
        }),
    }
}
