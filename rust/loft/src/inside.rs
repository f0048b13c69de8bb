//! Inside structure that follows the hull at a height: thwarts, stringers and risers, bulkheads, deck beams.
//!
//! Everything is fitted to the surface `inside` the record's: planking, and ribs where the piece stands on
//! them, taken off square to the planking. A deck beam's upper edge is the arc of the round of beam.

use kurbo::{Affine, BezPath, Point, Vec2};
use scrieve_hull::{Curve, Hull, HullError, Plane, Sample};

use crate::backbone::smooth;
use crate::edge::Edge;
use crate::marks::{clip, path_of};
use crate::{EdgeBevel, Grid, Mark, MarkKind, RoundOfBeam, bevel, written};

/// A thwart, or anything level that spans the boat. Plan outlines are drawn (x, y), m.
#[derive(Clone, Debug, PartialEq)]
pub struct Thwart {
    /// Outline of its under face, both sides.
    pub under: BezPath,
    /// Outline of its upper face.
    pub upper: BezPath,
    /// Its forward and its after edge.
    pub edges: [SpanEnd; 2],
}

/// Where a span meets the boat's side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpanEnd {
    /// Aft of the forward end, m.
    pub x: f64,
    /// Height, m.
    pub z: f64,
    /// Tip to tip, both sides, m.
    pub length: f64,
    /// Of the end in plan with the fore-and-aft line, radians, positive where the boat widens aft.
    pub in_plan: f64,
    /// Of the end with plumb, seen from ahead, radians, positive where the side flares.
    pub flare: f64,
}

/// A thwart of this width (fore and aft) and thickness with its forward edge at `x` and its under face at `z`.
///
/// # Errors
/// Lengths that are none; a spot that is off the inside of the hull.
pub fn thwart(
    hull: &Hull,
    at: Point,
    width: f64,
    thickness: f64,
    inside: f64,
) -> Result<Thwart, InsideError> {
    check(&[("width", width, true), ("thickness", thickness, true), ("deduction", inside, false)])?;
    let outline = |z: f64| -> Result<BezPath, InsideError> {
        let spot = |i: usize| {
            let x = at.x + width * i as f64 / SPAN_SPOTS as f64;
            side(hull, x, z, inside).map(|s| Point::new(x, s.p[1]))
        };
        let right: Vec<Point> = (0..=SPAN_SPOTS).map(spot).collect::<Result<_, _>>()?;
        Ok(both_sides(&smooth(&right)))
    };
    let end = |x: f64| -> Result<SpanEnd, InsideError> {
        let faces = [side(hull, x, at.y, inside)?, side(hull, x, at.y + thickness, inside)?];
        let wider = if faces[0].p[1] > faces[1].p[1] { faces[0] } else { faces[1] };
        Ok(span_end(&faces[0], wider.p[1]))
    };
    Ok(Thwart {
        under: outline(at.y)?,
        upper: outline(at.y + thickness)?,
        edges: [end(at.x)?, end(at.x + width)?],
    })
}

/// At what height a stringer or riser runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HeightAt {
    /// Level, m above the base line.
    Level(f64),
    /// This far below the sheer, m, plumb.
    BelowSheer(f64),
}

/// A stringer, riser or clamp along the side.
#[derive(Clone, Debug, PartialEq)]
pub struct Stringer {
    /// Its line, forward end to after: (x, y, z), m.
    pub line: Vec<[f64; 3]>,
    /// Its length along the line, m.
    pub length: f64,
    /// Where it crosses each station of the table: name and spot.
    pub stations: Vec<(String, SpanEnd)>,
    /// Its two ends.
    pub ends: [SpanEnd; 2],
}

/// A stringer from `from` to `to`, m aft of the forward end.
///
/// # Errors
/// As [`thwart`].
pub fn stringer(
    hull: &Hull,
    height: HeightAt,
    from: f64,
    to: f64,
    inside: f64,
) -> Result<Stringer, InsideError> {
    check(&[("length of the stringer", to - from, true), ("deduction", inside, false)])?;
    let spot = |x: f64| {
        let z = match height {
            HeightAt::Level(z) => z,
            HeightAt::BelowSheer(down) => sheer(hull, x, inside)?.p[2] - down,
        };
        side(hull, x, z, inside)
    };
    let along = |i: usize| from + (to - from) * i as f64 / STRINGER_SPOTS as f64;
    let line: Vec<[f64; 3]> =
        (0..=STRINGER_SPOTS).map(|i| spot(along(i)).map(|s| s.p)).collect::<Result<_, _>>()?;
    let apart = |w: &[[f64; 3]]| (0..3).map(|k| (w[1][k] - w[0][k]).powi(2)).sum::<f64>().sqrt();
    let stations = Grid::of(hull).stations.into_iter().filter(|(_, x)| (from..=to).contains(x));
    let end = |x: f64| spot(x).map(|s| span_end(&s, s.p[1]));
    Ok(Stringer {
        length: line.windows(2).map(apart).sum(),
        stations: stations.map(|(name, x)| Ok((name, end(x)?))).collect::<Result<_, InsideError>>()?,
        ends: [end(from)?, end(to)?],
        line,
    })
}

/// A bulkhead or frame at a station, drawn (y, z), m.
#[derive(Clone, Debug, PartialEq)]
pub struct Bulkhead {
    /// Its outline, both sides.
    pub outline: BezPath,
    /// Centreline and waterlines.
    pub marks: Vec<Mark>,
    /// Bevels of its edge at waterlines, lower end up, from its forward face over its thickness.
    pub bevels: Vec<EdgeBevel>,
}

/// The bulkhead whose forward face stands at `x`, to the sheer or to a level `top`.
///
/// # Errors
/// As [`thwart`]; a round of beam that makes no arc so wide.
pub fn bulkhead(
    hull: &Hull,
    x: f64,
    top: Option<f64>,
    thickness: f64,
    round: Option<RoundOfBeam>,
    inside: f64,
) -> Result<Bulkhead, InsideError> {
    check(&[("thickness", thickness, true), ("deduction", inside, false)])?;
    let mut curve = hull.parallel_section(x, inside)?;
    let low = curve.crossings([0.0, 1.0, 0.0], 0.0).pop().map_or(0.0, |mark| mark.along);
    let high = match top {
        None => curve.length(),
        Some(z) => {
            let meets = curve.crossings([0.0, 0.0, 1.0], z).pop();
            meets.ok_or(InsideError::OffTheHull { x, z })?.along
        }
    };
    curve = curve.trimmed(low, high);
    let edge = Edge::new(&curve).ok_or(InsideError::OffTheHull { x, z: top.unwrap_or(0.0) })?;
    let mut right = curve.path();
    if let Some(round) = round {
        right.extend(crown(round, edge.point(edge.end()), 0.0)?.elements().iter().skip(1).copied());
    }
    let outline = both_sides_up(&right);
    let grid = Grid::of(hull);
    let mut spots = vec![("lower end".to_owned(), edge.start())];
    let mut marks: Vec<Mark> = Vec::new();
    let mut mark = |kind, label: String, p, d| {
        let lines = clip(&outline, &[], p, d);
        if !lines.is_empty() {
            marks.push(Mark { kind, label, path: path_of(&lines) });
        }
    };
    mark(MarkKind::Centreline, "CL".into(), Point::ZERO, Vec2::new(0.0, 1.0));
    for z in &grid.waterlines {
        let label = format!("WL {}", written(*z, grid.units));
        let places = edge.crossings(Vec2::new(0.0, 1.0), *z);
        spots.extend(places.into_iter().map(|place| (label.clone(), place)));
        mark(MarkKind::Waterline, label, Point::new(0.0, *z), Vec2::new(1.0, 0.0));
    }
    spots.push(("top".to_owned(), edge.end()));
    let bevels = spots.into_iter().map(|(at, place)| {
        let angle = bevel(edge.normal(place));
        EdgeBevel {
            at,
            spot: edge.point(place),
            girth: edge.girth(place),
            angle,
            in_the_wood: std::f64::consts::FRAC_PI_2 - angle,
            rise: -thickness * angle.tan(),
            over: thickness,
        }
    });
    let mut bevels: Vec<EdgeBevel> = bevels.collect();
    bevels.sort_by(|a, b| a.girth.total_cmp(&b.girth));
    Ok(Bulkhead { bevels, marks, outline })
}

/// A deck beam, drawn (y, z), m.
#[derive(Clone, Debug, PartialEq)]
pub struct DeckBeam {
    /// Its outline: upper edge at the sheer, ends on the inside of the hull.
    pub outline: BezPath,
    /// Radius of its upper edge, m.
    pub radius: f64,
    /// How much higher its middle is than its ends, m.
    pub camber: f64,
    /// Where its upper edge meets the side.
    pub end: SpanEnd,
}

/// The deck beam at `x`, of this moulded depth.
///
/// # Errors
/// As [`bulkhead`].
pub fn deck_beam(
    hull: &Hull,
    x: f64,
    round: RoundOfBeam,
    depth: f64,
    inside: f64,
) -> Result<DeckBeam, InsideError> {
    check(&[("depth of the beam", depth, true), ("deduction", inside, false)])?;
    let top = sheer(hull, x, inside)?;
    let end = Point::new(top.p[1], top.p[2]);
    let low = side(hull, x, end.y - depth, inside)?;
    let upper = crown(round, end, 0.0)?;
    // The lower edge is the upper set down by the depth, run out or cut off at the side of the boat.
    let fall = |y: f64| round.fall(y).ok_or(InsideError::NoRound(round));
    let lower_end = Point::new(low.p[1], end.y - depth + fall(end.x)? - fall(low.p[1])?);
    let mut right = BezPath::new();
    right.move_to((0.0, end.y - depth + fall(end.x)?));
    let lower = crown(round, lower_end, 0.0)?.reverse_subpaths();
    right.extend(lower.elements().iter().skip(1).copied());
    right.line_to(end);
    right.extend(upper.elements().iter().skip(1).copied());
    let radius = round.radius().ok_or(InsideError::NoRound(round))?;
    Ok(DeckBeam { outline: both_sides_up(&right), radius, camber: fall(end.x)?, end: span_end(&top, end.x) })
}

/// Half the deck at the sheer, in plan: (x, y), m, closed along the centreline.
pub fn deck_outline(hull: &Hull) -> BezPath {
    let line = hull.reference_lines_drawn(Plane::at_z(0.0)).pop();
    let mut path = line.as_ref().map(Curve::path).unwrap_or_default();
    let ends = line.as_ref().and_then(|line| line.start().zip(line.end()));
    if let Some((start, end)) = ends {
        path.line_to((end.p[0], 0.0));
        path.line_to((start.p[0], 0.0));
        path.close_path();
    }
    path
}

/// Why a piece cannot be fitted. Metres.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum InsideError {
    /// A length that is none.
    #[error("{what} is {value} m: it must be {}", if *.positive { "more than nothing" } else { "nothing or more" })]
    BadLength {
        /// What was given.
        what: &'static str,
        /// What it was.
        value: f64,
        /// Whether nothing is too little.
        positive: bool,
    },
    /// The spot is off the inside of the hull.
    #[error("at x = {x:.4} m the inside of the hull does not come to z = {z:.4} m: check the height")]
    OffTheHull {
        /// Station.
        x: f64,
        /// Height.
        z: f64,
    },
    /// The round of beam makes no arc across the boat.
    #[error("a camber of {:.4} m over a beam of {:.4} m makes no arc as wide as the boat", .0.camber, .0.beam)]
    NoRound(RoundOfBeam),
    /// The hull has no answer there.
    #[error(transparent)]
    Hull(#[from] HullError),
}

/// Spots along the end of a thwart: over its width the side is all but an arc.
const SPAN_SPOTS: usize = 8;
/// Spots along a stringer: its length is the sum of the chords, short by a part in 24 n² of its turn squared,
/// under 0.1 mm in 5 m.
const STRINGER_SPOTS: usize = 160;
/// Spots along half the round of a beam.
const CROWN_SPOTS: usize = 24;

fn check(lengths: &[(&'static str, f64, bool)]) -> Result<(), InsideError> {
    let sound =
        |value: f64, positive: bool| value.is_finite() && (value > 0.0 || (value == 0.0 && !positive));
    match lengths.iter().find(|(_, value, positive)| !sound(*value, *positive)) {
        Some(&(what, value, positive)) => Err(InsideError::BadLength { what, value, positive }),
        None => Ok(()),
    }
}

/// The inside of the hull at (x, z), the outermost where there are several.
fn side(hull: &Hull, x: f64, z: f64, inside: f64) -> Result<Sample, InsideError> {
    let section = hull.parallel_section(x, inside)?;
    let meets = section.crossings([0.0, 0.0, 1.0], z).into_iter().map(|mark| mark.sample);
    meets.max_by(|a, b| a.p[1].total_cmp(&b.p[1])).ok_or(InsideError::OffTheHull { x, z })
}

/// The upper end of the inside of the hull at `x`.
fn sheer(hull: &Hull, x: f64, inside: f64) -> Result<Sample, InsideError> {
    let section = hull.parallel_section(x, inside)?;
    section.end().copied().ok_or(InsideError::OffTheHull { x, z: f64::NAN })
}

fn span_end(at: &Sample, half: f64) -> SpanEnd {
    let [nx, ny, nz] = at.normal;
    SpanEnd { x: at.p[0], z: at.p[2], length: 2.0 * half, in_plan: (-nx).atan2(ny), flare: (-nz).atan2(ny) }
}

/// From a spot at the side in to the centreline along the round of beam through it, `below` it.
fn crown(round: RoundOfBeam, from: Point, below: f64) -> Result<BezPath, InsideError> {
    let edge = round.fall(from.x).ok_or(InsideError::NoRound(round))?;
    let spots: Vec<Point> = (0..=CROWN_SPOTS)
        .map(|i| {
            let y = from.x * (1.0 - i as f64 / CROWN_SPOTS as f64);
            Point::new(y, from.y - below + edge - round.fall(y).unwrap_or(edge))
        })
        .collect();
    Ok(smooth(&spots))
}

/// A plan outline from its right side, (x, y): across the after end and back along the left.
fn both_sides(right: &BezPath) -> BezPath {
    closed(right, Affine::scale_non_uniform(1.0, -1.0))
}

/// An outline from its right half, (y, z), up the right and down the left.
fn both_sides_up(right: &BezPath) -> BezPath {
    closed(right, Affine::scale_non_uniform(-1.0, 1.0))
}

fn closed(right: &BezPath, mirror: Affine) -> BezPath {
    let left = (mirror * right.clone()).reverse_subpaths();
    let mut path = right.clone();
    let ends = path.segments().last().map(|s| kurbo::ParamCurve::end(&s));
    let mut elements = left.elements().iter().copied();
    if let Some(kurbo::PathEl::MoveTo(p)) = elements.next()
        && ends.is_none_or(|end| end.distance(p) > SAME_POINT_M)
    {
        path.line_to(p);
    }
    path.extend(elements);
    path.close_path();
    path
}

/// Points nearer than this are one, m.
const SAME_POINT_M: f64 = 1e-9;
