//! The rabbet: where the planking is let into keel, stem and sternpost.
//!
//! The outer face of the planking meets the side of the piece, y = half-siding, along the rabbet line; the
//! inner face meets it along the bearding line; the middle line (apex) is one planking thickness from the
//! rabbet line along the inward normal of the planking. All three are lines in space: what is given here is
//! where each passes through the plane asked for, a station's or one square to the stem's profile.

use kurbo::{Point, Vec2};
use scrieve_hull::{BackboneLine, Boat, Curve, HullError, Plane, Planking, Sample, WaySpot};

use crate::backbone::parts::Parts;
use crate::flat;

/// The rabbet in the station plane at `x` m, drawn (y, z).
///
/// # Errors
/// Planking or half-siding that nothing gives, planking thicker than the half-siding allows, no hull there.
pub fn rabbet_at(hull: &Boat, x: f64, options: &RabbetOptions) -> Result<Rabbet, RabbetError> {
    rabbet_or_along(hull, x, options, false)
}

/// [`rabbet_at`], or where `along` allows it the rabbet of planking that all but lies along the keel.
pub(crate) fn rabbet_or_along(
    hull: &Boat,
    x: f64,
    options: &RabbetOptions,
    along: bool,
) -> Result<Rabbet, RabbetError> {
    let section = hull.section(x)?;
    let near =
        *section.start().ok_or(RabbetError::NoLine { place: format!("x = {x:.4} m"), line: "rabbet" })?;
    let sides = Sides::new(hull, options, near.p[1], None)?;
    sides.rabbet(&Plane::at_x(x), &near, format!("x = {x:.4} m"), along)
}

/// The rabbet of the stem or the sternpost in the plane square to its profile at height `z` m, drawn (y,
/// distance in from the profile of the surface's end).
///
/// # Errors
/// As [`rabbet_at`]; no such end, or none at that height.
pub fn rabbet_on(hull: &Boat, end: End, z: f64, options: &RabbetOptions) -> Result<Rabbet, RabbetError> {
    let hull = &*flat::sides(hull);
    let profile = end_profile(hull, end, options)?;
    let mark = profile.crossings([0.0, 0.0, 1.0], z).pop().ok_or_else(|| {
        let heights = [profile.start(), profile.end()].map(|s| s.map_or(f64::NAN, |s| s.p[2]));
        RabbetError::OffTheEnd { end, z, from: heights[0], to: heights[1] }
    })?;
    rabbet_across(hull, Some(end), &along_the_line(end, &mark.sample), options, false, None)
}

/// `count` rabbets evenly along the stem or the sternpost, keel to head.
///
/// # Errors
/// If there is no such end; single rabbets fail by themselves.
pub fn rabbets_along(
    hull: &Boat,
    end: End,
    count: usize,
    options: &RabbetOptions,
) -> Result<Vec<Result<Rabbet, RabbetError>>, RabbetError> {
    let hull = &*flat::sides(hull);
    let profile = end_profile(hull, end, options)?;
    let last = count.saturating_sub(1).max(1) as f64;
    let spots = (0..count).filter_map(|i| profile.at_fraction(i as f64 / last));
    Ok(spots
        .map(|spot| rabbet_across(hull, Some(end), &along_the_line(end, &spot), options, false, None))
        .collect())
}

/// What a rabbet is worked out for. Metres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RabbetOptions {
    /// Planking thickness; the record's own where left out.
    pub planking: Option<f64>,
    /// Half the width of keel and stem at the rabbet; where left out that of the surface's lower edge, or
    /// the record's where the surface comes to the centreline.
    pub half_siding: Option<f64>,
}

/// Which end of the boat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum End {
    /// The stem.
    Stem,
    /// The sternpost: a double-ender's, or one below a transom.
    Sternpost,
}

impl End {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            End::Stem => "stem",
            End::Sternpost => "sternpost",
        }
    }
}

/// The rabbet in one plane across the piece, drawn (y, up, or in from the profile).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rabbet {
    /// The plane.
    pub plane: Plane,
    /// Half-siding there, m.
    pub half_siding: f64,
    /// Planking thickness, m.
    pub planking: f64,
    /// Rabbet line.
    pub rabbet: Point,
    /// Bearding line.
    pub bearding: Point,
    /// Middle line, the apex.
    pub middle: Point,
    /// Garboard angle, radians: in this plane, from the side of the piece above the rabbet line to the outer
    /// face of the planking. A right angle is a flat floor; small is a plank that lies along the side.
    pub angle: f64,
    /// Outward unit normal of the planking at the rabbet line.
    pub normal: [f64; 3],
}

impl Rabbet {
    /// The three lines' points in space: rabbet, bearding, middle, m.
    pub fn in_space(&self) -> [[f64; 3]; 3] {
        [self.rabbet, self.bearding, self.middle].map(|p| self.plane.in_space(p))
    }

    /// Depth of the cut square to the side of the piece, m.
    pub fn depth(&self) -> f64 {
        self.half_siding - self.middle.x
    }
}

/// Why there is no rabbet. Metres.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RabbetError {
    /// Neither the record nor the options give a planking thickness.
    #[error("the table gives no planking thickness: give one")]
    NoPlanking,
    /// Neither the surface, the record nor the options give a half-siding.
    #[error("the table gives no half-siding and the planking comes to the centreline: give a half-siding")]
    NoHalfSiding,
    /// A length that is no length.
    #[error("{what} is {value} m: it must be more than nothing")]
    BadLength {
        /// What was given.
        what: &'static str,
        /// What it was.
        value: f64,
    },
    /// The two sides' rabbets would meet in the middle.
    #[error(
        "at {place} the rabbet for planking of {planking:.4} m is {depth:.4} m deep in a half-siding of \
         {half_siding:.4} m: side the piece {least:.4} m or more, or take thinner planking"
    )]
    TooThick {
        /// Where.
        place: String,
        /// Planking thickness.
        planking: f64,
        /// Depth of the cut square to the side.
        depth: f64,
        /// Half-siding.
        half_siding: f64,
        /// Least whole siding that leaves any wood.
        least: f64,
    },
    /// Nibs that leave no scarf.
    #[error(
        "a scarf's nib of {nib} of the keel's depth: give 0 (feather edges) to {deepest}; an eighth to a sixth is usual"
    )]
    BadNib {
        /// What was given.
        nib: f64,
        /// The most.
        deepest: f64,
    },
    /// No batten passes the readings of the keel.
    #[error("the underside of the keel, its readings counted from the bow: {0}; look at the keel's row")]
    Underside(scrieve_surface::BattenError),
    /// One of the planking's faces does not come to the side of the piece.
    #[error(
        "at {place} the planking does not come to the side of the piece, or all but lies along it, so there is \
         no {line} line: check the half-siding; near the stem take the rabbet square to the stem"
    )]
    NoLine {
        /// Where.
        place: String,
        /// Which line.
        line: &'static str,
    },
    /// The boat does not end in this.
    #[error("the boat has no {}: her planking there ends {half_breadth:.3} m from the centreline", .end.name())]
    NoEnd {
        /// Which end.
        end: End,
        /// Half-breadth there, m.
        half_breadth: f64,
    },
    /// The stem or sternpost does not reach that height.
    #[error("z = {z:.4} m is off the {}, whose rabbet runs from {from:.3} to {to:.3} m", .end.name())]
    OffTheEnd {
        /// Which end.
        end: End,
        /// Height asked for.
        z: f64,
        /// Lower end.
        from: f64,
        /// Upper end.
        to: f64,
    },
    /// The hull cannot give a section there.
    #[error(transparent)]
    Hull(#[from] HullError),
}

impl RabbetError {
    /// Siding that would do, m; nothing where siding is not what is wrong.
    pub(crate) fn siding_asked(&self) -> f64 {
        if let RabbetError::TooThick { least, .. } = self { *least } else { 0.0 }
    }
}

/// A surface that stops this near the centreline comes to it, m.
const ON_CENTRELINE_M: f64 = 1e-6;
/// Planking is carried on straight past its edge for at most this many thicknesses to reach the side of the
/// piece: planking that meets it at under 12 degrees all but lies along it, and where a straight carried so
/// far would come to says nothing of the boat.
const CARRIED_ON: f64 = 5.0;
/// The angle of planking with the side of the piece at which it is carried on farthest, radians.
pub(crate) fn least_angle() -> f64 {
    CARRIED_ON.recip().asin()
}

/// Planking runs back out of the boat where its direction goes against the inward one by more, as a cosine (30
/// degrees): no garboard does.
const ALONG_THE_SIDE: f64 = 0.87;
/// A line whose half-siding changes by less from a spot to the foot of its middle line keeps it, m.
const SIDING_M: f64 = 0.001;

/// The middle line is found in its plane to this, m.
const MIDDLE_ACCURACY_M: f64 = 1e-9;
/// Steps to it; each is some tens of times nearer, planking thickness over radius of the hull.
const MIDDLE_STEPS: usize = 30;

/// The profile of an end that has a stem or sternpost, from the keel to its head.
fn end_profile(hull: &Boat, end: End, options: &RabbetOptions) -> Result<Curve, RabbetError> {
    let parts = Parts::of(hull, options.half_siding);
    let half_breadth = match end {
        End::Stem => parts.line.forward_breadth,
        End::Sternpost => parts.line.after_breadth,
    };
    parts.of_end(end).ok_or(RabbetError::NoEnd { end, half_breadth })
}

/// A spot of an end's own profile, keel to head, as one of the backbone's line, which runs down a stem.
fn along_the_line(end: End, spot: &Sample) -> Sample {
    match end {
        End::Stem => Sample { tangent: spot.tangent.map(|c| -c), ..*spot },
        End::Sternpost => *spot,
    }
}

/// The rabbet at a spot of the backbone's line, in the plane square to it in profile. Quicker where the `run` of the
/// line that the spot is on is given; what leaves the planking at once at the head of an end is then an error.
pub(crate) fn rabbet_across(
    hull: &Boat,
    end: Option<End>,
    spot: &Sample,
    options: &RabbetOptions,
    along: bool,
    run: Option<&Curve>,
) -> Result<Rabbet, RabbetError> {
    let inward = BackboneLine::inward(spot);
    let plane = Plane { origin: [spot.p[0], 0.0, spot.p[2]], right: [0.0, 1.0, 0.0], up: inward };
    let sides = Sides::new(hull, options, spot.p[1], run)?;
    let place = match end {
        Some(end) => format!("the {} {:.4} m up", end.name(), spot.p[2]),
        None => format!("the keel {:.4} m aft", spot.p[0]),
    };
    sides.rabbet(&plane, spot, place, along)
}

/// Where a face of the planking comes to the side of the piece.
#[derive(Clone, Copy)]
struct Touch {
    p: [f64; 3],
    /// Outward unit normal.
    normal: [f64; 3],
    /// Along the face in the plane, outward.
    tangent: [f64; 3],
}

impl From<Sample> for Touch {
    fn from(Sample { p, normal, tangent, .. }: Sample) -> Touch {
        Touch { p, normal, tangent }
    }
}

impl From<WaySpot> for Touch {
    fn from(WaySpot { p, normal, tangent }: WaySpot) -> Touch {
        Touch { p, normal, tangent }
    }
}

/// The planking and the side of the piece it meets.
struct Sides<'a> {
    hull: &'a Boat,
    planking: Planking,
    half_siding: f64,
    /// The run of the backbone's line on which the outer face meets the side of the piece, where it is known to.
    run: Option<&'a Curve>,
    /// Whether the head of a raked end is carried on to.
    to_the_head: bool,
}

impl<'a> Sides<'a> {
    fn new(
        hull: &'a Boat,
        options: &RabbetOptions,
        edge: f64,
        run: Option<&'a Curve>,
    ) -> Result<Sides<'a>, RabbetError> {
        let planking = Planking::of(hull, options.planking).ok_or(RabbetError::NoPlanking)?;
        let own = if edge > ON_CENTRELINE_M { edge } else { hull.survey().half_siding };
        let half_siding = options.half_siding.unwrap_or(own);
        for (what, value) in [("planking thickness", planking.thickness), ("half-siding", half_siding)] {
            if !(value.is_finite() && value > 0.0) {
                let unsaid = what == "half-siding" && options.half_siding.is_none();
                return Err(if unsaid {
                    RabbetError::NoHalfSiding
                } else {
                    RabbetError::BadLength { what, value }
                });
            }
        }
        // The surface's own edge is the rabbet line where it lies at the side of the piece and is the planking's
        // outer face.
        let on_it = planking.outer == 0.0 && (edge - half_siding).abs() < MIDDLE_ACCURACY_M;
        Ok(Sides { hull, planking, half_siding, run: run.filter(|_| on_it), to_the_head: run.is_none() })
    }

    fn rabbet(
        &self,
        plane: &Plane,
        near: &Sample,
        place: String,
        along: bool,
    ) -> Result<Rabbet, RabbetError> {
        let no_line = |line| RabbetError::NoLine { place: place.clone(), line };
        let faces = [self.planking.outer, self.planking.inner].map(|d| self.on_side(plane, d, near.p));
        let (rabbet, bearding) = match faces {
            [Some(rabbet), Some(bearding)] => (rabbet, bearding),
            [None, Some(bearding)] if along && self.planking.outer < 0.0 => {
                return self.along_the_side(plane, &bearding, place);
            }
            _ => self
                .at_the_head(plane, near)
                .ok_or_else(|| no_line(if faces[0].is_none() { "rabbet" } else { "bearding" }))?,
        };
        // The inner face comes to the side of the piece farther in than the outer: else it is another place.
        if plane.drawn(bearding.p).y <= plane.drawn(rabbet.p).y {
            return Err(no_line("bearding"));
        }
        let middle = plane.drawn(self.middle(plane, &rabbet));
        self.check_depth(self.half_siding - middle.x, place)?;
        let along = plane.drawn(add(plane.origin, rabbet.tangent, 1.0));
        Ok(Rabbet {
            plane: *plane,
            half_siding: self.half_siding,
            planking: self.planking.thickness,
            rabbet: plane.drawn(rabbet.p),
            bearding: plane.drawn(bearding.p),
            middle,
            angle: along.x.atan2(along.y),
            normal: rabbet.normal,
        })
    }

    fn check_depth(&self, depth: f64, place: String) -> Result<(), RabbetError> {
        let (planking, half_siding) = (self.planking.thickness, self.half_siding);
        let fits = depth <= half_siding;
        let least = 2.0 * depth;
        fits.then_some(()).ok_or(RabbetError::TooThick { place, planking, depth, half_siding, least })
    }

    /// The rabbet of planking inside which the record is taken, and which all but lies along the side of the
    /// piece: as if it met it at the least angle at which planking is carried on.
    fn along_the_side(&self, plane: &Plane, bearding: &Touch, place: String) -> Result<Rabbet, RabbetError> {
        let thickness = self.planking.thickness;
        let (sin, cos) = least_angle().sin_cos();
        self.check_depth(thickness * cos, place)?;
        let bearding_at = plane.drawn(bearding.p);
        let rabbet = bearding_at - Vec2::new(0.0, CARRIED_ON * thickness);
        Ok(Rabbet {
            plane: *plane,
            half_siding: self.half_siding,
            planking: thickness,
            rabbet,
            bearding: bearding_at,
            middle: rabbet + Vec2::new(-cos, sin) * thickness,
            angle: least_angle(),
            normal: bearding.normal,
        })
    }

    /// Rabbet and bearding at the head of a raked end, where the plane square to it leaves the planking at
    /// once: those of the plane that touches the planking there. `None` where there is planking enough, or the
    /// record's edge is not at the side of the piece.
    fn at_the_head(&self, plane: &Plane, near: &Sample) -> Option<(Touch, Touch)> {
        let on_the_line = self.to_the_head
            && self.planking.outer == 0.0
            && (near.p[1] - self.half_siding).abs() < MIDDLE_ACCURACY_M;
        let longest = self.hull.parallel_cut(plane, 0.0).iter().map(Curve::length).fold(0.0, f64::max);
        if !on_the_line || longest > CARRIED_ON * self.planking.thickness {
            return None;
        }
        let across = dot(near.normal, plane.normal());
        let square = add(near.normal, plane.normal(), -across);
        let (out, up) = (dot(square, plane.right), dot(square, plane.up));
        let long = out.hypot(up);
        // Along the planking in this plane, outward.
        let tangent = add([0.0; 3], plane.right, -up / long);
        let tangent = add(tangent, plane.up, out / long);
        let run = self.planking.thickness / -up;
        let edge = Touch { tangent, ..Touch::from(*near) };
        let aside = |run: f64| Touch { p: add(near.p, plane.up, run), ..edge };
        let (rabbet, bearding) =
            if self.planking.outer == 0.0 { (edge, aside(run)) } else { (aside(-run), edge) };
        (up < 0.0 && run < CARRIED_ON * self.planking.thickness).then_some((rabbet, bearding))
    }

    /// Where the middle line passes the plane: its foot on the rabbet line stands off the plane by the
    /// fore-and-aft part of the planking's thickness.
    fn middle(&self, plane: &Plane, rabbet: &Touch) -> [f64; 3] {
        let normal = plane.normal();
        let mut foot = *rabbet;
        let mut off = 0.0;
        for _ in 0..MIDDLE_STEPS {
            let middle = add(foot.p, foot.normal, -self.planking.thickness);
            let error = plane.height_of(middle);
            if error.abs() < MIDDLE_ACCURACY_M {
                return middle;
            }
            off -= error;
            let shifted = Plane { origin: add(plane.origin, normal, off), ..*plane };
            match self.on_side(&shifted, self.planking.outer, add(foot.p, normal, -error)) {
                Some(next) => foot = next,
                None => break,
            }
        }
        // The foot is off the end of the boat: square to the planking as the plane shows it instead.
        let across = dot(rabbet.normal, normal);
        let in_plane = add(rabbet.normal, normal, -across);
        add(rabbet.p, in_plane, -self.planking.thickness / dot(in_plane, in_plane))
    }

    /// Where the face `distance` inside the record's surface comes to the side of the piece, nearest the
    /// edge of the surface at `near`.
    fn on_side(&self, plane: &Plane, distance: f64, near: [f64; 3]) -> Option<Touch> {
        if let Some(run) = self.run.filter(|_| distance == 0.0) {
            let normal = plane.normal();
            let gap = |s: &Sample| {
                let d = add(s.p, near, -1.0);
                dot(d, d)
            };
            let crossings =
                run.crossings(normal, dot(normal, plane.origin)).into_iter().map(|mark| mark.sample);
            let spot = crossings.min_by(|a, b| gap(a).total_cmp(&gap(b)))?;
            // The half-siding may change along the line: what is off it is not met here.
            if (spot.p[1] - self.half_siding).abs() > SIDING_M {
                return None;
            }
            // Along the planking in the plane, outward.
            let n = spot.normal;
            let across = [0, 1, 2].map(|k: usize| {
                let (i, j) = ((k + 1) % 3, (k + 2) % 3);
                n[i] * normal[j] - n[j] * normal[i]
            });
            let long = dot(across, across).sqrt() * if across[1] < 0.0 { -1.0 } else { 1.0 };
            let tangent = across.map(|c| c / long);
            // By a corner of the line planking lies along the side, and may lean in by a hair: still inward.
            let back = dot(tangent, plane.up) < -ALONG_THE_SIDE;
            let tangent = if back { tangent.map(|c| -c) } else { tangent };
            return (long != 0.0).then_some(Touch { tangent, ..Touch::from(spot) });
        }
        if let Some(way) = self.hull.from_edge(plane, distance, near, self.half_siding) {
            return match way.at_breadth {
                Some(spot) => Some(Touch::from(spot)),
                None => self.carried_on(Touch::from(way.start)),
            };
        }
        let mut curves: Vec<(f64, Curve)> = Vec::new();
        for curve in self.hull.parallel_cut(plane, distance) {
            let gaps = [curve.start()?, curve.end()?].map(|s| {
                let d = add(s.p, near, -1.0);
                dot(d, d)
            });
            let outward = if gaps[1] < gaps[0] { curve.reversed() } else { curve };
            curves.push((gaps[0].min(gaps[1]), outward));
        }
        curves.sort_by(|a, b| a.0.total_cmp(&b.0));
        let start = *curves.first()?.1.start()?;
        if start.p[1] - self.half_siding <= -MIDDLE_ACCURACY_M {
            // At a chine the nearest strand may end inside the piece: the next comes out of it.
            return curves.iter().find_map(|(_, curve)| {
                let crossings = curve.crossings([0.0, 1.0, 0.0], self.half_siding);
                crossings.into_iter().map(|mark| Touch::from(mark.sample)).find(|s| s.tangent[1] > 0.0)
            });
        }
        self.carried_on(Touch::from(start))
    }

    /// A face that begins outside the piece, carried on straight to the side of it.
    fn carried_on(&self, start: Touch) -> Option<Touch> {
        let out = start.p[1] - self.half_siding;
        if out.abs() < MIDDLE_ACCURACY_M {
            return Some(start);
        }
        let back = out / start.tangent[1];
        let within = back > 0.0 && back < CARRIED_ON * self.planking.thickness;
        within.then(|| Touch { p: add(start.p, start.tangent, -back), ..start })
    }
}

/// `a + b * by`.
fn add(a: [f64; 3], b: [f64; 3], by: f64) -> [f64; 3] {
    [0, 1, 2].map(|k| a[k] + b[k] * by)
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| a[k] * b[k]).sum()
}
