//! B-splines of any degree in one variable (de Boor, A Practical Guide to Splines).

/// A scalar B-spline on a clamped knot vector.
#[derive(Clone, Debug, PartialEq)]
pub struct BSpline {
    /// Degree.
    pub degree: usize,
    /// Knots, `coefficients.len() + degree + 1` of them.
    pub knots: Vec<f64>,
    /// Coefficients.
    pub coefficients: Vec<f64>,
}
