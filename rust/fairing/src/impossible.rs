//! What no hull can be: where a faired surface comes in over the keel or the centreline, or its edges cross.
//!
//! Nothing in the fit forbids it, since where readings call for it one of them is wrong; but it is never drawn
//! without a word.

use crate::Surface;

/// Places looked at along and across a strake.
const PLACES: (usize, usize) = (60, 20);
/// In over the keel by less than this part of the hull's length is the noise of readings along a deadwood.
const SLACK: f64 = 5e-4;

/// One remark for each kind of impossibility in each strake, at its worst place.
pub(crate) fn impossible(surface: &Surface) -> Vec<String> {
    let Some(keel) = surface.patches.first() else { return Vec::new() };
    let slack = SLACK * (keel.point(1.0, 0.0)[0] - keel.point(0.0, 0.0)[0]).abs();
    let mut said = Vec::new();
    for (strake, patch) in surface.patches.iter().enumerate() {
        let at = |i: usize, n: usize| i as f64 / n as f64;
        // How far in, and how far the edges are crossed, each with where.
        let (mut inside, mut crossed) = ((0.0, [0.0; 3]), (0.0, [0.0; 3]));
        for u in (1..PLACES.0).map(|i| at(i, PLACES.0)) {
            let (low, high, side) = (patch.point(u, 0.0), patch.point(u, 1.0), keel.point(u, 0.0)[1]);
            let over = -(high[1] - low[1]) - (high[2] - low[2]);
            if over > crossed.0 {
                crossed = (over, low);
            }
            for p in (1..PLACES.1).map(|j| patch.point(u, at(j, PLACES.1))) {
                if side - p[1] > inside.0 {
                    inside = (side - p[1], p);
                }
            }
        }
        if crossed.0 > slack {
            let x = crossed.1[0];
            said.push(format!("the edges of strake {} from the keel cross near x = {x:.2} m", strake + 1));
        }
        if inside.0 > slack {
            let ([x, y, z], by) = (inside.1, 1e3 * inside.0);
            let place = format!("at x = {x:.2} m, {z:.3} m above base, strake {} from the keel", strake + 1);
            said.push(if y < 0.0 {
                format!(
                    "{place} comes out at a half-breadth of {:.0} mm: no hull is less than nothing",
                    1e3 * y
                )
            } else {
                format!("{place} comes in {by:.0} mm over the side of the keel")
            });
        }
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Patch;

    /// A strake of straight sections between two edges, its middle moved out by `bulge`.
    fn strake(low: (f64, f64), high: (f64, f64), bulge: f64) -> Surface {
        let breaks = [0.0, 1.0];
        let g = scrieve_surface::greville(5, &breaks);
        let of = |a: f64, b: f64, v: f64| a + v * (b - a);
        let points: Vec<[f64; 3]> = g
            .iter()
            .flat_map(|&u| {
                g.iter().map(move |&v| {
                    [5.0 * u, of(low.0, high.0, v) + 4.0 * bulge * v * (1.0 - v), of(low.1, high.1, v)]
                })
            })
            .collect();
        Surface { patches: vec![Patch::through(&breaks, &breaks, &points)] }
    }

    #[test]
    fn a_hull_is_let_be() {
        assert_eq!(impossible(&strake((0.05, 0.0), (0.8, 0.7), 0.1)), Vec::<String>::new());
        // A flat bottom, and a wall side.
        assert_eq!(impossible(&strake((0.05, 0.0), (0.8, 0.0), 0.0)), Vec::<String>::new());
        assert_eq!(impossible(&strake((0.05, 0.0), (0.05, 0.7), 0.0)), Vec::<String>::new());
    }

    #[test]
    fn what_no_hull_can_be_is_said() {
        let said = |surface: &Surface| impossible(surface).join("; ");
        assert!(said(&strake((0.05, 0.0), (0.1, 0.7), -0.06)).contains("over the side of the keel"));
        assert!(said(&strake((0.05, 0.0), (0.1, 0.7), -0.2)).contains("half-breadth of -1"));
        assert!(said(&strake((0.5, 0.3), (0.4, 0.2), 0.0)).contains("cross near x"));
    }
}
