//! Bevel boards: each bevel of a mould as a line across a board, from which a bevel square is set.
//!
//! The stock of the square lies along the board's left edge; the angle from that edge, upward, to the line is
//! the angle in the wood between the mould's station face and its bevelled edge. Square across is no bevel.

use kurbo::{Point, Rect, Shape as _, Vec2};
use scrieve_loft::EdgeBevel;
use scrieve_loft::moulds::MouldSet;
use scrieve_loft::transom::Transom;

use crate::space::text_width;
use crate::{Anchor, Drawing, Operation, Part, to_ascii};

/// The bevel boards of a set of moulds and, where there is one, the transom: side by side, mm at full size.
pub fn bevel_boards(set: &MouldSet, transom: Option<&Transom>) -> Drawing {
    let mut boards: Vec<(String, &[EdgeBevel])> =
        set.moulds.iter().map(|m| (format!("MOULD {}", m.station), m.bevels.as_slice())).collect();
    boards.extend(transom.map(|t| ("TRANSOM".to_owned(), t.bevels.as_slice())));
    let name = to_ascii(&set.name);
    let mut drawing = Drawing::new("bevel-board", format!("{name}, bevels"));
    let outline = drawing.layer("Outlines", Operation::CutOutside);
    let marks = drawing.layer("Marks", Operation::Mark);
    let letters = drawing.layer("Letters", Operation::Engrave);
    for (i, (whose, bevels)) in boards.iter().enumerate() {
        let left = i as f64 * (BOARD_MM + GAP_MM);
        // The ends of the last line drawn, on the left and the right edge.
        let (mut at, mut across) = (0.0, 0.0);
        for b in *bevels {
            let fall = BOARD_MM / b.in_the_wood.tan();
            let y = f64::min(at - PITCH_MM, across - PITCH_MM - fall);
            let (from, to) = (Point::new(left, y), Point::new(left + BOARD_MM, y + fall));
            drawing.line(marks, from, to);
            let along = (to - from).normalize();
            let foot = from + along * MARGIN_MM + Vec2::new(-along.y, along.x) * (0.25 * LETTER_MM);
            let kind = if b.is_open() { "OPEN" } else { "SHUT" };
            let degrees = b.in_the_wood.to_degrees();
            let text =
                format!("{} {degrees:.1} {kind} {:.1} IN {:.0}", b.at, b.rise.abs() * 1e3, b.over * 1e3);
            let text = to_ascii(&text);
            let height = fitting(&text, LETTER_MM, from.distance(to));
            drawing.text(letters, foot, height, along.atan2(), Anchor::Start, text);
            (at, across) = (y, y + fall);
        }
        let head = Point::new(left + BOARD_MM / 2.0, MARGIN_MM);
        let title = to_ascii(&format!("{name} {whose}"));
        drawing.text(letters, head, fitting(&title, 1.5 * LETTER_MM, BOARD_MM), 0.0, Anchor::Middle, title);
        let (top, low) = (4.0 * PITCH_MM, at.min(across) - PITCH_MM);
        let board = Rect::from_points((left, low), (left + BOARD_MM, top)).to_path(1.0);
        let part =
            Part { name: format!("bevel board, {}", whose.to_lowercase()), count: 1, ..Part::default() };
        drawing.part(outline, board, part);
    }
    drawing
}

/// Letters `height` high, or as high as lets a line of them lie within `length` less its margins.
fn fitting(text: &str, height: f64, length: f64) -> f64 {
    height * ((length - 2.0 * MARGIN_MM) / text_width(text, height)).min(1.0)
}

/// Width of a board, mm: as long as a bevel square's blade, and wide enough for a line of letters.
const BOARD_MM: f64 = 180.0;
/// Between boards, mm.
const GAP_MM: f64 = 20.0;
/// Height of letters, mm.
const LETTER_MM: f64 = 5.0;
/// From the edge of the board to its letters, mm.
const MARGIN_MM: f64 = 8.0;
/// Least distance between lines at either edge, mm: a letter and as much again.
const PITCH_MM: f64 = 12.0;
