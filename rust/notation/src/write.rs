//! Writing lengths as readings, in ASCII.

use std::fmt::Write;

use crate::length::divide_to_even;
use crate::{Dialect, Length, Precision, Units};

/// Decimals of an inch that tell any two lengths apart: 10⁻⁹ in is a quarter of a tick.
const INCH_DECIMALS: u32 = 9;
/// The same of a foot: 10⁻¹⁰ ft is a third of a tick.
const FOOT_DECIMALS: u32 = 10;

/// Writes a length in the given units, `+` being a sixteenth; see [`Dialect::write`].
pub fn write_length(length: Length, units: Units, precision: Precision) -> String {
    Dialect { units, ..Dialect::default() }.write(length, precision)
}

impl Dialect {
    /// Writes a length as a cell of a file in this dialect, which reads it back.
    ///
    /// In feet, inches and eighths it is rounded to `precision`, a tie going to the even count; what is left
    /// over the eighth is `+` (or `-` from the next) where that is what `plus` is worth, else written out,
    /// as `3-4-5+1/32`. In other units it is a bare number, not rounded (use [`Length::rounded`]).
    pub fn write(&self, length: Length, precision: Precision) -> String {
        let text = self.write_pointed(length, precision);
        if self.comma { text.replace('.', ",") } else { text }
    }

    fn write_pointed(&self, length: Length, precision: Precision) -> String {
        match self.units {
            Units::FeetInchesEighths => self.write_parts(length, precision),
            Units::Millimetres => decimal(length.ticks().into(), 7),
            Units::Centimetres => decimal(length.ticks().into(), 8),
            Units::Metres => decimal(length.ticks().into(), 10),
            Units::Inches => decimal_of(length, Length::INCH, INCH_DECIMALS),
            Units::Feet => decimal_of(length, Length::FOOT, FOOT_DECIMALS),
        }
    }

    fn write_parts(&self, length: Length, precision: Precision) -> String {
        // In i128, so that the longest length there is can be rounded up.
        let in_128ths = match precision.step() {
            Some(step) => {
                let step = step.ticks().into();
                divide_to_even(length.ticks().into(), step) * step / i128::from(Length::PER_128TH)
            }
            None if length.ticks() % Length::PER_128TH == 0 => i128::from(length.ticks() / Length::PER_128TH),
            None => return decimal(length.ticks().into(), 7) + "mm",
        };
        let magnitude = in_128ths.abs();
        let (mut eighths, over) = (magnitude / 16, magnitude % 16);
        let plus = i128::from(self.plus.ticks());
        let worth = |n: i128| n * i128::from(Length::PER_128TH);
        let mut tail = String::new();
        if over != 0 && worth(over) == plus {
            tail.push('+');
        } else if over != 0 && worth(16 - over) == plus {
            eighths += 1;
            tail.push('-');
        } else if over != 0 {
            let twos = over.trailing_zeros();
            tail = format!("+{}/{}", over >> twos, 128 >> twos);
        }
        let sign = if in_128ths < 0 { "-" } else { "" };
        format!("{sign}{}-{}-{}{tail}", eighths / 96, eighths / 8 % 12, eighths % 8)
    }
}

/// A length as a decimal of a unit that is no power of ten of a tick.
fn decimal_of(length: Length, unit: Length, places: u32) -> String {
    let scaled = i128::from(length.ticks()) * 10i128.pow(places);
    decimal(divide_to_even(scaled, unit.ticks().into()), places)
}

/// `n` × 10^-`places`, without trailing noughts.
fn decimal(n: i128, places: u32) -> String {
    let scale = 10u128.pow(places);
    let (whole, fraction) = (n.unsigned_abs() / scale, n.unsigned_abs() % scale);
    let mut text = format!("{}{whole}", if n < 0 { "-" } else { "" });
    if fraction != 0 {
        // Writing to a String cannot fail.
        let _ = write!(text, ".{fraction:0width$}", width = places as usize);
        text.truncate(text.trim_end_matches('0').len());
    }
    text
}
