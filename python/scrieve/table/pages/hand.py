"""How a printed page writes a length: the style that gives its cells back to the letter, told from them alone."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import TYPE_CHECKING

from ..._core import Reading, ReadingError

if TYPE_CHECKING:
    from ..table import Table

INCH_M = 0.0254
# The finest that fractions of an inch are printed to.
FINEST = 64
# A style is the page's if it gives back this part of the cells, and so many at least: the others are slips of the
# compositor's, such as a sign left out.
MOST_OF, LEAST_CELLS = Fraction(4, 5), 3

Style = Callable[[float], "str | None"]

_VULGAR = dict(zip(("1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8"), "½¼¾⅛⅜⅝⅞", strict=True))
_RAISED = "⁰¹²³⁴⁵⁶⁷"

# What stands after the feet, after the inches before what is over, and at the end.
_FEET = ("-", " ", "'", "' ", "'-", " ft. ", " ft ", ".")
_OVER = ("^", "-", " ", " n/d", "n/d", " n-d", "-n/d", "vulgar", " vulgar", "raised")
_ENDS = ("", '"', " in.", " in")


def _over(way: str, over: Fraction, always: bool) -> str | None:
    """What is over whole inches, as such a page writes it."""
    if over == 0 and not always:
        return ""
    if way in ("^", "-", " ", "raised"):
        eighths = over * 8
        if eighths.denominator != 1:
            return None
        return _RAISED[int(eighths)] if way == "raised" else f"{way}{eighths}"
    if over == 0:
        return None
    n, d = over.numerator, over.denominator
    if "vulgar" in way:
        sign = _VULGAR.get(f"{n}/{d}")
        return None if sign is None else way.replace("vulgar", sign)
    return way.replace("n", str(n)).replace("d", str(d))


def _inches(feet_sign: str, way: str, end: str, feet_always: bool, over_always: bool) -> Style:
    def write(metres: float) -> str | None:
        ticks = round(abs(metres) / INCH_M * FINEST)
        if abs(ticks * INCH_M / FINEST - abs(metres)) > 1e-6:
            return None
        whole, over = divmod(Fraction(ticks, FINEST), 1)
        feet, inches = divmod(int(whole), 12)
        said = _over(way, over, over_always)
        if said is None:
            return None
        head = f"{feet}{feet_sign}" if feet or feet_always else ""
        return f"{'-' if metres < 0 else ''}{head}{inches}{said}{end}"

    return write


def _decimal(unit_m: float, places: int, point: str, nought: bool) -> Style:
    def write(metres: float) -> str | None:
        text = f"{abs(metres) / unit_m:.{places}f}"
        if not nought and text.startswith("0."):
            text = text[1:]
        return ("-" if metres < 0 and float(text or 0) else "") + text.replace(".", point)

    return write


def _styles() -> Iterable[Style]:
    for unit, places in itertools.product((12 * INCH_M, INCH_M, 1.0, 0.01, 0.001), range(4)):
        for point, nought in itertools.product(".,", (True, False)) if places else ((".", True),):
            yield _decimal(unit, places, point, nought)
    for given in itertools.product(_FEET, _OVER, _ENDS, (True, False), (True, False)):
        yield _inches(*given)


_SIGNS = str.maketrans("′’″”", "''\"\"")


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text.strip(" ?!")).translate(_SIGNS)


class PageHand:
    """How the page of a table writes the readings of a row; of a table that was read from no page, nothing."""

    def __init__(self, table: Table) -> None:
        core = table._core
        self._table = table
        self._printed: dict[tuple[str, str], str] = {}
        self._of_row: dict[str, Style | None] = {}
        self._every: list[tuple[str, float, str]] | None = None
        for row, texts in zip(core.row_names, core.printed or [], strict=False):
            self._printed |= {(s, row): t for s, t in zip(core.stations, texts, strict=False) if t and t.strip()}

    def printed(self, station: str, row: str) -> str | None:
        """A cell as it stands on the page."""
        return self._printed.get((station, row))

    def write(self, row: str, reading: str) -> str | None:
        """A reading of the table as the page would print it in that row; None where the page's hand cannot be told, as
        of heights from a datum, which the table has otherwise."""
        if row not in self._of_row:
            self._of_row[row] = self._style(row)
        style, facts = self._of_row[row], self._table.facts
        if style is None or not reading:
            return None
        try:
            own = Reading(reading, units=facts["units"], two_part=facts.get("two_part"))
        except ReadingError:  # a decimal comma, which is the file's own
            return None
        return style(own.m)

    def _style(self, row: str) -> Style | None:
        """The style that gives most of the row's cells, and of such as do the one that gives most of the page's."""
        cells = [(m, text) for other, m, text in self._cells() if other == row]
        if len(cells) < LEAST_CELLS:
            return None
        given = [(sum(style(m) == text for m, text in cells), style) for style in _styles()]
        most = max(count for count, _ in given)
        if most < LEAST_CELLS or most < MOST_OF * len(cells):
            return None
        every = self._cells()

        def gives(style: Style) -> int:
            return sum(style(m) == text for _, m, text in every)

        return max((style for count, style in given if count == most), key=gives)

    def _cells(self) -> list[tuple[str, float, str]]:
        """Row, length and print of every cell that is a reading."""
        if self._every is None:
            read = ((row, self._table.reading(s, row), text) for (s, row), text in self._printed.items())
            self._every = [(row, reading.m, _plain(text)) for row, reading, text in read if reading is not None]
        return self._every
