//! Figures of hulls in closed form lie within what their uncertainty says.

use scrieve_fairing::known::{Family, Known, Place};
use scrieve_fairing::{Options, Surface, fair};
use scrieve_hull::floating::{Body, Water};

/// The root of a function that falls through zero between `low` and `high`.
fn bisect(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..50 {
        let mid = 0.5 * (low + high);
        if f(mid) > 0.0 { low = mid } else { high = mid }
    }
    0.5 * (low + high)
}

/// Waterplane, its centre and its breadth at height z, by the formula itself: between the rabbet forward and the
/// rabbet or the after end.
fn waterplane(hull: &Known, z: f64) -> [f64; 3] {
    let (middle, end) = (0.5 * hull.length(), hull.after_end(z));
    let fore = if hull.rabbet(0.0) < z { 0.0 } else { bisect(0.0, middle, |x| hull.rabbet(x) - z) };
    let aft = if hull.rabbet(end - 1e-9) < z { end } else { bisect(middle, end, |x| z - hull.rabbet(x)) };
    let n = 20_000;
    let (mut area, mut moment, mut breadth) = (0.0, 0.0, 0.0f64);
    for i in 0..n {
        let x = fore + (aft - fore) * (f64::from(i) + 0.5) / f64::from(n);
        let y = hull.half_breadth(x, z);
        let part = 2.0 * y * (aft - fore) / f64::from(n);
        (area, moment, breadth) = (area + part, moment + x * part, breadth.max(2.0 * y));
    }
    [area, moment / area, breadth]
}

fn figures(surface: &Surface, draught: f64) -> [f64; 3] {
    let h = Body::new(surface).hydrostatics(draught, Water::SEA).expect("afloat");
    [h.awp, h.lcf, h.bwl]
}

#[test]
fn waterplanes_of_known_hulls_lie_within_their_uncertainty() {
    const DRAWS: usize = 32;
    let mut errors = Vec::new();
    for family in Family::ALL {
        for seed in [41, 42] {
            let known = Known::new(family, seed);
            let along = |f: &dyn Fn(f64) -> f64| {
                (0..=200).map(|i| f(known.length() * f64::from(i) / 200.0)).collect()
            };
            let (rabbet, sheer): (Vec<f64>, Vec<f64>) =
                (along(&|x| known.rabbet(x)), along(&|x| known.sheer(x).1));
            let least = |of: &[f64]| of.iter().copied().fold(f64::MAX, f64::min);
            let z = least(&rabbet) + 0.5 * (least(&sheer) - least(&rabbet));
            let hull =
                fair(&known.survey(&known.layout(11), Place::Eighth), &Options::default()).expect("a hull");
            let (truth, value) = (waterplane(&known, z), figures(&hull.surface, z));
            let draws: Vec<_> =
                hull.draws(DRAWS, 0).expect("draws").iter().map(|d| figures(&d.surface, z)).collect();
            for k in 0..3 {
                let square: f64 = draws.iter().map(|d| (d[k] - value[k]).powi(2)).sum();
                errors.push((value[k] - truth[k]) / (square / DRAWS as f64).sqrt());
            }
        }
    }
    // Two standard deviations of a normal hold 95 % of 54, give or take 3 %.
    let within = errors.iter().filter(|e| e.abs() < 2.0).count() as f64 / errors.len() as f64;
    let rms = (errors.iter().map(|e| e * e).sum::<f64>() / errors.len() as f64).sqrt();
    assert!(
        (0.87..=1.0).contains(&within) && (0.65..1.3).contains(&rms),
        "{within:.2} {rms:.2} {errors:.1?}"
    );
}
