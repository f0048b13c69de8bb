//! Time of fairing a table of 13 stations by 12 rows, and again after one reading has changed: `cargo run --release -p scrieve-fairing
//! --example fairing_timings`, with a number of fits if other than 50. With the word `stations` after it: fairing and
//! proof of tables of ever more stations.

use std::time::Instant;

use scrieve_fairing::{Options, fair, fair_again, proof};
use scrieve_offsets::Survey;
use scrieve_yardstick::known::{Family, Known, Place};

/// Times faired again.
const AGAIN: u32 = 500;

fn main() {
    let fits: u32 = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(50);
    let hull = Known::new(Family::RoundBilge, 1);
    let survey = hull.survey(&hull.layout(13), Place::Eighth);
    let options = Options::default();
    if std::env::args().nth(2).is_some_and(|a| a == "stations") {
        return by_stations(&hull, fits);
    }
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

/// Tables of ever more stations, some readings in each an inch off.
fn by_stations(hull: &Known, fits: u32) {
    println!("stations  readings  fairing ms  with slips ms  found  false");
    for stations in [13, 25, 50, 100, 200, 400, 800] {
        let mut survey = hull.survey(&hull.layout(stations), Place::Eighth);
        let readings = survey.lines.len() + survey.spots.len();
        let options = Options::default();
        let timed = |survey: &Survey| {
            let clock = Instant::now();
            for _ in 1..fits {
                proof(survey, &options).expect("a surface");
            }
            let queries = proof(survey, &options).expect("a surface");
            (1e3 * clock.elapsed().as_secs_f64() / f64::from(fits), queries)
        };
        let (sound, _) = timed(&survey);
        let mut slips = Vec::new();
        for i in [survey.spots.len() / 3, survey.spots.len() / 2, survey.spots.len() - 7] {
            survey.spots[i].y += 0.0254;
            slips.push(survey.spots[i].cell);
        }
        let (slipped, queries) = timed(&survey);
        let found = slips.iter().filter(|cell| queries.iter().any(|q| q.cell == **cell)).count();
        println!(
            "{stations:8}  {readings:8}  {sound:10.0}  {slipped:13.0}  {found:5}  {:5}",
            queries.len() - found
        );
    }
}
