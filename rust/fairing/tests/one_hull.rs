//! Tables that describe no one fair hull are said to be none, with where to begin; sound and rough ones are not. And
//! one wrong reading of a line is blamed alone, however far off.

#![allow(clippy::unwrap_used)] // in helpers of tests, as in tests

use scrieve_fairing::{Confidence, Options, fair, no_hull, proof_table, proof_whole};
use scrieve_offsets::{Block, CellId, Survey, Table, read};
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

/// Even chances from 0 to 1 (Park and Miller, "Random number generators", Commun. ACM 31, 1988).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        self.0 = self.0 * 48_271 % 2_147_483_647;
        self.0 as f64 / 2_147_483_647.0
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() - 6.0
    }
}

/// Every reading of rows made another.
fn each(survey: &Survey, mut to: impl FnMut(CellId, f64) -> f64) -> Survey {
    let mut made = survey.clone();
    for l in &mut made.lines {
        l.value = to(l.cell, l.value);
    }
    for s in &mut made.spots {
        let (y, z) = s.along;
        let read = if y == 0.0 { s.z } else { s.y / y };
        let by = to(s.cell, read) - read;
        (s.y, s.z) = (s.y + by * y, s.z + by * z);
    }
    made
}

fn text(family: Family, seed: u64, stations: usize, place: Place) -> String {
    let hull = Known::new(family, seed);
    hull.table_text(&hull.layout(stations), place, "Known")
}

fn survey(family: Family, seed: u64, stations: usize) -> Survey {
    let hull = Known::new(family, seed);
    hull.survey(&hull.layout(stations), Place::Eighth)
}

fn is_none(survey: &Survey) -> bool {
    let options = Options::default();
    no_hull(survey, &options, fair(survey, &options).as_ref()).is_some()
}

#[test]
fn numbers_at_random_and_readings_all_off_are_no_hull() {
    let mut chance = Chance(20_261);
    for (family, stations) in [(Family::RoundBilge, 9), (Family::HardChine, 6), (Family::DoubleEnder, 11)] {
        let sound = survey(family, 31, stations);
        let random = each(&sound, |cell, _| match cell.block {
            Block::Heights => chance.next(),
            _ => 1.5 * chance.next(),
        });
        assert!(is_none(&random), "{family:?}: numbers at random");
        let noisy = each(&sound, |_, read| read + 0.05 * chance.normal());
        assert!(is_none(&noisy), "{family:?}: all off by 50 mm");
    }
}

#[test]
fn sound_and_rough_tables_and_slips_are_not_said_to_be_no_hull() {
    let mut chance = Chance(1_909);
    for (family, stations) in [(Family::FlaredBow, 5), (Family::RakedTransom, 9), (Family::Tumblehome, 7)] {
        let sound = survey(family, 32, stations);
        let sd = Place::Eighth.sd();
        let rough = each(&sound, |_, read| read + 5.0 * sd * chance.normal());
        let mut count = 0;
        let slips = each(&sound, |_, read| {
            count += 1;
            if count % 25 == 7 { read + 0.0254 * (1.0 + 5.0 * chance.next()) } else { read }
        });
        for (name, survey) in [("sound", sound), ("rough", rough), ("slips", slips)] {
            let faired = fair(&survey, &Options::default());
            assert!(faired.is_ok_and(|f| !f.is_no_hull()), "{family:?}: {name}");
        }
    }
}

#[test]
fn a_hand_far_rougher_than_it_writes_is_one_hull_still() {
    let mut chance = Chance(2_777);
    for (family, stations) in [(Family::RoundBilge, 7), (Family::RakedTransom, 10), (Family::DoubleEnder, 13)]
    {
        let hull = Known::new(family, 35);
        let sound = hull.survey(&hull.layout(stations), Place::Millimetre);
        for sd in [0.001, 0.0025, 0.004, 0.008] {
            let rough = each(&sound, |_, read| read + sd * chance.normal());
            assert!(!is_none(&rough), "{family:?}, {stations} stations, off by {sd} m");
        }
    }
}

/// The stations `of` one table with the readings of another.
fn mixed(a: &str, b: &str, of: impl Fn(usize) -> bool) -> Table {
    let (mut table, other) = (read(a.as_bytes(), "a").unwrap(), read(b.as_bytes(), "b").unwrap());
    for cell in other.cells().collect::<Vec<_>>() {
        let rows = matches!(cell.block, Block::Heights | Block::HalfBreadths | Block::Diagonals);
        let (Some(own), Some(new)) = (table.cell(cell), other.cell(cell)) else { continue };
        if rows && of(cell.column) && own.written != new.written {
            let (station, row) = table.describe(cell);
            let new = new.written.clone();
            table = table.with_reading(&station, &row, &new).unwrap();
        }
    }
    table
}

#[test]
fn two_boats_in_one_table_are_told_apart_in_one_line() {
    let (a, b) =
        (text(Family::RoundBilge, 33, 9, Place::Eighth), text(Family::FirmBilge, 34, 9, Place::Eighth));
    let said = |table: Table| {
        let proof = proof_whole(&table, &Options::default());
        match proof {
            Ok(proof) => proof.no_hull.map(|none| none.text(&table)).unwrap_or_default(),
            Err(error) => error.to_string(),
        }
    };
    let alternate = said(mixed(&a, &b, |column| column % 2 == 1));
    assert!(alternate.starts_with("this table does not describe one fair hull: "), "{alternate}");
    assert!(
        alternate.contains("begin with every other station (2, 4, 6, 8") && !alternate.contains('\n'),
        "{alternate}"
    );
    let halves = said(mixed(&a, &b, |column| column >= 5));
    assert!(halves.contains("begin with the after body, stations 6 to T"), "{halves}");
    assert_eq!(said(read(a.as_bytes(), "a").unwrap()), "");
}

/// One reading off by so much: its cell is queried and left out, no other is, and the others of its line stay.
fn alone(text: &str, station: &str, row: &str, written: &str) {
    let table = read(text.as_bytes(), "one slip").unwrap().with_reading(station, row, written).unwrap();
    let cell = table.cells().find(|&c| table.describe(c) == (station.to_string(), row.to_string())).unwrap();
    let findings = proof_table(&table, &Options::default()).unwrap();
    let queried: Vec<_> = findings.iter().map(|f| table.describe(f.query.cell)).collect();
    assert_eq!(queried, [(station.to_string(), row.to_string())]);
    let (survey, _) = table.survey_unsifted().unwrap();
    let faired = fair(&survey, &Options::default()).unwrap();
    let out: Vec<CellId> = faired.residuals.iter().filter(|r| r.doubted).map(|r| r.cell).collect();
    // What is queried with high confidence is left out, and what is left out is queried.
    assert_eq!(out.contains(&cell), out.len() == 1);
    assert!(out.len() == 1 || findings.iter().all(|f| f.query.confidence == Confidence::Low));
    let line = survey.lines.iter().find(|l| l.cell == cell).unwrap();
    for r in faired.residuals.iter().filter(|r| r.cell != cell) {
        let of_line =
            survey.lines.iter().any(|l| l.cell == r.cell && (l.line, l.axis) == (line.line, line.axis));
        assert!(!of_line || (r.faired - r.read).abs() < 1.5 * r.tolerance, "{r:?}");
    }
}

#[test]
fn a_rabbet_two_feet_too_low_takes_none_of_its_neighbours_with_it() {
    alone(&text(Family::RakedTransom, 4000, 7, Place::Millimetre), "3", "rabbet height", "-546");
}

#[test]
fn a_line_that_leaves_its_spots_outside_is_what_is_wrong() {
    // The transom's rabbet above all its spots; its sheer below two of them.
    alone(&text(Family::ScowBow, 4000, 5, Place::Eighth), "T", "rabbet height", "2-3-0");
    let boat = AsBuilt::new(Kind::CurvedTransom, 4000);
    let text = boat.table_text(&boat.taking(5), Place::Eighth, "As built");
    alone(&text, "T", "sheer height", "2-2-2");
}
