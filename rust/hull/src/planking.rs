//! The two faces of the planking, as distances inside the hull's surface: here alone it is decided what a table to the
//! inside of the planking means.

use crate::Boat;

/// The planking. Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Planking {
    /// Thickness.
    pub thickness: f64,
    /// How far inside the hull's surface the outer face lies: nothing, or less where that surface is the inside of the
    /// planking.
    pub outer: f64,
    /// The same of the inner face.
    pub inner: f64,
}

impl Planking {
    /// Of the thickness given, or the table's own; `None` if neither says.
    pub fn of(hull: &Boat, given: Option<f64>) -> Option<Planking> {
        let thickness = given.or_else(|| hull.source().facts.planking.map(|length| length.metres()))?;
        let outer = if hull.is_inside() { -thickness } else { 0.0 };
        Some(Planking { thickness, outer, inner: outer + thickness })
    }

    /// How far inside the hull's surface the inner face lies, m: nothing where it is that surface, whatever the
    /// thickness; `None` where that is needed and neither says.
    pub fn inside(hull: &Boat, given: Option<f64>) -> Option<f64> {
        if hull.is_inside() { Some(0.0) } else { Planking::of(hull, given).map(|planking| planking.inner) }
    }
}
