//! The lateral plane: what of her profile is under water and keeps her from being blown sideways.
//!
//! Its centre is taken for the centre of lateral resistance (common practice): the hull's own profile, the keel
//! between rabbet and underside where the table has its row, and whatever else is given by its corners.

use super::body::{Body, Level};
use super::sails::{Area, polygon_below};
use super::{FloatingError, finite};
use crate::Boat;

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

/// The keel between the rabbet and its underside, if the table has a row `keel` at two stations or more: one part for
/// each stretch over which the underside lies below the rabbet, all of one name. Where it does not there is no keel.
pub fn keel(hull: &Boat) -> Vec<LateralPart> {
    let mut under: Vec<[f64; 2]> = hull.survey().keel.iter().map(|spot| [spot.x, spot.z]).collect();
    under.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let lines = hull.reference_lines();
    let (Some(first), Some(last), Some(rabbet)) = (under.first(), under.last(), lines.first()) else {
        return Vec::new();
    };
    let mut over: Vec<[f64; 2]> = rabbet.points(RABBET_POINTS).iter().map(|p| [p[0], p[2]]).collect();
    over.sort_by(|a, b| a[0].total_cmp(&b[0]));
    // Up a plumb end the rabbet goes nowhere along the boat: its foot stands for it.
    over.dedup_by(|b, a| {
        let plumb = b[0] - a[0] < PLUMB_M;
        if plumb {
            a[1] = a[1].min(b[1]);
        }
        plumb
    });
    let inner = over.iter().map(|p| p[0]).filter(|x| (first[0]..last[0]).contains(x));
    let mut xs: Vec<f64> = under.iter().map(|p| p[0]).chain(inner).collect();
    xs.sort_by(f64::total_cmp);
    xs.dedup();
    // x, underside, rabbet; and where the one crosses the other.
    let at = |x: f64| [x, height_of(&under, x), height_of(&over, x)];
    let spots: Vec<[f64; 3]> = xs.into_iter().map(at).collect();
    let mut runs: Vec<Vec<[f64; 3]>> = Vec::new();
    for (i, spot) in spots.iter().enumerate() {
        let depth = spot[2] - spot[1];
        let before = i.checked_sub(1).map(|i| (spots[i], spots[i][2] - spots[i][1]));
        let crossing = before.filter(|(_, d)| d * depth < 0.0).map(|(b, d)| {
            let part = d / (d - depth);
            [0, 1, 2].map(|k| b[k] + part * (spot[k] - b[k]))
        });
        match (depth > 0.0, runs.last_mut()) {
            (true, Some(run)) if before.is_some_and(|(_, d)| d > 0.0) => run.push(*spot),
            (true, _) => runs.push(crossing.into_iter().chain([*spot]).collect()),
            (false, Some(run)) if before.is_some_and(|(_, d)| d > 0.0) => run.extend(crossing),
            (false, _) => {}
        }
    }
    // A single spot has no area.
    runs.retain(|run| run.len() > 1 && run[0][0] < run[run.len() - 1][0]);
    let part = |run: Vec<[f64; 3]>| {
        let under = run.iter().map(|s| [s[0], s[1]]);
        let mut corners: Vec<[f64; 2]> = under.chain(run.iter().rev().map(|s| [s[0], s[2]])).collect();
        let same = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]) < SAME_CORNER_M;
        corners.dedup_by(|b, a| same(*a, *b));
        while corners.len() > 1 && same(corners[0], corners[corners.len() - 1]) {
            corners.pop();
        }
        LateralPart { name: "keel".to_owned(), corners }
    };
    runs.into_iter().map(part).filter(|part| part.corners.len() > 2).collect()
}

/// Points of the rabbet no farther apart along the boat are above one another, m.
const PLUMB_M: f64 = 1e-6;

/// Corners nearer than this are one, m.
const SAME_CORNER_M: f64 = 1e-9;

/// Height of a chain of points at x, level past its ends; the points ascend in x, two at the least or one.
fn height_of(points: &[[f64; 2]], x: f64) -> f64 {
    let after = points.partition_point(|p| p[0] < x);
    match (after.checked_sub(1).map(|i| points[i]), points.get(after)) {
        (Some(a), Some(b)) if b[0] > a[0] => a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0]),
        (_, Some(b)) => b[1],
        (Some(a), None) => a[1],
        (None, None) => f64::NAN,
    }
}

impl Body {
    /// What lies below level water at `draught` m: the hull's own profile first, named `hull`, then the parts
    /// that reach the water; parts of one name are one.
    ///
    /// # Errors
    /// If the draught is no number or the corners of a part enclose no area; it is named.
    pub fn lateral_plane(
        &self,
        draught: f64,
        parts: &[LateralPart],
    ) -> Result<Vec<(String, Area)>, FloatingError> {
        let wet = self.below(&Level::upright(finite("draught", draught)?));
        let mut found: Vec<(String, Area)> = Vec::new();
        if wet.profile > 0.0 {
            let centre = wet.profile_moment.map(|m| m / wet.profile);
            found.push(("hull".to_owned(), Area { area: wet.profile, centre }));
        }
        for part in parts {
            let area = polygon_below(&part.corners, draught);
            let named = |e| FloatingError::Argument(format!("lateral {}: {e}", part.name));
            let Some(more) = area.map_err(named)? else { continue };
            match found.iter_mut().find(|(name, _)| *name == part.name) {
                Some((_, area)) => {
                    let whole = area.area + more.area;
                    let mean = |k: usize| (area.area * area.centre[k] + more.area * more.centre[k]) / whole;
                    *area = Area { area: whole, centre: [0, 1].map(mean) };
                }
                None => found.push((part.name.clone(), more)),
            }
        }
        Ok(found)
    }
}
