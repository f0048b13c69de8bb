//! What is said of stretches that the readings leave open, held against the truth: known hulls and boats as they are built,
//! read to the eighth. Of each stretch how far off it is said to be, how far off the surface is at the place named and at
//! worst along the stretch; and how far off she is where nothing is said.
//!
//! Then, of all places, how often two standard deviations hold the surface's distance from the truth: of those off by more
//! than 10 mm, and of all.
//!
//! `cargo run --release -p scrieve-fairing --example unsure [SEEDS [FIRST [STATIONS,... [KIND,...]]]]`.

use scrieve_fairing::{Faired, Options, Unsure, fair};
use scrieve_offsets::{Table, read};
use scrieve_surface::Patch;
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

/// Places along and across a patch.
const PLACES: (usize, usize) = (60, 16);
/// Points along a true section, a strake.
const POINTS: usize = 200;
/// A stretch is truly off if she is by so much somewhere along it, mm: an eighth of an inch.
const TRULY: f64 = 3.2;
/// And said in vain if she is within this, mm.
const VAIN: f64 = 1.6;
/// Off by so much and not said is missed, mm.
const MISSED: f64 = 12.0;
/// True sections are polygons: what they may be off for that, mm.
const OF_TRUTH: f64 = 0.05;
/// Places off by more than this, mm, are told of by themselves: how many of them two standard deviations hold.
const FAR: f64 = 10.0;

fn to_line(p: (f64, f64), line: &[(f64, f64)]) -> f64 {
    let to = |pair: &[(f64, f64)]| {
        let (a, b) = (pair[0], pair[1]);
        let (dx, dz) = (b.0 - a.0, b.1 - a.1);
        let part = (((p.0 - a.0) * dx + (p.1 - a.1) * dz) / (dx * dx + dz * dz).max(1e-30)).clamp(0.0, 1.0);
        (a.0 + part * dx - p.0).hypot(a.1 + part * dz - p.1)
    };
    line.windows(2).map(to).fold(f64::MAX, f64::min)
}

type Section<'a> = &'a dyn Fn(f64) -> Option<Vec<(f64, f64)>>;

/// How far off the surface is at a place of a patch, square to it, mm.
fn off(patch: &Patch, (u, v): (f64, f64), section: Section<'_>) -> Option<([f64; 3], f64)> {
    let j = patch.jet(u, v);
    let n = [
        j.du[1] * j.dv[2] - j.du[2] * j.dv[1],
        j.du[2] * j.dv[0] - j.du[0] * j.dv[2],
        j.du[0] * j.dv[1] - j.du[1] * j.dv[0],
    ];
    let part = n[1].hypot(n[2]) / n.iter().map(|c| c * c).sum::<f64>().sqrt();
    Some((j.p, 1e3 * part * to_line((j.p[1], j.p[2]), &section(j.p[0])?)))
}

#[derive(Default)]
struct Tally {
    tables: usize,
    with_any: usize,
    stretches: usize,
    truly: usize,
    vain: usize,
    within: usize,
    missed: usize,
    /// Places off by more than [`FAR`], and those of them within two standard deviations; the same of all places.
    far: [usize; 2],
    all: [usize; 2],
}

fn within(unsure: &Unsure, p: [f64; 3]) -> bool {
    let in_ = |x: f64, (a, b): (f64, f64), slack: f64| x > a - slack && x < b + slack;
    in_(p[0], unsure.from_stem, 0.15) && in_(p[2], unsure.height, 0.1)
}

fn hold(name: &str, table: &Table, faired: &Faired, section: Section<'_>, tally: &mut Tally) {
    let at = |i: usize, n: usize| i as f64 / n as f64;
    let mut places = Vec::new();
    let (mut far, mut own, mut worst) = ([0; 2], [0; 2], None::<(f64, f64)>);
    for (k, patch) in faired.surface.patches.iter().enumerate() {
        let uv = (1..PLACES.0).flat_map(|i| (0..=PLACES.1).map(move |j| (at(i, PLACES.0), at(j, PLACES.1))));
        for (uv, found) in uv.filter_map(|uv| Some((uv, off(patch, uv, section)?))) {
            places.push(found);
            let sd = 1e3 * faired.sd(k, uv.0, uv.1);
            let held = found.1 <= 2.0 * sd + OF_TRUTH;
            for count in [&mut own, &mut tally.all] {
                *count = [count[0] + 1, count[1] + usize::from(held)];
            }
            if found.1 > FAR {
                far = [far[0] + 1, far[1] + usize::from(held)];
                if worst.is_none_or(|w| found.1 > w.0) {
                    worst = Some((found.1, 2.0 * sd));
                }
            }
        }
    }
    tally.far = [tally.far[0] + far[0], tally.far[1] + far[1]];
    if let Some((off, two_sd)) = worst {
        println!(
            "  {name}: {} of {} places off by more than {FAR} mm are held; the worst, {off:.0} mm, by {two_sd:.0} mm; of all {:.3}",
            far[1],
            far[0],
            own[1] as f64 / own[0] as f64
        );
    }
    tally.tables += 1;
    tally.with_any += usize::from(!faired.unsure.is_empty());
    for (unsure, said) in faired.unsure.iter().zip(faired.unsure_remarks(table)) {
        let near = places.iter().filter(|(p, _)| within(unsure, *p));
        let worst = near.map(|p| p.1).fold(0.0, f64::max);
        tally.stretches += 1;
        tally.truly += usize::from(worst > TRULY);
        tally.vain += usize::from(worst < VAIN);
        tally.within += usize::from(worst < 1e3 * unsure.off);
        println!("  {name}: off {worst:.1} mm: {said}");
    }
    let unsaid = places.iter().filter(|(p, _)| !faired.unsure.iter().any(|u| within(u, *p)));
    if let Some((p, e)) = unsaid.max_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, e)| *e > MISSED) {
        tally.missed += 1;
        println!("  {name}: NOT SAID {e:.1} mm at {p:.2?}; {:?}", faired.remarks);
    }
}

fn one(name: &str, text: &str, section: Section<'_>, tally: &mut Tally) {
    let Ok(table) = read(text.as_bytes(), name) else { return };
    let Ok((survey, _)) = table.survey_unsifted() else { return };
    match fair(&survey, &Options::default()) {
        Ok(faired) => hold(name, &table, &faired, section, tally),
        Err(error) => println!("  {name}: {error}"),
    }
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |i: usize, else_: u64| words.get(i).and_then(|w| w.parse().ok()).unwrap_or(else_);
    let (seeds, first) = (number(0, 2), number(1, 3000));
    let counts = words.get(2).map_or("9", String::as_str);
    let asked = |name: String| words.get(3).is_none_or(|kinds| kinds.split(',').any(|k| k == name));
    for n in counts.split(',').filter_map(|n| n.parse::<usize>().ok()) {
        let (mut usual, mut built) = (Tally::default(), Tally::default());
        for seed in first..first + seeds {
            for family in Family::ALL.into_iter().filter(|f| asked(format!("{f:?}"))) {
                let hull = Known::new(family, seed);
                let section = |x: f64| {
                    let found = (x > 0.002).then(|| hull.section(x, POINTS))?;
                    found.iter().all(|p| p.0.is_finite() && p.1.is_finite()).then_some(found)
                };
                let text = hull.table_text(&hull.layout(n), Place::Eighth, "Known");
                one(&format!("{family:?} {seed} {n}"), &text, &section, &mut usual);
            }
            for kind in Kind::ALL.into_iter().filter(|k| asked(format!("{k:?}"))) {
                let boat = AsBuilt::new(kind, seed);
                let points = POINTS * boat.strakes();
                let section = |x: f64| {
                    let at = |i: usize| boat.at(x, boat.strakes() as f64 * i as f64 / points as f64);
                    (x > 0.0 && x < boat.length()).then(|| (0..=points).map(at).collect())
                };
                let text = boat.table_text(&boat.taking(n), Place::Eighth, "Known");
                one(&format!("{kind:?} {seed} {n}"), &text, &section, &mut built);
            }
        }
        for (name, t) in [("known hulls", usual), ("boats as built", built)] {
            println!(
                "{name}, {n} stations: {} tables, {} with a remark; {} stretches: {} truly off by more than {TRULY} mm, {} by \
                 less than {VAIN} mm; {} within what is said; {} tables off by more than {MISSED} mm elsewhere",
                t.tables, t.with_any, t.stretches, t.truly, t.vain, t.within, t.missed
            );
            let share = |of: [usize; 2]| 100.0 * of[1] as f64 / of[0].max(1) as f64;
            println!(
                "{name}, {n} stations: {:.1} % of {} places within two standard deviations; of {} off by more than {FAR} mm {:.1} %",
                share(t.all),
                t.all[0],
                t.far[0],
                share(t.far)
            );
        }
    }
}
