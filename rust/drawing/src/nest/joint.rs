//! A part too long for the bed, made of several: cut across by a joint whose two faces lie one on the other.
//!
//! A scarf is eight times as long as the part is deep there, its nibs a seventh of the depth, as those of the backbone
//! are (common practice). A step is twice as long as the part is deep, half its depth on either piece; it holds less
//! than a scarf and finds its place by itself (common practice). Both are drawn along the middle of the part where they are.

use kurbo::{Affine, BezPath, Line, ParamCurve, PathEl, PathSeg, Point, Shape as _, Vec2};
use scrieve_loft::backbone::{NIB, SCARF};
use scrieve_loft::{narrowest_board, parted};

use super::NestError;
use super::piece::{Piece, bounds};
use crate::lettering::engraved_width;
use crate::model::{Anchor, Drawing, Item, Operation, Part};
use crate::space::{Space, text_width};

/// Length of a step for the part's depth.
const STEP: f64 = 2.0;

/// Pieces one part is made of, at most.
const MOST: usize = 24;

/// Places tried for a joint, each this part of a piece's length farther from where pieces would be alike.
const TRIED: usize = 20;
const ASIDE: f64 = 0.015;

/// Letters of a piece's name, mm, the largest that has room.
const LETTERS_MM: [f64; 4] = [14.0, 10.0, 7.0, 4.0];

/// How two pieces of one part are joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Joint {
    /// A nibbed scarf.
    Scarf,
    /// A stepped joint.
    Step,
}

impl Joint {
    /// Its length for the part's depth.
    fn length(self) -> f64 {
        match self {
            Joint::Scarf => SCARF,
            Joint::Step => STEP,
        }
    }

    /// Its line from above to below: along, and up from the middle, where the part is `depth` deep.
    fn line(self, depth: f64) -> [Vec2; 2] {
        let (half, up) = (0.5 * self.length() * depth, 0.5 * depth);
        match self {
            Joint::Scarf => [Vec2::new(-half, up - NIB * depth), Vec2::new(half, NIB * depth - up)],
            Joint::Step => [Vec2::new(-half, 0.0), Vec2::new(half, 0.0)],
        }
    }
}

/// The fewest pieces, none longer than `longest`, mm, that make the part.
pub(super) fn made_of(piece: Piece, joint: Joint, longest: f64, gap: f64) -> Result<Vec<Piece>, NestError> {
    let refused = |why| NestError::NoJoint { part: piece.part.name.clone(), why };
    let (board, lie) = narrowest_board(piece.outline());
    let level = Affine::rotate(-lie);
    let ring: Vec<Point> = piece.ring.iter().map(|p| level * *p).collect();
    let own = bounds(ring.iter().copied());
    let least = (board.length / longest).ceil().max(2.0) as usize;
    for many in least..=MOST.min(least + 4) {
        let each = own.width() / many as f64;
        let mut rest = piece.clone();
        let mut made = Vec::new();
        for n in 1..many {
            let at = own.x0 + each * n as f64;
            let aside = (0..TRIED)
                .map(|i| ASIDE * each * (i as f64 / 2.0).ceil() * if i % 2 == 0 { 1.0 } else { -1.0 });
            let parted = aside.filter_map(|aside| {
                let across = Across::at(&ring, at + aside, gap)?;
                let region = Affine::rotate(lie) * across.region(joint, own.width() + own.height());
                cut(&rest, &region, joint, &across, lie)
            });
            let Some((before, after)) =
                parted.into_iter().find(|(before, _)| length(before, level) <= longest)
            else {
                break;
            };
            made.push(before);
            rest = after;
        }
        if made.len() + 1 == many && length(&rest, level) <= longest {
            made.push(rest);
            for (n, one) in made.iter_mut().enumerate() {
                named(one, &piece.part, n + 1, many);
            }
            return Ok(made);
        }
    }
    Err(refused("no place across it leaves two sound pieces short enough"))
}

/// How long a piece is along the board of the whole.
fn length(piece: &Piece, level: Affine) -> f64 {
    bounds(piece.ring.iter().map(|p| level * *p)).width()
}

/// A place across a part that lies level: its middle there, how deep it is, and which way it runs.
struct Across {
    middle: Point,
    depth: f64,
    along: Vec2,
}

impl Across {
    fn at(ring: &[Point], x: f64, gap: f64) -> Option<Self> {
        let (low, high) = crossed(ring, x)?;
        let h = 0.5 * (high - low);
        let middle = |x: f64| crossed(ring, x).map(|(low, high)| Point::new(x, 0.5 * (low + high)));
        let along = (middle(x + h)? - middle(x - h)?).normalize();
        let depth = (high - low) * along.x;
        (depth > gap.max(1.0) && along.x > 0.5).then_some(Self { middle: middle(x)?, depth, along })
    }

    /// All before the joint, far enough about.
    fn region(&self, joint: Joint, far: f64) -> BezPath {
        let [a, b] = joint.line(self.depth);
        let spots = [
            Vec2::new(a.x, far),
            a,
            b,
            Vec2::new(b.x, -far),
            Vec2::new(-2.0 * far, -far),
            Vec2::new(-2.0 * far, far),
        ];
        let mut region = BezPath::new();
        for (i, spot) in spots.map(|spot| self.placed(spot)).into_iter().enumerate() {
            region.push(if i == 0 { PathEl::MoveTo(spot) } else { PathEl::LineTo(spot) });
        }
        region.close_path();
        region
    }

    fn placed(&self, spot: Vec2) -> Point {
        let up = Vec2::new(-self.along.y, self.along.x);
        self.middle + self.along * spot.x + up * spot.y
    }
}

/// Where a level part is crossed by an upright: `None` unless it is one run of wood.
fn crossed(ring: &[Point], x: f64) -> Option<(f64, f64)> {
    let sides = ring.iter().zip(ring.iter().cycle().skip(1));
    let mut at: Vec<f64> = sides
        .filter(|(a, b)| (a.x > x) != (b.x > x))
        .map(|(a, b)| a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x))
        .collect();
    at.sort_by(f64::total_cmp);
    match at[..] {
        [low, high] => Some((low, high)),
        _ => None,
    }
}

/// A piece in two, with what is marked on either; `None` where the joint is not right across sound wood.
fn cut(piece: &Piece, region: &BezPath, joint: Joint, across: &Across, lie: f64) -> Option<(Piece, Piece)> {
    let (before, after) = parted(piece.outline(), region)?;
    // What the joint takes away from the two together is nothing: they lie face on face.
    let both = before.area() + after.area();
    if (both - piece.outline().area().abs()).abs() > 1e-3 * across.depth {
        return None;
    }
    let [a, b] = joint.line(across.depth).map(|spot| Affine::rotate(lie) * across.placed(spot));
    // The faces meet the edges on the joint's own ends, not beyond them.
    if !piece.outline().contains(a.lerp(b, 0.01)) || !piece.outline().contains(a.lerp(b, 0.99)) {
        return None;
    }
    let layers = |outline: BezPath| {
        let mut alone = Drawing::new(&piece.alone.name, &piece.alone.title);
        let told = &piece.alone.layers[piece.alone.items[0].layer()];
        let layer = alone.layer_drawn(&told.name, told.operation, told.stroke.clone());
        alone.path(layer, outline);
        alone
    };
    let mut sides = [layers(before), layers(after)];
    let mut loose: [Vec<Loose>; 2] = Default::default();
    for (which, item) in piece.alone.items.iter().enumerate().skip(1) {
        let operation = piece.alone.layers[item.layer()].operation;
        match item {
            // Letters across the joint go wholly to the side they begin on, where it has room for them.
            Item::Text { at, height, angle, anchor, text, layer } => {
                let is_before = region.contains(*at);
                let corners = letters_box(*at, *height, *angle, *anchor, text);
                if corners.iter().all(|corner| region.contains(*corner) == is_before) {
                    sides[usize::from(!is_before)].take(&piece.alone, which);
                } else {
                    let layer = &piece.alone.layers[*layer];
                    loose[usize::from(!is_before)].push(Loose {
                        at: *at,
                        height: *height,
                        text: text.clone(),
                        layer: (layer.name.clone(), layer.operation),
                    });
                }
            }
            Item::Path { layer, path } => {
                let runs = runs(path, region);
                // A hole is in the one piece or in the other.
                if operation.is_cut() && runs.len() != 1 {
                    return None;
                }
                let one = runs.len() == 1;
                for (is_before, path) in runs {
                    let side = &mut sides[usize::from(!is_before)];
                    if one {
                        side.take(&piece.alone, which);
                        continue;
                    }
                    let layer = &piece.alone.layers[*layer];
                    let to = side.layer_drawn(&layer.name, layer.operation, layer.stroke.clone());
                    side.path(to, path);
                }
            }
        }
    }
    for (side, loose) in sides.iter_mut().zip(&loose) {
        let outline = match side.items.first() {
            Some(Item::Path { path, .. }) => path.clone(),
            _ => return None,
        };
        let mut space = free(side, &outline);
        for one in loose {
            let (width, height) = (text_width(&one.text, one.height) + one.height, 2.0 * one.height);
            match space.place(width, height, space.spots_near(one.at)) {
                Some(room) => {
                    let layer = side.layer(&one.layer.0, one.layer.1);
                    let foot = room.center() - Vec2::new(0.0, 0.5 * one.height);
                    side.text(layer, foot, one.height, 0.0, Anchor::Middle, one.text.clone());
                }
                None => side.unwritten.push(one.text.clone()),
            }
        }
    }
    let [before, after] = sides.map(|alone| Piece::new(&piece.from, piece.part.clone(), alone));
    Some((before?, after?))
}

/// Letters that lay across a joint.
struct Loose {
    at: Point,
    height: f64,
    text: String,
    layer: (String, Operation),
}

/// The corners of the box round a line of text.
fn letters_box(at: Point, height: f64, angle: f64, anchor: Anchor, text: &str) -> [Point; 4] {
    let width = text_width(text, height);
    let start = match anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -0.5 * width,
        Anchor::End => -width,
    };
    let placed = Affine::translate(at.to_vec2()) * Affine::rotate(angle);
    [(start, 0.0), (start + width, 0.0), (start + width, height), (start, height)]
        .map(|p| placed * Point::from(p))
}

/// Where a piece has room for letters: in the wood, clear of holes, marks and other letters.
fn free(alone: &Drawing, outline: &BezPath) -> Space {
    let mut space = Space::new(outline.bounding_box(), 1.0);
    let paths = |cut: bool| {
        alone.items.iter().skip(1).filter_map(move |item| match item {
            Item::Path { layer, path } => (alone.layers[*layer].operation.is_cut() == cut).then_some(path),
            Item::Text { .. } => None,
        })
    };
    let holes: Vec<BezPath> = paths(true).cloned().collect();
    space.keep_to(outline, &holes);
    paths(false).for_each(|path| space.take(path));
    for item in &alone.items {
        if let Item::Text { at, height, angle, anchor, text, .. } = item {
            let corners = letters_box(*at, *height, *angle, *anchor, text);
            space.take_box(bounds(corners.into_iter()));
        }
    }
    space
}

/// A path in runs that lie wholly in the region or wholly outside it.
fn runs(path: &BezPath, region: &BezPath) -> Vec<(bool, BezPath)> {
    let borders: Vec<Line> = region
        .segments()
        .filter_map(|s| match s {
            PathSeg::Line(line) => Some(line),
            _ => None,
        })
        .collect();
    let mut parts: Vec<(PathSeg, bool)> = Vec::new();
    let mut whole = true;
    for segment in path.segments() {
        let mut at: Vec<f64> = borders
            .iter()
            .flat_map(|line| segment.intersect_line(*line).into_iter())
            .filter(|x| (0.0..=1.0).contains(&x.line_t) && x.segment_t > 1e-6 && x.segment_t < 1.0 - 1e-6)
            .map(|x| x.segment_t)
            .collect();
        whole &= at.is_empty();
        at.extend([0.0, 1.0]);
        at.sort_by(f64::total_cmp);
        for pair in at.windows(2).filter(|pair| pair[1] - pair[0] > 1e-6) {
            let one = segment.subsegment(pair[0]..pair[1]);
            parts.push((one, region.contains(one.eval(0.5))));
        }
    }
    let Some(first) = parts.first().map(|part| part.1) else { return Vec::new() };
    if whole && parts.iter().all(|part| part.1 == first) {
        return vec![(first, path.clone())];
    }
    let mut runs: Vec<(bool, BezPath)> = Vec::new();
    let mut end: Option<Point> = None;
    for (segment, side) in parts {
        let goes_on = end.is_some_and(|end| end.distance(segment.start()) < 1e-6);
        match runs.last_mut().filter(|run| run.0 == side && goes_on) {
            Some((_, run)) => run.push(segment.as_path_el()),
            None => {
                let mut run = BezPath::new();
                run.move_to(segment.start());
                run.push(segment.as_path_el());
                runs.push((side, run));
            }
        }
        end = Some(segment.end());
    }
    runs
}

/// Gives a piece its name, engraved where it has room.
fn named(piece: &mut Piece, whole: &Part, n: usize, many: usize) {
    let name = format!("{} {n} of {many}", whole.name);
    let outline = piece.outline().clone();
    let own = bounds(piece.ring.iter().copied());
    let mut space = free(&piece.alone, &outline);
    let words = name.to_uppercase();
    let spots = space.spots_near(own.center());
    for height in LETTERS_MM {
        let width = engraved_width(&words, height) + height;
        if let Some(at) = space.place(width, 2.0 * height, spots.iter().copied()) {
            let letters = piece.alone.layer("Letters", Operation::Engrave);
            let foot = at.center() - Vec2::new(0.0, 0.5 * height);
            piece.alone.engrave(letters, foot, height, 0.0, Anchor::Middle, &words);
            break;
        }
    }
    piece.part = Part { name, outline: 0, ..whole.clone() };
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bar with a sheer to it, 4.6 m long and 140 mm deep in its middle.
    fn bar() -> Piece {
        let mut alone = Drawing::new("keel", "Keel");
        let cut = alone.layer("Outline", Operation::CutOutside);
        let mut outline = BezPath::new();
        outline.move_to((0.0, 0.0));
        outline.curve_to((1500.0, -160.0), (3000.0, -160.0), (4600.0, 40.0));
        outline.line_to((4590.0, 150.0));
        outline.curve_to((3000.0, -20.0), (1500.0, -20.0), (-10.0, 130.0));
        outline.close_path();
        alone.path(cut, outline);
        let mark = alone.layer("Marks", Operation::Mark);
        alone.line(mark, Point::new(5.0, 60.0), Point::new(4580.0, 90.0));
        let holes = alone.layer("Holes", Operation::CutInside);
        for x in [400.0, 1150.0, 2300.0, 3450.0] {
            alone.circle(holes, Point::new(x, 0.05 * (x - 2300.0).abs() - 30.0), 6.0);
        }
        let part = Part { name: "keel".to_owned(), count: 1, thickness_mm: Some(60.0), ..Part::default() };
        Piece::new("keel", part, alone).expect("a bar is a shape")
    }

    #[test]
    fn pieces_tile_the_whole_and_nothing_is_cut_through_a_hole() {
        let whole = bar();
        for (joint, longest) in [(Joint::Scarf, 2600.0), (Joint::Step, 2420.0), (Joint::Step, 1300.0)] {
            let pieces = made_of(bar(), joint, longest, 12.0).expect("a bar can be joined");
            assert!(pieces.len() >= 2);
            for piece in &pieces {
                assert!(narrowest_board(piece.outline()).0.length <= longest + 1.0, "{}", piece.part.name);
            }
            // Every spot of the whole is in one piece, and no spot outside it is in any.
            for i in 0..920 {
                for j in 0..60 {
                    let p = Point::new(-9.0 + 5.01 * f64::from(i), -129.7 + 5.03 * f64::from(j));
                    let owners = pieces.iter().filter(|piece| piece.outline().contains(p)).count();
                    assert_eq!(owners, usize::from(whole.outline().contains(p)), "{joint:?} {p:?}");
                }
            }
            let holes = |piece: &Piece| {
                let is_hole =
                    |item: &&Item| piece.alone.layers[item.layer()].operation == Operation::CutInside;
                piece.alone.items.iter().filter(is_hole).count()
            };
            assert_eq!(pieces.iter().map(holes).sum::<usize>(), 4, "{joint:?}");
        }
    }

    #[test]
    fn a_mark_across_the_joint_goes_on_in_the_next_piece() {
        let pieces = made_of(bar(), Joint::Step, 2420.0, 12.0).expect("a bar can be joined");
        let length: f64 = pieces
            .iter()
            .flat_map(|piece| {
                piece
                    .alone
                    .items
                    .iter()
                    .filter(|item| piece.alone.layers[item.layer()].operation == Operation::Mark)
            })
            .map(|item| match item {
                Item::Path { path, .. } => path.perimeter(1e-3),
                Item::Text { .. } => 0.0,
            })
            .sum();
        assert!((length - 4575.0f64.hypot(30.0)).abs() < 1e-3, "{length}");
    }

    #[test]
    fn what_has_no_sound_place_for_a_joint_is_refused() {
        // A comb: no upright crosses one run of wood only.
        let mut alone = Drawing::new("comb", "Comb");
        let cut = alone.layer("Outline", Operation::CutOutside);
        let corners = [
            (0.0, 0.0),
            (3000.0, 0.0),
            (3000.0, 50.0),
            (60.0, 50.0),
            (60.0, 150.0),
            (3000.0, 150.0),
            (3000.0, 200.0),
            (0.0, 200.0),
        ];
        alone.polyline(cut, corners.map(Point::from), true);
        let part = Part { name: "comb".to_owned(), count: 1, ..Part::default() };
        let comb = Piece::new("comb", part, alone).expect("a comb is a shape");
        assert!(matches!(made_of(comb, Joint::Step, 2000.0, 5.0), Err(NestError::NoJoint { .. })));
    }
}
