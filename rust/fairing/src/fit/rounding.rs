//! Errors of readings as rounding makes them: what is left of each to the nearest place of its row's scale.
//!
//! Along a row that hardly changes from station to station (the keel amidships, a waterline at the greatest breadth) all
//! readings are rounded alike, and no number of them makes the line surer; along one that runs through many places they
//! err as if by chance. Both follow from the values themselves when only where the scale begins is left to chance, once
//! a row. Rounding errors of evenly spread values: Bennett, "Spectra of quantized signals", Bell System Technical
//! Journal 27, 1948.

use std::collections::BTreeMap;

use scrieve_offsets::{Block, CellId};

use crate::Residual;
use crate::evidence::Which;
use crate::fit::Fit;
use crate::keel::Keel;
use crate::random::Random;
use crate::robust::Judged;

/// A displacement that tells which way something goes, as a part of the length.
const STEP: f64 = 1e-6;

/// One direction in which a reading is rounded.
#[derive(Clone, Copy, Debug)]
struct Scale {
    row: (Block, usize),
    /// What the faired hull measures there, in places of the scale.
    at: f64,
    /// Part of the noise, signed: the whole is of unit variance.
    part: f64,
}

/// Noise of every row of the joint system, in its standard deviations.
pub(crate) struct Rounding {
    /// For each row its scales, and what is no rounding.
    rows: Vec<(Vec<Scale>, f64)>,
}

impl Rounding {
    pub fn new(fit: &Fit<'_>, judged: &[Judged], residuals: &[Residual]) -> Self {
        let faired: BTreeMap<CellId, f64> = residuals.iter().map(|r| (r.cell, r.faired)).collect();
        let rows = judged.iter().map(|j| {
            let scales = j.which.map(|which| scales(fit, which, &faired)).unwrap_or_default();
            let rounded: f64 = scales.iter().map(|s| s.part * s.part).sum();
            (scales, (1.0 - rounded).max(0.0).sqrt())
        });
        Rounding { rows: rows.collect() }
    }

    pub fn draw(&self, random: &mut Random) -> Vec<f64> {
        let mut begins: BTreeMap<(Block, usize), f64> = BTreeMap::new();
        let of_row = |(scales, rest): &(Vec<Scale>, f64)| {
            let rounded = |s: &Scale| {
                let begin = *begins.entry(s.row).or_insert_with(|| random.between(0.0, 1.0));
                let at = s.at + begin;
                s.part * 12f64.sqrt() * (at.round() - at)
            };
            let rounded: f64 = scales.iter().map(rounded).sum();
            rounded + if *rest > 0.0 { rest * random.normal() } else { 0.0 }
        };
        self.rows.iter().map(of_row).collect()
    }
}

/// The scales a reading is rounded on; none for one that is not read along a line, or nobody knows where it is.
fn scales(fit: &Fit<'_>, which: Which, faired: &BTreeMap<CellId, f64>) -> Vec<Scale> {
    let survey = fit.survey;
    let cell = which.cell(survey);
    let (tolerance, sd) = match which {
        Which::Line(i) => (survey.lines[i].tolerance, survey.lines[i].sd),
        Which::Spot(i) => (survey.spots[i].tolerance, survey.spots[i].sd),
        Which::Stem(i) => (survey.stem[i].tolerance, survey.stem[i].sd),
        Which::Stern(i) => (survey.stern[i].tolerance, survey.stern[i].sd),
    };
    let place = 2.0 * tolerance;
    let part = place / 12f64.sqrt() / (fit.premise.noise * sd).max(f64::MIN_POSITIVE);
    if place <= 0.0 {
        return Vec::new();
    }
    // A held reading is as good as exact, whatever it was rounded to.
    let part = part.min(1.0);
    let scale = |row: usize, at: f64, part: f64| Scale { row: (cell.block, row), at: at / place, part };
    let normal = |point: (f64, f64)| {
        let keel = fit.keel.as_ref()?;
        let at = keel.backbone.nearest(point);
        Some((keel.backbone.point(at), keel.backbone.normal(at)))
    };
    let known = || faired.get(&cell).copied();
    match which {
        Which::Line(i) => {
            let written = fit.line_readings.iter().zip(&fit.line_t).find(|(own, _)| **own == i);
            let on_end = written.and_then(|(_, &t)| Keel::read(t));
            let sign = match (on_end, &fit.keel) {
                (Some(at), Some(keel)) => keel.backbone.normal(at).1.signum(),
                _ => 1.0,
            };
            known().map(|at| vec![scale(cell.row, at, sign * part)]).unwrap_or_default()
        }
        Which::Spot(i) => {
            let (spot, placed) = (&survey.spots[i], &fit.placed[i]);
            if spot.along == (0.0, 0.0) || placed.idle {
                return Vec::new();
            }
            let chord = fit.frame.chord(placed.strake, placed.t);
            let step = STEP * fit.frame.length();
            let here = chord.place((spot.y, spot.z));
            let there = chord.place((spot.y + step * spot.along.0, spot.z + step * spot.along.1));
            let sign = (there.1 - here.1 - placed.slope * (there.0 - here.0)).signum();
            known().map(|at| vec![scale(cell.row, at, sign * part)]).unwrap_or_default()
        }
        // Both of a profile's spot: of each what is square to the line.
        Which::Stem(_) | Which::Stern(_) => {
            let spot = match which {
                Which::Stern(i) => survey.stern[i],
                Which::Stem(i) => survey.stem[i],
                _ => return Vec::new(),
            };
            normal((spot.x, spot.z))
                .map(|(p, n)| vec![scale(0, p.0, n.0 * part), scale(1, p.1, n.1 * part)])
                .unwrap_or_default()
        }
    }
}
