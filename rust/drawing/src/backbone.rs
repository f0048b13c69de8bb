//! The backbone as drawings, mm at full size: the assembly in profile, each piece to cut, the keel in plan
//! and sections of the rabbet.

use kurbo::{Affine, BezPath, ParamCurve, ParamCurveNearest, PathSeg, Point, Rect, Shape as _, Vec2};
use scrieve_loft::backbone::{Backbone, BackbonePiece, RabbetSection};
use scrieve_loft::flat::Bottom;
use scrieve_loft::{MarkKind, written};
use scrieve_notation::Units;

use crate::leads::Leads;
use crate::moulds::{CELL, MARK_HEIGHTS, NAME_HEIGHTS, in_lines, write_beside, write_block};
use crate::space::Space;
use crate::told::{along_the_board, count_of, write_grain};
use crate::{Anchor, Drawing, Operation, Part, Stroke, to_ascii};

/// Everything drawn of a backbone: the assembly, each piece, the keel in plan, the rabbet's sections; of a flat-bottomed
/// boat her bottom laid flat, and what she has besides.
pub fn backbone_drawings(backbone: &Backbone) -> Vec<Drawing> {
    let mut drawings = Vec::new();
    if !backbone.pieces.is_empty() || backbone.bottom.is_some() {
        drawings.push(assembly(backbone));
    }
    drawings.extend(backbone.pieces.iter().map(|piece| piece_drawing(backbone, piece)));
    drawings.extend(
        backbone.bottom.as_ref().map(|bottom| bottom_drawing(&backbone.name, bottom, backbone.units)),
    );
    if !backbone.plan.is_empty() {
        drawings.push(keel_plan(backbone));
    }
    if !backbone.sections.is_empty() {
        drawings.push(rabbet_sections(backbone));
    }
    drawings
}

/// Room left round a drawing for its labels, mm.
const MARGIN: f64 = 120.0;
/// Dash and gap of a line where no reading is near, mm on paper.
const UNREAD_DASHES: [f64; 2] = [2.0, 1.1];
/// Labels of sections and of the keel in plan, mm high.
const LABEL: f64 = 6.0;
/// Height of the letters of the assembly, mm: it is looked at whole.
const ASSEMBLY_MM: f64 = 36.0;
/// Heights of its names tried: between stations close together the smaller find room.
const ASSEMBLY_HEIGHTS: [f64; 3] = [ASSEMBLY_MM, 0.75 * ASSEMBLY_MM, 0.5 * ASSEMBLY_MM];
/// Length of planking drawn beside a rabbet's section, mm.
const PLANK_MM: f64 = 70.0;
/// Clear space between sections, mm.
const GAP_MM: f64 = 30.0;
/// Plumb cuts tried for a spot well inside a piece.
const INSIDE_CUTS: u8 = 12;
/// A line is named where it is at least so much of its greatest distance from its neighbours apart from them,
const WELL_APART: f64 = 0.6;
/// at one of so many spots,
const LED_TO: usize = 6;
/// which stand so far from one another, mm.
const NEXT_SPOT_MM: f64 = 100.0;
/// Spots the base line is named at, over its length.
const BASE_SPOTS: u8 = 12;
/// Lines a nibbed joint is made of: two nibs and the slope between them.
const NIBBED_JOINT: usize = 3;
/// Sections stand this many to a row.
const PER_ROW: usize = 6;

fn full(path: &BezPath) -> BezPath {
    Affine::scale(1e3) * path.clone()
}

fn mm(p: Point) -> Point {
    Affine::scale(1e3) * p
}

/// Stem, keel and stern together in profile, to look at and to measure from.
fn assembly(backbone: &Backbone) -> Drawing {
    let name = to_ascii(&backbone.name);
    let mut drawing = Drawing::new("backbone", format!("{name}, backbone in profile"));
    let pieces = drawing.layer_drawn("Pieces", Operation::Annotate, Stroke::solid(0.5, [0, 0, 0]));
    let lines = drawing.layer_drawn("Rabbet lines", Operation::Annotate, Stroke::solid(0.25, [0, 102, 204]));
    let grid = drawing.layer_drawn("Grid", Operation::Annotate, Stroke::solid(0.13, [120, 120, 120]));
    let letters = drawing.layer("Letters", Operation::Annotate);
    let outlines: Vec<BezPath> = backbone.pieces.iter().map(|p| full(&p.outline)).collect();
    let bottom = backbone.bottom.as_ref().map(|bottom| full(&bottom.profile));
    let all = outlines.iter().chain(&bottom).map(|p| p.bounding_box());
    let bounds = all.reduce(|a, b| a.union(b)).unwrap_or_default();
    let sheet = bounds.inflate(MARGIN, MARGIN);
    // Squares as fine as half a small letter, and few enough for a keel of any length.
    let mut space = Space::new(sheet, 4.0);
    for (piece, outline) in backbone.pieces.iter().zip(&outlines) {
        space.take(outline);
        // Stem and sternpost close along the joint, which the keel has drawn.
        let shared = backbone.bottom.is_none() && ["stem", "sternpost"].contains(&piece.name);
        let joint = if backbone.nib > 0.0 { NIBBED_JOINT } else { 1 };
        let drawn = outline.elements().len() - if shared { joint } else { 0 };
        let is_assumed = backbone.assumed.contains(&piece.name);
        let pieces = if is_assumed {
            drawing.layer_drawn(
                "Pieces unread",
                Operation::Annotate,
                Stroke::solid(0.5, [0, 0, 0]).dashed(&UNREAD_DASHES),
            )
        } else {
            pieces
        };
        drawing.path(pieces, outline.elements().iter().take(drawn).copied().collect::<BezPath>());
    }
    if let Some(line) = &bottom {
        space.take(line);
        drawing.path(pieces, line.clone());
    }
    let rabbet: Vec<BezPath> = backbone.lines.iter().map(full).collect();
    let mut drawn_before: Vec<PathSeg> = Vec::new();
    for line in rabbet.iter().filter(|line| !line.elements().is_empty()) {
        space.take(line);
        for (part, is_read) in parts_read(line, &backbone.unread) {
            let layer = if is_read {
                lines
            } else {
                drawing.layer_drawn(
                    "Rabbet lines unread",
                    Operation::Annotate,
                    Stroke::solid(0.25, [0, 102, 204]).dashed(&UNREAD_DASHES),
                )
            };
            // Where two of the lines run in one, as they may at a head, it is drawn once.
            let part = apart_from(&part, &drawn_before);
            if !part.elements().is_empty() {
                drawing.path(layer, part);
            }
        }
        drawn_before.extend(line.segments());
    }
    let across = |from: Point, to: Point| BezPath::from_iter(kurbo::Line::new(from, to).path_elements(0.1));
    let height = ASSEMBLY_MM;
    // Those on stem and post among them; a transom overhangs the last.
    let on_it = |x: f64| (bounds.x0..=bounds.x1).contains(&(x * 1e3));
    for (station, x) in backbone.stations.iter().filter(|(_, x)| on_it(*x)) {
        let x = x * 1e3;
        let plumb = across(Point::new(x, sheet.y0 + 1.5 * height), Point::new(x, bounds.y1));
        space.take(&plumb);
        drawing.path(grid, plumb);
        drawing.text(letters, Point::new(x, sheet.y0), height, 0.0, Anchor::Middle, to_ascii(station));
    }
    space.take_box(Rect::new(sheet.x0, sheet.y0, sheet.x1, sheet.y0 + 1.5 * height));
    let base_line = kurbo::Line::new((bounds.x0, 0.0), (bounds.x1, 0.0));
    let base = across(base_line.p0, base_line.p1);
    space.take(&base);
    drawing.path(grid, base);
    let leads = drawing.layer_drawn("Leads", Operation::Annotate, Stroke::solid(0.18, [90, 90, 90]));
    let mut named = Leads::longer_than(0.0).level();
    let mut name_led = |text: &str, spots: &[Point]| {
        named.write(&mut drawing, [letters, leads], &mut space, &[text.to_owned()], spots, &ASSEMBLY_HEIGHTS);
    };
    // The base line first, which only its ends show clear of the keel.
    let on_base = (0..=BASE_SPOTS).map(|i| base_line.eval(f64::from(i) / f64::from(BASE_SPOTS)));
    let clear = |p: &Point| outlines.iter().all(|outline| off(outline, *p) > height);
    let (clear, other): (Vec<Point>, Vec<Point>) = on_base.partition(clear);
    name_led("BASE LINE", if clear.is_empty() { &other } else { &clear });
    for piece in &backbone.pieces {
        let assumed = if backbone.assumed.contains(&piece.name) { ", ASSUMED" } else { "" };
        name_led(&format!("{}{assumed}", piece.name.to_uppercase()), &[inside(&full(&piece.outline))]);
    }
    if let Some(line) = bottom.as_ref().and_then(|line| line.segments().nth(line.segments().count() / 2)) {
        name_led("BOTTOM", &[line.eval(0.5)]);
    }
    for (i, name) in ["RABBET LINE", "BEARDING LINE", "MIDDLE LINE"].into_iter().enumerate() {
        let others: Vec<&BezPath> =
            rabbet.iter().enumerate().filter(|(k, _)| *k != i).map(|(_, l)| l).collect();
        let spots = clearest(&rabbet[i], &others);
        if !spots.is_empty() {
            name_led(name, &spots);
        }
    }
    let is_dashed = |layer: &crate::Layer| !layer.stroke.dashes_mm.is_empty();
    if drawing.layers.iter().any(is_dashed) {
        let says = "DASHED: NO READING NEAR, OR ASSUMED";
        let at = Point::new(sheet.x0, sheet.y0 - 2.0 * height);
        drawing.text(letters, at, height, 0.0, Anchor::Start, says);
    }
    drawing
}

/// A line of the rabbet parted at the ends of the stretches that are not read, and whether each part is.
fn parts_read(line: &BezPath, unread: &[(Point, Point)]) -> Vec<(BezPath, bool)> {
    let segments: Vec<_> = line.segments().collect();
    // Segments passed, and the part of the next.
    let place = |p: Point| {
        let near = segments.iter().enumerate().map(|(i, s)| (i, s.nearest(p, 1e-3)));
        let near = near.min_by(|a, b| a.1.distance_sq.total_cmp(&b.1.distance_sq));
        near.map_or(0.0, |(i, found)| i as f64 + found.t)
    };
    let mut dashed: Vec<(f64, f64)> = unread.iter().map(|(a, b)| (place(mm(*a)), place(mm(*b)))).collect();
    dashed.iter_mut().for_each(|d| *d = (d.0.min(d.1), d.0.max(d.1)));
    dashed.sort_by(|a, b| a.0.total_cmp(&b.0));
    let part = |from: f64, to: f64| {
        let mut path = BezPath::new();
        for (i, segment) in segments.iter().enumerate() {
            let (a, b) = ((from - i as f64).max(0.0), (to - i as f64).min(1.0));
            if b - a > 1e-6 {
                let piece = segment.subsegment(a..b);
                if path.segments().last().is_none_or(|last| last.end().distance(piece.start()) > 1e-6) {
                    path.move_to(piece.start());
                }
                path.push(piece.as_path_el());
            }
        }
        path
    };
    let (mut parts, mut at) = (Vec::new(), 0.0);
    for (from, to) in dashed {
        parts.push((part(at, from), true));
        parts.push((part(from.max(at), to), false));
        at = to.max(at);
    }
    parts.push((part(at, segments.len() as f64), true));
    parts.retain(|(path, _)| !path.elements().is_empty());
    parts
}

/// A point well inside an outline: the middle of the longest of a few plumb cuts.
fn inside(outline: &BezPath) -> Point {
    let bounds = outline.bounding_box();
    let cuts = (1..INSIDE_CUTS).flat_map(|i| {
        let part = f64::from(i) / f64::from(INSIDE_CUTS);
        let x = bounds.x0 + part * bounds.width();
        let plumb = kurbo::Line::new((x, bounds.y0 - 1.0), (x, bounds.y1 + 1.0));
        let mut ys: Vec<f64> = outline
            .segments()
            .flat_map(|segment| segment.intersect_line(plumb))
            .map(|hit| plumb.eval(hit.line_t).y)
            .collect();
        ys.sort_by(f64::total_cmp);
        // Where a cut only touches the outline its crossings are odd, and it says nothing.
        let pairs = if ys.len().is_multiple_of(2) { ys } else { Vec::new() };
        pairs
            .chunks_exact(2)
            .map(|pair| (pair[1] - pair[0], Point::new(x, 0.5 * (pair[0] + pair[1]))))
            .collect::<Vec<_>>()
    });
    cuts.max_by(|a, b| a.0.total_cmp(&b.0)).map_or(bounds.center(), |(_, at)| at)
}

/// Ends this near, mm, are the same.
const SAME_MM: f64 = 0.02;

/// A path without those of its segments that are among others already drawn.
fn apart_from(path: &BezPath, drawn: &[PathSeg]) -> BezPath {
    let same = |a: Point, b: Point| a.distance(b) < SAME_MM;
    let mut apart = BezPath::new();
    let mut pen = None;
    for segment in path.segments() {
        let is_drawn = |other: &PathSeg| {
            let ends = same(segment.start(), other.start()) && same(segment.end(), other.end());
            ends && same(segment.eval(0.5), other.eval(0.5))
        };
        if drawn.iter().any(is_drawn) {
            pen = None;
            continue;
        }
        if pen != Some(segment.start()) {
            apart.move_to(segment.start());
        }
        apart.push(segment.as_path_el());
        pen = Some(segment.end());
    }
    apart
}

/// Spots of a line where it is well apart from the other lines, the farthest from them first; none of a line without length.
fn clearest(line: &BezPath, others: &[&BezPath]) -> Vec<Point> {
    let segments: Vec<_> = line.segments().collect();
    let spots = segments.iter().flat_map(|segment| [0.25, 0.75].map(|t| segment.eval(t)));
    let apart = |p: Point| others.iter().map(|other| off(other, p)).fold(f64::INFINITY, f64::min);
    let mut spots: Vec<(f64, Point)> = spots.map(|p| (apart(p), p)).collect();
    spots.sort_by(|a, b| b.0.total_cmp(&a.0));
    let most = spots.first().map_or(0.0, |(apart, _)| *apart);
    let mut chosen: Vec<Point> = Vec::new();
    for (apart, p) in spots {
        let is_new = chosen.iter().all(|other| other.distance(p) > NEXT_SPOT_MM);
        if apart >= WELL_APART * most && is_new && chosen.len() < LED_TO {
            chosen.push(p);
        }
    }
    chosen
}

/// How far a spot is off a path.
fn off(path: &BezPath, p: Point) -> f64 {
    path.segments().map(|segment| segment.nearest(p, 0.1).distance_sq).fold(f64::INFINITY, f64::min).sqrt()
}

fn piece_drawing(backbone: &Backbone, piece: &BackbonePiece) -> Drawing {
    let boat = to_ascii(&backbone.name);
    let file = piece.name.replace(' ', "-");
    let mut drawing = Drawing::new(file, format!("{boat}, {}", piece.name));
    let cut = drawing.layer("Outlines", Operation::CutOutside);
    let marks = drawing.layer("Marks", Operation::Mark);
    let letters = drawing.layer("Letters", Operation::Engrave);
    let outline = full(&piece.outline);
    let mut space = Space::new(outline.bounding_box(), CELL);
    space.keep_to(&outline, &[]);
    let told = Part {
        name: piece.name.to_owned(),
        count: 1,
        thickness_mm: (piece.sided > 0.0).then_some(1e3 * piece.sided),
        face: "side".to_owned(),
        grain: along_the_board(&outline),
        ..Part::default()
    };
    drawing.part(cut, outline.clone(), told.clone());
    for mark in &piece.marks {
        let path = full(&mark.path);
        space.take(&path);
        drawing.path(marks, path);
    }
    let (least, most) = piece.moulded;
    let size = |metres: f64| format!("{:.0}", metres * 1e3);
    let moulded = match least == most {
        true => format!("{} MM", size(most)),
        false => format!("{} TO {} MM", size(least), size(most)),
    };
    let sizes = match piece.sided > 0.0 {
        true => format!("SIDED {} MM, MOULDED {}", size(piece.sided), moulded),
        false => format!("MOULDED {moulded}"),
    };
    let mut lines = in_lines(&format!("{boat}, {}", piece.name.to_uppercase()));
    lines.push(sizes);
    if backbone.assumed.contains(&piece.name) {
        lines.push("ASSUMED, NOT MEASURED".to_owned());
    }
    match piece.arms_at {
        Some(angle) => lines.push(format!("ARMS AT {:.1} DEG", angle.to_degrees())),
        // What stands on a flat bottom is scarfed to nothing, and a keelson lies on the keel.
        None if backbone.bottom.is_some() || piece.name == "keelson" => {}
        _ if backbone.nib > 0.0 => {
            lines.push(format!("SCARF {} MM, NIBS {} MM", size(backbone.scarf), size(backbone.nib)));
        }
        _ => lines.push(format!("SCARF {} MM", size(backbone.scarf))),
    }
    lines.push(count_of(&told));
    let at = outline.bounding_box().center();
    write_block(&mut drawing, letters, &mut space, &lines, at, &NAME_HEIGHTS);
    write_grain(&mut drawing, letters, &mut space, told.grain, at);
    for mark in &piece.marks {
        // A mark in several stretches is named on each: a line of them may be metres apart.
        for stretch in stretches(&full(&mark.path)) {
            write_beside(&mut drawing, letters, &mut space, &to_ascii(&mark.label), &stretch);
            if mark.kind != MarkKind::Waterline {
                break;
            }
        }
    }
    drawing
}

/// A flat bottom laid flat, forward end to the left: its outline, the stations across it and the centreline.
fn bottom_drawing(boat: &str, bottom: &Bottom, units: Units) -> Drawing {
    let boat = to_ascii(boat);
    let mut drawing = Drawing::new("bottom", format!("{boat}, bottom laid flat"));
    let cut = drawing.layer("Outlines", Operation::CutOutside);
    let marks = drawing.layer("Marks", Operation::Mark);
    let letters = drawing.layer("Letters", Operation::Engrave);
    let outline = full(&bottom.outline);
    let mut space = Space::new(outline.bounding_box(), CELL);
    space.keep_to(&outline, &[]);
    let face = if bottom.to_inside { "INNER" } else { "OUTER" };
    let told = Part {
        name: "bottom".to_owned(),
        count: 1,
        face: format!("{} face", face.to_lowercase()),
        ..Part::default()
    };
    let count = count_of(&told);
    drawing.part(cut, outline.clone(), told);
    let line = |from: Point, to: Point| BezPath::from_iter(kurbo::Line::new(from, to).path_elements(0.1));
    let (left, right) = (outline.bounding_box().x0, outline.bounding_box().x1);
    let middle = line(Point::new(left + INSET_MM, 0.0), Point::new(right - INSET_MM, 0.0));
    let mut labelled = vec![("CENTRELINE".to_owned(), middle)];
    for at in &bottom.stations {
        let (x, half) = (at.along * 1e3, at.half_breadth * 1e3 - INSET_MM);
        if half > INSET_MM {
            labelled.push((format!("ST {}", at.station), line(Point::new(x, -half), Point::new(x, half))));
        }
    }
    for (_, path) in &labelled {
        space.take(path);
        drawing.path(marks, path.clone());
    }
    let lines = [
        format!("{boat}, BOTTOM LAID FLAT"),
        format!("TO THE PLANKING'S {face} FACE"),
        format!("{} LONG, {} BROAD", written(bottom.length, units), written(bottom.breadth, units)),
        count,
    ];
    write_block(&mut drawing, letters, &mut space, &lines, outline.bounding_box().center(), &NAME_HEIGHTS);
    for at in &bottom.stations {
        let lines = [
            format!("ST {}: {} FROM BOW", at.station, written(at.along, units)),
            format!("HALF-BREADTH {}", written(at.half_breadth, units)),
            format!("SIDE AT {:.1} DEG", at.side_angle.to_degrees()),
        ];
        let near = Point::new(at.along * 1e3 + STATION_MM, 0.5e3 * at.half_breadth);
        write_block(&mut drawing, letters, &mut space, &lines.map(|l| to_ascii(&l)), near, &MARK_HEIGHTS);
    }
    for (label, path) in &labelled {
        write_beside(&mut drawing, letters, &mut space, &to_ascii(label), path);
    }
    drawing
}

/// Lines on a bottom stop this far short of its edge, mm.
const INSET_MM: f64 = 1.0;
/// What is written of a station of a bottom stands about so far abaft it, mm.
const STATION_MM: f64 = 40.0;

fn stretches(path: &BezPath) -> Vec<BezPath> {
    let mut out: Vec<BezPath> = Vec::new();
    for el in path.elements() {
        match (el, out.last_mut()) {
            (kurbo::PathEl::MoveTo(_), _) | (_, None) => out.push(BezPath::from_vec(vec![*el])),
            (_, Some(last)) => last.push(*el),
        }
    }
    out
}

/// The keel from above: its sides, the depth of the rabbet in from them, and the stations.
fn keel_plan(backbone: &Backbone) -> Drawing {
    let name = to_ascii(&backbone.name);
    let mut drawing = Drawing::new("keel-plan", format!("{name}, keel in plan"));
    let sides = drawing.layer_drawn("Sides", Operation::Annotate, Stroke::solid(0.5, [0, 0, 0]));
    let middle = drawing.layer_drawn("Middle line", Operation::Annotate, Stroke::solid(0.25, [0, 102, 204]));
    let grid = drawing.layer_drawn("Stations", Operation::Annotate, Stroke::solid(0.13, [120, 120, 120]));
    let letters = drawing.layer("Letters", Operation::Annotate);
    let out = |of: &dyn Fn(&scrieve_loft::backbone::PlanSpot) -> f64, side: f64| -> Vec<Point> {
        backbone.plan.iter().map(|s| mm(Point::new(s.x, side * of(s)))).collect()
    };
    let mut ring = out(&|s| s.half_siding, 1.0);
    ring.extend(out(&|s| s.half_siding, -1.0).into_iter().rev());
    drawing.polyline(sides, ring, true);
    for side in [1.0, -1.0] {
        drawing.polyline(middle, out(&|s| s.middle, side), false);
    }
    if let (Some(first), Some(last)) = (backbone.plan.first(), backbone.plan.last()) {
        drawing.line(grid, Point::new(first.x * 1e3 - 20.0, 0.0), Point::new(last.x * 1e3 + 20.0, 0.0));
    }
    let widest = backbone.plan.iter().map(|spot| spot.half_siding * 1e3).fold(0.0, f64::max);
    for k in &backbone.keel {
        let (x, h) = (k.x * 1e3, widest + 20.0);
        drawing.line(grid, Point::new(x, -h), Point::new(x, h));
        drawing.text(letters, Point::new(x, h + 5.0), 2.0 * LABEL, 0.0, Anchor::Middle, to_ascii(&k.station));
        let sizes = [
            format!("SIDED {}", written(2.0 * k.rabbet.half_siding, backbone.units)),
            format!("MIDDLE {} OUT", written(k.rabbet.middle.x, backbone.units)),
        ];
        for (i, size) in sizes.iter().enumerate() {
            let at = Point::new(x, -h - (2.0 + 1.6 * i as f64) * LABEL);
            drawing.text(letters, at, LABEL, 0.0, Anchor::Middle, to_ascii(size));
        }
    }
    if let Some(first) = backbone.plan.first() {
        let lines = [
            format!("{name}, KEEL FROM ABOVE AT FULL SIZE: SIDES IN BLACK"),
            "BLUE: MIDDLE LINE, HOW FAR IN THE RABBET GOES".to_owned(),
        ];
        for (i, line) in lines.iter().enumerate() {
            let at = Point::new(first.x * 1e3, widest + 60.0 + (2.0 - 3.0 * i as f64) * LABEL);
            drawing.text(letters, at, 1.5 * LABEL, 0.0, Anchor::Start, line);
        }
    }
    drawing
}

/// Full-size sections through the rabbet, in rows.
fn rabbet_sections(backbone: &Backbone) -> Drawing {
    let name = to_ascii(&backbone.name);
    let mut drawing = Drawing::new("rabbet-sections", format!("{name}, sections of the rabbet"));
    let solid = |width, rgb| Stroke::solid(width, rgb);
    let wood = drawing.layer_drawn("Sections", Operation::Annotate, solid(0.5, [0, 0, 0]));
    let planks = drawing.layer_drawn("Planking", Operation::Annotate, solid(0.25, [0, 102, 204]));
    let letters = drawing.layer("Letters", Operation::Annotate);
    let boxes: Vec<Rect> = backbone.sections.iter().map(section_bounds).collect();
    let mut top = 0.0;
    for (row, row_boxes) in backbone.sections.chunks(PER_ROW).zip(boxes.chunks(PER_ROW)) {
        let height = row_boxes.iter().map(Rect::height).fold(0.0, f64::max);
        let mut left = 0.0;
        for (section, bounds) in row.iter().zip(row_boxes) {
            let origin = Vec2::new(left - bounds.x0, top - bounds.y1);
            for (layer, points, closed) in [(wood, wood_ring(section), true)]
                .into_iter()
                .chain([1.0, -1.0].map(|side| (planks, plank(section, side), false)))
            {
                drawing.polyline(layer, points.into_iter().map(|p| p + origin), closed);
            }
            let labels = [
                to_ascii(&section.label),
                format!("PLANK {:.1} DEG FROM SIDE", section.rabbet.angle.to_degrees()),
                format!(
                    "SIDED {:.1}, MOULDED {:.1} MM",
                    section.rabbet.half_siding * 2e3,
                    (section.upper - section.lower) * 1e3
                ),
                format!("RABBET {:.1} MM DEEP", section.rabbet.depth() * 1e3),
            ];
            for (i, label) in labels.into_iter().enumerate() {
                let at =
                    Point::new(left + bounds.width() / 2.0, top - height - (1.7 * i as f64 + 2.0) * LABEL);
                drawing.text(letters, at, LABEL, 0.0, Anchor::Middle, label);
            }
            left += bounds.width().max(28.0 * LABEL) + GAP_MM;
        }
        top -= height + 9.0 * LABEL + GAP_MM;
    }
    drawing
}

/// The piece across: up its side to the rabbet line, in to the middle, out to the bearding, and on up.
fn wood_ring(section: &RabbetSection) -> Vec<Point> {
    let r = &section.rabbet;
    let half = r.half_siding;
    let right = [
        Point::new(half, section.lower),
        r.rabbet,
        r.middle,
        r.bearding,
        Point::new(half, section.upper.max(r.bearding.y)),
    ];
    let left = right.iter().rev().map(|p| Point::new(-p.x, p.y));
    right.into_iter().chain(left).map(mm).collect()
}

/// The plank in the rabbet on one side, its run beside the piece taken as straight.
fn plank(section: &RabbetSection, side: f64) -> Vec<Point> {
    let r = &section.rabbet;
    let along = Vec2::new(r.angle.sin(), r.angle.cos()) * PLANK_MM;
    let (low, apex) = (mm(r.rabbet), mm(r.middle));
    [low + along, low, apex, apex + along].map(|p| Point::new(side * p.x, p.y)).to_vec()
}

fn section_bounds(section: &RabbetSection) -> Rect {
    let all = wood_ring(section).into_iter().chain(plank(section, 1.0)).chain(plank(section, -1.0));
    all.fold(Rect::from_points(Point::ZERO, Point::new(0.0, section.lower * 1e3)), |b, p| b.union_pt(p))
}
