//! Outlines without segments so short that a machine stutters over them.
//!
//! A controller slows down at every joint; a run of segments shorter than the cutter's own error burns the edge and
//! gains nothing. The shortest goes first, each in the way that moves the outline least.

use kurbo::{Point, Vec2};

use crate::arcs::{Outline, Segment, Vertex};

/// The least segment where none is asked for, mm: what a router in plywood repeats, twice over.
pub const LEAST_SEGMENT_MM: f64 = 0.2;

/// Lines meet for certain where the sine of their angle is above this; nearer to one direction their meeting runs away.
const LEAST_MEETING: f64 = 0.05;

/// Spots of a segment at which it is compared with what takes its place.
const SPOTS: [f64; 3] = [0.25, 0.5, 0.75];

/// A way to do without a segment.
struct Way {
    /// How far the outline is moved, mm.
    moved: f64,
    /// Whether the straights beside it are only drawn out.
    is_meeting: bool,
    /// What it becomes.
    vertices: Vec<Vertex>,
}

impl Outline {
    /// Joins segments shorter than `least` to their neighbours, so that the outline is moved by no more than `least`,
    /// and mostly by far less. What is so small that nothing would be left keeps its segments.
    pub fn without_short(&mut self, least: f64) {
        let mut kept: Vec<Point> = Vec::new();
        while self.vertices.len() > if self.closed { 3 } else { 2 } {
            let short = (self.segments().enumerate())
                .map(|(i, segment)| (i, segment.length(), segment.middle()))
                .filter(|(_, length, middle)| *length < least && !kept.contains(middle))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let Some((i, _, middle)) = short else { return };
            let mut ways = self.ways_without(i);
            ways.retain(|way| way.moved <= least);
            // Straights drawn out to where they meet lie as they lay; else the one that moves least.
            ways.sort_by(|a, b| b.is_meeting.cmp(&a.is_meeting).then(a.moved.total_cmp(&b.moved)));
            match ways.into_iter().next() {
                Some(way) => self.vertices = way.vertices,
                None => kept.push(middle),
            }
        }
    }

    /// The vertices without segment `i`, in each way there is, and how far the outline is moved by it.
    fn ways_without(&self, i: usize) -> Vec<Way> {
        let count = self.vertices.len();
        let segments: Vec<Segment> = self.segments().collect();
        let short = segments[i];
        let before = (self.closed || i > 0).then(|| (i + count - 1) % count);
        let after = (self.closed || i + 1 < segments.len()).then(|| (i + 1) % count);
        let mut ways = Vec::new();
        // The segment before it runs on to its end; the one after it begins at its start; or both meet between.
        let mut places = vec![(short.to, before.is_some(), false), (short.from, after.is_some(), false)];
        let both = before.zip(after).filter(|(a, b)| a != b);
        if let Some((a, b)) = both {
            places.push((short.from.midpoint(short.to), true, false));
            places.extend(meeting(segments[a], segments[b]).map(|at| (at, true, true)));
        }
        for (at, is_there, is_meeting) in places {
            if !is_there {
                continue;
            }
            let mut new: Vec<(usize, Segment)> = Vec::new();
            if let Some(k) = before {
                new.push((k, ended(segments[k], segments[k].from, at)));
            }
            if let Some(k) = after {
                new.push((k, ended(segments[k], at, segments[k].to)));
            }
            if new.iter().any(|(_, segment)| segment.bulge.abs() > 1.0 || segment.from == segment.to) {
                continue;
            }
            let old: Vec<Segment> =
                [before, Some(i), after].into_iter().flatten().map(|k| segments[k]).collect();
            let placed: Vec<Segment> = new.iter().map(|(_, segment)| *segment).collect();
            let moved = apart(&old, &placed).max(apart(&placed, &old));
            // Vertex i is gone, and the next stands where the neighbours meet.
            let mut vertices = self.vertices.clone();
            for (k, segment) in &new {
                vertices[*k].bulge = segment.bulge;
            }
            let next = (i + 1) % count;
            vertices[next].at = at;
            vertices.remove(i);
            ways.push(Way { moved, is_meeting, vertices });
        }
        ways
    }

    /// The same outline the other way round.
    pub fn reverse(&mut self) {
        let count = self.vertices.len();
        let bulge = |i: usize| -self.vertices[i % count].bulge;
        // The segment that left a vertex arrives at it now.
        let turned: Vec<Vertex> = (0..count)
            .rev()
            .map(|i| Vertex {
                at: self.vertices[i].at,
                bulge: if self.closed || i > 0 { bulge(i + count - 1) } else { 0.0 },
            })
            .collect();
        self.vertices = turned;
    }

    /// Twice the area it goes round, anticlockwise positive, arcs and all, mm².
    pub fn turned_area(&self) -> f64 {
        let home = self.vertices.first().map_or(Point::ORIGIN, |vertex| vertex.at);
        let piece = |segment: Segment| {
            let flat = (segment.from - home).cross(segment.to - home);
            // A circle's segment between arc and chord.
            flat + segment.circle().map_or(0.0, |(_, radius)| {
                let turn = segment.turn();
                radius * radius * (turn - turn.sin())
            })
        };
        self.segments().map(piece).sum()
    }
}

/// A segment with other ends, through the same middle if it is an arc.
fn ended(segment: Segment, from: Point, to: Point) -> Segment {
    if segment.bulge == 0.0 {
        return Segment { from, to, bulge: 0.0 };
    }
    // The chord is seen from the middle of the arc at π less half of what the arc turns through.
    let middle = segment.middle();
    let (a, b) = (from - middle, to - middle);
    let seen = a.cross(b).abs().atan2(a.dot(b));
    let bulge = (0.5 * (std::f64::consts::PI - seen)).tan();
    Segment { from, to, bulge: if a.cross(b) < 0.0 { bulge } else { -bulge } }
}

/// Where two straight segments meet when they are drawn out.
fn meeting(a: Segment, b: Segment) -> Option<Point> {
    if a.bulge != 0.0 || b.bulge != 0.0 {
        return None;
    }
    let (u, v): (Vec2, Vec2) = (a.to - a.from, b.to - b.from);
    let sine = u.cross(v);
    if sine.abs() < LEAST_MEETING * u.hypot() * v.hypot() {
        return None;
    }
    Some(a.from + u * ((b.from - a.from).cross(v) / sine))
}

/// The greatest distance of segments, at their ends and between, from others.
fn apart(of: &[Segment], from: &[Segment]) -> f64 {
    let spots = of.iter().flat_map(|segment| {
        let between = segment.circle().map_or_else(
            || SPOTS.map(|t| segment.from.lerp(segment.to, t)),
            |(centre, _)| {
                let spoke = segment.from - centre;
                SPOTS.map(|t| centre + spoke.rotate_scale(Vec2::from_angle(segment.turn() * t)))
            },
        );
        between.into_iter().chain([segment.from, segment.to])
    });
    let nearest = |p: Point| from.iter().map(|segment| segment.distance(p)).fold(f64::INFINITY, f64::min);
    spots.map(nearest).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arcs::fit;
    use kurbo::{BezPath, Circle, Shape as _};

    fn outline(points: &[(f64, f64, f64)], closed: bool) -> Outline {
        let vertices = points.iter().map(|&(x, y, bulge)| Vertex { at: Point::new(x, y), bulge }).collect();
        Outline { vertices, closed }
    }

    fn shortest(outline: &Outline) -> f64 {
        outline.segments().map(|segment| segment.length()).fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn a_tiny_chamfer_becomes_the_corner_it_cuts_off() {
        let mut square = outline(
            &[(0.0, 0.0, 0.0), (10.0, 0.0, 0.0), (10.0, 9.9, 0.0), (9.9, 10.0, 0.0), (0.0, 10.0, 0.0)],
            true,
        );
        square.without_short(0.2);
        assert_eq!(square.vertices.len(), 4);
        assert!(square.vertices.iter().any(|v| v.at.distance(Point::new(10.0, 10.0)) < 1e-9), "{square:?}");
    }

    #[test]
    fn a_short_piece_of_an_arc_is_taken_up_by_the_arcs_beside_it() {
        // A half circle of radius 50 in three arcs, the middle one 0.1 mm long.
        let at = |turn: f64, bulge: f64| (50.0 * turn.cos(), 50.0 * turn.sin(), bulge);
        let (a, b) = (1.5, 1.502);
        let quarter = |turn: f64| (turn / 4.0).tan();
        let mut half = outline(
            &[
                at(0.0, quarter(a)),
                at(a, quarter(b - a)),
                at(b, quarter(std::f64::consts::PI - b)),
                at(std::f64::consts::PI, 0.0),
            ],
            true,
        );
        half.without_short(0.2);
        assert_eq!(half.vertices.len(), 3);
        for segment in half.segments().filter(|segment| segment.bulge != 0.0) {
            let (centre, radius) = segment.circle().expect("an arc");
            assert!(centre.to_vec2().hypot() < 1e-6 && (radius - 50.0).abs() < 1e-6, "{segment:?}");
        }
    }

    #[test]
    fn ends_of_an_open_line_stay_and_what_is_all_short_is_left() {
        let mut open = outline(&[(0.0, 0.0, 0.0), (0.1, 0.0, 0.0), (5.0, 0.05, 0.0), (5.1, 0.0, 0.0)], false);
        open.without_short(0.2);
        let ends = [open.vertices[0].at, open.vertices[open.vertices.len() - 1].at];
        assert_eq!(ends, [Point::ORIGIN, Point::new(5.1, 0.0)]);
        assert!(shortest(&open) > 0.2);
        let mut speck = outline(&[(0.0, 0.0, 0.0), (0.1, 0.0, 0.0), (0.0, 0.1, 0.0)], true);
        speck.without_short(0.2);
        assert_eq!(speck.vertices.len(), 3);
    }

    #[test]
    fn turned_round_it_is_the_same_shape_with_the_area_of_the_other_sign() {
        let mut path = BezPath::new();
        path.move_to((0.0, 0.0));
        path.curve_to((40.0, -10.0), (80.0, 20.0), (100.0, 60.0));
        path.line_to((0.0, 60.0));
        path.close_path();
        let fitted = fit(&path, 0.02).remove(0);
        let mut turned = fitted.clone();
        turned.reverse();
        assert!((fitted.turned_area() + turned.turned_area()).abs() < 1e-9);
        assert!((0.5 * fitted.turned_area() - path.area()).abs() < 0.02 * path.perimeter(1e-3));
        for segment in turned.segments() {
            let same = |other: Segment| {
                other.from == segment.to && other.to == segment.from && other.bulge == -segment.bulge
            };
            assert!(fitted.segments().any(same), "{segment:?}");
        }
        turned.reverse();
        assert!(turned.segments().all(|s| fitted.segments().any(|other| other == s)));
        let ring = fit(&Circle::new((3.0, 4.0), 5.0).to_path(1e-4), 0.02).remove(0);
        assert!((0.5 * ring.turned_area() - 25.0 * std::f64::consts::PI).abs() < 1e-2);
    }
}
