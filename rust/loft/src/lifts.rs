//! The half model, at a scale, in lifts: boards glued one on the other, whose steps are carved away to the glue lines.
//!
//! A lift's outline is that of everything the hull has between its two joints, seen from above, so that no lift is too
//! small wherever she flares, tumbles home or overhangs (common practice takes the larger of the two waterlines, which is
//! not enough where she is widest between them). It is the upper envelope of the edges of her mesh there: at every
//! place along her a body is all that lies between the centreline and its half-breadth.

use kurbo::{Affine, BezPath, Point, Vec2};
use scrieve_hull::{Boat, HullError, Plane};

use crate::Grid;

/// How lifts are cut. Lengths are metres.
#[derive(Clone, Debug, PartialEq)]
pub struct LiftOptions {
    /// The model is 1 to this.
    pub scale: f64,
    /// Thickness of a lift, on the model.
    pub thickness: f64,
    /// Height above the base line, of the boat, at which one joint lies; left out, the load waterline, or the base line.
    pub joint: Option<f64>,
}

/// The lifts of a half model.
#[derive(Clone, Debug, PartialEq)]
pub struct Lifts {
    /// The boat's name.
    pub name: String,
    /// The model is 1 to this.
    pub scale: f64,
    /// Thickness of a lift, m on the model.
    pub thickness: f64,
    /// From the keel up.
    pub lifts: Vec<Lift>,
    /// Stations, and their places from the fore end, m on the model.
    pub stations: Vec<(String, f64)>,
    /// Rabbet, chines, sheer and ends in profile, m on the model.
    pub profile: Vec<BezPath>,
    /// The lowest height of the model, the boat's own, m.
    pub low: f64,
    /// Tips that rise past a joint and are too short to be got out of a board: the height of that joint, the boat's own, and
    /// where they are from her fore end, m on the model.
    pub left_out: Vec<(f64, f64)>,
}

/// One lift.
#[derive(Clone, Debug, PartialEq)]
pub struct Lift {
    /// Counted from the keel, from 1.
    pub number: usize,
    /// Heights of its joints, or of the hull's own foot and top where she ends within it, of the boat, m.
    pub from: f64,
    /// The upper one.
    pub to: f64,
    /// Its pieces: several where the sheer lies below it amidships.
    pub pieces: Vec<LiftPiece>,
}

/// A piece of a lift, in metres of the model: x aft from the boat's forward end, y out from the centreline.
#[derive(Clone, Debug, PartialEq)]
pub struct LiftPiece {
    /// Half of it, from the centreline at its fore end round to the centreline at its after end.
    pub edge: BezPath,
    /// The finished hull at the upper face, where it lies inside the edge.
    pub upper: Vec<BezPath>,
}

impl LiftPiece {
    /// The half model's piece, closed along the centreline.
    pub fn half(&self) -> BezPath {
        let mut outline = self.edge.clone();
        outline.close_path();
        outline
    }

    /// The whole model's piece: the half and its mirror image.
    pub fn whole(&self) -> BezPath {
        let mirrored = Affine::scale_non_uniform(1.0, -1.0) * self.edge.reverse_subpaths();
        let mut outline = self.edge.clone();
        outline.extend(mirrored.elements().iter().skip(1).copied());
        outline.close_path();
        outline
    }
}

/// Why there are no lifts.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LiftError {
    /// A scale that is none.
    #[error("a model of 1:{0} makes no sense: expected 1 to 500")]
    Scale(f64),
    /// A thickness that is none.
    #[error("lifts {0} mm thick make no sense: expected 0.5 to 300 mm, on the model")]
    Thickness(f64),
    /// A place for the joint that is none.
    #[error("a joint at {0} m makes no sense")]
    Joint(f64),
    /// More lifts than anybody glues.
    #[error("she would be of {0} lifts, and 200 are the most: take thicker ones or a smaller model")]
    TooMany(f64),
    /// The hull has no mesh.
    #[error(transparent)]
    Hull(#[from] HullError),
}

const SCALES: std::ops::RangeInclusive<f64> = 1.0..=500.0;
const THICKNESSES_M: std::ops::RangeInclusive<f64> = 5e-4..=0.3;
const MOST: f64 = 200.0;

/// The mesh is this near the hull, m on the model: far below what a saw leaves. Coarser for no model than the mesh itself
/// allows.
const MESH_M: f64 = 5e-5;

/// Spots of an edge are left out that lie within this of the line through the others, mm on the model: what is left of the
/// mesh's own grain, which no curve should follow.
const THINNED_MM: f64 = 0.003;

/// Edges of the mesh turn by less than this where she is round, radians; more is a corner.
const CORNER: f64 = 0.2;

/// A lift less high than this is none: what is left of a foot or a top that all but meets a joint, part of the thickness.
const SLIVER: f64 = 0.02;

/// Spots nearer along than this are one place, m on the model.
const ONE_PLACE_M: f64 = 1e-7;

/// A piece shorter than this is none, m on the model.
const SHORTEST_M: f64 = 2e-3;

/// The finished edge is marked where it lies farther than this inside the cut one, m on the model.
const INSIDE_M: f64 = 3e-4;

/// The lifts of a hull.
///
/// # Errors
/// Sizes that are none, or too many lifts.
pub fn lifts(hull: &Boat, options: &LiftOptions) -> Result<Lifts, LiftError> {
    let (scale, thickness) = (options.scale, options.thickness);
    if !SCALES.contains(&scale) {
        return Err(LiftError::Scale(scale));
    }
    if !THICKNESSES_M.contains(&thickness) {
        return Err(LiftError::Thickness(1e3 * thickness));
    }
    let told = options.joint.or(hull.source().facts.load_waterline.map(|z| z.metres()));
    let joint = told.unwrap_or(0.0);
    if !joint.is_finite() || joint.abs() > 1e3 {
        return Err(LiftError::Joint(joint));
    }
    let mesh = hull.mesh((MESH_M * scale).clamp(1e-4, 2e-3))?;
    let heights = mesh.vertices.iter().map(|p| p[2]);
    let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), z| (a.min(z), b.max(z)));
    let step = thickness * scale;
    let count = (high - low) / step;
    if count > MOST {
        return Err(LiftError::TooMany(count.ceil()));
    }
    let (first, last) = (((low - joint) / step).floor() as i64, ((high - joint) / step).ceil() as i64);
    let k = 1.0 / scale;
    let fore = hull.extent([1.0, 0.0, 0.0]).0;
    // One side is the other's image: its edges say all.
    let triangles: Vec<[[f64; 3]; 3]> = mesh
        .faces
        .iter()
        .map(|face| face.map(|i| mesh.vertices[i]))
        .filter(|t| t.iter().any(|p| p[1] > 0.0))
        .collect();
    let (mut made, mut left_out) = (Vec::new(), Vec::new());
    for i in first..last {
        let (from, to) = (low.max(joint + i as f64 * step), high.min(joint + (i + 1) as f64 * step));
        if to - from < SLIVER * step {
            continue;
        }
        let edges = edges_between(&triangles, from, to);
        let place = |(x, y): (f64, f64)| (k * (x - fore), k * y);
        let edges = edges.into_iter().map(|[a, b]| [place(a), place(b)]).collect();
        let upper: Vec<BezPath> = if to < high {
            let cut = hull.cut(&Plane::at_z(to)).unwrap_or_default();
            let on_model = Affine::scale(k) * Affine::translate((-fore, 0.0));
            cut.iter().map(|curve| on_model * curve.path()).collect()
        } else {
            Vec::new()
        };
        let (long, short): (Vec<_>, Vec<_>) =
            envelope(edges).into_iter().partition(|spots| spots[spots.len() - 1].0 - spots[0].0 > SHORTEST_M);
        left_out.extend(short.iter().map(|spots| (from, spots[0].0)));
        let pieces: Vec<LiftPiece> = long.iter().map(|spots| piece(spots, &upper)).collect();
        if !pieces.is_empty() {
            made.push(Lift { number: made.len() + 1, from, to, pieces });
        }
    }
    let stations = Grid::of(hull).stations.into_iter().map(|(name, x)| (name, k * (x - fore))).collect();
    let profile = Plane::at_y(0.0);
    let drawn = hull.reference_lines_drawn(profile).into_iter().chain(hull.ends(profile));
    let on_model = Affine::scale(k) * Affine::translate((-fore, -low));
    let profile = drawn.map(|curve| on_model * curve.path()).collect();
    let name = hull.source().facts.name.clone();
    Ok(Lifts { name, scale, thickness, lifts: made, stations, profile, low, left_out })
}

/// The edges, seen from above, of what of the triangles lies between two heights; what is on the other side counts as on
/// the centreline.
fn edges_between(triangles: &[[[f64; 3]; 3]], from: f64, to: f64) -> Vec<[(f64, f64); 2]> {
    let mut edges = Vec::new();
    for triangle in triangles {
        let heights = triangle.map(|p| p[2]);
        if heights.iter().all(|z| *z < from) || heights.iter().all(|z| *z > to) {
            continue;
        }
        let part = above(&above(triangle, from, 1.0), to, -1.0);
        for i in 0..part.len() {
            let (a, b) = (part[i], part[(i + 1) % part.len()]);
            edges.push([(a[0], a[1].max(0.0)), (b[0], b[1].max(0.0))]);
        }
    }
    edges
}

/// What of a convex polygon lies above a height, or below it where `way` is -1.
fn above(polygon: &[[f64; 3]], height: f64, way: f64) -> Vec<[f64; 3]> {
    let mut kept = Vec::new();
    for i in 0..polygon.len() {
        let (a, b) = (polygon[i], polygon[(i + 1) % polygon.len()]);
        let (da, db) = (way * (a[2] - height), way * (b[2] - height));
        if da >= 0.0 {
            kept.push(a);
        }
        if (da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0) {
            let t = da / (da - db);
            kept.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), height]);
        }
    }
    kept
}

/// The upper envelope of edges, as spots from the fore end aft, a list a stretch that edges cover without a gap. Where it
/// steps there are two spots at one place.
fn envelope(mut edges: Vec<[(f64, f64); 2]>) -> Vec<Vec<(f64, f64)>> {
    edges.iter_mut().for_each(|edge| edge.sort_by(|a, b| a.0.total_cmp(&b.0)));
    edges.retain(|[a, b]| b.0 - a.0 > ONE_PLACE_M);
    edges.sort_by(|p, q| p[0].0.total_cmp(&q[0].0));
    let mut places: Vec<f64> = edges.iter().flatten().map(|p| p.0).collect();
    places.sort_by(f64::total_cmp);
    places.dedup_by(|b, a| *b - *a < ONE_PLACE_M);
    let mut stretches: Vec<Vec<(f64, f64)>> = Vec::new();
    let (mut open, mut next) = (Vec::<[(f64, f64); 2]>::new(), 0);
    let mut is_running = false;
    for pair in places.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let middle = 0.5 * (a + b);
        while next < edges.len() && edges[next][0].0 < middle {
            open.push(edges[next]);
            next += 1;
        }
        open.retain(|[_, end]| end.0 > middle);
        let at = |x: f64| {
            let each = open.iter().map(|[p, q]| {
                let t = ((x - p.0) / (q.0 - p.0)).clamp(0.0, 1.0);
                p.1 + t * (q.1 - p.1)
            });
            each.reduce(f64::max)
        };
        let (Some(left), Some(right)) = (at(a), at(b)) else {
            is_running = false;
            continue;
        };
        if !is_running {
            stretches.push(Vec::new());
        }
        let Some(spots) = stretches.last_mut() else { continue };
        if spots.last().is_none_or(|p| (p.1 - left).abs() > ONE_PLACE_M) {
            spots.push((a, left));
        }
        spots.push((b, right));
        is_running = true;
    }
    stretches
}

/// A piece whose edge runs through these spots.
fn piece(spots: &[(f64, f64)], upper: &[BezPath]) -> LiftPiece {
    let (first, last) = (spots[0], spots[spots.len() - 1]);
    let rim = spots.iter().map(|(x, y)| Point::new(1e3 * x, 1e3 * y));
    let rim = [Point::new(1e3 * first.0, 0.0)].into_iter().chain(rim).chain([Point::new(1e3 * last.0, 0.0)]);
    let smooth = through(&thinned(&rim.collect::<Vec<_>>(), THINNED_MM));
    let height = |x: f64| {
        let i = spots.partition_point(|p| p.0 < x).clamp(1, spots.len() - 1);
        let (p, q) = (spots[i - 1], spots[i]);
        let t = if q.0 > p.0 { ((x - p.0) / (q.0 - p.0)).clamp(0.0, 1.0) } else { 0.5 };
        p.1 + t * (q.1 - p.1)
    };
    let is_inside = |p: Point| p.x > first.0 && p.x < last.0 && p.y < height(p.x) - INSIDE_M;
    let upper = upper.iter().flat_map(|path| parts_inside(path, &is_inside)).collect();
    LiftPiece { edge: Affine::scale(1e-3) * smooth, upper }
}

/// Those of the spots that a line through them needs to pass all of them within a distance (Ramer 1972, Douglas and Peucker
/// 1973).
fn thinned(spots: &[Point], within: f64) -> Vec<Point> {
    use kurbo::ParamCurveNearest as _;
    let mut kept = vec![false; spots.len()];
    let mut spans = vec![(0, spots.len() - 1)];
    while let Some((a, b)) = spans.pop() {
        (kept[a], kept[b]) = (true, true);
        let chord = kurbo::Line::new(spots[a], spots[b]);
        let off = |i: usize| chord.nearest(spots[i], 1e-9).distance_sq;
        let farthest = (a + 1..b).map(|i| (i, off(i))).max_by(|p, q| p.1.total_cmp(&q.1));
        if let Some((i, _)) = farthest.filter(|(_, off)| *off > within * within) {
            spans.extend([(a, i), (i, b)]);
        }
    }
    spots.iter().zip(kept).filter_map(|(p, is_kept)| is_kept.then_some(*p)).collect()
}

/// A curve through spots that turns evenly from each to the next, but at corners: at every spot it runs as the circle through
/// it and its neighbours does.
fn through(spots: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    let Some(&first) = spots.first() else { return path };
    path.move_to(first);
    let ways: Vec<Vec2> = spots.windows(2).map(|w| (w[1] - w[0]).normalize()).collect();
    let lengths: Vec<f64> = spots.windows(2).map(|w| w[0].distance(w[1])).collect();
    // How it runs at each spot that is no corner.
    let at: Vec<Option<Vec2>> = (0..spots.len())
        .map(|i| {
            let (before, after) = (ways.get(i.wrapping_sub(1))?, ways.get(i)?);
            let turn = before.cross(*after).atan2(before.dot(*after)).abs();
            let circle = *before * lengths[i] + *after * lengths[i - 1];
            (turn < CORNER).then(|| circle.normalize())
        })
        .collect();
    for (i, way) in ways.iter().enumerate() {
        // From a corner on, as the arc to the next spot would leave it.
        let mirrored = |other: Vec2| *way * (2.0 * other.dot(*way)) - other;
        let (from, to) = match (at[i], at[i + 1]) {
            (None, None) => {
                path.line_to(spots[i + 1]);
                continue;
            }
            (Some(from), to) => (from, to.unwrap_or_else(|| mirrored(from))),
            (None, Some(to)) => (mirrored(to), to),
        };
        let reach = lengths[i] / 3.0;
        // Spots that were left out lie nearer the chord than that: a curve farther off goes where the hull does not.
        let off = 0.75 * reach * from.cross(*way).abs().max(to.cross(*way).abs());
        if off > 2.0 * THINNED_MM {
            path.line_to(spots[i + 1]);
            continue;
        }
        path.curve_to(spots[i] + from * reach, spots[i + 1] - to * reach, spots[i + 1]);
    }
    path
}

/// The runs of a path whose spots are all inside.
fn parts_inside(path: &BezPath, is_inside: &impl Fn(Point) -> bool) -> Vec<BezPath> {
    use kurbo::ParamCurve as _;
    const STEPS: usize = 8;
    let mut runs: Vec<BezPath> = Vec::new();
    let mut is_open = false;
    for segment in path.segments() {
        let spots = (0..=STEPS).map(|i| segment.eval(i as f64 / STEPS as f64));
        if !spots.into_iter().all(is_inside) {
            is_open = false;
            continue;
        }
        if !is_open {
            let mut run = BezPath::new();
            run.move_to(segment.start());
            runs.push(run);
        }
        if let Some(run) = runs.last_mut() {
            run.push(segment.as_path_el());
        }
        is_open = true;
    }
    runs.retain(|run| run.segments().count() > 0);
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_envelope_of_edges_is_what_stands_highest_and_steps_where_they_end() {
        let edges = vec![
            [(0.0, 0.0), (1.0, 1.0)],
            [(0.2, 0.9), (0.6, 0.9)],
            [(1.0, 0.4), (2.0, 0.4)],
            [(3.0, 0.1), (4.0, 0.1)],
        ];
        let found = envelope(edges);
        assert_eq!(found.len(), 2, "{found:?}");
        assert_eq!(
            found[0],
            [(0.0, 0.0), (0.2, 0.2), (0.2, 0.9), (0.6, 0.9), (0.6, 0.6), (1.0, 1.0), (1.0, 0.4), (2.0, 0.4)]
        );
        assert_eq!(found[1], [(3.0, 0.1), (4.0, 0.1)]);
    }

    #[test]
    fn a_triangle_is_cut_between_two_heights() {
        let triangle = [[0.0, 0.0, 0.0], [2.0, 0.0, 0.0], [0.0, 0.0, 2.0]];
        let part = above(&above(&triangle, 0.5, 1.0), 1.0, -1.0);
        assert_eq!(part.len(), 4);
        assert!(part.iter().all(|p| (0.5..=1.0).contains(&p[2])), "{part:?}");
    }
}
