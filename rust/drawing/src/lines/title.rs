//! The title block: name, facts, dimensions, scale bar and caution.

use kurbo::{Point, Rect, Shape as _, Vec2};
use scrieve_notation::Units;

use super::gathered::Lines;
use super::scale::is_feet;
use super::sheet::{Ink, Sheet};
use crate::Anchor;
use crate::space::text_width;

/// Title block, mm.
pub(super) const TITLE: (f64, f64) = (112.0, 44.0);

/// Name, facts, dimensions, scale bar and caution, in a box.
pub(super) fn title_block(sheet: &mut Sheet, lines: &Lines, at: Rect, scale: f64) {
    sheet.path(Ink::Frame, at.to_path(1e-3));
    let left = at.x0 + 4.0;
    // A long name or list of facts is written smaller, so that it stays in its frame.
    let mut write = |y: f64, height: f64, text: &str| {
        let room = at.x1 - 4.0 - left;
        let height = height.min(height * room / text_width(text, height).max(room));
        sheet.text(Point::new(left, y), height, Anchor::Start, text);
    };
    let (first, bar) = (at.y1 - 13.6, at.y0 + 10.5);
    write(at.y1 - 9.0, 5.0, &lines.name);
    // More facts than usual stand closer, clear of the scale bar.
    let rows = lines.facts.len() as f64;
    let step = 3.5f64.min((first - bar - SCALE_BAR) / rows.max(1.0));
    for (i, line) in lines.facts.iter().chain([&lines.dimensions]).enumerate() {
        write(first - step * i as f64, 2.0f64.min(0.7 * step), line);
    }
    scale_bar(sheet, lines.units, Point::new(left, bar), scale);
    for (i, line) in CAUTION.iter().enumerate() {
        sheet.text(Point::new(left, at.y0 + 4.6 - 2.6 * i as f64), 1.5, Anchor::Start, line);
    }
}

/// Height of the scale bar with its figures, mm.
const SCALE_BAR: f64 = 6.0;

const CAUTION: [&str; 2] = [
    "Check the scale bar and two known dimensions before use. Fairing by number",
    "does not replace sighting along a batten.",
];

/// A bar of whole feet or metres, about as long as the title block allows.
fn scale_bar(sheet: &mut Sheet, units: Units, at: Point, scale: f64) {
    const ROOM: f64 = 70.0;
    const HIGH: f64 = 1.4;
    let (unit_m, name) = if is_feet(units) { (0.3048, "ft") } else { (1.0, "m") };
    let steps: [(f64, f64); 12] = [
        (0.05, 5.0),
        (0.1, 5.0),
        (0.2, 5.0),
        (0.5, 4.0),
        (1.0, 3.0),
        (1.0, 4.0),
        (1.0, 5.0),
        (1.0, 6.0),
        (2.0, 4.0),
        (2.0, 5.0),
        (5.0, 4.0),
        (10.0, 4.0),
    ];
    let unit = unit_m * 1e3 / scale;
    let fits = steps.iter().rev().find(|(step, n)| step * n * unit <= ROOM).copied();
    let (step, n) = fits.unwrap_or((0.05, 1.0));
    let width = step * unit;
    let layer = Ink::Frame.of(&mut sheet.drawing);
    sheet.path(Ink::Frame, Rect::new(at.x, at.y, at.x + width * n, at.y + HIGH).to_path(1e-3));
    for i in 0..n as usize {
        let x = at.x + width * i as f64;
        let (y0, y1) = if i % 2 == 0 { (at.y, at.y + HIGH / 2.0) } else { (at.y + HIGH / 2.0, at.y + HIGH) };
        if i > 0 {
            sheet.drawing.line(layer, Point::new(x, at.y), Point::new(x, at.y + HIGH));
        }
        let middle = (y0 + y1) / 2.0;
        sheet.drawing.line(layer, Point::new(x, middle), Point::new(x + width, middle));
    }
    for i in 0..=n as usize {
        let text = format!("{}", (step * i as f64 * 1e2).round() / 1e2);
        let text = if i as f64 == n { format!("{text} {name}") } else { text };
        sheet.text(at + Vec2::new(width * i as f64, HIGH + 0.8), 1.6, Anchor::Middle, &text);
    }
    sheet.text(at + Vec2::new(width * n + 8.0, 0.0), 2.0, Anchor::Start, &format!("scale 1:{scale}"));
}
