//! An exact length.

use std::ops::{Add, Neg, Sub};

/// A length, exact: a count of 10⁻⁷ mm.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length(i64);

impl Length {
    /// Ticks in a millimetre.
    pub const PER_MM: i64 = 10_000_000;
    /// Ticks in 1/128 in: 25.4 mm / 128.
    pub const PER_128TH: i64 = 1_984_375;
    /// Nothing.
    pub const ZERO: Length = Length(0);

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

    /// In metres, the unit of every calculation.
    pub fn metres(self) -> f64 {
        self.0 as f64 / (Self::PER_MM as f64 * 1e3)
    }

    /// In millimetres.
    pub fn mm(self) -> f64 {
        self.0 as f64 / Self::PER_MM as f64
    }
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
