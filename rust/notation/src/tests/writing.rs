//! Writing back: what is written reads as what was meant.

use super::{mm, read};
use crate::{Dialect, Length, Precision, Units, parse_plus, write_length};

/// From 20 ft below the base line to 200 ft, by 1/64 in.
fn every_64th() -> impl Iterator<Item = Length> {
    let per_foot = 12 * 64;
    (-20 * per_foot..=200 * per_foot).map(|n| Length::from_128ths(2 * n))
}

#[test]
fn every_reading_comes_back_as_it_went() {
    for plus in ["1/16", "1/32", "1/64", "3/32"] {
        let parts = Dialect { plus: parse_plus(plus).unwrap(), ..Dialect::default() };
        for length in every_64th() {
            let written = parts.write(length, Precision::Exact);
            let parsed = read(&written, &parts);
            assert_eq!(parsed.length, length, "{written}");
            assert!(written.is_ascii() && parsed.warnings.is_empty() && !written.contains(' '));
        }
    }
    for units in [Units::Millimetres, Units::Centimetres, Units::Metres, Units::Inches, Units::Feet] {
        let dialect = Dialect { units, ..Dialect::default() };
        for length in every_64th() {
            assert_eq!(read(&dialect.write(length, Precision::Exact), &dialect).length, length);
        }
    }
}

/// The rule and the worst error of the default, 1/32 in, are common practice.
#[test]
fn rounding_keeps_its_bound_and_sends_ties_to_the_even_count() {
    for precision in [Precision::Eighth, Precision::Sixteenth, Precision::ThirtySecond] {
        let step = precision.step().unwrap();
        let mut worst = Length::ZERO;
        for length in every_64th() {
            let written = write_length(length, Units::FeetInchesEighths, precision);
            let back = read(&written, &Dialect::default()).length;
            let error = (back - length).abs();
            worst = worst.max(error);
            assert_eq!(back.ticks() % step.ticks(), 0, "{written}");
            if error * 2 == step {
                assert_eq!(back.ticks() / step.ticks() % 2, 0, "{written}");
            }
        }
        // The 64ths hold every step's halfway point, so the bound is met and not passed.
        assert_eq!(worst * 2, step);
    }
    assert_eq!(Precision::default().step(), Some(Length::from_128ths(2 * 4)));
}

#[test]
fn each_precision_writes_as_the_trade_does() {
    let parts = |length: Length, precision| write_length(length, Units::FeetInchesEighths, precision);
    for (exact, eighth, sixteenth, thirty_second) in [
        ("1031.875", "3-4-5", "3-4-5", "3-4-5"),
        ("1033.4625", "3-4-6", "3-4-5+", "3-4-5+"),
        ("1030.2875", "3-4-4", "3-4-4+", "3-4-4+"),
        ("1032.66875", "3-4-5", "3-4-5", "3-4-5+1/32"),
        ("1034.25625", "3-4-6", "3-4-6", "3-4-5+3/32"),
        ("-60.325", "-0-2-3", "-0-2-3", "-0-2-3"),
        ("-1.5875", "0-0-0", "-0-0-0+", "-0-0-0+"),
        ("0", "0-0-0", "0-0-0", "0-0-0"),
        ("304.7", "1-0-0", "1-0-0", "1-0-0"),
        ("1031.9", "3-4-5", "3-4-5", "3-4-5"),
    ] {
        let length = mm(exact);
        assert_eq!(parts(length, Precision::Eighth), eighth, "{exact}");
        assert_eq!(parts(length, Precision::Sixteenth), sixteenth, "{exact}");
        assert_eq!(parts(length, Precision::ThirtySecond), thirty_second, "{exact}");
    }
    assert_eq!(parts(Length::from_128ths(1), Precision::Exact), "0-0-0+1/128");
    // Tenths of a millimetre fall between all fractions of an inch.
    assert_eq!(parts(mm("1031.9"), Precision::Exact), "1031.9mm");
}

#[test]
fn a_shop_whose_plus_is_a_thirty_second_writes_its_own_way() {
    let shop = Dialect { plus: parse_plus("1/32").unwrap(), ..Dialect::default() };
    for (n, written) in [(0, "0-0-0"), (1, "0-0-0+"), (2, "0-0-0+1/16"), (3, "0-0-1-"), (4, "0-0-1")] {
        assert_eq!(shop.write(Length::from_128ths(4 * n), Precision::ThirtySecond), written);
    }
    assert_eq!(shop.write(Length::SIXTEENTH, Precision::Sixteenth), "0-0-0+1/16");
}

#[test]
fn metric_and_decimal_inches_are_written_in_full() {
    for (units, written) in
        [(Units::Millimetres, "1031.875"), (Units::Metres, "1.031875"), (Units::Inches, "40.625")]
    {
        assert_eq!(write_length(mm("1031.875"), units, Precision::default()), written);
        assert_eq!(write_length(-mm("1031.875"), units, Precision::default()), format!("-{written}"));
    }
    assert_eq!(write_length(mm("100"), Units::Millimetres, Precision::default()), "100");
    assert_eq!(write_length(mm("0.0000001"), Units::Metres, Precision::default()), "0.0000000001");
}

#[test]
fn the_longest_lengths_there_are_can_be_written() {
    for ticks in [i64::MIN, i64::MAX] {
        for units in Units::ALL {
            for precision in Precision::ALL {
                assert!(write_length(Length::from_ticks(ticks), units, precision).is_ascii());
            }
        }
    }
}
