//! Where no reading tells how the planking runs is said: between which stations, how far off, and what reading would tell.

use scrieve_fairing::known::{Family, Known, Place};
use scrieve_fairing::{Faired, Options, fair, proof_whole};
use scrieve_offsets::{Survey, Table, read};

fn table(hull: &Known) -> Table {
    read(hull.table_text(&hull.layout(9), Place::Eighth, "Known").as_bytes(), "known.offsets")
        .expect("a table")
}

fn faired(survey: &Survey) -> Faired {
    fair(survey, &Options::default()).expect("a hull")
}

/// Her survey with no spot between the edges at the stations from one column to another.
fn unread(table: &Table, columns: std::ops::RangeInclusive<usize>) -> Survey {
    let mut survey = table.survey().expect("a survey").0;
    survey.spots.retain(|s| !columns.contains(&s.cell.column));
    survey
}

#[test]
fn of_usual_hulls_read_at_nine_stations_nothing_is_said() {
    for family in Family::ALL {
        let table = table(&Known::new(family, 610));
        let hull = faired(&table.survey().expect("a survey").0);
        assert_eq!(hull.unsure_remarks(&table), Vec::<String>::new(), "{family:?}");
        assert_eq!(proof_whole(&table, &Options::default()).expect("a proof").remarks, Vec::<String>::new());
    }
}

#[test]
fn three_stations_unread_in_the_after_body_are_said_by_their_neighbours_and_a_reading_there_tells() {
    let known = Known::new(Family::RoundBilge, 610);
    let table = table(&known);
    let survey = unread(&table, 5..=7);
    let hull = faired(&survey);
    let worst = hull.unsure.first().expect("a stretch");
    assert!(worst.off > 6e-3, "{worst:?}");
    assert!(
        worst.from_stem.0 > survey.stations[4] && worst.from_stem.1 < survey.stations[8] + 0.3,
        "{worst:?}"
    );
    let said = &hull.unsure_remarks(&table)[0];
    let mm = format!("{:.0} mm", 1e3 * worst.off);
    for part in ["between stations ", " m up", mm.as_str(), "no reading tells", "would"] {
        assert!(said.contains(part), "{part}: {said}");
    }
    // The section midway is as little known; one at a station that is read is not.
    let middle = 0.5 * (worst.from_stem.0 + worst.from_stem.1);
    assert!(hull.unsure.iter().filter_map(|u| u.at_section(middle)).any(|off| off > 6e-3));
    assert!(hull.unsure.iter().all(|u| u.at_section(survey.stations[3]).is_none()));
    // Its own spots back at one of the stations settle most of it.
    let whole = table.survey().expect("a survey").0;
    let mut told = survey.clone();
    told.spots.extend(whole.spots.iter().filter(|s| s.cell.column == 6));
    let after = faired(&told).unsure.iter().map(|u| u.off).fold(0.0, f64::max);
    assert!(after < 0.6 * worst.off, "{after} after {}", worst.off);
}
