//! Proofreading tables of hulls in closed form, copied by someone who makes slips; the truth is the hull's own
//! table. Kinds of slips after the trade's lists of them (common practice).

use scrieve_fairing::{Confidence, Finding, Options, Slip, disagreements, proof_table};
use scrieve_offsets::{Block, CellId, Table, read};
use scrieve_yardstick::copyist::{Copyist, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

fn table(family: Family, seed: u64, stations: usize) -> Table {
    let hull = Known::new(family, seed);
    read(hull.table_text(&hull.layout(stations), Place::Eighth, "Petrel's Egg").as_bytes(), "known")
        .expect("a table")
}

fn proof(table: &Table) -> Vec<Finding> {
    proof_table(table, &Options::default()).expect("a proof")
}

fn queried(table: &Table) -> Vec<(String, String)> {
    proof(table).iter().map(|f| table.describe(f.query.cell)).collect()
}

fn slipped(table: &Table, station: &str, row: &str, reading: &str) -> Table {
    table.with_reading(station, row, reading).expect("a reading")
}

fn written(table: &Table, station: &str, row: &str) -> String {
    let cell = table.find(station, row).expect("a cell");
    table.cell(cell).expect("a reading").written.clone()
}

#[test]
fn a_clean_table_of_any_family_gives_no_query() {
    for family in Family::ALL {
        for (seed, stations) in [(21, 9), (22, 13)] {
            let table = table(family, seed, stations);
            assert_eq!(queried(&table), [], "{family:?} {seed}");
            let survey = table.survey_unsifted().expect("a survey").0;
            assert_eq!(disagreements(&table, &survey), [], "{family:?} {seed}");
        }
    }
}

#[test]
fn a_digit_misread_is_found_and_its_true_reading_suggested_first() {
    let mut copyist = Copyist::new(5);
    let clean = table(Family::RoundBilge, 4, 11);
    let cells: Vec<CellId> =
        clean.cells().filter(|c| c.block == Block::HalfBreadths && clean.cell(*c).is_some()).collect();
    let mut tried = 0;
    for cell in cells.into_iter().step_by(5) {
        let Some((copy, slip)) = copyist.slip(&clean, cell, Kind::Digit) else { continue };
        if slip.off_m.abs() < 0.0127 {
            continue;
        }
        let findings = proof(&copy);
        assert_eq!(findings.iter().map(|f| f.query.cell).collect::<Vec<_>>(), [cell], "{slip:?}");
        let first = findings[0].suggestions.first().expect("a suggestion");
        assert_eq!(first.reading, slip.truth, "{slip:?}");
        assert!(matches!(first.slip, Slip::Digit { .. }) && first.probability > 0.5);
        tried += 1;
    }
    assert!(tried >= 4, "{tried}");
}

#[test]
fn what_the_rest_expects_has_nothing_of_the_slip_in_it() {
    let clean = table(Family::RakedTransom, 3, 13);
    let truth = clean
        .cell(clean.find("6", "sheer half-breadth").expect("a cell"))
        .expect("a reading")
        .length
        .metres();
    for off in [0.0127, 0.0508, 0.3048] {
        let reading = scrieve_notation::write_length(
            scrieve_notation::Length::from_metres(truth + off).expect("a length"),
            scrieve_notation::Units::FeetInchesEighths,
            scrieve_notation::Precision::Eighth,
        );
        let query = proof(&slipped(&clean, "6", "sheer half-breadth", &reading))[0].query;
        assert!((query.expected - truth).abs() < 3.0 * query.sd, "{off}: {query:?} for {truth}");
        assert!((query.misfit - (query.read - query.expected) / query.sd).abs() < 1e-9 && query.sd < 4e-3);
    }
}

#[test]
fn two_slips_side_by_side_are_both_found() {
    let clean = table(Family::FlaredBow, 6, 13);
    for slips in [
        // Neighbours along a waterline, one above the other at a station, and both of one sheer spot.
        [("6", "waterline 1-6-0", "2-4-3"), ("7", "waterline 1-6-0", "2-8-0")],
        [("9", "waterline 1-0-0", "2-2-0"), ("9", "waterline 1-6-0", "2-6-7")],
        [("5", "sheer height", "3-1-7"), ("5", "sheer half-breadth", "2-8-6")],
    ] {
        let mut copy = clean.clone();
        for (station, row, reading) in slips {
            copy = slipped(&copy, station, row, reading);
        }
        let mut found = queried(&copy);
        found.sort();
        let mut made = slips.map(|s| (s.0.to_string(), s.1.to_string()));
        made.sort();
        assert_eq!(found, made);
    }
}

#[test]
fn one_bad_rabbet_or_sheer_reading_does_not_flag_its_station() {
    let clean = table(Family::RakedTransom, 9, 11);
    for (station, row) in [("4", "rabbet height"), ("6", "sheer height"), ("7", "sheer half-breadth")] {
        let was = clean.cell(clean.find(station, row).expect("a cell")).expect("a reading").length;
        let reading = scrieve_notation::write_length(
            was + scrieve_notation::Length::INCH,
            scrieve_notation::Units::FeetInchesEighths,
            scrieve_notation::Precision::Eighth,
        );
        let copy = slipped(&clean, station, row, &reading);
        assert_eq!(queried(&copy), [(station.to_string(), row.to_string())]);
    }
}

#[test]
fn the_ends_of_lines_are_queried_with_low_confidence() {
    let clean = table(Family::FirmBilge, 8, 11);
    let copy = slipped(&clean, "T", "sheer half-breadth", "0-6-0");
    let findings = proof(&copy);
    let of_sheer = findings.iter().find(|f| copy.describe(f.query.cell).1 == "sheer half-breadth");
    assert_eq!(of_sheer.expect("a query").query.confidence, Confidence::Low);
}

#[test]
fn a_part_left_out_and_a_foot_lost_are_recognised() {
    let clean = table(Family::FlaredBow, 6, 13);
    for (station, row, reading, slip) in [
        ("8", "waterline 1-0-0", "1-3-0", Slip::Foot),
        ("4", "waterline 1-0-0", "0-0-3", Slip::PartLost),
        ("11", "buttock 0-9-0", "0-2-7", Slip::Swapped),
    ] {
        let copy = slipped(&clean, station, row, reading);
        let findings = proof(&copy);
        let first = &findings[0].suggestions[0];
        assert_eq!(
            (first.reading.as_str(), first.slip),
            (written(&clean, station, row).as_str(), slip),
            "{row}"
        );
    }
}

#[test]
fn a_gross_slip_in_the_stem_accuses_the_stem() {
    let clean = table(Family::RoundBilge, 12, 11);
    let cell = CellId { block: Block::StemProfile, row: 1, column: 0 };
    let (station, row) = clean.describe(cell);
    let truth = written(&clean, &station, &row);
    let other = if let Some(rest) = truth.strip_prefix('3') {
        format!("2{rest}")
    } else {
        format!("6{}", &truth[1..])
    };
    let copy = slipped(&clean, &station, &row, &other);
    let findings = proof(&copy);
    assert_eq!(findings.iter().map(|f| f.query.cell).collect::<Vec<_>>(), [cell]);
    assert_eq!(findings[0].suggestions[0].reading, truth);
}

#[test]
fn a_suggestion_keeps_the_hand_of_the_table() {
    let text = table(Family::RakedTransom, 3, 13).to_text().to_owned();
    // The same table in another hand: 1-6-3 as 1 6^3.
    let head = text.find("\n[heights]").expect("a block");
    let body = text[head..].lines().map(|line| match line.split_once('|') {
        Some((label, cells)) => {
            let cells = cells.split_whitespace().map(|c| match c.rsplit_once('-') {
                Some((feet, eighths)) if !feet.is_empty() => format!("{feet}^{eighths}"),
                _ => c.to_owned(),
            });
            format!("{label}| {}", cells.collect::<Vec<_>>().join(" "))
        }
        None => line.to_owned(),
    });
    let other = format!("{}{}\n", &text[..head], body.collect::<Vec<_>>().join("\n"));
    let clean = read(other.as_bytes(), "other hand").expect("a table");
    let row = clean.cells().map(|c| clean.describe(c)).find(|d| d.0 == "6" && d.1.starts_with("waterline"));
    let (station, row) = row.expect("a waterline");
    let truth = written(&clean, &station, &row);
    let (feet, rest) = truth.split_once('-').expect("parts");
    let off = format!("{}-{rest}", feet.parse::<i64>().expect("feet") + 1);
    let findings = proof(&slipped(&clean, &station, &row, &off));
    assert_eq!(findings[0].suggestions[0].reading, truth);
}

#[test]
fn proofreading_changes_nothing() {
    let clean = table(Family::HardChine, 2, 11);
    let copy = Copyist::new(3).copy(&clean, 4).0;
    let before = copy.to_text().to_owned();
    proof(&copy);
    assert_eq!(copy.to_text(), before);
}

#[test]
fn waterlines_that_cross_are_found_without_a_fit() {
    let clean = table(Family::FlaredBow, 6, 13);
    let copy = slipped(&clean, "7", "waterline 1-6-0", "2-1-0");
    let found = disagreements(&copy, &copy.survey_unsifted().expect("a survey").0);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].text.starts_with("station 7: waterline 1-6-0 2-1-0 does not lie on one section"),
        "{found:?}"
    );
}

#[test]
fn heights_of_a_profile_must_fall() {
    let clean = table(Family::FlaredBow, 6, 13);
    let (spot, row) = clean.describe(CellId { block: Block::StemProfile, row: 1, column: 3 });
    let copy = slipped(&clean, &spot, &row, "0-4-0");
    let found = disagreements(&copy, &copy.survey_unsifted().expect("a survey").0);
    assert!(found.iter().any(|d| d.text.contains("the stem's profile")), "{found:?}");
}

#[test]
fn most_slips_of_a_tired_copyist_are_found_and_nothing_else() {
    // The whole measure, by families and kinds, is `--example slips`; this is a small part of it.
    let (mut large, mut found, mut wrongly, mut right) = (0, 0, Vec::new(), 0);
    for (i, family) in Family::ALL.into_iter().enumerate() {
        let clean = table(family, 40 + i as u64, 11);
        let (copy, slips) = Copyist::new(90 + i as u64).copy(&clean, 4);
        let findings = proof(&copy);
        for slip in slips.iter().filter(|s| {
            s.off_m.abs() > 0.0126 && !matches!(s.cell.block, Block::StemProfile | Block::SternProfile)
        }) {
            large += 1;
            let Some(f) = findings.iter().find(|f| f.query.cell == slip.cell) else { continue };
            found += 1;
            right += usize::from(f.suggestions.first().is_some_and(|s| s.reading == slip.truth));
        }
        for f in findings.iter().filter(|f| slips.iter().all(|s| s.cell != f.query.cell)) {
            wrongly.push(format!(
                "{family:?}: {:?} {:?} with {slips:?}",
                copy.describe(f.query.cell),
                f.query
            ));
        }
    }
    assert!(
        large >= 15 && found == large && wrongly.len() <= 1,
        "{found} of {large} found, wrongly {wrongly:#?}"
    );
    assert!(right as f64 >= 0.8 * found as f64, "{right} of {found} restored");
}
