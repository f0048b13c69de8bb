"""Stations that are counted, 1, 2, 3 or A, B, C or I, II, III: whether one is missing from the row, or out of it.

Equal spaces are for stations that follow one another: where the count leaves one out, all that stand after it would be
set a space too near.
"""

from __future__ import annotations

import re
from fractions import Fraction

from .grid import plain

OUT_OF_ORDER = "out of their order"

_VULGAR = {"½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4)}
_ROMAN = {"i": 1, "v": 5, "x": 10, "l": 50}
# Letters that are often left out, since they look like figures.
_PASSED_OVER = {"i", "j", "o", "q"}


def odd_steps(names: list[str]) -> list[tuple[int, str]]:
    """Where one station does not follow another as the others do: the index of the first of the two, and how."""
    for count in (_number, _letter, _roman):
        places = [count(name) for name in names]
        known = [i for i, place in enumerate(places) if place is not None]
        # Ends are often named otherwise, a perpendicular or the stem; and so may a midship section.
        if len(known) < 3 or len(known) < len(names) - 3:
            continue
        steps = [
            (i, places[i + 1] - places[i])  # type: ignore[operator]
            for i in known
            if i + 1 < len(places) and places[i + 1] is not None
        ]
        if count is _letter:
            steps = [(i, _without_passed_over(names[i], names[i + 1], step)) for i, step in steps]
        if len(steps) < 2:
            return []
        usual = max({step for _, step in steps}, key=lambda s: sum(step == s for _, step in steps))
        odd = [(i, step) for i, step in steps if step != usual]
        return [(i, _in_words(step, usual)) for i, step in odd]
    return []


def begins_late(names: list[str]) -> str | None:
    """The station that a count of one at a time begins with, where that is its second: `2` of 2, 3, 4."""
    for count, first in ((_number, 1), (_letter, 0), (_roman, 1)):
        places = [place for name in names if (place := count(name)) is not None]
        if len(places) < 3 or len(places) < len(names) - 3:
            continue
        one_by_one = all(abs(after - before) == 1 for before, after in zip(places, places[1:], strict=False))
        least = names[[count(name) for name in names].index(min(places))]
        return least if one_by_one and min(places) == first + 1 else None
    return None


def _in_words(step: Fraction, usual: Fraction) -> str:
    if step * usual <= 0:
        return OUT_OF_ORDER
    ratio = step / usual
    if ratio.denominator == 1:
        left_out = int(ratio) - 1
        many = "one is" if left_out == 1 else f"{left_out} are"
        return f"beside one another, and {many} left out between by their count"
    return f"{'nearer to' if ratio < 1 else 'farther from'} one another than the others by their count"


def _number(name: str) -> Fraction | None:
    found = re.fullmatch(
        r"(?:(?:no|nr|sta|station|sec|section|frame|mould|mold|spt)\.?\s*)?(-?\d+)?\s*([½¼¾]|\d/\d|(?<=\d)[.,]\d+)?",
        plain(name),
    )
    if found is None or not (found[1] or found[2]):
        return None
    value = Fraction(int(found[1] or 0))
    part = found[2]
    if part in _VULGAR:
        return value + _VULGAR[part]
    if part and "/" in part:
        above, below = part.split("/")
        return value + Fraction(int(above), int(below)) if int(below) else None
    if part:
        return value + Fraction(int(part[1:]), 10 ** len(part[1:]))
    return value


def _letter(name: str) -> Fraction | None:
    text = plain(name)
    return Fraction(ord(text) - ord("a")) if len(text) == 1 and "a" <= text <= "z" else None


def _without_passed_over(before: str, after: str, step: Fraction) -> Fraction:
    one, other = sorted((ord(plain(before)), ord(plain(after))))
    passed = [chr(c) for c in range(one + 1, other)]
    over = sum(letter in _PASSED_OVER for letter in passed) if len(passed) == 1 else 0
    return step - over if step > 0 else step + over


def _roman(name: str) -> Fraction | None:
    text = plain(name)
    if not text or any(c not in _ROMAN for c in text):
        return None
    values = [_ROMAN[c] for c in text]
    total = sum(-v if i + 1 < len(values) and values[i + 1] > v else v for i, v in enumerate(values))
    return Fraction(total)
