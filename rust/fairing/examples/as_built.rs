//! How near fairing comes to boats as they are built, kind by kind: distances in space from true points to the
//! nearest of the surface, at and between stations, in the end tenths of the length and within an inch of the
//! ends; the backbone line in profile; the planking's angle at it; sound readings left out; queries; time.
//!
//! `cargo run --release -p scrieve-fairing --example as_built [KIND | all [SEEDS [WORD]]]`; a WORD of `list` names
//! where the worst is, `brief` measures only the usual taking at 9 stations.
//!
//! `... as_built judged [SEEDS [KIND | all [FIRST]]]` tells only how tables without a slip are judged: readings off
//! the boat's own shape by more than they are read to (a fault of the measure, not of the judging), sound readings left
//! out, and queries, each named; the seeds are from FIRST on.

use std::time::Instant;

use scrieve_fairing::{Options, fair, proof_table};
use scrieve_offsets::{CellId, read};
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Errors, Held, Place, Taking};

/// What is taken off, and how it is written.
struct Manner {
    name: &'static str,
    stations: usize,
    place: Place,
    change: fn(&mut Taking),
    /// The boat it is taken off, if not as drawn.
    made: fn(AsBuilt) -> AsBuilt,
    /// Only of boats with chines; only of boats with a stem or stern in profile.
    of: fn(&AsBuilt) -> bool,
}

fn as_drawn(boat: AsBuilt) -> AsBuilt {
    boat
}

fn any(_: &AsBuilt) -> bool {
    true
}

fn in_profile(boat: &AsBuilt) -> bool {
    boat.pointed_ends().0 || boat.stern_in_profile()
}

/// Turned, a boat on a post would begin in the middle of it.
fn off_a_post(boat: &AsBuilt) -> bool {
    boat.transom().is_none() || !boat.stern_in_profile()
}

fn chined(boat: &AsBuilt) -> bool {
    boat.chines() > 0
}

fn manners() -> Vec<Manner> {
    let usual =
        |stations, name, place| Manner { name, stations, place, change: |_| (), made: as_drawn, of: any };
    let changed = |name, place, change, of| Manner { name, stations: 9, place, change, made: as_drawn, of };
    vec![
        usual(9, "eighth", Place::Eighth),
        usual(4, "eighth", Place::Eighth),
        usual(6, "eighth", Place::Eighth),
        usual(11, "eighth", Place::Eighth),
        usual(14, "eighth", Place::Eighth),
        usual(9, "sixteenth", Place::Sixteenth),
        usual(9, "exact", Place::Exact),
        changed("mm, no buttocks", Place::Millimetre, |t| t.lines.buttocks.clear(), any),
        changed("no profiles", Place::Eighth, |t| t.lines.profile_spots = 0, in_profile),
        changed("profiles stop short", Place::Eighth, |t| t.short = 0.25, in_profile),
        // Nothing tells of a panel's round then.
        Manner {
            made: AsBuilt::straight,
            ..changed("none, straight", Place::Eighth, |t| t.a_strake = Some(0), chined)
        },
        changed("one a strake", Place::Eighth, |t| t.a_strake = Some(1), chined),
        changed("two a strake", Place::Eighth, |t| t.a_strake = Some(2), chined),
        Manner { made: AsBuilt::mirrored, ..changed("end for end", Place::Eighth, |_| (), off_a_post) },
        changed("edge as rabbet", Place::Eighth, |t| t.edge_as_rabbet = true, AsBuilt::flat_bottomed),
    ]
}

#[derive(Default)]
struct Row {
    held: Held,
    tables: usize,
    failed: usize,
    doubted: usize,
    queries: usize,
    unread: usize,
    ms: f64,
}

fn merge(sum: &mut Held, one: &Held) {
    sum.at.merge(&one.at);
    sum.midway.merge(&one.midway);
    sum.fore.merge(&one.fore);
    sum.aft.merge(&one.aft);
    sum.inch_fore.merge(&one.inch_fore);
    sum.inch_aft.merge(&one.inch_aft);
    sum.backbone.merge(&one.backbone);
    sum.plank_angle.merge(&one.plank_angle);
    sum.bevel.merge(&one.bevel);
}

fn mm(errors: &Errors) -> String {
    match errors.count {
        0 => format!("{:>12}", "-"),
        _ => format!("{:5.2}{:>7.2}", 1e3 * errors.rms(), 1e3 * errors.worst),
    }
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let wanted = words.first().map_or("all", String::as_str);
    if wanted == "judged" {
        return judged(&words[1..]);
    }
    let seeds: u64 = words.get(1).and_then(|w| w.parse().ok()).unwrap_or(4);
    let word = words.get(2).map_or("", String::as_str);
    let kinds: Vec<Kind> =
        Kind::ALL.into_iter().filter(|k| wanted == "all" || format!("{k:?}") == wanted).collect();
    if kinds.is_empty() {
        eprintln!("expected `all` or one of {:?}", Kind::ALL);
        std::process::exit(2);
    }
    println!(
        "rms and worst, mm; backbone worst, mm; plank angle at the rabbet, worst, and bevel, rms and worst, degrees; of all"
    );
    println!(
        "tables of a row: sound readings left out, queries of the proof, tables that are not faired; ms a fit"
    );
    let mut all = Row::default();
    for kind in kinds {
        println!(
            "\n{:<27}{:^12} {:^12} {:^12} {:^12} {:^12} {:^12} {:>8} {:>6} {:^11} {:>5} {:>5} {:>5} {:>6}",
            format!("{kind:?}"),
            "stations",
            "midway",
            "fore tenth",
            "aft tenth",
            "inch fore",
            "inch aft",
            "backbone",
            "angle",
            "bevel",
            "out",
            "query",
            "fail",
            "ms"
        );
        for manner in manners().iter().take(if word == "brief" { 1 } else { usize::MAX }) {
            if (manner.of)(&AsBuilt::new(kind, 0)) {
                let row = row(kind, manner, seeds, word == "list");
                merge(&mut all.held, &row.held);
                all.tables += row.tables;
                all.failed += row.failed;
                all.doubted += row.doubted;
                all.queries += row.queries;
                all.unread += row.unread;
            }
        }
    }
    let h = &all.held;
    println!(
        "\n{} tables, {} not faired, {} not read: at stations {}, midway {}, fore {}, aft {}; {} sound readings left \
         out; {:.3} queries a table",
        all.tables,
        all.failed,
        all.unread,
        mm(&h.at),
        mm(&h.midway),
        mm(&h.fore),
        mm(&h.aft),
        all.doubted,
        all.queries as f64 / (all.tables - all.unread).max(1) as f64
    );
}

/// How tables without a slip are judged.
#[derive(Default)]
struct Judged {
    tables: usize,
    readings: usize,
    unread: usize,
    failed: usize,
    /// Tables whose readings are not the boat's.
    not_hers: usize,
    out: usize,
    queried: usize,
    /// Tables with either.
    with_any: usize,
    ms: f64,
}

impl Judged {
    fn add(&mut self, o: &Judged) {
        self.tables += o.tables;
        self.readings += o.readings;
        self.unread += o.unread;
        self.failed += o.failed;
        self.not_hers += o.not_hers;
        self.out += o.out;
        self.queried += o.queried;
        self.with_any += o.with_any;
        self.ms += o.ms;
    }

    fn line(&self, name: &str) {
        println!(
            "{name:<20} {:>6} {:>9} {:>6} {:>6} {:>8} {:>5} {:>7} {:>6} {:>8.3} {:>8.0}",
            self.tables,
            self.readings,
            self.unread,
            self.failed,
            self.not_hers,
            self.out,
            self.queried,
            self.with_any,
            self.queried as f64 / (self.tables - self.unread).max(1) as f64,
            self.ms / (self.tables - self.unread).max(1) as f64
        );
    }
}

/// One column of a table in so many stations, a place, and a change of what is taken.
type Way = (usize, Place, &'static str, fn(&mut Taking));

/// Ways a table may be taken; each seed goes through them all.
const WAYS: [Way; 9] = [
    (4, Place::Eighth, "", |_| ()),
    (6, Place::Eighth, "", |_| ()),
    (9, Place::Eighth, "", |_| ()),
    (12, Place::Sixteenth, "", |_| ()),
    (14, Place::Eighth, "", |_| ()),
    (9, Place::Exact, "", |_| ()),
    (9, Place::Sixteenth, "no profiles", |t| t.lines.profile_spots = 0),
    (9, Place::Eighth, "one a strake", |t| t.a_strake = Some(1)),
    (8, Place::Millimetre, "profiles short, no buttocks", |t| {
        t.short = 0.2;
        t.lines.buttocks.clear();
    }),
];

fn judged(words: &[String]) {
    let seeds: u64 = words.first().and_then(|w| w.parse().ok()).unwrap_or(3);
    let wanted = words.get(1).map_or("all", String::as_str);
    let first: u64 = words.get(2).and_then(|w| w.parse().ok()).unwrap_or(900);
    println!(
        "{:<20} {:>6} {:>9} {:>6} {:>6} {:>8} {:>5} {:>7} {:>6} {:>8} {:>8}",
        "", "tables", "readings", "unread", "failed", "not hers", "out", "queries", "tables", "a table", "ms"
    );
    let mut all = Judged::default();
    for kind in Kind::ALL.into_iter().filter(|k| wanted == "all" || format!("{k:?}") == wanted) {
        let mut sum = Judged::default();
        for seed in first..first + seeds {
            for way in &WAYS {
                // Without a spot in a section there is nothing to fair of a hull without chines.
                let boat = AsBuilt::new(kind, seed);
                if way.2 != "one a strake" || boat.chines() > 0 {
                    sum.add(&judge_one(&boat, seed, way));
                }
            }
        }
        sum.line(&format!("{kind:?}"));
        all.add(&sum);
    }
    all.line("all");
}

fn judge_one(boat: &AsBuilt, seed: u64, (stations, place, named, change): &Way) -> Judged {
    let mut taking = boat.taking(*stations);
    change(&mut taking);
    let name = format!("{:?} {seed} {stations} {place:?} {named}", boat.kind());
    let mut of = Judged { tables: 1, ..Judged::default() };
    let Ok(table) = read(boat.table_text(&taking, *place, "Known").as_bytes(), &name) else {
        of.unread = 1;
        return of;
    };
    let Ok((survey, _)) = table.survey() else {
        of.unread = 1;
        return of;
    };
    of.readings = survey.lines.len() + survey.spots.len() + survey.stem.len() + survey.stern.len();
    for (cell, off) in boat.off(&survey) {
        of.not_hers = 1;
        println!("  {name}: NOT HERS {:?} by {:.2} mm", table.describe(cell), 1e3 * off);
    }
    let describe = |cell: CellId| {
        let (station, row) = table.describe(cell);
        format!("{row} at {station}")
    };
    match fair(&survey, &Options::default()) {
        Ok(faired) => {
            for r in faired.residuals.iter().filter(|r| r.doubted) {
                of.out += 1;
                println!(
                    "  {name}: left out {} read {:.4} expected {:.4} sd {:.1} mm",
                    describe(r.cell),
                    r.read,
                    r.expected,
                    1e3 * r.expected_sd
                );
            }
        }
        Err(error) => {
            of.failed = 1;
            println!("  {name}: {error}");
        }
    }
    let clock = Instant::now();
    for finding in proof_table(&table, &Options::default()).unwrap_or_default() {
        of.queried += 1;
        let q = finding.query;
        println!(
            "  {name}: queried {} read {:.4} expected {:.4} sd {:.1} mm, {:?}",
            describe(q.cell),
            q.read,
            q.expected,
            1e3 * q.sd,
            q.confidence
        );
    }
    of.ms = clock.elapsed().as_secs_f64() * 1e3;
    of.with_any = usize::from(of.out + of.queried > 0);
    of
}

fn row(kind: Kind, manner: &Manner, seeds: u64, list: bool) -> Row {
    let mut row = Row::default();
    for seed in 0..seeds {
        let boat = (manner.made)(AsBuilt::new(kind, 700 + seed));
        let mut taking = boat.taking(manner.stations);
        (manner.change)(&mut taking);
        row.tables += 1;
        let name = format!("{kind:?} {seed} {} {}", manner.stations, manner.name);
        let clock = Instant::now();
        match fair(&boat.survey(&taking, manner.place), &Options::default()) {
            Ok(faired) => {
                row.ms += clock.elapsed().as_secs_f64() * 1e3;
                row.doubted += faired.residuals.iter().filter(|r| r.doubted).count();
                let held = boat.held_against(&faired, &taking);
                if list {
                    let parts = [
                        ("at", &held.at),
                        ("midway", &held.midway),
                        ("fore", &held.fore),
                        ("aft", &held.aft),
                        ("inch fore", &held.inch_fore),
                        ("inch aft", &held.inch_aft),
                        ("backbone", &held.backbone),
                        ("angle", &held.plank_angle),
                        ("bevel", &held.bevel),
                    ];
                    for (part, e) in parts {
                        println!(
                            "  {name}: {part} {:.2} {:.2} at {:.3?}",
                            1e3 * e.rms(),
                            1e3 * e.worst,
                            e.at
                        );
                    }
                }
                merge(&mut row.held, &held);
            }
            Err(error) => {
                row.failed += 1;
                println!("  {name}: {error}");
            }
        }
        let text = boat.table_text(&taking, manner.place, "Known");
        match read(text.as_bytes(), &name) {
            Ok(table) => match proof_table(&table, &Options::default()) {
                Ok(findings) => {
                    row.queries += findings.len();
                    if list {
                        for f in findings {
                            println!("  {name}: queried {:?}", table.describe(f.query.cell));
                        }
                    }
                }
                Err(error) => println!("  {name}: proof: {error}"),
            },
            Err(_) => row.unread += 1,
        }
    }
    let h = &row.held;
    let queries = if row.unread > 0 { format!("({})", row.unread) } else { row.queries.to_string() };
    println!(
        "{:>3} {:<22} {} {} {} {} {} {} {:8.2} {:6.1} {:5.2} {:5.1} {:5} {:>5} {:5} {:6.0}",
        manner.stations,
        manner.name,
        mm(&h.at),
        mm(&h.midway),
        mm(&h.fore),
        mm(&h.aft),
        mm(&h.inch_fore),
        mm(&h.inch_aft),
        1e3 * h.backbone.worst,
        h.plank_angle.worst.to_degrees(),
        h.bevel.rms().to_degrees(),
        h.bevel.worst.to_degrees(),
        row.doubted,
        queries,
        row.failed,
        row.ms / (row.tables - row.failed).max(1) as f64
    );
    row
}
