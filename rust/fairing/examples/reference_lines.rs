//! One wrong spot on each reference line of every family and kind, at few stations and at many: is that reading queried
//! and no other, does the rest of the line stay within its readings' worth, do proofreading and fairing blame the same
//! readings, and is anything drawn that no hull can be.
//!
//! `cargo run --release -p scrieve-fairing --example reference_lines [SEEDS [all | list | LINE [FIRST [EVERY]]]]`; with `list`,
//! or a line's name to measure that alone, what was missed and what was wrongly blamed; of EVERY so many boats one.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use scrieve_fairing::{Options, fair, proof_table};
use scrieve_offsets::{Block, CellId, Survey, Table, read};
use scrieve_yardstick::copyist::{Copyist, Kind as Slip};
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

const STATIONS: [usize; 4] = [5, 7, 9, 12];
/// Slips in inches: half an inch to two feet.
const SIZES: [f64; 6] = [0.5, 1.0, 3.0, 6.0, 12.0, 24.0];
const SLIPS: [Slip; 7] =
    [Slip::Digit, Slip::AnyDigit, Slip::Swapped, Slip::Foot, Slip::Inch, Slip::Dropped, Slip::Neighbour];
/// Threads it runs on.
const THREADS: usize = 2;

/// Tallies by line.
type OfLines = Vec<(&'static str, Tally)>;

/// What came of tables with one slip in one line.
#[derive(Clone, Default)]
struct Tally {
    tables: usize,
    failed: usize,
    found: usize,
    /// Not found, and off by an inch or more.
    missed_large: usize,
    /// Tables in which others were queried, and how many were.
    with_others: usize,
    others: usize,
    left_out: usize,
    /// Tables where the rest of the line moved more than so many tolerances: 1.5, 3, 10.
    moved: [usize; 3],
    /// Fairing leaves out what is not queried, or keeps what is said to be left out.
    unlike: usize,
    impossible: usize,
}

impl Tally {
    fn add(&mut self, o: &Tally) {
        self.tables += o.tables;
        self.failed += o.failed;
        self.found += o.found;
        self.missed_large += o.missed_large;
        self.with_others += o.with_others;
        self.others += o.others;
        self.left_out += o.left_out;
        (0..3).for_each(|i| self.moved[i] += o.moved[i]);
        self.unlike += o.unlike;
        self.impossible += o.impossible;
    }

    fn line(&self, name: &str) {
        println!(
            "{name:<34} {:>6} {:>6} {:>6} {:>6} {:>6} {:>6} {:>8} {:>5} {:>4} {:>4} {:>7} {:>6}",
            self.tables,
            self.failed,
            self.found,
            self.missed_large,
            self.with_others,
            self.others,
            self.left_out,
            self.moved[0],
            self.moved[1],
            self.moved[2],
            self.unlike,
            self.impossible
        );
    }
}

/// The reference line a cell is of.
fn line_of(table: &Table, survey: &Survey, cell: CellId) -> Option<&'static str> {
    let on_transom = survey.lines.iter().any(|l| l.cell == cell && l.on_transom);
    let row = table.describe(cell).1;
    let of = |name: &str| row.starts_with(name);
    Some(match cell.block {
        Block::StemProfile => "stem profile",
        Block::SternProfile => "stern profile",
        Block::Heights if of("rabbet") && on_transom => "rabbet at transom",
        Block::Heights if of("rabbet") => "rabbet height",
        Block::Heights if of("sheer") && on_transom => "sheer height at transom",
        Block::Heights if of("sheer") => "sheer height",
        Block::HalfBreadths if of("sheer") && on_transom => "sheer half-breadth at transom",
        Block::HalfBreadths if of("sheer") => "sheer half-breadth",
        Block::Heights if of("chine") && on_transom => "chine height at transom",
        Block::Heights if of("chine") => "chine height",
        Block::HalfBreadths if of("chine") && on_transom => "chine half-breadth at transom",
        Block::HalfBreadths if of("chine") => "chine half-breadth",
        _ => return None,
    })
}

/// A table with one slip in a cell; how far off, m.
fn slipped(table: &Table, place: Place, cell: CellId, chance: &mut Copyist) -> Option<(Table, f64)> {
    if place == Place::Eighth && chance.below(2) == 0 {
        let made = (0..40).find_map(|_| {
            let kind = SLIPS[chance.below(SLIPS.len())];
            chance.slip(table, cell, kind).filter(|made| made.1.off_m.abs() > 0.012)
        });
        if let Some((copy, slip)) = made {
            return Some((copy, slip.off_m));
        }
    }
    let truth = table.cell(cell)?;
    let by = SIZES[chance.below(SIZES.len())] * 0.0254 * if chance.below(2) == 0 { 1.0 } else { -1.0 };
    let unit = place.metres();
    let units = (truth.length.metres() / unit).round() as i64 + (by / unit).round() as i64;
    let written = match place {
        Place::Eighth => {
            let (sign, n) = (if units < 0 { "-" } else { "" }, units.abs());
            format!("{sign}{}-{}-{}", n / 96, n / 8 % 12, n % 8)
        }
        _ => units.to_string(),
    };
    let (station, row) = table.describe(cell);
    let copy = table.with_reading(&station, &row, &written).ok()?;
    let off = copy.cell(cell)?.length.metres() - truth.length.metres();
    (off != 0.0).then_some((copy, off))
}

/// Whether two cells are of one spot of a profile.
fn same(a: CellId, b: CellId) -> bool {
    let profile = matches!(a.block, Block::StemProfile | Block::SternProfile);
    a == b || profile && a.block == b.block && a.column == b.column
}

fn measure(name: &str, table: &Table, cell: CellId, off: f64, line: &str, list: bool) -> (Tally, String) {
    let mut of = Tally { tables: 1, ..Tally::default() };
    let mut said = String::new();
    let describe = |cell: CellId| {
        let (station, row) = table.describe(cell);
        format!("{row} at {station}")
    };
    let mut say = |what: String| {
        if list {
            said += &format!("  {name}, {} off by {:.1} mm: {what}\n", describe(cell), 1e3 * off);
        }
    };
    let findings = match proof_table(table, &Options::default()) {
        Ok(findings) => findings,
        Err(error) => {
            of.failed = 1;
            say(error.to_string());
            return (of, said);
        }
    };
    let Ok((survey, _)) = table.survey_unsifted() else { return (of, said) };
    let Ok(faired) = fair(&survey, &Options::default()) else {
        of.failed = 1;
        return (of, said);
    };
    let queried: BTreeSet<CellId> = findings.iter().map(|f| f.query.cell).collect();
    let left_out: BTreeSet<CellId> = faired.residuals.iter().filter(|r| r.doubted).map(|r| r.cell).collect();
    of.found = usize::from(queried.iter().any(|&q| same(q, cell)));
    if of.found == 0 {
        of.missed_large = usize::from(off.abs() > 0.025);
        say("missed".to_string());
    }
    let others: Vec<CellId> = queried.iter().copied().filter(|&q| !same(q, cell)).collect();
    of.with_others = usize::from(!others.is_empty());
    of.others = others.len();
    for q in &others {
        say(format!("queried {}", describe(*q)));
    }
    let out: Vec<CellId> = left_out.iter().copied().filter(|&q| !same(q, cell)).collect();
    of.left_out = out.len();
    let unsaid = left_out.iter().filter(|&&l| !queried.iter().any(|&q| same(q, l)));
    let unsaid: Vec<CellId> = unsaid.copied().collect();
    let high = findings.iter().filter(|f| f.query.confidence == scrieve_fairing::Confidence::High);
    let kept: Vec<CellId> = high
        .map(|f| f.query.cell)
        .filter(|&q| !matches!(q.block, Block::Stations | Block::Transom))
        .filter(|&q| !left_out.iter().any(|&l| same(q, l)))
        .collect();
    of.unlike = usize::from(!unsaid.is_empty() || !kept.is_empty());
    for l in unsaid {
        say(format!("left out {}, and not queried", describe(l)));
    }
    for l in kept {
        say(format!("queried {}, and not left out", describe(l)));
    }
    let of_line = faired.residuals.iter().filter(|r| !same(r.cell, cell) && !out.contains(&r.cell));
    let of_line = of_line.filter(|r| line_of(table, &survey, r.cell).is_some_and(|l| kin(l) == kin(line)));
    let moved = of_line.map(|r| ((r.faired - r.read).abs() / r.tolerance, r.cell));
    let moved = moved.max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((most, at)) = moved {
        for (i, limit) in [1.5, 3.0, 10.0].into_iter().enumerate() {
            of.moved[i] = usize::from(most > limit);
        }
        if most > 3.0 {
            say(format!("moved {} by {most:.1} tolerances", describe(at)));
        }
    }
    let no_hull = |remark: &&String| {
        ["no hull is less", "cross near", "over the side of the keel"].iter().any(|t| remark.contains(t))
    };
    let below = faired.residuals.iter().filter(|r| r.cell.block == Block::HalfBreadths);
    let below = below.filter(|r| r.faired < -r.tolerance).count();
    let remark = faired.remarks.iter().find(no_hull);
    of.impossible = usize::from(below > 0 || remark.is_some());
    if let Some(remark) = remark {
        say(format!("drawn: {remark}"));
    }
    (of, said)
}

/// Lines that one backbone is made of are one.
fn kin(line: &str) -> &str {
    let line = line.trim_end_matches(" at transom");
    if matches!(line, "rabbet" | "rabbet height" | "stem profile" | "stern profile") {
        "backbone"
    } else {
        line
    }
}

fn main() {
    let mut words = std::env::args().skip(1);
    let seeds: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(1);
    let word = words.next().unwrap_or_default();
    let first: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(4000);
    let mut boats = Vec::new();
    for seed in first..first + seeds {
        for stations in STATIONS {
            let place = |n: usize| {
                if (n + stations + seed as usize).is_multiple_of(3) {
                    Place::Millimetre
                } else {
                    Place::Eighth
                }
            };
            for (n, family) in Family::ALL.into_iter().enumerate() {
                let hull = Known::new(family, seed);
                let text = hull.table_text(&hull.layout(stations), place(n), "Known");
                boats.push((format!("{family:?} {seed} {stations}"), text, stations, place(n)));
            }
            for (n, kind) in Kind::ALL.into_iter().enumerate() {
                let boat = AsBuilt::new(kind, seed);
                let text = boat.table_text(&boat.taking(stations), place(n), "Known");
                boats.push((format!("{kind:?} {seed} {stations}"), text, stations, place(n)));
            }
        }
    }
    let every: usize = words.next().and_then(|a| a.parse().ok()).unwrap_or(1);
    let boats: Vec<_> = boats
        .into_iter()
        .enumerate()
        .filter(|(i, _)| (i + i / 30).is_multiple_of(every))
        .map(|b| b.1)
        .collect();
    let next = AtomicUsize::new(0);
    let all = Mutex::new((BTreeMap::<(String, usize), Tally>::new(), 0usize));
    std::thread::scope(|scope| {
        for _ in 0..THREADS {
            scope.spawn(|| {
                while let Some((name, text, stations, place)) =
                    boats.get(next.fetch_add(1, Ordering::Relaxed))
                {
                    let (mine, said) = of_boat(name, text, *place, &word);
                    said.iter().for_each(|s| print!("{s}"));
                    let Ok(mut all) = all.lock() else { return };
                    match mine {
                        None => all.1 += 1,
                        Some(mine) => {
                            for (line, tally) in mine {
                                all.0.entry((line.to_string(), *stations)).or_default().add(&tally);
                            }
                        }
                    }
                }
            });
        }
    });
    let Ok((tallies, unread)) = all.into_inner() else { return };
    println!("{unread} tables not read\n");
    println!(
        "{:<34} {:>6} {:>6} {:>6} {:>6} {:>6} {:>6} {:>8} {:>5} {:>4} {:>4} {:>7} {:>6}",
        "line, stations",
        "tables",
        "failed",
        "found",
        "missed",
        "with",
        "others",
        "left out",
        ">1.5",
        ">3",
        ">10",
        "unlike",
        "no hull"
    );
    let mut sum = Tally::default();
    let mut of_line: BTreeMap<&str, Tally> = BTreeMap::new();
    let mut of_count: BTreeMap<usize, Tally> = BTreeMap::new();
    for ((line, stations), tally) in &tallies {
        tally.line(&format!("{line}, {stations}"));
        of_line.entry(line).or_default().add(tally);
        of_count.entry(*stations).or_default().add(tally);
        if line != "none" {
            sum.add(tally);
        }
    }
    println!();
    of_line.iter().for_each(|(line, tally)| tally.line(line));
    of_count.iter().for_each(|(count, tally)| tally.line(&format!("{count} stations")));
    sum.line("all with a slip");
}

/// One slip in each line of a boat, by chance where and what.
fn of_boat(name: &str, text: &str, place: Place, word: &str) -> (Option<OfLines>, Vec<String>) {
    let Ok(table) = read(text.as_bytes(), name) else { return (None, Vec::new()) };
    let Ok((survey, _)) = table.survey_unsifted() else { return (None, Vec::new()) };
    let seed = name.bytes().fold(7u64, |h, b| h.wrapping_mul(31).wrapping_add(u64::from(b)));
    let (mut tallies, mut said) = (Vec::new(), Vec::new());
    let mut of_line: BTreeMap<&'static str, Vec<CellId>> = BTreeMap::new();
    for cell in table.cells().filter(|&c| table.cell(c).is_some()) {
        if let Some(line) = line_of(&table, &survey, cell) {
            of_line.entry(line).or_default().push(cell);
        }
    }
    let list = !word.is_empty() && word != "all";
    for (n, (line, cells)) in of_line.into_iter().enumerate() {
        if list && word != "list" && word != line {
            continue;
        }
        let mut chance = Copyist::new(seed.wrapping_add(977 * n as u64));
        for _ in 0..20 {
            let cell = cells[chance.below(cells.len())];
            if let Some((copy, off)) = slipped(&table, place, cell, &mut chance) {
                let (tally, s) = measure(name, &copy, cell, off, line, list);
                tallies.push((line, tally));
                said.push(s);
                break;
            }
        }
    }
    (Some(tallies), said)
}
