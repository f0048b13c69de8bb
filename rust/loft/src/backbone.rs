//! The backbone: keel, stem, sternpost and stern knee in profile, with the three lines of the rabbet.
//!
//! Rabbet, bearding and middle line are lines in space (see [`crate::rabbet`]); here they are followed from
//! the head of the stem along the keel to the transom or the head of the sternpost. The pieces lie between an
//! outer edge (a batten bent through the record's underside of the keel, or a stated depth outside the rabbet
//! line) and an inner edge a stated distance inside the bearding line. Scarfs are eight times the keel's depth,
//! their nibs a seventh of it (common practice).

use kurbo::{BezPath, ParamCurve, Point, Shape as _, Vec2};
use scrieve_fairing::{Batten, Nail, batten};
use scrieve_hull::{Curve, Hull};
use scrieve_notation::{Mark as Marked, Units};

use crate::marks::{clip, path_of, within};
use crate::planking::Planking;
use crate::rabbet::{
    End, Rabbet, RabbetError, RabbetOptions, end_profile, least_angle, rabbet_across, rabbet_or_along,
};
use crate::{Grid, Mark, MarkKind, written};

/// The backbone of a hull. A spot at which there is no rabbet costs only itself and is in `failures`.
///
/// # Errors
/// Lengths that are none, and whatever leaves no rabbet at any station.
pub fn backbone(hull: &Hull, options: &BackboneOptions) -> Result<Backbone, RabbetError> {
    options.check()?;
    let grid = Grid::of(hull);
    let underside = Underside::new(hull, options)?;
    let mut failures = Vec::new();
    let keel = keel_stations(hull, &grid, options, &underside, &mut failures)?;
    let spine = Spine::new(hull, options, &keel, underside, &mut failures);
    let pieces = spine.pieces(&grid, &keel);
    let planking = keel[0].rabbet.planking;
    Ok(Backbone {
        name: hull.source().facts.name.clone(),
        units: grid.units,
        planking,
        lines: [0, 1, 2].map(|k| smooth(&spine.line(k))),
        sections: spine.sections(&grid, &keel, options.section_every),
        plan: spine.plan(),
        stem: spine.ends(End::Stem),
        sternpost: spine.ends(End::Sternpost),
        knee_angle: spine.knee_angle(),
        scarf: spine.scarf,
        nib: spine.nib,
        remarks: spine.remarks(&grid),
        keel,
        pieces,
        failures: told(failures),
    })
}

/// What is asked of a backbone. Lengths are metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BackboneOptions {
    /// Planking and half-siding.
    pub rabbet: RabbetOptions,
    /// Depth of the keel below the rabbet line, where the record gives no underside.
    pub keel_depth: f64,
    /// How far the stem's head stands outside the rabbet line.
    pub stem_outside: f64,
    /// How far the inner edge of the pieces lies inside the bearding line.
    pub inside: f64,
    /// Length of a scarf over the depth of the keel.
    pub scarf: f64,
    /// Depth of its nibs as a part of the depth of the keel; nothing leaves feather edges.
    pub nib: f64,
    /// Full-size sections of stem and sternpost at this spacing along the rabbet.
    pub section_every: f64,
    /// Thickness of the transom that the stern knee stands against.
    pub transom_thickness: f64,
    /// Length of each arm of the stern knee.
    pub knee_arm: f64,
}

impl Default for BackboneOptions {
    fn default() -> Self {
        BackboneOptions {
            rabbet: RabbetOptions::default(),
            keel_depth: 0.075,
            stem_outside: 0.05,
            inside: 0.02,
            scarf: SCARF,
            nib: NIB,
            section_every: 0.25,
            transom_thickness: 0.022,
            knee_arm: 0.35,
        }
    }
}

/// The keel at a station.
#[derive(Clone, Debug, PartialEq)]
pub struct KeelAt {
    /// Station.
    pub station: String,
    /// m aft of the forward end.
    pub x: f64,
    /// Its rabbet.
    pub rabbet: Rabbet,
    /// Height of the keel's underside, m.
    pub underside: f64,
    /// Height of its upper edge, m.
    pub upper: f64,
    /// Bevel of the underside: its angle to the base line in profile, radians, rising aft.
    pub bottom_bevel: f64,
}

/// The stem or sternpost at a spot of its rabbet.
#[derive(Clone, Debug, PartialEq)]
pub struct EndAt {
    /// Height of the rabbet line, m.
    pub z: f64,
    /// x of it, m.
    pub x: f64,
    /// The rabbet in the piece's own cross section.
    pub rabbet: Rabbet,
    /// How far the outer edge lies outside the rabbet line, m.
    pub outside: f64,
    /// Moulded size, outer edge to inner, m.
    pub moulded: f64,
}

/// A piece to cut, in profile: (x, z), m.
#[derive(Clone, Debug, PartialEq)]
pub struct BackbonePiece {
    /// Keel, stem, sternpost or stern knee.
    pub name: &'static str,
    /// One closed path.
    pub outline: BezPath,
    /// Stations, waterlines and the three lines.
    pub marks: Vec<Mark>,
    /// Its width, m.
    pub sided: f64,
    /// Least and greatest size across it in profile, m; of the knee the arm's.
    pub moulded: (f64, f64),
}

/// A full-size section of the rabbet: the piece runs from `lower` to `upper` in the rabbet's plane, m.
#[derive(Clone, Debug, PartialEq)]
pub struct RabbetSection {
    /// Where.
    pub label: String,
    /// The rabbet.
    pub rabbet: Rabbet,
    /// Outer edge.
    pub lower: f64,
    /// Inner edge.
    pub upper: f64,
}

/// The keel in plan at a spot, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanSpot {
    /// Aft of the forward end.
    pub x: f64,
    /// Half-siding.
    pub half_siding: f64,
    /// Half-breadth of the middle line.
    pub middle: f64,
}

/// A backbone.
#[derive(Clone, Debug, PartialEq)]
pub struct Backbone {
    /// The boat's name.
    pub name: String,
    /// Units labels are written in.
    pub units: Units,
    /// Planking thickness, m.
    pub planking: f64,
    /// The keel at each station.
    pub keel: Vec<KeelAt>,
    /// The stem, heel to head; empty where there is none.
    pub stem: Vec<EndAt>,
    /// The sternpost, heel to head; empty where there is none.
    pub sternpost: Vec<EndAt>,
    /// Rabbet, bearding and middle line in profile, bow to stern, m.
    pub lines: [BezPath; 3],
    /// The keel in plan, bow to stern.
    pub plan: Vec<PlanSpot>,
    /// What to cut.
    pub pieces: Vec<BackbonePiece>,
    /// Full-size sections.
    pub sections: Vec<RabbetSection>,
    /// Length of the scarf between keel and stem, and keel and sternpost, along the keel, m.
    pub scarf: f64,
    /// Depth of the scarfs' nibs, m.
    pub nib: f64,
    /// Angle between the arms of the stern knee, radians; `None` without a transom.
    pub knee_angle: Option<f64>,
    /// Spots without a rabbet, and why: one of each kind a piece.
    pub failures: Vec<String>,
    /// What the builder should know: where the rabbet is long, where a scarf is short.
    pub remarks: Vec<String>,
}

/// Length of a scarf over the depth of the piece (common practice).
pub const SCARF: f64 = 8.0;
/// Depth of a scarf's nib over that of the piece: an eighth to a sixth (common practice).
pub const NIB: f64 = 1.0 / 7.0;
/// Nibs deeper than this leave no scarf between them.
const DEEPEST_NIB: f64 = 0.4;
/// A scarf takes no more of the keel than this.
const LONGEST_SCARF: f64 = 0.3;
/// Spots along the keel, and up each end, that the lines are drawn through: at 16 ft they stand 120 mm apart
/// and the cubics between them are within a few hundredths of a millimetre; more are slower by as much.
const KEEL_SPOTS: usize = 40;
/// See [`KEEL_SPOTS`].
const END_SPOTS: usize = 24;
/// How far short of the head, as a part of its length, the last spot of an end stands: a tenth of a millimetre.
const CORNER_CLEAR: f64 = 1e-4;
/// Spots of a line nearer than this along the boat are one, m.
const SAME_SPOT_M: f64 = 1e-6;
/// Lines that turn by more at a spot, radians (20 degrees), have a corner there: the record's stem meets its
/// keel at one. Fair lines turn by less between spots.
const CORNER: f64 = 0.35;
/// Size across the arm of a stern knee for its length.
const KNEE_MOULDED: f64 = 0.22;
/// How far the throat of a stern knee is drawn in toward its corner, as a part of the arm.
const KNEE_THROAT: f64 = 0.55;

impl BackboneOptions {
    fn check(&self) -> Result<(), RabbetError> {
        for (what, value) in [
            ("keel depth", self.keel_depth),
            ("stem outside the rabbet", self.stem_outside),
            ("spacing of sections", self.section_every),
            ("length of the stern knee's arm", self.knee_arm),
            ("length of a scarf over the keel's depth", self.scarf),
        ] {
            if !(value.is_finite() && value > 0.0) {
                return Err(RabbetError::BadLength { what, value });
            }
        }
        if !(0.0..=DEEPEST_NIB).contains(&self.nib) {
            return Err(RabbetError::BadNib { nib: self.nib, deepest: DEEPEST_NIB });
        }
        // Nothing is a fair answer for these two.
        let sizes =
            [("size inside the bearding", self.inside), ("transom thickness", self.transom_thickness)];
        match sizes.into_iter().find(|(_, value)| !(value.is_finite() && *value >= 0.0)) {
            Some((what, value)) => Err(RabbetError::BadLength { what, value }),
            None => Ok(()),
        }
    }
}

/// The keel's underside: a batten through the record's readings, or a stated depth below the surface's edge.
struct Underside {
    bent: Option<Batten>,
    edge: Curve,
    depth: f64,
}

impl Underside {
    fn new(hull: &Hull, options: &BackboneOptions) -> Result<Underside, RabbetError> {
        let mut read = hull.survey().keel.clone();
        read.sort_by(|a, b| a.x.total_cmp(&b.x));
        read.dedup_by(|a, b| a.x == b.x);
        // It lies as straight as the readings let it: on those held, and within the worth of the others.
        let tolerance = |mark| move |worth: f64| if mark == Marked::Held { 0.0 } else { worth };
        let nails: Vec<Nail> = (read.iter())
            .map(|s| Nail { x: s.x, y: s.z, tolerance: tolerance(s.mark)(s.tolerance) })
            .collect();
        let bent = if nails.len() < 2 { None } else { Some(batten(&nails).map_err(RabbetError::Underside)?) };
        let edge = hull.reference_lines().swap_remove(0);
        // Where the record is to the inside, the rabbet line lies about a planking thickness below its edge.
        let below = Planking::of(hull, options.rabbet.planking).map_or(0.0, |p| -p.outer);
        Ok(Underside { bent, edge, depth: options.keel_depth + below })
    }

    /// Height at `x`, m; carried on straight past either end.
    fn at(&self, x: f64) -> f64 {
        if let Some(bent) = &self.bent {
            return bent.height(x).0;
        }
        let found = self.edge.crossings([1.0, 0.0, 0.0], x).pop().map(|mark| mark.sample.p[2]);
        let height = found.or_else(|| {
            let ends = [self.edge.start()?, self.edge.end()?];
            let near = if (x - ends[0].p[0]).abs() < (x - ends[1].p[0]).abs() { ends[0] } else { ends[1] };
            Some(near.p[2] + (x - near.p[0]) * near.tangent[2] / near.tangent[0])
        });
        height.unwrap_or(0.0) - self.depth
    }

    /// Its rise over its run at `x`.
    fn slope(&self, x: f64) -> f64 {
        match &self.bent {
            Some(bent) => bent.height(x).1,
            None => (self.at(x + SLOPE_STEP_M) - self.at(x - SLOPE_STEP_M)) / (2.0 * SLOPE_STEP_M),
        }
    }

    fn foot(&self, x: f64) -> Point {
        Point::new(x, self.at(x))
    }
}

/// A spot that has no rabbet: the piece it is on, and why.
type Failure = (&'static str, RabbetError);

/// One failure of each kind a piece, the worst, and how many more there are.
fn told(failures: Vec<Failure>) -> Vec<String> {
    let mut kinds: Vec<(Failure, usize)> = Vec::new();
    for (piece, error) in failures {
        let same = |other: &&mut (Failure, usize)| {
            other.0.0 == piece && std::mem::discriminant(&other.0.1) == std::mem::discriminant(&error)
        };
        match kinds.iter_mut().find(same) {
            Some((worst, more)) => {
                *more += 1;
                if error.siding_asked() > worst.1.siding_asked() {
                    worst.1 = error;
                }
            }
            None => kinds.push(((piece, error), 0)),
        }
    }
    let text = |((piece, error), more): (Failure, usize)| match more {
        0 => format!("{piece}: {error}"),
        _ => format!("{piece}: {error} (the same at {more} more spots of the {piece})"),
    };
    kinds.into_iter().map(text).collect()
}

fn keel_stations(
    hull: &Hull,
    grid: &Grid,
    options: &BackboneOptions,
    underside: &Underside,
    failures: &mut Vec<Failure>,
) -> Result<Vec<KeelAt>, RabbetError> {
    let mut keel = Vec::new();
    // Stations forward of the keel, or abaft it, cross the stem or sternpost.
    let rabbet = &hull.reference_lines()[0];
    let ends = [rabbet.start(), rabbet.end()].map(|s| s.map_or(f64::NAN, |s| s.p[0]));
    for (station, x) in grid.stations.iter().filter(|(_, x)| (ends[0]..=ends[1]).contains(x)) {
        let x = *x;
        match rabbet_or_along(hull, x, &options.rabbet, true) {
            Ok(rabbet) => keel.push(KeelAt {
                station: station.clone(),
                x,
                underside: underside.at(x),
                upper: rabbet.bearding.y + options.inside,
                bottom_bevel: underside.slope(x).atan(),
                rabbet,
            }),
            Err(error) => failures.push(("keel", error)),
        }
    }
    if keel.is_empty() {
        let none = RabbetError::NoLine { place: "the stations".into(), line: "rabbet" };
        return Err(failures.first().map_or(none, |(_, error)| error.clone()));
    }
    Ok(keel)
}

/// Slopes of the keel's underside are taken over this much either side, m.
const SLOPE_STEP_M: f64 = 0.005;

/// A spot of the backbone: its rabbet, and where its edges lie, (x, z).
#[derive(Clone, Debug)]
struct Spot {
    end: Option<End>,
    rabbet: Rabbet,
    lines: [Point; 3],
    outer: Point,
    inner: Point,
    outside: f64,
}

/// The backbone in profile from the stem's head aft.
struct Spine<'a> {
    hull: &'a Hull,
    options: BackboneOptions,
    underside: Underside,
    spots: Vec<Spot>,
    /// Where the keel begins and ends.
    fore: f64,
    aft: f64,
    scarf: f64,
    nib: f64,
}

impl<'a> Spine<'a> {
    fn new(
        hull: &'a Hull,
        options: &BackboneOptions,
        keel: &[KeelAt],
        underside: Underside,
        failures: &mut Vec<Failure>,
    ) -> Spine<'a> {
        let middle = &keel[keel.len() / 2];
        let depth = middle.upper - middle.underside;
        let mut spine = Spine {
            hull,
            options: *options,
            underside,
            spots: Vec::new(),
            fore: 0.0,
            aft: 0.0,
            scarf: options.scarf * depth,
            nib: options.nib * depth,
        };
        let stem = spine.end(End::Stem, failures);
        let post = spine.end(End::Sternpost, failures);
        let rabbet = &hull.reference_lines()[0];
        let ends = [rabbet.start(), rabbet.end()].map(|s| s.map_or(f64::NAN, |s| s.p[0]));
        (spine.fore, spine.aft) = (ends[0], ends[1]);
        spine.scarf = spine.scarf.min(LONGEST_SCARF * (ends[1] - ends[0]));
        let joints = [spine.fore + spine.scarf, spine.aft - spine.scarf];
        let mut xs: Vec<f64> = (1..KEEL_SPOTS).map(|i| ends[0] + (ends[1] - ends[0]) * closer(i)).collect();
        // Joints are met exactly; their neighbours stand back so that the spots stay evenly apart.
        let apart = 0.4 * (ends[1] - ends[0]) / KEEL_SPOTS as f64;
        xs.retain(|x| joints.iter().all(|j| (x - j).abs() > apart));
        xs.extend(joints);
        xs.push(ends[1] - SAME_SPOT_M);
        xs.sort_by(f64::total_cmp);
        let along: Vec<Spot> = xs
            .into_iter()
            .filter_map(|x| rabbet_or_along(hull, x, &options.rabbet, true).ok())
            .map(|r| spine.keel_spot(&r))
            .collect();
        spine.spots = stem.into_iter().rev().chain(along).chain(post).collect();
        spine
    }

    /// Where planking meets a piece so finely that the rabbet grows long, and scarfs shorter than asked for.
    fn remarks(&self, grid: &Grid) -> Vec<String> {
        let mut remarks = Vec::new();
        let say = |length: f64| format!("{} ({:.0} mm)", written(length, grid.units), length * 1e3);
        let degrees = least_angle().to_degrees();
        for end in [None, Some(End::Stem), Some(End::Sternpost)] {
            let fine = |s: &&Spot| s.end == end && s.rabbet.angle <= least_angle();
            let spots: Vec<&Spot> = self.spots.iter().filter(fine).collect();
            let place = |s: &&Spot| if end.is_some() { s.lines[0].y } else { s.lines[0].x };
            let Some(from) = spots.iter().map(place).min_by(f64::total_cmp) else { continue };
            let to = spots.iter().map(place).fold(from, f64::max);
            let piece = end.map_or("keel", End::name);
            let way = if end.is_some() { "up" } else { "from the stem" };
            let run = spots.iter().map(|s| s.rabbet.bearding.y - s.rabbet.rabbet.y).fold(0.0, f64::max);
            let rest = if spots.iter().any(|s| s.rabbet.angle == least_angle()) {
                "so the rabbet line is only where it may be at most: leave the wood there and cut to a piece of \
                 the planking, or give the table to the outside of the planking"
            } else {
                "so the rabbet is long: leave the wood there and cut to a piece of the planking"
            };
            remarks.push(format!(
                "{piece}, {} to {} {way}: the planking all but lies along the piece (it meets it at {degrees:.1} \
                 degrees or less), and the bearding line runs {} from the rabbet line, {rest}",
                say(from),
                say(to),
                say(run),
            ));
        }
        let asked = if self.options.nib > 0.0 {
            self.nib / self.options.nib * self.options.scarf
        } else {
            self.scarf
        };
        if asked > self.scarf * 1.0001 {
            remarks.push(format!(
                "scarfs: {} times the keel's depth is {}; they are held to {}, {:.0} per cent of the keel: give a \
                 shorter scarf or a shallower keel",
                self.options.scarf,
                say(asked),
                say(self.scarf),
                LONGEST_SCARF * 100.0,
            ));
        }
        remarks
    }

    /// The nibs of the scarf from `low` on the underside to `high` on the upper edge: square to the keel's
    /// run, in from either end. None for a feather-edged scarf.
    fn nibs(&self, low: Point, high: Point) -> Vec<Point> {
        let square = |x: f64| Vec2::new(-self.underside.slope(x), 1.0).normalize() * self.nib;
        if self.nib > 0.0 { vec![low + square(low.x), high - square(high.x)] } else { Vec::new() }
    }

    fn keel_spot(&self, rabbet: &Rabbet) -> Spot {
        let lines = rabbet.in_space().map(|[x, _, z]| Point::new(x, z));
        let x = lines[0].x;
        let outer = Point::new(x, self.underside.at(x));
        let inner = lines[1] + Vec2::new(0.0, self.options.inside);
        Spot { end: None, rabbet: *rabbet, lines, outer, inner, outside: lines[0].y - outer.y }
    }

    /// The spots of stem or sternpost, heel to head.
    fn end(&self, end: End, failures: &mut Vec<Failure>) -> Vec<Spot> {
        let Ok(profile) = end_profile(self.hull, end, &self.options.rabbet) else { return Vec::new() };
        let Some(heel) = profile.start() else { return Vec::new() };
        let deep = heel.p[2] - self.underside.at(heel.p[0]);
        let mut spots = Vec::new();
        for i in 0..=END_SPOTS {
            let part = i as f64 / END_SPOTS as f64;
            // The very corner with the sheer is a point of no section.
            let Some(at) = profile.at_fraction(part.min(1.0 - CORNER_CLEAR)) else { continue };
            match rabbet_across(self.hull, end, &at, &self.options.rabbet, true) {
                Ok(rabbet) => {
                    let lines = rabbet.in_space().map(|[x, _, z]| Point::new(x, z));
                    let inward = Vec2::new(rabbet.plane.up[0], rabbet.plane.up[2]);
                    // From the keel's depth at the heel to the stated size at the head.
                    let outside = deep + (self.options.stem_outside - deep) * part;
                    let (outer, inner) =
                        (lines[0] - inward * outside, lines[1] + inward * self.options.inside);
                    spots.push(Spot { end: Some(end), rabbet, lines, outer, inner, outside });
                }
                Err(error) => failures.push((end.name(), error)),
            }
        }
        spots
    }

    /// Points of one kind from bow to stern, those of the keel left out where the ends' own run past them.
    fn followed(&self, of: impl Fn(&Spot) -> Point) -> Vec<Point> {
        let reach = |end: End, worst: fn(f64, f64) -> f64, from: f64| {
            self.spots.iter().filter(|s| s.end == Some(end)).map(|s| of(s).x).fold(from, worst)
        };
        let fore = reach(End::Stem, f64::max, f64::NEG_INFINITY);
        let aft = reach(End::Sternpost, f64::min, f64::INFINITY);
        let clear = 0.2 * (self.aft - self.fore) / KEEL_SPOTS as f64;
        let runs = |s: &&Spot| s.end.is_some() || (of(s).x > fore + clear && of(s).x < aft - clear);
        self.spots.iter().filter(runs).map(&of).collect()
    }

    /// Rabbet (0), bearding (1) or middle line (2).
    fn line(&self, k: usize) -> Vec<Point> {
        self.followed(|s| s.lines[k])
    }

    fn ends(&self, end: End) -> Vec<EndAt> {
        let mut list: Vec<EndAt> = (self.spots.iter().filter(|s| s.end == Some(end)))
            .map(|s| EndAt {
                z: s.lines[0].y,
                x: s.lines[0].x,
                rabbet: s.rabbet,
                outside: s.outside,
                moulded: s.outer.distance(s.inner),
            })
            .collect();
        list.sort_by(|a, b| a.z.total_cmp(&b.z));
        list
    }

    fn plan(&self) -> Vec<PlanSpot> {
        let spot = |s: &Spot| PlanSpot {
            x: s.lines[0].x,
            half_siding: s.rabbet.half_siding,
            middle: s.rabbet.middle.x,
        };
        self.spots.iter().filter(|s| s.end.is_none()).map(spot).collect()
    }

    fn sections(&self, grid: &Grid, keel: &[KeelAt], every: f64) -> Vec<RabbetSection> {
        let mut sections: Vec<RabbetSection> = keel
            .iter()
            .map(|k| RabbetSection {
                label: format!("ST {}", k.station),
                rabbet: k.rabbet,
                lower: k.underside,
                upper: k.upper,
            })
            .collect();
        for end in [End::Stem, End::Sternpost] {
            let mut since = f64::INFINITY;
            let mut last: Option<Point> = None;
            for s in self.spots.iter().filter(|s| s.end == Some(end)) {
                since += last.map_or(0.0, |p| p.distance(s.lines[0]));
                last = Some(s.lines[0]);
                if since < every {
                    continue;
                }
                since = 0.0;
                sections.push(RabbetSection {
                    label: format!("{} {}", end.name().to_uppercase(), written(s.lines[0].y, grid.units)),
                    rabbet: s.rabbet,
                    lower: -s.outside,
                    upper: s.rabbet.bearding.y + self.options.inside,
                });
            }
        }
        sections
    }

    fn pieces(&self, grid: &Grid, keel: &[KeelAt]) -> Vec<BackbonePiece> {
        let along: Vec<&Spot> = self.spots.iter().filter(|s| s.end.is_none()).collect();
        let sided = 2.0 * self.spots.iter().map(|s| s.rabbet.half_siding).fold(0.0, f64::max);
        let inner = self.followed(|s| s.inner);
        let mut pieces = Vec::new();
        let foot = |x: f64| self.underside.foot(x);
        // Keel: from the foot of the fore joint along the underside, and back along the inner edge.
        let has = |end: End| self.spots.iter().any(|s| s.end == Some(end));
        let (from, to) = (self.fore, self.aft);
        let (joint_fore, joint_aft) = (
            if has(End::Stem) { from + self.scarf } else { from },
            if has(End::Sternpost) { to - self.scarf } else { to },
        );
        // The underside ends on the transom's after face, carried down, where there is one.
        let mut after = foot(to);
        for _ in 0..20 {
            after = self.transom().map_or(after, |t| foot(t.x(0.0, after.y)));
        }
        let mut bottom = vec![foot(from)];
        let before = |p: &Point| p.x > from && p.x < to.min(after.x) - 10.0 * SAME_SPOT_M;
        bottom.extend(along.iter().map(|s| s.outer).filter(before));
        bottom.push(after);
        let within_keel = |p: &&Point| p.x >= joint_fore - SAME_SPOT_M && p.x <= joint_aft + SAME_SPOT_M;
        let mut upper: Vec<Point> = inner.iter().filter(within_keel).copied().collect();
        upper.reverse();
        let mut outline = smooth(&bottom);
        let ends = upper.first().copied().zip(upper.last().copied());
        if let (Some(t), Some((top, _))) = (self.transom(), ends) {
            outline.line_to((t.x(0.0, top.y), top.y));
        }
        let joint = |end: End, high: Point| {
            let low = foot(if end == End::Stem { from } else { to });
            if has(end) { self.nibs(low, high) } else { Vec::new() }
        };
        let (fore_high, aft_high) = ends.map_or((after, after), |(aft, fore)| (fore, aft));
        joint(End::Sternpost, aft_high).into_iter().for_each(|p| outline.line_to(p));
        join(&mut outline, &smooth(&upper));
        joint(End::Stem, fore_high).into_iter().rev().for_each(|p| outline.line_to(p));
        outline.close_path();
        let depths = keel.iter().map(|k| k.upper - k.underside);
        let moulded =
            (depths.clone().fold(f64::INFINITY, f64::min), depths.fold(f64::NEG_INFINITY, f64::max));
        pieces.push(self.piece(grid, "keel", outline, sided, moulded));

        for end in [End::Stem, End::Sternpost] {
            let spots: Vec<&Spot> = self.spots.iter().filter(|s| s.end == Some(end)).collect();
            if spots.len() < 2 {
                continue;
            }
            let heel_last = end == End::Stem;
            let mut outer: Vec<Point> = spots.iter().map(|s| s.outer).collect();
            let joint = if heel_last { joint_fore } else { joint_aft };
            let mut inside: Vec<Point> = inner
                .iter()
                .filter(|p| if heel_last { p.x <= joint + SAME_SPOT_M } else { p.x >= joint - SAME_SPOT_M })
                .copied()
                .collect();
            if heel_last {
                outer.reverse();
            } else {
                inside.reverse();
            }
            // From the foot of the joint up the outside, across the head, down the inside, along the joint.
            let low = foot(if heel_last { from } else { to });
            let mut up = vec![low];
            up.extend(self.forefoot(low, &outer));
            up.extend(outer);
            let mut outline = smooth(&up);
            join(&mut outline, &smooth(&inside));
            let high = if heel_last { fore_high } else { aft_high };
            self.nibs(low, high).into_iter().rev().for_each(|p| outline.line_to(p));
            outline.close_path();
            let sizes = spots.iter().map(|s| s.outer.distance(s.inner));
            let moulded =
                (sizes.clone().fold(f64::INFINITY, f64::min), sizes.fold(f64::NEG_INFINITY, f64::max));
            pieces.push(self.piece(grid, end.name(), outline, sided, moulded));
        }
        if let Some((corner, along, up)) = self.knee() {
            let arm = self.options.knee_arm;
            let size = KNEE_MOULDED * arm;
            let square = |d: Vec2, other: Vec2| (other - d * other.dot(d)).normalize();
            let (in_along, in_up) = (square(along, up), square(up, along));
            let mut outline = BezPath::new();
            // Its foot lies on the keel's upper edge, which may bend.
            let mut foot = vec![corner];
            let run = |p: &Point| (*p - corner).dot(along);
            foot.extend(inner.iter().rev().filter(|p| run(p) > arm * 0.02 && run(p) < arm * 0.98).copied());
            foot.push(corner + along * arm);
            outline.extend(smooth(&foot));
            let (a, b) = (corner + along * arm + in_along * size, corner + up * arm + in_up * size);
            outline.line_to(a);
            outline.curve_to(a - along * (KNEE_THROAT * arm), b - up * (KNEE_THROAT * arm), b);
            outline.line_to(corner + up * arm);
            outline.close_path();
            pieces.push(self.piece(grid, "stern knee", outline, sided, (size, size)));
        }
        pieces
    }

    /// Where the outer edge of an end, `outer` from its heel up, carried on down meets the underside of the
    /// keel carried on from `low`: the corner of the forefoot.
    fn forefoot(&self, low: Point, outer: &[Point]) -> Option<Point> {
        let [heel, next, ..] = outer else { return None };
        let (down, run) = ((*heel - *next).normalize(), Vec2::new(1.0, self.underside.slope(low.x)));
        let reach = (low - *heel).cross(run) / down.cross(run);
        let corner = *heel + down * reach;
        // Past both, and no farther than the piece is deep: else the heel itself is the corner.
        let beyond = (corner.x - low.x) * (heel.x - low.x) > 0.0;
        (beyond && reach > SAME_SPOT_M && reach < heel.distance(low)).then_some(corner)
    }

    fn transom(&self) -> Option<scrieve_offsets::TransomPlane> {
        self.hull.survey().transom
    }

    /// The stern knee's corner and the directions of its arms: along the keel's upper edge forward, and up the
    /// transom's forward face.
    fn knee(&self) -> Option<(Point, Vec2, Vec2)> {
        let t = self.transom()?;
        let up = Vec2::new(t.head.0 - t.foot.0, t.head.1 - t.foot.1).normalize();
        let up = if up.y < 0.0 { -up } else { up };
        let inner = self.followed(|s| s.inner);
        let last = *inner.last()?;
        let arm = self.options.knee_arm;
        let before = inner.iter().rev().find(|p| p.distance(last) >= arm).or(inner.first())?;
        let along = (*before - last).normalize();
        let face = Point::new(t.x(0.0, 0.0) - self.options.transom_thickness / up.y, 0.0);
        // Where the line of the upper edge meets the forward face.
        let reach = (last - face).cross(along) / up.cross(along);
        Some((face + up * reach, along, up))
    }

    fn knee_angle(&self) -> Option<f64> {
        self.knee().map(|(_, along, up)| along.dot(up).clamp(-1.0, 1.0).acos())
    }

    fn piece(
        &self,
        grid: &Grid,
        name: &'static str,
        outline: BezPath,
        sided: f64,
        moulded: (f64, f64),
    ) -> BackbonePiece {
        let mut marks = Vec::new();
        let mut add = |kind, label: String, path: BezPath| {
            if !path.elements().is_empty() {
                marks.push(Mark { kind, label, path });
            }
        };
        let across = |p: Point, d: Vec2| path_of(&clip(&outline, &[], p, d));
        for (station, x) in &grid.stations {
            add(MarkKind::Station, format!("ST {station}"), across(Point::new(*x, 0.0), Vec2::new(0.0, 1.0)));
        }
        for z in &grid.waterlines {
            let label = format!("WL {}", written(*z, grid.units));
            add(MarkKind::Waterline, label, across(Point::new(0.0, *z), Vec2::new(1.0, 0.0)));
        }
        add(MarkKind::BaseLine, "BASE".into(), across(Point::ZERO, Vec2::new(1.0, 0.0)));
        let kinds =
            [(MarkKind::Rabbet, "RABBET"), (MarkKind::Bearding, "BEARDING"), (MarkKind::Middle, "MIDDLE")];
        for (k, (kind, label)) in kinds.into_iter().enumerate() {
            let line = finer(&smooth(&self.line(k)));
            add(kind, label.into(), within(&line, |p| outline.winding(p) != 0));
        }
        BackbonePiece { name, outline, marks, sided, moulded }
    }
}

/// The same curve in shorter cubics, so that a part of it ends near the edge of the wood.
fn finer(path: &BezPath) -> BezPath {
    let parts = f64::from(FINER);
    let split = path
        .segments()
        .flat_map(|s| (0..FINER).map(move |i| s.subsegment(f64::from(i) / parts..f64::from(i + 1) / parts)));
    BezPath::from_path_segments(split)
}

/// Cubics of a line are cut in this many before they are kept to the wood: a line stops within a centimetre
/// of the edge of a piece.
const FINER: u32 = 16;

/// Runs on to the start of `next` and along it.
fn join(path: &mut BezPath, next: &BezPath) {
    let mut elements = next.elements().iter();
    if let Some(kurbo::PathEl::MoveTo(p)) = elements.next() {
        path.line_to(*p);
    }
    path.extend(elements.copied());
}

/// Spots along the keel stand closer toward its ends, where the lines bend most.
fn closer(i: usize) -> f64 {
    0.5 - 0.5 * (std::f64::consts::PI * i as f64 / KEEL_SPOTS as f64).cos()
}

/// A fair curve through points, parted at corners: cubics whose slopes are those of the parabolas through three neighbours, by
/// the chord between them.
pub(crate) fn smooth(points: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    let mut spots: Vec<Point> = Vec::new();
    for &p in points {
        if spots.last().is_none_or(|last| last.distance(p) > SAME_SPOT_M) {
            spots.push(p);
        }
    }
    let Some(&first) = spots.first() else { return path };
    path.move_to(first);
    let n = spots.len();
    if n < 3 {
        spots.iter().skip(1).for_each(|&p| path.line_to(p));
        return path;
    }
    // Slope at the middle, and at either end, of the parabola through three points.
    let slopes = |i: usize| -> [Vec2; 3] {
        let (h0, h1) = (spots[i].distance(spots[i - 1]), spots[i + 1].distance(spots[i]));
        let (d0, d1) = ((spots[i] - spots[i - 1]) / h0, (spots[i + 1] - spots[i]) / h1);
        let bend = (d1 - d0) / (h0 + h1);
        [d0 - bend * h0, d0 + bend * h0, d1 + bend * h1]
    };
    let corner = |i: usize| {
        i == 0 || i + 1 == n || {
            let (a, b) = (spots[i] - spots[i - 1], spots[i + 1] - spots[i]);
            a.cross(b).atan2(a.dot(b)).abs() > CORNER
        }
    };
    // On leaving a spot and on coming to it: one-sided at a corner, straight between two corners.
    let leaving = |i: usize| match (corner(i), corner(i + 1)) {
        (true, true) => (spots[i + 1] - spots[i]).normalize(),
        (true, false) => slopes(i + 1)[0],
        _ => slopes(i)[1],
    };
    let coming = |i: usize| match (corner(i), corner(i - 1)) {
        (true, true) => (spots[i] - spots[i - 1]).normalize(),
        (true, false) => slopes(i - 1)[2],
        _ => slopes(i)[1],
    };
    for i in 0..n - 1 {
        let third = spots[i].distance(spots[i + 1]) / 3.0;
        path.curve_to(spots[i] + leaving(i) * third, spots[i + 1] - coming(i + 1) * third, spots[i + 1]);
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::ParamCurveArclen;

    #[test]
    fn a_line_through_spots_of_a_circle_keeps_to_it() {
        let spots: Vec<Point> =
            (0..=12).map(|i| Point::new((f64::from(i) * 0.1).cos(), (f64::from(i) * 0.1).sin())).collect();
        let path = smooth(&spots);
        let off = path
            .segments()
            .flat_map(|s| (0..=10).map(move |i| s.eval(f64::from(i) / 10.0)))
            .map(|p| (p.to_vec2().hypot() - 1.0).abs())
            .fold(0.0, f64::max);
        // Spots 100 mm apart on a radius of 1 m; the ends, of one side alone, are the worst.
        assert!(off < 5e-5, "{off}");
    }

    #[test]
    fn a_line_keeps_its_corners_and_straights() {
        let spots = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (2.0, 1.0), (2.0, 2.0)].map(Point::from);
        let length: f64 = smooth(&spots).segments().map(|s| s.arclen(1e-9)).sum();
        assert!((length - 4.0).abs() < 1e-9, "{length}");
    }
}
