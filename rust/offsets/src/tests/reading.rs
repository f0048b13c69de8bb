//! What a file says is what the table holds.

use scrieve_notation::{Mark, TwoPart, Units};

use super::*;
use crate::{Block, CellId, Draft, Fact, LineKind};

#[test]
fn the_handbooks_example_comes_back_byte_for_byte() {
    assert_eq!(sandling().to_text(), SANDLING);
}

#[test]
fn the_handbooks_example_has_nothing_to_warn_of() {
    assert_eq!(sandling().warnings(), []);
}

#[test]
fn the_handbooks_facts_are_read() {
    let table = sandling();
    let facts = &table.facts;
    assert_eq!(facts.name, "Sandling");
    assert_eq!(facts.builder.as_deref(), Some("E. Marlow"));
    assert_eq!(facts.year, Some(1903));
    assert_eq!(facts.kind.as_deref(), Some("beach boat"));
    assert_eq!(facts.dialect.units, Units::FeetInchesEighths);
    assert_eq!(facts.dialect.two_part, Some(TwoPart::FeetInches));
    assert_eq!(facts.dialect.plus, Length::from_128ths(8));
    assert_eq!(facts.scale, 1.0);
    assert!(!facts.to_inside);
    assert_eq!(facts.planking, Some(length(0, 0, 4)));
    assert_eq!(facts.tolerance, Some(Length::from_128ths(8)));
    assert_eq!(facts.half_siding, Some(length(0, 1, 0)));
    let transom = table.transom.as_ref().expect("she has one");
    assert_eq!(transom.foot, (length(15, 6, 0), length(0, 9, 0)));
    assert_eq!(transom.head, (length(16, 0, 0), length(2, 3, 0)));
    assert_eq!(transom.curve_radius, Length::ZERO);
    assert_eq!(table.diagonals[0].through_half_breadth, length(2, 0, 0));
}

#[test]
fn the_handbooks_rows_are_read() {
    let table = sandling();
    let names = table.stations.iter().map(|s| s.name.as_str()).collect::<Vec<_>>();
    assert_eq!(names, ["1", "2", "3", "4", "T"]);
    assert_eq!(table.stations[1].from_stem.as_ref().map(|r| r.length), Some(length(4, 6, 0)));
    assert_eq!(table.stations[4].from_stem, None);

    let lines = table.rows.iter().map(|row| (row.block, row.line.clone())).collect::<Vec<_>>();
    assert_eq!(
        lines,
        [
            (Block::Heights, LineKind::Sheer),
            (Block::Heights, LineKind::Rabbet),
            (Block::Heights, LineKind::Buttock(length(0, 6, 0))),
            (Block::HalfBreadths, LineKind::Sheer),
            (Block::HalfBreadths, LineKind::Waterline(length(0, 6, 0))),
            (Block::HalfBreadths, LineKind::Waterline(length(1, 0, 0))),
            (Block::Diagonals, LineKind::Diagonal("A".to_owned())),
        ]
    );
    let sheer = table.rows[0].cells[1].as_ref().expect("a reading");
    assert_eq!(sheer.written, "2-1-6+");
    assert_eq!(sheer.length, Length::from_128ths((25 * 8 + 6) * 16 + 8));
    let marks =
        |row: usize| table.rows[row].cells.iter().map(|c| c.as_ref().map(|r| r.mark)).collect::<Vec<_>>();
    assert_eq!(marks(4)[3], Some(Mark::Doubtful));
    assert_eq!(marks(5)[2], Some(Mark::Held));
    assert_eq!(marks(4)[4], None);

    let stem = table.stem.as_ref().expect("a stem");
    assert_eq!(stem.from_stem.len(), 4);
    assert_eq!(stem.height[3].as_ref().map(|r| r.length), Some(length(0, 6, 3)));
    assert_eq!(table.stern, None);
    assert_eq!(table.points.len(), 1);
    assert_eq!(table.points[0].half_breadth.length, length(1, 6, 5));
    assert_eq!(table.corrections, [""; 0]);
}

#[test]
fn windows_line_ends_and_a_byte_order_mark_come_back_too() {
    let windows = format!("\u{feff}{}", SANDLING.replace('\n', "\r\n"));
    let table = table(&windows);
    assert_eq!(table.to_text(), windows);
    assert_eq!(table, sandling());
}

#[test]
fn a_file_without_a_last_line_end_is_whole() {
    let text = two_stations("", HULL.trim_end());
    let table = table(&text);
    assert_eq!(table.to_text(), text);
    assert_eq!(table.rows.len(), 3);
}

#[test]
fn a_row_is_found_by_its_label_however_its_distance_is_written() {
    let table = sandling();
    let row = |label| table.row(label).map(|(i, _)| i);
    assert_eq!(row("waterline 1-0-0"), Some(5));
    assert_eq!(row("waterline 1-0"), Some(5));
    assert_eq!(row("waterline 304.8mm"), Some(5));
    assert_eq!(row("rabbet"), Some(1));
    assert_eq!(row("sheer"), None, "there are two");
    assert_eq!(row("sheer height"), Some(0));
    assert_eq!(row("sheer half-breadth"), Some(3));
    assert_eq!((row("heights sheer"), row("half-breadths  sheer")), (Some(0), Some(3)));
    assert_eq!((row("diagonals A"), row("half-breadths waterline 1-0")), (Some(6), Some(5)));
    assert_eq!(row("A"), Some(6));
    assert_eq!(row("diagonal A"), Some(6));
    assert_eq!(row("waterline 2-0-0"), None);
}

#[test]
fn every_cell_is_found_again_by_the_names_a_report_gives_it() {
    let table = sandling();
    assert_eq!(table.cells().count(), 7 * 5 + 2 * 4 + 2);
    for cell in table.cells() {
        let (station, row) = table.describe(cell);
        assert_eq!(table.find(&station, &row), Some(cell), "station {station}, {row}");
    }
    let cell = CellId { block: Block::HalfBreadths, row: 4, column: 3 };
    assert_eq!(table.describe(cell), ("4".to_owned(), "waterline 0-6-0".to_owned()));
}

#[test]
fn lifts_give_their_glue_lines_heights() {
    // Handbook, section 3: thicknesses, not nominal spacings. 0-3-0, then 1 3/8 in and 1 1/2 in.
    let text = two_stations(
        "[lifts]\nbase = \"0-3-0\"\nthicknesses = [\"0-1-3\", \"0-1-4\"]\n",
        &format!("{HULL}lift 1 | 0-6-0 0-7-0\nlift 2 | 0-7-0 0-8-0\n"),
    );
    let table = table(&text);
    assert_eq!(table.rows[3].line, LineKind::Waterline(length(0, 4, 3)));
    assert_eq!(table.rows[4].line, LineKind::Waterline(length(0, 5, 7)));
}

#[test]
fn a_model_may_be_described_in_full() {
    let table = table(&two_stations(
        "place = \"Withy Staithe\"\nscale = \"3/4 in = 1 ft\"\nmoulded_to = \"inside of planking\"\n\
         load_waterline = \"0-9-0\"\n\
         [shrinkage]\nbreadth = { known = \"5-2-0\", measured = \"0-3-6\" }\nheight = 1.02\n\
         [mass]\nboat_kg = 310\ncrew_kg = 150.5\n\
         [sail.main]\ncorners = [[\"3-0-0\", \"4-0-0\"], [\"12-0-0\", \"4-6-0\"], [\"3-2-0\", \"18-0-0\"]]\n\
         [extra]\nnumber = \"MR 7\"\n[extra.engine]\nfitted = false\n",
        HULL,
    ));
    let facts = &table.facts;
    assert_eq!((facts.scale, facts.to_inside), (16.0, true));
    // 5 ft 2 in known, 3 3/4 in on the model: 62 / (3.75 x 16).
    assert_near(facts.shrinkage.breadth, 62.0 / 60.0);
    assert_eq!((facts.shrinkage.length, facts.shrinkage.height), (1.0, 1.02));
    assert_eq!((facts.boat_kg, facts.crew_kg), (Some(310.0), Some(150.5)));
    assert_eq!(facts.load_waterline, Some(length(0, 9, 0)));
    assert_eq!(facts.sails[0].corners[2], (length(3, 2, 0), length(18, 0, 0)));
    let engine = Fact::Table(vec![("fitted".to_owned(), Fact::Truth(false))]);
    assert_eq!(facts.extra, [("number".to_owned(), "MR 7".into()), ("engine".to_owned(), engine)]);
}

#[test]
fn a_boat_may_have_several_rigs_and_weights_that_move() {
    let corners = "corners = [[\"3-0-0\", \"4-0-0\"], [\"12-0-0\", \"4-6-0\"], [\"3-2-0\", \"18-0-0\"]]";
    let text = two_stations(
        &format!(
            "[mass]\nboat_kg = 310\ncentre = {{ from_stem = \"8-3-0\", height = \"1-7-0\" }}   # weighed\n\
             [crew.hands]\nkg = 75\nplaces = [{{ from_stem = \"6-0-0\", height = \"1-10-0\" }},\n  \
             {{ from_stem = \"11-6-0\", out = \"-0-9-0\", height = \"2-0-0\" }}]\n\
             [load.ballast]\nkg = 60.5\nplaces = [{{ from_stem = \"8-0-0\", height = \"0-8-0\" }}]\n\
             [sail.main]\n{corners}\n\
             [sail.jib]\nrig = [\"working\", \"racing\"]\n{corners}\n\
             [sail.topsail]\nrig = \"racing\"\n{corners}\n\
             [lateral.board]\n{corners}\n"
        ),
        HULL,
    );
    let table = table(&text);
    let facts = &table.facts;
    assert_eq!(facts.boat_centre, Some((length(8, 3, 0), length(1, 7, 0))));
    let out = facts.crew[0].places.iter().map(|place| place.out.mm()).collect::<Vec<_>>();
    assert_eq!((facts.crew[0].name.as_str(), facts.crew[0].kg, out), ("hands", 75.0, vec![0.0, -228.6]));
    assert_eq!((facts.loads[0].kg, facts.loads[0].places[0].height), (60.5, length(0, 8, 0)));
    assert_eq!(facts.lateral[0].corners.len(), 3);
    let rigs = facts.rigs().into_iter().map(|(rig, sails)| {
        (rig, sails.into_iter().map(|sail| sail.name.as_str()).collect::<Vec<_>>().join(" "))
    });
    assert_eq!(
        rigs.collect::<Vec<_>>(),
        [("working", "main jib".to_owned()), ("racing", "main jib topsail".to_owned())]
    );
    assert_eq!(table.to_text(), text);
}

#[test]
fn decimal_units_are_read_with_and_without_their_name() {
    let table = table(
        "+++\nformat = 1\nname = \"Petrel's Egg\"\nunits = \"mm\"\nplanking = 12\n+++\n\
         station | 1 2\nfrom stem | 300 1.5m\n[heights]\nsheer | 700.5 27in\n",
    );
    assert_eq!(table.facts.planking.map(Length::mm), Some(12.0));
    let x = table.stations[1].from_stem.as_ref().map(|r| r.length.mm());
    assert_eq!(x, Some(1500.0));
    let sheer = table.rows[0].cells.iter().map(|c| c.as_ref().map(|r| r.length.mm())).collect::<Vec<_>>();
    assert_eq!(sheer, [Some(700.5), Some(685.8)]);
}

#[test]
fn a_table_from_scratch_is_laid_out_in_columns() {
    let mut draft = Draft::default();
    draft.fact("name", "Turnstone").fact("year", 1911);
    draft.fact(
        "transom",
        Fact::Table(vec![
            (
                "foot".to_owned(),
                Fact::Table(vec![
                    ("from_stem".to_owned(), "9-0-0".into()),
                    ("height".to_owned(), "0-6-0".into()),
                ]),
            ),
            (
                "head".to_owned(),
                Fact::Table(vec![
                    ("from_stem".to_owned(), "9-6-0".into()),
                    ("height".to_owned(), "2-1-0".into()),
                ]),
            ),
        ]),
    );
    draft.fact("builder", "J. Tranter");
    draft.station("1", "1-0-0").station("mid ships", "5-0-0").station("T", "-");
    draft.row(Block::HalfBreadths, "waterline 1-0-0", ["0-9-3+", "", "10 in"]);
    draft.row(Block::Heights, "sheer", ["2-0-0", "1 10⁴", "2-1-0"]);
    draft.row(Block::Points, "mid ships", ["0-9-0", "1-2-0"]);
    let table = draft.table("turnstone.offsets").expect("a table");
    let body = table.to_text().split("+++\n").last().expect("a body");
    assert_eq!(
        body,
        "\nstation          |  1       mid_ships  T\n\
         from stem        |  1-0-0   5-0-0      -\n\
         \n[heights]\n\
         sheer            |  2-0-0   1-10⁴      2-1-0\n\
         \n[half-breadths]\n\
         waterline 1-0-0  |  0-9-3+  -          10in\n\
         \n[points]\n\
         station  | height | half-breadth\n\
         mid_ships | 0-9-0 | 1-2-0\n"
    );
    assert_eq!(table.facts.builder.as_deref(), Some("J. Tranter"));
    assert_eq!(table.rows[0].cells[1].as_ref().map(|r| r.length), Some(length(1, 10, 4)));
}
