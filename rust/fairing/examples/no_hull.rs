//! Tables that are no fair hull, and tables that are: how they are told apart.
//!
//! `cargo run --release -p scrieve-fairing --example no_hull [SEEDS [list]]`: random numbers, rows or stations in another
//! order, two boats mixed in five ways, every reading off by 50 mm; and sound tables and rough ones of 4 to 14 stations.

use std::time::Instant;

use scrieve_fairing::copyist::Copyist;
use scrieve_fairing::known::as_built::{AsBuilt, Kind};
use scrieve_fairing::known::{Family, Known, Place};
use scrieve_fairing::{Options, fair};
use scrieve_offsets::Survey;
use std::sync::atomic::{AtomicUsize, Ordering};

fn chance(c: &mut Copyist) -> f64 {
    c.below(1 << 30) as f64 / (1u64 << 30) as f64
}
fn normal(c: &mut Copyist) -> f64 {
    (0..12).map(|_| chance(c)).sum::<f64>() - 6.0
}

fn boat(family: usize, seed: u64, stations: usize, place: Place) -> Survey {
    if family < Family::ALL.len() {
        let h = Known::new(Family::ALL[family], seed);
        h.survey(&h.layout(stations), place)
    } else {
        let b = AsBuilt::new(Kind::ALL[family - Family::ALL.len()], seed);
        b.survey(&b.taking(stations), place)
    }
}

/// Each reading made another by its row, its column and what it is.
fn each(survey: &mut Survey, mut f: impl FnMut((usize, usize, usize), f64) -> f64) {
    for l in &mut survey.lines {
        l.value = f((l.cell.block as usize, l.cell.row, l.cell.column), l.value);
    }
    for s in &mut survey.spots {
        let (y, z) = if s.along == (0.0, 0.0) { (1.0, 0.0) } else { s.along };
        let read = if y == 0.0 { s.z } else { s.y / y };
        let by = f((s.cell.block as usize, s.cell.row, s.cell.column), read) - read;
        s.y += by * y;
        s.z += by * z;
    }
}
fn readings(survey: &Survey) -> Vec<((usize, usize, usize), f64)> {
    let mut got = Vec::new();
    each(&mut survey.clone(), |at, v| {
        got.push((at, v));
        v
    });
    got
}
fn mixed(a: &Survey, b: &Survey, of_b: impl Fn((usize, usize, usize)) -> bool) -> Survey {
    let other = readings(b);
    let mut m = a.clone();
    each(&mut m, |at, v| if of_b(at) { other.iter().find(|o| o.0 == at).map_or(v, |o| o.1) } else { v });
    m
}

const BAD: [&str; 9] = [
    "random numbers",
    "rows permuted",
    "stations permuted",
    "alternate stations",
    "fore of one, aft of another",
    "rows of another",
    "heights of another",
    "noise of 50 mm",
    "random, all",
];
const GOOD: [&str; 4] = ["sound", "rough x3", "rough x5", "five slips"];

fn make(kind: &str, family: usize, seed: u64, stations: usize, place: Place) -> Survey {
    let a = boat(family, seed, stations, place);
    let mut c = Copyist::new(seed * 131 + family as u64 * 7 + stations as u64);
    let other = (family + 1 + c.below(Family::ALL.len() + Kind::ALL.len() - 1))
        % (Family::ALL.len() + Kind::ALL.len());
    let b = || boat(other, seed + 50, stations, place);
    let n = a.stations.len();
    match kind {
        "random numbers" | "random, all" => {
            let all = readings(&a);
            let most = |row: Option<(usize, usize)>| {
                all.iter()
                    .filter(|r| row.is_none_or(|row| (r.0.0, r.0.1) == row))
                    .map(|r| r.1)
                    .fold(0.0, f64::max)
            };
            let mut m = a.clone();
            each(&mut m, |at, _| chance(&mut c) * most((kind == "random numbers").then_some((at.0, at.1))));
            m
        }
        "rows permuted" => {
            let all = readings(&a);
            let mut m = a.clone();
            let keys: Vec<f64> = (0..4000).map(|_| chance(&mut c)).collect();
            each(&mut m, |at, v| {
                let row: Vec<_> = all.iter().filter(|r| (r.0.0, r.0.1) == (at.0, at.1)).collect();
                let key =
                    |r: &((usize, usize, usize), f64)| keys[(r.0.0 * 911 + r.0.1 * 97 + r.0.2 * 13) % 4000];
                let mut order: Vec<usize> = (0..row.len()).collect();
                order.sort_by(|&i, &j| key(row[i]).total_cmp(&key(row[j])));
                let own = row.iter().position(|r| r.0 == at);
                own.map_or(v, |own| row[order[own]].1)
            });
            m
        }
        "stations permuted" => {
            let mut order: Vec<usize> = (0..n).collect();
            for i in (1..n).rev() {
                let j = c.below(i + 1);
                order.swap(i, j);
            }
            let all = readings(&a);
            let mut m = a.clone();
            each(&mut m, |at, v| {
                all.iter().find(|r| r.0 == (at.0, at.1, order[at.2.min(n - 1)])).map_or(v, |r| r.1)
            });
            m
        }
        "alternate stations" => mixed(&a, &b(), |at| at.2 % 2 == 1),
        "fore of one, aft of another" => mixed(&a, &b(), |at| 2 * at.2 >= n),
        "rows of another" => mixed(&a, &b(), |at| (at.0 * 3 + at.1) % 2 == 1),
        "heights of another" => mixed(&a, &b(), |at| at.0 == 0),
        "noise of 50 mm" => {
            let mut m = a;
            each(&mut m, |_, v| v + 0.05 * normal(&mut c));
            m
        }
        "rough x3" | "rough x5" => {
            let by = if kind == "rough x3" { 3.0 } else { 5.0 } * place.sd();
            let mut m = a;
            each(&mut m, |_, v| v + by * normal(&mut c));
            m
        }
        "five slips" => {
            let total = readings(&a).len();
            let at: Vec<usize> = (0..5).map(|_| c.below(total)).collect();
            let mut i = 0;
            let mut m = a;
            each(&mut m, |_, v| {
                i += 1;
                if at.contains(&(i - 1)) {
                    v + if chance(&mut c) < 0.5 { 1.0 } else { -1.0 } * 0.0254 * (1.0 + 11.0 * chance(&mut c))
                } else {
                    v
                }
            });
            m
        }
        _ => a,
    }
}

fn main() {
    let mut words = std::env::args().skip(1);
    let seeds: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(1);
    let first: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(9000);
    let wanted = words.next().unwrap_or_else(|| "all".to_string());
    let mut jobs = Vec::new();
    for kind in GOOD.iter().chain(&BAD).filter(|k| {
        wanted == "all"
            || wanted == "bad" && BAD.contains(k)
            || wanted == "good" && GOOD.contains(k)
            || **k == wanted
    }) {
        for seed in 0..seeds {
            for family in 0..Family::ALL.len() + Kind::ALL.len() {
                let stations = [9, 5, 12, 7, 4, 11, 14, 6][(family + seed as usize) % 8];
                let place = if (family + seed as usize) % 3 == 0 { Place::Millimetre } else { Place::Eighth };
                jobs.push((*kind, family, first + seed, stations, place));
            }
        }
    }
    let next = AtomicUsize::new(0);
    std::thread::scope(|s| {
        for _ in 0..2 {
            s.spawn(|| {
        while let Some(&(kind, family, seed, stations, place)) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
            let survey = make(kind, family, seed, stations, place);
            let clock = Instant::now();
            let got = fair(&survey, &Options::default());
            let none = scrieve_fairing::no_hull(&survey, &Options::default(), got.as_ref());
            let ms = clock.elapsed().as_secs_f64() * 1e3;
            let said = none.map_or("-".to_string(), |n| format!("{n:?}"));
            let line = match got {
                Err(e) => format!("ERR {e}"),
                Ok(f) => {
                    let n = f.residuals.len();
                    let out = f.residuals.iter().filter(|r| r.doubted).count();
                    let length = survey.stations.last().unwrap() - survey.stations[0];
                    let q = |mut v: Vec<f64>, p: f64| { v.sort_by(f64::total_cmp); v.get(((v.len() as f64 - 1.0) * p) as usize).copied().unwrap_or(0.0) };
                    let spots = || f.residuals.iter().filter(|r| r.cell.row > 1 || true);
                    let loo: Vec<f64> = spots().map(|r| (r.read - r.expected).abs()).collect();
                    let loot: Vec<f64> = spots().map(|r| (r.read - r.expected).abs() / r.tolerance).collect();
                    let sdt: Vec<f64> = spots().map(|r| r.expected_sd).collect();
                    let mv: Vec<f64> = spots().map(|r| (r.read - r.faired).abs() / r.tolerance).collect();
                    let noise = f.remarks.iter().find(|r| r.contains("times what they are read to")).map_or(1, |r| if r.contains("about 4") { 4 } else { 2 });
                    let of_line = |r: &&scrieve_fairing::Residual| survey.lines.iter().any(|l| l.cell == r.cell);
                    let li: Vec<f64> = f.residuals.iter().filter(of_line).map(|r| (r.read - r.expected).abs()).collect();
                    print!("LINES {:.2} {:.2} {:.2} mm/m ", 1e3*q(li.clone(), 0.5)/length, 1e3*q(li.clone(), 0.65)/length, 1e3*q(li, 0.75)/length);
                    format!("out {:.3} noise {noise} loo50 {:.1} tol {:.2} mm/m  loo75 {:.1} tol {:.2} mm/m  sd50 {:.2} mm/m  moved50 {:.2} moved90 {:.2} tol", out as f64 / n as f64, q(loot.clone(), 0.5), 1e3*q(loo.clone(),0.5)/length, q(loot, 0.75), 1e3*q(loo,0.75)/length, 1e3*q(sdt,0.5)/length, q(mv.clone(),0.5), q(mv,0.9))
                }
            };
            println!("{kind:<28} {ms:6.0} ms {line}  [{family} {seed} {stations} {place:?}] {said}");
        }
    });
        }
    });
}
