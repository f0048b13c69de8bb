//! A line along the boat (rabbet, chine, sheer, a profile) as a Gaussian process of one variable.
//!
//! Over t in 0..1: a quadratic of any size plus a Matérn 9/2 of the warped t. Where readings are as
//! straight as they can tell, the amplitude falls away and the quadratic remains.

use crate::gp::{Model, Prior, Solved, Unsure, dot, likeliest, log_prior, root};
use crate::matern::{At, warp};
use crate::random::Random;
use scrieve_surface::BSpline;
use scrieve_surface::bspline::greville;

/// Variance of each coefficient of the quadratic, in units of the line's length: a boat is no steeper.
const BROAD: f64 = 1.0;

/// What a line is taken to be like before its readings are seen; lengths in units of the t-range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LinePrior {
    /// Amplitude off the quadratic.
    pub amplitude: f64,
    /// Length scale in warped t.
    pub length: f64,
    /// Warp.
    pub alpha: f64,
}

/// A line of heights as boats have it: judges before parameters are fitted, and is where their fit starts.
/// Medians over known hulls, with half as much again for hulls less smooth than those.
pub(crate) const USUAL_HEIGHTS: LinePrior = LinePrior { amplitude: 0.01, length: 0.75, alpha: 0.0 };
/// The same for a line of half-breadths.
pub(crate) const USUAL_BREADTHS: LinePrior = LinePrior { amplitude: 0.15, length: 0.8, alpha: 0.0 };

/// What is usual of line `l` of a hull.
pub(crate) fn usual(l: usize) -> LinePrior {
    if l % 2 == 1 { USUAL_BREADTHS } else { USUAL_HEIGHTS }
}

impl LinePrior {
    pub fn theta(&self) -> [f64; 3] {
        [self.amplitude.ln(), self.length.ln(), self.alpha]
    }

    /// The log of how likely it is before the readings, to a constant, given what is usual.
    pub fn log_prior(&self, usual: LinePrior) -> f64 {
        log_prior(&line_priors(usual), &self.theta())
    }

    pub fn from_theta(t: &[f64]) -> Self {
        LinePrior { amplitude: t[0].exp(), length: t[1].exp(), alpha: t[2] }
    }

    /// Warped t in units of the length scale.
    pub fn place(&self, t: f64) -> At {
        At::new(warp(self.alpha, t).0 / self.length)
    }

    /// A line drawn before any reading is seen, as a quintic on `breaks`; `None` only for wild parameters. Its
    /// quadratic is nought: of any size, it is for the readings to say.
    pub fn draw(&self, breaks: &[f64], random: &mut Random) -> Option<BSpline> {
        let at: Vec<At> = greville(5, breaks).into_iter().map(|t| self.place(t)).collect();
        let k: Vec<f64> = at.iter().flat_map(|a| at.iter().map(|b| a.correlation(b))).collect();
        let root = root(&k, at.len())?;
        let z: Vec<f64> = at.iter().map(|_| self.amplitude * random.normal()).collect();
        let mut values = root.chunks_exact(at.len()).map(|row| dot(row, &z));
        Some(BSpline::interpolating(5, breaks, |_| values.next().unwrap_or_default()))
    }

    /// Covariance of the line at two t, given with their places.
    pub fn covariance(&self, a: (f64, At), b: (f64, At)) -> f64 {
        self.amplitude * self.amplitude * a.1.correlation(&b.1) + quadratic(a.0, b.0)
    }
}

fn quadratic(a: f64, b: f64) -> f64 {
    // Centred, so that the three coefficients hardly interfere.
    let (a, b) = (a - 0.5, b - 0.5);
    BROAD * (1.0 + a * b * (4.0 + 16.0 * a * b))
}

/// A reading of a line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LineDatum {
    pub t: f64,
    pub value: f64,
    pub sd: f64,
}

struct LineModel<'a> {
    data: &'a [LineDatum],
    usual: LinePrior,
}

/// What is believed of the parameters of a line before its readings.
fn line_priors(usual: LinePrior) -> Vec<Prior> {
    let usual = usual.theta();
    vec![
        Prior { mean: usual[0], sd: 1.5, low: -14.0, high: 1.0 },
        Prior { mean: usual[1], sd: 0.4, low: -2.5, high: 1.5 },
        Prior { mean: usual[2], sd: 1.2, low: -5.0, high: 5.0 },
    ]
}

impl Model for LineModel<'_> {
    fn priors(&self) -> Vec<Prior> {
        line_priors(self.usual)
    }

    fn covariance(&self, theta: &[f64]) -> Vec<f64> {
        let prior = LinePrior::from_theta(theta);
        let at: Vec<_> = self.data.iter().map(|d| (d.t, prior.place(d.t))).collect();
        let n = at.len();
        let mut k = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                k[i * n + j] = prior.covariance(at[i], at[j]);
            }
            k[i * n + i] += self.data[i].sd.powi(2);
        }
        k
    }

    fn slopes(&self, theta: &[f64], w: &[f64], alpha: &[f64]) -> Vec<(f64, Vec<f64>)> {
        let prior = LinePrior::from_theta(theta);
        let at: Vec<_> = self.data.iter().map(|d| (prior.place(d.t), warp(prior.alpha, d.t).1)).collect();
        let n = at.len();
        let mut slopes = vec![(0.0, vec![0.0; n]); 3];
        let variance = prior.amplitude * prior.amplitude;
        for i in 0..n {
            for j in 0..n {
                let r = at[i].0.beyond(&at[j].0);
                let (m, dm) = at[i].0.with_slope(&at[j].0);
                let d = [2.0 * m, -dm * r, dm * (at[i].1 - at[j].1) / prior.length];
                for (slope, d) in slopes.iter_mut().zip(d) {
                    slope.0 += w[i * n + j] * variance * d;
                    slope.1[i] += variance * d * alpha[j];
                }
            }
        }
        slopes
    }
}

/// The likeliest prior of a line for its readings, given what is usual.
pub(crate) fn likeliest_line(data: &[LineDatum], usual: LinePrior) -> LinePrior {
    let y: Vec<f64> = data.iter().map(|d| d.value).collect();
    LinePrior::from_theta(&likeliest(&LineModel { data, usual }, &y, &usual.theta()))
}

/// What its readings leave unsure of the parameters of a line.
pub(crate) fn unsure_line(data: &[LineDatum], usual: LinePrior, likeliest: LinePrior) -> Unsure {
    let y: Vec<f64> = data.iter().map(|d| d.value).collect();
    Unsure::new(&LineModel { data, usual }, &y, &likeliest.theta())
}

/// A line given its readings.
#[derive(Clone, Debug)]
pub(crate) struct FittedLine {
    prior: LinePrior,
    at: Vec<(f64, At)>,
    weights: Vec<f64>,
    solved: Solved,
}

impl FittedLine {
    /// `None` only for readings that are not numbers.
    pub fn new(data: &[LineDatum], prior: LinePrior) -> Option<Self> {
        let k = LineModel { data, usual: prior }.covariance(&prior.theta());
        let solved = Solved::new(&k, data.len())?;
        let weights = solved.times(&data.iter().map(|d| d.value).collect::<Vec<_>>());
        let at = data.iter().map(|d| (d.t, prior.place(d.t))).collect();
        Some(FittedLine { prior, at, weights, solved })
    }

    fn covariances(&self, t: f64) -> Vec<f64> {
        let here = (t, self.prior.place(t));
        self.at.iter().map(|&a| self.prior.covariance(here, a)).collect()
    }

    /// The line at t.
    pub fn value(&self, t: f64) -> f64 {
        dot(&self.covariances(t), &self.weights)
    }

    /// Its standard deviation at t.
    pub fn sd(&self, t: f64) -> f64 {
        let (k, here) = (self.covariances(t), (t, self.prior.place(t)));
        (self.prior.covariance(here, here) - self.solved.explained(&k)).max(0.0).sqrt()
    }

    /// The log of how likely the readings it is given are, to a constant for each.
    pub fn evidence(&self, data: &[LineDatum]) -> f64 {
        let y: Vec<f64> = data.iter().map(|d| d.value).collect();
        self.solved.evidence_by(&self.weights, &y)
    }

    /// Reading `i` left out: its misfit and the variance of that.
    pub fn left_out(&self, i: usize) -> (f64, f64) {
        self.solved.left_out(i, &self.weights)
    }
}

/// A line faired by itself: its value and one standard deviation at each of `at`, from readings (t, value,
/// sd) with t in 0 to 1 and values in lengths of the boat.
///
/// `prior` is the amplitude off a quadratic, the length scale in warped t, and the warp; without one it is
/// the likeliest for the readings. `None` where these are not numbers, or the prior's first two not above 0.
pub fn fair_line(
    readings: &[(f64, f64, f64)],
    prior: Option<(f64, f64, f64)>,
    at: &[f64],
) -> Option<Vec<(f64, f64)>> {
    let data: Vec<_> = readings.iter().map(|&(t, value, sd)| LineDatum { t, value, sd }).collect();
    let prior = match prior {
        Some((amplitude, length, alpha)) => LinePrior { amplitude, length, alpha },
        None => likeliest_line(&data, USUAL_HEIGHTS),
    };
    if !(prior.amplitude > 0.0 && prior.length > 0.0 && prior.alpha.is_finite()) {
        return None;
    }
    let line = FittedLine::new(&data, prior)?;
    Some(at.iter().map(|&t| (line.value(t), line.sd(t))).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gp::objective;

    fn readings() -> Vec<LineDatum> {
        (0..11)
            .map(|i| {
                let t = i as f64 / 10.0;
                let value = 0.1 * (2.5 * t).sin() + 0.03 * (-6.0 * t).exp();
                LineDatum { t, value: (value / 6e-4).round() * 6e-4, sd: 2e-4 }
            })
            .collect()
    }

    #[test]
    fn the_line_is_the_textbook_posterior() {
        // Rasmussen and Williams eq. 2.23 to 2.24 and 5.10 to 5.12, solved here by Gauss and Jordan.
        let (data, prior) = (readings(), LinePrior { amplitude: 0.05, length: 0.5, alpha: 1.2 });
        let kernel = |a: f64, b: f64| prior.covariance((a, prior.place(a)), (b, prior.place(b)));
        let solve = |skip: usize, t: f64| {
            let d: Vec<_> = data.iter().enumerate().filter(|(i, _)| *i != skip).map(|(_, d)| *d).collect();
            let n = d.len();
            let mut m: Vec<Vec<f64>> = (0..n)
                .map(|i| {
                    let mut row: Vec<f64> = (0..n).map(|j| kernel(d[i].t, d[j].t)).collect();
                    row[i] += d[i].sd * d[i].sd;
                    row.push(d[i].value);
                    row.push(kernel(d[i].t, t));
                    row
                })
                .collect();
            for c in 0..n {
                let pivot = m[c].clone();
                for (r, row) in m.iter_mut().enumerate() {
                    let f = if r == c { 1.0 - 1.0 / pivot[c] } else { row[c] / pivot[c] };
                    row.iter_mut().zip(&pivot).for_each(|(x, p)| *x -= f * p);
                }
            }
            let k: Vec<f64> = d.iter().map(|d| kernel(d.t, t)).collect();
            let sum = |c: usize| (0..n).map(|i| k[i] * m[i][c]).sum::<f64>();
            (sum(n), kernel(t, t) - sum(n + 1))
        };
        let line = FittedLine::new(&data, prior).expect("a line");
        let (mean, variance) = solve(usize::MAX, 0.43);
        assert!((line.value(0.43) - mean).abs() < 1e-9);
        assert!((line.sd(0.43) - variance.sqrt()).abs() < 1e-3 * variance.sqrt());
        let (without, variance) = solve(4, data[4].t);
        let (misfit, loo) = line.left_out(4);
        assert!((misfit - (data[4].value - without)).abs() < 1e-8);
        assert!((loo - variance - data[4].sd.powi(2)).abs() < 1e-3 * loo);
    }

    #[test]
    fn the_gradient_of_the_likelihood_agrees_with_differences() {
        let data = readings();
        let model = LineModel { data: &data, usual: USUAL_HEIGHTS };
        let y: Vec<f64> = data.iter().map(|d| d.value).collect();
        let theta = [-3.0, -0.4, 0.8];
        let (_, gradient) = objective(&model, &y, &theta).expect("a value");
        for i in 0..3 {
            let at = |h: f64| {
                let mut t = theta;
                t[i] += h;
                objective(&model, &y, &t).expect("a value").0
            };
            let expected = (at(1e-4) - at(-1e-4)) / 2e-4;
            assert!((gradient[i] - expected).abs() < 1e-4 * (1.0 + expected.abs()), "{i}");
        }
    }

    #[test]
    fn a_straight_line_stays_straight() {
        let data: Vec<_> = (0..13).map(|i| LineDatum { t: i as f64 / 12.0, value: 0.05, sd: 2e-4 }).collect();
        let line = FittedLine::new(&data, likeliest_line(&data, USUAL_HEIGHTS)).expect("a line");
        for i in 0..60 {
            assert!((line.value(i as f64 / 59.0) - 0.05).abs() < 1e-8);
        }
    }
}
