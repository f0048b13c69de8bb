//! An exact length.

use std::iter::Sum;
use std::ops::{Add, Mul, Neg, Sub};

/// A length, exact: a count of 10⁻⁷ mm.
///
/// `+`, `-`, `*` and `Sum` panic beyond ±9.2 × 10⁸ m; the `checked_` forms give `None`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length(i64);

impl Length {
    /// Ticks in a millimetre.
    pub const PER_MM: i64 = 10_000_000;
    /// Ticks in 1/128 in: 25.4 mm / 128.
    pub const PER_128TH: i64 = 1_984_375;
    /// Nothing.
    pub const ZERO: Length = Length(0);
    /// A millimetre.
    pub const MILLIMETRE: Length = Length(Self::PER_MM);
    /// A centimetre.
    pub const CENTIMETRE: Length = Length(10 * Self::PER_MM);
    /// A metre.
    pub const METRE: Length = Length(1000 * Self::PER_MM);
    /// A sixteenth of an inch.
    pub const SIXTEENTH: Length = Length::from_128ths(8);
    /// An eighth of an inch.
    pub const EIGHTH: Length = Length::from_128ths(16);
    /// An inch: 25.4 mm (NIST SP 811, appendix B).
    pub const INCH: Length = Length::from_128ths(128);
    /// A foot: 304.8 mm (NIST SP 811, appendix B).
    pub const FOOT: Length = Length::from_128ths(12 * 128);

    /// From a count of 10⁻⁷ mm.
    pub const fn from_ticks(ticks: i64) -> Self {
        Length(ticks)
    }

    /// The count of 10⁻⁷ mm.
    pub const fn ticks(self) -> i64 {
        self.0
    }

    /// From a count of 1/128 in.
    pub const fn from_128ths(n: i64) -> Self {
        Length(n * Self::PER_128TH)
    }

    /// The nearest length to `m` metres; `None` if it is not finite or out of range.
    pub fn from_metres(m: f64) -> Option<Self> {
        let ticks = m * 1e3 * Self::PER_MM as f64;
        (ticks.is_finite() && ticks.abs() < 9e18).then(|| Length(ticks.round() as i64))
    }

    /// From decimal text, such as `1031.9`, in a unit; exact where that is a whole number of ticks, else
    /// the nearest one, a tie going to the even. `None` if the text is not digits with at most one point
    /// and a sign, or is out of range.
    pub fn from_decimal(text: &str, unit: Length) -> Option<Self> {
        // The eighteenth decimal of a metre is a hundred-millionth of a tick; what lies past it is dropped.
        const DECIMALS: usize = 18;
        let (negative, digits) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
        let is_digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
        if whole.len() + fraction.len() == 0 || !is_digits(whole) || !is_digits(fraction) {
            return None;
        }
        let kept = &fraction[..fraction.len().min(DECIMALS)];
        let digits = || whole.bytes().chain(kept.bytes()).map(|digit| digit - b'0');
        let scale = 10i64.pow(kept.len() as u32);
        let ticks = if unit.0 % scale == 0 && whole.len() + kept.len() <= DECIMALS {
            // Nearly always: eighteen digits fit, and nothing is left to round.
            digits().fold(0i64, |n, digit| n * 10 + i64::from(digit)).checked_mul(unit.0 / scale)?
        } else {
            let mut mantissa = 0i128;
            for digit in digits() {
                mantissa = mantissa.checked_mul(10)?.checked_add(i128::from(digit))?;
            }
            let ticks = mantissa.checked_mul(i128::from(unit.0))?;
            i64::try_from(divide_to_even(ticks, i128::from(scale))).ok()?
        };
        Some(Length(if negative { -ticks } else { ticks }))
    }

    /// In metres, the unit of every calculation.
    pub fn metres(self) -> f64 {
        self.0 as f64 / (Self::PER_MM as f64 * 1e3)
    }

    /// In millimetres.
    pub fn mm(self) -> f64 {
        self.0 as f64 / Self::PER_MM as f64
    }

    /// In inches.
    pub fn inches(self) -> f64 {
        self.0 as f64 / Self::INCH.0 as f64
    }

    /// In feet.
    pub fn feet(self) -> f64 {
        self.0 as f64 / Self::FOOT.0 as f64
    }

    /// Without its sign.
    pub const fn abs(self) -> Self {
        Length(self.0.abs())
    }

    /// The sum, if in range.
    pub fn checked_add(self, other: Length) -> Option<Self> {
        self.0.checked_add(other.0).map(Length)
    }

    /// The difference, if in range.
    pub fn checked_sub(self, other: Length) -> Option<Self> {
        self.0.checked_sub(other.0).map(Length)
    }

    /// The product, if in range.
    pub fn checked_mul(self, n: i64) -> Option<Self> {
        self.0.checked_mul(n).map(Length)
    }

    /// `numerator / denominator` of it: exact where that is a whole number of ticks, else the nearest one,
    /// a tie going to the even. `None` if out of range or the denominator is zero.
    pub fn scaled(self, numerator: i64, denominator: i64) -> Option<Self> {
        if denominator == 0 {
            return None;
        }
        let sign = i128::from(denominator.signum());
        let product = sign * i128::from(self.0) * i128::from(numerator);
        i64::try_from(divide_to_even(product, sign * i128::from(denominator))).ok().map(Length)
    }

    /// The nearest whole number of `step`, a tie going to the even count; unchanged if `step` is not more
    /// than nothing or the result is out of range.
    pub fn rounded(self, step: Length) -> Self {
        if step.0 <= 0 {
            return self;
        }
        let count = divide_to_even(i128::from(self.0), i128::from(step.0));
        i64::try_from(count * i128::from(step.0)).map_or(self, Length)
    }
}

/// The nearest whole number to `n / d`, a tie going to the even; `d` is more than nothing.
pub(crate) fn divide_to_even(n: i128, d: i128) -> i128 {
    let (floor, rest) = (n.div_euclid(d), n.rem_euclid(d));
    let up = rest > d - rest || (rest == d - rest && floor % 2 != 0);
    floor + i128::from(up)
}

impl Add for Length {
    type Output = Length;
    fn add(self, other: Length) -> Length {
        Length(self.0 + other.0)
    }
}

impl Sub for Length {
    type Output = Length;
    fn sub(self, other: Length) -> Length {
        Length(self.0 - other.0)
    }
}

impl Neg for Length {
    type Output = Length;
    fn neg(self) -> Length {
        Length(-self.0)
    }
}

impl Mul<i64> for Length {
    type Output = Length;
    fn mul(self, n: i64) -> Length {
        Length(self.0 * n)
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Length>>(lengths: I) -> Length {
        lengths.fold(Length::ZERO, Add::add)
    }
}
