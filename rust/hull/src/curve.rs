//! Curves on or parallel to the hull: exact samples close enough that what lies between them is known.

use kurbo::BezPath;

/// A plane that curves lie in and are drawn in.
///
/// `origin + a * right + b * up` is the point of the drawing at (a, b).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// Origin, m.
    pub origin: [f64; 3],
    /// Unit vector of the drawing's first axis.
    pub right: [f64; 3],
    /// Unit vector of the drawing's second axis.
    pub up: [f64; 3],
}

/// An exact point of a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Position, m.
    pub p: [f64; 3],
    /// Unit tangent, in the direction of the curve.
    pub tangent: [f64; 3],
    /// Outward unit normal of the hull there.
    pub normal: [f64; 3],
}

/// A curve in space: pieces of exact samples, G1 within a piece, meeting at corners (chines).
///
/// Between samples it is the cubic with their positions and tangents; samples are chosen so that this
/// cubic lies within the tolerance asked for (1 µm unless said otherwise) of the true curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// The plane it lies in.
    pub plane: Plane,
    /// The pieces, in order; the end of one is the start of the next.
    pub pieces: Vec<Vec<Sample>>,
}

impl Curve {
    /// `n` points equally spaced along the length, ends included, m.
    pub fn points(&self, _n: usize) -> Vec<[f64; 3]> {
        unimplemented!("arc length")
    }

    /// Length, m.
    pub fn length(&self) -> f64 {
        unimplemented!("arc length")
    }

    /// The curve in its plane as a path, m.
    pub fn path(&self) -> BezPath {
        unimplemented!("cubics")
    }
}
