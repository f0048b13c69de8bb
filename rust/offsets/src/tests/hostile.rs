//! Whatever bytes come, the reader answers, and in time.

use std::time::{Duration, Instant};

use proptest::prelude::*;
use scrieve_notation::Precision;

use super::*;

/// Reads and renders; a table read comes back byte for byte and can be surveyed.
fn survive(bytes: &[u8]) {
    match read(bytes, "boat.offsets") {
        Ok(table) => {
            assert_eq!(table.to_text().as_bytes(), bytes);
            if bytes.len() < 4096 {
                edit(&table);
            }
            match table.survey() {
                Ok((survey, _)) => {
                    assert!(survey.spots.iter().all(|s| [s.x, s.y, s.z, s.sd].iter().all(|n| n.is_finite())));
                    assert!(survey.lines.iter().all(|l| [l.x, l.value, l.sd].iter().all(|n| n.is_finite())));
                }
                Err(mistakes) => assert!(!mistakes.to_string().is_empty()),
            }
        }
        Err(mistakes) => assert!(mistakes.to_string().contains("error")),
    }
}

/// Edits what was read: every edit is a table or an error.
fn edit(table: &Table) {
    let last = table.cells().last().map(|cell| table.describe(cell));
    let (station, row) = last.unwrap_or_default();
    if let Ok(corrected) = table.with_correction(&station, &row, "0-1-1", "a slip") {
        assert_eq!(corrected.corrections.len(), table.corrections.len() + 1);
        assert_eq!(table.cells().count(), corrected.cells().count());
    }
    if let Ok(anew) = table.with_values(|cell| (cell.column % 2 == 0).then_some(0.5), Precision::Eighth) {
        assert_eq!(table.stations, anew.stations);
        assert_eq!(table.facts, anew.facts);
    }
}

proptest! {
    #[test]
    fn any_bytes_are_answered(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        survive(&bytes);
    }

    #[test]
    fn any_text_between_fences_is_answered(head in "\\PC{0,200}", body in "(\\PC|[|\\[\\]#\n]){0,200}") {
        survive(format!("+++\n{head}\n+++\n{body}").as_bytes());
    }

    #[test]
    fn a_file_with_bytes_changed_is_answered(
        changes in proptest::collection::vec((0..SANDLING.len(), any::<u8>()), 1..6),
    ) {
        let mut bytes = SANDLING.as_bytes().to_vec();
        for (at, byte) in changes {
            bytes[at] = byte;
        }
        survive(&bytes);
    }

    #[test]
    fn a_file_with_its_parts_shuffled_is_answered(
        moves in proptest::collection::vec((0..SANDLING.len(), 0..40usize, 0..SANDLING.len()), 1..5),
    ) {
        let mut bytes = SANDLING.as_bytes().to_vec();
        for (from, long, to) in moves {
            let end = (from + long).min(bytes.len());
            let part = bytes.drain(from.min(end)..end).collect::<Vec<_>>();
            let to = to.min(bytes.len());
            bytes.splice(to..to, part);
        }
        survive(&bytes);
    }

    #[test]
    fn a_file_with_digits_misread_is_answered(
        changes in proptest::collection::vec((0usize..400, 0u8..10), 1..12),
    ) {
        let mut bytes = SANDLING.as_bytes().to_vec();
        let digits = (0..bytes.len()).filter(|&i| bytes[i].is_ascii_digit()).collect::<Vec<_>>();
        for (which, digit) in changes {
            bytes[digits[which % digits.len()]] = b'0' + digit;
        }
        survive(&bytes);
    }
}

#[test]
fn a_megabyte_of_anything_takes_a_moment() {
    const MEGABYTE: usize = 1 << 20;
    let head = two_stations("", "");
    let fill = |part: &str| part.repeat(MEGABYTE / part.len());
    let hull = two_stations("", HULL);
    let diagonals = (0..MEGABYTE / 110).map(|i| {
        format!(
            "[diagonal.{i}]\ncentreline_height = \"2-0-0\"\n\
             through = {{ half_breadth = \"2-0-0\", height = \"0-6-0\" }}\n"
        )
    });
    let along = (0..MEGABYTE / 110).map(|i| format!("{i} | 1-0-0 1-0-0\n")).collect::<String>();
    let diagonals = two_stations(&diagonals.collect::<String>(), &format!("{HULL}[diagonals]\n{along}"));
    let rows = (0..MEGABYTE / 30).map(|i| format!("waterline {i}mm | 1-0-0 1-0-0\n")).collect::<String>();
    let points = format!("[points]\nstation | height | half-breadth\n{}", fill("1 | 0-9-0 | 1-2-3\n"));
    let many = (0..MEGABYTE / 8).map(|i| i.to_string()).collect::<Vec<_>>().join(" ");
    for (what, text) in [
        ("one line", fill("+")),
        ("one line of the body", head.clone() + &fill("1-2-3 ")),
        ("rows of nothing", head.clone() + &fill("a\n")),
        ("unknown rows", format!("{head}[heights]\n{}", fill("shear | 1-0-0 1-0-0\n"))),
        ("headings", head.clone() + &fill("[x]\n")),
        ("one row", format!("{head}[heights]\nsheer | {}\n", fill("9-99-9 "))),
        ("rows", hull.clone() + &rows),
        ("points", hull + &points),
        ("diagonals", diagonals),
        ("stations", head.replace("| 1     2", &format!("| {many}"))),
        (
            "keys",
            format!("+++\n{}+++\n", (0..MEGABYTE / 12).map(|i| format!("k{i} = 1\n")).collect::<String>()),
        ),
        ("broken toml", format!("+++\n{}+++\n", fill("k = \n"))),
        ("deep toml", format!("+++\nk = {}\n+++\n", fill("["))),
        ("deep keys", format!("+++\n{}k = 1\n+++\n", fill("k."))),
        ("fences", fill("+++\n")),
        ("comments", fill("# +++\n")),
    ] {
        let start = Instant::now();
        survive(text.as_bytes());
        let took = start.elapsed();
        // A quarter of a second at most on an idle machine; the rest is for a busy one.
        assert!(took < Duration::from_secs(2), "{what}: {took:?}");
        println!("{what}: {took:?}");
    }
}
