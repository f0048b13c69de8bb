//! From four sides to eight, sixteen and thirty-two: where the lines lie, and what a spar gauge makes of them.
//!
//! The flats of n sides round a circle of diameter d are d tan(π/n) wide. An oval is a circle stretched, and its sides
//! are those of the circle stretched alike: each touches it still, and a line keeps its fraction of the flat it is on.

use std::f64::consts::PI;

use super::{Build, Shape, Spar, SparError};

/// How many sides a spar is given, one after another.
pub const SIDES: [usize; 3] = [8, 16, 32];

/// How far in from either edge of a flat of n sides the lines of 2n lie, for a circle of diameter 1.
pub fn in_from_edge(sides: usize) -> f64 {
    let n = sides as f64;
    0.5 * ((2.0 * PI / n).tan() - (PI / n).tan())
}

/// The same as a fraction of the flat the lines are drawn on; `sides` are those that come of it.
pub fn fraction_in(sides: usize) -> f64 {
    in_from_edge(sides) / (2.0 * PI / sides as f64).tan()
}

/// A flat on which two lines are drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flat {
    /// Which: 0 is the first face, and so round, in parts of a turn of the circle that is stretched.
    pub turn: f64,
    /// Its width, m.
    pub width: f64,
    /// How far in from either edge the lines lie, m.
    pub in_from_edge: f64,
    /// How wide the new flat between them is, m.
    pub left: f64,
}

impl Spar {
    /// The sides lines are marked for, in turn. A ring of staves has as many sides as staves when it is glued: of eight or
    /// sixteen it goes on from there, and of other counts none of them come.
    pub fn sides(&self) -> &'static [usize] {
        match (self.shape, self.build) {
            (Shape::Rectangular, _) => &[],
            (_, Build::Staves(8)) => &SIDES[1..],
            (_, Build::Staves(16)) => &SIDES[2..],
            (_, Build::Staves(_)) => &[],
            _ => &SIDES,
        }
    }

    /// The flats to be marked for `sides`, at a place: those of a quarter of the spar, since the others are like them;
    /// of a round one the first alone, since all are alike.
    ///
    /// # Errors
    /// Sides other than 8, 16 and 32; a rectangular spar; staves that have those sides already, or never will.
    pub fn flats(&self, sides: usize, s: f64) -> Result<Vec<Flat>, SparError> {
        if !SIDES.contains(&sides) {
            return Err(SparError::Sides { sides });
        }
        if self.shape == Shape::Rectangular {
            return Err(SparError::NoSides);
        }
        if let Build::Staves(count) = self.build
            && !self.sides().contains(&sides)
        {
            return Err(SparError::SidesOfStaves { count, sides });
        }
        let [a, b] = self.half(s);
        let before = sides / 2;
        let wide = 2.0 * (PI / before as f64).tan();
        let count = if self.shape == Shape::Round { 0 } else { before / 4 };
        Ok((0..=count)
            .map(|k| {
                let turn = k as f64 / before as f64;
                let (sin, cos) = (2.0 * PI * turn).sin_cos();
                let width = wide * (a * sin).hypot(b * cos);
                let line = fraction_in(sides) * width;
                Flat { turn, width, in_from_edge: line, left: width - 2.0 * line }
            })
            .collect())
    }
}

/// A spar gauge: two pegs that bear on the edges of a flat and two pencils between them, turned until both bear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    /// How many sides come of its lines.
    pub sides: usize,
    /// Clear between the pegs, m.
    pub span: f64,
    /// The pegs' diameter, m; nothing for points.
    pub peg: f64,
    /// How far either pencil is from the peg nearer it, of the span.
    pub part: f64,
}

impl Gauge {
    /// One whose pencils part the span as given: 7, 10, 7.
    pub fn of_parts(sides: usize, span: f64, peg: f64, parts: [u32; 3]) -> Self {
        let [first, middle, last] = parts.map(f64::from);
        Gauge { sides, span, peg, part: first / (first + middle + last) }
    }

    /// One whose pencils are set for flats from `narrowest` to `widest`, m, so that its greatest errors there are alike.
    ///
    /// Pegs of some thickness bear off its line where it is turned, so that it marks a narrow flat too near the edges; set
    /// by the exact ratio it would err most where the spar is thinnest.
    pub fn fitted(sides: usize, span: f64, peg: f64, narrowest: f64, widest: f64) -> Self {
        let error = |part: f64, w: f64| Gauge { sides, span, peg, part }.error(w);
        let worst = |part: f64| (error(part, narrowest), error(part, widest));
        // Further in both errors grow; they are alike and opposite where their sum is nothing, or both at one width.
        let (mut low, mut high) = (0.0, 0.5);
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            let (a, b) = worst(mid);
            if a + b < 0.0 { low = mid } else { high = mid }
        }
        Gauge { sides, span, peg, part: 0.5 * (low + high) }
    }

    /// How far in from the edge of a flat of this width it marks, m.
    pub fn marks(&self, width: f64) -> f64 {
        let off_middle = (0.5 - self.part) * self.span;
        // The pegs' middles are farther apart than the span by one peg, and so is their distance across the flat.
        0.5 * width - off_middle * (width + self.peg) / (self.span + self.peg)
    }

    /// How much farther in than it should, m.
    pub fn error(&self, width: f64) -> f64 {
        self.marks(width) - fraction_in(self.sides) * width
    }
}

/// Gauges by whole numbers: 7:10:7 and 5:7:5 are common practice; the other two are the like for what comes after.
pub const GAUGES: [(usize, [u32; 3]); 4] =
    [(8, [7, 10, 7]), (8, [5, 7, 5]), (16, [7, 13, 7]), (32, [1, 2, 1])];
