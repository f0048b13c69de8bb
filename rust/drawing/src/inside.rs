//! Inside structure as drawings to cut from, mm at full size.

mod case;
mod stringer;

use kurbo::{Affine, BezPath, ParamCurve as _, Point, Shape as _};
use scrieve_loft::inside::{Bulkhead, Carlin, DeckBeam, HalfBeam, Thwart};
use scrieve_loft::{EdgeBevel, Mark, MarkKind, clear_within};

use crate::leads::{Leads, SHORTEST_LEAD_MM};
use crate::moulds::{CELL, MARK_HEIGHTS, NAME_HEIGHTS, in_lines, write_beside, write_block};
use crate::space::Space;
use crate::told::{along_the_board, count_of, stock_of, write_grain};
use crate::{Drawing, Operation, Part, to_ascii};

pub use case::case_drawings;
pub use stringer::stringer_drawing;

/// A thwart, cut to what both its faces take up, with each marked on it where it lies within.
pub fn thwart_drawing(boat: &str, name: &str, thwart: &Thwart, thickness: f64) -> Drawing {
    let faces = [("UNDER FACE", &thwart.under), ("UPPER FACE", &thwart.upper)];
    let (marks, cut_to) = faces_on(&thwart.blank, faces);
    let mut lines = vec![cut_to];
    for (edge, end) in thwart.edges.iter().zip(["FORWARD", "AFTER"]) {
        lines.push(format!("{end} EDGE {:.1} MM", edge.length * 1e3));
        let (plan, flare) = (edge.in_plan.to_degrees(), edge.flare.to_degrees());
        lines.push(format!("IN PLAN {plan:.1} DEG"));
        lines.push(format!("FLARE {flare:.1} DEG"));
    }
    let stuff = Stuff { thickness, grain: true, face: "from above" };
    piece(boat, name, &thwart.blank, &marks, &lines, &[], &stuff)
}

/// A bulkhead, looking aft at its forward face, cut to what both its faces take up.
pub fn bulkhead_drawing(boat: &str, name: &str, bulkhead: &Bulkhead) -> Drawing {
    let (faces, cut_to) = forward_and_after(&bulkhead.outline, &bulkhead.faces);
    let marks: Vec<Mark> = bulkhead.marks.iter().cloned().chain(faces).collect();
    let lines = ["FORWARD FACE".to_owned(), cut_to];
    let stuff = Stuff { thickness: bulkhead.thickness, grain: false, face: "forward face" };
    piece(boat, name, &bulkhead.outline, &marks, &lines, &bulkhead.bevels, &stuff)
}

fn forward_and_after(outline: &BezPath, [fore, aft]: &[BezPath; 2]) -> (Vec<Mark>, String) {
    faces_on(outline, [("FORWARD FACE", fore), ("AFTER FACE", aft)])
}

/// What is marked of two faces on the outline that holds both, and what is written of it.
pub(crate) fn faces_on(outline: &BezPath, faces: [(&str, &BezPath); 2]) -> (Vec<Mark>, String) {
    let marked = faces.map(|(label, face)| Mark {
        kind: MarkKind::OtherFace,
        label: label.to_owned(),
        path: clear_within(face, outline),
    });
    let [under, upper] = &marked;
    let shows = |mark: &Mark| mark.path.segments().count() > 0;
    let cut_to = match (shows(under), shows(upper)) {
        (true, true) => "CUT TO THE OUTER OF BOTH FACES".to_owned(),
        (true, false) => format!("CUT TO THE {}", upper.label),
        (false, true) => format!("CUT TO THE {}", under.label),
        (false, false) => "BOTH FACES ALIKE".to_owned(),
    };
    (marked.into_iter().filter(shows).collect(), cut_to)
}

/// A deck beam, looking aft at its forward face, cut to what both its faces take up.
pub fn deck_beam_drawing(boat: &str, name: &str, beam: &DeckBeam, siding: f64) -> Drawing {
    let (faces, cut_to) = forward_and_after(&beam.outline, &beam.faces);
    let lines = [
        "FORWARD FACE".to_owned(),
        cut_to,
        format!("RADIUS {:.0} MM, CAMBER {:.1} MM", beam.radius * 1e3, beam.camber * 1e3),
        format!("{:.1} MM AT THE SHEER, END {:.1} DEG", beam.end.length * 1e3, beam.end.in_plan.to_degrees()),
    ];
    let stuff = Stuff { thickness: siding, grain: true, face: "forward face" };
    piece(boat, name, &beam.outline, &faces, &lines, &[], &stuff)
}

/// A half beam, as a deck beam.
pub fn half_beam_drawing(boat: &str, name: &str, beam: &HalfBeam, siding: f64) -> Drawing {
    let (faces, cut_to) = forward_and_after(&beam.outline, &beam.faces);
    let lines = [
        "FORWARD FACE".to_owned(),
        cut_to,
        format!("{:.1} MM ALONG THE TOP, LEVEL", beam.length * 1e3),
        format!(
            "INBOARD END {:.1} DEG, AT THE SIDE {:.1} DEG",
            beam.inboard_in_plan.to_degrees(),
            beam.end.in_plan.to_degrees()
        ),
    ];
    let stuff = Stuff { thickness: siding, grain: true, face: "forward face" };
    piece(boat, name, &beam.outline, &faces, &lines, &[], &stuff)
}

/// A carlin, its inboard face.
pub fn carlin_drawing(boat: &str, name: &str, carlin: &Carlin, thickness: f64) -> Drawing {
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
    let stuff = Stuff { thickness, grain: true, face: "inboard face" };
    piece(boat, name, &carlin.outline, &carlin.marks, &lines, &[], &stuff)
}

/// Half the deck in plan, with its beams and openings marked, of stock of this thickness, m.
pub fn deck_drawing(boat: &str, outline: &BezPath, marks: &[Mark], thickness: Option<f64>) -> Drawing {
    let lines = ["HALF THE DECK AT THE SHEER, OUTSIDE OF PLANKING".to_owned()];
    let stuff = Stuff { thickness: thickness.unwrap_or(0.0), grain: false, face: "from above" };
    piece(boat, "deck", outline, marks, &lines, &[], &stuff)
}

/// What a piece is made of.
struct Stuff {
    /// Thickness, m; 0 where nobody said.
    thickness: f64,
    /// Whether its grain runs along it; it may run any way where it does not.
    grain: bool,
    /// Which face is drawn.
    face: &'static str,
}

fn piece(
    boat: &str,
    name: &str,
    outline: &BezPath,
    marks: &[Mark],
    says: &[String],
    bevels: &[EdgeBevel],
    stuff: &Stuff,
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
    let cut_path = outline.clone();
    let told = Part {
        name: name.to_owned(),
        count: 1,
        thickness_mm: (stuff.thickness > 0.0).then_some(1e3 * stuff.thickness),
        face: stuff.face.to_owned(),
        grain: if stuff.grain { along_the_board(&outline) } else { None },
        ..Part::default()
    };
    drawing.part(cut, outline, told.clone());
    let mut beside = None;
    for mark in marks {
        let path = full(&mark.path);
        space.take(&path);
        // What lies outside the piece is there to see, and none of it can be scribed on the wood.
        let on_wood =
            path.segments().all(|s| (0..=2).all(|i| cut_path.winding(s.eval(0.5 * f64::from(i))) != 0));
        let layer = match on_wood {
            true => marked,
            false => *beside.get_or_insert_with(|| drawing.layer("Beside", Operation::Annotate)),
        };
        drawing.path(layer, path);
    }
    let mut lines = in_lines(&to_ascii(&format!("{boat}, {}", name.to_uppercase())));
    lines.extend(says.iter().cloned());
    lines.extend([stock_of(&told), count_of(&told)].into_iter().filter(|line| !line.is_empty()));
    let mut named = Leads::longer_than(SHORTEST_LEAD_MM);
    for b in bevels {
        let leads = drawing.layer("Leads", Operation::Annotate);
        let spot = Affine::scale(1e3) * b.spot;
        let text = format!("{:.1} DEG, {:+.1} MM", b.in_the_wood.to_degrees(), b.rise * 1e3);
        let text = [to_ascii(&b.at).to_uppercase(), text];
        named.write(&mut drawing, [letters, leads], &mut space, &text, &[spot], &MARK_HEIGHTS);
    }
    write_block(&mut drawing, letters, &mut space, &lines, middle, &NAME_HEIGHTS);
    write_grain(&mut drawing, letters, &mut space, told.grain, middle);
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
