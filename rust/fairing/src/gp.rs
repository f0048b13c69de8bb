//! Gaussian processes given by their covariance matrix: the solve, leaving one out, and the choice of
//! parameters by restricted likelihood.
//!
//! Mean functions are given broad priors and live in the covariance, so that all formulas are those of a
//! zero mean (Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, sections 2.7 and
//! 5.4). Parameters climb by average information (Gilmour, Thompson and Cullis, Biometrics 51, 1995).

use faer::{MatRef, Side};

pub(crate) use scrieve_surface::solved::{Solved, dot};

/// Steps of the climb at most: it has nearly always arrived in six.
const MAX_STEPS: usize = 14;
/// The climb ends when a step gains less than this (natural log units): less moves no line visibly.
const ENOUGH: f64 = 0.02;
/// Longest step of one parameter; they are logs or of order one.
const LONGEST_STEP: f64 = 1.0;
/// What is believed of a parameter before the readings: a normal, cut off at bounds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Prior {
    pub mean: f64,
    pub sd: f64,
    pub low: f64,
    pub high: f64,
}

/// The log of what is believed of parameters before the readings, to a constant.
pub(crate) fn log_prior(priors: &[Prior], theta: &[f64]) -> f64 {
    -priors.iter().zip(theta).map(|(p, t)| 0.5 * ((t - p.mean) / p.sd).powi(2)).sum::<f64>()
}

/// A covariance with parameters.
pub(crate) trait Model {
    /// Priors of the parameters.
    fn priors(&self) -> Vec<Prior>;
    /// The lower triangle of K, noise and mean functions included.
    fn covariance(&self, theta: &[f64]) -> Vec<f64>;
    /// For every parameter tr(W ∂K) and ∂K α.
    fn slopes(&self, theta: &[f64], w: &[f64], alpha: &[f64]) -> Vec<(f64, Vec<f64>)>;
}

/// Minus the log of the restricted likelihood times the prior, to a constant, and its gradient.
#[cfg(test)]
pub(crate) fn objective(model: &impl Model, y: &[f64], theta: &[f64]) -> Option<(f64, Vec<f64>)> {
    let (value, solved, alpha) = evaluate(model, y, theta)?;
    let priors = model.priors();
    let slopes = model.slopes(theta, solved.inverse(), &alpha);
    let gradient = (0..theta.len())
        .map(|i| {
            let (trace, product) = &slopes[i];
            0.5 * (trace - dot(product, &alpha)) + (theta[i] - priors[i].mean) / priors[i].sd.powi(2)
        })
        .collect();
    Some((value, gradient))
}

fn evaluate(model: &impl Model, y: &[f64], theta: &[f64]) -> Option<(f64, Solved, Vec<f64>)> {
    let solved = Solved::new(&model.covariance(theta), y.len())?;
    let alpha = solved.times(y);
    let value = -solved.evidence_by(&alpha, y) - log_prior(&model.priors(), theta);
    value.is_finite().then_some((value, solved, alpha))
}

/// Gradient of the objective, and the average information of the parameters with that of their priors.
fn slope_and_information(
    model: &impl Model,
    theta: &[f64],
    solved: &Solved,
    alpha: &[f64],
) -> (Vec<f64>, Vec<f64>) {
    let (priors, m) = (model.priors(), theta.len());
    let slopes = model.slopes(theta, solved.inverse(), alpha);
    let gradient = (0..m)
        .map(|i| {
            0.5 * (slopes[i].0 - dot(&slopes[i].1, alpha))
                + (theta[i] - priors[i].mean) / priors[i].sd.powi(2)
        })
        .collect();
    let weighed: Vec<Vec<f64>> = slopes.iter().map(|s| solved.times(&s.1)).collect();
    let mut information = vec![0.0; m * m];
    for i in 0..m {
        for j in 0..=i {
            information[i * m + j] = 0.5 * dot(&slopes[i].1, &weighed[j]);
        }
        information[i * m + i] += priors[i].sd.powi(-2);
    }
    (gradient, information)
}

/// What the readings leave unsure of the parameters: steps of one standard deviation from the likeliest,
/// `theta`, in directions in which their errors are independent.
#[derive(Clone, Debug, Default)]
pub(crate) struct Unsure {
    steps: Vec<Vec<f64>>,
    priors: Vec<Prior>,
}

impl Unsure {
    pub fn new(model: &impl Model, y: &[f64], theta: &[f64]) -> Self {
        let m = theta.len();
        let covariance = || {
            let (_, solved, alpha) = evaluate(model, y, theta)?;
            let (_, information) = slope_and_information(model, theta, &solved, &alpha);
            Solved::new(Solved::new(&information, m)?.inverse(), m)
        };
        let Some(covariance) = covariance() else { return Unsure::default() };
        let step = |k: usize| (0..m).map(|i| covariance.factor_at(i, k)).collect();
        Unsure { steps: (0..m).map(step).collect(), priors: model.priors() }
    }

    /// Parameters so many standard deviations off `theta` in each direction.
    pub fn off(&self, theta: &[f64], deviations: &[f64]) -> Vec<f64> {
        let mut off = theta.to_vec();
        for (step, by) in self.steps.iter().zip(deviations) {
            off.iter_mut().zip(step).for_each(|(t, s)| *t += by * s);
        }
        off.iter_mut().zip(&self.priors).for_each(|(t, p)| *t = t.clamp(p.low, p.high));
        off
    }

    /// Parameters one standard deviation off `theta` to either side in each direction.
    pub fn pairs(&self, theta: &[f64]) -> Vec<[Vec<f64>; 2]> {
        let one = |k: usize, by: f64| {
            let deviations: Vec<f64> = (0..=k).map(|i| if i == k { by } else { 0.0 }).collect();
            self.off(theta, &deviations)
        };
        (0..self.steps.len()).map(|k| [one(k, 1.0), one(k, -1.0)]).collect()
    }
}

/// A root of a covariance matrix, rows of `n`: times independent standard normals it gives numbers so
/// correlated. By eigenvalues, since one of a smooth process on a fine grid is singular to rounding.
pub(crate) fn root(k: &[f64], n: usize) -> Option<Vec<f64>> {
    let eigen = MatRef::from_column_major_slice(k, n, n).self_adjoint_eigen(Side::Upper).ok()?;
    let scale: Vec<f64> = eigen.S().column_vector().iter().map(|s| s.max(0.0).sqrt()).collect();
    let row = |i: usize| (0..n).map(|j| eigen.U()[(i, j)] * scale[j]).collect::<Vec<f64>>();
    Some((0..n).flat_map(row).collect())
}

/// The likeliest parameters, from `start`; bounded in steps, and `start` itself if nothing better is found.
pub(crate) fn likeliest(model: &impl Model, y: &[f64], start: &[f64]) -> Vec<f64> {
    let priors = model.priors();
    let m = priors.len();
    let mut theta: Vec<f64> = start.iter().zip(&priors).map(|(t, p)| t.clamp(p.low, p.high)).collect();
    let Some((mut value, mut solved, mut alpha)) = evaluate(model, y, &theta) else { return theta };
    let mut damping = 0.02;
    let mut system: Option<(Vec<f64>, Vec<f64>)> = None;
    for _ in 0..MAX_STEPS {
        let (gradient, information) =
            system.get_or_insert_with(|| slope_and_information(model, &theta, &solved, &alpha));
        let mut damped = information.clone();
        for i in 0..m {
            // A parameter held by its bound takes no part.
            damped[i * m + i] *= 1.0 + damping;
            let p = priors[i];
            if theta[i] <= p.low && gradient[i] > 0.0 || theta[i] >= p.high && gradient[i] < 0.0 {
                damped[i * m + i] = f64::MAX.sqrt();
            }
        }
        let Some(inverse) = Solved::new(&damped, m) else { break };
        let step: Vec<f64> = inverse.times(gradient);
        let longest = step.iter().fold(LONGEST_STEP, |a, s| a.max(s.abs()));
        let next: Vec<f64> = (0..m)
            .map(|i| (theta[i] - step[i] * LONGEST_STEP / longest).clamp(priors[i].low, priors[i].high))
            .collect();
        match evaluate(model, y, &next) {
            Some((v, s, a)) if v < value => {
                let gain = value - v;
                (value, solved, alpha, theta, system) = (v, s, a, next, None);
                damping *= 0.2;
                if gain < ENOUGH {
                    break;
                }
            }
            _ if damping > 1e3 => break,
            _ => damping = (damping * 10.0).max(0.1),
        }
    }
    theta
}
