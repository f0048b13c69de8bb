//! Why a spar cannot be made, or what is asked of it not told.

use scrieve_surface::BattenError;

use super::{SIDES, STAVES};

/// Why not. Metres, newtons.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SparError {
    /// A length that is none.
    #[error("a spar's length is above 0 and to {limit} m, and {value} m was given: give its unit")]
    Length {
        /// What was given.
        value: f64,
        /// The longest.
        limit: f64,
    },
    /// A size that is none.
    #[error("{what} is {value} m: above 0 and to {limit:.3} m, half the spar's length; give its unit")]
    Size {
        /// Which.
        what: &'static str,
        /// What was given.
        value: f64,
        /// The most.
        limit: f64,
    },
    /// Two diameters.
    #[error(
        "a round spar has one diameter, and {depth} m by {breadth} m was given: call it oval, or give one"
    )]
    NotRound {
        /// Fore and aft.
        depth: f64,
        /// Athwart.
        breadth: f64,
    },
    /// Two tapers of what is round.
    #[error("a round spar has one taper: call it oval, or leave that of the breadth out")]
    TwoTapers,
    /// A taper that does not reach both ends.
    #[error(
        "the taper must begin at 0, the heel, and end at 1, the head, of the length: give a size at both"
    )]
    TaperEnds,
    /// A size of a taper.
    #[error(
        "at {at} of its length the taper is {value}: it is a part of the greatest size, above 0 and to 1"
    )]
    Fraction {
        /// Where.
        at: f64,
        /// What was given.
        value: f64,
    },
    /// Places out of order.
    #[error(
        "the taper turns back from {from} to {to} of the length: give its places from heel to head, each once"
    )]
    TurnsBack {
        /// The first.
        from: f64,
        /// The next.
        to: f64,
    },
    /// It grows again.
    #[error(
        "the taper turns back: at {at} of the length it grows from {from} to {to} after it has fallen; \
         between its greatest size and an end it may only fall, so give no more than {from} there"
    )]
    Swells {
        /// Where.
        at: f64,
        /// What it was.
        from: f64,
        /// What it would be.
        to: f64,
    },
    /// The batten does.
    #[error(
        "the batten through the taper's places falls and swells again {at:.3} m from the heel, by {:.2} mm of the spar's \
         size: a place of the taper more, or fewer, near it keeps it fair", by * 1e3
    )]
    Wavers {
        /// Where.
        at: f64,
        /// By how much.
        by: f64,
    },
    /// It grows far over what is stated.
    #[error(
        "the batten through the taper's places runs wild: it is {:.1} mm {at:.3} m from the heel, {:.1} % more than the \
         {:.1} mm stated, and {most} % are the most; set its places farther apart, or give one more near there",
        size * 1e3, 100.0 * (size / stated - 1.0), stated * 1e3
    )]
    RunsWild {
        /// Where.
        at: f64,
        /// How large.
        size: f64,
        /// The greatest that was stated.
        stated: f64,
        /// By how much it may, %.
        most: f64,
    },
    /// The batten leaves nothing.
    #[error(
        "the batten through the taper's places leaves nothing {at:.3} m from the heel: give a place of it there"
    )]
    Nothing {
        /// Where.
        at: f64,
    },
    /// No batten.
    #[error("the taper: {0}")]
    Batten(#[from] BattenError),
    /// Staves of nothing.
    #[error("staves are as thick as the wall: give the wall too")]
    StavesWithoutWall,
    /// Too few or too many.
    #[error("{count} staves: from {} to {} can be notched and laid round", STAVES.start(), STAVES.end())]
    Staves {
        /// How many.
        count: usize,
    },
    /// Staves of what is not round.
    #[error("notched staves make a round spar: leave the staves out, and it is built of halves or as a box")]
    StavesNotRound,
    /// Staves of two thicknesses.
    #[error("notched staves are of one thickness: give one wall for the whole length")]
    UnevenStaves,
    /// Solid ends of a solid spar.
    #[error("solid ends and a run-out are those of a hollow: give the wall too")]
    SolidEndsOfSolid,
    /// A wall that is none.
    #[error("the wall is {value} m at {at:.3} m from the heel: it must be above 0")]
    Wall {
        /// Where.
        at: f64,
        /// What was given.
        value: f64,
    },
    /// Places of a wall.
    #[error("the wall's places are parts of the length from 0 to 1, in order, each once")]
    WallPlaces,
    /// A length that is none.
    #[error("{what} is {value} m: it must be nothing or more")]
    SolidLength {
        /// Which.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// All is solid.
    #[error(
        "the solid ends and their run-outs take {taken:.3} m, and the spar is {length:.3} m long: no hollow is left"
    )]
    SolidEnds {
        /// What they take.
        taken: f64,
        /// What there is.
        length: f64,
    },
    /// A wall with no hollow.
    #[error(
        "the wall is thicker than the spar has room for: {:.2} mm at {at:.3} m from the heel, where half the spar is {:.2} mm; \
         give a thinner wall, or a solid end that reaches past there", wall * 1e3, room * 1e3
    )]
    NoHollow {
        /// Where.
        at: f64,
        /// The wall.
        wall: f64,
        /// Half the spar.
        room: f64,
    },
    /// A wall of which staves or boards leave nothing inside.
    #[error(
        "the wall is thicker than the spar has room for: {:.2} mm at {at:.3} m from the heel, where half the spar is {:.2} mm; \
         staves and a box's boards run through its solid ends too, so give a wall of less than {:.2} mm there",
        wall * 1e3, room * 1e3, room * 1e3
    )]
    NoInnerFace {
        /// Where.
        at: f64,
        /// The wall.
        wall: f64,
        /// Half the spar.
        room: f64,
    },
    /// Off the spar.
    #[error("{at:.4} m from the heel is off the spar, which is {length:.4} m long")]
    Off {
        /// Where.
        at: f64,
        /// Its length.
        length: f64,
    },
    /// A spacing.
    #[error("places every {value} m: give {limit:.4} m or more")]
    Spacing {
        /// What was given.
        value: f64,
        /// The least.
        limit: f64,
    },
    /// Sides.
    #[error("lines for {sides} sides: a spar is given {}, {} and {} in turn", SIDES[0], SIDES[1], SIDES[2])]
    Sides {
        /// How many.
        sides: usize,
    },
    /// Sides a ring of staves has or does not come to.
    #[error(
        "lines for {sides} sides: a spar of {count} staves has {count} sides when it is glued; of 8 staves those for 16 and 32 \
         are marked, of 16 those for 32, and of other counts it is planed round from its own sides"
    )]
    SidesOfStaves {
        /// Staves.
        count: usize,
        /// Sides asked for.
        sides: usize,
    },
    /// Sides of a rectangle.
    #[error("a rectangular spar stays four-sided: no lines for more sides are drawn on it")]
    NoSides,
    /// Kerfs of what has no halves.
    #[error("kerfs are sawn in the halves of a round or oval spar: this one is not built of halves")]
    NoHalves,
    /// A kerf.
    #[error("{what} is {value} m: above 0, and less than the hollow, {limit:.4} m at its widest")]
    Kerf {
        /// Which.
        what: &'static str,
        /// What was given.
        value: f64,
        /// The most.
        limit: f64,
    },
    /// Kerfs in one another.
    #[error(
        "kerfs {pitch} m apart run into one another with a blade that takes {blade} m: give a pitch of that or more"
    )]
    KerfPitch {
        /// How far apart.
        pitch: f64,
        /// How wide.
        blade: f64,
    },
    /// A scarf's slope.
    #[error(
        "a scarf of {value} to 1: from {least} to {most} glues and can be cut; 12 to 1 is common practice in spars"
    )]
    ScarfRatio {
        /// What was given.
        value: f64,
        /// The bluntest.
        least: f64,
        /// The longest.
        most: f64,
    },
    /// A scarf of nothing.
    #[error("a scarf's thickness and width are above 0")]
    ScarfSize,
    /// Stock that is none.
    #[error("stock {value} m long: it must be above 0")]
    Stock {
        /// What was given.
        value: f64,
    },
    /// No scarf allowed.
    #[error(
        "the stock is too short without a scarf: {stock} m, and the spar is {length} m long; allow scarfs, 12 to 1"
    )]
    StockShort {
        /// What there is.
        stock: f64,
        /// What is needed.
        length: f64,
    },
    /// No room for two scarfs.
    #[error(
        "stock {stock} m long is too short for its scarfs: give {least:.3} m or more, three times a scarf"
    )]
    StockForScarf {
        /// What there is.
        stock: f64,
        /// The least.
        least: f64,
    },
    /// Neighbours' scarfs that overlap.
    #[error(
        "stock {stock} m long: no lengths were found whose scarfs, {lap:.3} m each, are clear of the neighbours': give longer stock"
    )]
    ScarfsMeet {
        /// What there is.
        stock: f64,
        /// A scarf.
        lap: f64,
    },
    /// Supports in one place.
    #[error("the supports stand {first} m and {second} m from the heel: the second must be nearer the head")]
    Supports {
        /// The first.
        first: f64,
        /// The second.
        second: f64,
    },
    /// A load the wrong way.
    #[error(
        "the load {at} m from the heel is {value} N: it must be nothing or more; for one the other way, turn all round"
    )]
    NegativeLoad {
        /// Where.
        at: f64,
        /// What was given.
        value: f64,
    },
    /// A spread load's ends.
    #[error("a spread load from {from} m to {to} m: it must end nearer the head than it begins")]
    Spread {
        /// From.
        from: f64,
        /// To.
        to: f64,
    },
    /// Nothing at all.
    #[error("no load was given: at least one must be above 0")]
    NoLoad,
    /// A modulus that is none.
    #[error("a modulus of elasticity of {value} Pa: it must be above 0")]
    Modulus {
        /// What was given.
        value: f64,
    },
}
