//! Boats of the kinds that are built, in closed form, on [`super::of_patches`].

use scrieve_hull::Boat;
use scrieve_notation::Mark;
use scrieve_offsets::{Block, CellId, ProfileSpot, Survey, TransomPlane};
use scrieve_surface::Patch;

use super::{even, of_patches};

/// Half-siding.
pub const H: f64 = 0.03;

pub const A: f64 = 0.25;
pub const C: f64 = 0.3;

/// Stem, forefoot and keel are one branch of the hyperbola x z = A², 1.24 m up at the head and all but level aft; the
/// planking is y = H + C (√(x z) - A). The patch has its corner half way round the forefoot, where both its edges
/// run one way.
pub fn round_forefoot() -> Boat {
    hyperbolic(A, (-1.6, 2.6))
}

/// The same round a sharper forefoot, from 1.2 m up to 3 m aft.
pub fn sharp_forefoot(a: f64) -> Boat {
    hyperbolic(a, (-(1.2 / a).ln(), (3.0 / a).ln()))
}

fn hyperbolic(a: f64, (head, heel): (f64, f64)) -> Boat {
    let line = |t: f64| [a * t.exp(), a * (-t).exp()];
    let ([x0, z0], [x1, z1]) = (line(head), line(heel));
    let top = 1.0;
    let patch = Patch::interpolating(&even(40), &even(40), |u, v| {
        let blend = |k: usize| {
            let (fore, keel) = (line(head * v)[k], line(heel * u)[k]);
            let (aft, sheer) = ([x1, z1 + (top - z1) * v][k], [x0 + (x1 - x0) * u, z0 + (top - z0) * u][k]);
            let corners = [line(0.0)[k], [x1, z1][k], [x0, z0][k], [x1, top][k]];
            let bottom = corners[0] + (corners[1] - corners[0]) * u;
            let above = corners[2] + (corners[3] - corners[2]) * u;
            fore + (aft - fore) * u + keel + (sheer - keel) * v - (bottom + (above - bottom) * v)
        };
        let (x, z) = (blend(0), blend(1));
        [x, H + C * ((x * z).sqrt() - a), z]
    });
    of_patches(&[0.5, 1.5, 2.5], "", Survey { half_siding: H, ..Survey::default() }, vec![patch])
}

pub const HEEL: f64 = 4.0;
pub const RAKE: f64 = 0.5;
pub const FOOT: f64 = 0.6;
pub const HEAD: f64 = 1.2;
pub const ACROSS: f64 = 0.5;

pub fn spot(x: f64, z: f64) -> ProfileSpot {
    let cell = CellId { block: Block::SternProfile, row: 1, column: 0 };
    ProfileSpot { x, z, sd: 1e-3, tolerance: 1e-3, mark: Mark::Plain, cell }
}

/// Half-breadth amidships at v of the way up.
pub fn amidships(v: f64) -> f64 {
    0.8 * v * (1.6 - 0.6 * v)
}

/// A level keel, a post raked from the heel to the foot of a wineglass transom that goes on in the same plane, and
/// sides that run in to H on keel and post, and to the transom's edge above: open forward.
pub fn wineglass() -> Boat {
    let patch = Patch::interpolating(&even(16), &even(16), |u, v| {
        let z = HEAD * v;
        let above = ((z - FOOT).max(0.0) / (HEAD - FOOT)).powi(5);
        let run = 1.0 - u * u;
        [u * (HEEL + RAKE * z), H + amidships(v) * run + ACROSS * above * (1.0 - run), z]
    });
    let stern =
        vec![spot(HEEL + RAKE * FOOT, FOOT), spot(HEEL + 0.5 * RAKE * FOOT, 0.5 * FOOT), spot(HEEL, 0.0)];
    let transom = TransomPlane {
        foot: (HEEL + RAKE * FOOT, FOOT),
        head: (HEEL + RAKE * HEAD, HEAD),
        curve_radius: None,
    };
    let survey = Survey { half_siding: H, stern, transom: Some(transom), ..Survey::default() };
    of_patches(&[1.0, 2.0, 3.0], "", survey, vec![patch])
}

pub const LENGTH: f64 = 4.0;
pub const FLARE: f64 = 0.3;

/// Height of the bottom: rocker of 0.16 m at the ends.
pub fn rocker(x: f64) -> f64 {
    0.1 + 0.04 * (x - 2.0).powi(2)
}

/// Half-breadth of the bottom's edge.
pub fn edge(x: f64) -> f64 {
    0.5 - 0.06 * (x - 2.1).powi(2)
}

pub fn survey(half_siding: f64) -> Survey {
    let (z, head) = (rocker(LENGTH), rocker(LENGTH) + 0.5);
    let transom = TransomPlane { foot: (LENGTH, z), head: (LENGTH, head), curve_radius: None };
    Survey { half_siding, transom: Some(transom), ..Survey::default() }
}

pub fn side() -> Patch {
    Patch::interpolating(&even(20), &even(8), |u, v| {
        let x = LENGTH * u;
        [x, edge(x) + FLARE * 0.5 * v, rocker(x) + 0.5 * v]
    })
}

/// A punt whose table gives her bottom's edge as the rabbet.
pub fn told_by_its_edge() -> Boat {
    of_patches(&[1.0, 2.0, 3.0], "", survey(edge(2.0)), vec![side()])
}

/// The same whose table gives the bottom as a strake from a half-siding of `inner`.
pub fn told_as_a_strake(inner: f64) -> Boat {
    let flat = Patch::interpolating(&even(20), &even(4), move |u, v| {
        let x = LENGTH * u;
        [x, inner + (edge(x) - inner) * v, rocker(x)]
    });
    of_patches(&[1.0, 2.0, 3.0], "", survey(inner), vec![flat, side()])
}

/// A flat-bottomed skiff with a plumb stem of half-siding 0.02, told as a strake: her bottom comes to it forward.
pub fn skiff() -> Boat {
    let edge = |x: f64| 0.02 + 0.3 * x - 0.045 * x * x;
    let flat = Patch::interpolating(&even(20), &even(4), move |u, v| {
        let x = LENGTH * u;
        [x, 0.02 + (edge(x) - 0.02) * v, rocker(x)]
    });
    let side = Patch::interpolating(&even(20), &even(8), move |u, v| {
        let x = LENGTH * u;
        [x, edge(x) + 0.2 * v * u * (2.0 - u), rocker(x) + 0.5 * v]
    });
    of_patches(&[1.0, 2.0, 3.0], "", survey(0.02), vec![flat, side])
}
