//! Fashion pieces: the timbers on a transom's forward face, along its edge, that the planking's ends are fastened to.
//!
//! Their after face lies on the transom's forward one, and their outer edge carries the transom's on, the planking
//! deducted: they are cut from the transom that would stand one transom's thickness farther forward and be as thick as
//! they are sided. At a chine they are jointed, along the line that halves its angle.

use kurbo::{BezPath, Line, ParamCurve, PathEl, PathSeg, Point, Shape as _, Vec2};
use scrieve_hull::Boat;
use scrieve_offsets::TransomPlane;

use super::{Transom, TransomError, TransomOptions, made};
use crate::bevels::{ABOVE, BELOW};
use crate::blank::{carried_on, carried_up, edge_of, half_blank};
use crate::flat::floored;
use crate::limb::void;
use crate::marks::clear_within;
use crate::outline::{CHECK_ACCURACY_M, is_simple};
use crate::pieces::{At, nearest, part};
use crate::{EdgeBevel, Mark, MarkKind};

/// The fashion pieces of the record's transom.
///
/// # Errors
/// As [`super::transom`]; sizes that are none; a transom that leaves no room between the pieces of either side.
pub fn fashion_pieces(
    hull: &Boat,
    options: &TransomOptions,
    sizes: &FashionSizes,
) -> Result<FashionPieces, TransomError> {
    for (what, value) in [("fashion piece's siding", sizes.sided), ("fashion piece's width", sizes.moulded)] {
        if !(value.is_finite() && value > 0.0) {
            return Err(TransomError::BadLength { what, value });
        }
    }
    let plane = options.face.or(hull.survey().transom).ok_or(TransomError::NoTransom)?;
    let foot = (options.face.is_none() && !hull.survey().stern.is_empty()).then_some(plane.foot);
    let options = TransomOptions { thickness: sizes.sided, ..*options };
    let whole = made(&floored(hull), &options, &forward(&plane, sizes.transom)?, foot, false)?;
    let pieces = cut(&whole, sizes.moulded)?;
    Ok(FashionPieces { sizes: *sizes, whole, pieces })
}

/// Sizes of fashion pieces, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FashionSizes {
    /// Thickness of the transom they stand on.
    pub transom: f64,
    /// Size along the boat.
    pub sided: f64,
    /// Width across their face.
    pub moulded: f64,
}

impl Default for FashionSizes {
    fn default() -> Self {
        FashionSizes { transom: TransomOptions::default().thickness, sided: 0.03, moulded: 0.07 }
    }
}

/// Fashion pieces, drawn as a [`Transom`] is: starboard, looking forward.
#[derive(Clone, Debug, PartialEq)]
pub struct FashionPieces {
    /// Their sizes.
    pub sizes: FashionSizes,
    /// What they are the edge of: its after face lies on the transom's forward one.
    pub whole: Transom,
    /// Those of one side, the lowest first.
    pub pieces: Vec<FashionPiece>,
}

/// A fashion piece of the starboard side.
#[derive(Clone, Debug, PartialEq)]
pub struct FashionPiece {
    /// Its name.
    pub name: String,
    /// What to cut: what both its faces take up.
    pub outline: BezPath,
    /// Waterlines, and of the faces' edges what lies within the cut.
    pub marks: Vec<Mark>,
    /// Bevels along its edge, from the after face.
    pub bevels: Vec<EdgeBevel>,
}

/// The plane or cylinder a transom's forward face lies in.
fn forward(plane: &TransomPlane, thickness: f64) -> Result<TransomPlane, TransomError> {
    let run = Vec2::new(plane.head.0 - plane.foot.0, plane.head.1 - plane.foot.1);
    if !(thickness.is_finite() && thickness >= 0.0) {
        return Err(TransomError::BadLength { what: "transom thickness", value: thickness });
    }
    let up = run.normalize() * run.y.signum();
    let shift = Vec2::new(-up.y, up.x) * thickness;
    let moved = |(x, z): (f64, f64)| (x + shift.x, z + shift.y);
    let curve_radius = plane.curve_radius.map(|radius| radius - thickness);
    if let Some((radius, _)) = plane.curve_radius.zip(curve_radius).filter(|(_, left)| *left <= 0.0) {
        return Err(TransomError::TooTight { radius, needs: thickness });
    }
    Ok(TransomPlane { foot: moved(plane.foot), head: moved(plane.head), curve_radius })
}

/// The pieces of the starboard side: between the edge of what both faces take up and one so far within it, clear of the post.
fn cut(whole: &Transom, moulded: f64) -> Result<Vec<FashionPiece>, TransomError> {
    let narrow = || TransomError::NoFashion { moulded };
    let (outer, top) = edge_of_both(whole).ok_or_else(narrow)?;
    // On either side of the post, or meeting on the centreline where there is none.
    let clear = whole.outer.start().map_or(0.0, |s| s.p[1]).max(0.0);
    let foot = foot_of(&outer, clear).ok_or_else(narrow)?;
    let low = foot.point(&outer);
    let outer = part(&outer, foot, At::end(&outer));
    let mut shape = BezPath::new();
    shape.move_to((0.0, low.y));
    shape.line_to(low);
    outer.iter().for_each(|s| shape.push(s.as_path_el()));
    let opening = void(&shape, top, moulded).open.ok_or_else(narrow)?;
    // From the top down to the post's side, and down it.
    let mut inner = Vec::new();
    for s in opening.segments() {
        if s.end().x > clear {
            inner.push(s);
            continue;
        }
        let side = Line::new((clear, s.bounding_box().y0 - 1.0), (clear, s.bounding_box().y1 + 1.0));
        let t = s.intersect_line(side).first().map_or(1.0, |hit| hit.segment_t);
        inner.push(s.subsegment(0.0..t));
        break;
    }
    let last = inner.last().ok_or_else(narrow)?.end();
    if last.y <= low.y {
        return Err(narrow());
    }
    inner.push(PathSeg::Line(Line::new(last, Point::new(clear, low.y))));
    pieces(whole, &outer, &inner)
}

/// The edge of what both faces take up, as segments up to the height of the higher top, and that height.
fn edge_of_both(whole: &Transom) -> Option<(Vec<PathSeg>, f64)> {
    let top = whole.outer.end()?.p[2].max(whole.inner.end()?.p[2]);
    let edges = whole.edges().map(|edge| carried_up(&edge, top));
    let tops = edges.each_ref().map(|edge| {
        let end = edge.segments().last().map_or(Point::ZERO, |s| s.end());
        BezPath::from_vec(vec![PathEl::MoveTo((end.x, top).into()), PathEl::LineTo((0.0, top).into())])
    });
    let faces = carried_on([(&edges[0], &tops[0]), (&edges[1], &tops[1])]);
    Some((edge_of(&half_blank(&faces[0], &faces[1])?, top), top))
}

/// Where the edge has come out so far from the post's side that the piece has a foot to stand on.
fn foot_of(outer: &[PathSeg], clear: f64) -> Option<At> {
    let wide = clear + FOOT_M;
    let (index, s) = outer.iter().enumerate().rev().find(|(_, s)| s.start().x < wide)?;
    if s.end().x < wide {
        return None;
    }
    let bounds = s.bounding_box();
    let side = Line::new((wide, bounds.y0 - 1.0), (wide, bounds.y1 + 1.0));
    let t = s.intersect_line(side).last()?.segment_t;
    let p = s.eval(t);
    Some(nearest(&outer[..=index], p).0)
}

/// Cut at the chines, with what is marked on each.
fn pieces(whole: &Transom, outer: &[PathSeg], inner: &[PathSeg]) -> Result<Vec<FashionPiece>, TransomError> {
    // Where each ends, on the outer edge and on the inner, which runs down.
    let mut joints: Vec<(At, At)> = (1..outer.len()).filter_map(|i| joint(outer, inner, i)).collect();
    // A chine is a corner of either face: the two make one joint.
    joints.dedup_by(|next, last| next.0.point(outer).distance(last.0.point(outer)) < ONE_JOINT_M);
    let several = !joints.is_empty();
    joints.push((At::end(outer), At::start()));
    let mut from = (At::start(), At::end(inner));
    let mut found: Vec<(FashionPiece, Vec<PathSeg>)> = Vec::new();
    for (number, to) in joints.into_iter().enumerate() {
        let run = part(outer, from.0, to.0);
        let mut outline = BezPath::new();
        outline.move_to(run.first().map_or(Point::ZERO, |s| s.start()));
        run.iter().for_each(|s| outline.push(s.as_path_el()));
        let back = part(inner, to.1, from.1);
        outline.line_to(back.first().map_or(Point::ZERO, |s| s.start()));
        back.iter().for_each(|s| outline.push(s.as_path_el()));
        outline.close_path();
        if !(is_simple(&outline, CHECK_ACCURACY_M) && outline.area().abs() > 0.0) {
            return Err(TransomError::Crosses { deduction: whole.planking });
        }
        let name = if several { format!("fashion piece {}", number + 1) } else { "fashion piece".to_owned() };
        let marks = marks(whole, &outline);
        found.push((FashionPiece { name, outline, marks, bevels: Vec::new() }, run));
        from = to;
    }
    // A bevel's spot is on the after face, beside the edge of the piece it belongs to.
    for bevel in &whole.bevels {
        let off = |run: &[PathSeg]| nearest(run, bevel.spot).1;
        // At a chine two are about as near: what is told of its upper side is the upper piece's.
        let is_of_chine = [BELOW, ABOVE].iter().any(|side| bevel.at.ends_with(side));
        let within = if is_of_chine { ONE_JOINT_M } else { 0.0 };
        let nearest = found.iter().map(|(_, run)| off(run)).fold(f64::INFINITY, f64::min);
        let mut near = found.iter_mut().filter(|(_, run)| off(run) <= nearest + within);
        let beside = if bevel.at.ends_with(ABOVE) { near.next_back() } else { near.next() };
        if let Some((piece, _)) = beside.filter(|(_, run)| off(run) < bevel.rise.abs() + FOOT_M) {
            piece.bevels.push(bevel.clone());
        }
    }
    Ok(found.into_iter().map(|(piece, _)| piece).collect())
}

/// The joint at the foot of a segment of the edge, where it turns a corner: across the pieces, halving its angle.
fn joint(outer: &[PathSeg], inner: &[PathSeg], index: usize) -> Option<(At, At)> {
    let (below, above) = (&outer[index - 1], &outer[index]);
    let ways = [below.end() - below.eval(0.99), above.eval(0.01) - above.start()].map(Vec2::normalize);
    if ways[0].cross(ways[1]).atan2(ways[0].dot(ways[1])).abs() < CORNER {
        return None;
    }
    let p = outer[index].start();
    let along = (ways[0] + ways[1]).normalize();
    let ray = Line::new(p, p + Vec2::new(-along.y, along.x) * ACROSS_M);
    let hits = inner.iter().flat_map(|s| s.intersect_line(ray).into_iter().map(|hit| hit.line_t));
    let hit = hits.filter(|t| *t > 0.0).min_by(f64::total_cmp)?;
    Some((nearest(outer, p).0, nearest(inner, ray.eval(hit)).0))
}

/// Waterlines and the faces' edges, as they lie within a piece.
fn marks(whole: &Transom, outline: &BezPath) -> Vec<Mark> {
    let faces = whole.edges().into_iter().zip(["AFTER FACE", "FORWARD FACE"]);
    let faces = faces.map(|(path, label)| Mark { kind: MarkKind::OtherFace, label: label.into(), path });
    let waterlines = whole.marks.iter().filter(|mark| mark.kind == MarkKind::Waterline).cloned();
    let marks = faces.chain(waterlines).map(|mark| Mark { path: clear_within(&mark.path, outline), ..mark });
    marks.filter(|mark| mark.path.segments().count() > 0).collect()
}

/// A fashion piece's foot is so broad, m: below it there is too little wood to fasten to (common practice).
const FOOT_M: f64 = 0.012;
/// Corners of the edge nearer than this make one joint, m: two would leave a chip between them.
const ONE_JOINT_M: f64 = 0.025;
/// Turns of the edge by more are corners, radians (10 degrees).
const CORNER: f64 = 0.17;
/// The inner edge is looked for within this of a corner, m.
const ACROSS_M: f64 = 1.0;
