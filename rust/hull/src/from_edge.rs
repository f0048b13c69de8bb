//! A plane's way in from the edge of the planking, on the hull or on a surface parallel to it: where it begins, and where it
//! comes to a stated half-breadth, each by Newton's method on the surface itself. A section would be traced from edge to
//! edge for the first few centimetres of it.
//!
//! It answers where the answer is plain, and leaves the rest to the section: near the corners of a patch, where the plane
//! runs along the edge, where the parallel surface runs backward, and where the way does not lead outward from its start.

use crate::contour::Net;
use crate::curve::Plane;
use crate::hull::Hull;
use crate::newton;
use crate::shape::Shape;
use scrieve_surface::vector::{V3, along, distance, dot, norm, scale};

/// Nearer to a corner of its patch than so many times the distance inside another edge's way in may be meant, or a mitre
/// may cut this one.
const CLEAR_OF_CORNERS: f64 = 3.0;
/// A corner is nearer than this where nothing is inside anything, m.
const AT_CORNER_M: f64 = 0.001;
/// The plane crosses the edge rather than runs along it: the least cosine between its normal and the edge (10 degrees).
const ACROSS: f64 = 0.17;
/// Places on the way at which it is looked at.
const LOOKS: usize = 6;

/// A spot on the way in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaySpot {
    /// Position, m.
    pub p: V3,
    /// Outward unit normal of the hull there.
    pub normal: V3,
    /// Unit tangent in the plane, away from the edge.
    pub tangent: V3,
}

/// A plane's way in from the edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FromEdge {
    /// Where it begins.
    pub start: WaySpot,
    /// Where it comes to the half-breadth that was asked for; `None` where it begins farther out.
    pub at_breadth: Option<WaySpot>,
}

/// An edge of a patch: the one on which u, or v, stays what it is.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Edge {
    Lower,
    Forward,
    After,
}

impl Edge {
    fn uv(self, s: f64) -> [f64; 2] {
        match self {
            Edge::Lower => [s, 0.0],
            Edge::Forward => [0.0, s],
            Edge::After => [1.0, s],
        }
    }

    /// Along the edge, as its parameter grows.
    fn slope(self, shape: &Shape) -> V3 {
        if self == Edge::Lower { shape.du } else { shape.dv }
    }

    /// Whether a step in (u, v) leaves the edge for the patch.
    fn is_in(self, step: [f64; 2]) -> bool {
        match self {
            Edge::Lower => step[1] > 0.0,
            Edge::Forward => step[0] > 0.0,
            Edge::After => step[0] < 0.0,
        }
    }
}

impl Hull {
    /// The way of `plane` on the surface `inside` the hull from the edge of the planking (the keel, or an end) near a
    /// point of the hull's own edge, out to half-breadth `y`; `None` where the section has to be asked.
    pub fn from_edge(&self, plane: &Plane, inside: f64, near: V3, y: f64) -> Option<FromEdge> {
        let (patch, edge, from) = self.edge_near(near)?;
        let surface = &self.surface().patches[patch];
        let (normal, offset) = (plane.normal(), dot(plane.normal(), plane.origin));
        let at = |[u, v]: [f64; 2]| Shape::at(surface, u, v, inside);
        let start = newton::on_line(from, |s| {
            let shape = at(edge.uv(s));
            (dot(normal, shape.p) - offset, dot(normal, edge.slope(&shape)))
        })?;
        let uv = edge.uv(start);
        let first = at(uv);
        let clear = CLEAR_OF_CORNERS * inside.abs() + AT_CORNER_M;
        let corners = [0.0, 1.0].map(|s| edge.uv(s)).map(|[u, v]| surface.point(u, v));
        let slope = edge.slope(&first);
        let across = dot(normal, slope).abs() > ACROSS * norm(slope);
        let astray = distance(first.p, near) > clear;
        if first.turned || !across || astray || corners.iter().any(|c| distance(first.p, *c) < clear) {
            return None;
        }
        // The way on in the plane, into the patch.
        let way = |shape: &Shape| [-dot(normal, shape.dv), dot(normal, shape.du)];
        let sign = if edge.is_in(way(&first)) { 1.0 } else { -1.0 };
        let spot = |shape: &Shape| {
            let [by_u, by_v] = way(shape);
            let tangent = along(scale(shape.du, by_u), shape.dv, by_v);
            let long = norm(tangent);
            let tangent = scale(tangent, sign / long);
            (long > 0.0).then_some(WaySpot { p: shape.p, normal: shape.n, tangent })
        };
        let begun = spot(&first)?;
        if first.p[1] >= y {
            return Some(FromEdge { start: begun, at_breadth: None });
        }
        if begun.tangent[1] <= 0.0 {
            return None;
        }
        let found = newton::on_patch(uv, |uv| {
            let shape = at(uv);
            let values = [dot(normal, shape.p) - offset, shape.p[1] - y];
            let slopes = [shape.du, shape.dv].map(|d| [dot(normal, d), d[1]]);
            (values, slopes)
        })?;
        let last = at(found);
        let between = (1..LOOKS).map(|k| {
            let part = k as f64 / LOOKS as f64;
            at([0, 1].map(|k| uv[k] + (found[k] - uv[k]) * part))
        });
        let plain = between.chain([last]).all(|shape| !shape.turned);
        let there = spot(&last).filter(|spot| plain && spot.tangent[1] > 0.0)?;
        Some(FromEdge { start: begun, at_breadth: Some(there) })
    }

    /// The patch and the edge a point lies on, and the node of it nearest the point.
    fn edge_near(&self, near: V3) -> Option<(usize, Edge, f64)> {
        let mut best: Option<(f64, (usize, Edge, f64))> = None;
        let mut offer = |patch: usize, edge: Edge, s: f64, p: V3| {
            let gap = distance(p, near);
            if best.is_none_or(|(least, _)| gap < least) {
                best = Some((gap, (patch, edge, s)));
            }
        };
        for (patch, Net { us, vs, .. }) in self.nets().iter().enumerate() {
            let net = &self.nets()[patch];
            if patch == 0 {
                us.iter().enumerate().for_each(|(i, &u)| offer(patch, Edge::Lower, u, net.node(i, 0)));
            }
            for (j, &v) in vs.iter().enumerate() {
                offer(patch, Edge::Forward, v, net.node(0, j));
                offer(patch, Edge::After, v, net.node(us.len() - 1, j));
            }
        }
        best.map(|(_, place)| place)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{Curve, Sample};
    use crate::{BackboneLine, Boat, forms};
    use scrieve_yardstick::known::{Family, Known};

    /// The same by the section traced from edge to edge: the run that ends nearest, away from the edge.
    fn traced(hull: &Hull, plane: &Plane, inside: f64, near: V3, y: f64) -> Option<(Sample, Option<Sample>)> {
        let gap = |s: Option<&Sample>| s.map_or(f64::INFINITY, |s| distance(s.p, near));
        let cuts = hull.parallel_cut(plane, inside).into_iter();
        let outward = cuts.map(|c| if gap(c.end()) < gap(c.start()) { c.reversed() } else { c });
        let run: Curve = outward.min_by(|a, b| gap(a.start()).total_cmp(&gap(b.start())))?;
        let crossings = run.crossings([0.0, 1.0, 0.0], y).into_iter().map(|mark| mark.sample);
        Some((*run.start()?, crossings.into_iter().find(|s| s.tangent[1] > 0.0)))
    }

    #[test]
    fn the_way_in_from_the_rabbet_is_that_of_the_whole_section() {
        let (mut asked, mut answered) = (0, 0);
        for (family, seed) in [(Family::RoundBilge, 1), (Family::RakedTransom, 2), (Family::DoubleEnder, 3)] {
            let hull = Boat::from(forms::known(&Known::new(family, seed)));
            let line = hull.backbone_line(None).curve;
            for k in 1..40 {
                let spot = line.at_length(line.length() * f64::from(k) / 40.0).expect("on the line");
                let up = BackboneLine::inward(&spot);
                let plane = Plane { origin: [spot.p[0], 0.0, spot.p[2]], right: [0.0, 1.0, 0.0], up };
                for inside in [0.0127, 0.03, -0.0127] {
                    asked += 1;
                    let Some(way) = hull.from_edge(&plane, inside, spot.p, spot.p[1]) else { continue };
                    answered += 1;
                    let told = format!("{family:?} {k} {inside}");
                    let (start, there) = traced(&hull, &plane, inside, spot.p, spot.p[1]).expect(&told);
                    assert!(distance(way.start.p, start.p) < 1e-8, "{told}: {way:?} {start:?}");
                    assert!(distance(way.start.tangent, start.tangent) < 1e-5, "{told}");
                    if let Some(on) = way.at_breadth {
                        let there = there.expect(&told);
                        // Between the samples of the traced one lies a cubic.
                        assert!(distance(on.p, there.p) < 2e-6, "{told}: {on:?} {there:?}");
                        assert!((on.p[1] - spot.p[1]).abs() < 1e-10 && on.tangent[1] > 0.0, "{told}");
                    }
                }
            }
        }
        assert!(answered * 10 > asked * 7, "{answered} of {asked}");
    }

    #[test]
    fn what_is_not_plain_is_left_to_the_section() {
        let hull = Boat::from(forms::parabolic());
        let (line, up) = (hull.backbone_line(None).curve, [0.0, 0.0, 1.0]);
        let spot = line.at_length(0.5 * line.length()).expect("on the line");
        let plane = |right| Plane { origin: [spot.p[0], 0.0, spot.p[2]], right, up };
        // Along the keel, tighter than she turns, and off her.
        assert!(hull.from_edge(&plane([1.0, 0.02, 0.0]), 0.01, spot.p, 0.05).is_none());
        assert!(hull.from_edge(&plane([0.0, 1.0, 0.0]), 50.0, spot.p, 0.05).is_none());
        assert!(hull.from_edge(&plane([0.0, 1.0, 0.0]), f64::NAN, spot.p, 0.05).is_none());
        assert!(hull.from_edge(&plane([0.0, 1.0, 0.0]), 0.01, [-90.0, 0.0, 0.0], 0.05).is_none());
    }
}
