//! What readings are worth, told from the table: hands that read less finely than they write, and hands that do not.

use scrieve_fairing::{Options, fair};
use scrieve_offsets::{Table, Tolerance};
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

// The example uses the rest of it.
#[allow(dead_code)]
mod hands;
use hands::Hand;

fn told(table: &Table) -> Vec<String> {
    let (_, remarks) = table.survey().expect("a survey");
    remarks.into_iter().filter(|r| r.of_worth).map(|r| r.text).collect()
}

#[test]
fn a_hand_that_reads_as_it_writes_is_taken_at_its_word() {
    let mut tables = 0;
    for (family, seed) in Family::ALL.into_iter().flat_map(|family| (0..12).map(move |seed| (family, seed))) {
        let hull = Known::new(family, seed);
        for hand in Hand::PLAIN {
            let table = hand.table(&hull, &hull.layout(5 + seed as usize), seed);
            assert_eq!(told(&table), Vec::<String>::new(), "{family:?} {seed} {hand:?}");
            tables += 1;
        }
    }
    for (kind, seed) in Kind::ALL.into_iter().flat_map(|kind| (0..6).map(move |seed| (kind, seed))) {
        let boat = AsBuilt::new(kind, seed);
        for place in [Place::Eighth, Place::Sixteenth, Place::Millimetre] {
            let text = boat.table_text(&boat.taking(6 + 2 * seed as usize), place, "Known");
            let table = scrieve_offsets::read(text.as_bytes(), "known.offsets").expect("a table");
            assert_eq!(told(&table), Vec::<String>::new(), "{kind:?} {seed} {place:?}");
            tables += 1;
        }
    }
    assert!(tables > 600, "{tables}");
}

#[test]
fn a_hand_that_reads_less_finely_than_it_writes_is_found_out() {
    // Spacings of the readings, m, that are told, by closed form of how each was made.
    let alone = [
        (Hand::FiveMillimetres, "5 mm", 0.005),
        (Hand::TenMillimetres, "10 mm", 0.010),
        (Hand::HalfInch, "1/2 in", 0.0127),
        (Hand::DecimalSixteenths, "1/16 in", 0.0254 / 16.0),
        (Hand::ShortSixteenths, "1/16 in", 0.0254 / 16.0),
        (Hand::MillimetresOfHalfInches, "1/2 in", 0.0127),
    ];
    for (family, seed) in Family::ALL.into_iter().flat_map(|family| (0..3).map(move |seed| (family, seed))) {
        let hull = Known::new(family, 40 + seed);
        for (hand, name, spacing) in alone {
            let table = hand.table(&hull, &hull.layout(8 + 2 * seed as usize), seed);
            let said = told(&table);
            assert!(
                said.iter().any(|s| s.contains(&format!("a grid of {name} "))),
                "{family:?} {hand:?} {said:?}"
            );
            let (survey, _) = table.survey().expect("a survey");
            let as_told = survey.spots.iter().filter(|s| (s.tolerance - spacing / 2.0).abs() < 1e-9).count();
            // Diagonals too, few as they may be: they were read as the rest.
            assert!(
                as_told == survey.spots.len(),
                "{family:?} {hand:?}: {as_told} of {}",
                survey.spots.len()
            );
        }
    }
}

#[test]
fn a_hand_that_favours_coarse_marks_is_trusted_less_on_them_only() {
    let hull = Known::new(Family::RoundBilge, 5);
    let table = Hand::InchesAmongEighths.table(&hull, &hull.layout(12), 1);
    assert!(told(&table).iter().any(|s| s.contains("favour coarser marks")), "{:?}", told(&table));
    let (survey, _) = table.survey().expect("a survey");
    for spot in survey.spots.iter().filter(|s| s.along == (1.0, 0.0)) {
        let eighths = (spot.y / 0.0254 * 8.0).round() as i64;
        if eighths % 8 != 0 {
            assert!((spot.tolerance - 0.0254 / 16.0).abs() < 1e-9, "{spot:?}");
        } else {
            // Half are read to the inch; on the inch, eight in nine of all by chance of where readings fall.
            let square = (8.0 * 0.0254_f64.powi(2) + (0.0254_f64 / 8.0).powi(2)) / 9.0;
            assert!((2.0 * spot.tolerance / square.sqrt() - 1.0).abs() < 0.1, "{spot:?}");
        }
    }
    // By kind: only heights were read to the half inch.
    let table = Hand::HeightsToHalfInch.table(&hull, &hull.layout(12), 1);
    let said = told(&table);
    assert!(matches!(&said[..], [one] if one.starts_with("heights lie on a grid of 1/2 in")), "{said:?}");
}

#[test]
fn a_tolerance_overrides_what_the_table_tells() {
    let hull = Known::new(Family::HardChine, 5);
    let table = Hand::TenMillimetres.table(&hull, &hull.layout(10), 1);
    let (survey, _) = table.survey().expect("a survey");
    let within = survey.within(&table, &[Tolerance::All(0.002)]).expect("all readings");
    assert!(within.spots.iter().all(|s| s.tolerance == 0.002));
    let stated = table.to_text().replacen("format = 1", "format = 1\ntolerance = \"3mm\"", 1);
    let stated = scrieve_offsets::read(stated.as_bytes(), "known.offsets").expect("a table");
    assert_eq!(told(&stated), Vec::<String>::new());
    assert!(stated.survey().expect("a survey").0.spots.iter().all(|s| (s.tolerance - 0.003).abs() < 1e-12));
}

#[test]
fn sound_readings_of_any_hand_are_kept_and_the_hull_is_as_sure_as_it_says() {
    // With readings worth what they are, errors in their own standard deviations are about one, and nothing sound
    // is left out. Their errors hang together, so a few hulls leave some room.
    for hand in [Hand::TenMillimetres, Hand::DecimalSixteenths, Hand::InchesAmongEighths] {
        let (mut errors, mut out) = (Vec::new(), 0);
        for family in [Family::RoundBilge, Family::DoubleEnder, Family::HardChine] {
            let hull = Known::new(family, 300);
            let layout = hull.layout(11);
            let (survey, _) = hand.table(&hull, &layout, 3).survey().expect("a survey");
            let faired = fair(&survey, &Options::default()).expect("a hull");
            out += faired.residuals.iter().filter(|r| r.doubted).count();
            errors.extend(layout.stations.iter().flat_map(|&x| hull.misfit(&faired, x, 25)));
        }
        let rms =
            (errors.iter().map(|(off, sd)| (off / sd).powi(2)).sum::<f64>() / errors.len() as f64).sqrt();
        assert_eq!(out, 0, "{hand:?}");
        assert!((0.6..1.35).contains(&rms), "{hand:?}: {rms:.2}");
    }
}

#[test]
fn a_row_written_in_centimetres_among_millimetres_is_judged_to_those() {
    let mut tables = 0;
    for family in Family::ALL {
        let hull = Known::new(family, 61);
        let text = hull.table_text(&hull.layout(12), Place::Millimetre, "Known");
        let mut seen = 0;
        let line = |line: &str| match line.split_once('|') {
            Some((label, cells)) if label.starts_with("waterline") => {
                seen += 1;
                let cell = |c: &str| {
                    c.parse::<f64>().map_or(c.to_string(), |mm| format!("{:.0}", 10.0 * (mm / 10.0).round()))
                };
                let cells: Vec<String> = cells.split_whitespace().map(cell).collect();
                if seen == 3 { format!("{label}| {}\n", cells.join(" ")) } else { format!("{line}\n") }
            }
            _ => format!("{line}\n"),
        };
        let coarse: String = text.lines().map(line).collect();
        let table = scrieve_offsets::read(coarse.as_bytes(), "known.offsets").expect("a table");
        let said = told(&table);
        assert!(
            said.len() == 1 && said[0].contains("waterline") && said[0].contains("10 mm"),
            "{family:?} {said:?}"
        );
        let (survey, _) = table.survey().expect("a survey");
        let faired = fair(&survey, &Options::default()).expect("a hull");
        let out = faired.residuals.iter().filter(|r| r.doubted).count();
        assert_eq!(out, 0, "{family:?}: sound readings left out");
        tables += 1;
    }
    assert_eq!(tables, Family::ALL.len());
}
