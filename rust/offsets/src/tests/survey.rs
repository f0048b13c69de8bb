//! Readings at full size in metres.

use scrieve_notation::Mark;

use super::*;
use crate::{Axis, Block, CellId, LineReading, RefLine, Spot, Survey, Tolerance};

/// The survey and its remarks, but for those of ends that the tests' small tables do not tell.
fn survey(text: &str) -> (Survey, Vec<String>) {
    let table = table(text);
    let (survey, remarks) = table.survey().expect("a hull");
    let open = table.open_ends();
    (survey, remarks.into_iter().map(|r| r.text).filter(|text| !open.contains(text)).collect())
}

#[track_caller]
fn spot(survey: &Survey, block: Block, row: usize, column: usize) -> Spot {
    *survey.spots.iter().find(|s| s.cell == CellId { block, row, column }).expect("a spot")
}

#[track_caller]
fn line(survey: &Survey, line: RefLine, axis: Axis, column: usize) -> LineReading {
    let found = survey.lines.iter().find(|l| l.line == line && l.axis == axis && l.cell.column == column);
    *found.expect("a reading")
}

/// Half of a place is the tolerance; an even chance within it has this standard deviation.
fn sd_of_tolerance(metres: f64) -> f64 {
    metres / 3f64.sqrt()
}

#[test]
fn the_handbooks_example_comes_to_its_metres() {
    let (survey, remarks) = survey(SANDLING);
    assert_eq!(remarks, [""; 0]);
    let expected =
        [metres(1, 6, 0.0), metres(4, 6, 0.0), metres(8, 0, 0.0), metres(12, 0, 0.0), metres(15, 6, 0.0)];
    for (x, expected) in survey.stations.iter().zip(expected) {
        assert_near(*x, expected);
    }
    assert_near(survey.half_siding, 0.0254);
    assert_eq!((survey.lines.len(), survey.spots.len(), survey.stem.len()), (15, 4 + 4 + 5 + 5 + 1, 4));
    assert_eq!((survey.stern.len(), survey.keel.len(), survey.chines), (0, 0, 0));

    let sheer = line(&survey, RefLine::Sheer, Axis::Height, 1);
    assert_near(sheer.value, metres(2, 1, 6.5));
    assert_near(sheer.x, metres(4, 6, 0.0));
    // The file declares a sixteenth of an inch.
    assert_near(sheer.tolerance, 0.0254 / 16.0);
    assert_near(sheer.sd, sd_of_tolerance(0.0254 / 16.0));

    let waterline = spot(&survey, Block::HalfBreadths, 4, 1);
    assert_near(waterline.y, metres(1, 1, 3.0));
    assert_near(waterline.z, metres(0, 6, 0.0));
    assert_eq!(waterline.along, (1.0, 0.0));
    let buttock = spot(&survey, Block::Heights, 2, 0);
    assert_near(buttock.y, metres(0, 6, 0.0));
    assert_near(buttock.z, metres(1, 0, 3.0));
    assert_eq!(buttock.along, (0.0, 1.0));
    let point = survey.spots.last().expect("the point");
    assert_near(point.y, metres(1, 6, 5.0));
    assert_near(point.z, metres(0, 9, 0.0));
    assert_near(point.x, metres(4, 6, 0.0));
    assert_eq!(point.along, (0.0, 0.0));
}

#[test]
fn a_doubtful_reading_is_worth_a_quarter_and_a_held_one_is_not_to_be_moved() {
    let (survey, _) = survey(SANDLING);
    let sound = spot(&survey, Block::HalfBreadths, 4, 1);
    let doubtful = spot(&survey, Block::HalfBreadths, 4, 3);
    let held = spot(&survey, Block::HalfBreadths, 5, 2);
    assert_eq!((sound.mark, doubtful.mark, held.mark), (Mark::Plain, Mark::Doubtful, Mark::Held));
    assert_near(doubtful.sd, 4.0 * sound.sd);
    assert!(held.sd < sound.sd / 50.0);
}

#[test]
fn a_diagonal_is_measured_outward_and_down_from_the_centreline() {
    let (survey, _) = survey(SANDLING);
    let spot = spot(&survey, Block::Diagonals, 6, 2);
    // Through 2 ft out and 1 ft 6 in down: a 3-4-5 triangle, 0.8 out and 0.6 down for each foot along it.
    let read = metres(2, 2, 5.0);
    assert_near(spot.y, 0.8 * read);
    assert_near(spot.z, metres(2, 0, 0.0) - 0.6 * read);
    assert_near(spot.along.0, 0.8);
    assert_near(spot.along.1, -0.6);
}

#[test]
fn the_transoms_column_lies_on_the_raked_transom() {
    let (survey, _) = survey(SANDLING);
    // 6 in of rake in 18 in of height, from 15-6-0 at 0-9-0.
    let on_plane = |z: f64| metres(15, 6, 0.0) + (z - metres(0, 9, 0.0)) / 3.0;
    let waterline = spot(&survey, Block::HalfBreadths, 5, 4);
    assert!(waterline.on_transom);
    assert_near(waterline.x, on_plane(metres(1, 0, 0.0)));
    for axis in [Axis::Height, Axis::HalfBreadth] {
        assert_near(line(&survey, RefLine::Sheer, axis, 4).x, metres(16, 0, 0.0));
    }
    assert_near(line(&survey, RefLine::Rabbet, Axis::Height, 4).x, metres(15, 6, 0.0));
    let diagonal = spot(&survey, Block::Diagonals, 6, 4);
    assert_near(diagonal.x, on_plane(diagonal.z));
}

#[test]
fn a_curved_transom_bends_forward_from_its_centre() {
    let text = SANDLING.replace("curve_radius = \"0-0-0\"", "curve_radius = \"5-0-0\"");
    let (survey, _) = survey(&text);
    let spot = spot(&survey, Block::HalfBreadths, 5, 4);
    let (y, r) = (metres(0, 9, 4.0), metres(5, 0, 0.0));
    let centre = metres(15, 7, 0.0);
    // Square to a face raked 1 in 3: the versed sine of the arc times √10/3 along the boat.
    assert_near(spot.x, centre - (r - (r * r - y * y).sqrt()) * 10f64.sqrt() / 3.0);
}

#[test]
fn a_hand_that_writes_sixteenths_is_worth_sixteenths_throughout() {
    let rows =
        "[heights]\nsheer | 2-0-0 2-0-0\nrabbet | 0-3-0 0-3-0+\n[half-breadths]\nsheer | 1-0-0 1-6-0\n";
    let (survey, _) = survey(&two_stations("", rows));
    for reading in &survey.lines {
        // Uniform rounding: place/√12.
        assert_near(reading.sd, 0.0254 / 16.0 / 12f64.sqrt());
        assert_near(reading.tolerance, 0.0254 / 32.0);
    }
}

#[test]
fn feet_and_inches_of_a_hand_that_reads_eighths_are_to_the_eighth() {
    let rows = "[heights]\nsheer | 2-0 2-0-1\nrabbet | 0-3-0 0-3-0\n[half-breadths]\nsheer | 1-0 1-6-0\n";
    let (survey, _) = survey(&two_stations("two_part = \"feet-inches\"\n", rows));
    assert!(survey.lines.iter().all(|l| (l.sd - 0.0254 / 8.0 / 12f64.sqrt()).abs() < 1e-15));
}

#[test]
fn one_reading_finer_than_the_hand_does_not_make_the_hand_finer() {
    let waterlines = (10..32)
        .map(|i| format!("waterline {}-{}-{} | 1-0-0 1-0-0\n", i / 24, i / 2 % 12, i % 2))
        .collect::<String>();
    let (survey, _) =
        survey(&two_stations("", &format!("{HULL}{waterlines}waterline 1-5-0 | 1-0-0+ 1-0-0\n")));
    let [fine, plain] = [0, 1].map(|column| spot(&survey, Block::HalfBreadths, 25, column).sd);
    assert_near(fine, 0.0254 / 16.0 / 12f64.sqrt());
    assert_near(plain, 0.0254 / 8.0 / 12f64.sqrt());
}

#[test]
fn scale_and_shrinkage_bring_a_model_to_full_size() {
    let facts = "scale = \"1 in = 1 ft\"\n[shrinkage]\nlength = 1.01\nbreadth = 1.05\nheight = 1.04\n\
                 [backbone]\nhalf_siding = \"0-1-4\"\n\
                 [diagonal.A]\ncentreline_height = \"1-0-0\"\n\
                 through = { half_breadth = \"1-0-0\", height = \"0-0-0\" }\n";
    let rows = format!("{HULL}waterline 1-0-0 | 0-9-0 1-3-0\n[diagonals]\nA | 0-6-0 0-7-0\n");
    let (survey, _) = survey(&two_stations(facts, &rows));
    assert_near(survey.stations[1], 12.0 * 1.01 * metres(5, 0, 0.0));
    let waterline = spot(&survey, Block::HalfBreadths, 3, 0);
    assert_near(waterline.y, 12.0 * 1.05 * metres(0, 9, 0.0));
    assert_near(waterline.z, 12.0 * 1.04 * metres(1, 0, 0.0));
    assert_near(waterline.sd, 12.0 * 1.05 * 0.0254 / 8.0 / 12f64.sqrt());
    // The half-siding is the boat's own.
    assert_near(survey.half_siding, metres(0, 1, 4.0));
    // 6 in along a diagonal of 45° on the model, whose breadth and height have shrunk apart.
    let diagonal = spot(&survey, Block::Diagonals, 4, 0);
    let leg = metres(0, 6, 0.0) / 2f64.sqrt();
    assert_near(diagonal.y, 12.0 * 1.05 * leg);
    assert_near(diagonal.z, 12.0 * 1.04 * (metres(1, 0, 0.0) - leg));
    assert_near(diagonal.along.0.hypot(diagonal.along.1), 1.0);
    assert_near(diagonal.along.1 / diagonal.along.0, -1.04 / 1.05);
}

#[test]
fn what_lies_outside_the_section_is_left_out_and_said() {
    let (survey, remarks) = survey(&two_stations(
        "[backbone]\nhalf_siding = \"0-1-0\"\n",
        &format!(
            "{HULL}waterline 2-6-0 | 0-9-0 -\nwaterline 2-0-0 | 1-0-0 -\n\
             [heights]\nbuttock 0-6-0 | 0-5-0 0-1-0\n"
        ),
    ));
    assert_eq!(
        remarks,
        [
            "waterline 2-6-0 at station 1 lies above the sheer; it is left out",
            "buttock 0-6-0 at station 2 lies below the rabbet; it is left out",
        ]
    );
    // A waterline at the very sheer is a spot of the section.
    assert_eq!(survey.spots.len(), 2);
}

#[test]
fn the_keel_is_no_part_of_the_surface() {
    let (survey, _) = survey(&two_stations("", &format!("{HULL}[heights]\nkeel | -0-2-0 -0-1-4\n")));
    assert_eq!((survey.spots.len(), survey.lines.len(), survey.keel.len()), (0, 6, 2));
    assert_near(survey.keel[1].z, -metres(0, 1, 4.0));
    assert_near(survey.keel[1].x, metres(5, 0, 0.0));
}

#[test]
fn chines_are_counted_from_the_keel_up() {
    let rows = "[heights]\nchine upper | 1-3-0 1-2-0\nchine lower | 0-8-0 0-7-0\n\
                [half-breadths]\nchine lower | 0-8-0 0-9-0\nchine upper | 0-11-0 1-2-0\n";
    let (survey, _) = survey(&two_stations("", &format!("{HULL}{rows}")));
    assert_eq!(survey.chines, 2);
    assert_near(line(&survey, RefLine::Chine(0), Axis::Height, 1).value, metres(0, 7, 0.0));
    assert_near(line(&survey, RefLine::Chine(1), Axis::HalfBreadth, 1).value, metres(1, 2, 0.0));
}

#[test]
fn rabbet_half_breadths_take_the_place_of_the_half_siding() {
    let (survey, remarks) = survey(&two_stations("", &format!("{HULL}rabbet | 0-1-0 0-2-4\n")));
    assert_near(line(&survey, RefLine::Rabbet, Axis::HalfBreadth, 1).value, metres(0, 2, 4.0));
    assert_eq!(remarks, [""; 0]);
    let (_, remarks) = self::survey(&two_stations("", HULL));
    assert_eq!(remarks, ["no half-siding is given: the rabbet is taken to lie on the centreline"]);
}

#[test]
fn a_stem_written_from_keel_to_sheer_is_turned_about() {
    let stem = "[stem profile]\nfrom stem | 0-9-0 0-2-0 - 0-0-0\nheight | 0-4-0 1-0-0 1-6-0 2-2-0\n";
    let (survey, remarks) =
        survey(&two_stations("[backbone]\nhalf_siding = \"0-1-0\"\n", &format!("{HULL}{stem}")));
    let heights = survey.stem.iter().map(|s| s.z).collect::<Vec<_>>();
    assert_eq!(heights, [metres(2, 2, 0.0), metres(1, 0, 0.0), metres(0, 4, 0.0)]);
    assert_eq!(survey.stem[0].cell, CellId { block: Block::StemProfile, row: 1, column: 3 });
    assert_eq!(
        remarks,
        [
            "spot 3 of the stem profile has only one of its two readings; it is left out",
            "the stem profile is written from keel to sheer; it is taken from sheer to keel",
        ]
    );
}

#[test]
fn a_double_ender_ends_on_her_sternpost() {
    let ends = "[stem profile]\nfrom stem | 0-0-0 0-6-0\nheight | 2-2-0 0-4-0\n\
                [stern profile]\nfrom stem | 6-0-0 5-9-0 5-6-0\nheight | 2-3-0 1-0-0 0-4-0!\n";
    let (survey, _) = survey(&two_stations("", &format!("{HULL}{ends}")));
    assert_eq!((survey.stem.len(), survey.stern.len(), survey.transom), (2, 3, None));
    assert_near(survey.stern[1].x, metres(5, 9, 0.0));
    assert_near(survey.stern[1].z, metres(1, 0, 0.0));
    // A spot is held only if both its readings are.
    assert_eq!(survey.stern[2].mark, Mark::Plain);
}

#[test]
fn a_point_above_the_sheer_is_left_out_like_any_other_spot() {
    let points = "[points]\nstation | height | half-breadth\n1 | 2-0-3 | 1-0-0\n2 | 1-9-0? | 1-5-4\n";
    let facts = "[backbone]\nhalf_siding = \"0-1-0\"\n";
    let (survey, remarks) = survey(&two_stations(facts, &format!("{HULL}{points}")));
    assert_eq!(remarks, ["point 1 half-breadth at station 1 lies above the sheer; it is left out"]);
    assert_eq!((survey.spots.len(), survey.spots[0].mark), (1, Mark::Doubtful));
}

#[test]
fn a_table_without_a_sheer_or_a_rabbet_is_no_hull() {
    let text = two_stations("", "[heights]\nsheer | - -\nkeel | 0-1-0 0-1-0\n");
    let found = table(&text).survey().expect_err("no hull");
    let problems = found.iter().map(|m| (m.line, m.problem.clone())).collect::<Vec<_>>();
    let say = |what: &str| format!("no {what}, so there is no hull to make of the table");
    assert_eq!(
        problems,
        [
            (1, say("rabbet under [heights]")),
            (1, say("sheer under [half-breadths]")),
            (9, say("sheer under [heights]")),
        ]
    );
}

#[test]
fn a_loftsman_gives_tolerances_for_the_table_a_row_or_a_reading() {
    let table = sandling();
    let given = [
        Tolerance::Reading("2".into(), "waterline 0-6-0".into(), 0.0005),
        Tolerance::Row("waterline 0-6-0".into(), 0.003),
        Tolerance::All(0.002),
    ];
    let survey =
        |given: &[Tolerance]| table.survey().expect("a hull").0.within(&table, given).expect("cells");
    let found = survey(&given);
    let waterline = |column| spot(&found, Block::HalfBreadths, 4, column);
    // The narrower outweighs the wider, in whatever order they are given.
    assert_near(waterline(1).tolerance, 0.0005);
    assert_near(waterline(1).sd, sd_of_tolerance(0.0005));
    assert_near(waterline(2).tolerance, 0.003);
    assert_near(spot(&found, Block::Heights, 2, 0).tolerance, 0.002);
    assert_near(found.stem[0].tolerance, 0.002);
    // A label of two rows is for both, a heading for its block.
    let found =
        survey(&[Tolerance::Row("sheer".into(), 0.004), Tolerance::Row("stem profile".into(), 0.005)]);
    for axis in [Axis::Height, Axis::HalfBreadth] {
        assert_near(line(&found, RefLine::Sheer, axis, 1).tolerance, 0.004);
    }
    assert_near(found.stem[2].tolerance, 0.005);
    assert_near(waterline(2).tolerance, 0.003);
    assert_near(spot(&found, Block::HalfBreadths, 4, 2).tolerance, 0.0254 / 16.0);
}

#[test]
fn a_mark_outweighs_a_tolerance() {
    let text = SANDLING.replacen("1-1-3", "1-1-3!", 1);
    let table = table(&text);
    let own = table.survey().expect("a hull").0;
    let held = own.spots.iter().find(|s| s.mark == Mark::Held).expect("a held reading").cell;
    let wider = own.within(&table, &[Tolerance::All(0.01)]).expect("cells");
    let held = wider.spots.iter().find(|s| s.cell == held).expect("the same");
    assert!(held.sd < 1e-4 && held.tolerance == 0.01);
}

#[test]
fn a_tolerance_for_what_is_not_there_is_refused() {
    let table = sandling();
    let refused = |given: Tolerance| {
        let survey = table.survey().expect("a hull").0;
        survey.within(&table, &[given]).expect_err("nothing of that name").to_string()
    };
    assert!(refused(Tolerance::Row("watrline 0-6-0".into(), 0.001)).contains("`waterline 0-6-0`"));
    assert!(refused(Tolerance::Reading("2".into(), "sheer".into(), 0.001)).contains("`sheer height`"));
    assert!(refused(Tolerance::All(0.0)).contains("above 0"));
    assert!(refused(Tolerance::All(f64::NAN)).contains("above 0"));
}

/// A hull of so many stations and waterlines, cells as `written` says of a run of lengths, mm, that no grid explains.
fn taken(facts: &str, written: impl Fn(usize, f64) -> String) -> String {
    const STATIONS: usize = 9;
    let row = |label: String, from: f64, step: f64| {
        let cells = (0..STATIONS).map(|i| {
            let t = i as f64 - 4.0;
            written(i, from - step * t * t - 0.617 * step * t)
        });
        format!("{label} | {}\n", cells.collect::<Vec<_>>().join(" "))
    };
    let columns = |of: &dyn Fn(usize) -> String| (0..STATIONS).map(of).collect::<Vec<_>>().join(" ");
    let mut text = format!(
        "+++\nformat = 1\nname = \"Known\"\nunits = \"mm\"\n{facts}+++\nstation | {}\nfrom stem | {}\n[heights]\n",
        columns(&|i| (i + 1).to_string()),
        columns(&|i| (500 * (i + 1)).to_string()),
    );
    text += &row("sheer".into(), 933.0, -11.37);
    text += &row("rabbet".into(), 117.0, -3.71);
    text += "[half-breadths]\n";
    for i in 0..5 {
        text += &row(
            format!("waterline {}", 400 + 100 * i),
            611.0 + 43.3 * f64::from(i),
            17.3 + 1.7 * f64::from(i),
        );
    }
    text += &row("sheer".into(), 893.0, 23.9);
    text
}

fn of_five(_: usize, mm: f64) -> String {
    format!("{}", (mm / 5.0).round() * 5.0)
}

#[test]
fn readings_on_a_grid_are_worth_the_grid_at_the_models_size() {
    let (survey, remarks) = survey(&taken("scale = \"1:8\"\n[backbone]\nhalf_siding = \"30\"\n", of_five));
    // Read to 5 mm on the model, so within 20 mm of the boat.
    assert!(survey.spots.iter().all(|s| (s.tolerance - 0.020).abs() < 1e-12), "{:?}", survey.spots[0]);
    assert!(remarks.iter().any(|r| r.contains("half-breadths lie on a grid of 5 mm")), "{remarks:?}");
}

#[test]
fn one_reading_off_the_grid_is_a_slip_and_no_finer_hand() {
    let text = taken("[backbone]\nhalf_siding = \"30\"\n", |i, mm| {
        if (mm - 611.0).abs() < 1.0 && i == 4 { "612".into() } else { of_five(i, mm) }
    });
    assert!(text.contains(" 612 "), "{text}");
    let (survey, remarks) = survey(&text);
    assert!(survey.spots.iter().all(|s| (s.tolerance - 0.0025).abs() < 1e-12));
    assert!(remarks.iter().any(|r| r.contains("a grid of 5 mm (") && r.contains(" of ")), "{remarks:?}");
}

#[test]
fn heights_turned_from_a_datum_keep_their_grid() {
    // Read to 10 mm from a datum 133 mm above the base line; half-breadths to the millimetre.
    let to_ten = |mm: f64| format!("{}", (mm / 10.0).round() * 10.0 + 3.0);
    let buttocks = (1..5)
        .map(|k| {
            let height = |i: usize| 140.0 + 31.0 * f64::from(k) + 5.3 * (i as f64 - 4.3).powi(2);
            let cells = (0..9).map(|i| to_ten(height(i))).collect::<Vec<_>>();
            format!("buttock {} | {}\n", 100 * k, cells.join(" "))
        })
        .collect::<String>();
    let text = taken("", |_, mm| format!("{}", mm.round()));
    let heights = text.find("sheer").expect("heights");
    let (before, after) = text.split_at(heights);
    let (of_heights, rest) = after.split_at(after.find("[half-breadths]").expect("half-breadths"));
    let of_heights = of_heights.lines().map(|line| {
        let (label, cells) = line.split_once('|').expect("a row");
        let cells = cells.split_whitespace().map(|c| to_ten(c.parse().expect("mm"))).collect::<Vec<_>>();
        format!("{label}| {}\n", cells.join(" "))
    });
    let text = format!("{before}{}{buttocks}{rest}", of_heights.collect::<String>());
    let (survey, remarks) = survey(&text);
    assert!(remarks.iter().any(|r| r.starts_with("heights lie on a grid of 10 mm")), "{remarks:?}\n{text}");
    let tolerance = |axis| survey.lines.iter().filter(move |l| l.axis == axis).map(|l| l.tolerance);
    assert!(tolerance(Axis::Height).all(|t| (t - 0.005).abs() < 1e-12));
    assert!(tolerance(Axis::HalfBreadth).all(|t| (t - 0.0005).abs() < 1e-12));
}

#[test]
fn a_side_of_one_breadth_and_a_base_line_say_nothing_of_the_hand() {
    let rows = (0..30).map(|i| format!("waterline {}mm | 1-0-0 1-6-0\n", 100 + 10 * i)).collect::<String>();
    let (survey, remarks) = survey(&two_stations("", &format!("{HULL}{rows}")));
    assert!(!remarks.iter().any(|r| r.contains("grid")), "{remarks:?}");
    assert!(survey.spots.iter().all(|s| (s.tolerance - 0.0254 / 16.0).abs() < 1e-12));
}

#[test]
fn a_size_that_no_boat_has_is_said() {
    let five = of_five;
    let said = |facts: &str, what: &str| {
        let (_, remarks) = survey(&taken(facts, five));
        assert!(remarks.iter().any(|r| r.contains(what)), "{what}: {remarks:?}");
    };
    let (_, remarks) = survey(&taken("planking = \"12\"\n[backbone]\nhalf_siding = \"30\"\n", five));
    assert!(remarks.iter().all(|r| r.contains("grid")), "{remarks:?}");
    said("scale = \"1:100\"\n", "long at a scale of 1:100, which no boat is");
    said("scale = \"1:8\"\nplanking = \"1.5\"\n", "perhaps it was given at the model's size");
    said(
        "scale = \"1:8\"\n[backbone]\nhalf_siding = \"4\"\n",
        "a half-siding of 4.0 mm is taken as the boat's own",
    );
    said("scale = \"1:8\"\nplanking = \"6\"\n", "is that of no boat");
    said("[shrinkage]\nbreadth = 0.97\n", "wood shrinks, it does not swell");
}

#[test]
fn breadths_of_nought_are_blamed_and_not_the_planking() {
    let text = two_stations(
        "planking = \"10mm\"\n",
        "[heights]\nsheer | 2-0-0 2-0-0\nrabbet | 0-3-0 0-3-0\n[half-breadths]\nsheer | 0-0-0 0-0-0\n",
    );
    let mistakes = table(&text).survey().expect_err("no hull");
    assert!(mistakes.to_string().contains("every half-breadth of the sheer is nought"), "{mistakes}");
}
