//! Sails by their corners: areas by the shoelace formula, centre of effort, lead, and the usual ratios.

use scrieve_offsets::{Flaw, flaw};

use super::{FloatingError, finite, positive};

/// A plane area in profile.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Area {
    /// Area, m².
    pub area: f64,
    /// Its centre (x aft, z up), m.
    pub centre: [f64; 2],
}

impl Area {
    /// Several areas taken together: a rig's sails, or a hull's profile with keel, rudder and centreboard.
    pub fn of_all(areas: impl IntoIterator<Item = Area>) -> Area {
        let (mut total, mut moment) = (0.0, [0.0; 2]);
        for one in areas {
            total += one.area;
            moment = [0, 1].map(|k| moment[k] + one.area * one.centre[k]);
        }
        Area { area: total, centre: moment.map(|m| m / total) }
    }
}

/// The area within straight lines from corner to corner (x, z), m, taken in order either way round.
///
/// # Errors
/// If one is not a number, they enclose nothing, or sides cross.
pub fn polygon(corners: &[[f64; 2]]) -> Result<Area, FloatingError> {
    for value in corners.iter().flatten() {
        finite("a corner", *value)?;
    }
    if let Some(flaw) = flaw(corners) {
        return Err(FloatingError::Argument(flaw.to_string()));
    }
    Ok(shoelace(corners))
}

/// Area and centre of corners that enclose an area.
fn shoelace(corners: &[[f64; 2]]) -> Area {
    // Measured from the first corner, so that a small sail far from the origin loses no figures.
    let origin = corners.first().copied().unwrap_or_default();
    let (mut twice, mut moment) = (0.0, [0.0; 2]);
    for (i, a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % corners.len()];
        let (a, b) = ([0, 1].map(|k| a[k] - origin[k]), [0, 1].map(|k| b[k] - origin[k]));
        let cross = a[0] * b[1] - b[0] * a[1];
        twice += cross;
        moment = [0, 1].map(|k| moment[k] + cross * (a[k] + b[k]));
    }
    Area { area: 0.5 * twice.abs(), centre: [0, 1].map(|k| origin[k] + moment[k] / (3.0 * twice)) }
}

/// The part of an area below the height `water`, m; `None` where there is none. As [`polygon`], cut by one line
/// (Sutherland and Hodgman, "Reentrant polygon clipping", 1974).
///
/// # Errors
/// As [`polygon`].
pub fn polygon_below(corners: &[[f64; 2]], water: f64) -> Result<Option<Area>, FloatingError> {
    polygon(corners)?;
    let mut wet = Vec::new();
    for (i, &a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % corners.len()];
        if a[1] <= water {
            wet.push(a);
        }
        if (a[1] <= water) != (b[1] <= water) {
            let part = (water - a[1]) / (b[1] - a[1]);
            wet.push([a[0] + part * (b[0] - a[0]), water]);
        }
    }
    Ok((flaw(&wet) != Some(Flaw::Empty)).then(|| shoelace(&wet)))
}

/// A sail.
#[derive(Clone, Debug, PartialEq)]
pub struct Sail {
    /// Its name.
    pub name: String,
    /// Corners (x, z) in order round it, m: three or more.
    pub corners: Vec<[f64; 2]>,
}

/// The sails set at one time; a boat may have several rigs.
#[derive(Clone, Debug, PartialEq)]
pub struct Rig {
    /// Its name.
    pub name: String,
    /// The sails.
    pub sails: Vec<Sail>,
}

impl Rig {
    /// Total area and centre of effort, the sails taken flat and in line.
    ///
    /// # Errors
    /// If there is no sail, or the corners of one enclose no area; the sail is named.
    pub fn effort(&self) -> Result<Area, FloatingError> {
        if self.sails.is_empty() {
            return Err(FloatingError::Argument(format!("rig {} has no sails", self.name)));
        }
        let named = |sail: &Sail| {
            polygon(&sail.corners).map_err(|e| FloatingError::Argument(format!("sail {}: {e}", sail.name)))
        };
        let areas: Result<Vec<Area>, _> = self.sails.iter().map(named).collect();
        Ok(Area::of_all(areas?))
    }

    /// How far the centre of effort lies forward of a centre of lateral resistance at `clr_x` m, as a part
    /// of the waterline length `lwl` m.
    pub fn lead(&self, clr_x: f64, lwl: f64) -> Result<f64, FloatingError> {
        Ok((finite("centre of lateral resistance", clr_x)? - self.effort()?.centre[0])
            / positive("lwl", lwl)?)
    }
}

/// SA/∇^⅔ for sail area in m² and volume in m³.
pub fn sail_area_displacement(sail_area: f64, volume: f64) -> f64 {
    sail_area / volume.cbrt().powi(2)
}

/// SA/S for sail area and wetted surface in m².
pub fn sail_area_wetted_surface(sail_area: f64, wetted_surface: f64) -> f64 {
    sail_area / wetted_surface
}
