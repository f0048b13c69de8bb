//! Stringers and risers: straight-sided stock bent along the inside of the planking.
//!
//! The line is that of the upper edge against the planking. Its tangent follows from the slope in profile and
//! the normal of the planking, so angles are exact at each spot; its lengths are arcs between spots. The flat
//! face bears on the planking along both edges: in a station plane it is the chord from the line to the lower
//! edge, `depth` across the face, which there is depth / sin ψ with ψ the angle at which the plane crosses it.

use kurbo::Point;
use scrieve_hull::{Boat, OffsetPlaces, Sample};

use super::{HeightAt, InsideError, check};
use crate::Grid;

/// A stringer, riser or clamp along the side.
#[derive(Clone, Debug, PartialEq)]
pub struct Stringer {
    /// Its line, the upper edge against the planking, forward end to after: (x, y, z), m.
    pub line: Vec<[f64; 3]>,
    /// Its lower edge against the planking, at the same places along the boat.
    pub lower: Vec<[f64; 3]>,
    /// Its upper inner edge, at the same places.
    pub inner: Vec<[f64; 3]>,
    /// Its length along the line, m.
    pub length: f64,
    /// How far the line bows up (positive) or down from straight where its face is rolled out flat, m, at
    /// its worst: stock that is straight must be sprung edgewise by so much.
    pub bow: f64,
    /// Where it crosses each station of the table: name and spot.
    pub stations: Vec<(String, StringerAt)>,
    /// Its two ends.
    pub ends: [StringerAt; 2],
    /// Width of its face, m.
    pub depth: f64,
    /// Size square to the planking, m.
    pub thickness: f64,
}

/// A stringer where a station's plane crosses it. Metres and radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StringerAt {
    /// Aft of the forward end.
    pub x: f64,
    /// Along its line from its forward end: where the station is marked on the straight stock.
    pub along: f64,
    /// How far the line rolled out flat is above the straight from end to end.
    pub bow: f64,
    /// The section, (y, z): upper edge against the planking, upper and lower inner edge, lower edge against
    /// the planking.
    pub section: [Point; 4],
    /// Of the face with plumb, seen from ahead, positive where the side flares.
    pub flare: f64,
    /// Of the line in plan with the fore-and-aft line, positive where the boat widens aft.
    pub in_plan: f64,
    /// How far the upper edge is planed off square to be level across, in the plane square to the piece:
    /// positive where the angle in the wood against the planking is under 90°.
    pub level_bevel: f64,
    /// In the face, from the line going aft to the station's plane going down: where the piece ends, the cut
    /// of its end.
    pub cut_on_face: f64,
    /// The same in the upper edge, to the station's plane going in.
    pub cut_on_edge: f64,
}

/// What is asked of a stringer. Metres.
#[derive(Clone, Debug, PartialEq)]
pub struct StringerOptions {
    /// Height of the upper edge against the planking.
    pub height: HeightAt,
    /// Forward end, aft of the boat's forward end.
    pub from: f64,
    /// After end.
    pub to: f64,
    /// Width of its face, up and down the side.
    pub depth: f64,
    /// Size square to the planking.
    pub thickness: f64,
    /// Upper and lower edge planed level across, as a riser is for thwarts; else square to the face.
    pub level: bool,
    /// Deduction from the record's surface.
    pub inside: f64,
}

/// A stringer.
///
/// # Errors
/// Lengths that are none, ends out of order, a line or a lower edge off the inside of the hull, a place where
/// the piece comes to the centreline, heights that make no line.
pub fn stringer(hull: &Boat, options: &StringerOptions) -> Result<Stringer, InsideError> {
    let &StringerOptions { from, to, depth, thickness, level, inside, .. } = options;
    if let HeightAt::Through(heights) = &options.height
        && heights.len() < 2
    {
        return Err(InsideError::TooFewHeights(heights.len()));
    }
    check(&[
        ("length of the stringer", to - from, true),
        ("depth of the stringer", depth, true),
        ("thickness of the stringer", thickness, true),
        ("deduction", inside, false),
    ])?;
    let profile = options.height.line(hull, from, to, inside)?;
    let named: Vec<(String, f64)> =
        Grid::of(hull).stations.into_iter().filter(|(_, x)| (from..=to).contains(x)).collect();
    let even = (0..=STRINGER_SPOTS).map(|i| from + (to - from) * i as f64 / STRINGER_SPOTS as f64);
    let mut xs: Vec<f64> = even.chain(named.iter().map(|(_, x)| *x)).collect();
    xs.sort_by(f64::total_cmp);
    xs.dedup_by(|a, b| (*a - *b).abs() < SAME_SPOT_M);
    let places = hull.offset_places(inside);
    let spot = |&x: &f64| {
        let direct = places.as_ref().and_then(|places| Spot::on(places, x, profile.at(x), depth));
        direct.map_or_else(|| Spot::new(hull, x, profile.at(x), depth, inside), Ok)
    };
    let spots: Vec<Spot> = xs.iter().map(spot).collect::<Result<_, _>>()?;
    let along = lengths(&spots);
    let bows = rolled_out(&spots, &along);
    let at = |x: f64| -> Result<StringerAt, InsideError> {
        let i = xs.partition_point(|&other| other < x - SAME_SPOT_M).min(xs.len() - 1);
        let section = spots[i].section(thickness, level);
        if section.iter().any(|p| p.x <= 0.0) {
            return Err(InsideError::AtTheCentreline { x, z: spots[i].p[2] });
        }
        Ok(spots[i].figures(along[i], bows[i], section, level))
    };
    let worst = bows.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
    Ok(Stringer {
        line: spots.iter().map(|s| s.p).collect(),
        lower: spots.iter().map(|s| s.lower).collect(),
        inner: spots
            .iter()
            .map(|s| {
                let p = s.section(thickness, level)[1];
                [s.p[0], p.x, p.y]
            })
            .collect(),
        length: along[along.len() - 1],
        bow: worst,
        stations: named
            .into_iter()
            .map(|(name, x)| Ok((name, at(x)?)))
            .collect::<Result<_, InsideError>>()?,
        ends: [at(from)?, at(to)?],
        depth,
        thickness,
    })
}

/// Spots along a stringer: between them it is taken as an arc, which on a fair side a few inches long is
/// within a micrometre; more are slower by as much.
const STRINGER_SPOTS: usize = 80;
/// Spots nearer than this along the boat are one, m.
const SAME_SPOT_M: f64 = 1e-6;
/// Steps to the lower edge: each is nearer by the depth over the radius of the side.
const LOWER_STEPS: usize = 12;

/// A spot of the line with the directions that the piece has there.
struct Spot {
    p: [f64; 3],
    lower: [f64; 3],
    /// Unit, along the line, aft.
    tangent: [f64; 3],
    /// Unit, of the planking, out.
    planking: [f64; 3],
    /// Unit, of the face that bears on the planking, out.
    face: [f64; 3],
}

impl Spot {
    /// Found on the surface directly; `None` where that leaves it to the section.
    fn on(places: &OffsetPlaces<'_>, x: f64, (z, slope): (f64, f64), depth: f64) -> Option<Spot> {
        let at = places.at(x, z)?;
        let (p, [nx, ny, nz]) = (at.p, at.normal);
        if ny <= 0.0 || p[1] <= 0.0 {
            return None;
        }
        let tangent = unit([1.0, -(nx + nz * slope) / ny, slope]);
        let (mut face, mut chord) = (at.normal, 0.0);
        for _ in 0..LOWER_STEPS {
            let crossed = cross(unit([0.0, face[2], -face[1]]), tangent);
            let wanted = depth / norm(crossed);
            let lower = places.below(&at, wanted)?.p;
            face = unit(cross(tangent, sub(lower, p)));
            if (chord - wanted).abs() < 1e-10 {
                return Some(Spot { p, lower, tangent, planking: at.normal, face });
            }
            chord = wanted;
        }
        None
    }

    fn new(
        hull: &Boat,
        x: f64,
        (z, slope): (f64, f64),
        depth: f64,
        inside: f64,
    ) -> Result<Spot, InsideError> {
        let curve = hull.parallel_section(x, inside)?;
        let mut meets = curve.crossings([0.0, 0.0, 1.0], z);
        // A line along the edge of the planking may miss it by a rounding.
        if let (true, Some(top)) = (meets.is_empty(), curve.end())
            && (top.p[2] - z).abs() < SAME_SPOT_M
        {
            meets.push(scrieve_hull::Mark { along: curve.length(), sample: *top });
        }
        let outermost = meets.into_iter().max_by(|a, b| a.sample.p[1].total_cmp(&b.sample.p[1]));
        let mark = outermost.ok_or(InsideError::OffTheHull { x, z })?;
        let Sample { p, normal: [nx, ny, nz], .. } = mark.sample;
        if ny <= 0.0 || p[1] <= 0.0 {
            return Err(InsideError::AtTheCentreline { x, z });
        }
        let tangent = unit([1.0, -(nx + nz * slope) / ny, slope]);
        let mut face = [nx, ny, nz];
        let (mut lower, mut reach) = (p, depth);
        for _ in 0..LOWER_STEPS {
            // How much longer the station's plane is across the face than square across it.
            let crossed = cross(unit([0.0, face[2], -face[1]]), tangent);
            let wanted = depth / norm(crossed);
            if reach > mark.along {
                return Err(InsideError::OffTheEdge { x, z, depth });
            }
            let Some(found) = curve.at_length(mark.along - reach) else { break };
            lower = found.p;
            let chord = norm(sub(p, lower));
            face = unit(cross(tangent, sub(lower, p)));
            if (chord - wanted).abs() < 1e-10 {
                break;
            }
            reach *= wanted / chord;
        }
        Ok(Spot { p, lower, tangent, planking: [nx, ny, nz], face })
    }

    /// (y, z) of the four edges in the station's plane.
    fn section(&self, thickness: f64, level: bool) -> [Point; 4] {
        let [nx, ny, nz] = self.face;
        let [tx, ty, tz] = self.tangent;
        let inward = match level {
            true => Point::new(-thickness / ny, 0.0),
            // Along the square edge, which tangent and normal span, to the inner face.
            false => Point::new(thickness * (nx * ty / tx - ny), thickness * (nx * tz / tx - nz)),
        };
        let [a, b] = [self.p, self.lower].map(|p| Point::new(p[1], p[2]));
        [a, a + inward.to_vec2(), b + inward.to_vec2(), b]
    }

    fn figures(&self, along: f64, bow: f64, section: [Point; 4], level: bool) -> StringerAt {
        let [nx, ny, nz] = self.face;
        let [tx, ty, tz] = self.tangent;
        // Square to a level edge, which the line and an athwartships line span.
        let up = unit([-tz, 0.0, tx]);
        let angle = |trace: [f64; 3]| dot(unit(trace), self.tangent).clamp(-1.0, 1.0).acos();
        StringerAt {
            x: self.p[0],
            along,
            bow,
            section,
            flare: (-nz).atan2(ny),
            in_plan: ty.atan2(tx),
            level_bevel: (-dot(self.face, up)).clamp(-1.0, 1.0).asin(),
            cut_on_face: angle([0.0, nz, -ny]),
            cut_on_edge: angle(match level {
                true => [0.0, -1.0, 0.0],
                false => [0.0, nx * ty - tx * ny, nx * tz - tx * nz],
            }),
        }
    }
}

/// Length along the line to each spot: between two, the arc that turns as their tangents do.
fn lengths(spots: &[Spot]) -> Vec<f64> {
    let mut along = vec![0.0];
    for w in spots.windows(2) {
        let chord = norm(sub(w[1].p, w[0].p));
        let half = 0.5 * norm(sub(w[1].tangent, w[0].tangent));
        // The half turn is asin of the half difference of unit tangents.
        let arc = if half > 1e-9 { chord * half.min(1.0).asin() / half } else { chord };
        along.push(along[along.len() - 1] + arc);
    }
    along
}

/// How far each spot is above the straight from end to end where the planking's strip along the line is
/// rolled out flat: the turn in the strip is that of the tangent about the planking's normal.
fn rolled_out(spots: &[Spot], along: &[f64]) -> Vec<f64> {
    let ups: Vec<[f64; 3]> = spots.iter().map(|s| unit(cross(s.tangent, s.planking))).collect();
    let (mut heading, mut at) = (0.0, Point::ZERO);
    let mut rolled = vec![at];
    for i in 1..spots.len() {
        let up = [0, 1, 2].map(|k| 0.5 * (ups[i - 1][k] + ups[i][k]));
        let turn = dot(sub(spots[i].tangent, spots[i - 1].tangent), up);
        let (sine, cosine) = (heading + 0.5 * turn).sin_cos();
        at = Point::new(at.x + (along[i] - along[i - 1]) * cosine, at.y + (along[i] - along[i - 1]) * sine);
        heading += turn;
        rolled.push(at);
    }
    let chord = at.to_vec2().normalize();
    rolled.iter().map(|p| chord.cross(p.to_vec2())).collect()
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn sub(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn norm(a: [f64; 3]) -> f64 {
    dot(a, a).sqrt()
}

fn unit(a: [f64; 3]) -> [f64; 3] {
    let length = norm(a).max(f64::MIN_POSITIVE);
    a.map(|c| c / length)
}
