//! The hull and its planes.

use scrieve_fairing::{Faired, Surface};
use scrieve_offsets::{Survey, Table};

use crate::Curve;

/// What a hull was asked that it cannot answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum HullError {
    /// The plane or point lies off the hull.
    #[error("{what} is off the hull, which there runs from {from:.3} to {to:.3} m")]
    OffTheHull {
        /// What was asked.
        what: String,
        /// Lower bound, m.
        from: f64,
        /// Upper bound, m.
        to: f64,
    },
    /// An argument that makes no sense.
    #[error("{0}")]
    Argument(String),
}

/// A faired hull.
#[derive(Clone, Debug)]
pub struct Hull {
    table: Table,
    survey: Survey,
    faired: Faired,
}

impl Hull {
    /// From a table and what fairing made of it.
    pub fn new(table: Table, survey: Survey, faired: Faired) -> Self {
        Hull { table, survey, faired }
    }

    /// The table it was faired from.
    pub fn source(&self) -> &Table {
        &self.table
    }

    /// The same in metres.
    pub fn survey(&self) -> &Survey {
        &self.survey
    }

    /// What fairing made of it.
    pub fn faired(&self) -> &Faired {
        &self.faired
    }

    /// The moulded surface, as the record gives it (to the outside or the inside of the planking).
    pub fn surface(&self) -> &Surface {
        &self.faired.surface
    }

    /// The section at `x`, rabbet to sheer, drawn (y, z).
    pub fn section(&self, _x: f64) -> Result<Curve, HullError> {
        unimplemented!("sections")
    }

    /// The waterlines at height `z`, bow to stern, drawn (x, y): more than one where the sheer or the keel
    /// cuts it.
    pub fn waterline(&self, _z: f64) -> Result<Vec<Curve>, HullError> {
        unimplemented!("waterlines")
    }

    /// The buttocks at half-breadth `y`, bow to stern, drawn (x, z).
    pub fn buttock(&self, _y: f64) -> Result<Vec<Curve>, HullError> {
        unimplemented!("buttocks")
    }

    /// The diagonal through (0, `centreline_height`) falling outward at `angle` radians below the
    /// horizontal, drawn (x, distance out along it).
    pub fn diagonal(&self, _centreline_height: f64, _angle: f64) -> Result<Vec<Curve>, HullError> {
        unimplemented!("diagonals")
    }

    /// The rabbet (0), the chines, and the sheer (last), as space curves drawn in profile.
    pub fn reference_lines(&self) -> Vec<Curve> {
        unimplemented!("edges of the patches")
    }

    /// Half-breadth at (x, z), m.
    pub fn half_breadth(&self, _x: f64, _z: f64) -> Result<f64, HullError> {
        unimplemented!("half-breadth")
    }

    /// Height at (x, y), m.
    pub fn height(&self, _x: f64, _y: f64) -> Result<f64, HullError> {
        unimplemented!("height")
    }

    /// Outward unit normal at (x, z).
    pub fn normal(&self, _x: f64, _z: f64) -> Result<[f64; 3], HullError> {
        unimplemented!("normal")
    }

    /// Bevel at (x, z), radians: atan(nx / √(ny² + nz²)).
    pub fn bevel(&self, _x: f64, _z: f64) -> Result<f64, HullError> {
        unimplemented!("bevel")
    }

    /// The section at `x` of the surface parallel to the hull at `distance` inside it (negative: outside).
    pub fn parallel_section(&self, _x: f64, _distance: f64) -> Result<Curve, HullError> {
        unimplemented!("the parallel surface")
    }

    /// The hull read back at every cell of the table it came from, in its own units.
    pub fn faired_table(&self) -> Table {
        unimplemented!("the faired table")
    }
}
