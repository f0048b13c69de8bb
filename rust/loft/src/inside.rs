//! Inside structure that follows the hull at a height: thwarts, stringers and risers, bulkheads, deck beams.
//!
//! Everything is fitted to the surface `inside` the record's: planking, and ribs where the piece stands on
//! them, taken off square to the planking. A deck beam's upper edge is the arc of the round of beam.

mod bulkhead;
mod carlin;
mod case;
mod deck;
mod deck_beam;
mod heights;
mod stringer;
mod thwart;

use kurbo::{Affine, BezPath, Point};
use scrieve_hull::{Boat, HullError, Sample};

pub use bulkhead::{Bulkhead, bulkhead};
pub use carlin::{Carlin, CarlinEnd, CarlinOptions, carlin};
pub use case::{Case, CaseAt, CaseOptions, centre_case};
pub use deck::{DeckAtStation, Opening, beam_places, deck_marks, deck_outline, deck_stations};
pub use deck_beam::{DeckBeam, HalfBeam, deck_beam, half_beam};
pub use heights::HeightAt;
pub use stringer::{Stringer, StringerAt, StringerOptions, stringer};
pub use thwart::{Thwart, breadths, thwart};

use crate::RoundOfBeam;
use crate::backbone::smooth;
use crate::rabbet::RabbetError;

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
    /// Faces that do not lie over one another.
    #[error("at x = {x:.4} m the piece's two faces do not lie over one another: make it thinner, or move it")]
    NoBlank {
        /// Where.
        x: f64,
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
    /// A piece, or part of it, comes to the centreline or over it.
    #[error("at x = {x:.4} m, z = {z:.4} m the piece comes to the centreline: end it farther from there")]
    AtTheCentreline {
        /// Station.
        x: f64,
        /// Height.
        z: f64,
    },
    /// The lower edge of a piece would hang off the planking.
    #[error(
        "at x = {x:.4} m a piece {depth:.4} m deep whose upper edge is at z = {z:.4} m hangs below the planking: \
         make it less deep, or set it higher"
    )]
    OffTheEdge {
        /// Station.
        x: f64,
        /// Height of its upper edge.
        z: f64,
        /// Its depth.
        depth: f64,
    },
    /// Heights that make no line.
    #[error("{}: a line needs two heights or more", if *.0 == 1 { "one height was given" } else { "no height was given" })]
    TooFewHeights(usize),
    /// Heights that no batten takes.
    #[error("heights along the boat: {0}")]
    Batten(scrieve_surface::BattenError),
    /// Heights that do not run aft.
    #[error(
        "a height at x = {next:.4} m follows one at x = {x:.4} m: give them from forward aft, one a place"
    )]
    OutOfOrder {
        /// Where one is.
        x: f64,
        /// Where the next is.
        next: f64,
    },
    /// A piece that runs past the heights given for it.
    #[error(
        "heights are given from x = {first:.4} to {last:.4} m and the piece runs from {from:.4} to {to:.4} m: \
         give a height at each end, or end it there"
    )]
    PastTheHeights {
        /// Where the first height is.
        first: f64,
        /// Where the last is.
        last: f64,
        /// Where the piece begins.
        from: f64,
        /// Where it ends.
        to: f64,
    },
    /// A carlin or an opening at or past the side of the boat.
    #[error(
        "at x = {x:.4} m a half-breadth of {half_breadth:.4} m leaves no deck outside it: the side there is \
         {most:.4} m out; bring it in"
    )]
    PastTheSide {
        /// Station.
        x: f64,
        /// Half-breadth of the outboard face.
        half_breadth: f64,
        /// Half-breadth of the side.
        most: f64,
    },
    /// A place forward or aft of the deck.
    #[error("x = {x:.4} m is off the deck: give a place between its ends")]
    OffTheDeck {
        /// The place.
        x: f64,
    },
    /// Beams closer than any are.
    #[error("a beam every {spacing} m: there is no room for them nearer than {least} m")]
    BeamsTooClose {
        /// The spacing asked for.
        spacing: f64,
        /// The least.
        least: f64,
    },
    /// A slot that leaves too little of the keel beside it.
    #[error(
        "at x = {x:.4} m a slot {width:.4} m wide leaves {left:.4} m of a keel sided {siding:.4} m on each side \
         of it, and {cheek:.4} m is asked for: make the slot narrower, or side the keel {least:.4} m"
    )]
    SlotTooWide {
        /// Where.
        x: f64,
        /// Of the slot.
        width: f64,
        /// Of the keel.
        siding: f64,
        /// Of wood each side of the slot.
        left: f64,
        /// Asked for.
        cheek: f64,
        /// Siding that would do.
        least: f64,
    },
    /// A slot that comes to an end of the keel.
    #[error(
        "the slot runs from x = {from:.4} to {to:.4} m, and between the rabbets of stem and stern the keel gives \
         it room from {first:.4} to {last:.4} m: move it, or make it shorter"
    )]
    SlotOffTheKeel {
        /// Forward end.
        from: f64,
        /// After end.
        to: f64,
        /// Foremost it may begin.
        first: f64,
        /// Aftmost it may end.
        last: f64,
    },
    /// The top of a case that is not above its bed logs.
    #[error(
        "at x = {x:.4} m the case's foot is at z = {foot:.4} m, its bed logs are {log_depth:.4} m deep and its top is \
         at {top:.4} m: raise the top above the logs"
    )]
    TopTooLow {
        /// Where.
        x: f64,
        /// Height of the foot.
        foot: f64,
        /// Depth of the logs.
        log_depth: f64,
        /// Height of the top.
        top: f64,
    },
    /// Bed logs that the planking rises over.
    #[error(
        "at x = {x:.4} m the planking rises {rises:.4} m above the keel at the outer face of the bed logs, which are \
         {log_depth:.4} m deep: make them deeper or thinner"
    )]
    LogTooShallow {
        /// Where.
        x: f64,
        /// From the keel's edge to the planking at the log's outer face.
        rises: f64,
        /// Depth of the logs.
        log_depth: f64,
    },
    /// Bed logs that come past the planking.
    #[error(
        "at x = {x:.4} m the planking nowhere comes {half_breadth:.4} m out, to the bed logs' face: make them thinner"
    )]
    LogPastThePlanking {
        /// Where.
        x: f64,
        /// Of the log's outer face.
        half_breadth: f64,
    },
    /// No rabbet there.
    #[error(transparent)]
    Rabbet(#[from] RabbetError),
    /// The hull has no answer there.
    #[error(transparent)]
    Hull(#[from] HullError),
}

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
fn side(hull: &Boat, x: f64, z: f64, inside: f64) -> Result<Sample, InsideError> {
    let section = hull.parallel_section(x, inside)?;
    let meets = section.crossings([0.0, 0.0, 1.0], z).into_iter().map(|mark| mark.sample);
    meets.max_by(|a, b| a.p[1].total_cmp(&b.p[1])).ok_or(InsideError::OffTheHull { x, z })
}

/// The upper end of the inside of the hull at `x`.
fn sheer(hull: &Boat, x: f64, inside: f64) -> Result<Sample, InsideError> {
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
