"""How a printed page writes a length: the style that gives its cells back to the letter, told from them alone."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import TYPE_CHECKING

from ..._core import Reading, ReadingError
from .signs import parted_sign

if TYPE_CHECKING:
    from ..table import Table

INCH_M = 0.0254
# The finest that fractions of an inch are printed to.
FINEST = 64
# A style is the page's if it gives back this part of the cells, and so many at least: the others are slips of the
# compositor's, such as a sign left out.
MOST_OF, LEAST_CELLS = Fraction(4, 5), 3

# A length above nought, as printed without its sign.
Style = Callable[[float], "str | None"]
# How lengths of a row are told: this times what is printed, from this height (m). Heights may run down or from another
# datum, and breadths be whole ones.
Telling = tuple[float, float]
AS_PRINTED: Telling = (1.0, 0.0)
TELLINGS = (1.0, -1.0, 0.5)
SIGNED = re.compile(r"([+＋]|[−‐‑‒–-])\s?(?=\S)")

_VULGAR = dict(zip(("1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8"), "½¼¾⅛⅜⅝⅞", strict=True))
_RAISED = "⁰¹²³⁴⁵⁶⁷"

# What stands after the feet, after the inches before what is over, and at the end.
_FEET = ("-", " ", "'", "' ", "'-", " ft. ", " ft ", ".")
_OVER = ("^", "-", " ", ".", " n/d", "n/d", " n-d", "-n/d", "vulgar", " vulgar", "raised")
_ENDS = ("", '"', " in.", " in")


def _over(way: str, over: Fraction, always: bool) -> str | None:
    """What is over whole inches, as such a page writes it."""
    if over == 0 and not always:
        return ""
    if way in ("^", "-", " ", ".", "raised"):
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
        ticks = round(metres / INCH_M * FINEST)
        if abs(ticks * INCH_M / FINEST - metres) > 1e-6:
            return None
        whole, over = divmod(Fraction(ticks, FINEST), 1)
        feet, inches = divmod(int(whole), 12)
        said = _over(way, over, over_always)
        if said is None:
            return None
        head = f"{feet}{feet_sign}" if feet or feet_always else ""
        return f"{head}{inches}{said}{end}"

    return write


def _decimal(unit_m: float, places: int, point: str, nought: bool) -> Style:
    def write(metres: float) -> str | None:
        text = f"{metres / unit_m:.{places}f}"
        if not nought and text.startswith("0."):
            text = text[1:]
        return text.replace(".", point)

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
        self._tellings: dict[str, Telling] = {}
        self._signs: dict[str, tuple[str, str]] = {}
        self._every: list[tuple[str, float, str]] | None = None
        for row, texts in zip(core.row_names, core.printed or [], strict=False):
            self._printed |= {(s, row): t for s, t in zip(core.stations, texts, strict=False) if t and t.strip()}

    def printed(self, station: str, row: str) -> str | None:
        """A cell as it stands on the page."""
        return self._printed.get((station, row))

    def write(self, row: str, reading: str) -> str | None:
        """A reading of the table as the page would print it in that row, from the row's own datum and with its signs;
        None where the page's hand cannot be told."""
        if row not in self._of_row:
            self._of_row[row] = self._style(row)
        style = self._of_row[row]
        own = self._read(reading) if style is not None and reading else None
        if style is None or own is None:
            return None
        times, datum = self._tellings[row]
        told = (own - datum) / times
        said = style(abs(told))
        if said is None or said == style(0.0):
            return said
        return self._signs[row][told < 0] + said

    def _read(self, text: str) -> float | None:
        """A reading of the table's or of its page, m."""
        facts = self._table.facts
        options = {"units": facts["units"], "two_part": facts.get("two_part"), "comma": "," in text}
        if facts["units"] == "feet-inches-eighths":
            options["one_part"] = facts.get("one_part")
        for said in (text, parted_sign(text, options)):
            try:
                return None if said is None else Reading(said, **options).m
            except ReadingError:
                continue
        return None

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
        """Row, length as printed and print, both without their signs, of every cell that is a reading."""
        if self._every is None:
            rows: dict[str, list[tuple[float, str]]] = {}
            for (station, row), text in self._printed.items():
                reading = self._table.reading(station, row)
                if reading is not None:
                    rows.setdefault(row, []).append((reading.m, _plain(text)))
            self._every = [(row, m, text) for row, cells in rows.items() for m, text in self._unsigned(row, cells)]
        return self._every

    def _unsigned(self, row: str, cells: list[tuple[float, str]]) -> list[tuple[float, str]]:
        """The cells of a row without the signs and the datum of its page, which are kept for writing."""
        times, datum = self._tellings[row] = self._telling(cells)
        signs: tuple[list[str], list[str]] = ([], [])
        found = []
        for m, text in cells:
            told = (m - datum) / times
            sign = SIGNED.match(text)
            # A dash may stand for no feet.
            own = sign is not None and (sign[1] in "+＋") == (told >= 0)
            signs[told < 0].append(text[: sign.end()] if own and sign else "")
            found.append((abs(told), text[len(signs[told < 0][-1]) :]))
        plus, minus = (max(set(said), key=said.count) if said else "" for said in signs)
        self._signs[row] = plus, minus or "-"
        return found

    def _telling(self, cells: list[tuple[float, str]]) -> Telling:
        """How a row's lengths are told on the page, by what its cells say there."""
        both = [(m, said) for m, text in cells if (said := self._read(text)) is not None]
        if len(both) < LEAST_CELLS or len(both) < MOST_OF * len(cells) or len({said for _, said in both}) < 2:
            return AS_PRINTED
        for times in TELLINGS:
            data = [m - times * said for m, said in both]
            if max(data) - min(data) < 1e-6:
                return times, data[0]
        return AS_PRINTED
