//! What is said of a slip, and where the finger points.

use super::{in_units, two_part};
use crate::{Dialect, NotationError, TwoPart, Units, parse_cell};

fn refused(text: &str, dialect: &Dialect) -> NotationError {
    parse_cell(text, dialect).expect_err(text)
}

#[test]
fn the_finger_points_at_the_slip() {
    for (text, under, message) in [
        ("abc", "a", "`a`: expected a number"),
        ("3-4-q", "q", "`q`: expected the next part, or the end of the reading"),
        ("3-4-5q", "q", "`q`: expected a unit (mm, cm, m, in or ft) or the end of the reading"),
        ("3-4-5-6", "-", "`-`: expected no more than three parts"),
        ("3-4:5", ":", "`:`: expected the same mark between all parts"),
        ("3-4-5.5", ".", "`.`: expected the same mark between all parts"),
        ("3-4-5++", "+", "`+`: expected `+` once, after whole inches or eighths"),
        ("3-4-5?!", "!", "`!`: expected one mark only, `?` or `!`"),
        ("1031,9 mm", ",", "`,`: expected a decimal point"),
        ("12 km", "k", "`k`: expected a unit (mm, cm, m, in or ft) or the end of the reading"),
        ("3-4-5 \u{1}", "\u{1}", "U+0001: expected the end of the reading"),
        ("3-", "", "the end: expected the next part of the reading"),
        ("1031.", "", "the end: expected the next part of the reading"),
        ("- 3-4-5", " ", "` `: expected a number"),
        ("−", "", ""),
        ("3-12-0", "12", "12 inches: expected inches 0 to 11; it would be `4-0-0`"),
        ("3-4-9", "9", "9 eighths: expected eighths 0 to 7; it would be `3-5-1`"),
        ("-3-4-9", "9", "9 eighths: expected eighths 0 to 7; it would be `-3-5-1`"),
        ("3 4⁹", "⁹", "⁹ eighths: expected eighths 0 to 7; it would be `3-5-1`"),
        ("3'12\"", "12", "12 inches: expected inches 0 to 11; it would be `4-0-0`"),
        ("3'12.5\"", "12.5", "12.5 inches: expected inches under 12; it would be `4-0-4`"),
        ("3.5'4\"", "3.5", "`3.5`: expected whole feet before inches"),
        (
            "1-6",
            "1-6",
            "two parts, `1-6`: expected three parts: 1 ft 6 in is `1-6-0`, 1 in 6 eighths is \
          `0-1-6`; or two_part declared as feet-inches or inches-eighths",
        ),
        (
            "-1.6?",
            "1.6",
            "two parts, `1.6`: expected three parts: 1 ft 6 in is `1-6-0`, 1 in 6 eighths is \
          `0-1-6`; or a unit, as `1.6in`",
        ),
        ("40.6250 !", "40.6250", "two parts, `40.6250`: expected three parts: 40 ft 6250 in is `40-6250-0`"),
        (
            "41",
            "41",
            "`41` without a unit: expected feet, inches and eighths (`3-5-0` if inches are meant) or \
          a unit, as `41in`, `41mm`; or one_part declared as inches or feet",
        ),
        (
            "4-5/8",
            "4-5/8",
            "`4-5/8` without a unit: expected feet, inches and eighths (`0-4-5` if inches are \
          meant) or a unit, as `4-5/8in`",
        ),
        (
            "10 1-2",
            "10 1-2",
            "`10 1-2`, of two meanings: expected `10 1/2\"`, or fractions declared as dashed",
        ),
        ("3-8\"", "3-8", "`3-8`, of two meanings: expected `3/8\"`, or fractions declared as dashed"),
        ("2-3 6 1", "1", "`1`: expected the end of the reading"),
        ("3'4-5/7\"", "5/7", "`5/7`: expected a fraction of an inch, halves to 128ths"),
        ("3'4-9/8\"", "9/8", "`9/8`: expected a fraction of an inch, halves to 128ths"),
        ("4⅓\"", "⅓", "`⅓`: expected a fraction of an inch, halves to 128ths"),
        ("3-4-5⅓", "⅓", "`⅓`: expected half or quarters of an eighth"),
        ("3-4-5 5/8", "5/8", "`5/8`: expected half or quarters of an eighth"),
        ("3-4-5mm", "m", "`m`: expected the end of the reading, whose units are already given"),
        ("3-4-5+1/8", "1/8", "`1/8`: expected a fraction of an inch under 1/8, such as 1/32"),
        ("3-4-5+0/8", "0/8", "`0/8`: expected a fraction of an inch under 1/8, such as 1/32"),
        ("3-4-5/", "", "the end: expected a fraction of an inch, such as 5/8"),
        ("1031.9 mm+", "+", "`+`: expected `+` once, after whole inches or eighths"),
        ("99999999-0-0", "99999999", "`99999999`: expected a length under 10 km"),
        (
            "99999999999999999999 mm",
            "99999999999999999999",
            "`99999999999999999999`: expected a length under 10 km",
        ),
        ("10000.1 m", "10000.1", "`10000.1`: expected a length under 10 km"),
        ("40000-0-0", "40000-0-0", "`40000-0-0`: expected a length under 10 km"),
    ] {
        if message.is_empty() {
            assert_eq!(parse_cell(text, &Dialect::default()), Ok(None));
            continue;
        }
        let error = refused(text, &Dialect::default());
        assert_eq!(&text[error.span.clone()], under, "{text}: {error}");
        assert!(error.to_string().starts_with(message), "{text}:\n{error}\n{message}");
    }
}

#[test]
fn the_right_one_of_two_like_characters_is_pointed_at() {
    for (text, start) in [("3-4-5-6", 5), ("3-12-12", 2), ("3-4-5++", 6), ("  9-9-9", 6), ("½-⅛x", 3)] {
        assert_eq!(refused(text, &Dialect::default()).span.start, start, "{text}");
    }
}

#[test]
fn a_number_without_a_unit_is_told_what_the_file_wants() {
    let error = refused("4 5/8", &in_units(Units::Millimetres));
    assert_eq!(error.to_string(), "`4 5/8` without a unit: expected a decimal, or its unit, as `4 5/8in`");
    let error = refused("1-12", &two_part(TwoPart::FeetInches));
    assert_eq!(error.to_string(), "12 inches: expected inches 0 to 11; it would be `2-0-0`");
    let error = refused("1-8", &two_part(TwoPart::InchesEighths));
    assert_eq!(error.to_string(), "8 eighths: expected eighths 0 to 7; it would be `0-2-0`");
}

#[test]
fn carets_stand_under_the_slip() {
    let dialect = Dialect::default();
    for (text, shown) in [
        ("3-12-0", "3-12-0\n  ^^"),
        ("3–12–0", "3–12–0\n  ^^"),
        ("3-4-", "3-4-\n^^^"),
        ("3-4-5\tq", "3-4-5 q\n      ^"),
        ("3-", "3-\n  ^"),
    ] {
        assert_eq!(refused(text, &dialect).underlined(text), shown);
    }
}

#[test]
fn a_file_pasted_into_one_cell_is_not_read_aloud() {
    let dialect = Dialect::default();
    for (text, column) in [("9".repeat(1 << 20), 0), ("3-4-5 ".repeat(1 << 18), 6), ("9-".repeat(1 << 18), 5)]
    {
        let error = refused(&text, &dialect);
        assert!(error.to_string().len() < 400);
        assert_eq!(error.span.start, column);
        assert!(error.underlined(&text).len() < 160);
    }
    let late = format!("{}q", " ".repeat(1000));
    assert_eq!(refused(&late, &dialect).underlined(&late), format!("{0}q\n{0}^", " ".repeat(40)));
}
