//! The grammar of readings: from text to the parts that stand in it.
//!
//! It says what the parts are, not what they are worth: that is `meaning`'s. The longest form comes first
//! in each choice, and of several failures the furthest is kept, which is where the writer's hand slipped.

use nom::branch::alt;
use nom::bytes::complete::{tag, take_while, take_while1};
use nom::character::complete::{anychar, char, one_of, satisfy};
use nom::combinator::{eof, map, map_opt, not, opt, peek, recognize, value, verify};
use nom::error::{ContextError, ErrorKind, ParseError, context};
use nom::sequence::{preceded, separated_pair, terminated};
use nom::{IResult, Parser};

use crate::Mark;

/// What one cell holds.
#[derive(Debug)]
pub(crate) enum Cell<'a> {
    /// Empty, `x`, or a printer's dashes or dots.
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
    Two { first: Whole<'a>, second: Whole<'a>, fraction: Option<Fraction<'a>> },
    /// `3-4-5/8`: feet, inches and a fraction of an inch.
    TwoAndInchFraction { feet: Whole<'a>, inches: Whole<'a>, fraction: Fraction<'a> },
    /// `10 1-2`, `1-8 1-2`, `3-8"`: inches with a fraction set with a dash, which only an inch sign tells from parts.
    Dashed { feet: Option<Whole<'a>>, inches: Option<Whole<'a>>, fraction: Fraction<'a> },
    /// `1031.9 mm`; `1031.9`, which is two parts where readings are in feet, inches and eighths.
    Decimal { number: &'a str, unit: Option<MetricUnit> },
}

impl Amount<'_> {
    /// Written with a point or in metric units, so that `+` and `-` have no eighths to go with.
    fn is_decimal(&self) -> bool {
        match self {
            Amount::Decimal { .. } | Amount::Inches { inches: Inches::Decimal(_), .. } => true,
            Amount::Feet { feet, inches } => {
                feet.contains(is_point) || matches!(inches, Some(Inches::Decimal(_)))
            }
            _ => false,
        }
    }
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
    Strong,
    /// `-`
    Bare,
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
    if let Ok((_, written)) = plain_hand(text) {
        return Ok(Cell::Reading(written));
    }
    let stop = match written(text) {
        Ok(("", written)) => return Ok(Cell::Reading(written)),
        Ok((rest, _)) => after_a_reading(text, rest),
        Err(nom::Err::Error(stop) | nom::Err::Failure(stop)) => stop,
        Err(nom::Err::Incomplete(_)) => Stop { at: &text[text.len()..], expected: "more" },
    };
    if nothing(text).is_ok() { Ok(Cell::Nothing) } else { Err(stop) }
}

/// A number that is two parts with a point between, as `3.4`, taken apart.
pub(crate) fn two_parts_of(number: &str) -> Option<(Whole<'_>, Whole<'_>)> {
    separated_pair(whole, char('.'), whole).parse(number).ok().map(|(_, parts)| parts)
}

/// Reads what a file says `+` is worth: `1/16`.
pub(crate) fn only_fraction(text: &str) -> Option<Fraction<'_>> {
    terminated(fraction, eof).parse(text.trim()).ok().map(|(_, fraction)| fraction)
}

/// `x`, or the dashes and dots a printer fills an empty cell with: `-`, `....`, `. . .`, `—`.
fn nothing(i: &str) -> Step<'_, &str> {
    let leader = |c: char| is_dash(c) || c.is_whitespace() || matches!(c, '.' | '…' | '‥' | '·' | '•' | '_');
    terminated(alt((recognize(one_of("xX")), take_while1(leader))), eof).parse(i)
}

/// What was wanted where a sound reading is followed by more.
fn after_a_reading<'a>(text: &'a str, rest: &'a str) -> Stop<'a> {
    let next = rest.trim_start();
    let first = next.chars().next().unwrap_or(' ');
    let before = &text[..text.len() - rest.len()];
    let is_between = |c: char| is_dash(c) || c == '.' || c == ':';
    // `3-4-5/`: what is missing is at the slash, wherever the last sound reading ended.
    if let Some(slash) = next.find('/').filter(|at| *at > 0) {
        return Stop { at: &next[slash + 1..], expected: "a fraction of an inch, such as 5/8" };
    }
    let after = next[first.len_utf8().min(next.len())..].trim_start();
    let expected = match first {
        '/' => "the end of the reading",
        '?' | '!' => "one mark only, `?` or `!`",
        ',' => "a decimal point",
        '+' => "`+` once, after whole inches or eighths",
        _ if is_between(first) && !after.starts_with(|c: char| c.is_ascii_digit()) => {
            return Stop { at: after, expected: "the next part of the reading" };
        }
        _ if is_between(first) && before.contains(first) => "no more than three parts",
        _ if is_between(first) => "the same mark between all parts",
        // `3-4-q`: the last dash was taken for a bare reading's.
        _ if before.ends_with(is_dash) => "the next part, or the end of the reading",
        _ if ["mm", "cm", "m", "in", "ft"].iter().any(|unit| next.starts_with(unit)) => {
            "the end of the reading, whose units are already given"
        }
        _ if first.is_alphabetic() => "a unit (mm, cm, m, in or ft) or the end of the reading",
        _ => "the end of the reading",
    };
    Stop { at: next, expected }
}

/// `3-4-5+`, the commonest hand: nothing here that the whole grammar would not read, but read at once.
fn plain_hand(text: &str) -> Step<'_, Written<'_>> {
    let (i, sign) = opt(char('-')).parse(text)?;
    let (i, (feet, _, inches, _, eighths)) = (whole, char('-'), whole, char('-'), whole).parse(i)?;
    let (i, strength) = match i.as_bytes() {
        [] => (i, None),
        [b'+'] => ("", Some(Strength::Strong)),
        [b'-'] => ("", Some(Strength::Bare)),
        _ => return Err(nom::Err::Error(Stop { at: i, expected: "" })),
    };
    let amount = Amount::Three { feet, inches, eighths, fraction: None };
    Ok((i, Written { negative: sign.is_some(), amount, strength, mark: Mark::Plain, text }))
}

fn written(text: &str) -> Step<'_, Written<'_>> {
    let (i, sign) = opt(satisfy(|c| is_dash(c) || c == '+')).parse(text)?;
    let (i, amount) = amount(i)?;
    let (i, strength) = if amount.is_decimal() { (i, None) } else { opt(strength).parse(i)? };
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
        dashed,
        three_parts,
        decimal_or_metric,
        feet_and_inches,
        map(terminated(alt((dashed_inches, inches)), inch_sign), |inches| Amount::Inches {
            inches,
            signed: true,
        }),
        map(terminated(dashed_fraction, inch_sign), |fraction| Amount::Dashed {
            feet: None,
            inches: None,
            fraction,
        }),
        map((whole, raised), |(inches, eighths)| Amount::InchesAndRaised { inches, eighths }),
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

/// `10 1-2`, `1-8 1-2`, with no sign after it.
fn dashed(i: &str) -> Step<'_, Amount<'_>> {
    let between = || verify(between, |b| matches!(b, Between::Dash | Between::Space));
    let (i, first) = whole(i)?;
    let (i, second) = opt(terminated(preceded(between(), whole), peek((space, dashed_fraction)))).parse(i)?;
    let (i, fraction) = preceded(space, dashed_fraction).parse(i)?;
    let (i, _) = peek((blank, opt(one_of("?!")), eof)).parse(i)?;
    let (feet, inches) = second.map_or((None, first), |second| (Some(first), second));
    Ok((i, Amount::Dashed { feet, inches: Some(inches), fraction }))
}

/// `3-4-5`, `3 4⁵`, `3-4^5`, `3-4 5`; not `3-4-5/8`.
fn three_parts(i: &str) -> Step<'_, Amount<'_>> {
    let (i, (feet, between, inches)) = (whole, between, whole).parse(i)?;
    let same = verify(self::between, |second| *second == between);
    let same = context("the same mark between all parts", same);
    // An eighth that was raised on the page and is not on the copy.
    let dropped =
        terminated(preceded(space, whole), not((blank, satisfy(|c| is_dash(c) || c == '/'), blank, digits)));
    let dropped = verify(dropped, |_| between == Between::Dash);
    let (i, eighths) = alt((preceded(same, whole), preceded(blank, raised), dropped)).parse(i)?;
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
    Ok((i, Amount::Two { first, second, fraction }))
}

/// `3'`, `3'4-5/8"`, `3 ft 4.5 in`; the inch sign may be left off.
fn feet_and_inches(i: &str) -> Step<'_, Amount<'_>> {
    let (i, feet) = terminated(decimal, foot_sign).parse(i)?;
    let only_fraction = map(terminated(dashed_fraction, inch_sign), |fraction| Inches::Whole {
        whole: None,
        fraction: Some(fraction),
    });
    let inches = alt((only_fraction, terminated(alt((dashed_inches, inches)), opt(inch_sign))));
    let (i, inches) = opt(preceded(joint, inches)).parse(i)?;
    Ok((i, Amount::Feet { feet, inches }))
}

/// `10 1-2`.
fn dashed_inches(i: &str) -> Step<'_, Inches<'_>> {
    map((whole, space, dashed_fraction), |(whole, _, fraction)| Inches::Whole {
        whole: Some(whole),
        fraction: Some(fraction),
    })
    .parse(i)
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

/// `1031.9`, with nothing after it but a mark, or `1031.9 mm`.
fn decimal_or_metric(i: &str) -> Step<'_, Amount<'_>> {
    let unit = alt((
        value(Some(MetricUnit::Millimetres), tag("mm")),
        value(Some(MetricUnit::Centimetres), tag("cm")),
        value(Some(MetricUnit::Metres), tag("m")),
    ));
    let end = value(None, peek((blank, opt(one_of("?!")), eof)));
    let (i, (number, unit)) = (decimal, alt((end, preceded(blank, unit)))).parse(i)?;
    Ok((i, Amount::Decimal { number, unit }))
}

/// `+`, `-` or `+1/32`.
fn strength(i: &str) -> Step<'_, Strength<'_>> {
    preceded(
        blank,
        alt((
            map(preceded(char('+'), fraction), Strength::By),
            value(Strength::Strong, char('+')),
            value(Strength::Bare, terminated(satisfy(is_dash), not((blank, digits)))),
        )),
    )
    .parse(i)
}

fn between(i: &str) -> Step<'_, Between> {
    let (after, space) = blank(i)?;
    let mark = map_opt(anychar, |c| match c {
        '.' if space.is_empty() => Some(Between::Point),
        ':' => Some(Between::Colon),
        _ if is_dash(c) => Some(Between::Dash),
        _ => None,
    });
    match terminated(mark, blank).parse(after) {
        Err(_) if !space.is_empty() => Ok((after, Between::Space)),
        found => found,
    }
}

/// What stands between feet and inches, or inches and their fraction, where signs tell them apart.
fn joint(i: &str) -> Step<'_, ()> {
    value((), (blank, opt((satisfy(is_dash), blank)))).parse(i)
}

/// Eighths written as a raised digit, `⁵`, or as `^5`.
fn raised(i: &str) -> Step<'_, Whole<'_>> {
    alt((preceded(char('^'), whole), small_digits)).parse(i)
}

#[inline]
fn whole(i: &str) -> Step<'_, Whole<'_>> {
    let (mut value, mut count) = (0u32, 0);
    for digit in i.bytes().map(|b| b.wrapping_sub(b'0')).take_while(|digit| *digit < 10) {
        value = value.saturating_mul(10).saturating_add(u32::from(digit));
        count += 1;
    }
    if count == 0 {
        return Err(nom::Err::Error(Stop { at: i, expected: "a number" }));
    }
    Ok((&i[count..], Whole { text: &i[..count], value }))
}

fn digits(i: &str) -> Step<'_, &str> {
    map(whole, |whole| whole.text).parse(i)
}

/// `1031.9`, `1031`, `.5`; with a comma too, which is for the dialect to allow.
fn decimal(i: &str) -> Step<'_, &str> {
    let point = || satisfy(is_point);
    alt((recognize((digits, opt((point(), digits)))), recognize((point(), digits)))).parse(i)
}

/// What parts the decimals; the raised point is a British printer's.
pub(crate) fn is_point(c: char) -> bool {
    matches!(c, '.' | ',' | '·')
}

/// `⅝`, `5/8`, `⁵⁄₈`.
fn fraction(i: &str) -> Step<'_, Fraction<'_>> {
    alt((one_sign_fraction, slashed_fraction)).parse(i)
}

fn one_sign_fraction(i: &str) -> Step<'_, Fraction<'_>> {
    let (rest, (numerator, denominator)) = map_opt(anychar, |c| {
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

/// `1-2`, `3-8`, `5-16` of an inch.
fn dashed_fraction(i: &str) -> Step<'_, Fraction<'_>> {
    let (rest, (numerator, _, denominator)) = (whole, satisfy(is_dash), whole).parse(i)?;
    let (n, d) = (numerator.value, denominator.value);
    if !is_dashed_fraction(n, d) {
        return Err(nom::Err::Error(Stop { at: i, expected: "a fraction of an inch, such as 5/8" }));
    }
    let text = &i[..i.len() - rest.len()];
    Ok((rest, Fraction { text, numerator: n, denominator: d }))
}

/// Whether two numbers with a dash between may be a fraction of an inch.
pub(crate) fn is_dashed_fraction(numerator: u32, denominator: u32) -> bool {
    matches!(denominator, 2 | 4 | 8 | 16 | 32 | 64) && (1..denominator).contains(&numerator)
}

fn slashed_fraction(i: &str) -> Step<'_, Fraction<'_>> {
    let (rest, (numerator, _, denominator)) =
        (alt((whole, small_digits)), slash, alt((whole, small_digits))).parse(i)?;
    let text = &i[..i.len() - rest.len()];
    Ok((rest, Fraction { text, numerator: numerator.value, denominator: denominator.value }))
}

fn slash(i: &str) -> Step<'_, char> {
    context("`/` and the rest of a fraction", one_of("/⁄∕")).parse(i)
}

/// Superscript or subscript digits.
fn small_digits(i: &str) -> Step<'_, Whole<'_>> {
    if i.bytes().next().is_none_or(|b| b.is_ascii()) {
        return Err(nom::Err::Error(Stop { at: i, expected: "a number" }));
    }
    map(take_while1(|c| small_digit(c).is_some()), |text: &str| Whole {
        text,
        value: text
            .chars()
            .filter_map(small_digit)
            .fold(0u32, |n, digit| n.saturating_mul(10).saturating_add(digit)),
    })
    .parse(i)
}

fn foot_sign(i: &str) -> Step<'_, ()> {
    // A doubled foot sign is an inch sign.
    let sign = terminated(recognize(one_of("'′’")), not(one_of("'′’")));
    let word = alt((tag("feet"), tag("foot"), tag("ft")));
    value((), preceded(blank, alt((sign, terminated(word, opt(char('.'))))))).parse(i)
}

fn inch_sign(i: &str) -> Step<'_, ()> {
    let signs = alt((tag("\""), tag("″"), tag("”"), tag("''"), tag("′′"), tag("’’")));
    let word = alt((tag("inches"), tag("inch"), tag("ins"), tag("in")));
    value((), preceded(blank, alt((signs, terminated(word, opt(char('.'))))))).parse(i)
}

/// Blanks, one at least.
fn space(i: &str) -> Step<'_, &str> {
    take_while1(char::is_whitespace).parse(i)
}

#[inline]
fn blank(i: &str) -> Step<'_, &str> {
    match i.as_bytes().first() {
        // Most of the time there is none.
        None | Some(b'!'..=b'~') => Ok((i, &i[..0])),
        _ => take_while(char::is_whitespace).parse(i),
    }
}

/// The hyphen of a keyboard, the dashes of a printer and the minus sign.
#[inline]
fn is_dash(c: char) -> bool {
    c == '-' || matches!(c, '‐' | '‑' | '‒' | '–' | '—' | '−')
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
