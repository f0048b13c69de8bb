//! A spar gauge at full size, to be made: a bar with two pegs and two pencils.

use kurbo::{Point, Rect, Shape as _};
use scrieve_loft::spar::Gauge;

use super::SparDrawingError;
use crate::{Anchor, Drawing, Operation, Part};

/// The bar, and the wood left about its pegs, mm.
const BAR_MM: f64 = 32.0;
const ABOUT_PEG_MM: f64 = 14.0;
/// A common pencil, and the least that is bored for one, mm: below it a scriber's point.
const PENCIL_MM: f64 = 7.5;
const SCRIBER_MM: f64 = 2.0;
/// Wood between two holes, mm.
const BETWEEN_MM: f64 = 1.5;
const LETTER_MM: f64 = 4.0;
/// Arms of the cross that marks a point, mm.
const CROSS_MM: f64 = 2.0;

/// The gauge, named so, for a widest flat of this, m.
///
/// # Errors
/// No room for pencils beside the pegs.
pub fn gauge_drawing(
    name: &str,
    title: &str,
    gauge: &Gauge,
    widest: f64,
) -> Result<Drawing, SparDrawingError> {
    let [span, peg] = [gauge.span, gauge.peg].map(|m| 1e3 * m);
    let pencil_at = (0.5 - gauge.part) * span;
    let peg_at = 0.5 * (span + peg);
    // Clear between a pencil and its peg, and between the pencils.
    let beside = (peg_at - pencil_at - 0.5 * peg - BETWEEN_MM) * 2.0;
    let between = 2.0 * pencil_at - BETWEEN_MM;
    let hole = PENCIL_MM.min(beside).min(between);
    if hole < SCRIBER_MM {
        return Err(SparDrawingError::NoRoom { sides: gauge.sides, widest });
    }
    let mut drawing = Drawing::new(name, title);
    let cut = drawing.layer("Outline", Operation::CutOutside);
    let bored = drawing.layer("Holes", Operation::CutInside);
    let mark = drawing.layer("Middle line", Operation::Mark);
    let letters = drawing.layer("Letters", Operation::Engrave);
    let half = peg_at + 0.5 * peg + ABOUT_PEG_MM;
    let bar = Rect::new(-half, -0.5 * BAR_MM, half, 0.5 * BAR_MM);
    let part = Part { name: name.to_owned(), count: 1, ..Part::default() };
    drawing.part(cut, bar.to_path(CROSS_MM), part);
    for side in [-1.0, 1.0] {
        if peg > 0.0 {
            drawing.circle(bored, Point::new(side * peg_at, 0.0), 0.5 * peg);
        } else {
            drawing.cross(mark, Point::new(side * peg_at, 0.0), CROSS_MM);
        }
        drawing.circle(bored, Point::new(side * pencil_at, 0.0), 0.5 * hole);
    }
    let said = format!("{} SIDES", gauge.sides);
    let lines = [(said, 7.5), (format!("TO {:.1} MM", 1e3 * widest), -11.5)];
    for (text, y) in lines {
        let height = LETTER_MM.min(2.0 * (half - CROSS_MM) / (0.8 * text.len() as f64));
        drawing.engrave(letters, Point::new(0.0, y), height, 0.0, Anchor::Middle, &text);
    }
    Ok(drawing)
}
