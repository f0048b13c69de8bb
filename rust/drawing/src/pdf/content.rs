//! Drawings as the operators of a page, millimetres as they stand; letters by the file's font.

use kurbo::{BezPath, PathEl, Point, QuadBez, Rect};
use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Name};

use super::UNITS_PER_MM;
use super::letters::{Letters, shown_width};
use super::sheet::Page;
use super::tiles::Set;
use crate::model::{Anchor, Drawing, Item, Layer, item_bounds};

/// Lengths are written to a ten-thousandth of a millimetre: a printer's dot is two hundred times that.
const STEPS_PER_MM: f64 = 1e4;

/// A length in a file.
fn mm(value: f64) -> f32 {
    ((value * STEPS_PER_MM).round() / STEPS_PER_MM) as f32
}

/// What the lines of a run are called among a page's resources.
pub(super) fn run_name(run: usize) -> String {
    format!("D{run}")
}

/// A page of these runs.
pub(super) fn page(page: &Page, sets: &[Set], letters: &mut Letters) -> Vec<u8> {
    let mut content = Content::new();
    let scale = UNITS_PER_MM as f32;
    content.transform([scale, 0.0, 0.0, scale, 0.0, 0.0]);
    for shown in &page.shown {
        content.save_state();
        let r = shown.window;
        content.rect(mm(r.x0), mm(r.y0), mm(r.width()), mm(r.height())).clip_nonzero().end_path();
        let scale = shown.scale as f32;
        content.transform([scale, 0.0, 0.0, scale, mm(shown.shift.x), mm(shown.shift.y)]);
        content.x_object(Name(run_name(shown.run).as_bytes()));
        if shown.letters {
            // Words are told by the pages that show them.
            words(&mut content, &sets[shown.run].run.drawing, letters, Some(r - shown.shift));
        }
        content.restore_state();
    }
    content.save_state();
    strokes(&mut content, &page.furniture);
    content.restore_state();
    words(&mut content, &page.furniture, letters, None);
    content.finish().into_vec()
}

/// A drawing's lines.
pub(super) fn lines(drawing: &Drawing) -> Vec<u8> {
    let mut content = Content::new();
    strokes(&mut content, drawing);
    content.finish().into_vec()
}

fn strokes(content: &mut Content, drawing: &Drawing) {
    content.set_line_cap(LineCapStyle::RoundCap).set_line_join(LineJoinStyle::RoundJoin);
    for (index, layer) in drawing.layers.iter().enumerate() {
        let of_layer = drawing.items.iter().enumerate().filter(|(_, item)| item.layer() == index);
        let paths = of_layer.filter_map(|(at, item)| match item {
            Item::Path { path, .. } if !path.elements().is_empty() && !is_words(drawing, at) => Some(path),
            _ => None,
        });
        for (i, path) in paths.enumerate() {
            if i == 0 {
                pen(content, layer);
            }
            stroke(content, path);
        }
    }
}

/// Whether a path is words, which are shown as such.
fn is_words(drawing: &Drawing, item: usize) -> bool {
    drawing.engraved.iter().any(|said| said.item == item)
}

fn colour(layer: &Layer) -> [f32; 3] {
    layer.stroke.rgb.map(|part| f32::from(part) / 255.0)
}

fn pen(content: &mut Content, layer: &Layer) {
    let [red, green, blue] = colour(layer);
    content.set_stroke_rgb(red, green, blue);
    content.set_line_width(layer.stroke.width_mm as f32);
    content.set_dash_pattern(layer.stroke.dashes_mm.iter().map(|dash| mm(*dash)), 0.0);
}

fn stroke(content: &mut Content, path: &BezPath) {
    let mut here = Point::ORIGIN;
    let cubic = |content: &mut Content, p: Point, q: Point, r: Point| {
        content.cubic_to(mm(p.x), mm(p.y), mm(q.x), mm(q.y), mm(r.x), mm(r.y));
    };
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => {
                content.move_to(mm(p.x), mm(p.y));
            }
            PathEl::LineTo(p) => {
                content.line_to(mm(p.x), mm(p.y));
            }
            PathEl::QuadTo(p, q) => {
                let raised = QuadBez::new(here, p, q).raise();
                cubic(content, raised.p1, raised.p2, q);
            }
            PathEl::CurveTo(p, q, r) => cubic(content, p, q, r),
            PathEl::ClosePath => {
                content.close_path();
            }
        }
        here = element.end_point().unwrap_or(here);
    }
    content.stroke();
}

/// The letters of a drawing, or those of them that reach into a box of it.
fn words(content: &mut Content, drawing: &Drawing, letters: &mut Letters, within: Option<Rect>) {
    let mut last = None;
    for (which, item) in drawing.items.iter().enumerate() {
        let said = drawing.engraved.iter().find(|said| said.item == which);
        let (layer, at, height, angle, anchor, text) = match (item, said) {
            (Item::Text { layer, at, height, angle, anchor, text }, _) => {
                (layer, at, height, angle, anchor, text)
            }
            (Item::Path { layer, .. }, Some(e)) => (layer, &e.at, &e.height, &e.angle, &e.anchor, &e.text),
            (Item::Path { .. }, None) => continue,
        };
        let reaches = |within: Rect| item_bounds(item).is_some_and(|bounds| within.overlaps(bounds));
        if text.trim().is_empty() || within.is_some_and(|within| !reaches(within)) {
            continue;
        }
        if last != Some(*layer) {
            // A letter's strokes are of the one colour or the other, as the reader has it.
            let [red, green, blue] = colour(&drawing.layers[*layer]);
            content.set_stroke_rgb(red, green, blue).set_fill_rgb(red, green, blue);
            last = Some(*layer);
        }
        let before = match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5,
            Anchor::End => 1.0,
        };
        let (sin, cos) = angle.sin_cos();
        let back = -before * shown_width(text, *height);
        let (x, y) = (at.x + back * cos, at.y + back * sin);
        let matrix = [cos as f32, sin as f32, -sin as f32, cos as f32, mm(x), mm(y)];
        letters.show(content, text, *height, matrix);
    }
}
