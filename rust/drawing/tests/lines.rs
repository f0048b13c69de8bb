//! The lines drawing, held to what the trade expects of one (common practice).

mod common;

use common::faired;
use kurbo::{BezPath, Rect, Shape as _, Size};
use scrieve_drawing::lines::{
    LinesError, LinesOptions, body_plan, curvature_drawing, lines_drawing, mould_sheet,
};
use scrieve_drawing::{Drawing, Item, check};
use scrieve_hull::{Curve, Plane, Sample};
use scrieve_loft::Grid;
use scrieve_loft::moulds::{MouldOptions, moulds, widest_part};
use scrieve_notation::Units;
use scrieve_yardstick::known::Family;

const FAMILIES: [Family; 4] = [Family::RakedTransom, Family::DoubleEnder, Family::HardChine, Family::ScowBow];

fn texts(drawing: &Drawing) -> Vec<(String, Rect)> {
    let one = |item: &Item| {
        let alone = Drawing { items: vec![item.clone()], ..Drawing::default() };
        match item {
            Item::Text { text, .. } => Some((text.clone(), alone.bounds()?)),
            Item::Path { .. } => None,
        }
    };
    drawing.items.iter().filter_map(one).collect()
}

fn on<'a>(drawing: &'a Drawing, layer: &'a str) -> impl Iterator<Item = &'a BezPath> {
    drawing.items.iter().filter_map(move |item| match item {
        Item::Path { layer: at, path } if drawing.layers[*at].name == layer => Some(path),
        _ => None,
    })
}

/// A4, A3 and A1 on their sides, in readings and in millimetres.
fn all_drawings() -> Vec<(Rect, Drawing)> {
    let mut drawings = Vec::new();
    for family in FAMILIES {
        let hull = faired(family);
        let set = moulds(&hull, &MouldOptions::default()).expect("moulds");
        for size in [(297.0, 210.0), (420.0, 297.0), (841.0, 594.0)].map(|(w, h)| Size::new(w, h)) {
            for units in [None, Some(Units::Millimetres)] {
                let options = LinesOptions { sheet_mm: Some(size), units, ..LinesOptions::default() };
                let sheet = Rect::from_origin_size((0.0, 0.0), size);
                for foreshortened in [4.0, 10.0] {
                    let options = LinesOptions { foreshortened, ..options.clone() };
                    drawings.push((sheet, lines_drawing(&hull, &options).expect("lines, foreshortened")));
                }
                drawings.push((sheet, lines_drawing(&hull, &options).expect("lines")));
                drawings.push((sheet, body_plan(&hull, &options).expect("a body plan")));
                drawings.push((sheet, mould_sheet(&set, &options).expect("a sheet of moulds")));
            }
        }
    }
    drawings
}

#[test]
fn everything_is_on_the_sheet_and_nothing_is_written_over() {
    for (sheet, drawing) in all_drawings() {
        let bounds = drawing.bounds().expect("something drawn");
        assert_eq!(sheet.union(bounds), sheet, "{}: {bounds:?}", drawing.title);
        let texts = texts(&drawing);
        for (i, (a, r)) in texts.iter().enumerate() {
            for (b, o) in &texts[i + 1..] {
                let over = r.intersect(*o).area() > 0.0;
                assert!(!over, "{a} runs over {b} in {} on {sheet:?} at {r:?}", drawing.title);
            }
        }
        assert!(check(&drawing, 0.02).iter().all(|finding| !finding.is_fatal()));
        // The title block is the smaller of the boxes; no line of the boat runs into it.
        if let Some(title) = on(&drawing, "Frame").nth(1).map(|p| p.bounding_box()) {
            for layer in ["Hull", "Grid", "Waterlines", "Buttocks", "Diagonals", "Sections"] {
                let clear = on(&drawing, layer)
                    .all(|p| p.bounding_box().inflate(0.05, 0.05).intersect(title).area() <= 0.0);
                assert!(clear, "{layer} in the title block of {} on {sheet:?}", drawing.title);
            }
        }
    }
}

#[test]
fn grid_lines_are_labelled_at_both_ends() {
    for family in FAMILIES {
        let hull = faired(family);
        let grid = Grid::of(&hull);
        let texts = texts(&lines_drawing(&hull, &LinesOptions::default()).expect("lines"));
        let count = |wanted: &str| texts.iter().filter(|(text, _)| text == wanted).count();
        // Sheer plan and body plan: two ends each.
        assert_eq!(count("base"), 4);
        for z in &grid.waterlines {
            let written = scrieve_loft::written(*z, grid.units);
            let ends = count(&written).max(count(&format!("LWL {written}")));
            assert!(ends >= 4, "waterline {z} in {family:?}");
        }
        // Half-breadth plan: two ends; body plan: two ends on each side.
        for y in &grid.buttocks {
            assert!(count(&scrieve_loft::written(*y, grid.units)) >= 6, "buttock {y} in {family:?}");
        }
        for (name, x) in &grid.stations {
            // The name above the sheer plan and at both ends below, and on the section; the distance once.
            assert!(count(name) >= 4, "station {name} in {family:?}");
            assert!(count(&scrieve_loft::written(*x, grid.units)) >= 1);
        }
    }
}

#[test]
fn no_letter_is_smaller_than_can_be_read() {
    // ISO 3098: heights from 2.5 mm.
    for (_, drawing) in all_drawings() {
        for item in &drawing.items {
            if let Item::Text { height, text, .. } = item {
                assert!(*height >= 2.5, "{text}, {height} mm in {}", drawing.title);
            }
        }
    }
}

#[test]
fn sheer_stem_after_end_chine_and_load_waterline_are_named() {
    for family in FAMILIES {
        let hull = faired(family);
        let texts = texts(&lines_drawing(&hull, &LinesOptions::default()).expect("lines"));
        let has = |wanted: &str| texts.iter().any(|(text, _)| text.contains(wanted));
        let table = hull.source();
        let after = if table.transom.is_some() { "transom" } else { "sternpost" };
        let forward = if has("bow transom") { "bow transom" } else { "stem" };
        for wanted in ["sheer", "rabbet", after, forward] {
            assert!(has(wanted), "{wanted} in {family:?}");
        }
        assert_eq!(has("chine"), hull.reference_lines().len() > 2, "{family:?}");
        assert_eq!(has("LWL"), table.facts.load_waterline.is_some(), "{family:?}");
    }
}

#[test]
fn forward_sections_stand_on_the_right_of_the_body_plan_and_after_sections_on_the_left() {
    let hull = faired(Family::RakedTransom);
    let drawing = body_plan(&hull, &LinesOptions::default()).expect("a body plan");
    let centre = on(&drawing, "Centreline").next().expect("a centreline").bounding_box().x0;
    let sides: Vec<bool> = on(&drawing, "Sections").map(|p| p.bounding_box().x0 >= centre - 1e-9).collect();
    let widest = widest_part(&hull);
    let forward: Vec<bool> = Grid::of(&hull).stations.iter().map(|(_, x)| *x <= widest).collect();
    assert_eq!(sides, forward);
    assert!(forward.contains(&true) && forward.contains(&false));
}

#[test]
fn hull_lines_are_heavier_than_the_grid_and_the_centreline_is_chain_dashed() {
    let drawing = lines_drawing(&faired(Family::RakedTransom), &LinesOptions::default()).expect("lines");
    let stroke = |name: &str| &drawing.layers.iter().find(|l| l.name == name).expect("a layer").stroke;
    assert!(stroke("Hull").width_mm > stroke("Waterlines").width_mm);
    assert!(stroke("Waterlines").width_mm > stroke("Grid").width_mm);
    // A copy in black still tells them apart: no two kinds of line share weight and dash, and widths are of ISO 128.
    let kinds = ["Hull", "Sections", "Waterlines", "Buttocks", "Diagonals", "Grid", "Centreline"];
    for (i, a) in kinds.iter().enumerate() {
        let (a, width) = (stroke(a), stroke(a).width_mm);
        assert!([0.13, 0.18, 0.25, 0.35, 0.5, 0.7].contains(&width), "{width}");
        for b in kinds[i + 1..].iter().map(|b| stroke(b)) {
            assert!(a.width_mm != b.width_mm || a.dashes_mm != b.dashes_mm, "{a:?} {b:?}");
        }
    }
    let dashes = &stroke("Centreline").dashes_mm;
    assert!(dashes.len() == 4 && dashes[0] > 3.0 * dashes[2], "a long dash and a short: {dashes:?}");
}

#[test]
fn the_drawing_measures_what_the_boat_measures_at_its_scale() {
    let hull = faired(Family::RakedTransom);
    let size = hull.dimensions().expect("dimensions");
    let sheer = hull.reference_lines().pop().expect("the sheer").path().bounding_box().width();
    // Sheets: one that is told, the least of the A sizes that does, one of its own.
    for (sheet_mm, scale) in
        [(Some(Size::new(841.0, 594.0)), 10.0), (None, 24.0), (None, 7.3), (None, 1.0), (None, 0.5)]
    {
        for foreshortened in [1.0, 10.0] {
            let options =
                LinesOptions { sheet_mm, scale: Some(scale), foreshortened, ..LinesOptions::default() };
            let drawing = lines_drawing(&hull, &options).expect("lines at a scale");
            let per_metre = 1e3 / scale / foreshortened;
            let longest = on(&drawing, "Hull").map(|p| p.bounding_box().width()).fold(0.0, f64::max);
            assert!((longest - sheer * per_metre).abs() < 1e-6, "the sheer, {longest} mm on paper");
            assert!(longest <= size.length * per_metre + 1e-6);
            let paper = Rect::from_origin_size((0.0, 0.0), drawing.sheet.expect("a sheet"));
            assert_eq!(paper.union(drawing.bounds().expect("lines")), paper, "1:{scale} on {paper:?}");
        }
    }
}

#[test]
fn a_scale_too_large_for_the_sheet_or_no_scale_at_all_is_refused() {
    let hull = faired(Family::RakedTransom);
    let on = |sheet_mm: Option<Size>, scale: f64| {
        lines_drawing(&hull, &LinesOptions { scale: Some(scale), sheet_mm, ..LinesOptions::default() })
    };
    assert!(matches!(on(Some(Size::new(420.0, 297.0)), 2.0), Err(LinesError::TooLarge { .. })));
    for scale in [0.0, -10.0, f64::NAN, 1e-4] {
        assert!(matches!(on(None, scale), Err(LinesError::Scale(_))), "{scale}");
    }
    for sheet in [(0.0, 297.0), (420.0, -1.0), (f64::NAN, 297.0), (f64::INFINITY, 297.0)] {
        assert!(
            matches!(on(Some(Size::new(sheet.0, sheet.1)), 20.0), Err(LinesError::Sheet(..))),
            "{sheet:?}"
        );
    }
    for foreshortened in [0.5, 0.0, -3.0, f64::NAN, f64::INFINITY] {
        let options = LinesOptions { foreshortened, ..LinesOptions::default() };
        assert!(matches!(lines_drawing(&hull, &options), Err(LinesError::Foreshortened(_))));
    }
}

#[test]
fn dimensions_are_in_the_readers_choice_of_units() {
    let hull = faired(Family::RakedTransom);
    let metric = LinesOptions { units: Some(Units::Millimetres), ..LinesOptions::default() };
    let in_mm = texts(&lines_drawing(&hull, &metric).expect("lines"));
    let z = Grid::of(&hull).waterlines[0];
    let label = scrieve_loft::written(z, Units::Millimetres);
    assert!(in_mm.iter().filter(|(text, _)| *text == label).count() >= 4, "{label}");
    assert!(in_mm.iter().any(|(text, _)| text == "Turnstone"));
    assert!(in_mm.iter().any(|(text, _)| text.contains("invented")));
    assert!(in_mm.iter().any(|(text, _)| text.contains("batten")), "the caution");
}

/// y = a sin x over a whole wave: curvature -a sin x / (1 + a² cos² x)^(3/2).
fn wave(a: f64) -> Curve {
    let n = 200;
    let sample = |i: i32| {
        let x = std::f64::consts::TAU * f64::from(i) / f64::from(n);
        let slope = a * x.cos();
        let long = slope.hypot(1.0);
        Sample {
            p: [x, a * x.sin(), 0.0],
            tangent: [1.0 / long, slope / long, 0.0],
            normal: [-slope / long, 1.0 / long, 0.0],
            curvature: -a * x.sin() / long.powi(3),
        }
    };
    Curve { plane: Plane::at_z(0.0), pieces: vec![(0..=n).map(sample).collect()] }
}

#[test]
fn a_wave_changes_the_sign_of_its_curvature_once_in_the_middle() {
    let drawing = curvature_drawing(&wave(0.3), "wave", &LinesOptions::default()).expect("curvature");
    let says = &texts(&drawing)[0].0;
    assert!(says.contains("changes sign once"), "{says}");
    // Its crests are its tightest places: radius 1/a there.
    assert!(says.contains(&scrieve_loft::written(1.0 / 0.3, Units::default())), "{says}");
    let mark = on(&drawing, "Buttocks").next().expect("a mark").bounding_box().center();
    let line = on(&drawing, "Hull").next().expect("the line").bounding_box().center();
    assert!(mark.distance(line) < 0.2, "{mark:?} {line:?}");
}

#[test]
fn a_curve_of_no_length_has_no_curvature_to_draw() {
    let none = Curve { plane: Plane::at_z(0.0), pieces: Vec::new() };
    let drawn = curvature_drawing(&none, "nothing", &LinesOptions::default());
    assert_eq!(drawn, Err(LinesError::NoLength("nothing".into())));
}
