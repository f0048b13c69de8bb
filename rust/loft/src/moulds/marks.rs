//! What is drawn on a mould and told beside it: the grid, ribbands, chines, sheer and spall, and the bevels at them.

use kurbo::{BezPath, Point, Shape as _, Vec2};
use scrieve_notation::{Units, to_ascii};

use super::draft::Draft;
use super::error::LoftError;
use super::mould::Side;
use super::options::MouldOptions;
use crate::bevels::{chine_name, chine_spots, edge_bevels};
use crate::edge::Place;
use crate::marks::{MARK_INSET_M, Mark, MarkKind, clip, path_of, within};
use crate::outline::{mirrored, taken_up};
use crate::pieces;
use crate::ribbands;
use crate::{DiagonalAt, EdgeBevel, Grid, written};

/// A line in place of the base line stands at least this far above the highest foot of any mould, m: in the
/// wood of a limb, and not at its very edge.
const BASE_ABOVE_FEET_M: f64 = 0.03;

/// And this far from every waterline, m: room for the letters of both.
const BASE_CLEAR_M: f64 = 0.015;

/// The sheer mark is at most this long, m.
const SHEER_MARK_M: f64 = 0.06;

/// The next round figure.
pub(super) fn round_above(height: f64, units: Units) -> f64 {
    (height / step(units)).ceil() * step(units)
}

/// Round figures are whole inches, or 10 mm.
fn step(units: Units) -> f64 {
    match units {
        Units::FeetInchesEighths | Units::Inches | Units::Feet => 0.0254,
        Units::Millimetres | Units::Centimetres | Units::Metres => 0.01,
    }
}

/// The lines a set of moulds is marked with, and what is written by each.
pub(super) struct Lines {
    pub(super) units: Units,
    pub(super) base: (f64, String),
    /// A line parallel to the base line that every mould has.
    pub(super) parallel: (f64, String),
    pub(super) waterlines: Vec<(f64, String)>,
    pub(super) buttocks: Vec<(f64, String)>,
    pub(super) diagonals: Vec<DiagonalAt>,
}

impl Lines {
    pub(super) fn new(grid: &Grid, options: &MouldOptions, drafts: &[Draft]) -> Lines {
        let units = grid.units;
        let labelled = |what: &str, given: &Option<Vec<f64>>, own: &[f64]| {
            let at = given.as_deref().unwrap_or(own);
            at.iter().map(|&v| (v, format!("{what} {}", to_ascii(&written(v, units))))).collect()
        };
        let diagonals = options.diagonals.as_ref().unwrap_or(&grid.diagonals);
        let parallel = |height: f64| (height, format!("BASE + {}", to_ascii(&written(height, units))));
        let base = options.base_parallel.map_or((0.0, "BASE".to_owned()), parallel);
        // Above the foot of every mould, and no double of a waterline.
        let feet = drafts.iter().map(|d| d.edge.path().bounding_box().y0).fold(f64::NEG_INFINITY, f64::max);
        let marked = options.waterlines.as_deref().unwrap_or(&grid.waterlines);
        let heights =
            (0..).map(|k| round_above(feet + BASE_ABOVE_FEET_M, units) + f64::from(k) * step(units));
        let clear = |z: &f64| marked.iter().all(|w| (w - z).abs() > BASE_CLEAR_M);
        let height = heights.take(marked.len() * 4 + 1).find(clear).unwrap_or(feet + BASE_ABOVE_FEET_M);
        Lines {
            units,
            base,
            parallel: parallel(height),
            waterlines: labelled("WL", &options.waterlines, &grid.waterlines),
            buttocks: labelled("B", &options.buttocks, &grid.buttocks),
            diagonals: diagonals
                .iter()
                .map(|d| DiagonalAt { name: to_ascii(&d.name), ..d.clone() })
                .collect(),
        }
    }

    /// The base line where it crosses a mould whose foot is at this height, or the line parallel to it.
    fn base_across(&self, foot: f64) -> &(f64, String) {
        if self.base.0 > foot { &self.base } else { &self.parallel }
    }
}

impl Draft {
    #[expect(clippy::too_many_arguments, reason = "one call, from where all of it is known")]
    pub(super) fn marks(
        &self,
        outline: &BezPath,
        holes: &[BezPath],
        side: Side,
        lines: &Lines,
        options: &MouldOptions,
        spall: f64,
        station_face: Option<&BezPath>,
    ) -> Vec<Mark> {
        let (level, plumb) = (Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0));
        let whole = side == Side::Both;
        let mut marks = Vec::new();
        let cuts: Vec<kurbo::PathSeg> =
            std::iter::once(outline).chain(holes).flat_map(|path| path.segments()).collect();
        let clear = |p: Point| pieces::nearest(&cuts, p).1 > MARK_INSET_M;
        let in_wood = |p: Point| outline.winding(p) != 0 && holes.iter().all(|h| h.winding(p) == 0);
        let mut add = |kind, label: &str, lines: &[(Point, Vec2)], keep: &dyn Fn(Point) -> bool| {
            let clipped: Vec<_> = lines
                .iter()
                .flat_map(|&(p, d)| clip(outline, holes, p, d))
                .filter(|l| keep(l.midpoint()))
                .collect();
            if !clipped.is_empty() {
                marks.push(Mark { kind, label: label.to_owned(), path: path_of(&clipped) });
            }
        };
        let all = |_: Point| true;
        if whole {
            add(MarkKind::Centreline, "CL", &[(Point::ZERO, plumb)], &all);
        }
        let (height, label) = lines.base_across(self.edge.path().bounding_box().y0);
        add(MarkKind::BaseLine, label, &[(Point::new(0.0, *height), level)], &all);
        for (z, label) in &lines.waterlines {
            add(MarkKind::Waterline, label, &[(Point::new(0.0, *z), level)], &all);
        }
        for (y, label) in &lines.buttocks {
            let both = [(Point::new(*y, 0.0), plumb), (Point::new(-*y, 0.0), plumb)];
            add(MarkKind::Buttock, label, &both[..if whole { 2 } else { 1 }], &all);
        }
        for d in &lines.diagonals {
            let p = Point::new(0.0, d.centreline_height);
            let (right, left) = (d.direction(), Vec2::new(-d.direction().x, d.direction().y));
            // Each half of a diagonal stands on its own side of the centreline.
            add(MarkKind::Diagonal, &d.name, &[(p, right)], &|q| q.x > 0.0);
            if whole {
                add(MarkKind::Diagonal, &d.name, &[(p, left)], &|q| q.x < 0.0);
            }
        }
        add(
            MarkKind::Spall,
            &format!("SPALL {}", to_ascii(&written(spall, lines.units))),
            &[(Point::new(0.0, spall), level)],
            &all,
        );
        if options.ribband_notch.is_none() {
            for (place, label) in
                ribbands::crossings(&self.edge, self.x, &options.ribbands).unwrap_or_default()
            {
                let p = self.edge.point(place);
                let n = self.edge.outward(place);
                add(MarkKind::Ribband, &label, &[(p, n)], &|q| q.distance(p) < options.limb.unwrap_or(p.x));
            }
        }
        for &(number, place) in self.edge.chines() {
            let (p, along) = (self.edge.point(place), self.edge.middle_tangent(place));
            let square = Vec2::new(-along.y, along.x);
            let sides = [(p, square), (Point::new(-p.x, p.y), Vec2::new(-square.x, square.y))];
            let ticks = sides[..if whole { 2 } else { 1 }].iter();
            let ticks: Vec<_> = ticks.filter_map(|&(p, d)| tick(outline, holes, p, d)).collect();
            if !ticks.is_empty() {
                let label = chine_name(number, self.chines).to_uppercase();
                marks.push(Mark { kind: MarkKind::Chine, label, path: path_of(&ticks) });
            }
        }
        let sheer = self.sheer();
        for l in clip(outline, holes, sheer, level) {
            // The stretch that ends at the edge, no longer than is needed to find it.
            let outer = if l.p0.x.abs() > l.p1.x.abs() { l.p0 } else { l.p1 };
            let inner = if l.p0.x.abs() > l.p1.x.abs() { l.p1 } else { l.p0 };
            let path = |from: Point, to: Point| {
                let length = from.distance(to).min(SHEER_MARK_M);
                path_of(&[kurbo::Line::new(from, from + (to - from).normalize() * length)])
            };
            let mut push = |path| marks.push(Mark { kind: MarkKind::Sheer, label: "SHEER".into(), path });
            if whole && l.p0.x * l.p1.x < 0.0 {
                push(path(l.p0, l.p1.midpoint(l.p0)));
                push(path(l.p1, l.p1.midpoint(l.p0)));
            } else {
                push(path(outer, inner));
            }
        }
        if let Some(line) = station_face {
            // Where the bevel is shut the station face stands outside the far one, and has no wood to be on.
            let sides = if whole { vec![line.clone(), mirrored(line)] } else { vec![line.clone()] };
            for side in sides {
                let path = within(&side, |p| in_wood(p) && clear(p));
                if !path.elements().is_empty() {
                    marks.push(Mark { kind: MarkKind::StationFace, label: "STATION FACE".into(), path });
                }
            }
        }
        marks
    }

    pub(super) fn bevels(&self, lines: &Lines, options: &MouldOptions) -> Result<Vec<EdgeBevel>, LoftError> {
        let over = options.bevel_over.unwrap_or(options.thickness);
        let edge = &self.edge;
        // The bearing edge begins above the keel's notch, and on this side of the centreline.
        let from = taken_up(edge, options.keel_notch)?;
        let mut spots: Vec<(String, Place)> = vec![("lower end".into(), from)];
        spots.extend(chine_spots(edge, self.chines));
        for (z, label) in &lines.waterlines {
            spots.extend(edge.crossings(Vec2::new(0.0, 1.0), *z).into_iter().map(|p| (label.clone(), p)));
        }
        for d in &lines.diagonals {
            spots.extend(d.places(edge).into_iter().map(|p| (d.name.clone(), p)));
        }
        for (place, label) in ribbands::crossings(edge, self.x, &options.ribbands).unwrap_or_default() {
            spots.push((label, place));
        }
        spots.push(("sheer".into(), edge.end()));
        spots.retain(|(_, place)| *place >= from);
        Ok(edge_bevels(edge, spots, self.lies.sign(), over))
    }
}

/// A short line in from `p` on the edge: to find a spot by.
fn tick(outline: &BezPath, holes: &[BezPath], p: Point, direction: Vec2) -> Option<kurbo::Line> {
    let near = |l: &kurbo::Line| l.p0.distance(p).min(l.p1.distance(p));
    let stretch =
        clip(outline, holes, p, direction).into_iter().min_by(|a, b| near(a).total_cmp(&near(b)))?;
    let swapped = stretch.p1.distance(p) < stretch.p0.distance(p);
    let (from, to) = if swapped { (stretch.p1, stretch.p0) } else { (stretch.p0, stretch.p1) };
    let length = from.distance(to).min(SHEER_MARK_M);
    Some(kurbo::Line::new(from, from + (to - from).normalize() * length))
}
