"""What a spar is described by, as it was given: numbers, pairs, places, words; each refused with what was expected."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from numbers import Real
from typing import Any

from ..errors import LoftError, error


def number(what: str, value: Any, whole: bool = False) -> Any:
    try:
        found = float(value)
    except (TypeError, ValueError):
        found = math.nan
    if isinstance(value, (bool, str)) or not math.isfinite(found) or whole and found != int(found):
        expected = "a whole number" if whole else "a number, metres"
        raise error(LoftError, f"{what} is {value!r}", remedy=f"expected {expected}")
    return int(found) if whole else found


def count(value: Any) -> int | None:
    if value is None:
        return None
    whole: int = number("staves", value, whole=True)
    if whole < 1:
        raise error(LoftError, f"{whole} staves", remedy="from 6 to 16 can be notched and laid round")
    return whole


def pair(what: str, value: Any) -> tuple[float, float]:
    """Two numbers, or one for both."""
    if isinstance(value, Real):
        return number(what, value), number(what, value)
    try:
        first, second = value
    except (TypeError, ValueError):
        raise error(LoftError, f"{what} is {value!r}", remedy="expected a number or a pair of them") from None
    return number(what, first), number(what, second)


def pairs(what: str, value: Any) -> list[tuple[float, float]]:
    try:
        both = [(first, second) for first, second in value]
    except (TypeError, ValueError):
        raise error(LoftError, f"{what} is {value!r:.80}", remedy="expected pairs of numbers") from None
    return [(number(what, first), number(what, second)) for first, second in both]


def wall(value: Any) -> list[tuple[float, float]]:
    if value is None:
        return []
    return [(0.0, number("wall", value))] if isinstance(value, Real) else pairs("wall", value)


def mark(name: str, value: Any) -> tuple[float, float, float]:
    given = [value] if isinstance(value, Real) else list(value) if isinstance(value, (tuple, list)) else []
    if not 1 <= len(given) <= 3:
        remedy = "expected a distance, (from, to) or (from, to, width), metres"
        raise error(LoftError, f"mark {name!r} is {value!r}", remedy=remedy)
    numbers = [number(f"mark {name!r}", one) for one in given]
    begin = numbers[0]
    end = numbers[1] if len(numbers) > 1 else begin
    width = numbers[2] if len(numbers) > 2 else 0.0
    if end < begin or width < 0.0:
        raise error(LoftError, f"mark {name!r} is {value!r}", remedy="it must end no nearer the heel than it begins")
    return begin, end, width


def marks(value: Any) -> dict[str, tuple[float, float, float]]:
    """Each as from, to and width."""
    if not isinstance(value, Mapping):
        raise error(LoftError, f"marks are {value!r:.80}", remedy="expected distances by their names")
    return {str(name): mark(str(name), one) for name, one in value.items()}


def one_of(what: str, value: str, known: Sequence[str]) -> str:
    if value not in known:
        raise error(LoftError, f"{what} {value!r}", remedy=f"expected {', '.join(known)}")
    return value
