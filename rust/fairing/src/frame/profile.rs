//! A stem or sternpost in profile, as a curve over its own chord.
//!
//! The offset from the chord is a Gaussian process of the distance along it, so a plumb stem and a forefoot
//! that runs into the keel are alike, and a spot's worth counts square to the curve.

use crate::lines::{FittedLine, LineDatum, LinePrior, likeliest_line};
use crate::robust::judge_line;

/// How far beyond either end, as a part of the chord, the curve may be asked for.
const BEYOND: f64 = 0.1;
/// A profile bends more over its length than a line along the boat does, and evenly.
const USUAL_PROFILE: LinePrior = LinePrior { amplitude: 0.1, length: 0.6, alpha: 0.0 };
/// Steps of the inversion; each at least halves what is left.
const STEPS: usize = 50;

/// A spot of the profile: x, z and its worth, m.
pub(crate) type ProfileDatum = (f64, f64, f64);

/// The curve.
#[derive(Clone, Debug)]
pub(crate) struct ProfileCurve {
    head: (f64, f64),
    axis: (f64, f64),
    chord: f64,
    offset: FittedLine,
    /// Lowest and highest spot.
    pub foot_z: f64,
    pub head_z: f64,
    /// For every spot given: the rest of the profile contradicts it.
    pub doubted: Vec<bool>,
    /// For every spot given: how far it lies off what the others expect, and the sd of that, m.
    pub left_out: Vec<(f64, f64)>,
}

impl ProfileCurve {
    /// From two spots or more; `None` where they make no curve that rises.
    pub fn new(spots: &[ProfileDatum], robust: bool) -> Option<Self> {
        let highest = spots.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let lowest = spots.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        let head = (highest.0, highest.1);
        let chord = (lowest.0 - head.0).hypot(lowest.1 - head.1);
        // A chord of no length or height is no profile.
        if chord.is_nan() || highest.1 - lowest.1 < 0.05 * chord || chord <= 0.0 {
            return None;
        }
        let axis = ((lowest.0 - head.0) / chord, (lowest.1 - head.1) / chord);
        let mut order: Vec<usize> = (0..spots.len()).collect();
        order.sort_by(|&a, &b| {
            let t = |i: usize| (spots[i].0 - head.0) * axis.0 + (spots[i].1 - head.1) * axis.1;
            t(a).total_cmp(&t(b))
        });
        let data: Vec<LineDatum> = order
            .iter()
            .map(|&i| spots[i])
            .map(|(x, z, sd)| {
                let (dx, dz) = ((x - head.0) / chord, (z - head.1) / chord);
                LineDatum { t: dx * axis.0 + dz * axis.1, value: dx * axis.1 - dz * axis.0, sd: sd / chord }
            })
            .collect();
        let doubted = if robust {
            judge_line(&data, &vec![true; data.len()], USUAL_PROFILE)
        } else {
            vec![false; data.len()]
        };
        let trusted: Vec<LineDatum> =
            data.iter().zip(&doubted).filter(|(_, d)| !**d).map(|(d, _)| *d).collect();
        let prior = likeliest_line(&trusted, USUAL_PROFILE);
        let offset = FittedLine::new(&trusted, prior)?;
        let (mut own, mut given) = (0, vec![(false, 0.0, 0.0); data.len()]);
        for (k, d) in data.iter().enumerate() {
            let (misfit, variance) = if doubted[k] {
                (d.value - offset.value(d.t), offset.sd(d.t).powi(2) + d.sd * d.sd)
            } else {
                own += 1;
                offset.left_out(own - 1)
            };
            given[order[k]] = (doubted[k], misfit * chord, variance.sqrt() * chord);
        }
        let doubted = given.iter().map(|g| g.0).collect();
        let left_out = given.iter().map(|g| (g.1, g.2)).collect();
        let (foot_z, head_z) = (lowest.1, highest.1);
        Some(ProfileCurve { head, axis, chord, offset, foot_z, head_z, doubted, left_out })
    }

    /// The point so far along the chord and so far off it.
    fn place(&self, t: f64, d: f64) -> (f64, f64) {
        (
            self.head.0 + self.chord * (self.axis.0 * t + self.axis.1 * d),
            self.head.1 + self.chord * (self.axis.1 * t - self.axis.0 * d),
        )
    }

    /// x at height z, m.
    pub fn x(&self, z: f64) -> f64 {
        let point = |t: f64| self.place(t, self.offset.value(t));
        let (mut low, mut high) = ((-BEYOND, point(-BEYOND).1), (1.0 + BEYOND, point(1.0 + BEYOND).1));
        // Secants that keep the bracket, halving where they would creep.
        for step in 0..STEPS {
            let mut t = low.0 + (high.0 - low.0) * (low.1 - z) / (low.1 - high.1);
            if step % 3 == 2 || !(t > low.0 && t < high.0) {
                t = 0.5 * (low.0 + high.0);
            }
            let at = (t, point(t).1);
            if (at.1 - z).abs() < 1e-10 * self.chord {
                return point(t).0;
            }
            if at.1 > z { low = at } else { high = at }
        }
        point(0.5 * (low.0 + high.0)).0
    }

    /// Standard deviation square to the curve at height z, m.
    pub fn sd(&self, z: f64) -> f64 {
        self.chord * self.offset.sd((self.head_z - z) / (self.head_z - self.foot_z))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_forefoot_that_runs_into_the_keel_is_followed() {
        // A quarter ellipse, level at the keel, read to the eighth.
        let curve = |s: f64| (0.5 - 0.5 * s.cos(), 0.9 - 0.8 * s.sin());
        let round = |m: f64| (m / 3.175e-3).round() * 3.175e-3;
        let spots: Vec<ProfileDatum> = (0..9)
            .map(|i| {
                let p = curve(i as f64 / 8.0 * std::f64::consts::FRAC_PI_2);
                (round(p.0), round(p.1), 0.917e-3)
            })
            .collect();
        let profile = ProfileCurve::new(&spots, true).expect("a curve");
        assert!(profile.doubted.iter().all(|d| !d));
        for i in 1..20 {
            let s = i as f64 / 20.0 * 1.45;
            let (x, z) = curve(s);
            // Square to the curve.
            let off = (profile.x(z) - x) * 0.8 * s.cos() / (0.5 * s.sin()).hypot(0.8 * s.cos());
            assert!(off.abs() < 2e-3, "{x} {z} {off}");
        }
    }
}
