"""Sensible ranges of the lengths a builder gives, taken from the boat herself.

A letter amiss makes metres of millimetres. Past these ranges no boat is built so, and what would be drawn is
larger than she is; the range is told with what was given. They are wide on purpose (common practice is well inside):
what is unusual is the builder's affair.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from ..errors import LoftError, error

if TYPE_CHECKING:
    from .faired import Faired


class Range(NamedTuple):
    """Least and greatest, so many times a dimension of hers, and what is never too much, m: the smallest boats are
    models, and take what is usual."""

    least: float
    most: float
    of: str
    always: float = 0.0


def _to(times: float, of: str, always: float = 0.0) -> Range:
    # What is less than nothing is refused where it is used, which knows whether nothing will do.
    return Range(-math.inf, times, of, always)


def _between(least: float, most: float, of: str) -> Range:
    return Range(least, most, of)


# How near to one another is said by what stands so; how far, by her length.
_EVERY = _to(1.0, "length")
_HEIGHT = _between(-1.0, 1.0, "length")
_PLACE = _between(-1.0, 2.0, "length")
_THICKNESS = _to(0.25, "beam", 0.022)

# Options of patterns and parameters of `Hull`, by name.
RANGES: dict[str, Range] = {
    # Planking, and what stands between it and what is drawn
    "deduct": _THICKNESS,
    "planking": _THICKNESS,
    "outside": _THICKNESS,
    "inside": _THICKNESS,
    "thickness": _THICKNESS,
    "over": _THICKNESS,
    "transom_thickness": _THICKNESS,
    # Moulds
    "spacing": _EVERY,
    "limb": _to(1.0, "beam", 0.1),
    "above_sheer": _to(1.0, "depth", 0.05),
    "spall_height": _HEIGHT,
    "spall_width": _to(1.0, "depth", 0.1),
    "spall_lap": _to(1.0, "beam"),
    "keel_notch_width": _to(0.25, "beam"),
    "keel_notch_depth": _to(0.5, "depth"),
    "ribband_notch_width": _to(0.5, "depth"),
    "ribband_notch_depth": _to(0.25, "beam"),
    "joint_height": _HEIGHT,
    "joint_half_breadth": _to(0.5, "beam"),
    "lap": _to(0.5, "beam"),
    "stock_length": _to(20.0, "length"),
    "stock_width": _to(2.0, "length"),
    "strongback_from": _PLACE,
    "pilot_hole": _THICKNESS,
    "registration_hole": _THICKNESS,
    # Backbone
    "half_siding": _THICKNESS,
    "keel_depth": _to(1.0, "depth", 0.075),
    "stem_outside": _to(0.25, "length", 0.05),
    "section_every": _between(1 / 10_000, 1.0, "length"),
    "knee_arm": _to(0.5, "length", 0.35),
    "keelson_depth": _to(0.5, "depth", 0.06),
    "keelson_siding": _THICKNESS,
    "keelson_above": _to(0.5, "depth", 0.05),
    "fashion_moulded": _to(0.25, "beam", 0.07),
    "fashion_sided": _THICKNESS,
    # Transom and deck
    "beam": _between(0.1, 3.0, "beam"),
    "camber": _between(-0.5, 0.5, "beam"),
    "bevel_every": _EVERY,
    "beam_spacing": _EVERY,
    "beam_siding": _to(0.1, "length", 0.03),
    "depth": _to(0.5, "depth", 0.06),
    "carlin_thickness": _THICKNESS,
    "deck_thickness": _THICKNESS,
    # Inside
    "thwart_height": _HEIGHT,
    "thwart_width": _to(0.25, "length", 0.2),
    "stringer_from": _PLACE,
    "stringer_to": _PLACE,
    "stringer_height": _HEIGHT,
    "stringer_below_sheer": _to(1.0, "depth"),
    "stringer_depth": _to(0.5, "depth", 0.045),
    "stringer_thickness": _THICKNESS,
    "slot_from": _PLACE,
    "slot_to": _PLACE,
    "slot_width": _to(0.25, "beam", 0.03),
    "case_top": _HEIGHT,
    "bed_log": _to(0.25, "beam", 0.04),
    "bed_log_depth": _to(1.0, "depth", 0.09),
    "cheek": _THICKNESS,
    "keel_above": Range(-0.5, 0.5, "depth", 0.02),
    # Afloat
    "draught": _HEIGHT,
}

# A length that a plugin of somebody else's asks for.
_ANY = _between(-10.0, 10.0, "length")

# Pieces that are listed: moulds, thwarts, beams. A ship of the line has fewer.
MOST_PIECES = 400


def check(hull: Faired, **lengths: float | None) -> None:
    """Raises `LoftError` for a length, m, out of its range; those that are None, or lists and words, pass."""
    wrong = []
    sizes: dict[str, float] | None = None
    for name, metres in lengths.items():
        if not isinstance(metres, (int, float)):
            continue
        sizes = sizes or hull.dimensions
        within = RANGES.get(name, _ANY)
        low, high = within.least * sizes[within.of], max(within.most * sizes[within.of], within.always)
        if not low <= metres <= high:
            least = f"{low:.3g} to " if math.isfinite(low) else "at most "
            expected = (
                f"expected {least}{high:.3g} m, for a boat {sizes['length']:.2f} m long, {sizes['beam']:.2f} m wide "
                f"and {sizes['depth']:.2f} m deep"
            )
            wrong.append(error(LoftError, f"{name.replace('_', ' ')} of {metres:g} m", where=name, remedy=expected))
    if len(wrong) == 1:
        raise wrong[0]
    if wrong:
        raise error(LoftError, "\n".join(map(str, wrong)), where=[one.where for one in wrong])


def few(what: str, several: Iterable[float]) -> list[float]:
    """The numbers. Raises `LoftError` where they are more than anybody builds."""
    listed = list(several)
    if len(listed) > MOST_PIECES:
        raise error(LoftError, f"{len(listed)} {what}", where=what, remedy=f"expected {MOST_PIECES} at most")
    if not all(map(math.isfinite, listed)):
        raise error(LoftError, what, where=what, remedy="expected numbers")
    return listed
