//! The grammar of readings: from text to the parts that stand in it.
//!
//! It says what the parts are, not what they are worth: that is `meaning`'s. The longest form comes first
//! in each choice, and of several failures the furthest is kept, which is where the writer's hand slipped.

use nom::branch::alt;
use nom::bytes::complete::{tag, take_while, take_while1};
use nom::character::complete::{char, digit1, one_of, satisfy};
use nom::combinator::{eof, map, not, opt, recognize, value, verify};
use nom::error::{ContextError, ErrorKind, ParseError, context};
use nom::sequence::{delimited, preceded, terminated};
use nom::{IResult, Parser};

use crate::Mark;

/// What one cell holds.
#[derive(Debug)]
pub(crate) enum Cell<'a> {
    /// Empty, a dash or `x`.
    Nothing,
    /// A reading.
    Reading(Written<'a>),
}

/// A reading, taken apart.
#[derive(Debug)]
pub(crate) struct Written<'a> {
    pub negative: bool,
    pub amount: Amount<'a>,
    pub strength: Option<Strength<'a>>,
    pub mark: Mark,
    /// All of it but the mark.
    pub text: &'a str,
}

/// The number or numbers of a reading.
#[derive(Debug)]
pub(crate) enum Amount<'a> {
    /// `3-4-5`, `3 4⁵`; the fraction is of an eighth.
    Three { feet: Whole<'a>, inches: Whole<'a>, eighths: Whole<'a>, fraction: Option<Fraction<'a>> },
    /// `4⁵`.
    InchesAndRaised { inches: Whole<'a>, eighths: Whole<'a> },
    /// `3'`, `3'4-5/8"`.
    Feet { feet: &'a str, inches: Option<Inches<'a>> },
    /// `4-5/8"`, `40.625 in`; or, without its unit, `4-5/8`.
    Inches { inches: Inches<'a>, signed: bool },
    /// `1-6`, `1-6⅝`.
    Two { first: Whole<'a>, between: Between, second: Whole<'a>, fraction: Option<Fraction<'a>> },
    /// `3-4-5/8`: feet, inches and a fraction of an inch.
    TwoAndInchFraction { feet: Whole<'a>, inches: Whole<'a>, fraction: Fraction<'a> },
    /// `1031.9 mm`, `1031.9`.
    Decimal { number: &'a str, unit: Option<MetricUnit> },
}

/// Inches, with or without a fraction.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Inches<'a> {
    Whole { whole: Option<Whole<'a>>, fraction: Option<Fraction<'a>> },
    Decimal(&'a str),
}

#[derive(Clone, Copy, Debug)]
pub(crate) enum MetricUnit {
    Millimetres,
    Centimetres,
    Metres,
}

/// A whole number; one too large for a u32 is held as `u32::MAX`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Whole<'a> {
    pub text: &'a str,
    pub value: u32,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Fraction<'a> {
    pub text: &'a str,
    pub numerator: u32,
    pub denominator: u32,
}

/// What is added or taken away at the end.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Strength<'a> {
    /// `+`
    Strong(&'a str),
    /// `-`
    Bare(&'a str),
    /// `+1/32`
    By(Fraction<'a>),
}

/// What stands between two parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Between {
    Dash,
    Point,
    Colon,
    Space,
}

/// Where the grammar stopped, and what it wanted there.
#[derive(Debug)]
pub(crate) struct Stop<'a> {
    pub at: &'a str,
    pub expected: &'static str,
}

impl<'a> ParseError<&'a str> for Stop<'a> {
    fn from_error_kind(at: &'a str, _: ErrorKind) -> Self {
        Stop { at, expected: "" }
    }
    fn append(_: &'a str, _: ErrorKind, other: Self) -> Self {
        other
    }
    fn or(self, other: Self) -> Self {
        // What is left is shorter the further the parser came.
        if other.at.len() < self.at.len() { other } else { self }
    }
}

impl<'a> ContextError<&'a str> for Stop<'a> {
    fn add_context(_: &'a str, expected: &'static str, stop: Self) -> Self {
        if stop.expected.is_empty() { Stop { expected, ..stop } } else { stop }
    }
}

type Step<'a, T> = IResult<&'a str, T, Stop<'a>>;

/// Takes a whole cell apart.
pub(crate) fn cell(text: &str) -> Result<Cell<'_>, Stop<'_>> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(Cell::Nothing);
    }
    let stop = match written(text) {
        Ok(("", written)) => return Ok(Cell::Reading(written)),
        Ok((rest, _)) => after_a_reading(text, rest),
        Err(nom::Err::Error(stop) | nom::Err::Failure(stop)) => stop,
        Err(nom::Err::Incomplete(_)) => Stop { at: &text[text.len()..], expected: "more" },
    };
    if nothing(text).is_ok() { Ok(Cell::Nothing) } else { Err(stop) }
}

/// Reads what a file says `+` is worth: `1/16`.
pub(crate) fn only_fraction(text: &str) -> Option<Fraction<'_>> {
    terminated(fraction, eof).parse(text.trim()).ok().map(|(_, fraction)| fraction)
}

fn nothing(i: &str) -> Step<'_, &str> {
    terminated(recognize(satisfy(|c| is_dash(c) || matches!(c, 'x' | 'X'))), eof).parse(i)
}

/// What was wanted where a sound reading is followed by more.
fn after_a_reading<'a>(text: &'a str, rest: &'a str) -> Stop<'a> {
    let next = rest.trim_start();
    let first = next.chars().next().unwrap_or(' ');
    let before = &text[..text.len() - rest.len()];
    let is_between = |c: char| is_dash(c) || c == '.' || c == ':';
    let after = next[first.len_utf8().min(next.len())..].trim_start();
    let expected = match first {
        _ if next.contains('/') => "a fraction of an inch, such as 5/8",
        '?' | '!' => "one mark only, `?` or `!`",
        ',' => "a decimal point",
        '+' => "`+` once, after inches or eighths",
        _ if is_between(first) && !after.starts_with(|c: char| c.is_ascii_digit()) => {
            return Stop { at: after, expected: "the next part of the reading" };
        }
        _ if is_between(first) && before.contains(first) => "no more than three parts",
        _ if is_between(first) => "the same mark between all parts",
        // `3-4-q`: the last dash was taken for a bare reading's.
        _ if before.ends_with(is_dash) => "the next part, or the end of the reading",
        _ if first.is_alphabetic() => "a unit (mm, cm, m, in or ft) or the end of the reading",
        _ => "the end of the reading",
    };
    Stop { at: next, expected }
}

fn written(text: &str) -> Step<'_, Written<'_>> {
    let (i, sign) = opt(satisfy(|c| is_dash(c) || c == '+')).parse(text)?;
    let (i, amount) = amount(i)?;
    let (i, strength) = opt(strength).parse(i)?;
    let own = &text[..text.len() - i.len()];
    let (i, mark) = opt(preceded(blank, one_of("?!"))).parse(i)?;
    let mark = match mark {
        Some('?') => Mark::Doubtful,
        Some(_) => Mark::Held,
        None => Mark::Plain,
    };
    let negative = sign.is_some_and(is_dash);
    Ok((i, Written { negative, amount, strength, mark, text: own }))
}

fn amount(i: &str) -> Step<'_, Amount<'_>> {
    alt((
        three_parts,
        feet_and_inches,
        map(terminated(inches, inch_sign), |inches| Amount::Inches { inches, signed: true }),
        map((whole, raised), |(inches, eighths)| Amount::InchesAndRaised { inches, eighths }),
        metric,
        two_parts,
        map(inches, |inches| match inches {
            Inches::Whole { fraction: Some(_), .. } => Amount::Inches { inches, signed: false },
            Inches::Whole { whole, .. } => {
                Amount::Decimal { number: whole.map_or("", |whole| whole.text), unit: None }
            }
            Inches::Decimal(number) => Amount::Decimal { number, unit: None },
        }),
    ))
    .parse(i)
}

/// `3-4-5`, `3 4⁵`, `3-4^5`; not `3-4-5/8`.
fn three_parts(i: &str) -> Step<'_, Amount<'_>> {
    let (i, (feet, between, inches)) = (whole, between, whole).parse(i)?;
    let same = verify(self::between, |second| *second == between);
    let (i, eighths) =
        alt((raised, preceded(context("the same mark between all parts", same), whole))).parse(i)?;
    let (i, _) = not(slash).parse(i)?;
    let (i, fraction) = opt(preceded(blank, fraction)).parse(i)?;
    Ok((i, Amount::Three { feet, inches, eighths, fraction }))
}

/// `1-6`, `1-6½`, `3-4-5/8`.
fn two_parts(i: &str) -> Step<'_, Amount<'_>> {
    let (i, (first, between, second)) = (whole, between, whole).parse(i)?;
    let (i, _) = not(slash).parse(i)?;
    let same = verify(self::between, |second| *second == between && between != Between::Space);
    if let (i, Some(fraction)) = opt(preceded(same, fraction)).parse(i)? {
        return Ok((i, Amount::TwoAndInchFraction { feet: first, inches: second, fraction }));
    }
    let (i, fraction) = opt(preceded(blank, fraction)).parse(i)?;
    Ok((i, Amount::Two { first, between, second, fraction }))
}

/// `3'`, `3'4-5/8"`, `3 ft 4.5 in`; the inch sign may be left off.
fn feet_and_inches(i: &str) -> Step<'_, Amount<'_>> {
    let (i, feet) = terminated(decimal, foot_sign).parse(i)?;
    let (i, inches) = opt(preceded(joint, terminated(inches, opt(inch_sign)))).parse(i)?;
    Ok((i, Amount::Feet { feet, inches }))
}

/// `4`, `4-5/8`, `4 5/8`, `4⅝`, `5/8`, `4.625`.
fn inches(i: &str) -> Step<'_, Inches<'_>> {
    alt((
        map((whole, preceded(joint, fraction)), |(whole, fraction)| Inches::Whole {
            whole: Some(whole),
            fraction: Some(fraction),
        }),
        map(fraction, |fraction| Inches::Whole { whole: None, fraction: Some(fraction) }),
        map(terminated(whole, not(char('.'))), |whole| Inches::Whole { whole: Some(whole), fraction: None }),
        map(decimal, Inches::Decimal),
    ))
    .parse(i)
}

fn metric(i: &str) -> Step<'_, Amount<'_>> {
    let unit = alt((
        value(MetricUnit::Millimetres, tag("mm")),
        value(MetricUnit::Centimetres, tag("cm")),
        value(MetricUnit::Metres, tag("m")),
    ));
    let (i, (number, unit)) = (decimal, preceded(blank, unit)).parse(i)?;
    Ok((i, Amount::Decimal { number, unit: Some(unit) }))
}

/// `+`, `-` or `+1/32`.
fn strength(i: &str) -> Step<'_, Strength<'_>> {
    preceded(
        blank,
        alt((
            map(preceded(char('+'), fraction), Strength::By),
            map(tag("+"), Strength::Strong),
            map(terminated(recognize(satisfy(is_dash)), not((blank, digit1))), Strength::Bare),
        )),
    )
    .parse(i)
}

fn between(i: &str) -> Step<'_, Between> {
    alt((
        value(Between::Dash, delimited(blank, satisfy(is_dash), blank)),
        value(Between::Point, char('.')),
        value(Between::Colon, delimited(blank, char(':'), blank)),
        value(Between::Space, blank1),
    ))
    .parse(i)
}

/// What stands between feet and inches, or inches and their fraction, where signs tell them apart.
fn joint(i: &str) -> Step<'_, ()> {
    value((), (blank, opt((satisfy(is_dash), blank)))).parse(i)
}

/// Eighths written as a raised digit, `⁵`, or as `^5`.
fn raised(i: &str) -> Step<'_, Whole<'_>> {
    alt((preceded(char('^'), whole), small_digits)).parse(i)
}

fn whole(i: &str) -> Step<'_, Whole<'_>> {
    map(context("a number", digit1), |text: &str| Whole { text, value: number_in(text) }).parse(i)
}

/// `1031.9`, `1031`, `.5`.
fn decimal(i: &str) -> Step<'_, &str> {
    alt((recognize((digit1, opt((char('.'), digit1)))), recognize((char('.'), digit1)))).parse(i)
}

/// `⅝`, `5/8`, `⁵⁄₈`.
fn fraction(i: &str) -> Step<'_, Fraction<'_>> {
    alt((one_sign_fraction, slashed_fraction)).parse(i)
}

fn one_sign_fraction(i: &str) -> Step<'_, Fraction<'_>> {
    let (rest, (numerator, denominator)) = nom::combinator::map_opt(satisfy(|c| !c.is_ascii()), |c| {
        Some(match c {
            '½' => (1, 2),
            '¼' => (1, 4),
            '¾' => (3, 4),
            '⅛' => (1, 8),
            '⅜' => (3, 8),
            '⅝' => (5, 8),
            '⅞' => (7, 8),
            '⅓' => (1, 3),
            '⅔' => (2, 3),
            _ => return None,
        })
    })
    .parse(i)?;
    Ok((rest, Fraction { text: &i[..i.len() - rest.len()], numerator, denominator }))
}

fn slashed_fraction(i: &str) -> Step<'_, Fraction<'_>> {
    let (rest, (numerator, _, denominator)) =
        (alt((whole, small_digits)), slash, alt((whole, small_digits))).parse(i)?;
    let text = &i[..i.len() - rest.len()];
    Ok((rest, Fraction { text, numerator: numerator.value, denominator: denominator.value }))
}

fn slash(i: &str) -> Step<'_, char> {
    one_of("/⁄∕").parse(i)
}

/// Superscript or subscript digits.
fn small_digits(i: &str) -> Step<'_, Whole<'_>> {
    map(take_while1(|c| small_digit(c).is_some()), |text: &str| Whole { text, value: number_in(text) })
        .parse(i)
}

fn foot_sign(i: &str) -> Step<'_, ()> {
    // A doubled foot sign is an inch sign.
    let sign = terminated(recognize(one_of("'′’")), not(one_of("'′’")));
    value((), preceded(blank, alt((sign, terminated(tag("ft"), opt(char('.'))))))).parse(i)
}

fn inch_sign(i: &str) -> Step<'_, ()> {
    let signs = alt((tag("\""), tag("″"), tag("”"), tag("''"), tag("′′"), tag("’’")));
    value((), preceded(blank, alt((signs, terminated(tag("in"), opt(char('.'))))))).parse(i)
}

fn blank(i: &str) -> Step<'_, &str> {
    take_while(char::is_whitespace).parse(i)
}

fn blank1(i: &str) -> Step<'_, &str> {
    take_while1(char::is_whitespace).parse(i)
}

/// The hyphen of a keyboard, the dashes of a printer and the minus sign.
fn is_dash(c: char) -> bool {
    matches!(c, '-' | '‐' | '‑' | '‒' | '–' | '—' | '−')
}

fn small_digit(c: char) -> Option<u32> {
    match c {
        '¹' => Some(1),
        '²' => Some(2),
        '³' => Some(3),
        '⁰' | '⁴'..='⁹' => Some(c as u32 - '⁰' as u32),
        '₀'..='₉' => Some(c as u32 - '₀' as u32),
        _ => None,
    }
}

fn number_in(digits: &str) -> u32 {
    let digit = |c: char| c.to_digit(10).or(small_digit(c)).unwrap_or(0);
    digits.chars().fold(0u32, |n, c| n.saturating_mul(10).saturating_add(digit(c)))
}
