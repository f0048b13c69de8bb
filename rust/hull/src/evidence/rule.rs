//! A curve as a chain of points with lengths along it.

use super::{ON_EDGE_M, SAME_M};
use crate::Curve;
use crate::curve::Cubic;
use scrieve_surface::vector::{V3, distance, dot, mix, sub};

/// A curve as a chain of points with lengths along it: near enough to say what is near, and a tenth of the time.
#[derive(Debug)]
pub(super) struct Rule {
    pub(super) spots: Vec<(f64, V3)>,
}

/// Links to a segment of a curve: a tenth of a millimetre off it where it turns most.
const LINKS: usize = 4;

impl Rule {
    pub(super) fn new(curve: &Curve) -> Self {
        let mut spots = Vec::new();
        let mut before = 0.0;
        for (a, b) in curve.segments() {
            let cubic = Cubic::between(a, b);
            let length = cubic.length();
            let at = |i: usize| i as f64 / LINKS as f64;
            spots.extend((0..LINKS).map(|i| (before + at(i) * length, cubic.point(at(i)))));
            before += length;
        }
        spots.extend(curve.end().map(|end| (before, end.p)));
        Rule { spots }
    }

    pub(super) fn length(&self) -> f64 {
        self.spots.last().map_or(0.0, |(along, _)| *along)
    }

    pub(super) fn start(&self) -> Option<V3> {
        self.spots.first().map(|(_, p)| *p)
    }

    pub(super) fn end(&self) -> Option<V3> {
        self.spots.last().map(|(_, p)| *p)
    }

    /// Least and greatest x, and a little more.
    pub(super) fn reach(&self) -> (f64, f64) {
        let xs = self.spots.iter().map(|(_, p)| p[0]);
        xs.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x - SAME_M), b.max(x + SAME_M)))
    }

    fn links(&self) -> impl Iterator<Item = (&(f64, V3), &(f64, V3))> {
        self.spots.iter().zip(self.spots.iter().skip(1))
    }

    /// The place nearest to a point.
    pub(super) fn nearest(&self, p: V3) -> Option<(f64, V3)> {
        let place = |(a, b): (&(f64, V3), &(f64, V3))| {
            let (way, off) = (sub(b.1, a.1), sub(p, a.1));
            let t = (dot(off, way) / dot(way, way).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
            (a.0 + t * (b.0 - a.0), mix(a.1, b.1, t))
        };
        self.links().map(place).min_by(|a, b| distance(a.1, p).total_cmp(&distance(b.1, p)))
    }

    /// Every place at this x.
    pub(super) fn at_x(&self, x: f64) -> Vec<(f64, V3)> {
        let place = |(a, b): (&(f64, V3), &(f64, V3))| {
            let (da, db) = (x - a.1[0], x - b.1[0]);
            // The end of one link is the start of the next.
            let crosses = da == 0.0 || da * db < 0.0;
            let t = if da == db { 0.0 } else { da / (da - db) };
            crosses.then(|| (a.0 + t * (b.0 - a.0), mix(a.1, b.1, t)))
        };
        let last = self.spots.last().filter(|(_, p)| p[0] == x).copied();
        self.links().filter_map(place).chain(last).collect()
    }

    /// How far along x is, m; its nearer end where it stops short of it.
    pub(super) fn along_at(&self, x: f64) -> Option<f64> {
        let (start, end) = (self.start()?[0], self.end()?[0]);
        let nearer = if (x - start).abs() < (x - end).abs() { 0.0 } else { self.length() };
        Some(self.at_x(x).first().map_or(nearer, |(along, _)| *along))
    }

    /// How far along the place at the x of `p` is that is nearest to it, and how far off that is, m.
    pub(super) fn nearest_across(&self, p: V3) -> Option<(f64, f64)> {
        let ends = [(0.0, self.start()?), (self.length(), self.end()?)];
        let at_end = ends.into_iter().filter(|(_, end)| (end[0] - p[0]).abs() < ON_EDGE_M);
        let places = self.at_x(p[0]).into_iter().chain(at_end).map(|(along, at)| (along, distance(at, p)));
        places.min_by(|a, b| a.1.total_cmp(&b.1))
    }
}
