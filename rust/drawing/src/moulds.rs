//! Moulds as drawings to cut from: full size, one closed path an outline, marks and letters in the wood.

use kurbo::{Affine, BezPath, PathSeg, Point, Rect, Shape as _, Size, Vec2};
use scrieve_loft::moulds::{Mould, MouldSet, Piece, Side};
use scrieve_loft::pieces::Part;
use scrieve_loft::{Mark, MarkKind};

use crate::space::{Space, spots_beside, text_width};
use crate::told::{along_the_board, count_of, stock_of, tenths, write_grain};
use crate::{Anchor, Drawing, Operation, Stroke};

/// One drawing for each mould, mm at full size, looking at the face that stands on the station line.
///
/// The halves of a pair lie side by side, `gap_mm` apart; so do the pieces of a mould in pieces, and what is
/// laid on them lies above.
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
    for (piece, place) in mould.pieces.iter().zip(places(mould, gap_mm)) {
        draw_piece(&mut drawing, &layers, set, mould, piece, place);
    }
    drawing
}

/// A mould's pieces in their places, each with its name and the narrowest board it is got out of, mm; to
/// look at, not to cut from. What is laid on the other face is dashed.
pub fn assembled_drawing(set: &MouldSet, mould: &Mould) -> Drawing {
    let title = format!("{}, mould {} put together", set.name, mould.station);
    let mut drawing = Drawing::new(format!("mould-{}-put-together", mould.station), title);
    let bounds = mould.pieces.iter().map(|p| p.outline.bounding_box()).reduce(|a, b| a.union(b));
    let sheet = Affine::scale(1e3).transform_rect_bbox(bounds.unwrap_or_default());
    let mut space = Space::new(sheet.inflate(ROUND_MM, ROUND_MM), CELL);
    for piece in &mould.pieces {
        let (layer, stroke) = match piece.part {
            Part::Mould => ("Mould", Stroke::solid(0.5, [0, 0, 0])),
            Part::Floor => ("Floor", Stroke::solid(0.5, [0, 0, 0])),
            Part::Futtock => ("Futtocks", Stroke::solid(0.5, [0, 0, 0])),
            Part::Cleat => ("Cleats", Stroke::solid(0.25, [0, 102, 204]).dashed(&[2.0, 1.0])),
            Part::Head => ("Head", Stroke::solid(0.25, [0, 102, 204]).dashed(&[2.0, 1.0])),
            Part::Spall => ("Spall", Stroke::solid(0.25, [0, 102, 204]).dashed(&[2.0, 1.0])),
        };
        let layer = drawing.layer_drawn(layer, Operation::Annotate, stroke);
        for path in std::iter::once(&piece.outline).chain(&piece.holes) {
            let path = Affine::scale(1e3) * path.clone();
            space.take(&path);
            drawing.path(layer, path);
        }
    }
    let letters = drawing.layer("Letters", Operation::Annotate);
    for piece in &mould.pieces {
        let board = piece.board(set.stock);
        let name = if piece.name.is_empty() { "MOULD" } else { &piece.name };
        let lines = [name.to_owned(), format!("{:.0} X {:.0}", board.length * 1e3, board.width * 1e3)];
        let near = Affine::scale(1e3) * middle_of_the_wood(piece);
        write_block(&mut drawing, letters, &mut space, &lines, near, &ASSEMBLED_HEIGHTS);
    }
    drawing
}

/// Room round a mould put together, mm: a label that finds none in the wood stands beside it.
const ROUND_MM: f64 = 120.0;
/// Heights of letters tried on a mould put together, mm.
const ASSEMBLED_HEIGHTS: [f64; 3] = [14.0, 10.0, 7.0];

/// Where each piece of a mould is drawn, mm.
fn places(mould: &Mould, gap_mm: f64) -> Vec<Affine> {
    let full = Affine::scale(1e3);
    let halves = mould.pieces.iter().filter(|p| p.part == Part::Mould).count() > 1;
    let drawn = |piece: &Piece, place: Affine| (place * piece.outline.clone()).bounding_box();
    let of_the_edge = |piece: &Piece| {
        let apart = match (halves, piece.outline.bounding_box().center().x > 0.0) {
            (false, _) => piece.apart * gap_mm,
            (true, right) => Vec2::new(if right { gap_mm / 2.0 } else { -gap_mm / 2.0 }, 0.0),
        };
        Affine::translate(apart) * full
    };
    let edge = mould.pieces.iter().filter(|p| !is_laid_on(p));
    let all = edge.map(|p| drawn(p, of_the_edge(p))).reduce(|a, b| a.union(b)).unwrap_or_default();
    // Boards across the limbs one above the other, cleats in a row above them.
    let mut up = all.y1 + gap_mm;
    let mut places: Vec<Affine> = mould.pieces.iter().map(of_the_edge).collect();
    for (place, piece) in places.iter_mut().zip(&mould.pieces) {
        if matches!(piece.part, Part::Head | Part::Spall) {
            let low = drawn(piece, full).y0;
            *place = Affine::translate((0.0, up - low)) * full;
            up += drawn(piece, full).height() + gap_mm;
        }
    }
    let mut left = all.x0;
    for (place, piece) in places.iter_mut().zip(&mould.pieces) {
        if piece.part == Part::Cleat {
            let level = Affine::rotate(-lie_of(&piece.outline)) * full;
            let bounds = drawn(piece, level);
            *place = Affine::translate((left - bounds.x0, up - bounds.y0)) * level;
            left += bounds.width() + gap_mm;
        }
    }
    places
}

/// Whether a piece lies on the mould's other face, not in its thickness.
fn is_laid_on(piece: &Piece) -> bool {
    matches!(piece.part, Part::Cleat | Part::Head | Part::Spall)
}

/// The angle of an outline's longest straight from level, within a right angle either way, radians.
fn lie_of(outline: &BezPath) -> f64 {
    let straights = outline.segments().filter_map(|s| match s {
        PathSeg::Line(line) => Some(line.p1 - line.p0),
        _ => None,
    });
    let longest = straights.max_by(|a, b| a.hypot2().total_cmp(&b.hypot2())).unwrap_or(Vec2::new(1.0, 0.0));
    (longest.y / longest.x).atan()
}

/// A point in the wood, as near the middle of the piece as a level line through it finds one, m.
fn middle_of_the_wood(piece: &Piece) -> Point {
    let bounds = piece.outline.bounding_box();
    let level = kurbo::Line::new((bounds.x0 - 1.0, bounds.center().y), (bounds.x1 + 1.0, bounds.center().y));
    let cuts = piece.outline.segments().flat_map(|s| s.intersect_line(level).into_iter());
    let mut cuts: Vec<f64> = cuts.map(|i| level.p0.x + i.line_t * (level.p1.x - level.p0.x)).collect();
    cuts.sort_by(f64::total_cmp);
    let x = if cuts.len() < 2 { bounds.center().x } else { 0.5 * (cuts[0] + cuts[1]) };
    Point::new(x, bounds.center().y)
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
    let told = told_of(set, mould, piece, &outline);
    drawing.part(layers.outline, outline, told.clone());
    holes.into_iter().for_each(|h| drawing.path(layers.holes, h));

    let marks: Vec<(&Mark, BezPath)> = piece.marks.iter().map(|m| (m, place * m.path.clone())).collect();
    for (_, path) in &marks {
        space.take(path);
        drawing.path(layers.marks, path.clone());
    }

    let mut lines = in_lines(&set.name);
    if is_laid_on(piece) {
        lines.extend(mould.labels.iter().take(1).cloned());
        lines.push("THIS FACE TO MOULD".to_owned());
    } else {
        lines.extend(mould.labels.iter().cloned());
    }
    if !piece.name.is_empty() {
        lines.push(piece.name.clone());
    }
    match piece.side {
        // What is cut for both sides is of neither.
        _ if piece.count > 1 => {}
        Side::Port => lines.push("PORT".to_owned()),
        Side::Starboard => lines.push("STARBOARD".to_owned()),
        Side::Both => {}
    }
    lines.extend([count_of(&told), stock_of(&told)]);
    let near = match piece.part {
        Part::Mould => {
            let side = piece.outline.bounding_box().center().x.signum();
            place * Point::new(mould.sheer.x * side, mould.sheer.y)
        }
        _ => place * middle_of_the_wood(piece),
    };
    write_block(drawing, layers.letters, &mut space, &lines, near, &NAME_HEIGHTS);
    write_grain(drawing, layers.letters, &mut space, told.grain, near);
    if piece.side == Side::Both && matches!(piece.part, Part::Mould | Part::Floor) {
        let sides = match mould.face {
            scrieve_loft::moulds::Face::Forward => ["PORT", "STARBOARD"],
            scrieve_loft::moulds::Face::After => ["STARBOARD", "PORT"],
        };
        for (text, side) in sides.iter().zip([1.0, -1.0]) {
            let near = place * Point::new(side * piece.outline.bounding_box().x1, mould.sheer.y);
            // Wholly on its own side of the centreline, whatever room the other has.
            let middle = (place * Point::ZERO).x;
            let bounds = (place * piece.outline.clone()).bounding_box();
            let far = if side > 0.0 { bounds.x0 } else { bounds.x1 };
            let mut own = space.clone();
            own.take_box(Rect::from_points((far, bounds.y0), (middle + side * CELL, bounds.y1)));
            let boxes =
                write_block(drawing, layers.letters, &mut own, &[(*text).to_owned()], near, &NAME_HEIGHTS);
            boxes.into_iter().for_each(|r| space.take_box(r));
        }
    } else if piece.part == Part::Mould {
        let foot = place * Point::new(0.0, piece.outline.bounding_box().y0);
        let label = ["CENTRELINE".to_owned()];
        write_block(drawing, layers.letters, &mut space, &label, foot, &MARK_HEIGHTS);
    }
    for (mark, path) in &marks {
        if !mark.label.is_empty() && mark.kind != MarkKind::StationFace {
            write_beside(drawing, layers.letters, &mut space, &mark.label, path);
        }
    }
}

/// Letters of a name on a line, at most, where it can be parted: what a limb of the usual width has room for.
const NAME_LETTERS: usize = 26;

/// A boat's name in lines that a part has room for, parted between words.
pub(crate) fn in_lines(name: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in name.split_whitespace() {
        match lines.last_mut().filter(|line| line.chars().count() + word.chars().count() < NAME_LETTERS) {
            Some(line) => *line = format!("{line} {word}"),
            None => lines.push(word.to_owned()),
        }
    }
    lines
}

/// What the shop is told of a piece.
fn told_of(set: &MouldSet, mould: &Mould, piece: &Piece, outline: &BezPath) -> crate::Part {
    let of_the_edge = matches!(piece.part, Part::Mould | Part::Floor | Part::Futtock);
    let side = match piece.side {
        _ if piece.count > 1 => "",
        Side::Port => "port",
        Side::Starboard => "starboard",
        Side::Both => "",
    };
    let what = [format!("mould {}", mould.station), piece.name.to_lowercase(), side.to_owned()];
    let name: Vec<String> = what.into_iter().filter(|word| !word.is_empty()).collect();
    crate::Part {
        name: name.join(" "),
        count: piece.count,
        thickness_mm: Some(1e3 * set.thickness),
        off: match set.deduction {
            _ if !of_the_edge => String::new(),
            0.0 => "NOTHING OFF".to_owned(),
            off => format!("{} MM OFF", tenths(1e3 * off)),
        },
        face: match mould.face {
            _ if is_laid_on(piece) => "face to mould".to_owned(),
            scrieve_loft::moulds::Face::Forward => "forward face".to_owned(),
            scrieve_loft::moulds::Face::After => "after face".to_owned(),
        },
        // A mould in one is of sheet; its pieces are got out of boards.
        grain: if piece.part == Part::Mould { None } else { along_the_board(outline) },
        ..crate::Part::default()
    }
}

/// Lines of letters under each other, as near to a point as there is room; the boxes they took.
pub(crate) fn write_block(
    drawing: &mut Drawing,
    layer: usize,
    space: &mut Space,
    lines: &[String],
    near: Point,
    heights: &[f64],
) -> Vec<Rect> {
    let spots = space.spots_near(near);
    for &height in heights {
        let size = block_size(lines, height);
        if let Some(r) = space.place(size.width, size.height, spots.iter().copied()) {
            write_lines(drawing, layer, r, lines, height);
            return vec![r];
        }
    }
    // No room for a block: a line at a time, wherever each fits; up a piece that is too narrow for it.
    if let [line] = lines {
        for &height in heights {
            let size = block_size(lines, height);
            if let Some(r) = space.place(size.height, size.width, spots.iter().copied()) {
                write_in(drawing, layer, r, height, true, line);
                return vec![r];
            }
        }
        drawing.unwritten.push(line.clone());
        return Vec::new();
    }
    let one = |line: &String| write_block(drawing, layer, space, std::slice::from_ref(line), near, heights);
    lines.iter().flat_map(one).collect()
}

/// Room that lines of letters need under each other.
pub(crate) fn block_size(lines: &[String], height: f64) -> Size {
    let width = lines.iter().map(|l| text_width(l, height)).fold(0.0, f64::max);
    Size::new(width + height * CLEAR, height * (1.0 + 2.0 * CLEAR) * lines.len() as f64)
}

/// Lines of letters in a box of their [`block_size`].
pub(crate) fn write_lines(drawing: &mut Drawing, layer: usize, r: Rect, lines: &[String], height: f64) {
    let pitch = height * (1.0 + 2.0 * CLEAR);
    for (i, line) in lines.iter().enumerate() {
        let base = r.y1 - pitch * (i + 1) as f64 + height * CLEAR;
        drawing.text(layer, Point::new(r.center().x, base), height, 0.0, Anchor::Middle, line);
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

pub(crate) fn write_in(drawing: &mut Drawing, layer: usize, r: Rect, height: f64, turned: bool, text: &str) {
    let c = r.center();
    let (at, angle) = match turned {
        false => (Point::new(c.x, c.y - height / 2.0), 0.0),
        true => (Point::new(c.x + height / 2.0, c.y), std::f64::consts::FRAC_PI_2),
    };
    drawing.text(layer, at, height, angle, Anchor::Middle, text);
}
