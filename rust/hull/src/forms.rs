//! Hulls in closed form that the tests measure against.

use std::f64::consts::FRAC_PI_2;

use scrieve_surface::{Patch, Surface};
use scrieve_yardstick::known::Known;

use crate::Hull;

pub(crate) fn even(n: usize) -> Vec<f64> {
    (0..=n).map(|i| i as f64 / n as f64).collect()
}

pub(crate) fn one_patch(nu: usize, nv: usize, f: impl Fn(f64, f64) -> [f64; 3]) -> Hull {
    Hull::from_surface(Surface { patches: vec![Patch::interpolating(&even(nu), &even(nv), f)] })
}

/// A half cylinder's quarter, radius 1, 4 m long, axis at z = 1.
pub(crate) fn cylinder() -> Hull {
    one_patch(4, 16, |u, v| {
        let a = FRAC_PI_2 * v;
        [4.0 * u, a.sin(), 1.0 - a.cos()]
    })
}

/// A cone with its point at the origin and half-angle atan ¼, from x = 1 to 5, lower quarter.
pub(crate) fn cone() -> Hull {
    one_patch(4, 16, |u, v| {
        let (x, a) = (1.0 + 4.0 * u, FRAC_PI_2 * v);
        [x, 0.25 * x * a.sin(), -0.25 * x * a.cos()]
    })
}

/// The after part of a sphere of radius 2 about the origin, lower quarter.
pub(crate) fn sphere() -> Hull {
    one_patch(20, 20, |u, v| {
        let (b, a) = (0.2 + 1.2 * u, FRAC_PI_2 * v);
        [2.0 * b.sin(), 2.0 * b.cos() * a.sin(), -2.0 * b.cos() * a.cos()]
    })
}

/// y = B/2 (1 - (2x/L)²)(1 - (z/T)²), x from the bow, z up from the keel; L 6, B 1.6, T 0.5.
pub(crate) fn parabolic_half_breadth(x: f64, z: f64) -> f64 {
    let (along, down) = ((x - 3.0) / 3.0, (z - 0.5) / 0.5);
    0.8 * (1.0 - along * along) * (1.0 - down * down)
}

pub(crate) fn parabolic() -> Hull {
    one_patch(8, 8, |u, v| [6.0 * u, parabolic_half_breadth(6.0 * u, 0.5 * v), 0.5 * v])
}

/// The same between a raked, curved stem and a raked transom, drawn on other parameters.
pub(crate) fn raked() -> Hull {
    one_patch(12, 12, |u, v| {
        let z = 0.5 * v;
        let (bow, stern) = (1.2 - 0.9 * v - 0.2 * v * v, 4.8 + 0.4 * v);
        let x = bow + (stern - bow) * u * (0.7 + 0.3 * u);
        [x, parabolic_half_breadth(x, z), z]
    })
}

/// A bottom that rises 0.15 m to the chine and sides that flare 0.1 m in 0.5, both straight in section.
pub(crate) fn chined() -> Hull {
    let chine = |u: f64| [5.0 * u, 0.5 + 0.4 * u * (1.0 - u), 0.2 + 0.1 * u];
    let bottom = Patch::interpolating(&even(10), &even(4), |u, v| {
        let c = chine(u);
        [c[0], c[1] * v, c[2] - 0.15 * (1.0 - v)]
    });
    let side = Patch::interpolating(&even(10), &even(4), |u, v| {
        let c = chine(u);
        [c[0], c[1] + 0.1 * v, c[2] + 0.5 * v]
    });
    Hull::from_surface(Surface { patches: vec![bottom, side] })
}

/// A round hull with rocker, rake at both ends and a strake above a knuckle; no closed form.
pub(crate) fn round_with_bulwark() -> Hull {
    let round = |u: f64, v: f64| {
        let (a, full) = (1.5 * v, 0.05 + (3.0 * u).sin());
        let sheer = 0.2 * (u - 0.5) * (u - 0.5) * v;
        let x = 6.0 * u - 0.3 * v * (1.0 - u) + 0.2 * u * v;
        [x, 0.9 * full * a.sin(), 0.6 - 0.6 * full.sqrt() * a.cos() + sheer]
    };
    let below = Patch::interpolating(&even(30), &even(20), round);
    let above = Patch::interpolating(&even(30), &even(5), |u, v| {
        let [x, y, z] = round(u, 1.0);
        [x + 0.1 * v * u, y + 0.1 * v - 0.12 * v * v, z + 0.3 * v]
    });
    Hull::from_surface(Surface { patches: vec![below, above] })
}

/// A hull of a known family as one patch, its (x, z) blended between its four edges (Coons).
pub(crate) fn known(known: &Known) -> Hull {
    let settle = |f: &dyn Fn(f64) -> f64, start: f64| (0..200).fold(start, |z, _| f(z));
    let (foot, head) = known.stem_heights();
    let stem_x = |z: f64| known.stem_x(z).unwrap_or(0.0);
    let heel = settle(&|z| known.rabbet(known.after_end(z) - 1e-12), foot);
    let taffrail = settle(&|z| known.sheer(known.after_end(z)).1, head);
    let mix = |a: f64, b: f64, t: f64| a + (b - a) * t;
    let fore = |v: f64| (stem_x(mix(foot, head, v)), mix(foot, head, v));
    let aft = |v: f64| (known.after_end(mix(heel, taffrail, v)), mix(heel, taffrail, v));
    let rabbet = |u: f64| {
        let x = mix(fore(0.0).0, aft(0.0).0, u);
        (x, known.rabbet(x))
    };
    let sheer = |u: f64| {
        let x = mix(fore(1.0).0, aft(1.0).0, u);
        (x, known.sheer(x).1)
    };
    one_patch(40, 40, |u, v| {
        let blend = |of: fn((f64, f64)) -> f64| {
            let ends = mix(of(fore(v)), of(aft(v)), u);
            let lines = mix(of(rabbet(u)), of(sheer(u)), v);
            let corners = mix(mix(of(fore(0.0)), of(aft(0.0)), u), mix(of(fore(1.0)), of(aft(1.0)), u), v);
            ends + lines - corners
        };
        let (x, z) = (blend(|p| p.0), blend(|p| p.1));
        [x, known.half_breadth(x, z), z]
    })
}
