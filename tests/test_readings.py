"""Readings from Python: exact lengths as the trade writes them.

The worked table of forms is common practice; 1 in = 25.4 mm exactly is NIST SP 811, appendix B.
"""

import copy
import itertools
import math
import pickle
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scrieve import Reading
from scrieve._core import ReadingError, read_column

INCH = Fraction(254, 10)

sixty_fourths = st.integers(-20 * 768, 200 * 768)


def of_64ths(n):
    return Reading.from_mm(n * INCH / 64)


@pytest.mark.parametrize(
    ("written", "mm"),
    [
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
        ("1031.9 mm", "1031.9"),
        ("1.0319 m", "1031.9"),
        ("40.625 in", "1031.875"),
    ],
)
def test_a_reading_is_exactly_what_the_trade_means(written, mm):
    reading = Reading(written)
    assert reading.exact_mm == Fraction(mm)
    assert reading.mm == float(mm)
    assert reading.m == pytest.approx(float(mm) / 1000, rel=1e-15)
    assert reading.inches == pytest.approx(float(Fraction(mm) / INCH), rel=1e-15)
    assert reading.feet == pytest.approx(float(Fraction(mm) / INCH / 12), rel=1e-15)
    assert str(reading) == written


def test_a_file_says_what_two_parts_and_plus_mean():
    assert Reading("1-6", two_part="feet-inches") == Reading("1-6-0")
    assert Reading("1-6", two_part="inches-eighths") == Reading("0-1-6")
    assert Reading("3-4-5+", plus="1/32").exact_mm == Fraction("1032.66875")
    assert Reading("1031.9", units="mm") == Reading("1.0319", units="m") == Reading("1031.9mm")


def test_a_lenient_reader_carries_over_and_warns():
    with pytest.warns(UserWarning, match="would be `4-0-0`"):
        assert Reading("3-12-0", lenient=True) == Reading("4-0-0")


@pytest.mark.parametrize(
    ("text", "span", "expected"),
    [
        ("1-6", (0, 3), "1 ft 6 in is `1-6-0`, 1 in 6 eighths is `0-1-6`"),
        ("3-12-0", (2, 4), "it would be `4-0-0`"),
        ("3–4–9", (4, 5), "it would be `3-5-1`"),
        ("3-4-q", (4, 5), "the next part"),
        ("41", (0, 2), "`3-5-0` if inches are meant"),
        ("-", (0, 1), "one"),
        ("", (0, 0), "one"),
    ],
)
def test_a_mistake_is_pointed_at(text, span, expected):
    with pytest.raises(ReadingError) as caught:
        Reading(text)
    error = caught.value
    assert isinstance(error, ValueError)
    assert (error.text, error.span) == (text, span)
    assert expected in error.expected
    assert error.found
    assert str(error).endswith(f"\n{text}\n{' ' * span[0]}{'^' * max(span[1] - span[0], 1)}")


@pytest.mark.parametrize(
    "options",
    [{"units": "yards"}, {"two_part": "feet-eighths"}, {"plus": "1/3"}, {"plus": ""}, {"plus": "1/8"}],
)
def test_an_unknown_option_is_an_error_that_says_what_is_known(options):
    with pytest.raises(ValueError, match="expected"):
        Reading("3-4-5", **options)


def test_readings_convert_as_a_file_would_hold_them():
    reading = Reading("3-4-5+")
    assert reading.to("mm") == "1033.4625"
    assert reading.to("m") == "1.0334625"
    assert reading.to("in") == "40.6875"
    assert reading.to("feet-inches-eighths") == "3-4-5+"
    assert reading.to("feet-inches-eighths", precision="1/8") == "3-4-6"
    assert Reading("1033.4625 mm").to("feet-inches-eighths") == "3-4-5+"
    assert Reading("1032.7 mm").to("feet-inches-eighths", precision="1/32") == "3-4-5+1/32"
    with pytest.raises(ValueError, match=r"1/8, 1/16, 1/32, exact"):
        reading.to("feet-inches-eighths", precision="1/7")


@given(sixty_fourths, st.sampled_from(["mm", "m", "in", "feet-inches-eighths"]))
def test_what_is_written_reads_as_what_was_meant(n, units):
    reading = of_64ths(n)
    assert reading.exact_mm == n * INCH / 64
    assert Reading(reading.to(units, precision="exact"), units=units) == reading
    assert Reading(str(reading)) == reading


@given(sixty_fourths, sixty_fourths, st.integers(-50, 50), st.fractions(-9, 9, max_denominator=64))
def test_arithmetic_is_that_of_fractions(a, b, n, q):
    x, y = of_64ths(a), of_64ths(b)
    exact_x, exact_y = a * INCH / 64, b * INCH / 64
    assert (x + y).exact_mm == exact_x + exact_y
    assert (x - y).exact_mm == exact_x - exact_y
    assert (-x).exact_mm == -exact_x
    assert abs(x).exact_mm == abs(exact_x)
    assert (x * n).exact_mm == (n * x).exact_mm == exact_x * n
    # What is finer than can be held goes to the nearest ten-millionth of a millimetre.
    assert abs((x * q).exact_mm - exact_x * q) <= Fraction(1, 2 * 10**7)
    if b:
        assert x / y == Fraction(a, b)
    if q:
        assert abs((x / q).exact_mm - exact_x / q) <= Fraction(1, 2 * 10**7)
    assert bool(x) == bool(a)
    assert ((x < y), (x == y), (x >= y)) == ((a < b), (a == b), (a >= b))


def test_sums_keep_to_the_hand_of_their_first_reading():
    assert str(Reading("3-4-5") + Reading("0-0-0+")) == "3-4-5+"
    assert str(Reading("3-4-5") + Reading("0.1mm")) == "1031.975mm"
    assert str(Reading("1031.9", units="mm") + Reading("0-0-4")) == "1044.6mm"
    assert str(Reading("1-0-0") / 3) == "0-4-0"
    assert sum([Reading("0-0-4"), Reading("0-0-4+")]) == Reading("0-1-0+")


def test_a_float_is_no_exact_factor():
    for broken in (lambda r: r * 1.5, lambda r: r / 2.0, lambda r: r + 1, lambda r: r < 1, lambda r: r * r):
        with pytest.raises(TypeError):
            broken(Reading("3-4-5"))
    for zero in (0, Fraction(0), Reading("0-0-0")):
        with pytest.raises(ZeroDivisionError):
            Reading("3-4-5") / zero


def test_equal_lengths_are_one_however_written():
    hands = ["3-4-5", "3.4.5", "3'4-5/8\"", "1031.875 mm", "40.625in", "3-4-5?"]
    readings = [Reading(hand) for hand in hands]
    assert len(set(readings)) == 1
    assert all(a == b and not a < b for a, b in itertools.pairwise(readings))
    assert Reading("3-4-5") != 1031.875
    assert sorted([Reading("0-1-0"), Reading("1mm"), Reading("-0-2-3")])[0] == Reading("-0-2-3")


def test_a_reading_survives_pickling_copying_and_its_own_repr():
    for reading in [
        Reading("3-4-5+!"),
        Reading("3'4-5/8\"", plus="1/32"),
        Reading("1031.9?", units="mm"),
        Reading("1-6", two_part="feet-inches"),
        Reading("1-6+", two_part="inches-eighths", plus="3/64"),
        Reading.from_mm(Fraction(1, 7)),
        Reading("1031.9", units="mm") * 3,
    ]:
        for again in (pickle.loads(pickle.dumps(reading)), eval(repr(reading)), copy.deepcopy(reading)):
            assert again == reading
            assert (str(again), again.mark, again.place, repr(again)) == (
                str(reading), reading.mark, reading.place, repr(reading),
            )  # fmt: skip


def test_a_mark_is_kept():
    assert [Reading(text).mark for text in ("3-4-5", "3-4-5?", "3-4-5!")] == ["", "?", "!"]


def test_millimetres_are_taken_as_they_print():
    assert Reading.from_mm(1031.9).exact_mm == Fraction("1031.9")
    assert Reading.from_mm(25).exact_mm == 25
    assert str(Reading.from_mm(25.4)) == "0-1-0"
    for absurd in (math.nan, math.inf, 1e300, 10**30, 1e9):
        with pytest.raises((OverflowError, ReadingError)):
            Reading.from_mm(absurd)


@given(st.text(max_size=30) | st.text("0123456789-–.:'\"½⅝⁵^/+ ?!xmcinft", max_size=20))
def test_any_text_is_a_reading_or_a_located_error(text):
    try:
        reading = Reading(text)
    except ReadingError as error:
        start, end = error.span
        assert 0 <= start <= end <= len(text)
    else:
        assert Reading(reading.to("feet-inches-eighths", precision="exact")) == reading


def test_a_column_comes_as_metres_with_its_mistakes():
    metres, errors = read_column("\ufeff3-4-5+\r\n-\r\n\r\n3–12–0\r\n1031.9 mm\r\nabc")
    assert metres.dtype == np.float64
    np.testing.assert_array_equal(metres, [1.0334625, np.nan, np.nan, np.nan, 1.0319, np.nan])
    assert [(error.line, error.text, error.span) for error in errors] == [
        (4, "3–12–0", (2, 4)),
        (6, "abc", (0, 1)),
    ]
    assert str(errors[0]).startswith("line 4: 12 inches")
    with pytest.warns(UserWarning, match="line 2: 9 eighths"):
        metres, errors = read_column("1-6\n3-4-9", two_part="feet-inches", lenient=True)
    np.testing.assert_array_equal(metres, [0.4572, 1.044575])
    assert errors == []
