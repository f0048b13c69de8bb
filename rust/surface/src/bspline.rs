//! B-splines in one variable on clamped knots (de Boor, A Practical Guide to Splines, chapters IX, X, XIII).
//!
//! Interpolation is at the Greville points, where the collocation matrix is banded and totally positive, so
//! that elimination without pivoting is stable (de Boor and Pinkus 1977) and the end values come through
//! bit for bit.

/// Highest degree; it sets the size of the stack arrays of one evaluation.
pub const MAX_DEGREE: usize = 7;

/// Values, first and second derivatives of the basis functions that are not zero at a parameter.
pub type Basis = [[f64; MAX_DEGREE + 1]; 3];

/// A scalar B-spline on a clamped knot vector.
#[derive(Clone, Debug, PartialEq)]
pub struct BSpline {
    /// Degree, 1 to [`MAX_DEGREE`].
    pub degree: usize,
    /// Knots, `coefficients.len() + degree + 1` of them.
    pub knots: Vec<f64>,
    /// Coefficients.
    pub coefficients: Vec<f64>,
}

impl BSpline {
    /// The spline that equals `f` at the [Greville points](greville) of `breaks` (ascending, two or more).
    ///
    /// # Panics
    /// If the degree is 0 or above [`MAX_DEGREE`], or `breaks` do not ascend.
    pub fn interpolating(degree: usize, breaks: &[f64], f: impl FnMut(f64) -> f64) -> Self {
        let collocation = Collocation::new(degree, breaks);
        let mut coefficients: Vec<f64> = collocation.points.iter().copied().map(f).collect();
        collocation.solve(&mut coefficients, 1, 0);
        BSpline { degree, knots: collocation.knots, coefficients }
    }

    /// Value at `t`; outside the breaks the end polynomials carry on.
    pub fn value(&self, t: f64) -> f64 {
        let (degree, knots) = (self.degree, &self.knots);
        let span = span_of(degree, knots, t);
        let mut now = [1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
        (1..=degree).for_each(|j| raise(&mut now, knots, span, t, j));
        now.iter().zip(&self.coefficients[span - degree..=span]).map(|(b, c)| b * c).sum()
    }

    /// Value, first and second derivative at `t`.
    pub fn jet(&self, t: f64) -> [f64; 3] {
        let (first, basis) = basis(self.degree, &self.knots, t);
        let near = &self.coefficients[first..=first + self.degree];
        basis.map(|row| near.iter().zip(row).map(|(c, b)| c * b).sum())
    }

    /// Distinct knots, ascending.
    pub fn breaks(&self) -> Vec<f64> {
        breaks_of(&self.knots)
    }
}

/// The knots of degree `degree` over `breaks`, the ends repeated; a break given `degree` times may be a corner.
pub fn clamped(degree: usize, breaks: &[f64]) -> Vec<f64> {
    assert!((1..=MAX_DEGREE).contains(&degree), "degree {degree} is not 1 to {MAX_DEGREE}");
    assert!(breaks.len() > 1 && breaks[0] < breaks[breaks.len() - 1], "breaks must ascend");
    assert!(breaks.windows(2).all(|w| w[0] <= w[1]), "breaks must ascend");
    let (first, last) = (breaks[0], breaks[breaks.len() - 1]);
    let ends = |t| std::iter::repeat_n(t, degree);
    ends(first).chain(breaks.iter().copied()).chain(ends(last)).collect()
}

/// Distinct knots, ascending.
pub fn breaks_of(knots: &[f64]) -> Vec<f64> {
    let mut breaks = knots.to_vec();
    breaks.dedup();
    breaks
}

/// The Greville points of `breaks`: the means of `degree` neighbouring knots, one for each coefficient.
pub fn greville(degree: usize, breaks: &[f64]) -> Vec<f64> {
    greville_of(degree, &clamped(degree, breaks))
}

fn greville_of(degree: usize, knots: &[f64]) -> Vec<f64> {
    let (low, high) = (knots[0], knots[knots.len() - 1]);
    (0..knots.len() - degree - 1)
        .map(|i| match &knots[i + 1..=i + degree] {
            same if same[0] == same[degree - 1] => same[0],
            window => (window.iter().sum::<f64>() / degree as f64).clamp(low, high),
        })
        .collect()
}

fn span_of(degree: usize, knots: &[f64], t: f64) -> usize {
    let last = knots.len() - degree - 2;
    knots[degree + 1..=last].partition_point(|&k| k <= t) + degree
}

/// From the functions of degree `j - 1` to those of degree `j`.
#[inline(always)]
fn raise(now: &mut [f64; MAX_DEGREE + 1], knots: &[f64], span: usize, t: f64, j: usize) {
    let mut saved = 0.0;
    for r in 0..j {
        let (right, left) = (knots[span + r + 1], knots[span + r + 1 - j]);
        let share = (right - t) / (right - left) * now[r];
        let rest = now[r] - share;
        now[r] = saved + share;
        saved = rest;
    }
    now[j] = saved;
}

/// Index of the first basis function that is not zero at `t`, and the `degree + 1` from there with their
/// derivatives. At the ends the outermost is exactly 1 and the others exactly 0.
#[inline(always)]
pub fn basis(degree: usize, knots: &[f64], t: f64) -> (usize, Basis) {
    let span = span_of(degree, knots, t);
    let mut table = [[0.0; MAX_DEGREE + 1]; 3];
    let mut now = [0.0; MAX_DEGREE + 1];
    now[0] = 1.0;
    // After step j `now` holds the j + 1 functions of degree j; the last two before the end make the
    // derivatives.
    for j in 1..=degree {
        if degree - j < 2 {
            table[degree - j + 1] = now;
        }
        raise(&mut now, knots, span, t, j);
    }
    table[0] = now;
    let differentiate = |row: [f64; MAX_DEGREE + 1], j: usize| {
        let mut out = [0.0; MAX_DEGREE + 1];
        for r in 0..j {
            let slope = j as f64 * row[r] / (knots[span + r + 1] - knots[span + r + 1 - j]);
            out[r] -= slope;
            out[r + 1] += slope;
        }
        out
    };
    table[1] = differentiate(table[1], degree);
    if degree > 1 {
        table[2] = differentiate(differentiate(table[2], degree - 1), degree);
    }
    (span - degree, table)
}

/// The collocation matrix at the Greville points, factored once for many right-hand sides.
pub struct Collocation {
    degree: usize,
    /// The knots, clamped.
    pub knots: Vec<f64>,
    /// The Greville points.
    pub points: Vec<f64>,
    /// Row i holds columns i - degree to i + degree of L (below the diagonal) and U.
    rows: Vec<[f64; 2 * MAX_DEGREE + 1]>,
}

impl Collocation {
    /// For splines of one degree over these breaks.
    pub fn new(degree: usize, breaks: &[f64]) -> Self {
        let knots = clamped(degree, breaks);
        let points = greville_of(degree, &knots);
        let n = points.len();
        let mut rows = vec![[0.0; 2 * MAX_DEGREE + 1]; n];
        for (i, &t) in points.iter().enumerate() {
            let (first, basis) = basis(degree, &knots, t);
            for (r, &value) in basis[0][..=degree].iter().enumerate() {
                // A Greville point lies in its own function's support, so what falls out of the band is 0.
                if (first + r).abs_diff(i) <= degree {
                    rows[i][first + r + degree - i] = value;
                }
            }
        }
        for k in 0..n {
            let pivot_row = rows[k];
            for (i, row) in rows.iter_mut().enumerate().take((k + degree + 1).min(n)).skip(k + 1) {
                let factor = row[k + degree - i] / pivot_row[degree];
                row[k + degree - i] = factor;
                for c in k + 1..(k + degree + 1).min(n) {
                    row[c + degree - i] -= factor * pivot_row[c + degree - k];
                }
            }
        }
        Collocation { degree, knots, points, rows }
    }

    /// Turns values at the points into coefficients, in place: entry i is `x[offset + i * stride]`.
    pub fn solve(&self, x: &mut [f64], stride: usize, offset: usize) {
        let (p, n) = (self.degree, self.points.len());
        let at = |i: usize| offset + i * stride;
        for i in 0..n {
            let known: f64 = (i.saturating_sub(p)..i).map(|c| self.rows[i][c + p - i] * x[at(c)]).sum();
            x[at(i)] -= known;
        }
        for i in (0..n).rev() {
            let known: f64 = (i + 1..(i + p + 1).min(n)).map(|c| self.rows[i][c + p - i] * x[at(c)]).sum();
            x[at(i)] = (x[at(i)] - known) / self.rows[i][p];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BREAKS: [f64; 6] = [0.0, 0.13, 0.3, 0.55, 0.8, 1.0];

    #[test]
    fn a_spline_reproduces_every_polynomial_of_its_degree() {
        for degree in 1..=MAX_DEGREE {
            let poly = |t: f64| (0..=degree).map(|k| (k as f64 - 1.7) * t.powi(k as i32)).sum::<f64>();
            let spline = BSpline::interpolating(degree, &BREAKS, poly);
            for i in 0..=100 {
                let t = i as f64 / 100.0;
                assert!((spline.value(t) - poly(t)).abs() < 1e-12, "degree {degree} at {t}");
            }
        }
    }

    #[test]
    fn its_derivatives_are_those_of_the_polynomial() {
        for degree in 2..=MAX_DEGREE {
            let n = degree as i32;
            let spline = BSpline::interpolating(degree, &BREAKS, |t| t.powi(n));
            for i in 0..=40 {
                let t = i as f64 / 40.0;
                let [_, first, second] = spline.jet(t);
                assert!((first - n as f64 * t.powi(n - 1)).abs() < 1e-10);
                assert!(
                    (second - (n * (n - 1)) as f64 * t.powi(n - 2)).abs() < 1e-8,
                    "{degree} {t} {second}"
                );
            }
        }
    }

    #[test]
    fn a_straight_spline_has_the_slope_of_its_line() {
        let spline = BSpline::interpolating(1, &[0.0, 1.0], |t| 3.0 * t - 1.0);
        assert_eq!(spline.jet(0.25), [-0.25, 3.0, 0.0]);
    }

    #[test]
    fn end_values_come_through_bit_for_bit() {
        let f = |t: f64| (9.1 * t + 0.3).sin();
        let spline = BSpline::interpolating(5, &BREAKS, f);
        assert_eq!(spline.value(0.0).to_bits(), f(0.0).to_bits());
        assert_eq!(spline.value(1.0).to_bits(), f(1.0).to_bits());
    }

    #[test]
    fn a_quintic_converges_at_sixth_order() {
        let worst = |n: usize| {
            let breaks: Vec<f64> = (0..=n).map(|i| i as f64 / n as f64).collect();
            let spline = BSpline::interpolating(5, &breaks, |t| (5.0 * t).sin());
            (0..=1000)
                .map(|i| i as f64 / 1000.0)
                .map(|t| (spline.value(t) - (5.0 * t).sin()).abs())
                .fold(0.0, f64::max)
        };
        let order = (worst(10) / worst(20)).log2();
        assert!(order > 5.5 && order < 7.0, "order {order}");
    }
}
