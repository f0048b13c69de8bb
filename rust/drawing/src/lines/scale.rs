//! Sheets and scales in common use, and the largest scale at which a drawing fits its sheet.

use kurbo::Size;
use scrieve_notation::Units;

use super::{LinesError, LinesOptions};
use crate::Paper;

/// Scales in common use with feet and inches: whole inches, halves, thirds, quarters, eighths and sixteenths of one to the
/// foot, and 1:10, 1:15, 1:20, 1:30 and 1:40.
const FOOT_SCALES: [f64; 24] = [
    1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0, 16.0, 18.0, 20.0, 24.0, 30.0, 32.0, 36.0, 40.0, 48.0,
    64.0, 96.0, 128.0, 192.0, 384.0, 768.0,
];

/// Scales in common use with metres.
const METRIC_SCALES: [f64; 16] =
    [1.0, 2.0, 2.5, 5.0, 7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 100.0, 200.0, 500.0];

/// Drawing sheets on their sides, mm: the A sizes (ISO 216, as ISO 5457 has them) and those of ANSI/ASME Y14.1 of which desk
/// printers take the first two.
pub const DRAWING_SHEETS: [(&str, Size); 10] = [
    ("A4", Paper::A4.size_mm()),
    ("A3", Paper::A3.size_mm()),
    ("A2", Size::new(594.0, 420.0)),
    ("A1", Size::new(841.0, 594.0)),
    ("A0", Size::new(1189.0, 841.0)),
    ("Letter", Paper::Letter.size_mm()),
    ("Tabloid", Paper::Tabloid.size_mm()),
    ("ANSI C", Size::new(558.8, 431.8)),
    ("ANSI D", Size::new(863.6, 558.8)),
    ("ANSI E", Size::new(1117.6, 863.6)),
];

/// The sheet that is taken where none is told, and those tried where a scale is.
pub(super) const USUAL_SHEET: Size = DRAWING_SHEETS[1].1;
const TRIED_SHEETS: usize = 5;

/// A drawing longer than this is one to walk along: its letters grow with it, so that they are read from where the whole
/// of it is seen, mm.
const WALKED_ALONG_MM: f64 = 1300.0;

/// A sheet, and the scale of what is drawn on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Setting {
    /// 1 to this.
    pub(super) scale: f64,
    /// mm.
    pub(super) sheet: Size,
    /// How many times it is drawn larger than it is set out, letters and all.
    pub(super) magnified: f64,
}

impl Setting {
    /// Millimetres of the sheet as it is set out to a metre.
    pub(super) fn per_metre(&self) -> f64 {
        1e3 / (self.scale * self.magnified)
    }

    /// The sheet as it is set out, mm.
    pub(super) fn set_out(&self) -> Size {
        self.sheet / self.magnified
    }
}

/// The sheet and scale for a drawing that needs `size`, mm, at so many millimetres to a metre.
///
/// # Errors
/// A scale that is none, or a drawing too large for the sheet that was told.
pub(super) fn setting(
    options: &LinesOptions,
    units: Units,
    size: impl Fn(f64) -> Size,
) -> Result<Setting, LinesError> {
    if let Some(sheet) = options.sheet_mm
        && ![sheet.width, sheet.height].iter().all(|side| SHEET_SIDES_MM.contains(side))
    {
        return Err(LinesError::Sheet(sheet.width, sheet.height));
    }
    let fits = |scale: f64, sheet: Size| {
        let needs = size(1e3 / scale);
        needs.width <= sheet.width && needs.height <= sheet.height
    };
    let too_large = |scale: f64, sheet: Size| {
        let needs = size(1e3 / scale);
        LinesError::TooLarge {
            scale,
            width: needs.width,
            height: needs.height,
            sheet: (sheet.width, sheet.height),
        }
    };
    match (options.scale, options.sheet_mm) {
        (Some(scale), _) if !SCALES.contains(&scale) => Err(LinesError::Scale(scale)),
        (Some(scale), Some(sheet)) => {
            let plain = Setting { scale, sheet, magnified: 1.0 };
            if fits(scale, sheet) { Ok(plain) } else { Err(too_large(scale, sheet)) }
        }
        (Some(scale), None) => {
            let tried = DRAWING_SHEETS[..TRIED_SHEETS].iter().map(|(_, sheet)| *sheet);
            let found = tried.into_iter().find(|sheet| fits(scale, *sheet));
            let of_its_own = || {
                let longest = |magnified: f64| {
                    let needs = size(1e3 / (scale * magnified)) * magnified;
                    needs.width.max(needs.height)
                };
                let magnified = (longest(1.0) / WALKED_ALONG_MM).log2().ceil().exp2().max(1.0);
                let needs = size(1e3 / (scale * magnified));
                // Whole millimetres.
                let sheet = Size::new((needs.width * magnified).ceil(), (needs.height * magnified).ceil());
                Setting { scale, sheet, magnified }
            };
            let found =
                found.map(|sheet| Setting { scale, sheet, magnified: 1.0 }).unwrap_or_else(of_its_own);
            if found.sheet.width.max(found.sheet.height) > *SHEET_SIDES_MM.end() {
                return Err(LinesError::Scale(scale));
            }
            Ok(found)
        }
        (None, sheet) => {
            let sheet = sheet.unwrap_or(USUAL_SHEET);
            let scales: &[f64] = if is_feet(units) { &FOOT_SCALES } else { &METRIC_SCALES };
            let found = scales.iter().copied().find(|s| fits(*s, sheet));
            let found = found.map(|scale| Setting { scale, sheet, magnified: 1.0 });
            found.ok_or_else(|| too_large(scales[scales.len() - 1], sheet))
        }
    }
}

/// Scales that show something: details ten times their size, and a ship the size of a thumb.
const SCALES: std::ops::RangeInclusive<f64> = 0.1..=2000.0;

/// Sides of sheets, mm: the longest is twice as long as any wooden ship was.
const SHEET_SIDES_MM: std::ops::RangeInclusive<f64> = 10.0..=300_000.0;

pub(super) fn is_feet(units: Units) -> bool {
    matches!(units, Units::FeetInchesEighths | Units::Inches | Units::Feet)
}
