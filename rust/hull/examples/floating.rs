//! How the figures of floating settle with the number of nodes, and how long they take.
//!
//! `cargo run --release -p scrieve-hull --example floating`

use std::f64::consts::PI;
use std::hint::black_box;
use std::time::Instant;

use scrieve_hull::floating::{Body, CAUTION, Deck, Loading, Water};
use scrieve_surface::{Patch, Surface};

fn even(n: usize) -> Vec<f64> {
    (0..=n).map(|i| i as f64 / n as f64).collect()
}

fn surface(nu: usize, nv: usize, f: impl Fn(f64, f64) -> [f64; 3]) -> Surface {
    Surface { patches: vec![Patch::interpolating(&even(nu), &even(nv), f)] }
}

/// Least milliseconds of several runs.
fn time<T>(mut f: impl FnMut() -> T) -> f64 {
    let run = |_| {
        let start = Instant::now();
        black_box(f());
        start.elapsed().as_secs_f64() * 1e3
    };
    (0..20).map(run).fold(f64::INFINITY, f64::min)
}

fn main() {
    let (l, b, t) = (8.0, 1.8, 0.6);
    let parabolic = surface(4, 4, |u, v| {
        let (along, down) = (2.0 * u - 1.0, 1.2 * v - 1.0);
        [l * u, 0.5 * b * (1.0 - along * along) * (1.0 - down * down), 1.2 * t * v]
    });
    let r = 0.7;
    let cylinder = surface(2, 24, |u, v| {
        let a = (PI - 0.5) * v;
        [l * u, r * a.sin(), r * (1.0 - a.cos())]
    });
    println!("Relative error against closed forms, by Gauss nodes to a span.");
    println!("{:>5} {:>10} {:>10} {:>10} {:>10} {:>10} {:>10}", "nodes", "∇", "KB", "BMT", "∇", "KM", "S");
    println!("{:>5} {:^32} {:^32}", "", "parabolic hull", "cylinder, half immersed");
    for nodes in 1..=8 {
        let error = |got: f64, want: f64| (got / want - 1.0).abs();
        let Ok(h) = Body::with_nodes(&parabolic, nodes).hydrostatics(t, Water::SEA) else { continue };
        let Ok(c) = Body::with_nodes(&cylinder, nodes).hydrostatics(r, Water::SEA) else { continue };
        println!(
            "{nodes:>5} {:>10.1e} {:>10.1e} {:>10.1e} {:>10.1e} {:>10.1e} {:>10.1e}",
            error(h.volume, 4.0 / 9.0 * l * b * t),
            error(h.kb, 5.0 * t / 8.0),
            error(h.bmt, 3.0 * b * b / (35.0 * t)),
            error(c.volume, PI * r * r * l / 2.0),
            error(c.km, r),
            error(c.wetted_surface, PI * r * l + PI * r * r),
        );
    }

    let boat = surface(24, 16, |u, v| {
        let (along, down) = (1.7 * u - 1.0, 1.2 * v - 1.0);
        let keel = 0.1 + 0.1 * (u - 0.55) * (u - 0.55);
        let y = 0.03 + 0.5 * b * (1.0 - along * along) * (1.0 - down.powi(4)) * (1.0 + 0.2 * v * u);
        [0.4 * (1.0 - v) * (1.0 - u) + 5.0 * u, y, keel + v * (0.7 + 0.2 * (u - 0.6) * (u - 0.6))]
    });
    let body = Body::new(&boat);
    let heels: Vec<f64> = (1..=10).map(|i| f64::from(5 * i).to_radians()).collect();
    let Ok(h) = body.hydrostatics(0.4, Water::SEA) else { return };
    let load = Loading { mass: h.mass, centre: [h.lcb + 0.05, 0.0, h.kb + 0.3] };
    println!("\nMilliseconds, best of 20, on a boat of 24 by 16 spans.");
    println!("body             {:8.2}", time(|| Body::new(&boat)));
    println!("hydrostatics     {:8.2}", time(|| body.hydrostatics(0.4, Water::SEA)));
    println!("float            {:8.2}", time(|| body.float(&load, Water::SEA, Deck::Open)));
    println!("gz at 10, open   {:8.2}", time(|| body.arms(&heels, &load, Water::SEA, Deck::Open)));
    println!("gz at 10, decked {:8.2}", time(|| body.arms(&heels, &load, Water::SEA, Deck::Decked)));
    println!("\n{CAUTION}");
}
