//! The case of a centreboard: a slot in the keel, bed logs along it, and sides that stand plumb to a level top.
//!
//! The foot of the logs lies on the keel's upper edge, level athwart, and where a log is broader than the keel
//! goes over its corner down to the inside of the planking. The keel's upper edge is a stated distance above the bearding
//! line, where the inner face of the planking meets the keel's side (see [`crate::rabbet`]).

use kurbo::{BezPath, Point, Rect, Vec2};
use scrieve_hull::{Boat, Planking};

use super::{InsideError, check};
use crate::backbone::smooth;
use crate::marks::{clip, path_of};
use crate::rabbet::{RabbetError, RabbetOptions, rabbet_at};
use crate::{Grid, Mark, MarkKind};

/// A centreboard's case.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// One side, its face to the slot, in profile: (x, z), m.
    pub outline: BezPath,
    /// Stations, the upper edge of the log, and where the foot's outer edge lies.
    pub marks: Vec<Mark>,
    /// The slot in plan: (x, y), m.
    pub slot: Rect,
    /// The keel in plan about it: aft of the forward end and half-siding, m.
    pub keel: Vec<(f64, f64)>,
    /// Forward end, stations between, after end.
    pub places: Vec<CaseAt>,
    /// Length of the slot, m.
    pub length: f64,
}

/// The case at a place. Metres and radians.
#[derive(Clone, Debug, PartialEq)]
pub struct CaseAt {
    /// A station, or which end.
    pub place: String,
    /// Aft of the forward end.
    pub x: f64,
    /// Half of the keel's siding.
    pub half_siding: f64,
    /// Wood left of the keel each side of the slot.
    pub cheek: f64,
    /// Height of the bearding line.
    pub bearding: f64,
    /// Height of the keel's upper edge, on which the foot stands at the slot.
    pub foot: f64,
    /// Height of the foot at the log's outer face: on the keel, or on the planking.
    pub foot_outside: f64,
    /// Of the foot at the log's outer face, from level: nothing on the keel.
    pub bevel: f64,
    /// From foot to top at the slot.
    pub height: f64,
}

/// What is asked of a case. Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CaseOptions {
    /// Forward end of the slot, aft of the boat's forward end.
    pub from: f64,
    /// Its after end.
    pub to: f64,
    /// Its width.
    pub width: f64,
    /// Height of the case's top above the base line.
    pub top: f64,
    /// Size of the bed logs athwart.
    pub log: f64,
    /// Their depth.
    pub log_depth: f64,
    /// Wood to be left of the keel on each side of the slot.
    pub cheek: f64,
    /// The keel's upper edge above the bearding line.
    pub keel_above: f64,
    /// Planking and half-siding.
    pub rabbet: RabbetOptions,
}

/// Spots along the foot: the keel between them is an arc to a few micrometres.
const FOOT_SPOTS: usize = 24;
/// The keel is shown in plan this much past either end of the slot, as a part of its length.
const KEEL_SHOWN: f64 = 0.15;
/// Half-breadths nearer than this are one, m.
const SAME_SPOT_M: f64 = 1e-6;

/// The case of a centreboard.
///
/// # Errors
/// Lengths that are none, a slot too wide for the keel or past its ends, a top that is too low, logs that the
/// planking rises over, and where there is no rabbet.
pub fn centre_case(hull: &Boat, options: &CaseOptions) -> Result<Case, InsideError> {
    let &CaseOptions { from, to, width, log, log_depth, cheek, .. } = options;
    check(&[
        ("length of the slot", to - from, true),
        ("width of the slot", width, true),
        ("thickness of the bed logs", log, true),
        ("depth of the bed logs", log_depth, true),
        ("wood left beside the slot", cheek, false),
        ("keel's edge above the bearding line", options.keel_above, false),
    ])?;
    let lines = hull.reference_lines();
    let ends = lines[0].start().zip(lines[0].end());
    let (first, last) = ends.map_or((f64::NAN, f64::NAN), |(a, b)| (a.p[0], b.p[0]));
    if !(from > first && to < last) {
        return Err(InsideError::SlotOffTheKeel { from, to, first, last });
    }
    let x_at = |i: usize| from + (to - from) * i as f64 / FOOT_SPOTS as f64;
    let spots: Vec<CaseAt> =
        (0..=FOOT_SPOTS).map(|i| place(hull, String::new(), x_at(i), options)).collect::<Result<_, _>>()?;
    let line = |of: &dyn Fn(&CaseAt) -> f64| -> BezPath {
        smooth(&spots.iter().map(|s| Point::new(s.x, of(s))).collect::<Vec<_>>())
    };
    let mut outline = line(&|s| s.foot);
    outline.line_to((to, options.top));
    outline.line_to((from, options.top));
    outline.close_path();

    let stations: Vec<(String, f64)> =
        Grid::of(hull).stations.into_iter().filter(|(_, x)| *x > from && *x < to).collect();
    let mut marks = Vec::new();
    for (name, x) in &stations {
        let lines = clip(&outline, &[], Point::new(*x, 0.0), Vec2::new(0.0, 1.0));
        marks.push(Mark { kind: MarkKind::Station, label: name.clone(), path: path_of(&lines) });
    }
    let mut other = |label: &str, path: BezPath| {
        marks.push(Mark { kind: MarkKind::OtherFace, label: label.to_owned(), path });
    };
    other("TOP OF BED LOG", line(&|s| s.foot + log_depth));
    if spots.iter().any(|s| (s.foot_outside - s.foot).abs() > SAME_SPOT_M) {
        other("FOOT, OUTER EDGE", line(&|s| s.foot_outside));
    }
    let mut places = vec![CaseAt { place: "forward end".into(), ..spots[0].clone() }];
    for (name, x) in stations {
        places.push(place(hull, name, x, options)?);
    }
    places.push(CaseAt { place: "after end".into(), ..spots[FOOT_SPOTS].clone() });

    let past = KEEL_SHOWN * (to - from);
    let shown = (-4..=FOOT_SPOTS as i32 + 4).map(|i| from + (to - from) * f64::from(i) / FOOT_SPOTS as f64);
    let shown = shown.filter(|x| *x > (from - past).max(first) && *x < (to + past).min(last));
    // The keel past the slot is only shown: a place without a rabbet there is no fault of the slot's.
    let keel = shown.filter_map(|x| rabbet_at(hull, x, &options.rabbet).ok().map(|r| (x, r.half_siding)));
    Ok(Case {
        keel: keel.collect(),
        slot: Rect::new(from, -0.5 * width, to, 0.5 * width),
        length: to - from,
        outline,
        marks,
        places,
    })
}

fn place(hull: &Boat, place: String, x: f64, options: &CaseOptions) -> Result<CaseAt, InsideError> {
    let &CaseOptions { width, top, log, log_depth, cheek, .. } = options;
    let rabbet = rabbet_at(hull, x, &options.rabbet)?;
    let half_siding = rabbet.half_siding;
    let left = half_siding - 0.5 * width;
    if left < cheek - SAME_SPOT_M || left <= 0.0 {
        let (siding, least) = (2.0 * half_siding, width + 2.0 * cheek);
        return Err(InsideError::SlotTooWide { x, width, siding, left, cheek, least });
    }
    let foot = rabbet.bearding.y + options.keel_above;
    if top <= foot + log_depth {
        return Err(InsideError::TopTooLow { x, foot, log_depth, top });
    }
    let outer = 0.5 * width + log;
    let (foot_outside, bevel) = if outer <= half_siding + SAME_SPOT_M {
        (foot, 0.0)
    } else {
        let planking = Planking::of(hull, options.rabbet.planking).ok_or(RabbetError::NoPlanking)?;
        let curve = hull.parallel_section(x, planking.inner)?;
        let meets = curve.crossings([0.0, 1.0, 0.0], outer).into_iter().next();
        let sample = meets.ok_or(InsideError::LogPastThePlanking { x, half_breadth: outer })?.sample;
        let [_, ny, nz] = sample.normal;
        (sample.p[2], ny.atan2(-nz))
    };
    if foot_outside >= foot + log_depth {
        let rises = foot_outside - foot;
        return Err(InsideError::LogTooShallow { x, rises, log_depth });
    }
    let bearding = rabbet.bearding.y;
    let height = top - foot;
    Ok(CaseAt { place, x, half_siding, cheek: left, bearding, foot, foot_outside, bevel, height })
}
