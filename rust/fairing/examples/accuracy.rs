//! How near fairing comes to known hulls: errors by family and number of stations, coverage, and time.
//!
//! Errors are distances along the normal of the section in the station plane, mm, over 41 points a section:
//! at the stations, and midway between them. `cargo run --release -p scrieve-fairing --example accuracy`,
//! with a number of seeds if other than 4, and then a number of stations, read to the eighth, if only those are wanted.

use std::time::Instant;

use scrieve_fairing::{Options, fair};
use scrieve_yardstick::known::{Family, Known, Place};

/// Points measured along a section.
const POINTS: usize = 41;

#[derive(Default)]
struct Sum {
    squares: f64,
    count: usize,
    worst: f64,
    covered: usize,
    maxima: Vec<f64>,
}

impl Sum {
    fn add(&mut self, errors: &[(f64, f64)]) {
        for &(e, sd) in errors {
            self.squares += e * e;
            self.count += 1;
            self.worst = self.worst.max(e.abs());
            self.covered += usize::from(e.abs() <= 2.0 * sd);
        }
    }

    fn merge(&mut self, other: &Sum) {
        self.squares += other.squares;
        self.count += other.count;
        self.worst = self.worst.max(other.worst);
        self.covered += other.covered;
        if other.maxima.is_empty() {
            self.maxima.push(other.worst);
        } else {
            self.maxima.extend(&other.maxima);
        }
    }

    fn text(&self) -> String {
        let n = self.count.max(1) as f64;
        let mean_max = self.maxima.iter().sum::<f64>() / self.maxima.len().max(1) as f64;
        format!(
            "{:5.2} {:5.2} {:6.2} {:4.0}%",
            1e3 * (self.squares / n).sqrt(),
            1e3 * mean_max,
            1e3 * self.worst,
            100.0 * self.covered as f64 / n
        )
    }
}

fn main() {
    let number = |i: usize| std::env::args().nth(i).and_then(|a| a.parse::<u64>().ok());
    let seeds = number(1).unwrap_or(4);
    let counts = number(2).map_or(vec![8, 9, 11, 13], |one| vec![one as usize]);
    let places = if number(2).is_some() {
        vec![Place::Eighth]
    } else {
        vec![Place::Eighth, Place::Sixteenth, Place::Exact]
    };
    for place in places {
        for &stations in &counts {
            println!("\n{place:?}, {stations} stations: rms, mean of max, worst (mm), within 2 sd");
            println!("{:<14}  at stations                midway                 ms a fit  doubted", "");
            let mut pooled = (Sum::default(), Sum::default());
            for family in Family::ALL {
                let (mut at, mut midway, mut ms, mut doubted) = (Sum::default(), Sum::default(), 0.0, 0);
                for seed in 0..seeds {
                    let hull = Known::new(family, 100 + seed);
                    let layout = hull.layout(stations);
                    let survey = hull.survey(&layout, place);
                    let clock = Instant::now();
                    let faired = match fair(&survey, &Options::default()) {
                        Ok(faired) => faired,
                        Err(error) => {
                            println!("{family:?} {seed}: {error}");
                            continue;
                        }
                    };
                    ms += clock.elapsed().as_secs_f64() * 1e3;
                    doubted += faired.residuals.iter().filter(|r| r.doubted).count();
                    let (mut one_at, mut one_midway) = (Sum::default(), Sum::default());
                    for (i, &x) in layout.stations.iter().enumerate() {
                        one_at.add(&hull.misfit(&faired, x, POINTS));
                        if let Some(next) = layout.stations.get(i + 1) {
                            one_midway.add(&hull.misfit(&faired, 0.5 * (x + next), POINTS));
                        }
                    }
                    at.merge(&one_at);
                    midway.merge(&one_midway);
                }
                pooled.0.merge(&at);
                pooled.1.merge(&midway);
                let name = format!("{family:?}");
                println!(
                    "{name:<14} {}   {}   {:6.1}  {doubted}",
                    at.text(),
                    midway.text(),
                    ms / seeds as f64
                );
            }
            println!("{:<14} {}   {}", "pooled", pooled.0.text(), pooled.1.text());
        }
    }
}
