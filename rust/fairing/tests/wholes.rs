//! Slips of the whole: a row or column that is all wrong in one way is one slip, named, and put right when asked.

use scrieve_fairing::{Options, Proof, WholeSlip, proof_whole};
use scrieve_offsets::{Table, Written, read};
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

fn text(family: Family, stations: usize) -> String {
    let hull = Known::new(family, 702);
    hull.table_text(&hull.layout(stations), Place::Eighth, "Known")
}

fn table(text: &str) -> Table {
    read(text.as_bytes(), "known.offsets").expect("a table")
}

fn proof(table: &Table) -> Proof {
    proof_whole(table, &Options::default()).expect("a proof")
}

/// The text with the cells of its rows as `of` leaves them.
fn with_rows(text: &str, of: impl Fn(&str, &mut Vec<String>)) -> String {
    let line = |line: &str| match line.split_once('|') {
        Some((label, cells)) if !line.starts_with("station") && !line.starts_with("from stem") => {
            let mut cells: Vec<String> = cells.split_whitespace().map(str::to_string).collect();
            of(label.trim(), &mut cells);
            format!("{label}| {}\n", cells.join(" "))
        }
        _ => format!("{line}\n"),
    };
    text.lines().map(line).collect()
}

/// The one slip found, with nothing left to query besides.
fn only(slipped: &str, clean: &str) -> (WholeSlip, Table, usize) {
    let proof = proof(&table(slipped));
    let said: Vec<&str> = proof.slips.iter().map(|s| s.text.as_str()).collect();
    assert_eq!(said.len(), 1, "{said:?}");
    let left: Vec<_> = proof.findings.iter().filter(|f| f.explained_by.is_none()).collect();
    assert!(left.is_empty(), "{left:?}");
    let slip = &proof.slips[0];
    for clean in &table(clean).rows {
        let put_right = slip.table.rows.iter().find(|r| r.line == clean.line && r.block == clean.block);
        let put_right = put_right.expect("every row under its own label");
        for (a, b) in clean.cells.iter().zip(&put_right.cells) {
            // What the slip lost stays lost.
            assert!(
                b.is_none() || a.as_ref().map(|r| r.length) == b.as_ref().map(|r| r.length),
                "{}",
                slip.text
            );
        }
    }
    (slip.slip.clone(), slip.table.clone(), proof.findings.len())
}

#[test]
fn a_waterline_under_another_heading_is_one_slip_and_not_nine() {
    let clean = text(Family::RoundBilge, 9);
    let label =
        table(&clean).rows.iter().find(|r| r.label.starts_with("waterline")).expect("one").label.clone();
    let wrong = format!("{label:<22}|").replacen(&label, "waterline 1-3-0", 1);
    let slipped = clean.replacen(&format!("{label:<22}|"), &wrong, 1);
    let (slip, put_right, queries) = only(&slipped, &clean);
    assert!(matches!(slip, WholeSlip::Heading { .. }), "{slip:?}");
    assert!(queries > 3, "{queries} folded under it");
    // One label is rewritten, and where it stands is told.
    let given = table(&slipped);
    let edits = slip.edits(&given).expect("edits");
    assert_eq!(edits.len(), 1);
    let (_, line, column) = given.place(edits[0].0).expect("a place");
    assert_eq!(column, 1);
    assert!(given.to_text().lines().nth(line - 1).expect("a line").starts_with("waterline 1-3-0"));
    assert_eq!(put_right.written_at(edits[0].0), Some(label.as_str()));
    assert_eq!(given.to_text(), slipped);
}

#[test]
fn a_row_shifted_by_a_station_is_told() {
    let clean = text(Family::RakedTransom, 8);
    let row = clean.lines().find(|l| l.starts_with("waterline 1-")).expect("a row");
    let own = row.split('|').next().expect("a label").trim();
    let slipped = with_rows(&clean, |label, cells| {
        if label == own {
            cells.insert(0, "-".to_string());
            cells.pop();
        }
    });
    let (slip, ..) = only(&slipped, &clean);
    assert!(matches!(slip, WholeSlip::RowShifted { aft: true, .. }), "{slip:?}");
}

#[test]
fn two_stations_exchanged_and_an_after_body_reversed_are_told() {
    let clean = text(Family::DoubleEnder, 10);
    let slipped = with_rows(&clean, |_, cells| {
        if cells.len() == 10 {
            cells.swap(3, 4);
        }
    });
    assert_eq!(only(&slipped, &clean).0, WholeSlip::ColumnsExchanged(3, 4));
    let slipped = with_rows(&clean, |_, cells| {
        if cells.len() == 10 {
            cells[5..].reverse();
        }
    });
    assert_eq!(only(&slipped, &clean).0, WholeSlip::Reversed { first: 5, last: 9 });
}

#[test]
fn half_breadths_from_the_side_of_the_keel_are_told() {
    let clean = text(Family::RoundBilge, 9);
    let sound = table(&clean);
    let siding = sound.facts.half_siding.expect("a half-siding");
    let row = sound.rows.iter().position(|r| r.label.starts_with("waterline 1-")).expect("a row");
    let mut edits = Vec::new();
    for (column, reading) in sound.rows[row].cells.iter().enumerate() {
        let Some(reading) = reading else { continue };
        let cell = scrieve_offsets::CellId { block: sound.rows[row].block, row, column };
        let less = reading.length.checked_sub(siding).expect("a length");
        edits.push((
            Written::Cell(cell),
            sound.facts.dialect.write(less, scrieve_notation::Precision::Eighth),
        ));
    }
    let slipped = sound.with_written(&edits).expect("a table");
    let (slip, ..) = only(slipped.to_text(), &clean);
    assert_eq!(slip, WholeSlip::Datum { rows: vec![row], by: siding, down: false });
}

/// A hull's table with its sheer heights a station too far aft or forward.
fn sheer_shifted(clean: &str, aft: bool) -> String {
    let seen = std::cell::Cell::new(false);
    with_rows(clean, |label, cells| {
        // Heights come first.
        if label == "sheer" && !seen.replace(true) {
            if aft {
                cells.insert(0, "-".to_string());
                cells.pop();
            } else {
                cells.remove(0);
                cells.push("-".to_string());
            }
        }
    })
}

#[test]
fn sheer_heights_a_station_off_are_told_by_the_blank_they_leave() {
    // Heights of a sheer run so straight that the rest of the boat hardly minds.
    for (family, stations, aft) in [
        (Family::FirmBilge, 12, true),
        (Family::RakedTransom, 7, true),
        (Family::RoundBilge, 8, true),
        (Family::RakedTransom, 7, false),
    ] {
        let hull = Known::new(family, 4101);
        let clean = hull.table_text(&hull.layout(stations), Place::Eighth, "Known");
        let (slip, ..) = only(&sheer_shifted(&clean, aft), &clean);
        assert!(matches!(slip, WholeSlip::RowShifted { aft: way, .. } if way == aft), "{family:?}: {slip:?}");
    }
}

#[test]
fn a_blank_at_the_end_of_a_sound_sheer_is_no_slip_and_what_it_leaves_open_is_said() {
    let said = |family: Family, stations: usize| {
        let hull = Known::new(family, 4101);
        let clean = hull.table_text(&hull.layout(stations), Place::Eighth, "Known");
        let seen = std::cell::Cell::new(false);
        let blank = with_rows(&clean, |label, cells| {
            if label == "sheer" && !seen.replace(true) {
                cells[0] = "-".to_string();
            }
        });
        let proof = proof(&table(&blank));
        assert!(proof.slips.is_empty() && proof.findings.is_empty(), "{family:?}: {:?}", proof.slips);
        let open = "sheer height, blank at station 1 where its other row is read";
        proof.not_judged.iter().filter(|said| said.starts_with(open)).count()
    };
    // Where her shape tells that it is not shifted there is nothing to say.
    assert_eq!(said(Family::DoubleEnder, 10), 0);
    assert_eq!(said(Family::Tumblehome, 11), 1);
}

#[test]
fn of_two_units_that_come_to_about_the_same_neither_is_put_right() {
    // A keel a foot wide for an inch leaves no side to her: no misplaced decimal, there is none in feet, inches and eighths.
    let boat = AsBuilt::new(Kind::WideKeel, 5701);
    let clean = boat.table_text(&boat.taking(9), Place::Eighth, "Known");
    let seen = std::cell::Cell::new(0);
    let slipped = with_rows(&clean, |label, cells| {
        if label == "rabbet" && seen.replace(seen.get() + 1) == 1 {
            cells.iter_mut().for_each(|cell| {
                if let Some(inches) = cell.strip_prefix("0-") {
                    *cell = format!("{inches}-0");
                }
            });
        }
    });
    // Inches and eighths, as feet and inches; a twelfth of that is an eighth of an inch off.
    let slips = proof(&table(&slipped)).slips;
    let said: Vec<_> = slips.iter().map(|s| (&s.text, &s.unsure)).collect();
    assert!(matches!(said[..], [(_, Some(_))]), "{said:?}");
    for unit in ["inches, read as feet", "inches and eighths, read as feet and inches"] {
        let is_named = |s: &(&String, &Option<String>)| {
            s.0.contains(unit) || s.1.as_ref().is_some_and(|why| why.contains(unit))
        };
        assert!(said.iter().any(is_named), "{said:?}");
    }
}

#[test]
fn a_space_unlike_all_others_that_no_reading_tells_is_said() {
    // Half a foot too little, and all abaft it that much too far forward: it was silent.
    let hull = Known::new(Family::RakedTransom, 4101);
    let clean = hull.table_text(&hull.layout(7), Place::Eighth, "Known");
    let open = "the space between stations 4 and 5, unlike all others";
    let is_said = |text: &str| {
        let proof = proof(&table(text));
        proof.slips.is_empty() && proof.not_judged.iter().any(|said| said.starts_with(open))
    };
    assert!(!is_said(&clean));
    let sound = table(&clean);
    let mut edits = Vec::new();
    for column in 4..sound.stations.len() {
        let Some(reading) = sound.stations[column].from_stem.as_ref() else { continue };
        let less =
            scrieve_notation::Length::EIGHTH.checked_mul(48).and_then(|l| reading.length.checked_sub(l));
        let cell = scrieve_offsets::CellId { block: scrieve_offsets::Block::Stations, row: 0, column };
        let text = sound.facts.dialect.write(less.expect("a length"), scrieve_notation::Precision::Eighth);
        edits.push((Written::Cell(cell), text));
    }
    assert!(is_said(sound.with_written(&edits).expect("a table").to_text()));
}

#[test]
fn a_station_measured_too_great_in_every_block_is_one_slip() {
    let hull = Known::new(Family::DoubleEnder, 4101);
    let clean = hull.table_text(&hull.layout(10), Place::Eighth, "Known");
    let sound = table(&clean);
    let mut edits = Vec::new();
    for (row, r) in sound.rows.iter().enumerate() {
        let Some(reading) = r.cells.get(2).and_then(Option::as_ref) else { continue };
        let cell = scrieve_offsets::CellId { block: r.block, row, column: 2 };
        let more = reading
            .length
            .checked_add(scrieve_notation::Length::EIGHTH.checked_mul(4).expect("half an inch"));
        let text = sound.facts.dialect.write(more.expect("a length"), scrieve_notation::Precision::Eighth);
        edits.push((Written::Cell(cell), text));
    }
    let slipped = sound.with_written(&edits).expect("a table");
    let (slip, _, queries) = only(slipped.to_text(), &clean);
    assert!(matches!(slip, WholeSlip::ColumnDatum { block: None, column: 2, .. }), "{slip:?}");
    assert!(queries > 4, "{queries} folded under it");
}

#[test]
fn sound_tables_and_single_slips_have_none() {
    for family in Family::ALL {
        let sound = table(&text(family, 9));
        // What no reading tells again is said of sound tables too, and is no finding.
        let found = Proof { not_judged: Vec::new(), ..proof(&sound) };
        assert_eq!(found, Proof::default(), "{family:?}");
        let (copy, _) = scrieve_yardstick::copyist::Copyist::new(family as u64).copy(&sound, 2);
        let slips = proof(&copy).slips;
        assert!(slips.is_empty(), "{family:?}: {slips:?}");
    }
}

/// The first label under half-breadths that is a waterline above a foot.
fn a_waterline(text: &str) -> String {
    let row = text.lines().find(|l| l.starts_with("waterline 1-")).expect("a row");
    row.split('|').next().expect("a label").trim().to_string()
}

#[test]
fn a_row_from_a_round_datum_is_put_right_by_that() {
    let clean = text(Family::RoundBilge, 9);
    let own = a_waterline(&clean);
    // Half-breadths taken from a batten half a foot beyond the centreline.
    let slipped = with_rows(&clean, |label, cells| {
        if label == own {
            for cell in cells.iter_mut().filter(|c| *c != "-") {
                let parts: Vec<i64> = cell.split('-').map(|p| p.parse().expect("a part")).collect();
                let eighths = (parts[0] * 12 + parts[1] + 6) * 8 + parts[2];
                *cell = format!("{}-{}-{}", eighths / 96, eighths / 8 % 12, eighths % 8);
            }
        }
    });
    let (slip, ..) = only(&slipped, &clean);
    let by = match slip {
        WholeSlip::Datum { by, down: false, .. } => Some(by),
        _ => None,
    };
    let by = by.expect("a datum");
    assert_eq!(by, -scrieve_notation::Length::INCH.checked_mul(6).expect("half a foot"));
    let said = &proof(&table(&slipped)).slips[0];
    assert!(
        said.within.is_none() && said.text.contains("0-6-0") && !said.text.contains("about"),
        "{}",
        said.text
    );
}

#[test]
fn a_value_left_out_part_way_along_a_row_erases_no_sound_reading() {
    let clean = text(Family::RakedTransom, 10);
    let own = a_waterline(&clean);
    for doubled in [false, true] {
        let slipped = with_rows(&clean, |label, cells| {
            if label == own && doubled {
                cells.insert(4, cells[3].clone());
                cells.pop();
            } else if label == own {
                cells.remove(4);
                cells.push("-".to_string());
            }
        });
        let (slip, put_right, _) = only(&slipped, &clean);
        let is_it = matches!(slip, WholeSlip::RowShifted { aft, first: 4, .. } if aft == doubled);
        assert!(is_it, "{slip:?}");
        let text = &proof(&table(&slipped)).slips[0].text;
        assert!(text.contains("from station") && text.contains(" on stand"), "{text}");
        let given = table(&slipped);
        let values = |t: &Table| {
            let row = t.rows.iter().find(|r| r.label == own).expect("the row");
            let mut all: Vec<_> = row.cells.iter().flatten().map(|r| r.length).collect();
            all.sort();
            all.dedup();
            all
        };
        assert_eq!(values(&given), values(&put_right));
    }
}

#[test]
fn stations_exchanged_over_one_between_are_so_called() {
    let clean = text(Family::DoubleEnder, 10);
    let slipped = with_rows(&clean, |_, cells| {
        if cells.len() == 10 {
            cells.swap(3, 5);
        }
    });
    assert_eq!(only(&slipped, &clean).0, WholeSlip::ColumnsExchanged(3, 5));
}

#[test]
fn a_shrunk_plan_is_told_by_its_scale_or_about() {
    let clean = text(Family::RoundBilge, 11);
    let drawn = |factor: f64| {
        let mut of_breadths = false;
        let line = |line: &str| {
            if line.starts_with('[') {
                of_breadths = line.starts_with("[half-breadths]");
            }
            let Some((label, cells)) = line.split_once('|').filter(|_| of_breadths) else {
                return format!("{line}\n");
            };
            let cell = |cell: &str| {
                let parts: Option<Vec<f64>> = cell.split('-').map(|p| p.parse().ok()).collect();
                let Some(parts) = parts.filter(|p| p.len() == 3) else { return cell.to_string() };
                let eighths = (((parts[0] * 12.0 + parts[1]) * 8.0 + parts[2]) * factor).round() as i64;
                format!("{}-{}-{}", eighths / 96, eighths / 8 % 12, eighths % 8)
            };
            format!("{label}| {}\n", cells.split_whitespace().map(cell).collect::<Vec<_>>().join(" "))
        };
        clean.lines().map(line).collect::<String>()
    };
    let found = proof(&table(&drawn(11.0 / 12.0))).slips;
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].text.contains("11/12"), "{}", found[0].text);
    // Paper shrinks by what it likes.
    let found = proof(&table(&drawn(0.973))).slips;
    assert_eq!(found.len(), 1, "{found:?}");
    let factor = match found[0].slip {
        WholeSlip::Shrunk { factor, .. } => Some(factor),
        _ => None,
    };
    let factor = factor.expect("a scale");
    let within = found[0].within.expect("only about");
    assert!(found[0].text.contains("about"), "{}", found[0].text);
    assert!((factor * 0.973 - 1.0).abs() < within + 1e-3, "{factor} give or take {within}");
}

#[test]
fn among_very_many_stations_two_exchanged_are_found() {
    let clean = text(Family::DoubleEnder, 120);
    let slipped = with_rows(&clean, |_, cells| {
        if cells.len() == 120 {
            cells.swap(30, 36);
        }
    });
    let slips = proof(&table(&slipped)).slips;
    let found: Vec<&WholeSlip> = slips.iter().map(|s| &s.slip).collect();
    assert_eq!(found, [&WholeSlip::ColumnsExchanged(30, 36)]);
}

/// Feet, inches and eighths, as eighths become others.
fn eighths(cell: &str, of: impl Fn(i64) -> i64) -> String {
    let parts: Vec<i64> = cell.split('-').filter_map(|p| p.parse().ok()).collect();
    let [feet, inches, eighths] = parts[..] else { return cell.to_string() };
    let now = of((feet * 12 + inches) * 8 + eighths);
    format!("{}-{}-{}", now / 96, now / 8 % 12, now % 8)
}

/// The text with rows of one block as `of` leaves them.
fn with_block(text: &str, block: &str, label: &str, of: impl Fn(i64) -> i64) -> String {
    let mut within = false;
    let line = |line: &str| {
        if line.starts_with('[') {
            within = line == block;
        }
        match line.split_once('|').filter(|(own, _)| within && own.trim() == label) {
            Some((own, cells)) => {
                let cells: Vec<String> = cells.split_whitespace().map(|c| eighths(c, &of)).collect();
                format!("{own}| {}\n", cells.join(" "))
            }
            None => format!("{line}\n"),
        }
    };
    text.lines().map(line).collect()
}

#[test]
fn two_rows_exchanged_from_a_station_on_are_put_right_there_only() {
    let clean = text(Family::RoundBilge, 11);
    let sound = table(&clean);
    let of: Vec<usize> =
        (0..sound.rows.len()).filter(|&r| sound.rows[r].label.starts_with("waterline 1-")).collect();
    let (a, b) = (of[0], of[0] + 1);
    let mut edits = Vec::new();
    for column in 5..sound.stations.len() {
        for (row, other) in [(a, b), (b, a)] {
            let cell = |row: usize| {
                Written::Cell(scrieve_offsets::CellId { block: sound.rows[row].block, row, column })
            };
            let there = sound.written_at(cell(other)).unwrap_or("-").to_owned();
            edits.push((cell(row), there));
        }
    }
    let slipped = sound.with_written(&edits).expect("a table");
    let (slip, ..) = only(slipped.to_text(), &clean);
    assert!(
        matches!(slip, WholeSlip::RowsExchangedBetween { rows, first: 5, .. } if rows == (a, b)),
        "{slip:?}"
    );
}

#[test]
fn a_row_of_whole_breadths_is_halved() {
    let clean = text(Family::DoubleEnder, 9);
    let slipped = with_block(&clean, "[half-breadths]", &a_waterline(&clean), |e| 2 * e);
    let (slip, ..) = only(&slipped, &clean);
    assert!(matches!(slip, WholeSlip::Unit { unit: scrieve_fairing::Mistaken::WHOLE, .. }), "{slip:?}");
}

#[test]
fn a_sheer_of_whole_breadths_is_named_and_left_alone() {
    for family in Family::ALL {
        let clean = text(family, 9);
        let slipped = table(&with_block(&clean, "[half-breadths]", "sheer", |e| 2 * e));
        let proof = proof(&slipped);
        assert_eq!(proof.slips.len(), 1, "{family:?}: {:?}", proof.slips);
        let slip = &proof.slips[0];
        assert!(slip.unsure.is_some() && slip.edits.is_empty() && slip.table == slipped, "{slip:?}");
        assert!(slip.text.contains("whole breadths"), "{}", slip.text);
    }
}

#[test]
fn a_low_sheer_is_never_put_at_another_false_height() {
    let clean = text(Family::RoundBilge, 11);
    let sound = table(&clean);
    for by in [24, 32, 48] {
        let slipped = table(&with_block(&clean, "[heights]", "sheer", |e| e - by));
        for slip in proof(&slipped).slips.iter().filter(|s| s.unsure.is_none()) {
            assert_eq!(slip.table.rows, sound.rows, "{by}: {}", slip.text);
        }
    }
}

#[test]
fn a_sheer_too_high_is_told_by_the_heads_and_put_right_by_the_transoms() {
    let clean = text(Family::RakedTransom, 9);
    let slipped = with_block(&clean, "[heights]", "sheer", |e| e + 96);
    let (slip, ..) = only(&slipped, &clean);
    assert!(matches!(slip, WholeSlip::Datum { by, .. } if by == -scrieve_notation::Length::FOOT), "{slip:?}");
    // Without a transom the stem and the sternpost tell it only about.
    let clean = text(Family::DoubleEnder, 9);
    let found = proof(&table(&with_block(&clean, "[heights]", "sheer", |e| e + 96))).slips;
    assert_eq!(found.len(), 1, "{found:?}");
    let named = matches!(found[0].slip, WholeSlip::Datum { .. });
    let right = found[0].unsure.is_some() || found[0].table.rows == table(&clean).rows;
    assert!(named && right, "{found:?}");
}

#[test]
fn a_sheer_too_broad_is_named_or_said_to_be_unjudged_and_never_silent() {
    let (mut named, mut silents) = (0, 0);
    for family in Family::ALL {
        let clean = text(family, 9);
        for of in [|e: i64| e + 96, |e: i64| e * 5 / 4] {
            let proof = proof(&table(&with_block(&clean, "[half-breadths]", "sheer", of)));
            let row = |s: &WholeSlip| {
                matches!(s, WholeSlip::Datum { .. } | WholeSlip::Unit { .. } | WholeSlip::FarOut { .. })
            };
            let slips = proof.slips.iter().filter(|s| row(&s.slip) && s.unsure.is_some());
            let said = slips.count();
            assert_eq!(said, proof.slips.len(), "{family:?}: {:?}", proof.slips);
            let unjudged = proof.not_judged.iter().filter(|line| line.contains("the sheer as a whole"));
            let silent = said + unjudged.count() == 0 && proof.findings.is_empty();
            assert!(!silent || of(96) == 120, "{family:?} a foot out is silent");
            named += said;
            silents += usize::from(silent);
        }
    }
    assert!(named >= Family::ALL.len() / 2, "{named}");
    // A quarter broader is another fair boat: of a few of those nothing is said.
    assert!(silents <= 2, "{silents}");
}

#[test]
fn one_space_misread_moves_all_abaft_it_and_is_one_slip() {
    let clean = text(Family::FlaredBow, 10);
    let line = clean.lines().find(|l| l.starts_with("from stem")).expect("distances").to_string();
    let (label, cells) = line.split_once('|').expect("cells");
    let cells: Vec<&str> = cells.split_whitespace().collect();
    let spaced = |by: i64| {
        let of = |(i, cell): (usize, &&str)| if i < 5 { cell.to_string() } else { eighths(cell, |e| e + by) };
        let cells: Vec<String> = cells.iter().enumerate().map(of).collect();
        clean.replace(&line, &format!("{label}| {}", cells.join(" ")))
    };
    let slips = proof(&table(&spaced(96))).slips;
    assert_eq!(slips.len(), 1, "{slips:?}");
    assert!(matches!(slips[0].slip, WholeSlip::Gap { column: 5, .. }), "{slips:?}");
    let distances =
        |t: &Table| -> Vec<_> { t.stations.iter().map(|s| s.from_stem.as_ref().map(|r| r.length)).collect() };
    let right = distances(&slips[0].table) == distances(&table(&clean));
    assert!(slips[0].unsure.is_some() || right, "{slips:?}");
}

#[test]
fn half_breadths_of_two_stations_exchanged_are_one_slip() {
    let clean = text(Family::DoubleEnder, 10);
    let mut within = false;
    let line = |line: &str| {
        if line.starts_with('[') {
            within = line == "[half-breadths]";
        }
        let Some((label, cells)) = line.split_once('|').filter(|_| within) else {
            return format!("{line}\n");
        };
        let mut cells: Vec<&str> = cells.split_whitespace().collect();
        cells.swap(2, 3);
        format!("{label}| {}\n", cells.join(" "))
    };
    let slipped: String = clean.lines().map(line).collect();
    let (slip, ..) = only(&slipped, &clean);
    assert!(matches!(slip, WholeSlip::ColumnsExchangedIn { columns: (2, 3), .. }), "{slip:?}");
}

#[test]
fn heights_of_a_station_up_as_one_are_one_slip() {
    let clean = text(Family::RoundBilge, 9);
    let mut within = false;
    let line = |line: &str| {
        if line.starts_with('[') {
            within = line == "[heights]";
        }
        let Some((label, cells)) = line.split_once('|').filter(|_| within) else {
            return format!("{line}\n");
        };
        let of = |(i, cell): (usize, &str)| if i == 4 { eighths(cell, |e| e + 16) } else { cell.to_string() };
        let cells: Vec<String> = cells.split_whitespace().enumerate().map(of).collect();
        format!("{label}| {}\n", cells.join(" "))
    };
    let slipped: String = clean.lines().map(line).collect();
    let (slip, ..) = only(&slipped, &clean);
    assert!(matches!(slip, WholeSlip::ColumnDatum { column: 4, .. }), "{slip:?}");
}

#[test]
fn a_diagonal_two_inches_in_is_one_slip() {
    let clean = text(Family::RoundBilge, 9);
    let slipped = with_block(&clean, "[diagonals]", "A", |e| e - 16);
    let slips = proof(&table(&slipped)).slips;
    assert_eq!(slips.len(), 1, "{slips:?}");
    let found = &slips[0];
    assert!(
        matches!(found.slip, WholeSlip::Datum { by, .. } if by == scrieve_notation::Length::INCH.checked_mul(2).expect("two")),
        "{found:?}"
    );
}

/// The text with the height of a profile's first spot, or of a diagonal on the centreline, changed by eighths.
fn with_head(text: &str, block: &str, by: i64) -> String {
    let mut within = false;
    let line = |line: &str| {
        if line.starts_with('[') {
            within = line == block;
        }
        match line.split_once('|').filter(|(own, _)| within && own.trim() == "height") {
            Some((own, cells)) => {
                let of = |(i, c): (usize, &str)| if i == 0 { eighths(c, |e| e + by) } else { c.to_string() };
                let cells: Vec<String> = cells.split_whitespace().enumerate().map(of).collect();
                format!("{own}| {}\n", cells.join(" "))
            }
            None => format!("{line}\n"),
        }
    };
    text.lines().map(line).collect()
}

#[test]
fn a_stem_head_a_foot_high_is_a_slip_of_the_head_and_not_of_the_sheer() {
    for family in [Family::RoundBilge, Family::RakedTransom, Family::DoubleEnder, Family::FlaredBow] {
        let clean = text(family, 9);
        let proof = proof(&table(&with_head(&clean, "[stem profile]", 96)));
        let said: Vec<&str> = proof.slips.iter().map(|s| s.text.as_str()).collect();
        assert!(said.is_empty(), "{family:?}: {said:?}");
        let cells: Vec<_> = proof.findings.iter().map(|f| f.query.cell).collect();
        let of_stem =
            |c: &scrieve_offsets::CellId| c.block == scrieve_offsets::Block::StemProfile && c.column == 0;
        assert!(!cells.is_empty() && cells.iter().all(of_stem), "{family:?}: {cells:?}");
    }
}

#[test]
fn a_diagonal_from_another_height_is_one_slip_and_put_right_where_it_is_told() {
    for (family, name) in [(Family::RoundBilge, "A"), (Family::DoubleEnder, "B")] {
        let clean = text(family, 9);
        let head = format!("[diagonal.{name}]\ncentreline_height = \"");
        let start = clean.find(&head).expect("a diagonal") + head.len();
        let end = start + clean[start..].find('"').expect("its end");
        let wrong = eighths(&clean[start..end], |e| e + 8);
        let slipped = format!("{}{wrong}{}", &clean[..start], &clean[end..]);
        let (slip, put_right, queries) = only(&slipped, &clean);
        assert!(matches!(slip, WholeSlip::Diagonal { .. }), "{family:?}: {slip:?}");
        assert!(queries > 3, "{queries} folded under it");
        assert_eq!(put_right.to_text(), clean);
    }
}

#[test]
fn a_station_half_an_inch_out_in_one_block_is_one_slip() {
    for (block, family) in [("[heights]", Family::RakedTransom), ("[half-breadths]", Family::DoubleEnder)] {
        let clean = text(family, 9);
        let mut within = false;
        let line = |line: &str| {
            if line.starts_with('[') {
                within = line == block;
            }
            let Some((label, cells)) = line.split_once('|').filter(|_| within) else {
                return format!("{line}\n");
            };
            let of = |(i, c): (usize, &str)| {
                if i == 3 && c != "-" { eighths(c, |e| e + 4) } else { c.to_string() }
            };
            let cells: Vec<String> = cells.split_whitespace().enumerate().map(of).collect();
            format!("{label}| {}\n", cells.join(" "))
        };
        let slipped: String = clean.lines().map(line).collect();
        let (slip, _, queries) = only(&slipped, &clean);
        assert!(matches!(slip, WholeSlip::ColumnDatum { column: 3, .. }), "{slip:?}");
        assert!(queries > 2, "{queries}");
    }
}

#[test]
fn one_repair_told_two_ways_is_put_right() {
    // Where the buttocks begin at the same station, exchanged from there on is exchanged all along.
    let hull = Known::new(Family::FlaredBow, 814);
    let clean = hull.table_text(&hull.layout(11), Place::Eighth, "Known");
    let sound = table(&clean);
    let rows: Vec<usize> =
        (0..sound.rows.len()).filter(|&r| sound.rows[r].label.starts_with("buttock")).take(2).collect();
    let label = |row: usize| sound.written_at(Written::Label(row)).expect("a label").to_owned();
    let edits = [(Written::Label(rows[0]), label(rows[1])), (Written::Label(rows[1]), label(rows[0]))];
    let slipped = sound.with_written(&edits).expect("a table");
    let found = proof(&slipped).slips;
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].unsure.is_none() && matches!(found[0].slip, WholeSlip::RowsExchanged(..)), "{found:?}");
}

/// The table in decimal feet, one row of it in metres.
fn in_feet(text: &str, metric: &str) -> String {
    // Metres are read to the millimetre, feet to the hundredth.
    let feet = |cell: &str, factor: f64| {
        let parts: Option<Vec<f64>> = cell.split('-').map(|p| p.parse().ok()).collect();
        match parts.as_deref() {
            Some([f, i, e]) if factor < 1.0 => format!("{:.3}", factor * (f + i / 12.0 + e / 96.0)),
            Some([f, i, e]) => format!("{:.2}", f + i / 12.0 + e / 96.0),
            _ => cell.to_string(),
        }
    };
    let line = |line: &str| match line.split_once('|') {
        Some((label, cells)) if !line.starts_with("station") => {
            let label: Vec<String> = label.split_whitespace().map(|w| feet(w, 1.0)).collect();
            let label = label.join(" ");
            let factor = if label == metric { 0.3048 } else { 1.0 };
            let cells: Vec<String> = cells.split_whitespace().map(|c| feet(c, factor)).collect();
            format!("{label} | {}\n", cells.join(" "))
        }
        Some(_) => format!("{line}\n"),
        None => {
            let parts: Vec<String> = line
                .split('"')
                .enumerate()
                .map(|(i, p)| if i % 2 == 1 { feet(p, 1.0) } else { p.to_string() })
                .collect();
            format!("{}\n", parts.join("\"").replace("feet-inches-eighths", "ft"))
        }
    };
    text.lines().map(line).collect()
}

#[test]
fn a_row_of_metres_among_decimal_feet_is_told_and_keeps_its_figures() {
    let clean = in_feet(&text(Family::RoundBilge, 9), "");
    let label = clean.lines().filter(|l| l.starts_with("waterline")).nth(2).expect("a waterline");
    let own = label.split('|').next().expect("a label").trim().to_string();
    let slipped = in_feet(&text(Family::RoundBilge, 9), &own);
    let found = proof(&table(&slipped)).slips;
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].text.contains("metres, read as feet"), "{}", found[0].text);
    assert!(
        found[0].unsure.is_none() && found[0].edits.iter().all(|(_, new)| new.ends_with('m')),
        "{found:?}"
    );
}

#[test]
fn a_space_misread_on_a_double_ender_is_not_another_stations_distance() {
    let hull = Known::new(Family::DoubleEnder, 812);
    let clean = hull.table_text(&hull.layout(10), Place::Eighth, "Known");
    let line = clean.lines().find(|l| l.starts_with("from stem")).expect("distances").to_string();
    let (label, cells) = line.split_once('|').expect("cells");
    for (column, by) in [(4, 48), (4, -48)] {
        let of = |(i, c): (usize, &str)| if i < column { c.to_string() } else { eighths(c, |e| e + by) };
        let cells: Vec<String> = cells.split_whitespace().enumerate().map(of).collect();
        let slipped = clean.replace(&line, &format!("{label}| {}", cells.join(" ")));
        let found = proof(&table(&slipped)).slips;
        assert_eq!(found.len(), 1, "{found:?}");
        let named = matches!(&found[0].slip, WholeSlip::Gap { column: c, .. } if *c == column);
        assert!(named, "{column} {by}: {}", found[0].text);
    }
}
