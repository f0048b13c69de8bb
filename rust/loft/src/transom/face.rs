//! The face of the transom, a plane or a cylinder laid flat, and the outline the planking cuts in it.

use kurbo::Point;
use scrieve_hull::{Boat, ChineOn, Curve, Place as OnHull, Plane, Sample, mitre};
use scrieve_offsets::TransomPlane;

use super::error::TransomError;
use super::marks::LINE_SAMPLES;
use super::{CARRIED_ON_M, PLACES};
use crate::RoundOfBeam;

/// Halvings to a crossing: a place is then as exact as its numbers.
pub(super) const HALVINGS: usize = 50;

/// Samples up each patch: between two of them the cubic is within a micrometre on any boat's quarter.
const SAMPLES: usize = 48;

/// Step in v that tangents and curvature are taken over: shorter loses digits, longer form.
const STEP: f64 = 1e-3;

/// The face is found along the planking to this, m.
const ON_FACE_M: f64 = 1e-11;

/// Spots from the after end forward at which the face's crossing is looked for.
const SEARCH: usize = 64;

/// A forward end this near a plane lies in it, m.
pub(super) const IN_PLANE_M: f64 = 0.001;

/// Halvings to the foot of a transom above a post: a place is then as exact as its numbers.
const TO_THE_FOOT: usize = 50;

/// Steps in which a level line's crossing of a curved, raked face is closed in on; each is nearer by the
/// tangent of the rake times that of the face's turn.
pub(super) const SETTLE: usize = 30;

/// The after face: a plane, or a cylinder about the direction of its centreline.
pub(super) struct Face {
    /// Where the centreline meets the base line.
    origin: [f64; 3],
    pub(super) up: [f64; 3],
    /// Square to it, aft.
    pub(super) aft: [f64; 3],
    pub(super) radius: Option<f64>,
}

impl Face {
    pub(super) fn new(plane: &TransomPlane) -> Result<Face, TransomError> {
        let (dx, dz) = (plane.head.0 - plane.foot.0, plane.head.1 - plane.foot.1);
        let length = dx.hypot(dz);
        if !(length.is_finite() && dz.abs() > 1e-6 * length) {
            return Err(TransomError::Flat { height: plane.foot.1 });
        }
        let turn = dz.signum() / length;
        let (sin, cos) = (dx * turn, dz * turn);
        Ok(Face {
            origin: [plane.foot.0 - plane.foot.1 * sin / cos, 0.0, 0.0],
            up: [sin, 0.0, cos],
            aft: [cos, 0.0, -sin],
            radius: plane.curve_radius,
        })
    }

    /// How far abaft the face `inside` forward of the after one `p` lies, m.
    pub(super) fn past(&self, p: [f64; 3], inside: f64) -> f64 {
        let along = dot(sub(p, self.origin), self.aft);
        match self.radius {
            None => along + inside,
            Some(r) => p[1].hypot(along + r) - (r - inside),
        }
    }

    /// Across and up on the face, rolled out.
    fn drawn(&self, p: [f64; 3], inside: f64) -> Point {
        let from = sub(p, self.origin);
        let across = match self.radius {
            None => p[1],
            Some(r) => (r - inside) * p[1].atan2(dot(from, self.aft) + r),
        };
        Point::new(across, dot(from, self.up))
    }

    /// A direction at `p` as (square to the face, across, up).
    fn turned(&self, p: [f64; 3], n: [f64; 3]) -> [f64; 3] {
        let (aft, up) = (dot(n, self.aft), dot(n, self.up));
        let Some(r) = self.radius else { return [aft, n[1], up] };
        let (sin, cos) = p[1].atan2(dot(sub(p, self.origin), self.aft) + r).sin_cos();
        [aft * cos + n[1] * sin, n[1] * cos - aft * sin, up]
    }

    /// Where half-breadth `y` at height `z` is drawn on the face `inside` forward of the after one.
    pub(super) fn level(&self, y: f64, z: f64, inside: f64) -> Point {
        let (across, back) = match self.radius {
            None => (y, inside),
            Some(radius) => {
                let r = radius - inside;
                let angle = (y / r).clamp(-1.0, 1.0).asin();
                (r * angle, radius - r * angle.cos())
            }
        };
        // The spot stands forward of the centreline by `back`, square to it, which leans by the rake.
        Point::new(across, (z + back * self.aft[2]) / self.up[2])
    }

    /// Height of a spot drawn on the after face.
    pub(super) fn height(&self, drawn: Point) -> f64 {
        let back = self.radius.map_or(0.0, |r| r * (1.0 - (drawn.x / r).cos()));
        drawn.y * self.up[2] - back * self.aft[2]
    }

    /// Half-breadth of a spot drawn `across`.
    pub(super) fn half_breadth(&self, across: f64, inside: f64) -> f64 {
        self.radius.map_or(across, |r| (r - inside) * (across / (r - inside)).sin())
    }
}

/// The outline on the face `inside` forward of the after one, and its chines. Above a post it begins at `foot` (x,
/// height), at the half-siding.
pub(super) fn outline(
    hull: &Boat,
    face: &Face,
    foot: Option<(f64, f64)>,
    deduction: f64,
    inside: f64,
) -> Result<(Curve, Vec<ChineOn>), TransomError> {
    let mut pieces: Vec<Vec<Sample>> = Vec::new();
    let mut chines = Vec::new();
    let start = foot.map_or((0, 0.0), |foot| place_of_foot(hull, foot));
    for patch in start.0..hull.surface().patches.len() {
        let at = |v: f64| on_face(hull, face, patch, v, deduction, inside);
        let mut from = if patch == start.0 { start.1 } else { 0.0 };
        let mut piece = Vec::new();
        if let Some(foot) = foot.filter(|_| patch == start.0) {
            // Up the post's side from the foot to where the planking's inside comes out of it.
            let half_siding = hull.surface().patches[patch].point(1.0, from)[1];
            let drawn = |v: f64| at(v).map(|(p, _)| face.drawn(p, inside));
            let foot = face.level(half_siding, foot.1, inside);
            let mut low = from;
            for i in 0..=PLACES {
                let v = from + (1.0 - from) * i as f64 / PLACES as f64;
                if drawn(v)?.x < foot.x - ON_FACE_M {
                    low = v;
                }
            }
            let step = (1.0 - from) / PLACES as f64;
            let (mut within, mut out) = (low, (low + step).min(1.0));
            for _ in 0..TO_THE_FOOT {
                let middle = 0.5 * (within + out);
                if drawn(middle)?.x < foot.x { within = middle } else { out = middle }
            }
            from = if low > from || drawn(from)?.x < foot.x - ON_FACE_M { out } else { from };
            let upper = drawn(from)?;
            if upper.y > foot.y + ON_FACE_M {
                let side = |p: Point| Sample {
                    p: flat(p),
                    tangent: [0.0, 0.0, 1.0],
                    // It lies against the post's side.
                    normal: [0.0, 1.0, 0.0],
                    curvature: 0.0,
                };
                pieces.push(vec![side(foot), side(Point::new(foot.x, upper.y))]);
            }
        }
        for i in 0..=SAMPLES {
            let v = from + (1.0 - from) * i as f64 / SAMPLES as f64;
            let centre = v.clamp(from + STEP, 1.0 - STEP);
            let (a, b, c) = (at(centre - STEP)?, at(centre)?, at(centre + STEP)?);
            let here = at(v)?;
            let [a, b, c] = [a, b, c].map(|(p, _)| face.drawn(p, inside));
            let (bend, rate) = (((c - b) - (b - a)) / (STEP * STEP), (c - a) / (2.0 * STEP));
            let rate = rate + bend * (v - centre);
            let speed = rate.hypot();
            let tangent = rate / speed;
            piece.push(Sample {
                p: flat(face.drawn(here.0, inside)),
                tangent: [0.0, tangent.x, tangent.y],
                normal: face.turned(here.0, here.1),
                curvature: rate.cross(bend) / speed.powi(3),
            });
        }
        match pieces.pop() {
            Some(mut last) if smooth(&last, &piece) => {
                last.extend_from_slice(&piece[1..]);
                pieces.push(last);
            }
            Some(last) if patch == start.0 => pieces.extend([last, piece]),
            Some(last) => {
                let joined = mitre(last, piece, &Plane::at_x(0.0));
                chines.push(ChineOn { number: patch, p: joined[joined.len() / 2][0].p });
                pieces.extend(joined);
            }
            None => pieces.push(piece),
        }
    }
    Ok((Curve { plane: Plane::at_x(0.0), pieces }, chines))
}

/// Where on the after edge the transom's foot lies: the patch and v.
fn place_of_foot(hull: &Boat, (x, z): (f64, f64)) -> (usize, f64) {
    let mut best = (f64::INFINITY, 0, 0.0);
    for (patch, surface) in hull.surface().patches.iter().enumerate() {
        let gap = |v: f64| {
            let p = surface.point(1.0, v.clamp(0.0, 1.0));
            (p[0] - x).hypot(p[2] - z)
        };
        for i in 0..=PLACES {
            let v = i as f64 / PLACES as f64;
            if gap(v) < best.0 {
                best = (gap(v), patch, v);
            }
        }
    }
    let surface = &hull.surface().patches[best.1];
    let gap = |v: f64| {
        let p = surface.point(1.0, v);
        (p[0] - x).hypot(p[2] - z)
    };
    let (mut v, mut step) = (best.2, 1.0 / PLACES as f64);
    for _ in 0..TO_THE_FOOT {
        step *= 0.5;
        for other in [v - step, v + step].map(|v: f64| v.clamp(0.0, 1.0)) {
            if gap(other) < gap(v) {
                v = other;
            }
        }
    }
    (best.1, v)
}

fn smooth(below: &[Sample], above: &[Sample]) -> bool {
    let (end, start) = (below[below.len() - 1], above[0]);
    let turn = sub(end.tangent, start.tangent);
    let gap = sub(end.p, start.p);
    dot(turn, turn) < 1e-8 && dot(gap, gap) < 1e-14
}

/// Where the planking's inside, along `v` of a patch, meets the face, and its outward normal there.
fn on_face(
    hull: &Boat,
    face: &Face,
    patch: usize,
    v: f64,
    deduction: f64,
    inside: f64,
) -> Result<([f64; 3], [f64; 3]), TransomError> {
    let spot = |u: f64| hull.spot(OnHull { patch, u, v }, deduction);
    let past = |u: f64| face.past(spot(u).p, inside);
    let end = spot(1.0);
    let short = face.past(end.p, inside);
    if short <= 0.0 {
        // Short of the face: on straight, along the run of the planking.
        let mut step = 0.0;
        for _ in 0..20 {
            let p = add(end.p, end.du, step);
            let off = face.past(p, inside);
            if off.abs() < ON_FACE_M {
                break;
            }
            let ahead = face.past(add(end.p, end.du, step + 1e-4), inside);
            step -= off * 1e-4 / (ahead - off);
        }
        let carried = step * dot(end.du, end.du).sqrt();
        if (0.0..=CARRIED_ON_M + 4.0 * deduction.abs()).contains(&carried) {
            return Ok((add(end.p, end.du, step), end.normal));
        }
    } else {
        let mut high = 1.0;
        for i in (0..SEARCH).rev() {
            let low = i as f64 / SEARCH as f64;
            if past(low) <= 0.0 {
                let u = bisected(&past, low, high);
                let found = spot(u);
                return Ok((found.p, found.normal));
            }
            high = low;
        }
    }
    let start = spot(0.0).p;
    let place = match v {
        v if v <= STEP && patch == 0 => "at the rabbet".to_owned(),
        v if v >= 1.0 - STEP && patch + 1 == hull.surface().patches.len() => "at the sheer".to_owned(),
        _ => format!("{:.3} m up", end.p[2]),
    };
    let at = face.origin[0] + end.p[2] * face.up[0] / face.up[2];
    Err(TransomError::Misses { place, from: start[0], to: end.p[0], face: at })
}

/// The zero of a function that is not positive at `low` and positive at `high`: by chords, kept between.
fn bisected(f: &impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let (mut at_low, mut at_high) = (f(low), f(high));
    for i in 0..100 {
        let chord = low - at_low * (high - low) / (at_high - at_low);
        let next = if i % 3 == 2 { 0.5 * (low + high) } else { chord };
        let value = f(next);
        if value.abs() < ON_FACE_M {
            return next;
        }
        if value <= 0.0 { (low, at_low) = (next, value) } else { (high, at_high) = (next, value) }
    }
    0.5 * (low + high)
}

/// The top of the after face, from the sheer in to the centreline.
pub(super) fn top(
    face: &Face,
    sheer: Point,
    inside: f64,
    round: Option<RoundOfBeam>,
) -> Result<Curve, TransomError> {
    if let Some(radius) = face.radius.filter(|r| sheer.x >= (r - inside) * std::f64::consts::FRAC_PI_2) {
        return Err(TransomError::TooTight { radius, needs: sheer.x });
    }
    let half = face.half_breadth(sheer.x, inside);
    let fall = |y: f64| round.map_or(Some(0.0), |round| round.fall(y));
    // The height at which the sheer is drawn: the face bends, so it is found from there.
    let z = (sheer.y - face.level(half, 0.0, inside).y) * face.up[2];
    let edge =
        fall(half).ok_or(round).map_err(|r| r.map_or(TransomError::NoTransom, TransomError::NoRound))?;
    let point = |t: f64| {
        let y = half * (1.0 - t);
        face.level(y, z + edge - fall(y).unwrap_or(edge), inside)
    };
    Ok(Curve { plane: Plane::at_x(0.0), pieces: vec![drawn_line(point)] })
}

/// A line of the drawing by its points over 0 to 1.
pub(super) fn drawn_line(point: impl Fn(f64) -> Point) -> Vec<Sample> {
    (0..=LINE_SAMPLES)
        .map(|i| {
            let t = i as f64 / LINE_SAMPLES as f64;
            let rate = (point(t + STEP) - point(t - STEP)).normalize();
            Sample {
                p: flat(point(t)),
                tangent: [0.0, rate.x, rate.y],
                normal: [1.0, 0.0, 0.0],
                curvature: 0.0,
            }
        })
        .collect()
}

pub(super) fn flat(p: Point) -> [f64; 3] {
    [0.0, p.x, p.y]
}

fn add(a: [f64; 3], b: [f64; 3], by: f64) -> [f64; 3] {
    [0, 1, 2].map(|k| a[k] + b[k] * by)
}

fn sub(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    add(a, b, -1.0)
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| a[k] * b[k]).sum()
}
