//! The transom as a drawing to cut from: the larger face is the outline, the other is marked on it.

use kurbo::{
    Affine, BezPath, Line, ParamCurve, ParamCurveDeriv, ParamCurveNearest, PathSeg, Point, Shape as _, Vec2,
};
use scrieve_loft::MarkKind;
use scrieve_loft::transom::Transom;

use crate::moulds::{CELL, MARK_HEIGHTS, NAME_HEIGHTS, write_beside, write_block};
use crate::space::Space;
use crate::{Drawing, Operation, to_ascii};

/// The transom, mm at full size, looking forward at its after face; a curved one rolled out.
pub fn transom_drawing(transom: &Transom) -> Drawing {
    let name = to_ascii(&transom.name);
    let mut drawing = Drawing::new("transom", format!("{name}, transom"));
    let outline = drawing.layer("Outlines", Operation::CutOutside);
    let other = drawing.layer("Other face", Operation::Mark);
    let marks = drawing.layer("Marks", Operation::Mark);
    let letters = drawing.layer("Letters", Operation::Engrave);
    let full = |path: &BezPath| Affine::scale(1e3) * path.clone();

    let mut labelled = Vec::new();
    let (after, forward) = (full(&transom.outline()), full(&transom.inner_outline()));
    let forward_is_larger = forward.area().abs() > after.area().abs();
    let cut = full(&transom.blank());
    let mut space = Space::new(cut.bounding_box(), CELL);
    space.keep_to(&cut, &[]);
    drawing.path(outline, cut.clone());
    // The face that is cut to shows only where the other's top is higher.
    for (face, label) in [(&after, "AFTER FACE"), (&forward, "FORWARD FACE")] {
        space.take(face);
        if *face != cut {
            drawing.path(other, face.clone());
            labelled.push((label, face.clone()));
        }
    }
    for mark in &transom.marks {
        let path = full(&mark.path);
        space.take(&path);
        drawing.path(marks, path);
    }

    let middle = cut.bounding_box().center();
    for b in &transom.bevels {
        // A waterline's own line shows where its bevel is.
        if transom.marks.iter().all(|mark| mark.label != b.at)
            && let Some(tick) = tick(&after, Affine::scale(1e3) * b.spot, middle)
        {
            space.take(&tick);
            drawing.path(marks, tick);
        }
    }
    let shape = match transom.radius {
        Some(radius) => format!("ROLLED OUT, RADIUS {:.0} MM", radius * 1e3),
        None => "FLAT".to_owned(),
    };
    let larger = if forward_is_larger { "FORWARD" } else { "AFTER" };
    let lines = [
        name,
        "TRANSOM, AFTER FACE".to_owned(),
        format!("{shape}, RAKE {:.1} DEG", transom.rake.to_degrees()),
        format!("{:.1} MM THICK, PLANKING {:.1} MM OFF", transom.thickness * 1e3, transom.planking * 1e3),
        format!("CUT TO THE {larger} FACE"),
    ];
    write_block(&mut drawing, letters, &mut space, &lines, middle, &NAME_HEIGHTS);
    for b in &transom.bevels {
        let spot = Point::new(b.spot.x * 1e3, b.spot.y * 1e3);
        let text = format!("{:.1} DEG, {:+.1} MM", b.in_the_wood.to_degrees(), b.rise * 1e3);
        let text = [to_ascii(&b.at).to_uppercase(), text];
        write_block(&mut drawing, letters, &mut space, &text, spot, &MARK_HEIGHTS);
    }
    for (label, face) in &labelled {
        write_beside(&mut drawing, letters, &mut space, label, face);
    }
    for mark in &transom.marks {
        let label = if mark.kind == MarkKind::Centreline { "CL" } else { mark.label.as_str() };
        write_beside(&mut drawing, letters, &mut space, &to_ascii(label), &full(&mark.path));
    }
    drawing
}

/// Length of the tick at a bevel, mm: seen, and clear of the letters beside it.
const TICK_MM: f64 = 12.0;

/// A tick square to an edge from the spot of it nearest `at`, on the side of `within`.
fn tick(edge: &BezPath, at: Point, within: Point) -> Option<BezPath> {
    let segments = edge.segments().map(|segment| (segment, segment.nearest(at, 1e-3)));
    let (segment, nearest) = segments.min_by(|a, b| a.1.distance_sq.total_cmp(&b.1.distance_sq))?;
    let from = segment.eval(nearest.t);
    let along = match segment {
        PathSeg::Line(line) => line.deriv().eval(nearest.t),
        PathSeg::Quad(quad) => quad.deriv().eval(nearest.t),
        PathSeg::Cubic(cubic) => cubic.deriv().eval(nearest.t),
    };
    let square = Vec2::new(-along.y, along.x).normalize();
    let way = if square.dot(within - from) < 0.0 { -TICK_MM } else { TICK_MM };
    Some(BezPath::from_iter(Line::new(from, from + way * square).path_elements(1e-3)))
}
