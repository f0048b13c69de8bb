//! Holes that are bored, not sawn: for fastenings, and to lay one piece on another.

use kurbo::{BezPath, Circle, Line, PathSeg, Point, Shape as _};

use crate::pieces::nearest;

/// Wood left round a registration hole, m.
const WOOD_ROUND_M: f64 = 0.012;
/// Wood left round a pilot hole, m: less splits.
const WOOD_ROUND_PILOT_M: f64 = 0.004;
/// How far a hole's path is from the circle, m.
const ROUND_M: f64 = 1e-7;
/// Registration holes on a side: with one, a piece may turn about it.
pub(crate) const TWO: usize = 2;
/// Levels at which a place for a registration hole is sought, from either end of a piece.
const LEVELS: u32 = 40;

/// A hole about a point, clockwise as holes are.
fn hole(centre: Point, diameter: f64) -> BezPath {
    Circle::new(centre, 0.5 * diameter).to_path(ROUND_M).reverse_subpaths()
}

/// How far a point lies in the wood from the nearest edge; less than nothing outside it.
fn depth(outline: &BezPath, holes: &[BezPath], edges: &[PathSeg], p: Point) -> f64 {
    let in_wood = outline.winding(p) != 0 && holes.iter().all(|hole| hole.winding(p) == 0);
    nearest(edges, p).1 * if in_wood { 1.0 } else { -1.0 }
}

fn edges(outline: &BezPath, holes: &[BezPath]) -> Vec<PathSeg> {
    std::iter::once(outline).chain(holes).flat_map(|path| path.segments()).collect()
}

/// A hole at each of these places that has wood round it.
pub(crate) fn pilots(outline: &BezPath, holes: &[BezPath], at: &[Point], diameter: f64) -> Vec<BezPath> {
    let edges = edges(outline, holes);
    let room = 0.5 * diameter + WOOD_ROUND_PILOT_M;
    let sound = at.iter().filter(|p| depth(outline, holes, &edges, **p) >= room);
    sound.map(|p| hole(*p, diameter)).collect()
}

/// Two holes as far from one another as the wood allows, each in the middle of a level cut across it: on the right of
/// the centreline and, of what lies astride it, the same on the left. One where there is room for no more; none where
/// the wood is too narrow: [`TWO`] a side are all.
pub(crate) fn registration(outline: &BezPath, holes: &[BezPath], diameter: f64) -> Vec<BezPath> {
    let edges = edges(outline, holes);
    let bounds = outline.bounding_box();
    let room = 0.5 * diameter + WOOD_ROUND_M;
    let level = |i: u32| bounds.y0 + bounds.height() * (f64::from(i) + 0.5) / f64::from(LEVELS);
    let spot = |y: f64| {
        let across = Line::new((bounds.x0 - 1.0, y), (bounds.x1 + 1.0, y));
        let mut cuts: Vec<f64> = (edges.iter())
            .flat_map(|segment| segment.intersect_line(across))
            .map(|cut| across.p0.x + cut.line_t * (across.p1.x - across.p0.x))
            .collect();
        cuts.sort_by(f64::total_cmp);
        let middles = cuts.windows(2).map(|pair| Point::new(0.5 * (pair[0] + pair[1]), y));
        middles.rev().find(|p| p.x.abs() > room && depth(outline, holes, &edges, *p) >= room)
    };
    let low = (0..LEVELS).find_map(|i| spot(level(i)));
    let high = (0..LEVELS).rev().find_map(|i| spot(level(i)));
    let mut at: Vec<Point> = low.into_iter().collect();
    at.extend(high.filter(|high| low.is_some_and(|low| low.distance(*high) > 4.0 * room)));
    let astride = bounds.x0 < -room && bounds.x1 > room;
    let sides = at.iter().flat_map(|p| [Some(*p), astride.then(|| Point::new(-p.x, p.y))]).flatten();
    sides.map(|p| hole(p, diameter)).collect()
}
