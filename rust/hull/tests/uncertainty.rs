//! Figures of hulls in closed form lie as far off the truth as their uncertainty says, whatever the table is written in.

#[path = "../examples/uncertainty/truth.rs"]
mod truth;

use scrieve_fairing::{Options, fair};
use scrieve_hull::floating::{Body, Water};
use scrieve_offsets::Survey;
use scrieve_surface::Surface;
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};
use truth::{Figures, NAMES, Truth};

const DRAWS: usize = 16;

fn figures(surface: &Surface, draught: f64) -> Figures {
    let h = Body::new(surface).hydrostatics(draught, Water::SEA).expect("afloat");
    [h.volume, h.awp, h.lwl, h.bwl, h.cb, h.cp, h.lcb, h.lcf, h.kb, h.bmt, h.wetted_surface]
}

/// Errors in standard deviations; and how sure the figures are, as parts of themselves.
fn errors(truth: &Truth<'_>, survey: &Survey) -> (Vec<f64>, Vec<f64>) {
    let hull = fair(survey, &Options::default()).expect("a hull");
    let (value, draught) = (figures(&hull.surface, truth.draught), truth.draught);
    let drawn: Vec<_> =
        hull.draws(DRAWS, 0).expect("draws").iter().map(|d| figures(&d.surface, draught)).collect();
    let sd = |k: usize| (drawn.iter().map(|d| (d[k] - value[k]).powi(2)).sum::<f64>() / DRAWS as f64).sqrt();
    let own = truth.figures();
    (0..NAMES.len()).map(|k| ((value[k] - own[k]) / sd(k), sd(k) / own[k])).unzip()
}

#[test]
fn figures_of_known_hulls_lie_within_their_uncertainty_in_every_unit() {
    const UNITS: [Place; 4] = [Place::Eighth, Place::Sixteenth, Place::Millimetre, Place::ModelMillimetre];
    const FAMILIES: [Family; 4] =
        [Family::DoubleEnder, Family::HardChine, Family::FirmBilge, Family::FlaredBow];
    // Round at either end, whose frame a draw might leave, and of a siding that changes.
    const KINDS: [Kind; 2] = [Kind::RoundedDoubleEnder, Kind::WideKeel];
    let mut all = Vec::new();
    for (i, place) in UNITS.into_iter().enumerate() {
        let seed = 300 + i as u64;
        // Where the base line falls between two places is as it happens.
        let base = 0.0083 * i as f64;
        let known = Known::new(FAMILIES[i], seed).raised(base);
        let mut found = vec![errors(&Truth::new(&known), &known.survey(&known.layout(11), place))];
        for kind in KINDS {
            let boat = AsBuilt::new(kind, seed).raised(base);
            let mut survey = boat.survey(&boat.taking(11), place);
            survey.half_siding = boat.half_siding(0.0);
            found.push(errors(&Truth::new(&boat), &survey));
        }
        let (off, sure): (Vec<Vec<f64>>, Vec<Vec<f64>>) = found.into_iter().unzip();
        // Wide intervals hold anything: a place is a thousandth of these boats or less.
        assert!(sure.iter().flatten().all(|&sd| sd > 0.0 && sd < 0.02), "{place:?}: {sure:.4?}");
        let square = off.iter().flatten().map(|e| e * e).sum::<f64>() / off.iter().flatten().count() as f64;
        assert!((0.2..4.0).contains(&square), "{place:?}: {square:.2} {off:.1?}");
        all.extend(off.into_iter().flatten());
    }
    let n = all.len() as f64;
    let square = all.iter().map(|e| e * e).sum::<f64>() / n;
    let beyond = all.iter().filter(|e| e.abs() > 2.12).count() as f64 / n;
    // Of sixteen draws an error's square is 16 / 14 on the average, and one in twenty lies beyond Student's t; figures
    // of one boat go together, so that these are worth some forty.
    assert!((0.65..1.6).contains(&square) && beyond < 0.13, "{square:.2} {beyond:.3} {all:.1?}");
}
