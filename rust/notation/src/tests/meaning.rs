//! What the trade writes, against what it means in exact millimetres.

use super::{in_units, mm, read, two_part};
use crate::{Dialect, Length, Mark, OnePart, Precision, TwoPart, Units, parse_cell, parse_plus};

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
        (Units::Feet, "2.38", "725.424"),
        (Units::Feet, ".25", "76.2"),
        (Units::Feet, "3", "914.4"),
        (Units::Centimetres, "31.8", "318"),
        // A unit, or three parts, speak for themselves.
        (Units::Millimetres, "40.625in", "1031.875"),
        (Units::Metres, "3-4-5+", "1033.4625"),
    ] {
        assert_eq!(read(written, &in_units(units)).length, mm(exact), "{written}");
    }
    // What the last place is worth goes with the units.
    assert_eq!(read("2.38", &in_units(Units::Feet)).place, mm("3.048"));
    assert_eq!(read("31.8", &in_units(Units::Centimetres)).place, mm("1"));
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

#[test]
fn a_printers_dots_and_dashes_are_no_reading() {
    for text in ["....", "...", ". . . .", "…", "··", "—", "--", "– –", "_", "- - -", "X"] {
        assert_eq!(parse_cell(text, &Dialect::default()), Ok(None), "{text}");
    }
}

#[test]
fn a_bare_number_among_eighths_is_what_the_file_declares() {
    let inches = Dialect { one_part: Some(OnePart::Inches), ..Dialect::default() };
    for (text, meant) in
        [("10", "0-10-0"), ("5", "0-5-0"), ("9^2", "0-9-2"), ("10½", "0-10-4"), ("3/4", "0-0-6")]
    {
        assert_eq!(read(text, &inches).length, read(meant, &Dialect::default()).length, "{text}");
    }
    let feet = Dialect { one_part: Some(OnePart::Feet), ..Dialect::default() };
    assert_eq!(read("10", &feet).length, read("10-0-0", &Dialect::default()).length);
    // A bare fraction of a foot is nobody's hand.
    assert!(parse_cell("10½", &feet).is_err() && parse_cell("10", &Dialect::default()).is_err());
}

#[test]
fn a_fraction_set_with_a_dash_is_told_by_its_inch_sign() {
    for (text, meant) in [
        ("10 1-2\"", "0-10-4"),
        ("2' 0 1-2\"", "2-0-4"),
        ("1' 8 3-8\"", "1-8-3"),
        ("1' 10 1-2", "1-10-4"),
        ("0' 7-8\"", "0-0-7"),
        ("1 ft. 8 5-16 in.", "1-8-2+"),
        ("1'-8 1-2\"", "1-8-4"),
    ] {
        assert_eq!(read(text, &Dialect::default()).length, read(meant, &Dialect::default()).length, "{text}");
        assert_eq!(read(text, &Dialect::default()).written, text);
    }
}

#[test]
fn a_fraction_set_with_a_dash_has_to_be_declared_where_no_sign_tells() {
    let dashed = Dialect { dashed: true, ..Dialect::default() };
    for (text, meant) in [
        ("10 1-2", "0-10-4"),
        ("1-8 1-2", "1-8-4"),
        ("1 8 3-4", "1-8-6"),
        ("3-8", "0-0-3"),
        ("3-8\"", "0-0-3"),
        ("3-4-5", "3-4-5"),
    ] {
        assert_eq!(read(text, &dashed).length, read(meant, &Dialect::default()).length, "{text}");
    }
    // Three feet eight, or three eighths?
    assert!(parse_cell("3-8", &Dialect { two_part: Some(TwoPart::FeetInches), ..dashed }).is_err());
}

#[test]
fn an_eighth_that_was_raised_on_the_page_may_stand_apart() {
    for text in ["2-3 6", "2-3 ^6", "2-3 ⁶", "2 - 3 - 6", "2- 3 6"] {
        assert_eq!(
            read(text, &Dialect::default()).length,
            read("2-3-6", &Dialect::default()).length,
            "{text}"
        );
    }
}

#[test]
fn decimals_have_a_comma_where_the_file_declares_it() {
    let metres = Dialect { comma: true, ..in_units(Units::Metres) };
    assert_eq!(read("0,282", &metres).length, mm("282"));
    assert_eq!(read("0,282", &metres).place, mm("1"));
    assert_eq!(read("31,5cm", &metres).length, mm("315"));
    assert_eq!(metres.write(mm("282"), Precision::Exact), "0,282");
    // A British printer's raised point.
    assert_eq!(read("0·282", &in_units(Units::Metres)).length, mm("282"));
}
