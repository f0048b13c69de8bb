//! What stands on a sheet beside the drawing: its name, the bars it is measured by, crosses and the names of its
//! neighbours.

use std::f64::consts::FRAC_PI_2;

use kurbo::{Point, Rect, Size, Vec2};

use super::{BAR_MM, WORDS_MM};
use crate::lettering::engraved_width;
use crate::model::{Anchor, Drawing, Operation, item_bounds};

/// Room for a bar with its ticks and words, across it, mm.
const BAR_ROOM_MM: f64 = 6.0;
/// Arm of a register cross, mm.
const CROSS_MM: f64 = 5.0;
/// Where along an edge something is put, the first where all do as well.
const PLACES: [f64; 5] = [0.0, 1.0, 0.5, 0.25, 0.75];
/// Words at an edge stand this far within what the printer reaches, mm.
const EDGE_CLEAR_MM: f64 = 1.5;
/// Letters no smaller than this are read on paper without a glass, mm.
const LEAST_MM: f64 = 1.8;

/// One piece of the drawing on a page: the part of the page it may fill, how it is scaled and moved there, and whether
/// its letters are shown.
#[derive(Clone)]
pub(super) struct Shown {
    pub run: usize,
    pub window: Rect,
    pub scale: f64,
    pub shift: Vec2,
    pub letters: bool,
}

/// A page: its size, what it shows of the drawings, and what is added.
#[derive(Clone)]
pub(super) struct Page {
    pub size: Size,
    pub shown: Vec<Shown>,
    pub furniture: Drawing,
}

/// Column and row from the top, of a sheet among those it is joined to.
pub(super) type Place = (usize, usize);

/// A1 at the top left: columns are lettered and rows numbered downward.
pub(super) fn sheet_name((column, row): Place) -> String {
    format!("{}{}", column_letters(column), row + 1)
}

/// A, B ... Z, AA, AB ...
fn column_letters(column: usize) -> String {
    let last = char::from(b'A' + (column % 26) as u8);
    if column < 26 { last.to_string() } else { column_letters(column / 26 - 1) + &last.to_string() }
}

/// What is put on one sheet, clear of one another and where the drawing has least.
pub(super) struct Furniture<'a> {
    /// What the printer reaches of the page.
    window: Rect,
    /// How much of the drawing is in a box of the page.
    taken: &'a dyn Fn(Rect) -> usize,
    boxes: Vec<Rect>,
    pub drawing: Drawing,
}

impl<'a> Furniture<'a> {
    pub fn new(window: Rect, taken: &'a dyn Fn(Rect) -> usize) -> Self {
        Self { window, taken, boxes: Vec::new(), drawing: Drawing::default() }
    }

    /// To be put clear of what is there.
    pub fn about(window: Rect, taken: &'a dyn Fn(Rect) -> usize, there: &Drawing) -> Self {
        let boxes = there.items.iter().filter_map(item_bounds).collect();
        Self { boxes, ..Self::new(window, taken) }
    }

    /// Whether nothing else stands in a box.
    fn stands_clear(&self, r: Rect) -> bool {
        self.boxes.iter().all(|b| !b.overlaps(r))
    }

    /// The first of the ways that meets nothing else and, of those, least of the drawing.
    fn best<T>(&self, ways: impl IntoIterator<Item = (T, Vec<Rect>)>) -> Option<(T, Vec<Rect>)> {
        ways.into_iter().min_by_key(|(_, boxes)| {
            (
                boxes.iter().any(|b| !self.stands_clear(*b)),
                boxes.iter().map(|b| (self.taken)(*b)).sum::<usize>(),
            )
        })
    }

    /// Register crosses at the four corners of what this sheet has for itself: neighbours' fall on the same places of
    /// the drawing.
    pub fn crosses(&mut self, inset: f64) {
        let layer = self.drawing.layer("words", Operation::Annotate);
        let own = self.window.inset(-inset);
        for x in [own.x0, own.x1] {
            for y in [own.y0, own.y1] {
                self.drawing.cross(layer, Point::new(x, y), CROSS_MM);
            }
        }
        for (x0, x1) in [(own.x0 - CROSS_MM, own.x0 + CROSS_MM), (own.x1 - CROSS_MM, own.x1 + CROSS_MM)] {
            for (y0, y1) in [(own.y0 - CROSS_MM, own.y0 + CROSS_MM), (own.y1 - CROSS_MM, own.y1 + CROSS_MM)] {
                self.boxes.push(Rect::new(x0, y0, x1, y1));
            }
        }
    }

    /// What the sheet is, in a corner clear of the crosses.
    pub fn name(&mut self, inset: f64, name: &str) {
        let layer = self.drawing.layer("words", Operation::Annotate);
        let clear = self.window.inset(-inset - 2.0 * CROSS_MM);
        let (height, name) = fitted(name, clear.width());
        let along = engraved_width(&name, height);
        let low = self.window.y0 + inset;
        let high = self.window.y1 - inset - WORDS_MM;
        let spots = PLACES
            .into_iter()
            .flat_map(|part| [high, low].map(|y| (clear.x0 + part * (clear.width() - along), y)));
        let ways = spots.map(|(x, y)| ((x, y), vec![Rect::new(x, y, x + along, y + height)]));
        if let Some((at, boxes)) = self.best(ways) {
            self.drawing.text(layer, at.into(), height, 0.0, Anchor::Start, name);
            self.boxes.extend(boxes);
        }
    }

    /// The two bars, in the corner where the drawing leaves most room.
    pub fn bars(&mut self, inset: f64) {
        let clear = self.window.inset(-inset - 2.0 * CROSS_MM);
        let over = Vec2::new(clear.width() - BAR_MM, clear.height() - BAR_MM);
        // From a corner, or as far from it as there is room.
        let offsets = PLACES.into_iter().flat_map(|across| PLACES.map(|up| (across, up)));
        let ways = offsets.flat_map(|(across, up)| {
            [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)].map(|(x, y)| {
                let corner = Point::new(
                    if x > 0.0 { clear.x0 } else { clear.x1 } + x * across * over.x,
                    if y > 0.0 { clear.y0 } else { clear.y1 } + y * up * over.y,
                );
                let way = Vec2::new(x, y);
                ((corner, way), bar_room(corner, way).to_vec())
            })
        });
        if let Some(((corner, way), boxes)) = self.best(ways) {
            bars(&mut self.drawing, corner, way);
            self.boxes.extend(boxes);
        }
    }

    /// The names of the sheets that are joined here: left, right, below, above.
    pub fn neighbours(&mut self, names: [Option<String>; 4]) {
        let layer = self.drawing.layer("words", Operation::Annotate);
        let at = self.window.inset(-EDGE_CLEAR_MM);
        let middle = self.window.center();
        for (side, name) in names.into_iter().enumerate() {
            let Some(name) = name else { continue };
            let words = format!("joins {name}");
            let half = 0.5 * engraved_width(&words, WORDS_MM);
            let upright = side < 2;
            let (length, centre) = if upright { (at.height(), middle.y) } else { (at.width(), middle.x) };
            let ways = [0.0, -0.12, 0.12, -0.25, 0.25].map(|part| {
                let along = centre + part * length;
                let (foot, r) = match side {
                    0 => {
                        let x = at.x0 + WORDS_MM;
                        (Point::new(x, along), Rect::new(at.x0, along - half, x, along + half))
                    }
                    1 => (
                        Point::new(at.x1, along),
                        Rect::new(at.x1 - WORDS_MM, along - half, at.x1, along + half),
                    ),
                    2 => (
                        Point::new(along, at.y0),
                        Rect::new(along - half, at.y0, along + half, at.y0 + WORDS_MM),
                    ),
                    _ => {
                        let y = at.y1 - WORDS_MM;
                        (Point::new(along, y), Rect::new(along - half, y, along + half, at.y1))
                    }
                };
                (foot, vec![r])
            });
            if let Some((foot, boxes)) = self.best(ways) {
                let angle = if upright { FRAC_PI_2 } else { 0.0 };
                self.drawing.text(layer, foot, WORDS_MM, angle, Anchor::Middle, words);
                self.boxes.extend(boxes);
            }
        }
    }

    /// Somewhere for a box of this size where nothing is drawn, its lower left corner.
    pub fn room_for(&self, size: Size) -> Option<Point> {
        let room = self.window.inset(-EDGE_CLEAR_MM);
        let steps = |from: f64, to: f64| {
            let count = if to < from { 0 } else { ((to - from) / STEP_MM) as usize + 1 };
            (0..count).map(move |i| from + i as f64 * STEP_MM)
        };
        let across = || steps(room.x0, room.x1 - size.width);
        let spots =
            steps(room.y0, room.y1 - size.height).flat_map(|y| across().map(move |x| Point::new(x, y)));
        spots.into_iter().find(|at| {
            let r = Rect::from_origin_size(*at, size).inflate(CLEAR_MM, CLEAR_MM);
            self.stands_clear(r) && (self.taken)(r) == 0
        })
    }
}

/// Spots for a box are tried this far apart, and it keeps this far from what is drawn, mm.
const STEP_MM: f64 = 7.0;
const CLEAR_MM: f64 = 3.0;

/// A line of words that has this room: smaller letters where it is long, cut short where they would be too small.
pub(super) fn fitted(words: &str, room: f64) -> (f64, String) {
    let wide = engraved_width(words, WORDS_MM);
    if wide <= room {
        return (WORDS_MM, words.to_owned());
    }
    let height = WORDS_MM * room / wide;
    if height >= LEAST_MM {
        return (height, words.to_owned());
    }
    // The end tells which sheet it is: what goes is in the middle.
    let letters: Vec<char> = words.chars().collect();
    let cut = |keep: usize| -> String {
        let (head, tail) = (keep / 2, keep - keep / 2);
        let tail = letters[letters.len() - tail..].iter();
        letters[..head].iter().chain(['.', '.', '.'].iter()).chain(tail).collect()
    };
    // No letter is narrower than the gap after it, a quarter of its height.
    let most = letters.len().min((4.0 * room / LEAST_MM).max(1.0) as usize);
    let fits = (1..most).rev().map(cut).find(|short| engraved_width(short, LEAST_MM) <= room);
    (LEAST_MM, fits.unwrap_or_default())
}

/// The boxes that the bars from a corner take, along and up.
fn bar_room(corner: Point, way: Vec2) -> [Rect; 2] {
    let to = |along: f64, up: f64| Rect::from_points(corner, corner + Vec2::new(way.x * along, way.y * up));
    [to(BAR_MM, BAR_ROOM_MM), to(BAR_ROOM_MM, BAR_MM)]
}

/// Two thin bars of 100 mm, not to be taken for lines to cut by, from one corner, the ways given by the signs of `way`,
/// ticked at their ends and middles.
pub(super) fn bars(furniture: &mut Drawing, corner: Point, way: Vec2) {
    let layer = furniture.layer("check", Operation::Annotate);
    let (x, y) = (Vec2::new(way.x, 0.0), Vec2::new(0.0, way.y));
    for (along, across) in [(x, y), (y, x)] {
        furniture.line(layer, corner, corner + along * BAR_MM);
        for part in [0.5, 1.0] {
            let tick = corner + along * (part * BAR_MM);
            furniture.line(layer, tick, tick + across * 3.0);
        }
    }
    let anchor = if way.x > 0.0 { Anchor::Start } else { Anchor::End };
    let off = if way.y > 0.0 { 1.5 } else { -1.5 - WORDS_MM };
    let at = corner + Vec2::new(way.x * 0.55 * BAR_MM, off);
    let at = if way.x > 0.0 { at } else { Point::new(corner.x - BAR_ROOM_MM, at.y) };
    furniture.text(layer, at, WORDS_MM, 0.0, anchor, "100 mm both ways");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_of_sheets_are_lettered() {
        assert_eq!([0, 25, 26, 701].map(column_letters), ["A", "Z", "AA", "ZZ"]);
    }

    #[test]
    fn a_name_with_no_room_is_smaller_and_then_shorter_and_keeps_which_sheet_it_is() {
        let end = "mould 3 - B2 of 4 x 5";
        for (boat, room) in [(4, 150.0), (60, 250.0), (400, 150.0), (400, 40.0)] {
            let name = format!("{} - {end}", "w".repeat(boat));
            let (height, told) = fitted(&name, room);
            assert!(height >= LEAST_MM && engraved_width(&told, height) <= room + 1e-9, "{boat} {room}");
            assert!(told == name || told.ends_with("4 x 5"), "{told}");
        }
    }
}
