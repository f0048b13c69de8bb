//! The deck in plan, where its beams stand, and the openings in it.

use kurbo::{BezPath, Point, Vec2};
use scrieve_hull::{Boat, Curve, Plane};

use super::{InsideError, check, sheer};
use crate::marks::{clip, path_of};
use crate::{Grid, Mark, MarkKind};

/// Half the deck at the sheer, in plan: (x, y), m, closed along the centreline.
pub fn deck_outline(hull: &Boat) -> BezPath {
    let line = sheer_in_plan(hull);
    let mut path = line.as_ref().map(Curve::path).unwrap_or_default();
    let ends = line.as_ref().and_then(|line| line.start().zip(line.end()));
    if let Some((start, end)) = ends {
        path.line_to((end.p[0], 0.0));
        path.line_to((start.p[0], 0.0));
        path.close_path();
    }
    path
}

/// The deck at a station, m.
#[derive(Clone, Debug, PartialEq)]
pub struct DeckAtStation {
    /// Its name.
    pub station: String,
    /// Aft of the forward end.
    pub x: f64,
    /// Half-breadth of the sheer, as the record has it.
    pub half_breadth: f64,
    /// Half-breadth of the sheer of the inside.
    pub inside: f64,
    /// Height of the sheer of the inside.
    pub z: f64,
}

/// The deck at each station that crosses the sheer; a station where the inside comes to no sheer is left out.
pub fn deck_stations(hull: &Boat, inside: f64) -> Vec<DeckAtStation> {
    let Some(line) = sheer_in_plan(hull) else { return Vec::new() };
    let stations = Grid::of(hull).stations.into_iter();
    let at = stations.filter_map(|(station, x)| {
        let outer = line.crossings([1.0, 0.0, 0.0], x).pop()?;
        let inner = sheer(hull, x, inside).ok()?;
        let half_breadth = outer.sample.p[1];
        Some(DeckAtStation { station, x, half_breadth, inside: inner.p[1], z: inner.p[2] })
    });
    at.collect()
}

/// Places of deck beams, m aft of the forward end: every `spacing` from there that has a sheer `inside` the record's.
///
/// # Errors
/// A spacing that is none, or under 5 cm.
pub fn beam_places(hull: &Boat, spacing: f64, inside: f64) -> Result<Vec<f64>, InsideError> {
    check(&[("spacing of the beams", spacing, true)])?;
    if spacing < LEAST_BEAM_SPACING_M {
        return Err(InsideError::BeamsTooClose { spacing, least: LEAST_BEAM_SPACING_M });
    }
    let line = sheer_in_plan(hull);
    let ends = line.as_ref().and_then(|line| line.start().zip(line.end()));
    let Some((from, to)) = ends.map(|(a, b)| (a.p[0], b.p[0])) else { return Ok(Vec::new()) };
    let places = (1..).map(|k| f64::from(k) * spacing);
    let on_deck = places.skip_while(|&x| x <= from).take_while(|&x| x < to);
    Ok(on_deck.filter(|&x| sheer(hull, x, inside).is_ok_and(|s| s.p[1] > 0.0)).collect())
}

/// Beams nearer than this are a slip of the unit, m: no boat's are closer, and each is a drawing.
pub const LEAST_BEAM_SPACING_M: f64 = 0.05;

/// An opening in the deck, a hatch or a cockpit: both sides alike. Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// Forward end.
    pub from: f64,
    /// After end.
    pub to: f64,
    /// Half-breadth at either end.
    pub half_breadths: [f64; 2],
}

impl Opening {
    /// Half its outline in plan, closed along the centreline: (x, y), m.
    ///
    /// # Errors
    /// Lengths that are none, an opening past the side or off the deck.
    pub fn outline(&self, hull: &Boat) -> Result<BezPath, InsideError> {
        let &Opening { from, to, half_breadths: [fore, aft] } = self;
        check(&[
            ("length of the opening", to - from, true),
            ("half-breadth of the opening", fore, false),
            ("half-breadth of the opening", aft, false),
        ])?;
        let line = sheer_in_plan(hull);
        for (x, half_breadth) in [(from, fore), (to, aft)] {
            let mut meets = line.iter().flat_map(|line| line.crossings([1.0, 0.0, 0.0], x));
            let most = meets.next().ok_or(InsideError::OffTheDeck { x })?.sample.p[1];
            if half_breadth >= most {
                return Err(InsideError::PastTheSide { x, half_breadth, most });
            }
        }
        let corners = [(from, 0.0), (from, fore), (to, aft), (to, 0.0)].map(|(x, y)| Point::new(x, y));
        let mut path = BezPath::new();
        path.move_to(corners[0]);
        corners[1..].iter().for_each(|p| path.line_to(*p));
        path.close_path();
        Ok(path)
    }

    /// Its half-breadth at `x`; `None` forward or aft of it.
    pub fn half_breadth(&self, x: f64) -> Option<f64> {
        let [fore, aft] = self.half_breadths;
        let part = (x - self.from) / (self.to - self.from);
        (x > self.from && x < self.to).then_some(fore + (aft - fore) * part)
    }
}

/// What is marked on the deck in plan: the openings, and each beam from the centreline or the opening it is cut
/// for out to the side.
///
/// # Errors
/// As [`Opening::outline`]; a beam off the deck.
pub fn deck_marks(hull: &Boat, beams: &[f64], openings: &[Opening]) -> Result<Vec<Mark>, InsideError> {
    let outline = deck_outline(hull);
    let mut marks = Vec::new();
    for (i, opening) in openings.iter().enumerate() {
        let label = format!("OPENING {}", i + 1);
        marks.push(Mark { kind: MarkKind::Opening, label, path: opening.outline(hull)? });
    }
    for (i, &x) in beams.iter().enumerate() {
        let from = openings.iter().find_map(|opening| opening.half_breadth(x)).unwrap_or(0.0);
        let wood = clip(&outline, &[], Point::new(x, from), Vec2::new(0.0, 1.0));
        let last = wood.last().ok_or(InsideError::OffTheDeck { x })?;
        let line = kurbo::Line::new((x, from.max(last.p0.y)), last.p1);
        marks.push(Mark { kind: MarkKind::Beam, label: format!("BEAM {}", i + 1), path: path_of(&[line]) });
    }
    Ok(marks)
}

fn sheer_in_plan(hull: &Boat) -> Option<Curve> {
    hull.reference_lines_drawn(Plane::at_z(0.0)).pop()
}
