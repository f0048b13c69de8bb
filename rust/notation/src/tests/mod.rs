//! Readings against the trade's own worked examples.

mod meaning;

use crate::{Dialect, Length, Parsed, parse_cell};

fn mm(text: &str) -> Length {
    Length::from_decimal(text, Length::MILLIMETRE).unwrap()
}

fn read<'a>(text: &'a str, dialect: &Dialect) -> Parsed<'a> {
    match parse_cell(text, dialect) {
        Ok(Some(parsed)) => parsed,
        other => panic!("{text:?}: {other:?}"),
    }
}
