"""The table of offsets, as a person wrote it."""

from __future__ import annotations

import html
import os
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from .. import _core
from ..hull.hull import Hull

if TYPE_CHECKING:
    import pandas


class Proof(list["_core.Query"]):
    """Queries, worst first, those last that a slip of the whole explains; and such slips, as `whole_slips`.

    `no_hull` says, where that is so, that the table does not describe one fair hull, and where to begin: none of the
    queries is worth following before. `remarks` say of stretches of the planking that no reading tells of: where, how
    far off it may be, and what reading would tell; a faired hull's `remarks` have them too.
    `not_judged` names facts that no reading tells again, such as how far aft a transom stands, each with how far it
    could be off unseen; nothing speaks against them.
    """

    def __init__(
        self,
        queries: Iterable[_core.Query] = (),
        whole_slips: Iterable[_core.WholeSlip] = (),
        no_hull: str | None = None,
        remarks: Iterable[str] = (),
        not_judged: Iterable[str] = (),
    ) -> None:
        super().__init__(queries)
        self.whole_slips = list(whole_slips)
        self.no_hull = no_hull
        self.remarks = list(remarks)
        self.not_judged = list(not_judged)


class Table:
    """A table of offsets: facts, stations and rows, each reading kept exactly as written.

    A table is never changed in place: `with_reading` gives a new one. Get one with `scrieve.read`, or
    build it from text with `Table.from_text` or from cells with `Table.from_rows`.
    """

    __slots__ = ("_core",)

    def __init__(self, core: _core.Table) -> None:
        self._core = core

    @classmethod
    def from_text(cls, text: str | bytes, name: str = "<text>") -> Table:
        """The table in the text of an `.offsets` file; `name` stands for the file in messages.

        Raises `TableError` with every mistake in it.
        """
        return cls(_core.read_offsets(text.encode() if isinstance(text, str) else text, name))

    @classmethod
    def from_rows(
        cls,
        facts: dict[str, Any],
        stations: Sequence[tuple[str, str | None]],
        rows: Iterable[tuple[str, str, Sequence[str]]],
    ) -> Table:
        """A table from its parts, for readers.

        `facts` is the head of the file; `stations` pairs of name and distance from the stem (a reading, or
        None on the transom); `rows` triples of block, label and one cell a station, written as in a file.
        Raises `TableError`.
        """
        return cls(_core.table_from_rows(facts, list(stations), [(b, r, list(c)) for b, r, c in rows]))

    @property
    def name(self) -> str:
        """The boat's name."""
        return self._core.name

    @property
    def facts(self) -> dict[str, Any]:
        """The head of the file: plain values, lengths in metres at full size; what is missing is absent."""
        return self._core.facts

    @property
    def stations(self) -> list[str]:
        """Names of the stations, in order."""
        return self._core.stations

    @property
    def station_x(self) -> dict[str, float | None]:
        """Distance of each station aft of the forward end, m at full size; None for the transom."""
        return dict(zip(self._core.stations, self._core.station_x, strict=True))

    @property
    def rows(self) -> list[tuple[str, str]]:
        """Block and label of each row, in file order."""
        return self._core.rows

    @property
    def assumed(self) -> list[str]:
        """What was taken for granted, a sentence each: by whoever typed the table, and by the reader of its page."""
        return list(self.facts.get("assumed", []))

    @property
    def worth(self) -> list[str]:
        """How finely her readings were taken, where the table itself tells that this was less finely than they are
        written: on a grid, or by a hand that favours halves. Raises `TableError` where no hull can be made of it.
        """
        return self._core.worth

    @property
    def page_notes(self) -> list[str]:
        """What else was done with the page the table was read from: lines taken for notes, columns left alone."""
        return self._core.page_notes

    def understood(self) -> pandas.DataFrame:
        """What was understood of each cell, a row a cell: block, row (as reports name it), station, `printed` (as it
        stands on the page it was read from, or in the file), `reading` ("" where there is none), `mm` at full size
        (NaN where there is none) and `meaning`: "read", what a blank means, or "blank, not told"."""
        import pandas

        core, cells = self._core, []
        told = {(station, row): word for station, row, word in core.blanks}
        untold = {(station, row) for row, stations in core.blanks_untold for station in stations}
        printed = core.printed or [[None] * len(core.stations)] * len(core.rows)
        for (block, _), row, texts, page, metres in zip(
            core.rows, core.row_names, core.grid, printed, core.metres, strict=True
        ):
            for i, (station, text, m) in enumerate(zip(core.stations, texts, metres, strict=True)):
                key = (station, row)
                meaning = told.get(key) or ("blank, not told" if key in untold else "read")
                on_page = page[i] if i < len(page) and page[i] is not None else "" if meaning != "read" else text
                mm = float("nan") if m is None else 1e3 * m
                cells.append((block, row, station, on_page, text or "", mm, meaning))
        columns = ["block", "row", "station", "printed", "reading", "mm", "meaning"]
        return pandas.DataFrame(cells, columns=columns)

    @property
    def warnings(self) -> list[str]:
        """What looked odd when the table was read."""
        return self._core.warnings

    def reading(self, station: str, row: str) -> _core.Reading | None:
        """The reading at a station in a row; None where there is none.

        `row` is the row's label, with its block before it (`"heights sheer"`) where two blocks share it.
        Raises `TableError` where there is no such station or row.
        """
        return self._core.reading(station, row)

    def with_reading(self, station: str, row: str, reading: str | _core.Reading) -> Table:
        """The table with one reading replaced and nothing else touched. Raises `TableError`."""
        return Table(self._core.with_reading(station, row, str(reading)))

    def with_correction(self, station: str, row: str, reading: str | _core.Reading, reason: str) -> Table:
        """As `with_reading`, with a line under `[corrections]` that keeps the old reading and says why."""
        return Table(self._core.with_correction(station, row, str(reading), reason))

    @property
    def corrections(self) -> list[str]:
        """The lines under `[corrections]`."""
        return self._core.corrections

    def proof(self, *, stiffness: float = 1.0) -> Proof:
        """The readings that the rest of the boat contradicts, worst first; the table is not changed.

        A query has `station`, `row`, `reading` (as written), `expected` and `sd` in metres (a value in which the
        reading has no part, and one standard deviation of a sound reading about it), `expected_reading`,
        `misfit` in those, `confidence` ("low" where a slip near by would look the same) and `suggestions`, each
        with `reading`, `slip` and `probability`, likeliest first. Raises `FairingError` or `TableError`.

        Where a whole row, column or block is off in one way, `whole_slips` of what is returned says so, each with
        `text`, `offer`, `edits` and `explains` (how many queries); those come last, and `explained_by` is its text.
        The other queries are of the table with those slips put right, which `put_right` does.
        """
        return Proof(*_core.proof(self._core, stiffness=stiffness))

    def put_right(self, slip: _core.WholeSlip) -> Table:
        """The table with a slip of the whole, of `proof().whole_slips`, put right, nothing else touched, and a line
        under `[corrections]` that says so. The second of two is put right after the first. Raises `TableError` where
        it was not found in this table."""
        return Table(slip.put_right(self._core))

    def disagreements(self) -> list[str]:
        """Where the table contradicts itself, found without fairing: readings of one station that no section can
        have together, and of a profile that no stem can. Raises `TableError` where it is no hull."""
        return [text for text, _ in _core.disagreements(self._core)]

    def fair(
        self,
        *,
        stiffness: float = 1.0,
        robust: bool = True,
        tolerance: float | Mapping[str | tuple[str, str] | None, float] | None = None,
        previous: Hull | None = None,
    ) -> Hull:
        """One fair surface as near the readings as their worth warrants.

        `stiffness` 1 is what the readings call for, 2 a batten twice as stiff. With `robust`, a reading the
        rest of the boat contradicts is left out, and said so in `corrections`.

        `tolerance` is how far readings may be off, in metres at full size, in place of the file's: one number
        for all, or a dict by row (`"waterline 1-3-0"`; `"sheer"`, for its heights and half-breadths; a block
        by its heading, `"diagonals"`; None for all) and by reading (`("4", "sheer height")`). The narrower
        outweighs the wider.

        Slips of a whole row or column are looked for all the same, and stand if they are as sure by these tolerances;
        not without `robust`.

        With `previous`, a hull faired from nearly this table (`with_reading`) by the same options, fairing
        starts from her parameters and takes about a tenth of the time; with more than three readings changed,
        or any of a profile, a row or an option, it starts afresh.

        Raises `FairingError`, or `TableError` where the table itself is at fault or has no such row.
        """
        given: list[tuple[str | None, str | None, float]] = []
        if isinstance(tolerance, Mapping):
            for key, metres in tolerance.items():
                station, row = key if isinstance(key, tuple) else (None, key)
                given.append((station, row, metres))
        elif tolerance is not None:
            given.append((None, None, tolerance))
        before = None if previous is None else previous._core
        core = _core.fair(self._core, stiffness=stiffness, robust=robust, tolerance=given, previous=before)
        made = None if previous is None else previous._made
        return Hull(core, Table, ("faired", self._core, (stiffness, robust, tuple(given)), made))

    def to_text(self) -> str:
        """The `.offsets` text: what was read, to the letter, but for what has been replaced."""
        return self._core.to_text()

    def write(self, path: str | os.PathLike[str]) -> None:
        """Writes the `.offsets` file; one that is there is replaced only when the new one is whole.

        Raises `OSError`, and `ScrieveError` where it is a file that was read.
        """
        self._core.write(os.fspath(path))

    def frame(self) -> pandas.DataFrame:
        """The readings as written, a column a station; the index is block and row."""
        import pandas

        index = pandas.MultiIndex.from_tuples(self.rows, names=["block", "row"])
        return pandas.DataFrame(self._core.grid, index=index, columns=self.stations)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Table) and self._core == other._core

    __hash__ = None  # type: ignore[assignment]

    def __reduce__(self) -> tuple[Any, ...]:
        return Table.from_text, (self.to_text().encode(), self.name)

    def __repr__(self) -> str:
        return f"<Table {self.name!r}: {len(self.rows)} rows at {len(self.stations)} stations>"

    def _repr_html_(self) -> str:
        head = "".join(f"<th>{html.escape(name)}</th>" for name in self.stations)
        body, block_before = [], None
        for (block, label), cells in zip(self.rows, self._core.grid, strict=True):
            if block != block_before:
                body.append(
                    f'<tr><th colspan="{len(self.stations) + 1}" style="text-align:left">'
                    f"<i>{html.escape(block)}</i></th></tr>"
                )
                block_before = block
            tds = "".join(f"<td>{html.escape(cell or '')}</td>" for cell in cells)
            body.append(f'<tr><th style="text-align:left">{html.escape(label)}</th>{tds}</tr>')
        return (
            f"<table><caption>{html.escape(self.name)}</caption>"
            f"<thead><tr><th>station</th>{head}</tr></thead><tbody>{''.join(body)}</tbody></table>"
        )
