//! The lateral plane: what of her profile is under water and keeps her from being blown sideways.
//!
//! Its centre is taken for the centre of lateral resistance (common practice): the hull's own profile, the keel
//! between rabbet and underside where the table has its row, and whatever else is given by its corners.

use super::body::{Body, Level};
use super::sails::{Area, polygon_below};
use super::{FloatingError, finite};
use crate::Hull;

/// Points along the rabbet over the keel: it is nearly straight there.
const RABBET_POINTS: usize = 200;

/// A part of the lateral plane by its corners (x, z) in order round it, m, outside the hull's own profile.
#[derive(Clone, Debug, PartialEq)]
pub struct LateralPart {
    /// Its name.
    pub name: String,
    /// Corners, m.
    pub corners: Vec<[f64; 2]>,
}

/// The keel between the rabbet and its underside, if the table has a row `keel` at two stations or more.
pub fn keel(hull: &Hull) -> Option<LateralPart> {
    let mut under: Vec<[f64; 2]> = hull.survey().keel.iter().map(|spot| [spot.x, spot.z]).collect();
    under.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let (first, last) = (under.first()?[0], under.last()?[0]);
    if first >= last {
        return None;
    }
    let rabbet = hull.reference_lines().first()?.points(RABBET_POINTS);
    let over = rabbet.iter().filter(|p| p[0] > first && p[0] < last).rev().map(|p| [p[0], p[2]]);
    let end = |x: f64| rabbet.iter().min_by(|a, b| (a[0] - x).abs().total_cmp(&(b[0] - x).abs()));
    let ends = [end(last)?, end(first)?].map(|p| p[2]);
    let corners =
        under.iter().copied().chain([[last, ends[0]]]).chain(over).chain([[first, ends[1]]]).collect();
    Some(LateralPart { name: "keel".to_owned(), corners })
}

impl Body {
    /// What lies below level water at `draught` m: the hull's own profile first, named `hull`, then the parts
    /// that reach the water.
    ///
    /// # Errors
    /// If the draught is no number or the corners of a part enclose no area; it is named.
    pub fn lateral_plane(
        &self,
        draught: f64,
        parts: &[LateralPart],
    ) -> Result<Vec<(String, Area)>, FloatingError> {
        let wet = self.below(&Level::upright(finite("draught", draught)?));
        let mut found = Vec::new();
        if wet.profile > 0.0 {
            let centre = wet.profile_moment.map(|m| m / wet.profile);
            found.push(("hull".to_owned(), Area { area: wet.profile, centre }));
        }
        for part in parts {
            let area = polygon_below(&part.corners, draught);
            let named = |e| FloatingError::Argument(format!("lateral {}: {e}", part.name));
            found.extend(area.map_err(named)?.map(|area| (part.name.clone(), area)));
        }
        Ok(found)
    }
}
