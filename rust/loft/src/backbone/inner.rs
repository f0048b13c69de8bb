//! What stands on the backbone's inner edge: knees at the heel and before the transom, and a keelson.
//!
//! A knee's arms lie on what it stands on, which may bend; between their ends it is drawn in to a throat. A keelson runs
//! along the keel, over the scarfs, from the stem's side of the one to the knee, or the end, aft.

use kurbo::{BezPath, ParamCurve, PathSeg, Point, Vec2};

use super::BackbonePiece;
use super::path::{join, passes, smooth};
use super::pieces::{Edges, run_on};
use super::spine::{IN_LINE, Spine};
use scrieve_hull::Planking;

use crate::Grid;
use crate::pieces::{nearest, part};
use crate::rabbet::End;

/// Size across the arm of a knee for its length.
const KNEE_MOULDED: f64 = 0.22;
/// How far the throat of a knee is drawn in toward its corner, as a part of the arm.
const KNEE_THROAT: f64 = 0.55;
/// Spots along a flat bottom that its keelson is drawn through.
const BOTTOM_SPOTS: usize = 48;
/// A keelson shorter than so many times its depth is none.
const SHORTEST_KEELSON: f64 = 4.0;

/// The heel knee: its corner on the inner edge, and the ends of its arms forward and up.
#[derive(Clone, Copy, Debug)]
struct Heel {
    corner: Point,
    forward: Point,
    up: Point,
}

impl Heel {
    fn angle(&self) -> f64 {
        let (a, b) = ((self.forward - self.corner).normalize(), (self.up - self.corner).normalize());
        a.dot(b).clamp(-1.0, 1.0).acos()
    }
}

impl Spine<'_> {
    pub(super) fn stern_knee(&self, grid: &Grid, edges: &Edges) -> Option<BackbonePiece> {
        let angle = self.knee_angle()?;
        let knee = self.knee()?;
        let (corner, along, up) = (knee.corner, knee.along, knee.up);
        let arm = self.options.knee_arm;
        let size = KNEE_MOULDED * arm;
        // Its foot lies on the inner edge, which may bend.
        let mut foot = vec![corner];
        let run = |p: &Point| (*p - corner).dot(along);
        let on_it = |p: &&Point| {
            run(p) > arm * 0.02 && run(p) < arm * 0.98 && (**p - corner).cross(along).abs() < size
        };
        foot.extend(edges.inner_spots.iter().rev().filter(on_it).copied());
        foot.push(corner + along * arm);
        let mut outline = smooth(&foot);
        throat(&mut outline, corner, corner + along * arm, corner + up * arm, size);
        outline.line_to(corner + up * arm);
        outline.close_path();
        let sided = self.sided(if self.has(End::Sternpost) { Some(End::Sternpost) } else { None });
        let piece = self.piece(grid, "stern knee", outline, sided, (size, size));
        Some(BackbonePiece { arms_at: Some(angle), ..piece })
    }

    /// Where a knee stands in the corner of keel and sternpost; `None` without a post.
    fn heel(&self, edges: &Edges) -> Option<Heel> {
        let at = self.parts.aft;
        let near = self.spots().min_by(|a, b| (a.s - at).abs().total_cmp(&(b.s - at).abs()))?;
        let spots = &edges.inner_spots;
        // A heel that runs round into the post is a grown crook: it has no corner for a knee.
        if !self.has(End::Sternpost) || self.parts.runs_on(at) {
            return None;
        }
        // Where the edge turns most hard by the joint.
        let arm = self.options.knee_arm;
        let turn = |i: usize| {
            let (a, b) = (spots[i] - spots[i - 1], spots[i + 1] - spots[i]);
            a.cross(b).atan2(a.dot(b)).abs()
        };
        let close = (1..spots.len().saturating_sub(1)).filter(|&i| spots[i].distance(near.inner) < 0.5 * arm);
        let hardest = close.max_by(|&a, &b| turn(a).total_cmp(&turn(b)));
        let k = match hardest.filter(|&i| turn(i) > CORNER) {
            Some(k) => k,
            None => (0..spots.len())
                .min_by(|&a, &b| spots[a].distance(near.inner).total_cmp(&spots[b].distance(near.inner)))?,
        };
        let corner = spots[k];
        let far = |p: &&Point| p.distance(corner) >= arm;
        let reach = |p: Point| corner + (p - corner).normalize() * arm.min(p.distance(corner));
        let forward = spots[..k].iter().rev().find(far).or(spots[..k].first())?;
        let up = spots[k + 1..].iter().find(far).or(spots[k + 1..].last())?;
        let on_edge = |p: Point| nearest(&edges.inner, p).0.point(&edges.inner);
        Some(Heel { corner, forward: on_edge(reach(*forward)), up: on_edge(reach(*up)) })
    }

    /// The heel knee in the corner of keel and sternpost, on the inner edges of both. None where they run on in one line,
    /// or all but.
    pub(super) fn heel_knee(&self, grid: &Grid, edges: &Edges) -> Option<BackbonePiece> {
        let heel = self.heel(edges).filter(|heel| heel.angle() <= IN_LINE)?;
        let size = KNEE_MOULDED * self.options.knee_arm;
        let [from, to] = [heel.forward, heel.up].map(|p| nearest(&edges.inner, p).0);
        let foot: Vec<PathSeg> = part(&edges.inner, from, to).iter().rev().map(PathSeg::reverse).collect();
        let mut outline = BezPath::new();
        outline.move_to(foot.first()?.start());
        run_on(&mut outline, &foot);
        throat(&mut outline, heel.corner, heel.forward, heel.up, size);
        outline.close_path();
        let piece = self.piece(grid, "heel knee", outline, self.sided(Some(End::Sternpost)), (size, size));
        Some(BackbonePiece { arms_at: Some(heel.angle()), ..piece })
    }

    /// The keel's upper edge as a keelson lies on it, fore and aft: clear of the knee aft.
    pub(super) fn upper_edge(&self, edges: &Edges) -> Vec<Point> {
        // A knee's end is square to its arm, and so leans.
        let size = KNEE_MOULDED * self.options.knee_arm;
        let end = |corner: Point, arm: Vec2, other: Vec2| {
            let foot = corner + arm;
            foot.x.min((foot + square(arm, other) * size).x)
        };
        let toe = match (self.knee_angle().and(self.knee()), self.heel(edges)) {
            (_, Some(heel)) if heel.angle() <= IN_LINE => {
                Some(end(heel.corner, heel.forward - heel.corner, heel.up - heel.corner))
            }
            (Some(knee), _) => Some(end(knee.corner, knee.along * self.options.knee_arm, knee.up)),
            _ => None,
        };
        // Where the inner edge turns up at either end it is stem and post that a keelson would climb.
        let spots = &edges.inner_spots;
        let steep = |i: usize| {
            let along = spots[i + 1] - spots[i];
            (along.y / along.x).abs() > STEEP || along.x <= 0.0
        };
        let middle = spots.len() / 2;
        let first = (0..middle).rev().find(|&i| steep(i)).map_or(0, |i| i + 1);
        let last = (middle..spots.len().saturating_sub(1)).find(|&i| steep(i)).unwrap_or(spots.len() - 1);
        let keel = || self.of(None).map(|s| s.inner.x);
        let (low, high) = (keel().fold(f64::INFINITY, f64::min), keel().fold(f64::NEG_INFINITY, f64::max));
        let to = toe.unwrap_or(high);
        let clear = |p: &&Point| p.x >= low && p.x < to - SAME_PLACE_M;
        let mut run: Vec<Point> = spots[first..=last].iter().filter(clear).copied().collect();
        if let Some((_, at)) = passes(&spots[first..=last], Vec2::new(1.0, 0.0), to) {
            run.push(at);
        }
        run
    }

    /// The inner face of a flat bottom in profile between stem, or bow transom, and transom or post.
    pub(super) fn bottom_inside(&self) -> Vec<Point> {
        let profile = self.bottom_profile();
        let planking = Planking::of(self.hull, self.options.rabbet.planking).map_or(0.0, |p| p.inner);
        let thickness = self.options.transom_thickness;
        let inner_x = |end: End| self.of(Some(end)).map(|s| s.inner.x);
        let (Some(first), Some(last)) = (profile.start(), profile.end()) else { return Vec::new() };
        let from = if self.has(End::Stem) {
            inner_x(End::Stem).fold(f64::NEG_INFINITY, f64::max)
        } else {
            // Abaft the bow transom, whose face runs up the hull's forward end.
            let end = &self.hull.ends(scrieve_hull::Plane::at_y(0.0))[0];
            let rake = end.start().zip(end.end()).map_or(0.0, |(a, b)| (b.p[0] - a.p[0]) / (b.p[2] - a.p[2]));
            first.p[0] + thickness * 1.0_f64.hypot(rake)
        };
        let to = if self.has(End::Sternpost) {
            inner_x(End::Sternpost).fold(f64::INFINITY, f64::min)
        } else {
            let at = |t: scrieve_offsets::TransomPlane| {
                let rake = (t.head.0 - t.foot.0) / (t.head.1 - t.foot.1);
                t.x(0.0, last.p[2] + planking) - thickness * 1.0_f64.hypot(rake)
            };
            self.transom().map_or(last.p[0], at)
        };
        let spot = |i: usize| {
            let x = from + (to - from) * i as f64 / BOTTOM_SPOTS as f64;
            let s = profile.crossings([1.0, 0.0, 0.0], x).pop()?.sample;
            let up = Vec2::new(-s.tangent[2], s.tangent[0]).normalize();
            Some(Point::new(s.p[0], s.p[2]) + up * planking)
        };
        (0..=BOTTOM_SPOTS).filter_map(spot).collect()
    }

    /// A keelson on `under`, its ends square to it; `None` where none is asked for, or it would be a block.
    pub(super) fn keelson(&self, grid: &Grid, under: &[Point]) -> Option<BackbonePiece> {
        let depth = self.options.keelson_depth?;
        let long: f64 = under.windows(2).map(|w| w[0].distance(w[1])).sum();
        if under.len() < 3 || long < SHORTEST_KEELSON * depth {
            return None;
        }
        let square = |i: usize| {
            let (a, b) = (under[i.saturating_sub(1)], under[(i + 1).min(under.len() - 1)]);
            let along = (b - a).normalize();
            Vec2::new(-along.y, along.x)
        };
        let above = self.options.keelson_above;
        let at = |up: f64| -> Vec<Point> { (0..under.len()).map(|i| under[i] + square(i) * up).collect() };
        let mut top = at(above + depth);
        top.reverse();
        let mut outline = smooth(&at(above));
        join(&mut outline, &smooth(&top));
        outline.close_path();
        // A flat bottom has no keel whose siding it could take.
        let own = if self.is_flat { 0.0 } else { self.sided(None) };
        let sided = self.options.keelson_siding.unwrap_or(own);
        Some(self.piece(grid, "keelson", outline, sided, (depth, depth)))
    }
}

/// From the end of an arm on the keel round the throat to the other's end, square off either.
fn throat(outline: &mut BezPath, corner: Point, forward: Point, up: Point, size: f64) {
    let (along, rise) = (forward - corner, up - corner);
    let (a, b) = (forward + square(along, rise) * size, up + square(rise, along) * size);
    outline.line_to(a);
    outline.curve_to(a - along * KNEE_THROAT, b - rise * KNEE_THROAT, b);
}

/// Square to an arm, toward the other.
fn square(arm: Vec2, other: Vec2) -> Vec2 {
    let along = arm.normalize();
    (other - along * other.dot(along)).normalize()
}

/// A keelson climbs by no more for its run (20 degrees): steeper it would be a crook.
const STEEP: f64 = 0.36;
/// Turns of an edge from spot to spot by more are a corner, radians (20 degrees).
const CORNER: f64 = 0.35;
/// Places nearer along the boat are one, m.
const SAME_PLACE_M: f64 = 1e-3;
