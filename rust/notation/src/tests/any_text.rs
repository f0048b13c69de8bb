//! Whatever stands in a cell, a reader answers.

use proptest::prelude::*;

use crate::{Dialect, LONGEST, Length, OnePart, Precision, TwoPart, Units, parse_cell, parse_plus};

fn dialects() -> impl Strategy<Value = Dialect> {
    let two_part = prop_oneof![Just(None), proptest::sample::select(TwoPart::ALL.map(Some).to_vec())];
    let plus = proptest::sample::select(vec!["1/16", "1/32", "3/64", "1/128"]);
    let one_part = prop_oneof![Just(None), proptest::sample::select(OnePart::ALL.map(Some).to_vec())];
    let hand = (any::<bool>(), any::<bool>(), any::<bool>());
    (proptest::sample::select(Units::ALL.to_vec()), two_part, one_part, plus, hand).prop_map(
        |(units, two_part, one_part, plus, (lenient, dashed, comma))| Dialect {
            units,
            plus: parse_plus(plus).unwrap(),
            two_part,
            one_part,
            dashed,
            comma,
            lenient,
        },
    )
}

fn answers(text: &str, dialect: &Dialect) -> Result<(), TestCaseError> {
    match parse_cell(text, dialect) {
        Ok(None) => {}
        Ok(Some(parsed)) => {
            prop_assert!(parsed.length.abs() <= LONGEST && parsed.place > Length::ZERO);
            prop_assert!(text.contains(parsed.written));
            // What was read is written and read again as the same value.
            let again = dialect.write(parsed.length, Precision::Exact);
            prop_assert_eq!(parse_cell(&again, dialect).unwrap().unwrap().length, parsed.length, "{}", again);
        }
        Err(error) => {
            prop_assert!(text.get(error.span.clone()).is_some(), "{:?} {:?}", text, error);
            prop_assert!(!error.found.is_empty() && !error.expected.is_empty(), "{:?} {:?}", text, error);
            prop_assert!(error.underlined(text).ends_with('^'));
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 4000, failure_persistence: None, ..ProptestConfig::default()
    })]

    #[test]
    fn any_text_whatever_is_answered(text in any::<String>(), dialect in dialects()) {
        answers(&text, &dialect)?;
    }

    #[test]
    fn text_that_looks_like_a_reading_is_answered(
        text in "[0-9]{0,2}([-–.: '\"][0-9]{1,2}){0,3}[-+½⅝⁵^?! /0-9mcinft.]{0,4}",
        dialect in dialects(),
    ) {
        answers(&text, &dialect)?;
    }

    #[test]
    fn text_in_the_grammars_own_letters_is_answered(
        text in "[-–−+.:'\"″^/⁄ 0-9⁰⁵₈½⅝⅓?!xmcinft]{0,16}",
        dialect in dialects(),
    ) {
        answers(&text, &dialect)?;
    }

    #[test]
    fn a_printers_dash_reads_as_a_keyboards(
        text in "-?[0-9]{1,3}-[0-9]{1,2}-[0-9]{1,2}[-+]?[?!]?",
        dialect in dialects(),
    ) {
        let printed = text.replace('-', "–");
        match (parse_cell(&text, &dialect), parse_cell(&printed, &dialect)) {
            (Ok(Some(a)), Ok(Some(b))) => {
                prop_assert_eq!((a.length, a.mark, a.place), (b.length, b.mark, b.place));
                prop_assert_eq!(a.warnings.len(), b.warnings.len());
            }
            (a, b) => prop_assert_eq!(a.unwrap_err().to_string(), b.unwrap_err().to_string()),
        }
    }

    #[test]
    fn absurdly_many_digits_are_answered(
        text in "[0-9]{0,60}[-./ ']{0,1}[0-9]{0,60}[-./\"]{0,1}[0-9]{0,60}(mm|m|in|ft)?",
        dialect in dialects(),
    ) {
        answers(&text, &dialect)?;
    }

    #[test]
    fn any_length_written_reads_back(ticks in -LONGEST.ticks()..=LONGEST.ticks(), dialect in dialects()) {
        let length = Length::from_ticks(ticks);
        let written = dialect.write(length, Precision::Exact);
        prop_assert_eq!(parse_cell(&written, &dialect).unwrap().unwrap().length, length, "{}", written);
    }
}
