//! Floating: what the hull displaces and how she trims and heels, by integrating the surface itself.
//!
//! [`Body`] closes the moulded surface; [`Body::hydrostatics`] gives upright figures under their ITTC names,
//! [`Body::float`] the draught and trim at which a mass floats, [`Body::arms`] GZ over heel with sinkage and
//! trim free, [`Body::sectional_area`] the curve of areas; [`Rig`] is for sails.
//!
//! **Caution.** These figures are for comparison and study. They do not show that a boat is safe or lawful:
//! follow local rules and have a licensed naval architect or surveyor judge her.

mod body;
mod equilibrium;
mod lateral;
mod sails;
mod sections;
mod stability;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
mod upright;

pub(crate) use body::transom_face;
pub use body::{Body, NODES};
pub use equilibrium::{Flotation, Loading, Weight};
pub use lateral::{LateralPart, keel};
pub use sails::{Area, Rig, Sail, polygon, polygon_below, sail_area_displacement, sail_area_wetted_surface};
pub use scrieve_surface::quadrature::simpson;
pub use stability::{Arms, Deck};
pub use upright::Hydrostatics;

/// What must be said wherever these figures are printed.
pub const CAUTION: &str = "Hydrostatic and stability figures are for comparison and study. They do not show that \
                           a boat is safe or lawful: follow local rules and have a licensed naval architect or \
                           surveyor judge her.";

/// Water, by its density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Density, kg/m³.
    pub density: f64,
}

impl Water {
    /// Sea water at 15 °C (ITTC 7.5-02-01-03, from memory).
    pub const SEA: Water = Water { density: 1026.021 };
    /// Fresh water at 15 °C (ITTC 7.5-02-01-03, from memory).
    pub const FRESH: Water = Water { density: 999.103 };
}

/// Why a hull cannot be floated as asked. Lengths in metres above the base line, masses in kilograms.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FloatingError {
    /// The water does not reach the hull.
    #[error("a draught of {draught:.3} m leaves her dry: she starts {lowest:.3} m above the base line")]
    Dry {
        /// What was asked.
        draught: f64,
        /// Lowest point of the hull.
        lowest: f64,
    },
    /// The water stands over the sheer.
    #[error("a draught of {draught:.3} m is over the sheer, which is lowest at {sheer:.3} m")]
    OverTheSheer {
        /// What was asked.
        draught: f64,
        /// Lowest point of the sheer.
        sheer: f64,
    },
    /// She is heavier than the water she can displace.
    #[error("{mass:.1} kg is more than she can float: the whole hull to the sheer displaces {most:.1} kg")]
    Sinks {
        /// What was asked.
        mass: f64,
        /// Mass of water the whole body displaces.
        most: f64,
    },
    /// Loaded so, water comes in over the sheer.
    #[error("so loaded she floats with her sheer {under:.3} m under water")]
    Swamped {
        /// Depth of the sheer under water.
        under: f64,
    },
    /// No heel brings the centres in line.
    #[error("so loaded she has no balance short of {heel_degrees:.0} degrees of heel")]
    Capsizes {
        /// Greatest heel tried.
        heel_degrees: f64,
    },
    /// No trim was found that brings the centres in line.
    #[error("no trim was found that brings her centres in line: lcg {lcg:.3} m, amidships {midships:.3} m")]
    NoTrim {
        /// Longitudinal centre of the load.
        lcg: f64,
        /// x of amidships.
        midships: f64,
    },
    /// An argument that makes no sense.
    #[error("{0}")]
    Argument(String),
}

impl FloatingError {
    /// Which of them it is, in a word or two.
    pub fn reason(&self) -> &'static str {
        match self {
            FloatingError::Dry { .. } => "dry",
            FloatingError::OverTheSheer { .. } => "over the sheer",
            FloatingError::Sinks { .. } => "sinks",
            FloatingError::Swamped { .. } => "swamped",
            FloatingError::Capsizes { .. } => "capsizes",
            FloatingError::NoTrim { .. } => "no trim",
            FloatingError::Argument(_) => "argument",
        }
    }
}

fn positive(what: &str, value: f64) -> Result<f64, FloatingError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(FloatingError::Argument(format!("{what} must be a number above 0, got {value}")))
    }
}

fn finite(what: &str, value: f64) -> Result<f64, FloatingError> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(FloatingError::Argument(format!("{what} must be a number, got {value}")))
    }
}
