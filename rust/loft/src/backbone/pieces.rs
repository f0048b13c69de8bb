//! The pieces of the backbone, cut from its edges: keel, stem and sternpost; skeg of a flat bottom.
//!
//! Both edges are bent once for the whole backbone, and pieces take their parts of them, so that two pieces have one
//! line where they meet.

use kurbo::{BezPath, ParamCurve, PathSeg, Point, Vec2};

use scrieve_hull::{Curve, Plane};

use super::path::{SAME_SPOT_M, join, passes, smooth};
use super::spine::{Spine, Stretch};
use super::{BackbonePiece, KeelAt};
use crate::marks::{clear_within, clip, path_of};
use crate::pieces::{At, nearest, part};
use crate::rabbet::End;
use crate::{Grid, Mark, MarkKind, written};

/// A skeg shallower than this is none, m.
const LEAST_SKEG_M: f64 = 0.01;
/// A stem or post shorter than this along its rabbet is none, m.
const LEAST_END_M: f64 = 0.01;
/// Lines of the rabbet nearer than this at their spots are drawn once, m.
const ONE_LINE_M: f64 = 5e-5;
/// A keel so many times as deep at one station as at another, and by so much deeper, m, is no one timber: the rest is deadwood.
/// *Common practice.*
const DEADWOOD: (f64, f64) = (2.0, 0.1);
/// Spots along a skeg.
const SKEG_SPOTS: usize = 24;

/// The edges of a stretch, bent.
pub(super) struct Edges {
    pub outer: Vec<PathSeg>,
    pub inner: Vec<PathSeg>,
    pub inner_spots: Vec<Point>,
}

impl Spine<'_> {
    pub fn pieces(&self, grid: &Grid, keel: &[KeelAt]) -> Vec<BackbonePiece> {
        if self.is_flat {
            let ends = [End::Stem, End::Sternpost];
            let stretches = ends.iter().flat_map(|end| {
                let own = self.stretches.iter().filter(|s| s.spots[0].end == Some(*end));
                own.map(|stretch| (*end, stretch))
            });
            let mut pieces: Vec<BackbonePiece> =
                stretches.filter_map(|(end, stretch)| self.heeled(grid, end, stretch)).collect();
            pieces.extend(self.skeg(grid));
            pieces.extend(self.keelson(grid, &self.bottom_inside()));
            return pieces;
        }
        let Some(edges) = self.stretches.first().and_then(|stretch| self.edges_of(stretch)) else {
            return Vec::new();
        };
        let (start, finish) = (At::start(), |path: &[PathSeg]| At::end(path));
        // Where the joints' lower ends lie on the outer edge, and their upper ends on the inner.
        let low = |at: f64| {
            let keel = self.of(None).min_by(|a, b| (a.s - at).abs().total_cmp(&(b.s - at).abs()));
            keel.map(|spot| nearest(&edges.outer, spot.outer).0)
        };
        let fore = self.has(End::Stem).then(|| low(self.parts.fore)).flatten();
        let aft = self.has(End::Sternpost).then(|| low(self.parts.aft)).flatten();
        let high = |at: At, run: f64| {
            let x = at.point(&edges.outer).x + run;
            let plumb = Vec2::new(1.0, 0.0);
            let mut spots = edges.inner_spots.clone();
            if run < 0.0 {
                spots.reverse();
            }
            passes(&spots, plumb, x).map(|(_, p)| nearest(&edges.inner, p).0)
        };
        let fore = fore.and_then(|at| Some((at, high(at, self.scarf)?)));
        let aft = aft.and_then(|at| Some((at, high(at, -self.scarf)?)));
        let nibs = |(low, high): (At, At)| self.nibs(low.point(&edges.outer), high.point(&edges.inner));

        let mut pieces = Vec::new();
        // Keel: along the underside, up the after joint or the transom, and back along the inner edge.
        let bottom =
            part(&edges.outer, fore.map_or(start, |j| j.0), aft.map_or(finish(&edges.outer), |j| j.0));
        let top = part(&edges.inner, fore.map_or(start, |j| j.1), aft.map_or(finish(&edges.inner), |j| j.1));
        if let (Some(first), Some(last)) = (bottom.first(), top.last()) {
            let mut outline = BezPath::new();
            outline.move_to(first.start());
            run_on(&mut outline, &bottom);
            match aft {
                Some(joint) => nibs(joint).into_iter().for_each(|p| outline.line_to(p)),
                None => {
                    let end = last.end();
                    if let Some(t) = self.transom() {
                        outline.line_to((t.x(0.0, end.y), end.y));
                    }
                }
            }
            run_on(&mut outline, &reversed(&top));
            if let Some(joint) = fore {
                nibs(joint).into_iter().rev().for_each(|p| outline.line_to(p));
            }
            outline.close_path();
            let depths = keel.iter().map(|k| k.upper - k.underside);
            let moulded =
                (depths.clone().fold(f64::INFINITY, f64::min), depths.fold(f64::NEG_INFINITY, f64::max));
            pieces.push(self.piece(grid, "keel", outline, self.sided(None), moulded));
        }
        for (end, joint) in [(End::Stem, fore), (End::Sternpost, aft)] {
            let Some((low, high)) = joint else { continue };
            // From the foot of the joint up the outside, across the head, down the inside, along the joint.
            let (out, back) = match end {
                End::Stem => (reversed(&part(&edges.outer, start, low)), part(&edges.inner, start, high)),
                End::Sternpost => (
                    part(&edges.outer, low, finish(&edges.outer)),
                    reversed(&part(&edges.inner, high, finish(&edges.inner))),
                ),
            };
            let Some(first) = out.first() else { continue };
            let mut outline = BezPath::new();
            outline.move_to(first.start());
            run_on(&mut outline, &out);
            run_on(&mut outline, &back);
            nibs((low, high)).into_iter().rev().for_each(|p| outline.line_to(p));
            outline.close_path();
            pieces.push(self.piece(grid, end.name(), outline, self.sided(Some(end)), self.moulded(end)));
        }
        pieces.extend(self.stern_knee(grid, &edges));
        pieces.extend(self.heel_knee(grid, &edges));
        pieces.extend(self.keelson(grid, &self.upper_edge(&edges)));
        pieces
    }

    /// The stem and the post that the line has and that no piece is of, and why.
    pub fn left_out(&self, pieces: &[BackbonePiece]) -> Vec<String> {
        let mut said = Vec::new();
        for end in [End::Stem, End::Sternpost] {
            let length = match end {
                End::Stem => self.parts.fore,
                End::Sternpost => self.parts.length - self.parts.aft,
            };
            if length < LEAST_END_M || pieces.iter().any(|piece| piece.name == end.name()) {
                continue;
            }
            let why = if !self.has(end) {
                "no rabbet was found along it"
            } else if self.is_flat || self.of(None).count() == 0 {
                "no keel was found for it to be scarfed to"
            } else {
                "its scarf does not come to the keel's inner edge: give a shorter one"
            };
            said.push(format!("{}: no pattern is drawn of it, for {why}", end.name()));
        }
        let drawn = |name: &str| pieces.iter().any(|piece| piece.name == name);
        if !self.is_flat && !drawn("keel") {
            said.push("keel: no pattern is drawn of it, for no rabbet was found along it".into());
        }
        said
    }

    /// What a keel's pattern has in it that is built up of deadwood, where it is so much deeper at one station than at another.
    pub fn deadwood(&self, pieces: &[BackbonePiece]) -> Option<String> {
        let (least, most) = pieces.iter().find(|piece| piece.name == "keel" && !self.is_flat)?.moulded;
        (most > DEADWOOD.0 * least && most - least > DEADWOOD.1).then(|| {
            format!(
                "deadwood: none is parted from the keel, whose pattern is {:.0} mm deep at the least of her stations and \
                 {:.0} mm at the most: what is built up of deadwood there is in it",
                1e3 * least,
                1e3 * most
            )
        })
    }

    pub(super) fn sided(&self, end: Option<End>) -> f64 {
        2.0 * self.of(end).map(|s| s.rabbet.half_siding).fold(0.0, f64::max)
    }

    fn moulded(&self, end: End) -> (f64, f64) {
        let sizes = self.of(Some(end)).map(|s| s.outer.distance(s.inner));
        (sizes.clone().fold(f64::INFINITY, f64::min), sizes.fold(f64::NEG_INFINITY, f64::max))
    }

    /// The edges bent; the outer carried on to the transom's after face, carried down, where the keel ends on one.
    fn edges_of(&self, stretch: &Stretch) -> Option<Edges> {
        let (mut outer, mut inner) = (stretch.outer.clone(), stretch.inner.clone());
        if let Some(t) = self.transom().filter(|_| !self.has(End::Sternpost)) {
            let last = *outer.last()?;
            let mut after = last;
            for _ in 0..20 {
                after = self.underside.foot(t.x(0.0, after.y));
            }
            let clear = 10.0 * SAME_SPOT_M;
            outer.retain(|p| p.x < after.x - clear);
            outer.push(after);
            let within = |p: &Point| p.x < t.x(0.0, p.y) - clear;
            inner.retain(within);
        }
        let segments = |spots: &[Point]| smooth(spots).segments().collect::<Vec<_>>();
        let edges = Edges { outer: segments(&outer), inner: segments(&inner), inner_spots: inner };
        (!edges.outer.is_empty() && !edges.inner.is_empty()).then_some(edges)
    }

    /// The nibs of the scarf from `low` on the outer edge to `high` on the inner: square to the keel's run, in
    /// from either end. None for a feather-edged scarf.
    fn nibs(&self, low: Point, high: Point) -> Vec<Point> {
        let square = |x: f64| Vec2::new(-self.underside.slope(x), 1.0).normalize() * self.nib;
        if self.nib > 0.0 { vec![low + square(low.x), high - square(high.x)] } else { Vec::new() }
    }

    /// The edge of a flat bottom in profile, on which the sides stand.
    pub(super) fn bottom_profile(&self) -> Curve {
        self.hull.reference_lines_drawn(Plane::at_y(0.0)).swap_remove(0)
    }

    /// A stem or post that stands on a flat bottom, its heel cut to the bottom's outer face.
    fn heeled(&self, grid: &Grid, end: End, stretch: &Stretch) -> Option<BackbonePiece> {
        let profile = self.bottom_profile();
        let heel = *if end == End::Stem { profile.start()? } else { profile.end()? };
        let (at, run) = (Point::new(heel.p[0], heel.p[2]), Vec2::new(heel.tangent[0], heel.tangent[2]));
        let square = Vec2::new(-run.y, run.x).normalize();
        // From the head down.
        let down = |spots: &[Point]| -> Vec<Point> {
            let mut spots = spots.to_vec();
            if end == End::Sternpost {
                spots.reverse();
            }
            let level = square.dot(at.to_vec2());
            if let Some((i, p)) = passes(&spots, square, level) {
                spots.truncate(i + 1);
                spots.push(p);
            } else if let [.., before, last] = spots[..] {
                let way = (last - before).normalize();
                let reach = (level - square.dot(last.to_vec2())) / square.dot(way);
                if reach > 0.0 && reach < 2.0 * self.options.knee_arm {
                    spots.push(last + way * reach);
                }
            }
            spots
        };
        let (mut outer, inner) = (down(&stretch.outer), down(&stretch.inner));
        outer.reverse();
        let mut outline = smooth(&outer);
        join(&mut outline, &smooth(&inner));
        outline.close_path();
        Some(self.piece(grid, end.name(), outline, self.sided(Some(end)), self.moulded(end)))
    }

    /// What lies below a flat bottom down to the record's readings of the keel's underside.
    fn skeg(&self, grid: &Grid) -> Option<BackbonePiece> {
        let read: Vec<f64> = self.hull.survey().keel.iter().map(|s| s.x).collect();
        let (from, to) = (read.iter().copied().reduce(f64::min)?, read.iter().copied().reduce(f64::max)?);
        let profile = self.bottom_profile();
        let mut top = Vec::new();
        let mut bottom = Vec::new();
        for i in 0..=SKEG_SPOTS {
            let x = from + (to - from) * i as f64 / SKEG_SPOTS as f64;
            let Some(mark) = profile.crossings([1.0, 0.0, 0.0], x).pop() else { continue };
            let (above, below) = (Point::new(x, mark.sample.p[2]), self.underside.foot(x));
            if above.y - below.y > LEAST_SKEG_M || !top.is_empty() {
                top.push(above);
                bottom.push(below);
            }
        }
        let depths: Vec<f64> = top.iter().zip(&bottom).map(|(a, b)| a.y - b.y).collect();
        let sound = depths.len() > 2 && depths.iter().all(|d| *d > 0.0);
        let mut outline = smooth(&bottom);
        top.reverse();
        join(&mut outline, &smooth(&top));
        outline.close_path();
        let moulded = (
            depths.iter().copied().fold(f64::INFINITY, f64::min),
            depths.iter().copied().fold(0.0, f64::max),
        );
        let sided = 2.0 * self.options.rabbet.half_siding.unwrap_or(self.hull.survey().half_siding);
        sound.then(|| self.piece(grid, "skeg", outline, sided, moulded))
    }

    pub(super) fn transom(&self) -> Option<scrieve_offsets::TransomPlane> {
        self.hull.survey().transom
    }

    pub(super) fn piece(
        &self,
        grid: &Grid,
        name: &'static str,
        outline: BezPath,
        sided: f64,
        moulded: (f64, f64),
    ) -> BackbonePiece {
        let mut marks = Vec::new();
        let mut add = |kind, label: String, path: BezPath| {
            if !path.elements().is_empty() {
                marks.push(Mark { kind, label, path });
            }
        };
        let across = |p: Point, d: Vec2| path_of(&clip(&outline, &[], p, d));
        for (station, x) in &grid.stations {
            add(MarkKind::Station, format!("ST {station}"), across(Point::new(*x, 0.0), Vec2::new(0.0, 1.0)));
        }
        for z in &grid.waterlines {
            let label = format!("WL {}", written(*z, grid.units));
            add(MarkKind::Waterline, label, across(Point::new(0.0, *z), Vec2::new(1.0, 0.0)));
        }
        add(MarkKind::BaseLine, "BASE".into(), across(Point::ZERO, Vec2::new(1.0, 0.0)));
        let kinds =
            [(MarkKind::Rabbet, "RABBET"), (MarkKind::Bearding, "BEARDING"), (MarkKind::Middle, "MIDDLE")];
        for (k, (kind, label)) in kinds.into_iter().enumerate() {
            let line = if k == 2 { self.middle_apart() } else { self.line(k) };
            // In sixteenths of the space between spots: a line stops within a centimetre of the edge of the wood.
            add(kind, label.into(), clear_within(&line, &outline));
        }
        BackbonePiece { name, outline, marks, sided, moulded, arms_at: None }
    }

    /// The middle line where it is another than the bearding line: planking square to the side of the piece has both in
    /// one place in profile, and a line is drawn once.
    fn middle_apart(&self) -> BezPath {
        let mut out = BezPath::new();
        let bearding = self.line(1);
        let one = |p: Point| {
            bearding.segments().any(|s| s.start().distance(p).min(s.end().distance(p)) < ONE_LINE_M)
        };
        let mut last: Option<Point> = None;
        for s in self.line(2).segments().filter(|s| !(one(s.start()) && one(s.end()))) {
            if last != Some(s.start()) {
                out.move_to(s.start());
            }
            out.push(s.as_path_el());
            last = Some(s.end());
        }
        out
    }

    /// Rabbet (0), bearding (1) or middle line (2).
    pub fn line(&self, k: usize) -> BezPath {
        let mut line = BezPath::new();
        self.stretches.iter().for_each(|stretch| line.extend(smooth(&stretch.lines[k])));
        line
    }
}

fn reversed(path: &[PathSeg]) -> Vec<PathSeg> {
    path.iter().rev().map(|segment| segment.reverse()).collect()
}

/// Goes straight to the start of a run of segments and on along it.
pub(super) fn run_on(path: &mut BezPath, segments: &[PathSeg]) {
    let Some(first) = segments.first() else { return };
    let at = path.segments().last().map(|s| s.end());
    let fresh = at.is_none_or(|p| p.distance(first.start()) > SAME_SPOT_M);
    if fresh && at.is_some() {
        path.line_to(first.start());
    }
    segments.iter().for_each(|segment| path.push(segment.as_path_el()));
}
