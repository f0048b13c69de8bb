//! What is written on a part for whoever cuts it: how many, how thick, what was taken off, and how the grain runs.

use kurbo::{BezPath, Point, Shape as _};
use scrieve_loft::narrowest_board;

use crate::moulds::{MARK_HEIGHTS, block_size};
use crate::space::{Space, text_width};
use crate::{Anchor, Drawing, Part};

/// The grain's mark: an arrow along it.
const GRAIN: &str = "<- GRAIN ->";

/// Along the narrowest board that the part is got out of, the way a sawyer lays it.
pub(crate) fn along_the_board(outline: &BezPath) -> Option<f64> {
    Some(narrowest_board(outline).1)
}

/// How many, and how the grain runs where that is all one; where it is not, an arrow is drawn besides.
pub(crate) fn count_of(part: &Part) -> String {
    let grain = if part.grain.is_none() { ", GRAIN ANY WAY" } else { "" };
    format!("CUT {}{grain}", part.count)
}

/// How thick the stock is, and what was taken off.
pub(crate) fn stock_of(part: &Part) -> String {
    let thick = part.thickness_mm.map(|mm| format!("{} MM THICK", tenths(mm)));
    let said = [thick, (!part.off.is_empty()).then(|| part.off.clone())];
    said.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// Millimetres to a tenth, without one that is none.
pub(crate) fn tenths(mm: f64) -> String {
    format!("{mm:.1}").trim_end_matches(".0").to_owned()
}

/// An arrow along the grain, as near to a point as there is room for it; none where the grain may run any way.
pub(crate) fn write_grain(
    drawing: &mut Drawing,
    layer: usize,
    space: &mut Space,
    grain: Option<f64>,
    near: Point,
) {
    let Some(angle) = grain else { return };
    let spots = space.spots_near(near);
    for height in MARK_HEIGHTS {
        let high = block_size(&[String::new()], height).height;
        let flat = kurbo::Rect::from_center_size(Point::ORIGIN, (text_width(GRAIN, height), high));
        let room = (kurbo::Affine::rotate(angle) * flat.to_path(0.1)).bounding_box();
        if let Some(r) = space.place(room.width(), room.height(), spots.iter().copied()) {
            let down = kurbo::Vec2::from_angle(angle - std::f64::consts::FRAC_PI_2);
            let at = r.center() + down * (0.5 * height);
            drawing.text(layer, at, height, angle, Anchor::Middle, GRAIN);
            return;
        }
    }
}
