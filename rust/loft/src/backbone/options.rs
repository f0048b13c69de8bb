//! What is asked of a backbone, and whether it makes sense.

use crate::rabbet::{RabbetError, RabbetOptions};

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
    /// Length of each arm of the stern knee and of the heel knee.
    pub knee_arm: f64,
    /// Moulded depth of a keelson; without it none is drawn.
    pub keelson_depth: Option<f64>,
    /// Width of the keelson; left out, the keel's.
    pub keelson_siding: Option<f64>,
    /// How far the keelson's under face lies above the keel's upper edge, as on floors; nothing lies on the keel.
    pub keelson_above: f64,
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
            keelson_depth: None,
            keelson_siding: None,
            keelson_above: 0.0,
        }
    }
}

/// Length of a scarf over the depth of the piece (common practice).
pub const SCARF: f64 = 8.0;

/// Depth of a scarf's nib over that of the piece: an eighth to a sixth (common practice).
pub const NIB: f64 = 1.0 / 7.0;

/// Nibs deeper than this leave no scarf between them.
const DEEPEST_NIB: f64 = 0.4;

impl BackboneOptions {
    pub(super) fn check(&self) -> Result<(), RabbetError> {
        for (what, value) in [
            ("keel depth", self.keel_depth),
            ("stem outside the rabbet", self.stem_outside),
            ("spacing of sections", self.section_every),
            ("length of a knee's arm", self.knee_arm),
            ("depth of the keelson", self.keelson_depth.unwrap_or(1.0)),
            ("siding of the keelson", self.keelson_siding.unwrap_or(1.0)),
            ("length of a scarf over the keel's depth", self.scarf),
        ] {
            if !(value.is_finite() && value > 0.0) {
                return Err(RabbetError::BadLength { what, value });
            }
        }
        if !(0.0..=DEEPEST_NIB).contains(&self.nib) {
            return Err(RabbetError::BadNib { nib: self.nib, deepest: DEEPEST_NIB });
        }
        // Nothing is a fair answer for these.
        let sizes = [
            ("size inside the bearding", self.inside),
            ("transom thickness", self.transom_thickness),
            ("height of the keelson above the keel", self.keelson_above),
        ];
        match sizes.into_iter().find(|(_, value)| !(value.is_finite() && *value >= 0.0)) {
            Some((what, value)) => Err(RabbetError::BadLength { what, value }),
            None => Ok(()),
        }
    }
}
