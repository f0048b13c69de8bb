//! A sheet as it is drawn: its edge, its parts where they lie, a check square, its name beside it.

use kurbo::{Affine, Point, Rect, Shape as _, Vec2};

use super::piece::bounds;
use super::place::{Group, Laid};
use super::{NestOptions, Nested, Placed, Sheet};
use crate::model::{Anchor, CHECK_SQUARE, Drawing, Item, Operation, Part};
use crate::space::text_width;

/// Letters beside the sheet for its width: read at arm's length where the whole sheet is on a screen.
const NAME_PER_WIDTH: f64 = 1.0 / 40.0;

/// Letters in the check square for its side.
const LETTER_PER_CHECK: f64 = 0.12;

/// Which sheet it is.
pub(super) struct Told {
    pub number: usize,
    pub of: usize,
    pub thickness_mm: f64,
}

/// The sheet, its lower left corner at the origin.
pub(super) fn drawn(sheet: &Sheet, laid: &Laid, group: &Group, told: &Told, options: &NestOptions) -> Nested {
    let thick = number(told.thickness_mm);
    let name = format!("sheet-{}-{thick}mm", told.number);
    let whose = if options.boat.is_empty() { "Sheet".to_owned() } else { format!("{}, sheet", options.boat) };
    let title = format!("{whose} {} of {}", told.number, told.of);
    let mut drawing = Drawing::new(name, title);
    let edge = drawing.layer("Sheet", Operation::Annotate);
    let whole = Rect::new(0.0, 0.0, sheet.length_mm, sheet.width_mm);
    drawing.path(edge, whole.to_path(0.1));
    let mut placed = Vec::new();
    let mut area = 0.0;
    let mut reach: f64 = 0.0;
    for spot in &laid.spots {
        let piece = &group.pieces[spot.piece];
        let own = bounds(piece.ring.iter().map(|p| spot.affine() * *p));
        area += piece.area();
        drawing.unwritten.extend(piece.alone.unwritten.iter().cloned());
        reach = reach.max(own.x1);
        for (at, item) in piece.alone.items.iter().enumerate() {
            let outline = drawing.items.len();
            drawing.take(&piece.alone, at);
            turn(&mut drawing, spot.affine());
            if std::ptr::eq(item, &raw const piece.alone.items[0]) {
                let grain = piece.part.grain.map(|_| 0.0);
                drawing.parts.push(Part { outline, count: 1, grain, ..piece.part.clone() });
            }
        }
        placed.push(Placed {
            drawing: piece.from.clone(),
            part: piece.part.clone(),
            at: own.origin(),
            turned: spot.turned,
        });
    }
    if let Some(check) = laid.check {
        reach = reach.max(if check.x1 < whole.x1 - options.margin_mm - 1.0 { check.x1 } else { 0.0 });
        check_square(&mut drawing, check);
    }
    let words = format!(
        "{} - {} X {} X {thick} MM - {} PARTS",
        drawing.title.to_uppercase(),
        number(sheet.length_mm),
        number(sheet.width_mm),
        placed.len()
    );
    // No longer than the sheet.
    let fits = 0.95 * sheet.length_mm / text_width(&words, 1.0);
    let height = (NAME_PER_WIDTH * sheet.width_mm).clamp(4.0, 40.0).min(fits);
    drawing.text(edge, Point::new(0.0, whole.y1 + height), height, 0.0, Anchor::Start, words);
    Nested {
        sheet: laid.sheet,
        thickness_mm: Some(told.thickness_mm),
        drawing,
        placed,
        used: area / whole.area(),
        left_mm: (sheet.length_mm - reach - options.gap_mm).max(0.0),
        check_mm: laid.check.map(|check| check.width()),
    }
}

/// A square of known size, to be measured before anything is cut.
fn check_square(drawing: &mut Drawing, at: Rect) {
    let mark = drawing.layer(CHECK_SQUARE, Operation::Mark);
    drawing.path(mark, at.to_path(0.1));
    let height = LETTER_PER_CHECK * at.width();
    let middle = at.center() - Vec2::new(0.0, 0.5 * height);
    drawing.engrave(mark, middle, height, 0.0, Anchor::Middle, &format!("{} MM", number(at.width())));
}

/// A length as it is told: no more digits than it has.
pub(super) fn number(mm: f64) -> String {
    format!("{}", (100.0 * mm).round() / 100.0)
}

/// Puts the last item of a drawing elsewhere.
fn turn(drawing: &mut Drawing, by: Affine) {
    let [a, b, ..] = by.as_coeffs();
    let last = drawing.items.len() - 1;
    if let Some(said) = drawing.engraved.iter_mut().find(|said| said.item == last) {
        said.at = by * said.at;
        said.angle += b.atan2(a);
    }
    match &mut drawing.items[last] {
        Item::Path { path, .. } => path.apply_affine(by),
        Item::Text { at, angle, .. } => {
            *at = by * *at;
            *angle += b.atan2(a);
        }
    }
}
