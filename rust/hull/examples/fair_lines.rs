//! How fair faired lines are: the share of lines of known hulls that have no change of curvature's sign which
//! the true line has not.
//!
//! The true lines are those of the same hull faired from unrounded readings: off by hundredths of a millimetre,
//! a fifth of what counts as a change. `cargo run --release -p scrieve-hull --example fair_lines [SEEDS]`

use scrieve_fairing::{Options, fair};
use scrieve_hull::{Boat, Fairness};
use scrieve_offsets::read;
use scrieve_yardstick::known::{Family, Known, Place};

/// Stations of the tables.
const STATIONS: usize = 11;

fn main() {
    let seeds: u64 = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(4);
    println!(
        "{STATIONS} stations, read to the eighth: lines with no change of sign that the true line has not"
    );
    let mut all = (0, 0);
    for family in Family::ALL {
        let mut of_family = (0, 0);
        for seed in 0..seeds {
            match fair_lines(&Known::new(family, 500 + seed)) {
                Ok((fair, lines)) => of_family = (of_family.0 + fair, of_family.1 + lines),
                Err(error) => println!("{family:?} {seed}: {error}"),
            }
        }
        println!("{:<14} {} of {}", format!("{family:?}"), of_family.0, of_family.1);
        all = (all.0 + of_family.0, all.1 + of_family.1);
    }
    println!("{:<14} {:.1} %", "all", 100.0 * f64::from(all.0) / f64::from(all.1.max(1)));
}

/// Fair lines, and all lines.
fn fair_lines(known: &Known) -> Result<(u32, u32), Box<dyn std::error::Error>> {
    let layout = known.layout(STATIONS);
    let table = read(known.table_text(&layout, Place::Eighth, "Known").as_bytes(), "known")?;
    let (survey, _) = table.survey()?;
    let faired = fair(&survey, &Options::default())?;
    let exact = fair(&known.survey(&layout, Place::Exact), &Options::default())?;
    let faired = Boat::new(table.clone(), survey.clone(), faired).fairness();
    let exact = Boat::new(table, survey, exact).fairness();
    // A line in several branches is taken as one.
    let changes = |report: &[Fairness], line: &str| -> usize {
        report.iter().filter(|f| f.line == line).map(|f| f.sign_changes).sum()
    };
    let mut lines: Vec<&str> = faired.iter().map(|f| f.line.as_str()).collect();
    lines.dedup();
    let fair = lines.iter().filter(|line| changes(&faired, line) <= changes(&exact, line)).count();
    Ok((fair as u32, lines.len() as u32))
}
