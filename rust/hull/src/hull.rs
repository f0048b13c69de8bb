//! The hull and its planes.

use std::sync::{Arc, OnceLock};

use scrieve_fairing::FairingError;
use scrieve_surface::Surface;

use crate::contour::{Cut, Net, OnPlane, Strand, patch_line, patch_pieces};
use crate::lookup::{Index, Place};
use crate::parallel::{self, ParallelSection};
use crate::shape::Shape;
use crate::{Curve, Plane, Sample};
use scrieve_surface::vector::{V3, dot, same_place, scale};

/// Ends of curves on neighbouring patches nearer than this are one point, m.
const JOINT: f64 = 1e-6;

/// A point this near the rabbet or the sheer is taken to be on it, m: heights that were written down and
/// read again.
const NEARLY: f64 = 1e-7;

/// What a hull was asked that it cannot answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum HullError {
    /// The plane or point lies off the hull.
    #[error("{what} is off the hull, which there runs from {from:.3} to {to:.3} m")]
    OffTheHull {
        /// What was asked.
        what: String,
        /// Lower bound, m.
        from: f64,
        /// Upper bound, m.
        to: f64,
    },
    /// An argument that makes no sense.
    #[error("{0}")]
    Argument(String),
    /// What fairing had to say.
    #[error(transparent)]
    Fairing(#[from] FairingError),
}

/// Principal dimensions of the moulded surface, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dimensions {
    /// From the foremost point of the surface to the aftmost.
    pub length: f64,
    /// Twice the greatest half-breadth.
    pub beam: f64,
    /// Sheer above rabbet midway along the length.
    pub depth: f64,
}

/// A point of the hull, or of a surface parallel to it, with its derivatives by u and v, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Position.
    pub p: [f64; 3],
    /// ∂/∂u.
    pub du: [f64; 3],
    /// ∂/∂v.
    pub dv: [f64; 3],
    /// Outward unit normal of the hull.
    pub normal: [f64; 3],
}

/// A hull: her surface, and nothing of where it comes from. What is asked of a table's hull and needs the record too is
/// asked of a [`crate::Boat`].
#[derive(Clone, Debug)]
pub struct Hull {
    surface: Surface,
    found: Arc<Found>,
}

/// What finding places takes. It is made when first asked for: a hull faired anew for every change of a
/// reading may never be asked.
#[derive(Debug, Default)]
struct Found {
    nets: OnceLock<Vec<Net>>,
    by_height: OnceLock<Index>,
    by_breadth: OnceLock<Index>,
}

impl Hull {
    /// The hull of a surface.
    pub fn from_surface(surface: Surface) -> Self {
        Hull { surface, found: Arc::default() }
    }

    pub(crate) fn nets(&self) -> &[Net] {
        self.found.nets.get_or_init(|| self.surface.patches.iter().map(Net::new).collect())
    }

    /// The moulded surface, as the record gives it (to the outside or the inside of the planking).
    pub fn surface(&self) -> &Surface {
        &self.surface
    }

    /// The section at `x`, rabbet to sheer, drawn (y, z). Where a plane cuts the hull in several parts (a
    /// hollow stem), the longest; [`Hull::cut`] gives all.
    pub fn section(&self, x: f64) -> Result<Curve, HullError> {
        let curves = self.cut_named(&Plane::at_x(x), || format!("the section at x = {x:.4} m"))?;
        longest(curves).ok_or_else(|| HullError::Argument("an empty section".into()))
    }

    /// The waterlines at height `z`, bow to stern, drawn (x, y): more than one where the sheer or the keel
    /// cuts it.
    pub fn waterline(&self, z: f64) -> Result<Vec<Curve>, HullError> {
        self.cut_named(&Plane::at_z(z), || format!("the waterline at z = {z:.4} m"))
    }

    /// The buttocks at half-breadth `y`, bow to stern, drawn (x, z).
    pub fn buttock(&self, y: f64) -> Result<Vec<Curve>, HullError> {
        self.cut_named(&Plane::at_y(y), || format!("the buttock at y = {y:.4} m"))
    }

    /// The diagonal through (0, `centreline_height`) falling outward at `angle` radians below the
    /// horizontal, drawn (x, distance out along it).
    pub fn diagonal(&self, centreline_height: f64, angle: f64) -> Result<Vec<Curve>, HullError> {
        let plane = Plane::diagonal(centreline_height, angle);
        self.cut_named(&plane, || format!("the diagonal from {centreline_height:.4} m"))
    }

    /// The curves in which any plane cuts the hull, from bow to stern; rabbet to sheer where the plane
    /// stands athwart the boat.
    pub fn cut(&self, plane: &Plane) -> Result<Vec<Curve>, HullError> {
        self.cut_named(plane, || "the plane".into())
    }

    /// The rabbet (0), the chines, and the sheer (last), as space curves drawn in profile.
    pub fn reference_lines(&self) -> Vec<Curve> {
        self.reference_lines_drawn(Plane::at_y(0.0))
    }

    /// The same drawn in another plane: their curvature is that of the drawing.
    pub fn reference_lines_drawn(&self, plane: Plane) -> Vec<Curve> {
        let patches = &self.surface().patches;
        let lower = patches.first().map(|patch| (patch, &self.nets()[0], 0.0));
        let upper = patches.iter().zip(self.nets().iter()).map(|(patch, net)| (patch, net, 1.0));
        let lines = lower.into_iter().chain(upper);
        lines
            .map(|(patch, net, v)| Curve { plane, pieces: vec![patch_line(patch, net, v, true, &plane)] })
            .collect()
    }

    /// The forward and the after end of the surface (the stem's rabbet; the transom's edge, the sternpost's
    /// rabbet or the last station), rabbet to sheer, as space curves drawn in `plane`.
    pub fn ends(&self, plane: Plane) -> [Curve; 2] {
        [0.0, 1.0].map(|u| {
            let mut curve = Curve { plane, pieces: Vec::new() };
            for (patch, net) in self.surface().patches.iter().zip(self.nets().iter()) {
                patch_pieces(patch, net, u, &plane).into_iter().for_each(|piece| curve.push_piece(piece));
            }
            curve
        })
    }

    /// Where on the hull (x, z) is seen from the side; the outermost place where there are several.
    pub fn locate(&self, x: f64, z: f64) -> Result<Place, HullError> {
        self.at_height(x, z).map(|(place, _)| place)
    }

    /// Half-breadth at (x, z), m; the outermost where there are several.
    pub fn half_breadth(&self, x: f64, z: f64) -> Result<f64, HullError> {
        self.at_height(x, z).map(|(_, p)| p[1])
    }

    /// Height at (x, y), m; the lowest where there are several.
    pub fn height(&self, x: f64, y: f64) -> Result<f64, HullError> {
        let found = self.found.by_breadth.get_or_init(|| Index::new(self.nets(), [0, 1])).find(
            self.surface(),
            self.nets(),
            [x, y],
            false,
        );
        found.map_or_else(|| self.on_section(x, 1, y), Ok).map(|(_, p)| p[2])
    }

    /// Outward unit normal at (x, z), at the outermost place.
    pub fn normal(&self, x: f64, z: f64) -> Result<[f64; 3], HullError> {
        let place = self.locate(x, z)?;
        Ok(Shape::at(&self.surface().patches[place.patch], place.u, place.v, 0.0).n)
    }

    /// Bevel at (x, z), radians: atan(nx / √(ny² + nz²)).
    pub fn bevel(&self, x: f64, z: f64) -> Result<f64, HullError> {
        self.normal(x, z).map(|[nx, ny, nz]| nx.atan2(ny.hypot(nz)))
    }

    /// The girth at `x`: the length of the section, rabbet to sheer, m.
    pub fn girth(&self, x: f64) -> Result<f64, HullError> {
        self.section(x).map(|curve| curve.length())
    }

    /// The section at `x` of the surface parallel to the hull at `distance` inside it (negative: outside).
    ///
    /// At a chine its two pieces are cut, or carried on straight, to where they meet. Where the hull turns
    /// tighter than `distance` the line has a corner instead of a loop ([`Hull::parallel_section_marked`]
    /// says where); where it does so at the rabbet or the sheer, that is an error.
    pub fn parallel_section(&self, x: f64, distance: f64) -> Result<Curve, HullError> {
        self.parallel_section_marked(x, distance).map(|section| section.curve)
    }

    /// [`Hull::parallel_section`] with the chines on it and the corners where a loop was left out.
    pub fn parallel_section_marked(&self, x: f64, distance: f64) -> Result<ParallelSection, HullError> {
        if !distance.is_finite() {
            return Err(HullError::Argument(format!("a distance of {distance} m makes no parallel surface")));
        }
        let plane = Plane::at_x(x);
        let mut one_each: Vec<Strand> = Vec::new();
        for mut strand in self.strands(&plane, distance) {
            if runs_down(&strand) {
                strand.reverse();
            }
            match one_each.last_mut() {
                Some(last) if last.patch == strand.patch => {
                    if reach(last) < reach(&strand) {
                        *last = strand;
                    }
                }
                _ => one_each.push(strand),
            }
        }
        if one_each.is_empty() {
            let (from, to) = self.extent([1.0, 0.0, 0.0]);
            let what = format!("the section at x = {x:.4} m of the surface {distance:.4} m inside");
            return Err(HullError::OffTheHull { what, from, to });
        }
        parallel::join(one_each, plane).map_err(|doubled| {
            HullError::Argument(format!(
                "at x = {x:.4} m the hull turns tighter than {distance:.4} m near z = {:.3} m, at the edge of \
                 the planking: no parallel surface there",
                doubled.height_m
            ))
        })
    }

    /// The curves in which any plane cuts the surface parallel to the hull at `distance` inside it, as they
    /// come: parted at chines, loops left in. None where the plane misses it.
    pub fn parallel_cut(&self, plane: &Plane, distance: f64) -> Vec<Curve> {
        let sound = plane.origin.iter().chain(&plane.normal()).chain(&[distance]).all(|c| c.is_finite());
        if sound { in_order(self.strands(plane, distance), plane) } else { Vec::new() }
    }

    /// The point at `place` of the surface parallel to the hull at `distance` inside it. The place's patch
    /// must be one of the surface's.
    pub fn spot(&self, place: Place, distance: f64) -> Spot {
        let shape = Shape::at(&self.surface().patches[place.patch], place.u, place.v, distance);
        Spot { p: shape.p, du: shape.du, dv: shape.dv, normal: shape.n }
    }

    /// Least and greatest of `direction` · p over the surface.
    pub fn extent(&self, direction: [f64; 3]) -> (f64, f64) {
        (-self.farthest(scale(direction, -1.0)).0, self.farthest(direction).0)
    }

    /// Principal dimensions.
    pub fn dimensions(&self) -> Result<Dimensions, HullError> {
        let (from, to) = self.extent([1.0, 0.0, 0.0]);
        let amidships = self.section(0.5 * (from + to))?;
        let heights = amidships.start().zip(amidships.end()).map(|(rabbet, sheer)| sheer.p[2] - rabbet.p[2]);
        Ok(Dimensions {
            length: to - from,
            beam: 2.0 * self.extent([0.0, 1.0, 0.0]).1,
            depth: heights.unwrap_or(f64::NAN),
        })
    }

    /// The greatest `direction` · p and where: the best node, then closing in on it.
    fn farthest(&self, direction: V3) -> (f64, Place) {
        let mut best = (f64::NEG_INFINITY, Place { patch: 0, u: 0.0, v: 0.0 });
        let mut spans = [0.0; 2];
        for (patch, net) in self.nets().iter().enumerate() {
            for (i, &u) in net.us.iter().enumerate() {
                for (j, &v) in net.vs.iter().enumerate() {
                    let reach = dot(direction, net.node(i, j));
                    if reach > best.0 {
                        best = (reach, Place { patch, u, v });
                        spans = [&net.us, &net.vs].map(|line| 2.0 / line.len() as f64);
                    }
                }
            }
        }
        for _ in 0..30 {
            let (_, centre) = best;
            for k in 0..25 {
                let (a, b) = (f64::from(k / 5 - 2) / 2.0, f64::from(k % 5 - 2) / 2.0);
                let (u, v) =
                    ((centre.u + a * spans[0]).clamp(0.0, 1.0), (centre.v + b * spans[1]).clamp(0.0, 1.0));
                let reach = dot(direction, self.surface().patches[centre.patch].point(u, v));
                if reach > best.0 {
                    best = (reach, Place { u, v, ..centre });
                }
            }
            spans = spans.map(|s| 0.6 * s);
        }
        best
    }

    fn at_height(&self, x: f64, z: f64) -> Result<(Place, V3), HullError> {
        let found = self.found.by_height.get_or_init(|| Index::new(self.nets(), [0, 2])).find(
            self.surface(),
            self.nets(),
            [x, z],
            true,
        );
        found.map_or_else(|| self.on_section(x, 2, z), Ok)
    }

    /// Where the section at `x` has `value` as its y (`axis` 1; the lowest) or z (2; the outermost): slower
    /// than the index, and proof against flats and folds.
    fn on_section(&self, x: f64, axis: usize, value: f64) -> Result<(Place, V3), HullError> {
        let plane = Plane::at_x(x);
        let strands = self.strands(&plane, 0.0);
        if strands.is_empty() {
            let (from, to) = self.extent([1.0, 0.0, 0.0]);
            return Err(HullError::OffTheHull { what: format!("x = {x:.4} m"), from, to });
        }
        let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut best: Option<(Place, V3)> = None;
        let better = |p: V3, other: V3| if axis == 2 { p[1] > other[1] } else { p[2] < other[2] };
        for strand in &strands {
            let patch = &self.surface().patches[strand.patch];
            let mut offer = |uv: [f64; 2]| {
                let p = patch.point(uv[0], uv[1]);
                if best.is_none_or(|(_, other)| better(p, other)) {
                    best = Some((Place { patch: strand.patch, u: uv[0], v: uv[1] }, p));
                }
            };
            let cut = Cut::new(patch, &self.nets()[strand.patch], &plane, 0.0);
            let mut path = vec![strand.uv[0]];
            for (pair, ends) in strand.uv.windows(2).zip(strand.samples.windows(2)) {
                // Between samples on either side of a summit the value may be met twice.
                if ends[0].tangent[axis] * ends[1].tangent[axis] < 0.0 {
                    path.extend(cut.bisected(pair[0], pair[1], |uv| cut.rate(uv, axis)));
                }
                path.push(pair[1]);
            }
            let beyond = |uv: [f64; 2]| patch.point(uv[0], uv[1])[axis] - value;
            for (k, &uv) in path.iter().enumerate() {
                let off = beyond(uv);
                from = from.min(value + off);
                to = to.max(value + off);
                if off.abs() < NEARLY {
                    offer(uv);
                } else if k > 0 && off * beyond(path[k - 1]) < 0.0 {
                    cut.bisected(path[k - 1], uv, beyond).into_iter().for_each(&mut offer);
                }
            }
        }
        let name = ["x", "y", "z"][axis];
        best.ok_or_else(|| HullError::OffTheHull {
            what: format!("{name} = {value:.4} m at x = {x:.4} m"),
            from,
            to,
        })
    }

    /// Every run of a plane across the surface `inside` the hull, from the keel up.
    fn strands(&self, plane: &Plane, inside: f64) -> Vec<Strand> {
        let all = |on_plane| -> Vec<Strand> {
            let patches = self.surface().patches.iter().zip(self.nets().iter()).enumerate();
            patches
                .flat_map(|(k, (patch, net))| Cut::new(patch, net, plane, inside).strands(k, on_plane))
                .collect()
        };
        let strands = all(OnPlane::Above);
        if strands.is_empty() { all(OnPlane::Below) } else { strands }
    }

    fn cut_named(&self, plane: &Plane, what: impl Fn() -> String) -> Result<Vec<Curve>, HullError> {
        let normal = plane.normal();
        if !plane.origin.iter().chain(&normal).all(|c| c.is_finite()) {
            return Err(HullError::Argument(format!("{} is nowhere", what())));
        }
        let strands = self.strands(plane, 0.0);
        if strands.is_empty() {
            let (from, to) = self.extent(normal);
            return Err(HullError::OffTheHull { what: what(), from, to });
        }
        Ok(in_order(strands, plane))
    }
}

/// Strands joined to curves, those of an athwartships plane from the keel up, others from the bow.
fn in_order(strands: Vec<Strand>, plane: &Plane) -> Vec<Curve> {
    let athwart = plane.normal()[0].abs() > 0.5_f64.sqrt();
    let mut curves: Vec<Curve> = joined(strands, athwart)
        .into_iter()
        .map(|run| {
            let mut curve = Curve { plane: *plane, pieces: Vec::new() };
            run.pieces.into_iter().for_each(|piece| curve.push_piece(piece));
            curve
        })
        .collect();
    let key = |curve: &Curve| curve.start().map_or(0.0, |s| if athwart { s.p[2] } else { s.p[0] });
    curves.sort_by(|a, b| key(a).total_cmp(&key(b)));
    curves
}

fn longest(curves: Vec<Curve>) -> Option<Curve> {
    if curves.len() == 1 {
        return curves.into_iter().next();
    }
    curves.into_iter().max_by(|a, b| a.length().total_cmp(&b.length()))
}

/// The share of its patch, rabbet to sheer, that a strand takes.
fn reach(strand: &Strand) -> f64 {
    strand.uv[strand.uv.len() - 1][1] - strand.uv[0][1]
}

fn runs_down(strand: &Strand) -> bool {
    let rise = |a: f64, b: f64| (b - a).abs() > 1e-12 && b < a;
    let (first, last) = (strand.uv[0], strand.uv[strand.uv.len() - 1]);
    let level = (first[1] - last[1]).abs() <= 1e-12;
    rise(first[1], last[1])
        || (level && strand.samples[strand.samples.len() - 1].p[2] < strand.samples[0].p[2])
}

/// Strands that follow on from each other, and the girth position (patch + v) of both ends.
struct Run {
    pieces: Vec<Vec<Sample>>,
    girth: [f64; 2],
}

impl Run {
    fn end(&self, last: bool) -> V3 {
        let piece = if last { &self.pieces[self.pieces.len() - 1] } else { &self.pieces[0] };
        if last { piece[piece.len() - 1].p } else { piece[0].p }
    }

    fn reverse(&mut self) {
        self.girth.reverse();
        self.pieces.reverse();
        for piece in &mut self.pieces {
            piece.reverse();
            piece.iter_mut().for_each(|s| *s = s.reversed());
        }
    }
}

/// Joins strands of neighbouring patches and turns each run the right way.
fn joined(strands: Vec<Strand>, athwart: bool) -> Vec<Run> {
    let place = |strand: &Strand, k: usize| strand.patch as f64 + strand.uv[k][1];
    let mut runs: Vec<Run> = strands
        .into_iter()
        .map(|strand| Run {
            girth: [place(&strand, 0), place(&strand, strand.uv.len() - 1)],
            pieces: vec![strand.samples],
        })
        .collect();
    let mut i = 0;
    while i < runs.len() {
        let closed = |run: &Run| same_place(run.end(false), run.end(true), JOINT);
        let meeting = (i + 1..runs.len()).filter(|&j| !closed(&runs[i]) && !closed(&runs[j])).find_map(|j| {
            [(true, false), (true, true), (false, false), (false, true)]
                .into_iter()
                .find(|&(a, b)| same_place(runs[i].end(a), runs[j].end(b), JOINT))
                .map(|(a, b)| (j, a, b))
        });
        match meeting {
            None => i += 1,
            Some((j, at_my_end, at_its_end)) => {
                let mut other = runs.remove(j);
                if !at_my_end {
                    runs[i].reverse();
                }
                if at_its_end {
                    other.reverse();
                }
                let joint = runs[i].end(true);
                other.pieces[0][0].p = joint;
                runs[i].girth[1] = other.girth[1];
                runs[i].pieces.append(&mut other.pieces);
            }
        }
    }
    for run in &mut runs {
        let (start, end) = (run.end(false), run.end(true));
        let backward = if athwart {
            let rise = run.girth[1] - run.girth[0];
            rise < -1e-12 || (rise.abs() <= 1e-12 && end[2] < start[2])
        } else {
            end[0] < start[0]
        };
        if backward {
            run.reverse();
        }
    }
    runs
}

#[cfg(test)]
mod tests;
