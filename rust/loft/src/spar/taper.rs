//! The taper: half the spar's size, the batten bent through its stated fractions.

use scrieve_surface::Batten;

use super::SparError;

/// Hermite pieces from nail to nail. A batten so nearly straight is all but a cubic between two nails, so this keeps
/// within a nanometre of it and is asked a thousand times faster.
const PIECES: usize = 32;
/// A spar that swells again by less than this part of its size is one that a plane takes no notice of: a batten dips so much
/// where a parallel stretch goes over into a taper.
const SHAVING: f64 = 0.0025;

/// Half a size along the spar.
#[derive(Clone, Debug)]
pub struct Taper {
    nails: Vec<f64>,
    /// Place, half size and its slope.
    knots: Vec<(f64, f64, f64)>,
    greatest: (f64, f64),
}

impl Taper {
    /// The batten through (fraction of the length, fraction of the size), for the greatest `size` of a spar of that
    /// `length`, m.
    pub(super) fn new(length: f64, size: f64, fractions: &[(f64, f64)]) -> Result<Self, SparError> {
        check(fractions)?;
        let nails: Vec<(f64, f64)> =
            fractions.iter().map(|(s, part)| (s * length, 0.5 * part * size)).collect();
        let batten = Batten::through(&nails)?;
        let mut knots = Vec::new();
        for pair in nails.windows(2) {
            let step = (pair[1].0 - pair[0].0) / PIECES as f64;
            knots.extend((0..PIECES).map(|i| pair[0].0 + i as f64 * step));
        }
        knots.push(length);
        let knots: Vec<(f64, f64, f64)> = (knots.into_iter())
            .map(|s| {
                let (half, slope) = batten.height(s);
                (s, half, slope)
            })
            .collect();
        let mut taper =
            Taper { nails: nails.iter().map(|nail| nail.0).collect(), knots, greatest: (0.0, 0.0) };
        taper.greatest = taper.settled()?;
        Ok(taper)
    }

    /// The greatest place and size, after a look along it: it grows, and then it falls.
    fn settled(&self) -> Result<(f64, f64), SparError> {
        let (top, _) = self
            .knots
            .iter()
            .enumerate()
            .fold((0, f64::MIN), |best, (i, knot)| if knot.1 > best.1 { (i, knot.1) } else { best });
        // From either end to the greatest it may not fall back from the most it has had.
        let fore = self.knots[..=top].iter();
        let aft = self.knots[top..].iter().rev();
        for side in [fore.collect::<Vec<_>>(), aft.collect()] {
            let mut most = f64::MIN;
            for knot in side {
                if knot.1 < most * (1.0 - SHAVING) {
                    return Err(SparError::Wavers { at: knot.0, by: 2.0 * (most - knot.1) });
                }
                most = most.max(knot.1);
            }
        }
        if let Some(thin) = self.knots.iter().find(|knot| knot.1 <= 0.0) {
            return Err(SparError::Nothing { at: thin.0 });
        }
        let reach = |i: usize| self.knots[i.min(self.knots.len() - 1)].0;
        let (mut low, mut high) = (reach(top.saturating_sub(1)), reach(top + 1));
        // The slope falls through nothing between the neighbours of the greatest knot, or the greatest is an end.
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            if self.slope(mid) > 0.0 { low = mid } else { high = mid }
        }
        let at = [0.5 * (low + high), self.knots[top].0];
        let best = if self.half(at[0]) > self.half(at[1]) { at[0] } else { at[1] };
        Ok((best, 2.0 * self.half(best)))
    }

    fn piece(&self, s: f64) -> (f64, f64, [(f64, f64, f64); 2]) {
        let last = self.knots.len() - 2;
        let i = self.knots.partition_point(|knot| knot.0 <= s).saturating_sub(1).min(last);
        let (from, to) = (self.knots[i], self.knots[i + 1]);
        let step = to.0 - from.0;
        ((s - from.0) / step, step, [from, to])
    }

    /// Half the size, m.
    pub fn half(&self, s: f64) -> f64 {
        let (t, step, [from, to]) = self.piece(s);
        let u = 1.0 - t;
        u * u * ((1.0 + 2.0 * t) * from.1 + t * step * from.2)
            + t * t * ((1.0 + 2.0 * u) * to.1 - u * step * to.2)
    }

    /// How fast half the size grows.
    fn slope(&self, s: f64) -> f64 {
        let (t, step, [from, to]) = self.piece(s);
        let u = 1.0 - t;
        6.0 * t * u * (to.1 - from.1) / step + u * (1.0 - 3.0 * t) * from.2 + t * (1.0 - 3.0 * u) * to.2
    }

    /// Where the batten is nailed, m from the heel.
    pub fn nails(&self) -> &[f64] {
        &self.nails
    }

    /// Where it is greatest, and its whole size there, m.
    pub fn greatest(&self) -> (f64, f64) {
        self.greatest
    }
}

fn check(fractions: &[(f64, f64)]) -> Result<(), SparError> {
    let [first, .., last] = fractions else { return Err(SparError::TaperEnds) };
    // A place that is no number is ahead of none.
    let is_ahead = |a: f64, b: f64| a.partial_cmp(&b).is_some_and(std::cmp::Ordering::is_lt);
    let sound = |v: f64| v.is_finite() && v > 0.0 && v <= 1.0;
    if let Some((s, part)) = fractions.iter().find(|(_, part)| !sound(*part)) {
        return Err(SparError::Fraction { at: *s, value: *part });
    }
    if first.0 != 0.0 || last.0 != 1.0 {
        return Err(SparError::TaperEnds);
    }
    if let Some(pair) = fractions.windows(2).find(|pair| !is_ahead(pair[0].0, pair[1].0)) {
        return Err(SparError::TurnsBack { from: pair[0].0, to: pair[1].0 });
    }
    let mut falling = false;
    for pair in fractions.windows(2) {
        if pair[1].1 > pair[0].1 && falling {
            return Err(SparError::Swells { at: pair[1].0, from: pair[0].1, to: pair[1].1 });
        }
        falling |= pair[1].1 < pair[0].1;
    }
    Ok(())
}
