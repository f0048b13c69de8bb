"""Built-in readers: the project's own `.offsets` files, and printed tables as CSV or TSV.

A reader is any object with `reads(path, head) -> bool`, where `head` is the first bytes of the file, and
`read(path, **options) -> Table`.
"""

from __future__ import annotations

import csv as csv_module
import io
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ._core import Reading, ReadingError, TableError, read_offsets
from .table import Table

try:
    import tomllib
except ModuleNotFoundError:  # Python 3.10
    import tomli as tomllib  # type: ignore[no-redef]

# A printed table is a page or two; what is larger is some other file.
LARGEST_CSV_BYTES = 8_000_000

# What a printed table leaves an empty cell with, besides nothing at all.
NO_READING = {"", "-", "x", "—", "–", "..."}


class OffsetsReader:
    """The project's own table of offsets (.offsets)"""

    suffixes = ("offsets",)

    def reads(self, path: Path, head: bytes) -> bool:
        return path.suffix.lower() == ".offsets" or head.removeprefix(b"\xef\xbb\xbf").startswith(b"+++")

    def read(self, path: str | os.PathLike[str]) -> Table:
        return Table(read_offsets(os.fspath(path)))


@dataclass
class _Cell:
    """A cell of the CSV file and where it stands."""

    text: str
    line: int
    column: int


class CsvReader:
    """A printed table as CSV or TSV, with a mapping from its headings to rows (.csv + .toml)

    The mapping is a TOML file beside the table, of the same name, or the one given as `mapping`::

        name = "Cruising canoe"
        units = "feet-inches-eighths"
        two_part = "feet-inches"

        [layout]
        stations = "down"            # a line of the file is a station; "across": a column is
        names = "station"            # heading of the station names (down), or of the row labels (across)
        spacing = "1-0-0"            # distance from each station to the next, or
        from_stem = "from stem"      # the heading (or row label) that gives the distances

        [rows]                       # printed heading = block, and the row it is in a table of offsets
        "height deck" = ["heights", "sheer"]
        "half-breadth 6 in" = ["half-breadths", "waterline 0-6-0"]

    Everything outside `[layout]` and `[rows]` is the head of the table, as in an `.offsets` file. Lines
    that begin with `#` are comments. Readings are taken as printed; none is corrected.
    """

    suffixes = ("csv", "tsv")

    def reads(self, path: Path, head: bytes) -> bool:
        return path.suffix.lower() in (".csv", ".tsv")

    def read(self, path: str | os.PathLike[str], mapping: str | os.PathLike[str] | None = None) -> Table:
        path = Path(path)
        facts, layout, rows = _read_mapping(path, Path(mapping) if mapping else path.with_suffix(".toml"))
        grid = _read_grid(path)
        if layout.get("stations", "down") == "down":
            headings, lines = grid[0], grid[1:]
        else:
            width = max(len(line) for line in grid)
            turned = [[line[i] if i < len(line) else None for line in grid] for i in range(width)]
            headings = [cell or _Cell("", 1, 1) for cell in turned[0]]
            lines = [[cell or _Cell("", 1, 1) for cell in column] for column in turned[1:]]
        columns = {heading.text: i for i, heading in enumerate(headings)}
        mistakes = []
        for wanted in [layout["names"], layout.get("from_stem"), *rows]:
            if wanted is not None and wanted not in columns:
                expected = "one of: " + ", ".join(repr(heading) for heading in columns)
                mistakes.append(_mistake(path, headings[0], f"no heading {wanted!r}", expected))
        if mistakes:
            raise _table_error(mistakes)
        options = {key: facts[key] for key in ("units", "two_part", "plus") if key in facts}
        for line in lines:
            for heading in [layout.get("from_stem"), *rows]:
                if heading is None:
                    continue
                cell = line[columns[heading]] if columns[heading] < len(line) else None
                if cell is None or cell.text in NO_READING:
                    continue
                try:
                    Reading(cell.text, **options)
                except ReadingError as error:
                    mistakes.append(_mistake(path, cell, cell.text, str(error.expected)))
        if mistakes:
            raise _table_error(mistakes)

        def cells(heading: str) -> list[str]:
            i = columns[heading]
            texts = [line[i].text if i < len(line) else "" for line in lines]
            return ["-" if text in NO_READING else text for text in texts]

        if "from_stem" in layout:
            places = cells(layout["from_stem"])
        else:
            spacing = Reading(layout["spacing"], **options)
            units = facts.get("units", "feet-inches-eighths")
            places = [(spacing * i).to(units) for i in range(len(lines))]
        stations = list(zip(cells(layout["names"]), places, strict=True))
        return Table.from_rows(facts, stations, [(block, row, cells(h)) for h, (block, row) in rows.items()])


def _read_mapping(path: Path, mapping: Path) -> tuple[dict[str, Any], dict[str, Any], dict[str, tuple[str, str]]]:
    try:
        text = mapping.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise TableError(
            f"{path}: a printed table needs a mapping from its headings to rows: expected {mapping}"
        ) from None
    except UnicodeDecodeError as error:
        raise TableError(f"{mapping}: not UTF-8 text at byte {error.start}") from None
    try:
        facts: dict[str, Any] = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise TableError(f"{mapping}: {error}") from None
    layout, rows = facts.pop("layout", {}), facts.pop("rows", {})
    wrong = []
    if layout.get("stations", "down") not in ("down", "across"):
        wrong.append('[layout] stations: expected "down" or "across"')
    if not isinstance(layout.get("names"), str):
        wrong.append("[layout] names: expected the heading of the station names")
    if ("spacing" in layout) == ("from_stem" in layout):
        wrong.append("[layout]: expected one of spacing and from_stem")
    wrong += [
        f"[layout] {key}: not a key; expected stations, names, spacing or from_stem"
        for key in layout.keys() - {"stations", "names", "spacing", "from_stem"}
    ]
    for heading, row in rows.items():
        if not (isinstance(row, list) and len(row) == 2 and all(isinstance(part, str) for part in row)):
            wrong.append(f'[rows] {heading!r}: expected ["block", "row"], such as ["heights", "sheer"]')
    if not rows:
        wrong.append("[rows]: expected at least one heading")
    if wrong:
        raise TableError("\n".join(f"{mapping}: {what}" for what in wrong))
    return facts, layout, {heading: (row[0], row[1]) for heading, row in rows.items()}


def _read_grid(path: Path) -> list[list[_Cell]]:
    if path.stat().st_size > LARGEST_CSV_BYTES:
        raise TableError(f"{path}: over {LARGEST_CSV_BYTES // 1_000_000} MB: this is no printed table")
    data = path.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise TableError(f"{path}:{line}: not UTF-8 text") from None
    if "\0" in text:
        raise TableError(f"{path}: a binary file, not a table")
    delimiter = "\t" if path.suffix.lower() == ".tsv" else ","
    grid = []
    numbered = [(n, s) for n, s in enumerate(text.splitlines(), 1) if s.strip() and not s.startswith("#")]
    # One line at a time, so that every cell knows its line; a printed table has no line breaks in cells.
    for number, row in numbered:
        fields = next(csv_module.reader(io.StringIO(row), delimiter=delimiter))
        column, cells = 1, []
        for field in fields:
            cells.append(_Cell(field.strip(), number, column))
            column += len(field) + 1
        grid.append(cells)
    if len(grid) < 2:
        raise TableError(f"{path}: empty: expected a line of headings and a line for each station")
    return grid


def _mistake(path: Path, cell: _Cell, text: str, expected: str) -> dict[str, Any]:
    return {
        "file": str(path),
        "line": cell.line,
        "column": cell.column,
        "text": text,
        "expected": expected,
        "severity": "error",
    }


def _table_error(mistakes: list[dict[str, Any]]) -> TableError:
    lines = [f"{m['file']}:{m['line']}:{m['column']}: {m['text']}: expected {m['expected']}" for m in mistakes]
    error = TableError("\n".join(lines))
    error.mistakes = mistakes
    return error


offsets = OffsetsReader()
csv = CsvReader()
