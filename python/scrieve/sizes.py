"""Sizes as they are written, one length by another, and the drawing sheets that have names."""

from __future__ import annotations

import re
import warnings

from ._core import Drawing, Reading, drawing_sheets
from .errors import LoftError, Note, ReadingError, error

# Width and height of the drawing sheets that have names, m, lying on their longer sides.
DRAWING_SHEETS = {name: (1e-3 * width, 1e-3 * height) for name, width, height in drawing_sheets()}

# How a drawing sheet is told.
DRAWING_SHEET = f"{', '.join(DRAWING_SHEETS)}, or its width and height: 900mm x 600mm"


def sides(text: str, counts: tuple[int, ...]) -> list[float]:
    """The lengths of a size such as `2440mm x 1220mm`, m: readings, or numbers with their unit; one unit at the end
    goes for all. Raises `ReadingError` for what is no length above 0, and where there are more or fewer than `counts`
    allows."""
    written = re.split(r"\s*[x×]\s*", text.strip())
    if len(written) not in counts:
        few = "no second length" if written[0] else "nothing is told"
        raise error(ReadingError, few if len(written) < min(counts) else f"{len(written)} lengths", where=text)
    unit = re.search(r"[a-z]+$", written[-1])
    lengths = []
    for side in written:
        whole = f"{side}{unit[0]}" if unit and re.fullmatch(r"\d+(\.\d+)?", side) else side
        lengths.append(Reading(whole).m)
        if lengths[-1] <= 0.0:
            raise error(ReadingError, f"{side} is no length", where=text)
    return lengths


def tell_left_off(drawing: Drawing) -> Drawing:
    """The drawing, after a `Note` of the labels that its sheet has no room for."""
    if drawing.unwritten:
        lost = ", ".join(f'"{label}"' for label in drawing.unwritten)
        said = f"{drawing.name}: no room is left for {lost}: a larger drawing sheet has it"
        warnings.warn(Note(said), stacklevel=3)
    return drawing


def drawing_sheet_mm(told: str | None) -> tuple[float, float] | None:
    """Width and height of a drawing sheet, mm, as it is told: by its name, or by its two lengths. `None` stays `None`.
    Raises `LoftError`."""
    if told is None:
        return None
    names = {name.casefold(): size for name, size in DRAWING_SHEETS.items()}
    size = names.get(" ".join(told.split()).casefold())
    if size is None:
        try:
            width, height = sides(told, (2,))
        except ReadingError as wrong:
            what, remedy = f"drawing sheet {told!r}: {wrong}", f"expected {DRAWING_SHEET}"
            raise error(LoftError, what, where=told, remedy=remedy) from None
        size = (width, height)
    return round(1e3 * size[0], 6), round(1e3 * size[1], 6)
