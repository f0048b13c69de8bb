//! Facts are proofread like readings: where a transom's foot and head stand, and where the stations do.

use scrieve_fairing::known::{Family, Known, Place};
use scrieve_fairing::{Faired, Finding, Options, fair, proof_table};
use scrieve_offsets::{Block, Table, read};

fn text(family: Family, seed: u64) -> String {
    let hull = Known::new(family, seed);
    hull.table_text(&hull.layout(12), Place::Eighth, "Known")
}

fn table(text: &str) -> Table {
    read(text.as_bytes(), "known.offsets").expect("a table")
}

fn proof(table: &Table) -> Vec<Finding> {
    proof_table(table, &Options::default()).expect("a proof")
}

fn faired(table: &Table) -> Faired {
    fair(&table.survey().expect("a survey").0, &Options::default()).expect("a hull")
}

/// The text with the distance of a station otherwise.
fn with_station(text: &str, column: usize, reading: &str) -> String {
    let row = text.lines().find(|l| l.starts_with("from stem")).expect("distances");
    let (label, cells) = row.split_once('|').expect("cells");
    let mut cells: Vec<&str> = cells.split_whitespace().collect();
    cells[column] = reading;
    text.replacen(row, &format!("{label}| {}", cells.join(" ")), 1)
}

fn distance(table: &Table, column: usize) -> String {
    table.stations[column].from_stem.as_ref().expect("a station").written.clone()
}

/// The reading a foot greater.
fn a_foot_more(reading: &str) -> String {
    let (feet, rest) = reading.split_once('-').expect("feet");
    format!("{}-{rest}", feet.parse::<u32>().expect("feet") + 1)
}

#[test]
fn a_station_a_foot_off_is_queried_where_it_stands_and_she_is_faired_without_the_error() {
    for (family, column) in [(Family::RoundBilge, 5), (Family::DoubleEnder, 6), (Family::HardChine, 4)] {
        let text = text(family, 400);
        let clean = table(&text);
        let truth = distance(&clean, column);
        let slipped = table(&with_station(&text, column, &a_foot_more(&truth)));
        let findings = proof(&slipped);
        let cells: Vec<_> = findings.iter().map(|f| f.query.cell).collect();
        assert_eq!(cells.len(), 1, "{family:?}: {findings:?}");
        let cell = cells[0];
        assert!(cell.block == Block::Stations && cell.column == column, "{family:?}: {cell:?}");
        let (line, at) = slipped.line_column(cell).expect("a place");
        let written = slipped.to_text().lines().nth(line - 1).expect("the line").split_at(at - 1).1;
        assert!(written.starts_with(&a_foot_more(&truth)), "{written}");
        // The true distance to within its uncertainty, and suggested.
        let query = findings[0].query;
        assert!((query.read - query.expected - 0.3048).abs() < 0.04, "{family:?}: {query:?}");
        let hull = faired(&slipped);
        assert!(hull.remarks.iter().any(|r| r.starts_with(&format!("station {} of", column + 1))));
        assert!(!hull.residuals.iter().any(|r| r.doubted), "{family:?}");
        let survey = slipped.survey().expect("a survey").0;
        let taken = hull.facts_taken(&survey).stations[column];
        assert!((taken - query.expected).abs() < 1e-9);
    }
}

#[test]
fn a_held_distance_is_never_doubted() {
    let text = text(Family::RoundBilge, 400);
    let wrong = a_foot_more(&distance(&table(&text), 5));
    let held = table(&with_station(&text, 5, &format!("{wrong}!")));
    assert!(proof(&held).iter().all(|f| f.query.cell.block != Block::Stations || f.query.cell.column != 5));
}

#[test]
fn a_transoms_foot_a_foot_short_is_queried() {
    let text = text(Family::RakedTransom, 400);
    let clean = table(&text);
    let foot = clean.transom.as_ref().expect("a transom").foot.0.metres();
    let start = text.find("foot = { from_stem = \"").expect("the foot") + "foot = { from_stem = \"".len();
    let end = start + text[start..].find('"').expect("its end");
    let (feet, rest) = text[start..end].split_once('-').expect("feet");
    let short = format!("{}-{rest}", feet.parse::<u32>().expect("feet") - 1);
    let slipped = table(&format!("{}{short}{}", &text[..start], &text[end..]));
    let findings = proof(&slipped);
    let found =
        findings.iter().find(|f| f.query.cell.block == Block::Transom).expect("a query of the transom");
    assert_eq!(slipped.describe(found.query.cell), ("T".to_string(), "transom foot from stem".to_string()));
    assert!((found.query.expected - foot).abs() < 0.1, "{:?} for {foot}", found.query);
    let place = slipped.line_column(found.query.cell).expect("a place");
    assert!(slipped.to_text().lines().nth(place.0 - 1).expect("the line").starts_with("foot"));
}

#[test]
fn facts_of_sound_tables_are_let_be() {
    for family in Family::ALL {
        let queried = proof(&table(&text(family, 400)));
        assert_eq!(queried.len(), 0, "{family:?}: {queried:?}");
    }
}
