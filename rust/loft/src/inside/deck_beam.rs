//! Deck beams: the upper edge is the arc of the round of beam through the sheer of the inside.

use kurbo::{Affine, BezPath, Point};
use scrieve_hull::{Boat, Sample};

use super::{CROWN_SPOTS, InsideError, SpanEnd, both_sides_up, check, crown, sheer, span_end};
use crate::RoundOfBeam;
use crate::backbone::smooth;
use crate::blank::{blank, carried_on, half_blank};

/// A deck beam, drawn (y, z), m.
#[derive(Clone, Debug, PartialEq)]
pub struct DeckBeam {
    /// What to cut, both sides: what both its faces take up, each carried on to the higher upper edge.
    pub outline: BezPath,
    /// The outlines of its forward and of its after face: upper edge at the sheer, ends on the inside of the hull.
    pub faces: [BezPath; 2],
    /// Radius of its upper edge, m.
    pub radius: f64,
    /// How much higher its middle is than its ends, m.
    pub camber: f64,
    /// Where its forward face's upper edge meets the side.
    pub end: SpanEnd,
}

/// The deck beam whose forward face stands at `x`, of this moulded depth and siding.
///
/// # Errors
/// As [`bulkhead`](super::bulkhead()).
pub fn deck_beam(
    hull: &Boat,
    x: f64,
    round: RoundOfBeam,
    (depth, siding): (f64, f64),
    inside: f64,
) -> Result<DeckBeam, InsideError> {
    let fore = Section::new(hull, x, round, depth, inside)?;
    check(&[("siding of the beam", siding, true)])?;
    let aft = Section::new(hull, x + siding, round, depth, inside)?;
    let [a, b] = carried_on([(&fore.under, &fore.upper), (&aft.under, &aft.upper)]);
    let outline = both_sides_up(&half_blank(&a, &b).ok_or(InsideError::NoBlank { x })?);
    let faces = [&fore, &aft].map(|section| {
        let mut right = section.under.clone();
        right.extend(section.upper.elements().iter().skip(1).copied());
        both_sides_up(&right)
    });
    let radius = round.radius().ok_or(InsideError::NoRound(round))?;
    let end = span_end(&fore.top, fore.top.p[1]);
    let camber = round.fall(fore.top.p[1]).ok_or(InsideError::NoRound(round))?;
    Ok(DeckBeam { outline, faces, radius, camber, end })
}

/// Steps in which the lower edge finds where it meets the planking: each is nearer by the round of the beam there.
const MEETS: usize = 6;

/// Spots up a beam's end: its chords are within a few hundredths of a millimetre of the planking.
const SIDE_STEPS: u32 = 8;

/// The right half of a beam in a station's plane.
struct Section {
    /// The sheer of the inside.
    top: Sample,
    /// Half-breadth of the lower edge's end.
    low: f64,
    /// Spots up its end, from the lower edge to the upper, both left out.
    side: Vec<Point>,
    /// From the middle of the lower edge along it to the side, and up that to the upper edge.
    under: BezPath,
    /// From the side along the upper edge to the middle.
    upper: BezPath,
}

impl Section {
    fn new(hull: &Boat, x: f64, round: RoundOfBeam, depth: f64, inside: f64) -> Result<Section, InsideError> {
        check(&[("depth of the beam", depth, true), ("deduction", inside, false)])?;
        let top = sheer(hull, x, inside)?;
        let end = Point::new(top.p[1], top.p[2]);
        let planking = hull.parallel_section(x, inside)?;
        let out_at = |z: f64| {
            let meets = planking.crossings([0.0, 0.0, 1.0], z).into_iter().map(|mark| mark.sample.p[1]);
            meets.reduce(f64::max).ok_or(InsideError::OffTheHull { x, z })
        };
        let upper = crown(round, end, 0.0)?;
        // The lower edge is the upper set down by the depth, run out or cut off at the side of the boat.
        let fall = |y: f64| round.fall(y).ok_or(InsideError::NoRound(round));
        let set_down = |y: f64| Ok::<f64, InsideError>(end.y - depth + fall(end.x)? - fall(y)?);
        let mut low = out_at(end.y - depth)?;
        for _ in 0..MEETS {
            low = out_at(set_down(low)?)?;
        }
        let lower_end = Point::new(low, set_down(low)?);
        let mut under = BezPath::new();
        under.move_to((0.0, end.y - depth + fall(end.x)?));
        let lower = crown(round, lower_end, 0.0)?.reverse_subpaths();
        under.extend(lower.elements().iter().skip(1).copied());
        // Up the planking, which is round: a straight end would be short of it.
        let rise = end.y - lower_end.y;
        let spots = (1..SIDE_STEPS).map(|i| lower_end.y + rise * f64::from(i) / f64::from(SIDE_STEPS));
        let side: Vec<Point> =
            spots.map(|z| Ok(Point::new(out_at(z)?, z))).collect::<Result<_, InsideError>>()?;
        side.iter().for_each(|p| under.line_to(*p));
        under.line_to(end);
        Ok(Section { top, low, side, under, upper })
    }
}

/// A half beam, from a carlin to the side, drawn (y, z), m.
#[derive(Clone, Debug, PartialEq)]
pub struct HalfBeam {
    /// What to cut: what both its faces take up.
    pub outline: BezPath,
    /// The outlines of its forward and of its after face.
    pub faces: [BezPath; 2],
    /// Level, from the carlin to the side along the forward face's upper edge, m.
    pub length: f64,
    /// Its inboard end's upper corner.
    pub inboard: Point,
    /// Of the inboard end in plan with the fore-and-aft line, radians, positive where the carlin runs out
    /// going aft.
    pub inboard_in_plan: f64,
    /// Where its upper edge meets the side; `length` is the boat's there.
    pub end: SpanEnd,
}

/// The half beam whose forward face stands at `x`, from half-breadth `carlin`, whose face there runs out by `in_plan`
/// radians going aft.
///
/// # Errors
/// As [`deck_beam`]; a carlin at or past the side.
pub fn half_beam(
    hull: &Boat,
    x: f64,
    carlin: f64,
    in_plan: f64,
    round: RoundOfBeam,
    (depth, siding): (f64, f64),
    inside: f64,
) -> Result<HalfBeam, InsideError> {
    check(&[("half-breadth of the carlin", carlin, false), ("siding of the beam", siding, true)])?;
    let face = |x: f64, carlin: f64| -> Result<(BezPath, Point, Sample), InsideError> {
        let section = Section::new(hull, x, round, depth, inside)?;
        let end = Point::new(section.top.p[1], section.top.p[2]);
        let most = end.x.min(section.low);
        if carlin >= most {
            return Err(InsideError::PastTheSide { x, half_breadth: carlin, most });
        }
        let deck = DeckAt::new(round, end)?;
        let mut outline = Affine::translate((0.0, -depth)) * deck.path(carlin, section.low)?;
        section.side.iter().for_each(|p| outline.line_to(*p));
        outline.line_to(end);
        outline.extend(deck.path(end.x, carlin)?.elements().iter().skip(1).copied());
        outline.close_path();
        Ok((outline, Point::new(carlin, deck.height(carlin)?), section.top))
    };
    let (fore, inboard, top) = face(x, carlin)?;
    let (aft, ..) = face(x + siding, carlin + siding * in_plan.tan())?;
    let outline = blank(&fore, &aft).ok_or(InsideError::NoBlank { x })?;
    let end = span_end(&top, top.p[1]);
    let length = top.p[1] - carlin;
    Ok(HalfBeam { outline, faces: [fore, aft], length, inboard, inboard_in_plan: in_plan, end })
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
