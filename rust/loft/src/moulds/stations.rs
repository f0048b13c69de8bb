//! Where moulds stand: at which stations, which way they lie there, and at which there is none to be made.

use scrieve_hull::Boat;
use scrieve_notation::to_ascii;

use super::error::LoftError;
use super::options::{MouldOptions, Stations};
use crate::{Grid, written};

/// Stations nearer than this are the same, m: half of 1/32 in.
const SAME_STATION_M: f64 = 0.0004;

/// Spots along and up each patch where the widest part is looked for: 1/200 of her length is nearer than
/// any two moulds stand.
const WIDEST_GRID: (usize, usize) = (200, 24);

/// x of the greatest half-breadth of the moulded surface, the foremost where several are as wide.
pub fn widest_part(hull: &Boat) -> f64 {
    let (nu, nv) = WIDEST_GRID;
    let mut best = [f64::INFINITY, f64::NEG_INFINITY, 0.0];
    for patch in &hull.surface().patches {
        for i in 0..=nu {
            for j in 0..=nv {
                let p = patch.point(i as f64 / nu as f64, j as f64 / nv as f64);
                let wider = p[1] - best[1];
                if wider > 1e-9 || (wider > -1e-9 && p[0] < best[0]) {
                    best = p;
                }
            }
        }
    }
    best[0]
}

/// Whether a station stands so near either end that the planking alone fills her there.
fn is_her_end(hull: &Boat, x: f64, deduction: f64) -> bool {
    let (from, to) = hull.extent([1.0, 0.0, 0.0]);
    let near = deduction.max(SAME_STATION_M);
    x < from + near || x > to - near
}

/// Why a mould that could not be made is none to be made: she ends there, or is too narrow. `None` of other errors.
pub(super) fn left_out(hull: &Boat, x: f64, deduction: f64, error: &LoftError) -> Option<String> {
    match error {
        _ if is_her_end(hull, x, deduction) => Some("she ends there".to_owned()),
        LoftError::TooNarrow { .. } => Some(error.to_string()),
        _ => None,
    }
}

/// What stands in the place of a mould that is left out near an end.
pub(super) fn instead(hull: &Boat, x: f64) -> String {
    let (survey, (from, to)) = (hull.survey(), hull.extent([1.0, 0.0, 0.0]));
    let is_fore = x - from < to - x;
    let end = match is_fore {
        true => (!survey.stem.is_empty()).then_some("stem"),
        false if survey.transom.is_some() => Some("transom"),
        false => (!survey.stern.is_empty()).then_some("sternpost"),
    };
    match end {
        Some(end) => format!("bend the ribbands in to the {end}, and check them there against the lines"),
        None => format!(
            "nothing is told of her end beyond it: give {} in the table, or a mould a little inside her",
            if is_fore { "`[stem]`" } else { "`[sternpost]` or `[transom]`" }
        ),
    }
}

pub(super) fn stations(hull: &Boat, options: &MouldOptions, grid: &Grid) -> Vec<(String, f64)> {
    let named = |x: f64| {
        let known = grid.stations.iter().find(|(_, at)| (at - x).abs() < SAME_STATION_M);
        (known.map_or_else(|| written(x, grid.units), |(name, _)| name.clone()), x)
    };
    let list: Vec<(String, f64)> = match &options.stations {
        Stations::Table => grid.stations.clone(),
        Stations::At(list) => list.iter().copied().map(named).collect(),
        Stations::Every(spacing) => {
            let (_, aft) = hull.extent([1.0, 0.0, 0.0]);
            (1..).map(|k| f64::from(k) * spacing).take_while(|&x| x < aft).map(named).collect()
        }
    };
    in_plain_letters(list)
}

/// The names as cutters can read them; stations whose names differ in their accents alone are told apart by their
/// order.
fn in_plain_letters(list: Vec<(String, f64)>) -> Vec<(String, f64)> {
    let plain: Vec<String> = list.iter().map(|(name, _)| to_ascii(name)).collect();
    let told_apart = |i: usize| {
        let is_double = |k: usize| plain[k] == plain[i] && list[k].0 != list[i].0;
        match (0..list.len()).any(is_double) {
            true => format!("{} ({})", plain[i], i + 1),
            false => plain[i].clone(),
        }
    };
    (0..list.len()).map(|i| (told_apart(i), list[i].1)).collect()
}
