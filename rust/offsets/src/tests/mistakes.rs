//! Every mistake is located, and all are given together.

use super::*;
use crate::Severity;

/// Where the one mistake of a text stands and what is said of it.
#[track_caller]
fn only(text: &str) -> (usize, usize, String, String, String) {
    let found = mistakes(text);
    assert_eq!(found.iter().count(), 1, "{found}");
    let m = found.iter().next().expect("one");
    (m.line, m.column, m.text.clone(), m.problem.clone(), m.expected.clone())
}

#[track_caller]
fn warning(text: &str) -> (usize, usize, String, String) {
    let table = table(text);
    assert_eq!(table.warnings().len(), 1, "{:?}", table.warnings());
    let m = &table.warnings()[0];
    assert_eq!(m.severity, Severity::Warning);
    (m.line, m.column, m.text.clone(), m.problem.clone())
}

#[test]
fn a_mistake_is_shown_with_its_line_underlined() {
    let text = SANDLING.replace("2-1-0   2-7-2", "2-1-0   2-17-2");
    assert_eq!(
        mistakes(&text).to_string(),
        "boat.offsets:37:41: error: 17 inches\n \
         37 | sheer              |  1-0-4   2-1-0   2-17-2   2-5-1   1-8-0\n    \
            |                                         ^^ expected inches 0 to 11; it would be `3-5-2`"
    );
}

#[test]
fn columns_are_counted_in_characters() {
    let (line, column, text, ..) = only(&two_stations("", "[heights]\nsheer | 2-0-0½ 2-0-9\n"));
    assert_eq!((line, column, text.as_str()), (9, 20, "9"));
}

#[test]
fn the_mistakes_of_a_file_are_reported_in_one_go() {
    let text = SANDLING
        .replace("planking = ", "plankign = ")
        .replace("year = 1903", "year = \"190\"")
        .replace("from stem          |  1-6-0   4-6-0", "from stem          |  4-6-0   1-6-0")
        .replace("rabbet             |  0-5-2 ", "rabbit             |  0-5-2 ")
        .replace("buttock 0-6-0", "buttock 0-6-8")
        .replace("A                  |", "B                  |")
        .replace("[points]", "[pints]");
    let found = mistakes(&text);
    let lines = found.iter().map(|m| m.line).collect::<Vec<_>>();
    assert_eq!(lines, [5, 12, 29, 33, 34, 42, 50], "{found}");
    assert!(found.iter().all(|m| m.severity == Severity::Error && m.file == "boat.offsets"));
}

#[test]
fn an_unknown_key_suggests_the_nearest_known_one() {
    let found = only(&two_stations("plankign = \"0-0-4\"\n", HULL));
    assert_eq!(found, (5, 1, "plankign".into(), "unknown key `plankign`".into(), "`planking`".into()));
    let found = only(&two_stations("[backbone]\nsiding = \"0-1-0\"\n", HULL));
    assert_eq!((found.0, found.1, found.4.as_str()), (6, 1, "`half_siding`"));
    let found = only(&two_stations("rigged = \"lug\"\n", HULL));
    assert_eq!(found.4, "facts of your own under `[extra]`");
}

#[test]
fn units_and_the_other_choices_suggest_the_nearest_too() {
    let found = only(&two_stations("", HULL).replace("feet-inches-eighths", "feet-inches-eights"));
    assert_eq!((found.0, found.4.as_str()), (4, "`feet-inches-eighths`"));
    let found = only(&two_stations("moulded_to = \"inside\"\n", HULL));
    assert_eq!(found.4, "`outside of planking` or `inside of planking`");
    let found = only(&two_stations("scale = \"1 ft = 1 in\"\n", HULL));
    assert_eq!((found.0, found.1, found.2.as_str()), (5, 9, "\"1 ft = 1 in\""));
}

#[test]
fn facts_left_out_are_asked_for() {
    let found = mistakes("+++\n+++\nstation | 1 2\nfrom stem | 1 2\n");
    let problems = found.iter().map(|m| m.problem.as_str()).collect::<Vec<_>>();
    assert_eq!(
        problems,
        ["the facts have no `format`", "the facts have no `name`", "the facts have no `units`"]
    );
}

#[test]
fn a_line_that_is_no_toml_does_not_hide_the_others() {
    let found = mistakes(&two_stations("planking 0-0-4\nkind = beach boat\nplnking = 3\n", HULL));
    assert_eq!(found.iter().map(|m| m.line).collect::<Vec<_>>(), [5, 6, 7], "{found}");
}

#[test]
fn a_reading_in_the_facts_is_located_inside_its_quotes() {
    let found = only(&two_stations("planking = \"0-0-9\"\n", HULL));
    assert_eq!((found.0, found.1, found.2.as_str()), (5, 17, "9"));
}

#[test]
fn two_rows_of_one_label_are_a_mistake_however_written() {
    let found = only(&two_stations(
        "two_part = \"feet-inches\"\n",
        "[half-breadths]\nwaterline 1-0-0 | 1-0-0 1-0-0\nwaterline 1-0 | 1-0-0 1-0-0\n",
    ));
    assert_eq!(
        (found.0, found.2.as_str(), found.4.as_str()),
        (11, "waterline 1-0", "one only; the first is line 10")
    );
}

#[test]
fn a_station_out_of_order_or_repeated_is_a_mistake() {
    let text = two_stations("", HULL);
    let found = only(&text.replace("1-0-0 5-0-0", "5-0-0 1-0-0"));
    assert_eq!((found.0, found.1, found.4.as_str()), (7, 19, "more than 5-0-0"));
    let found = only(&text.replace("1-0-0 5-0-0", "5-0-0 5-0-0"));
    assert_eq!(found.3, "station 2 is where station 1 is, which stands before it");
    let found = only(&text.replace("station   | 1     2", "station   | 1     1"));
    assert_eq!((found.0, found.1, found.3.as_str()), (6, 19, "a second station `1`"));
}

#[test]
fn a_row_says_how_many_cells_it_should_have() {
    let found = only(&two_stations("", "[heights]\nsheer | 2-0-0\n"));
    assert_eq!(
        (found.3.as_str(), found.4.as_str()),
        ("1 cell for 2 stations", "2 cells, `-` where there is no reading")
    );
    let found = only(&two_stations("", "[heights]\nsheer | 2-0-0 2-0-0 2-0-0 2-0-0\n"));
    assert_eq!((found.1, found.2.as_str()), (21, "2-0-0 2-0-0"));
}

#[test]
fn a_reading_where_the_section_can_have_none_is_a_warning() {
    let found = warning(&two_stations("", &format!("{HULL}waterline 2-6-0 | 0-9-0 -\n")));
    assert_eq!(
        (found.0, found.1, found.3.as_str()),
        (13, 19, "waterline 2-6-0 lies above the sheer at station 1")
    );
    let found = warning(&two_stations("", &format!("{HULL}waterline 0-2-0 | - 0-9-0\n")));
    assert_eq!(found.3, "waterline 0-2-0 lies below the rabbet at station 2");
    let found = warning(&two_stations("", &format!("{HULL}[heights]\nbuttock 0-6-0 | 0-5-0 2-1-0\n")));
    assert_eq!(found.3, "buttock 0-6-0 lies above the sheer at station 2");
}

#[test]
fn one_sheer_below_its_rabbet_is_a_slip_and_all_are_rows_exchanged() {
    let found = warning(&two_stations("", HULL).replace("sheer | 2-0-0 2-0-0", "sheer | 2-0-0 0-2-0"));
    assert_eq!(found.3, "at station 2 the sheer is not above the rabbet");
    let exchanged = two_stations("", "[heights]\nsheer | 0-3-0 0-3-0\nrabbet | 2-0-0 2-0-0\n");
    let found = only(&exchanged);
    assert_eq!(
        found.3,
        "this table does not describe a hull: the sheer is not above the rabbet at 2 of 2 stations (1, 2)"
    );
    assert!(found.4.ends_with("begin with these two rows"), "{}", found.4);
}

#[test]
fn a_table_of_one_station_or_of_no_reading_is_no_table() {
    let one = two_stations("", "[heights]\nsheer | 2-0-0\n");
    let one = one.replace("| 1     2", "| 1").replace("1-0-0 5-0-0", "1-0-0");
    assert_eq!(only(&one).3, "a table of one station");
    assert_eq!(only(&two_stations("", "[heights]\nsheer | - x\n")).3, "a table without a reading");
    assert_eq!(only(&two_stations("", "")).3, "a table without a reading");
}

#[test]
fn a_transom_column_needs_its_transom_and_stands_last() {
    let text = two_stations("", HULL);
    assert_eq!(only(&text.replace("1-0-0 5-0-0", "1-0-0 -")).3, "a column on the transom, but no transom");
    assert_eq!(only(&text.replace("1-0-0 5-0-0", "- 5-0-0")).3, "a station without a distance");
    let transom = "[transom]\nfoot = { from_stem = \"0-6-0\", height = \"0-6-0\" }\n\
                   head = { from_stem = \"0-9-0\", height = \"2-0-0\" }\n";
    assert_eq!(warning(&two_stations(transom, HULL)).3, "the transom lies forward of the last station");
    let far = transom.replace("0-6-0\", h", "15-0-0\", h").replace("0-9-0", "15-6-0");
    let said = warning(&two_stations(&far, HULL)).3;
    assert_eq!(said, "the transom stands 3.05 m abaft the last station, with no reading between");
    let upside_down = transom.replace("height = \"0-6-0\"", "height = \"3-0-0\"");
    assert_eq!(only(&two_stations(&upside_down, HULL)).3, "the transom's head is not above its foot");
}

#[test]
fn a_sternpost_below_a_transom_is_read_beside_it() {
    let text = SANDLING.replace(
        "[stern profile]                    # none: she has a transom",
        "[stern profile]\nfrom stem | 15-6-0 15-0-0\nheight | 0-9-0 0-4-0",
    );
    let table = crate::read(text.as_bytes(), "sandling.offsets").expect("a table");
    let (survey, _) = table.survey().expect("a survey");
    assert!(survey.transom.is_some() && survey.stern.len() == 2);
    assert!(survey.stern[0].z > survey.stern[1].z, "from the transom's foot down to the heel");
}

#[test]
fn a_diagonal_must_be_laid_down() {
    let found = only(&SANDLING.replace("A                  |", "B                  |"));
    assert_eq!(
        (found.0, found.2.as_str(), found.4.as_str()),
        (42, "B", "`A`, or `[diagonal.B]` among the facts")
    );
}

#[test]
fn a_thickness_is_neither_negative_nor_wider_than_the_boat() {
    for (facts, line) in [
        ("planking = \"-0-0-4\"\n", 5),
        ("tolerance = \"-0-0-1\"\n", 5),
        ("tolerance = \"0-0-0\"\n", 5),
        ("[backbone]\nhalf_siding = \"-0-1-0\"\n", 6),
        ("planking = \"0-9-1\"\n", 5),
        ("[lifts]\nthicknesses = [\"0-1-0\", \"-0-1-0\"]\n", 6),
        ("[mass]\nboat_kg = -3\n", 6),
    ] {
        assert_eq!(only(&two_stations(facts, HULL)).0, line, "{facts}");
    }
    // Half of 1 ft 6 in is 9 in, and no more than that.
    table(&two_stations("planking = \"0-9-0\"\n", HULL));
}

#[test]
fn a_mistake_in_a_weight_or_a_sail_is_pointed_at() {
    let square = "[\"0-0-0\", \"0-0-0\"], [\"5-0-0\", \"5-0-0\"]";
    let place = "{ from_stem = \"6-0-0\", height = \"1-0-0\" }";
    for (facts, line, column, text, expected) in [
        ("[mass]\nboat_kg = \"310 kg\"\n".to_owned(), 6, 11, "\"310 kg\"", "a finite number without quotes"),
        ("[mass]\ncrew_kg = -3\n".to_owned(), 6, 11, "-3", "kilograms, nought or more"),
        (
            "[mass]\nboat_kg = 3\ncentre = { from_stem = \"8-0-0\" }\n".to_owned(),
            7,
            10,
            "{ from_stem",
            "`height",
        ),
        ("[mass]\nboat_kg = 1e300\n".to_owned(), 6, 11, "1e300", "kilograms"),
        (format!("[crew]\nkg = 75\nplaces = [{place}]\n"), 5, 2, "crew", "`[crew.hands]`"),
        (format!("[sail]\ncorners = [{square}]\n"), 5, 2, "sail", "`[sail.main]`"),
        (format!("[mass]\ncentre = {place}\n"), 6, 10, "{ from_stem", "`boat_kg = ...` under"),
        (
            format!("[mass]\ncrew_kg = 9\n[crew.a]\nkg = 9\nplaces = [{place}]\n"),
            6,
            1,
            "crew_kg",
            "either `crew_kg`",
        ),
        (format!("[crew.hands]\nplaces = [{place}]\n"), 5, 7, "hands", "`kg = 75`"),
        ("[crew.hands]\nkg = 75\n".to_owned(), 5, 7, "hands", "`places = [{"),
        ("[crew.hands]\nkg = 75\nplaces = []\n".to_owned(), 7, 10, "[]", "a list of places"),
        ("[crew.hands]\nkg = 75\nplaces = [\"6-0-0\"]\n".to_owned(), 7, 11, "\"6-0-0\"", "`{ from_stem"),
        (format!("[load.nets]\nkg = -1\nplaces = [{place}]\n"), 6, 6, "-1", "kilograms"),
        (format!("[load.nets]\nkilos = 1\nkg = 1\nplaces = [{place}]\n"), 6, 1, "kilos", "`kg`"),
        (format!("[sail.lug]\ncorners = [{square}]\n"), 6, 11, "[[", "three or more"),
        (
            format!("[sail.lug]\nrig = 3\ncorners = [{square}, [\"5-0-0\", \"0-0-0\"]]\n"),
            6,
            7,
            "3",
            "the name of a rig",
        ),
        (
            format!("[sail.lug]\ncorners = [{square}, [\"5-0-0\", \"0-0-0\"], [\"0-0-0\", \"5-0-0\"]]\n"),
            6,
            11,
            "[[",
            "corners in order round it",
        ),
        (
            format!("[sail.lug]\ncorners = [{square}, [\"9-0-0\", \"9-0-0\"]]\n"),
            6,
            11,
            "[[",
            "corners in order",
        ),
        (format!("[lateral.board]\ncorners = [{square}]\n"), 6, 11, "[[", "three or more"),
        (
            format!("[lateral.board]\ncorners = [{square}, [\"5-0-0\"]]\n"),
            6,
            52,
            "[\"5-0-0\"]",
            "`[from_stem, height]`",
        ),
    ] {
        let found = only(&two_stations(&facts, HULL));
        assert_eq!((found.0, found.1), (line, column), "{facts}{found:?}");
        assert!(found.2.starts_with(text) && found.4.starts_with(expected), "{facts}{found:?}");
    }
}

#[test]
fn a_shrinkage_the_wrong_way_up_is_a_mistake() {
    let facts = "scale = \"1:16\"\n[shrinkage]\nbreadth = { known = \"0-3-6\", measured = \"5-2-0\" }\n";
    assert_eq!(only(&two_stations(facts, HULL)).0, 7);
}

#[test]
fn a_row_in_the_wrong_block_is_sent_home() {
    let found = only(&two_stations("", "[heights]\nwaterline 1-0-0 | 1-0-0 1-0-0\n"));
    assert_eq!(
        (found.3.as_str(), found.4.as_str()),
        ("a waterline row under [heights]", "a row under [half-breadths]")
    );
    let found = only(&two_stations("", "[heights]\nshear | 1-0-0 1-0-0\n"));
    assert_eq!(found.4, "`sheer`");
    let found = only(&two_stations("", "[height]\nsheer | 1-0-0 1-0-0\n"));
    assert_eq!((found.2.as_str(), found.4.as_str()), ("[height]", "`heights`"));
}

#[test]
fn a_half_breadth_is_never_negative() {
    let found = only(&two_stations("", "[half-breadths]\nsheer | 1-0-0 -1-0-0\n"));
    assert_eq!((found.0, found.1, found.2.as_str()), (9, 15, "-1-0-0"));
}

#[test]
fn a_point_needs_a_station_that_exists_and_two_readings() {
    let points = "[points]\nstation | height | half-breadth\n9 | 0-9-0 | 1-0-0\n1 | 0-9-0 | -\n1 | 0-9-0\n";
    let found = mistakes(&two_stations("", points));
    let found = found.iter().map(|m| (m.line, m.problem.as_str())).collect::<Vec<_>>();
    assert_eq!(found, [(10, "no station is called `9`"), (11, "no reading"), (12, "2 cells in a point")]);
    let swapped = "[points]\nhalf-breadth | station | height\n1-0-0 | 1 | 0-9-0\n";
    assert_eq!(table(&two_stations("", swapped)).points[0].height.length, length(0, 9, 0));
}

#[test]
fn a_profile_has_as_many_heights_as_distances() {
    let found = only(&SANDLING.replace("0-0-0   0-0-6   0-4-0   1-0-0", "0-0-0   0-0-6   0-4-0"));
    assert_eq!((found.0, found.3.as_str()), (46, "3 distances and 4 heights"));
}

#[test]
fn what_is_not_a_file_of_this_kind_says_so() {
    let say = |bytes: &[u8]| {
        let found = read(bytes, "boat.offsets").expect_err("no table");
        let m = found.iter().next().expect("one").clone();
        (m.line, m.column, m.problem)
    };
    assert_eq!(say(b""), (1, 1, "the file is empty".into()));
    assert_eq!(say(b"\n\n"), (1, 1, "the file says nothing".into()));
    assert_eq!(say(b"station,1,2\n"), (1, 1, "the file does not begin with its facts".into()));
    assert_eq!(say(b"+++\nformat = 1\n"), (1, 1, "the facts do not end".into()));
    assert_eq!(say(b"+++\nname = \"\0\"\n"), (2, 9, "the file is not text".into()));
    assert_eq!(say(b"\xff\xfe+\0"), (1, 1, "the file is UTF-16".into()));
    assert_eq!(say(b"\xfe\xff\0+"), (1, 1, "the file is UTF-16".into()));
    // 4 and a half in Windows-1252, after a character of two bytes.
    assert_eq!(say(b"+++\n\xc3\xa9 4\xbd"), (2, 4, "byte \\xbd (½ in Windows-1252) is not UTF-8".into()));
    assert_eq!(say(&vec![b'+'; 100 << 20]).2, "the file is longer than 16 MB");
}

#[test]
fn the_reader_stops_at_a_hundred_mistakes_and_says_so() {
    let found = mistakes(&two_stations("", &format!("[heights]\n{}", "shear | 1-0-0 1-0-0\n".repeat(200))));
    assert_eq!(found.iter().count(), 100);
    assert!(found.more());
    assert!(found.to_string().ends_with("and perhaps more: the reader stopped here"));
}
