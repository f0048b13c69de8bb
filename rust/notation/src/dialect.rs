//! How a file's readings are to be understood.

use crate::Length;

/// The units a table is written in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Units {
    /// `3-4-5`: feet, inches, eighths.
    #[default]
    FeetInchesEighths,
    /// Decimal inches.
    Inches,
    /// Decimal feet, as a surveyor's staff reads.
    Feet,
    /// Millimetres.
    Millimetres,
    /// Centimetres.
    Centimetres,
    /// Metres.
    Metres,
}

impl Units {
    /// All of them.
    pub const ALL: [Units; 6] = [
        Units::FeetInchesEighths,
        Units::Millimetres,
        Units::Centimetres,
        Units::Metres,
        Units::Inches,
        Units::Feet,
    ];

    /// Its name in a file: `feet-inches-eighths`, `mm`, `cm`, `m`, `in` or `ft`.
    pub fn name(self) -> &'static str {
        match self {
            Units::FeetInchesEighths => "feet-inches-eighths",
            Units::Inches => "in",
            Units::Feet => "ft",
            Units::Millimetres => "mm",
            Units::Centimetres => "cm",
            Units::Metres => "m",
        }
    }

    /// The units of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|u| u.name() == name)
    }
}

/// What a reading of two parts means where a file declares it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TwoPart {
    /// `1-6` is 1 ft 6 in.
    FeetInches,
    /// `1-6` is 1 in and 6 eighths.
    InchesEighths,
}

impl TwoPart {
    /// Both of them.
    pub const ALL: [TwoPart; 2] = [TwoPart::FeetInches, TwoPart::InchesEighths];

    /// Its name in a file: `feet-inches` or `inches-eighths`.
    pub fn name(self) -> &'static str {
        match self {
            TwoPart::FeetInches => "feet-inches",
            TwoPart::InchesEighths => "inches-eighths",
        }
    }

    /// The meaning of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|t| t.name() == name)
    }
}

/// What a bare whole number means among feet, inches and eighths where a file declares it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum OnePart {
    /// `10` is 10 in, and `10½` too needs no sign.
    Inches,
    /// `10` is 10 ft.
    Feet,
}

impl OnePart {
    /// Both of them.
    pub const ALL: [OnePart; 2] = [OnePart::Inches, OnePart::Feet];

    /// Its name in a file: `inches` or `feet`.
    pub fn name(self) -> &'static str {
        match self {
            OnePart::Inches => "inches",
            OnePart::Feet => "feet",
        }
    }

    /// The meaning of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|o| o.name() == name)
    }
}

/// How finely a length is written in feet, inches and eighths.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Precision {
    /// To the eighth.
    Eighth,
    /// To the sixteenth, with `+` and `-`.
    #[default]
    Sixteenth,
    /// To the thirty-second.
    ThirtySecond,
    /// Not rounded: to the 1/128 in, and in millimetres where that does not hold it.
    Exact,
}

impl Precision {
    /// All of them.
    pub const ALL: [Precision; 4] =
        [Precision::Eighth, Precision::Sixteenth, Precision::ThirtySecond, Precision::Exact];

    /// Its name: `1/8`, `1/16`, `1/32` or `exact`.
    pub fn name(self) -> &'static str {
        match self {
            Precision::Eighth => "1/8",
            Precision::Sixteenth => "1/16",
            Precision::ThirtySecond => "1/32",
            Precision::Exact => "exact",
        }
    }

    /// The precision of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.name() == name)
    }

    /// The spacing of the lengths it can write; `None` where it does not round.
    pub fn step(self) -> Option<Length> {
        match self {
            Precision::Eighth => Some(Length::EIGHTH),
            Precision::Sixteenth => Some(Length::SIXTEENTH),
            Precision::ThirtySecond => Some(Length::from_128ths(4)),
            Precision::Exact => None,
        }
    }
}

/// How readings are to be understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dialect {
    /// Units of a number written without one.
    pub units: Units,
    /// What `+` and `-` are worth; a sixteenth of an inch unless the file says otherwise
    /// (`parse_plus` reads what it says).
    pub plus: Length,
    /// The meaning of a two-part reading; `None` makes one an error.
    pub two_part: Option<TwoPart>,
    /// The meaning of a bare whole number among feet, inches and eighths; `None` makes one an error.
    pub one_part: Option<OnePart>,
    /// Fractions are set with a dash: `10 1-2` is 10½ in. Where an inch sign tells, no one need say so.
    pub dashed: bool,
    /// Decimals have a comma, and a point is an error.
    pub comma: bool,
    /// Accept parts out of range (`3-12-0`) with a warning.
    pub lenient: bool,
}

impl Default for Dialect {
    fn default() -> Self {
        Dialect {
            units: Units::default(),
            plus: Length::SIXTEENTH,
            two_part: None,
            one_part: None,
            dashed: false,
            comma: false,
            lenient: false,
        }
    }
}
