//! How well facts are proofread: errors planted one at a time in where the transom's foot and head stand, in the
//! distances of stations, in the half-siding and in spots of the stem's profile, of known hulls and of boats as they are
//! built, read to the eighth; how often the fact is queried or said to go ill with others, what else is, and both of facts
//! in the same tables without an error.
//!
//! `cargo run --release -p scrieve-fairing --example facts [SEEDS [list]]`.

use std::collections::BTreeMap;
use std::time::Instant;

use scrieve_fairing::{Finding, Options, facts_apart, proof_table};
use scrieve_notation::{Length, Precision, Units, parse_cell, write_length};
use scrieve_offsets::{Block, CellId, Table, read};
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

const INCH: f64 = 0.0254;
const FOOT: f64 = 12.0 * INCH;

/// What is put into a table's text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Error {
    FootAFootShort,
    FootAFootLong,
    FootAFootHigh,
    HeadAnInchOff,
    HeadAFootShort,
    RakeReversed,
    SidingWhole,
    SidingInchForEighth,
    StationThreeInchesOff,
    StationAFootOff,
    StemSpotAnInchOff,
}

impl Error {
    const ALL: [Error; 11] = [
        Error::FootAFootShort,
        Error::FootAFootLong,
        Error::FootAFootHigh,
        Error::HeadAnInchOff,
        Error::HeadAFootShort,
        Error::SidingWhole,
        Error::SidingInchForEighth,
        Error::RakeReversed,
        Error::StationThreeInchesOff,
        Error::StationAFootOff,
        Error::StemSpotAnInchOff,
    ];

    /// Whether a query names what was changed.
    fn is_named(self, cell: CellId, column: usize) -> bool {
        match self {
            Error::FootAFootShort | Error::FootAFootLong | Error::FootAFootHigh => {
                cell.block == Block::Transom && cell.row == 0
            }
            // No reading says what the half-siding is: it is told in words.
            Error::SidingWhole | Error::SidingInchForEighth => false,
            Error::HeadAnInchOff | Error::HeadAFootShort => cell.block == Block::Transom && cell.row == 1,
            Error::RakeReversed => cell.block == Block::Transom,
            Error::StationThreeInchesOff | Error::StationAFootOff => {
                cell.block == Block::Stations && cell.column == column
            }
            Error::StemSpotAnInchOff => cell.block == Block::StemProfile && cell.column == column,
        }
    }
}

fn moved(reading: &str, by: f64) -> Option<String> {
    let dialect = Default::default();
    let was = parse_cell(reading, &dialect).ok()??.length.metres();
    let length = Length::from_metres(was + by)?;
    Some(write_length(length, Units::FeetInchesEighths, Precision::Eighth))
}

/// The text with a number of the row that begins so moved; `after` what comes before the row.
fn in_row(text: &str, after: &str, row: &str, column: usize, by: f64) -> Option<String> {
    let from = text.find(after)?;
    let start = from + text[from..].find(&format!("\n{row}"))? + 1;
    let end = start + text[start..].find('\n')?;
    let (label, cells) = text[start..end].split_once('|')?;
    let mut cells: Vec<String> = cells.split_whitespace().map(str::to_string).collect();
    let cell = cells.get_mut(column)?;
    *cell = moved(cell, by)?;
    Some(format!("{}{label}| {}{}", &text[..start], cells.join(" "), &text[end..]))
}

/// Where the number of `foot` or `head` stands.
fn spot(text: &str, name: &str) -> Option<std::ops::Range<usize>> {
    let key = format!("{name} = {{ from_stem = \"");
    let start = text.find(&key)? + key.len();
    Some(start..start + text[start..].find('"')?)
}

fn planted(text: &str, error: Error, table: &Table, seed: u64) -> Option<(String, usize)> {
    let with =
        |at: std::ops::Range<usize>, new: &str| format!("{}{new}{}", &text[..at.start], &text[at.end..]);
    let sign = if seed.is_multiple_of(2) { 1.0 } else { -1.0 };
    let stations = table.stations.iter().filter(|s| s.from_stem.is_some()).count();
    let column = 1 + (seed as usize * 5) % (stations - 2);
    let station = |by: f64| Some((in_row(text, "station", "from stem", column, by)?, column));
    match error {
        Error::FootAFootShort => {
            let at = spot(text, "foot")?;
            Some((with(at.clone(), &moved(&text[at], -FOOT)?), 0))
        }
        Error::FootAFootLong => {
            let at = spot(text, "foot")?;
            Some((with(at.clone(), &moved(&text[at], FOOT)?), 0))
        }
        Error::FootAFootHigh => {
            let from = spot(text, "foot")?.end;
            let key = "height = \"";
            let start = from + text[from..].find(key)? + key.len();
            let at = start..start + text[start..].find('"')?;
            Some((with(at.clone(), &moved(&text[at], FOOT)?), 0))
        }
        Error::HeadAFootShort => {
            let at = spot(text, "head")?;
            Some((with(at.clone(), &moved(&text[at], -FOOT)?), 0))
        }
        Error::SidingWhole | Error::SidingInchForEighth => {
            let key = "half_siding = \"";
            let start = text.find(key)? + key.len();
            let at = start..start + text[start..].find('"')?;
            let metres = parse_cell(&text[at.clone()], &Default::default()).ok()??.length.metres();
            let by = if error == Error::SidingWhole { metres } else { -0.875 * metres };
            Some((with(at.clone(), &moved(&text[at], by)?), 0))
        }
        Error::HeadAnInchOff => {
            let at = spot(text, "head")?;
            Some((with(at.clone(), &moved(&text[at], sign * INCH)?), 0))
        }
        Error::RakeReversed => {
            let (foot, head) = (spot(text, "foot")?, spot(text, "head")?);
            if text[foot.clone()] == text[head.clone()] {
                return None;
            }
            let (a, b) = (text[foot.clone()].to_string(), text[head.clone()].to_string());
            let after = with(head, &a);
            Some((format!("{}{b}{}", &after[..foot.start], &after[foot.end..]), 0))
        }
        Error::StationThreeInchesOff => station(sign * 3.0 * INCH),
        Error::StationAFootOff => station(sign * FOOT),
        Error::StemSpotAnInchOff => {
            let spots = table.stem.as_ref()?.height.len();
            let column = 1 + seed as usize % (spots - 2);
            Some((in_row(text, "[stem profile]", "from stem", column, sign * INCH)?, column))
        }
    }
}

#[derive(Default)]
struct Tally {
    tables: usize,
    falsely: usize,
    said_falsely: usize,
    ms: f64,
    /// Of each error: found, tables, other queries, refused, found by what the table says against itself.
    of: BTreeMap<Error, [usize; 5]>,
}

/// What facts say against readings that tell the same.
fn apart(table: &Table) -> Vec<String> {
    let Ok((survey, _)) = table.survey_unsifted() else { return Vec::new() };
    facts_apart(table, &survey).into_iter().map(|d| d.text).collect()
}

fn is_fact(finding: &Finding) -> bool {
    matches!(finding.query.cell.block, Block::Transom | Block::Stations)
}

fn measure(text: &str, name: &str, seed: u64, list: bool, tally: &mut Tally) {
    let Ok(table) = read(text.as_bytes(), name) else { return };
    let say = |what: &str, table: &Table, finding: &Finding| {
        if list {
            let (station, row) = table.describe(finding.query.cell);
            let q = finding.query;
            let at = table.line_column(q.cell);
            println!(
                "  {name} {what}: {row} at {station} {at:?} {:.4} for {:.4} sd {:.4}",
                q.read, q.expected, q.sd
            );
        }
    };
    let clock = Instant::now();
    let sound = proof_table(&table, &Options::default()).unwrap_or_default();
    tally.ms += clock.elapsed().as_secs_f64() * 1e3;
    tally.tables += 1;
    for finding in sound.iter().filter(|f| is_fact(f)) {
        tally.falsely += 1;
        say("sound", &table, finding);
    }
    for text in apart(&table) {
        tally.said_falsely += 1;
        println!("  {name} sound: {text}");
    }
    for error in Error::ALL {
        let Some((text, column)) = planted(text, error, &table, seed) else { continue };
        let of = tally.of.entry(error).or_default();
        of[1] += 1;
        let Ok(table) = read(text.as_bytes(), name) else {
            of[3] += 1;
            continue;
        };
        let Ok(findings) = proof_table(&table, &Options::default()) else {
            of[3] += 1;
            continue;
        };
        let hit = |f: &&Finding| error.is_named(f.query.cell, column);
        let said = !apart(&table).is_empty();
        of[0] += usize::from(said || findings.iter().any(|f| hit(&f)));
        of[4] += usize::from(said);
        let others = findings.iter().filter(|f| !hit(f));
        of[2] += others.clone().count();
        if list && !said && !findings.iter().any(|f| hit(&f)) {
            println!("  {name} {error:?} {column}: missed");
        }
        others.for_each(|f| say(&format!("{error:?}"), &table, f));
    }
}

fn report(name: &str, tally: &Tally) {
    let tables = tally.tables.max(1);
    println!(
        "{name}: {} sound tables, {} facts falsely queried, {} falsely said to go ill, {:.0} ms each",
        tally.tables,
        tally.falsely,
        tally.said_falsely,
        tally.ms / tables as f64
    );
    for (error, [found, of, others, refused, said]) in &tally.of {
        println!(
            "  {:<24} found {found:>4} of {of:>4}, {said:>4} by words; refused {refused:>3}; other queries {:.2} a table",
            format!("{error:?}"),
            *others as f64 / *of as f64
        );
    }
}

fn main() {
    let mut words = std::env::args().skip(1);
    let seeds: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(2);
    let list = words.next().is_some_and(|word| word == "list");
    let mut tally = Tally::default();
    for family in Family::ALL {
        for seed in 0..seeds {
            for stations in [9, 12] {
                let hull = Known::new(family, 400 + seed);
                let text = hull.table_text(&hull.layout(stations), Place::Eighth, "Known");
                let name = format!("{family:?} {seed} {stations}");
                measure(&text, &name, seed + stations as u64, list, &mut tally);
            }
        }
    }
    report("known hulls", &tally);
    let mut tally = Tally::default();
    for kind in Kind::ALL {
        for seed in 0..seeds {
            for stations in [9, 12] {
                let boat = AsBuilt::new(kind, 400 + seed);
                let text = boat.table_text(&boat.taking(stations), Place::Eighth, "Known");
                let name = format!("{kind:?} {seed} {stations}");
                measure(&text, &name, seed + stations as u64, list, &mut tally);
            }
        }
    }
    report("boats as built", &tally);
}
