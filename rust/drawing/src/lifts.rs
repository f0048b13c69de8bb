//! The lifts of a half model as drawings to cut from, and her profile to carve them to.

use kurbo::{Affine, BezPath, Line, Point, Shape as _, Vec2};
use scrieve_loft::lifts::{Lift, LiftPiece, Lifts};

use crate::moulds::{MARK_HEIGHTS, NAME_HEIGHTS, in_lines, write_beside, write_block};
use crate::space::Space;
use crate::told::{tenths, write_grain};
use crate::{Anchor, Drawing, Operation, Part, to_ascii};

/// Squares room for letters is counted in, mm: models are small.
const CELL_MM: f64 = 1.0;

/// Marks end so far off the edge, mm: a mark that meets the cut is torn.
const OFF_EDGE_MM: f64 = 0.8;

/// Letters of the profile, mm.
const PROFILE_LETTERS_MM: f64 = 3.5;

/// Clear space round the profile's letters, mm.
const APART_MM: f64 = 6.0;

/// How the model is made of its lifts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Model {
    /// Starboard half, flat on its back.
    Half,
    /// Both sides in one.
    Whole,
}

/// A drawing a lift, from the keel up, seen from above with her bow to the left, mm on the model.
pub fn lift_drawings(made: &Lifts, model: Model) -> Vec<Drawing> {
    made.lifts.iter().map(|lift| lift_drawing(made, lift, model)).collect()
}

fn lift_drawing(made: &Lifts, lift: &Lift, model: Model) -> Drawing {
    let boat = to_ascii(&made.name);
    let count = made.lifts.len();
    let mut drawing = Drawing::new(
        format!("lift-{}", lift.number),
        format!("{boat}, lift {} of {count}, 1:{}", lift.number, made.scale),
    );
    for (name, operation) in [
        ("Outlines", Operation::CutOutside),
        ("Finished", Operation::Mark),
        ("Marks", Operation::Mark),
        ("Letters", Operation::Engrave),
    ] {
        drawing.layer(name, operation);
    }
    for (i, piece) in lift.pieces.iter().enumerate() {
        let of = match (lift.pieces.len(), i) {
            (1, _) => String::new(),
            (_, 0) => " fore".to_owned(),
            (n, i) if i + 1 == n => " aft".to_owned(),
            (_, i) => format!(" {}", i + 1),
        };
        piece_drawn(&mut drawing, made, lift, piece, &of, model);
    }
    drawing
}

fn piece_drawn(drawing: &mut Drawing, made: &Lifts, lift: &Lift, piece: &LiftPiece, of: &str, model: Model) {
    let [cut, finished, marks, letters] = [0, 1, 2, 3];
    let mm = Affine::scale(1e3);
    let outline = mm * if model == Model::Half { piece.half() } else { piece.whole() };
    let told = Part {
        name: format!("lift {}{of}", lift.number),
        count: 1,
        thickness_mm: Some(1e3 * made.thickness),
        face: "upper face".to_owned(),
        // Boards of a model run along her.
        grain: Some(0.0),
        ..Part::default()
    };
    drawing.part(cut, outline.clone(), told);
    let mut space = Space::new(outline.bounding_box(), CELL_MM);
    space.keep_to(&outline, &[]);
    let sides: &[f64] = if model == Model::Half { &[1.0] } else { &[1.0, -1.0] };
    for side in sides {
        for upper in &piece.upper {
            let path = mm * Affine::scale_non_uniform(1.0, *side) * upper.clone();
            space.take(&path);
            drawing.path(finished, path);
        }
    }
    let edge = mm * piece.edge.clone();
    let bounds = edge.bounding_box();
    let mut named: Vec<(String, BezPath)> = Vec::new();
    if model == Model::Whole {
        let ends = [bounds.x0 + OFF_EDGE_MM, bounds.x1 - OFF_EDGE_MM].map(|x| Point::new(x, 0.0));
        if ends[1].x > ends[0].x {
            named.push((String::new(), Line::new(ends[0], ends[1]).to_path(1e-3)));
        }
    }
    for (name, x) in &made.stations {
        let x = 1e3 * x;
        let is_on = x > bounds.x0 + OFF_EDGE_MM && x < bounds.x1 - OFF_EDGE_MM;
        let out = half_breadth(&edge, x).filter(|out| is_on && *out > 3.0 * OFF_EDGE_MM);
        let Some(out) = out else { continue };
        let foot = if model == Model::Half { OFF_EDGE_MM } else { OFF_EDGE_MM - out };
        let mark = Line::new(Point::new(x, foot), Point::new(x, out - OFF_EDGE_MM));
        named.push((to_ascii(name), mark.to_path(1e-3)));
    }
    for (_, path) in &named {
        space.take(path);
        drawing.path(marks, path.clone());
    }
    // Where there is no room for all of it, what comes first is written first.
    let mut lines = vec![format!("LIFT {} OF {}{}", lift.number, made.lifts.len(), of.to_uppercase())];
    lines.extend(in_lines(&to_ascii(&made.name)));
    lines.extend([
        format!("1:{}, {} MM THICK", tenths(made.scale), tenths(1e3 * made.thickness)),
        match model {
            Model::Half => "STARBOARD, UPPER FACE".to_owned(),
            Model::Whole => "UPPER FACE".to_owned(),
        },
        "< BOW".to_owned(),
    ]);
    for (name, path) in named.iter().filter(|(name, _)| !name.is_empty()) {
        write_beside(drawing, letters, &mut space, name, path);
    }
    let heights: Vec<f64> = NAME_HEIGHTS[1..].iter().chain(&MARK_HEIGHTS[1..]).copied().collect();
    write_block(drawing, letters, &mut space, &lines, bounds.center(), &heights);
    write_grain(drawing, letters, &mut space, Some(0.0), bounds.center());
}

/// How far out an edge lies at a place along it.
fn half_breadth(edge: &BezPath, x: f64) -> Option<f64> {
    use kurbo::ParamCurve as _;
    let up = Line::new(Point::new(x, -1.0), Point::new(x, edge.bounding_box().y1 + 1.0));
    let crossings = edge.segments().flat_map(|segment| {
        segment.intersect_line(up).into_iter().map(move |hit| segment.eval(hit.segment_t).y)
    });
    crossings.reduce(f64::max)
}

/// Her profile at the model's size, with the joints of the lifts: what the glued model is carved to. Nothing of it is cut.
pub fn lift_profile(made: &Lifts) -> Drawing {
    let boat = to_ascii(&made.name);
    let mut drawing =
        Drawing::new("profile", format!("{boat}, profile of the model and its lifts, 1:{}", made.scale));
    let hull = drawing.layer("Profile", Operation::Annotate);
    let joints = drawing.layer("Joints", Operation::Annotate);
    let letters = drawing.layer("Letters", Operation::Annotate);
    let mut all = kurbo::Rect::ZERO;
    for path in &made.profile {
        let path = Affine::scale(1e3) * path.clone();
        all = all.union(path.bounding_box());
        drawing.path(hull, path);
    }
    let height = |z: f64| 1e3 * (z - made.low) / made.scale;
    let (left, right) = (all.x0 - APART_MM, all.x1 + APART_MM);
    let levels = made.lifts.iter().map(|lift| lift.from).chain(made.lifts.last().map(|lift| lift.to));
    for z in levels {
        drawing.line(joints, Point::new(left, height(z)), Point::new(right, height(z)));
    }
    for lift in &made.lifts {
        let middle = 0.5 * (height(lift.from) + height(lift.to));
        let letter = PROFILE_LETTERS_MM.min(0.7 * (height(lift.to) - height(lift.from)));
        let at = Point::new(left - 1.0, middle - 0.5 * letter);
        drawing.text(letters, at, letter, 0.0, Anchor::End, format!("lift {}", lift.number));
    }
    for (name, x) in &made.stations {
        let (foot, head) = (Point::new(1e3 * x, all.y0), Point::new(1e3 * x, all.y1 + APART_MM));
        drawing.line(joints, foot, head);
        let at = head + Vec2::new(0.0, 1.0);
        drawing.text(letters, at, PROFILE_LETTERS_MM, 0.0, Anchor::Middle, to_ascii(name));
    }
    let says = [
        format!(
            "{boat}, model 1:{}: {} lifts of {} mm",
            tenths(made.scale),
            made.lifts.len(),
            tenths(1e3 * made.thickness)
        ),
        "to the rabbet and the sheer: keel, stem and post outside the rabbet are made apart".to_owned(),
    ];
    for (i, line) in says.into_iter().enumerate() {
        let at = Point::new(all.x0, all.y0 - APART_MM - 1.6 * PROFILE_LETTERS_MM * (i + 1) as f64);
        drawing.text(letters, at, PROFILE_LETTERS_MM, 0.0, Anchor::Start, line);
    }
    drawing
}
