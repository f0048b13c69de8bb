//! What a table says of a boat's size that no boat has: a scale or a unit left out or taken twice.

use scrieve_notation::Length;

use crate::{Survey, Table};

/// Shorter than a coracle or longer than any vessel built of wood, m (common practice).
const LENGTHS: (f64, f64) = (1.2, 120.0);
/// Beam to length, from the narrowest rowing shell to a coracle (common practice, widened).
const BEAMS: (f64, f64) = (0.03, 1.2);
/// Depth at its greatest to length, from a punt to a coracle (common practice, widened).
const DEPTHS: (f64, f64) = (0.015, 0.8);
/// Planking to beam, from a cedar shell to a trawler (common practice, widened).
const PLANKINGS: (f64, f64) = (0.0015, 0.05);
/// What is thinner than this on a boat was perhaps measured on her model, m.
const THIN: f64 = 0.005;

fn outside(value: f64, (low, high): (f64, f64)) -> bool {
    value > 0.0 && !(low..=high).contains(&value)
}

fn metres(value: f64) -> String {
    if value < 1.0 { format!("{:.0} mm", 1e3 * value) } else { format!("{value:.1} m") }
}

impl Table {
    /// What is odd about her size, as read at its scale.
    pub(crate) fn odd_sizes(&self, survey: &Survey) -> Vec<String> {
        let facts = &self.facts;
        let scaled = facts.scale > 1.0;
        let mut odd = Vec::new();
        for (name, given) in [("planking", facts.planking), ("half-siding", facts.half_siding)] {
            let Some(given) = given.map(Length::metres).filter(|m| scaled && *m > 0.0 && *m < THIN) else {
                continue;
            };
            odd.push(format!(
                "a {name} of {:.1} mm is taken as the boat's own, whatever the scale: perhaps it was given at the model's size",
                1e3 * given
            ));
        }
        let shrinkage = [
            ("length", facts.shrinkage.length),
            ("breadth", facts.shrinkage.breadth),
            ("height", facts.shrinkage.height),
        ];
        for (name, factor) in shrinkage.into_iter().filter(|(_, factor)| *factor < 1.0) {
            odd.push(format!(
                "a {name} of {factor:.4} under [shrinkage] makes her smaller: wood shrinks, it does not swell, so that \
                 what gives it back is over 1"
            ));
        }
        let spread = |values: &mut dyn Iterator<Item = f64>| {
            let (low, high) = values.fold((f64::MAX, f64::MIN), |e, v| (e.0.min(v), e.1.max(v)));
            high - low
        };
        let profiles = || survey.stem.iter().chain(&survey.stern);
        let ends = survey.transom.iter().flat_map(|t| [t.foot.0, t.head.0]);
        let length = spread(&mut survey.stations.iter().copied().chain(profiles().map(|s| s.x)).chain(ends));
        let breadths = survey.spots.iter().map(|s| s.y);
        let lines = |axis| survey.lines.iter().filter(move |l| l.axis == axis).map(|l| l.value);
        let beam = 2.0 * breadths.chain(lines(crate::Axis::HalfBreadth)).fold(0.0, f64::max);
        let depth = spread(&mut lines(crate::Axis::Height).chain(profiles().map(|s| s.z)));
        let at = if scaled { format!(" at a scale of 1:{}", facts.scale) } else { String::new() };
        if outside(length, LENGTHS) {
            odd.push(format!(
                "she comes to {} long{at}, which no boat is: look at `scale` and `units`",
                metres(length)
            ));
        }
        for (name, value, usual) in [("broad", beam, BEAMS), ("deep", depth, DEPTHS)] {
            if length > 0.0 && outside(value / length, usual) {
                odd.push(format!(
                    "she comes to {} {name} and {} long{at}, which no boat is: look at the units of rows and stations",
                    metres(value),
                    metres(length)
                ));
            }
        }
        let planking = facts.planking.map(Length::metres).filter(|m| !scaled || *m >= THIN);
        if let Some(planking) = planking.filter(|m| beam > 0.0 && outside(m / beam, PLANKINGS)) {
            odd.push(format!(
                "a planking of {:.1} mm on a beam of {}{at} is that of no boat: look at `planking`, `scale` and `units`",
                1e3 * planking,
                metres(beam)
            ));
        }
        odd
    }
}
