//! GZ over heel, with sinkage and trim free at every heel.
//!
//! GZ is the athwartships distance, in the water plane, from the vertical through the centre of mass to
//! that through the centre of buoyancy: the righting moment over the weight.

use super::body::Body;
use super::equilibrium::{Balance, Loading};
use super::{FloatingError, Water, finite, positive};

/// Step between heels in the search for the angle of flooding, radians (10°): freeboard falls steadily.
const SEARCH_STEP: f64 = std::f64::consts::PI / 18.0;
/// Steps to close in on it, and how near is near enough, radians.
const SEARCH_STEPS: usize = 30;
const NEAR_ENOUGH: f64 = 1e-7;

/// What closes the boat at the sheer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Deck {
    /// Nothing: her curve stops where water comes in over the sheer.
    Open,
    /// A tight deck, straight athwart from sheer to sheer.
    Decked,
}

/// Righting arms over heel.
#[derive(Clone, Debug, PartialEq)]
pub struct Arms {
    /// Heels, radians: positive to starboard.
    pub heels: Vec<f64>,
    /// GZ, m: positive rights her from a heel to starboard; `None` where an open boat has filled.
    pub gz: Vec<Option<f64>>,
    /// Trim by the stern at each heel, radians.
    pub trim: Vec<Option<f64>>,
    /// Heel to starboard at which the water reaches the sheer, radians; `None` if it never does.
    pub flooding: Option<f64>,
}

impl Body {
    /// Righting arms at `heels`, radians within ±180°.
    ///
    /// # Errors
    /// If she sinks or, open, is swamped upright; if no trim balances her; if a figure makes no sense.
    pub fn arms(
        &self,
        heels: &[f64],
        loading: &Loading,
        water: Water,
        deck: Deck,
    ) -> Result<Arms, FloatingError> {
        positive("mass", loading.mass)?;
        positive("density of water", water.density)?;
        for value in loading.centre {
            finite("the centre of the load", value)?;
        }
        for &heel in heels {
            if heel.is_nan() || heel.abs() > std::f64::consts::PI * (1.0 + 1e-12) {
                return Err(FloatingError::Argument(format!(
                    "heel {}° is not within ±180°",
                    heel.to_degrees()
                )));
            }
        }
        let to_starboard = self.flooding(&on_side(loading, 1.0), water)?;
        let to_port = match loading.centre[1] == 0.0 {
            true => to_starboard,
            false => self.flooding(&on_side(loading, -1.0), water)?,
        };
        for flooding in [to_starboard, to_port].into_iter().flatten() {
            if deck == Deck::Open && flooding.heel == 0.0 {
                return Err(FloatingError::Swamped { under: flooding.under });
            }
        }
        let limits = [to_starboard, to_port].map(|flooding| flooding.map(|flooding| flooding.heel));
        let mut order: Vec<usize> = (0..heels.len()).collect();
        order.sort_by(|&a, &b| heels[a].total_cmp(&heels[b]));
        let (mut gz, mut trim) = (vec![None; heels.len()], vec![None; heels.len()]);
        let mut start = None;
        for i in order {
            let (heel, side) = (heels[i].abs(), if heels[i] < 0.0 { -1.0 } else { 1.0 });
            let limit = limits[usize::from(side < 0.0)];
            if deck == Deck::Open && limit.is_some_and(|limit| heel > limit) {
                continue;
            }
            let balance = self.balance_near(&on_side(loading, side), water, heel, start)?;
            gz[i] = Some(side * balance.arm);
            trim[i] = Some(balance.trim);
            start = Some((balance.rise, balance.trim));
        }
        Ok(Arms { heels: heels.to_vec(), gz, trim, flooding: limits[0] })
    }

    /// From a neighbouring heel's balance if it leads anywhere, else from level trim.
    fn balance_near(
        &self,
        loading: &Loading,
        water: Water,
        heel: f64,
        start: Option<(f64, f64)>,
    ) -> Result<Balance, FloatingError> {
        match start {
            Some(_) => self
                .balance(loading, water, heel, start)
                .or_else(|_| self.balance(loading, water, heel, None)),
            None => self.balance(loading, water, heel, None),
        }
    }

    /// Heel to starboard at which the water reaches the sheer.
    fn flooding(&self, loading: &Loading, water: Water) -> Result<Option<Flooding>, FloatingError> {
        let mut start = None;
        let mut at = |heel: f64| -> Result<f64, FloatingError> {
            let balance = self.balance_near(loading, water, heel, start)?;
            start = Some((balance.rise, balance.trim));
            Ok(self.freeboard(&balance.level))
        };
        let mut low = (0.0, at(0.0)?);
        if low.1 < 0.0 {
            return Ok(Some(Flooding { heel: 0.0, under: -low.1 }));
        }
        let mut high = low;
        while high.1 > 0.0 {
            low = high;
            let heel = low.0 + SEARCH_STEP;
            if heel > std::f64::consts::PI {
                return Ok(None);
            }
            high = (heel, at(heel)?);
        }
        for step in 0..SEARCH_STEPS {
            if high.0 - low.0 < NEAR_ENOUGH {
                break;
            }
            let secant = low.0 - low.1 * (high.0 - low.0) / (high.1 - low.1);
            let margin = 0.4 * NEAR_ENOUGH;
            let heel = match step % 4 {
                3 => 0.5 * (low.0 + high.0),
                k => (secant + margin * (k as f64 - 1.0)).clamp(low.0 + 0.1 * margin, high.0 - 0.1 * margin),
            };
            let freeboard = at(heel)?;
            if freeboard > 0.0 {
                low = (heel, freeboard);
            } else {
                high = (heel, freeboard);
            }
        }
        Ok(Some(Flooding { heel: low.0, under: 0.0 }))
    }
}

/// Where the water reaches the sheer, and how deep it is under if that is upright.
#[derive(Clone, Copy)]
struct Flooding {
    heel: f64,
    under: f64,
}

/// The load as seen with `side` to starboard.
fn on_side(loading: &Loading, side: f64) -> Loading {
    let [x, y, z] = loading.centre;
    Loading { centre: [x, side * y, z], ..*loading }
}
