//! What a reading's parts are worth: units, ranges and the two-part rule.
//!
//! Sums are made in whole 1/128 in wherever the reading is in inches, so nothing is rounded.

use std::borrow::Cow;

use crate::grammar::{self, Amount, Cell, Fraction, Inches, MetricUnit, Strength, Whole, Written};
use crate::{Dialect, Length, NotationError, OnePart, Parsed, Precision, TwoPart, Units};

/// The longest reading taken, either way: 10 km. Beyond any vessel, and short enough that no table's sums
/// overflow.
pub const LONGEST: Length = Length::from_ticks(10_000 * 1000 * Length::PER_MM);

/// More than this in one part is beyond [`LONGEST`] in any unit but the millimetre, and is refused before
/// it is multiplied.
const LARGEST_PART: u32 = 9_999_999;

/// What `+` may be worth: more would carry into the eighths.
const UNDER_AN_EIGHTH: &str = "a fraction of an inch under 1/8, such as 1/32";

const OF_AN_INCH: &str = "a fraction of an inch, halves to 128ths";
const OF_AN_EIGHTH: &str = "half or quarters of an eighth";

/// Most characters of a text that a message repeats; a whole file pasted into one cell is not read aloud.
const MOST_QUOTED: usize = 40;

/// Reads one cell: `Ok(None)` where it is empty, `x`, or dashes or dots (`-`, `....`), no reading here.
///
/// | written | means |
/// | --- | --- |
/// | `3-4-5` `3.4.5` `3:4:5` `3 4 5` | 3 ft 4⅝ in; any dash, the same mark between all parts |
/// | `3-4^5` `3 4⁵` `4⁵` `3-4 5` | the same with the eighths raised; inches and eighths; raised on the page only |
/// | `10 1-2"` `1' 8 1-2"` | a fraction set with a dash, told by the sign; without one, where the dialect says `dashed` |
/// | `10` `10½` | inches or feet, as the dialect declares; else an error |
/// | `3-4-5+` `3-4-5-` | what `plus` is worth more, or less |
/// | `3-4-5½` `3-4-5+1/32` | half an eighth more; a thirty-second of an inch more |
/// | `3'4-5/8"` `3 ft 4⅝ in` `4-5/8"` `3-4-5/8` | feet, inches and a fraction of an inch |
/// | `1031.9mm` `103.19cm` `1.0319 m` `40.625in` `3.5ft` | decimals with a unit, or in the dialect's units |
/// | `1-6` `1.6` `1-6½` | two parts, as the dialect declares; else an error that says both meanings |
///
/// A leading minus makes the whole negative, `+` or `-` at its end included; `?` or `!` at the end is the
/// mark.
/// Decimals finer than 10⁻⁷ mm go to the nearest. An error's span is of bytes in `text`.
pub fn parse_cell<'a>(text: &'a str, dialect: &Dialect) -> Result<Option<Parsed<'a>>, NotationError> {
    match grammar::cell(text) {
        Ok(Cell::Nothing) => Ok(None),
        Ok(Cell::Reading(written)) => {
            Reader { text, dialect, written: &written, warnings: Vec::new() }.read().map(Some)
        }
        Err(stop) => {
            let found = match stop.at.chars().next() {
                None => "the end".to_owned(),
                Some(c) if c.is_control() => format!("U+{:04X}", u32::from(c)),
                Some(c) => format!("`{c}`"),
            };
            let here = &stop.at[..stop.at.chars().next().map_or(0, char::len_utf8)];
            Err(error(text, here, found, stop.expected))
        }
    }
}

/// Reads what `+` and `-` are worth: a fraction of an inch, as `1/16`, less than an eighth.
pub fn parse_plus(text: &str) -> Result<Length, NotationError> {
    match grammar::only_fraction(text).and_then(|fraction| in_128ths(&fraction, 128)) {
        Some(n) if n < 16 => Ok(Length::from_128ths(n)),
        _ => Err(error(text, text.trim(), quoted(text.trim()), UNDER_AN_EIGHTH)),
    }
}

/// A value and what its last place is worth.
type Worth = (Length, Length);

struct Reader<'a, 'd> {
    text: &'a str,
    dialect: &'d Dialect,
    written: &'d Written<'a>,
    warnings: Vec<NotationError>,
}

impl<'a> Reader<'a, '_> {
    fn read(mut self) -> Result<Parsed<'a>, NotationError> {
        let (length, place) = self.amount()?;
        let (length, place) = self.with_strength(length, place)?;
        let length = if self.written.negative { -length } else { length };
        if length.abs() > LONGEST {
            return Err(self.too_long(self.written.text));
        }
        let (mark, written) = (self.written.mark, self.written.text);
        Ok(Parsed { length, mark, place, written, warnings: self.warnings })
    }

    fn amount(&mut self) -> Result<Worth, NotationError> {
        let inch = Length::INCH;
        match &self.written.amount {
            Amount::Three { feet, inches, eighths, fraction } => {
                self.parts(Some(feet), inches, Some(eighths), fraction.as_ref())
            }
            Amount::InchesAndRaised { inches, eighths } => self.parts(None, inches, Some(eighths), None),
            Amount::TwoAndInchFraction { feet, inches, fraction } => {
                let (length, _) = self.parts(Some(feet), inches, None, None)?;
                self.and_fraction(length, fraction, 128)
            }
            Amount::Two { first, second, fraction } => self.two_parts(first, second, fraction.as_ref()),
            Amount::Feet { feet, inches } => {
                let (feet_length, place) = self.decimal(feet, Length::FOOT)?;
                let Some(inches) = inches else { return Ok((feet_length, place)) };
                if feet.contains(grammar::is_point) {
                    return Err(self.error(feet, quoted(feet), "whole feet before inches"));
                }
                if let Inches::Whole { whole: Some(whole), fraction } = inches {
                    let feet = Whole { text: feet, value: whole_feet(feet_length) };
                    let (length, place) = self.parts(Some(&feet), whole, None, None)?;
                    return match fraction {
                        Some(fraction) => self.and_fraction(length, fraction, 128),
                        None => Ok((length, place)),
                    };
                }
                let (length, place) = self.inches(inches)?;
                if length >= Length::FOOT {
                    let Inches::Decimal(text) = inches else { return Ok((feet_length + length, place)) };
                    self.out_of_range(text, "inches", "under 12", feet_length + length)?;
                }
                Ok((feet_length + length, place))
            }
            Amount::Inches { inches, signed: true } => self.inches(inches),
            Amount::Dashed { feet, inches, fraction } => {
                self.dashed(feet.as_ref(), inches.as_ref(), fraction)
            }
            Amount::Inches { inches, signed: false } => match (self.dialect.units, self.dialect.one_part) {
                (Units::Inches, _) | (Units::FeetInchesEighths, Some(OnePart::Inches)) => self.inches(inches),
                _ => Err(self.unit_wanted(self.inches(inches)?.0)),
            },
            Amount::Decimal { number, unit } => {
                let unit = match (unit, self.dialect.units) {
                    (Some(MetricUnit::Millimetres), _) | (None, Units::Millimetres) => Length::MILLIMETRE,
                    (Some(MetricUnit::Centimetres), _) | (None, Units::Centimetres) => Length::CENTIMETRE,
                    (Some(MetricUnit::Metres), _) | (None, Units::Metres) => Length::METRE,
                    (None, Units::Inches) => inch,
                    (None, Units::Feet) => Length::FOOT,
                    (None, Units::FeetInchesEighths) => {
                        if let Some((first, second)) = grammar::two_parts_of(number) {
                            return self.two_parts(&first, &second, None);
                        }
                        match self.dialect.one_part {
                            Some(OnePart::Inches) if !number.contains(grammar::is_point) => inch,
                            Some(OnePart::Feet) if !number.contains(grammar::is_point) => Length::FOOT,
                            _ => return Err(self.unit_wanted(self.decimal(number, inch)?.0)),
                        }
                    }
                };
                self.decimal(number, unit)
            }
        }
    }

    /// Feet, inches, eighths and a fraction of an eighth, their ranges looked at.
    fn parts(
        &mut self,
        feet: Option<&Whole<'a>>,
        inches: &Whole<'a>,
        eighths: Option<&Whole<'a>>,
        fraction: Option<&Fraction<'a>>,
    ) -> Result<Worth, NotationError> {
        for part in [feet, Some(inches), eighths].into_iter().flatten() {
            if part.value > LARGEST_PART {
                return Err(self.too_long(part.text));
            }
        }
        let of = |part: Option<&Whole<'_>>| i64::from(part.map_or(0, |part| part.value));
        let length = Length::EIGHTH * ((of(feet) * 12 + of(Some(inches))) * 8 + of(eighths));
        if inches.value > 11 && feet.is_some() {
            self.out_of_range(inches.text, "inches", "0 to 11", length)?;
        }
        if let Some(eighths) = eighths.filter(|eighths| eighths.value > 7) {
            self.out_of_range(eighths.text, "eighths", "0 to 7", length)?;
        }
        match fraction {
            // An eighth of an eighth is not written: `3-4-5 5/8` is likelier the eighths twice over.
            Some(fraction) if fraction.denominator > 4 => {
                Err(self.error(fraction.text, quoted(fraction.text), OF_AN_EIGHTH))
            }
            Some(fraction) => self.and_fraction(length, fraction, 16),
            None => Ok((length, if eighths.is_some() { Length::EIGHTH } else { Length::INCH })),
        }
    }

    fn two_parts(
        &mut self,
        first: &Whole<'a>,
        second: &Whole<'a>,
        fraction: Option<&Fraction<'a>>,
    ) -> Result<Worth, NotationError> {
        if self.dialect.dashed && fraction.is_none() && grammar::is_dashed_fraction(first.value, second.value)
        {
            return self.only_dashed(first, second);
        }
        // As eighths of an eighth are not written, such a fraction is of an inch.
        let of_an_inch = fraction.is_some_and(|fraction| fraction.denominator >= 8);
        match (self.dialect.two_part, fraction) {
            (Some(TwoPart::FeetInches), None) => self.parts(Some(first), second, None, None),
            (Some(TwoPart::InchesEighths), _) => self.parts(None, first, Some(second), fraction),
            (Some(TwoPart::FeetInches), Some(fraction)) => {
                let (length, _) = self.parts(Some(first), second, None, None)?;
                self.and_fraction(length, fraction, 128)
            }
            (None, Some(fraction)) if of_an_inch => {
                let (length, _) = self.parts(Some(first), second, None, None)?;
                self.and_fraction(length, fraction, 128)
            }
            (None, _) => Err(self.two_meanings(first, second)),
        }
    }

    /// Inches and a fraction set with a dash, where the dialect has such.
    fn dashed(
        &mut self,
        feet: Option<&Whole<'a>>,
        inches: Option<&Whole<'a>>,
        fraction: &Fraction<'a>,
    ) -> Result<Worth, NotationError> {
        if !self.dialect.dashed {
            let (n, d) = (fraction.numerator, fraction.denominator);
            let before = inches.map_or(String::new(), |inches| format!("{} ", brief(inches.text)));
            let part = inches.map_or(fraction.text, |inches| {
                &self.text[self.start_of(inches.text)..self.end_of(fraction.text)]
            });
            let expected = format!("`{before}{n}/{d}\"`, or fractions declared as dashed");
            return Err(self.error(part, format!("{}, of two meanings", quoted(part)), expected));
        }
        let length = match inches {
            Some(inches) => self.parts(feet, inches, None, None)?.0,
            None => Length::ZERO,
        };
        self.and_fraction(length, fraction, 128)
    }

    /// `3-8` where fractions are set with a dash: that of an inch, unless two parts are declared besides.
    fn only_dashed(&self, first: &Whole<'a>, second: &Whole<'a>) -> Result<Worth, NotationError> {
        let both = &self.text[self.start_of(first.text)..self.end_of(second.text)];
        let (n, d) = (i64::from(first.value), i64::from(second.value));
        if self.dialect.two_part.is_some() {
            let expected = format!("`{n}/{d}\"`, or three parts, `{n}-{d}-0`");
            return Err(self.error(both, format!("{}, a fraction or two parts", quoted(both)), expected));
        }
        Ok((Length::from_128ths(n * 128 / d), Length::from_128ths(128 / d)))
    }

    fn two_meanings(&self, first: &Whole<'a>, second: &Whole<'a>) -> NotationError {
        let both = &self.text[self.start_of(first.text)..self.end_of(second.text)];
        let (a, b) = (brief(first.text), brief(second.text));
        let mut expected =
            format!("three parts: {a} ft {b} in is `{a}-{b}-0`, {a} in {b} eighths is `0-{a}-{b}`");
        if both.contains('.') {
            expected += &format!("; or a unit, as `{a}.{b}in`");
        } else {
            expected += "; or two_part declared as feet-inches or inches-eighths";
        }
        self.error(both, format!("two parts, {}", quoted(both)), expected)
    }

    fn inches(&self, inches: &Inches<'a>) -> Result<Worth, NotationError> {
        match inches {
            Inches::Decimal(number) => self.decimal(number, Length::INCH),
            Inches::Whole { whole, fraction } => {
                let whole = whole.map_or(Ok(Length::ZERO), |whole| {
                    if whole.value > LARGEST_PART {
                        return Err(self.too_long(whole.text));
                    }
                    Ok(Length::INCH * i64::from(whole.value))
                })?;
                match fraction {
                    Some(fraction) => self.and_fraction(whole, fraction, 128),
                    None => Ok((whole, Length::INCH)),
                }
            }
        }
    }

    /// Adds a fraction of a unit of so many 1/128 in.
    fn and_fraction(
        &self,
        length: Length,
        fraction: &Fraction<'a>,
        unit: i64,
    ) -> Result<Worth, NotationError> {
        let Some(n) = in_128ths(fraction, unit) else {
            let expected = if unit == 128 { OF_AN_INCH } else { OF_AN_EIGHTH };
            return Err(self.error(fraction.text, quoted(fraction.text), expected));
        };
        let place = Length::from_128ths(unit / i64::from(fraction.denominator));
        Ok((length + Length::from_128ths(n), place))
    }

    fn decimal(&self, number: &'a str, unit: Length) -> Result<Worth, NotationError> {
        let comma = number.find(',').map(|at| &number[at..=at]);
        let point = number
            .find(['.', '·'])
            .map(|at| &number[at..number.len() - number[at..].trim_start_matches(['.', '·']).len()]);
        match (comma, point) {
            (Some(comma), _) if !self.dialect.comma => {
                return Err(self.error(
                    comma,
                    quoted(comma),
                    "a decimal point, or `,` declared as the decimal mark",
                ));
            }
            (_, Some(point)) if self.dialect.comma => {
                return Err(self.error(point, quoted(point), "a decimal comma, as declared"));
            }
            _ => {}
        }
        let plain: Cow<'_, str> = if number.contains([',', '·']) {
            number.replace([',', '·'], ".").into()
        } else {
            number.into()
        };
        let length = Length::from_decimal(&plain, unit).filter(|length| *length <= LONGEST);
        let length = length.ok_or_else(|| self.too_long(number))?;
        let places = plain.split_once('.').map_or(0, |(_, places)| places.len());
        // Below a tick nothing is held, so that is the finest place there is.
        let place = unit.ticks() / 10i64.saturating_pow(u32::try_from(places).unwrap_or(u32::MAX));
        Ok((length, Length::from_ticks(place.max(1))))
    }

    fn with_strength(&self, length: Length, place: Length) -> Result<Worth, NotationError> {
        let Some(strength) = self.written.strength else { return Ok((length, place)) };
        let plus = self.dialect.plus;
        match strength {
            Strength::Strong => length.checked_add(plus).map(|length| (length, place.min(plus))),
            Strength::Bare => length.checked_sub(plus).map(|length| (length, place.min(plus))),
            Strength::By(fraction) => {
                let n = in_128ths(&fraction, 128)
                    .filter(|n| *n < 16)
                    .ok_or_else(|| self.error(fraction.text, quoted(fraction.text), UNDER_AN_EIGHTH))?;
                let finest = Length::from_128ths(128 / i64::from(fraction.denominator));
                length.checked_add(Length::from_128ths(n)).map(|length| (length, place.min(finest)))
            }
        }
        .ok_or_else(|| self.too_long(self.written.text))
    }

    /// A part out of range: an error, or a warning where the dialect is lenient.
    fn out_of_range(
        &mut self,
        part: &str,
        name: &str,
        range: &str,
        meant: Length,
    ) -> Result<(), NotationError> {
        let sign = if self.written.negative { -1 } else { 1 };
        let meant = Dialect::default().write(meant * sign, Precision::Exact);
        let expected = format!("{name} {range}; it would be `{meant}`");
        let error = self.error(part, format!("{} {name}", brief(part)), expected);
        if self.dialect.lenient {
            self.warnings.push(error);
            return Ok(());
        }
        Err(error)
    }

    /// A bare number where readings are in feet, inches and eighths.
    fn unit_wanted(&self, as_inches: Length) -> NotationError {
        let sign = if self.written.negative { -1 } else { 1 };
        let number = brief(self.written.text);
        let parts = Dialect::default().write(as_inches * sign, Precision::Sixteenth);
        let expected = match self.dialect.units {
            Units::FeetInchesEighths => format!(
                "feet, inches and eighths (`{parts}` if inches are meant) or a unit, as `{number}in`, \
                 `{number}mm`; or one_part declared as inches or feet"
            ),
            _ => format!("a decimal, or its unit, as `{number}in`"),
        };
        self.error(self.written.text, format!("`{number}` without a unit"), expected)
    }

    fn too_long(&self, part: &str) -> NotationError {
        self.error(part, quoted(part), "a length under 10 km")
    }

    fn start_of(&self, part: &str) -> usize {
        offset(self.text, part)
    }

    fn end_of(&self, part: &str) -> usize {
        offset(self.text, part) + part.len()
    }

    fn error(&self, part: &str, found: String, expected: impl Into<Cow<'static, str>>) -> NotationError {
        error(self.text, part, found, expected)
    }
}

/// A fraction of a unit of so many 1/128 in, if it is proper and comes out whole.
fn in_128ths(fraction: &Fraction<'_>, unit: i64) -> Option<i64> {
    let (numerator, denominator) = (i64::from(fraction.numerator), i64::from(fraction.denominator));
    let fits = denominator > 1 && unit % denominator == 0 && (1..denominator).contains(&numerator);
    fits.then(|| numerator * unit / denominator)
}

fn whole_feet(feet: Length) -> u32 {
    u32::try_from(feet.ticks() / Length::FOOT.ticks()).unwrap_or(u32::MAX)
}

fn quoted(text: &str) -> String {
    format!("`{}`", brief(text))
}

fn brief(text: &str) -> Cow<'_, str> {
    match text.char_indices().nth(MOST_QUOTED) {
        Some((end, _)) => format!("{}...", &text[..end]).into(),
        None => text.into(),
    }
}

/// Where `part`, a slice of `text`, begins in it.
fn offset(text: &str, part: &str) -> usize {
    (part.as_ptr() as usize).saturating_sub(text.as_ptr() as usize).min(text.len())
}

fn error(text: &str, part: &str, found: String, expected: impl Into<Cow<'static, str>>) -> NotationError {
    let start = offset(text, part);
    NotationError { span: start..start + part.len(), found, expected: expected.into().into_owned() }
}
