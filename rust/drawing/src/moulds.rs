//! Moulds as drawings to cut from: full size, one closed path an outline, marks and letters in the wood.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};
use scrieve_loft::moulds::{Mould, MouldSet, Piece, Side};
use scrieve_loft::{Mark, MarkKind};

use crate::space::{Space, spots_beside, text_width};
use crate::{Anchor, Drawing, Operation};

/// One drawing for each mould, mm at full size, looking at the face that stands on the station line.
///
/// The halves of a pair lie side by side, `gap_mm` apart.
pub fn mould_drawings(set: &MouldSet, gap_mm: f64) -> Vec<Drawing> {
    set.moulds.iter().map(|mould| mould_drawing(set, mould, gap_mm)).collect()
}

/// One mould, mm at full size.
pub fn mould_drawing(set: &MouldSet, mould: &Mould, gap_mm: f64) -> Drawing {
    let title = format!("{}, mould {}", set.name, mould.station);
    let mut drawing = Drawing::new(format!("mould-{}", mould.station), title);
    let layers = Layers {
        outline: drawing.layer("Outlines", Operation::CutOutside),
        holes: drawing.layer("Holes", Operation::CutInside),
        marks: drawing.layer("Marks", Operation::Mark),
        letters: drawing.layer("Letters", Operation::Engrave),
    };
    for (i, piece) in mould.pieces.iter().enumerate() {
        let apart = match (mould.pieces.len(), i) {
            (1, _) => 0.0,
            (_, 0) => gap_mm / 2.0,
            _ => -gap_mm / 2.0,
        };
        let place = Affine::translate((apart, 0.0)) * Affine::scale(1e3);
        draw_piece(&mut drawing, &layers, set, mould, piece, place);
    }
    drawing
}

/// Heights of letters tried for the name of a mould, mm: the largest that finds room.
pub(crate) const NAME_HEIGHTS: [f64; 4] = [12.0, 9.0, 6.0, 4.0];
/// Heights of letters tried beside marks, mm; under 2.5 mm a router's letters close up.
pub(crate) const MARK_HEIGHTS: [f64; 3] = [5.0, 3.5, 2.5];
/// Room is counted in squares of this, mm: finer finds a little more room, slower by the square.
pub(crate) const CELL: f64 = 3.0;
/// Room kept round letters, as a part of their height.
const CLEAR: f64 = 0.35;

struct Layers {
    outline: usize,
    holes: usize,
    marks: usize,
    letters: usize,
}

fn draw_piece(
    drawing: &mut Drawing,
    layers: &Layers,
    set: &MouldSet,
    mould: &Mould,
    piece: &Piece,
    place: Affine,
) {
    let outline = place * piece.outline.clone();
    let holes: Vec<BezPath> = piece.holes.iter().map(|h| place * h.clone()).collect();
    let mut space = Space::new(outline.bounding_box(), CELL);
    space.keep_to(&outline, &holes);
    drawing.path(layers.outline, outline);
    holes.into_iter().for_each(|h| drawing.path(layers.holes, h));

    let marks: Vec<(&Mark, BezPath)> = piece.marks.iter().map(|m| (m, place * m.path.clone())).collect();
    for (_, path) in &marks {
        space.take(path);
        drawing.path(layers.marks, path.clone());
    }

    let mut lines = vec![set.name.clone()];
    lines.extend(mould.labels.iter().cloned());
    match piece.side {
        Side::Port => lines.push("PORT".to_owned()),
        Side::Starboard => lines.push("STARBOARD".to_owned()),
        Side::Both => {}
    }
    let sheer =
        place * Point::new(mould.sheer.x * piece.outline.bounding_box().center().x.signum(), mould.sheer.y);
    write_block(drawing, layers.letters, &mut space, &lines, sheer, &NAME_HEIGHTS);
    if piece.side == Side::Both {
        let sides = match mould.face {
            scrieve_loft::moulds::Face::Forward => ["PORT", "STARBOARD"],
            scrieve_loft::moulds::Face::After => ["STARBOARD", "PORT"],
        };
        for (text, side) in sides.iter().zip([1.0, -1.0]) {
            let near = place * Point::new(side * mould.sheer.x, mould.sheer.y);
            write_block(drawing, layers.letters, &mut space, &[(*text).to_owned()], near, &NAME_HEIGHTS);
        }
    } else {
        let foot = place * Point::new(0.0, piece.outline.bounding_box().y0);
        let label = ["CENTRELINE".to_owned()];
        write_block(drawing, layers.letters, &mut space, &label, foot, &MARK_HEIGHTS);
    }
    for (mark, path) in &marks {
        if mark.kind != MarkKind::StationFace {
            write_beside(drawing, layers.letters, &mut space, &mark.label, path);
        }
    }
}

/// Lines of letters under each other, as near to a point as there is room.
pub(crate) fn write_block(
    drawing: &mut Drawing,
    layer: usize,
    space: &mut Space,
    lines: &[String],
    near: Point,
    heights: &[f64],
) {
    let spots = space.spots_near(near);
    for &height in heights {
        let width = lines.iter().map(|l| text_width(l, height)).fold(0.0, f64::max);
        let pitch = height * (1.0 + 2.0 * CLEAR);
        let found = space.place(width + height * CLEAR, pitch * lines.len() as f64, spots.iter().copied());
        if let Some(r) = found {
            for (i, line) in lines.iter().enumerate() {
                let base = r.y1 - pitch * (i + 1) as f64 + height * CLEAR;
                drawing.text(layer, Point::new(r.center().x, base), height, 0.0, Anchor::Middle, line);
            }
            return;
        }
    }
    // No room for a block: a line at a time, wherever each fits.
    if lines.len() > 1 {
        lines.iter().for_each(|l| write_block(drawing, layer, space, std::slice::from_ref(l), near, heights));
    }
}

/// A label along a mark, level or up it, in the largest letters that find room.
pub(crate) fn write_beside(
    drawing: &mut Drawing,
    layer: usize,
    space: &mut Space,
    label: &str,
    path: &BezPath,
) {
    let bounds = path.bounding_box();
    let upright = bounds.height() > 2.0 * bounds.width();
    for height in MARK_HEIGHTS {
        let (long, high) = (text_width(label, height), height * (1.0 + 2.0 * CLEAR));
        for turned in [upright, !upright] {
            let (w, h) = if turned { (high, long) } else { (long, high) };
            let off = if turned == upright { high / 2.0 + CELL } else { w / 2.0 + CELL };
            if let Some(r) = space.place(w, h, spots_beside(path, 0.5, off, true)) {
                write_in(drawing, layer, r, height, turned, label);
                return;
            }
        }
    }
}

fn write_in(drawing: &mut Drawing, layer: usize, r: Rect, height: f64, turned: bool, text: &str) {
    let c = r.center();
    let (at, angle) = match turned {
        false => (Point::new(c.x, c.y - height / 2.0), 0.0),
        true => (Point::new(c.x + height / 2.0, c.y), std::f64::consts::FRAC_PI_2),
    };
    drawing.text(layer, at, height, angle, Anchor::Middle, text);
}
