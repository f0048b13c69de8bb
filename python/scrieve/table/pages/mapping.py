"""The mapping of a printed page: how its headings become rows of a table of offsets, and how it is laid out.

A TOML file. What stands outside `[layout]` and `[rows]` is the head of the table, as in an `.offsets` file. A mapping
may build on another, that of its book, by `like = "book.toml"`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..._core import TableError
from ...outputs import note_read

try:
    import tomllib
except ModuleNotFoundError:  # Python 3.10
    import tomli as tomllib  # type: ignore[no-redef]

# A mapping is a page of text at most; what is larger is some other file.
LARGEST_BYTES = 8_000_000
# Mappings that build on one another: a boat's, her book's, her author's; more is a ring.
MOST_LIKE = 8

LAYOUT = (
    "stations", "names", "headings", "cells", "parts", "from_stem", "spacing", "first", "begins", "heights",
    "ditto", "ditto_marks", "empty", "skip", "transom",
)  # fmt: skip
PARTS = ("feet", "inches", "eighths", "sixteenths")
CELLS = {",": ",", ";": ";", "|": "|", "tab": "\t", "\t": "\t", "spaces": "spaces"}
# Those whose rows have a cell for each station; profiles and points a mapping cannot give.
BLOCKS = ("heights", "half-breadths", "diagonals")


@dataclass
class Cell:
    """A cell and where it stands; lines and columns count from 1."""

    text: str
    line: int
    column: int
    # What stands on the page, where that is not the reading itself: a ditto mark, parts in several columns.
    printed: str | None = None


def mistake(path: Path | str, cell: Cell, text: str, expected: str) -> dict[str, Any]:
    """One mistake, as `TableError.mistakes` holds it."""
    return {
        "file": str(path),
        "line": cell.line,
        "column": cell.column,
        "text": text,
        "expected": expected,
        "severity": "error",
    }


def table_error(mistakes: list[dict[str, Any]]) -> TableError:
    """The error that tells them all."""
    lines = [f"{m['file']}:{m['line']}:{m['column']}: {m['text'] or m['expected']}" for m in mistakes]
    said = [f"{line}: expected {m['expected']}" if m["text"] else line for line, m in zip(lines, mistakes, strict=True)]
    error = TableError("\n".join(said))
    error.mistakes = mistakes
    return error


class Keys:
    """Where each key of a mapping stands, as far as it is written plainly: the first line that begins with it."""

    def __init__(self, path: Path, text: str) -> None:
        self.path, self.text = path, text
        self.lines = re.split("\r\n|\r|\n", text)

    def find(self, *keys: str) -> Cell | None:
        for key in filter(None, keys):
            pattern = re.compile(rf"""\s*(\[\s*)?["']?{re.escape(key)}["']?\s*(=|\]|$)""")
            for number, line in enumerate(self.lines, 1):
                if pattern.match(line):
                    return Cell(key, number, 1 + len(line) - len(line.lstrip()))
        return None

    def cell(self, *keys: str) -> Cell:
        return self.find(*keys) or Cell("", 1, 1)


@dataclass
class RowSpec:
    """What a heading becomes: a row of a block, and how its readings are given."""

    block: str
    row: str
    # `above READING` or `below READING`: what heights are measured from; None where the layout says.
    datum: str | None = None
    # What an empty cell means: a word, or words for `forward`, `between` and `aft`.
    blank: Any = None
    # Breadths are whole ones.
    whole: bool = False
    # Of a book's mapping: not every table of the book need have it.
    optional: bool = False


@dataclass
class Mapping:
    """A mapping, with those it builds on."""

    path: Path
    keys: list[Keys]
    facts: dict[str, Any] = field(default_factory=dict)
    layout: dict[str, Any] = field(default_factory=dict)
    # A heading may serve several rows, and none where it is to be left alone.
    rows: dict[str, list[RowSpec]] = field(default_factory=dict)
    # Keys of `[blank]` that come from a book's mapping.
    blank_of_book: set[str] = field(default_factory=set)
    # Lines that are on no page and run straight and level: rows of heights, and how high.
    straight: dict[str, str] = field(default_factory=dict)
    # What was decided in building on another.
    said: list[str] = field(default_factory=list)

    def at(self, *keys: str) -> tuple[Path, Cell]:
        """The file and place where one of the keys stands; the mapping's first line where none does."""
        for keys_of in self.keys:
            if found := keys_of.find(*keys):
                return keys_of.path, found
        return self.path, Cell("", 1, 1)

    def error(self, said: str, expected: str, *keys: str) -> dict[str, Any]:
        path, cell = self.at(*keys)
        return mistake(path, cell, said, expected)


def read_mapping(page: Path, path: Path) -> Mapping:
    """The mapping in a file and all it builds on. Raises `TableError` with every mistake of it."""
    chain: list[tuple[Keys, dict[str, Any]]] = []
    while True:
        keys, data = _read_toml(path, page if not chain else None)
        chain.append((keys, data))
        like = data.pop("like", None)
        if like is None:
            break
        if not isinstance(like, str) or not like.strip():
            raise table_error([mistake(path, keys.cell("like"), "like", "the file of another mapping, in quotes")])
        if len(chain) == MOST_LIKE:
            raise table_error([mistake(path, keys.cell("like"), like, "mappings that do not go round in a ring")])
        path = path.parent / like
        if not path.is_file():
            raise table_error([mistake(keys.path, keys.cell("like"), like, f"a mapping that is there: no {path}")])
    mapping = Mapping(chain[0][0].path, [keys for keys, _ in chain])
    wrong: list[dict[str, Any]] = []
    own_name = next((data["name"] for _, data in chain if "name" in data), None)
    # The book's first, so that the boat's own outweigh it.
    for i, (keys, data) in reversed(list(enumerate(chain))):
        name = data.get("name", own_name)
        if i and name != own_name:
            _leave_to_her(mapping, keys, data, name, [other for _, other in chain[:i]])
        _join(mapping, keys, data, of_book=i > 0, wrong=wrong)
    if not mapping.rows:
        wrong.append(mapping.error("[rows]", "at least one heading", "rows"))
    layout = mapping.layout
    if "spacing" in layout and "from_stem" in layout:
        wrong.append(mapping.error("[layout]", "one of spacing and from_stem", "layout"))
    elif "spacing" not in layout and "from_stem" not in layout:
        wrong.append(mapping.error("[layout]", "one of spacing and from_stem: how far apart stations are", "layout"))
    if wrong:
        raise table_error(wrong)
    return mapping


# What a mapping says of one boat and of no other of her book.
OF_ONE_BOAT = (
    "builder", "designer", "year", "planking", "load_waterline", "assumed", "backbone", "stem", "sternpost", "transom",
    "diagonal", "shrinkage", "lifts", "mass", "crew", "load", "sail", "spar", "lateral",
)  # fmt: skip
OF_HER_PAGE = ("spacing", "from_stem", "first", "transom")


def _leave_to_her(
    mapping: Mapping, keys: Keys, data: dict[str, Any], name: Any, outweighing: list[dict[str, Any]]
) -> None:
    """Takes from another boat's mapping what is hers alone, and says so; and says what of her page is kept."""
    hers = [key for key in data if key in OF_ONE_BOAT]
    for key in hers:
        data.pop(key)
    not_said = [key for key in hers if not any(key in other for other in outweighing)]
    if not_said:
        mapping.said.append(
            f"{', '.join(not_said)}: those of {name}, in {keys.path.name}, are hers and are not taken over; what this "
            "boat has stands in her own mapping, and what a book's boats share in one without a name"
        )
    layout = data.get("layout")
    kept = [
        key for key in OF_HER_PAGE
        if isinstance(layout, dict) and key in layout
        and not any(_places(key, other.get("layout")) for other in outweighing)
    ]  # fmt: skip
    if kept:
        mapping.said.append(f"{' and '.join(kept)} under [layout]: taken over from {keys.path.name}, that of {name}")


def _places(key: str, layout: Any) -> bool:
    """Whether a layout says what a key does."""
    if not isinstance(layout, dict):
        return False
    return (
        key in layout
        or (key in ("spacing", "first") and "from_stem" in layout)
        or (key == "from_stem" and "spacing" in layout)
    )


def _read_toml(path: Path, page: Path | None) -> tuple[Keys, dict[str, Any]]:
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        said = (
            f"{page}: a printed table needs a mapping from its headings to rows: expected {path}; "
            "`scrieve read --keys` shows what it may say"
        )
        raise TableError(said) from None
    note_read(path)
    if len(data) > LARGEST_BYTES:
        raise TableError(f"{path}: over {LARGEST_BYTES // 1_000_000} MB: this is no mapping")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        cell = Cell("", data.count(b"\n", 0, error.start) + 1, 1)
        raise table_error([mistake(path, cell, "not UTF-8 text", "a mapping saved as UTF-8")]) from None
    keys = Keys(path, text)
    try:
        return keys, tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"line (\d+), column (\d+)", str(error))
        cell = Cell("", int(at[1]), int(at[2])) if at else Cell("", len(keys.lines), 1)
        raise table_error([mistake(path, cell, "no TOML", str(error))]) from None
    except RecursionError:
        raise table_error([mistake(path, Cell("", 1, 1), "no mapping", "no lists within lists")]) from None


def _join(mapping: Mapping, keys: Keys, facts: dict[str, Any], of_book: bool, wrong: list[dict[str, Any]]) -> None:
    layout, rows, straight = facts.pop("layout", {}), facts.pop("rows", {}), facts.pop("straight", {})

    def error(key: str, said: str, expected: str) -> None:
        wrong.append(mistake(keys.path, keys.cell(key), said, expected))

    for key, table in (("layout", layout), ("rows", rows), ("straight", straight)):
        if not isinstance(table, dict):
            error(key, key, f"a table, [{key}]")
            return
    _check_layout(layout, error)
    for name, height in straight.items():
        if isinstance(height, (str, int, float)) and not isinstance(height, bool):
            mapping.straight[name] = str(height)
        else:
            error(name, f"[straight] {name}", 'a height above the base line, such as rabbet = "0-2-4"')
    # One way of placing the stations outweighs the other, not only itself.
    if "from_stem" in layout:
        mapping.layout = {k: v for k, v in mapping.layout.items() if k not in ("spacing", "first")}
    if "spacing" in layout:
        mapping.layout.pop("from_stem", None)
    mapping.layout |= layout
    for heading, given in rows.items():
        specs = _row_specs(given)
        if isinstance(specs, str):
            error(heading, f"[rows] {heading!r}", specs)
            continue
        for spec in specs:
            spec.optional = of_book
        mapping.rows.pop(heading, None)
        mapping.rows[heading] = specs
    blank = facts.get("blank")
    if isinstance(blank, dict):
        facts["blank"] = {**mapping.facts.get("blank", {}), **blank}
        own = set(blank)
        mapping.blank_of_book = mapping.blank_of_book - own | (own if of_book else set())
    mapping.facts |= facts


def _check_layout(layout: dict[str, Any], error: Any) -> None:
    if layout.get("stations", "down") not in ("down", "across"):
        error("stations", "[layout] stations", '"down" or "across"')
    for key, what in (
        ("names", "the heading of the station names"),
        ("first", "how far the first station is from the stem"),
        ("heights", '"above base line", or "above" or "below" and the height of what they are measured from'),
    ):
        if key in layout and not isinstance(layout[key], str):
            error(key, f"[layout] {key}", what)
    if not isinstance(layout.get("transom", ""), str) and layout["transom"] is not False:
        error("transom", "[layout] transom", "the name of the station that is taken on the transom, or false for none")
    from_stem = layout.get("from_stem", "")
    if not isinstance(from_stem, str) and not _texts(from_stem):
        error("from_stem", "[layout] from_stem", "the heading that gives the distances, or a list of them in quotes")
    spacing = layout.get("spacing", "")
    if isinstance(spacing, list) and not _texts(spacing):
        error("spacing", "[layout] spacing", 'readings in quotes, such as ["3-0-0", "4 x 3-3-0", "3-0-0"]')
    headings = layout.get("headings", 1)
    if not isinstance(headings, int) or isinstance(headings, bool) or not 1 <= headings <= 4:
        error("headings", "[layout] headings", "how many rows of headings there are, 1 to 4")
    if layout.get("cells", ",") not in CELLS:
        error("cells", "[layout] cells", "what parts cells: " + ", ".join(f'"{c}"' for c in CELLS if c != "\t"))
    parts = layout.get("parts", ["feet"])
    if not (_texts(parts) and parts and all(part in PARTS for part in parts) and len(set(parts)) == len(parts)):
        error("parts", "[layout] parts", "some of " + ", ".join(f'"{part}"' for part in PARTS) + ", in their order")
    if layout.get("ditto", "above") not in ("above", "left"):
        error("ditto", "[layout] ditto", '"above" or "left": which cell a ditto mark repeats')
    if layout.get("begins", "stem") not in ("stem", "stern"):
        error("begins", "[layout] begins", '"stem" or "stern": where the first station is')
    for key in ("ditto_marks", "empty", "skip"):
        if not _texts(layout.get(key, [])):
            error(key, f"[layout] {key}", "a list of texts in quotes")
    for key in layout.keys() - set(LAYOUT):
        error(key, f"[layout] {key}: not a key", ", ".join(LAYOUT) + "; `scrieve read --keys` tells what each means")


def _texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(text, str) for text in value)


def _row_specs(given: Any) -> list[RowSpec] | str:
    """The rows a heading serves, none for one that is to be left alone, or what was expected."""
    if given == "ignore":
        return []
    several = isinstance(given, list) and bool(given) and all(isinstance(one, (list, dict)) for one in given)
    specs = [_row_spec(one) for one in (given if several else [given])]
    wrong = next((spec for spec in specs if isinstance(spec, str)), None)
    return wrong or [spec for spec in specs if isinstance(spec, RowSpec)]


def _row_spec(given: Any) -> RowSpec | str:
    """The row, or what was expected."""
    expected = (
        '["block", "row"], such as ["heights", "sheer"]; or { block = "heights", row = "sheer", from = "below 3-0-0", '
        'blank = "not taken" }; a list of these where one heading serves two rows; or "ignore". Blocks are heights, '
        "half-breadths and diagonals"
    )
    if isinstance(given, list):
        if len(given) != 2 or not _texts(given):
            return expected
        block, row = given
        return RowSpec(block, row) if block in BLOCKS else expected
    if not isinstance(given, dict) or given.keys() - {"block", "row", "from", "blank", "whole"}:
        return expected
    if not all(isinstance(given.get(key), str) for key in ("block", "row")):
        return expected
    if given["block"] not in BLOCKS:
        return expected
    if not isinstance(given.get("from", ""), str) or not isinstance(given.get("whole", False), bool):
        return expected
    if not isinstance(given.get("blank", ""), (str, dict)):
        return expected
    return RowSpec(given["block"], given["row"], given.get("from"), given.get("blank"), given.get("whole", False))
