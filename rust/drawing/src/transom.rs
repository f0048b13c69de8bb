//! The transom as a drawing to cut from: the outline holds both faces, and each is marked on it where it lies within.

use kurbo::{
    Affine, BezPath, Line, ParamCurve, ParamCurveDeriv, ParamCurveNearest, PathSeg, Point, Shape as _, Vec2,
};
use scrieve_loft::MarkKind;
use scrieve_loft::transom::Transom;

use crate::inside::faces_on;
use crate::leads::Leads;
use crate::moulds::{CELL, MARK_HEIGHTS, NAME_HEIGHTS, in_lines, write_beside, write_block};
use crate::space::Space;
use crate::told::{count_of, write_grain};
use crate::{Drawing, Operation, Part, to_ascii};

/// The transom, mm at full size, looking at its outer face: forward, of a bow transom aft; a curved one rolled out.
pub fn transom_drawing(transom: &Transom) -> Drawing {
    let name = to_ascii(&transom.name);
    // A bow transom is the other way about: its outer face looks forward.
    let (what, outer, inner) = match transom.is_bow {
        true => ("bow transom", "FORWARD", "AFTER"),
        false => ("transom", "AFTER", "FORWARD"),
    };
    let mut drawing = Drawing::new(what.replace(' ', "-"), format!("{name}, {what}"));
    let outline = drawing.layer("Outlines", Operation::CutOutside);
    let other = drawing.layer("Other face", Operation::Mark);
    let marks = drawing.layer("Marks", Operation::Mark);
    let letters = drawing.layer("Letters", Operation::Engrave);
    let full = |path: &BezPath| Affine::scale(1e3) * path.clone();

    let mut labelled = Vec::new();
    let after = full(&transom.outline());
    let cut = full(&transom.blank);
    let mut space = Space::new(cut.bounding_box(), CELL);
    space.keep_to(&cut, &[]);
    let (outer_face, inner_face) = (format!("{outer} FACE"), format!("{inner} FACE"));
    let faces = [(outer_face.as_str(), &transom.outline()), (inner_face.as_str(), &transom.inner_squared())];
    let (faces, cut_to) = faces_on(&transom.blank, faces);
    for mark in faces {
        let face = full(&mark.path);
        space.take(&face);
        drawing.path(other, face.clone());
        labelled.push((mark.label, face));
    }
    for mark in &transom.marks {
        let path = full(&mark.path);
        space.take(&path);
        drawing.path(marks, path);
    }

    let middle = cut.bounding_box().center();
    let shape = match transom.radius {
        Some(radius) => format!("ROLLED OUT, RADIUS {:.0} MM", radius * 1e3),
        None => "FLAT".to_owned(),
    };
    let off = match transom.planking {
        0.0 => "NOTHING OFF FOR PLANKING".to_owned(),
        planking => format!("PLANKING {:.1} MM OFF", planking * 1e3),
    };
    let told = Part {
        name: what.to_owned(),
        count: 1,
        thickness_mm: Some(1e3 * transom.thickness),
        off: off.clone(),
        face: outer_face.to_lowercase(),
        // Its boards run athwart.
        grain: Some(0.0),
        ..Part::default()
    };
    let count = count_of(&told);
    drawing.part(outline, cut.clone(), told);
    let mut lines = in_lines(&name);
    lines.extend([
        format!("{}, {outer} FACE", what.to_uppercase()),
        format!("{shape}, RAKE {:.1} DEG", transom.rake.to_degrees()),
        format!("{:.1} MM THICK, {off}", transom.thickness * 1e3),
        cut_to,
        count,
    ]);
    if transom.is_assumed {
        lines.push("ASSUMED, NOT MEASURED".to_owned());
    }
    let leads = drawing.layer("Leads", Operation::Annotate);
    // Ticks first, so that no letters stand on them; a waterline's own line, or a corner, shows where its bevel is.
    let shown = |at: &str| {
        ["lower end", "sheer"].contains(&at)
            || at.starts_with("chine")
            || transom.marks.iter().any(|m| m.label == at)
    };
    let mut spots = Vec::new();
    for b in &transom.bevels {
        let spot = Affine::scale(1e3) * b.spot;
        let Some(tick) = tick(&after, spot, middle).filter(|_| !shown(&b.at)) else {
            spots.push(spot);
            continue;
        };
        space.take(&tick);
        spots.push(tick.segments().last().map_or(spot, |segment| segment.end()));
        drawing.path(marks, tick);
    }
    let mut named = Leads::longer_than(TICK_MM);
    for (b, spot) in transom.bevels.iter().zip(spots) {
        let text = format!("{:.1} DEG, {:+.1} MM", b.in_the_wood.to_degrees(), b.rise * 1e3);
        let text = [to_ascii(&b.at).to_uppercase(), text];
        named.write(&mut drawing, [letters, leads], &mut space, &text, &[spot], &MARK_HEIGHTS);
    }
    write_block(&mut drawing, letters, &mut space, &lines, middle, &NAME_HEIGHTS);
    write_grain(&mut drawing, letters, &mut space, Some(0.0), middle);
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
