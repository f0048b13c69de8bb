//! Points carried along the surface until they lie where an edge should end.

use super::end::{BACK_M, Brink};
use super::{CUT, Carrier, KNIFE, Made, ONWARD, at, foot, refused};
use crate::shape::Shape;
use scrieve_surface::vector::{V3, add, along, cross, dot, norm, scale, sub, unit};

impl Carrier<'_> {
    pub(super) fn brink(&self, k: usize, u: f64, v: f64, along_u: bool) -> Brink {
        let patch = &self.patches[k];
        let jet = patch.jet(u, v);
        let n = Shape::at(patch, u, v, 0.0).n;
        let tangent = unit(if along_u { jet.du } else { jet.dv });
        // Of the frame (dv, du, n): forward of u = 0, below v = 0.
        let side = if along_u { v == 1.0 } else { u == 0.0 };
        let out = unit(if side { cross(tangent, n) } else { cross(n, tangent) });
        Brink { uv: [u, v], p: jet.p, tangent, n, out }
    }

    pub(super) fn offset(&self, k: usize, u: f64, v: f64) -> V3 {
        let patch = &self.patches[k];
        along(patch.point(u, v), Shape::at(patch, u, v, 0.0).n, self.by)
    }

    /// The spot of the carried surface, gone on over its edges as it bends there, that lies square off `p`; `near` is
    /// where to begin, and is left where it came to.
    pub(super) fn onto(&self, k: usize, p: V3, near: &mut [f64; 2]) -> V3 {
        let patch = &self.patches[k];
        let (uv, q) = foot(patch, p, *near);
        *near = uv;
        let n = Shape::at(patch, uv[0], uv[1], 0.0).n;
        let r = sub(p, q);
        let beyond = along(r, n, -dot(r, n));
        let far = norm(beyond);
        let carried = along(q, n, self.by);
        if far < 1e-7 {
            return add(carried, beyond);
        }
        let way = scale(beyond, 1.0 / far);
        let (back, inside) = foot(patch, along(q, way, -BACK_M), uv);
        let run = dot(sub(q, inside), way);
        let bend = if run > 0.5 * BACK_M {
            dot(sub(n, Shape::at(patch, back[0], back[1], 0.0).n), way) / run
        } else {
            0.0
        };
        let bend = bend / (1.0 + self.by * bend);
        along(add(carried, beyond), n, -0.5 * bend * far * far)
    }

    /// How far from `from` along `way` (out, where positive) the surface comes to where `inside` is nought, and the
    /// spot of it there.
    pub(super) fn slid(
        &self,
        k: usize,
        from: V3,
        way: V3,
        uv: [f64; 2],
        inside: impl Fn(V3) -> f64,
    ) -> Made<V3> {
        let mut near = uv;
        let mut value = |d: f64| {
            let p = self.onto(k, along(from, way, d), &mut near);
            (inside(p), p)
        };
        let (first, p) = value(0.0);
        if first.abs() < 1e-9 {
            return Ok(p);
        }
        let t = self.by.abs();
        let most = if first > 0.0 { ONWARD } else { CUT } * t;
        let (mut d0, mut f0) = (0.0, first);
        let mut step = 0.5 * t * first.signum();
        let (mut d1, mut f1) = loop {
            let d = d0 + step;
            let (f, _) = value(d);
            if f * first <= 0.0 {
                break (d, f);
            }
            if d.abs() > most {
                let (way, face) = if first > 0.0 { ("out", "outer") } else { ("in", "inner") };
                return Err(refused(format!(
                    "at {} the {face} face of the planking does not come to where it should end within {:.0} mm {way}",
                    at(from),
                    1e3 * most
                )));
            }
            (d0, f0) = (d, f);
            step *= 1.3;
        };
        // False position, the end that stays halved (Illinois).
        for _ in 0..60 {
            if (d1 - d0).abs() < 1e-11 || f1 == f0 {
                break;
            }
            let d = (d0 * f1 - d1 * f0) / (f1 - f0);
            let (f, _) = value(d);
            if f.abs() < 1e-11 {
                (d1, f1) = (d, f);
                break;
            }
            if f * f1 < 0.0 {
                (d0, f0) = (d1, f1);
            } else {
                f0 *= 0.5;
            }
            (d1, f1) = (d, f);
        }
        let _ = f1;
        Ok(value(d1).1)
    }

    /// The line that edge `edge` (0 a flat bottom's, chines, last the sheer) is carried to; u past the ends goes on.
    pub(super) fn line(&self, edge: usize, u: f64) -> Made<V3> {
        if (0.0..=1.0).contains(&u) {
            return self.on_line(edge, u);
        }
        const H: f64 = 0.004;
        let (end, way) = if u < 0.0 { (0.0, 1.0) } else { (1.0, -1.0) };
        let p = [0.0, 1.0, 2.0].map(|k| self.on_line(edge, end + way * k * H));
        let [a, b, c] = [p[0].clone()?, p[1].clone()?, p[2].clone()?];
        let s = (u - end) * way / H;
        // The parabola through three points.
        Ok(std::array::from_fn(|i| {
            let (first, second) = (b[i] - a[i], c[i] - 2.0 * b[i] + a[i]);
            a[i] + s * first + 0.5 * s * (s - 1.0) * second
        }))
    }

    fn on_line(&self, edge: usize, u: f64) -> Made<V3> {
        let last = self.patches.len();
        if edge == last {
            return Ok(self.offset(last - 1, u, 1.0));
        }
        let above = self.brink(edge, u, 0.0, true);
        let below = if edge > 0 {
            Shape::at(&self.patches[edge - 1], u, 1.0, 0.0).n
        } else {
            unit(cross(above.tangent, [0.0, -1.0, 0.0]))
        };
        // A flat bottom's normal looks down.
        let below = if edge == 0 && below[2] > 0.0 { scale(below, -1.0) } else { below };
        let open = 1.0 + dot(above.n, below);
        if open < KNIFE {
            return Err(refused(format!("at {} the chine is too sharp for a mitre", at(above.p))));
        }
        Ok(along(above.p, add(above.n, below), self.by / open))
    }

    pub(super) fn is_line(&self, edge: usize) -> bool {
        edge > 0 || self.flat_bottom
    }

    /// How far along its parameter a carried line slides at either end to end where it should.
    pub(super) fn line_slides(&self, edge: usize) -> Made<[f64; 2]> {
        let k = edge.min(self.patches.len() - 1);
        let v = if edge == 0 {
            0.0
        } else if edge == self.patches.len() {
            1.0
        } else {
            0.0
        };
        let mut slides = [0.0; 2];
        for (slot, u) in [0.0, 1.0].into_iter().enumerate() {
            let brink = self.patches[k].point(u, v);
            let inside = |d: f64| -> Made<f64> {
                let p = self.line(edge, u + d)?;
                Ok(self.ends[slot].inside(p, u, brink[1]))
            };
            let first = inside(0.0)?;
            if first.abs() < 1e-9 {
                continue;
            }
            let outward = if u == 0.0 { -1.0 } else { 1.0 };
            let speed = norm(sub(self.line(edge, u - outward * 0.004)?, self.line(edge, u)?)) / 0.004;
            if speed < 1e-6 {
                continue;
            }
            let t = self.by.abs();
            let most = if first > 0.0 { ONWARD } else { CUT } * t / speed;
            let step = 0.5 * t / speed * first.signum() * outward;
            let (mut d0, mut d1) = (0.0, step);
            while inside(d1)? * first > 0.0 {
                if d1.abs() > most {
                    let line = if edge == self.patches.len() { "sheer" } else { "chine" };
                    return Err(refused(format!(
                        "at {} the carried {line} does not come to where it should end",
                        at(brink)
                    )));
                }
                (d0, d1) = (d1, d1 + step);
            }
            for _ in 0..60 {
                let d = 0.5 * (d0 + d1);
                if inside(d)? * first > 0.0 { d0 = d } else { d1 = d }
            }
            slides[slot] = 0.5 * (d0 + d1);
        }
        Ok(slides)
    }
}
