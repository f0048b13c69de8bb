"""Built-in readers: the project's own `.offsets` files, and printed tables as CSV or TSV.

A reader is any object with `reads(path, head) -> bool`, where `head` is the first bytes of the file, and
`read(path, **options) -> Table`.
"""

from __future__ import annotations

import csv as csv_module
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ._core import Reading, ReadingError, TableError, read_offsets, rows_text
from .outputs import note_read
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
        said = (line.strip() for line in head.removeprefix(b"\xef\xbb\xbf").splitlines())
        first = next((line for line in said if line and not line.startswith(b"#")), b"")
        return path.suffix.lower() == ".offsets" or first == b"+++"

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
        beside = Path(mapping) if mapping else path.with_suffix(".toml")
        keys, facts, layout, rows = _read_mapping(path, beside)
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
        if "spacing" in layout:
            try:
                spacing = Reading(str(layout["spacing"]), **options)
            except (ValueError, TypeError) as error:
                expected = str(getattr(error, "expected", error))
                raise _table_error([_mistake(beside, keys.cell("spacing"), "spacing", expected)]) from None
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
                except (TypeError, ValueError) as error:  # units and the like that there are none of
                    cell = keys.cell(str(error).split(" ")[0], "units")
                    raise _table_error([_mistake(beside, cell, cell.text, str(error))]) from None
        if mistakes:
            raise _table_error(mistakes)

        def placed(heading: str) -> list[_Cell]:
            i = columns[heading]
            return [line[i] if i < len(line) else _Cell("", line[0].line, 1) for line in lines]

        def cells(heading: str) -> list[str]:
            return ["-" if cell.text in NO_READING else cell.text for cell in placed(heading)]

        if "from_stem" in layout:
            places = cells(layout["from_stem"])
        else:
            units = facts.get("units", "feet-inches-eighths")
            places = [(spacing * i).to(units) for i in range(len(lines))]
        stations = list(zip(cells(layout["names"]), places, strict=True))
        parts = (facts, stations, [(block, row, cells(h)) for h, (block, row) in rows.items()])
        try:
            return Table.from_rows(*parts)
        except (TableError, TypeError) as error:
            found: dict[tuple[str, ...], str] = {
                ("station",): layout["names"],
                ("from stem",): layout.get("from_stem", layout["names"]),
            }
            found |= {(block, row): heading for heading, (block, row) in rows.items()}
            by_row = {row: placed(heading) for row, heading in found.items()}
            raise _where_it_stands(error, path, beside, keys, parts, by_row) from None


def _where_it_stands(
    error: Exception,
    path: Path,
    beside: Path,
    keys: _Keys,
    parts: tuple[Any, Any, Any],
    by_row: dict[tuple[str, ...], list[_Cell]],
) -> TableError:
    """The error with the lines of the printed table and of its mapping, in place of those of the text they became."""
    try:
        text = rows_text(*parts).splitlines()
    except (TableError, TypeError) as failed:  # a fact, or a block that there is none of
        return _table_error([_mistake(beside, keys.named_in(str(failed)), "", str(failed))])
    told = []
    for mistake in getattr(error, "mistakes", None) or [{"line": 1, "column": 1, "problem": str(error)}]:
        at = min(mistake["line"], len(text)) - 1
        expected = str(mistake.get("expected") or mistake.get("problem") or error)
        said = mistake.get("text") or mistake.get("problem") or ""
        label, bar, _ = text[at].partition("|")
        above = [line for line in text[:at] if line.startswith("[") and line.endswith("]")]
        row = (label.strip(),) if not above else (above[-1].strip("[]"), " ".join(label.split()))
        if not bar or row not in by_row:
            cell = keys.cell(text[at].partition("=")[0].strip(), text[at])
            told.append(_mistake(beside, cell, said, expected))
            continue
        before = text[at].encode()[: max(0, mistake["column"] - 1)].decode(errors="ignore").partition("|")[2]
        cells = by_row[row]
        station = min(len(before.split()), len(cells) - 1)
        told.append(_mistake(path, cells[station], said or cells[station].text, expected))
    return _table_error(told)


class _Keys:
    """Where each key of a mapping stands, as far as it is written plainly: the first line that begins with it."""

    def __init__(self, text: str) -> None:
        self._lines = re.split("\r\n|\r|\n", text)

    def cell(self, *keys: str) -> _Cell:
        for key in filter(None, keys):
            pattern = re.compile(rf"""\s*(\[\s*)?["']?{re.escape(key)}["']?\s*(=|\]|$)""")
            for number, line in enumerate(self._lines, 1):
                if pattern.match(line):
                    return _Cell(key, number, 1 + len(line) - len(line.lstrip()))
        return _Cell("", 1, 1)

    def named_in(self, said: str) -> _Cell:
        """The first line of which a value or a key is named in a message."""
        for number, line in enumerate(self._lines, 1):
            words = re.findall(r"""["']([^"']+)["']""", line)
            if any(f"'{word}'" in said or f'"{word}"' in said for word in words):
                return _Cell("", number, 1)
        return _Cell("", 1, 1)


def _read_mapping(
    path: Path, mapping: Path
) -> tuple[_Keys, dict[str, Any], dict[str, Any], dict[str, tuple[str, str]]]:
    try:
        data = mapping.read_bytes()
    except FileNotFoundError:
        raise TableError(
            f"{path}: a printed table needs a mapping from its headings to rows: expected {mapping}"
        ) from None
    note_read(mapping)
    if len(data) > LARGEST_CSV_BYTES:
        raise TableError(f"{mapping}: over {LARGEST_CSV_BYTES // 1_000_000} MB: this is no mapping")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        cell = _Cell("", data.count(b"\n", 0, error.start) + 1, 1)
        raise _table_error([_mistake(mapping, cell, "not UTF-8 text", "a mapping saved as UTF-8")]) from None
    keys = _Keys(text)
    try:
        facts: dict[str, Any] = tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"line (\d+), column (\d+)", str(error))
        cell = _Cell("", *map(int, at.groups())) if at else _Cell("", len(keys._lines), 1)
        raise _table_error([_mistake(mapping, cell, "no TOML", str(error))]) from None
    except RecursionError:
        raise _table_error([_mistake(mapping, _Cell("", 1, 1), "no mapping", "no lists within lists")]) from None
    layout, rows = facts.pop("layout", {}), facts.pop("rows", {})
    wrong: list[tuple[str, str, str]] = []
    for key, table in (("layout", layout), ("rows", rows)):
        if not isinstance(table, dict):
            wrong.append((key, key, f"a table, [{key}]"))
    if wrong:
        raise _table_error([_mistake(mapping, keys.cell(key), said, expected) for key, said, expected in wrong])
    if layout.get("stations", "down") not in ("down", "across"):
        wrong.append(("stations", "[layout] stations", '"down" or "across"'))
    if not isinstance(layout.get("names"), str):
        wrong.append(("names" if "names" in layout else "layout", "[layout] names", "the heading of the station names"))
    if ("spacing" in layout) == ("from_stem" in layout):
        wrong.append(("layout", "[layout]", "one of spacing and from_stem"))
    if not isinstance(layout.get("from_stem", ""), str):
        wrong.append(("from_stem", "[layout] from_stem", "the heading that gives the distances"))
    for key in layout.keys() - {"stations", "names", "spacing", "from_stem"}:
        wrong.append((key, f"[layout] {key}: not a key", "stations, names, spacing or from_stem"))
    for heading, row in rows.items():
        if not (isinstance(row, list) and len(row) == 2 and all(isinstance(part, str) for part in row)):
            wrong.append((heading, f"[rows] {heading!r}", '["block", "row"], such as ["heights", "sheer"]'))
    if not rows:
        wrong.append(("rows", "[rows]", "at least one heading"))
    if wrong:
        raise _table_error([_mistake(mapping, keys.cell(key), said, expected) for key, said, expected in wrong])
    return keys, facts, layout, {heading: (row[0], row[1]) for heading, row in rows.items()}


def _read_grid(path: Path) -> list[list[_Cell]]:
    if path.stat().st_size > LARGEST_CSV_BYTES:
        raise TableError(f"{path}: over {LARGEST_CSV_BYTES // 1_000_000} MB: this is no printed table")
    data = path.read_bytes()

    def at(line: int, said: str, expected: str) -> TableError:
        return _table_error([_mistake(path, _Cell("", line, 1), said, expected)])

    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise at(line, "not UTF-8 text", "a table saved as UTF-8") from None
    if "\0" in text:
        raise at(text.count("\n", 0, text.index("\0")) + 1, "a binary file, not a table", "text")
    delimiter = "\t" if path.suffix.lower() == ".tsv" else ","
    grid = []
    numbered = [(n, s) for n, s in enumerate(re.split("\r\n|\r|\n", text), 1) if s.strip() and s[0] != "#"]
    # One line at a time, so that every cell knows its line; a printed table has no line breaks in cells.
    for number, row in numbered:
        try:
            fields = next(csv_module.reader([row], delimiter=delimiter))
        except csv_module.Error as error:
            raise at(number, str(error), "cells parted by commas, or tabs in a .tsv") from None
        column, cells = 1, []
        for field in fields:
            cells.append(_Cell(field.strip(), number, column))
            column += len(field) + 1
        grid.append(cells)
    if len(grid) < 2:
        raise at(len(grid) or 1, "empty", "a line of headings and a line for each station")
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
    lines = [f"{m['file']}:{m['line']}:{m['column']}: {m['text'] or m['expected']}" for m in mistakes]
    said = [f"{line}: expected {m['expected']}" if m["text"] else line for line, m in zip(lines, mistakes, strict=True)]
    error = TableError("\n".join(said))
    error.mistakes = mistakes
    return error


offsets = OffsetsReader()
csv = CsvReader()
