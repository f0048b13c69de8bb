//! Corners that a round cutter cannot reach into, relieved: what fits into them has square corners.
//!
//! The cutter goes on into the corner until its edge is at the corner's point. The relief is the circle of its
//! diameter through that point, on the line that halves the corner: the least that lets a square piece home (common
//! practice).

use kurbo::{Arc, BezPath, ParamCurve, ParamCurveDeriv, PathEl, PathSeg, Point, Shape as _, Vec2};

use crate::model::{Drawing, Item, Operation};

/// Corners that turn by less than this are left as the cutter leaves them, radians: under 30 degrees a cutter's round
/// stands off the corner by less than 4 % of its radius.
const LEAST_TURN: f64 = std::f64::consts::PI / 6.0;

/// A larger cutter is none that parts are cut out with, mm.
const LARGEST_MM: f64 = 100.0;

/// A hollow tighter than the cutter by less than this part is a rounding of numbers.
const TIGHTER: f64 = 0.01;

/// Places along a segment where its curvature is asked.
const ASKED: u32 = 24;

/// Straights shorter than this between two corners are no notch, mm.
const NO_NOTCH_MM: f64 = 0.2;

/// How far arcs may be from the circle, mm, and places on a curve from where they are sought.
const EXACT_MM: f64 = 1e-5;

/// Marks end so far short of a relief, mm, as they do of any cut.
const MARK_CLEAR_MM: f64 = 0.2;

/// Steps along a mark at most.
const MOST_STEPS: usize = 20_000;

/// Steps along a segment in which the cutter's circle is left: a curve does not come back into so small a circle.
const STEPS: u32 = 64;

/// Why a corner is not relieved.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ReliefError {
    /// The cutter is no cutter that parts are cut out with.
    #[error("the cutter's diameter must be more than 0 mm and at most 100 mm, not {0}")]
    Cutter(f64),
    /// The cutter does not go into a notch.
    #[error(
        "drawing \"{name}\": a notch {width:.2} mm wide, at {:.1}, {:.1} mm, takes no {cutter} mm cutter with its corners \
         relieved, which needs {needs:.2} mm: take a smaller cutter, or a wider notch", at.x, at.y
    )]
    Narrow {
        /// The drawing's name.
        name: String,
        /// The notch's width, mm.
        width: f64,
        /// The cutter's diameter, mm.
        cutter: f64,
        /// The width it needs, mm.
        needs: f64,
        /// Where, mm.
        at: Point,
    },
}

/// What the cutter does not get into.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unreached {
    /// A corner with no room for its relief, which stays round.
    Corner(Point),
    /// The tightest place of a hollow that is tighter than the cutter, and stays rounder than it is drawn.
    Hollow(Point),
    /// A hole smaller than the cutter, and its diameter, mm: it is bored.
    Hole(Point, f64),
}

impl Drawing {
    /// Relieves every corner of the wood, of outsides and holes alike, that a cutter of this diameter, mm, cannot reach
    /// into; marks end short of the reliefs. Gives what it does not get into all the same: corners whose straights are too
    /// short for it, or where it would cut through to another edge, hollows tighter than it, and smaller holes.
    ///
    /// # Errors
    /// A notch too narrow for the cutter and the relief of its corners; then nothing is changed.
    pub fn relieve(&mut self, cutter_mm: f64) -> Result<Vec<Unreached>, ReliefError> {
        if !(cutter_mm > 0.0 && cutter_mm <= LARGEST_MM) {
            return Err(ReliefError::Cutter(cutter_mm));
        }
        let mut left = Vec::new();
        let mut centres = Vec::new();
        let mut changed = Vec::new();
        for (index, item) in self.items.iter().enumerate() {
            let Item::Path { layer, path } = item else { continue };
            let operation = self.layers.get(*layer).map(|layer| layer.operation);
            let Some(operation) = operation.filter(|operation| operation.is_cut()) else { continue };
            let mut whole = BezPath::new();
            for ring in rings(path) {
                whole.extend(match ring {
                    Ok(closed) => {
                        let (ring, bored) = one_ring(&closed, operation, cutter_mm, &mut left).map_err(
                            |(width, needs, at)| ReliefError::Narrow {
                                name: self.name.clone(),
                                width,
                                cutter: cutter_mm,
                                needs,
                                at,
                            },
                        )?;
                        centres.extend(bored);
                        ring
                    }
                    Err(open) => open,
                });
            }
            changed.push((index, whole));
        }
        let clear = 0.5 * cutter_mm + MARK_CLEAR_MM;
        for (index, item) in self.items.iter().enumerate() {
            let Item::Path { layer, path } = item else { continue };
            let is_mark = self.layers.get(*layer).is_some_and(|layer| layer.operation == Operation::Mark);
            let near = |c: &&Point| path.bounding_box().inflate(clear, clear).contains(**c);
            let near: Vec<Point> = centres.iter().filter(near).copied().collect();
            if is_mark && !near.is_empty() {
                changed.push((index, outside_of(path, &near, clear)));
            }
        }
        for (index, whole) in changed {
            if let Item::Path { path, .. } = &mut self.items[index] {
                *path = whole;
            }
        }
        Ok(left)
    }
}

/// The closed parts of a path by their segments, and the open ones as they are.
fn rings(path: &BezPath) -> Vec<Result<Vec<PathSeg>, BezPath>> {
    let mut parts: Vec<BezPath> = Vec::new();
    for element in path.elements() {
        match (element, parts.last_mut()) {
            (PathEl::MoveTo(_), _) | (_, None) => parts.push(BezPath::from_vec(vec![*element])),
            (_, Some(part)) => part.push(*element),
        }
    }
    let ring = |part: BezPath| {
        if part.elements().last() != Some(&PathEl::ClosePath) {
            return Err(part);
        }
        let is_long = |s: &PathSeg| s.start().distance(s.end()) > EXACT_MM;
        Ok(part.segments().filter(is_long).collect())
    };
    parts.into_iter().map(ring).collect()
}

/// What of a path is farther than this from all of these points.
fn outside_of(path: &BezPath, points: &[Point], clear: f64) -> BezPath {
    let mut kept = BezPath::new();
    let mut end: Option<Point> = None;
    for segment in path.segments() {
        let is_out = |t: f64| points.iter().all(|p| segment.eval(t).distance(*p) >= clear);
        // Fine enough that no circle is stepped over: its chord is seldom under a quarter of its radius.
        let length = kurbo::ParamCurveArclen::arclen(&segment, 1e-2);
        let steps = ((8.0 * length / clear).ceil().max(1.0) as usize).min(MOST_STEPS);
        let spot = |i: usize| i as f64 / steps as f64;
        let edge = |mut out: f64, mut within: f64| {
            while (out - within).abs() * length > EXACT_MM {
                let middle = 0.5 * (out + within);
                if is_out(middle) { out = middle } else { within = middle }
            }
            out
        };
        let mut from = is_out(0.0).then_some(0.0);
        let mut pieces = Vec::new();
        for i in 1..=steps {
            match (is_out(spot(i - 1)), is_out(spot(i))) {
                (false, true) => from = Some(edge(spot(i), spot(i - 1))),
                (true, false) => {
                    pieces.extend(from.take().map(|from| (from, edge(spot(i - 1), spot(i)))));
                }
                _ => {}
            }
        }
        pieces.extend(from.map(|from| (from, 1.0)));
        for (from, to) in pieces.into_iter().filter(|(from, to)| (to - from) * length > EXACT_MM) {
            let piece = segment.subsegment(from..to);
            if end.is_none_or(|end| end.distance(piece.start()) > EXACT_MM) {
                kept.move_to(piece.start());
            }
            kept.push(piece.as_path_el());
            end = Some(piece.end());
        }
    }
    kept
}

/// A closed outline with its corners relieved, and the middles of the reliefs; or the width of a notch, the width it needs, and where it is.
fn one_ring(
    segments: &[PathSeg],
    operation: Operation,
    cutter: f64,
    left: &mut Vec<Unreached>,
) -> Result<(BezPath, Vec<Point>), (f64, f64, Point)> {
    let area: f64 = segments.iter().map(kurbo::ParamCurveArea::signed_area).sum();
    // With the wood on the left hand.
    let turned = (area > 0.0) != (operation == Operation::CutOutside);
    let segments: Vec<PathSeg> = match turned {
        true => segments.iter().rev().map(PathSeg::reverse).collect(),
        false => segments.to_vec(),
    };
    let count = segments.len();
    let across = across(&segments);
    if operation == Operation::CutInside && across < cutter * (1.0 - TIGHTER) {
        let middle =
            segments.iter().fold(Vec2::ZERO, |sum, s| sum + s.start().to_vec2()) / count.max(1) as f64;
        left.push(Unreached::Hole(middle.to_point(), across));
        let mut ring = BezPath::new();
        ring.move_to(segments[0].start());
        segments.iter().for_each(|s| ring.push(s.as_path_el()));
        ring.close_path();
        return Ok((if turned { ring.reverse_subpaths() } else { ring }, Vec::new()));
    }
    left.extend(hollows(&segments, 0.5 * cutter));
    let mut corners: Vec<Option<Corner>> =
        (0..count).map(|i| Corner::between(&segments[i], &segments[(i + 1) % count], cutter)).collect();
    // A straight between two corners is the bottom of a notch: it has room for both or is refused.
    for i in 0..count {
        let (before, after) = ((i + count - 1) % count, i);
        let (Some(a), Some(b)) = (&corners[before], &corners[after]) else { continue };
        let width = segments[i].start().distance(segments[i].end());
        if width < NO_NOTCH_MM {
            left.extend([segments[i].start(), segments[i].end()].map(Unreached::Corner));
            (corners[before], corners[after]) = (None, None);
            continue;
        }
        let (from, to) = (a.leaves(&segments[i]), b.arrives(&segments[i]));
        if from.zip(to).is_none_or(|(from, to)| from >= to) {
            // Wide enough for the cutter, though not for both reliefs in its bottom: they go into its sides.
            let sides = [&segments[before], &segments[(i + 1) % count]];
            let relieved_besides = a.relieved_beside(sides[0], true).zip(b.relieved_beside(sides[1], false));
            let needs = if relieved_besides.is_some() { cutter } else { 0.5 * (a.reach() + b.reach()) };
            if let Some((one, other)) = relieved_besides.filter(|_| width >= cutter) {
                (corners[before], corners[after]) = (Some(one), Some(other));
                continue;
            }
            return Err((width, needs, segments[i].start().midpoint(segments[i].end())));
        }
    }
    // A side shorter than the cutter's reach, or another edge within it, leaves a corner as it is.
    for i in 0..count {
        let next = (i + 1) % count;
        let Some(corner) = &corners[i] else { continue };
        let reaches = |other: &PathSeg| {
            kurbo::ParamCurveNearest::nearest(other, corner.centre, EXACT_MM).distance_sq.sqrt()
                < corner.radius + NO_NOTCH_MM
        };
        let others = segments.iter().enumerate().filter(|(k, _)| *k != i && *k != next);
        let runs_through = others.map(|(_, other)| other).any(reaches);
        if runs_through || corner.arrives(&segments[i]).is_none() || corner.leaves(&segments[next]).is_none()
        {
            left.push(Unreached::Corner(segments[i].end()));
            corners[i] = None;
        }
    }
    let mut path = BezPath::new();
    for i in 0..count {
        let from =
            corners[(i + count - 1) % count].as_ref().and_then(|c| c.leaves(&segments[i])).unwrap_or(0.0);
        let to = corners[i].as_ref().and_then(|c| c.arrives(&segments[i])).unwrap_or(1.0);
        let piece = segments[i].subsegment(from..to);
        if i == 0 {
            path.move_to(piece.start());
        }
        path.push(piece.as_path_el());
        if let Some(corner) = &corners[i] {
            let end =
                segments[(i + 1) % count].eval(corner.leaves(&segments[(i + 1) % count]).unwrap_or(0.0));
            corner.arc(piece.end(), end).append_iter(EXACT_MM).for_each(|element| path.push(element));
        }
    }
    path.close_path();
    let centres = corners.iter().flatten().map(|corner| corner.centre).collect();
    Ok((if turned { path.reverse_subpaths() } else { path }, centres))
}

/// The narrower side of the box round an outline, mm.
fn across(segments: &[PathSeg]) -> f64 {
    let boxes = segments.iter().map(kurbo::ParamCurveExtrema::bounding_box);
    boxes.reduce(|a, b| a.union(b)).map_or(0.0, |r| r.width().min(r.height()))
}

/// The tightest place of each hollow of the wood, on the left, that is tighter than the radius.
fn hollows(segments: &[PathSeg], radius: f64) -> Vec<Unreached> {
    let mut found = Vec::new();
    let mut tightest: Option<(f64, Point)> = None;
    for segment in segments {
        let cubic = segment.to_cubic();
        for i in 0..=ASKED {
            let t = f64::from(i) / f64::from(ASKED);
            let (d, dd) = (cubic.deriv().eval(t).to_vec2(), cubic.deriv().deriv().eval(t).to_vec2());
            let curvature = if d.hypot() > EXACT_MM { -d.cross(dd) / d.hypot().powi(3) } else { 0.0 };
            if curvature * radius > 1.0 + TIGHTER {
                if tightest.is_none_or(|(most, _)| curvature > most) {
                    tightest = Some((curvature, cubic.eval(t)));
                }
            } else if let Some((_, at)) = tightest.take() {
                found.push(Unreached::Hollow(at));
            }
        }
    }
    found.extend(tightest.map(|(_, at)| Unreached::Hollow(at)));
    found
}

/// A corner of the wood that is relieved: the cutter's circle through its point.
struct Corner {
    centre: Point,
    radius: f64,
    /// Cosine of half the angle between its sides.
    half: f64,
    /// Relieved into one side alone: whether the other, which is left whole, follows the corner.
    bottom_follows: Option<bool>,
}

impl Corner {
    /// The corner where one segment ends and the next begins, the wood on the left; `None` where the cutter gets
    /// everywhere.
    fn between(arriving: &PathSeg, leaving: &PathSeg, cutter: f64) -> Option<Corner> {
        let (u, v) = (direction(&arriving.reverse()), direction(leaving));
        let turn = (-u).cross(v).atan2((-u).dot(v));
        // Straight back there is no corner, but a slit.
        if !(-std::f64::consts::PI + 1e-6..=-LEAST_TURN).contains(&turn) {
            return None;
        }
        let (at, radius) = (arriving.end(), 0.5 * cutter);
        let half = ((u + v).hypot() / 2.0).min(1.0);
        Some(Corner { centre: at + (u + v).normalize() * radius, radius, half, bottom_follows: None })
    }

    /// The same corner relieved into the side of the notch alone, whose bottom stays whole: the cutter runs down along
    /// the side's own line until it touches the bottom. `None` where the side is shorter than the cutter.
    fn relieved_beside(&self, side: &PathSeg, arrives: bool) -> Option<Corner> {
        let (at, up) = match arrives {
            true => (side.end(), direction(&side.reverse())),
            false => (side.start(), direction(side)),
        };
        let long = side.start().distance(side.end());
        (long > 2.0 * self.radius + NO_NOTCH_MM).then(|| Corner {
            centre: at + up * self.radius,
            radius: self.radius,
            half: 0.0,
            bottom_follows: Some(arrives),
        })
    }

    /// How far along a straight side the relief reaches, twice over, mm.
    fn reach(&self) -> f64 {
        4.0 * self.radius * self.half
    }

    /// Where the segment that leaves the corner comes out of the circle.
    fn leaves(&self, segment: &PathSeg) -> Option<f64> {
        if self.bottom_follows == Some(true) { Some(0.0) } else { self.out_of(segment) }
    }

    fn out_of(&self, segment: &PathSeg) -> Option<f64> {
        let is_out = |t: f64| segment.eval(t).distance(self.centre) >= self.radius;
        let step = |i: u32| f64::from(i) / f64::from(STEPS);
        let out = (1..=STEPS).map(step).find(|t| is_out(*t))?;
        let (mut inside, mut outside) = (out - step(1), out);
        // A very long straight is out at its first step: then the corner itself is on the circle, and the way out lies
        // between.
        if inside == 0.0 {
            inside = self.just_inside(segment, outside)?;
        }
        while segment.eval(inside).distance(segment.eval(outside)) > EXACT_MM {
            let middle = 0.5 * (inside + outside);
            if is_out(middle) { outside = middle } else { inside = middle }
        }
        Some(outside)
    }

    fn just_inside(&self, segment: &PathSeg, before: f64) -> Option<f64> {
        let halvings = (1..50).map(|k| before * 0.5_f64.powi(k));
        let mut inside = halvings.filter(|t| segment.eval(*t).distance(self.centre) < self.radius);
        inside.next()
    }

    /// The same of the segment that arrives.
    fn arrives(&self, segment: &PathSeg) -> Option<f64> {
        if self.bottom_follows == Some(false) {
            return Some(1.0);
        }
        self.out_of(&segment.reverse()).map(|t| 1.0 - t)
    }

    /// The circle from one place on it to another, past the corner's point, the wood on the left.
    fn arc(&self, from: Point, to: Point) -> Arc {
        let angle = |p: Point| (p - self.centre).atan2();
        let sweep = -(angle(from) - angle(to)).rem_euclid(std::f64::consts::TAU);
        Arc::new(self.centre, Vec2::new(self.radius, self.radius), angle(from), sweep, 0.0)
    }
}

/// Where a segment sets out to.
fn direction(segment: &PathSeg) -> Vec2 {
    let cubic = segment.to_cubic();
    let begins = cubic.deriv().eval(0.0).to_vec2();
    let spots = [begins, cubic.p2 - cubic.p0, cubic.p3 - cubic.p0];
    spots.into_iter().find(|v| v.hypot() > EXACT_MM).unwrap_or(Vec2::new(1.0, 0.0)).normalize()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check;
    use std::f64::consts::PI;

    /// A board 100 by 60 with a notch in its upper edge.
    fn notched(width: f64, depth: f64, operation: Operation) -> Drawing {
        let mut drawing = Drawing::new("board", "Board");
        let layer = drawing.layer("Outlines", operation);
        let (a, b) = (50.0 - 0.5 * width, 50.0 + 0.5 * width);
        let corners = [
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 60.0),
            (b, 60.0),
            (b, 60.0 - depth),
            (a, 60.0 - depth),
            (a, 60.0),
            (0.0, 60.0),
        ];
        drawing.polyline(layer, corners.map(Point::from), true);
        drawing
    }

    fn area(drawing: &Drawing) -> f64 {
        let Item::Path { path, .. } = &drawing.items[0] else { unreachable!("a path") };
        path.area().abs()
    }

    /// What a circle through a square corner takes off beyond its sides: half the circle less the square corner's
    /// triangle, in closed form r² (π/2 - 1).
    #[test]
    fn a_square_corner_loses_what_lies_between_half_a_circle_and_its_sides() {
        let (whole, cutter) = (notched(20.0, 15.0, Operation::CutOutside), 6.0);
        let mut drawing = whole.clone();
        assert_eq!(drawing.relieve(cutter), Ok(Vec::new()));
        let taken = area(&whole) - area(&drawing);
        let radius = 0.5 * cutter;
        assert!((taken - 2.0 * radius * radius * (0.5 * PI - 1.0)).abs() < 1e-3, "{taken}");
        assert!(check(&drawing, 0.02).is_empty());
        // The corner's point is on the new outline, and the cutter's centre its radius from every part of it.
        let Item::Path { path, .. } = &drawing.items[0] else { unreachable!("a path") };
        let near = |p: Point| {
            let each = path.segments().map(|s| kurbo::ParamCurveNearest::nearest(&s, p, 1e-9).distance_sq);
            each.fold(f64::INFINITY, f64::min).sqrt()
        };
        for (x, y, side) in [(40.0, 45.0, 1.0), (60.0, 45.0, -1.0)] {
            let diagonal = radius / 2.0_f64.sqrt();
            assert!(near(Point::new(x, y)) < 1e-4);
            assert!((near(Point::new(x + side * diagonal, y + diagonal)) - radius).abs() < 1e-4);
        }
    }

    #[test]
    fn a_hole_has_its_corners_relieved_outward_and_a_board_its_own_not_at_all() {
        let square = |operation| {
            let mut drawing = Drawing::new("hole", "Hole");
            let layer = drawing.layer("Holes", operation);
            drawing.polyline(
                layer,
                [(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)].map(Point::from),
                true,
            );
            drawing
        };
        let mut hole = square(Operation::CutInside);
        assert_eq!(hole.relieve(8.0), Ok(Vec::new()));
        assert!((area(&hole) - (1600.0 + 4.0 * 16.0 * (0.5 * PI - 1.0))).abs() < 1e-3);
        let mut board = square(Operation::CutOutside);
        assert_eq!(board.relieve(8.0), Ok(Vec::new()));
        assert!((area(&board) - 1600.0).abs() < 1e-9);
    }

    #[test]
    fn a_mark_into_a_corner_ends_short_of_its_relief() {
        let mut drawing = notched(20.0, 15.0, Operation::CutOutside);
        let marks = drawing.layer("Marks", Operation::Mark);
        drawing.line(marks, Point::new(2.0, 44.9), Point::new(98.0, 44.9));
        assert_eq!(drawing.relieve(6.0), Ok(Vec::new()));
        assert!(check(&drawing, 0.02).is_empty(), "{:?}", check(&drawing, 0.02));
        let Item::Path { path, .. } = &drawing.items[1] else { unreachable!("a path") };
        assert_eq!(path.elements().iter().filter(|el| matches!(el, PathEl::MoveTo(_))).count(), 3);
    }

    #[test]
    fn a_relief_that_would_run_through_to_another_edge_is_left_out() {
        let mut drawing = Drawing::new("tongue", "Tongue");
        let layer = drawing.layer("Outlines", Operation::CutOutside);
        // The corner at 20, 1 has a millimetre of wood below it.
        let corners = [(0.0, 0.0), (60.0, 0.0), (60.0, 1.0), (20.0, 1.0), (20.0, 40.0), (0.0, 40.0)];
        drawing.polyline(layer, corners.map(Point::from), true);
        let whole = drawing.clone();
        assert_eq!(drawing.relieve(12.0), Ok(vec![Unreached::Corner(Point::new(20.0, 1.0))]));
        assert_eq!(area(&drawing), area(&whole));
    }

    #[test]
    fn a_notch_that_takes_no_cutter_is_refused_and_nothing_changed() {
        let whole = notched(5.0, 15.0, Operation::CutOutside);
        let mut drawing = whole.clone();
        let error = drawing.relieve(6.0).expect_err("it is refused");
        let said = "drawing \"board\": a notch 5.00 mm wide, at 50.0, 45.0 mm, takes no 6 mm cutter with its corners \
                    relieved, which needs 6.00 mm: take a smaller cutter, or a wider notch";
        assert_eq!(error.to_string(), said);
        assert_eq!(drawing, whole);
        // As wide as the cutter it is cut, its corners relieved into its sides.
        assert!(notched(5.9, 15.0, Operation::CutOutside).relieve(6.0).is_err());
        assert!(notched(6.1, 15.0, Operation::CutOutside).relieve(6.0).is_ok());
        assert!(notched(8.6, 15.0, Operation::CutOutside).relieve(6.0).is_ok());
        assert_eq!(drawing.relieve(0.0), Err(ReliefError::Cutter(0.0)));
    }

    #[test]
    fn a_notch_shallower_than_the_cutter_reaches_keeps_its_corners_and_is_told() {
        let mut drawing = notched(40.0, 3.0, Operation::CutOutside);
        let corners = [Point::new(70.0, 57.0), Point::new(30.0, 57.0)].map(Unreached::Corner);
        assert_eq!(drawing.relieve(6.0), Ok(corners.to_vec()));
    }

    /// A notch as wide as the cutter is cut, its corners relieved into its sides: each takes off half a circle, in closed
    /// form π r² / 2, and the bottom stays where it is.
    #[test]
    fn a_notch_no_wider_than_the_cutter_is_relieved_into_its_sides() {
        let whole = notched(6.5, 20.0, Operation::CutOutside);
        let mut drawing = whole.clone();
        assert_eq!(drawing.relieve(6.0), Ok(Vec::new()));
        let taken = area(&whole) - area(&drawing);
        assert!((taken - PI * 9.0).abs() < 1e-2, "{taken}");
        assert_eq!(check(&drawing, 0.01), []);
        // A cutter wider than it, or a notch shallower than the cutter, stays refused.
        assert!(matches!(
            notched(6.5, 20.0, Operation::CutOutside).relieve(7.0),
            Err(ReliefError::Narrow { .. })
        ));
        assert!(matches!(
            notched(6.5, 5.0, Operation::CutOutside).relieve(6.0),
            Err(ReliefError::Narrow { .. })
        ));
    }

    #[test]
    fn holes_and_hollows_the_cutter_does_not_get_into_are_told_and_left() {
        let mut drawing = Drawing::new("board", "Board");
        let outline = drawing.layer("Outlines", Operation::CutOutside);
        // A board with a round hollow of 20 mm radius in its upper edge, rounded off into it.
        let mut path = BezPath::new();
        path.move_to((0.0, 0.0));
        path.line_to((300.0, 0.0));
        path.line_to((300.0, 80.0));
        path.line_to((170.0, 80.0));
        Arc::new((150.0, 80.0), (20.0, 20.0), 0.0, -PI, 0.0).append_iter(1e-6).for_each(|el| path.push(el));
        path.line_to((0.0, 80.0));
        path.close_path();
        drawing.path(outline, path);
        let holes = drawing.layer("Holes", Operation::CutInside);
        drawing.circle(holes, Point::new(50.0, 30.0), 2.5);
        drawing.circle(holes, Point::new(250.0, 30.0), 4.0);
        assert_eq!(drawing.clone().relieve(5.0), Ok(Vec::new()));
        let before = drawing.clone();
        let told = drawing.relieve(6.0).expect("it can be cut with 6 mm");
        assert!(
            matches!(told[..], [Unreached::Hole(at, across)]
            if at.distance(Point::new(50.0, 30.0)) < 1e-3 && (across - 5.0).abs() < 1e-3),
            "{told:?}"
        );
        assert_eq!(drawing.bounds(), before.bounds());
        let told = before.clone().relieve(44.0).expect("larger holes are bored");
        let is_hollow = |one: &Unreached| matches!(one, Unreached::Hollow(at) if (at.distance(Point::new(150.0, 80.0)) - 20.0).abs() < 1e-3);
        assert!(told.iter().any(is_hollow), "{told:?}");
        assert_eq!(before.clone().relieve(500.0), Err(ReliefError::Cutter(500.0)));
    }

    #[test]
    fn a_corner_on_a_curve_of_a_long_part_is_relieved_as_well() {
        let mut drawing = Drawing::new("stem", "Stem");
        let layer = drawing.layer("Outlines", Operation::CutOutside);
        let mut path = BezPath::new();
        path.move_to((0.0, 0.0));
        path.line_to((9000.0, 0.0));
        path.line_to((9000.0, 400.0));
        path.curve_to((7000.0, 300.0), (5000.0, 200.0), (4000.0, 200.0));
        path.line_to((4000.0, 300.0));
        path.line_to((0.0, 300.0));
        path.close_path();
        drawing.path(layer, path);
        assert_eq!(drawing.relieve(10.0), Ok(Vec::new()));
        let Item::Path { path, .. } = &drawing.items[0] else { unreachable!("a path") };
        assert!(path.area() > 0.0 && check(&drawing, 0.02).is_empty());
        assert!(path.segments().count() > 6);
    }
}
