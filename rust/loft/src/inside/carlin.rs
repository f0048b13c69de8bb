//! Carlins: fore-and-aft pieces between two beams, their upper edge flush with the beams' (under the deck).
//!
//! At each place along the boat the deck is the round of beam through the sheer of the inside, so the upper
//! edge bends with the sheer, and with the round of beam where the piece runs out or in. The piece stands
//! plumb; its ends are the plumb faces of the beams.

use kurbo::{BezPath, Point, Vec2};
use scrieve_hull::Boat;

use super::deck_beam::DeckAt;
use super::heights::Sampled;
use super::{InsideError, check, sheer};
use crate::backbone::smooth;
use crate::marks::{clip, path_of};
use crate::{Grid, Mark, MarkKind, RoundOfBeam};

/// A carlin, drawn in its own plumb plane: (level distance from its forward end, z), m.
#[derive(Clone, Debug, PartialEq)]
pub struct Carlin {
    /// Its inboard face.
    pub outline: BezPath,
    /// Stations, and the upper edge of the outboard face.
    pub marks: Vec<Mark>,
    /// Length of its upper edge, m.
    pub length: f64,
    /// Level distance between its ends, m.
    pub level: f64,
    /// How far, at its worst, the upper edge is above (positive) or below the straight between its ends, m.
    pub spring: f64,
    /// Forward and after end.
    pub ends: [CarlinEnd; 2],
}

/// An end of a carlin. Metres and radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CarlinEnd {
    /// Aft of the forward end: the face of the beam.
    pub x: f64,
    /// Of the inboard face.
    pub half_breadth: f64,
    /// Height of its upper edge.
    pub z: f64,
    /// How far that is below the middle of the beams.
    pub below_middle: f64,
    /// Of the piece in plan with the fore-and-aft line, so the bevel of its end off square; positive where it
    /// runs out going aft.
    pub in_plan: f64,
    /// Angle in the wood, on its side, between upper edge and end.
    pub cut_on_side: f64,
    /// How far the upper edge falls outboard, from level, athwart the boat.
    pub round: f64,
}

/// What is asked of a carlin. Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CarlinOptions {
    /// After face of the beam forward of it.
    pub from: f64,
    /// Forward face of the beam abaft it.
    pub to: f64,
    /// Half-breadth of its inboard face at either end.
    pub half_breadths: [f64; 2],
    /// Its depth, plumb.
    pub depth: f64,
    /// Its size athwart, square to it.
    pub thickness: f64,
    /// Round of beam.
    pub round: RoundOfBeam,
    /// Deduction from the record's surface.
    pub inside: f64,
}

/// Spots along a carlin: a fair sheer over a few inches is an arc to a micrometre.
const CARLIN_SPOTS: usize = 32;

/// A carlin.
///
/// # Errors
/// Lengths that are none, ends out of order or off the hull, a half-breadth at or past the side, a round of
/// beam that makes no arc so wide.
pub fn carlin(hull: &Boat, options: &CarlinOptions) -> Result<Carlin, InsideError> {
    let &CarlinOptions { from, to, half_breadths: [fore, aft], depth, thickness, round, inside } = options;
    check(&[
        ("length of the carlin", to - from, true),
        ("half-breadth of the carlin", fore, false),
        ("half-breadth of the carlin", aft, false),
        ("depth of the carlin", depth, true),
        ("thickness of the carlin", thickness, true),
        ("deduction", inside, false),
    ])?;
    let in_plan = (aft - fore).atan2(to - from);
    let outboard = thickness / in_plan.cos();
    let inboard = |x: f64| fore + (aft - fore) * (x - from) / (to - from);
    let run = |x: f64| (x - from) / in_plan.cos();
    let mut faces: [Vec<(f64, f64)>; 2] = [Vec::new(), Vec::new()];
    let mut ends = Vec::new();
    for i in 0..=CARLIN_SPOTS {
        let x = from + (to - from) * i as f64 / CARLIN_SPOTS as f64;
        let side = sheer(hull, x, inside)?;
        let deck = DeckAt::new(round, Point::new(side.p[1], side.p[2]))?;
        let y = inboard(x);
        if y + outboard >= deck.half_breadth() {
            let most = deck.half_breadth();
            return Err(InsideError::PastTheSide { x, half_breadth: y + outboard, most });
        }
        faces[0].push((run(x), deck.height(y)?));
        faces[1].push((run(x), deck.height(y + outboard)?));
        if i == 0 || i == CARLIN_SPOTS {
            ends.push((x, y, deck.height(y)?, deck.fall(y)?));
        }
    }
    let upper = Sampled::new(faces[0].clone());
    let level = run(to);
    let straight = |s: f64| ends[0].2 + (ends[1].2 - ends[0].2) * s / level;
    let off = faces[0].iter().map(|(s, z)| (z - straight(*s)) * level / level.hypot(ends[1].2 - ends[0].2));
    let spring = off.max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
    let radius = round.radius().ok_or(InsideError::NoRound(round))?;
    let end = |(x, half_breadth, z, below_middle): (f64, f64, f64, f64), s: f64, way: f64| CarlinEnd {
        x,
        half_breadth,
        z,
        below_middle,
        in_plan,
        cut_on_side: std::f64::consts::FRAC_PI_2 + way * upper.at(s).1.atan(),
        round: (half_breadth / radius).asin(),
    };
    let drawn =
        |face: &[(f64, f64)]| smooth(&face.iter().map(|&(s, z)| Point::new(s, z)).collect::<Vec<_>>());
    let edge = drawn(&faces[0]);
    let length = edge.segments().map(|s| kurbo::ParamCurveArclen::arclen(&s, 1e-7)).sum();
    let mut outline = edge.clone();
    let lower = (kurbo::Affine::translate((0.0, -depth)) * edge).reverse_subpaths();
    if let Some(kurbo::PathEl::MoveTo(p)) = lower.elements().first() {
        outline.line_to(*p);
    }
    outline.extend(lower.elements().iter().skip(1).copied());
    outline.close_path();
    let mut marks = Vec::new();
    for (name, x) in Grid::of(hull).stations.into_iter().filter(|(_, x)| *x > from && *x < to) {
        let lines = clip(&outline, &[], Point::new(run(x), 0.0), Vec2::new(0.0, 1.0));
        marks.push(Mark { kind: MarkKind::Station, label: name, path: path_of(&lines) });
    }
    let label = "OUTBOARD FACE".to_owned();
    marks.push(Mark { kind: MarkKind::OtherFace, label, path: drawn(&faces[1]) });
    let ends = [end(ends[0], 0.0, 1.0), end(ends[1], level, -1.0)];
    Ok(Carlin { outline, marks, length, level, spring, ends })
}
