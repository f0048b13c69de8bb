//! The two faces of the planking, as distances inside the surface the record gives.

use scrieve_hull::Hull;

/// The planking. Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Planking {
    pub thickness: f64,
    /// How far inside the record's surface the outer face lies: nothing, or less where the record is to the
    /// inside of the planking.
    pub outer: f64,
    /// The same of the inner face.
    pub inner: f64,
}

impl Planking {
    /// Of the thickness given, or the record's own; `None` if neither says.
    pub fn of(hull: &Hull, given: Option<f64>) -> Option<Planking> {
        let facts = &hull.source().facts;
        let thickness = given.or_else(|| facts.planking.map(|length| length.metres()))?;
        let outer = if hull.is_inside() { -thickness } else { 0.0 };
        Some(Planking { thickness, outer, inner: outer + thickness })
    }
}
