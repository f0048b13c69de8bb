//! A mould as it comes out: its pieces, its edge, and which way it lies from its station line.

use kurbo::{BezPath, Point, Vec2};
use scrieve_hull::Curve;

use crate::EdgeBevel;
use crate::marks::Mark;
use crate::pieces::{self, Part};
use crate::stock::{Stock, board};

/// Which way a mould's thickness lies from its station line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Lies {
    /// Aft of it: in the forebody.
    Aft,
    /// Forward of it: in the afterbody.
    Forward,
}

/// A face of a mould.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Face {
    /// The face toward the stem.
    Forward,
    /// The face toward the stern.
    After,
}

/// Which side of the boat a piece is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// Left, looking forward.
    Port,
    /// Right, looking forward.
    Starboard,
    /// Both sides in one piece.
    Both,
}

/// A piece to cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// What it is of the mould.
    pub part: Part,
    /// What it is called, as "FUTTOCK 2"; nothing of a mould, or half of one, in one piece.
    pub name: String,
    /// How many are cut of it.
    pub count: usize,
    /// Its side.
    pub side: Side,
    /// One closed path, anticlockwise.
    pub outline: BezPath,
    /// Closed paths within it, clockwise.
    pub holes: Vec<BezPath>,
    /// Marks, inside the wood.
    pub marks: Vec<Mark>,
    /// Which way to move it to see it apart from those it is jointed to: the further for each joint
    /// between it and the keel.
    pub apart: Vec2,
}

impl Piece {
    /// The narrowest board it can be got out of; of those that `stock` holds, where there are any.
    pub fn board(&self, stock: Option<Stock>) -> Stock {
        board(&pieces::points_of(self.outline.segments()), stock)
    }
}

/// A mould.
#[derive(Clone, Debug, PartialEq)]
pub struct Mould {
    /// Its station's name.
    pub station: String,
    /// Its station, m aft of the forward end.
    pub x: f64,
    /// Which way its thickness lies.
    pub lies: Lies,
    /// The face that stands on the station line and carries the marks.
    pub face: Face,
    /// The exact edge on the station line, lower end to sheer.
    pub edge: Curve,
    /// The sheer on that edge.
    pub sheer: Point,
    /// One piece, or the right and the left half.
    pub pieces: Vec<Piece>,
    /// What is written on it, a line each; plain ASCII. Names, sides and counts are written by piece.
    pub labels: Vec<String>,
    /// Bevels from the lower end up.
    pub bevels: Vec<EdgeBevel>,
    /// What the builder should know of this mould.
    pub remarks: Vec<String>,
}

impl Lies {
    /// The direction of the far face from the station line, along x.
    pub(super) fn sign(self) -> f64 {
        match self {
            Lies::Aft => 1.0,
            Lies::Forward => -1.0,
        }
    }
}
