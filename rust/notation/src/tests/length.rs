//! Exact lengths. 1 in = 25.4 mm and 1 ft = 304.8 mm exactly: NIST SP 811, appendix B.

use super::mm;
use crate::Length;

#[test]
fn an_inch_is_25_4_mm_exactly() {
    assert_eq!(Length::INCH, mm("25.4"));
    assert_eq!(Length::FOOT, mm("304.8"));
    assert_eq!(Length::EIGHTH, mm("3.175"));
    assert_eq!(Length::SIXTEENTH, mm("1.5875"));
    assert_eq!(Length::from_128ths(1), mm("0.1984375"));
    assert_eq!(Length::FOOT, Length::INCH * 12);
    assert_eq!(Length::METRE, Length::CENTIMETRE * 100);
}

#[test]
fn decimal_text_is_held_exactly_and_what_cannot_be_goes_to_the_nearest() {
    assert_eq!(mm("0.3").ticks(), 3_000_000);
    assert_eq!(mm("-0.0000001").ticks(), -1);
    // A tie goes to the even count.
    assert_eq!(mm("0.00000005").ticks(), 0);
    assert_eq!(mm("0.00000015").ticks(), 2);
    assert_eq!(mm("-0.00000015").ticks(), -2);
    assert_eq!(mm("1.00000000000000000000000000000009"), mm("1"));
    assert_eq!(Length::from_decimal("0.0078125", Length::INCH), Some(Length::from_128ths(1)));
    for wrong in ["", ".", "-", "1.2.3", "1e3", " 1", "+1", "½", "--1", "nan"] {
        assert_eq!(Length::from_decimal(wrong, Length::MILLIMETRE), None, "{wrong:?}");
    }
    for long in ["922337203686", &"9".repeat(400)] {
        assert_eq!(Length::from_decimal(long, Length::MILLIMETRE), None);
    }
}

#[test]
fn sums_and_multiples_are_exact_or_refused() {
    assert_eq!([mm("0.1"), mm("0.2")].into_iter().sum::<Length>(), mm("0.3"));
    assert_eq!(-mm("1") - mm("0.5"), mm("1.5") * -1);
    let end = Length::from_ticks(i64::MAX);
    assert_eq!(end.checked_add(Length::from_ticks(1)), None);
    assert_eq!((-end).checked_sub(Length::from_ticks(2)), None);
    assert_eq!(end.checked_mul(2), None);
    assert_eq!(Length::FOOT.checked_mul(3), Some(mm("914.4")));
    // A model at three quarters of an inch to the foot is a sixteenth of the boat.
    assert_eq!(mm("25.4").scaled(16, 1), Some(mm("406.4")));
    assert_eq!(Length::INCH.scaled(1, 128), Some(Length::from_128ths(1)));
    assert_eq!(Length::INCH.scaled(-1, -128), Some(Length::from_128ths(1)));
    assert_eq!(Length::from_ticks(3).scaled(1, 2), Some(Length::from_ticks(2)));
    assert_eq!(Length::from_ticks(5).scaled(1, 2), Some(Length::from_ticks(2)));
    assert_eq!(Length::from_ticks(i64::MIN).scaled(i64::MIN, i64::MIN), Some(Length::from_ticks(i64::MIN)));
    assert_eq!(end.scaled(2, 1), None);
    assert_eq!(end.scaled(1, 0), None);
}

#[test]
fn rounding_sends_a_tie_to_the_even_count() {
    let tenth = mm("0.1");
    for (exact, rounded) in [("0.25", "0.2"), ("0.35", "0.4"), ("-0.25", "-0.2"), ("0.26", "0.3"), ("7", "7")]
    {
        assert_eq!(mm(exact).rounded(tenth), mm(rounded), "{exact}");
    }
    assert_eq!(mm("0.25").rounded(Length::ZERO), mm("0.25"));
    let end = Length::from_ticks(i64::MAX);
    assert_eq!(end.rounded(Length::FOOT), end);
}

#[test]
fn floating_metres_go_there_and_back() {
    assert_eq!(Length::from_metres(1.031875), Some(mm("1031.875")));
    assert_eq!((mm("1031.875").metres(), mm("1031.875").mm()), (1.031875, 1031.875));
    assert_eq!((Length::FOOT.inches(), Length::INCH.feet()), (12.0, 1.0 / 12.0));
    for wrong in [f64::NAN, f64::INFINITY, 1e30] {
        assert_eq!(Length::from_metres(wrong), None);
    }
}
