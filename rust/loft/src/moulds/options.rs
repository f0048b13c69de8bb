//! What is asked of a set of moulds, and whether it makes sense.

use super::error::LoftError;
use crate::DiagonalAt;
use crate::pieces::{self, InPieces, SpallBoard};
use crate::ribbands::RibbandAt;

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
    /// Diameter of a hole where each fastening goes, in place of a cross; 0 for none.
    pub pilot_hole: f64,
    /// Diameter of two holes through each half or piece of the edge, by which those of a side are laid on those of the
    /// other; 0 for none.
    pub registration_hole: f64,
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
            pilot_hole: 0.0,
            registration_hole: 0.0,
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

/// Moulds stand no nearer than this, m: a typing slip must not ask for a million of them.
const LEAST_SPACING_M: f64 = 0.01;

impl MouldOptions {
    pub(super) fn check(&self) -> Result<(), LoftError> {
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
        length("diameter of pilot holes", self.pilot_hole, false)?;
        length("diameter of registration holes", self.registration_hole, false)?;
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
