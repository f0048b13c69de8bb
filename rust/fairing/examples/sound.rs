//! Sound readings of boats whose lines are quick somewhere: how many are left out or queried, and how far the
//! hull is off; then with one slip planted, how often that is found and others blamed.
//!
//! Hulls in closed form: keels turned up quickly to the transom at 4 to 9 stations, hollow wineglass sterns,
//! ellipse sections in whole millimetres without buttocks, double-enders with stations 2 ft apart, and small
//! rowing boats. `cargo run --release -p scrieve-fairing --example sound [SEEDS [list [KIND-SEED-STATIONS]]]`.

use std::time::Instant;

use scrieve_fairing::{Options, fair, proof};

const HALF_INCH: f64 = 0.0127;

#[path = "../tests/quick/mod.rs"]
mod quick;
use quick::{Hull, Kind, Random};

#[derive(Default)]
struct Tally {
    tables: usize,
    out: usize,
    queried: usize,
    squares: f64,
    worst: f64,
    planted: usize,
    hit: usize,
    falsely: usize,
    ms: [f64; 4],
    worst_ms: f64,
}

fn main() {
    let mut words = std::env::args().skip(1);
    let seeds: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(6);
    let list = words.next().is_some_and(|w| w == "list");
    let options = Options::default();
    println!(
        "                 tables  out queried   rms  worst mm | slips found falsely queried | ms: fair, proof; with a slip; most"
    );
    for (kind, columns) in [
        (Kind::TurnedUp, vec![4, 5, 6, 7, 9]),
        (Kind::Wineglass, vec![6, 8, 10]),
        (Kind::Ellipse, vec![7, 9, 11]),
        (Kind::DoubleEnder, vec![0]),
        (Kind::RowingBoat, vec![4, 5, 6]),
    ] {
        let mut t = Tally::default();
        for seed in 0..seeds {
            for &stations in &columns {
                if std::env::args().nth(3).is_some_and(|only| only != format!("{kind:?}-{seed}-{stations}")) {
                    continue;
                }
                let hull = Hull::new(kind, seed * 31 + stations as u64, stations);
                let survey = hull.survey();
                let name = format!("{kind:?} {seed} {stations}");
                t.tables += 1;
                let clock = Instant::now();
                match fair(&survey, &options) {
                    Ok(faired) => {
                        let out: Vec<_> =
                            faired.residuals.iter().filter(|r| r.doubted).map(|r| r.cell).collect();
                        t.ms[0] += clock.elapsed().as_secs_f64() * 1e3;
                        let (rms, worst) = hull.off(&faired);
                        if list {
                            println!(
                                "{name}: out {out:?}, rms {rms:.2} worst {worst:.2} {:?}",
                                faired.remarks
                            );
                        }
                        t.out += out.len();
                        t.squares += rms * rms;
                        t.worst = t.worst.max(worst);
                    }
                    Err(error) => println!("{name}: {error}"),
                }
                let clock = Instant::now();
                let queries = proof(&survey, &options).unwrap_or_default();
                t.ms[1] += clock.elapsed().as_secs_f64() * 1e3;
                t.queried += queries.len();
                if list {
                    queries.iter().for_each(|q| println!("{name}: query {q:?}"));
                }
                // One slip, anywhere.
                let mut r = Random(seed * 7919 + stations as u64 * 104_729 + 77);
                (0..20).for_each(|_| _ = r.between(0.0, 1.0));
                let mut slipped = survey.clone();
                let all = survey.lines.len() + survey.spots.len();
                let at = r.between(0.0, all as f64) as usize;
                let off =
                    [0.0127, 0.0254, -0.0127, 0.0508, -0.0254, 0.3048, -0.1016][r.between(0.0, 7.0) as usize];
                let cell = if at < survey.lines.len() {
                    slipped.lines[at].value += off;
                    slipped.lines[at].cell
                } else {
                    let spot = &mut slipped.spots[at - survey.lines.len()];
                    spot.y += off * spot.along.0;
                    spot.z += off * spot.along.1;
                    spot.cell
                };
                let clock = Instant::now();
                let found = proof(&slipped, &options).unwrap_or_default();
                let ms = clock.elapsed().as_secs_f64() * 1e3;
                t.ms[3] += ms;
                t.worst_ms = t.worst_ms.max(ms);
                let hit = found.iter().any(|q| q.cell == cell);
                t.planted += usize::from(off.abs() >= HALF_INCH);
                t.hit += usize::from(hit && off.abs() >= HALF_INCH);
                t.falsely += found.iter().filter(|q| q.cell != cell).count();
                if list && (!hit || found.len() > 1) {
                    println!(
                        "{name}: slip {off:.4} at {cell:?}: {:?}",
                        found.iter().map(|q| (q.cell, q.misfit, q.confidence)).collect::<Vec<_>>()
                    );
                }
            }
        }
        let n = t.tables as f64;
        println!(
            "{:<16} {:>6} {:>4} {:>7} {:>6.2} {:>8.2}  | {:>3} of {:>3}  {:>10}            | {:.0}, {:.0}; {:.0}; {:.0}",
            format!("{kind:?}"),
            t.tables,
            t.out,
            t.queried,
            (t.squares / n).sqrt(),
            t.worst,
            t.hit,
            t.planted,
            t.falsely,
            t.ms[0] / n,
            t.ms[1] / n,
            t.ms[3] / n,
            t.worst_ms
        );
    }
}
