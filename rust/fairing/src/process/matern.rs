//! The Matérn correlation of order 9/2, and the warp that lets one end of a boat be quicker than the other.
//!
//! M(r) = (1 + s + 3s²/7 + 2s³/21 + s⁴/105) e⁻ˢ with s = 3r (Rasmussen and Williams, Gaussian Processes
//! for Machine Learning, 2006, eq. 4.16 at p = 4): four times differentiable, so curvature is smooth.

/// Correlation at distance `r` in units of the length scale, and its derivative by `r`.
pub(crate) fn matern(r: f64) -> (f64, f64) {
    let s = 3.0 * r.abs();
    let e = (-s).exp();
    let value = 1.0 + s * (1.0 + s * (3.0 / 7.0 + s * (2.0 / 21.0 + s / 105.0)));
    let slope = -3.0 / 7.0 * s * (1.0 + s * (1.0 + s * (0.4 + s / 15.0)));
    (value * e, slope * e * r.signum())
}

/// A co-ordinate as the correlation sees it. e⁻ˢ of a pair is the product of what each brings, so that a
/// matrix of correlations takes exponentials by the point and not by the pair.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct At {
    /// Three times the co-ordinate in units of the length scale.
    s: f64,
    up: f64,
    down: f64,
}

impl At {
    /// `r` in units of the length scale.
    pub fn new(r: f64) -> Self {
        let s = 3.0 * r;
        At { s, up: s.exp(), down: (-s).exp() }
    }

    fn decay(&self, other: &At) -> (f64, f64) {
        let s = (self.s - other.s).abs();
        let e = if self.s >= other.s { self.down * other.up } else { self.up * other.down };
        // Wild co-ordinates are beyond what exponentials can hold.
        (s, if e.is_finite() { e } else { (-s).exp() })
    }

    /// Correlation with another.
    pub fn correlation(&self, other: &At) -> f64 {
        let (s, e) = self.decay(other);
        e * (1.0 + s * (1.0 + s * (3.0 / 7.0 + s * (2.0 / 21.0 + s / 105.0))))
    }

    /// Correlation, and its derivative by the distance `self - other`.
    pub fn with_slope(&self, other: &At) -> (f64, f64) {
        let (s, e) = self.decay(other);
        let value = 1.0 + s * (1.0 + s * (3.0 / 7.0 + s * (2.0 / 21.0 + s / 105.0)));
        let slope = 3.0 / 7.0 * (other.s - self.s) * (1.0 + s * (1.0 + s * (0.4 + s / 15.0)));
        (value * e, slope * e)
    }

    /// How far it lies beyond another, in units of the length scale.
    pub fn beyond(&self, other: &At) -> f64 {
        (self.s - other.s) / 3.0
    }
}

/// Below this the warp is taken by its series: the closed form loses all figures at 0.
const NEARLY_EVEN: f64 = 1e-4;

/// ξ = (1 - e^(-αt)) / (1 - e^(-α)) over t in 0..1, and ∂ξ/∂α.
pub(crate) fn warp(alpha: f64, t: f64) -> (f64, f64) {
    if alpha.abs() < NEARLY_EVEN {
        return (t + 0.5 * alpha * t * (1.0 - t), 0.5 * t * (1.0 - t));
    }
    let (top, bottom) = (-(-alpha * t).exp_m1(), -(-alpha).exp_m1());
    let slope = (t * (1.0 - top) * bottom - top * (1.0 - bottom)) / (bottom * bottom);
    (top / bottom, slope)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_the_matern_of_order_nine_halves() {
        // M(r) = 2^(1-ν)/Γ(ν) x^ν K_ν(x), x = √(2ν) r = 3r at ν = 9/2, with
        // K_ν(x) = √π (x/2)^ν / Γ(ν + ½) ∫_1^∞ e^(-xt) (t² - 1)^(ν - ½) dt (Abramowitz and Stegun 9.6.23).
        let gamma_half = 11.631_728_396_567_448; // Γ(9/2) = 105 √π / 16
        for r in [0.1, 0.4, 1.0, 2.3] {
            let x = 3.0 * r;
            let (n, span) = (200_000, 60.0 / x);
            let f = |t: f64| (-x * t).exp() * (t * t - 1.0).powi(4);
            let h = span / n as f64;
            let simpson: f64 = (0..=n)
                .map(|i| f(1.0 + i as f64 * h) * [2.0, 4.0][i % 2] / if i % n == 0 { 2.0 } else { 1.0 })
                .sum();
            let bessel = std::f64::consts::PI.sqrt() * (x / 2.0f64).powf(4.5) / 24.0 * simpson * h / 3.0;
            let expected = 2f64.powf(-3.5) / gamma_half * x.powf(4.5) * bessel;
            assert!((matern(r).0 - expected).abs() < 1e-8, "{r}: {} {expected}", matern(r).0);
        }
    }

    #[test]
    fn pairs_of_places_have_the_correlation_of_their_distance() {
        for (a, b) in [(0.3, 1.7), (2.0, 0.4), (0.5, 0.5), (300.0, 299.5), (-400.0, 3.0)] {
            let (one, other) = (At::new(a), At::new(b));
            let (value, slope) = matern(a - b);
            assert!((one.correlation(&other) - value).abs() < 1e-13, "{a} {b}");
            let both = one.with_slope(&other);
            assert!((both.0 - value).abs() < 1e-13 && (both.1 - slope).abs() < 1e-13, "{a} {b}");
            assert!((one.beyond(&other) - (a - b)).abs() < 1e-12);
        }
    }

    #[test]
    fn slopes_agree_with_differences() {
        let h = 1e-6;
        for r in [0.05, 0.7, 2.0, -0.4] {
            let expected = (matern(r + h).0 - matern(r - h).0) / (2.0 * h);
            assert!((matern(r).1 - expected).abs() < 1e-8);
        }
        for (alpha, t) in [(1.4, 0.3), (-0.8, 0.7), (0.0, 0.4), (1e-3, 0.4)] {
            let expected = (warp(alpha + 1e-3, t).0 - warp(alpha - 1e-3, t).0) / 2e-3;
            assert!((warp(alpha, t).1 - expected).abs() < 1e-6);
            assert!((warp(alpha, 1.0).0 - 1.0).abs() < 1e-12 && warp(alpha, 0.0).0.abs() < 1e-12);
        }
    }
}
