//! How well proofreading finds slips in tables of known hulls: recall, false queries, suggestions, time.
//!
//!     cargo run --release -p scrieve-fairing --example slips [SEEDS]

use std::time::Instant;

use scrieve_fairing::copyist::Copyist;
use scrieve_fairing::known::{Family, Known, Place};
use scrieve_fairing::{Options, disagreements, proof_table};
use scrieve_offsets::{Block, Table, read};

const EIGHTH: f64 = 0.0254 / 8.0;

fn main() {
    let mut args = std::env::args().skip(1);
    let seeds: u64 = args.next().and_then(|a| a.parse().ok()).unwrap_or(4);
    let verbose = args.next().is_some();
    let (mut tables, mut total_false) = (0, 0);
    let mut found = [[[0usize; 2]; 3]; 2];
    let mut restored = std::collections::BTreeMap::new();
    let (mut against, mut ms) = ([0, 0], 0.0);
    let clock = Instant::now();
    for family in Family::ALL {
        for seed in 0..seeds {
            for stations in [9, 11, 13] {
                let n = (seed as usize * 3 + stations) % 6;
                let hull = Known::new(family, 300 + seed);
                let text = hull.table_text(&hull.layout(stations), Place::Eighth, "Known");
                let clean: Table = match read(text.as_bytes(), "known") {
                    Ok(t) => t,
                    Err(e) => {
                        println!("{family:?} {seed}: {e}");
                        continue;
                    }
                };
                let (copy, slips) =
                    Copyist::new(1000 * seed + stations as u64 + 77 * family as u64).copy(&clean, n);
                tables += 1;
                let survey = copy.survey_unsifted().expect("a survey").0;
                for d in disagreements(&copy, &survey) {
                    let same = |a: scrieve_offsets::CellId, b: scrieve_offsets::CellId| {
                        let profile = matches!(a.block, Block::StemProfile | Block::SternProfile);
                        a == b || (profile && a.block == b.block && a.column == b.column)
                    };
                    // Names of a station: a slip in its sheer's or chine's height counts as its half-breadth.
                    let right = slips.iter().any(|s| {
                        d.cells.iter().any(|&c| {
                            same(s.cell, c)
                                || (c.column == s.cell.column
                                    && s.cell.block == Block::Heights
                                    && copy.describe(s.cell).1.contains("height"))
                        })
                    });
                    against[usize::from(right)] += 1;
                    if verbose && !right {
                        println!("wrongly accused {family:?} {seed} {stations}: {}", d.text);
                    }
                }
                let clock = Instant::now();
                let findings = match proof_table(&copy, &Options::default()) {
                    Ok(q) => q,
                    Err(e) => {
                        println!("{family:?} {seed} {stations}: {e}; {slips:.0?}");
                        Vec::new()
                    }
                };
                ms += clock.elapsed().as_secs_f64() * 1e3;
                let queries: Vec<_> = findings.iter().map(|f| f.query).collect();
                for f in &findings {
                    let Some(s) = slips.iter().find(|s| s.cell == f.query.cell) else { continue };
                    let first = f.suggestions.first().map(|s| s.reading.as_str());
                    let right = first == Some(s.truth.as_str());
                    let tally = restored.entry(format!("{:?}", s.kind)).or_insert([0, 0]);
                    tally[0] += usize::from(right);
                    tally[1] += 1;
                    if !right && verbose {
                        println!(
                            "not restored {:?} {} for {}: {:?}",
                            s.kind,
                            s.written,
                            s.truth,
                            f.suggestions
                                .iter()
                                .take(3)
                                .map(|s| (&s.reading, s.slip, (100.0 * s.probability).round()))
                                .collect::<Vec<_>>()
                        );
                    }
                }
                for q in &queries {
                    if !slips.iter().any(|s| s.cell == q.cell) {
                        total_false += 1;
                        if verbose {
                            let (station, row) = copy.describe(q.cell);
                            println!(
                                "false {family:?} {seed} {stations}: {station} {row}: {:.4} for {:.4} sd {:.4}",
                                q.read, q.expected, q.sd
                            );
                            for s in &slips {
                                println!(
                                    "    slip {:?}: {:?} {} for {}",
                                    copy.describe(s.cell),
                                    s.kind,
                                    s.written,
                                    s.truth
                                );
                            }
                        }
                    }
                }
                for s in &slips {
                    let hit = queries.iter().any(|q| q.cell == s.cell);
                    let off = (s.off_m.abs() / EIGHTH).round();
                    let bin = if off >= 4.0 {
                        0
                    } else if off >= 3.0 {
                        1
                    } else {
                        2
                    };
                    let profile =
                        usize::from(matches!(s.cell.block, Block::StemProfile | Block::SternProfile));
                    found[profile][bin][0] += usize::from(hit);
                    found[profile][bin][1] += 1;
                    if !hit && bin < 2 && verbose {
                        println!(
                            "missed {family:?} {seed} {stations}: {:?} {:?} {} for {}",
                            copy.describe(s.cell),
                            s.kind,
                            s.written,
                            s.truth
                        );
                    }
                }
            }
        }
    }
    println!("{tables} tables, {:.1} s", clock.elapsed().as_secs_f64());
    for (kind, rows) in ["rows", "profiles of stem and stern"].iter().zip(found) {
        println!("{kind}");
        for (name, [hit, all]) in ["1/2 in and more", "3/8 in", "less"].iter().zip(rows) {
            println!("  {name:<18} {hit} of {all}: {:.1} %", 100.0 * hit as f64 / all.max(1) as f64);
        }
    }
    let (right, all) = restored.values().fold((0, 0), |a, r| (a.0 + r[0], a.1 + r[1]));
    println!("first suggestion right: {right} of {all}: {:.1} %", 100.0 * right as f64 / all as f64);
    for (kind, [right, all]) in restored {
        println!("  {kind:<18} {right} of {all}");
    }
    println!(
        "against itself: {} accused rightly, {} wrongly; {:.0} ms a table",
        against[1],
        against[0],
        ms / tables as f64
    );
    println!("false queries: {total_false}: {:.3} a table", total_false as f64 / tables as f64);
}
