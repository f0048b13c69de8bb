//! How she floats under a load: Newton's method on sinkage and trim, with the waterplane as the derivative.
//!
//! At a given heel the two conditions are ∇ = m/ρ and the centres in line along the boat, (B - G) · t = 0
//! with t along the boat in the water plane; for a heel not given, the centres in line athwart as well.

use super::body::{Body, Level, dot3};
use super::{Deck, FloatingError, Water, finite, positive};

/// A volume is right to this part of itself.
const VOLUME_TOLERANCE: f64 = 1e-10;
/// Centres are in line to this, m: a thousandth of what is asked, and far above rounding.
const LINE_TOLERANCE: f64 = 1e-7;
/// Newton steps; a start at level trim takes four to six.
const STEPS: usize = 60;
/// Greatest change of trim in one step, radians: the waterplane is taken as fixed within it.
const TRIM_STEP: f64 = 0.1;
/// Greatest trim looked for, radians.
const MOST_TRIM: f64 = 0.6;
/// Halvings of a step that makes matters worse.
const HALVINGS: usize = 8;
/// Bisections for the level to start from, over four lengths: a few centimetres are near enough for Newton.
const START: usize = 9;
/// Step between heels tried for a load off the centreline, radians (5°).
const HEEL_STEP: f64 = std::f64::consts::PI / 36.0;
/// Steps to close in on that heel; halving alone would take 40.
const HEEL_STEPS: usize = 40;
/// A heel is right to this, radians.
const HEEL_TOLERANCE: f64 = 1e-9;
/// Greatest heel looked for, radians (90°).
const MOST_HEEL: f64 = std::f64::consts::FRAC_PI_2;

/// A weight and where it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weight {
    /// Mass, kg.
    pub mass: f64,
    /// Its centre (x, y, z), m; y to starboard.
    pub at: [f64; 3],
}

/// What she carries, herself included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loading {
    /// Mass, kg.
    pub mass: f64,
    /// Its centre (LCG, TCG, KG), m from the forward end, the centreline and the base line.
    pub centre: [f64; 3],
}

impl Loading {
    /// Several weights taken together: the boat, her ballast, each of her crew.
    ///
    /// # Errors
    /// If a figure is not a number, a mass is negative, or all masses are 0.
    pub fn of(weights: &[Weight]) -> Result<Self, FloatingError> {
        let (mut mass, mut moment) = (0.0, [0.0; 3]);
        for weight in weights {
            if !(weight.mass.is_finite() && weight.mass >= 0.0) {
                return Err(FloatingError::Argument(format!("mass must be 0 or more, got {}", weight.mass)));
            }
            mass += weight.mass;
            for k in 0..3 {
                moment[k] += weight.mass * finite("the place of a weight", weight.at[k])?;
            }
        }
        positive("mass", mass)?;
        Ok(Loading { mass, centre: moment.map(|m| m / mass) })
    }
}

/// How she floats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flotation {
    /// What she carries.
    pub loading: Loading,
    /// Height of the water above the base line on the centreline amidships, m.
    pub draught: f64,
    /// x amidships, m: halfway along the moulded hull.
    pub midships: f64,
    /// Trim, radians: positive by the stern.
    pub trim: f64,
    /// Heel, radians: positive to starboard.
    pub heel: f64,
    /// Volume ∇, m³.
    pub volume: f64,
    /// Centre of buoyancy (x, y, z) in the hull's own axes, m.
    pub centre_of_buoyancy: [f64; 3],
    /// Least height of the sheer above the water, m; below 0 where her deck edge is under.
    pub freeboard: f64,
    /// Righting arm at a small heel by that heel, from there, m: GM.
    pub gm: f64,
}

impl Flotation {
    /// Height of the water above the base line on the centreline at `x`, measured square to it, m.
    pub fn draught_at(&self, x: f64) -> f64 {
        self.draught + (x - self.midships) * self.trim.tan() / self.heel.cos()
    }
}

/// A balance of volume and trim at some heel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Balance {
    /// Height of the water above (midships, 0, 0), square to it, m.
    pub rise: f64,
    pub trim: f64,
    pub level: Level,
    pub volume: f64,
    pub buoyancy: [f64; 3],
    /// GZ, m: positive if it rights her.
    pub arm: f64,
}

/// Residuals and derivatives at one rise and trim.
struct State {
    level: Level,
    volume: f64,
    moment: [f64; 3],
    /// Volume short of what is wanted, as a part of it; lever of the centres along the boat, m.
    off: [f64; 2],
    /// Their derivatives by rise and trim.
    slope: [[f64; 2]; 2],
}

impl Body {
    fn state(&self, loading: &Loading, wanted: f64, heel: f64, rise: f64, trim: f64) -> State {
        let level = Level::new(rise, trim, heel, self.midships());
        let wet = self.below(&level);
        let along_g = dot3(level.along, loading.centre);
        let shift = dot3(level.along, loading.centre) - dot3(level.along, level.pivot);
        let lift = dot3(level.up, wet.moment) - wet.volume * dot3(level.up, loading.centre);
        State {
            level,
            volume: wet.volume,
            moment: wet.moment,
            off: [wet.volume / wanted - 1.0, (dot3(level.along, wet.moment) - wet.volume * along_g) / wanted],
            slope: [
                [wet.area / wanted, -wet.lever / wanted],
                [
                    (wet.lever - shift * wet.area) / wanted,
                    -(wet.inertia_along - shift * wet.lever + lift) / wanted,
                ],
            ],
        }
    }

    /// Sinkage and trim at a heel, radians, starting from the rise and trim of `start` if there is one.
    pub(super) fn balance(
        &self,
        loading: &Loading,
        water: Water,
        heel: f64,
        start: Option<(f64, f64)>,
    ) -> Result<Balance, FloatingError> {
        let wanted = loading.mass / water.density;
        if wanted >= self.volume {
            return Err(FloatingError::Sinks { mass: loading.mass, most: self.volume * water.density });
        }
        let no_trim = FloatingError::NoTrim { lcg: loading.centre[0], midships: self.midships() };
        let length = self.ends[1] - self.ends[0];
        let (mut rise, mut trim) = start.unwrap_or_else(|| (self.level_rise(wanted, heel), 0.0));
        let mut state = self.state(loading, wanted, heel, rise, trim);
        let badness = |state: &State| state.off[0].abs() + state.off[1].abs() / length;
        for _ in 0..STEPS {
            if state.off[0].abs() < VOLUME_TOLERANCE && state.off[1].abs() < LINE_TOLERANCE {
                let buoyancy = state.moment.map(|m| m / state.volume);
                let apart: [f64; 3] = std::array::from_fn(|k| buoyancy[k] - loading.centre[k]);
                let arm = dot3(apart, state.level.across);
                return Ok(Balance { rise, trim, level: state.level, volume: state.volume, buoyancy, arm });
            }
            let [[a, b], [c, d]] = state.slope;
            let det = a * d - b * c;
            let mut step =
                [(-state.off[0] * d + b * state.off[1]) / det, (c * state.off[0] - a * state.off[1]) / det];
            if !step.iter().all(|s| s.is_finite()) {
                return Err(no_trim);
            }
            let deepest = 0.25 * (self.lowest_sheer - self.lowest).abs().max(0.02 * length);
            let scale = (TRIM_STEP / step[1].abs()).min(deepest / step[0].abs()).min(1.0);
            step = step.map(|s| s * scale);
            let mut next = self.state(loading, wanted, heel, rise + step[0], trim + step[1]);
            for _ in 0..HALVINGS {
                if badness(&next) < badness(&state) {
                    break;
                }
                step = step.map(|s| 0.5 * s);
                next = self.state(loading, wanted, heel, rise + step[0], trim + step[1]);
            }
            (rise, trim) = (rise + step[0], trim + step[1]);
            if trim.abs() > MOST_TRIM {
                return Err(no_trim);
            }
            state = next;
        }
        Err(no_trim)
    }

    /// Where level water stands at a heel for a volume, roughly.
    fn level_rise(&self, volume: f64, heel: f64) -> f64 {
        let span = 2.0 * (self.ends[1] - self.ends[0]);
        let (mut low, mut high) = (-span, span);
        for _ in 0..START {
            let middle = 0.5 * (low + high);
            if self.below(&Level::new(middle, 0.0, heel, self.midships())).volume < volume {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    /// How she floats under a load: draught, trim, and heel if the load is off the centreline.
    ///
    /// # Errors
    /// If she sinks, capsizes, or the load lies too near her ends; if, open, she is swamped over the sheer; if a
    /// figure makes no sense.
    pub fn float(&self, loading: &Loading, water: Water, deck: Deck) -> Result<Flotation, FloatingError> {
        positive("mass", loading.mass)?;
        positive("density of water", water.density)?;
        for value in loading.centre {
            finite("the centre of the load", value)?;
        }
        let side = if loading.centre[1] < 0.0 { -1.0 } else { 1.0 };
        let starboard =
            Loading { centre: [loading.centre[0], loading.centre[1].abs(), loading.centre[2]], ..*loading };
        let (heel, balance) = if starboard.centre[1] == 0.0 {
            (0.0, self.balance(&starboard, water, 0.0, None)?)
        } else {
            self.heel_of(&starboard, water)?
        };
        let freeboard = self.freeboard(&balance.level);
        if freeboard < 0.0 && deck == Deck::Open {
            return Err(FloatingError::Swamped { under: -freeboard });
        }
        let nudge = 1e-3;
        let beyond = self.balance(&starboard, water, heel + nudge, Some((balance.rise, balance.trim)))?;
        let before = if heel == 0.0 {
            -beyond.arm
        } else {
            self.balance(&starboard, water, heel - nudge, Some((balance.rise, balance.trim)))?.arm
        };
        let [x, y, z] = balance.buoyancy;
        Ok(Flotation {
            loading: *loading,
            draught: balance.rise / balance.level.up[2],
            midships: self.midships(),
            trim: balance.trim,
            heel: side * heel,
            volume: balance.volume,
            centre_of_buoyancy: [x, side * y, z],
            freeboard,
            gm: (beyond.arm - before) / (2.0 * nudge),
        })
    }

    /// The heel at which a load to starboard is in line with the buoyancy: GZ rises through 0 there.
    fn heel_of(&self, loading: &Loading, water: Water) -> Result<(f64, Balance), FloatingError> {
        let upright = self.balance(loading, water, 0.0, None)?;
        let (mut low, mut high) = ((0.0, upright), (0.0, upright));
        while high.1.arm < 0.0 {
            low = high;
            let heel = low.0 + HEEL_STEP;
            if heel > MOST_HEEL {
                return Err(FloatingError::Capsizes { heel_degrees: MOST_HEEL.to_degrees() });
            }
            high = (heel, self.balance(loading, water, heel, Some((low.1.rise, low.1.trim)))?);
        }
        for step in 0..HEEL_STEPS {
            if high.0 - low.0 < HEEL_TOLERANCE || high.1.arm == 0.0 {
                break;
            }
            let secant = low.0 - low.1.arm * (high.0 - low.0) / (high.1.arm - low.1.arm);
            let margin = 0.5 * HEEL_TOLERANCE;
            // The secant tends to one side: a look just past it closes the bracket.
            let heel = match step % 3 {
                0 => secant.clamp(low.0 + margin, high.0 - margin),
                1 => (secant + 2.0 * margin).min(high.0 - margin).max(low.0 + margin),
                _ => 0.5 * (low.0 + high.0),
            };
            let balance = self.balance(loading, water, heel, Some((low.1.rise, low.1.trim)))?;
            if balance.arm < 0.0 {
                low = (heel, balance);
            } else {
                high = (heel, balance);
            }
        }
        Ok(high)
    }
}
