//! Symmetric positive definite systems, as covariances and second derivatives are, by Cholesky's factor.

use std::sync::OnceLock;

use faer::linalg::solvers::{DenseSolveCore, Llt, Solve};
use faer::{MatMut, MatRef, Side};

/// Jitter added to a matrix that is singular to rounding, as a part of its mean diagonal; grown twice.
const JITTER: f64 = 1e-12;

/// A covariance matrix, factored, and inverted where that is asked for; rows of `n`, symmetric.
#[derive(Clone, Debug)]
pub struct Solved {
    /// Rows.
    pub n: usize,
    /// Cholesky factor: variances taken from it keep figures that the inverse loses.
    factor: Llt<f64>,
    inverse: OnceLock<Vec<f64>>,
    /// Log of its determinant.
    pub log_det: f64,
}

impl Solved {
    /// Factors; only the lower triangle of `k` is read. `None` if it is not positive definite at all.
    pub fn new(k: &[f64], n: usize) -> Option<Self> {
        let mean = (0..n).map(|i| k[i * n + i]).sum::<f64>() / n.max(1) as f64;
        let mut k = std::borrow::Cow::Borrowed(k);
        for attempt in 0..3 {
            // Row-major lower is column-major upper.
            if let Ok(factor) = MatRef::from_column_major_slice(&k, n, n).llt(Side::Upper) {
                let log_det = 2.0 * (0..n).map(|i| factor.L()[(i, i)].ln()).sum::<f64>();
                return log_det.is_finite().then(|| Solved { n, factor, inverse: OnceLock::new(), log_det });
            }
            k.to_mut().iter_mut().step_by(n + 1).for_each(|d| *d += mean * JITTER * 1e3f64.powi(attempt));
        }
        None
    }

    /// An entry of its Cholesky factor, lower triangle.
    pub fn factor_at(&self, i: usize, j: usize) -> f64 {
        self.factor.L()[(i, j)]
    }

    /// K⁻¹.
    pub fn inverse(&self) -> &[f64] {
        self.inverse.get_or_init(|| {
            let dense = self.factor.inverse();
            let mut inverse = Vec::with_capacity(self.n * self.n);
            for column in dense.col_iter() {
                inverse.extend(column.iter());
            }
            inverse
        })
    }

    /// K⁻¹ y.
    pub fn times(&self, y: &[f64]) -> Vec<f64> {
        match self.inverse.get() {
            Some(inverse) => inverse.chunks_exact(self.n.max(1)).map(|row| dot(row, y)).collect(),
            None => {
                let mut x = y.to_vec();
                self.factor.solve_in_place(MatMut::from_column_major_slice_mut(&mut x, self.n, 1));
                x
            }
        }
    }

    /// kᵀ K⁻¹ k: how much of a variance the data take away. Not after `weigh_down`.
    pub fn explained(&self, k: &[f64]) -> f64 {
        let mut rest = k.to_vec();
        let mut sum = 0.0;
        for (j, column) in self.factor.L().col_iter().enumerate() {
            let column = column.try_as_col_major().map(|c| c.as_slice()).unwrap_or_default();
            let z = rest[j] / column[j];
            sum += z * z;
            rest[j + 1..].iter_mut().zip(&column[j + 1..]).for_each(|(r, l)| *r -= z * l);
        }
        sum
    }

    /// Adds `variance`, of either sign, to the noise of datum `i` (Sherman and Morrison): weighed down, or up
    /// again, without a new solve.
    pub fn weigh_down(&mut self, i: usize, variance: f64) {
        let n = self.n;
        self.inverse();
        let Some(inverse) = self.inverse.get_mut() else { return };
        let row = inverse[i * n..(i + 1) * n].to_vec();
        self.log_det += (1.0 + variance * row[i]).max(f64::MIN_POSITIVE).ln();
        let factor = 1.0 / (1.0 / variance + row[i]);
        for (a, target) in inverse.chunks_exact_mut(n).enumerate() {
            let f = factor * row[a];
            target.iter_mut().zip(&row).for_each(|(t, r)| *t -= f * r);
        }
    }

    /// Log evidence of the data, to a constant.
    pub fn evidence(&self, y: &[f64]) -> f64 {
        self.evidence_by(&self.times(y), y)
    }

    /// The same, K⁻¹ y known.
    pub fn evidence_by(&self, alpha: &[f64], y: &[f64]) -> f64 {
        -0.5 * (dot(y, alpha) + self.log_det)
    }

    /// Datum `i` left out: how far it lies above what the others expect, and the variance of that.
    pub fn left_out(&self, i: usize, alpha: &[f64]) -> (f64, f64) {
        let p = self.inverse()[i * self.n + i].max(f64::MIN_POSITIVE);
        (alpha[i] / p, 1.0 / p)
    }
}

/// The sum of products.
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    // Four sums let the processor work on them side by side.
    let (mut s, n) = ([0.0; 4], a.len().min(b.len()));
    let (a4, b4) = (a[..n].chunks_exact(4), b[..n].chunks_exact(4));
    let tail: f64 = a4.remainder().iter().zip(b4.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a4.zip(b4) {
        for k in 0..4 {
            s[k] += x[k] * y[k];
        }
    }
    s[0] + s[1] + s[2] + s[3] + tail
}
