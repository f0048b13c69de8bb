//! Scales as they are written on models and drawings: `1 in = 1 ft`, `3/4 in = 1 ft`, `1:16`.
//!
//! Held as a ratio of whole numbers till the last, so that `3/4 in = 1 ft` is 16 and nothing near it.

use nom::branch::alt;
use nom::bytes::complete::{tag, take_while_m_n};
use nom::character::complete::{char, space0, space1};
use nom::combinator::{all_consuming, map, opt, value};
use nom::sequence::{preceded, separated_pair, terminated};
use nom::{IResult, Parser};

/// The greatest scale: a ship's model at 1:500 is still in hand's reach, a hundredth of that is a slip.
const GREATEST: f64 = 1000.0;

/// What readings are multiplied by to give full size; `None` where it is no scale, or one under 1.
pub(crate) fn parse_scale(text: &str) -> Option<f64> {
    let (_, ((model, m), (full, f))) = all_consuming(alt((ratio, equation))).parse(text.trim()).ok()?;
    let (up, down) = (i128::from(full) * i128::from(m), i128::from(model) * i128::from(f));
    let scale = (down != 0).then(|| up as f64 / down as f64)?;
    (1.0..=GREATEST).contains(&scale).then_some(scale)
}

/// A count over a count.
type Ratio = (i64, i64);

fn ratio(text: &str) -> IResult<&str, (Ratio, Ratio)> {
    separated_pair(number, (space0, char(':'), space0), number).parse(text)
}

fn equation(text: &str) -> IResult<&str, (Ratio, Ratio)> {
    separated_pair(length, (space0, char('='), space0), length).parse(text)
}

fn length(text: &str) -> IResult<&str, Ratio> {
    // In tenths of a millimetre.
    let unit = alt((
        value(254, alt((tag("inches"), tag("inch"), tag("in"), tag("\"")))),
        value(3048, alt((tag("feet"), tag("foot"), tag("ft"), tag("'")))),
        value(10, tag("mm")),
        value(100, tag("cm")),
        value(10_000, tag("m")),
    ));
    map((terminated(number, space0), unit), |((n, d), unit): (Ratio, i64)| (n * unit, d)).parse(text)
}

fn number(text: &str) -> IResult<&str, Ratio> {
    let fraction = map(separated_pair(digits, char('/'), digits), |(n, d)| (n.0, d.0));
    let mixed = map(
        (terminated(digits, alt((space1, tag("-")))), separated_pair(digits, char('/'), digits)),
        |(w, (n, d))| (w.0 * d.0 + n.0, d.0),
    );
    let decimal = map((digits, opt(preceded(char('.'), digits))), |(w, part)| match part {
        Some((p, places)) => (w.0 * 10_i64.pow(places) + p, 10_i64.pow(places)),
        None => (w.0, 1),
    });
    alt((mixed, fraction, decimal)).parse(text)
}

/// A whole number and its count of digits; six at most, so that no product overflows.
fn digits(text: &str) -> IResult<&str, (i64, u32)> {
    map(take_while_m_n(1, 6, |c: char| c.is_ascii_digit()), |d: &str| {
        (d.bytes().fold(0, |n, b| n * 10 + i64::from(b - b'0')), d.len() as u32)
    })
    .parse(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_handbooks_scales_are_exact() {
        // Handbook, sections 3 and 4; the ratios follow from 12 in to the foot.
        for (written, times) in [
            ("1 in = 1 ft", 12.0),
            ("3/4 in = 1 ft", 16.0),
            ("1 1/2 in = 1 ft", 8.0),
            ("1-1/2\" = 1'", 8.0),
            ("1.5 in = 1 ft", 8.0),
            ("1:16", 16.0),
            ("1:1", 1.0),
            ("2 cm = 1 m", 50.0),
            ("1:10.5", 10.5),
        ] {
            assert_eq!(parse_scale(written), Some(times), "{written}");
        }
    }

    #[test]
    fn a_scale_the_wrong_way_round_or_of_nothing_is_none() {
        for written in
            ["1 ft = 1 in", "16:1", "0:1", "1:0", "1/0 in = 1 ft", "1:99999999999", "an inch", "12", ""]
        {
            assert_eq!(parse_scale(written), None, "{written}");
        }
    }
}
