//! Curves on or parallel to the hull: exact samples close enough that what lies between them is known.
//!
//! Between two samples runs the cubic whose ends have their positions and tangents and whose handles are
//! those of the circular arc that turns as much (Goldapp, Approximation of circular arcs by cubic
//! polynomials, 1991): sixth order on arcs, fourth on anything smooth.

use kurbo::{BezPath, Point, common::solve_cubic};

use scrieve_surface::vector::{V3, add, along, cross, distance, dot, mix, norm, scale, sub, unit};

/// How far the cubic between two samples may lie from the true curve, m: well under a scribed line, and
/// loose enough that a section takes tens of samples, not thousands.
pub(crate) const TOLERANCE: f64 = 1e-6;

/// How far the normal blended between two samples may be from the true one, radians: 0.03 degrees, finer
/// than a bevel is cut. A tenth of it takes three times the samples.
const NORMAL_TOLERANCE: f64 = 5e-4;

/// Samples nearer than this are not parted further, m; it ends the parting at a cusp.
const CLOSEST: f64 = 1e-5;

/// Pieces whose tangents differ by less than this where they meet are one, radians.
const SMOOTH: f64 = 1e-6;

/// A plane that curves lie in and are drawn in.
///
/// `origin + a * right + b * up` is the point of the drawing at (a, b).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// Origin, m.
    pub origin: [f64; 3],
    /// Unit vector of the drawing's first axis.
    pub right: [f64; 3],
    /// Unit vector of the drawing's second axis.
    pub up: [f64; 3],
}

impl Plane {
    /// The body plan's plane at `x`, drawn (y, z).
    pub fn at_x(x: f64) -> Self {
        Plane { origin: [x, 0.0, 0.0], right: [0.0, 1.0, 0.0], up: [0.0, 0.0, 1.0] }
    }

    /// The vertical plane along the boat at half-breadth `y`, drawn (x, z).
    pub fn at_y(y: f64) -> Self {
        Plane { origin: [0.0, y, 0.0], right: [1.0, 0.0, 0.0], up: [0.0, 0.0, 1.0] }
    }

    /// The level plane at height `z`, drawn (x, y).
    pub fn at_z(z: f64) -> Self {
        Plane { origin: [0.0, 0.0, z], right: [1.0, 0.0, 0.0], up: [0.0, 1.0, 0.0] }
    }

    /// The plane along the boat through (0, `centreline_height`) that falls outward `angle` radians below
    /// the horizontal, drawn (x, distance out along it).
    pub fn diagonal(centreline_height: f64, angle: f64) -> Self {
        Plane {
            origin: [0.0, 0.0, centreline_height],
            right: [1.0, 0.0, 0.0],
            up: [0.0, angle.cos(), -angle.sin()],
        }
    }

    /// Unit normal, `right` × `up`.
    pub fn normal(&self) -> [f64; 3] {
        cross(self.right, self.up)
    }

    /// How far along the normal `p` lies, m.
    pub fn height_of(&self, p: [f64; 3]) -> f64 {
        dot(sub(p, self.origin), self.normal())
    }

    /// Where `p` is drawn, m.
    pub fn drawn(&self, p: [f64; 3]) -> Point {
        let from_origin = sub(p, self.origin);
        Point::new(dot(from_origin, self.right), dot(from_origin, self.up))
    }

    /// The point in space drawn at `at`, m.
    pub fn in_space(&self, at: Point) -> [f64; 3] {
        along(along(self.origin, self.right, at.x), self.up, at.y)
    }
}

/// A point of a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Position, m.
    pub p: [f64; 3],
    /// Unit tangent, in the direction of the curve.
    pub tangent: [f64; 3],
    /// Outward unit normal of the hull there.
    pub normal: [f64; 3],
    /// Curvature of the curve as drawn in its plane, 1/m: positive where it turns from the drawing's first
    /// axis towards its second.
    pub curvature: f64,
}

impl Sample {
    pub(crate) fn reversed(self) -> Self {
        Sample { tangent: scale(self.tangent, -1.0), curvature: -self.curvature, ..self }
    }
}

/// A sample and how far along its curve it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// Distance along the curve from its start, m.
    pub along: f64,
    /// The point.
    pub sample: Sample,
}

/// A curve in space: pieces of exact samples, G1 within a piece, meeting at corners (chines).
///
/// Between samples it is the cubic with their positions and tangents; samples are chosen so that this
/// cubic lies within the tolerance asked for (1 µm unless said otherwise) of the true curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// The plane it lies in.
    pub plane: Plane,
    /// The pieces, in order; the end of one is the start of the next.
    pub pieces: Vec<Vec<Sample>>,
}

impl Curve {
    /// `n` points equally spaced along the length, ends included, m.
    pub fn points(&self, n: usize) -> Vec<[f64; 3]> {
        let rule = Rule::new(self);
        let last = n.saturating_sub(1).max(1) as f64;
        (0..n).filter_map(|i| rule.at(rule.length() * i as f64 / last)).map(|mark| mark.sample.p).collect()
    }

    /// Length, m.
    pub fn length(&self) -> f64 {
        self.segments().map(|(a, b)| Cubic::between(a, b).length()).sum()
    }

    /// The curve in its plane as a path, m.
    pub fn path(&self) -> BezPath {
        let mut path = BezPath::new();
        if let Some(first) = self.start() {
            path.move_to(self.plane.drawn(first.p));
        }
        for (a, b) in self.segments() {
            let [_, c1, c2, end] = Cubic::between(a, b).0.map(|p| self.plane.drawn(p));
            path.curve_to(c1, c2, end);
        }
        path
    }

    /// The first sample; `None` of an empty curve.
    pub fn start(&self) -> Option<&Sample> {
        self.pieces.first()?.first()
    }

    /// The last sample; `None` of an empty curve.
    pub fn end(&self) -> Option<&Sample> {
        self.pieces.last()?.last()
    }

    /// Every sample in order; at a corner there are two in one place.
    pub fn samples(&self) -> impl Iterator<Item = &Sample> {
        self.pieces.iter().flatten()
    }

    /// The point `distance` along the curve, held to its ends; `None` of an empty curve. Position and
    /// tangent are the cubic's, the normal and the curvature blended between the samples next to it.
    pub fn at_length(&self, distance: f64) -> Option<Sample> {
        Rule::new(self).at(distance).map(|mark| mark.sample)
    }

    /// The points at these distances along the curve, as [`Curve::at_length`]; none of an empty curve.
    pub fn at_lengths(&self, distances: &[f64]) -> Vec<Sample> {
        let rule = Rule::new(self);
        distances.iter().filter_map(|&distance| rule.at(distance)).map(|mark| mark.sample).collect()
    }

    /// The point at a fraction (0 to 1) of the length.
    pub fn at_fraction(&self, fraction: f64) -> Option<Sample> {
        let rule = Rule::new(self);
        rule.at(fraction * rule.length()).map(|mark| mark.sample)
    }

    /// Where the curve crosses the plane `normal` · p = `offset`, in order along it. A curve that lies in
    /// that plane over a stretch crosses it nowhere there.
    pub fn crossings(&self, normal: [f64; 3], offset: f64) -> Vec<Mark> {
        let rule = Rule::new(self);
        let mut marks: Vec<Mark> = Vec::new();
        for (k, (a, b)) in self.segments().enumerate() {
            let [h0, h1, h2, h3] = Cubic::between(a, b).0.map(|p| dot(p, normal) - offset);
            if [h0, h1, h2, h3].iter().all(|h| h.abs() < 1e-12)
                || (h0.min(h1).min(h2).min(h3) > 1e-12)
                || h0.max(h1).max(h2).max(h3) < -1e-12
            {
                continue;
            }
            let mut roots =
                solve_cubic(h0, 3.0 * (h1 - h0), 3.0 * (h0 - 2.0 * h1 + h2), h3 - h0 + 3.0 * (h1 - h2))
                    .to_vec();
            roots.sort_by(f64::total_cmp);
            for t in roots.into_iter().filter(|t| (-1e-9..=1.0 + 1e-9).contains(t)) {
                let mark = rule.mark(k, t.clamp(0.0, 1.0));
                if marks.last().is_none_or(|last| mark.along - last.along > 1e-9) {
                    marks.push(mark);
                }
            }
        }
        marks
    }

    /// The point of the curve nearest to `to`; `None` of an empty curve.
    pub fn nearest(&self, to: [f64; 3]) -> Option<Mark> {
        let rule = Rule::new(self);
        let mut best: Option<(f64, usize, f64)> = None;
        for (k, (a, b)) in self.segments().enumerate() {
            let cubic = Cubic::between(a, b);
            for i in 0..=4 {
                let mut t = i as f64 / 4.0;
                for _ in 0..6 {
                    t = cubic.slide_towards(to, t);
                }
                let gap = distance(cubic.point(t), to);
                if best.is_none_or(|(least, _, _)| gap < least) {
                    best = Some((gap, k, t));
                }
            }
        }
        best.map(|(_, k, t)| rule.mark(k, t))
    }

    /// The part between two distances from the start, m.
    pub fn trimmed(&self, from: f64, to: f64) -> Curve {
        let rule = Rule::new(self);
        let (from, to) = (from.clamp(0.0, rule.length()), to.clamp(0.0, rule.length()));
        let (mut pieces, mut k) = (Vec::new(), 0);
        for piece in &self.pieces {
            let count = piece.len().saturating_sub(1);
            let (start, end) = (rule.before[k], rule.before[k + count]);
            if end > from && start < to {
                let inside = |i: &usize| rule.before[k + i] > from && rule.before[k + i] < to;
                let ends = |s: f64| rule.within(k..k + count, s).map(|mark| mark.sample);
                let middle = (0..=count).filter(inside).map(|i| piece[i]);
                pieces.push(ends(from).into_iter().chain(middle).chain(ends(to)).collect());
            }
            k += count;
        }
        Curve { plane: self.plane, pieces }
    }

    /// The same curve run the other way.
    pub fn reversed(&self) -> Curve {
        let back = |piece: &Vec<Sample>| piece.iter().rev().map(|s| s.reversed()).collect();
        Curve { plane: self.plane, pieces: self.pieces.iter().rev().map(back).collect() }
    }

    /// Each two neighbouring samples of a piece.
    pub(crate) fn segments(&self) -> impl Iterator<Item = (&Sample, &Sample)> {
        self.pieces.iter().flat_map(|piece| piece.windows(2).map(|pair| (&pair[0], &pair[1])))
    }

    /// Adds `next`, which starts where this curve ends: to the last piece where they meet smoothly.
    pub(crate) fn push_piece(&mut self, next: Vec<Sample>) {
        match (self.pieces.last_mut(), next.first()) {
            (Some(last), Some(first))
                if last.last().is_some_and(|end| norm(sub(end.tangent, first.tangent)) < SMOOTH) =>
            {
                last.extend_from_slice(&next[1..]);
            }
            _ => self.pieces.push(next),
        }
    }
}

/// A cubic by its four control points.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cubic(pub [V3; 4]);

impl Cubic {
    pub(crate) fn between(a: &Sample, b: &Sample) -> Self {
        let chord = distance(a.p, b.p);
        let half_turn = (0.5 * (1.0 + dot(a.tangent, b.tangent))).max(0.0).sqrt();
        let handle = 2.0 * chord / (3.0 * (1.0 + half_turn));
        Cubic([a.p, along(a.p, a.tangent, handle), along(b.p, b.tangent, -handle), b.p])
    }

    pub(crate) fn point(&self, t: f64) -> V3 {
        let s = 1.0 - t;
        let [a, b, c, d] = self.0;
        add(
            add(scale(a, s * s * s), scale(b, 3.0 * s * s * t)),
            add(scale(c, 3.0 * s * t * t), scale(d, t * t * t)),
        )
    }

    pub(crate) fn slope(&self, t: f64) -> V3 {
        let s = 1.0 - t;
        let [a, b, c, d] = self.0;
        add(add(scale(sub(b, a), 3.0 * s * s), scale(sub(c, b), 6.0 * s * t)), scale(sub(d, c), 3.0 * t * t))
    }

    /// One step of the parameter towards the foot of `to`.
    fn slide_towards(&self, to: V3, t: f64) -> f64 {
        let slope = self.slope(t);
        (t + dot(sub(to, self.point(t)), slope) / dot(slope, slope).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0)
    }

    pub(crate) fn length(&self) -> f64 {
        self.length_to(1.0)
    }

    /// Length from the start to `t`, by Gauss's rule of five points.
    fn length_to(&self, t: f64) -> f64 {
        const NODES: [(f64, f64); 5] = [
            (0.046910077030668004, 0.11846344252809454),
            (0.23076534494715845, 0.23931433524968324),
            (0.5, 0.28444444444444444),
            (0.7692346550528415, 0.23931433524968324),
            (0.953089922969332, 0.11846344252809454),
        ];
        NODES.iter().map(|(node, weight)| weight * norm(self.slope(node * t))).sum::<f64>() * t
    }
}

/// Whether the cubic between `a` and `b` passes `middle`, a true point between them, closely enough.
pub(crate) fn passes(a: &Sample, b: &Sample, middle: &Sample) -> bool {
    let chord = distance(a.p, b.p);
    if chord < CLOSEST {
        return true;
    }
    let cubic = Cubic::between(a, b);
    let mut t = 0.5;
    for _ in 0..3 {
        t = cubic.slide_towards(middle.p, t);
    }
    let gap = distance(cubic.point(t), middle.p);
    // An error odd about the middle shows there as a wrong direction: 0.15 of it times the chord is its
    // greatest height.
    let twist = norm(cross(unit(cubic.slope(t)), middle.tangent));
    let normal = unit(mix(a.normal, b.normal, t));
    gap + 0.15 * chord * twist <= 0.5 * TOLERANCE && norm(sub(normal, middle.normal)) <= NORMAL_TOLERANCE
}

/// The point at parameter `t` of the cubic between two samples.
pub(crate) fn between(a: &Sample, b: &Sample, t: f64) -> Sample {
    if t <= 0.0 {
        return *a;
    }
    if t >= 1.0 {
        return *b;
    }
    let cubic = Cubic::between(a, b);
    let tangent = unit(cubic.slope(t));
    let blend = mix(a.normal, b.normal, t);
    Sample {
        p: cubic.point(t),
        tangent,
        normal: unit(along(blend, tangent, -dot(blend, tangent))),
        curvature: a.curvature + t * (b.curvature - a.curvature),
    }
}

/// A curve with the distance to each of its segments worked out.
struct Rule<'a> {
    segments: Vec<(&'a Sample, &'a Sample)>,
    /// Length before segment k; the last is the whole.
    before: Vec<f64>,
}

impl<'a> Rule<'a> {
    fn new(curve: &'a Curve) -> Self {
        let segments: Vec<_> = curve.segments().collect();
        let mut before = vec![0.0];
        let mut sum = 0.0;
        for (a, b) in &segments {
            sum += Cubic::between(a, b).length();
            before.push(sum);
        }
        Rule { segments, before }
    }

    fn length(&self) -> f64 {
        self.before[self.segments.len()]
    }

    fn mark(&self, k: usize, t: f64) -> Mark {
        let (a, b) = self.segments[k];
        Mark { along: self.before[k] + Cubic::between(a, b).length_to(t), sample: between(a, b, t) }
    }

    fn at(&self, distance: f64) -> Option<Mark> {
        self.within(0..self.segments.len(), distance)
    }

    /// The point at `distance` if only the segments `range` are there.
    fn within(&self, range: std::ops::Range<usize>, distance: f64) -> Option<Mark> {
        let inner = self.before.get(range.start + 1..range.end)?;
        let k = range.start + inner.partition_point(|&s| s < distance);
        let (a, b) = *self.segments.get(k)?;
        let (cubic, want) = (Cubic::between(a, b), distance - self.before[k]);
        let whole = self.before[k + 1] - self.before[k];
        let mut t = if whole > 0.0 { (want / whole).clamp(0.0, 1.0) } else { 0.0 };
        if t > 0.0 && t < 1.0 {
            for _ in 0..4 {
                let speed = norm(cubic.slope(t)).max(f64::MIN_POSITIVE);
                t = (t - (cubic.length_to(t) - want) / speed).clamp(0.0, 1.0);
            }
        }
        Some(self.mark(k, t))
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

    use super::*;
    use crate::forms;

    fn arc() -> Curve {
        forms::cylinder().section(2.0).expect("a section")
    }

    #[test]
    fn a_waterline_crosses_a_section_where_the_circle_says() {
        let marks = arc().crossings([0.0, 0.0, 1.0], 0.4);
        assert_eq!(marks.len(), 1);
        let angle = 0.6_f64.acos();
        assert!((marks[0].along - angle).abs() < 1e-6 && (marks[0].sample.p[1] - angle.sin()).abs() < 1e-6);
        assert!(distance(marks[0].sample.normal, [0.0, angle.sin(), -angle.cos()]) < 1e-3);
        assert!(arc().crossings([0.0, 0.0, 1.0], 1.2).is_empty());
    }

    #[test]
    fn a_diagonal_crosses_a_chined_section_once_even_at_the_corner() {
        let section = forms::chined().section(2.5).expect("a section");
        let corner = section.pieces[0].last().expect("a chine").p;
        assert_eq!(section.crossings([0.0, 0.6, 0.8], 0.6 * corner[1] + 0.8 * corner[2]).len(), 1);
    }

    #[test]
    fn the_nearest_point_of_a_circle_lies_on_the_radius() {
        let mark = arc().nearest([2.0, 0.2, 0.8]).expect("a nearest point");
        assert!(distance(mark.sample.p, [2.0, FRAC_PI_4.sin(), 1.0 - FRAC_PI_4.cos()]) < 1e-6);
        assert!((mark.along - FRAC_PI_4).abs() < 1e-6);
    }

    #[test]
    fn a_trimmed_curve_keeps_its_corners_and_has_the_length_asked_for() {
        let section = forms::chined().section(2.0).expect("a section");
        let (whole, corner) = (section.length(), section.pieces[0].last().expect("a chine").p);
        let part = section.trimmed(0.1, whole - 0.2);
        assert_eq!(part.pieces.len(), 2);
        assert!((part.length() - (whole - 0.3)).abs() < 1e-9);
        assert_eq!(part.pieces[0].last().expect("a chine").p, corner);
        assert!((arc().trimmed(0.3, 0.9).length() - 0.6).abs() < 1e-7);
    }

    #[test]
    fn a_curve_run_backward_bends_the_other_way() {
        let (there, back) = (arc(), arc().reversed());
        assert_eq!(there.start().map(|s| s.p), back.end().map(|s| s.p));
        assert!(back.samples().all(|s| (s.curvature + 1.0).abs() < 1e-6));
        assert_eq!(back.reversed(), there);
    }

    #[test]
    fn half_way_round_a_quarter_circle_is_at_45_degrees() {
        let middle = arc().at_fraction(0.5).expect("a point");
        assert!(distance(middle.p, [2.0, FRAC_PI_4.sin(), 1.0 - FRAC_PI_4.cos()]) < 1e-6);
        let end = arc().at_length(FRAC_PI_2).expect("a point");
        assert!(distance(end.p, [2.0, 1.0, 1.0]) < 1e-6);
    }

    #[test]
    fn an_empty_curve_has_no_points_and_does_not_fail() {
        let empty = Curve { plane: Plane::at_x(0.0), pieces: Vec::new() };
        assert!(
            empty.points(5).is_empty() && empty.nearest([0.0; 3]).is_none() && empty.at_length(1.0).is_none()
        );
        assert_eq!((empty.length(), empty.trimmed(0.0, 1.0).pieces.len()), (0.0, 0));
    }
}
