//! Fashion pieces as a drawing to cut from: both sides', apart as they stand on the transom.

use kurbo::{Affine, BezPath, Shape as _, Vec2};
use scrieve_loft::transom::{FashionPiece, FashionPieces};

use crate::leads::{Leads, SHORTEST_LEAD_MM};
use crate::moulds::{CELL, MARK_HEIGHTS, NAME_HEIGHTS, in_lines, write_beside, write_block};
use crate::space::Space;
use crate::told::{along_the_board, count_of, write_grain};
use crate::{Drawing, Operation, Part, to_ascii};

/// The fashion pieces, mm at full size, looking forward: starboard to the right.
pub fn fashion_drawing(made: &FashionPieces) -> Drawing {
    let boat = to_ascii(&made.whole.name);
    let mut drawing = Drawing::new("fashion-pieces", format!("{boat}, fashion pieces"));
    for name in ["Outlines", "Other face", "Marks", "Letters", "Leads"] {
        let operation = match name {
            "Outlines" => Operation::CutOutside,
            "Letters" => Operation::Engrave,
            "Leads" => Operation::Annotate,
            _ => Operation::Mark,
        };
        drawing.layer(name, operation);
    }
    for (side, word) in [(1.0, "STARBOARD"), (-1.0, "PORT")] {
        let mut low = f64::NEG_INFINITY;
        for piece in &made.pieces {
            // Clear of one another, each above the last.
            let bounds = (Affine::scale(1e3) * piece.outline.clone()).bounding_box();
            let up = if low.is_finite() { (low - bounds.y0 + APART_MM).max(0.0) } else { 0.0 };
            low = bounds.y1 + up;
            let place = Affine::translate(Vec2::new(side * 0.5 * APART_MM, up))
                * Affine::scale_non_uniform(side * 1e3, 1e3);
            draw(&mut drawing, made, piece, place, word);
        }
    }
    drawing
}

/// Clear space between pieces, mm.
const APART_MM: f64 = 20.0;

fn draw(drawing: &mut Drawing, made: &FashionPieces, piece: &FashionPiece, place: Affine, side: &str) {
    let [cut, other, marks, letters, leads] = [0, 1, 2, 3, 4];
    let full = |path: &BezPath| place * path.clone();
    let outline = full(&piece.outline);
    let mut space = Space::new(outline.bounding_box(), CELL);
    space.keep_to(&outline, &[]);
    let told = Part {
        name: format!("{} {}", piece.name.to_lowercase(), side.to_lowercase()),
        count: 1,
        thickness_mm: Some(1e3 * made.sizes.sided),
        grain: along_the_board(&outline),
        ..Part::default()
    };
    drawing.part(cut, outline.clone(), told.clone());
    for mark in &piece.marks {
        let path = full(&mark.path);
        space.take(&path);
        let is_face = mark.kind == scrieve_loft::MarkKind::OtherFace;
        drawing.path(if is_face { other } else { marks }, path);
    }
    let mm = |metres: f64| format!("{:.0}", metres * 1e3);
    let marked = |face: &str| piece.marks.iter().any(|mark| mark.label == face);
    let cut_to = match (marked("AFTER FACE"), marked("FORWARD FACE")) {
        (true, true) => "OUTER OF BOTH FACES",
        (true, false) => "FORWARD FACE",
        (false, _) => "AFTER FACE",
    };
    let mut lines = in_lines(&to_ascii(&made.whole.name));
    lines.extend([
        format!("{} {side}", piece.name.to_uppercase()),
        format!("SIDED {} MM, MOULDED {} MM", mm(made.sizes.sided), mm(made.sizes.moulded)),
        format!("CUT TO THE {cut_to}"),
        count_of(&told),
    ]);
    let bounds = outline.bounding_box();
    // Bevels first: each is read at its own place, the name anywhere.
    let mut named = Leads::longer_than(SHORTEST_LEAD_MM);
    for bevel in &piece.bevels {
        let said = format!("{:.1} DEG, {:+.1} MM", bevel.in_the_wood.to_degrees(), bevel.rise * 1e3);
        let lines = [to_ascii(&bevel.at).to_uppercase(), said];
        named.write(drawing, [letters, leads], &mut space, &lines, &[place * bevel.spot], &MARK_HEIGHTS);
    }
    write_block(drawing, letters, &mut space, &lines, bounds.center(), &NAME_HEIGHTS);
    write_grain(drawing, letters, &mut space, told.grain, bounds.center());
    for mark in &piece.marks {
        write_beside(drawing, letters, &mut space, &to_ascii(&mark.label), &full(&mark.path));
    }
}
