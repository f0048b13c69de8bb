//! Bottoms that are flat across: dories, skiffs, punts, sharpies.
//!
//! Such a boat has no keel with a rabbet: a bottom goes across from chine to chine, and a keelson, keel or skeg is
//! laid on it. A record tells it in one of two ways: its bottom is a strake that rises by next to nothing from the
//! centreline to the chine, or it gives the bottom's edge as the rabbet line, far out from the centreline. The
//! bottom bends along the boat alone, so laid flat its lengths are those of its profile and its breadths its own.

use std::borrow::Cow;

use kurbo::{BezPath, Point};
use scrieve_hull::{Boat, Curve, Place, Plane};
use scrieve_offsets::{Axis, LineReading, RefLine};
use scrieve_surface::{Patch, Surface};

use crate::Grid;
use crate::backbone::smooth;

/// How a record tells a flat bottom.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ToldAs {
    /// The lowest strake is flat across.
    Strake,
    /// The rabbet line is the bottom's edge.
    Edge,
}

/// A bottom laid flat.
#[derive(Clone, Debug, PartialEq)]
pub struct Bottom {
    /// How the record tells it.
    pub told_as: ToldAs,
    /// Both sides, closed: (length along the bottom, half-breadth), m, from its forward end.
    pub outline: BezPath,
    /// Its edge in profile, bow to stern: (x, z), m.
    pub profile: BezPath,
    /// Whether it is given to the inside of the planking.
    pub to_inside: bool,
    /// At the stations.
    pub stations: Vec<BottomAt>,
    /// From end to end along its profile, m.
    pub length: f64,
    /// Its greatest breadth, m.
    pub breadth: f64,
}

/// A flat bottom at a station.
#[derive(Clone, Debug, PartialEq)]
pub struct BottomAt {
    /// Station.
    pub station: String,
    /// m aft of the boat's forward end.
    pub x: f64,
    /// Length along the bottom from its forward end, m.
    pub along: f64,
    /// Half-breadth of its edge, m.
    pub half_breadth: f64,
    /// Height of it, m.
    pub height: f64,
    /// Angle in the wood between bottom and side, square to the edge, radians: over a right angle the sides flare.
    pub side_angle: f64,
}

/// A rabbet line this share of the greatest half-breadth out from the centreline is the edge of a bottom: no keel
/// is sided half so much, and no bottom half so narrow (common practice).
const WIDE: f64 = 0.25;
/// A strake that rises by less over its breadth is flat across: two degrees, which planks across give way to.
const LEVEL: f64 = 0.035;
/// A strake that is no broader, m, has no bottom in it.
const NARROW_M: f64 = 0.05;
/// Spots along the lower edge that are looked at, and that a bottom is drawn through.
const SPOTS: usize = 96;

/// Whether her bottom is flat across, and how the record tells it.
pub fn flat_bottom(hull: &Boat) -> Option<ToldAs> {
    let patches = &hull.surface().patches;
    let lowest = patches.first()?;
    let along = || (0..=SPOTS).map(|i| i as f64 / SPOTS as f64);
    let widest = hull.extent([0.0, 1.0, 0.0]).1;
    let edge = along().map(|u| lowest.point(u, 0.0)[1]).fold(0.0, f64::max);
    // An edge out there that no reading put there is a surface's own, and says nothing of a bottom.
    let survey = hull.survey();
    let read = |l: &LineReading| l.line == RefLine::Rabbet && l.axis == Axis::HalfBreadth;
    if edge > WIDE * widest && (survey.half_siding > WIDE * widest || survey.lines.iter().any(read)) {
        return Some(ToldAs::Edge);
    }
    let level = |u: f64| {
        let (inner, middle, outer) = (lowest.point(u, 0.0), lowest.point(u, 0.5), lowest.point(u, 1.0));
        let out = outer[1] - inner[1];
        let rise = (outer[2] - inner[2]).abs().max((middle[2] - inner[2]).abs());
        out < NARROW_M || rise <= LEVEL * out
    };
    let broad = along().map(|u| lowest.point(u, 1.0)[1]).fold(0.0, f64::max) > WIDE * widest;
    (patches.len() > 1 && broad && along().all(level)).then_some(ToldAs::Strake)
}

/// The hull with her bottom as a strake of its own where the record gives its edge alone.
pub(crate) fn floored(hull: &Boat) -> Cow<'_, Boat> {
    if flat_bottom(hull) != Some(ToldAs::Edge) {
        return Cow::Borrowed(hull);
    }
    let mut patches = hull.surface().patches.clone();
    let lowest = &patches[0];
    let (breaks, _) = lowest.breaks();
    let bottom = Patch::interpolating(&breaks, &[0.0, 1.0], |u, v| {
        let [x, y, z] = lowest.point(u, 0.0);
        [x, y * v, z]
    });
    patches.insert(0, bottom);
    Cow::Owned(hull.reshaped(hull.survey().clone(), Surface { patches }))
}

/// The hull without a bottom that is flat across: her sides, which stem and post take the rabbet of.
pub(crate) fn sides(hull: &Boat) -> Cow<'_, Boat> {
    if flat_bottom(hull) != Some(ToldAs::Strake) {
        return Cow::Borrowed(hull);
    }
    let surface = Surface { patches: hull.surface().patches[1..].to_vec() };
    Cow::Owned(hull.reshaped(hull.survey().clone(), surface))
}

/// The hull seen in a mirror athwart the boat: her bow aft.
pub(crate) fn turned_about(hull: &Boat) -> Boat {
    let about = |patch: &Patch| {
        let (us, vs) = patch.breaks();
        let us: Vec<f64> = us.iter().rev().map(|u| 1.0 - u).collect();
        Patch::interpolating(&us, &vs, |u, v| {
            let [x, y, z] = patch.point(1.0 - u, v);
            [-x, y, z]
        })
    };
    let patches = hull.surface().patches.iter().map(about).collect();
    let mut survey = hull.survey().clone();
    survey.transom = None;
    std::mem::swap(&mut survey.stem, &mut survey.stern);
    hull.reshaped(survey, Surface { patches })
}

/// The bottom laid flat; `None` where it is not flat across.
pub fn bottom(hull: &Boat) -> Option<Bottom> {
    let told_as = flat_bottom(hull)?;
    let floored = floored(hull);
    let edge = floored.reference_lines_drawn(Plane::at_y(0.0)).swap_remove(1);
    // Lengths along the profile, by spots near enough that chords are arcs.
    let mut along = 0.0;
    let mut last: Option<[f64; 3]> = None;
    let mut runs: Vec<(f64, [f64; 3])> = Vec::new();
    for p in edge.points(SPOTS * RULE + 1) {
        along += last.map_or(0.0, |q| (p[0] - q[0]).hypot(p[2] - q[2]));
        last = Some(p);
        runs.push((along, p));
    }
    let (_, after) = *runs.last()?;
    let mut right: Vec<Point> = runs.iter().step_by(RULE).map(|(s, p)| Point::new(*s, p[1])).collect();
    // Across the after end: a curved transom's face stands farther aft on the centreline.
    if let Some(transom) = hull.survey().transom.filter(|t| t.curve_radius.is_some()) {
        let aft = |y: f64| transom.x(y, after[2]) - transom.x(after[1], after[2]);
        let across = (1..ACROSS).map(|i| after[1] * (1.0 - f64::from(i) / f64::from(ACROSS)));
        right.extend(across.map(|y| Point::new(along + aft(y), y)).collect::<Vec<_>>());
        right.push(Point::new(along + aft(0.0), 0.0));
    }
    let mut outline = smooth(&right);
    let left: Vec<Point> = right.iter().rev().map(|p| Point::new(p.x, -p.y)).collect();
    for (i, element) in smooth(&left).elements().iter().enumerate() {
        match (i, element) {
            (0, kurbo::PathEl::MoveTo(p)) => outline.line_to(*p),
            _ => outline.push(*element),
        }
    }
    outline.close_path();
    let at = |(station, x): &(String, f64)| station_at(&floored, &edge, &runs, station, *x);
    Some(Bottom {
        told_as,
        outline,
        profile: edge.path(),
        to_inside: hull.is_inside(),
        stations: Grid::of(hull).stations.iter().filter_map(at).collect(),
        length: along,
        breadth: 2.0 * runs.iter().map(|(_, p)| p[1]).fold(0.0, f64::max),
    })
}

/// Chords a spot of the edge by which its length is measured.
const RULE: usize = 8;
/// Spots across a curved transom.
const ACROSS: u8 = 8;

fn station_at(
    floored: &Boat,
    edge: &Curve,
    runs: &[(f64, [f64; 3])],
    station: &str,
    x: f64,
) -> Option<BottomAt> {
    let p = edge.crossings([1.0, 0.0, 0.0], x).pop()?.sample.p;
    let k = runs.partition_point(|(_, q)| q[0] < x).clamp(1, runs.len() - 1);
    let ((s0, a), (s1, b)) = (runs[k - 1], runs[k]);
    let part = (x - a[0]) / (b[0] - a[0]);
    // The place along the lowest strake's upper edge, and the normals on either side of it.
    let lowest = &floored.surface().patches[0];
    let u = bisected(|u| lowest.point(u, 1.0)[0] - x);
    let normal = |patch, v| floored.spot(Place { patch, u, v }, 0.0).normal;
    let (below, above) = (normal(0, 1.0), normal(1, 0.0));
    let cosine: f64 = (0..3).map(|i| below[i] * above[i]).sum();
    Some(BottomAt {
        station: station.to_owned(),
        x,
        along: s0 + (s1 - s0) * part,
        half_breadth: p[1],
        height: p[2],
        side_angle: std::f64::consts::PI - cosine.clamp(-1.0, 1.0).acos(),
    })
}

/// Where a rising function of 0 to 1 passes nothing.
fn bisected(f: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if f(middle) < 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}
