//! The inner edge of a mould's limb: everything deeper in the shape than the limb is wide is left out.
//!
//! The whole shape, both sides and well above its top, is offset inward (`cavalier_contours`, which
//! prunes the offset's own crossings), so that the limb keeps its width round the keel notch too. The
//! offset may be empty (a narrow mould is solid), one loop, or several (a wineglass section).

use cavalier_contours::polyline::{PlineSource, PlineSourceMut, PlineVertex, Polyline};
use kurbo::{BezPath, CubicBez, ParamCurve, ParamCurveArclen, ParamCurveNearest, Point, Vec2};

/// The edge is taken at spots this far apart, m. The sag between two of them at a radius of 100 mm is
/// 0.02 mm, which the inner edge of a limb can spare; ten times the spots is ten times the time.
const SPOT_SPACING_M: f64 = 0.004;
/// Joins that turn by more are corners, radians (10°): above what 4 mm of any limb's curve turns.
const CORNER: f64 = 0.17;
/// Arcs round corners are taken at spots this far apart, radians: 0.03 mm of sag at 100 mm.
const ARC_STEP: f64 = 0.05;
/// A straight this many times longer than its neighbour spans is a straight, not a part of the curve.
const STRAIGHT: f64 = 3.0;
/// The inner edge as drawn keeps to the offset within this, m: twice the spots' own sag, or every spot
/// would need its own cubic.
const INNER_ACCURACY_M: f64 = 4e-5;
/// One cubic turns at most this far, radians: past a right angle it keeps to no circle.
const FURTHEST_TURN: f64 = 1.0;
/// Spots a cubic is checked at: more finds no more, since it and the edge turn evenly.
const CHECKS: usize = 8;
/// Spots nearer than this are one, m: about a spot of the shape that is hollow the offset turns by an arc of tenths of a
/// millimetre, and spans between such would be taken for straights.
const ONE_SPOT_M: f64 = 1e-3;
/// Parts of the void smaller than this across are left solid, m: a saw cannot turn in them.
const LEAST_VOID_M: f64 = 0.03;

/// The void between a mould's limbs, on the side y ≥ 0.
#[derive(Clone, Debug, Default)]
pub(crate) struct Void {
    /// The boundary of the void that opens at the top, from the top down to the centreline.
    pub open: Option<BezPath>,
    /// Closed voids astride the centreline, the highest first: each from its top round to its bottom.
    pub closed: Vec<BezPath>,
}

/// What lies deeper than `width` in the shape whose right half runs from (0, z) at the keel along
/// `outer` to its top, where it is `top` high.
pub(crate) fn void(outer: &BezPath, top: f64, width: f64) -> Void {
    let mut right = spots(outer);
    let Some(&last) = right.last() else { return Void::default() };
    // Lifted so that the shape's own top takes nothing off the void.
    right.push(Point::new(last.x, top + 3.0 * width));
    let mut shape: Polyline<f64> = Polyline::new_closed();
    let mut push = |p: Point| shape.add_vertex(PlineVertex::new(p.x * 1e3, p.y * 1e3, 0.0));
    right.iter().for_each(|&p| push(p));
    right.iter().rev().filter(|p| p.x > 0.0).for_each(|p| push(Point::new(-p.x, p.y)));
    let shape = shape.remove_repeat_pos(1e-5).unwrap_or(shape);
    // Anticlockwise, so the left of its edges is the inside.
    let loops = shape.parallel_offset(width * 1e3);

    let mut found = Void::default();
    for l in loops {
        let points = flatten(&l);
        let Some(side) = right_side(&points) else { continue };
        let breadth = side.iter().map(|p| p.x).fold(0.0, f64::max) * 2.0;
        let height = side[0].y - side[side.len() - 1].y;
        if breadth.min(height) < LEAST_VOID_M {
            continue;
        }
        if side[0].y > top {
            found.open = below(&side, top).map(|points| smooth(&points));
        } else {
            found.closed.push(smooth(&side));
        }
    }
    found.closed.sort_by(|a, b| first(b).y.total_cmp(&first(a).y));
    found
}

/// The point a path starts at.
pub(crate) fn first(path: &BezPath) -> Point {
    path.segments().next().map_or(Point::ZERO, |s| s.start())
}

fn spots(path: &BezPath) -> Vec<Point> {
    let mut out: Vec<Point> = Vec::new();
    for s in path.segments() {
        if out.is_empty() {
            out.push(s.start());
        }
        let straight = matches!(s, kurbo::PathSeg::Line(_));
        let n = if straight { 1 } else { (s.arclen(1e-6) / SPOT_SPACING_M).ceil().max(1.0) as usize };
        out.extend((1..=n).map(|i| s.eval(i as f64 / n as f64)));
    }
    out
}

/// A loop's points in metres, its arcs taken at spots.
fn flatten(l: &Polyline<f64>) -> Vec<Point> {
    let mut out = Vec::new();
    for (a, b) in l.iter_segments() {
        let (p, q) = (Point::new(a.x, a.y), Point::new(b.x, b.y));
        out.push(p);
        let sweep = 4.0 * a.bulge.atan();
        let n = (sweep.abs() / ARC_STEP).ceil() as usize;
        if n > 1 {
            let chord = q - p;
            let square = Vec2::new(-chord.y, chord.x);
            let centre = p.midpoint(q) + square * (0.5 / (sweep / 2.0).tan());
            let from = p - centre;
            for i in 1..n {
                let (s, c) = (sweep * i as f64 / n as f64).sin_cos();
                out.push(centre + Vec2::new(from.x * c - from.y * s, from.x * s + from.y * c));
            }
        }
    }
    out.iter().map(|p| Point::new(p.x * 1e-3, p.y * 1e-3)).collect()
}

/// The part of a loop astride the centreline with y ≥ 0, from its top down.
fn right_side(points: &[Point]) -> Option<Vec<Point>> {
    let n = points.len();
    // Anticlockwise, the loop goes up on the right: enter at the bottom, leave at the top.
    let enter = (0..n).find(|&i| points[i].x <= 0.0 && points[(i + 1) % n].x > 0.0)?;
    let mut side = vec![at_centreline(points[enter], points[(enter + 1) % n])];
    for k in 1..=n {
        let (p, q) = (points[(enter + k) % n], points[(enter + k + 1) % n]);
        side.push(p);
        if q.x <= 0.0 {
            side.push(at_centreline(p, q));
            break;
        }
    }
    side.reverse();
    side.dedup_by(|a, b| a.distance(*b) < 1e-8);
    (side.len() > 2 && side[0].y > side[side.len() - 1].y).then_some(side)
}

fn at_centreline(p: Point, q: Point) -> Point {
    let t = p.x / (p.x - q.x);
    Point::new(0.0, p.y + (q.y - p.y) * t)
}

/// The last part of a line running down that lies below `top`.
fn below(side: &[Point], top: f64) -> Option<Vec<Point>> {
    let above = side.iter().rposition(|p| p.y > top)?;
    let (p, q) = (side[above], *side.get(above + 1)?);
    let t = (p.y - top) / (p.y - q.y);
    let mut out = vec![Point::new(p.x + (q.x - p.x) * t, top)];
    out.extend(side[above + 1..].iter().filter(|p| p.y < top));
    Some(out)
}

/// Points without any too near the one before; ends stay where they are.
fn apart(points: &[Point]) -> Vec<Point> {
    let Some((&last, rest)) = points.split_last() else { return Vec::new() };
    let mut out: Vec<Point> = Vec::with_capacity(points.len());
    for &p in rest {
        let first = out.len() == 1;
        match out.last_mut().filter(|before| before.distance(p) < ONE_SPOT_M) {
            Some(_) if first => (),
            Some(before) => *before = before.midpoint(p),
            None => out.push(p),
        }
    }
    while out.len() > 1 && out.last().is_some_and(|before| before.distance(last) < ONE_SPOT_M) {
        out.pop();
    }
    out.push(last);
    out
}

/// A smooth path through points, broken at corners, straight where they are.
fn smooth(points: &[Point]) -> BezPath {
    let points = &apart(points);
    let n = points.len();
    let span = |i: usize| points[i + 1] - points[i];
    let turn = |i: usize| angle_between(span(i - 1), span(i));
    let straight = |i: usize| {
        let length = span(i).hypot();
        (i == 0 || length > STRAIGHT * span(i - 1).hypot() || turn(i).abs() > CORNER)
            && (i + 2 == n || length > STRAIGHT * span(i + 1).hypot() || turn(i + 1).abs() > CORNER)
    };
    // Directions a curve leaves a point in: those of the circle through it and its neighbours.
    let at = |i: usize, of: usize| -> Vec2 {
        if i == 0 || i + 1 == n || turn(i).abs() > CORNER {
            return span(of).normalize();
        }
        let (a, b) = (span(i - 1), span(i));
        if straight(i - 1) {
            return a.normalize();
        }
        if straight(i) {
            return b.normalize();
        }
        (a.normalize() * b.hypot() + b.normalize() * a.hypot()).normalize()
    };
    let mut path = BezPath::new();
    path.move_to(points[0]);
    let mut start = 0;
    while start < n - 1 {
        if straight(start) {
            start += 1;
            path.line_to(points[start]);
            continue;
        }
        // A run of curve, to the next straight or corner.
        let mut end = start + 1;
        while end < n - 1 && !straight(end) && turn(end).abs() <= CORNER {
            end += 1;
        }
        while start < end {
            // The longest span that keeps to the points, found by doubling and then halving.
            let span_to = |to: usize| spanning(&points[start..=to], at(start, start), at(to, to - 1));
            let (mut reach, mut step) = (1, 1);
            let mut curve = span_to(start + 1).0;
            while step > 0 {
                match span_to((start + reach + step).min(end)) {
                    (longer, off) if off < INNER_ACCURACY_M && start + reach < end => {
                        reach = (reach + step).min(end - start);
                        curve = longer;
                        step *= 2;
                    }
                    _ => step /= 2,
                }
            }
            path.curve_to(curve.p1, curve.p2, curve.p3);
            start += reach;
        }
    }
    path
}

/// The cubic over a run of points with these directions at its ends, and how far it strays from them, m;
/// without end where it turns too far to be one cubic.
fn spanning(points: &[Point], leave: Vec2, arrive: Vec2) -> (CubicBez, f64) {
    let (a, b) = (points[0], points[points.len() - 1]);
    let turn = angle_between(leave, arrive);
    // The handle that makes the cubic an arc of a circle, nearly, where it turns evenly.
    let handle = 2.0 * a.distance(b) / (3.0 * (1.0 + (turn / 2.0).cos()));
    let curve = CubicBez::new(a, a + leave * handle, b - arrive * handle, b);
    if turn.abs() > FURTHEST_TURN {
        return (curve, f64::INFINITY);
    }
    let step = (points.len() / CHECKS).max(1);
    let strays = points.iter().skip(1).step_by(step).map(|p| curve.nearest(*p, 1e-9).distance_sq.sqrt());
    (curve, strays.fold(0.0, f64::max))
}

/// From one direction to another, anticlockwise, radians.
fn angle_between(a: Vec2, b: Vec2) -> f64 {
    a.cross(b).atan2(a.dot(b))
}
