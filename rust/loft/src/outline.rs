//! The outline of half a mould: keel notch, bearing edge with its ribband notches, horn, inner edge.

use kurbo::{BezPath, ParamCurve, PathEl, Point, Shape as _, Vec2};

use crate::blank::{carried_up, edge_of, half_blank, is_level};
use crate::edge::{Edge, Place};
use crate::limb::{Void, first, void};
use crate::moulds::{LoftError, Notch};

/// Below this rise of the horn over its run the sheer is all but level: the horn goes plumb at once.
const FLATTEST_HORN: f64 = 0.5;
/// The part of a mould's height that a keel notch may take off from side to side.
const MOST_OF_THE_MOULD: f64 = 0.25;
/// Outlines are checked for crossing themselves on chords within this of them, m.
pub(crate) const CHECK_ACCURACY_M: f64 = 2e-5;
/// Points of an outline nearer than this are one, m.
const SAME_POINT_M: f64 = 1e-9;

/// What is cut and left, all lengths m.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cut<'a> {
    /// Width of the limb; `None` is solid.
    pub limb: Option<f64>,
    /// Notch on the centreline.
    pub keel: Option<Notch>,
    /// Size of ribband notches.
    pub ribband: Option<Notch>,
    /// Where they are.
    pub ribbands: &'a [NotchAt],
    /// How far the edge runs on, in its own direction, past the sheer.
    pub above_sheer: f64,
    /// Height the horn goes on to, plumb; where the edge's end is if that is higher.
    pub top: f64,
}

/// A ribband's notch.
#[derive(Clone, Copy, Debug)]
pub(crate) struct NotchAt {
    /// Where the ribband's middle crosses the edge of the face that is cut.
    pub place: Place,
    /// How far along that edge it has run on the other face, m.
    pub run: f64,
}

/// The right half of a mould.
#[derive(Clone, Debug)]
pub(crate) struct Half {
    /// From the top of the keel notch, on the centreline, along the outside to the top of the horn.
    pub outer: BezPath,
    /// Height of the horn's top, m.
    pub top: f64,
    /// What is left out between the limbs.
    pub void: Void,
    /// Where the edge is taken up: above the keel notch, on this side of the centreline.
    pub from: Place,
    /// Whether the keel notch takes the foot off from side to side.
    pub footless: bool,
    /// Which ribbands' notches are left out, for want of wood: near a mould's point they would cut it off.
    pub without: Vec<usize>,
}

impl Half {
    pub fn new(edge: &Edge, cut: &Cut<'_>) -> Result<Half, LoftError> {
        let (mut outer, from) = foot(edge, cut.keel)?;
        let mut plain = outer.clone();
        plain.extend(edge.elements(from, edge.end()));

        let horn = horn(edge, cut);
        let top = horn[horn.len() - 1].y;
        horn.iter().for_each(|&p| plain.line_to(p));
        let (notches, without) = ribband_notches(edge, cut, from, &plain)?;
        with_notches(&mut outer, edge, from, &notches);
        horn.iter().for_each(|&p| outer.line_to(p));
        let deepest = cut.keel.map_or(0.0, |k| k.depth);
        if first(&outer).y >= top {
            return Err(LoftError::NotchTooDeep {
                what: "keel notch",
                depth: deepest,
                wood: top - (first(&outer).y - deepest),
            });
        }
        let void = cut.limb.map(|width| void(&plain, top, width)).unwrap_or_default();
        let footless = cut.keel.is_some_and(|keel| {
            let foot = outer.segments().next().map_or(0.0, |level| level.end().x);
            foot < keel.width / 2.0 - SAME_POINT_M
        });
        Ok(Half { outer, top, void, from, footless, without })
    }

    /// The closed outline of the right half, anticlockwise, its straight inner edge on the centreline.
    pub fn outline(&self) -> BezPath {
        let mut path = self.outer.clone();
        match &self.void.open {
            Some(inner) => {
                path.line_to(first(inner));
                path.extend(inner.elements().iter().skip(1).copied());
            }
            None => path.line_to(Point::new(0.0, self.top)),
        }
        for inner in &self.void.closed {
            path.line_to(first(inner));
            path.extend(inner.elements().iter().skip(1).copied());
        }
        path.close_path();
        path
    }

    /// The closed outline of the whole, anticlockwise, and the holes in it, clockwise.
    pub fn whole(&self) -> (BezPath, Vec<BezPath>) {
        let mut path = self.outer.clone();
        if let Some(inner) = &self.void.open {
            path.line_to(first(inner));
            path.extend(inner.elements().iter().skip(1).copied());
            path.extend(tail(&mirrored(inner).reverse_subpaths()));
        }
        let left = mirrored(&self.outer).reverse_subpaths();
        path.line_to(first(&left));
        path.extend(tail(&left));
        path.close_path();
        (path, self.holes())
    }

    /// Closed voids astride the centreline, clockwise.
    pub fn holes(&self) -> Vec<BezPath> {
        let holes = self.void.closed.iter().map(|inner| {
            // Down the right side is clockwise about the void.
            let mut hole = inner.clone();
            hole.extend(tail(&mirrored(inner).reverse_subpaths()));
            hole.close_path();
            hole
        });
        holes.collect()
    }
}

/// The mirror image about the centreline, in the same order.
pub(crate) fn mirrored(path: &BezPath) -> BezPath {
    kurbo::Affine::scale_non_uniform(-1.0, 1.0) * path.clone()
}

/// The mirror image of a closed outline, going round the same way as it does.
pub(crate) fn mirror_outline(path: &BezPath) -> BezPath {
    mirrored(path).reverse_subpaths()
}

fn tail(path: &BezPath) -> Vec<PathEl> {
    path.elements().iter().skip(1).copied().collect()
}

/// The edge that holds both faces of a bevelled mould: the far one, but where the bevel is shut and the station face
/// stands outside it.
///
/// # Errors
/// Faces that do not lie over one another.
pub(crate) fn edge_of_both(near: &Edge, far: Edge) -> Result<Edge, LoftError> {
    let top = near.point(near.end()).y.max(far.point(far.end()).y);
    let half = |edge: &Edge| -> Result<BezPath, LoftError> {
        let (mut path, from) = foot(edge, None)?;
        path.extend(edge.elements(from, edge.end()));
        let mut path = carried_up(&path, top);
        path.line_to((0.0, top));
        Ok(path)
    };
    let area = |half: &BezPath| {
        let mut path = half.clone();
        path.close_path();
        path.area()
    };
    let (near, whole) = (half(near)?, half(&far)?);
    let both = half_blank(&near, &whole).ok_or(LoftError::NoBlank)?;
    if area(&both) - area(&whole) < SHUT_M2 {
        return Ok(far);
    }
    let mut edge = edge_of(&both, top);
    let foot = first(&both).y;
    let on_foot = edge.iter().take_while(|s| is_level(s, foot)).count();
    edge.drain(..on_foot);
    Edge::to_cut(&edge).ok_or(LoftError::NoBlank)
}

/// A station face that stands outside the far one by less in all, m², does so by nothing a saw could follow.
const SHUT_M2: f64 = 1e-5;

/// The foot of the mould from the centreline to the bearing edge, and where the edge is taken up.
fn foot(edge: &Edge, keel: Option<Notch>) -> Result<(BezPath, Place), LoftError> {
    let start = edge.start();
    let low = edge.point(start);
    // Planking thicker than the half-siding leaves nothing of the lower end on this side.
    let (start, low) = match low.x < 0.0 {
        true => {
            let at = edge.crossings(Vec2::new(1.0, 0.0), 0.0).pop().unwrap_or(start);
            (at, Point::new(0.0, edge.point(at).y))
        }
        false => (start, low),
    };
    let mut path = BezPath::new();
    let Some(keel) = keel else {
        path.move_to((0.0, low.y));
        if low.x > 0.0 {
            path.line_to(low);
        }
        return Ok((path, start));
    };
    let (half, top) = (keel.width / 2.0, low.y + keel.depth);
    path.move_to((0.0, top));
    if half <= low.x {
        path.line_to((half, top));
        path.line_to((half, low.y));
        if half < low.x {
            path.line_to(low);
        }
        return Ok((path, start));
    }
    let leaves = |place: &Place| *place >= start;
    let side = edge.crossings(Vec2::new(1.0, 0.0), half).into_iter().find(leaves);
    let over = edge.crossings(Vec2::new(0.0, 1.0), top).into_iter().find(leaves);
    match (side, over) {
        (Some(s), o) if o.is_none_or(|o| s < o) => {
            path.line_to((half, top));
            path.line_to(edge.point(s));
            Ok((path, s))
        }
        // Wider than the mould is there: the foot goes, which a bow's sharp one may and a bottom may not.
        (_, Some(o)) if keel.depth <= MOST_OF_THE_MOULD * (edge.point(edge.end()).y - low.y) => {
            path.line_to(edge.point(o));
            Ok((path, o))
        }
        _ => Err(LoftError::NotchTooDeep {
            what: "keel notch",
            depth: keel.depth,
            wood: edge.point(edge.end()).y - low.y,
        }),
    }
}

/// Where the edge is taken up above the keel notch, on this side of the centreline.
pub(crate) fn taken_up(edge: &Edge, keel: Option<Notch>) -> Result<Place, LoftError> {
    foot(edge, keel).map(|(_, from)| from)
}

/// The edge of a face with its ribband notches.
pub(crate) fn notched(edge: &Edge, cut: &Cut<'_>) -> Result<BezPath, LoftError> {
    let (mut plain, from) = foot(edge, cut.keel)?;
    plain.extend(edge.elements(from, edge.end()));
    horn(edge, cut).into_iter().for_each(|p| plain.line_to(p));
    let mut path = BezPath::new();
    path.move_to(edge.point(from));
    with_notches(&mut path, edge, from, &ribband_notches(edge, cut, from, &plain)?.0);
    Ok(path)
}

/// Goes on along the edge, into each notch and out of it.
fn with_notches(path: &mut BezPath, edge: &Edge, from: Place, notches: &[RibbandCut]) {
    let mut at = from;
    for (p, q, corners) in notches {
        path.extend(edge.elements(at, *p));
        corners.iter().for_each(|&c| path.line_to(c));
        path.line_to(edge.point(*q));
        at = *q;
    }
    path.extend(edge.elements(at, edge.end()));
}

type RibbandCut = (Place, Place, [Point; 2]);

/// Each ribband notch: where it leaves the edge, where it meets it again, and its corners; and which are left out because
/// the half mould, `plain` from its foot to its top, has no wood for them.
fn ribband_notches(
    edge: &Edge,
    cut: &Cut<'_>,
    from: Place,
    plain: &BezPath,
) -> Result<(Vec<RibbandCut>, Vec<usize>), LoftError> {
    let (mut out, mut without): (Vec<RibbandCut>, Vec<usize>) = (Vec::new(), Vec::new());
    let Some(notch) = cut.ribband else { return Ok((out, without)) };
    let what = "ribband notch";
    let mut shape = plain.clone();
    if let Some(top) = plain.segments().last().map(|s| s.end()) {
        shape.line_to((0.0, top.y));
    }
    shape.close_path();
    let edges: Vec<kurbo::PathSeg> = plain.segments().collect();
    let mut places: Vec<(usize, NotchAt)> = cut.ribbands.iter().copied().enumerate().collect();
    places.sort_by(|a, b| edge.girth(a.1.place).total_cmp(&edge.girth(b.1.place)));
    for (index, NotchAt { place, run }) in places {
        let p = edge.point(place);
        if let Some(wood) = cut.limb.filter(|limb| notch.depth >= *limb) {
            return Err(LoftError::NotchTooDeep { what, depth: notch.depth, wood });
        }
        let along = edge.middle_tangent(place);
        let inward = Vec2::new(-along.y, along.x);
        let (from_middle, to_middle) = (run.max(0.0) - notch.width / 2.0, run.min(0.0) + notch.width / 2.0);
        if from_middle >= to_middle {
            // It has run its whole width between the faces: there is nothing to cut right through.
            continue;
        }
        let (low, high) = (p + along * from_middle, p + along * to_middle);
        let nearest = |to: Point| {
            let places = edge.crossings(along, along.dot(to.to_vec2()));
            places
                .into_iter()
                .min_by(|a, b| edge.point(*a).distance(to).total_cmp(&edge.point(*b).distance(to)))
        };
        let floor = inward * notch.depth;
        // By the keel, or by the sheer, it may run off the edge: that costs it, and not the mould.
        let (Some(a), Some(b)) = (nearest(low), nearest(high)) else {
            without.push(index);
            continue;
        };
        // One that runs into the last, or into the keel's, costs itself too.
        if a < out.last().map_or(from, |last| last.1) {
            without.push(index);
            continue;
        }
        // Over a chine the depth is counted from the chord, which is all of the edge that the notch leaves.
        let corners = match edge.sides_of(place).len() {
            1 => [low + floor, high + floor],
            _ => [edge.point(a) + floor, edge.point(b) + floor],
        };
        // All of its floor must have wood behind it: to the centreline, and to any other part of the edge.
        let has_wood = |p: Point| {
            let behind = p + inward * LEAST_BEHIND_M;
            p.x.min(behind.x) > 0.0
                && [p, behind].iter().all(|q| shape.winding(*q) != 0)
                && crate::pieces::nearest(&edges, p).1 > LEAST_BEHIND_M.min(notch.depth / 2.0)
        };
        if !(0..=4).all(|i| has_wood(corners[0].lerp(corners[1], f64::from(i) / 4.0))) {
            without.push(index);
            continue;
        }
        out.push((a, b, corners));
    }
    Ok((out, without))
}

/// Wood left behind a ribband's notch, m: with less, the notch breaks out (common practice).
const LEAST_BEHIND_M: f64 = 0.006;

/// The horn above the sheer: on in the edge's direction, then plumb.
fn horn(edge: &Edge, cut: &Cut<'_>) -> Vec<Point> {
    let (sheer, along) = (edge.point(edge.end()), edge.tangent(edge.end()));
    let mut at = sheer;
    let mut out = Vec::new();
    if along.y > FLATTEST_HORN * along.x.abs() && cut.above_sheer > 0.0 {
        at += along * cut.above_sheer;
        out.push(at);
    }
    if cut.top > at.y || out.is_empty() {
        out.push(Point::new(at.x, cut.top.max(at.y)));
    }
    out
}

/// Whether a closed outline meets itself anywhere but at its joins: sampled to `accuracy`, m.
pub(crate) fn is_simple(path: &BezPath, accuracy: f64) -> bool {
    let mut points: Vec<Point> = Vec::new();
    kurbo::flatten(path, accuracy, |el| {
        if let PathEl::MoveTo(p) | PathEl::LineTo(p) = el
            && points.last().is_none_or(|last| last.distance(p) > SAME_POINT_M)
        {
            points.push(p);
        }
    });
    if points.len() > 1 && points[0].distance(points[points.len() - 1]) < SAME_POINT_M {
        points.pop();
    }
    let n = points.len();
    let side = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
    // Sides from left to right, so that each meets only those that begin before it ends.
    let mut sides: Vec<(usize, Point, Point)> = (0..n).map(|i| (i, points[i], points[(i + 1) % n])).collect();
    let left = |&(_, a, b): &(usize, Point, Point)| a.x.min(b.x);
    sides.sort_by(|one, other| left(one).total_cmp(&left(other)));
    sides.iter().enumerate().all(|(nth, &(i, a, b))| {
        let bounds = kurbo::Rect::from_points(a, b);
        sides[nth + 1..].iter().take_while(|other| left(other) <= bounds.x1).all(|&(j, c, d)| {
            let neighbours = (i + 1) % n == j || (j + 1) % n == i;
            neighbours
                || !bounds.overlaps(kurbo::Rect::from_points(c, d))
                || side(a, b, c) * side(a, b, d) > 0.0
                || side(c, d, a) * side(c, d, b) > 0.0
        })
    })
}
