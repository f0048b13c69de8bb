//! A number over the unit square, as a tensor product of quintic B-splines: what a patch is to points.

use scrieve_surface::bspline::{Collocation, basis};

const DEGREE: usize = 5;

#[derive(Clone, Debug)]
pub(crate) struct Sheet {
    knots: [Vec<f64>; 2],
    coefficients: Vec<f64>,
    across: usize,
}

impl Sheet {
    /// Through values at the Greville points of breaks along and across, those across fastest.
    pub fn through(breaks: [&[f64]; 2], mut values: Vec<f64>) -> Self {
        let [along, across] = breaks.map(|b| Collocation::new(DEGREE, b));
        let n = across.points.len();
        (0..along.points.len()).for_each(|i| across.solve(&mut values, 1, i * n));
        (0..n).for_each(|j| along.solve(&mut values, n, j));
        Sheet { knots: [along.knots, across.knots], coefficients: values, across: n }
    }

    pub fn value(&self, t: f64, v: f64) -> f64 {
        let (i, along) = basis(DEGREE, &self.knots[0], t);
        let (j, across) = basis(DEGREE, &self.knots[1], v);
        let row = |r: usize| &self.coefficients[(i + r) * self.across + j..][..=DEGREE];
        let at = |r: usize| row(r).iter().zip(&across[0]).map(|(c, b)| c * b).sum::<f64>();
        (0..=DEGREE).map(|r| along[0][r] * at(r)).sum()
    }

    /// Values over a grid, `t` outer.
    pub fn grid(&self, ts: &[f64], vs: &[f64]) -> Vec<f64> {
        ts.iter().flat_map(|&t| vs.iter().map(move |&v| self.value(t, v))).collect()
    }
}
