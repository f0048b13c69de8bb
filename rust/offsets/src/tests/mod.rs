//! The table's tests. `sandling.offsets` is the handbook's worked example of a file (section 4).

mod editing;
mod hostile;
mod left_out;
mod mistakes;
mod reading;
mod survey;

use scrieve_notation::Length;

use crate::{Mistakes, Table, read};

/// The handbook's example.
const SANDLING: &str = include_str!("sandling.offsets");

fn table(text: &str) -> Table {
    match read(text.as_bytes(), "boat.offsets") {
        Ok(table) => table,
        Err(mistakes) => panic!("{mistakes}"),
    }
}

fn sandling() -> Table {
    table(SANDLING)
}

fn mistakes(text: &str) -> Mistakes {
    read(text.as_bytes(), "boat.offsets").expect_err("the text should be mistaken")
}

/// Metres, by the exact foot of NIST SP 811, appendix B.
fn metres(feet: i32, inches: i32, eighths: f64) -> f64 {
    f64::from(feet) * 0.3048 + (f64::from(inches) + eighths / 8.0) * 0.0254
}

/// The same as an exact length.
fn length(feet: i64, inches: i64, eighths: i64) -> Length {
    Length::from_128ths(((feet * 12 + inches) * 8 + eighths) * 16)
}

#[track_caller]
fn assert_near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-12, "{found} is not {expected}");
}

/// A file of two stations in feet, inches and eighths; what a test is about is put in.
fn two_stations(facts: &str, body: &str) -> String {
    format!(
        "+++\nformat = 1\nname = \"Turnstone\"\nunits = \"feet-inches-eighths\"\n{facts}+++\n\
         station   | 1     2\nfrom stem | 1-0-0 5-0-0\n{body}"
    )
}

/// Rows that make it a hull.
const HULL: &str =
    "[heights]\nsheer | 2-0-0 2-0-0\nrabbet | 0-3-0 0-3-0\n[half-breadths]\nsheer | 1-0-0 1-6-0\n";
