//! What the trade writes, against what it means in exact millimetres.

use super::{in_units, mm, read, two_part};
use crate::{Dialect, Length, Mark, TwoPart, Units, parse_cell, parse_plus};

/// The worked table of readings: common practice for the forms, the exact inch of NIST SP 811,
/// appendix B, for the millimetres.
#[test]
fn every_hand_writes_the_same_reading() {
    for (written, exact) in [
        ("3-4-5", "1031.875"),
        ("3-4-5+", "1033.4625"),
        ("3-4-5-", "1030.2875"),
        ("3-4-5½", "1033.4625"),
        ("0-0-4", "12.7"),
        ("-0-2-3", "-60.325"),
        ("3.4.5", "1031.875"),
        ("3:4:5", "1031.875"),
        ("3'4-5/8\"", "1031.875"),
        ("3 4⁵", "1031.875"),
        ("3-4^5", "1031.875"),
        ("1031.9 mm", "1031.9"),
        ("1031.9mm", "1031.9"),
        ("1.0319 m", "1031.9"),
        ("103.19cm", "1031.9"),
        ("40.625 in", "1031.875"),
        ("40.625\"", "1031.875"),
        ("3 ft", "914.4"),
        ("3.5ft", "1066.8"),
        ("3'", "914.4"),
        // Printers' dashes, primes and raised digits.
        ("−0–2–3", "-60.325"),
        ("3 – 4 – 5", "1031.875"),
        ("3-4-5−", "1030.2875"),
        ("3′ 4⅝″", "1031.875"),
        ("3’ 4⅝”", "1031.875"),
        ("3'-4 5/8\"", "1031.875"),
        ("3 ft 4 5/8 in", "1031.875"),
        ("3ft. 4⁵⁄₈in.", "1031.875"),
        ("3'4.625\"", "1031.875"),
        ("3'4'' ", "1016"),
        ("3'4", "1016"),
        ("5/8\"", "15.875"),
        ("⅝ in", "15.875"),
        ("4-5/8''", "117.475"),
        ("4⁵", "117.475"),
        ("4^5", "117.475"),
        ("3-4⁵+", "1033.4625"),
        ("3'4-5/8\"-", "1030.2875"),
        ("3 4 5", "1031.875"),
        ("3-4-5/8", "1031.875"),
        ("3-4 5/8", "1031.875"),
        ("3-4⅝", "1031.875"),
        ("3-4-5¼", "1032.66875"),
        ("3-4-5+1/32", "1032.66875"),
        ("3-4-5+3/32", "1034.25625"),
        ("-0-0-0+", "-1.5875"),
        ("0-0-0-", "-1.5875"),
        ("-3-4-5-", "-1030.2875"),
        ("03-04-05", "1031.875"),
        ("  3-4-5\t", "1031.875"),
    ] {
        assert_eq!(read(written, &Dialect::default()).length, mm(exact), "{written}");
    }
}

#[test]
fn a_dash_an_x_and_an_empty_cell_are_no_reading() {
    for nothing in ["", "  ", "-", "–", "−", "x", "X", " x "] {
        assert_eq!(parse_cell(nothing, &Dialect::default()), Ok(None), "{nothing:?}");
    }
}

#[test]
fn a_two_part_reading_means_what_the_file_declares() {
    for (written, feet_inches, inches_eighths) in [
        ("1-6", "457.2", "44.45"),
        ("1.6", "457.2", "44.45"),
        ("1 6", "457.2", "44.45"),
        ("1-6+", "458.7875", "46.0375"),
        ("1-6-", "455.6125", "42.8625"),
        // The half is of the last part: of an inch, of an eighth.
        ("1-6½", "469.9", "46.0375"),
        ("-1-6", "-457.2", "-44.45"),
    ] {
        assert_eq!(read(written, &two_part(TwoPart::FeetInches)).length, mm(feet_inches), "{written}");
        assert_eq!(read(written, &two_part(TwoPart::InchesEighths)).length, mm(inches_eighths), "{written}");
    }
}

/// W. P. Stephens, Canoe and Boat Building, 4th edition, 1889, plate XI: feet and inches, the eighths a
/// raised digit, transcribed after a caret.
#[test]
fn the_table_of_1889_reads_as_printed() {
    let dialect = two_part(TwoPart::FeetInches);
    for (written, exact) in
        [("1-6", "457.2"), ("0-6^1", "155.575"), ("0-0^1", "3.175"), ("0-11", "279.4"), ("1-2^7", "377.825")]
    {
        assert_eq!(read(written, &dialect).length, mm(exact), "{written}");
    }
}

#[test]
fn a_bare_number_is_in_the_units_of_the_file() {
    for (units, written, exact) in [
        (Units::Millimetres, "1031.9", "1031.9"),
        (Units::Millimetres, "1031", "1031"),
        (Units::Millimetres, "-60.325", "-60.325"),
        (Units::Metres, "1.0319", "1031.9"),
        (Units::Metres, ".5", "500"),
        (Units::Inches, "40.625", "1031.875"),
        (Units::Inches, "40 5/8", "1031.875"),
        (Units::Inches, "40⅝+", "1033.4625"),
        // A unit, or three parts, speak for themselves.
        (Units::Millimetres, "40.625in", "1031.875"),
        (Units::Metres, "3-4-5+", "1033.4625"),
    ] {
        assert_eq!(read(written, &in_units(units)).length, mm(exact), "{written}");
    }
}

#[test]
fn plus_is_worth_what_the_file_says() {
    let thirty_second = Dialect { plus: parse_plus("1/32").unwrap(), ..Dialect::default() };
    assert_eq!(read("3-4-5+", &thirty_second).length, mm("1032.66875"));
    assert_eq!(read("3-4-5-", &thirty_second).length, mm("1031.08125"));
    // Half an eighth is half an eighth in every shop.
    assert_eq!(read("3-4-5½", &thirty_second).length, mm("1033.4625"));
    assert_eq!(parse_plus(" 1/16 "), Ok(Length::SIXTEENTH));
    for wrong in ["", "1/8", "1/3", "0/16", "1/0", "1", "+", "1/16 in", "1/99999999999"] {
        assert!(parse_plus(wrong).is_err(), "{wrong:?}");
    }
}

#[test]
fn a_mark_is_kept_apart_from_what_is_written() {
    for (text, mark, written) in [
        ("3-4-5", Mark::Plain, "3-4-5"),
        ("3-4-5?", Mark::Doubtful, "3-4-5"),
        ("3-4-5+!", Mark::Held, "3-4-5+"),
        ("3-4-5- ?", Mark::Doubtful, "3-4-5-"),
        (" 1031.9 mm!", Mark::Held, "1031.9 mm"),
    ] {
        let reading = read(text, &Dialect::default()).into_reading();
        assert_eq!((reading.mark, reading.written.as_str()), (mark, written), "{text}");
        assert_eq!(mark.text(), &text[text.len() - mark.text().len()..]);
    }
}

#[test]
fn a_readings_place_is_its_last_written_one() {
    let declared = two_part(TwoPart::FeetInches);
    for (written, place) in [
        ("3-4-5", "3.175"),
        ("3 4⁵", "3.175"),
        ("3-4-5+", "1.5875"),
        ("3-4-5-", "1.5875"),
        ("3-4-5½", "1.5875"),
        ("3-4-5+1/32", "0.79375"),
        ("3'4-5/8\"", "3.175"),
        ("3'4-1/2\"", "12.7"),
        ("1-6", "25.4"),
        ("3'", "304.8"),
        ("1031.9mm", "0.1"),
        ("1032 mm", "1"),
        ("1.0319m", "0.1"),
        ("103.190cm", "0.01"),
        ("40.625in", "0.0254"),
        ("0.000000000001mm", "0.0000001"),
    ] {
        assert_eq!(read(written, &declared).place, mm(place), "{written}");
    }
}

#[test]
fn a_lenient_reader_carries_over_and_warns() {
    let lenient = Dialect { lenient: true, two_part: Some(TwoPart::FeetInches), ..Dialect::default() };
    for (written, exact, warnings) in [
        ("3-12-0", "1219.2", 1),
        ("3-4-9", "1044.575", 1),
        ("3-12-8", "1244.6", 2),
        ("3'14\"", "1270", 1),
        ("3'12.5\"", "1231.9", 1),
        ("1-12", "609.6", 1),
        ("3-11-7", "1216.025", 0),
    ] {
        let parsed = read(written, &lenient);
        assert_eq!((parsed.length, parsed.warnings.len()), (mm(exact), warnings), "{written}");
    }
    let warning = &read("3-12-0", &lenient).warnings[0];
    assert_eq!(warning.to_string(), "12 inches: expected inches 0 to 11; it would be `4-0-0`");
}
