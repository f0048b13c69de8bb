//! An edit touches the cell and nothing else; a failed write touches nothing at all.

use proptest::prelude::*;
use scrieve_notation::Precision;

use super::*;
use crate::{Block, EditError};

/// Lines in which two texts differ, as (old, new).
fn changed<'a>(old: &'a str, new: &'a str) -> Vec<(&'a str, &'a str)> {
    assert_eq!(old.lines().count(), new.lines().count());
    old.lines().zip(new.lines()).filter(|(a, b)| a != b).collect()
}

#[test]
fn a_new_reading_changes_its_own_characters_only() {
    let edited = sandling().with_reading("3", "waterline 0-6-0", "1-11-7").expect("a reading");
    assert_eq!(
        changed(SANDLING, edited.to_text()),
        [(
            "waterline 0-6-0    |  0-1-7   1-1-3   2-0-1   1-4-6?  -",
            "waterline 0-6-0    |  0-1-7   1-1-3   1-11-7  1-4-6?  -",
        )]
    );
    let back = edited.with_reading("3", "waterline 0-6-0", "2-0-1").expect("a reading");
    assert_eq!(back.to_text(), SANDLING);
}

#[test]
fn a_longer_reading_takes_no_more_than_the_space_there_is() {
    let table = table(&two_stations("", "[heights]\nsheer | 2-0-0 2-1-0 # high\n"));
    let edited = table.with_reading("1", "sheer", "1-11-7+?").expect("a reading");
    assert!(edited.to_text().contains("sheer | 1-11-7+? 2-1-0 # high"));
    let edited = table.with_reading("2", "sheer", "-").expect("no reading");
    assert!(edited.to_text().contains("sheer | 2-0-0 -     # high"));
}

#[test]
fn profiles_and_points_are_edited_by_the_names_reports_give_them() {
    let table = sandling();
    let edited = table.with_reading("4", "stem profile height", "0-6-4").expect("a reading");
    assert_eq!(
        changed(SANDLING, edited.to_text())[0].1,
        "height             |  2-6-0   1-6-0   0-10-0  0-6-4"
    );
    let edited = table.with_reading("2", "point 1 half-breadth", "1-6-4").expect("a reading");
    assert_eq!(changed(SANDLING, edited.to_text())[0].1, "2       | 0-9-0  | 1-6-4");
}

#[test]
fn what_is_no_reading_or_has_no_cell_is_refused() {
    let table = sandling();
    for (station, row, says) in [
        ("9", "rabbet", "no cell at station 9, row `rabbet`: expected the station to be `1`"),
        (
            "1",
            "sheer",
            "no cell at station 1, row `sheer`: expected \
             the row to be `sheer height` or `sheer half-breadth`",
        ),
        (
            "1",
            "rabbit height",
            "no cell at station 1, row `rabbit height`: expected the row to be `rabbet height`",
        ),
    ] {
        assert_eq!(table.with_reading(station, row, "0-3-0").expect_err(row).to_string(), says);
    }
    for text in ["0-13-0", "0-3-0 | 0-4-0", "0-3-0\n[points]", "0-3-0 # low", "soft"] {
        let error = table.with_reading("1", "rabbet", text).expect_err(text);
        assert!(matches!(error, EditError::Reading { .. }), "{error}");
    }
    let error = table.with_reading("1", "sheer half-breadth", "-1-0-4").expect_err("negative");
    assert!(matches!(error, EditError::Mistakes(_)), "{error}");
}

#[test]
fn a_correction_keeps_the_old_reading_and_the_reason() {
    let first =
        sandling().with_correction("4", "waterline 0-6-0", "1-5-6", "5 misread\n for 4").expect("a reading");
    let second =
        first.with_correction("1", "rabbet", "0-5-3", "as on the model; see # 7").expect("a reading");
    assert_eq!(
        second.corrections,
        [
            "station 4 | waterline 0-6-0 | was 1-4-6? | now 1-5-6 | 5 misread for 4",
            "station 1 | rabbet height | was 0-5-2 | now 0-5-3 | as on the model; see # 7",
        ]
    );
    assert!(second.to_text().ends_with("see # 7\n"));
    assert_eq!(table(second.to_text()), second);
}

#[test]
fn a_correction_makes_its_block_in_the_files_own_line_ends() {
    let text = two_stations("", HULL).replace('\n', "\r\n");
    let corrected = table(text.trim_end()).with_correction("2", "rabbet", "0-3-1", "").expect("a reading");
    let added = "\r\n\r\n[corrections]\r\nstation 2 | rabbet height | was 0-3-0 | now 0-3-1 |\r\n";
    assert!(corrected.to_text().ends_with(added), "{:?}", corrected.to_text());
}

#[test]
fn readings_written_anew_from_the_survey_are_the_same_readings() {
    for facts in
        ["", "scale = \"3/4 in = 1 ft\"\n[shrinkage]\nlength = 1.01\nbreadth = 1.05\nheight = 1.04\n"]
    {
        let text = SANDLING.replace(
            "scale = \"1:1\"\n",
            if facts.is_empty() { "scale = \"1:1\"\n" } else { "scale = \"1:16\"\n" },
        );
        let text = match facts.split_once('\n') {
            Some((_, shrinkage)) => text.replace("[backbone]", &format!("{shrinkage}\n[backbone]")),
            None => text,
        };
        // The planking is full size and would be thicker than the model.
        let table = table(&text);
        let (survey, _) = table.survey().expect("a hull");
        let value = |cell| {
            let line = survey.lines.iter().find(|l| l.cell == cell).map(|l| l.value);
            let spot = survey.spots.iter().find(|s| s.cell == cell && s.along != (0.0, 0.0));
            let along = spot.map(|s| {
                // A diagonal is measured from its point on the centreline.
                let start =
                    if cell.block == Block::Diagonals { 0.6096 * table.facts.factors().2 } else { 0.0 };
                s.y * s.along.0 + (s.z - start) * s.along.1
            });
            line.or(along)
        };
        let anew = table.with_values(value, Precision::Sixteenth).expect("readings");
        assert_eq!(anew.to_text(), text);
    }
}

#[test]
fn decimal_readings_are_written_to_the_tenth_of_a_millimetre() {
    let text = two_stations("", HULL).replace("feet-inches-eighths", "mm");
    let text = text.replace("1-0-0 5-0-0", "300 1500").replace("2-0-0 2-0-0", "600 610!");
    let text = text.replace("0-3-0 0-3-0", "75 75").replace("1-0-0 1-6-0", "300 450");
    let anew = table(&text).with_values(|cell| (cell.row == 0).then_some(0.60012345), Precision::Sixteenth);
    assert!(anew.expect("readings").to_text().contains("sheer | 600.1 600.1!\n"));
}

#[test]
fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
    let folder = std::env::temp_dir().join(format!("scrieve-write-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let path = folder.join("sandling.offsets");
    std::fs::write(&path, "an older file").expect("written");
    sandling().write(&path).expect("written");
    assert_eq!(std::fs::read_to_string(&path).expect("a file"), SANDLING);
    assert_eq!(Table::open(&path).expect("a table"), sandling());

    // A folder of that name cannot be replaced by a file.
    let taken = folder.join("taken");
    std::fs::create_dir_all(taken.join("kept")).expect("a folder");
    assert!(sandling().write(&taken).is_err());
    assert!(taken.join("kept").is_dir());
    let mut names = std::fs::read_dir(&folder)
        .expect("a folder")
        .map(|e| e.expect("an entry").file_name())
        .collect::<Vec<_>>();
    names.sort();
    assert_eq!(names, ["sandling.offsets", "taken"]);
    std::fs::remove_dir_all(&folder).expect("removed");
}

proptest! {
    #[test]
    fn any_reading_goes_into_any_cell_and_comes_out_again(
        cell in 0usize..45, feet in 0i64..9, inches in 0i64..12, eighths in 0i64..8,
    ) {
        let table = sandling();
        let cell = table.cells().nth(cell).expect("forty-five cells");
        let written = format!("{feet}-{inches}-{eighths}");
        let (station, row) = table.describe(cell);
        // Rows of heights may end up exchanged, which is a mistake; all else goes in.
        if let Ok(edited) = table.with_reading(&station, &row, &written) {
            prop_assert_eq!(edited.cell(cell).map(|r| r.length), Some(length(feet, inches, eighths)));
            let others = table.cells().filter(|&other| other != cell);
            for other in others {
                prop_assert_eq!(edited.cell(other), table.cell(other));
            }
        }
    }
}
