//! The blank of a piece with a bevelled edge: what both its faces, laid one on the other, take up.
//!
//! The edge between the faces runs straight from one to the other, so what holds both faces holds the piece; neither
//! face alone does where one is the wider in one place and the narrower in another. The faces are joined by
//! `linesweeper`, which keeps to their cubics.

use kurbo::{Affine, BezPath, ParamCurve, PathEl, PathSeg, Point, Shape as _, Vec2};
use linesweeper::{BinaryOp, FillRule, binary_op_with_eps};

use crate::outline::CHECK_ACCURACY_M;

/// Faces are joined within this, mm: a hundredth of what their own curves are good to.
const JOINED_MM: f64 = 1e-5;
/// Pieces of an outline shorter than this are none, mm: what joining leaves where two edges all but touch.
const SHORTEST_MM: f64 = 1e-3;
/// What is left over by cutting is none where all of it is smaller than this, mm².
const SPECK_MM2: f64 = 0.1;
/// A spot this near the centreline is on it, mm.
const ON_CENTRELINE_MM: f64 = 1e-4;

/// What two faces, closed outlines drawn in one plane, m, take up together: anticlockwise. `None` where they do not
/// overlap in one piece.
pub(crate) fn blank(a: &BezPath, b: &BezPath) -> Option<BezPath> {
    let segments = joined(a, b)?;
    let mut outline = BezPath::new();
    outline.move_to(segments.first()?.start());
    segments.iter().for_each(|s| outline.push(s.as_path_el()));
    outline.close_path();
    Some(Affine::scale(1e-3) * outline)
}

/// What the right halves of two faces take up: each runs from the centreline at its foot to the centreline at its top,
/// and so does what is given back. Halves, so that port is the mirror of starboard exactly.
pub(crate) fn half_blank(a: &BezPath, b: &BezPath) -> Option<BezPath> {
    let segments = joined(&shut(a), &shut(b))?;
    let on = |p: Point| p.x.abs() < ON_CENTRELINE_MM;
    // Up the edge, from where it leaves the centreline to where it comes back.
    let count = segments.len();
    let from = (0..count).find(|&i| {
        let before = &segments[(i + count - 1) % count];
        on(before.start()) && on(before.end()) && !(on(segments[i].start()) && on(segments[i].end()))
    })?;
    let mut half = BezPath::new();
    half.move_to((0.0, segments[from].start().y));
    for i in 0..count {
        let s = &segments[(from + i) % count];
        if on(s.start()) && on(s.end()) {
            break;
        }
        half.push(if on(s.end()) { ending(s, Point::new(0.0, s.end().y)) } else { *s }.as_path_el());
    }
    let rest_on_centreline = segments.iter().filter(|s| !(on(s.start()) && on(s.end()))).count();
    (half.segments().count() == rest_on_centreline).then(|| Affine::scale(1e-3) * half)
}

/// A right half with its foot carried level to the centreline.
pub(crate) fn from_centreline(half: &BezPath) -> BezPath {
    let mut path = BezPath::new();
    let start = half.segments().next().map_or(Point::ZERO, |s| s.start());
    path.move_to((0.0, start.y));
    if start.x > 0.0 {
        path.line_to(start);
    }
    path.extend(half.elements().iter().skip(1).copied());
    path
}

/// A half closed down the centreline.
fn shut(half: &BezPath) -> BezPath {
    let mut path = half.clone();
    path.close_path();
    path
}

/// A closed outline cut in two by the border of a region, both mm: what lies in the region, and what lies outside it,
/// both anticlockwise. `None` unless each is in one piece.
pub fn parted(outline: &BezPath, region: &BezPath) -> Option<(BezPath, BezPath)> {
    let side = |op| {
        let (segments, others) = combined(outline, region, op)?;
        let mut side = BezPath::new();
        side.move_to(segments.first()?.start());
        segments.iter().for_each(|s| side.push(s.as_path_el()));
        side.close_path();
        (others < SPECK_MM2).then_some(side)
    };
    Some((side(BinaryOp::Intersection)?, side(BinaryOp::Difference)?))
}

/// The segments, mm, of the one outline round both, anticlockwise.
fn joined(a: &BezPath, b: &BezPath) -> Option<Vec<PathSeg>> {
    let full = |path: &BezPath| Affine::scale(1e3) * path.clone();
    // Where the faces' edges all but touch, specks may be left beside the outline or in it.
    combined(&full(a), &full(b), BinaryOp::Union).map(|(outline, _)| outline)
}

/// The largest outline of what two make, mm, its segments anticlockwise, and the area of all others together, mm².
fn combined(a: &BezPath, b: &BezPath, op: BinaryOp) -> Option<(Vec<PathSeg>, f64)> {
    let made = binary_op_with_eps(a, b, FillRule::NonZero, op, JOINED_MM).ok()?;
    let area = |path: &BezPath| path.area().abs();
    let all: f64 = made.contours().map(|c| area(&c.path)).sum();
    let outline = made.contours().map(|c| &c.path).max_by(|a, b| area(a).total_cmp(&area(b)))?;
    let others = all - area(outline);
    let outline = if outline.area() < 0.0 { outline.reverse_subpaths() } else { outline.clone() };
    Some((without_specks(outline.segments().collect()), others))
}

/// The segments that have a length, each beginning where the one before it ends.
fn without_specks(segments: Vec<PathSeg>) -> Vec<PathSeg> {
    let mut kept: Vec<PathSeg> =
        segments.into_iter().filter(|s| s.start().distance(s.end()) > SHORTEST_MM).collect();
    for i in 0..kept.len() {
        let next = kept[(i + 1) % kept.len()].start();
        kept[i] = ending(&kept[i], next);
    }
    kept
}

/// A segment moved at its end to end at `p`, its end's handle with it.
fn ending(s: &PathSeg, p: Point) -> PathSeg {
    match *s {
        PathSeg::Line(mut line) => {
            line.p1 = p;
            line.into()
        }
        PathSeg::Quad(mut quad) => {
            quad.p2 = p;
            quad.into()
        }
        PathSeg::Cubic(mut cubic) => {
            cubic.p2 += p - cubic.p3;
            cubic.p3 = p;
            cubic.into()
        }
    }
}

/// The right halves of two faces with their edges carried on, up to the higher top and down to the lower foot: between
/// the corners of the two the finished edge runs straight, past the corner of what the bare faces take up. Each is an
/// edge from the foot up, and a top from its corner in to the centreline.
pub(crate) fn carried_on(faces: [(&BezPath, &BezPath); 2]) -> [BezPath; 2] {
    let height = |path: &BezPath| path.segments().next().map(|s| s.start().y);
    let tops = faces.map(|(_, top)| height(top).unwrap_or(f64::NEG_INFINITY));
    let foot = faces.iter().filter_map(|(edge, _)| height(edge)).fold(f64::INFINITY, f64::min);
    [0, 1].map(|k| {
        let (edge, top) = faces[k];
        let mut path = carried_down(&carried_up(edge, tops[1 - k]), foot);
        if tops[k] < tops[1 - k] {
            let other = faces[1 - k].1;
            path.extend(other.segments().next().map(|s| PathEl::LineTo(s.start())));
            path.extend(other.elements().iter().skip(1).copied());
        } else {
            path.extend(top.elements().iter().skip(1).copied());
        }
        from_centreline(&path)
    })
}

/// An edge carried on in its own direction up to a height, where it ends below it and rises.
pub(crate) fn carried_up(edge: &BezPath, height: f64) -> BezPath {
    let mut path = edge.clone();
    let Some(last) = edge.segments().last() else { return path };
    let (end, along): (Point, Vec2) = (last.end(), last.end() - last.eval(1.0 - 1e-6));
    if end.y < height && along.y > 0.0 {
        path.line_to(end + along * ((height - end.y) / along.y));
    }
    path
}

/// An edge carried on the same way down to a height, as far as the centreline.
pub(crate) fn carried_down(edge: &BezPath, height: f64) -> BezPath {
    let Some(first) = edge.segments().next() else { return edge.clone() };
    let (start, along): (Point, Vec2) = (first.start(), first.start() - first.eval(1e-6));
    if start.y <= height || start.x <= 0.0 || along.y >= 0.0 {
        return edge.clone();
    }
    let far = (height - start.y) / along.y;
    let far = if along.x < 0.0 { far.min(start.x / -along.x) } else { far };
    let mut path = BezPath::new();
    path.move_to(start + along * far);
    path.line_to(start);
    path.extend(edge.elements().iter().skip(1).copied());
    path
}

/// The edge of a half blank alone, without its top level at a height. A foot level to the centreline stays: on a flat
/// bottom it is the edge.
pub(crate) fn edge_of(half: &BezPath, top: f64) -> Vec<PathSeg> {
    let mut edge: Vec<PathSeg> = half.segments().collect();
    while edge.last().is_some_and(|s| is_level(s, top)) {
        edge.pop();
    }
    edge
}

/// Whether a piece of an outline lies level at a height.
pub(crate) fn is_level(s: &PathSeg, y: f64) -> bool {
    (s.start().y - y).abs().max((s.end().y - y).abs()) < CHECK_ACCURACY_M
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::is_simple;

    fn ellipse(wide: f64, high: f64) -> BezPath {
        let arc = kurbo::Arc::new(
            (0.0, 0.0),
            (wide, high),
            -std::f64::consts::FRAC_PI_2,
            std::f64::consts::PI,
            0.0,
        );
        arc.to_path(1e-9)
    }

    #[test]
    fn a_blank_holds_both_faces_and_no_more() {
        // Each is the wider in one place: together they are what a spot of either is in.
        let (a, b) = (ellipse(0.5, 0.4), ellipse(0.45, 0.43));
        let half = half_blank(&a, &b).expect("they overlap");
        assert!(is_simple(&shut(&half), CHECK_ACCURACY_M));
        let (mut within, mut past) = (0, 0);
        for i in 0..60 {
            for j in 0..100 {
                let p = Point::new(0.01 * (f64::from(i) + 0.3), 0.01 * (f64::from(j) + 0.4) - 0.5);
                let is_in = |path: &BezPath| shut(path).winding(p) != 0;
                assert_eq!(is_in(&half), is_in(&a) || is_in(&b), "{p:?}");
                if is_in(&half) { within += 1 } else { past += 1 }
            }
        }
        assert!(within > 1000 && past > 1000);
        // Where they cross: y² of x²/a² + y²/A² = 1 for both, solved by hand.
        let (a2, b2) = (0.25, 0.45f64.powi(2));
        let y2 = (a2 - b2) / (a2 / 0.16 - b2 / 0.43f64.powi(2));
        let crossing = Point::new((a2 * (1.0 - y2 / 0.16)).sqrt(), y2.sqrt());
        let joints = half.segments().map(|s| s.end().distance(crossing));
        assert!(joints.fold(f64::INFINITY, f64::min) < 1e-7);
    }

    #[test]
    fn equal_faces_and_faces_that_touch_are_joined_without_specks() {
        let a = ellipse(0.5, 0.4);
        let same = half_blank(&a, &a).expect("they overlap");
        assert!((shut(&same).area() - shut(&a).area()).abs() < 1e-9);
        assert!(same.segments().count() <= a.segments().count() + 1);
        let inside = half_blank(&a, &ellipse(0.5, 0.39)).expect("they overlap");
        assert!((shut(&inside).area() - shut(&a).area()).abs() < 1e-8);
        assert!(inside.segments().all(|s| s.start().distance(s.end()) > 1e-3));
    }
}
