//! How far a faired surface lies from a hull in closed form.

use crate::known::Known;
use scrieve_fairing::Faired;

/// Steps of Newton's method from one start; it converges in five.
const STEPS: usize = 40;

impl Known {
    /// Distances from `points` true points of the section at x to the faired surface, measured along the
    /// normal of the section in the plane of the station, m, outward positive; each with one standard
    /// deviation of the surface there, measured the same way. The ends of the section are left out, and
    /// points whose normal misses the surface.
    pub fn misfit(&self, faired: &Faired, x: f64, points: usize) -> Vec<(f64, f64)> {
        let section = self.section(x, points);
        let inner = section.get(1..section.len().saturating_sub(1)).unwrap_or_default();
        inner
            .iter()
            .filter_map(|&(y, z)| {
                let n = self.normal(x, z);
                let r = n[1].hypot(n[2]);
                let square = (n[1] / r, n[2] / r);
                (0..faired.surface.patches.len())
                    .filter_map(|p| {
                        let (u, v, s) = meet(faired, p, [x, y, z], square)?;
                        Some((s, faired.sd(p, u, v) / r))
                    })
                    .min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
            })
            .collect()
    }
}

/// Where the line through `p` along (0, ny, nz) meets a patch: u, v and the distance, by Newton's method.
fn meet(faired: &Faired, patch: usize, p: [f64; 3], n: (f64, f64)) -> Option<(f64, f64, f64)> {
    let patch = &faired.surface.patches[patch];
    let across = |q: [f64; 3]| q[1] * n.1 - q[2] * n.0;
    let from = |start: f64| {
        let (mut u, mut v) = (0.5, start);
        for _ in 0..STEPS {
            let j = patch.jet(u, v);
            let r = [j.p[0] - p[0], j.p[1] - p[1], j.p[2] - p[2]];
            let (r0, r1, a, b) = (r[0], across(r), j.du, j.dv);
            if r0.abs() + r1.abs() < 1e-9 {
                return Some((u, v, r[1] * n.0 + r[2] * n.1));
            }
            let det = a[0] * across(b) - b[0] * across(a);
            if det.abs() < 1e-14 {
                return None;
            }
            let du = (r0 * across(b) - b[0] * r1) / det;
            let dv = (a[0] * r1 - r0 * across(a)) / det;
            u = (u - du.clamp(-0.2, 0.2)).clamp(0.0, 1.0);
            v = (v - dv.clamp(-0.2, 0.2)).clamp(0.0, 1.0);
        }
        None
    };
    [0.1, 0.3, 0.5, 0.7, 0.9].into_iter().filter_map(from).min_by(|a, b| a.2.abs().total_cmp(&b.2.abs()))
}
