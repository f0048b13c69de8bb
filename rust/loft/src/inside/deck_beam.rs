//! Deck beams: the upper edge is the arc of the round of beam through the sheer of the inside.

use kurbo::{Affine, BezPath, Point};
use scrieve_hull::Hull;

use super::{CROWN_SPOTS, InsideError, SpanEnd, both_sides_up, check, crown, sheer, side, span_end};
use crate::RoundOfBeam;
use crate::backbone::smooth;

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

/// A half beam, from a carlin to the side, drawn (y, z), m.
#[derive(Clone, Debug, PartialEq)]
pub struct HalfBeam {
    /// Its outline.
    pub outline: BezPath,
    /// Level, from the carlin to the side along its upper edge, m.
    pub length: f64,
    /// Its inboard end's upper corner.
    pub inboard: Point,
    /// Of the inboard end in plan with the fore-and-aft line, radians, positive where the carlin runs out
    /// going aft.
    pub inboard_in_plan: f64,
    /// Where its upper edge meets the side; `length` is the boat's there.
    pub end: SpanEnd,
}

/// The half beam at `x` from half-breadth `carlin`, whose face there runs out by `in_plan` radians going aft.
///
/// # Errors
/// As [`deck_beam`]; a carlin at or past the side.
pub fn half_beam(
    hull: &Hull,
    x: f64,
    carlin: f64,
    in_plan: f64,
    round: RoundOfBeam,
    depth: f64,
    inside: f64,
) -> Result<HalfBeam, InsideError> {
    check(&[("half-breadth of the carlin", carlin, false)])?;
    let whole = deck_beam(hull, x, round, depth, inside)?;
    let end = Point::new(0.5 * whole.end.length, whole.end.z);
    let low = side(hull, x, end.y - depth, inside)?;
    if carlin >= end.x.min(low.p[1]) {
        return Err(InsideError::PastTheSide { x, half_breadth: carlin, most: end.x.min(low.p[1]) });
    }
    let deck = DeckAt::new(round, end)?;
    let upper = deck.path(end.x, carlin)?;
    let lower = Affine::translate((0.0, -depth)) * deck.path(carlin, low.p[1])?;
    let inboard = Point::new(carlin, deck.height(carlin)?);
    let mut outline = lower;
    outline.line_to(end);
    outline.extend(upper.elements().iter().skip(1).copied());
    outline.close_path();
    let length = end.x - carlin;
    Ok(HalfBeam { outline, length, inboard, inboard_in_plan: in_plan, end: whole.end })
}

/// The upper edge of the beams in a station's plane.
#[derive(Clone, Copy, Debug)]
pub(super) struct DeckAt {
    round: RoundOfBeam,
    edge: f64,
    end: Point,
}

impl DeckAt {
    /// Through the sheer of the inside, (y, z).
    pub fn new(round: RoundOfBeam, end: Point) -> Result<DeckAt, InsideError> {
        Ok(DeckAt { round, edge: round.fall(end.x).ok_or(InsideError::NoRound(round))?, end })
    }

    /// Half-breadth of the sheer of the inside, m.
    pub fn half_breadth(&self) -> f64 {
        self.end.x
    }

    /// How far the deck at half-breadth `y` is below its middle, m.
    pub fn fall(&self, y: f64) -> Result<f64, InsideError> {
        self.round.fall(y).ok_or(InsideError::NoRound(self.round))
    }

    /// Height at half-breadth `y`, m.
    pub fn height(&self, y: f64) -> Result<f64, InsideError> {
        Ok(self.end.y + self.edge - self.fall(y)?)
    }

    fn path(&self, from: f64, to: f64) -> Result<BezPath, InsideError> {
        let spot = |i: usize| {
            let y = from + (to - from) * i as f64 / CROWN_SPOTS as f64;
            self.height(y).map(|z| Point::new(y, z))
        };
        Ok(smooth(&(0..=CROWN_SPOTS).map(spot).collect::<Result<Vec<_>, _>>()?))
    }
}
