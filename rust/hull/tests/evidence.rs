//! What is read of hulls in closed form whose tables are full, and of the same with readings taken away.

use scrieve_fairing::{Options, fair};
use scrieve_hull::Boat;
use scrieve_offsets::read;
use scrieve_yardstick::known::{Family, Known, Place};

const FAMILIES: [Family; 6] = [
    Family::RoundBilge,
    Family::RakedTransom,
    Family::DoubleEnder,
    Family::HardChine,
    Family::FlaredBow,
    Family::Tumblehome,
];

fn hull_of(text: &str) -> Boat {
    let table = read(text.as_bytes(), "known.offsets").expect("a table");
    let (survey, _) = table.survey().expect("a survey");
    let faired = fair(&survey, &Options::default()).expect("a fair hull");
    Boat::new(table, survey, faired)
}

/// The text with the cells of a row left empty at these stations; a row by its label and the block it stands in.
fn without(text: &str, block: &str, row: &str, stations: std::ops::Range<usize>) -> String {
    let mut heading = "";
    let mut found = 0;
    let mut lines = Vec::new();
    for line in text.lines() {
        if line.starts_with('[') {
            heading = line;
        }
        let mut kept = line.to_owned();
        if let Some((label, cells)) = line.split_once('|')
            && heading.starts_with(block)
            && label.trim() == row
        {
            let cells = cells.split_whitespace().enumerate();
            let cells = cells.map(|(i, cell)| if stations.contains(&i) { "-" } else { cell });
            kept = format!("{label}| {}", cells.collect::<Vec<_>>().join(" "));
            found += 1;
        }
        lines.push(kept);
    }
    assert_eq!(found, 1, "{row}");
    lines.join("\n") + "\n"
}

#[test]
fn a_full_table_of_a_known_hull_is_read_all_along() {
    for family in FAMILIES {
        let known = Known::new(family, 3);
        let hull = hull_of(&known.table_text(&known.layout(11), Place::Eighth, "Turnstone"));
        let unread = hull.unread();
        // A slip's worth of doubt leaves a reading out now and then; nothing else may be unread.
        let told: Vec<_> = unread.iter().filter(|u| !u.why.contains("left out")).collect();
        assert!(told.is_empty(), "{family:?} {told:#?}");
    }
}

#[test]
fn heights_of_the_sheer_taken_away_leave_that_stretch_of_it_in_profile() {
    for family in [Family::RoundBilge, Family::DoubleEnder, Family::HardChine] {
        let known = Known::new(family, 3);
        let text = known.table_text(&known.layout(11), Place::Eighth, "Turnstone");
        let hull = hull_of(&without(&text, "[heights]", "sheer", 4..7));
        let unread = hull.unread();
        let lines: Vec<&str> = unread.iter().map(|u| u.line.as_str()).collect();
        assert_eq!(lines, ["sheer in profile"], "{family:?} {unread:#?}");
        let xs = &hull.survey().stations;
        let found = &unread[0];
        assert!((found.from[0] - xs[3]).abs() < 1e-4 && (found.to[0] - xs[7]).abs() < 1e-4, "{found:?}");
        assert!(found.sd.is_some_and(|sd| sd > 0.0) && !found.is_assumed);
    }
}
