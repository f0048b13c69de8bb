//! Single-stroke letters for marks that are engraved or scored: each stroke is cut once, along its line.
//!
//! Our own design on a grid four wide and eight high, the base line at two: capitals fill the upper six, small
//! letters four, tails the lower two. Corners are chamfers, so that plain lines cut cleanly at any height.

use crate::model::{Anchor, Drawing, Engraved};
use crate::to_ascii;
use kurbo::{Affine, BezPath, Point};

/// Grid units from the base line to the top of a capital, and below the base line.
const CAPITAL: f64 = 6.0;
const BASE: f64 = 2.0;

/// Clear grid units between letters: with less, strokes of neighbours chip out together at small sizes.
const GAP: f64 = 1.5;

/// The strokes of a line of text as open polylines, mm: `height` is that of a capital, `angle` anticlockwise in
/// radians, `anchor` which end of the text is at the point. What is not ASCII is spelled as [`to_ascii`] does.
pub fn engraved(text: &str, at: Point, height: f64, angle: f64, anchor: Anchor) -> BezPath {
    let plain = to_ascii(text);
    let unit = height / CAPITAL;
    let start = match anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -0.5 * grid_width(&plain),
        Anchor::End => -grid_width(&plain),
    };
    let placed = Affine::translate(at.to_vec2()) * Affine::rotate(angle) * Affine::scale(unit);
    let mut path = BezPath::new();
    for stroke in strokes(&plain) {
        for (i, point) in stroke.into_iter().enumerate() {
            let point = placed * Point::new(start + point.x, point.y);
            if i == 0 {
                path.move_to(point);
            } else {
                path.line_to(point);
            }
        }
    }
    path
}

/// The strokes of plain text, grid units from the start of its base line.
fn strokes(plain: &str) -> Vec<Vec<Point>> {
    let mut all = Vec::new();
    let mut left = 0.0;
    for letter in plain.bytes() {
        let (width, strokes) = glyph(letter);
        for stroke in strokes.split_ascii_whitespace() {
            let places = stroke.as_bytes().chunks_exact(2).map(|place| {
                let [across, up] = [place[0], place[1]].map(|digit| f64::from(digit - b'0'));
                Point::new(left + across, up - BASE)
            });
            all.push(places.collect());
        }
        left += f64::from(*width) + GAP;
    }
    all
}

/// The strokes of plain text as the glyph of one letter of a font, and how far on the next begins: a capital is of
/// height 1.
pub(crate) fn letter(plain: &str) -> (f64, Vec<Vec<Point>>) {
    let mut strokes = strokes(plain);
    for point in strokes.iter_mut().flatten() {
        *point = (point.to_vec2() / CAPITAL).to_point();
    }
    let on = plain.bytes().map(|letter| f64::from(glyph(letter).0) + GAP).sum::<f64>();
    (on / CAPITAL, strokes)
}

/// Length of an engraved line of text, mm.
pub fn engraved_width(text: &str, height: f64) -> f64 {
    grid_width(&to_ascii(text)) * height / CAPITAL
}

impl Drawing {
    /// Adds a line of text as single strokes; see [`engraved`].
    pub fn engrave(&mut self, layer: usize, at: Point, height: f64, angle: f64, anchor: Anchor, text: &str) {
        let strokes = engraved(text, at, height, angle, anchor);
        if !strokes.elements().is_empty() {
            let item = self.items.len();
            self.engraved.push(Engraved { item, at, height, angle, anchor, text: text.to_owned() });
            self.path(layer, strokes);
        }
    }
}

fn grid_width(plain: &str) -> f64 {
    let widths = plain.bytes().map(|letter| f64::from(glyph(letter).0) + GAP).sum::<f64>();
    (widths - GAP).max(0.0)
}

fn glyph(letter: u8) -> &'static Glyph {
    &GLYPHS[usize::from(letter.clamp(b' ', b'~') - b' ')]
}

/// A letter: its width in grid units, and its strokes parted by spaces. A stroke is a run of places, each a
/// digit across and a digit up.
type Glyph = (u8, &'static str);

/// The printable ASCII characters in order.
#[rustfmt::skip]
const GLYPHS: [Glyph; 95] = [
    (2, ""), // space
    (0, "0804 0302"), // !
    (1, "0806 1816"), // "
    (4, "1317 3337 0444 0646"), // #
    (4, "46371706153544331304 2822"), // $
    (4, "0248 0807171808 3332424333"), // %
    (4, "42071828370403122244"), // &
    (0, "0806"), // '
    (1, "18070312"), // (
    (1, "08171302"), // )
    (2, "1814 0725 0527"), // *
    (4, "0545 2723"), // +
    (1, "1201"), // ,
    (3, "0535"), // -
    (0, "0302"), // .
    (3, "0238"), // /
    (3, "182837332212030718"), // 0
    (2, "071812 0222"), // 1
    (3, "07182837360232"), // 2
    (3, "07182837362515 253433221203"), // 3
    (3, "280434 2622"), // 4
    (3, "380805253433221203"), // 5
    (3, "372818070312223334251504"), // 6
    (3, "083812"), // 7
    (3, "15060718283736251504031222333425"), // 8
    (3, "031222333728180706152536"), // 9
    (0, "0605 0302"), // :
    (1, "1615 1301"), // ;
    (3, "370533"), // <
    (3, "0636 0434"), // =
    (3, "073503"), // >
    (3, "07182837362514 1312"), // ?
    (4, "362615142333 36334346381807031242"), // @
    (4, "022842 1535"), // A
    (4, "02083847463505 3544433202"), // B
    (4, "4738180703123243"), // C
    (4, "02083847433202"), // D
    (4, "42020848 0535"), // E
    (4, "020848 0535"), // F
    (4, "47381807031232434525"), // G
    (4, "0208 4248 0545"), // H
    (2, "0222 0828 1218"), // I
    (3, "3833221203"), // J
    (4, "0208 4804 1542"), // K
    (3, "080232"), // L
    (4, "0208254842"), // M
    (4, "02084248"), // N
    (4, "183847433212030718"), // O
    (4, "02083847463505"), // P
    (4, "183847433212030718 2442"), // Q
    (4, "02083847463505 2542"), // R
    (4, "473818070615354443321203"), // S
    (4, "0848 2822"), // T
    (4, "080312324348"), // U
    (4, "082248"), // V
    (4, "0812263248"), // W
    (4, "0248 0842"), // X
    (4, "082548 2522"), // Y
    (4, "08480242"), // Z
    (1, "18080212"), // [
    (3, "0832"), // backslash
    (1, "08181202"), // ]
    (2, "061826"), // ^
    (4, "0141"), // _
    (1, "0817"), // `
    (3, "3632 3526160503122233"), // a
    (3, "0802 0516263533221203"), // b
    (3, "3526160503122233"), // c
    (3, "3832 3526160503122233"), // d
    (3, "04343526160503122233"), // e
    (2, "281712 0626"), // f
    (3, "3631201001 3526160503122233"), // g
    (3, "0802 0516263532"), // h
    (0, "0602 0807"), // i
    (1, "161100 1817"), // j
    (3, "0802 3603 1432"), // k
    (1, "080312"), // l
    (4, "0602 05162522 25364542"), // m
    (3, "0602 0516263532"), // n
    (3, "162635332212030516"), // o
    (3, "0600 0516263533221203"), // p
    (3, "3630 3526160503122233"), // q
    (2, "0602 051626"), // r
    (3, "35261605142433221203"), // s
    (2, "181322 0626"), // t
    (3, "0603122233 3632"), // u
    (2, "061226"), // v
    (4, "0612253246"), // w
    (3, "0632 0236"), // x
    (3, "0603122233 3631201001"), // y
    (3, "06360232"), // z
    (2, "28171605141322"), // {
    (0, "0801"), // |
    (2, "08171625141302"), // }
    (4, "04153445"), // ~
];

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{PathEl, Shape};
    use std::collections::HashSet;
    use std::f64::consts::FRAC_PI_2;

    #[test]
    fn every_letter_has_strokes_of_its_own_within_its_width() {
        let mut seen = HashSet::new();
        for (i, (width, strokes)) in GLYPHS.iter().enumerate().skip(1) {
            assert!(seen.insert((*width, *strokes)), "{} looks like another", char::from(32 + i as u8));
            for stroke in strokes.split(' ') {
                assert!(stroke.len() >= 4 && stroke.len() % 2 == 0, "{stroke}");
                let places: Vec<&[u8]> = stroke.as_bytes().chunks(2).collect();
                let inside = |place: &&[u8]| place[0] - b'0' <= *width && place[1] <= b'8';
                assert!(places.iter().all(inside), "{stroke} is out of its width");
                assert!(places.windows(2).all(|pair| pair[0] != pair[1]), "{stroke} stands still");
            }
        }
    }

    #[test]
    fn a_capital_is_as_tall_as_asked_and_stands_on_its_base_line() {
        let bounds = engraved("H", Point::new(10.0, 20.0), 12.0, 0.0, Anchor::Start).bounding_box();
        assert_eq!((bounds.x0, bounds.y0, bounds.y1), (10.0, 20.0, 32.0));
        assert_eq!(bounds.width(), engraved_width("H", 12.0));
    }

    #[test]
    fn a_label_is_anchored_by_its_ends_and_turns_about_its_point() {
        let at = Point::new(5.0, 5.0);
        let end = engraved("6-3-5+", at, 6.0, 0.0, Anchor::End).bounding_box();
        assert!((end.x1 - 5.0).abs() < 1e-9, "{end:?}");
        let middle = engraved("HOH", at, 6.0, FRAC_PI_2, Anchor::Middle).bounding_box();
        assert!((middle.center().y - 5.0).abs() < 1e-9 && (middle.x1 - 5.0).abs() < 1e-9, "{middle:?}");
    }

    #[test]
    fn strokes_are_open_and_text_outside_ascii_is_spelled() {
        let path = engraved("3⅜", Point::ORIGIN, 6.0, 0.0, Anchor::Start);
        assert!(path.elements().iter().all(|element| *element != PathEl::ClosePath));
        assert_eq!(path, engraved("3 3/8", Point::ORIGIN, 6.0, 0.0, Anchor::Start));
        assert!(engraved(" ", Point::ORIGIN, 6.0, 0.0, Anchor::Start).elements().is_empty());
    }
}
