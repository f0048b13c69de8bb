//! How long the hull takes to answer, on a surface of the size fairing makes.

use std::{hint::black_box, time::Instant};

use scrieve_hull::{Hull, HullError};
use scrieve_surface::{Patch, Surface};

/// Spans along and up a patch.
const SPANS: [usize; 2] = [30, 20];

fn main() -> Result<(), HullError> {
    let even = |n: usize| (0..=n).map(|i| i as f64 / n as f64).collect::<Vec<_>>();
    let patch = Patch::interpolating(&even(SPANS[0]), &even(SPANS[1]), |u, v| {
        let (a, full) = (1.5 * v, 0.05 + (3.0 * u).sin());
        [6.0 * u - 0.3 * v * (1.0 - u) + 0.2 * u * v, 0.9 * full * a.sin(), 0.6 - 0.6 * full.sqrt() * a.cos()]
    });
    let hull = Hull::from_surface(Surface { patches: vec![patch.clone()] });
    let x = |k: usize| 0.5 + 5.0 * (k % 97) as f64 / 97.0;
    time("making a hull", 20, |_| Ok(Hull::from_surface(Surface { patches: vec![patch.clone()] })))?;
    time("point and derivatives", 100_000, |k| Ok(patch.jet(x(k) / 6.0, 0.4)))?;
    time("section", 300, |k| hull.section(x(k)))?;
    time("waterline", 300, |k| hull.waterline(0.3 + 0.002 * (k % 97) as f64))?;
    time("parallel section", 300, |k| hull.parallel_section(x(k), 0.012))?;
    time("half-breadth", 30_000, |k| hull.half_breadth(x(k), 0.45))?;
    time("girth", 300, |k| hull.girth(x(k)))?;
    Ok(())
}

fn time<T>(what: &str, times: usize, f: impl Fn(usize) -> Result<T, HullError>) -> Result<(), HullError> {
    let start = Instant::now();
    for k in 0..times {
        black_box(f(k)?);
    }
    println!("{what:>22} {:9.2} µs", start.elapsed().as_secs_f64() * 1e6 / times as f64);
    Ok(())
}
