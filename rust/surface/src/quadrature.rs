//! Gauss–Legendre nodes, found by Newton's method on the Legendre recurrence (Abramowitz and Stegun 25.4.30),
//! and Simpson's first rule.

/// Newton steps for a node: the start is good to three figures, so five would do.
const STEPS: usize = 8;

/// The `n` nodes and weights on 0 to 1; exact for polynomials of degree 2n - 1.
pub fn gauss(n: usize) -> Vec<(f64, f64)> {
    let order = n as f64;
    (0..n)
        .map(|i| {
            let mut x = -(std::f64::consts::PI * (i as f64 + 0.75) / (order + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..STEPS {
                let (mut before, mut now) = (1.0, x);
                for k in 2..=n {
                    let k = k as f64;
                    (before, now) = (now, ((2.0 * k - 1.0) * x * now - (k - 1.0) * before) / k);
                }
                slope = order * (x * now - before) / (x * x - 1.0);
                x -= now / slope;
            }
            (0.5 * (1.0 + x), 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// The integral of evenly spaced ordinates by Simpson's first rule, in units of ordinate times `spacing`;
/// `None` unless their number is odd and three or more.
pub fn simpson(ordinates: &[f64], spacing: f64) -> Option<f64> {
    let last = ordinates.len().checked_sub(1).filter(|last| *last >= 2 && last % 2 == 0)?;
    let weighted = ordinates.iter().enumerate().map(|(i, y)| match i {
        0 => *y,
        i if i == last => *y,
        i if i % 2 == 1 => 4.0 * y,
        _ => 2.0 * y,
    });
    Some(weighted.sum::<f64>() * spacing / 3.0)
}
