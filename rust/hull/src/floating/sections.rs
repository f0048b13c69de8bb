//! Sectional areas: a station plane cut through the tiles along lines of constant v.

use super::body::{Body, Level, Panel};
use scrieve_surface::bernstein::{Quintic, Roots, dot, one_sign, slopes, values};

/// Bisections and secant steps for the waterline on a section: enough for rounding error.
const STEPS: usize = 60;
/// A station this near an end of the hull is on it, m: a plumb transom is to be found for all rounding.
const HAIR: f64 = 1e-9;

/// A point of a section: its place, and dz by local t along the section.
struct Cut {
    p: [f64; 3],
    rise: f64,
}

impl Panel {
    /// Where the line v = (j, t) meets the plane `x`; `near` is the span of u to look in first and is left
    /// in the one it was found in. x must grow with u along the line.
    fn meet(&self, x: f64, j: usize, t: f64, near: &mut usize) -> Option<Cut> {
        let (b, d) = (values(t), slopes(t));
        let at = |i: usize, r: usize| dot(&self.tiles[i][j][r][0], &b) - x;
        loop {
            if at(*near, 0) > HAIR {
                *near = near.checked_sub(1)?;
            } else if at(*near, 5) < -HAIR {
                if *near + 1 == self.tiles.len() {
                    return None;
                }
                *near += 1;
            } else {
                break;
            }
        }
        let tile = &self.tiles[*near][j];
        let over_s =
            |k: usize, basis: &Quintic| -> Quintic { std::array::from_fn(|r| dot(&tile[r][k], basis)) };
        let offset = over_s(0, &b).map(|c| c - x);
        let s = match Roots::of(&offset).as_slice() {
            [first, ..] => *first,
            [] if offset[0] >= 0.0 => 0.0,
            [] => 1.0,
        };
        let (bs, ds) = (values(s), slopes(s));
        let z = over_s(2, &b);
        let p = [x, dot(&over_s(1, &b), &bs), dot(&z, &bs)];
        let slip = dot(&over_s(0, &d), &bs) / dot(&offset, &ds);
        Some(Cut { p, rise: dot(&over_s(2, &d), &bs) - slip * dot(&z, &ds) })
    }

    fn sectional_area(&self, x: f64, level: &Level, nodes: &[(f64, f64)]) -> f64 {
        let mut near = 0;
        let mut area = 0.0;
        for j in 0..self.tiles[0].len() {
            // The section may run out at the stem or the after end within the span.
            let mut limits = vec![0.0];
            for end in [&self.ends[0], &self.ends[self.ends.len() - 1]] {
                let offset = end.spans[j].p[0].map(|c| c - x);
                if one_sign(&offset).is_none() {
                    limits.extend_from_slice(Roots::of(&offset).as_slice());
                }
            }
            limits.sort_by(f64::total_cmp);
            limits.push(1.0);
            for pair in limits.windows(2) {
                let (from, width) = (pair[0], pair[1] - pair[0]);
                if width <= 0.0 || self.meet(x, j, from + 0.5 * width, &mut near).is_none() {
                    near = near.min(self.tiles.len() - 1);
                    continue;
                }
                area += self.stretch_area(x, j, [from, pair[1]], level, nodes, &mut near);
            }
        }
        area
    }

    /// Area on both sides of the wet parts of a section between two values of t in span j of v.
    fn stretch_area(
        &self,
        x: f64,
        j: usize,
        [from, to]: [f64; 2],
        level: &Level,
        nodes: &[(f64, f64)],
        near: &mut usize,
    ) -> f64 {
        let mut depth = |t: f64| self.meet(x, j, t, near).map(|cut| level.depth(cut.p));
        let inner = nodes.iter().map(|node| from + node.0 * (to - from));
        let samples: Vec<(f64, f64)> = std::iter::once(from + 1e-12 * (to - from))
            .chain(inner)
            .chain([to - 1e-12 * (to - from)])
            .filter_map(|t| Some((t, depth(t)?)))
            .collect();
        let mut limits = vec![from];
        for pair in samples.windows(2) {
            let [mut low, mut high] = [pair[0], pair[1]];
            if (low.1 >= 0.0) == (high.1 >= 0.0) {
                continue;
            }
            for step in 0..STEPS {
                let secant = low.0 - low.1 * (high.0 - low.0) / (high.1 - low.1);
                let t = if step % 3 == 2 { 0.5 * (low.0 + high.0) } else { secant };
                let Some(value) = depth(t) else { break };
                if (value >= 0.0) == (low.1 >= 0.0) {
                    low = (t, value);
                } else {
                    high = (t, value);
                }
                if value == 0.0 || high.0 - low.0 < 1e-14 {
                    break;
                }
            }
            limits.push(if low.1.abs() < high.1.abs() { low.0 } else { high.0 });
        }
        limits.push(to);
        let mut area = 0.0;
        for pair in limits.windows(2) {
            let width = pair[1] - pair[0];
            let middle = self.meet(x, j, pair[0] + 0.5 * width, near);
            if !middle.is_some_and(|cut| level.depth(cut.p) >= 0.0) {
                continue;
            }
            for &(t, weight) in nodes {
                if let Some(cut) = self.meet(x, j, pair[0] + t * width, near) {
                    area += 2.0 * cut.p[1] * cut.rise * weight * width;
                }
            }
        }
        area
    }
}

impl Body {
    /// Area of both sides of the station plane `x` under water at height `draught` above the base line, m²;
    /// 0 off the hull, not a number where `x` or `draught` is none. x must grow from the stem aft along every
    /// line of constant v, as it does on a faired surface.
    pub fn sectional_area(&self, x: f64, draught: f64) -> f64 {
        if x.is_nan() || draught.is_nan() {
            return f64::NAN;
        }
        let level = Level::upright(draught);
        self.all().map(|panel| panel.sectional_area(x, &level, &self.nodes)).sum()
    }
}
