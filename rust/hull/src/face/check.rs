//! What was carried, held against the surface it came from.

use scrieve_surface::Surface;

use super::{CARRIED_M, CARRIED_PART, Carrier, ENDS_M, FOLDED, Made, at, between, refused};
use crate::shape::Shape;
use scrieve_surface::vector::{V3, cross, distance, dot, norm, unit};

impl Carrier<'_> {
    /// Measures the carried surface against the one it came from.
    pub(super) fn check(&self, made: &Surface) -> Made<()> {
        let ends = self.patches.last().map_or(0.0, |top| top.point(1.0, 1.0)[0] - top.point(0.0, 1.0)[0]);
        let limit = CARRIED_M.max(CARRIED_PART * ends);
        for (k, patch) in made.patches.iter().enumerate() {
            let (bu, bv) = patch.breaks();
            for u in between(&bu) {
                let mut near = [u, 0.0];
                for v in between(&bv) {
                    if v == 0.0 {
                        near = [u, v];
                    }
                    let (p, du, dv) = patch.tangents(u, v);
                    let on = self.onto(k, p, &mut near);
                    let off = distance(p, on);
                    if off.is_nan() || off > limit {
                        return Err(refused(format!(
                            "at {} the carried face is {:.2} mm off the surface parallel to hers",
                            at(p),
                            1e3 * off
                        )));
                    }
                    let shape = Shape::at(&self.patches[k], near[0], near[1], -self.by);
                    let n = cross(dv, du);
                    let in_corner = [u, v].iter().all(|t| t.min(1.0 - t) < 0.012);
                    let there = norm(du).min(norm(dv)) > 1e-3 * norm(du).max(norm(dv));
                    let folded = there
                        && !in_corner
                        && norm(n) > 0.2 * norm(du) * norm(dv)
                        && dot(unit(n), shape.n) < FOLDED;
                    if folded || shape.turned {
                        return Err(refused(format!(
                            "at {} she turns too tightly, or runs out too finely, for planking so thick: the carried face folds over",
                            at(p)
                        )));
                    }
                }
            }
            for (slot, end) in self.ends.iter().enumerate() {
                let u = slot as f64;
                for v in between(&bv) {
                    let (p, y) = (patch.point(u, v), self.patches[k].point(u, v)[1]);
                    self.ends_there(p, end.inside(p, u, y))?;
                }
            }
            if k == 0 && !self.flat_bottom {
                for u in between(&bu) {
                    let p = patch.point(u, 0.0);
                    self.ends_there(p, p[1] - self.patches[0].point(u, 0.0)[1])?;
                }
            }
        }
        Ok(())
    }

    fn ends_there(&self, p: V3, off: f64) -> Made<()> {
        if off.abs() <= ENDS_M {
            return Ok(());
        }
        Err(refused(format!(
            "at {} the carried face ends {:.2} mm off where it should",
            at(p),
            1e3 * off.abs()
        )))
    }
}
