//! Time of fairing a table of 13 stations by 12 rows, and again after one reading has changed: `cargo run --release -p scrieve-fairing
//! --example fairing_timings`, with a number of fits if other than 50.

use std::time::Instant;

use scrieve_fairing::known::{Family, Known, Place};
use scrieve_fairing::{Options, fair, fair_again};

/// Times faired again.
const AGAIN: u32 = 500;

fn main() {
    let fits: u32 = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(50);
    let hull = Known::new(Family::RoundBilge, 1);
    let survey = hull.survey(&hull.layout(13), Place::Eighth);
    let options = Options::default();
    let clock = Instant::now();
    for _ in 0..fits {
        fair(&survey, &options).expect("a surface");
    }
    println!("fairing: {:.2} ms", 1e3 * clock.elapsed().as_secs_f64() / f64::from(fits));

    let before = fair(&survey, &options).expect("a surface");
    let mut changed = survey;
    changed.spots[60].y += 0.0016;
    let clock = Instant::now();
    for _ in 0..AGAIN {
        fair_again(&changed, &options, &before).expect("a surface");
    }
    println!("again, one reading changed: {:.2} ms", 1e3 * clock.elapsed().as_secs_f64() / f64::from(AGAIN));
}
