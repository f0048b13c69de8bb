"""Parts laid on sheets by their true shapes, for a shop that cuts a boat's parts out of bought stock."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from .._core import Drawing, nest_drawings
from ..errors import DrawingError, Note, ReadingError, error
from ..plugin.options import Length, Option
from ..sizes import sides
from ..tables import frame

if TYPE_CHECKING:
    import pandas

# How a sheet is written, as it is told where it was not.
WRITTEN = '"2440mm x 1220mm", "8-0-0 x 4-0-0 x 0-0-6" (with its thickness), "3 of 2440mm x 1220mm x 18mm"'
TURNS = ("any", "quarter", "half", "none")
JOINTS = ("scarf", "step")


@dataclass(frozen=True)
class Sheet:
    """Stock parts are got out of, m. Its grain runs along its length."""

    length: float
    width: float
    thickness: float | None = None
    """None: there are such sheets of any thickness."""
    count: int | None = None
    """How many there are; None: as many as are needed."""

    @classmethod
    def read(cls, text: str) -> Sheet:
        """A sheet as it is written: length x width, then its thickness where that is told; before it `3 of` where
        there are no more. Lengths are readings or have their unit; one unit at the end goes for all. Raises
        `DrawingError`."""

        def refused(what: str) -> DrawingError:
            return error(DrawingError, f"sheet {text!r}: {what}", where=text, remedy=f"expected such as {WRITTEN}")

        told = re.fullmatch(r"\s*(?:(\d+)\s+of\s+)?(.*?)\s*", text, re.DOTALL)
        count, size = (told[1], told[2]) if told else (None, text)
        try:
            lengths = sides(size, (2, 3))
        except ReadingError as wrong:
            raise refused(str(wrong)) from None
        if count is not None and int(count) == 0:
            raise refused("there are none")
        length, width, *thickness = lengths
        return cls(length, width, thickness[0] if thickness else None, None if count is None else int(count))


@dataclass(frozen=True)
class Nest:
    """Parts laid on sheets."""

    sheets: list[Drawing]
    """A drawing a sheet, its lower left corner at the origin, mm."""
    stock: pandas.DataFrame
    """A row a sheet: `sheet`, `thickness`, `length`, `width` (m), `parts`, `used` (part of its area, %), `left` (length
    of the whole end that is left, m)."""
    placed: pandas.DataFrame
    """A row a part: `sheet`, `drawing`, `part`, `x`, `y` (of the lower left corner of the box round it, m) and `turned`
    (degrees anticlockwise from how it was drawn)."""


def nest(
    drawings: Iterable[Drawing],
    sheets: str | Sheet | Sequence[str | Sheet],
    *,
    gap: Annotated[float, Length("wood between two parts: what the cutter takes, and what holds")] = 0.012,
    margin: Annotated[float, Length("wood between parts and the sheet's edge")] = 0.010,
    turn: Annotated[
        str, Option("how parts may be turned whose grain is free; told grain runs along the sheet", TURNS)
    ] = "any",
    bed: Annotated[float | None, Length("longest piece the machine's bed takes")] = None,
    joint: Annotated[
        str | None, Option("make parts that are too long of several pieces, so joined; left out, refuse them", JOINTS)
    ] = None,
    thickness: Annotated[float | None, Length("thickness of parts of which nobody told it")] = None,
    boat: str = "",
) -> Nest:
    """Every part that is cut out of the drawings, on as few sheets as are found to do.

    Parts of one thickness go on sheets of that thickness, or on those told without one. A part's marks, letters and
    holes go with it; no part is turned over. Lengths are metres. The lines are net: the gap must hold the cutter. Parts
    without a thickness are left out, with a note, unless `thickness` says what it is. Raises `DrawingError` where a
    part is larger than every sheet, no sheet has its thickness, or the stock does not do; then nothing is laid.
    """
    given = [sheets] if isinstance(sheets, (str, Sheet)) else list(sheets)
    stock = [one if isinstance(one, Sheet) else Sheet.read(one) for one in given]
    mm = [
        (1e3 * one.length, 1e3 * one.width, None if one.thickness is None else 1e3 * one.thickness, one.count)
        for one in stock
    ]
    laid = nest_drawings(
        list(drawings), mm, gap_mm=_mm(gap), margin_mm=_mm(margin), turn=turn, joint=joint, boat=boat,
        bed_mm=None if bed is None else _mm(bed), thickness_mm=None if thickness is None else _mm(thickness),
    )  # fmt: skip
    for one in laid["sheets"]:
        one["drawing"].boat = boat
    for what in _notes(laid, joint):
        warnings.warn(Note(what), stacklevel=2)
    return Nest([one["drawing"] for one in laid["sheets"]], _stock(laid, stock), _placed(laid))


def _mm(metres: float) -> float:
    return round(1e3 * metres, 9)


def _notes(laid: dict[str, Any], joint: str | None) -> Iterable[str]:
    for part, pieces in laid["joined"]:
        ends = {"scarf": "scarfed", "step": "stepped into one another"}.get(joint or "", "joined")
        yield (
            f"{part} is too long and is made of {pieces} pieces, {ends}: glue and fastenings are the builder's to "
            "judge, or a licensed practitioner's where she must bear it"
        )
    if laid["untold"]:
        parts = ", ".join(dict.fromkeys(laid["untold"]))
        yield f"left out, since nobody said how thick: {parts} (the option thickness says it)"
    for drawing, many in laid["astray"]:
        yield f'drawing "{drawing}": {many} marks or letters lie outside every part and are on no sheet'
    for one in laid["sheets"]:
        if one["drawing"].unwritten:
            lost = ", ".join(f'"{text}"' for text in one["drawing"].unwritten)
            yield f"{one['drawing'].name}: no room is left beside the joints for {lost}: write it by hand"
        if one["check_mm"] is None:
            yield f"{one['drawing'].name} has no room left for a check square: measure a part of known size"


def _stock(laid: dict[str, Any], stock: Sequence[Sheet]) -> pandas.DataFrame:
    import pandas

    rows = [
        {
            "sheet": one["drawing"].name,
            "thickness": 1e-3 * one["thickness_mm"],
            "length": stock[one["stock"]].length,
            "width": stock[one["stock"]].width,
            "parts": len(one["placed"]["part"]),
            "used": 100.0 * one["used"],
            "left": 1e-3 * one["left_mm"],
        }
        for one in laid["sheets"]
    ]
    columns = ["sheet", "thickness", "length", "width", "parts", "used", "left"]
    units = {"thickness": "m", "length": "m", "width": "m", "used": "%", "left": "m"}
    return frame(pandas.DataFrame(rows, columns=columns), units)


def _placed(laid: dict[str, Any]) -> pandas.DataFrame:
    import pandas

    each = [pandas.DataFrame({"sheet": one["drawing"].name, **one["placed"]}) for one in laid["sheets"]]
    columns = ["sheet", "drawing", "part", "x", "y", "turned"]
    placed = pandas.concat(each, ignore_index=True) if each else pandas.DataFrame(columns=columns)
    return frame(placed[columns], {"x": "m", "y": "m", "turned": "°"})
