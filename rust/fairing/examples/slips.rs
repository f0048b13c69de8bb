//! How well proofreading finds a copyist's slips in tables of known hulls and of boats as they are built, read to
//! the eighth: recall by size, false queries, how often the first suggestion is the true reading, and time.
//!
//! `cargo run --release -p scrieve-fairing --example slips [SEEDS [list]]`; three tables a family and seed, with
//! 0 to 5 slips each. With `list`, what was missed and what was wrongly queried.

use std::collections::BTreeMap;
use std::time::Instant;

use scrieve_fairing::{Finding, Options, disagreements, proof_table};
use scrieve_offsets::{Block, CellId, Table, read};
use scrieve_yardstick::copyist::{Copyist, Slip};
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

const EIGHTH: f64 = 0.0254 / 8.0;
/// Sizes of slips, in eighths of an inch, from large to small.
const SIZES: [(f64, &str); 3] = [(4.0, "1/2 in and more"), (3.0, "3/8 in"), (0.0, "less")];

/// So many of so many.
#[derive(Clone, Copy, Default)]
struct Share(usize, usize);

impl Share {
    fn add(&mut self, hit: bool) {
        self.0 += usize::from(hit);
        self.1 += 1;
    }

    fn text(self) -> String {
        format!("{:>4} of {:>4}  {:5.1} %", self.0, self.1, 100.0 * self.0 as f64 / self.1.max(1) as f64)
    }
}

#[derive(Default)]
struct Tally {
    tables: usize,
    /// Tables that could not be read as they stand.
    unread: usize,
    /// Slips found, by size, in rows and in profiles.
    found: [[Share; 3]; 2],
    false_queries: usize,
    restored: BTreeMap<String, Share>,
    /// Disagreements of the table with itself that name a slip.
    against: Share,
    ms: f64,
}

fn main() {
    let mut words = std::env::args().skip(1);
    let seeds: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(8);
    let list = words.next().is_some_and(|word| word == "list");
    let mut tally = Tally::default();
    for family in Family::ALL {
        for seed in 0..seeds {
            for stations in [9, 11, 13] {
                let hull = Known::new(family, 300 + seed);
                let text = hull.table_text(&hull.layout(stations), Place::Eighth, "Known");
                let name = format!("{family:?} {seed} {stations}");
                let copyist = Copyist::new(1000 * seed + stations as u64 + 77 * family as u64);
                copied(&text, &name, copyist, (seed as usize * 3 + stations) % 6, list, &mut tally);
            }
        }
    }
    println!("known hulls");
    report(&tally);
    let mut tally = Tally::default();
    for kind in Kind::ALL {
        for seed in 0..seeds {
            for stations in [9, 11, 13] {
                let boat = AsBuilt::new(kind, 300 + seed);
                let text = boat.table_text(&boat.taking(stations), Place::Eighth, "Known");
                let name = format!("{kind:?} {seed} {stations}");
                let copyist = Copyist::new(1000 * seed + stations as u64 + 77 * (100 + kind as u64));
                copied(&text, &name, copyist, (seed as usize * 3 + stations) % 6, list, &mut tally);
            }
        }
    }
    println!("\nboats as built");
    report(&tally);
}

fn copied(text: &str, name: &str, copyist: Copyist, slips: usize, list: bool, tally: &mut Tally) {
    match read(text.as_bytes(), name) {
        Ok(clean) => measure(&clean, copyist, slips, list, tally),
        Err(error) => {
            tally.unread += 1;
            if list {
                println!("{error}");
            }
        }
    }
}

fn of_profile(cell: CellId) -> bool {
    matches!(cell.block, Block::StemProfile | Block::SternProfile)
}

fn measure(clean: &Table, mut copyist: Copyist, count: usize, list: bool, tally: &mut Tally) {
    let (copy, slips) = copyist.copy(clean, count);
    let name = clean.file_name();
    let clock = Instant::now();
    let findings = proof_table(&copy, &Options::default()).unwrap_or_else(|error| {
        println!("{name}: {error}");
        Vec::new()
    });
    tally.ms += clock.elapsed().as_secs_f64() * 1e3;
    tally.tables += 1;
    for finding in &findings {
        let cell = finding.query.cell;
        match slips.iter().find(|s| s.cell == cell) {
            Some(slip) => restored(slip, finding, tally),
            None => {
                tally.false_queries += 1;
                if list {
                    println!("{name}: wrongly queried {:?} {:?}", copy.describe(cell), finding.query);
                }
            }
        }
    }
    for slip in &slips {
        let size = SIZES.iter().position(|s| (slip.off_m.abs() / EIGHTH).round() >= s.0).unwrap_or(2);
        let hit = findings.iter().any(|f| f.query.cell == slip.cell);
        tally.found[usize::from(of_profile(slip.cell))][size].add(hit);
        if list && !hit && size < 2 {
            println!("{name}: missed {:?} {} for {}", copy.describe(slip.cell), slip.written, slip.truth);
        }
    }
    let Ok((survey, _)) = copy.survey_unsifted() else { return };
    for d in disagreements(&copy, &survey) {
        // A spot is named by one of its two readings.
        let column = |cell: CellId| (of_profile(cell), cell.column);
        let named = |slip: &Slip| d.cells.iter().any(|&c| column(c) == column(slip.cell));
        tally.against.add(slips.iter().any(named));
    }
}

fn restored(slip: &Slip, finding: &Finding, tally: &mut Tally) {
    let first = finding.suggestions.first().map(|s| s.reading.as_str());
    let share = tally.restored.entry(format!("{:?}", slip.kind)).or_default();
    share.add(first == Some(slip.truth.as_str()));
}

fn report(tally: &Tally) {
    println!(
        "{} tables, {:.0} ms each; {} not read",
        tally.tables,
        tally.ms / tally.tables.max(1) as f64,
        tally.unread
    );
    for (size, (_, name)) in SIZES.iter().enumerate() {
        let [rows, profiles] = [tally.found[0][size], tally.found[1][size]];
        let all = Share(rows.0 + profiles.0, rows.1 + profiles.1);
        println!("found, {name:<18} {}", all.text());
        println!("  in rows               {}", rows.text());
        println!("  in profiles           {}", profiles.text());
    }
    println!("false queries a table   {:.3}", tally.false_queries as f64 / tally.tables.max(1) as f64);
    let all = tally.restored.values().fold(Share(0, 0), |a, r| Share(a.0 + r.0, a.1 + r.1));
    println!("first suggestion true   {}", all.text());
    for (kind, share) in &tally.restored {
        println!("  {kind:<21} {}", share.text());
    }
    println!("against itself, rightly {}", tally.against.text());
}
