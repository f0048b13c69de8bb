//! The faired surface: tensor-product B-spline patches, one between each two reference lines.
//!
//! u runs from the stem (0) to the transom, stern profile or last station (1); v from the lower edge of
//! the patch (0: rabbet or chine) to its upper edge (1: chine or sheer). Patches are ordered from the keel
//! up and share their edges exactly. Within a patch the surface is C2 or better.

use crate::bspline::{Collocation, basis, breaks_of, greville};

/// Degree of a patch in both directions: C4 inside, so that curvature and its slope are smooth.
const DEGREE: usize = 5;

/// Position and derivatives at a parameter pair, m; arrays are (x, y, z).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Jet {
    /// Position.
    pub p: [f64; 3],
    /// ∂/∂u.
    pub du: [f64; 3],
    /// ∂/∂v.
    pub dv: [f64; 3],
    /// ∂²/∂u².
    pub duu: [f64; 3],
    /// ∂²/∂u∂v.
    pub duv: [f64; 3],
    /// ∂²/∂v².
    pub dvv: [f64; 3],
}

/// One tensor-product B-spline patch over the unit square.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    knots_u: Vec<f64>,
    knots_v: Vec<f64>,
    /// Control points, v fastest: `control[iu * nv + iv]`.
    control: Vec<[f64; 3]>,
}

impl Patch {
    /// The quintic patch that interpolates `f(u, v)` at the Greville points of the given breaks.
    ///
    /// Breaks run from 0 to 1, ascending. Its four edges depend on `f` along those edges alone, so patches
    /// whose `f` agree on a common edge (and whose breaks along it agree) share it bit for bit. The
    /// difference between patch and `f` is the caller's to check.
    ///
    /// # Panics
    /// If breaks do not ascend.
    pub fn interpolating(breaks_u: &[f64], breaks_v: &[f64], f: impl Fn(f64, f64) -> [f64; 3]) -> Self {
        let (us, vs) = (greville(DEGREE, breaks_u), greville(DEGREE, breaks_v));
        let at: Vec<_> = us.iter().flat_map(|&u| vs.iter().map(move |&v| (u, v))).collect();
        Patch::through(breaks_u, breaks_v, &at.into_iter().map(|(u, v)| f(u, v)).collect::<Vec<_>>())
    }

    /// The same, given the points at the [Greville points](crate::greville), v fastest.
    ///
    /// # Panics
    /// If breaks do not ascend, or there are not as many points.
    pub fn through(breaks_u: &[f64], breaks_v: &[f64], points: &[[f64; 3]]) -> Self {
        let along_u = Collocation::new(DEGREE, breaks_u);
        let along_v = Collocation::new(DEGREE, breaks_v);
        let (nu, nv) = (along_u.points.len(), along_v.points.len());
        let mut control = points.to_vec();
        let flat = control.as_flattened_mut();
        for iu in 0..nu {
            for axis in 0..3 {
                along_v.solve(flat, 3, 3 * iu * nv + axis);
            }
        }
        for column in 0..3 * nv {
            along_u.solve(flat, 3 * nv, column);
        }
        Patch { knots_u: along_u.knots, knots_v: along_v.knots, control }
    }

    /// Position, m.
    pub fn point(&self, u: f64, v: f64) -> [f64; 3] {
        let (iu, bu) = basis(DEGREE, &self.knots_u, u);
        let (iv, bv) = basis(DEGREE, &self.knots_v, v);
        let mut p = [0.0; 3];
        for (r, weight) in bu[0][..=DEGREE].iter().enumerate() {
            for axis in 0..3 {
                p[axis] += weight * self.along_v(iu + r, iv, &bv[0])[axis];
            }
        }
        p
    }

    /// Position and first derivatives by u and by v.
    pub fn tangents(&self, u: f64, v: f64) -> ([f64; 3], [f64; 3], [f64; 3]) {
        let (iu, bu) = basis(DEGREE, &self.knots_u, u);
        let (iv, bv) = basis(DEGREE, &self.knots_v, v);
        let (mut p, mut du, mut dv) = ([0.0; 3], [0.0; 3], [0.0; 3]);
        for r in 0..=DEGREE {
            let (level, slope) = (self.along_v(iu + r, iv, &bv[0]), self.along_v(iu + r, iv, &bv[1]));
            for axis in 0..3 {
                p[axis] += bu[0][r] * level[axis];
                du[axis] += bu[1][r] * level[axis];
                dv[axis] += bu[0][r] * slope[axis];
            }
        }
        (p, du, dv)
    }

    /// Position and derivatives to the second order.
    pub fn jet(&self, u: f64, v: f64) -> Jet {
        let (iu, bu) = basis(DEGREE, &self.knots_u, u);
        let (iv, bv) = basis(DEGREE, &self.knots_v, v);
        let mut jet = Jet::default();
        for r in 0..=DEGREE {
            let along = |order: usize| self.along_v(iu + r, iv, &bv[order]);
            let rows = [along(0), along(1), along(2)];
            for axis in 0..3 {
                jet.p[axis] += bu[0][r] * rows[0][axis];
                jet.dv[axis] += bu[0][r] * rows[1][axis];
                jet.dvv[axis] += bu[0][r] * rows[2][axis];
                jet.du[axis] += bu[1][r] * rows[0][axis];
                jet.duv[axis] += bu[1][r] * rows[1][axis];
                jet.duu[axis] += bu[2][r] * rows[0][axis];
            }
        }
        jet
    }

    /// Breaks in u and in v, for those who integrate span by span.
    pub fn breaks(&self) -> (Vec<f64>, Vec<f64>) {
        (breaks_of(&self.knots_u), breaks_of(&self.knots_v))
    }

    /// The same, with those where the patch may have a corner as often as they are knots: what
    /// [`Patch::interpolating`] takes to make a patch that shares its edges with this one.
    pub fn repeated_breaks(&self) -> (&[f64], &[f64]) {
        let within = |knots: &'_ [f64]| DEGREE..knots.len() - DEGREE;
        (&self.knots_u[within(&self.knots_u)], &self.knots_v[within(&self.knots_v)])
    }

    /// v at which the patch may have a corner: its lines of one u break there, though the surface need not.
    pub fn corners(&self) -> Vec<f64> {
        let inner = self.knots_v.get(DEGREE + 1..self.knots_v.len() - DEGREE - 1).unwrap_or_default();
        let corner = |same: &[f64]| same.len() >= DEGREE;
        inner.chunk_by(|a, b| a == b).filter(|same| corner(same)).map(|same| same[0]).collect()
    }

    /// Control points; the patch lies within their convex hull.
    pub fn control(&self) -> &[[f64; 3]] {
        &self.control
    }

    #[inline(always)]
    fn along_v(&self, row: usize, iv: usize, weights: &[f64]) -> [f64; 3] {
        let start = row * (self.knots_v.len() - DEGREE - 1) + iv;
        let mut sum = [0.0; 3];
        for (point, weight) in self.control[start..=start + DEGREE].iter().zip(weights) {
            for axis in 0..3 {
                sum[axis] += weight * point[axis];
            }
        }
        sum
    }
}

/// The moulded surface of one side of a hull (y ≥ 0).
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// From the keel up; at least one.
    pub patches: Vec<Patch>,
}

impl Surface {
    /// Number of reference lines: the rabbet, the chines and the sheer.
    pub fn edge_count(&self) -> usize {
        self.patches.len() + 1
    }

    /// The patch that carries reference line `edge` (0 the rabbet, last the sheer) and the v it runs at; a
    /// chine is the upper edge of the patch below it.
    pub fn edge(&self, edge: usize) -> Option<(&Patch, f64)> {
        match edge {
            0 => self.patches.first().map(|patch| (patch, 0.0)),
            _ => self.patches.get(edge - 1).map(|patch| (patch, 1.0)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn even(n: usize) -> Vec<f64> {
        (0..=n).map(|i| i as f64 / n as f64).collect()
    }

    fn bilge(u: f64, v: f64) -> [f64; 3] {
        let a = 1.5 * v;
        [6.0 * u + 0.3 * v, (1.0 + 0.4 * (3.0 * u).sin()) * a.sin(), 0.2 * u * u - (1.0 + 0.2 * u) * a.cos()]
    }

    #[test]
    fn a_patch_reproduces_a_surface_of_its_degree() {
        let f = |u: f64, v: f64| [u.powi(5) - v, u * u * v.powi(5), 1.0 - u.powi(3) * v.powi(2)];
        let patch = Patch::interpolating(&[0.0, 0.2, 0.7, 1.0], &[0.0, 0.4, 1.0], f);
        for (u, v) in [(0.0, 0.0), (0.1, 0.9), (0.33, 0.4), (0.7, 0.7), (1.0, 1.0)] {
            let jet = patch.jet(u, v);
            assert_eq!(jet.p, patch.point(u, v));
            let exact = Jet {
                p: f(u, v),
                du: [5.0 * u.powi(4), 2.0 * u * v.powi(5), -3.0 * u * u * v * v],
                dv: [-1.0, 5.0 * u * u * v.powi(4), -2.0 * u.powi(3) * v],
                duu: [20.0 * u.powi(3), 2.0 * v.powi(5), -6.0 * u * v * v],
                duv: [0.0, 10.0 * u * v.powi(4), -6.0 * u * u * v],
                dvv: [0.0, 20.0 * u * u * v.powi(3), -2.0 * u.powi(3)],
            };
            for (got, want, tolerance) in [
                (jet.p, exact.p, 1e-13),
                (jet.du, exact.du, 1e-11),
                (jet.dv, exact.dv, 1e-11),
                (jet.duu, exact.duu, 1e-9),
                (jet.duv, exact.duv, 1e-9),
                (jet.dvv, exact.dvv, 1e-9),
            ] {
                assert!((0..3).all(|k| (got[k] - want[k]).abs() < tolerance), "{got:?} {want:?}");
            }
        }
    }

    #[test]
    fn derivatives_agree_with_finite_differences() {
        let patch = Patch::interpolating(&even(7), &even(5), bilge);
        let h = 1e-5;
        for (u, v) in [(0.11, 0.3), (0.5, 0.77), (0.93, 0.05)] {
            let jet = patch.jet(u, v);
            let difference = |ahead: [f64; 3], behind: [f64; 3], k: usize| (ahead[k] - behind[k]) / (2.0 * h);
            let (ahead, behind) = (patch.jet(u + h, v), patch.jet(u - h, v));
            let (above, below) = (patch.jet(u, v + h), patch.jet(u, v - h));
            for k in 0..3 {
                assert!((jet.du[k] - difference(ahead.p, behind.p, k)).abs() < 1e-8);
                assert!((jet.dv[k] - difference(above.p, below.p, k)).abs() < 1e-8);
                assert!((jet.duu[k] - difference(ahead.du, behind.du, k)).abs() < 1e-7);
                assert!((jet.duv[k] - difference(ahead.dv, behind.dv, k)).abs() < 1e-7);
                assert!((jet.dvv[k] - difference(above.dv, below.dv, k)).abs() < 1e-7);
            }
        }
    }

    #[test]
    fn it_closes_on_a_smooth_hull_at_sixth_order() {
        let worst = |n: usize| {
            let patch = Patch::interpolating(&even(n), &even(n), bilge);
            let mut worst = 0.0f64;
            for i in 0..=60 {
                for j in 0..=60 {
                    let (u, v) = (i as f64 / 60.0, j as f64 / 60.0);
                    let (got, want) = (patch.point(u, v), bilge(u, v));
                    worst = (0..3).map(|k| (got[k] - want[k]).abs()).fold(worst, f64::max);
                }
            }
            worst
        };
        let order = (worst(4) / worst(8)).log2();
        assert!(order > 5.3 && order < 7.5, "order {order}");
    }

    #[test]
    fn patches_that_meet_on_a_chine_share_it_bit_for_bit() {
        let chine = |u: f64| [7.0 * u, (2.1 * u).sin() / 3.0, 0.1 * (u + 0.3).ln()];
        let below =
            Patch::interpolating(&even(9), &even(3), |u, v| chine(u).map(|c| c * (0.3 + 0.7 * v) / 1.0));
        let above = Patch::interpolating(&even(9), &[0.0, 0.3, 1.0], |u, v| {
            let c = chine(u);
            [c[0], c[1] + 0.1 * v, c[2] + v]
        });
        let below_exact = Patch::interpolating(&even(9), &even(3), |u, v| {
            let c = chine(u);
            [c[0], c[1] * v, c[2] - (1.0 - v)]
        });
        for i in 0..=50 {
            let u = i as f64 / 50.0;
            assert_eq!(below_exact.point(u, 1.0), above.point(u, 0.0));
            assert!((0..3).all(|k| (below.point(u, 1.0)[k] - above.point(u, 0.0)[k]).abs() < 1e-12));
        }
    }

    #[test]
    fn reference_lines_are_counted_from_the_keel_up() {
        let flat = |z: f64| Patch::interpolating(&[0.0, 1.0], &[0.0, 1.0], move |u, v| [u, 1.0, z + v]);
        let surface = Surface { patches: vec![flat(0.0), flat(1.0)] };
        let height = |k: usize| surface.edge(k).map(|(patch, v)| patch.point(0.5, v)[2]);
        assert_eq!(surface.edge_count(), 3);
        assert!((0..3).all(|k| (height(k).unwrap_or(f64::NAN) - k as f64).abs() < 1e-14));
        assert_eq!(height(3), None);
    }
}
