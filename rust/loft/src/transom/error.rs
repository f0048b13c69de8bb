//! Why a transom cannot be made.

use super::LEAST_SPACING_M;
use scrieve_hull::HullError;

use crate::RoundOfBeam;

/// Why there is no transom. Metres.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TransomError {
    /// The record has none.
    #[error("the table has no transom: give its foot and head under [transom], or leave the transom out")]
    NoTransom,
    /// Neither the record nor the options give a planking thickness.
    #[error("the table gives no planking thickness: give one (0 if nothing is to be deducted)")]
    NoPlanking,
    /// A length that is none.
    #[error("{what} is {value} m: it must be nothing or more")]
    BadLength {
        /// What was given.
        what: &'static str,
        /// What it was.
        value: f64,
    },
    /// Bevels nearer than a bevel square can be set.
    #[error("bevels {value} m apart round the transom's edge: give {LEAST_SPACING_M} m or more")]
    TooClose {
        /// What was given.
        value: f64,
    },
    /// Foot and head make no face that crosses the boat.
    #[error("the transom's foot and head are at one height ({height:.4} m): they make no transom")]
    Flat {
        /// The height.
        height: f64,
    },
    /// A curved transom cannot be bent so.
    #[error("the transom's curve of radius {radius:.4} m is tighter than the {needs:.4} m it must pass")]
    TooTight {
        /// The radius.
        radius: f64,
        /// Thickness or half-breadth it has to be more than.
        needs: f64,
    },
    /// She ends forward in a stem.
    #[error("the boat ends forward in a stem: she has no bow transom")]
    Stem,
    /// A forward end that is no plane.
    #[error(
        "the boat's forward end lies up to {off:.4} m off any plane athwart her: give the bow transom's foot and head"
    )]
    NotPlane {
        /// How far off, m.
        off: f64,
    },
    /// An outline that crosses itself.
    #[error(
        "the transom's outline crosses itself: {deduction:.4} m of planking is more than its tightest corner has \
         room for; give thinner planking, or look at the readings of the after end"
    )]
    Crosses {
        /// What was deducted.
        deduction: f64,
    },
    /// Fashion pieces that would meet.
    #[error(
        "the transom has no room for fashion pieces {moulded:.4} m wide: nothing would be left between those of \
         either side; give a narrower one"
    )]
    NoFashion {
        /// Their width.
        moulded: f64,
    },
    /// The face does not cut the hull.
    #[error(
        "the transom misses the hull {place}: there the planking runs from x = {from:.3} to {to:.3} m and the \
         transom's face stands at x = {face:.3} m; check foot and head"
    )]
    Misses {
        /// Where on the hull.
        place: String,
        /// Forward end of the planking.
        from: f64,
        /// After end.
        to: f64,
        /// The face.
        face: f64,
    },
    /// The round of beam makes no arc across the transom.
    #[error("a camber of {:.4} m over a beam of {:.4} m makes no arc as wide as the transom", .0.camber, .0.beam)]
    NoRound(RoundOfBeam),
    /// The hull has no answer.
    #[error(transparent)]
    Hull(#[from] HullError),
}
