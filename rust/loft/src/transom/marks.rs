//! What is drawn on a transom, and the bevels along its edge.

use kurbo::{Affine, BezPath, Point, Vec2};
use scrieve_hull::{Curve, Plane};

use super::face::{Face, HALVINGS, SETTLE, drawn_line};
use super::{PLACES, TransomOptions};
use crate::bevels::{chine_name, chine_spots, edge_bevels};
use crate::edge::{Edge, Place};
use crate::marks::{MARK_INSET_M, path_of};
use crate::{EdgeBevel, Grid, Mark, MarkKind, written};

/// Marks of chines are this long at most, m.
const CHINE_MARK_M: f64 = 0.06;

/// Samples of lines drawn on the transom.
pub(super) const LINE_SAMPLES: usize = 24;

/// Where the waterline at `z` crosses the edge of the after face, from the lower end up.
fn waterline_places(edge: &Edge, face: &Face, z: f64) -> Vec<Place> {
    let up = Vec2::new(0.0, 1.0);
    let at_centre = face.level(0.0, z, 0.0).y;
    if face.radius.is_none() {
        return edge.crossings(up, at_centre);
    }
    // A level line bends on the rolled-out face: closed in on from the level it has on the centreline.
    let settled = |first: Place| {
        let mut place = first;
        for _ in 0..SETTLE {
            let x = edge.point(place).x;
            let level = face.level(face.half_breadth(x, 0.0), z, 0.0).y;
            let gap = |p: &Place| (edge.point(*p).x - x).abs();
            place = edge.crossings(up, level).into_iter().min_by(|a, b| gap(a).total_cmp(&gap(b)))?;
        }
        Some(place)
    };
    edge.crossings(up, at_centre).into_iter().filter_map(settled).collect()
}

/// Where `value` of the spots of the edge passes nothing, from the lower end up.
fn crossings_of(edge: &Edge, value: impl Fn(Point) -> f64) -> Vec<Place> {
    let at = |place: Place| value(edge.point(place));
    let places = edge.places(PLACES);
    let pairs =
        places.windows(2).filter(|w| w[0].index == w[1].index && (at(w[0]) > 0.0) != (at(w[1]) > 0.0));
    pairs
        .map(|w| {
            let (mut low, mut high) = (w[0], w[1]);
            for _ in 0..HALVINGS {
                let middle = Place { t: 0.5 * (low.t + high.t), ..low };
                if (at(middle) > 0.0) == (at(low) > 0.0) { low = middle } else { high = middle }
            }
            low
        })
        .collect()
}

pub(super) fn bevels(
    edge: &Edge,
    face: &Face,
    grid: &Grid,
    (chines, above_post): (usize, bool),
    options: &TransomOptions,
) -> Vec<EdgeBevel> {
    let thickness = options.thickness;
    let mut spots: Vec<(String, Place)> = vec![("lower end".into(), edge.start())];
    if above_post && edge.normal(edge.start())[0] == 0.0 {
        // Up the post's side there is none; it begins where the planking comes out of the rabbet.
        spots.push(("bearding".into(), Place { index: 1, t: 0.0 }));
    }
    spots.extend(chine_spots(edge, chines));
    for &z in &grid.waterlines {
        let label = format!("WL {}", written(z, grid.units));
        spots.extend(waterline_places(edge, face, z).into_iter().map(|p| (label.clone(), p)));
    }
    for diagonal in &grid.diagonals {
        // A diagonal falls from its height on the centreline as it goes out.
        let above = |p: Point| {
            let fallen = face.half_breadth(p.x, 0.0) * diagonal.angle.tan();
            face.height(p) - (diagonal.centreline_height - fallen)
        };
        let label = format!("diagonal {}", diagonal.name);
        spots.extend(crossings_of(edge, above).into_iter().map(|p| (label.clone(), p)));
    }
    if let Some(every) = options.bevel_every {
        let whole = edge.girth(edge.end());
        let runs = (1..).map(|i| f64::from(i) * every).take_while(|run| *run < whole - 0.5 * every);
        spots.extend(
            runs.map(|run| (format!("{} up the edge", written(run, grid.units)), edge.at_girth(run))),
        );
    }
    spots.push(("sheer".into(), edge.end()));
    // The forward face is the far one.
    edge_bevels(edge, spots, -1.0, thickness)
}

pub(super) fn marks(edge: &Edge, face: &Face, grid: &Grid, chines: usize, high: f64) -> Vec<Mark> {
    let low = edge.point(edge.start()).y;
    let line = |point: &dyn Fn(f64) -> Point| {
        Curve { plane: Plane::at_x(0.0), pieces: vec![drawn_line(point)] }.path()
    };
    let mut marks = vec![Mark {
        kind: MarkKind::Centreline,
        label: "CENTRELINE".into(),
        path: line(&|t| Point::new(0.0, low + t * (high - low))),
    }];
    for &(number, place) in edge.chines() {
        let (p, along) = (edge.point(place), edge.middle_tangent(place));
        let inward = Vec2::new(-along.y, along.x);
        let length = CHINE_MARK_M.min(0.5 * p.x);
        let tick = |side: f64| {
            let end = |run: f64| Point::new(side * (p.x + run * inward.x), p.y + run * inward.y);
            kurbo::Line::new(end(MARK_INSET_M), end(length))
        };
        let label = chine_name(number, chines).to_uppercase();
        marks.push(Mark { kind: MarkKind::Chine, label, path: path_of(&[tick(1.0), tick(-1.0)]) });
    }
    for &z in &grid.waterlines {
        let Some(place) = waterline_places(edge, face, z).pop() else { continue };
        let out = edge.point(place).x;
        let half = face.half_breadth(out, 0.0);
        let path = line(&|t| face.level(half * (2.0 * t - 1.0), z, 0.0));
        marks.push(Mark { kind: MarkKind::Waterline, label: format!("WL {}", written(z, grid.units)), path });
    }
    marks
}

/// The outline of both sides, up the right edge to the top, and down the left, closed along the bottom.
pub(super) fn whole(edge: &Curve, top: &Curve) -> BezPath {
    let mut path = right_side(edge).path();
    path.extend(top.path().elements().iter().skip(1).copied());
    both_sides(&path)
}

/// What of an edge lies on the right of the centreline.
pub(super) fn right_side(edge: &Curve) -> Curve {
    if edge.start().is_some_and(|s| s.p[1] < 0.0) {
        let from = edge.crossings([0.0, 1.0, 0.0], 0.0).pop().map_or(0.0, |m| m.along);
        return edge.clone().trimmed(from, edge.length());
    }
    edge.clone()
}

/// Up the right half and down the left, closed along the bottom.
pub(super) fn both_sides(right: &BezPath) -> BezPath {
    let mut path = right.clone();
    let left = (Affine::scale_non_uniform(-1.0, 1.0) * path.clone()).reverse_subpaths();
    path.extend(left.elements().iter().skip(1).copied());
    path.close_path();
    path
}
