//! Tables that describe no one fair hull, and tables that do: how many of either are said to be none, how many of those
//! with something to begin with, and how long that takes.
//!
//! `cargo run --release -p scrieve-fairing --example no_hull [SEEDS [FIRST [all | bad | good | KIND [list]]]]`; each kind of
//! table is made of every family and kind of boat, by seeds from FIRST on, at 4 to 14 stations, to the eighth or the
//! millimetre. With `list`, what is said of each.

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use scrieve_fairing::{Options, fair, no_hull};
use scrieve_offsets::Survey;
use scrieve_yardstick::copyist::Copyist;
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

const BAD: [&str; 9] = [
    "random numbers",
    "random, one range for all",
    "rows permuted",
    "stations permuted",
    "alternate stations",
    "fore of one, aft of another",
    "rows of another",
    "heights of another",
    "noise of 50 mm",
];
const GOOD: [&str; 4] = ["sound", "rough x3", "rough x5", "five slips"];
const BOATS: usize = Family::ALL.len() + Kind::ALL.len();
/// Threads it runs on.
const THREADS: usize = 2;

/// Where a reading stands: block, row and column.
type At = (usize, usize, usize);

/// A table to be made: its kind, whose it is, a seed, how many stations, how it is read.
type Job = (&'static str, usize, u64, usize, Place);

/// From 0 to 1.
fn chance(c: &mut Copyist) -> f64 {
    c.below(1 << 30) as f64 / (1u64 << 30) as f64
}

fn normal(c: &mut Copyist) -> f64 {
    (0..12).map(|_| chance(c)).sum::<f64>() - 6.0
}

fn boat(of: usize, seed: u64, stations: usize, place: Place) -> Survey {
    if let Some(&family) = Family::ALL.get(of) {
        let hull = Known::new(family, seed);
        hull.survey(&hull.layout(stations), place)
    } else {
        let boat = AsBuilt::new(Kind::ALL[of - Family::ALL.len()], seed);
        boat.survey(&boat.taking(stations), place)
    }
}

/// The survey with each reading of its rows made another.
fn each(survey: &Survey, mut to: impl FnMut(At, f64) -> f64) -> Survey {
    let mut made = survey.clone();
    for l in &mut made.lines {
        l.value = to((l.cell.block as usize, l.cell.row, l.cell.column), l.value);
    }
    for s in &mut made.spots {
        let (y, z) = if s.along == (0.0, 0.0) { (1.0, 0.0) } else { s.along };
        let read = if y == 0.0 { s.z } else { s.y / y };
        let by = to((s.cell.block as usize, s.cell.row, s.cell.column), read) - read;
        (s.y, s.z) = (s.y + by * y, s.z + by * z);
    }
    made
}

fn readings(survey: &Survey) -> Vec<(At, f64)> {
    let mut got = Vec::new();
    each(survey, |at, read| {
        got.push((at, read));
        read
    });
    got
}

/// The readings of `a`, but for those that another boat's page has in their place.
fn mixed(a: &Survey, b: &Survey, of_b: impl Fn(At) -> bool) -> Survey {
    let other = readings(b);
    each(a, |at, read| other.iter().find(|o| o.0 == at && of_b(at)).map_or(read, |o| o.1))
}

fn make((kind, of, seed, stations, place): Job) -> Survey {
    let a = boat(of, seed, stations, place);
    let mut c = Copyist::new(seed * 131 + of as u64 * 7 + stations as u64);
    let other = (of + 1 + c.below(BOATS - 1)) % BOATS;
    let b = || boat(other, seed + 50, stations, place);
    let (n, all) = (a.stations.len(), readings(&a));
    let row = |at: At| all.iter().filter(move |r| (r.0.0, r.0.1) == (at.0, at.1));
    match kind {
        "random numbers" => each(&a, |at, _| chance(&mut c) * row(at).map(|r| r.1).fold(0.0, f64::max)),
        "random, one range for all" => {
            let most = all.iter().map(|r| r.1).fold(0.0, f64::max);
            each(&a, |_, _| chance(&mut c) * most)
        }
        "rows permuted" => {
            let keys: BTreeMap<At, usize> = all.iter().map(|r| (r.0, c.below(1 << 30))).collect();
            each(&a, |at, read| {
                let own: Vec<&(At, f64)> = row(at).collect();
                let mut order: Vec<usize> = (0..own.len()).collect();
                order.sort_by_key(|&i| keys.get(&own[i].0));
                own.iter().position(|r| r.0 == at).map_or(read, |i| own[order[i]].1)
            })
        }
        "stations permuted" => {
            let mut order: Vec<usize> = (0..n).collect();
            (1..n).rev().for_each(|i| order.swap(i, c.below(i + 1)));
            each(&a, |at, read| {
                let from = (at.0, at.1, order[at.2.min(n - 1)]);
                all.iter().find(|r| r.0 == from).map_or(read, |r| r.1)
            })
        }
        "alternate stations" => mixed(&a, &b(), |at| at.2 % 2 == 1),
        "fore of one, aft of another" => mixed(&a, &b(), |at| 2 * at.2 >= n),
        "rows of another" => mixed(&a, &b(), |at| (at.0 * 3 + at.1) % 2 == 1),
        "heights of another" => mixed(&a, &b(), |at| at.0 == 0),
        "noise of 50 mm" => each(&a, |_, read| read + 0.05 * normal(&mut c)),
        "rough x3" => each(&a, |_, read| read + 3.0 * place.sd() * normal(&mut c)),
        "rough x5" => each(&a, |_, read| read + 5.0 * place.sd() * normal(&mut c)),
        "five slips" => {
            let slips: Vec<At> = (0..5).map(|_| all[c.below(all.len())].0).collect();
            each(&a, |at, read| {
                let by = 0.0254 * (1.0 + 11.0 * chance(&mut c));
                match slips.contains(&at) {
                    true => read + if c.below(2) == 0 { by } else { -by },
                    false => read,
                }
            })
        }
        _ => a,
    }
}

#[derive(Default)]
struct Tally {
    tables: usize,
    none: usize,
    begins: usize,
    ms: f64,
    most_ms: f64,
}

fn main() {
    let mut words = std::env::args().skip(1);
    let seeds: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(1);
    let first: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(9000);
    let wanted = words.next().unwrap_or_else(|| "all".to_string());
    let list = words.next().is_some();
    let asked = |kind: &str| match wanted.as_str() {
        "all" => true,
        "bad" => BAD.contains(&kind),
        "good" => GOOD.contains(&kind),
        own => own == kind,
    };
    let mut jobs: Vec<Job> = Vec::new();
    for &kind in GOOD.iter().chain(&BAD).filter(|kind| asked(kind)) {
        for (seed, of) in (first..first + seeds).flat_map(|seed| (0..BOATS).map(move |of| (seed, of))) {
            let turn = of + (seed - first) as usize;
            let stations = [9, 5, 12, 7, 4, 11, 14, 6][turn % 8];
            jobs.push((
                kind,
                of,
                seed,
                stations,
                if turn.is_multiple_of(3) { Place::Millimetre } else { Place::Eighth },
            ));
        }
    }
    let next = AtomicUsize::new(0);
    let tallies = Mutex::new(BTreeMap::<&str, Tally>::new());
    std::thread::scope(|scope| {
        for _ in 0..THREADS {
            scope.spawn(|| {
                while let Some(&job) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let survey = make(job);
                    let (clock, options) = (Instant::now(), Options::default());
                    let said = no_hull(&survey, &options, fair(&survey, &options).as_ref());
                    let ms = clock.elapsed().as_secs_f64() * 1e3;
                    if list {
                        println!("{job:?}, {ms:.0} ms: {said:?}");
                    }
                    let Ok(mut tallies) = tallies.lock() else { return };
                    let tally = tallies.entry(job.0).or_default();
                    tally.tables += 1;
                    tally.none += usize::from(said.is_some());
                    tally.begins += usize::from(said.is_some_and(|none| none.knows_where_to_begin()));
                    tally.ms += ms;
                    tally.most_ms = tally.most_ms.max(ms);
                }
            });
        }
    });
    println!("{:<28} {:>6} {:>8} {:>10} {:>8} {:>8}", "", "tables", "no hull", "begin with", "ms", "most ms");
    for (kind, t) in tallies.into_inner().unwrap_or_default() {
        let ms = t.ms / t.tables as f64;
        println!("{kind:<28} {:>6} {:>8} {:>10} {ms:>8.0} {:>8.0}", t.tables, t.none, t.begins, t.most_ms);
    }
}
