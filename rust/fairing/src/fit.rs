//! The fit: reading by reading onto one surface.
//!
//! Stem and stern are faired in profile, every line on its own, and then lines and fields together as one
//! Gaussian process (`joint`), in a few rounds of Gauss and Newton; slips are looked for before and after
//! its parameters are chosen by restricted likelihood. The posterior mean becomes the surface.

pub(crate) mod again;
pub(crate) mod cause;
pub(crate) mod certainty;
pub(crate) mod draws;
pub(crate) mod ends;
pub(crate) mod evidence;
pub(crate) mod impossible;
pub(crate) mod judge;
pub(crate) mod many;
pub(crate) mod residual;
pub(crate) mod robust;
pub(crate) mod rounding;
pub(crate) mod unsure;
pub(crate) mod ways;

use std::sync::Arc;

use scrieve_notation::Mark;
use scrieve_offsets::{Axis, Block, CellId, LineReading, ProfileSpot, RefLine, Spot, Survey};

use crate::again::Kept;
use crate::backbone::{Backbone, GAIN, Nail, PLAINLY, Place};
use crate::carry::{Carried, carry};
use crate::certainty::Certainty;
use crate::draws::Draws;
use crate::evidence::{Out, Which};
use crate::facts::{Doubted, OffFact, Otherwise};
use crate::field::{Theta, with_end};
use crate::frame::{AfterEdge, Frame, LEAN, carried_down};
use crate::impossible::impossible;
use crate::joint::{Functional, Joint, Row};
use crate::judge::{Doubts, judge_and_fair};
use crate::keel::{Keel, Line};
use crate::lines::{FittedLine, LineDatum, LinePrior, USUAL_HEIGHTS, likeliest_line, usual};
use crate::robust::{DOUBTED_SD, Judged, judge_line};
use crate::unsure::{Unsure, unsure};
use crate::{BSpline, Options, Residual, Surface};

/// The surface is said to stray from the fit by more than this, m: less is finer than a mould is cut.
const TO_TELL_M: f64 = 2e-4;

/// Stations with a spot between rabbet and sheer that a hull without chines needs at least.
const LEAST_STATIONS: usize = 3;
/// A line of no more readings than this keeps them all: any three lie on some fair line, and one more says little.
const SCARCE: usize = 4;
/// Least and greatest stiffness: beyond these a batten is a string or a beam.
const STIFFNESS: (f64, f64) = (0.1, 10.0);
/// What is left of the noise of a held reading, in lengths of the boat: a hundredth of a millimetre or less.
const HELD: f64 = 1e-6;
/// No reading that is not held is worth more, m, however many places it is written with: no boat is a Gaussian process to a
/// hundredth of a millimetre, and what she is not would be taken for slips.
const FINEST: f64 = 1e-4;
/// Spots no farther than this, in t, from the first or the last are of an outermost section.
const OUTERMOST: f64 = 0.01;
/// Nearer than this to a stem, in lengths of the boat, a spot says nothing of the planking.
const ON_THE_STEM: f64 = 0.002;
/// Hulls that explain the readings alike are said to differ where they lie farther apart than this, mm.
const UNSETTLED: f64 = 3.0;
/// Places along and across at which what is unsure abaft the last station is looked for.
const ABAFT: (usize, usize) = (24, 12);
/// So many standard deviations off is the farthest to be reckoned with there: the parameters, held fast, know no better; over
/// known hulls the worst place was up to 3.6 off.
const FARTHEST_SD: f64 = 4.0;
/// A side tumbles home where it leans in by more than this part of what its chord leans out.
const TUMBLES: f64 = 0.3;
/// An end may be round in plan where the sheer makes for more than this part of its last half-breadth there.
const FULL: f64 = 0.4;
/// Slopes ∂w/∂v beyond this are taken for this: the section would run back.
const STEEPEST: f64 = 0.95;
/// And below this where a section tumbles home.
const INWARD: f64 = -4.0;
/// And above this where w leans athwartships: a floor.
const OUTWARD: f64 = 12.0;
/// Least part of a reading's noise that counts square to the section; readings along it would else be exact.
const LEAST_SQUARE: f64 = 0.08;
/// Spots outside these v, or beyond this |w|, are slips of a foot rather than shapes.
const WILD: (f64, f64, f64) = (-0.04, 1.06, 0.62);
/// Spots less than this below the rabbet or above the sheer, m, lie on it: those are not quite what they are taken for.
const BEYOND_EDGES: f64 = 6e-3;
/// Half-breadths of the rabbet that differ by more than this part of the length are a flat bottom's edge, and no siding.
const FLAT: f64 = 0.02;
/// Places of a sternpost below a transom at which the planking is held to its side.
const ON_POST: usize = 12;
/// A keel that bends up into such a post parts from it where it has turned no more than this, radians: abaft it goes on
/// straight, under the water.
const HEEL: f64 = 0.15;
/// How much farther abaft the transom's plane than such a post stands the frame reaches.
const PAST: f64 = 1.2;
/// How far inside a post its planking's angle is taken, in lengths of the boat, and steps to find it there.
const INSIDE: f64 = 0.01;
const STEPS_ASIDE: usize = 4;
/// A line abaft the heel rises by no less than this, radians.
const LEAST_RISE: f64 = 0.05;
/// How much better than a post's place is told its half-siding is met.
const ON_SIDE: f64 = 0.1;
/// A transom on a sternpost turns down within this part of its foot's height above the heel.
const TURNED: f64 = 0.35;
/// Least part of the after edge, in v, that is a post or a transom.
const LEAST_PART: f64 = 0.01;
/// Places of a post from which its v is found, and spans of the spline of its t.
const TABLE: usize = 120;
const EDGE_SPANS: usize = 64;
/// Spans of the splines x over the height of stem and sternpost.
const PROFILE_SPANS: usize = 40;
/// A piece of the backbone with no more readings of its own than this keeps each of them.
const FEW_OF_PIECE: usize = 3;
/// Rounds in which a transom's foot and the backbone find one another; each leaves a tenth or so of the way.
const SETTLING: usize = 6;
/// Spans of the splines that lines are carried on.
const LINE_SPANS: usize = 40;
/// How much closer than evenly the breaks of lines and patches stand at either end, as a part.
const CLOSER: f64 = 0.42;

/// A faired hull.
#[derive(Clone, Debug)]
pub struct Faired {
    /// The surface.
    pub surface: Surface,
    /// One for every reading used.
    pub residuals: Vec<Residual>,
    /// What the fit has to say: assumptions made, readings that stood in the way.
    pub remarks: Vec<String>,
    /// Stretches of the planking that the readings leave open, the worst first.
    pub unsure: Vec<Unsure>,
    /// Those of its remarks that say where else the planking is unsettled.
    pub(crate) unsettled: Vec<String>,
    /// Facts that no reading tells again, each with how far it could be off unseen. Nothing speaks against them: no remarks.
    pub not_judged: Vec<String>,
    certainty: Option<Arc<Certainty>>,
    pub(crate) kept: Option<Arc<Kept>>,
}

impl PartialEq for Faired {
    /// By what was faired; the same readings give the same certainty.
    fn eq(&self, other: &Self) -> bool {
        self.surface == other.surface && self.residuals == other.residuals && self.remarks == other.remarks
    }
}

impl Faired {
    /// A surface that is known exactly, without readings.
    pub fn of_surface(surface: Surface) -> Self {
        Faired {
            surface,
            residuals: Vec::new(),
            remarks: Vec::new(),
            unsure: Vec::new(),
            unsettled: Vec::new(),
            not_judged: Vec::new(),
            certainty: None,
            kept: None,
        }
    }

    /// One standard deviation of the surface along its normal at (u, v) of a patch, m; parameters are taken
    /// at the nearest place on the patch, and `patch` at the last there is.
    pub fn sd(&self, patch: usize, u: f64, v: f64) -> f64 {
        self.certainty.as_ref().map_or(0.0, |c| c.sd(&self.surface, patch, u, v))
    }

    /// Whether facts of the table, such as how far aft a station stands, are off by what the rest of the boat says;
    /// remarks name them.
    pub fn doubts_facts(&self) -> bool {
        self.kept.as_ref().is_some_and(|kept| !kept.doubts.facts.is_empty())
    }

    /// A survey as this hull was faired of it: facts that the rest of the boat puts elsewhere, and that were taken so,
    /// moved there. Remarks name them.
    pub fn facts_taken(&self, survey: &Survey) -> Survey {
        let facts = self.kept.iter().flat_map(|kept| &kept.doubts.facts);
        let taken: Vec<OffFact> = facts.filter(|f| f.taken).map(|f| f.off).collect();
        Otherwise::applied(&taken, survey)
    }

    /// Hulls the readings leave possible, `count` of them, drawn by a seed from the distribution whose mean is
    /// this one: the same figure taken of each shows how sure it is. The first are the same whatever the count.
    /// A surface known exactly comes back as it is. A draw knows no readings and no sd of its own.
    ///
    /// # Errors
    /// [`FairingError::Contradiction`] where the readings leave so much open that a draw is no hull.
    pub fn draws(&self, count: usize, seed: u64) -> Result<Vec<Faired>, FairingError> {
        let (Some(certainty), Some(kept)) = (&self.certainty, &self.kept) else {
            return Ok(vec![Faired::of_surface(self.surface.clone()); count]);
        };
        Draws::new(certainty, kept, &self.residuals)?.many(count, seed)
    }
}

/// Why a survey cannot be faired.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FairingError {
    /// There is too little to make a surface of.
    #[error("too few readings for a surface: {0}")]
    TooFew(String),
    /// Readings contradict each other so that no hull can pass near them.
    #[error("the readings contradict each other: {0}")]
    Contradiction(String),
    /// The same, with where to begin.
    #[error("{0}")]
    NoHull(String),
}

/// Refuses readings that are no numbers.
pub(crate) fn sound(survey: &Survey) -> Result<(), FairingError> {
    let numbers = survey.lines.iter().flat_map(|l| [l.x, l.value, l.sd]);
    let numbers = numbers.chain(survey.spots.iter().flat_map(|s| [s.x, s.y, s.z, s.sd]));
    let profiles = survey.stem.iter().chain(&survey.stern).flat_map(|s| [s.x, s.z, s.sd]);
    if numbers.chain(profiles).any(|v| !v.is_finite()) || !survey.half_siding.is_finite() {
        return Err(FairingError::Contradiction("a reading that is not a number".to_string()));
    }
    Ok(())
}

/// Fairs a survey.
pub fn fair(survey: &Survey, options: &Options) -> Result<Faired, FairingError> {
    sound(survey)?;
    let bottom = on_bottom(survey);
    if !bottom.is_empty() {
        let kept = survey.spots.iter().filter(|s| !bottom.contains(&s.cell)).copied().collect();
        let mut faired = fair(&Survey { spots: kept, ..survey.clone() }, options)?;
        faired.remarks.push(format!(
            "{} spots lie on the flat bottom, inside the edge that the rabbet's half-breadths give, and say nothing of \
             the sides",
            bottom.len()
        ));
        return Ok(faired);
    }
    judge_and_fair(survey, options)
}

/// What is left unsure between the last station and a sternpost under a transom, where that is more than a builder can pass over.
fn unsure_abaft(certainty: &Certainty, surface: &Surface, last: f64) -> Option<String> {
    let patch = surface.patches.first()?;
    let at = |i: usize, n: usize| i as f64 / n as f64;
    let places = (1..ABAFT.0).flat_map(|i| (1..ABAFT.1).map(move |j| (at(i, ABAFT.0), at(j, ABAFT.1))));
    let abaft =
        places.map(|(u, v)| ((1.0 - 0.5 * u, v), patch.point(1.0 - 0.5 * u, v))).filter(|(_, p)| p[0] > last);
    let worst = abaft.map(|(at, p)| (1e3 * FARTHEST_SD * certainty.least_sd(surface, 0, at), p));
    let (mm, [x, y, z]) = worst.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|w| w.0 > UNSETTLED)?;
    Some(format!(
        "between the last station and the sternpost the planking may be off by {mm:.0} mm, most near x = {x:.2} m, y = \
         {y:.2} m, z = {z:.2} m: a spot or two there would tell"
    ))
}

/// What spots are usually read to, m.
fn usual_tolerance(survey: &Survey) -> f64 {
    let mut tolerances: Vec<f64> = survey.spots.iter().map(|s| s.tolerance).collect();
    tolerances.sort_by(f64::total_cmp);
    tolerances.get(tolerances.len() / 2).copied().unwrap_or_default()
}

/// Whether half-breadths of the rabbet differ so much that they are a flat bottom's edge.
fn edge_of_bottom(values: impl Iterator<Item = f64>, length: f64) -> bool {
    let (low, high, count) = values.fold((f64::MAX, f64::MIN, 0), |e, y| (e.0.min(y), e.1.max(y), e.2 + 1));
    count > 2 && high - low > FLAT * length
}

/// Spots of a flat bottom, inside of the edge read at their station.
fn on_bottom(survey: &Survey) -> Vec<CellId> {
    let edge = |l: &&LineReading| l.line == RefLine::Rabbet && l.axis == Axis::HalfBreadth;
    let xs = || survey.lines.iter().map(|l| l.x);
    let length = xs().fold(f64::MIN, f64::max) - xs().fold(f64::MAX, f64::min);
    if !edge_of_bottom(survey.lines.iter().filter(edge).map(|l| l.value), length) {
        return Vec::new();
    }
    let inside = |s: &&Spot| {
        let own = survey.lines.iter().filter(edge).find(|l| l.cell.column == s.cell.column);
        s.mark != Mark::Held
            && s.cell.block != Block::Points
            && own.is_some_and(|l| s.y < l.value - 2.0 * (l.tolerance + s.tolerance))
    };
    survey.spots.iter().filter(inside).map(|s| s.cell).collect()
}

/// A spot placed in the frame.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Placed {
    pub strake: usize,
    pub t: f64,
    pub v: f64,
    /// ∂w/∂v of the last round.
    pub slope: f64,
    /// Lies on the stem, or where no section is: left out.
    pub idle: bool,
}

/// What a fit takes for granted before it looks at the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Premise {
    /// How many times noisier readings are than they are said to be.
    pub noise: f64,
    /// Where stem and sternpost part from the keel if the line bends smoothly there: how far in angle from the keel to
    /// the steepest of them. At one half the surface runs out on stem and keel alike; near one the sections hang
    /// from the forefoot too.
    pub partings: [f64; 2],
    /// Which ends are round in plan; see [`Frame::round`].
    pub round: [bool; 2],
    /// Whether sections are taken to tumble home; see [`LEAN`].
    pub lean: bool,
    /// Whether w leans athwartships over a sternpost under a transom; not where the keel sweeps up to a counter.
    pub across: bool,
    /// Whether the backbone breaks only where its readings show that beyond doubt.
    pub smooth: bool,
}

impl Default for Premise {
    fn default() -> Self {
        Premise {
            noise: 1.0,
            partings: [PARTINGS[0]; 2],
            round: [false; 2],
            lean: false,
            across: true,
            smooth: false,
        }
    }
}

/// Partings tried; see [`Premise::partings`].
pub(crate) const PARTINGS: [f64; 3] = [0.5, 0.85, 0.95];

/// A fit under way.
#[derive(Clone, Debug)]
pub(crate) struct Fit<'a> {
    pub survey: &'a Survey,
    pub options: &'a Options,
    /// How much stiffer than the readings call for: 1 while they are judged.
    pub stiffness: f64,
    /// How much stiffer the hull is then faired.
    pub asked_stiffness: f64,
    /// What is taken for granted.
    pub premise: Premise,
    pub frame: Frame,
    /// Readings of the backbone in order from the stem's head, each with where it comes from.
    pub nails: Vec<(Nail, Which)>,
    /// The backbone; none before its readings are looked at.
    pub keel: Option<Arc<Keel>>,
    /// Readings of the backbone that were left out when it was faired.
    keel_out: Out,
    /// How stiff it was then.
    keel_stiffness: f64,
    /// Readings of lines, and the t of each: of the rabbet, a written place on the backbone where it is
    /// the stem's or the sternpost's.
    pub line_readings: Vec<usize>,
    pub line_t: Vec<f64>,
    /// Written places of the spots of stem and stern, on the backbone.
    pub profile_t: Vec<(Which, f64)>,
    /// The same of readings at a corner, on the second piece that passes them.
    pub shared_t: Vec<(Which, f64)>,
    /// Which readings those are, each with the piece.
    shared: Vec<(Which, usize)>,
    /// Height and half-breadth of lines at their ends: (line, t, value, sd), m.
    pub conditions: Vec<(usize, f64, f64, f64)>,
    pub placed: Vec<Placed>,
    /// At the places of a sternpost under a transom, as the last round left them: ∂w/∂v, and how the half-breadth changes
    /// square to the post.
    pub along_post: Vec<(f64, f64)>,
    pub priors: Vec<Line>,
    /// How much of the way to a solution a round goes.
    pub step: f64,
    /// Strakes that are straight across; see [`Settled::straightened`](crate::evidence::Settled::straightened).
    pub straight: Vec<bool>,
    /// Whether stem and sternpost go on parting where they do, and readings of the backbone stay on their pieces: where a
    /// fit swings between two such choices, either is better than both.
    pub holds: bool,
    /// The backbone's unknowns as the last round left them; none where it was faired anew.
    unknowns: Option<Vec<f64>>,
    pub remarks: Vec<String>,
}

pub(crate) fn worth(sd: f64, mark: Mark, length: f64) -> f64 {
    let least = HELD * length;
    if mark == Mark::Held { least } else { sd.max(FINEST) }
}

pub(crate) fn line_index(line: RefLine, axis: Axis, chines: usize) -> usize {
    let edge = match line {
        RefLine::Rabbet => return 0,
        RefLine::Chine(i) => i.min(chines.saturating_sub(1)) + 1,
        RefLine::Sheer => chines + 1,
    };
    2 * edge - usize::from(axis == Axis::HalfBreadth)
}

fn line_name(l: usize, chines: usize) -> &'static str {
    match (l, l % 2) {
        (0, _) => "heights of the rabbet",
        (l, 0) if l == 2 * chines + 2 => "heights of the sheer",
        (l, 1) if l == 2 * chines + 1 => "half-breadths of the sheer",
        (_, 0) => "heights of a chine",
        _ => "half-breadths of a chine",
    }
}

/// `n` even spans of 0..1.
pub(crate) fn even_breaks(n: usize) -> Vec<f64> {
    (0..=n).map(|i| i as f64 / n as f64).collect()
}

/// `n` spans of 0..1, closer toward either end.
pub(crate) fn breaks(n: usize) -> Vec<f64> {
    use std::f64::consts::PI;
    let closer = |t: f64| t - CLOSER * (2.0 * PI * t).sin() / (2.0 * PI);
    // The second half is the first turned round, to the last bit.
    let at = |i: usize| {
        if 2 * i <= n { closer(i as f64 / n as f64) } else { 1.0 - closer((n - i) as f64 / n as f64) }
    };
    (0..=n).map(at).collect()
}

/// Breaks of the splines that lines are carried on.
pub(crate) fn line_breaks() -> Vec<f64> {
    breaks(LINE_SPANS)
}

pub(crate) fn spline(f: impl FnMut(f64) -> f64) -> BSpline {
    BSpline::interpolating(5, &line_breaks(), f)
}

/// A spline of the straight line through (0, a) and (1, b).
fn straight(a: f64, b: f64) -> BSpline {
    BSpline::interpolating(1, &[0.0, 1.0], |t| a + t * (b - a))
}

/// Least and greatest x of spots.
fn extent(spots: &[ProfileSpot]) -> Option<(f64, f64)> {
    let of =
        |e: Option<(f64, f64)>, s: &ProfileSpot| Some(e.map_or((s.x, s.x), |e| (e.0.min(s.x), e.1.max(s.x))));
    spots.iter().fold(None, of)
}

/// x over the height between `low` (0) and `high` (1).
fn profile_spline(x: impl Fn(f64) -> f64, low: f64, high: f64) -> BSpline {
    let breaks: Vec<f64> =
        (0..=PROFILE_SPANS).map(|i| 1.1 * i as f64 / PROFILE_SPANS as f64 - 0.05).collect();
    BSpline::interpolating(5, &breaks, |zeta| x(low + zeta * (high - low)))
}

/// The readings of the backbone in order from the stem's head: down the stem, aft along the keel, up the sternpost.
/// Heights of the rabbet within the length of a profile stand where they lie along it.
fn nails(survey: &Survey, length: f64) -> Vec<(Nail, Which)> {
    let of_spot =
        |s: &ProfileSpot| Nail { x: s.x, z: s.z, sd: worth(s.sd, s.mark, length), along: (0.0, 0.0) };
    let stem = survey.stem.iter().enumerate().map(|(i, s)| (of_spot(s), Which::Stem(i)));
    let stern = survey.stern.iter().enumerate().rev().map(|(i, s)| (of_spot(s), Which::Stern(i)));
    let lowest = |spots: &[ProfileSpot]| spots.iter().min_by(|a, b| a.z.total_cmp(&b.z)).map(|s| s.x);
    let (from, to) = (lowest(&survey.stem), lowest(&survey.stern));
    let slant = survey.transom.map_or((0.0, 1.0), |t| {
        let (dx, dz) = (t.head.0 - t.foot.0, t.head.1 - t.foot.1);
        (dx / dx.hypot(dz), dz / dx.hypot(dz))
    });
    let rabbet = survey.lines.iter().enumerate();
    let rabbet = rabbet.filter(|(_, l)| l.line == RefLine::Rabbet && l.axis == Axis::Height);
    let mut rabbet: Vec<(Nail, Which)> = rabbet
        .map(|(i, l)| {
            let along = if l.on_transom { slant } else { (0.0, 1.0) };
            (Nail { x: l.x, z: l.value, sd: worth(l.sd, l.mark, length), along }, Which::Line(i))
        })
        .collect();
    rabbet.sort_by(|a, b| a.0.x.total_cmp(&b.0.x));
    let on_transom = |which: Which| matches!(which, Which::Line(i) if survey.lines[i].on_transom);
    let beside = |n: &(Nail, Which)| {
        !on_transom(n.1) && (from.is_some_and(|from| n.0.x <= from) || to.is_some_and(|to| n.0.x >= to))
    };
    let mut chain: Vec<(Nail, Which)> = stem.collect();
    chain.extend(rabbet.iter().filter(|n| !beside(n) && !on_transom(n.1)));
    chain.extend(stern);
    chain.extend(rabbet.iter().filter(|n| on_transom(n.1)));
    // Where along the chain the others belong.
    let mut at = vec![0.0];
    for pair in chain.windows(2) {
        let gap = (pair[1].0.x - pair[0].0.x).hypot(pair[1].0.z - pair[0].0.z);
        at.push(at[at.len() - 1] + gap);
    }
    let mut placed: Vec<(f64, (Nail, Which))> = at.iter().copied().zip(chain.iter().copied()).collect();
    for &nail in rabbet.iter().filter(|n| beside(n)) {
        let foot = chain.windows(2).zip(&at).map(|(pair, from)| {
            let (a, b) = ((pair[0].0.x, pair[0].0.z), (pair[1].0.x, pair[1].0.z));
            let (dx, dz) = (b.0 - a.0, b.1 - a.1);
            let whole = dx.hypot(dz).max(1e-9 * length);
            let part = (((nail.0.x - a.0) * dx + (nail.0.z - a.1) * dz) / (whole * whole)).clamp(0.0, 1.0);
            let off = (nail.0.x - a.0 - part * dx).hypot(nail.0.z - a.1 - part * dz);
            (off, from + part * whole)
        });
        let foot = foot.min_by(|a, b| a.0.total_cmp(&b.0)).map_or(0.0, |f| f.1);
        placed.push((foot, nail));
    }
    placed.sort_by(|a, b| a.0.total_cmp(&b.0));
    placed.into_iter().map(|p| p.1).collect()
}

impl<'a> Fit<'a> {
    /// The frame of a survey without the readings left `out`, and what else is given before anything is faired.
    pub(crate) fn begin(survey: &'a Survey, options: &'a Options, out: &Out) -> Result<Self, FairingError> {
        let mut remarks = Vec::new();
        let asked = options.stiffness;
        let asked_stiffness = if asked.is_nan() { 1.0 } else { asked.clamp(STIFFNESS.0, STIFFNESS.1) };
        if asked_stiffness != asked {
            remarks.push(format!("no batten has stiffness {asked}: {asked_stiffness} is used"));
        }
        let all_x = || survey.lines.iter().map(|l| l.x).chain(survey.spots.iter().map(|s| s.x));
        let first = all_x().fold(f64::MAX, f64::min);
        let last = all_x().fold(f64::MIN, f64::max);
        if first > last {
            return Err(FairingError::TooFew("none at all".to_string()));
        }
        let (mut x_a, mut over_a) = (first, 0.0);
        if let Some((low, high)) = extent(&survey.stem) {
            (x_a, over_a) = (0.5 * (low + high), 0.5 * (high - low));
        }
        // Heights at either end, before anything is faired: a profile's, the transom's, or the nearest.
        let end_height = |line: RefLine, fore: bool| {
            let kept = survey.lines.iter().enumerate().filter(|(i, _)| !out.contains(&Which::Line(*i)));
            let own = kept.map(|(_, l)| l).filter(|l| l.line == line && l.axis == Axis::Height);
            let key = |l: &&LineReading| if l.on_transom { f64::MAX } else { l.x };
            let nearest = if fore {
                own.min_by(|a, b| key(a).total_cmp(&key(b)))
            } else {
                own.max_by(|a, b| key(a).total_cmp(&key(b)))
            };
            let profile = if fore { &survey.stem } else { &survey.stern };
            let heights = profile.iter().map(|s| s.z);
            let own = match line {
                RefLine::Rabbet => heights.min_by(f64::total_cmp),
                RefLine::Sheer if fore || survey.transom.is_none() => heights.max_by(f64::total_cmp),
                _ => None,
            };
            own.or(nearest.map(|l| l.value))
        };
        let chines = survey.chines;
        let missing = |l: usize| {
            FairingError::TooFew(format!(
                "no {}; give them at {LEAST_STATIONS} stations or more, the ends among them",
                line_name(l, chines)
            ))
        };
        let ends = |line: RefLine| {
            let l = line_index(line, Axis::Height, chines);
            Ok((end_height(line, true).ok_or(missing(l))?, end_height(line, false).ok_or(missing(l))?))
        };
        let (rabbet, sheer) = (ends(RefLine::Rabbet)?, ends(RefLine::Sheer)?);
        let (mut x_b, mut over_b) = (last, 0.0);
        let heel = survey.stern.iter().map(|s| s.z).min_by(f64::total_cmp);
        let turned = survey
            .transom
            .zip(heel)
            .map(|(t, heel)| TURNED * (t.foot.1 - heel))
            .filter(|within| *within > 0.0);
        // The planking ends on the transom's edge: at the sheer as far forward as the transom's curve brings it.
        let breadths = survey.lines.iter().enumerate().filter(|(i, l)| {
            l.line == RefLine::Sheer && l.axis == Axis::HalfBreadth && !out.contains(&Which::Line(*i))
        });
        let key = |l: &LineReading| if l.on_transom { f64::MAX } else { l.x };
        let greatest = breadths.clone().map(|(_, l)| l.value - survey.half_siding).fold(0.0, f64::max);
        let last_breadth = breadths.map(|(_, l)| l).max_by(|a, b| key(a).total_cmp(&key(b)));
        let breadth = last_breadth.map_or(0.0, |l| l.value);
        let after: Vec<f64> = match survey.transom {
            // Over a sternpost as without: carried down as far as the heel.
            Some(t) => {
                let low = turned
                    .map_or_else(|| t.x(0.0, rabbet.1), |within| carried_down(&t, within, 0.0, rabbet.1));
                vec![low, t.x(breadth, sheer.1)]
            }
            None => extent(&survey.stern).map_or(Vec::new(), |e| vec![e.0, e.1]),
        };
        // A post may stand abaft the plane of the transom on it.
        let past = survey.transom.zip(turned).map_or(0.0, |(t, within)| {
            survey.stern.iter().map(|s| s.x - carried_down(&t, within, 0.0, s.z)).fold(0.0, f64::max)
        });
        if !after.is_empty() {
            let (low, high) = after.iter().fold((f64::MAX, f64::MIN), |e, x| (e.0.min(*x), e.1.max(*x)));
            (x_b, over_b) = (0.5 * (low + high), 0.5 * (high - low));
        }
        let aft = if past > 0.0 { (x_b - x_a) / (x_b - x_a + PAST * past) } else { 1.0 };
        let length = x_b - x_a;
        if length.is_nan() || length <= 1e-6 {
            return Err(FairingError::TooFew(
                "all stand at one station; three are needed at least".to_string(),
            ));
        }
        let mut lines = vec![straight(rabbet.0, rabbet.1)];
        for c in 0..chines {
            let z = ends(RefLine::Chine(c))?;
            lines.extend([straight(0.0, 0.0), straight(z.0, z.1)]);
        }
        lines.extend([straight(0.0, 0.0), straight(sheer.0, sheer.1)]);
        let frame = Frame {
            x_a,
            x_b,
            aft,
            turned,
            knuckle: false,
            breadth: greatest,
            post: None,
            stem: None,
            stern: None,
            transom: survey.transom.map(|t| (t, (rabbet.1, sheer.1))),
            half_siding: straight(survey.half_siding, survey.half_siding),
            lines,
            fade: Frame::fades(length, over_a, over_b),
            sharp: (false, false),
            lean: 0.0,
            round: (0.0, 0.0),
            square: Vec::new(),
        };
        let line_readings = (0..survey.lines.len())
            .filter(|&i| survey.lines[i].line != RefLine::Rabbet || survey.lines[i].axis == Axis::Height)
            .collect();
        Ok(Fit {
            survey,
            options,
            stiffness: 1.0,
            asked_stiffness,
            premise: Premise::default(),
            frame,
            nails: nails(survey, length),
            keel: None,
            keel_out: Out::new(),
            keel_stiffness: 1.0,
            line_readings,
            line_t: Vec::new(),
            profile_t: Vec::new(),
            shared_t: Vec::new(),
            shared: Vec::new(),
            conditions: Vec::new(),
            placed: vec![Placed::default(); survey.spots.len()],
            along_post: Vec::new(),
            priors: Vec::new(),
            step: 1.0,
            straight: Vec::new(),
            holds: false,
            unknowns: None,
            remarks,
        })
    }

    /// The same lines and frame, with readings where another survey of as many has them.
    pub(crate) fn among<'b>(&self, survey: &'b Survey) -> Fit<'b>
    where
        'a: 'b,
    {
        let mut fit: Fit<'b> = self.clone();
        fit.survey = survey;
        let transom = fit.frame.transom.zip(survey.transom);
        fit.frame.transom = transom.map(|((_, heights), plane)| (plane, heights));
        fit.place_again();
        fit
    }

    /// The backbone wider by so much on either side, m, and the lines that end on its side with it.
    pub(crate) fn widen_backbone(&mut self, by: f64) {
        self.frame.half_siding.coefficients.iter_mut().for_each(|c| *c += by);
        self.conditions.iter_mut().filter(|c| c.0 % 2 == 1).for_each(|c| c.2 += by);
        self.place_again();
    }

    pub fn index(&self, l: &LineReading) -> usize {
        line_index(l.line, l.axis, self.survey.chines)
    }

    /// t of every reading of a line.
    fn place_lines(&mut self) {
        let curved = self.frame.transom.is_some_and(|t| t.0.curve_radius.is_some());
        let place = |i: usize| {
            let l = &self.survey.lines[i];
            if let Some(t) = self.on_an_end(i) {
                return t;
            }
            if l.on_transom && self.frame.transom.is_some() {
                return self.frame.aft;
            }
            let edge = self.index(l).div_ceil(2);
            let at = |y: f64| {
                let t = self.frame.t(l.x, y, |t| match l.line {
                    RefLine::Rabbet => 0.0,
                    RefLine::Sheer => 1.0,
                    RefLine::Chine(_) if l.axis == Axis::Height => self.frame.zeta(t, l.value),
                    RefLine::Chine(_) => self.frame.zeta(t, self.frame.edge(edge, t).1),
                });
                t.clamp(0.0, 1.0)
            };
            if l.axis == Axis::HalfBreadth {
                return at(l.value);
            }
            let mut t = at(0.0);
            if l.line != RefLine::Rabbet && curved {
                // Before a curved transom, x at one t hangs on how far out the line runs.
                for _ in 0..SETTLING {
                    t = at(self.frame.edge(edge, t).0);
                }
            }
            t
        };
        self.line_t = self.line_readings.iter().map(|&i| place(i)).collect();
        let Some(keel) = &self.keel else { return };
        let survey = self.survey;
        let spots = survey.stem.iter().enumerate().map(|(i, s)| (Which::Stem(i), s));
        let spots = spots.chain(survey.stern.iter().enumerate().map(|(i, s)| (Which::Stern(i), s)));
        let at = |which: Which, s: &ProfileSpot| Keel::written(self.on_backbone(keel, which, (s.x, s.z)));
        self.profile_t = spots.map(|(which, s)| (which, at(which, s))).collect();
        let on = |(which, piece): &(Which, usize)| {
            let (nail, _) = self.nails.iter().find(|n| n.1 == *which)?;
            let u = keel.backbone.pieces.get(*piece)?.foot((nail.x, nail.z), (0.0, 1.0), None);
            Some((*which, Keel::written(Place { piece: *piece, u })))
        };
        self.shared_t = self.shared.iter().filter_map(on).collect();
    }

    /// The piece of the backbone that a reading was faired with, if it was.
    fn own_piece(&self, keel: &Keel, which: Which) -> Option<usize> {
        let kept = || self.nails.iter().map(|n| n.1).filter(|w| !self.keel_out.contains(w));
        // Else it is the backbone of a part of these.
        if kept().count() != keel.backbone.of_nail.len() {
            return None;
        }
        kept().zip(&keel.backbone.of_nail).find(|(w, _)| *w == which).map(|(_, at)| at.piece)
    }

    /// Whether a reading of the backbone stays with its own piece wherever that goes: a piece of few swings about any that is
    /// left. One that two pieces share at a corner need not: kept beyond the corner, it turned the planking there.
    fn stays(&self, keel: &Keel, which: Which) -> bool {
        let few = || {
            let own = self.own_piece(keel, which);
            own.is_some_and(|own| {
                keel.backbone.of_nail.iter().filter(|at| at.piece == own).count() <= FEW_OF_PIECE
            })
        };
        self.holds || few()
    }

    /// Where a reading of the backbone belongs: where the line is nearest; held, on its own piece. Taken for another piece
    /// as soon as the corner passes it, it may draw the corner back, and so on without end.
    fn on_backbone(&self, keel: &Keel, which: Which, p: (f64, f64)) -> Place {
        let own = self.own_piece(keel, which).filter(|_| self.stays(keel, which)).and_then(|piece| {
            let line = keel.backbone.pieces.get(piece)?;
            Some(Place { piece, u: line.foot(p, (0.0, 1.0), None) })
        });
        own.unwrap_or_else(|| keel.backbone.nearest(p))
    }

    /// The written place of a reading of the rabbet that is the stem's or the sternpost's.
    fn on_an_end(&self, i: usize) -> Option<f64> {
        let l = &self.survey.lines[i];
        let keel = self.keel.as_ref().filter(|_| l.line == RefLine::Rabbet && l.axis == Axis::Height)?;
        let foot = |at: Place| keel.backbone.point(at).0;
        // A transom's foot is the end of the sternpost, where there is one.
        let past = |aft: f64| l.x > aft || l.on_transom;
        let beyond = keel.fore.is_some_and(|at| l.x < foot(at)) || keel.aft.is_some_and(|at| past(foot(at)));
        // At a corner it is its own piece that tells.
        let own = self.own_piece(keel, Which::Line(i)).filter(|_| self.stays(keel, Which::Line(i)));
        let of_end = own.is_some_and(|own| {
            keel.corners[0] && keel.fore.is_some_and(|at| own < at.piece)
                || keel.corners[1] && keel.aft.is_some_and(|at| own > at.piece)
        });
        (beyond || of_end).then(|| Keel::written(self.on_backbone(keel, Which::Line(i), (l.x, l.value))))
    }

    /// The half-siding, where rows give it.
    fn fair_half_siding(&mut self) {
        let length = self.frame.length();
        let data: Vec<LineDatum> = (self.survey.lines.iter())
            .filter(|l| l.line == RefLine::Rabbet && l.axis == Axis::HalfBreadth)
            .map(|l| LineDatum {
                t: if l.on_transom { self.frame.aft } else { self.frame.t(l.x, 0.0, |_| 0.0) },
                value: l.value / length,
                sd: worth(l.sd, l.mark, length) / length,
            })
            .collect();
        let straightest = LinePrior { amplitude: 0.002, ..USUAL_HEIGHTS };
        let is_edge = edge_of_bottom(data.iter().map(|d| d.value), 1.0);
        let mut data = data;
        data.sort_by(|a, b| a.t.total_cmp(&b.t));
        for (spots, t) in [(&self.survey.stem, 0.0), (&self.survey.stern, 1.0)] {
            let pointed = !spots.is_empty() && (t == 0.0 || self.survey.transom.is_none());
            let clear = data.iter().all(|d| (d.t - t).abs() > 1e-3);
            let sd = spots.iter().map(|s| s.sd).fold(f64::MAX, f64::min) / length;
            let value = self.survey.half_siding / length;
            // A stem is as wide as is said of all; so where a keel wider than that tapers toward it. Else what is said may be the
            // keel's own.
            let outermost =
                if t == 0.0 { [data.first(), data.get(1)] } else { [data.last(), data.iter().nth_back(1)] };
            let tapers = matches!(outermost, [Some(next), Some(inner)]
                if value > 0.0 && value <= next.value && next.value <= inner.value);
            if pointed && clear && (is_edge || tapers) {
                data.push(LineDatum { t, value, sd });
                data.sort_by(|a, b| a.t.total_cmp(&b.t));
            }
        }
        if is_edge {
            // The edge of a flat bottom is as curved in plan as any line.
            let usual = usual(1);
            if let Some(line) = FittedLine::new(&data, likeliest_line(&data, usual)) {
                self.frame.half_siding = spline(|t| length * line.value(t));
            }
        } else if data.len() == 1 {
            self.frame.half_siding = straight(data[0].value * length, data[0].value * length);
        } else if let Some(line) = FittedLine::new(&data, straightest).filter(|_| data.len() > 1) {
            self.frame.half_siding = spline(|t| length * line.value(t));
        }
    }

    /// Whether a section runs in toward the sheer so fast that it may run back along its chord's diagonal.
    pub(crate) fn tumbles_home(&self) -> bool {
        let survey = self.survey;
        let own = |column: usize, line: RefLine, axis: Axis| {
            let found =
                survey.lines.iter().find(|l| l.line == line && l.axis == axis && l.cell.column == column);
            found.map(|l| l.value)
        };
        survey.spots.iter().any(|spot| {
            let column = spot.cell.column;
            let low = match survey.chines {
                0 => (Some(survey.half_siding), own(column, RefLine::Rabbet, Axis::Height)),
                n => {
                    let chine = RefLine::Chine(n - 1);
                    (own(column, chine, Axis::HalfBreadth), own(column, chine, Axis::Height))
                }
            };
            let high =
                (own(column, RefLine::Sheer, Axis::HalfBreadth), own(column, RefLine::Sheer, Axis::Height));
            let ((Some(y0), Some(z0)), (Some(y1), Some(z1))) = (low, high) else { return false };
            let (breadth, height) = (y1 - y0, z1 - z0);
            spot.cell.block != Block::Points
                && spot.z < z1
                && (spot.y - y1) * height > TUMBLES * breadth * (z1 - spot.z)
                && breadth > 0.0
        })
    }

    /// Whether the sheer's last two half-breadths before a stem or sternpost make for a point so far outside it that
    /// the end may be round in plan.
    pub(crate) fn full_to_end(&self, fore: bool) -> bool {
        let Some(keel) = self.keel.as_ref().filter(|_| fore || self.survey.transom.is_none()) else {
            return false;
        };
        let (parts, spots) =
            if fore { (keel.fore, &self.survey.stem) } else { (keel.aft, &self.survey.stern) };
        let head = spots.iter().max_by(|a, b| a.z.total_cmp(&b.z));
        let Some((head, _)) = head.zip(parts) else { return false };
        let breadth = |l: &&LineReading| l.line == RefLine::Sheer && l.axis == Axis::HalfBreadth;
        let mut sheer: Vec<(f64, f64)> = (self.survey.lines.iter().filter(breadth))
            .map(|l| ((l.x - head.x).abs(), l.value - self.survey.half_siding))
            .filter(|l| l.0 > ON_THE_STEM * self.frame.length())
            .collect();
        sheer.sort_by(|a, b| a.0.total_cmp(&b.0));
        let [a, b, ..] = sheer[..] else { return false };
        let at_end = a.1 - a.0 * (b.1 - a.1) / (b.0 - a.0).max(1e-9);
        at_end > FULL * a.1
    }

    /// Where stem and stern hold the ends of the lines.
    fn hold_ends(&mut self) {
        let (top, length) = (2 * self.survey.chines + 2, self.frame.length());
        let Some(keel) = self.keel.clone() else { return };
        let ends = [(keel.fore, 0.0, &self.survey.stem), (keel.aft, 1.0, &self.survey.stern)];
        let mut sharp = [false; 2];
        self.conditions.clear();
        for ((parts, t, spots), sharp) in ends.into_iter().zip(&mut sharp) {
            if t == 1.0 && self.frame.transom.is_some() {
                continue;
            }
            let half_siding = self.frame.half_siding.value(t);
            if parts.is_some() {
                let sd = self.premise.noise * spots.iter().map(|s| s.sd).fold(f64::MAX, f64::min);
                let head = spots.iter().map(|s| s.z).fold(f64::MIN, f64::max);
                self.conditions.push((top, t, head, sd));
                *sharp = true;
            } else {
                // Without a profile, a sheer that ends at the half-siding ends on a plumb stem or sternpost.
                let x = if t == 0.0 { self.frame.x_a } else { self.frame.x_b };
                *sharp = self.survey.lines.iter().any(|l| {
                    l.line == RefLine::Sheer
                        && l.axis == Axis::HalfBreadth
                        && !l.on_transom
                        && (l.x - x).abs() < HELD * length
                        && (l.value - half_siding).abs() <= 2.0 * l.tolerance
                });
            }
            if *sharp {
                for l in (1..top).step_by(2) {
                    self.conditions.push((l, t, half_siding, HELD * length));
                }
            }
        }
        self.frame.sharp = (sharp[0], sharp[1]);
    }

    fn datum(&self, k: usize) -> LineDatum {
        let (l, length) = (&self.survey.lines[self.line_readings[k]], self.frame.length());
        let t = self.line_t[k];
        let (value, sd) = if t < 0.0 {
            let (_, off, sd) = self.off_backbone(Which::Line(self.line_readings[k]), t);
            (off, sd)
        } else {
            (l.value, l.sd)
        };
        LineDatum { t, value: value / length, sd: worth(self.premise.noise * sd, l.mark, length) / length }
    }

    /// The backbone of another fit of as many such readings, none of them left out.
    pub(crate) fn with_backbone_of(&mut self, other: &Fit<'_>) {
        self.shared.clone_from(&other.shared);
        self.keel_out.clear();
        if let Some(keel) = &other.keel {
            self.take_backbone(keel.backbone.clone());
        }
    }

    /// Whether a reading is the first or last of the backbone.
    fn ends_backbone(&self, which: Which) -> bool {
        [self.nails.first(), self.nails.last()].into_iter().flatten().any(|n| n.1 == which)
    }

    /// Whether a spot is the head or the foot of its profile, where that runs into sheer or keel.
    fn ends_profile(&self, which: Which) -> bool {
        let of = |i: usize, spots: &[ProfileSpot]| i == 0 || i + 1 == spots.len();
        match which {
            Which::Stem(i) => of(i, &self.survey.stem),
            Which::Stern(i) => of(i, &self.survey.stern),
            Which::Line(_) | Which::Spot(_) => false,
        }
    }

    /// How many pairs of neighbours in one line are both left `out`.
    pub(crate) fn beside(&self, out: &Out) -> usize {
        if out.len() < 2 {
            return 0;
        }
        let pairs = |of: &[Option<Which>]| {
            let left = |w: &Option<Which>| w.is_some_and(|w| out.contains(&w));
            of.windows(2).filter(|pair| pair.iter().all(left)).count()
        };
        let of_line = |l: usize| -> Vec<Option<Which>> {
            let data = self.data_of(l).into_iter();
            data.map(|(_, k)| k.map(|k| Which::Line(self.line_readings[k]))).collect()
        };
        let backbone: Vec<Option<Which>> = self.nails.iter().map(|n| Some(n.1)).collect();
        pairs(&backbone) + (1..self.frame.lines.len()).map(|l| pairs(&of_line(l))).sum::<usize>()
    }

    /// How many readings and conditions line `l` has.
    fn in_line(&self, l: usize) -> usize {
        let of_readings = self.line_readings.iter().map(|&i| self.index(&self.survey.lines[i]));
        let profiles = if l == 0 { self.profile_t.len() } else { 0 };
        profiles + of_readings.chain(self.conditions.iter().map(|c| c.0)).filter(|&o| o == l).count()
    }

    /// Readings and conditions of line `l` in order, with the index of each in `line_readings`.
    fn data_of(&self, l: usize) -> Vec<(LineDatum, Option<usize>)> {
        let length = self.frame.length();
        let mut data: Vec<_> = (0..self.line_readings.len())
            .filter(|&k| self.index(&self.survey.lines[self.line_readings[k]]) == l)
            .map(|k| (self.datum(k), Some(k)))
            .collect();
        data.extend(
            self.conditions.iter().filter(|c| c.0 == l).map(|c| {
                (LineDatum { t: c.1, value: c.2 / length, sd: c.3.max(HELD * length) / length }, None)
            }),
        );
        data.sort_by(|a, b| a.0.t.total_cmp(&b.0.t));
        data
    }

    /// Every line by its own readings, as lines usually are.
    fn fair_lines(&mut self, out: &Out, stiffly: bool) -> Result<(), FairingError> {
        let (length, chines) = (self.frame.length(), self.survey.chines);
        let Some(keel) = self.keel.clone() else { return Ok(()) };
        self.priors = vec![Line::Keel(keel)];
        for l in 1..2 * chines + 3 {
            let (mut data, which) = self.kept_of(l, out);
            let spread = data.last().zip(data.first()).map_or(0.0, |(b, a)| b.t - a.t);
            if data.len() < 2 || spread < 0.05 {
                return Err(FairingError::TooFew(format!(
                    "{} {}; give {} more, spread along the boat",
                    data.len(),
                    line_name(l, chines),
                    LEAST_STATIONS - data.len().min(LEAST_STATIONS - 1)
                )));
            }
            let usual = usual(l);
            if stiffly {
                let doubted = judge_line(&data, &self.open(&which), usual);
                let mut own = doubted.iter();
                data.retain(|_| !own.next().copied().unwrap_or(false));
            }
            self.priors.push(Line::Own(usual));
            let line = FittedLine::new(&data, usual).ok_or_else(|| {
                FairingError::Contradiction(format!("the {} do not make a line", line_name(l, chines)))
            })?;
            self.frame.lines[l] = spline(|t| length * line.value(t));
        }
        self.refresh()
    }

    /// What line `l` is faired from, in order along it, but for readings left out; and which reading each is, none
    /// where it is a condition.
    fn kept_of(&self, l: usize, out: &Out) -> (Vec<LineDatum>, Vec<Option<Which>>) {
        let which = |k: Option<usize>| k.map(|k| Which::Line(self.line_readings[k]));
        let of_line = self.data_of(l).into_iter().map(|(datum, k)| (datum, which(k)));
        of_line.filter(|(_, which)| which.is_none_or(|w| !out.contains(&w))).unzip()
    }

    /// Which of these may be doubted.
    fn open(&self, readings: &[Option<Which>]) -> Vec<bool> {
        let held = |i: usize| self.survey.lines[i].mark == Mark::Held;
        readings.iter().map(|w| matches!(w, Some(Which::Line(i)) if !held(*i))).collect()
    }

    /// The likeliest priors of the lines, by the readings that are not left out.
    pub(crate) fn fit_lines(&mut self, out: &Out) {
        for l in 1..self.priors.len() {
            let mut prior = likeliest_line(&self.kept_of(l, out).0, usual(l));
            prior.length *= self.stiffness;
            self.priors[l] = Line::Own(prior);
        }
    }

    /// The backbone by its own readings but those left out; `stiffly` passes over what looks off in it besides.
    /// Nothing is done where it was faired without the same readings before.
    pub(crate) fn fair_backbone(&mut self, out: &Out, stiffly: bool) -> Result<(), FairingError> {
        let own = |which: &Which| self.nails.iter().any(|n| n.1 == *which);
        let gone: Out = out.iter().copied().filter(own).collect();
        if self.keel.is_some() && gone == self.keel_out && self.stiffness == self.keel_stiffness {
            return Ok(());
        }
        let noisy = |n: &Nail| Nail { sd: self.premise.noise * n.sd, ..*n };
        let nails: Vec<Nail> =
            self.nails.iter().filter(|n| !gone.contains(&n.1)).map(|n| noisy(&n.0)).collect();
        let length = self.frame.length();
        let heights = nails.len();
        let backbone = Backbone::new(
            &nails,
            length,
            stiffly,
            self.stiffness,
            if self.premise.smooth { PLAINLY } else { GAIN },
        )
        .ok_or_else(|| {
            FairingError::TooFew(format!(
                "{heights} heights of the rabbet; give {} more, spread along the boat",
                LEAST_STATIONS - heights.min(LEAST_STATIONS - 1)
            ))
        })?;
        let kept: Vec<Which> = self.nails.iter().map(|n| n.1).filter(|w| !gone.contains(w)).collect();
        self.shared = backbone.shared.iter().map(|(i, at)| (kept[*i], at.piece)).collect();
        self.keel_out = gone;
        self.keel_stiffness = self.stiffness;
        self.unknowns = None;
        let first = self.keel.is_none();
        self.take_backbone(backbone);
        if !first {
            // Another line: all that was placed on the one before is placed anew.
            self.hold_ends();
            self.refresh()?;
            self.place_again();
            return Ok(());
        }
        for (fore, spots, end) in [(true, &self.survey.stem, "stem"), (false, &self.survey.stern, "stern")] {
            let parts = self.keel.as_ref().is_some_and(|k| if fore { k.fore } else { k.aft }.is_some());
            if !spots.is_empty() && !parts {
                self.remarks.push(format!(
                    "the {end} profile makes no line that rises: the hull ends at the {} station",
                    if fore { "first" } else { "last" }
                ));
            }
        }
        Ok(())
    }

    /// The frame's ends and its lowest line follow the backbone.
    pub(crate) fn take_backbone(&mut self, backbone: Backbone) {
        let [fore, aft] = self.premise.round.map(|round| f64::from(u8::from(round)));
        self.frame.round = (fore, aft);
        self.frame.lean = if self.premise.lean { LEAN } else { 0.0 };
        let part = |fore: bool, spots: &[ProfileSpot]| {
            let share = self.premise.partings[usize::from(!fore)];
            let most = if !fore && self.frame.transom.is_some() { HEEL } else { f64::MAX };
            (!spots.is_empty()).then(|| backbone.parting(fore, share, most)).flatten()
        };
        let ends = [part(true, &self.survey.stem), part(false, &self.survey.stern)];
        self.take_parted(backbone, ends);
    }

    /// The same where stem and stern part from the keel at given places, each with whether it is a corner.
    pub(crate) fn take_parted(&mut self, backbone: Backbone, ends: [Option<(Place, bool)>; 2]) {
        let [fore, aft] = ends.map(|e| e.map(|e| e.0));
        let corners = ends.map(|e| e.is_some_and(|e| e.1));
        let (x, length) = (straight(0.0, 0.0), self.frame.length());
        let goes_on = aft.is_some() && self.frame.transom.is_some();
        let mut keel = Keel { backbone, fore, aft, corners, goes_on, x, length };
        // Ends and lowest line hang on one another: x at a height, and the height at x.
        for _ in 0..SETTLING {
            let foot = |at: Option<Place>| at.map(|at| keel.backbone.point(at));
            let (fore, aft) = (foot(keel.fore), foot(keel.aft));
            let frame = &mut self.frame;
            let top = frame.strakes();
            let (s0, s1) = (frame.edge(top, 0.0).1, frame.edge(top, frame.aft).1);
            let over = |at: Option<Place>, is_fore: bool, low: f64, high: f64| {
                at.map(|at| profile_spline(|z| keel.backbone.at_height(at, is_fore, z).1, low, high))
            };
            if let Some(foot) = fore {
                frame.stem = over(keel.fore, true, foot.1, s0);
            }
            if let Some(foot) = aft.filter(|_| frame.transom.is_none()) {
                frame.stern = over(keel.aft, false, foot.1, s1);
            }
            keel.x = spline(|t| frame.x(t, 0.0, 0.0));
            frame.lines[0] = spline(|t| keel.height(t));
            let after = frame.lines[0].value(frame.aft);
            frame.transom = frame.transom.map(|t| (t.0, (after, s1)));
            if frame.transom.is_none() {
                // Nothing of these moves x at the lower edge.
                break;
            }
        }
        self.frame.knuckle = goes_on && self.premise.across;
        let keel = Arc::new(keel);
        if let Some(line) = self.priors.first_mut() {
            *line = Line::Keel(keel.clone());
        }
        self.keel = Some(keel);
    }

    /// After lines moved: the ends of the frame follow.
    fn refresh(&mut self) -> Result<(), FairingError> {
        self.settle_frame();
        self.sections()
    }

    /// The frame's ends follow its lines and the backbone.
    pub(crate) fn settle_frame(&mut self) {
        let Some(keel) = &self.keel else { return };
        self.frame.settle(|fore, (low, high)| {
            let at = if fore { keel.fore } else { keel.aft }?;
            Some(profile_spline(|z| keel.backbone.at_height(at, fore, z).1, low, high))
        });
    }

    /// Sections must be sections.
    pub(crate) fn sections(&self) -> Result<(), FairingError> {
        let top = 2 * self.survey.chines + 2;
        let heights = |t: f64| (self.frame.lines[0].value(t), self.frame.lines[top].value(t));
        for i in 0..=60 {
            let t = self.frame.aft * f64::from(i) / 60.0;
            let (k, s) = heights(t);
            let x = self.frame.x_a + t * self.frame.length();
            if s - k < 1e-3 * self.frame.length() {
                return Err(FairingError::Contradiction(format!(
                    "the sheer is not above the rabbet near x = {x:.2} m ({s:.3} m against {k:.3} m)"
                )));
            }
            let inside = (0.05..=0.95).contains(&(f64::from(i) / 60.0));
            let (y, r) = (self.frame.edge(self.frame.strakes(), t).0, self.frame.half_siding.value(t));
            if inside && y <= r {
                return Err(FairingError::Contradiction(format!(
                    "the sheer is not outside the half-siding near x = {x:.2} m ({y:.3} m against {r:.3} m)"
                )));
            }
        }
        Ok(())
    }

    /// Where each spot lies in the frame.
    pub(crate) fn place_spots(&mut self) {
        let frame = &self.frame;
        for (spot, placed) in self.survey.spots.iter().zip(&mut self.placed) {
            let t = if spot.on_transom && frame.transom.is_some() {
                frame.aft
            } else {
                frame.t(spot.x, spot.y, |t| frame.zeta(t, spot.z)).clamp(0.0, 1.0)
            };
            let strake = (1..frame.strakes())
                .filter(|&j| {
                    let chine = frame.edge(j, t);
                    spot.y + spot.z > chine.0 + chine.1
                })
                .count();
            let pointed = frame.stern.is_some() && frame.transom.is_none();
            let along = frame.along(t).0;
            let near = frame.stem.is_some() && along < ON_THE_STEM || pointed && along > 1.0 - ON_THE_STEM;
            let (v, _) = frame.chord(strake, t).place((spot.y, spot.z));
            *placed = Placed { strake, t, v, slope: placed.slope, idle: near || !v.is_finite() };
        }
    }

    /// The rows of the joint system: lines, spots, conditions; with how each is judged.
    pub(crate) fn rows(&self, out: &Out) -> (Vec<Row>, Vec<Judged>) {
        let length = self.frame.length();
        let mut rows = Vec::new();
        let mut judged = Vec::new();
        let doubt = |which: Which| if out.contains(&which) { DOUBTED_SD } else { 1.0 };
        let in_line: Vec<usize> = (0..self.frame.lines.len()).map(|l| self.in_line(l)).collect();
        for (k, &i) in self.line_readings.iter().enumerate() {
            let (reading, datum) = (&self.survey.lines[i], self.datum(k));
            let of =
                Functional { t: datum.t, lines: vec![(self.index(reading), 1.0)], field: None, post: None };
            rows.push(Row { of, value: datum.value, sd: datum.sd * doubt(Which::Line(i)) });
            let l = self.index(reading);
            let on = |sign: f64, t: f64| sign * (t - datum.t) > 1e-6;
            let read = |sign: f64| {
                let own = |o: usize| self.index(&self.survey.lines[o]) == l;
                self.line_readings.iter().zip(&self.line_t).any(|(&o, &t)| own(o) && on(sign, t))
            };
            let held = |sign: f64| self.conditions.iter().any(|c| c.0 == l && on(sign, c.1));
            let (outermost, end) = if l == 0 {
                let end = self.ends_backbone(Which::Line(i));
                (end, end)
            } else {
                let out = [1.0, -1.0].map(|sign| !read(sign));
                (out[0] || out[1], out[0] && !held(1.0) || out[1] && !held(-1.0))
            };
            judged.push(Judged {
                t: ((reading.x - self.frame.x_a) / length).clamp(0.0, 1.0),
                sd: datum.sd,
                metres: length,
                tolerance: reading.tolerance,
                of_line: true,
                in_line: in_line[l],
                end,
                outermost,
                open: reading.mark != Mark::Held && in_line[l] > SCARCE,
                which: Some(Which::Line(i)),
            });
        }
        let open = || self.placed.iter().filter(|p| !p.idle).map(|p| p.t);
        let (first, last) = (open().fold(f64::MAX, f64::min), open().fold(f64::MIN, f64::max));
        for (i, (spot, placed)) in self.survey.spots.iter().zip(&self.placed).enumerate() {
            let (row, metres) = self.spot_row(spot, placed);
            judged.push(Judged {
                t: placed.t,
                sd: row.sd,
                metres,
                tolerance: spot.tolerance,
                of_line: false,
                in_line: 0,
                end: false,
                outermost: placed.t - first < OUTERMOST || last - placed.t < OUTERMOST,
                open: spot.mark != Mark::Held && !placed.idle,
                which: Some(Which::Spot(i)),
            });
            rows.push(Row { sd: row.sd * doubt(Which::Spot(i)), ..row });
        }
        for &(which, t) in &self.profile_t {
            let (spot, off, sd) = self.off_backbone(which, t);
            let sd = worth(self.premise.noise * sd, spot.mark, length) / length;
            let of = Functional { t, lines: vec![(0, 1.0)], field: None, post: None };
            rows.push(Row { of, value: off / length, sd: sd * doubt(which) });
            let forward = matches!(which, Which::Stem(_));
            judged.push(Judged {
                t: if forward { 0.0 } else { 1.0 },
                sd,
                metres: length,
                tolerance: spot.tolerance,
                of_line: true,
                in_line: in_line[0],
                end: self.ends_backbone(which),
                outermost: self.ends_backbone(which) || self.ends_profile(which),
                open: spot.mark != Mark::Held && in_line[0] > SCARCE,
                which: Some(which),
            });
        }
        for &(which, t) in &self.shared_t {
            let (spot, off, sd) = self.off_backbone(which, t);
            let sd = worth(self.premise.noise * sd, spot.mark, length) / length;
            let of = Functional { t, lines: vec![(0, 1.0)], field: None, post: None };
            rows.push(Row { of, value: off / length, sd: sd * doubt(which) });
            judged.push(Judged {
                t: 0.0,
                sd,
                metres: length,
                tolerance: spot.tolerance,
                of_line: true,
                in_line: in_line[0],
                end: true,
                outermost: true,
                open: false,
                which: None,
            });
        }
        for (i, (spot, mut placed, at)) in self.on_post().into_iter().enumerate() {
            let known = self.along_post.get(i).copied();
            placed.slope = known.map_or(placed.slope, |k| k.0);
            let (mut row, metres) = self.spot_row(&spot, &placed);
            if let (Some((slope, rate)), false) = (known, placed.idle) {
                let chord = self.frame.chord(0, placed.t);
                let (v, w) = chord.place((spot.y, spot.z));
                let (tangent, (aside, _)) = (chord.tangent(v, w, slope), chord.aside(v));
                let per_w = tangent.1 * aside.0 - tangent.0 * aside.1;
                row.of.post = Some((at, tangent.1 / per_w * rate * length));
                row.sd *= ON_SIDE;
            }
            judged.push(Judged {
                t: 1.0,
                sd: row.sd,
                metres,
                tolerance: spot.tolerance,
                of_line: false,
                in_line: 0,
                end: false,
                outermost: false,
                open: false,
                which: None,
            });
            rows.push(row);
        }
        for &(l, t, value, sd) in &self.conditions {
            let of = Functional { t, lines: vec![(l, 1.0)], field: None, post: None };
            let sd = sd.max(HELD * length) / length;
            rows.push(Row { of, value: value / length, sd });
            judged.push(Judged {
                t,
                sd,
                metres: length,
                tolerance: 0.0,
                of_line: true,
                in_line: in_line[l],
                end: true,
                outermost: true,
                open: false,
                which: None,
            });
        }
        (rows, judged)
    }

    /// Whether the hull ends on a sternpost and a transom over it.
    pub(crate) fn transom_on_post(&self) -> bool {
        self.keel.as_ref().is_some_and(|keel| keel.goes_on)
    }

    /// Places of a sternpost below a transom: there the planking ends at its side.
    fn on_post(&self) -> Vec<(Spot, Placed, f64)> {
        let frame = &self.frame;
        let Some((first, keel)) = self.survey.stern.first().zip(self.keel.as_ref()) else {
            return Vec::new();
        };
        let Some((heel, (transom, _))) = keel.aft.zip(frame.transom) else { return Vec::new() };
        let ProfileSpot { sd, tolerance, mark, cell, .. } = *first;
        let at = |place: Place| {
            let (x, z) = keel.backbone.point(place);
            let (t, y) = frame.on_siding(x, z);
            let spot = Spot { x, y, z, along: (1.0, 0.0), sd, tolerance, mark, on_transom: true, cell };
            let (v, _) = frame.chord(0, t).place((y, z));
            let slope = -STEEPEST * keel.backbone.angle(place).sin().abs();
            (
                spot,
                Placed { strake: 0, t: t.clamp(0.0, 1.0), v, slope, idle: !v.is_finite() },
                Keel::written(place),
            )
        };
        let post = keel.backbone.abaft(heel, transom.foot);
        let evenly = post.iter().flat_map(|&(piece, from, to)| {
            let n = ON_POST.div_ceil(post.len());
            (1..=n).map(move |i| Place { piece, u: from + (to - from) * i as f64 / n as f64 })
        });
        evenly.map(at).collect()
    }

    /// The after edge of the planking, up the sternpost and the transom on it.
    pub(crate) fn after_edge(&self) -> Option<AfterEdge> {
        let (frame, keel) = (&self.frame, self.keel.as_ref()?);
        let (heel, plane) = (keel.aft?, frame.transom?.0);
        let post = keel.backbone.abaft(heel, plane.foot);
        let place = |x: f64, z: f64| {
            let (t, y) = frame.on_siding(x, z);
            (frame.chord(0, t).place((y, z)).0, t)
        };
        // The post goes straight on to the transom's foot, where its readings end short of that.
        let &(last, _, end) = post.last()?;
        let end = Place { piece: last, u: end };
        let ((x, z), (sin, cos)) = (keel.backbone.point(end), keel.backbone.angle(end).sin_cos());
        let foot_z = z + sin * ((plane.foot.0 - x) * cos + (plane.foot.1 - z) * sin);
        let foot = frame.chord(0, frame.aft).place((frame.half_siding.value(frame.aft), foot_z)).0;
        let ends: Vec<(f64, f64, f64, usize)> = post
            .iter()
            .map(|&(piece, from, to)| {
                let at = |u: f64| {
                    let p = keel.backbone.point(Place { piece, u });
                    place(p.0, p.1).0
                };
                (at(from), at(to), to - from, piece)
            })
            .collect();
        if !ends.iter().all(|e| e.1 - e.0 > LEAST_PART) || !(LEAST_PART..1.0 - LEAST_PART).contains(&foot) {
            return None;
        }
        let mut parts = Vec::new();
        let mut from_v = 0.0;
        for (k, &(piece, from, to)) in post.iter().enumerate() {
            let at = |u: f64| {
                let p = keel.backbone.point(Place { piece, u });
                place(p.0, p.1)
            };
            let table: Vec<(f64, f64)> = (0..=TABLE)
                .map(|i| {
                    let u = from + (to - from) * i as f64 / TABLE as f64;
                    (at(u).0, u)
                })
                .collect();
            let to_v = if k + 1 == post.len() { foot } else { ends[k].1 };
            let t = |v: f64| {
                let i = table.partition_point(|e| e.0 < v).clamp(1, TABLE);
                let (a, b) = (table[i - 1], table[i]);
                let per = (b.1 - a.1) / (b.0 - a.0);
                let mut u = a.1 + (v - a.0) * per;
                let mut now = at(u);
                for _ in 0..3 {
                    u += (v - now.0) * per;
                    now = at(u);
                }
                now.1
            };
            let breaks: Vec<f64> =
                (0..=EDGE_SPANS).map(|i| from_v + (to_v - from_v) * i as f64 / EDGE_SPANS as f64).collect();
            parts.push(BSpline::interpolating(5, &breaks, t));
            from_v = to_v;
        }
        // The two meet, whatever a reading of the post is off the transom's plane.
        let last = parts.last_mut()?;
        let short = frame.aft - last.coefficients.last()?;
        let n = last.coefficients.len();
        for (i, c) in last.coefficients.iter_mut().enumerate() {
            *c += short * (i as f64 / (n - 1) as f64).powi(4);
        }
        Some(AfterEdge { parts, foot })
    }

    /// A spot of a profile: how far it lies off the backbone as it is, square to it, and its worth, m.
    pub(crate) fn off_backbone(&self, which: Which, t: f64) -> (ProfileSpot, f64, f64) {
        let spot = match which {
            Which::Stern(i) => self.survey.stern[i],
            Which::Stem(i) => self.survey.stem[i],
            Which::Line(i) | Which::Spot(i) => {
                let l = self.survey.lines[i.min(self.survey.lines.len() - 1)];
                ProfileSpot {
                    x: l.x,
                    z: l.value,
                    sd: l.sd,
                    tolerance: l.tolerance,
                    mark: l.mark,
                    cell: l.cell,
                }
            }
        };
        let off = self.keel.as_ref().zip(Keel::read(t)).map_or((0.0, spot.sd), |(keel, at)| {
            let (p, n) = (keel.backbone.point(at), keel.backbone.normal(at));
            let along = if matches!(which, Which::Line(_)) { (0.0, 1.0) } else { (0.0, 0.0) };
            let nail = Nail { x: spot.x, z: spot.z, sd: spot.sd, along };
            ((spot.x - p.0) * n.0 + (spot.z - p.1) * n.1, nail.sd_square(n))
        });
        (spot, off.0, off.1)
    }

    /// A spot's row: w as read, corrected for the lines it was read against; and metres of reading to one w.
    pub fn spot_row(&self, spot: &Spot, placed: &Placed) -> (Row, f64) {
        let Placed { strake, t, slope, .. } = *placed;
        if placed.idle {
            return (Row { of: Functional { t, ..Functional::default() }, value: 0.0, sd: 1.0 }, 0.0);
        }
        let length = self.frame.length();
        let chord = self.frame.chord(strake, t);
        let (v, w) = chord.place((spot.y, spot.z));
        let (steepest, flattest) = if chord.across > 0.0 {
            (INWARD, OUTWARD)
        } else {
            (if chord.lean > 0.0 { INWARD } else { -STEEPEST }, STEEPEST)
        };
        let p = slope.clamp(steepest, flattest);
        let (tangent, (aside, _)) = (chord.tangent(v, w, p), chord.aside(v));
        let square = (tangent.1, -tangent.0);
        let dot = |a: (f64, f64), b: (f64, f64)| a.0 * b.0 + a.1 * b.1;
        let per_w = dot(square, aside);
        let norm = tangent.0.hypot(tangent.1);
        let counts = if spot.along == (0.0, 0.0) {
            norm
        } else {
            dot(square, spot.along).abs().max(LEAST_SQUARE * norm)
        };
        let field = (!self.is_straight(strake)).then_some((strake, v, 1.0));
        let mut of = Functional { t, lines: Vec::new(), field, post: None };
        let mut value = w - self.frame.straight_across(strake, t, v);
        let by = chord.by_edges(v, w);
        let indices = [
            (strake > 0).then(|| 2 * strake - 1),
            Some(2 * strake),
            Some(2 * strake + 1),
            Some(2 * strake + 2),
        ];
        for (index, d) in indices.iter().zip(by) {
            if let Some(l) = *index {
                let c = dot(square, d) / per_w;
                value += c * self.frame.lines[l].value(t);
                of.lines.push((l, c * length));
            }
        }
        let sd = worth(self.premise.noise * spot.sd, spot.mark, length) * counts / per_w.abs();
        (Row { of, value, sd }, per_w.abs() / counts)
    }

    pub(crate) fn is_straight(&self, strake: usize) -> bool {
        self.straight.get(strake).copied().unwrap_or(false)
    }

    /// Lines and backbone become those of a solution.
    fn follow(&mut self, joint: &Joint) -> Result<(), FairingError> {
        let (length, step) = (self.frame.length(), self.step);
        for l in 1..self.frame.lines.len() {
            let before = self.frame.lines[l].clone();
            self.frame.lines[l] =
                spline(|t| step * length * joint.line(l, t) + (1.0 - step) * before.value(t));
        }
        if let Some(keel) = self.keel.clone() {
            let mut unknowns = joint.unknowns();
            if let Some(before) = self.unknowns.as_ref().filter(|before| before.len() == unknowns.len()) {
                unknowns
                    .iter_mut()
                    .zip(before)
                    .for_each(|(now, before)| *now = step * *now + (1.0 - step) * before);
            }
            let backbone = keel.backbone.with(&unknowns);
            self.unknowns = Some(unknowns);
            if self.holds {
                let ends = keel.parted(&backbone);
                self.take_parted(backbone, ends);
            } else {
                self.take_backbone(backbone);
            }
        }
        self.refresh()
    }

    /// One round: solve, and look again at lines and slopes.
    pub(crate) fn round(&mut self, joint: &Joint) -> Result<(), FairingError> {
        self.follow(joint)?;
        for placed in &mut self.placed {
            if !placed.idle {
                placed.slope = joint.slope(placed.strake, placed.t, placed.v);
            }
        }
        self.place_again();
        self.along_post =
            self.on_post().iter().map(|(spot, placed, at)| self.by_post(joint, spot, placed, *at)).collect();
        Ok(())
    }

    /// ∂w/∂v at a place of a sternpost under a transom, and how the half-breadth changes square to that.
    fn by_post(&self, joint: &Joint, spot: &Spot, placed: &Placed, at: f64) -> (f64, f64) {
        let slope = joint.slope(0, placed.t, placed.v);
        let frame = &self.frame;
        let ahead = INSIDE * frame.length();
        let x = spot.x - ahead;
        let mut y = spot.y;
        for _ in 0..STEPS_ASIDE {
            let t = frame.t(x, y, |t| frame.zeta(t, spot.z)).clamp(0.0, 1.0);
            let chord = frame.chord(0, t);
            let (v, w) = chord.place((y, spot.z));
            let own = joint.bulge(0, &[t], &[v]).first().copied().unwrap_or_default();
            let tangent = chord.tangent(v, own, joint.slope(0, t, v));
            let aside = chord.aside(v).0;
            // To the section at the same height.
            let step = (own - w) * (aside.0 - aside.1 * tangent.0 / tangent.1);
            y += step.clamp(-ahead, ahead);
        }
        let along = (spot.y - y) / ahead;
        let angle = self.keel.as_ref().zip(Keel::read(at)).map_or(1.0, |(keel, at)| keel.backbone.angle(at));
        let rate = -along / angle.sin().max(LEAST_RISE);
        (slope, if rate.is_finite() { rate } else { 0.0 })
    }

    fn enough(&self) -> Result<(), FairingError> {
        if self.survey.chines > 0 {
            return Ok(());
        }
        let mut at: Vec<f64> =
            self.survey.spots.iter().zip(&self.placed).filter(|(_, p)| !p.idle).map(|(_, p)| p.t).collect();
        at.sort_by(f64::total_cmp);
        at.dedup_by(|a, b| *a - *b < 0.02);
        if at.len() >= LEAST_STATIONS {
            return Ok(());
        }
        // The widest gap is where another station helps most.
        let mut edges = vec![0.0];
        edges.extend(&at);
        edges.push(1.0);
        let gap = edges.windows(2).max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])));
        let x = self.frame.x_a + self.frame.length() * gap.map_or(0.5, |g| 0.5 * (g[0] + g[1]));
        Err(FairingError::TooFew(format!(
            "{} of the stations have a spot between rabbet and sheer; {} more are needed, first of all near \
             x = {x:.2} m",
            at.len(),
            LEAST_STATIONS - at.len()
        )))
    }

    pub(crate) fn solve(&self, rows: &[Row], theta: Theta, fit: bool) -> Result<Joint, FairingError> {
        let post = self.transom_on_post();
        let theta = if post { with_end(theta) } else { theta };
        Joint::new(rows, &self.priors, theta, fit).ok_or_else(|| {
            FairingError::Contradiction(
                "no surface can be found that makes sense of them together".to_string(),
            )
        })
    }

    /// Every line by its own readings but those left `out`, and every spot placed in the frame they make;
    /// `stiffly` passes over what looks off in a line besides.
    pub(crate) fn start(&mut self, out: &Out, stiffly: bool) -> Result<(), FairingError> {
        self.fair_half_siding();
        self.fair_backbone(out, stiffly)?;
        self.hold_ends();
        self.place_lines();
        self.fair_lines(out, stiffly)?;
        self.place_lines();
        self.place_spots();
        self.enough()
    }

    /// Lies where no planking can be.
    pub(crate) fn wild(&self, i: usize) -> bool {
        let (spot, placed) = (&self.survey.spots[i], &self.placed[i]);
        let chord = self.frame.chord(placed.strake, placed.t);
        let (v, w) = chord.place((spot.y, spot.z));
        !placed.idle
            && spot.mark != Mark::Held
            && (v < WILD.0 || v > WILD.1 || w.abs() > WILD.2 * (1.0 + chord.across))
    }

    /// Lies beyond its section, more than so many tolerances below the rabbet or above the sheer.
    pub(crate) fn beyond_edges(&self, i: usize, tolerances: f64) -> bool {
        let (spot, placed, frame) = (&self.survey.spots[i], &self.placed[i], &self.frame);
        // Finer readings make slips no smaller.
        let slack = (tolerances * spot.tolerance).max(BEYOND_EDGES);
        let (low, high) =
            (frame.edge(0, placed.t).1 - slack, frame.edge(frame.strakes(), placed.t).1 + slack);
        let outside = placed.v < 0.0 && spot.z < low || placed.v > 1.0 && spot.z > high;
        !placed.idle && spot.mark != Mark::Held && outside
    }

    /// Readings placed about the lines of the solution before.
    pub(crate) fn resume(&mut self, kept: &Kept) -> Result<(), FairingError> {
        let sided = |survey: &Survey| -> Vec<LineReading> {
            let own = |l: &&LineReading| l.line == RefLine::Rabbet && l.axis == Axis::HalfBreadth;
            survey.lines.iter().filter(own).copied().collect()
        };
        let same = sided(&kept.survey) == sided(self.survey);
        self.placed.clone_from(&kept.placed);
        self.along_post.clone_from(&kept.along_post);
        self.keel_out.clone_from(&kept.keel_out);
        self.shared.clone_from(&kept.shared);
        self.straight.clone_from(&kept.straight);
        self.frame.square.clone_from(&kept.frame.square);
        self.follow_lines(&kept.frame, &kept.keel, &kept.priors, same)
    }

    /// The same about the lines of a fit of other readings; `here` is which of those here one of them is.
    pub(crate) fn begin_from(
        &mut self,
        other: &Fit<'_>,
        here: impl Fn(Which) -> Option<Which>,
    ) -> Result<(), FairingError> {
        let Some(keel) = &other.keel else {
            return Err(FairingError::TooFew("no heights of the rabbet".into()));
        };
        self.keel_out = other.keel_out.iter().filter_map(|w| here(*w)).collect();
        self.along_post.clone_from(&other.along_post);
        self.shared = other.shared.iter().filter_map(|(w, piece)| Some((here(*w)?, *piece))).collect();
        self.follow_lines(&other.frame, keel, &other.priors, false)
    }

    /// `sided` where the half-siding is given by the same readings.
    fn follow_lines(
        &mut self,
        frame: &Frame,
        keel: &Keel,
        priors: &[Line],
        sided: bool,
    ) -> Result<(), FairingError> {
        self.frame.half_siding.clone_from(&frame.half_siding);
        self.frame.lines.clone_from(&frame.lines);
        self.take_backbone(keel.backbone.clone());
        if !sided {
            // Placed in the frame that now has its ends: without them the first readings of it lie elsewhere.
            self.fair_half_siding();
        }
        self.hold_ends();
        self.refresh()?;
        self.place_again();
        self.priors = priors.to_vec();
        // Readings are now compared with the backbone as that fit left it.
        if let (Some(line), Some(keel)) = (self.priors.first_mut(), &self.keel) {
            *line = Line::Keel(keel.clone());
        }
        Ok(())
    }

    /// After the frame moved.
    pub(crate) fn place_again(&mut self) {
        self.place_lines();
        self.place_spots();
    }

    pub(crate) fn finish(
        mut self,
        joint: Joint,
        rows: &[Row],
        judged: &[Judged],
        doubts: Doubts,
        spans: Option<&[(usize, usize)]>,
    ) -> Result<Faired, FairingError> {
        self.step = 1.0;
        self.follow(&joint)?;
        self.frame.post = self.after_edge();
        let Carried { surface, spans, off } = carry(&self.frame, &joint, spans);
        if off > TO_TELL_M {
            self.remarks.push(format!("the surface follows the fit to within {:.2} mm", 1e3 * off));
        }
        let mut doubts = doubts;
        doubts.suspects.extend(self.suspects(&joint, rows, judged, &doubts));
        let misfit = |i: usize| joint.left_out(i);
        let residuals = self.residuals(&surface, &joint, (rows, judged), &misfit, &doubts);
        self.remarks.extend(impossible(&surface));
        if doubts.premise.noise > 1.0 {
            self.remarks.push(format!(
                "the readings agree only to about {:.0} times what they are read to; all are taken to be worth so \
                 much less, and move so much more",
                doubts.premise.noise
            ));
        }
        let of_facts = |&Doubted { off, taken }: &Doubted| off.remark(self.survey, taken);
        self.remarks.extend(doubts.facts.iter().filter(|d| d.off.cell.is_some()).map(of_facts));
        if self.options.robust {
            let scarce = (0..self.frame.lines.len()).filter(|&l| self.in_line(l) <= SCARCE);
            let scarce: Vec<&str> = scarce.map(|l| line_name(l, self.survey.chines)).collect();
            self.remarks.extend(scarce.into_iter().map(|name| {
                format!("the {name} are too few to judge any of them by the others: all are kept")
            }));
        }
        for strake in 0..self.frame.strakes() {
            if !self.placed.iter().any(|p| p.strake == strake && !p.idle) {
                self.remarks.push(format!(
                    "no readings between the edges of strake {} from the keel: taken as straight across",
                    strake + 1
                ));
            } else if self.is_straight(strake) {
                self.remarks.push(format!(
                    "strake {} from the keel is straight across wherever it was read: it is faired so",
                    strake + 1
                ));
            }
        }
        let idle = self.placed.iter().filter(|p| p.idle).count();
        if idle > 0 {
            self.remarks.push(format!(
                "{idle} spots lie on the stem or stern itself and say nothing of the planking"
            ));
        }
        let keel =
            self.keel.clone().ok_or_else(|| FairingError::TooFew("no heights of the rabbet".to_string()))?;
        for [a, b] in keel.backbone.unread_bends() {
            self.remarks.push(format!(
                "the backbone turns between two readings {:.0} mm apart, from {:.0} mm abaft the origin and {:.0} mm up \
                 to {:.0} and {:.0} mm, and none was taken in the bend: how it runs there is made up; read a spot of \
                 the profile between",
                1e3 * (b.0 - a.0).hypot(b.1 - a.1),
                1e3 * a.0,
                1e3 * a.1,
                1e3 * b.0,
                1e3 * b.1
            ));
        }
        for ((x, z), turn) in keel.backbone.doubtful_corners() {
            self.remarks.push(format!(
                "the backbone is taken to break by {:.0} degrees {:.0} mm abaft the origin and {:.0} mm up; the readings \
                 leave open that it bends there: read a spot of the profile at the corner",
                turn.to_degrees(),
                1e3 * x,
                1e3 * z
            ));
        }
        let ways = doubts.ways.clone();
        // No query tells of half the siding, which is no reading: it is said wherever stretches that are open are.
        let of_siding = doubts.facts.iter().filter(|d| d.off.cell.is_none());
        let mut unsettled: Vec<String> = of_siding.map(|d| d.off.remark(self.survey, d.taken)).collect();
        let of_transom = doubts.facts.iter().any(|d| d.off.cell.is_some_and(|c| c.block == Block::Transom));
        let of_siding = doubts.facts.iter().any(|d| d.off.cell.is_none());
        let not_judged = doubts.told_alone.not_judged(!of_transom, !of_siding);
        for (end, name) in ["stem", "stern"].into_iter().enumerate() {
            let mm = 1e3 * ways.worst(end);
            if mm > UNSETTLED {
                unsettled.push(format!(
                    "how the planking runs near the {name} the readings do not settle: hulls that explain them about as \
                     well lie {mm:.0} mm apart there, and it may be off by {:.0} mm and more; a spot or two between the {name} \
                     and the next station would tell",
                    1e3 * ways.may_be_off(end)
                ));
            }
        }
        let kept = Kept {
            survey: self.survey.clone(),
            options: self.options.clone(),
            priors: self.priors,
            theta: joint.theta,
            frame: self.frame.clone(),
            placed: self.placed,
            doubts,
            keel: keel.clone(),
            keel_out: self.keel_out,
            shared: self.shared,
            along_post: self.along_post,
            straight: self.straight,
            spans,
        };
        let last = kept.survey.spots.iter().filter(|s| !s.on_transom).map(|s| s.x).fold(f64::MIN, f64::max);
        let on_post = keel.goes_on;
        let certainty = Certainty::new(joint, rows.to_vec(), self.frame, keel, ways);
        if on_post {
            unsettled.extend(unsure_abaft(&certainty, &surface, last));
        }
        let mut remarks = self.remarks;
        remarks.extend(unsettled.iter().cloned());
        let before = if on_post { last } else { f64::MAX };
        let unsure = unsure(&certainty, &surface, usual_tolerance(&kept.survey), before);
        let certainty = Some(Arc::new(certainty));
        let kept = Some(Arc::new(kept));
        Ok(Faired { surface, residuals, remarks, unsure, unsettled, not_judged, certainty, kept })
    }
}
