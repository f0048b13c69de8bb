//! A section: areas, moments of area and girths, all in closed form.
//!
//! A regular polygon's second moment by its apothem is that of its triangles; the girth of an ellipse is found by the
//! arithmetic-geometric mean (Abramowitz and Stegun 17.6).

use std::f64::consts::PI;

/// What a section looks like from outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A circle.
    Round,
    /// An ellipse.
    Oval,
    /// A rectangle.
    Rectangular,
}

/// A section. Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Its shape.
    pub shape: Shape,
    /// Half its size in y and in z.
    pub half: [f64; 2],
    /// Half its hollow in y and in z, alike in shape; of staves the apothem of the polygon they leave.
    pub hollow: [f64; 2],
    /// How many staves it is of.
    pub staves: Option<usize>,
}

impl Section {
    /// The same without its hollow.
    #[must_use]
    pub fn solid(self) -> Self {
        Section { hollow: [0.0; 2], ..self }
    }

    fn shape_area(&self, [a, b]: [f64; 2]) -> f64 {
        match self.shape {
            Shape::Rectangular => 4.0 * a * b,
            _ => PI * a * b,
        }
    }

    fn shape_moment(&self, [a, b]: [f64; 2]) -> f64 {
        match self.shape {
            Shape::Rectangular => 4.0 / 3.0 * a.powi(3) * b,
            _ => PI / 4.0 * a.powi(3) * b,
        }
    }

    /// The wood in it, m².
    pub fn area(&self) -> f64 {
        let hollow = match self.staves {
            Some(n) => n as f64 * self.hollow[0].powi(2) * (PI / n as f64).tan(),
            None => self.shape_area(self.hollow),
        };
        self.shape_area(self.half) - hollow
    }

    /// Second moments of area, m⁴: against bending in y, and in z.
    pub fn moments(&self) -> [f64; 2] {
        let [a, b] = self.half;
        let [c, d] = self.hollow;
        let hollow = match self.staves {
            Some(n) => {
                let tan = (PI / n as f64).tan();
                [n as f64 * c.powi(4) * tan / 4.0 * (1.0 + tan * tan / 3.0); 2]
            }
            None => [self.shape_moment([c, d]), self.shape_moment([d, c])],
        };
        let whole = [self.shape_moment([a, b]), self.shape_moment([b, a])];
        [whole[0] - hollow[0], whole[1] - hollow[1]]
    }

    /// Once round it, m.
    pub fn girth(&self) -> f64 {
        let [a, b] = self.half;
        match self.shape {
            Shape::Rectangular => 4.0 * (a + b),
            Shape::Round => 2.0 * PI * a,
            Shape::Oval => ellipse(a.max(b), a.min(b)),
        }
    }
}

/// The girth of an ellipse of half axes a, no less than b.
fn ellipse(a: f64, b: f64) -> f64 {
    let (mut mean, mut root, mut sum, mut power) = (a, b, 0.5 * (a * a - b * b), 0.5);
    // The number of right figures doubles at every step.
    for _ in 0..8 {
        let half_gap = 0.5 * (mean - root);
        (mean, root) = (0.5 * (mean + root), (mean * root).sqrt());
        power *= 2.0;
        sum += power * half_gap * half_gap;
    }
    2.0 * PI * (a * a - sum) / mean
}
