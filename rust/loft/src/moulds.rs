//! Moulds: the shape of a section to the inside of what is bent round it.
//!
//! The edge that bears is the section of the surface parallel to the planking's outside, cut by the
//! station's plane: the deduction is square to the planking in space, not in the plane. The mould's
//! thickness lies on the side toward the widest part of the boat, so that a square edge bears on the
//! station line and never stands proud (common practice). Drawn (y, z) from the centreline and the base
//! line, metres, looking at the face that stands on the station line.

use kurbo::{BezPath, Point, Shape as _, Vec2};
use scrieve_hull::{Curve, Hull, HullError};
use scrieve_notation::{Units, to_ascii};

use crate::bevels::{chine_name, chine_spots, edge_bevels};
use crate::edge::{Edge, Place};
use crate::flat::{ToldAs, flat_bottom, floored};
use crate::marks::{MARK_INSET_M, Mark, MarkKind, clip, crosses, path_of, within};
use crate::outline::{
    CHECK_ACCURACY_M, Cut, Half, NotchAt, edge_of_both, is_simple, mirror_outline, mirrored, notched,
    taken_up,
};
use crate::pieces::{self, InPieces, Part, Plan, Planned, SpallBoard};
use crate::ribbands::{self, RibbandAt};
use crate::stock::{Stock, board};
use crate::{DiagonalAt, EdgeBevel, Grid, bevel, written};

/// Moulds of a hull; one that cannot be made costs only itself and is found in `failures`.
///
/// # Errors
/// Options that make no sense for any mould, or that leave no mould at all.
pub fn moulds(hull: &Hull, options: &MouldOptions) -> Result<MouldSet, LoftError> {
    options.check()?;
    let mut remarks = Vec::new();
    if flat_bottom(hull) == Some(ToldAs::Edge) {
        remarks.push(
            "the rabbet line is taken as the edge of a bottom that is flat across: moulds go across it, clear of \
             the bottom's planking"
                .into(),
        );
    }
    let hull = &*floored(hull);
    let deduction = deduction(hull, options, &mut remarks)?;
    let grid = Grid::of(hull);
    let widest = widest_part(hull);

    let mut failures = Vec::new();
    let (mut drafts, mut narrow) = (Vec::new(), Vec::new());
    for (station, x) in stations(hull, options, &grid) {
        match Draft::new(hull, options, &station, x, deduction, widest) {
            Ok(draft) => drafts.push(draft),
            Err(error) => match (left_out(hull, x, deduction, &error), options.stations == Stations::Table) {
                (Some(why), true) => {
                    remarks.push(format!("no mould at station {station}: {why}; {}", instead(hull, x)));
                    narrow.push(Failure { station, x, error });
                }
                _ => failures.push(Failure { station, x, error }),
            },
        }
    }
    let lines = Lines::new(&grid, options, &drafts);
    // Upside down on the strongback her stem head must come clear of it too.
    let highest = hull.extent([0.0, 0.0, 1.0]).1;
    let spall_height =
        options.spall_height.unwrap_or_else(|| round_above(highest + SPALL_CLEARANCE_M, grid.units));
    if spall_height < highest {
        remarks.push(format!(
            "the spall lies {} ({:.0} mm) below her highest, the head of her stem or sheer: what stands above it \
             must come clear of the strongback",
            written(highest - spall_height, grid.units),
            (highest - spall_height) * 1e3
        ));
    }

    let mut moulds = Vec::new();
    for draft in drafts {
        let (station, x) = (draft.station.clone(), draft.x);
        match draft.finish(options, &lines, spall_height) {
            Ok(mut mould) => {
                mould.remarks.extend(little_known(hull, x));
                moulds.push(mould);
            }
            Err(error) => failures.push(Failure { station, x, error }),
        }
    }
    if moulds.is_empty() {
        failures.extend(narrow);
        return Err(LoftError::NoMoulds(failures));
    }
    let set_up = moulds
        .iter()
        .map(|m| SetUp {
            station: m.station.clone(),
            x: m.x,
            along: m.x - options.strongback_from,
            spall_height,
            face: m.face,
            lies: m.lies,
            upside_down: options.upside_down,
        })
        .collect();
    let name = to_ascii(&hull.source().facts.name);
    let base_line = options.base_parallel.unwrap_or(0.0);
    let stock = options.pieces.as_ref().and_then(|pieces| pieces.stock);
    Ok(MouldSet {
        name,
        deduction,
        spall_height,
        highest,
        base_line,
        stock,
        moulds,
        set_up,
        remarks,
        failures,
    })
}

/// What is to be said of a mould that stands where no reading tells how the planking runs.
fn little_known(hull: &Hull, x: f64) -> Option<String> {
    let off = hull.faired().unsure.iter().filter_map(|unsure| unsure.at_section(x)).max_by(f64::total_cmp)?;
    Some(format!(
        "it stands where no reading tells how the planking runs, which may be off by {:.0} mm and more: take one there \
         before it is cut",
        1e3 * off
    ))
}

/// What is asked of a set of moulds. Lengths are metres.
#[derive(Clone, Debug, PartialEq)]
pub struct MouldOptions {
    /// Where moulds stand.
    pub stations: Stations,
    /// Planking thickness; the table's own where left out. Not taken off a table that is to the inside.
    pub planking: Option<f64>,
    /// Ribs or ribbands that lie between the planking and the moulds.
    pub outside: f64,
    /// Thickness of the moulds' stock.
    pub thickness: f64,
    /// Cut to the far face and bevelled to the station line, instead of a square edge; where the bevel is shut, and the
    /// station face the larger, to that.
    pub bevelled: bool,
    /// Halves or whole.
    pub shape: Shape,
    /// Made of a floor and futtocks; each half, or the whole, in one where left out.
    pub pieces: Option<InPieces>,
    /// The cross spall as a piece of its own; none where left out.
    pub spall: Option<SpallBoard>,
    /// Width of the limb; `None` is solid, with a straight inner edge on the centreline.
    pub limb: Option<f64>,
    /// How far the edge runs on past the sheer in its own direction.
    pub above_sheer: f64,
    /// Horns go on, plumb, to this far past the spall line; `None` ends them `above_sheer`.
    pub past_spall: Option<f64>,
    /// Height of the spall line; a round figure clear of her highest, stem head and all, where left out.
    pub spall_height: Option<f64>,
    /// Notch for keel, hog or keelson: whole width, and depth up from the mould's lower end.
    pub keel_notch: Option<Notch>,
    /// Notch for each ribband: width along the edge, and depth into it.
    pub ribband_notch: Option<Notch>,
    /// Where the ribbands run.
    pub ribbands: Vec<RibbandAt>,
    /// Heights of waterlines to mark; the table's where left out.
    pub waterlines: Option<Vec<f64>>,
    /// Half-breadths of buttocks to mark; the table's where left out.
    pub buttocks: Option<Vec<f64>>,
    /// Diagonals to mark; the table's where left out.
    pub diagonals: Option<Vec<DiagonalAt>>,
    /// Height of a line parallel to the base line to mark in its place.
    pub base_parallel: Option<f64>,
    /// Thickness bevels rise over; the moulds' own where left out.
    pub bevel_over: Option<f64>,
    /// x that distances along the strongback are measured from.
    pub strongback_from: f64,
    /// Built upside down.
    pub upside_down: bool,
}

impl Default for MouldOptions {
    fn default() -> Self {
        MouldOptions {
            stations: Stations::Table,
            planking: None,
            outside: 0.0,
            thickness: 0.018,
            bevelled: false,
            shape: Shape::Pair,
            pieces: None,
            spall: None,
            limb: Some(0.1),
            above_sheer: 0.05,
            past_spall: Some(0.025),
            spall_height: None,
            keel_notch: None,
            ribband_notch: None,
            ribbands: Vec::new(),
            waterlines: None,
            buttocks: None,
            diagonals: None,
            base_parallel: None,
            bevel_over: None,
            strongback_from: 0.0,
            upside_down: true,
        }
    }
}

/// Where moulds stand.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Stations {
    /// At every station of the table but the transom.
    #[default]
    Table,
    /// At these distances aft of the forward end, m.
    At(Vec<f64>),
    /// Every so many metres from the forward end.
    Every(f64),
}

/// How a mould is made up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Shape {
    /// Both halves.
    #[default]
    Pair,
    /// One half, cut two at a time from stacked stock.
    Stacked,
    /// One whole frame.
    Whole,
}

/// A square notch, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Notch {
    /// Width.
    pub width: f64,
    /// Depth.
    pub depth: f64,
}

/// Which way a mould's thickness lies from its station line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Lies {
    /// Aft of it: in the forebody.
    Aft,
    /// Forward of it: in the afterbody.
    Forward,
}

/// A face of a mould.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Face {
    /// The face toward the stem.
    Forward,
    /// The face toward the stern.
    After,
}

/// Which side of the boat a piece is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// Left, looking forward.
    Port,
    /// Right, looking forward.
    Starboard,
    /// Both sides in one piece.
    Both,
}

/// A piece to cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// What it is of the mould.
    pub part: Part,
    /// What it is called, as "FUTTOCK 2"; nothing of a mould, or half of one, in one piece.
    pub name: String,
    /// How many are cut of it.
    pub count: usize,
    /// Its side.
    pub side: Side,
    /// One closed path, anticlockwise.
    pub outline: BezPath,
    /// Closed paths within it, clockwise.
    pub holes: Vec<BezPath>,
    /// Marks, inside the wood.
    pub marks: Vec<Mark>,
    /// Which way to move it to see it apart from those it is jointed to: the further for each joint
    /// between it and the keel.
    pub apart: Vec2,
}

impl Piece {
    /// The narrowest board it can be got out of; of those that `stock` holds, where there are any.
    pub fn board(&self, stock: Option<Stock>) -> Stock {
        board(&pieces::points_of(self.outline.segments()), stock)
    }
}

/// A mould.
#[derive(Clone, Debug, PartialEq)]
pub struct Mould {
    /// Its station's name.
    pub station: String,
    /// Its station, m aft of the forward end.
    pub x: f64,
    /// Which way its thickness lies.
    pub lies: Lies,
    /// The face that stands on the station line and carries the marks.
    pub face: Face,
    /// The exact edge on the station line, lower end to sheer.
    pub edge: Curve,
    /// The sheer on that edge.
    pub sheer: Point,
    /// One piece, or the right and the left half.
    pub pieces: Vec<Piece>,
    /// What is written on it, a line each; plain ASCII. Names, sides and counts are written by piece.
    pub labels: Vec<String>,
    /// Bevels from the lower end up.
    pub bevels: Vec<EdgeBevel>,
    /// What the builder should know of this mould.
    pub remarks: Vec<String>,
}

/// One row of the set-up table.
#[derive(Clone, Debug, PartialEq)]
pub struct SetUp {
    /// Station.
    pub station: String,
    /// Distance aft of the forward end, m.
    pub x: f64,
    /// Distance along the strongback, m.
    pub along: f64,
    /// Height of the spall line above the base line, m.
    pub spall_height: f64,
    /// Which face stands on the station line.
    pub face: Face,
    /// Which way the mould lies from it.
    pub lies: Lies,
    /// Set up keel uppermost.
    pub upside_down: bool,
}

/// A mould that could not be made.
#[derive(Clone, Debug, PartialEq)]
pub struct Failure {
    /// Its station's name.
    pub station: String,
    /// Its station, m.
    pub x: f64,
    /// Why.
    pub error: LoftError,
}

impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "station {}: {}", self.station, self.error)
    }
}

/// The moulds of a boat.
#[derive(Clone, Debug, PartialEq)]
pub struct MouldSet {
    /// The boat's name; plain ASCII.
    pub name: String,
    /// What was deducted, square to the planking, m.
    pub deduction: f64,
    /// Height of the spall line, m.
    pub spall_height: f64,
    /// Height of the hull's highest, the head of her stem or sheer, m.
    pub highest: f64,
    /// Height of the line marked as base line or parallel to it, m.
    pub base_line: f64,
    /// The largest board there is, where that was said.
    pub stock: Option<Stock>,
    /// The moulds, bow to stern.
    pub moulds: Vec<Mould>,
    /// How to set them up.
    pub set_up: Vec<SetUp>,
    /// What was assumed.
    pub remarks: Vec<String>,
    /// Those that could not be made.
    pub failures: Vec<Failure>,
}

/// Why a mould, or all of them, cannot be made. Lengths are metres.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LoftError {
    /// A length that cannot be negative, or is not a number.
    #[error("{what} is {value} m: it must be {}", least_of(*.positive))]
    BadLength {
        /// What was given.
        what: &'static str,
        /// What it was.
        value: f64,
        /// Whether nothing is too little.
        positive: bool,
    },
    /// Moulds nearer than there is room for.
    #[error("a mould every {spacing} m: there is no room for them nearer than {least} m")]
    TooClose {
        /// The spacing asked for.
        spacing: f64,
        /// The least there is.
        least: f64,
    },
    /// Neither the record nor the options give a planking thickness.
    #[error("the table gives no planking thickness: give one (0 if nothing is to be deducted)")]
    NoPlanking,
    /// The deduction is more than the boat is wide there.
    #[error("{deduction:.4} m is to be deducted where the half-breadth is {half_breadth:.4} m")]
    TooThick {
        /// What was to be deducted.
        deduction: f64,
        /// Greatest half-breadth of the section.
        half_breadth: f64,
    },
    /// She is narrower there than a mould can be made.
    #[error(
        "a mould would be {:.0} mm wide there, both halves together: under {:.0} mm there is none to cut and fasten",
        1e3 * .width, 1e3 * .least
    )]
    TooNarrow {
        /// Width of the whole mould, m.
        width: f64,
        /// The least there is.
        least: f64,
    },
    /// The spall would cross the boat below her sheer.
    #[error("the spall at {spall:.4} m lies below the sheer at {sheer:.4} m: give a higher one")]
    SpallBelowSheer {
        /// Height of the spall.
        spall: f64,
        /// Height of the sheer on this mould.
        sheer: f64,
    },
    /// A notch leaves no wood.
    #[error("the {what} is {depth:.4} m deep in {wood:.4} m of wood: give a shallower notch or a wider limb")]
    NotchTooDeep {
        /// Which notch.
        what: &'static str,
        /// Its depth.
        depth: f64,
        /// What there is to cut it in.
        wood: f64,
    },
    /// A notch runs off the end of the edge.
    #[error("the {what} at girth {girth:.4} m runs off the edge: give it another place or a narrower notch")]
    NotchOffTheEdge {
        /// Which notch.
        what: &'static str,
        /// Length along the edge.
        girth: f64,
    },
    /// Two notches run into each other.
    #[error(
        "the ribband notch at girth {girth:.4} m runs into another, or into the keel notch: move one ribband"
    )]
    NotchesMeet {
        /// Length along the edge of the upper one.
        girth: f64,
    },
    /// Faces that do not lie over one another.
    #[error(
        "the mould's two faces do not lie over one another: give a thinner mould, or one that is not bevelled"
    )]
    NoBlank,
    /// The outline crosses itself: what is deducted is more than the hull's curve has room for.
    #[error("the outline crosses itself: {deduction:.4} m is more than the tightest curve has room for")]
    Crosses {
        /// What was deducted.
        deduction: f64,
    },
    /// Pieces of a mould that has no limbs.
    #[error("a mould in pieces is made of limbs: give the limb's width, not a solid mould")]
    PiecesWithoutLimb,
    /// Two ways of making a mould at once.
    #[error("a mould is whole or in pieces: give one of the two")]
    WholeInPieces,
    /// A joint above the edge.
    #[error("the joint {height:.4} m up lies above the sheer at {sheer:.4} m: give a lower one")]
    JointAboveSheer {
        /// Height of the joint.
        height: f64,
        /// Height of the sheer on this mould.
        sheer: f64,
    },
    /// A joint where a notch leaves no edge.
    #[error("the joint {height:.4} m up falls in a notch or too near one: move it along the edge")]
    JointInNotch {
        /// Height of the joint.
        height: f64,
    },
    /// A joint that does not run across one limb.
    #[error("a joint square to the edge {height:.4} m up does not run across a limb: move it up the side")]
    JointOffTheLimb {
        /// Height of the joint.
        height: f64,
    },
    /// A lap that there is no room for.
    #[error(
        "a lap of {lap:.4} m is longer than the {piece}, which has {length:.4} m for it: give a shorter lap"
    )]
    LapTooLong {
        /// The lap.
        lap: f64,
        /// The piece.
        piece: String,
        /// What there is of it.
        length: f64,
    },
    /// A limb that bends out from under the cleat.
    #[error(
        "the limb bends too much {height:.4} m up: over laps of {lap:.4} m it leaves a cleat {width:.4} m wide; \
         give a shorter lap, a wider limb or another place for the joint"
    )]
    CleatTooNarrow {
        /// Height of the joint.
        height: f64,
        /// What is left for the cleat.
        width: f64,
        /// The lap.
        lap: f64,
    },
    /// No place that is fit for a joint.
    #[error(
        "there is no place for a joint with laps of {lap:.4} m on a limb {limb:.4} m wide, clear of notches: \
         give a shorter lap, a wider limb or the joints"
    )]
    NoJoint {
        /// The lap.
        lap: f64,
        /// The limb.
        limb: f64,
    },
    /// A piece that the stock does not hold.
    #[error(
        "the {piece} takes a board {:.4} by {:.4} m and the stock is {:.4} by {:.4} m: give other joints or \
         larger stock", .needs.length, .needs.width, .stock.length, .stock.width
    )]
    DoesNotFit {
        /// The piece.
        piece: String,
        /// The narrowest board it can be got out of.
        needs: Stock,
        /// The stock.
        stock: Stock,
    },
    /// Stock that no number of joints makes do.
    #[error(
        "boards {:.4} by {:.4} m are too small even with {joints} joints a side: give larger stock or a \
         narrower limb", .stock.length, .stock.width
    )]
    StockTooSmall {
        /// How many joints were tried.
        joints: usize,
        /// The stock.
        stock: Stock,
    },
    /// A board across the limbs where there are none.
    #[error(
        "the {what} from {low:.4} to {high:.4} m up does not run across both limbs: give another height or width"
    )]
    OffTheLimbs {
        /// Which board.
        what: String,
        /// Its lower edge.
        low: f64,
        /// Its upper edge.
        high: f64,
    },
    /// The head and the spall in one place.
    #[error(
        "the spall comes down to {spall:.4} m, where the head reaches {head:.4} m: give a higher or narrower spall"
    )]
    HeadMeetsSpall {
        /// The spall's lower edge.
        spall: f64,
        /// The head's upper edge.
        head: f64,
    },
    /// The hull cannot give a section there.
    #[error(transparent)]
    Hull(#[from] HullError),
    /// No mould could be made.
    #[error("no mould could be made{}", .0.iter().map(|f| format!("; {f}")).collect::<String>())]
    NoMoulds(Vec<Failure>),
}

/// Spall lines are this far above her highest unless given, and on to a round figure: room for a clamp under the
/// spall, and for what a stem's head stands above the sheer.
pub const SPALL_CLEARANCE_M: f64 = 0.1;
/// A mould narrower than this over both halves is not made: a half of an inch has no room for a fastening, nor for its
/// marks, and wavers.
const LEAST_WIDTH_M: f64 = 0.05;
/// A square edge may stand this proud of the planking's inside before it is remarked on: what a plane
/// takes off in a stroke or two.
const PROUD_M: f64 = 0.0005;
/// A line in place of the base line stands at least this far above the highest foot of any mould, m: in the
/// wood of a limb, and not at its very edge.
const BASE_ABOVE_FEET_M: f64 = 0.03;
/// And this far from every waterline, m: room for the letters of both.
const BASE_CLEAR_M: f64 = 0.015;
/// The sheer mark is at most this long, m.
const SHEER_MARK_M: f64 = 0.06;
/// An edge that ends this near the centreline ends on it, m.
const NEARLY_M: f64 = 1e-6;
/// Stations nearer than this are the same, m: half of 1/32 in.
const SAME_STATION_M: f64 = 0.0004;
/// Moulds stand no nearer than this, m: a typing slip must not ask for a million of them.
const LEAST_SPACING_M: f64 = 0.01;
/// Spots along and up each patch where the widest part is looked for: 1/200 of her length is nearer than
/// any two moulds stand.
const WIDEST_GRID: (usize, usize) = (200, 24);

fn least_of(positive: bool) -> &'static str {
    if positive { "more than nothing" } else { "nothing or more" }
}

impl MouldOptions {
    fn check(&self) -> Result<(), LoftError> {
        let length = |what, value: f64, positive: bool| {
            let ok = value.is_finite() && (value > 0.0 || (value == 0.0 && !positive));
            if ok { Ok(()) } else { Err(LoftError::BadLength { what, value, positive }) }
        };
        length("planking thickness", self.planking.unwrap_or(0.0), false)?;
        length("thickness of ribs or ribbands", self.outside, false)?;
        length("mould thickness", self.thickness, true)?;
        length("limb width", self.limb.unwrap_or(1.0), true)?;
        length("run above the sheer", self.above_sheer, false)?;
        length("run past the spall", self.past_spall.unwrap_or(0.0), false)?;
        length("thickness bevels rise over", self.bevel_over.unwrap_or(1.0), true)?;
        // Of either sign, but numbers.
        for (what, value) in [
            ("spall height", self.spall_height.unwrap_or(0.0)),
            ("height of the parallel to the base line", self.base_parallel.unwrap_or(0.0)),
            ("start of the strongback", self.strongback_from),
        ] {
            length(what, value.abs(), false)?;
        }
        for notch in [self.keel_notch, self.ribband_notch].into_iter().flatten() {
            length("notch width", notch.width, true)?;
            length("notch depth", notch.depth, true)?;
        }
        if let Some(pieces) = &self.pieces {
            length("lap", pieces.lap.unwrap_or(1.0), true)?;
            for joint in &pieces.joints {
                let (pieces::JointAt::Height(at) | pieces::JointAt::HalfBreadth(at)) = *joint;
                length("place of a joint", at.abs(), false)?;
            }
            if let Some(stock) = pieces.stock {
                length("length of the stock", stock.length, true)?;
                length("width of the stock", stock.width, true)?;
            }
            if self.limb.is_none() {
                return Err(LoftError::PiecesWithoutLimb);
            }
            if self.shape == Shape::Whole {
                return Err(LoftError::WholeInPieces);
            }
        }
        if let Some(spall) = self.spall {
            length("width of the spall", spall.width, true)?;
            length("lap of the spall", spall.lap.unwrap_or(1.0), true)?;
        }
        if let Stations::Every(spacing) = self.stations {
            length("mould spacing", spacing, true)?;
            if spacing < LEAST_SPACING_M {
                return Err(LoftError::TooClose { spacing, least: LEAST_SPACING_M });
            }
        }
        Ok(())
    }
}

fn deduction(hull: &Hull, options: &MouldOptions, remarks: &mut Vec<String>) -> Result<f64, LoftError> {
    let facts = &hull.source().facts;
    if hull.is_inside() {
        remarks.push("the surface is the inside of the planking: nothing is taken off for planking".into());
        return Ok(options.outside);
    }
    let planking = match (options.planking, facts.planking) {
        (Some(given), _) => given,
        (None, Some(recorded)) => recorded.metres(),
        (None, None) => return Err(LoftError::NoPlanking),
    };
    if planking.is_nan() || planking < 0.0 {
        return Err(LoftError::BadLength { what: "planking thickness", value: planking, positive: false });
    }
    Ok(planking + options.outside)
}

/// x of the greatest half-breadth of the moulded surface, the foremost where several are as wide.
pub fn widest_part(hull: &Hull) -> f64 {
    let (nu, nv) = WIDEST_GRID;
    let mut best = [f64::INFINITY, f64::NEG_INFINITY, 0.0];
    for patch in &hull.surface().patches {
        for i in 0..=nu {
            for j in 0..=nv {
                let p = patch.point(i as f64 / nu as f64, j as f64 / nv as f64);
                let wider = p[1] - best[1];
                if wider > 1e-9 || (wider > -1e-9 && p[0] < best[0]) {
                    best = p;
                }
            }
        }
    }
    best[0]
}

/// Whether a station stands so near either end that the planking alone fills her there.
fn is_her_end(hull: &Hull, x: f64, deduction: f64) -> bool {
    let (from, to) = hull.extent([1.0, 0.0, 0.0]);
    let near = deduction.max(SAME_STATION_M);
    x < from + near || x > to - near
}

/// Why a mould that could not be made is none to be made: she ends there, or is too narrow. `None` of other errors.
fn left_out(hull: &Hull, x: f64, deduction: f64, error: &LoftError) -> Option<String> {
    match error {
        _ if is_her_end(hull, x, deduction) => Some("she ends there".to_owned()),
        LoftError::TooNarrow { .. } => Some(error.to_string()),
        _ => None,
    }
}

/// What stands in the place of a mould that is left out near an end.
fn instead(hull: &Hull, x: f64) -> String {
    let (survey, (from, to)) = (hull.survey(), hull.extent([1.0, 0.0, 0.0]));
    let is_fore = x - from < to - x;
    let end = match is_fore {
        true => (!survey.stem.is_empty()).then_some("stem"),
        false if survey.transom.is_some() => Some("transom"),
        false => (!survey.stern.is_empty()).then_some("sternpost"),
    };
    match end {
        Some(end) => format!("bend the ribbands in to the {end}, and check them there against the lines"),
        None => format!(
            "nothing is told of her end beyond it: give {} in the table, or a mould a little inside her",
            if is_fore { "`[stem]`" } else { "`[sternpost]` or `[transom]`" }
        ),
    }
}

fn stations(hull: &Hull, options: &MouldOptions, grid: &Grid) -> Vec<(String, f64)> {
    let named = |x: f64| {
        let known = grid.stations.iter().find(|(_, at)| (at - x).abs() < SAME_STATION_M);
        (known.map_or_else(|| written(x, grid.units), |(name, _)| name.clone()), x)
    };
    let list: Vec<(String, f64)> = match &options.stations {
        Stations::Table => grid.stations.clone(),
        Stations::At(list) => list.iter().copied().map(named).collect(),
        Stations::Every(spacing) => {
            let (_, aft) = hull.extent([1.0, 0.0, 0.0]);
            (1..).map(|k| f64::from(k) * spacing).take_while(|&x| x < aft).map(named).collect()
        }
    };
    in_plain_letters(list)
}

/// The names as cutters can read them; stations whose names differ in their accents alone are told apart by their
/// order.
fn in_plain_letters(list: Vec<(String, f64)>) -> Vec<(String, f64)> {
    let plain: Vec<String> = list.iter().map(|(name, _)| to_ascii(name)).collect();
    let told_apart = |i: usize| {
        let is_double = |k: usize| plain[k] == plain[i] && list[k].0 != list[i].0;
        match (0..list.len()).any(is_double) {
            true => format!("{} ({})", plain[i], i + 1),
            false => plain[i].clone(),
        }
    };
    (0..list.len()).map(|i| (told_apart(i), list[i].1)).collect()
}

/// The next round figure.
fn round_above(height: f64, units: Units) -> f64 {
    (height / step(units)).ceil() * step(units)
}

/// Round figures are whole inches, or 10 mm.
fn step(units: Units) -> f64 {
    match units {
        Units::FeetInchesEighths | Units::Inches | Units::Feet => 0.0254,
        Units::Millimetres | Units::Centimetres | Units::Metres => 0.01,
    }
}

/// The lines a set of moulds is marked with, and what is written by each.
struct Lines {
    units: Units,
    base: (f64, String),
    /// A line parallel to the base line that every mould has.
    parallel: (f64, String),
    waterlines: Vec<(f64, String)>,
    buttocks: Vec<(f64, String)>,
    diagonals: Vec<DiagonalAt>,
}

impl Lines {
    fn new(grid: &Grid, options: &MouldOptions, drafts: &[Draft]) -> Lines {
        let units = grid.units;
        let labelled = |what: &str, given: &Option<Vec<f64>>, own: &[f64]| {
            let at = given.as_deref().unwrap_or(own);
            at.iter().map(|&v| (v, format!("{what} {}", to_ascii(&written(v, units))))).collect()
        };
        let diagonals = options.diagonals.as_ref().unwrap_or(&grid.diagonals);
        let parallel = |height: f64| (height, format!("BASE + {}", to_ascii(&written(height, units))));
        let base = options.base_parallel.map_or((0.0, "BASE".to_owned()), parallel);
        // Above the foot of every mould, and no double of a waterline.
        let feet = drafts.iter().map(|d| d.edge.path().bounding_box().y0).fold(f64::NEG_INFINITY, f64::max);
        let marked = options.waterlines.as_deref().unwrap_or(&grid.waterlines);
        let heights =
            (0..).map(|k| round_above(feet + BASE_ABOVE_FEET_M, units) + f64::from(k) * step(units));
        let clear = |z: &f64| marked.iter().all(|w| (w - z).abs() > BASE_CLEAR_M);
        let height = heights.take(marked.len() * 4 + 1).find(clear).unwrap_or(feet + BASE_ABOVE_FEET_M);
        Lines {
            units,
            base,
            parallel: parallel(height),
            waterlines: labelled("WL", &options.waterlines, &grid.waterlines),
            buttocks: labelled("B", &options.buttocks, &grid.buttocks),
            diagonals: diagonals
                .iter()
                .map(|d| DiagonalAt { name: to_ascii(&d.name), ..d.clone() })
                .collect(),
        }
    }

    /// The base line where it crosses a mould whose foot is at this height, or the line parallel to it.
    fn base_across(&self, foot: f64) -> &(f64, String) {
        if self.base.0 > foot { &self.base } else { &self.parallel }
    }
}

/// A mould whose edge is known, before the spall's height is.
struct Draft {
    station: String,
    x: f64,
    lies: Lies,
    deduction: f64,
    curve: Curve,
    edge: Edge,
    /// Heights where the hull turns tighter than the deduction and the edge has a corner.
    corners: Vec<f64>,
    /// The edge a bevelled mould is cut to: that on the far face, and the station's own where that stands outside it.
    far: Option<Edge>,
    /// How many chines the hull has.
    chines: usize,
}

impl Draft {
    fn new(
        hull: &Hull,
        options: &MouldOptions,
        station: &str,
        x: f64,
        deduction: f64,
        widest: f64,
    ) -> Result<Draft, LoftError> {
        let outside = hull.section(x)?;
        let half_breadth = outside.pieces.iter().flatten().map(|s| s.p[1]).fold(f64::NEG_INFINITY, f64::max);
        let too_thick = LoftError::TooThick { deduction, half_breadth };
        if half_breadth <= deduction {
            return Err(too_thick);
        }
        let edge_at = |x: f64| -> Result<(Curve, Edge, Vec<f64>), LoftError> {
            let section = hull.parallel_section_marked(x, deduction)?;
            let edge = Edge::with_chines(&section.curve, &section.chines).ok_or_else(|| too_thick.clone())?;
            let width = 2.0 * edge.greatest_half_breadth();
            if width <= 0.0 {
                return Err(too_thick.clone());
            }
            if width < LEAST_WIDTH_M {
                return Err(LoftError::TooNarrow { width, least: LEAST_WIDTH_M });
            }
            Ok((section.curve, edge, section.loops))
        };
        let (curve, edge, corners) = edge_at(x)?;
        let lies = if x <= widest { Lies::Aft } else { Lies::Forward };
        let far = match options.bevelled {
            true => Some(edge_of_both(&edge, edge_at(x + lies.sign() * options.thickness)?.1)?),
            false => None,
        };
        let chines = hull.surface().patches.len() - 1;
        Ok(Draft { station: station.to_owned(), x, lies, deduction, curve, edge, corners, far, chines })
    }

    /// The sheer on the station line.
    fn sheer(&self) -> Point {
        self.edge.point(self.edge.end())
    }

    fn finish(self, options: &MouldOptions, lines: &Lines, spall: f64) -> Result<Mould, LoftError> {
        let sheer = self.sheer();
        if spall < sheer.y {
            return Err(LoftError::SpallBelowSheer { spall, sheer: sheer.y });
        }
        let corner = |z: &f64| {
            format!(
                "the hull turns tighter than the planking is thick {z:.3} m up: the mould has a corner there"
            )
        };
        let mut remarks: Vec<String> = self.corners.iter().map(corner).collect();
        let (near, cut_at) = ((&self.edge, self.x), self.cut_at(options));
        let face = self.far.as_ref().map_or(near, |far| (far, cut_at));
        let other = self.far.is_some().then_some(near);
        let cut = Self::with_cut(face, other, options, spall, |cut| Half::new(face.0, cut))?;
        let station_face = match self.far {
            Some(_) => Some(Self::with_cut(near, None, options, spall, |cut| notched(&self.edge, cut))?),
            None => None,
        };
        self.remark_on_bevels(options, &mut remarks);
        let crossing = ribbands::crossings(&self.edge, self.x, &options.ribbands)?;
        let missing = (1..=options.ribbands.len()).map(ribbands::name);
        let missing = missing.filter(|name| crossing.iter().all(|(_, crosses)| crosses != name));
        remarks.extend(missing.map(|name| format!("ribband {name} does not cross this mould")));
        if self.edge.point(self.edge.start()).x < -NEARLY_M {
            remarks.push(
                "the planking is thicker than the half-siding: the lower end is cut to the centreline".into(),
            );
        }

        let named = ribbands::crossings(face.0, face.1, &options.ribbands)?;
        remarks.extend(cut.without.iter().filter_map(|&k| named.get(k)).map(|(place, name)| {
            let z = face.0.point(*place).y;
            format!(
                "no notch for ribband {name}, {z:.3} m up: the mould has too little wood there; bevel the edge, and \
                 fasten the ribband on it"
            )
        }));
        if cut.footless {
            remarks.push("the keel notch is wider than the mould at its top and takes the foot off".into());
        }

        let plan = self.plan(&cut, options, spall)?;
        remarks.extend(plan.remarks.iter().cloned());
        let pieces: Vec<Piece> = plan
            .pieces
            .iter()
            .flat_map(|planned| {
                self.pieces(
                    planned,
                    &plan.fastenings,
                    options.shape == Shape::Stacked,
                    |outline, holes, side| {
                        self.marks(outline, holes, side, lines, options, spall, station_face.as_ref())
                    },
                )
            })
            .collect();
        for piece in &pieces {
            let simple = is_simple(&piece.outline, CHECK_ACCURACY_M);
            if !simple || piece.outline.area() <= 0.0 {
                return Err(LoftError::Crosses { deduction: self.deduction });
            }
        }
        let face = match self.lies {
            Lies::Aft => Face::Forward,
            Lies::Forward => Face::After,
        };
        let face_label = match face {
            Face::Forward => "FORWARD FACE",
            Face::After => "AFTER FACE",
        };
        let labels = vec![format!("MOULD {}", self.station), face_label.to_owned()];
        let bevels = self.bevels(lines, options)?;
        Ok(Mould {
            station: self.station,
            x: self.x,
            lies: self.lies,
            face,
            edge: self.curve,
            sheer,
            pieces,
            labels,
            bevels,
            remarks,
        })
    }

    /// What it is made of: the right side of it, and what lies astride the centreline.
    fn plan(&self, cut: &Half, options: &MouldOptions, spall: f64) -> Result<Plan, LoftError> {
        let one = |astride, (outline, holes)| Planned {
            part: Part::Mould,
            name: String::new(),
            astride,
            outline,
            holes,
            lines: Vec::new(),
            apart: Vec2::ZERO,
        };
        let edge = self.far.as_ref().unwrap_or(&self.edge);
        let mut plan = match (&options.pieces, options.limb) {
            (Some(ask), Some(limb)) => {
                let notches = options.ribband_notch.map_or(0.0, |notch| notch.width / 2.0);
                let ribbands = ribbands::crossings(edge, self.cut_at(options), &options.ribbands)?;
                let ribbands: Vec<Place> = ribbands.into_iter().map(|(place, _)| place).collect();
                let mut plan = pieces::in_pieces(edge, cut, ask, limb, notches, &ribbands)?;
                if ask.head {
                    let (head, fastenings) = pieces::head(edge, cut, limb, options.limb)?;
                    plan.pieces.push(head);
                    plan.fastenings.extend(fastenings);
                }
                plan
            }
            _ if options.shape == Shape::Whole => {
                Plan { pieces: vec![one(true, cut.whole())], ..Plan::default() }
            }
            _ => Plan { pieces: vec![one(false, (cut.outline(), Vec::new()))], ..Plan::default() },
        };
        if let Some(board) = options.spall {
            let head = plan.pieces.iter().any(|p| p.part == Part::Head).then(|| edge.point(edge.end()).y);
            if let Some(head) = head.filter(|head| *head > spall - board.width) {
                return Err(LoftError::HeadMeetsSpall { spall: spall - board.width, head });
            }
            let (spall, fastenings) = pieces::spall(cut, spall, board, options.limb)?;
            plan.pieces.push(spall);
            plan.fastenings.extend(fastenings);
        }
        Ok(plan)
    }

    /// A planned piece on each side it is cut for, with its marks.
    fn pieces(
        &self,
        planned: &Planned,
        fastenings: &[Point],
        stacked: bool,
        grid: impl Fn(&BezPath, &[BezPath], Side) -> Vec<Mark>,
    ) -> Vec<Piece> {
        let right = match self.lies {
            Lies::Aft => (Side::Port, Side::Starboard),
            Lies::Forward => (Side::Starboard, Side::Port),
        };
        let side = if planned.astride { Side::Both } else { right.0 };
        let (outline, holes) = (&planned.outline, &planned.holes);
        let of_the_edge = matches!(planned.part, Part::Mould | Part::Floor | Part::Futtock);
        let mut marks = if of_the_edge { grid(outline, holes, side) } else { Vec::new() };
        for (label, line) in &planned.lines {
            let kind = if *label == "CL" { MarkKind::Centreline } else { MarkKind::Joint };
            let lines = clip(outline, holes, line.midpoint(), line.p1 - line.p0);
            marks.push(Mark { kind, label: (*label).to_owned(), path: path_of(&lines) });
        }
        let both = fastenings.iter().flat_map(|p| [*p, Point::new(-p.x, p.y)]);
        let in_wood = |p: Point| outline.winding(p) != 0 && holes.iter().all(|h| h.winding(p) == 0);
        let path = crosses(&both.collect::<Vec<_>>(), in_wood);
        if !path.elements().is_empty() {
            marks.push(Mark { kind: MarkKind::Fastening, label: String::new(), path });
        }
        let one = Piece {
            part: planned.part,
            name: planned.name.clone(),
            count: if stacked && !planned.astride { 2 } else { 1 },
            side,
            outline: outline.clone(),
            holes: holes.clone(),
            marks,
            apart: planned.apart,
        };
        if stacked || planned.astride {
            return vec![one];
        }
        let other = Piece {
            side: right.1,
            outline: mirror_outline(&one.outline),
            holes: one.holes.iter().map(mirror_outline).collect(),
            marks: one.marks.iter().map(|m| Mark { path: mirrored(&m.path), ..m.clone() }).collect(),
            apart: Vec2::new(-one.apart.x, one.apart.y),
            ..one.clone()
        };
        vec![one, other]
    }

    /// x of the face it is cut to.
    fn cut_at(&self, options: &MouldOptions) -> f64 {
        self.x + if self.far.is_some() { self.lies.sign() * options.thickness } else { 0.0 }
    }

    /// What is cut along `edge`, the face at `x`. Of a ribband's notch only what is void on the `other` face
    /// too, or the wood its run leaves there would be lost.
    fn with_cut<T>(
        (edge, x): (&Edge, f64),
        other: Option<(&Edge, f64)>,
        options: &MouldOptions,
        spall: f64,
        make: impl FnOnce(&Cut<'_>) -> Result<T, LoftError>,
    ) -> Result<T, LoftError> {
        let here = ribbands::crossings(edge, x, &options.ribbands)?;
        let there = match other {
            Some((edge, x)) => ribbands::crossings(edge, x, &options.ribbands)?,
            None => Vec::new(),
        };
        let mut nth_of: Vec<&str> = Vec::new();
        let notches: Vec<NotchAt> = here
            .iter()
            .map(|(place, name)| {
                let nth = nth_of.iter().filter(|n| *n == name).count();
                nth_of.push(name);
                let (at, along) = (edge.point(*place), edge.middle_tangent(*place));
                let same = there.iter().filter(|(_, other)| other == name).nth(nth);
                let run = same.zip(other).map_or(0.0, |((p, _), (edge, _))| (edge.point(*p) - at).dot(along));
                NotchAt { place: *place, run }
            })
            .collect();
        let cut = Cut {
            limb: options.limb,
            keel: options.keel_notch,
            ribband: options.ribband_notch,
            ribbands: &notches,
            above_sheer: options.above_sheer,
            top: options.past_spall.map_or(f64::NEG_INFINITY, |past| spall + past),
        };
        make(&cut)
    }

    /// How far the planking stands out at the far face of the mould from where it is on the station line.
    fn rise(&self, place: Place, over: f64) -> f64 {
        -self.lies.sign() * bevel(self.edge.normal(place)).tan() * over
    }

    fn remark_on_bevels(&self, options: &MouldOptions, remarks: &mut Vec<String>) {
        let lowest = self
            .edge
            .places(24)
            .into_iter()
            .min_by(|a, b| self.rise(*a, options.thickness).total_cmp(&self.rise(*b, options.thickness)));
        if let Some(place) = lowest {
            let proud = -self.rise(place, options.thickness);
            if proud > PROUD_M {
                let z = self.edge.point(place).y;
                remarks.push(format!(
                    "the bevel is shut near {z:.3} m up: a square edge stands {:.1} mm proud there",
                    proud * 1e3
                ));
            }
        }
    }

    #[expect(clippy::too_many_arguments, reason = "one call, from where all of it is known")]
    fn marks(
        &self,
        outline: &BezPath,
        holes: &[BezPath],
        side: Side,
        lines: &Lines,
        options: &MouldOptions,
        spall: f64,
        station_face: Option<&BezPath>,
    ) -> Vec<Mark> {
        let (level, plumb) = (Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0));
        let whole = side == Side::Both;
        let mut marks = Vec::new();
        let cuts: Vec<kurbo::PathSeg> =
            std::iter::once(outline).chain(holes).flat_map(|path| path.segments()).collect();
        let clear = |p: Point| pieces::nearest(&cuts, p).1 > MARK_INSET_M;
        let in_wood = |p: Point| outline.winding(p) != 0 && holes.iter().all(|h| h.winding(p) == 0);
        let mut add = |kind, label: &str, lines: &[(Point, Vec2)], keep: &dyn Fn(Point) -> bool| {
            let clipped: Vec<_> = lines
                .iter()
                .flat_map(|&(p, d)| clip(outline, holes, p, d))
                .filter(|l| keep(l.midpoint()))
                .collect();
            if !clipped.is_empty() {
                marks.push(Mark { kind, label: label.to_owned(), path: path_of(&clipped) });
            }
        };
        let all = |_: Point| true;
        if whole {
            add(MarkKind::Centreline, "CL", &[(Point::ZERO, plumb)], &all);
        }
        let (height, label) = lines.base_across(self.edge.path().bounding_box().y0);
        add(MarkKind::BaseLine, label, &[(Point::new(0.0, *height), level)], &all);
        for (z, label) in &lines.waterlines {
            add(MarkKind::Waterline, label, &[(Point::new(0.0, *z), level)], &all);
        }
        for (y, label) in &lines.buttocks {
            let both = [(Point::new(*y, 0.0), plumb), (Point::new(-*y, 0.0), plumb)];
            add(MarkKind::Buttock, label, &both[..if whole { 2 } else { 1 }], &all);
        }
        for d in &lines.diagonals {
            let p = Point::new(0.0, d.centreline_height);
            let (right, left) = (d.direction(), Vec2::new(-d.direction().x, d.direction().y));
            // Each half of a diagonal stands on its own side of the centreline.
            add(MarkKind::Diagonal, &d.name, &[(p, right)], &|q| q.x > 0.0);
            if whole {
                add(MarkKind::Diagonal, &d.name, &[(p, left)], &|q| q.x < 0.0);
            }
        }
        add(
            MarkKind::Spall,
            &format!("SPALL {}", to_ascii(&written(spall, lines.units))),
            &[(Point::new(0.0, spall), level)],
            &all,
        );
        if options.ribband_notch.is_none() {
            for (place, label) in
                ribbands::crossings(&self.edge, self.x, &options.ribbands).unwrap_or_default()
            {
                let p = self.edge.point(place);
                let n = self.edge.outward(place);
                add(MarkKind::Ribband, &label, &[(p, n)], &|q| q.distance(p) < options.limb.unwrap_or(p.x));
            }
        }
        for &(number, place) in self.edge.chines() {
            let (p, along) = (self.edge.point(place), self.edge.middle_tangent(place));
            let square = Vec2::new(-along.y, along.x);
            let sides = [(p, square), (Point::new(-p.x, p.y), Vec2::new(-square.x, square.y))];
            let ticks = sides[..if whole { 2 } else { 1 }].iter();
            let ticks: Vec<_> = ticks.filter_map(|&(p, d)| tick(outline, holes, p, d)).collect();
            if !ticks.is_empty() {
                let label = chine_name(number, self.chines).to_uppercase();
                marks.push(Mark { kind: MarkKind::Chine, label, path: path_of(&ticks) });
            }
        }
        let sheer = self.sheer();
        for l in clip(outline, holes, sheer, level) {
            // The stretch that ends at the edge, no longer than is needed to find it.
            let outer = if l.p0.x.abs() > l.p1.x.abs() { l.p0 } else { l.p1 };
            let inner = if l.p0.x.abs() > l.p1.x.abs() { l.p1 } else { l.p0 };
            let path = |from: Point, to: Point| {
                let length = from.distance(to).min(SHEER_MARK_M);
                path_of(&[kurbo::Line::new(from, from + (to - from).normalize() * length)])
            };
            let mut push = |path| marks.push(Mark { kind: MarkKind::Sheer, label: "SHEER".into(), path });
            if whole && l.p0.x * l.p1.x < 0.0 {
                push(path(l.p0, l.p1.midpoint(l.p0)));
                push(path(l.p1, l.p1.midpoint(l.p0)));
            } else {
                push(path(outer, inner));
            }
        }
        if let Some(line) = station_face {
            // Where the bevel is shut the station face stands outside the far one, and has no wood to be on.
            let sides = if whole { vec![line.clone(), mirrored(line)] } else { vec![line.clone()] };
            for side in sides {
                let path = within(&side, |p| in_wood(p) && clear(p));
                if !path.elements().is_empty() {
                    marks.push(Mark { kind: MarkKind::StationFace, label: "STATION FACE".into(), path });
                }
            }
        }
        marks
    }

    fn bevels(&self, lines: &Lines, options: &MouldOptions) -> Result<Vec<EdgeBevel>, LoftError> {
        let over = options.bevel_over.unwrap_or(options.thickness);
        let edge = &self.edge;
        // The bearing edge begins above the keel's notch, and on this side of the centreline.
        let from = taken_up(edge, options.keel_notch)?;
        let mut spots: Vec<(String, Place)> = vec![("lower end".into(), from)];
        spots.extend(chine_spots(edge, self.chines));
        for (z, label) in &lines.waterlines {
            spots.extend(edge.crossings(Vec2::new(0.0, 1.0), *z).into_iter().map(|p| (label.clone(), p)));
        }
        for d in &lines.diagonals {
            spots.extend(d.places(edge).into_iter().map(|p| (d.name.clone(), p)));
        }
        for (place, label) in ribbands::crossings(edge, self.x, &options.ribbands).unwrap_or_default() {
            spots.push((label, place));
        }
        spots.push(("sheer".into(), edge.end()));
        spots.retain(|(_, place)| *place >= from);
        Ok(edge_bevels(edge, spots, self.lies.sign(), over))
    }
}

/// A short line in from `p` on the edge: to find a spot by.
fn tick(outline: &BezPath, holes: &[BezPath], p: Point, direction: Vec2) -> Option<kurbo::Line> {
    let near = |l: &kurbo::Line| l.p0.distance(p).min(l.p1.distance(p));
    let stretch =
        clip(outline, holes, p, direction).into_iter().min_by(|a, b| near(a).total_cmp(&near(b)))?;
    let swapped = stretch.p1.distance(p) < stretch.p0.distance(p);
    let (from, to) = if swapped { (stretch.p1, stretch.p0) } else { (stretch.p0, stretch.p1) };
    let length = from.distance(to).min(SHEER_MARK_M);
    Some(kurbo::Line::new(from, from + (to - from).normalize() * length))
}

impl Lies {
    /// The direction of the far face from the station line, along x.
    fn sign(self) -> f64 {
        match self {
            Lies::Aft => 1.0,
            Lies::Forward => -1.0,
        }
    }
}
