//! A point of the hull or of the surface parallel to it: position, normal and their first derivatives
//! (do Carmo, Differential Geometry of Curves and Surfaces, section 3.2).

use scrieve_surface::{Jet, Patch};

use crate::curve::{Plane, Sample};
use scrieve_surface::vector::{V3, along, cross, dot, mix, norm, scale, unit};

/// How far inside the patch the normal is taken where the patch has none (a pole), in u and v: far enough
/// for six good digits, too near for the eye.
const ASIDE: f64 = 1e-5;

/// How far inside, and twice as far, the normal is taken near a corner whose edges are tangent to one another, as stem
/// and keel round a forefoot: near enough that it runs straight from there, and far enough that what the edges are off
/// tangent by, a third of a degree as fairing leaves them, no longer turns it.
const INSIDE: f64 = 0.012;

/// Sines of the angle between the derivatives below which they are taken as tangent, and above which as a frame of their
/// own; between the two the one fades into the other.
const TANGENT: [f64; 2] = [0.04, 0.2];

/// A derivative shorter than this share of the other is that of an edge drawn together to a point.
const POLE: f64 = 1e-3;

/// A derivative along u is as good as nothing where it is less than the first share of the second derivative, and as good as
/// any past the second: at an end that is round in plan, whose breadths grow as the root of the distance, the surface stops
/// there by u, and what fairing leaves of the derivative points anywhere.
const STOPPED: [f64; 2] = [3e-4, 1.5e-3];

/// How far inside, and twice as far, such an end is looked at in u.
const BESIDE: f64 = 2e-3;

/// A step along a curve that comes to less than this share of its parts is what rounding left of it.
const CANCELLED: f64 = 0.02;

/// Below this the two derivatives span no plane, relative to their lengths.
const FLAT: f64 = 1e-9;

#[derive(Clone, Copy, Debug)]
pub(crate) struct Shape {
    /// Position on the parallel surface.
    pub p: V3,
    pub du: V3,
    pub dv: V3,
    /// Outward unit normal.
    pub n: V3,
    nu: V3,
    nv: V3,
    /// The parallel surface runs backward here: it lies beyond a centre of curvature.
    pub turned: bool,
}

impl Shape {
    /// The point at (u, v) of the surface parallel to `patch` at distance `inside`.
    pub(crate) fn at(patch: &Patch, u: f64, v: f64, inside: f64) -> Self {
        let mut jet = patch.jet(u, v);
        let mut across = cross(jet.dv, jet.du);
        let mut area = norm(across);
        let (long, wide) = (norm(jet.du), norm(jet.dv));
        let own = moves(&jet);
        if own < 1.0
            && let Some((carried, turn_carried)) = Shape::beside(patch, [u, v], &jet)
        {
            let n = scale(across, 1.0 / area.max(f64::MIN_POSITIVE));
            let turn = match own > 0.0 {
                true => turns(&jet, n, area).map(|turn| scale(turn, own)),
                false => [[0.0; 3]; 2],
            };
            let turn = [0, 1].map(|k| along(turn[k], turn_carried[k], 1.0 - own));
            return Shape::with_normal(&jet, unit(mix(carried, n, own)), turn, false, inside);
        }
        // Where one derivative is next to nothing there is no angle: a pole, below.
        let there = long.min(wide) > POLE * long.max(wide);
        if there && area < TANGENT[1] * long * wide {
            return Shape::near_tangent_edges(patch, [u, v], &jet, across, inside);
        }
        if area <= FLAT * long.max(wide).powi(2) {
            let near = patch.jet(u + ASIDE * (0.5 - u).signum(), v + ASIDE * (0.5 - v).signum());
            let p = jet.p;
            jet = near;
            jet.p = p;
            across = cross(jet.dv, jet.du);
            area = norm(across).max(f64::MIN_POSITIVE);
        }
        let n = scale(across, 1.0 / area);
        Shape::with_normal(&jet, n, turns(&jet, n, area), true, inside)
    }

    /// The normal and how it turns where the surface stops by u, carried on from inside; `None` where it stops there too.
    fn beside(patch: &Patch, [u, v]: [f64; 2], jet: &Jet) -> Option<(V3, [V3; 2])> {
        let aside = |by: f64| {
            let u = u + by * (0.5 - u).signum();
            (moves(&patch.jet(u, v)) == 1.0).then(|| Shape::at(patch, u, v, 0.0))
        };
        let (near, far) = (aside(BESIDE)?, aside(2.0 * BESIDE)?);
        // At a corner of the patch both edges run one way, and v says no more of the normal than u does.
        let onward = |a: V3, b: V3| along(scale(a, 2.0), b, -1.0);
        let carried = onward(near.n, far.n);
        let normal =
            along(carried, jet.dv, -dot(carried, jet.dv) / dot(jet.dv, jet.dv).max(f64::MIN_POSITIVE));
        Some((unit(normal), [onward(near.nu, far.nu), onward(near.nv, far.nv)]))
    }

    /// The same where both derivatives all but run one way: the normal and how it turns carried on from inside.
    fn near_tangent_edges(patch: &Patch, [u, v]: [f64; 2], jet: &Jet, across: V3, inside: f64) -> Self {
        let of = |jet: &Jet, across: V3| {
            let area = norm(across).max(f64::MIN_POSITIVE);
            let n = scale(across, 1.0 / area);
            (n, turns(jet, n, area))
        };
        let aside = |by: f64| {
            let jet = patch.jet(u + by * (0.5 - u).signum(), v + by * (0.5 - v).signum());
            of(&jet, cross(jet.dv, jet.du))
        };
        let ((near, turn_near), (far, turn_far)) = (aside(INSIDE), aside(2.0 * INSIDE));
        let onward = |a: V3, b: V3| along(scale(a, 2.0), b, -1.0);
        let (carried, turn_carried) =
            (unit(onward(near, far)), [0, 1].map(|k| onward(turn_near[k], turn_far[k])));
        let sine = norm(across) / (norm(jet.du) * norm(jet.dv));
        let part = ((sine - TANGENT[0]) / (TANGENT[1] - TANGENT[0])).clamp(0.0, 1.0);
        let own = part * part * (3.0 - 2.0 * part);
        if own == 0.0 {
            return Shape::with_normal(jet, carried, turn_carried, false, inside);
        }
        let (n, turn) = of(jet, across);
        let n = unit(mix(carried, n, own));
        let turn = [0, 1].map(|k| mix(turn_carried[k], turn[k], own));
        Shape::with_normal(jet, n, turn, false, inside)
    }

    /// With a normal and how it turns; `tells` whether the derivatives tell which way the parallel surface runs.
    fn with_normal(jet: &Jet, n: V3, [nu, nv]: [V3; 2], tells: bool, inside: f64) -> Self {
        let (du, dv) = (along(jet.du, nu, -inside), along(jet.dv, nv, -inside));
        let turned = tells && inside != 0.0 && dot(cross(dv, du), n) < 0.0;
        Shape { p: along(jet.p, n, -inside), du, dv, n, nu, nv, turned }
    }

    /// The sample of the curve that leaves here in direction (a, b) of (u, v) and lies in a plane with the
    /// normal of `plane`. By Meusnier's theorem its curvature is the normal curvature over the cosine
    /// between the two normals.
    pub(crate) fn sample(&self, [a, b]: [f64; 2], plane: &Plane) -> Sample {
        let step = along(scale(self.du, a), self.dv, b);
        let turn = along(scale(self.nu, a), self.nv, b);
        let length = norm(step).max(f64::MIN_POSITIVE);
        if length <= CANCELLED * (norm(self.du) * a.abs()).max(norm(self.dv) * b.abs()) {
            // Both derivatives run one way and have cancelled: the curve lies in the plane and on the surface.
            let tangent = unit(cross(self.n, plane.normal()));
            return Sample { p: self.p, tangent, normal: self.n, curvature: 0.0 };
        }
        let tangent = scale(step, 1.0 / length);
        let lean = dot(cross(plane.normal(), tangent), self.n);
        let curvature = if lean.abs() > FLAT { -dot(step, turn) / (length * length * lean) } else { 0.0 };
        Sample { p: self.p, tangent, normal: self.n, curvature }
    }
}

/// Whether the surface moves by u: nothing where it stops, one where its derivative is as good as any.
fn moves(jet: &Jet) -> f64 {
    let share = norm(jet.du) / norm(jet.duu).max(f64::MIN_POSITIVE);
    let part = ((share - STOPPED[0]) / (STOPPED[1] - STOPPED[0])).clamp(0.0, 1.0);
    part * part * (3.0 - 2.0 * part)
}

/// How the unit normal `n`, over the `area` the derivatives span, turns by u and by v.
fn turns(jet: &Jet, n: V3, area: f64) -> [V3; 2] {
    let turn = |of_dv: V3, of_du: V3| {
        let change = along(cross(of_dv, jet.du), cross(jet.dv, of_du), 1.0);
        scale(along(change, n, -dot(change, n)), 1.0 / area)
    };
    [turn(jet.duv, jet.duu), turn(jet.dvv, jet.duv)]
}

/// The sample at (u, v) of the line of the patch along u (or along v), drawn in `plane`.
pub(crate) fn line_sample(patch: &Patch, u: f64, v: f64, along_u: bool, plane: &Plane) -> Sample {
    let jet = patch.jet(u, v);
    let (first, second) = if along_u { (jet.du, jet.duu) } else { (jet.dv, jet.dvv) };
    let drawn = |w: V3| (dot(w, plane.right), dot(w, plane.up));
    let ((a, b), (aa, bb)) = (drawn(first), drawn(second));
    let speed = a.hypot(b);
    let curvature = if speed > 0.0 { (a * bb - b * aa) / speed.powi(3) } else { 0.0 };
    let tangent = scale(first, 1.0 / norm(first).max(f64::MIN_POSITIVE));
    let normal = Shape::at(patch, u, v, 0.0).n;
    if along_u && moves(&jet) < 1.0 {
        // The line stops by u, and its direction is carried on from inside.
        let aside = |by: f64| {
            let jet = patch.jet(u + by * (0.5 - u).signum(), v);
            let ((a, b), (aa, bb)) = (drawn(jet.du), drawn(jet.duu));
            let bend = (a * bb - b * aa) / a.hypot(b).powi(3);
            (moves(&jet) > 0.0).then(|| (unit(jet.du), bend))
        };
        if let (Some((near, bend)), Some((far, bend_far))) = (aside(BESIDE), aside(2.0 * BESIDE)) {
            let tangent = unit(along(scale(near, 2.0), far, -1.0));
            return Sample { p: jet.p, tangent, normal, curvature: 2.0 * bend - bend_far };
        }
    }
    Sample { p: jet.p, tangent, normal, curvature }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An end round in plan: y = 0.05 + √(2 - 2 x) v-fold over a line that rises to it, x = 1 - (1 - u)², with a derivative by
    /// u of two thousandths left at the end, athwart, as fairing leaves it.
    fn round_in_plan() -> Patch {
        let breaks: Vec<f64> = (0..=24).map(|i| f64::from(i) / 24.0).collect();
        Patch::interpolating(&breaks, &breaks, |u, v| {
            let left = 1.0 - u;
            let left_over = 0.002 * left * (-(left / 0.1).powi(2)).exp();
            [1.0 - left * left, 0.05 + 1.4 * left * v + left_over, 0.3 * (1.0 - left * left) + v]
        })
    }

    #[test]
    fn an_edge_that_stops_by_u_keeps_its_direction_to_the_end() {
        let patch = round_in_plan();
        let profile = Plane::at_y(0.0);
        let rise = 0.3f64.atan();
        let end = line_sample(&patch, 1.0, 0.0, true, &profile);
        assert!((end.tangent[2].atan2(end.tangent[0]) - rise).abs() < 0.01, "{end:?}");
        // Along the after edge the planking lies athwart: its normal runs aft, square to the edge.
        for v in [0.3, 0.6, 1.0] {
            let n = Shape::at(&patch, 1.0, v, 0.0).n;
            assert!(n[0] > 0.99 && n[1].abs() < 0.02 && n[2].abs() < 0.02, "{v} {n:?}");
        }
    }
}
