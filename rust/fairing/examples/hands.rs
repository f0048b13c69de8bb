//! Hands that read less finely than they write: sound readings left out, what the hull is off, and in standard deviations of
//! its own, with readings worth what their notation says and what the table itself tells.
//!
//! Hulls in closed form, twelve stations, midway and at stations; nothing in them is a slip.
//! `cargo run --release -p scrieve-fairing --example hands [SEEDS]`.

use scrieve_fairing::{Options, fair};
use scrieve_offsets::{Survey, Tolerance};
use scrieve_yardstick::known::{Family, Known};

#[path = "../tests/hands/mod.rs"]
mod hands;
use hands::Hand;

/// Points measured along a section.
const POINTS: usize = 25;
const STATIONS: usize = 12;

#[derive(Default)]
struct Tally {
    out: usize,
    refused: usize,
    squares: f64,
    in_sd: f64,
    covered: usize,
    points: usize,
}

impl Tally {
    fn add(&mut self, hull: &Known, stations: &[f64], survey: &Survey) {
        let Ok(faired) = fair(survey, &Options::default()) else {
            self.refused += 1;
            return;
        };
        self.out += faired.residuals.iter().filter(|r| r.doubted).count();
        let midway = stations.windows(2).map(|w| 0.5 * (w[0] + w[1]));
        for x in stations.iter().copied().chain(midway) {
            for (off, sd) in hull.misfit(&faired, x, POINTS) {
                self.squares += off * off;
                self.in_sd += (off / sd).powi(2);
                self.covered += usize::from(off.abs() <= 2.0 * sd);
                self.points += 1;
            }
        }
    }

    fn text(&self, tables: usize) -> String {
        let n = self.points.max(1) as f64;
        format!(
            "{:6.2} {:7} {:6.2} {:6.2} {:5.0}%",
            self.out as f64 / tables as f64,
            self.refused,
            1e3 * (self.squares / n).sqrt(),
            (self.in_sd / n).sqrt(),
            100.0 * self.covered as f64 / n
        )
    }
}

fn main() {
    let seeds = std::env::args().nth(1).and_then(|a| a.parse::<u64>().ok()).unwrap_or(2);
    println!(
        "{:24} tables told | out a table, refused, rms mm, rms in sd, within 2 sd: by notation | by the table",
        ""
    );
    for hand in Hand::COARSER.into_iter().chain(Hand::PLAIN) {
        let (mut tables, mut told) = (0, 0);
        let (mut before, mut after) = (Tally::default(), Tally::default());
        let mut said = String::new();
        for family in Family::ALL {
            for seed in 0..seeds {
                let hull = Known::new(family, 300 + seed);
                let layout = hull.layout(STATIONS);
                let table = hand.table(&hull, &layout, seed * 9 + family as u64);
                let (survey, remarks) = table.survey().expect("a survey");
                tables += 1;
                if let Some(remark) = remarks.into_iter().find(|r| r.of_worth) {
                    told += 1;
                    said = remark.text;
                }
                after.add(&hull, &layout.stations, &survey);
                let as_written = survey.within(&table, &[Tolerance::All(0.5 * hand.place())]);
                before.add(&hull, &layout.stations, &as_written.expect("the table's own"));
            }
        }
        println!(
            "{:24} {tables:6} {told:4} | {} | {}",
            format!("{hand:?}"),
            before.text(tables),
            after.text(tables)
        );
        if !said.is_empty() {
            println!("    {said}");
        }
    }
}
