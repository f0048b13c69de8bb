//! At what height a piece runs along the side, as a fair line in profile.
//!
//! A line through given heights is a batten on them ([`scrieve_surface::Batten`]), as a ribband's is. A line that is known
//! all along, as the sheer is, is sampled instead, and between samples is the cubic spline whose first two and last two
//! spans are one cubic each (de Boor, A Practical Guide to Splines, 1978, chapter IV: "not a knot"): it has no end to
//! lie straight at.

use scrieve_hull::Boat;
use scrieve_surface::Batten;

use super::{InsideError, sheer};

/// At what height a stringer or riser runs.
#[derive(Clone, Debug, PartialEq)]
pub enum HeightAt {
    /// Level, m above the base line.
    Level(f64),
    /// This far below the sheer of the inside, m, plumb.
    BelowSheer(f64),
    /// A fair line through these: m aft of the forward end and m above the base line, from forward aft.
    Through(Vec<(f64, f64)>),
}

/// Spots of the sheer that a line below it is drawn through: a fair sheer between spots a few inches apart is
/// within a micrometre of the spline.
const SHEER_SPOTS: usize = 60;

impl HeightAt {
    /// The line in profile from `from` to `to`, m.
    pub(crate) fn line(&self, hull: &Boat, from: f64, to: f64, inside: f64) -> Result<Line, InsideError> {
        match self {
            HeightAt::Level(z) => Ok(Line::Level(*z)),
            HeightAt::BelowSheer(down) => {
                let spot = |i: usize| {
                    let x = from + (to - from) * i as f64 / SHEER_SPOTS as f64;
                    sheer(hull, x, inside).map(|s| (x, s.p[2] - down))
                };
                let spots = (0..=SHEER_SPOTS).map(spot).collect::<Result<Vec<_>, _>>()?;
                Ok(Line::Sampled(Sampled::new(spots)))
            }
            HeightAt::Through(heights) => {
                let (Some(first), Some(last)) = (heights.first(), heights.last()) else {
                    return Err(InsideError::TooFewHeights(0));
                };
                if let Some(w) = heights.windows(2).find(|w| w[0].0 >= w[1].0) {
                    return Err(InsideError::OutOfOrder { x: w[0].0, next: w[1].0 });
                }
                let bent = Batten::through(heights).map_err(InsideError::Batten)?;
                let (first, last) = (first.0, last.0);
                let within = from >= first - REACH_M && to <= last + REACH_M;
                if within {
                    Ok(Line::Bent(bent))
                } else {
                    Err(InsideError::PastTheHeights { first, last, from, to })
                }
            }
        }
    }
}

/// A line in profile.
#[derive(Clone, Debug)]
pub(crate) enum Line {
    Level(f64),
    Bent(Batten),
    Sampled(Sampled),
}

impl Line {
    /// Height and slope at `x`.
    pub fn at(&self, x: f64) -> (f64, f64) {
        match self {
            Line::Level(z) => (*z, 0.0),
            Line::Bent(batten) => batten.height(x),
            Line::Sampled(line) => line.at(x),
        }
    }
}

/// A piece that runs no farther than this past the heights given for it ends at them, m.
const REACH_M: f64 = 1e-6;

/// A line z(x) that is known all along, by two samples or more in the order of x, m.
#[derive(Clone, Debug)]
pub(crate) struct Sampled {
    spots: Vec<(f64, f64)>,
    /// Second derivative at each spot, 1/m.
    bend: Vec<f64>,
}

impl Sampled {
    pub fn new(spots: Vec<(f64, f64)>) -> Sampled {
        Sampled { bend: bends(&spots), spots }
    }

    /// Height and slope at `x`; past either end the last cubic is carried on.
    pub fn at(&self, x: f64) -> (f64, f64) {
        let last = self.spots.len() - 2;
        let i = self.spots.partition_point(|s| s.0 <= x).saturating_sub(1).min(last);
        let ((x0, z0), (x1, z1)) = (self.spots[i], self.spots[i + 1]);
        let (h, m0, m1) = (x1 - x0, self.bend[i], self.bend[i + 1]);
        let (a, b) = (x1 - x, x - x0);
        let height = (m0 * a.powi(3) + m1 * b.powi(3)) / (6.0 * h)
            + (z0 / h - m0 * h / 6.0) * a
            + (z1 / h - m1 * h / 6.0) * b;
        let slope = (m1 * b * b - m0 * a * a) / (2.0 * h) + (z1 - z0) / h - (m1 - m0) * h / 6.0;
        (height, slope)
    }
}

fn bends(spots: &[(f64, f64)]) -> Vec<f64> {
    let n = spots.len();
    let h: Vec<f64> = spots.windows(2).map(|w| w[1].0 - w[0].0).collect();
    let d: Vec<f64> = spots.windows(2).zip(&h).map(|(w, h)| (w[1].1 - w[0].1) / h).collect();
    if n < 4 {
        let bend = if n == 3 { 2.0 * (d[1] - d[0]) / (h[0] + h[1]) } else { 0.0 };
        return vec![bend; n];
    }
    // Tridiagonal in the inner bends, the outer two written by their neighbours; swept down and back.
    let (first, last) = (h[0] / h[1], h[n - 2] / h[n - 3]);
    let (mut upper, mut right) = (Vec::with_capacity(n - 2), Vec::with_capacity(n - 2));
    for i in 1..n - 1 {
        let (mut low, mut middle, mut high) = (h[i - 1], 2.0 * (h[i - 1] + h[i]), h[i]);
        if i == 1 {
            middle += low * (1.0 + first);
            high -= low * first;
            low = 0.0;
        }
        if i == n - 2 {
            middle += h[i] * (1.0 + last);
            low -= h[i] * last;
            high = 0.0;
        }
        let (above, carried) = match i {
            1 => (0.0, 0.0),
            _ => (upper[i - 2], right[i - 2]),
        };
        let pivot = middle - low * above;
        upper.push(high / pivot);
        right.push((6.0 * (d[i] - d[i - 1]) - low * carried) / pivot);
    }
    let mut bend = vec![0.0; n];
    for i in (1..n - 1).rev() {
        bend[i] = right[i - 1] - upper[i - 1] * bend[i + 1];
    }
    bend[0] = bend[1] * (1.0 + first) - bend[2] * first;
    bend[n - 1] = bend[n - 2] * (1.0 + last) - bend[n - 3] * last;
    bend
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cubic is its own spline where no end knot parts it.
    #[test]
    fn samples_of_a_cubic_give_that_cubic() {
        let cubic = |x: f64| 0.5 - 0.2 * x + 0.07 * x * x - 0.006 * x * x * x;
        let spots: Vec<_> = [0.4, 0.9, 1.7, 2.2, 3.6, 4.1].map(|x| (x, cubic(x))).to_vec();
        let line = Sampled::new(spots.clone());
        for x in [0.4, 0.5, 1.3, 2.0, 3.0, 4.0, 4.1] {
            let (z, slope) = line.at(x);
            assert!((z - cubic(x)).abs() < 1e-12, "{x} {z}");
            assert!((slope - (-0.2 + 0.14 * x - 0.018 * x * x)).abs() < 1e-12);
        }
        let four = Sampled::new(spots[..4].to_vec());
        assert!((four.at(1.0).0 - cubic(1.0)).abs() < 1e-12);
    }
}
