//! Inside structure as drawings to cut from, mm at full size.

mod case;
mod stringer;

use kurbo::{Affine, BezPath, Point, Shape as _};
use scrieve_loft::inside::{Bulkhead, Carlin, DeckBeam, HalfBeam, Thwart};
use scrieve_loft::{EdgeBevel, Mark};

use crate::moulds::{CELL, MARK_HEIGHTS, NAME_HEIGHTS, write_beside, write_block};
use crate::space::Space;
use crate::{Drawing, Operation, to_ascii};

pub use case::case_drawings;
pub use stringer::stringer_drawing;

/// A thwart, cut to its larger face with the other marked on it.
pub fn thwart_drawing(boat: &str, name: &str, thwart: &Thwart) -> Drawing {
    let larger = thwart.upper.area().abs() >= thwart.under.area().abs();
    let (cut, other) = if larger { (&thwart.upper, &thwart.under) } else { (&thwart.under, &thwart.upper) };
    let (face, far) = if larger { ("UPPER", "UNDER FACE") } else { ("UNDER", "UPPER FACE") };
    let mut lines = vec![format!("CUT TO THE {face} FACE")];
    for (edge, end) in thwart.edges.iter().zip(["FORWARD", "AFTER"]) {
        lines.push(format!("{end} EDGE {:.1} MM", edge.length * 1e3));
        let (plan, flare) = (edge.in_plan.to_degrees(), edge.flare.to_degrees());
        lines.push(format!("IN PLAN {plan:.1} DEG"));
        lines.push(format!("FLARE {flare:.1} DEG"));
    }
    let other = [Mark { kind: scrieve_loft::MarkKind::OtherFace, label: far.into(), path: other.clone() }];
    piece(boat, name, cut, &other, &lines, &[])
}

/// A bulkhead, its forward face.
pub fn bulkhead_drawing(boat: &str, name: &str, bulkhead: &Bulkhead) -> Drawing {
    let lines = ["FORWARD FACE".to_owned()];
    piece(boat, name, &bulkhead.outline, &bulkhead.marks, &lines, &bulkhead.bevels)
}

/// A deck beam, its forward face.
pub fn deck_beam_drawing(boat: &str, name: &str, beam: &DeckBeam) -> Drawing {
    let lines = [
        format!("RADIUS {:.0} MM, CAMBER {:.1} MM", beam.radius * 1e3, beam.camber * 1e3),
        format!("{:.1} MM AT THE SHEER, END {:.1} DEG", beam.end.length * 1e3, beam.end.in_plan.to_degrees()),
    ];
    piece(boat, name, &beam.outline, &[], &lines, &[])
}

/// A half beam, its forward face.
pub fn half_beam_drawing(boat: &str, name: &str, beam: &HalfBeam) -> Drawing {
    let lines = [
        format!("{:.1} MM ALONG THE TOP, LEVEL", beam.length * 1e3),
        format!(
            "INBOARD END {:.1} DEG, AT THE SIDE {:.1} DEG",
            beam.inboard_in_plan.to_degrees(),
            beam.end.in_plan.to_degrees()
        ),
    ];
    piece(boat, name, &beam.outline, &[], &lines, &[])
}

/// A carlin, its inboard face.
pub fn carlin_drawing(boat: &str, name: &str, carlin: &Carlin) -> Drawing {
    let [fore, aft] = &carlin.ends;
    let lines = [
        format!("INBOARD FACE, {:.1} MM ALONG THE TOP", carlin.length * 1e3),
        format!("ENDS OFF SQUARE IN PLAN {:.1} DEG", fore.in_plan.to_degrees()),
        format!(
            "CUT FORWARD {:.1} DEG, AFT {:.1} DEG",
            fore.cut_on_side.to_degrees(),
            aft.cut_on_side.to_degrees()
        ),
        format!("TOP FALLS OUTBOARD {:.1} TO {:.1} DEG", fore.round.to_degrees(), aft.round.to_degrees()),
    ];
    piece(boat, name, &carlin.outline, &carlin.marks, &lines, &[])
}

/// Half the deck in plan, with its beams and openings marked.
pub fn deck_drawing(boat: &str, outline: &BezPath, marks: &[Mark]) -> Drawing {
    piece(boat, "deck", outline, marks, &["HALF THE DECK AT THE SHEER, OUTSIDE OF PLANKING".to_owned()], &[])
}

fn piece(
    boat: &str,
    name: &str,
    outline: &BezPath,
    marks: &[Mark],
    says: &[String],
    bevels: &[EdgeBevel],
) -> Drawing {
    let full = |path: &BezPath| Affine::scale(1e3) * path.clone();
    let boat = to_ascii(boat);
    let mut drawing = Drawing::new(to_ascii(&name.replace(' ', "-")), format!("{boat}, {name}"));
    let cut = drawing.layer("Outlines", Operation::CutOutside);
    let marked = drawing.layer("Marks", Operation::Mark);
    let letters = drawing.layer("Letters", Operation::Engrave);
    let outline = full(outline);
    let mut space = Space::new(outline.bounding_box(), CELL);
    space.keep_to(&outline, &[]);
    let middle = outline.bounding_box().center();
    drawing.path(cut, outline);
    for mark in marks {
        let path = full(&mark.path);
        space.take(&path);
        drawing.path(marked, path);
    }
    let mut lines = vec![to_ascii(&format!("{boat}, {}", name.to_uppercase()))];
    lines.extend(says.iter().cloned());
    write_block(&mut drawing, letters, &mut space, &lines, middle, &NAME_HEIGHTS);
    for b in bevels {
        let spot = Affine::scale(1e3) * b.spot;
        let text = format!("{:.1} DEG, {:+.1} MM", b.in_the_wood.to_degrees(), b.rise * 1e3);
        write_block(&mut drawing, letters, &mut space, &[text], spot, &MARK_HEIGHTS);
    }
    for mark in marks {
        write_beside(&mut drawing, letters, &mut space, &to_ascii(&mark.label), &full(&mark.path));
    }
    drawing
}

/// Straight lines from point to point.
fn line(points: impl IntoIterator<Item = Point>, closed: bool) -> BezPath {
    let mut path = BezPath::new();
    for p in points {
        if path.elements().is_empty() {
            path.move_to(p);
        } else {
            path.line_to(p);
        }
    }
    if closed {
        path.close_path();
    }
    path
}
