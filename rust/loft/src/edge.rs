//! The edge that bears: a section as cubics drawn (y, z), from the keel up, with what is known on it.
//!
//! A straight line meets a cubic where a cubic polynomial is zero, so every crossing here is solved, not
//! searched for. The bevel between samples follows the fore-and-aft part of the normal, the rest of which
//! the curve's own tangent gives.

use kurbo::common::solve_cubic;
use kurbo::{BezPath, CubicBez, ParamCurve, ParamCurveArclen, ParamCurveDeriv, PathEl, PathSeg, Point, Vec2};
use scrieve_hull::{ChineOn, Curve};

/// Lengths along the edge are good to this, m: a thousandth of what a saw can follow.
const LENGTH_ACCURACY_M: f64 = 1e-7;
/// Crossings nearer than this are one, m: the same crossing found at the end of a cubic and at the start
/// of the next.
const SAME_PLACE_M: f64 = 1e-7;

/// A chine is found among the joints of an edge's cubics within this, m.
const AT_CHINE_M: f64 = 1e-6;

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
    /// The chines on it, from the keel up: which, counted from 1, and the place just above.
    chines: Vec<(usize, Place)>,
}

/// Above and below a chine the planking turns by more than this, radians (a quarter of a degree), or there is one
/// bevel there, not two.
const LEAST_BREAK: f64 = 0.0044;

impl Edge {
    /// `None` if the curve has no length.
    pub fn new(curve: &Curve) -> Option<Edge> {
        let nx: Vec<(f64, f64)> = curve
            .pieces
            .iter()
            .flat_map(|piece| piece.windows(2).map(|w| (w[0].normal[0], w[1].normal[0])))
            .collect();
        let cubics: Vec<CubicBez> = curve.path().segments().map(|s: PathSeg| s.to_cubic()).collect();
        let whole = !cubics.is_empty() && cubics.len() == nx.len();
        whole.then_some(Edge { cubics, nx, chines: Vec::new() })
    }

    /// An edge to cut along that belongs to no one section, and so has no normals but those in its own plane. `None`
    /// if it has no length.
    pub fn to_cut(segments: &[PathSeg]) -> Option<Edge> {
        let cubics: Vec<CubicBez> = segments.iter().map(PathSeg::to_cubic).collect();
        let nx = vec![(0.0, 0.0); cubics.len()];
        (!cubics.is_empty()).then_some(Edge { cubics, nx, chines: Vec::new() })
    }

    /// The same with the chines on it.
    pub fn with_chines(curve: &Curve, chines: &[ChineOn]) -> Option<Edge> {
        let mut edge = Edge::new(curve)?;
        for chine in chines {
            let at = curve.plane.drawn(chine.p);
            let gap = |index: usize| edge.cubics[index].p0.distance(at);
            // A chine lies where two cubics meet.
            let nearest = (1..edge.cubics.len()).min_by(|a, b| gap(*a).total_cmp(&gap(*b)));
            let Some(index) = nearest.filter(|index| gap(*index) < SAME_PLACE_M.max(AT_CHINE_M)) else {
                continue;
            };
            edge.chines.push((chine.number, Place { index, t: 0.0 }));
        }
        Some(edge)
    }

    /// The chines on it: which, counted from 1 at the keel, and the place just above.
    pub fn chines(&self) -> &[(usize, Place)] {
        &self.chines
    }

    /// The places just below and just above a chine where the planking breaks there; the one place where it does
    /// not, or where there is no chine.
    pub fn sides_of(&self, at: Place) -> Vec<Place> {
        let below = Place { index: at.index.saturating_sub(1), t: 1.0 };
        let is_chine = self.chines.iter().any(|(_, place)| *place == at);
        let (a, b) = (self.normal(below), self.normal(at));
        let turn = (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt();
        if is_chine && turn > LEAST_BREAK { vec![below, at] } else { vec![at] }
    }

    /// The tangent, midway between those of both sides at a chine.
    pub fn middle_tangent(&self, at: Place) -> Vec2 {
        self.sides_of(at).into_iter().map(|side| self.tangent(side)).sum::<Vec2>().normalize()
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
