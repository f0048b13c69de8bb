"""Signs of a page of decimals that a reading of its own does not have: a minus parted from its number by a blank, and
marks that part thousands."""

from __future__ import annotations

import re
from typing import Any

# What a sign is printed as; a long dash is a mark for no reading.
PARTED = re.compile(r"([+＋−‐‑‒–-])\s+(?=[\d.,·])")
# `1 205`, `1.205` or `1'205` for 1205.
THOUSANDS = re.compile(r"([+-]?\d{1,3})([ .,'’\u00a0\u202f])(\d{3})")
METRIC = ("mm", "cm", "m")


def parted_sign(text: str, options: dict[str, Any], mark: str = "") -> str | None:
    """A decimal with its sign beside it, where a blank parts them: `− 203` is -203. None where there is none, where the
    page has feet and inches, in which a dash may stand for no feet, and over wide blanks, where it may be another
    cell's."""
    found = PARTED.match(text)
    if found is None or options.get("units") not in METRIC:
        return None
    plus = found[1] in "+＋"
    if not plus and mark == "spaces":
        return None
    return ("" if plus else "-") + text[found.end() :]


def without_thousands(text: str) -> str | None:
    """The number that `1 205` is, if the mark in it parts thousands."""
    found = THOUSANDS.fullmatch(text)
    return None if found is None else found[1] + found[3]
