//! One drawing model for every writer: layers by operation, paths, marks and text, in millimetres.

use kurbo::{BezPath, Point};

/// What the shop does with a layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Operation {
    /// Cut through along the outside of the line.
    CutOutside,
    /// Cut through along the inside of the line: holes, notches.
    CutInside,
    /// Score or draw: grid lines, marks.
    Mark,
    /// Engrave letters.
    Engrave,
    /// Not cut: titles, dimensions, the lines drawing.
    Annotate,
}

/// How a line of a layer looks on screen and paper.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// Width on paper, mm.
    pub width_mm: f64,
    /// Colour, sRGB.
    pub rgb: [u8; 3],
    /// Dashes and gaps on paper, mm; empty is solid.
    pub dashes_mm: Vec<f64>,
}

/// A layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Its name: plain ASCII.
    pub name: String,
    /// What is done with it.
    pub operation: Operation,
    /// How it looks.
    pub stroke: Stroke,
}

/// Where a text stands against its point.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end at the point.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// Something drawn. Layers are indices into the drawing's list; lengths are mm.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A line, open or closed by its own `ClosePath`.
    Path {
        /// Layer.
        layer: usize,
        /// The path, mm.
        path: BezPath,
    },
    /// A line of text.
    Text {
        /// Layer.
        layer: usize,
        /// Where.
        at: Point,
        /// Letter height, mm.
        height: f64,
        /// Anticlockwise from the first axis, radians.
        angle: f64,
        /// Which end of it is at the point.
        anchor: Anchor,
        /// What it says.
        text: String,
    },
}

/// A drawing, y up, in millimetres at full size unless its name says otherwise.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// Its name, from which a file is named.
    pub name: String,
    /// Its title.
    pub title: String,
    /// Layers.
    pub layers: Vec<Layer>,
    /// What is drawn, in order.
    pub items: Vec<Item>,
}
