//! Numbers by a seed: splitmix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014)
//! and normals from pairs of them (Box and Muller, "A note on the generation of random normal deviates", 1958).

use std::f64::consts::TAU;

/// The generator.
#[derive(Clone, Debug)]
pub struct Random {
    state: u64,
    /// The second normal of a pair.
    spare: Option<f64>,
}

impl Random {
    /// From a state.
    pub fn new(state: u64) -> Self {
        Random { state, spare: None }
    }

    /// The `index`-th of many streams of one seed, unlike its neighbours.
    pub fn stream(seed: u64, index: u64) -> Self {
        let own = Random::new(seed).whole();
        Random::new(Random::new(own ^ index.wrapping_mul(0xd134_2543_de82_ef95)).whole())
    }

    fn whole(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly between two bounds.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.whole() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A standard normal.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * (1.0 - self.between(0.0, 1.0)).ln()).sqrt();
        let (sin, cos) = self.between(0.0, TAU).sin_cos();
        self.spare = Some(radius * sin);
        radius * cos
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normals_have_the_moments_of_a_normal() {
        // Mean 0, variance 1, fourth moment 3; each within five of its own standard deviations.
        let (mut random, n) = (Random::new(7), 40_000);
        let drawn: Vec<f64> = (0..n).map(|_| random.normal()).collect();
        let moment = |k: i32| drawn.iter().map(|d| d.powi(k)).sum::<f64>() / f64::from(n);
        let near =
            |k: i32, of: f64, variance: f64| (moment(k) - of).abs() < 5.0 * (variance / f64::from(n)).sqrt();
        assert!(near(1, 0.0, 1.0) && near(2, 1.0, 2.0) && near(3, 0.0, 15.0) && near(4, 3.0, 96.0));
    }

    #[test]
    fn streams_of_one_seed_are_unlike_and_come_again() {
        let first = |seed, index| Random::stream(seed, index).normal();
        assert_eq!(first(3, 5), first(3, 5));
        let mut all: Vec<f64> = (0..8).flat_map(|s| (0..64).map(move |i| first(s, i))).collect();
        all.sort_by(f64::total_cmp);
        assert!(all.windows(2).all(|w| w[0] < w[1]));
    }
}
