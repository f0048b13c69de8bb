//! A spar under a load: moments by statics, deflections by integrating the curvature M/EI twice.
//!
//! The theory is that of slender beams, straight before they are loaded and bent little. What shear, the joints and a
//! column's buckling add is left out.

use scrieve_surface::quadrature::gauss;

use super::{ONE_PLACE_M, Spar, SparError};

/// Nodes between two breaks of a load or of the spar; moments over stiffness are smooth there.
const NODES: usize = 6;
/// Stretches along the spar besides those breaks: the greatest stress is looked for at their ends.
const STRETCHES: usize = 240;

/// How it is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Supports {
    /// Built in at a place: nothing turns or moves there. Both sides of it stand out free.
    BuiltIn(f64),
    /// Held at two places, free to turn at both, whatever stands out beyond them.
    Two(f64, f64),
}

/// Which way it is loaded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Across {
    /// In y: fore and aft, or up and down.
    Depth,
    /// In z: athwart.
    Breadth,
}

/// A load. Metres and newtons.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// How the spar is held.
    pub supports: Supports,
    /// Place and force.
    pub points: Vec<(f64, f64)>,
    /// From, to and force on each metre.
    pub spread: Vec<(f64, f64, f64)>,
    /// Which way.
    pub across: Across,
}

/// What becomes of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Bent {
    /// Places along it, m.
    pub places: Vec<f64>,
    /// Bending moments there, N m; positive where the loaded side is hollow.
    pub moments: Vec<f64>,
    /// How far it gives way with the load there, m; negative against it.
    pub deflections: Vec<f64>,
    /// The greatest stress of each section, Pa.
    pub stresses: Vec<f64>,
    /// What the supports hold against the load, N: one for a built-in end, two otherwise; negative where it would lift.
    pub reactions: Vec<f64>,
}

impl Bent {
    /// Place and value of what is greatest either way.
    pub fn greatest(&self, of: &[f64]) -> (f64, f64) {
        self.places
            .iter()
            .copied()
            .zip(of.iter().copied())
            .fold((0.0, 0.0), |best: (f64, f64), here| if here.1.abs() > best.1.abs() { here } else { best })
    }
}

impl Load {
    fn check(&self, spar: &Spar) -> Result<(), SparError> {
        let on = |s: f64| spar.place(s).map(|_| ());
        match self.supports {
            Supports::BuiltIn(at) => on(at)?,
            Supports::Two(a, b) => {
                on(a)?;
                on(b)?;
                if b - a <= ONE_PLACE_M {
                    return Err(SparError::Supports { first: a, second: b });
                }
            }
        }
        for &(at, newtons) in &self.points {
            on(at)?;
            if !(newtons.is_finite() && newtons >= 0.0) {
                return Err(SparError::NegativeLoad { at, value: newtons });
            }
        }
        for &(from, to, each) in &self.spread {
            on(from)?;
            on(to)?;
            if to <= from {
                return Err(SparError::Spread { from, to });
            }
            if !(each.is_finite() && each >= 0.0) {
                return Err(SparError::NegativeLoad { at: from, value: each });
            }
        }
        if self.whole() > 0.0 { Ok(()) } else { Err(SparError::NoLoad) }
    }

    fn whole(&self) -> f64 {
        let spread: f64 = self.spread.iter().map(|(from, to, each)| (to - from) * each).sum();
        self.points.iter().map(|load| load.1).sum::<f64>() + spread
    }

    /// Force beyond `s` toward the head, and its moment about it.
    fn beyond(&self, s: f64) -> (f64, f64) {
        let points = self.points.iter().filter(|load| load.0 > s).map(|load| (load.1, load.1 * (load.0 - s)));
        let spread = self.spread.iter().filter(|load| load.1 > s).map(|(from, to, each)| {
            let from = from.max(s);
            let force = (to - from) * each;
            (force, force * (0.5 * (from + to) - s))
        });
        points.chain(spread).fold((0.0, 0.0), |all, one| (all.0 + one.0, all.1 + one.1))
    }

    /// What each support holds.
    fn reactions(&self) -> Vec<f64> {
        let whole = self.whole();
        match self.supports {
            Supports::BuiltIn(_) => vec![whole],
            Supports::Two(a, b) => {
                // Moments about the heel's end, carried to the first support.
                let about = self.beyond(-1.0).1 - whole * (a + 1.0);
                let second = about / (b - a);
                vec![whole - second, second]
            }
        }
    }

    /// The moment at a place, from what is beyond it.
    fn moment(&self, s: f64, reactions: &[f64]) -> f64 {
        let beyond = self.beyond(s);
        match self.supports {
            Supports::BuiltIn(at) if s >= at => -beyond.1,
            // Short of a built-in place the other side is what stands out.
            Supports::BuiltIn(_) => -(beyond.1 - self.whole_moment(s)),
            Supports::Two(a, b) => {
                let held = |at: f64, force: f64| if at > s { force * (at - s) } else { 0.0 };
                held(a, reactions[0]) + held(b, reactions[1]) - beyond.1
            }
        }
    }

    /// The moment of all forces about a place, those toward the head positive.
    fn whole_moment(&self, s: f64) -> f64 {
        self.beyond(-1.0).1 - self.whole() * (s + 1.0)
    }
}

impl Spar {
    /// The spar under a load, of wood with this modulus of elasticity along the grain, Pa.
    ///
    /// # Errors
    /// Loads that are negative or none, or off the spar; supports in one place; a modulus that is none.
    pub fn bent(&self, load: &Load, modulus: f64) -> Result<Bent, SparError> {
        load.check(self)?;
        if !(modulus.is_finite() && modulus > 0.0) {
            return Err(SparError::Modulus { value: modulus });
        }
        let axis = usize::from(load.across == Across::Breadth);
        let reactions = load.reactions();
        let places = self.loaded_places(load);
        let nodes = gauss(NODES);
        let curvature = |s: f64| load.moment(s, &reactions) / (modulus * self.section(s).moments()[axis]);
        // Running integrals of the curvature, and of it times the distance.
        let (mut turn, mut arm) = (vec![0.0], vec![0.0]);
        for pair in places.windows(2) {
            let step = pair[1] - pair[0];
            let (mut one, mut two) = (0.0, 0.0);
            for (at, weight) in &nodes {
                let s = pair[0] + at * step;
                let here = weight * step * curvature(s);
                one += here;
                two += s * here;
            }
            turn.push(turn[turn.len() - 1] + one);
            arm.push(arm[arm.len() - 1] + two);
        }
        let free: Vec<f64> = (0..places.len()).map(|i| places[i] * turn[i] - arm[i]).collect();
        let index = |at: f64| {
            let i = places.partition_point(|s| *s < at - ONE_PLACE_M);
            i.min(places.len() - 1)
        };
        // The curve so far starts level at the heel; what is left free, its height and slope, is what the supports fix.
        let (height, slope) = match load.supports {
            Supports::BuiltIn(at) => {
                let i = index(at);
                (places[i] * turn[i] - free[i], -turn[i])
            }
            Supports::Two(a, b) => {
                let (i, j) = (index(a), index(b));
                let slope = -(free[j] - free[i]) / (places[j] - places[i]);
                (-free[i] - slope * places[i], slope)
            }
        };
        // A moment that makes the loaded side hollow bends it toward the load's own direction in the middle.
        let deflections =
            (0..places.len()).map(|i| -(free[i] + height + slope * places[i])).collect::<Vec<f64>>();
        let moments: Vec<f64> = places.iter().map(|s| load.moment(*s, &reactions)).collect();
        let stresses = (places.iter().zip(&moments))
            .map(|(s, moment)| {
                let section = self.section(*s);
                moment.abs() * section.half[axis] / section.moments()[axis]
            })
            .collect();
        Ok(Bent { places, moments, deflections, stresses, reactions })
    }

    fn loaded_places(&self, load: &Load) -> Vec<f64> {
        let mut all = self.breaks();
        all.extend((0..=STRETCHES).map(|i| self.length() * i as f64 / STRETCHES as f64));
        all.extend(load.points.iter().map(|point| point.0));
        all.extend(load.spread.iter().flat_map(|spread| [spread.0, spread.1]));
        match load.supports {
            Supports::BuiltIn(at) => all.push(at),
            Supports::Two(a, b) => all.extend([a, b]),
        }
        let mut all: Vec<f64> = all.into_iter().map(|s| s.clamp(0.0, self.length())).collect();
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() < ONE_PLACE_M);
        all
    }
}
