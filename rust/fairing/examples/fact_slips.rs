//! Slips of every size in each fact of a table: how often the fact is named, doubted in words, passed over in silence,
//! or other readings blamed for it; and how far wrong the hull is made where nothing is said.
//!
//! `cargo run --release -p scrieve-fairing --example fact_slips [SEEDS [list] [FILE ...]]`: known hulls and boats as built by
//! so many seeds; with files, those sound tables instead. `FROM=700` sets
//! the first seed, `FACTS=StemUp,...` and `SIZES=2,...` which slips (`FACTS=none`: sound tables alone), `WORST=6` from how many mm silence counts as wrong.

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use scrieve_fairing::{Faired, Options, disagreements, fair, proof_table};
use scrieve_notation::{Length, Precision, Units, parse_cell, write_length};
use scrieve_offsets::{Block, CellId, Table, read};
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

const INCH: f64 = 0.0254;
/// Sizes of slips, inches.
const SIZES: [f64; 4] = [1.0, 2.0, 6.0, 12.0];
/// Threads it runs on.
const THREADS: usize = 2;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Fact {
    FootAft,
    FootUp,
    HeadAft,
    HeadUp,
    Siding,
    StemAft,
    StemUp,
    StemHeadAft,
    StemHeadUp,
    StemFootAft,
    SternAft,
    SternUp,
    SternHeadAft,
    StationFirst,
    StationMiddle,
    StationLast,
    SheerFirst,
    SheerLast,
    RabbetLast,
}

impl Fact {
    const ALL: [Fact; 19] = [
        Fact::FootAft,
        Fact::FootUp,
        Fact::HeadAft,
        Fact::HeadUp,
        Fact::Siding,
        Fact::StemAft,
        Fact::StemUp,
        Fact::StemHeadAft,
        Fact::StemHeadUp,
        Fact::StemFootAft,
        Fact::SternAft,
        Fact::SternUp,
        Fact::SternHeadAft,
        Fact::StationFirst,
        Fact::StationMiddle,
        Fact::StationLast,
        Fact::SheerFirst,
        Fact::SheerLast,
        Fact::RabbetLast,
    ];
}

/// A reading moved by so much, in its own hand; nothing where it would be less than nought.
fn moved(reading: &str, by: f64) -> Option<String> {
    let was = parse_cell(reading, &Default::default()).ok()??.length.metres();
    if was < -1e-9 || was + by < 0.0 {
        return None;
    }
    if !reading.contains('-') {
        return Some(format!("{:.0}", 1e3 * (was + by)));
    }
    let length = Length::from_metres(was + by)?;
    Some(write_length(length, Units::FeetInchesEighths, Precision::Eighth))
}

/// Where a cell of a row stands, the row sought after a heading; `last` counts from the end.
fn in_row(text: &str, after: &str, row: &str, column: usize, last: bool) -> Option<std::ops::Range<usize>> {
    let from = text.find(after)?;
    let section = &text[from..];
    let section = &section[..section[1..].find("\n[").map_or(section.len(), |end| end + 1)];
    let start = from + section.find(&format!("\n{row}"))? + 1;
    let end = text[start..].find('\n').map_or(text.len(), |end| start + end);
    let bar = start + text[start..end].find('|')? + 1;
    let mut cells = Vec::new();
    let mut at = bar;
    for word in text[bar..end].split_whitespace() {
        let begin = at + text[at..end].find(word)?;
        at = begin + word.len();
        cells.push((begin..at, word));
    }
    cells.retain(|(_, word)| *word != "-" && !word.ends_with('!'));
    let i = if last { cells.len().checked_sub(1 + column)? } else { column };
    cells.get(i).map(|(range, _)| range.clone())
}

/// Where a value in quotes stands, sought after each of some keys in turn.
fn quoted(text: &str, keys: &[&str]) -> Option<std::ops::Range<usize>> {
    let mut at = 0;
    for key in keys {
        at += text[at..].find(key)? + key.len();
    }
    Some(at..at + text[at..].find('"')?)
}

fn place(text: &str, fact: Fact, table: &Table) -> Option<std::ops::Range<usize>> {
    let middle = |spots: usize| (spots > 3).then_some(spots / 2);
    let stem = table.stem.as_ref().map_or(0, |p| p.height.len());
    let stern = table.stern.as_ref().map_or(0, |p| p.height.len());
    match fact {
        Fact::FootAft => quoted(text, &["[transom]", "foot", "from_stem = \""]),
        Fact::FootUp => quoted(text, &["[transom]", "foot", "height = \""]),
        Fact::HeadAft => quoted(text, &["[transom]", "head", "from_stem = \""]),
        Fact::HeadUp => quoted(text, &["[transom]", "head", "height = \""]),
        Fact::Siding => quoted(text, &["half_siding = \""]),
        Fact::StemAft => in_row(text, "[stem profile]", "from stem", middle(stem)?, false),
        Fact::StemUp => in_row(text, "[stem profile]", "height", middle(stem)?, false),
        Fact::StemHeadAft => in_row(text, "[stem profile]", "from stem", 0, false),
        Fact::StemHeadUp => in_row(text, "[stem profile]", "height", 0, false),
        Fact::StemFootAft => in_row(text, "[stem profile]", "from stem", 0, true),
        Fact::SternAft => in_row(text, "[stern profile]", "from stem", middle(stern)?, false),
        Fact::SternUp => in_row(text, "[stern profile]", "height", middle(stern)?, false),
        Fact::SternHeadAft => in_row(text, "[stern profile]", "from stem", 0, false),
        Fact::StationFirst => in_row(text, "+++\n\nstation", "from stem", 0, false),
        Fact::StationMiddle => in_row(text, "+++\n\nstation", "from stem", 4, false),
        Fact::StationLast => in_row(text, "+++\n\nstation", "from stem", 0, true),
        Fact::SheerFirst => in_row(text, "[heights]", "sheer", 0, false),
        Fact::SheerLast => in_row(text, "[heights]", "sheer", 0, true),
        Fact::RabbetLast => in_row(text, "[heights]", "rabbet", 0, true),
    }
}

fn at_block(table: &Table, fact: Fact, cell: CellId) -> bool {
    match fact {
        Fact::FootAft | Fact::FootUp => cell.block == Block::Transom && cell.row == 0,
        Fact::HeadAft | Fact::HeadUp => cell.block == Block::Transom && cell.row == 1,
        Fact::Siding => false,
        Fact::StemAft | Fact::StemUp | Fact::StemHeadAft | Fact::StemHeadUp | Fact::StemFootAft => {
            cell.block == Block::StemProfile
        }
        Fact::SternAft | Fact::SternUp | Fact::SternHeadAft => cell.block == Block::SternProfile,
        Fact::StationFirst | Fact::StationMiddle | Fact::StationLast => cell.block == Block::Stations,
        Fact::SheerFirst | Fact::SheerLast => {
            cell.block == Block::Heights && table.describe(cell).1.starts_with("sheer")
        }
        Fact::RabbetLast => cell.block == Block::Heights && table.describe(cell).1.starts_with("rabbet"),
    }
}

/// What is said of a table.
struct Said {
    /// Cells named in queries or words.
    cells: Vec<CellId>,
    /// Those in queries.
    queried: Vec<CellId>,
    words: Vec<String>,
    remarks: Vec<String>,
    faired: Option<Faired>,
    queries: Vec<String>,
}

impl Said {
    /// Whether it says that this fact may be so far off unseen; `rake` is how far aft a transom goes as it goes up.
    fn covers(&self, fact: Fact, by: f64, rake: f64) -> bool {
        let (of, name, by) = match fact {
            Fact::FootAft => ("how far aft the transom", "its foot ", by),
            Fact::HeadAft => ("how far aft the transom", "its head ", by),
            Fact::FootUp => ("how far aft the transom", "its foot ", rake * by),
            Fact::HeadUp => ("how far aft the transom", "its head ", rake * by),
            Fact::StemHeadAft => ("where the stem", "its head ", by),
            Fact::StemAft | Fact::StemUp => ("where the stem", "its spots between ", by),
            Fact::SternHeadAft => ("where the sternpost", "its head ", by),
            Fact::SternAft | Fact::SternUp => ("where the sternpost", "its spots between ", by),
            Fact::Siding => ("half the siding", "show it ", by),
            Fact::StationFirst => ("how far aft the first station", "show it ", by),
            Fact::StationLast => ("how far aft the last station", "show it ", by),
            _ => return false,
        };
        let not_judged = self.faired.iter().flat_map(|f| &f.not_judged);
        not_judged.filter(|r| r.starts_with(of)).any(|r| {
            let told = r.split_once(name).and_then(|(_, rest)| rest.split_once(" mm"));
            let mm = told.and_then(|(before, _)| before.rsplit(' ').next()?.parse::<f64>().ok());
            mm.is_some_and(|mm| 1e-3 * mm > by.abs())
        })
    }
}

fn said(table: &Table) -> Option<Said> {
    let (survey, _) = table.survey_unsifted().ok()?;
    let findings = proof_table(table, &Options::default()).ok()?;
    let apart = disagreements(table, &survey);
    let faired = fair(&survey, &Options::default()).ok();
    let mut remarks: Vec<String> = faired.iter().flat_map(|f| f.remarks.clone()).collect();
    remarks.extend(faired.iter().flat_map(|f| f.unsure_remarks(table)));
    let mut cells: Vec<CellId> = findings.iter().map(|f| f.query.cell).collect();
    cells.extend(apart.iter().flat_map(|d| d.cells.clone()));
    let queried = findings.iter().map(|f| f.query.cell).collect();
    let queries = findings.iter().map(|f| {
        let (station, row) = table.describe(f.query.cell);
        format!("{row} at {station} {:.3} for {:.3} sd {:.4}", f.query.read, f.query.expected, f.query.sd)
    });
    let queries = queries.collect();
    Some(Said {
        cells,
        queried,
        words: apart.into_iter().map(|d| d.text).collect(),
        remarks,
        faired,
        queries,
    })
}

/// The kind of a remark: its words without the numbers.
fn kind(remark: &str) -> String {
    remark.chars().filter(|c| !c.is_ascii_digit() && !".-".contains(*c)).take(60).collect()
}

/// How far the worst point of a surface lies from another, m: to the planes of its nearest points, and beyond its edges.
fn apart(of: &Faired, from: &Faired) -> f64 {
    const GRID: (usize, usize) = (240, 40);
    const SAMPLES: (usize, usize) = (40, 8);
    let at = |i: usize, n: usize| i as f64 / n as f64;
    let mut grid = Vec::new();
    for patch in &from.surface.patches {
        for i in 0..=GRID.0 {
            for j in 0..=GRID.1 {
                let (u, v) = (at(i, GRID.0), at(j, GRID.1));
                grid.push((patch.point(u, v), patch, u, v));
            }
        }
    }
    let square = |a: [f64; 3], b: [f64; 3]| (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>();
    let mut worst: f64 = 0.0;
    for patch in &of.surface.patches {
        for i in 0..=SAMPLES.0 {
            for j in 0..=SAMPLES.1 {
                let p = patch.point(at(i, SAMPLES.0), at(j, SAMPLES.1));
                let near = grid.iter().min_by(|a, b| square(a.0, p).total_cmp(&square(b.0, p)));
                let Some(&(mut q, patch, mut u, mut v)) = near else { continue };
                // A few steps of descent from there.
                let (mut du, mut dv) = (at(1, GRID.0), at(1, GRID.1));
                for _ in 0..24 {
                    let steps = [(du, 0.0), (-du, 0.0), (0.0, dv), (0.0, -dv)];
                    let tried = steps.map(|(a, b)| ((u + a).clamp(0.0, 1.0), (v + b).clamp(0.0, 1.0)));
                    let best = tried.into_iter().map(|(a, b)| (patch.point(a, b), a, b));
                    match best.min_by(|a, b| square(a.0, p).total_cmp(&square(b.0, p))) {
                        Some(b) if square(b.0, p) < square(q, p) => (q, u, v) = b,
                        _ => (du, dv) = (0.6 * du, 0.6 * dv),
                    }
                }
                worst = worst.max(square(q, p).sqrt());
            }
        }
    }
    worst
}

#[derive(Clone, Default)]
struct Tally {
    of: usize,
    named: usize,
    /// Of those, faired by the slip all the same.
    by_it: usize,
    /// Of those named, with other readings queried.
    with_others: usize,
    doubted: usize,
    /// Other readings blamed and the fact not named.
    blamed: usize,
    silent: usize,
    /// Of those blamed or silent, made wrong by more than is let pass.
    wrong: [usize; 2],
    refused: usize,
}

type Tallies = BTreeMap<(Fact, String), Tally>;

fn measure(text: &str, name: &str, list: bool, tallies: &Mutex<Tallies>, sound: &Mutex<[usize; 4]>) {
    let worst = std::env::var("WORST").ok().and_then(|w| w.parse().ok()).unwrap_or(6.0) * 1e-3;
    let Ok(table) = read(text.as_bytes(), name) else {
        println!("  {name}: not read");
        return;
    };
    let Some(clean) = said(&table) else {
        println!("  {name}: no hull");
        return;
    };
    {
        let mut sound = sound.lock().expect("a tally");
        sound[0] += 1;
        sound[1] += clean.queries.len();
        sound[2] += clean.words.len();
        sound[3] += clean.remarks.len();
    }
    if list {
        for q in clean.queries.iter().chain(&clean.words).chain(&clean.remarks) {
            println!("  {name} sound: {q}");
        }
    }
    let rake = table
        .transom
        .as_ref()
        .map_or(0.0, |t| (t.head.0.metres() - t.foot.0.metres()) / (t.head.1.metres() - t.foot.1.metres()));
    let known: Vec<String> = clean.remarks.iter().map(|r| kind(r)).collect();
    let only = std::env::var("FACTS").unwrap_or_default();
    let asked = std::env::var("SIZES").unwrap_or_default();
    let asked: Vec<f64> = asked.split(',').filter_map(|s| s.parse().ok()).collect();
    let sizes = if asked.is_empty() { SIZES.to_vec() } else { asked };
    for fact in Fact::ALL
        .into_iter()
        .filter(|fact| only.is_empty() || only.split(',').any(|o| o == format!("{fact:?}")))
    {
        let Some(at) = place(text, fact, &table) else { continue };
        let was = parse_cell(&text[at.clone()], &Default::default()).ok().flatten();
        let Some(was) = was.map(|r| r.length.metres()) else { continue };
        let slips: Vec<(String, f64)> = if fact == Fact::Siding {
            [("double", was), ("half", -0.5 * was), ("inch", INCH)]
                .map(|(n, by)| (n.to_string(), by))
                .to_vec()
        } else {
            sizes.iter().flat_map(|s| [1.0, -1.0].map(|d| (format!("{s:2.0} in"), d * s * INCH))).collect()
        };
        for (size, by) in slips {
            let Some(new) = moved(&text[at.clone()], by) else { continue };
            let slipped = format!("{}{new}{}", &text[..at.start], &text[at.end..]);
            let what = format!("{name} {fact:?} {:+.1} in", by / INCH);
            let said = read(slipped.as_bytes(), name).ok().and_then(|t| said(&t).map(|s| (t, s)));
            let mut tallies_now = Tally { of: 1, ..Tally::default() };
            if let Some((slipped, said)) = said {
                let cells = said.cells.iter().any(|&c| at_block(&slipped, fact, c));
                let siding = |w: &String| w.contains("half the siding") || w.contains("half-siding");
                let of_siding = fact == Fact::Siding && (said.words.iter().chain(&said.remarks)).any(siding);
                let new: Vec<&String> = said.remarks.iter().filter(|r| !known.contains(&kind(r))).collect();
                let off = match (&clean.faired, &said.faired) {
                    (Some(clean), Some(faired)) => apart(faired, clean).max(apart(clean, faired)),
                    _ => f64::MAX,
                };
                if cells || of_siding {
                    tallies_now.named = 1;
                    tallies_now.by_it = usize::from(off > worst);
                    let others = said.queried.iter().any(|&c| !at_block(&slipped, fact, c));
                    tallies_now.with_others = usize::from(others);
                    if list && (off > worst || others) {
                        println!("  {what}: named, {:.1} mm {:?} {:?}", 1e3 * off, said.queries, said.words);
                    }
                } else {
                    let blamed = !said.queries.is_empty() || !said.words.is_empty();
                    if blamed {
                        tallies_now.blamed = 1;
                        tallies_now.wrong[0] += usize::from(off > worst);
                    } else if !new.is_empty() || said.covers(fact, by, rake) {
                        tallies_now.doubted = 1;
                    } else {
                        tallies_now.silent = 1;
                        tallies_now.wrong[1] += usize::from(off > worst);
                    }
                    if list {
                        let how = if blamed {
                            "BLAMED"
                        } else if new.is_empty() && !said.covers(fact, by, rake) {
                            "SILENT"
                        } else {
                            "doubted"
                        };
                        println!(
                            "  {what}: {how}, {:.1} mm {:?} {:?} {new:?}",
                            1e3 * off,
                            said.queries,
                            said.words
                        );
                    }
                }
            } else {
                tallies_now.refused = 1;
            }
            let mut tallies = tallies.lock().expect("tallies");
            let t = tallies.entry((fact, size)).or_default();
            t.of += 1;
            t.named += tallies_now.named;
            t.by_it += tallies_now.by_it;
            t.with_others += tallies_now.with_others;
            t.doubted += tallies_now.doubted;
            t.blamed += tallies_now.blamed;
            t.silent += tallies_now.silent;
            t.wrong[0] += tallies_now.wrong[0];
            t.wrong[1] += tallies_now.wrong[1];
            t.refused += tallies_now.refused;
        }
    }
}

fn main() {
    let mut words = std::env::args().skip(1).peekable();
    let seeds: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(1);
    let list = words.next_if(|word| word == "list").is_some();
    let files: Vec<String> = words.collect();
    let mut tables: Vec<(String, String)> = Vec::new();
    for file in &files {
        match std::fs::read_to_string(file) {
            Ok(text) => tables.push((file.rsplit('/').next().unwrap_or(file).to_string(), text)),
            Err(error) => println!("{file}: {error}"),
        }
    }
    let from: u64 = std::env::var("FROM").ok().and_then(|f| f.parse().ok()).unwrap_or(700);
    if files.is_empty() {
        for seed in 0..seeds {
            for family in Family::ALL {
                let hull = Known::new(family, from + seed);
                let text = hull.table_text(&hull.layout(10), Place::Eighth, "Known");
                tables.push((format!("{family:?} {seed}"), text));
            }
            for kind in Kind::ALL {
                let boat = AsBuilt::new(kind, from + seed);
                tables.push((
                    format!("{kind:?} {seed}"),
                    boat.table_text(&boat.taking(10), Place::Eighth, "Known"),
                ));
            }
        }
    }
    let boats = std::env::var("BOATS").unwrap_or_default();
    tables.retain(|(name, _)| boats.is_empty() || boats.split(',').any(|b| name.starts_with(b)));
    let (tallies, sound, next) = (Mutex::new(Tallies::new()), Mutex::new([0; 4]), AtomicUsize::new(0));
    std::thread::scope(|scope| {
        for _ in 0..THREADS {
            scope.spawn(|| {
                while let Some((name, text)) = tables.get(next.fetch_add(1, Ordering::Relaxed)) {
                    measure(text, name, list, &tallies, &sound);
                }
            });
        }
    });
    let [count, queries, words, remarks] = *sound.lock().expect("a tally");
    println!("{count} sound tables: {queries} queries, {words} words, {remarks} remarks");
    println!(
        "fact slip: of | named (by it, others too) | doubted in words | others blamed (hull wrong) | silent (hull wrong) | refused"
    );
    for ((fact, size), t) in tallies.lock().expect("tallies").iter() {
        println!(
            "  {:<12} {size:<7} {:>4} | {:>4} ({:>3}, {:>3}) | {:>4} | {:>4} ({:>3}) | {:>4} ({:>3}) | {:>3}",
            format!("{fact:?}"),
            t.of,
            t.named,
            t.by_it,
            t.with_others,
            t.doubted,
            t.blamed,
            t.wrong[0],
            t.silent,
            t.wrong[1],
            t.refused
        );
    }
}
