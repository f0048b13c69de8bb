//! Bodies whose figures are known.

use std::f64::consts::PI;

use scrieve_surface::{Patch, Surface};
use scrieve_yardstick::known::Known;

use crate::forms::even;

pub(super) fn close(got: f64, want: f64, part: f64) {
    assert!((got - want).abs() <= part * want.abs().max(1e-3), "got {got}, want {want}");
}

/// A box: bottom and side are two patches meeting on a chine.
pub(super) fn box_hull(length: f64, breadth: f64, depth: f64) -> Surface {
    let half = 0.5 * breadth;
    let patch = |f: &dyn Fn(f64, f64) -> [f64; 3]| Patch::interpolating(&even(3), &even(2), f);
    Surface {
        patches: vec![
            patch(&|u, v| [length * u, half * v, 0.0]),
            patch(&|u, v| [length * u, half, depth * v]),
        ],
    }
}

/// A prism whose section is a V, or a V with its point cut off at `half_siding`.
pub(super) fn wedge(length: f64, half_siding: f64, slope: f64, depth: f64) -> Surface {
    let patch = Patch::interpolating(&even(2), &even(2), |u, v| {
        let z = depth * v;
        [length * u, half_siding + slope * z, z]
    });
    Surface { patches: vec![patch] }
}

/// A cylinder along x, its axis at z = radius, open at the top from `open` radians short of there.
pub(super) fn cylinder(length: f64, radius: f64, open: f64) -> Surface {
    let patch = Patch::interpolating(&even(2), &even(24), |u, v| {
        let a = (PI - open) * v;
        [length * u, radius * a.sin(), radius * (1.0 - a.cos())]
    });
    Surface { patches: vec![patch] }
}

/// y = B/2 (1 - (2x/L)²)(1 - (z/T)²) about x = L/2 and z = T, carried a little above the water at z = T.
pub(super) fn parabolic(length: f64, breadth: f64, draught: f64) -> Surface {
    let patch = Patch::interpolating(&even(4), &even(4), |u, v| {
        let (along, down) = (2.0 * u - 1.0, 1.2 * v - 1.0);
        let y = 0.5 * breadth * (1.0 - along * along) * (1.0 - down * down);
        [length * u, y.max(0.0), draught * 1.2 * v]
    });
    Surface { patches: vec![patch] }
}

fn bisect(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f(middle) < 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Where a known hull starts at height z, m.
pub(super) fn fore_end(hull: &Known, z: f64) -> f64 {
    hull.stem_x(z).unwrap_or(0.0)
}

/// A known hull without a chine as a surface; closer to her the more spans there are.
pub(super) fn known(hull: &Known, spans: usize) -> Surface {
    let x_at = |u: f64, z: f64| fore_end(hull, z) + u * (hull.after_end(z) - fore_end(hull, z));
    let foot = hull.stem_x(hull.stem_heights().0).unwrap_or(0.0);
    let heel = hull.stern_x(hull.stern_heights().0).unwrap_or(hull.length() * 1.1);
    let edge = |u: f64, low: f64, high: f64, height: &dyn Fn(f64) -> f64| {
        height(bisect(low, high, |x| x - x_at(u, height(x))))
    };
    let patch = Patch::interpolating(&even(spans), &even(spans), |u, v| {
        let keel = edge(u, foot, heel, &|x| hull.rabbet(x));
        let sheer = edge(u, -1.0, hull.length() + 2.0, &|x| hull.sheer(x).1);
        let z = keel + v * (sheer - keel);
        let x = x_at(u, z);
        [x, hull.half_breadth(x, z).max(hull.half_siding()), z]
    });
    Surface { patches: vec![patch] }
}
