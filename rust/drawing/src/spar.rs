//! A spar on paper: the faces of its blank with the lines for its sides, what of it is hollow, its sections, the gauge
//! that marks it, and its scarfs.
//!
//! At full size everything is a mark on the wood, and nothing is cut by it unasked; foreshortened it is a drawing with
//! its ordinates written below.

mod faces;
mod gauge;
mod scarf;
mod sections;

pub use gauge::gauge_drawing;
pub use scarf::scarf_drawing;

use kurbo::Point;
use scrieve_loft::spar::{Member, Spar, SparError};
use scrieve_notation::Units;

use crate::{Anchor, Drawing, Operation, Stroke};

/// Breadth of a drawing that fits an A3 sheet with a margin, mm.
const SHEET_MM: f64 = 380.0;
/// Scales in common use.
const SCALES: [f64; 8] = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0];
/// Letters on a sheet (ISO 3098), and on a full-size drawing that is read standing, mm.
const LETTER_MM: f64 = 2.5;
const FULL_SIZE_LETTER_MM: f64 = 5.0;
/// A face is drawn no wider than this where its breadth is foreshortened too, mm.
const FACE_MM: f64 = 120.0;

/// What is drawn along a spar: heel tenon, partners, hounds, sheave ... Metres.
#[derive(Clone, Debug, PartialEq)]
pub struct SparMark {
    /// What it is.
    pub name: String,
    /// Where it begins.
    pub from: f64,
    /// Where it ends: the same place for a line across.
    pub to: f64,
    /// How wide it is; nothing for what goes from edge to edge.
    pub width: f64,
}

/// A spar to be drawn.
#[derive(Clone, Debug)]
pub struct SparSheet<'a> {
    /// The spar.
    pub spar: &'a Spar,
    /// Its name, from which files are named.
    pub name: String,
    /// Its title.
    pub title: String,
    /// What its ends are called, from the heel.
    pub ends: [String; 2],
    /// What its faces are called: the one y points to, the other, and the two sides.
    pub faces: [String; 4],
    /// From ordinate to ordinate, m.
    pub every: f64,
    /// How lengths are written.
    pub units: Units,
    /// What is marked along it.
    pub marks: Vec<SparMark>,
    /// 1 to so much along it and across; left out, to fit a sheet. 1 and 1 is full size.
    pub scale: Option<[f64; 2]>,
    /// Kerfs in the glued face of a half, their pitch and the blade's kerf, m.
    pub kerfs: Option<[f64; 2]>,
    /// Its sticks in their lengths, where it is scarfed, one of each pattern, and how long a scarf is.
    pub members: Option<(Vec<Member>, f64)>,
}

/// Why there is no drawing.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SparDrawingError {
    /// A scale that is none.
    #[error("a spar is drawn at 1 to {0}: give a number above 0")]
    Scale(f64),
    /// A gauge with no room for its pencils.
    #[error(
        "a gauge for {sides} sides of flats {:.1} mm wide has no room for its pencils: mark it with dividers", widest * 1e3
    )]
    NoRoom {
        /// Sides.
        sides: usize,
        /// The widest flat, m.
        widest: f64,
    },
    /// The spar has no answer.
    #[error(transparent)]
    Spar(#[from] SparError),
}

impl SparSheet<'_> {
    /// True if it is drawn at its own size.
    fn is_full_size(&self) -> bool {
        self.scale == Some([1.0, 1.0])
    }

    fn scale(&self) -> Result<[f64; 2], SparDrawingError> {
        if let Some(scale) = self.scale {
            return match scale.into_iter().find(|n| !(n.is_finite() && *n > 0.0)) {
                Some(bad) => Err(SparDrawingError::Scale(bad)),
                None => Ok(scale),
            };
        }
        let [depth, breadth, length] = self.spar.blank();
        let first = |room: f64, metres: f64| {
            let fits = SCALES.into_iter().find(|n| 1e3 * metres / n <= room);
            fits.unwrap_or(SCALES[SCALES.len() - 1])
        };
        Ok([first(SHEET_MM, length), first(FACE_MM, depth.max(breadth))])
    }

    fn letter(&self) -> f64 {
        if self.is_full_size() { FULL_SIZE_LETTER_MM } else { LETTER_MM }
    }
}

/// What each thing is drawn with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pen {
    Edges,
    Eight,
    Sixteen,
    ThirtyTwo,
    Hollow,
    Kerfs,
    Staves,
    Middle,
    Places,
    Marks,
    Letters,
}

impl Pen {
    const ALL: [Pen; 11] = [
        Pen::Edges,
        Pen::Eight,
        Pen::Sixteen,
        Pen::ThirtyTwo,
        Pen::Hollow,
        Pen::Kerfs,
        Pen::Staves,
        Pen::Middle,
        Pen::Places,
        Pen::Marks,
        Pen::Letters,
    ];

    fn of_sides(sides: usize) -> Pen {
        match sides {
            8 => Pen::Eight,
            16 => Pen::Sixteen,
            _ => Pen::ThirtyTwo,
        }
    }

    fn drawn_with(self) -> (&'static str, Stroke) {
        let black = [0, 0, 0];
        match self {
            Pen::Edges => ("Edges", Stroke::solid(0.35, black)),
            Pen::Eight => ("8 sides", Stroke::solid(0.25, [0, 114, 178])),
            Pen::Sixteen => ("16 sides", Stroke::solid(0.18, [213, 94, 0]).dashed(&[5.0, 1.5])),
            Pen::ThirtyTwo => ("32 sides", Stroke::solid(0.18, [0, 158, 115]).dashed(&[1.5, 1.0])),
            Pen::Hollow => ("Hollow", Stroke::solid(0.25, black).dashed(&[3.0, 1.0])),
            Pen::Kerfs => ("Kerfs", Stroke::solid(0.13, [136, 44, 40])),
            Pen::Staves => ("Staves", Stroke::solid(0.2, black)),
            Pen::Middle => ("Middle line", Stroke::solid(0.13, black).dashed(&[8.0, 1.5, 1.0, 1.5])),
            Pen::Places => ("Places", Stroke::solid(0.13, [96, 96, 96])),
            Pen::Marks => ("Marks", Stroke::solid(0.25, black)),
            Pen::Letters => ("Letters", Stroke::solid(0.18, black)),
        }
    }
}

/// The paper.
struct Sheet {
    drawing: Drawing,
    layers: [Option<usize>; Pen::ALL.len()],
    operation: Operation,
    letter: f64,
}

impl Sheet {
    fn new(name: &str, title: &str, operation: Operation, letter: f64) -> Sheet {
        Sheet { drawing: Drawing::new(name, title), layers: [None; Pen::ALL.len()], operation, letter }
    }

    /// Layers are made as they are first drawn on: an empty one would be asked about in the shop.
    fn pen(&mut self, pen: Pen) -> usize {
        if let Some(layer) = self.layers[pen as usize] {
            return layer;
        }
        let (name, stroke) = pen.drawn_with();
        let operation = if pen == Pen::Letters { Operation::Annotate } else { self.operation };
        let layer = self.drawing.layer_drawn(name, operation, stroke);
        self.layers[pen as usize] = Some(layer);
        layer
    }

    fn line(&mut self, pen: Pen, points: impl IntoIterator<Item = Point>, closed: bool) {
        let layer = self.pen(pen);
        self.drawing.polyline(layer, points, closed);
    }

    fn write(&mut self, text: impl Into<String>, at: (f64, f64), anchor: Anchor, times: f64) {
        let (layer, height) = (self.pen(Pen::Letters), times * self.letter);
        self.drawing.text(layer, at.into(), height, 0.0, anchor, text);
    }

    fn write_up(&mut self, text: impl Into<String>, at: (f64, f64), anchor: Anchor) {
        let (layer, height) = (self.pen(Pen::Letters), self.letter);
        self.drawing.text(layer, at.into(), height, std::f64::consts::FRAC_PI_2, anchor, text);
    }
}
