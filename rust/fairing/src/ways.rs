//! What fairing takes for granted and the readings hardly settle: how far the hulls lie apart that it gives on one
//! premise or another, each counted by its evidence.
//!
//! The variance that the choice adds is the mean of squares of the distances from the hull chosen, weighted by
//! evidence (Hoeting, Madigan, Raftery and Volinsky, "Bayesian model averaging", Statistical Science 14, 1999).

use crate::evidence::Settled;
use crate::fit::Fit;
use crate::random::Random;

/// How far from an end, in t, its ways are compared, and at how many places along and across.
const REACH: f64 = 0.25;
const PLACES: (usize, usize) = (7, 9);
/// A way so much less likely than the best, in natural log units, counts no more.
const FAR: f64 = 9.0;
/// Evidence of premises is surer of itself than it should be: it hangs on shapes between readings that no reading tells,
/// and the nearer of two hulls was the less likely by up to so many times what chance allows. Counted at so much less.
const COUNTS: f64 = 1.0 / 3.0;
/// Hulls are no farther apart than this, m: beyond it, a place of one is off the other.
const FARTHEST: f64 = 0.15;

/// Of each end, the hulls that may be, by how likely each is: how far each lies outside the one chosen, along the normal,
/// m, over places of each strake near that end.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Ways {
    ends: [Vec<(f64, Vec<Vec<f64>>)>; 2],
}

/// One way for either end.
pub(crate) struct Drawn<'a>([Option<&'a Vec<Vec<f64>>>; 2]);

/// How far the surface of `other` lies outside that of `one` at (t, v), m.
fn apart(one: &Settled<'_>, other: &Settled<'_>, strake: usize, (t, v): (f64, f64)) -> f64 {
    let (frame, theirs) = (&one.fit.frame, &other.fit.frame);
    let w = one.joint.bulge(strake, &[t], &[v]);
    let w = w.first().copied().unwrap_or_default() + frame.straight_across(strake, t, v);
    let (y, z) = frame.chord(strake, t).point(v, w);
    let x = frame.x(t, y, frame.zeta(t, z));
    let abaft = |fit: &Fit<'_>| {
        let keel = fit.keel.as_ref().filter(|keel| keel.goes_on);
        keel.and_then(|k| Some(x > k.backbone.at_height(k.aft?, false, z).1)).unwrap_or(false)
    };
    if abaft(&one.fit) || abaft(&other.fit) {
        // Beyond a sternpost there is no planking.
        return 0.0;
    }
    let t = theirs.t(x, y, |t| theirs.zeta(t, z)).clamp(0.0, 1.0);
    let chord = theirs.chord(strake, t);
    let (v, w) = chord.place((y, z));
    if !(v.is_finite() && w.is_finite()) {
        return 0.0;
    }
    let v = v.clamp(0.0, 1.0);
    let own = other.joint.bulge(strake, &[t], &[v]).first().copied().unwrap_or_default()
        + theirs.straight_across(strake, t, v);
    let tangent = chord.tangent(v, own, other.joint.slope(strake, t, v));
    let at = chord.point(v, own);
    let off = ((at.0 - y) * tangent.1 - (at.1 - z) * tangent.0) / tangent.0.hypot(tangent.1);
    if off.is_finite() { off.clamp(-FARTHEST, FARTHEST) } else { 0.0 }
}

impl Ways {
    /// From the fit chosen, and for the forward and the after end what else was tried there.
    pub fn new(chosen: &Settled<'_>, others: [&[Settled<'_>]; 2]) -> Self {
        let strakes = chosen.fit.frame.strakes();
        let ends = [0, 1].map(|end| {
            let best = others[end].iter().map(|o| o.evidence).fold(f64::MIN, f64::max);
            let near: Vec<&Settled<'_>> = others[end].iter().filter(|o| o.evidence > best - FAR).collect();
            let weights: Vec<f64> = near.iter().map(|o| (COUNTS * (o.evidence - best)).exp()).collect();
            let sum: f64 = weights.iter().sum();
            if near.len() < 2 {
                return Vec::new();
            }
            let places = || (0..PLACES.0).flat_map(|i| (0..PLACES.1).map(move |j| (i, j)));
            let at = |other: &Settled<'_>, strake: usize, (i, j): (usize, usize)| {
                let from = REACH * (i as f64 + 0.5) / PLACES.0 as f64;
                let place = (if end == 0 { from } else { 1.0 - from }, j as f64 / (PLACES.1 - 1) as f64);
                apart(chosen, other, strake, place)
            };
            let of = |(other, weight): (&&Settled<'_>, &f64)| {
                let strakes = (0..strakes).map(|s| places().map(|p| at(other, s, p)).collect());
                (weight / sum, strakes.collect())
            };
            near.iter().zip(&weights).map(of).collect()
        });
        Ways { ends }
    }

    /// The ways of an end are few, and the boat may be none of them: how much greater the variance is of the next than the mean
    /// square of so many (of n drawn alike and a new one, (n + 1)/(n - 1); *common practice*).
    fn of_few(&self, end: usize) -> f64 {
        let n = self.ends[end].len() as f64;
        if n > 1.0 { (n + 1.0) / (n - 1.0) } else { 1.0 }
    }

    /// Variance at (t, v) of a strake, m².
    pub fn variance(&self, strake: usize, t: f64, v: f64) -> f64 {
        let of = |end: usize, from: f64| -> f64 {
            let of_way =
                |(weight, grid): &(f64, Vec<Vec<f64>>)| weight * between(grid, strake, from, v).powi(2);
            let sum: f64 = self.ends[end].iter().filter(|_| from < REACH).map(of_way).sum();
            self.of_few(end) * sum
        };
        of(0, t) + of(1, 1.0 - t)
    }

    /// The greatest standard deviation of the ways themselves near an end, m.
    pub fn worst(&self, end: usize) -> f64 {
        let ways = &self.ends[end];
        let strakes = ways.first().map_or(0, |way| way.1.len());
        let variance =
            |strake: usize, k: usize| ways.iter().map(|w| w.0 * w.1[strake][k].powi(2)).sum::<f64>();
        let places = (0..strakes).flat_map(|s| (0..PLACES.0 * PLACES.1).map(move |k| (s, k)));
        places.map(|(s, k)| variance(s, k)).fold(0.0, f64::max).sqrt()
    }

    /// By how much the planking near an end may be off for it, two standard deviations, m.
    pub fn may_be_off(&self, end: usize) -> f64 {
        2.0 * self.of_few(end).sqrt() * self.worst(end)
    }

    /// A way for either end, by how likely each is.
    pub fn draw(&self, random: &mut Random) -> Drawn<'_> {
        Drawn([0, 1].map(|end| {
            let mut left = random.between(0.0, 1.0);
            let found = self.ends[end].iter().find(|way| {
                left -= way.0;
                left < 0.0
            });
            found.map(|way| &way.1)
        }))
    }
}

impl Drawn<'_> {
    /// How far the hull lies outside the one chosen at (t, v) of a strake, along the normal, m; it comes to nothing where
    /// ways are no longer compared and at the end itself, which the profile holds.
    pub fn outside(&self, strake: usize, t: f64, v: f64) -> f64 {
        let half = 0.5 * REACH / PLACES.0 as f64;
        let of = |end: usize, from: f64| {
            let Some(grid) = self.0[end].filter(|_| from < REACH) else { return 0.0 };
            between(grid, strake, from, v) * (from.min(REACH - from) / half).clamp(0.0, 1.0)
        };
        of(0, t) + of(1, 1.0 - t)
    }
}

/// Between the places of a strake, linearly, so far from an end.
fn between(grid: &[Vec<f64>], strake: usize, from: f64, v: f64) -> f64 {
    let Some(grid) = grid.get(strake) else { return 0.0 };
    let along = (from / REACH * PLACES.0 as f64 - 0.5).clamp(0.0, (PLACES.0 - 1) as f64);
    let across = v.clamp(0.0, 1.0) * (PLACES.1 - 1) as f64;
    let (i, j) = ((along as usize).min(PLACES.0 - 2), (across as usize).min(PLACES.1 - 2));
    let (a, b) = (along - i as f64, across - j as f64);
    let at = |i: usize, j: usize| grid[i * PLACES.1 + j];
    (1.0 - a) * ((1.0 - b) * at(i, j) + b * at(i, j + 1))
        + a * ((1.0 - b) * at(i + 1, j) + b * at(i + 1, j + 1))
}
