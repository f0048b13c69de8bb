//! The hollow: its wall along the length, what is left solid at the ends, how it runs out there, and the saw kerfs by
//! which two halves are hollowed.

use super::{Build, ONE_PLACE_M, Spar, SparError};

/// What is left solid at the ends of a hollow, m.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Solid {
    /// Solid from the heel on.
    pub heel: f64,
    /// Solid to the head.
    pub head: f64,
    /// Over this length from either the hollow opens to its whole size, in a straight line, so that the wall does not end at
    /// once and break there.
    pub run_out: f64,
}

/// The wall.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    /// Place and thickness, straight between.
    spots: Vec<(f64, f64)>,
    solid: Solid,
    length: f64,
}

impl Wall {
    pub(super) fn new(length: f64, fractions: &[(f64, f64)], solid: Solid) -> Result<Self, SparError> {
        if let Some((at, wall)) = fractions.iter().find(|(_, wall)| !(wall.is_finite() && *wall > 0.0)) {
            return Err(SparError::Wall { at: at * length, value: *wall });
        }
        let places: Vec<f64> = fractions.iter().map(|spot| spot.0).collect();
        if places.iter().any(|s| !(0.0..=1.0).contains(s)) || places.windows(2).any(|pair| pair[0] >= pair[1])
        {
            return Err(SparError::WallPlaces);
        }
        let lengths =
            [("the solid heel", solid.heel), ("the solid head", solid.head), ("the run-out", solid.run_out)];
        if let Some((what, value)) = lengths.into_iter().find(|(_, v)| !(v.is_finite() && *v >= 0.0)) {
            return Err(SparError::SolidLength { what, value });
        }
        // A hollow that goes through to an end has nothing to run out to there.
        let ends = [solid.heel, solid.head].map(|end| if end > 0.0 { end + solid.run_out } else { 0.0 });
        if ends[0] + ends[1] >= length - ONE_PLACE_M {
            return Err(SparError::SolidEnds { taken: ends[0] + ends[1], length });
        }
        let spots = fractions.iter().map(|(s, wall)| (s * length, *wall)).collect();
        Ok(Wall { spots, solid, length })
    }

    /// What is left solid at its ends.
    pub fn solid(&self) -> Solid {
        self.solid
    }

    /// True if it is of one thickness.
    pub fn is_even(&self) -> bool {
        self.spots.iter().all(|spot| spot.1 == self.spots[0].1)
    }

    /// Its thickness where the hollow is whole, m.
    pub fn thickness(&self, s: f64) -> f64 {
        let i = self.spots.partition_point(|spot| spot.0 <= s);
        match (i.checked_sub(1).map(|i| self.spots[i]), self.spots.get(i)) {
            (Some(from), Some(to)) => from.1 + (to.1 - from.1) * (s - from.0) / (to.0 - from.0),
            (Some(only), None) => only.1,
            (None, Some(only)) => only.1,
            (None, None) => f64::NAN,
        }
    }

    /// Which part of the whole hollow there is: 0 in the solid ends, 1 between the run-outs.
    pub fn open(&self, s: f64) -> f64 {
        let rise = |solid: f64, from_end: f64| match (solid > 0.0, self.solid.run_out > 0.0) {
            (false, _) => 1.0,
            (true, true) => ((from_end - solid) / self.solid.run_out).clamp(0.0, 1.0),
            (true, false) => f64::from(u8::from(from_end > solid)),
        };
        rise(self.solid.heel, s).min(rise(self.solid.head, self.length - s))
    }

    /// From where to where there is a hollow, m.
    pub fn hollow_runs(&self) -> (f64, f64) {
        (self.solid.heel, self.length - self.solid.head)
    }

    /// Where its law changes.
    pub(super) fn breaks(&self) -> Vec<f64> {
        let (from, to) = self.hollow_runs();
        let run_out = self.solid.run_out;
        let mut all: Vec<f64> = self.spots.iter().map(|spot| spot.0).collect();
        all.extend([from, from + run_out, to - run_out, to]);
        all
    }
}

/// Saw kerfs along one half, by which its hollow is cut to depth before it is gouged out.
#[derive(Clone, Debug, PartialEq)]
pub struct Kerfs {
    /// How far each lies from the middle of the blank toward the first face, m: a fence finds them all.
    pub places: Vec<f64>,
    /// At each place along the spar, the depth of each from the glued face, m; nothing where it would cut the wall.
    pub depths: Vec<Vec<f64>>,
}

impl Spar {
    /// The kerfs of a half, `pitch` apart and as wide as the `blade`, at these places along it. Each stops short of the
    /// finished hollow: what is deepest is asked of the side of the blade that is nearer the wall.
    ///
    /// # Errors
    /// A spar not built of two halves; a blade or a pitch that is none, or wider than the hollow.
    pub fn kerfs(&self, places: &[f64], pitch: f64, blade: f64) -> Result<Kerfs, SparError> {
        if self.build != Build::Halves {
            return Err(SparError::NoHalves);
        }
        let widest = self.breaks().iter().chain(places).map(|s| self.hollow(*s)[0]).fold(0.0, f64::max);
        for (what, value) in [("the blade's kerf", blade), ("the kerfs' pitch", pitch)] {
            if !(value > 0.0 && value < 2.0 * widest) {
                return Err(SparError::Kerf { what, value, limit: 2.0 * widest });
            }
        }
        if pitch < blade {
            return Err(SparError::KerfPitch { pitch, blade });
        }
        // With a straight face the hollow's middle wanders in the blank, and so the outermost kerfs serve a part of it.
        let reach = (places.iter())
            .map(|s| (self.middle(*s) - self.hollow(*s)[0], self.middle(*s) + self.hollow(*s)[0]))
            .fold((f64::MAX, f64::MIN), |all, here| (all.0.min(here.0), all.1.max(here.1)));
        let first = ((reach.0 + 0.5 * blade) / pitch).ceil() as i64;
        let last = ((reach.1 - 0.5 * blade) / pitch).floor() as i64;
        let at: Vec<f64> = (first..=last).map(|i| i as f64 * pitch).collect();
        let depths =
            places.iter().map(|s| at.iter().map(|y| self.kerf_depth(*s, *y, blade)).collect()).collect();
        Ok(Kerfs { places: at, depths })
    }

    /// How deep from the glued face a kerf `y` off the middle of the blank may be at a place, m: the side of the blade that
    /// is nearer the wall just reaches the finished hollow. Nothing where it would cut the wall.
    pub fn kerf_depth(&self, s: f64, y: f64, blade: f64) -> f64 {
        let [c, d] = self.hollow(s);
        let out = (y - self.middle(s)).abs() + 0.5 * blade;
        if out >= c { 0.0 } else { d * (1.0 - (out / c).powi(2)).sqrt() }
    }
}
