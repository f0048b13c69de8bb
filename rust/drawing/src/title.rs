//! The title box of a pattern: whose it is, and from which table. It stands below the drawing, to be read and not cut.

use kurbo::{Point, Rect, Shape as _};

use crate::space::text_width;
use crate::{Anchor, Drawing, Operation, to_ascii};

/// Height of the letters where nobody asks for another, mm: read on a screen that shows a part whole.
pub(crate) const TITLE_MM: f64 = 5.0;
/// From line to line, as a part of the letters' height.
const PITCH: f64 = 2.0;
/// Clear of the drawing, mm.
const CLEAR_MM: f64 = 5.0;

/// The box in letters of this height with its left side at `left` and its upper at `top`, mm; nothing where the drawing
/// has no lines for it.
pub(crate) fn title_box(drawing: &Drawing, left: f64, top: f64, height: f64) -> Drawing {
    let mut boxed = Drawing::default();
    if drawing.title_box.is_empty() {
        return boxed;
    }
    let layer = boxed.layer("Title", Operation::Annotate);
    let lines: Vec<String> = drawing.title_box.iter().map(|line| to_ascii(line)).collect();
    let wide = lines.iter().map(|line| text_width(line, height)).fold(0.0, f64::max) + 2.0 * height;
    let pitch = PITCH * height;
    let low = top - pitch * lines.len() as f64;
    boxed.path(layer, Rect::new(left, low, left + wide, top).to_path(1e-3));
    for (i, line) in lines.into_iter().enumerate() {
        let under = top - pitch * (i + 1) as f64;
        if under > low + 1e-6 {
            boxed.line(layer, Point::new(left, under), Point::new(left + wide, under));
        }
        let at = Point::new(left + height, under + 0.25 * pitch);
        boxed.text(layer, at, height, 0.0, Anchor::Start, line);
    }
    boxed
}

/// The drawing with its title box below it; as it is where it has none.
pub(crate) fn with_title_box(drawing: &Drawing) -> Drawing {
    let mut whole = drawing.clone();
    if let Some(bounds) = drawing.bounds() {
        whole.append(&title_box(drawing, bounds.x0, bounds.y0 - CLEAR_MM, TITLE_MM), kurbo::Vec2::ZERO);
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_stands_clear_below_the_drawing_and_holds_its_lines() {
        let mut drawing = Drawing::new("part", "Part");
        let layer = drawing.layer("Outlines", Operation::CutOutside);
        drawing.circle(layer, Point::new(100.0, 100.0), 50.0);
        assert_eq!(with_title_box(&drawing), drawing, "no lines, no box");
        drawing.title_box = vec!["BOAT  Sandling".to_owned(), "PART  mould 3, a long line of it".to_owned()];
        let whole = with_title_box(&drawing);
        assert!(whole.items.len() > drawing.items.len() + 2);
        let title = whole.layers.iter().position(|l| l.name == "Title").expect("a layer of its own");
        assert!(!whole.layers[title].operation.is_cut());
        let only = Drawing {
            items: whole.items.iter().filter(|i| i.layer() == title).cloned().collect(),
            ..whole.clone()
        };
        let bounds = only.bounds().expect("a box");
        assert!(bounds.y1 < 50.0 && (bounds.x0 - 50.0).abs() < 1e-3, "{bounds:?}");
        for item in &only.items {
            let one = Drawing { items: vec![item.clone()], ..only.clone() };
            assert!(bounds.inflate(1e-6, 1e-6).contains_rect(one.bounds().expect("something")));
        }
    }
}
