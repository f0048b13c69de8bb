//! Why a mould, or all of them, cannot be made.

use scrieve_hull::HullError;

use super::Failure;
use crate::stock::Stock;

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

fn least_of(positive: bool) -> &'static str {
    if positive { "more than nothing" } else { "nothing or more" }
}
