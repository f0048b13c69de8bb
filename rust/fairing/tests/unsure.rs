//! Where no reading tells how the planking runs is said: between which stations, how far off, and what reading would tell.

use scrieve_fairing::{Faired, Options, fair, proof_whole};
use scrieve_offsets::{Survey, Table, read};
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

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

#[test]
fn what_is_said_of_a_cruiser_stern_unread_abaft_the_last_station_holds_where_she_is_most_off() {
    for (seed, stations) in [(3000, 5), (3001, 5), (3001, 6), (3002, 6)] {
        let boat = AsBuilt::new(Kind::CruiserStern, seed);
        let text = boat.table_text(&boat.taking(stations), Place::Eighth, "Known");
        let table = read(text.as_bytes(), "known.offsets").expect("a table");
        let survey = table.survey().expect("a survey").0;
        let hull = faired(&survey);
        let last = survey.stations.last().expect("stations");
        let abaft = hull.unsure.iter().filter(|u| u.at[0] > *last);
        let worst = abaft.max_by(|a, b| a.off.total_cmp(&b.off)).expect("a stretch");
        // The nearest point of the true surface to the place named, m.
        let truth = (1..400).flat_map(|i| {
            let x = last + (boat.length() - last) * f64::from(i) / 400.0;
            let boat = &boat;
            (0..=200).map(move |j| {
                let (y, z) = boat.at(x, boat.strakes() as f64 * f64::from(j) / 200.0);
                [x, y, z]
            })
        });
        let to = |p: [f64; 3]| p.iter().zip(worst.at).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt();
        let off = truth.map(to).fold(f64::MAX, f64::min);
        assert!(off < worst.off, "{seed} {stations}: off {off:.3}, said {:.3}", worst.off);
        assert!(worst.off > 0.05, "{seed} {stations}: {off:.3} {:.3}", worst.off);
    }
}
