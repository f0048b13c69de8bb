//! The backbone: keel, stem, sternpost and stern knee in profile, with the three lines of the rabbet.
//!
//! Rabbet, bearding and middle line are lines in space (see [`crate::rabbet`]); here they are followed along the
//! backbone's one line from the head of the stem to the transom or the head of the sternpost. The pieces lie between
//! an outer edge (a batten bent through the record's underside of the keel, or a stated depth outside the rabbet
//! line) and an inner edge a stated distance inside the bearding line. Scarfs are eight times the keel's depth,
//! their nibs a seventh of it (common practice). Knees stand on the inner edge: at the heel of a post, and before a
//! transom. A boat whose bottom is flat across has a bottom in place of a keel.

mod inner;
mod options;
pub(crate) mod parts;
pub(crate) mod path;
mod pieces;
mod spine;
mod underside;

use kurbo::{BezPath, Point, Shape as _};
use scrieve_hull::{Boat, Evidence, Planking};
use scrieve_notation::Units;
use spine::Spine;
use underside::Underside;

use crate::flat::{self, Bottom, flat_bottom};
use crate::outline::{CHECK_ACCURACY_M, is_simple};
use crate::rabbet::{End, Rabbet, RabbetError, rabbet_or_along};
use crate::{Grid, Mark};

pub use options::{BackboneOptions, NIB, SCARF};
pub(crate) use path::smooth;

/// The backbone of a hull. A spot at which there is no rabbet costs only itself and is in `failures`.
///
/// # Errors
/// Lengths that are none, and whatever leaves no rabbet at any station.
pub fn backbone(hull: &Boat, options: &BackboneOptions) -> Result<Backbone, RabbetError> {
    options.check()?;
    let grid = Grid::of(hull);
    let planking = Planking::of(hull, options.rabbet.planking).ok_or(RabbetError::NoPlanking)?.thickness;
    let underside = Underside::new(hull, options)?;
    let is_flat = flat_bottom(hull).is_some();
    let mut failures = Vec::new();
    let keel = match is_flat {
        true => Vec::new(),
        false => keel_stations(hull, &grid, options, &underside, &mut failures)?,
    };
    let sides = flat::sides(hull);
    let spine = Spine::new(&sides, options, &keel, is_flat, underside, &mut failures);
    let mut remarks = spine.remarks(&grid);
    if is_flat {
        remarks.push(
            "no keel: her bottom is flat across, and drawn laid flat; there is no rabbet along it".into(),
        );
        if spine.has(End::Stem) {
            remarks.push("the heel of her stem is drawn to the bottom's outer face".into());
        }
    }
    let mut failures = told(failures);
    failures.extend(spine.faults(&grid));
    let mut pieces = spine.pieces(&grid, &keel);
    failures.extend(spine.left_out(&pieces));
    pieces.retain(|piece| {
        let sound = is_simple(&piece.outline, CHECK_ACCURACY_M) && piece.outline.area().abs() > 0.0;
        if !sound {
            failures.push(format!("{}: its outline crosses itself, so it is not drawn", piece.name));
        }
        let edge = knife_edge(&piece.outline).filter(|_| sound && options.nib > 0.0);
        if let Some(at) = edge {
            failures.push(format!(
                "{}: its outline runs back on itself in a knife edge {:.3} m aft and {:.3} m up, so it is not drawn",
                piece.name, at.x, at.y
            ));
        }
        sound && edge.is_none()
    });
    remarks.extend(spine.deadwood(&pieces));
    let has = |name: &str| pieces.iter().any(|piece| piece.name == name);
    if !is_flat && has("sternpost") && !has("heel knee") {
        remarks.push("no heel knee: the inner edge runs on from keel to sternpost, or all but".into());
    }
    if options.keelson_depth.is_some() && !has("keelson") {
        remarks.push("no keelson: there is no room for one between her ends and knees".into());
    }
    Ok(Backbone {
        name: hull.source().facts.name.clone(),
        units: grid.units,
        planking,
        stations: grid.stations.clone(),
        lines: [0, 1, 2].map(|k| spine.line(k)),
        sections: spine.sections(&grid, &keel, options.section_every),
        plan: spine.plan(),
        along: spine.along(),
        stem: spine.ends(End::Stem),
        sternpost: spine.ends(End::Sternpost),
        knee_angle: if is_flat { None } else { spine.knee_angle() },
        scarf: spine.scarf,
        nib: spine.nib,
        bottom: flat::bottom(hull),
        remarks,
        keel,
        pieces,
        assumed: hull.source().facts.assumed_ends(),
        unread: unread(hull),
        failures,
    })
}

/// The stretches of the backbone's line that no reading is near.
fn unread(hull: &Boat) -> Vec<(Point, Point)> {
    if hull.source().stations.is_empty() {
        return Vec::new();
    }
    let evidence = Evidence::of(hull);
    let (line, stretches) = evidence.of_backbone_line();
    let ends = |s: &scrieve_hull::Stretch| line.curve.at_lengths(&[s.from, s.to]);
    let drawn = |ends: Vec<scrieve_hull::Sample>| match ends.as_slice() {
        [a, b] => Some((line.curve.plane.drawn(a.p), line.curve.plane.drawn(b.p))),
        _ => None,
    };
    stretches.iter().map(ends).filter_map(drawn).collect()
}

/// The keel at a station.
#[derive(Clone, Debug, PartialEq)]
pub struct KeelAt {
    /// Station.
    pub station: String,
    /// m aft of the forward end.
    pub x: f64,
    /// Its rabbet.
    pub rabbet: Rabbet,
    /// Height of the keel's underside, m.
    pub underside: f64,
    /// Height of its upper edge, m.
    pub upper: f64,
    /// Bevel of the underside: its angle to the base line in profile, radians, rising aft.
    pub bottom_bevel: f64,
}

/// The stem or sternpost at a spot of its rabbet.
#[derive(Clone, Debug, PartialEq)]
pub struct EndAt {
    /// Height of the rabbet line, m.
    pub z: f64,
    /// x of it, m.
    pub x: f64,
    /// The rabbet in the piece's own cross section.
    pub rabbet: Rabbet,
    /// How far the outer edge lies outside the rabbet line, m.
    pub outside: f64,
    /// Moulded size, outer edge to inner, m.
    pub moulded: f64,
}

/// The backbone's line at a spot, from its forward end aft.
#[derive(Clone, Debug, PartialEq)]
pub struct AlongAt {
    /// Length along the line from its forward end, m.
    pub along: f64,
    /// The piece it is on.
    pub piece: &'static str,
    /// x of the rabbet line, m.
    pub x: f64,
    /// Height of it, m.
    pub z: f64,
    /// Direction of the line, radians from level, rising aft.
    pub rise: f64,
    /// Its curvature in profile, 1/m: positive where it turns upward going aft.
    pub curvature: f64,
    /// Half-siding, m.
    pub half_siding: f64,
    /// Of the planking with the side of the piece, square to the line, radians.
    pub plank_angle: f64,
}

/// A piece to cut, in profile: (x, z), m.
#[derive(Clone, Debug, PartialEq)]
pub struct BackbonePiece {
    /// Keel, stem, sternpost, stern knee, heel knee or keelson; skeg, below a flat bottom.
    pub name: &'static str,
    /// One closed path.
    pub outline: BezPath,
    /// Stations, waterlines and the three lines.
    pub marks: Vec<Mark>,
    /// Its width, m; nothing where the record does not say.
    pub sided: f64,
    /// Least and greatest size across it in profile, m; of a knee the arm's.
    pub moulded: (f64, f64),
    /// Of a knee, the angle between its arms, radians.
    pub arms_at: Option<f64>,
}

/// A full-size section of the rabbet: the piece runs from `lower` to `upper` in the rabbet's plane, m.
#[derive(Clone, Debug, PartialEq)]
pub struct RabbetSection {
    /// Where.
    pub label: String,
    /// The rabbet.
    pub rabbet: Rabbet,
    /// Outer edge.
    pub lower: f64,
    /// Inner edge.
    pub upper: f64,
}

/// The keel in plan at a spot, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanSpot {
    /// Aft of the forward end.
    pub x: f64,
    /// Half-siding.
    pub half_siding: f64,
    /// Half-breadth of the middle line.
    pub middle: f64,
}

/// A backbone.
#[derive(Clone, Debug, PartialEq)]
pub struct Backbone {
    /// The boat's name.
    pub name: String,
    /// Units labels are written in.
    pub units: Units,
    /// Ends of the boat that are assumed, not measured: `stem`, `sternpost`, `transom`.
    pub assumed: Vec<&'static str>,
    /// Stretches of the rabbet line in profile that no reading is near, or that are assumed: the ends of each, m.
    pub unread: Vec<(Point, Point)>,
    /// Planking thickness, m.
    pub planking: f64,
    /// Every station: name and distance aft of the forward end, m.
    pub stations: Vec<(String, f64)>,
    /// The keel at each station.
    pub keel: Vec<KeelAt>,
    /// The stem, heel to head; empty where there is none.
    pub stem: Vec<EndAt>,
    /// The sternpost, heel to head; empty where there is none.
    pub sternpost: Vec<EndAt>,
    /// Rabbet, bearding and middle line in profile, bow to stern, m.
    pub lines: [BezPath; 3],
    /// The line it all hangs on, bow to stern.
    pub along: Vec<AlongAt>,
    /// A flat bottom laid flat, in place of a keel.
    pub bottom: Option<Bottom>,
    /// The keel in plan, bow to stern.
    pub plan: Vec<PlanSpot>,
    /// What to cut.
    pub pieces: Vec<BackbonePiece>,
    /// Full-size sections.
    pub sections: Vec<RabbetSection>,
    /// Length of the scarf between keel and stem, and keel and sternpost, along the keel, m.
    pub scarf: f64,
    /// Depth of the scarfs' nibs, m.
    pub nib: f64,
    /// Angle between the arms of the stern knee, radians; `None` without a transom.
    pub knee_angle: Option<f64>,
    /// Spots without a rabbet, and why: one of each kind a piece.
    pub failures: Vec<String>,
    /// What the builder should know: where the rabbet is long, where a scarf is short.
    pub remarks: Vec<String>,
}

/// A scarf takes no more of the keel than this.
const LONGEST_SCARF: f64 = 0.3;

/// Where an outline turns back on itself by more than [`KNIFE`].
fn knife_edge(outline: &BezPath) -> Option<Point> {
    let mut points: Vec<Point> = Vec::new();
    kurbo::flatten(outline, CHECK_ACCURACY_M, |element| {
        if let kurbo::PathEl::MoveTo(p) | kurbo::PathEl::LineTo(p) = element
            && points.last().is_none_or(|last| last.distance(p) > path::SAME_SPOT_M)
        {
            points.push(p);
        }
    });
    if points.len() > 1 && points[0].distance(points[points.len() - 1]) < path::SAME_SPOT_M {
        points.pop();
    }
    let n = points.len();
    let turned = |i: &usize| {
        let (a, b, c) = (points[(i + n - 1) % n], points[*i], points[(i + 1) % n]);
        (b - a).cross(c - b).atan2((b - a).dot(c - b)).abs() > KNIFE
    };
    (0..n).find(turned).map(|i| points[i])
}

/// An outline that turns by more has a knife edge, radians (165 degrees): the sharpest corner of any piece, the end of a
/// scarf without a nib, is asked for.
const KNIFE: f64 = 2.88;

/// A spot that has no rabbet: the piece it is on, and why.
type Failure = (&'static str, RabbetError);

/// One failure of each kind a piece, the worst, and how many more there are.
fn told(failures: Vec<Failure>) -> Vec<String> {
    let mut kinds: Vec<(Failure, usize)> = Vec::new();
    for (piece, error) in failures {
        let same = |other: &&mut (Failure, usize)| {
            other.0.0 == piece && std::mem::discriminant(&other.0.1) == std::mem::discriminant(&error)
        };
        match kinds.iter_mut().find(same) {
            Some((worst, more)) => {
                *more += 1;
                if error.siding_asked() > worst.1.siding_asked() {
                    worst.1 = error;
                }
            }
            None => kinds.push(((piece, error), 0)),
        }
    }
    let text = |((piece, error), more): (Failure, usize)| match more {
        0 => format!("{piece}: {error}"),
        _ => format!("{piece}: {error} (the same at {more} more spots of the {piece})"),
    };
    kinds.into_iter().map(text).collect()
}

fn keel_stations(
    hull: &Boat,
    grid: &Grid,
    options: &BackboneOptions,
    underside: &Underside,
    failures: &mut Vec<Failure>,
) -> Result<Vec<KeelAt>, RabbetError> {
    let mut keel = Vec::new();
    // Stations forward of the keel, or abaft it, cross the stem or sternpost.
    let parts = parts::Parts::of(hull, options.rabbet.half_siding);
    let ends = [parts.fore, parts.aft].map(|s| parts.line.curve.at_length(s).map_or(f64::NAN, |s| s.p[0]));
    let thickness = Planking::of(hull, options.rabbet.planking).map_or(0.0, |planking| planking.thickness);
    for (station, x) in grid.stations.iter().filter(|(_, x)| (ends[0]..=ends[1]).contains(x)) {
        let x = *x;
        match rabbet_or_along(hull, x, &options.rabbet, true) {
            Ok(rabbet) => keel.push(KeelAt {
                station: station.clone(),
                x,
                underside: underside.at(x),
                upper: rabbet.bearding.y + options.inside,
                bottom_bevel: underside.slope(x).atan(),
                rabbet,
            }),
            // At the very end of a keel without a stem, or a post, the planking's inside stops short of it.
            Err(RabbetError::NoLine { .. }) if (x - ends[0]).min(ends[1] - x) < thickness => {}
            Err(error) => failures.push(("keel", error)),
        }
    }
    if keel.is_empty() {
        return Err(spine::no_rabbet(failures));
    }
    Ok(keel)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hook_in_an_outline_is_found_and_a_square_corner_is_none() {
        let outline = |spots: &[(f64, f64)]| {
            let mut path = BezPath::new();
            path.move_to(spots[0]);
            spots[1..].iter().for_each(|p| path.line_to(*p));
            path.close_path();
            path
        };
        let square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)];
        assert_eq!(knife_edge(&outline(&square)), None);
        let hooked = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.4, 1.0), (0.6, 1.01), (0.0, 1.02)];
        assert_eq!(knife_edge(&outline(&hooked)), Some(Point::new(0.4, 1.0)));
    }
}
