//! Newton's method on the place (u, v) of a patch.

/// Steps; four or five are usual.
const STEPS: usize = 24;
/// Found within this, m.
pub(crate) const FOUND_M: f64 = 1e-11;
/// Longest step in u or v: a longer one leaves the neighbourhood the derivatives tell of.
const LONGEST_STEP: f64 = 0.1;

/// Where two figures come to nothing within the patch, from their values and their slopes by u and by v; `None` where the
/// way there leads out of it.
pub(crate) fn on_patch(
    start: [f64; 2],
    of: impl Fn([f64; 2]) -> ([f64; 2], [[f64; 2]; 2]),
) -> Option<[f64; 2]> {
    let [mut u, mut v] = start;
    for _ in 0..STEPS {
        if !(0.0..=1.0).contains(&u) || !(0.0..=1.0).contains(&v) {
            return None;
        }
        let ([f, g], [[fu, gu], [fv, gv]]) = of([u, v]);
        if f.abs().max(g.abs()) < FOUND_M {
            return Some([u, v]);
        }
        let area = fu * gv - fv * gu;
        let (by_u, by_v) = ((f * gv - g * fv) / area, (g * fu - f * gu) / area);
        let longest = (by_u.abs().max(by_v.abs()) / LONGEST_STEP).max(1.0);
        if !longest.is_finite() {
            return None;
        }
        (u, v) = (u - by_u / longest, v - by_v / longest);
    }
    None
}

/// Where a figure of one parameter, given with its slope, comes to nothing between 0 and 1.
pub(crate) fn on_line(start: f64, of: impl Fn(f64) -> (f64, f64)) -> Option<f64> {
    let mut s = start;
    for _ in 0..STEPS {
        let (off, slope) = of(s);
        if off.abs() < FOUND_M {
            return Some(s);
        }
        s -= (off / slope).clamp(-LONGEST_STEP, LONGEST_STEP);
        if !(0.0..=1.0).contains(&s) {
            return None;
        }
    }
    None
}
