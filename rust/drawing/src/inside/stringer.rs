//! A stringer or riser on one sheet at full size: in profile and in plan on the stations, straightened with the
//! stations marked on it, and in section at each.

use kurbo::{BezPath, Point, Rect, Shape as _};
use scrieve_loft::inside::{Stringer, StringerAt};
use scrieve_loft::written;
use scrieve_notation::Units;

use super::line as path_of;
use crate::moulds::write_block;
use crate::space::Space;
use crate::{Drawing, Operation, Stroke, to_ascii};

/// Heights of letters tried, mm: the sheet is looked at whole, and the smallest is read at arm's length.
const HEIGHTS: [f64; 3] = [18.0, 14.0, 10.0];
/// Titles of the views, mm high.
const TITLES: [f64; 2] = [30.0, 22.0];
/// Clear space between views, mm: room for a line of titles and two of labels.
const GAP: f64 = 180.0;
/// Sections stand no nearer than this, mm: room for their angles in the largest letters.
const SECTION_PITCH: f64 = 330.0;
/// Squares that room is counted in, mm: half of the smallest letter.
const CELL: f64 = 5.0;

/// A stringer, mm at full size.
pub fn stringer_drawing(boat: &str, name: &str, stringer: &Stringer, units: Units) -> Drawing {
    let boat = to_ascii(boat);
    let mut drawing = Drawing::new(to_ascii(&name.replace(' ', "-")), format!("{boat}, {name}"));
    let views = drawing.layer_drawn("Views", Operation::Annotate, Stroke::solid(0.5, [0, 0, 0]));
    let grid = drawing.layer_drawn("Grid", Operation::Annotate, Stroke::solid(0.13, [120, 120, 120]));
    let cut = drawing.layer("Outlines", Operation::CutOutside);
    let marked = drawing.layer("Marks", Operation::Mark);
    let letters = drawing.layer("Letters", Operation::Annotate);

    let places: Vec<(String, &StringerAt)> = places(stringer);
    let side = |of: &dyn Fn(&[f64; 3]) -> Point| -> BezPath {
        let upper = stringer.line.iter().map(of);
        path_of(upper.chain(stringer.lower.iter().rev().map(of)), true)
    };
    let profile = side(&|p| Point::new(1e3 * p[0], 1e3 * p[2]));
    let profile_box = profile.bounding_box();
    // The base line is shown only where it is near: else the sheet is mostly air.
    let foot = profile_box.y0 - GAP;
    let line = stringer.line.iter().map(|p| 1e3 * p[1]);
    let (near, far) = line.fold((f64::INFINITY, 0.0_f64), |(a, b), y| (a.min(y), b.max(y)));
    let near = stringer.inner.iter().map(|p| 1e3 * p[1]).fold(near, f64::min);
    // Half-breadths run down from this line, less what lies wholly inside the piece.
    let centreline = foot - GAP + near;
    let plan = |x: f64, y: f64| Point::new(1e3 * x, centreline - y);
    let outer: Vec<Point> = stringer.line.iter().map(|p| plan(p[0], 1e3 * p[1])).collect();
    let inner_line: Vec<Point> = stringer.inner.iter().map(|p| plan(p[0], 1e3 * p[1])).collect();
    let plan_foot = centreline - far - GAP;
    let bar_top = plan_foot - GAP;
    let start = 1e3 * stringer.ends[0].x;
    let (length, depth) = (1e3 * stringer.length, 1e3 * stringer.depth);
    let bar_of = |at: &StringerAt| start + 1e3 * at.along;
    // Where a station's line comes out at the lower edge of the straight bar.
    let run = |at: &StringerAt| depth / at.cut_on_face.tan();
    let corners = [
        Point::new(start, bar_top),
        Point::new(start + length, bar_top),
        Point::new(start + length + run(&stringer.ends[1]), bar_top - depth),
        Point::new(start + run(&stringer.ends[0]), bar_top - depth),
    ];
    let bar = path_of(corners, true);
    let row = bar_top - depth - 2.0 * GAP;

    let wide = (SECTION_PITCH * places.len() as f64).max(length);
    let lowest = row - depth - 1.5 * GAP;
    let top = profile_box.y1 + 2.0 * GAP;
    let sheet = Rect::new(start - GAP, lowest, start + wide.max(profile_box.width()) + GAP, top);
    let mut space = Space::new(sheet, CELL);
    let draw = |drawing: &mut Drawing, layer, path: BezPath, space: &mut Space| {
        space.take(&path);
        drawing.path(layer, path);
    };
    draw(&mut drawing, views, profile, &mut space);
    draw(&mut drawing, views, path_of(outer, false), &mut space);
    draw(&mut drawing, views, path_of(inner_line, false), &mut space);
    draw(&mut drawing, cut, bar, &mut space);
    let mut section_left = f64::NEG_INFINITY;
    let mut blocks: Vec<(Vec<String>, Point)> = Vec::new();
    for (place, at) in &places {
        let x = 1e3 * at.x;
        for (from, to) in [(foot + 40.0, profile_box.y1 + 40.0), (plan_foot + 40.0, foot - 60.0)] {
            draw(&mut drawing, grid, path_of([from, to].map(|y| Point::new(x, y)), false), &mut space);
        }
        let b = bar_of(at);
        let mark = [Point::new(b, bar_top), Point::new(b + run(at), bar_top - depth)];
        if !place.ends_with("END") {
            draw(&mut drawing, marked, path_of(mark, false), &mut space);
        }
        let length_of = |metres: f64| to_ascii(&written(metres, units));
        let upper = at.section[0];
        let named = place.clone();
        blocks.push((vec![named.clone(), length_of(upper.y)], Point::new(x, profile_box.y1 + 70.0)));
        blocks.push((vec![named.clone(), length_of(upper.x)], Point::new(x, plan_foot + 10.0)));
        let along = format!("{} ({:.1} MM)", length_of(at.along), 1e3 * at.along);
        blocks.push((vec![named.clone(), along], Point::new(b, bar_top + 35.0)));

        let left = x.max(section_left + SECTION_PITCH);
        section_left = left;
        let corner = at.section[0];
        let shape =
            at.section.map(|p| Point::new(left + 1e3 * (p.x - corner.x), row + 1e3 * (p.y - corner.y)));
        draw(&mut drawing, views, path_of(shape, true), &mut space);
        let under = Point::new(left, row - depth - 50.0);
        blocks.push((
            vec![
                named,
                format!("FLARE {:.1} DEG", at.flare.to_degrees()),
                format!("TO LEVEL {:.1} DEG", at.level_bevel.to_degrees()),
            ],
            under,
        ));
    }
    let size = format!("{:.0} BY {:.0} MM", depth, 1e3 * stringer.thickness);
    let whole = format!(
        "{} ({length:.1} MM) LONG, BOWS {:.1} MM ROLLED FLAT",
        to_ascii(&written(stringer.length, units)),
        1e3 * stringer.bow
    );
    let titles = [
        (format!("{boat}, {}, {size}", to_ascii(&name.to_uppercase())), profile_box.y1 + 1.6 * GAP),
        ("PROFILE: HEIGHTS OF THE UPPER EDGE".to_owned(), profile_box.y1 + 1.2 * GAP),
        ("PLAN: HALF-BREADTHS OF THE UPPER EDGE, OUTER FACE".to_owned(), foot - 20.0),
        (format!("STRAIGHTENED: {whole}"), bar_top + 0.62 * GAP),
        ("SECTIONS, OUTER FACE TO THE RIGHT".to_owned(), row + 0.4 * GAP),
    ];
    for (title, y) in titles {
        let near = Point::new(start + 0.25 * length, y);
        write_block(&mut drawing, letters, &mut space, &[title], near, &TITLES);
    }
    for (lines, near) in blocks {
        write_block(&mut drawing, letters, &mut space, &lines, near, &HEIGHTS);
    }
    drawing
}

/// Its two ends and the stations between, forward aft; a station at an end is that end.
fn places(stringer: &Stringer) -> Vec<(String, &StringerAt)> {
    let [fore, aft] = &stringer.ends;
    let between = stringer.stations.iter().filter(|(_, at)| at.x > fore.x + END_M && at.x < aft.x - END_M);
    let mut all = vec![("FORWARD END".to_owned(), fore)];
    all.extend(between.map(|(name, at)| (format!("STATION {}", to_ascii(name)), at)));
    all.push(("AFTER END".to_owned(), aft));
    all.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
    all
}

/// A station nearer an end than this is not marked beside it, m: the two marks would be one pencil line.
const END_M: f64 = 0.001;
