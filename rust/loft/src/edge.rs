//! The edge that bears: a section as cubics drawn (y, z), from the keel up, with what is known on it.
//!
//! A straight line meets a cubic where a cubic polynomial is zero, so every crossing here is solved, not
//! searched for. The bevel between samples follows the fore-and-aft part of the normal, the rest of which
//! the curve's own tangent gives.

use kurbo::common::solve_cubic;
use kurbo::{BezPath, CubicBez, ParamCurve, ParamCurveArclen, ParamCurveDeriv, PathEl, PathSeg, Point, Vec2};
use scrieve_hull::Curve;

/// Lengths along the edge are good to this, m: a thousandth of what a saw can follow.
const LENGTH_ACCURACY_M: f64 = 1e-7;
/// Crossings nearer than this are one, m: the same crossing found at the end of a cubic and at the start
/// of the next.
const SAME_PLACE_M: f64 = 1e-7;

/// A place on an edge: the cubic and the parameter on it.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub(crate) struct Place {
    pub index: usize,
    pub t: f64,
}

/// An edge from the keel up.
#[derive(Clone, Debug)]
pub(crate) struct Edge {
    cubics: Vec<CubicBez>,
    /// Fore-and-aft component of the outward normal at both ends of each cubic.
    nx: Vec<(f64, f64)>,
}

impl Edge {
    /// `None` if the curve has no length.
    pub fn new(curve: &Curve) -> Option<Edge> {
        let nx: Vec<(f64, f64)> = curve
            .pieces
            .iter()
            .flat_map(|piece| piece.windows(2).map(|w| (w[0].normal[0], w[1].normal[0])))
            .collect();
        let cubics: Vec<CubicBez> = curve.path().segments().map(|s: PathSeg| s.to_cubic()).collect();
        (!cubics.is_empty() && cubics.len() == nx.len()).then_some(Edge { cubics, nx })
    }

    pub fn start(&self) -> Place {
        Place { index: 0, t: 0.0 }
    }

    pub fn end(&self) -> Place {
        Place { index: self.cubics.len() - 1, t: 1.0 }
    }

    pub fn point(&self, at: Place) -> Point {
        self.cubics[at.index].eval(at.t)
    }

    /// Unit tangent, keel to sheer.
    pub fn tangent(&self, at: Place) -> Vec2 {
        self.cubics[at.index].deriv().eval(at.t).to_vec2().normalize()
    }

    /// In the plane of the mould, unit, out of the wood.
    pub fn outward(&self, at: Place) -> Vec2 {
        let t = self.tangent(at);
        Vec2::new(t.y, -t.x)
    }

    /// Outward unit normal of the hull.
    pub fn normal(&self, at: Place) -> [f64; 3] {
        let (a, b) = self.nx[at.index];
        let nx = a + (b - a) * at.t;
        let out = self.outward(at) * (1.0 - nx * nx).max(0.0).sqrt();
        [nx, out.x, out.y]
    }

    /// Where `along · p` equals `value`, in order.
    pub fn crossings(&self, along: Vec2, value: f64) -> Vec<Place> {
        let mut found: Vec<Place> = Vec::new();
        for (index, c) in self.cubics.iter().enumerate() {
            let [a, b, d, e] = [c.p0, c.p1, c.p2, c.p3].map(|p| along.dot(p.to_vec2()) - value);
            let roots = solve_cubic(a, 3.0 * (b - a), 3.0 * (d - 2.0 * b + a), e - 3.0 * d + 3.0 * b - a);
            let mut roots: Vec<f64> = roots.into_iter().collect();
            roots.sort_by(f64::total_cmp);
            for t in roots {
                let slack = SAME_PLACE_M / c.p0.distance(c.p3).max(SAME_PLACE_M);
                if !(-slack..=1.0 + slack).contains(&t) {
                    continue;
                }
                let place = Place { index, t: t.clamp(0.0, 1.0) };
                let repeats = found
                    .last()
                    .is_some_and(|&last| self.point(last).distance(self.point(place)) < SAME_PLACE_M);
                if !repeats {
                    found.push(place);
                }
            }
        }
        found
    }

    /// Length from the start, m.
    pub fn girth(&self, at: Place) -> f64 {
        let whole: f64 = self.cubics[..at.index].iter().map(|c| c.arclen(LENGTH_ACCURACY_M)).sum();
        whole + self.cubics[at.index].subsegment(0.0..at.t).arclen(LENGTH_ACCURACY_M)
    }

    /// The place at a length from the start, m; the nearer end if it is off the edge.
    pub fn at_girth(&self, girth: f64) -> Place {
        let mut left = girth.max(0.0);
        for (index, c) in self.cubics.iter().enumerate() {
            let length = c.arclen(LENGTH_ACCURACY_M);
            if left <= length {
                return Place { index, t: c.inv_arclen(left, LENGTH_ACCURACY_M) };
            }
            left -= length;
        }
        self.end()
    }

    /// The cubics between two places, as path elements that go on from `from`.
    pub fn elements(&self, from: Place, to: Place) -> Vec<PathEl> {
        let mut out = Vec::new();
        for index in from.index..=to.index {
            let t0 = if index == from.index { from.t } else { 0.0 };
            let t1 = if index == to.index { to.t } else { 1.0 };
            if t1 > t0 {
                let c = self.cubics[index].subsegment(t0..t1);
                out.push(PathEl::CurveTo(c.p1, c.p2, c.p3));
            }
        }
        out
    }

    /// The whole edge.
    pub fn path(&self) -> BezPath {
        let mut path = BezPath::new();
        path.move_to(self.point(self.start()));
        path.extend(self.elements(self.start(), self.end()));
        path
    }

    /// `n` places and more, from end to end, at least one to a cubic.
    pub fn places(&self, n: usize) -> Vec<Place> {
        let each = n.div_ceil(self.cubics.len());
        (0..self.cubics.len())
            .flat_map(|index| (0..=each).map(move |i| Place { index, t: i as f64 / each as f64 }))
            .collect()
    }

    /// Greatest half-breadth at the ends of its cubics, m.
    pub fn greatest_half_breadth(&self) -> f64 {
        self.cubics.iter().flat_map(|c| [c.p0.x, c.p3.x]).fold(f64::NEG_INFINITY, f64::max)
    }
}
