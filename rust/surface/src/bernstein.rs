//! Quintics in Bernstein form on 0 to 1: their values, and all their roots by Descartes' rule of signs and
//! bisection (Lane and Riesenfeld, "Bounds on a polynomial", BIT 21, 1981).

/// Coefficients of a quintic in Bernstein form; it lies within their bounds.
pub type Quintic = [f64; 6];

/// Halvings before two roots that will not part are taken for a touch without crossing.
const MOST_HALVINGS: u32 = 32;
/// Newton steps for one root, the last few of them idle.
const STEPS: usize = 40;
/// A root is as good as floating point allows when a step moves it less than this.
const STILL: f64 = 4.0 * f64::EPSILON;

/// The basis at `t`.
#[inline(always)]
pub fn values(t: f64) -> Quintic {
    let s = 1.0 - t;
    let (s2, t2) = (s * s, t * t);
    [s2 * s2 * s, 5.0 * s2 * s2 * t, 10.0 * s2 * s * t2, 10.0 * s2 * t2 * t, 5.0 * s * t2 * t2, t2 * t2 * t]
}

/// Derivatives of the basis at `t`.
#[inline(always)]
pub fn slopes(t: f64) -> Quintic {
    let s = 1.0 - t;
    let (s2, t2) = (s * s, t * t);
    let b = [5.0 * s2 * s2, 20.0 * s2 * s * t, 30.0 * s2 * t2, 20.0 * s * t2 * t, 5.0 * t2 * t2];
    [-b[0], b[0] - b[1], b[1] - b[2], b[2] - b[3], b[3] - b[4], b[4]]
}

/// Sum of products.
#[inline(always)]
pub fn dot(a: &Quintic, b: &Quintic) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The derivative, raised to a quintic.
pub fn derivative(c: &Quintic) -> Quintic {
    let quartic: [f64; 5] = std::array::from_fn(|i| 5.0 * (c[i + 1] - c[i]));
    std::array::from_fn(|i| {
        let share = i as f64 / 5.0;
        let before = if i == 0 { 0.0 } else { share * quartic[i - 1] };
        let after = if i == 5 { 0.0 } else { (1.0 - share) * quartic[i] };
        before + after
    })
}

/// Least and greatest value.
pub fn extent(c: &Quintic) -> [f64; 2] {
    let turns = Roots::of(&derivative(c));
    let inner = turns.as_slice().iter().map(|&t| dot(c, &values(t)));
    inner.chain([c[0], c[5]]).fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], v| [v.min(a), v.max(b)])
}

/// Whether the whole quintic is surely not negative, or surely negative.
#[inline(always)]
pub fn one_sign(c: &Quintic) -> Option<bool> {
    let wet = c.iter().filter(|c| **c >= 0.0).count();
    match wet {
        6 => Some(true),
        0 => Some(false),
        _ => None,
    }
}

/// Places where a quintic changes sign, ascending.
#[derive(Clone, Copy, Debug, Default)]
pub struct Roots {
    at: [f64; 5],
    count: usize,
}

impl Roots {
    /// Of a quintic on 0 to 1.
    pub fn of(c: &Quintic) -> Self {
        let mut roots = Roots::default();
        roots.search(c, 0.0, 1.0, 0);
        roots
    }

    /// The places.
    pub fn as_slice(&self) -> &[f64] {
        &self.at[..self.count]
    }

    fn search(&mut self, c: &Quintic, from: f64, width: f64, halvings: u32) {
        match c.windows(2).filter(|pair| (pair[0] >= 0.0) != (pair[1] >= 0.0)).count() {
            0 => {}
            1 if self.count < 5 => {
                self.at[self.count] = from + width * the_root(c);
                self.count += 1;
            }
            _ if halvings < MOST_HALVINGS => {
                let (left, right) = halves(c);
                self.search(&left, from, 0.5 * width, halvings + 1);
                self.search(&right, from + 0.5 * width, 0.5 * width, halvings + 1);
            }
            _ => {}
        }
    }
}

fn halves(c: &Quintic) -> (Quintic, Quintic) {
    let (mut left, mut right) = (*c, *c);
    for level in 1..6 {
        for i in (level..6).rev() {
            left[i] = 0.5 * (left[i - 1] + left[i]);
        }
        for i in 0..6 - level {
            right[i] = 0.5 * (right[i] + right[i + 1]);
        }
    }
    (left, right)
}

/// The root of a quintic that changes sign once: Newton's method kept within its bracket.
fn the_root(c: &Quintic) -> f64 {
    let rising = c[5] >= 0.0;
    let (mut low, mut high) = (0.0, 1.0);
    let mut t = c[0] / (c[0] - c[5]);
    for _ in 0..STEPS {
        let value = dot(c, &values(t));
        if (value >= 0.0) == rising {
            high = t;
        } else {
            low = t;
        }
        let step = t - value / dot(c, &slopes(t));
        let next = if step > low && step < high { step } else { 0.5 * (low + high) };
        let moved = (next - t).abs();
        t = next;
        if moved < STILL {
            break;
        }
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;

    fn from_roots(roots: [f64; 5]) -> Quintic {
        // Blossom of (t - r1)...(t - r5): the mean over assignments, by the recurrence of multiplication.
        let mut c = vec![1.0];
        for r in roots {
            let n = c.len();
            c = (0..=n)
                .map(|i| {
                    let share = i as f64 / n as f64;
                    let low = if i < n { (1.0 - share) * c[i] * -r } else { 0.0 };
                    let high = if i > 0 { share * c[i - 1] * (1.0 - r) } else { 0.0 };
                    low + high
                })
                .collect();
        }
        std::array::from_fn(|i| c[i])
    }

    #[test]
    fn every_root_of_a_quintic_is_found() {
        for wanted in
            [[0.1, 0.25, 0.5, 0.7, 0.95], [0.3, 0.3 + 1e-4, 0.6, 2.0, -1.0], [0.5, 3.0, 4.0, -2.0, 7.0]]
        {
            let mut inside: Vec<f64> = wanted.into_iter().filter(|r| (0.0..=1.0).contains(r)).collect();
            inside.sort_by(f64::total_cmp);
            let found = Roots::of(&from_roots(wanted));
            assert_eq!(found.as_slice().len(), inside.len(), "{wanted:?} {found:?}");
            assert!(found.as_slice().iter().zip(&inside).all(|(a, b)| (a - b).abs() < 1e-9), "{found:?}");
        }
    }

    #[test]
    fn a_derivative_is_that_of_the_power_basis() {
        let c = from_roots([0.2, 0.4, 0.9, 1.5, -0.5]);
        for t in [0.0, 0.3, 1.0] {
            assert!((dot(&derivative(&c), &values(t)) - dot(&c, &slopes(t))).abs() < 1e-14);
        }
    }
}
