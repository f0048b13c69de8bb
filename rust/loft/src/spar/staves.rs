//! Notched staves: n alike, square at one edge and notched at the other, each seating its square edge in the next one's
//! notch.
//!
//! With φ = 2π/n between two staves the notch is a right angle whose flanks lie along the end and the inner face of the
//! stave it takes. Its apex stands t sin²φ off the inner face, so that both lips end at one edge: at φ = 45° in the middle.
//! That the square edge's inner corner, turned by φ, is the apex gives the width.

use std::f64::consts::PI;
use std::ops::RangeInclusive;

use super::{Build, Spar};

/// Of how many staves a spar may be: at five the notch is all lip, past sixteen the staves are slivers.
pub const STAVES: RangeInclusive<usize> = 6..=16;

/// A stave at a place along the spar, before it is rounded. Metres and radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Notch {
    /// Angle from stave to stave.
    pub turn: f64,
    /// The stave's thickness.
    pub thickness: f64,
    /// Its width, lips included.
    pub width: f64,
    /// How deep the notch is.
    pub depth: f64,
    /// How far its apex is from the inner face.
    pub apex: f64,
    /// From the middle of the spar to the outer face.
    pub outer: f64,
    /// From the foot of the perpendicular from the middle to the square edge, negative.
    pub square_edge: f64,
}

impl Notch {
    /// The notch of `n` staves of this thickness round a circle of this radius.
    pub fn new(n: usize, thickness: f64, radius: f64) -> Self {
        let turn = 2.0 * PI / n as f64;
        let (sin, cos) = turn.sin_cos();
        let half = (0.5 * turn).tan();
        let inner = radius - thickness;
        let (apex, depth) = (thickness * sin * sin, thickness * sin * cos);
        let square_edge = -(inner * half + apex / sin);
        let width = (2.0 * inner + apex) * half + depth;
        Notch { turn, thickness, width, depth, apex, outer: radius, square_edge }
    }

    /// The stave's section, (along its width, out from the middle of the spar), from the inner square corner round.
    pub fn outline(&self) -> [[f64; 2]; 5] {
        let (left, right) = (self.square_edge, self.square_edge + self.width);
        let inner = self.outer - self.thickness;
        [
            [left, inner],
            [right, inner],
            [right - self.depth, inner + self.apex],
            [right, self.outer],
            [left, self.outer],
        ]
    }

    /// What of one joint is glued in the section: both flanks of the notch.
    pub fn glued(&self) -> f64 {
        let (sin, cos) = self.turn.sin_cos();
        (self.thickness - self.apex) / cos + self.apex / sin
    }
}

impl Spar {
    /// The stave at a place; `None` where it is not built of staves.
    pub fn notch(&self, s: f64) -> Option<Notch> {
        match (self.build, &self.wall) {
            (Build::Staves(n), Some(wall)) => Some(Notch::new(n, wall.thickness(s), self.half(s)[0])),
            _ => None,
        }
    }
}
