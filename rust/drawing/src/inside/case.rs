//! The case of a centreboard: a side to cut, and a sheet with the slot on the keel and the case in section.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Vec2};
use scrieve_loft::inside::{Case, CaseAt, CaseOptions};
use scrieve_loft::written;
use scrieve_notation::Units;

use super::{line, piece};
use crate::moulds::write_block;
use crate::space::Space;
use crate::{Drawing, Operation, Stroke, to_ascii};

/// Heights of letters tried on the sheet, mm.
const HEIGHTS: [f64; 3] = [14.0, 10.0, 7.0];
/// Clear space about views, mm: a block of four lines of labels.
const GAP: f64 = 110.0;
/// Sections stand so far apart, mm, or as they need.
const SECTION_PITCH: f64 = 300.0;
/// Squares that room is counted in, mm: half of the smallest letter.
const CELL: f64 = 3.5;

/// The side of a case, and the sheet with the slot on the keel and the sections, mm at full size.
pub fn case_drawings(
    boat: &str,
    name: &str,
    case: &Case,
    options: &CaseOptions,
    units: Units,
) -> Vec<Drawing> {
    let mut lines = vec![
        format!("FACE TO THE SLOT, {:.1} MM LONG", case.length * 1e3),
        format!("BED LOG {:.0} BY {:.0} MM", options.log * 1e3, options.log_depth * 1e3),
    ];
    // A line outside the side itself has no room beside it for its name.
    let foot = case.outline.bounding_box().y0;
    let below = case.marks.iter().filter(|mark| mark.path.bounding_box().y0 < foot);
    lines.extend(below.map(|mark| format!("LINE BELOW: {}", mark.label)));
    let stuff = super::Stuff { thickness: 0.0, grain: true, face: "face to the slot" };
    let side = piece(boat, name, &case.outline, &case.marks, &lines, &[], &stuff);
    vec![side, keel_drawing(boat, name, case, options, units)]
}

fn keel_drawing(boat: &str, name: &str, case: &Case, options: &CaseOptions, units: Units) -> Drawing {
    let boat = to_ascii(boat);
    let file = format!("{}-keel", to_ascii(&name.replace(' ', "-")));
    let mut drawing = Drawing::new(file, format!("{boat}, {name} on the keel"));
    let slots = drawing.layer("Slot", Operation::CutInside);
    let sides = drawing.layer_drawn("Keel", Operation::Annotate, Stroke::solid(0.5, [0, 0, 0]));
    let planks = drawing.layer_drawn("Planking", Operation::Annotate, Stroke::solid(0.25, [0, 102, 204]));
    let grid = drawing.layer_drawn("Grid", Operation::Annotate, Stroke::solid(0.13, [120, 120, 120]));
    let letters = drawing.layer("Letters", Operation::Annotate);
    let mm = |x: f64, y: f64| Point::new(1e3 * x, 1e3 * y);
    let keel: Vec<Point> = case.keel.iter().map(|&(x, half)| mm(x, half)).collect();
    let slot = Rect::from_points(mm(case.slot.x0, case.slot.y0), mm(case.slot.x1, case.slot.y1));
    let bounds = keel.iter().fold(slot, |b, p| b.union_pt(*p));
    let half = bounds.y1;
    let wide = (SECTION_PITCH * case.places.len() as f64).max(bounds.width());
    // The tallest section over the base of its own row.
    let drawn = 1e3 * options.log_depth + SHOWN_ABOVE;
    let row = -half - 2.5 * GAP - drawn;
    let sheet = Rect::new(bounds.x0 - GAP, row - 1.8 * GAP, bounds.x0 + wide + GAP, half + 2.5 * GAP);
    let mut space = Space::new(sheet, CELL);
    let mut draw = |drawing: &mut Drawing, layer, path: BezPath| {
        space.take(&path);
        drawing.path(layer, path);
    };
    for side in [1.0, -1.0] {
        draw(&mut drawing, sides, line(keel.iter().map(|p| Point::new(p.x, side * p.y)), false));
    }
    draw(&mut drawing, slots, slot.to_path(1e-3));
    let ends = [bounds.x0 - 0.3 * GAP, bounds.x1 + 0.3 * GAP];
    draw(&mut drawing, grid, line(ends.map(|x| Point::new(x, 0.0)), false));
    let mut blocks: Vec<(Vec<String>, Point)> = Vec::new();
    let mut left = f64::NEG_INFINITY;
    for at in &case.places {
        let x = 1e3 * at.x;
        let reach = half + 0.25 * GAP;
        draw(&mut drawing, grid, line([-reach, reach].map(|y| Point::new(x, y)), false));
        let place = match at.place.ends_with("end") {
            true => at.place.to_uppercase(),
            false => format!("STATION {}", to_ascii(&at.place)),
        };
        let length = |metres: f64| to_ascii(&written(metres, units));
        blocks.push((vec![place.clone(), length(at.x)], Point::new(x, half + 0.6 * GAP)));
        let sided = format!("SIDED {}", length(2.0 * at.half_siding));
        blocks.push((vec![sided], Point::new(x, -half - 0.45 * GAP)));
        left = x.max(left + SECTION_PITCH);
        let origin = Vec2::new(left, row - 1e3 * at.foot);
        for (part, shape) in section(at, options) {
            let layer = if part == Part::Planking { planks } else { sides };
            let closed = part == Part::Log;
            for side in [1.0, -1.0] {
                let turned = Affine::translate(origin) * Affine::scale_non_uniform(1e3 * side, 1e3);
                draw(&mut drawing, layer, turned * line(shape.iter().copied(), closed));
            }
        }
        let labels = vec![
            place,
            format!("FOOT {}", length(at.foot)),
            format!("BEVEL {:.1} DEG", at.bevel.to_degrees()),
            format!("SIDE {} HIGH", length(at.height)),
        ];
        blocks.push((labels, Point::new(left, row - 0.9 * GAP)));
    }
    let (whole, width) = (written(case.length, units), written(case.slot.height(), units));
    let titles = [
        (format!("{boat}, SLOT IN THE KEEL: {} BY {}", to_ascii(&whole), to_ascii(&width)), half + 1.6 * GAP),
        ("BED LOGS AND KEEL IN SECTION".to_owned(), row + drawn + 0.5 * GAP),
    ];
    for (title, y) in titles {
        let near = Point::new(bounds.x0 + 0.3 * wide, y);
        write_block(&mut drawing, letters, &mut space, &[title], near, &[20.0, 14.0, 10.0]);
    }
    for (lines, near) in blocks {
        write_block(&mut drawing, letters, &mut space, &lines, near, &HEIGHTS);
    }
    drawing
}

/// The sides of the case are broken off this far above the logs in section, mm.
const SHOWN_ABOVE: f64 = 40.0;
/// Planking shown outside the log, m.
const PLANKING_SHOWN_M: f64 = 0.04;
/// Keel shown below the bearding line, m.
const KEEL_SHOWN_M: f64 = 0.03;

/// What a line of a section belongs to.
#[derive(Clone, Copy, PartialEq)]
enum Part {
    Log,
    Keel,
    Planking,
}

/// One half in section, (y, z) m: the log, the keel beside the slot, and the inside of the planking.
fn section(at: &CaseAt, options: &CaseOptions) -> Vec<(Part, Vec<Point>)> {
    let (slot, outer) = (0.5 * options.width, 0.5 * options.width + options.log);
    let top = at.foot + options.log_depth;
    let mut log = vec![Point::new(slot, top), Point::new(slot, at.foot)];
    // Where keel or planking lies along the log, the log's own line is drawn.
    let low = at.bearding - KEEL_SHOWN_M;
    let mut keel = vec![Point::new(at.half_siding, low), Point::new(slot, low), Point::new(slot, at.foot)];
    let mut all = Vec::new();
    if outer > at.half_siding {
        log.push(Point::new(at.half_siding, at.foot));
        log.push(Point::new(at.half_siding, at.bearding));
        keel.insert(0, Point::new(at.half_siding, at.bearding));
        let from = Point::new(outer, at.foot_outside);
        all.push((Part::Planking, vec![from, from + PLANKING_SHOWN_M * Vec2::from_angle(at.bevel)]));
    } else {
        keel.insert(0, Point::new(at.half_siding, at.foot));
        if outer < at.half_siding {
            keel.insert(0, Point::new(outer, at.foot));
        }
    }
    log.push(Point::new(outer, at.foot_outside));
    log.push(Point::new(outer, top));
    all.push((Part::Log, log));
    all.push((Part::Keel, keel));
    all
}
