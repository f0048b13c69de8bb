//! Scales in common use, and the largest of them at which a drawing fits its sheet.

use scrieve_notation::Units;

use super::{LinesError, LinesOptions};

/// Scales in common use with feet and inches: twelfths and eighths of an inch to the foot, and 1:20.
const FOOT_SCALES: [f64; 18] = [
    1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 20.0, 24.0, 32.0, 48.0, 64.0, 96.0, 128.0, 192.0, 384.0, 768.0,
];

/// Scales in common use with metres.
const METRIC_SCALES: [f64; 15] =
    [1.0, 2.0, 2.5, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 100.0, 200.0, 500.0, 1000.0];

pub(super) fn scale_that_fits(
    options: &LinesOptions,
    units: Units,
    size: impl Fn(f64) -> (f64, f64),
) -> Result<f64, LinesError> {
    let fits = |scale: f64| {
        let (w, h) = size(1e3 / scale);
        w <= options.sheet_mm.0 && h <= options.sheet_mm.1
    };
    let too_large = |scale: f64| {
        let (width, height) = size(1e3 / scale);
        LinesError::TooLarge { scale, width, height, sheet: options.sheet_mm }
    };
    match options.scale {
        Some(scale) if !(scale.is_finite() && scale > 0.0) => Err(LinesError::Scale(scale)),
        Some(scale) if fits(scale) => Ok(scale),
        Some(scale) => Err(too_large(scale)),
        None => {
            let scales: &[f64] = if is_feet(units) { &FOOT_SCALES } else { &METRIC_SCALES };
            let found = scales.iter().copied().find(|s| fits(*s));
            found.ok_or_else(|| too_large(scales[scales.len() - 1]))
        }
    }
}

pub(super) fn is_feet(units: Units) -> bool {
    matches!(units, Units::FeetInchesEighths | Units::Inches | Units::Feet)
}
