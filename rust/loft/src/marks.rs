//! Lines drawn on a piece so that it can be set up: clipped to the wood.

use kurbo::{BezPath, Line, ParamCurve, PathSeg, Point, Shape, Vec2};

use crate::pieces::nearest;

/// Marks stop this far short of the edge, m: near enough to be squared over it, and a router's engraving
/// pass does not break out of the wood.
pub const MARK_INSET_M: f64 = 0.0002;
/// Marks shorter than this are left out, m: too short to set a square to.
const LEAST_MARK_M: f64 = 0.002;

/// What a mark stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MarkKind {
    /// The centreline.
    Centreline,
    /// The base line, or a line parallel to it.
    BaseLine,
    /// A waterline.
    Waterline,
    /// A buttock.
    Buttock,
    /// A diagonal.
    Diagonal,
    /// A chine.
    Chine,
    /// The sheer.
    Sheer,
    /// The cross spall.
    Spall,
    /// A ribband's centre.
    Ribband,
    /// The edge of the face on the station line, on a piece cut to its other face.
    StationFace,
    /// A station's line across a piece in profile.
    Station,
    /// The rabbet line.
    Rabbet,
    /// The bearding line.
    Bearding,
    /// The middle line of the rabbet.
    Middle,
    /// The edge of the face that is not cut to.
    OtherFace,
    /// Where another piece is laid on, or two meet under it.
    Joint,
    /// The middle of a screw or bolt.
    Fastening,
    /// A deck beam.
    Beam,
    /// An opening in the deck.
    Opening,
}

/// A mark: lines or a curve on the face of a piece, drawn (y, z), m.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it stands for.
    pub kind: MarkKind,
    /// What is written by it; plain ASCII.
    pub label: String,
    /// What is drawn.
    pub path: BezPath,
}

/// The parts of the line through `p` along `direction` that lie in the wood, inside `outline` and outside `holes`, and
/// clear of the cut.
pub(crate) fn clip(outline: &BezPath, holes: &[BezPath], p: Point, direction: Vec2) -> Vec<Line> {
    let edges: Vec<PathSeg> =
        std::iter::once(outline).chain(holes).flat_map(|path| path.segments()).collect();
    let clear = stretches(outline, holes, p, direction).into_iter().flat_map(|l| clear_of(&edges, l));
    clear.filter(|l| l.length() > LEAST_MARK_M).collect()
}

/// The same up to [`MARK_INSET_M`] from where the line meets the cut, however it does.
pub(crate) fn stretches(outline: &BezPath, holes: &[BezPath], p: Point, direction: Vec2) -> Vec<Line> {
    let bounds = outline.bounding_box();
    let reach = bounds.width() + bounds.height() + bounds.center().distance(p);
    let direction = direction.normalize();
    let long = Line::new(p - direction * reach, p + direction * reach);
    let mut cuts: Vec<f64> = std::iter::once(outline)
        .chain(holes)
        .flat_map(|path| path.segments())
        .flat_map(|s| s.intersect_line(long).into_iter().map(|i| i.line_t).collect::<Vec<_>>())
        .collect();
    cuts.sort_by(f64::total_cmp);
    let in_wood = |q: Point| outline.winding(q) != 0 && holes.iter().all(|h| h.winding(q) == 0);
    let inset = MARK_INSET_M / (2.0 * reach);
    let mut out: Vec<(f64, f64)> = Vec::new();
    for w in cuts.windows(2).filter(|w| in_wood(long.eval((w[0] + w[1]) / 2.0))) {
        match out.last_mut() {
            // The same stretch: a cut where two segments of the outline join is found twice.
            Some(last) if w[0] - last.1 < 1e-12 => last.1 = w[1],
            _ => out.push((w[0], w[1])),
        }
    }
    let edges: Vec<PathSeg> =
        std::iter::once(outline).chain(holes).flat_map(|path| path.segments()).collect();
    out.into_iter()
        .map(|(a, b)| Line::new(long.eval(a + inset), long.eval(b - inset)))
        .flat_map(|l| clear_of(&edges, l))
        .filter(|l| (l.p1 - l.p0).dot(direction) > LEAST_MARK_M)
        .collect()
}

/// What of a line that lies in the wood keeps clear of the cut: all of it, unless it comes up to the cut at a shallow
/// angle or runs along it.
fn clear_of(edges: &[PathSeg], line: Line) -> Vec<Line> {
    let clear = |t: f64| nearest(edges, line.eval(t)).1 > 0.9 * MARK_INSET_M;
    let spot = |i: usize| i as f64 / SPOTS_OF_A_MARK as f64;
    let spots: Vec<bool> = (0..=SPOTS_OF_A_MARK).map(|i| clear(spot(i))).collect();
    // From a spot that is clear to one that is not: as near to it as is clear.
    let last_clear = |mut clear_at: f64, mut beyond: f64| {
        for _ in 0..HALVINGS {
            let middle = 0.5 * (clear_at + beyond);
            if clear(middle) { clear_at = middle } else { beyond = middle }
        }
        clear_at
    };
    let mut found = Vec::new();
    let mut from = spots[0].then_some(0.0);
    for i in 1..=SPOTS_OF_A_MARK {
        match (spots[i - 1], spots[i]) {
            (false, true) => from = Some(last_clear(spot(i), spot(i - 1))),
            (true, false) => {
                found.extend(from.take().map(|from| line.subsegment(from..last_clear(spot(i - 1), spot(i)))));
            }
            _ => {}
        }
    }
    found.extend(from.map(|from| line.subsegment(from..1.0)));
    found
}

/// Spots at which a mark is looked at for running along the cut.
const SPOTS_OF_A_MARK: usize = 32;
/// Halvings to where it comes clear: a hundredth of a millimetre on the longest.
const HALVINGS: usize = 16;

/// Crosses at points, arms from the middle [`CROSS_ARM_M`] long, those in the wood.
pub(crate) fn crosses(points: &[Point], in_wood: impl Fn(Point) -> bool) -> BezPath {
    let arms = |p: &Point| {
        let arm = |d: Vec2| Line::new(*p - d * CROSS_ARM_M, *p + d * CROSS_ARM_M);
        [arm(Vec2::new(1.0, 0.0)), arm(Vec2::new(0.0, 1.0))]
    };
    let whole = |arm: &Line| [arm.p0, arm.midpoint(), arm.p1].iter().all(|p| in_wood(*p));
    path_of(&points.iter().flat_map(arms).filter(whole).collect::<Vec<_>>())
}

/// Arms of a cross, m: large enough to set a drill's point to.
const CROSS_ARM_M: f64 = 0.004;

/// Lines as one path.
pub(crate) fn path_of(lines: &[Line]) -> BezPath {
    let mut path = BezPath::new();
    for l in lines {
        path.move_to(l.p0);
        path.line_to(l.p1);
    }
    path
}

/// What of a path lies within an outline and clear of it by a fifth of a millimetre: a line on the cut itself marks nothing.
pub fn clear_within(path: &BezPath, outline: &BezPath) -> BezPath {
    let edge: Vec<PathSeg> = outline.segments().collect();
    within(path, |p| outline.winding(p) != 0 && nearest(&edge, p).1 > MARK_INSET_M)
}

/// The segments of a path that lie wholly in the wood, as far as their ends and quarters tell; of one that
/// lies there in part, those of its sixteenths that do.
pub(crate) fn within(path: &BezPath, in_wood: impl Fn(Point) -> bool) -> BezPath {
    let mut out = BezPath::new();
    let mut at: Option<Point> = None;
    let whole = |s: &PathSeg| (0..=4).all(|i| in_wood(s.eval(f64::from(i) / 4.0)));
    let sixteenth = |s: &PathSeg, i: u8| s.subsegment(f64::from(i) / 16.0..f64::from(i + 1) / 16.0);
    let parts = |s: PathSeg| match whole(&s) {
        true => vec![s],
        false => (0..16).map(|i| sixteenth(&s, i)).filter(whole).collect(),
    };
    for s in path.segments().flat_map(parts) {
        if at != Some(s.start()) {
            out.move_to(s.start());
        }
        out.push(s.as_path_el());
        at = Some(s.end());
    }
    out
}
