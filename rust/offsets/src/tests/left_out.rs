//! What a page leaves out and the head of a file says: blanks, ends, diagonals by their angle, years.

use scrieve_notation::{Length, Mark};

use super::*;
use crate::{Blank, Block, CellId, Draft, Origin, Page};

/// Four stations with blanks in the rabbet and a waterline.
fn with_blanks(facts: &str) -> String {
    format!(
        "+++\nformat = 1\nname = \"Turnstone\"\nunits = \"feet-inches-eighths\"\n{facts}+++\n\
         station   | 0     1     2     3\nfrom stem | 0-0-0 3-0-0 6-0-0 9-0-0\n\
         [heights]\nsheer | 2-0-0 1-10-0 1-9-0 1-10-0\nrabbet | - 0-2-0 - 0-1-4\n\
         [half-breadths]\nsheer | - 1-6-0 1-9-0 1-4-0\nwaterline 0-9-0 | - 1-0-0 1-6-0 -\n"
    )
}

fn remarks(table: &Table) -> Vec<String> {
    table.survey().expect("a hull").1.into_iter().map(|r| r.text).collect()
}

#[test]
fn a_blank_says_nothing_unless_the_file_says_what_it_means() {
    let table = table(&with_blanks(""));
    assert!(table.blanks.is_empty());
    let untold: Vec<(usize, Vec<usize>)> = table.blanks_untold();
    assert_eq!(untold, [(1, vec![0, 2]), (2, vec![0]), (3, vec![0, 3])]);
    let (survey, _) = table.survey().expect("a hull");
    assert_eq!((survey.lines.len(), survey.spots.len()), (9, 2));
}

#[test]
fn a_blank_on_the_base_line_is_a_height_of_nothing_and_one_on_the_stem_ends_the_sheer() {
    let facts = "[backbone]\nhalf_siding = \"0-1-0\"\n[blank]\n\
                 \"rabbet height\" = { forward = \"on the stem\", between = \"on the base line\" }\n\
                 half-breadths = \"on the stem\"\n\"waterline 0-9-0\" = \"not taken\"\n";
    let table = table(&with_blanks(facts));
    let at = |block, row, column| table.cell(CellId { block, row, column }).map(|r| r.length);
    assert_eq!(at(Block::Heights, 1, 2), Some(Length::ZERO));
    assert_eq!(at(Block::Heights, 1, 0), None);
    assert_eq!(at(Block::HalfBreadths, 2, 0), Some(length(0, 1, 0)));
    assert_eq!(at(Block::HalfBreadths, 3, 0), None);
    let told = table.blanks.iter().map(|(cell, blank)| (cell.row, cell.column, *blank)).collect::<Vec<_>>();
    assert_eq!(
        told,
        [
            (1, 0, Blank::Stem),
            (1, 2, Blank::BaseLine),
            (2, 0, Blank::Stem),
            (3, 0, Blank::NotTaken),
            (3, 3, Blank::NotTaken)
        ]
    );
    assert!(table.blanks_untold().is_empty());
    // Its readings are worth what the row's are, and an edit puts one in the blank's own place.
    assert_eq!(
        table.cell(CellId { block: Block::Heights, row: 1, column: 2 }).map(|r| r.place),
        Some(Length::EIGHTH)
    );
    let edited = table.with_reading("2", "rabbet height", "0-0-3").expect("an edit");
    assert_eq!(edited.to_text(), table.to_text().replace("0-2-0 - 0-1-4", "0-2-0 0-0-3 0-1-4"));
}

#[test]
fn a_blank_of_no_row_or_of_no_sense_is_a_mistake_with_its_place() {
    let found = mistakes(&with_blanks("[blank]\nrabbit = \"not taken\"\n"));
    let first = found.iter().next().expect("a mistake");
    assert_eq!((first.line, first.column, first.text.as_str()), (6, 1, "rabbit"));
    let found = mistakes(&with_blanks("[blank]\nhalf-breadths = \"on the base line\"\n"));
    assert!(found.to_string().contains("cannot be on the base line"), "{found}");
    let found = mistakes(&with_blanks("[blank]\nheights = \"on the bass line\"\n"));
    assert!(found.to_string().contains("expected `on the base line`"), "{found}");
}

#[test]
fn one_spot_is_the_foot_of_a_plumb_stem() {
    let stem = "[stem]\nspots = [[\"0-0-0\", \"0-3-0\"]]\nassumed = true\n\
                [sternpost]\nspots = [[\"9-6-0\", \"0-2-0\"]]\n";
    let table = table(&with_blanks(stem));
    let (survey, _) = table.survey().expect("a hull");
    let at = |spots: &[crate::ProfileSpot]| spots.iter().map(|s| (s.x, s.z)).collect::<Vec<_>>();
    let stem = at(&survey.stem);
    assert!(stem.iter().all(|(x, _)| *x == 0.0));
    assert_near(stem[0].1, metres(2, 0, 0.0));
    assert_near(stem[4].1, metres(0, 3, 0.0));
    // It is straight between them.
    assert_near(stem[1].1, metres(1, 6, 6.0));
    // The sheer carried on by half a foot: an inch in three feet.
    let post = at(&survey.stern);
    assert_near(post[0].1, metres(1, 10, 1.0));
    assert_near(post[4].0, metres(9, 6, 0.0));
    // Nobody measured the stem: it counts for less, and every report says so.
    assert!(survey.stem.iter().all(|s| s.mark == Mark::Doubtful));
    assert!(survey.stern.iter().all(|s| s.mark == Mark::Plain));
    assert!(remarks(&table).contains(&"stem assumed, not measured".to_owned()));
    assert_eq!(table.facts.ends_assumed().as_deref(), Some("Stem assumed, not measured"));
    assert!(table.open_ends().is_empty());
}

#[test]
fn two_spots_are_a_raked_stem_and_more_a_curved_one() {
    for spots in [
        "[\"0-0-0\", \"2-0-0\"], [\"0-9-0\", \"0-3-0\"]",
        "[\"0-0-0\", \"2-0-0\"], [\"0-1-0\", \"1-0-0\"], [\"0-9-0\", \"0-3-0\"]",
    ] {
        let table = table(&with_blanks(&format!("[stem]\nspots = [{spots}]\n")));
        let (survey, _) = table.survey().expect("a hull");
        assert_eq!(survey.stem.len(), if spots.matches('[').count() == 2 { 5 } else { 3 });
        assert_near(survey.stem.last().expect("a spot").x, metres(0, 9, 0.0));
        assert_eq!(table.facts.ends_assumed(), None);
        // A spot is a cell like any other, to be put right in its own place.
        let edited = table.with_reading("1", "stem profile height", "2-0-1").expect("an edit");
        assert!(edited.to_text().contains("[[\"0-0-0\", \"2-0-1\"]"));
    }
}

#[test]
fn the_head_of_a_plumb_stem_follows_and_cannot_be_put_right_by_itself() {
    let table = table(&with_blanks("[stem]\nspots = [[\"0-0-0\", \"0-3-0\"]]\n"));
    let refused = table.with_reading("1", "stem profile height", "2-1-0").expect_err("no such cell");
    assert!(refused.to_string().contains("this one follows from the others"), "{refused}");
    assert!(table.with_reading("5", "stem profile height", "0-3-1").is_ok());
    // Written anew at full length, nothing else of the text is touched.
    let of_stem = |cell: CellId| (cell.block == Block::StemProfile).then_some(metres(0, 4, 0.0));
    let anew = table.with_values(of_stem, scrieve_notation::Precision::Eighth).expect("a table");
    assert_eq!(
        anew.to_text(),
        table.to_text().replace("[[\"0-0-0\", \"0-3-0\"]]", "[[\"0-4-0\", \"0-4-0\"]]")
    );
}

#[test]
fn a_stem_told_twice_or_above_the_sheer_is_a_mistake() {
    let twice = with_blanks("[stem]\nspots = [[\"0-0-0\", \"0-3-0\"]]\n")
        + "[stem profile]\nfrom stem | 0-0-0 0-6-0\nheight | 2-0-0 0-3-0\n";
    assert!(mistakes(&twice).to_string().contains("told twice"));
    let high = mistakes(&with_blanks("[stem]\nspots = [[\"0-0-0\", \"2-3-0\"]]\n"));
    assert!(high.to_string().contains("not below the sheer"), "{high}");
    let none = mistakes(&with_blanks("[stem]\nassumed = true\n"));
    assert!(none.to_string().contains("`stem` has no `spots`"), "{none}");
}

#[test]
fn what_ends_nothing_tells_of_is_said() {
    let said = remarks(&table(&with_blanks("")));
    let stem = "no stem is given: she begins at her first station, 0; if she does not, `[stem]`";
    let stern =
        "no sternpost or transom is given: she ends at her last station, 3; if she does not, `[sternpost]`";
    for told in [stem, stern] {
        assert!(said.iter().any(|text| text.starts_with(told)), "{said:?}");
    }
    let said = remarks(&table(&with_blanks("assumed = [\"heights are from the top of the keel\"]\n")));
    assert!(said.contains(&"heights are from the top of the keel".to_owned()));
}

#[test]
fn a_diagonal_is_told_by_any_two_of_what_tells_a_plane() {
    // From 2 ft up, falling at 45 degrees: through 1 ft out at 1 ft up, and the load waterline at 9 in is cut 1 ft 3 out.
    let ways = [
        "centreline_height = \"2-0-0\"\nangle = 45\n",
        "centreline_height = \"2-0-0\"\nthrough = { half_breadth = \"1-0-0\", height = \"1-0-0\" }\n",
        "load_waterline = \"1-3-0\"\nangle = 45.0\n",
        "load_waterline = \"1-3-0\"\ncentreline_height = \"2-0-0\"\n",
        "load_waterline = \"1-3-0\"\nthrough = { half_breadth = \"1-0-0\", height = \"1-0-0\" }\n",
    ];
    for way in ways {
        let facts = format!("load_waterline = \"0-9-0\"\n[diagonal.A]\n{way}");
        let table = table(&(with_blanks(&facts) + "[diagonals]\nA | - 1-2-0 1-4-0 1-0-0\n"));
        let (survey, _) = table.survey().expect("a hull");
        let spot = survey.spots.iter().find(|s| s.cell.block == Block::Diagonals).expect("a spot");
        let out = metres(1, 2, 0.0) / 2f64.sqrt();
        // A tangent is held to the ten-millionth of a millimetre.
        assert!((spot.y - out).abs() < 1e-9 && (spot.z - (metres(2, 0, 0.0) - out)).abs() < 1e-9, "{way}");
    }
    for (way, said) in [
        ("centreline_height = \"2-0-0\"\n", "has no `through`"),
        ("angle = 45\n", "is not told by two things"),
        ("angle = 145\ncentreline_height = \"2-0-0\"\n", "5 to 85 degrees"),
        ("angle = 45\nload_waterline = \"1-0-0\"\n", "cuts a load waterline that is not given"),
    ] {
        let facts = format!("[diagonal.A]\n{way}");
        let found = mistakes(&(with_blanks(&facts) + "[diagonals]\nA | - 1-2-0 1-4-0 1-0-0\n"));
        assert!(found.to_string().contains(said), "{way}: {found}");
    }
}

#[test]
fn a_year_may_be_about_or_within_some() {
    for (written, year, span) in [
        ("1885", 1885, None),
        ("\"1885\"", 1885, None),
        ("\"c. 1885\"", 1885, None),
        ("\"ca. 1885\"", 1885, None),
        ("\"1880-1890\"", 1885, Some((1880, 1890))),
        ("\"1880-90\"", 1885, Some((1880, 1890))),
        ("\"1880–1891\"", 1885, Some((1880, 1891))),
        ("\"1880s\"", 1884, Some((1880, 1889))),
    ] {
        let facts =
            table(&with_blanks(&format!("year = {written}\ndesigner = \"H. Marlow\"\n"))).contents.facts;
        assert_eq!((facts.year, facts.year_span), (Some(year), span), "{written}");
        assert_eq!(facts.year_text().as_deref(), Some(written.trim_matches('"')));
        assert_eq!(facts.designer.as_deref(), Some("H. Marlow"));
    }
    for wrong in ["\"before the war\"", "\"1890-1880\"", "\"18\"", "1885.5", "\"1885 or so\""] {
        let found = mistakes(&with_blanks(&format!("year = {wrong}\n")));
        assert_eq!(found.iter().map(|m| m.line).collect::<Vec<_>>(), [5], "{wrong}");
    }
}

#[test]
fn what_is_said_of_a_table_made_of_a_page_names_the_page() {
    let origin = |line, column, text: &str| Some(Origin { line, column, text: text.to_owned() });
    let page = Page {
        file: "page.csv".to_owned(),
        lines: vec!["Sta,Deck,Rabbet,Deck".to_owned(), "1,1 0 0,0 3 9,1 0 0".to_owned()],
        stations: vec![[origin(2, 1, "1"), None], [origin(3, 1, "2"), None]],
        rows: vec![
            (origin(1, 5, "Deck"), vec![origin(2, 3, "1 0 0"), origin(3, 3, "2 0 0")]),
            (origin(1, 10, "Rabbet"), vec![origin(2, 9, "0 3 9"), origin(3, 9, "0 3 0")]),
        ],
        mappings: vec![("page.toml".to_owned(), "name = \"Tern\"\nyear = \"old\"\n".to_owned())],
        notes: Vec::new(),
    };
    let mut draft = Draft { page: Some(page), ..Draft::default() };
    draft.fact("name", "Tern").fact("year", "old").station("1", "1-0-0").station("2", "3-0-0");
    draft.row(Block::Heights, "sheer", ["1-0-0", "2-0-0"]).row(Block::Heights, "rabbet", ["0-3-9", "0-3-0"]);
    let found = draft.table("rows").expect_err("mistaken");
    let places =
        found.iter().map(|m| (m.file.as_str(), m.line, m.column, m.text.as_str())).collect::<Vec<_>>();
    assert_eq!(places, [("page.toml", 2, 1, "year = \"old\""), ("page.csv", 2, 9, "0 3 9")]);
    assert!(found.to_string().contains(" 2 | 1,1 0 0,0 3 9,1 0 0\n   |         ^^^^^ expected"), "{found}");
}
