//! The bulge w of a strake off the chord between its edges, as a Gaussian process over (t, v).
//!
//! Kernel a1² M(Δξ/ℓx) N(ℓv) + a2² N(ℓ2) + a3² (e e' + ē ē') N(ℓ3): a bulge that changes along the boat, one
//! common to all sections, and one of either end, e = t¹⁰ and ē = (1 - t)¹⁰, for what only an end has: the deadwood
//! under a transom, a tuck. N is the Matérn of the warped v, conditioned to vanish at v = 0 and 1 (where w = 0 by its
//! definition) and scaled to one at half height. Mean: v(1 - v) times 1, v - ½ and 1, t, t², of any size.

use crate::gp::{Prior, dot, root};
use crate::matern::{At, matern, warp};
use crate::random::Random;
use crate::sheet::Sheet;
use scrieve_surface::bspline::greville;

/// Parameters of the kernel: logs of a1, ℓx, ℓv, a2, ℓ2, then the warps α, β1, β2, then the log of a3.
pub(crate) type Theta = [f64; PARAMETERS];
/// How many there are.
const PARAMETERS: usize = 9;
/// ln a3 of a boat whose ends are like the rest of her.
const NO_END: f64 = -20.0;
/// Where its fit starts for one with a sternpost under her transom, whose planking has a knuckle at the transom's foot.
const SOME_END: f64 = -6.5;
/// ℓ3: a part of a section.
const END_LENGTH: f64 = 0.2;
/// How fast the bulge of an end dies away from it.
const END_POWER: i32 = 10;

/// Where the fit of parameters starts: medians over known hulls of several families.
pub(crate) const USUAL: Theta = [-3.7, -0.9, -0.5, -3.7, -0.1, 0.0, -0.3, -0.5, NO_END];
/// What judges slips before parameters are fitted: twice the amplitudes, for hulls less smooth than those.
pub(crate) const JUDGING: Theta = [-3.0, -0.9, -0.6, -3.0, -0.2, 0.0, -0.3, -0.5, NO_END];

/// Standard deviation of each coefficient of the mean: w is never beyond ±0.6.
const BROAD: f64 = 0.4;
/// One spot a station says how far a strake bulges, not where it bulges most: of that it may be told this part only.
const LONE: f64 = 0.02;

fn skew(lone: bool) -> f64 {
    if lone { LONE } else { 1.0 }
}

/// Number of mean functions.
const MEANS: usize = 6;

/// What is believed of the parameters before the readings.
pub(crate) fn priors(theta: &[f64]) -> Vec<Prior> {
    let sd = [1.0, 0.4, 0.4, 1.0, 0.4, 1.0, 0.3, 0.4, 1.5];
    let low = [-9.0, -2.3, -2.3, -9.0, -1.8, -2.0, -0.6, -1.2, -9.0];
    let high = [0.0, 1.2, 1.2, 0.0, 1.5, 2.0, 0.6, 0.8, 0.0];
    let mut priors: Vec<Prior> =
        (0..PARAMETERS).map(|i| Prior { mean: USUAL[i], sd: sd[i], low: low[i], high: high[i] }).collect();
    priors[8].mean = SOME_END;
    if theta[8] <= NO_END {
        (priors[8].mean, priors[8].low, priors[8].high) = (NO_END, NO_END, NO_END);
    }
    priors
}

/// Parameters from which a boat with ends of their own starts.
pub(crate) fn with_end(mut theta: Theta) -> Theta {
    theta[8] = theta[8].max(SOME_END);
    theta
}

/// Parameters of a batten so many times as stiff: it bends in as many times the length, and the less at an end.
pub(crate) fn stiffer(mut theta: Theta, stiffness: f64) -> Theta {
    for i in [1, 2, 4] {
        theta[i] += stiffness.ln();
    }
    if theta[8] > NO_END {
        theta[8] -= 2.0 * stiffness.ln();
    }
    theta
}

/// One of the three conditioned kernels of v.
#[derive(Clone, Copy, Debug)]
struct Pinned {
    length: f64,
    /// Correlation of the two edges, and its derivative by ln ℓ.
    e: (f64, f64),
    /// Variance at half height before scaling, and its derivative by ln ℓ.
    half: (f64, f64),
}

/// A point as a pinned kernel sees it: M to either edge, its derivatives by V and ln ℓ, and E⁻¹m.
#[derive(Clone, Copy, Debug, Default)]
struct Seen {
    at: At,
    m: [f64; 2],
    by_v: [f64; 2],
    by_l: [f64; 2],
    q: [f64; 2],
}

impl Pinned {
    fn new(length: f64) -> Self {
        let by_l = |r: f64| {
            let (m, d) = matern(r);
            (m, -d * r)
        };
        let (e, h) = (by_l(1.0 / length), by_l(0.5 / length));
        let half = 1.0 - 2.0 * h.0 * h.0 / (1.0 + e.0);
        let slope = -2.0 * h.0 * (2.0 * h.1 * (1.0 + e.0) - h.0 * e.1) / (1.0 + e.0).powi(2);
        Pinned { length, e, half: (half, slope) }
    }

    fn see(&self, v: f64) -> Seen {
        let (r0, r1) = (v / self.length, (v - 1.0) / self.length);
        let (a, b) = (matern(r0), matern(r1));
        let m = [a.0, b.0];
        let det = 1.0 - self.e.0 * self.e.0;
        let q = [(m[0] - self.e.0 * m[1]) / det, (m[1] - self.e.0 * m[0]) / det];
        Seen {
            at: At::new(r0),
            m,
            by_v: [a.1 / self.length, b.1 / self.length],
            by_l: [-a.1 * r0, -b.1 * r1],
            q,
        }
    }

    fn value(&self, s: &Seen, o: &Seen) -> f64 {
        let m = s.at.correlation(&o.at);
        (m - s.m[0] * o.q[0] - s.m[1] * o.q[1]) / self.half.0
    }

    /// Value, ∂/∂V of the first, ∂/∂V of the second, ∂/∂ln ℓ.
    fn slopes(&self, s: &Seen, o: &Seen) -> [f64; 4] {
        let r = s.at.beyond(&o.at);
        let (m, d) = s.at.with_slope(&o.at);
        let dot = |a: &[f64; 2], b: &[f64; 2]| a[0] * b[0] + a[1] * b[1];
        let value = m - dot(&s.m, &o.q);
        let first = d / self.length - dot(&s.by_v, &o.q);
        let second = -d / self.length - dot(&o.by_v, &s.q);
        let swapped = self.e.1 * (s.q[0] * o.q[1] + s.q[1] * o.q[0]);
        let by_l = -d * r - dot(&s.by_l, &o.q) - dot(&o.by_l, &s.q) + swapped;
        let half = self.half.0;
        [value / half, first / half, second / half, (by_l - value * self.half.1 / half) / half]
    }
}

/// A point of a strake, ready for the kernel.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FieldPoint {
    /// ξ over its length scale, and ∂/∂α of that.
    xi: (At, f64),
    /// dV/dv, ∂V/∂β1, ∂V/∂β2.
    v: [f64; 3],
    near: Seen,
    common: Seen,
    /// e and ē, and the section as the bulge of an end sees it.
    ends: [f64; 2],
    end: Seen,
    means: [f64; MEANS],
    means_by_v: [f64; MEANS],
}

/// The kernel at given parameters.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Field {
    theta: Theta,
    varied: f64,
    common: f64,
    of_ends: f64,
    near: Pinned,
    wide: Pinned,
    short: Pinned,
}

impl Field {
    pub fn new(theta: &[f64]) -> Self {
        let mut own = USUAL;
        own.copy_from_slice(theta);
        Field {
            theta: own,
            varied: (2.0 * own[0]).exp(),
            common: (2.0 * own[3]).exp(),
            of_ends: (2.0 * own[8]).exp(),
            near: Pinned::new(own[2].exp()),
            wide: Pinned::new(own[4].exp()),
            short: Pinned::new(END_LENGTH),
        }
    }

    /// A point of a strake; `lone` where no more than one spot a station says how that bulges.
    pub fn point(&self, t: f64, v: f64, lone: bool) -> FieldPoint {
        let length = self.theta[1].exp();
        let xi = warp(self.theta[5], t);
        let (b1, b2) = (v * (1.0 - v), v * (1.0 - v) * (v - 0.5));
        let (d1, d2) = (1.0 - 2.0 * v, (1.0 - 2.0 * v) * (v - 0.5) + v * (1.0 - v));
        let (beta1, beta2) = (self.theta[6], self.theta[7]);
        let warped = v + beta1 * b1 + beta2 * b2;
        let ends = [t.powi(END_POWER), (1.0 - t).powi(END_POWER)];
        let t = t - 0.5;
        let along = [1.0, 2.0 * t, 4.0 * t * t];
        let (mut means, mut means_by_v) = ([0.0; MEANS], [0.0; MEANS]);
        let skew = skew(lone);
        for k in 0..3 {
            (means[k], means[k + 3]) = (4.0 * b1 * along[k], 8.0 * skew * b2 * along[k]);
            (means_by_v[k], means_by_v[k + 3]) = (4.0 * d1 * along[k], 8.0 * skew * d2 * along[k]);
        }
        FieldPoint {
            xi: (At::new(xi.0 / length), xi.1 / length),
            v: [1.0 + beta1 * d1 + beta2 * d2, b1, b2],
            near: self.near.see(warped),
            common: self.wide.see(warped),
            ends,
            end: self.short.see(warped),
            means,
            means_by_v,
        }
    }

    /// Covariance along the boat only, with a1².
    pub fn along(&self, a: &FieldPoint, b: &FieldPoint) -> f64 {
        self.varied * a.xi.0.correlation(&b.xi.0)
    }

    /// The same of the bulge of an end.
    pub fn along_ends(&self, a: &FieldPoint, b: &FieldPoint) -> f64 {
        self.of_ends * (a.ends[0] * b.ends[0] + a.ends[1] * b.ends[1])
    }

    /// Covariance along the section: what `along` multiplies, what is added, and what `along_ends` multiplies.
    pub fn across(&self, a: &FieldPoint, b: &FieldPoint) -> (f64, f64, f64) {
        (
            self.near.value(&a.near, &b.near),
            self.common * self.wide.value(&a.common, &b.common),
            self.short.value(&a.end, &b.end),
        )
    }

    /// Coefficients of the mean functions of v at t, given points and their weights.
    pub fn mean_weights<'a>(
        t: f64,
        lone: bool,
        points: impl Iterator<Item = (&'a FieldPoint, f64)>,
    ) -> [f64; 2] {
        let mut sums = [0.0; MEANS];
        for (p, w) in points {
            sums.iter_mut().zip(p.means).for_each(|(s, m)| *s += w * m);
        }
        let t = t - 0.5;
        let at = |k: usize| BROAD * BROAD * (sums[k] + 2.0 * t * sums[k + 1] + 4.0 * t * t * sums[k + 2]);
        [at(0), skew(lone) * at(3)]
    }

    /// Their sum at v.
    pub fn mean_at(weights: &[f64; 2], v: f64) -> f64 {
        v * (1.0 - v) * (4.0 * weights[0] + 8.0 * (v - 0.5) * weights[1])
    }

    pub fn means(a: &FieldPoint, b: &FieldPoint) -> f64 {
        BROAD * BROAD * (0..MEANS).map(|k| a.means[k] * b.means[k]).sum::<f64>()
    }

    pub fn covariance(&self, a: &FieldPoint, b: &FieldPoint) -> f64 {
        let (near, common, end) = self.across(a, b);
        self.along(a, b) * near + common + self.along_ends(a, b) * end + Self::means(a, b)
    }

    /// Covariance of ∂w/∂v at `a` with w at `b`.
    pub fn slope_covariance(&self, a: &FieldPoint, b: &FieldPoint) -> f64 {
        let near = self.near.slopes(&a.near, &b.near)[1];
        let common = self.wide.slopes(&a.common, &b.common)[1];
        let end = self.short.slopes(&a.end, &b.end)[1];
        let means: f64 = (0..MEANS).map(|k| a.means_by_v[k] * b.means[k]).sum();
        let sum = self.along(a, b) * near + self.common * common + self.along_ends(a, b) * end;
        a.v[0] * sum + BROAD * BROAD * means
    }

    /// A bulge drawn before any reading is seen, on breaks of t and v; `None` only for wild parameters. Its mean
    /// is nought: of any size, it is for the readings to say.
    pub fn draw(&self, breaks: [&[f64]; 2], random: &mut Random) -> Option<Sheet> {
        let [ts, vs] = breaks.map(|b| greville(5, b));
        // Nothing is drawn on the edges, where w vanishes.
        let inner = vs.get(1..vs.len() - 1)?;
        let along: Vec<FieldPoint> = ts.iter().map(|&t| self.point(t, 0.5, false)).collect();
        let across: Vec<FieldPoint> = inner.iter().map(|&v| self.point(0.0, v, false)).collect();
        let of = |points: &[FieldPoint], k: &dyn Fn(&FieldPoint, &FieldPoint) -> f64| {
            let k: Vec<f64> = points.iter().flat_map(|a| points.iter().map(|b| k(a, b))).collect();
            root(&k, points.len())
        };
        let root_along = of(&along, &|a, b| self.along(a, b))?;
        let root_near = of(&across, &|a, b| self.across(a, b).0)?;
        let root_common = of(&across, &|a, b| self.across(a, b).1)?;
        let root_end = of(&across, &|a, b| self.across(a, b).2)?;
        let mut normals = |n: usize| (0..n).map(|_| random.normal()).collect::<Vec<f64>>();
        let times = |root: &[f64], z: &[f64]| root.chunks_exact(z.len()).map(|row| dot(row, z)).collect();
        // One column of independent draws across for every row of the root along.
        let columns: Vec<Vec<f64>> = ts.iter().map(|_| times(&root_near, &normals(inner.len()))).collect();
        let common: Vec<f64> = times(&root_common, &normals(inner.len()));
        let ends: [Vec<f64>; 2] = [(); 2].map(|()| times(&root_end, &normals(inner.len())));
        let of_ends = self.of_ends.sqrt();
        let mut values = vec![0.0; ts.len() * vs.len()];
        for (i, row) in root_along.chunks_exact(ts.len()).enumerate() {
            for (j, common) in common.iter().enumerate() {
                let near: f64 = row.iter().zip(&columns).map(|(r, column)| r * column[j]).sum();
                let e = along[i].ends;
                let end = of_ends * (e[0] * ends[0][j] + e[1] * ends[1][j]);
                values[i * vs.len() + j + 1] = near + common + end;
            }
        }
        Some(Sheet::through(breaks, values))
    }

    /// Derivatives of the covariance by the parameters.
    pub fn parameter_slopes(&self, a: &FieldPoint, b: &FieldPoint) -> Theta {
        let r = a.xi.0.beyond(&b.xi.0);
        let (m, d) = a.xi.0.with_slope(&b.xi.0);
        let near = self.near.slopes(&a.near, &b.near);
        let wide = self.wide.slopes(&a.common, &b.common);
        let end = self.short.slopes(&a.end, &b.end);
        let (x, c, e) = (self.varied * m, self.common, self.along_ends(a, b));
        let by_beta = |k: usize| {
            let of = |s: &[f64; 4]| s[1] * a.v[k] + s[2] * b.v[k];
            x * of(&near) + c * of(&wide) + e * of(&end)
        };
        [
            2.0 * x * near[0],
            -self.varied * d * r * near[0],
            x * near[3],
            2.0 * c * wide[0],
            c * wide[3],
            self.varied * d * (a.xi.1 - b.xi.1) * near[0],
            by_beta(1),
            by_beta(2),
            2.0 * e * end[0],
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bulge_vanishes_on_the_edges() {
        let field = Field::new(&USUAL);
        for v in [0.0, 1.0] {
            let (edge, inside) = (field.point(0.3, v, false), field.point(0.5, 0.4, false));
            assert!(field.covariance(&edge, &edge).abs() < 1e-12);
            assert!(field.covariance(&edge, &inside).abs() < 1e-12);
        }
        let unit = Field::new(&[0.0; PARAMETERS]);
        let (near, common, end) = unit.across(&unit.point(0.0, 0.5, false), &unit.point(0.0, 0.5, false));
        assert!([near, common, end].iter().all(|k| (k - 1.0).abs() < 1e-12));
    }

    #[test]
    fn slopes_agree_with_differences() {
        let theta: Theta = [-2.0, -0.6, -0.7, -1.5, 0.1, 1.1, -0.2, -0.4, -1.0];
        let (a, b) = ((0.8, 0.35), (0.91, 0.5));
        let at = |theta: &Theta, dv: f64| {
            let f = Field::new(theta);
            f.covariance(&f.point(a.0, a.1 + dv, false), &f.point(b.0, b.1, false))
        };
        let f = Field::new(&theta);
        let (pa, pb) = (f.point(a.0, a.1, false), f.point(b.0, b.1, false));
        let by_v = (at(&theta, 1e-5) - at(&theta, -1e-5)) / 2e-5;
        assert!((f.slope_covariance(&pa, &pb) - by_v).abs() < 1e-7);
        let slopes = f.parameter_slopes(&pa, &pb);
        for i in 0..PARAMETERS {
            let shifted = |h: f64| {
                let mut t = theta;
                t[i] += h;
                at(&t, 0.0)
            };
            let expected = (shifted(1e-5) - shifted(-1e-5)) / 2e-5;
            assert!((slopes[i] - expected).abs() < 1e-7, "{i}: {} {expected}", slopes[i]);
        }
    }
}
