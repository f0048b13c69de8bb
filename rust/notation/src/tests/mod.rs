//! Readings against the trade's own worked examples.

mod any_text;
mod column;
mod errors;
mod length;
mod meaning;
mod writing;

use crate::{Dialect, Length, Parsed, TwoPart, Units, parse_cell};

fn mm(text: &str) -> Length {
    Length::from_decimal(text, Length::MILLIMETRE).unwrap()
}

fn read<'a>(text: &'a str, dialect: &Dialect) -> Parsed<'a> {
    match parse_cell(text, dialect) {
        Ok(Some(parsed)) => parsed,
        other => panic!("{text:?}: {other:?}"),
    }
}

fn two_part(meaning: TwoPart) -> Dialect {
    Dialect { two_part: Some(meaning), ..Dialect::default() }
}

fn in_units(units: Units) -> Dialect {
    Dialect { units, ..Dialect::default() }
}
