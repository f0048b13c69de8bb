"""A printed page as a table of offsets: typed or scanned as it was printed, read through a mapping of a few lines.

Nothing is taken for granted in silence: what the page does not say and has to be known is a sentence of the table's own
`assumed`, and what was left alone (footnotes, columns) is told by `Table.page_notes`.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from . import _core
from ._core import Reading, ReadingError
from ._grid import FOOTNOTE, cells_of, framed, is_ditto, is_rule, parting, plain, read_lines
from ._mapping import BLOCKS, Cell, Mapping, RowSpec, mistake, read_mapping, table_error
from .table import Table

# What a station may be called: more words than these are a sentence.
LONGEST_NAME_WORDS = 3
# The parts a reading is printed in, as the small headings over their columns have them.
PART_WORDS = {
    "feet": {"ft", "feet", "f", "'", "foot"},
    "inches": {"in", "ins", "inches", "inch", '"', "''", "i"},
    "eighths": {"8", "8ths", "8th", "eighths", "1/8", "⅛", "/8", "eighth"},
    "sixteenths": {"16", "16ths", "16th", "sixteenths", "1/16", "/16"},
}
# A number alone, or with a fraction: inches, where other readings show that inches need no sign.
BARE = re.compile(r"\d{1,2}(\s*[½¼¾⅛⅜⅝⅞]|[\s-]*\d+[/⁄]\d+)?\s*[?!]?")
INCHES_AND_RAISED = re.compile(r"\d{1,2}\s*(\^\s*\d|[⁰¹²³⁴-⁹])")
# What is over so many inches is no whole number of inches: nobody prints 40 for 3 ft 4 in.
MOST_BARE_INCHES = 36
RELATIVE = re.compile(r"(?P<distance>.+?)\s+(?P<way>above|below)\s+(?P<from>.+)", re.IGNORECASE)
LOAD_WATERLINE = {"load waterline", "load water line", "lwl", "l.w.l", "dwl"}


@dataclass
class Column:
    """A heading and the cells under it, one a station."""

    # The group it stands in and its own words, from the outside in, as compared.
    words: tuple[str, ...]
    heading: Cell
    cells: list[Cell]

    def said(self) -> str:
        return self.heading.text


@dataclass
class Page:
    """A page being read: its cells, what is wrong with it and what was taken for granted."""

    path: Path
    mapping: Mapping
    lines: list[str]
    mark: str = ","
    mistakes: list[dict[str, Any]] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def wrong(self, cell: Cell, said: str, expected: str) -> None:
        self.mistakes.append(mistake(self.path, cell, said, expected))

    def stop(self) -> None:
        """Raises what is wrong so far."""
        if self.mistakes:
            raise table_error(sorted(self.mistakes, key=lambda m: (m["file"] != str(self.path), m["line"], m["column"])))

    def option(self, key: str, default: Any = None) -> Any:
        return self.mapping.layout.get(key, default)


class PageReader:
    """A printed table as it stands on its page, with a mapping from its headings to rows (.csv, .tsv, .txt + .toml)

    The mapping is a TOML file beside the page, of the same name, or the one given as `mapping`::

        like = "book.toml"           # builds on another mapping; what is said here outweighs it
        name = "Cruising canoe"
        units = "feet-inches-eighths"
        two_part = "feet-inches"

        [layout]
        stations = "down"            # a line of the page is a station; "across": a column is
        names = "station"            # heading of the station names (down), or of the row labels (across)
        spacing = "1-0-0"            # distance from each station to the next; or a list, ["3-0-0", "4 x 3-3-0"]
        first = "0-6-0"              # how far the first is from the stem; left out, it is assumed to be there
        from_stem = "from stem"      # in place of both: a heading (or row label), or a list of distances
        heights = "below 4-0-0"      # what heights are measured from, if not "above base line"

        [rows]                       # printed heading = block, and the row it is in a table of offsets
        "Heights: Deck" = ["heights", "sheer"]           # a heading of a group
        "Half-breadths: * in." = ["half-breadths", "waterline *in"]
        Rabbet = { block = "heights", row = "rabbet", from = "below load waterline", blank = "not taken" }
        Remarks = "ignore"

    Besides, under `[layout]`: `cells`, what parts cells (",", ";", "|", "tab", "spaces"), where the page does not show
    it; `headings`, how many rows of headings there are; `parts`, such as ["feet", "inches", "eighths"], where a
    reading takes a column for each; `ditto`, "above" or "left", what a ditto mark repeats; `ditto_marks` and `empty`,
    lists of other marks for these; `skip`, beginnings of lines that are no part of the table; `begins`, "stern" where
    the first station is aftmost. Everything outside `[layout]` and `[rows]` is the head of the table, as in an
    `.offsets` file. Lines that begin with `#` are comments. Readings are taken as printed; none is corrected.
    """

    suffixes = ("csv", "tsv", "txt")

    def reads(self, path: Path, head: bytes) -> bool:
        if head.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"+++"):
            return False
        suffix = path.suffix.lower()
        return suffix in (".csv", ".tsv") or (suffix == ".txt" and path.with_suffix(".toml").is_file())

    def read(self, path: str | os.PathLike[str], mapping: str | os.PathLike[str] | None = None) -> Table:
        path = Path(path)
        page = Page(path, read_mapping(path, Path(mapping) if mapping else path.with_suffix(".toml")), read_lines(path))
        page.mark = parting(page.lines, path, page.option("cells"))
        columns = _across(page) if page.option("stations", "down") == "across" else _down(page)
        page.stop()
        return _table(page, columns)


# The lines of a page ------------------------------------------------------------------------------------------------


def _written(page: Page) -> list[list[Cell]]:
    """The lines that hold cells: no comments, rules or blank lines, and none that the mapping says to skip."""
    skip = tuple(plain(text) for text in page.option("skip", []))
    grid = []
    frame = framed(page.lines) if page.mark == "|" else (False, False)
    for number, line in enumerate(page.lines, 1):
        if line.startswith("#") or not line.strip() or is_rule(line):
            continue
        if skip and plain(line).startswith(skip):
            page.notes.append(f"line {number} is skipped, as the mapping says: {_short(line)}")
            continue
        cells = cells_of(line, number, page.mark, frame)
        if any(cell.text for cell in cells):
            grid.append(cells)
    if len(grid) < 2:
        at = grid[0][0] if grid else Cell("", 1, 1)
        page.wrong(at, "empty", "a line of headings and a line for each station")
        page.stop()
    return grid


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= 60 else text[:57] + "..."


def _text_of(cells: list[Cell]) -> str:
    return _short(" ".join(cell.text for cell in cells if cell.text))


def _is_empty(page: Page, text: str) -> bool:
    """Whether a cell says that there is no reading."""
    if text in page.option("empty", []):
        return True
    # A dash, dots and the like: the notation's own, whatever the units.
    return not text or text in ("x", "X") or all(c in "-‐‑‒–—−.…‥·•_ \t" for c in text)


def _unmarked(text: str) -> str:
    """A cell without the mark of a footnote at its end."""
    return FOOTNOTE.sub("", text) or text


def _part_of(text: str) -> str | None:
    words = plain(text) or text.strip()
    return next((part for part, known in PART_WORDS.items() if words in known or text.strip() in known), None)


def _parts_line(cells: list[Cell]) -> list[str | None] | None:
    """The part over each column, where a line is that of small headings such as `Ft. In. 8ths`; "" where several are
    over one column, whose readings then hold all."""
    told = [cell for cell in cells if cell.text]
    if len(told) < 2:
        return None
    found: list[str | None] = []
    for cell in cells:
        words = cell.text.split()
        if not words:
            found.append(None)
        elif (part := _part_of(cell.text)) is not None:
            found.append(part)
        elif len(words) > 1 and all(_part_of(word) for word in words):
            found.append("")
        elif cell is cells[0]:
            found.append(None)
        else:
            return None
    kinds = {part for part in found if part is not None}
    return found if kinds and (len(kinds) > 1 or kinds == {""}) else None


def _key_words(key: str) -> tuple[tuple[str, ...], int | None]:
    """A heading of the mapping taken apart: group and words, and which of several it is, `Deck [2]`."""
    which = re.fullmatch(r"(.*\S)\s*\[(\d+)\]", key.strip())
    text = which.group(1) if which else key
    words = tuple(part for part in map(plain, text.split(":")) if part)
    return words or (plain(text),), int(which.group(2)) if which else None


def _matches(words: tuple[str, ...], key: tuple[str, ...]) -> str | None:
    """What stands for the `*` of a key that a heading answers to; "" without one, None where it does not answer."""
    if not words or not key:
        return None
    if "*" in key[-1]:
        before, _, after = key[-1].partition("*")
        found = re.fullmatch(re.escape(before) + r"\s*(\S.*?)\s*" + re.escape(after), words[-1])
        star = found.group(1) if found else None
    else:
        star = "" if words[-1] == key[-1] else None
    if star is None:
        return None
    rest = iter(words[:-1])
    return star if all(any(word == wanted for word in rest) for wanted in key[:-1]) else None


def _wanted(page: Page) -> list[str]:
    """The headings a mapping names."""
    named = [page.option("names"), page.option("from_stem"), *page.mapping.rows]
    return [heading for heading in named if isinstance(heading, str)]


def _known(page: Page, headings: list[tuple[str, ...]]) -> int:
    """How many of the mapping's headings are among these."""
    return sum(any(_matches(words, _key_words(key)[0]) is not None for words in headings) for key in _wanted(page))


# Headings over columns ----------------------------------------------------------------------------------------------


def _headings(page: Page, rows: list[list[Cell]]) -> list[tuple[tuple[str, ...], Cell]]:
    """The heading of each column: its words, group first. A group reaches to the next one on its right, or as far as
    the bars beside it; in a single row it is told by its colon, `Heights: Deck`."""
    spread = [_spread(page, row, rows[-1]) for row in rows[:-1]]
    exact = [found is not None for found in spread]
    rows = [*(found or row for found, row in zip(spread, rows, strict=False)), rows[-1]]
    width = max(len(row) for row in rows)
    none = Cell("", rows[-1][0].line, 1)
    found: list[tuple[tuple[str, ...], Cell]] = []
    groups = [""] * len(rows)
    within = ""
    for i in range(width):
        stack = [row[i] if i < len(row) else none for row in rows]
        own = stack[-1]
        for level, cell in enumerate(stack[:-1]):
            if cell.text or exact[level]:
                groups[level] = cell.text
                # A group that begins ends those it holds.
                for below in range(level + 1, len(rows) - 1):
                    groups[below] = stack[below].text
        if not own.text and not any(exact) and (above := [cell for cell in stack[:-1] if cell.text]):
            # A heading as high as all rows: no group, but the column's own.
            found.append(((plain(above[-1].text),), above[-1]))
            groups = [""] * len(rows)
            continue
        outer = [plain(group) for group in groups[:-1] if group]
        head, colon, rest = own.text.partition(":")
        if colon and rest.strip():
            within, last = plain(head), plain(rest)
        elif colon:
            within, last = "", plain(own.text)
        else:
            last = plain(own.text)
        if within and not outer:
            outer = [within]
        words = (*outer, last) if own.text else ()
        said = " ".join(own.text.split())
        found.append((words, Cell(said, own.line, own.column) if own.text else own))
    return found


def _spread(page: Page, row: list[Cell], below: list[Cell]) -> list[Cell] | None:
    """A row of groups, each in a cell as wide as all it stands over, with a cell for each heading below."""
    if page.mark != "|" or not row or len(row) >= len(below):
        return None
    line = page.lines[row[0].line - 1]
    bars = [i for i, c in enumerate(line) if c == "|"]
    if framed(page.lines)[0]:
        bars = bars[1:]
    found = []
    for cell in below:
        k = sum(bar < cell.column - 1 for bar in bars)
        found.append(row[k] if k < len(row) else Cell("", row[0].line, 1))
    return found


def _find_headings(page: Page, grid: list[list[Cell]]) -> tuple[int, int]:
    """Where the headings begin, and how many rows of them there are: what holds most of those the mapping names."""
    given = page.option("headings")
    best, at = 0, (0, given or 1)
    for rows in [given] if given else [1, 2, 3]:
        for start in range(min(len(grid) - rows, 40)):
            found = _known(page, [words for words, _ in _headings(page, grid[start : start + rows])])
            if found > best:
                best, at = found, (start, rows)
    return at


def _down(page: Page) -> list[Column]:
    """The columns of a page whose stations are lines."""
    grid = _written(page)
    start, rows = _find_headings(page, grid)
    for line in grid[:start]:
        page.notes.append(f"line {line[0].line} stands above the headings: {_text_of(line)}")
    heads = grid[start : start + rows]
    body = grid[start + rows :]
    parts = _parts_line(body[0]) if body else None
    if parts is not None:
        body = body[1:]
    # Bars and commas may close a line of headings too.
    while all(len(head) > 1 and not head[-1].text for head in heads) and all(
        len(line) < len(heads[-1]) or not line[-1].text for line in body
    ):
        heads = [head[:-1] for head in heads]
        parts = parts[: len(heads[-1])] if parts else None
    headings = _headings(page, heads)
    if parts and (many := len(parts)) > len(headings):
        headings += [((), Cell("", heads[-1][0].line, 1))] * (many - len(headings))
    declared = page.option("parts")
    names = _names_column(page, headings)
    page.stop()
    if declared and not parts:
        width = max(len(headings), *(len(line) for line in body)) if body else len(headings)
        parts = [None if i == names else "?" for i in range(width)]
        i = 0 if names != 0 else 1
        while i < width:
            for k, part in enumerate(declared):
                if i + k < width:
                    parts[i + k] = part
            i += len(declared)
        headings += [((), Cell("", heads[-1][0].line, 1))] * (width - len(headings))
    repeated = [[plain(cell.text) for cell in head] for head in heads]
    lines = _station_lines(page, body, len(headings), names, repeated)
    _repeat_dittos(page, lines, 1 if not parts else len(declared or []) or 1)
    if page.option("begins") == "stern":
        lines.reverse()
    columns = []
    for i, (words, heading) in enumerate(headings):
        columns.append(Column(words, heading, [line[i] for line in lines]))
    return _merged(page, columns, parts) if parts else columns


def _names_column(page: Page, headings: list[tuple[tuple[str, ...], Cell]]) -> int:
    names = page.option("names")
    if names is None:
        return 0
    key = _key_words(names)[0]
    found = [i for i, (words, _) in enumerate(headings) if _matches(words, key) is not None]
    if found:
        return found[0]
    _no_heading(page, names, [(words, cell) for words, cell in headings if words])
    return 0


def _no_heading(page: Page, key: str, headings: list[tuple[tuple[str, ...], Cell]]) -> None:
    at = headings[0][1] if headings else Cell("", 1, 1)
    expected = "one of: " + ", ".join(repr(_key_of(words, cell)) for words, cell in headings)
    page.wrong(at, f"no heading {key!r}", expected)


def _key_of(words: tuple[str, ...], cell: Cell) -> str:
    """A heading as a mapping may name it."""
    own = cell.text if ":" not in cell.text or len(words) < 2 else cell.text.partition(":")[2].strip()
    return ": ".join([*(word.capitalize() for word in words[:-1]), own])


def _station_lines(
    page: Page, body: list[list[Cell]], width: int, names: int, repeated: list[list[str]]
) -> list[list[Cell]]:
    """The lines that are stations, each as wide as the headings. Notes, and headings that come again, are left out."""
    surplus = [line for line in body if len(line) > width]
    # A mark at the end of every line is no cell.
    closed = surplus and all(len(line) == width + 1 and not line[-1].text for line in body if len(line) >= width)
    found = []
    for line in body:
        if [plain(cell.text) for cell in line] in repeated or _parts_line(line) is not None:
            page.notes.append(f"line {line[0].line} is the headings once more")
            continue
        read = [cell for i, cell in enumerate(line) if i != names and _reads(page, cell.text)]
        if not read and _is_note(page, line, width, names):
            page.notes.append(f"line {line[0].line} is taken for a note: {_text_of(line)}")
            continue
        if len(line) > width and not (closed and not line[-1].text):
            page.wrong(
                line[width],
                f"{len(line)} cells under {width} headings",
                f"{width}: one mark too many between cells moves all that follow it",
            )
            continue
        if len(line) < width and read:
            last = line[-1]
            at = Cell("", last.line, last.column + len(last.text))
            missing = width - len(line)
            page.assumed.append(
                f"line {last.line} of the page ends {missing} cell{'s' if missing > 1 else ''} early: "
                f"{'these are' if missing > 1 else 'it is'} taken as empty"
            )
            line = [*line, *(Cell("", at.line, at.column) for _ in range(missing))]
        line = line[:width] + [Cell("", line[0].line, 1)] * (width - len(line))
        if not line[names].text:
            page.wrong(line[names], "a line of readings without a station", "the station's name")
            continue
        found.append(line)
    return found


def _reads(page: Page, text: str) -> bool:
    """Whether a cell holds a reading or says that it repeats one."""
    if _is_empty(page, text):
        return False
    if is_ditto(text, _ditto_marks(page)):
        return True
    if not any(c.isdigit() or c in "½¼¾⅛⅜⅝⅞" for c in text):
        return False
    if re.fullmatch(r"[\d\s⁰¹²³⁴-⁹½¼¾⅛⅜⅝⅞'\"′″’”^/⁄.,:·+‐-―−?!*†‡-]*", text):
        return True
    try:
        Reading(_unmarked(text))
    except ReadingError:
        return False
    return True


def _is_note(page: Page, line: list[Cell], width: int, names: int) -> bool:
    """Whether a line without a reading is words and not a station."""
    told = [cell for cell in line if cell.text and not _is_empty(page, cell.text)]
    if len(told) != 1 or len(line) != width:
        return True
    name = line[names].text if names < len(line) else ""
    return not name or len(name.split()) > LONGEST_NAME_WORDS or FOOTNOTE.fullmatch(name.split()[0]) is not None


def _ditto_marks(page: Page) -> frozenset[str]:
    return frozenset(mark.casefold() for mark in page.option("ditto_marks", []))


def _repeat_dittos(page: Page, lines: list[list[Cell]], stride: int, left: bool = False) -> None:
    """Puts what a ditto mark repeats in its place: the cell above, or so many columns to the left."""
    marks, count = _ditto_marks(page), 0
    for i, line in enumerate(lines):
        for k, cell in enumerate(line):
            if not is_ditto(cell.text, marks):
                continue
            source = None
            if left:
                source = line[k - stride] if k >= stride + 1 else None
            elif i:
                source = lines[i - 1][k]
            if source is None or _is_empty(page, source.text):
                side = "to the left" if left else "above"
                page.wrong(cell, cell.text, f"a reading: there is none {side} for a ditto mark to repeat")
                continue
            line[k] = Cell(source.text, cell.line, cell.column, cell.text)
            count += 1
    if count:
        said = "to their left" if left else "above them"
        page.assumed.append(f"{_plural(count, 'ditto mark')} repeat{'s' if count == 1 else ''} the reading {said}")


def _plural(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


# Readings in several columns ----------------------------------------------------------------------------------------


def _merged(page: Page, columns: list[Column], parts: list[str | None]) -> list[Column]:
    """Columns of feet, inches and eighths made one, under the heading that stands over the first that has one."""
    found: list[Column] = []
    i = 0
    while i < len(columns):
        part = parts[i] if i < len(parts) else None
        if not part:
            found.append(columns[i])
            i += 1
            continue
        group = [part]
        while (
            i + len(group) < len(parts)
            and (after := parts[i + len(group)]) in _order(group[-1])
            and not (columns[i + len(group)].words and columns[i + len(group)].words != columns[i].words)
        ):
            group.append(after)
        some = columns[i : i + len(group)]
        headed = next((column for column in some if column.words), some[0])
        if headed.words:
            cells = [_joined(page, [c.cells[k] for c in some], group) for k in range(len(some[0].cells))]
            found.append(Column(headed.words, headed.heading, cells))
        i += len(group)
    return found


def _order(part: str | None) -> tuple[str, ...]:
    """The parts that may come after one in a reading."""
    order = {"feet": ("inches",), "inches": ("eighths", "sixteenths")}
    return order.get(part or "", ())


def _joined(page: Page, cells: list[Cell], parts: list[str]) -> Cell:
    """One reading of its parts, each in its cell."""
    first = next((cell for cell in cells if cell.text), cells[0])
    if all(_is_empty(page, cell.text) for cell in cells):
        return Cell(" ".join(cell.text for cell in cells if cell.text), first.line, first.column)
    said: dict[str, str] = {}
    for cell, part in zip(cells, parts, strict=True):
        text = _unmarked(cell.text)
        if _is_empty(page, text):
            said_once = "an empty part of a reading is taken as nought"
            if said_once not in page.assumed:
                page.assumed.append(said_once)
            text = "0"
        said[part] = text
    feet, inches = said.get("feet", "0"), said.get("inches", "0")
    if "eighths" in said:
        text = f"{feet}-{inches}-{said['eighths']}"
    elif "sixteenths" in said:
        text = f"{feet}'{inches}\"" if said["sixteenths"] == "0" else f"{feet}'{inches}-{said['sixteenths']}/16\""
    elif "inches" in said:
        text = f"{feet}' {inches}\""
    else:
        text = f"{feet}'"
    return Cell(text, first.line, first.column, " ".join(cell.printed or cell.text for cell in cells))


# Stations across ----------------------------------------------------------------------------------------------------


def _across(page: Page) -> list[Column]:
    """The columns of a page whose stations stand side by side: its lines, turned."""
    grid = _written(page)
    labels = page.option("headings", 1)
    start = _find_names(page, grid, labels)
    for line in grid[:start]:
        page.notes.append(f"line {line[0].line} stands above the stations: {_text_of(line)}")
    found: dict[tuple[str, ...], Column] = {}
    names: Column | None = None
    stations = 0
    at = start
    while at < len(grid):
        # A page too narrow for all stations has them in blocks, the labels once more in each.
        end = at + 1
        while end < len(grid) and not _is_names_line(page, grid[end], grid[start], labels):
            end += 1
        block = _block(page, grid[at], grid[at + 1 : end], labels)
        if names is None:
            names = block[0]
            found = {column.words: column for column in block[1:]}
        else:
            names.cells += block[0].cells
            for column in block[1:]:
                if column.words not in found:
                    earlier = [Cell("", column.heading.line, 1)] * stations
                    found[column.words] = Column(column.words, column.heading, earlier)
                found[column.words].cells += column.cells
        stations = len(names.cells)
        for column in found.values():
            column.cells += [Cell("", column.heading.line, 1)] * (stations - len(column.cells))
        at = end
    assert names is not None
    if page.option("begins") == "stern":
        for column in (names, *found.values()):
            column.cells.reverse()
    return [names, *found.values()]


def _find_names(page: Page, grid: list[list[Cell]], labels: int) -> int:
    """The line of the station names."""
    names = page.option("names")
    if names is not None:
        key = _key_words(names)[0]
        for i, line in enumerate(grid):
            if any(_matches((plain(cell.text),), key) is not None for cell in line[:labels]):
                return i
        said = [(("",), cell) for line in grid for cell in line[:1] if cell.text]
        expected = "one of: " + ", ".join(dict.fromkeys(repr(cell.text) for _, cell in said[:40]))
        page.wrong(grid[0][0], f"no heading {names!r}", expected)
        page.stop()
    # Without its name: the line before the first that the mapping knows.
    keys = [_key_words(key)[0] for key in _wanted(page)]
    for i, line in enumerate(grid):
        words = (plain(line[labels - 1].text),) if len(line) >= labels else ()
        if any(words and _matches(words, key[-1:]) is not None for key in keys):
            before = [k for k in range(i) if _fills(grid[k], labels) and _parts_line(grid[k]) is None]
            if before:
                return before[-1]
            page.wrong(line[0], "no line of station names", "one above the first row")
            page.stop()
    said = [cell for line in grid for cell in line[:1] if cell.text]
    expected = "one of: " + ", ".join(dict.fromkeys(repr(cell.text) for cell in said[:40]))
    page.wrong(grid[0][0], f"none of the headings {', '.join(map(repr, _wanted(page)[:6]))}", expected)
    page.stop()
    return 0


def _fills(line: list[Cell], labels: int) -> bool:
    return sum(bool(cell.text) for cell in line[labels:]) >= 2


def _is_names_line(page: Page, line: list[Cell], first: list[Cell], labels: int) -> bool:
    """Whether a line names further stations: it begins as the first such line did, which said something there."""
    label = [plain(cell.text) for cell in line[:labels]]
    return any(label) and label == [plain(cell.text) for cell in first[:labels]] and _fills(line, labels)


def _block(page: Page, head: list[Cell], body: list[list[Cell]], labels: int) -> list[Column]:
    """Station names and rows of one block of stations."""
    parts = _parts_line(body[0]) if body else None
    if parts is not None:
        body = body[1:]
    declared = page.option("parts")
    stride = 1
    if parts and any(parts):
        stride = 1 + next((k for k in range(labels + 1, len(parts)) if parts[k] == parts[labels]), len(parts)) - labels - 1
    elif declared:
        stride = len(declared)
    width = len(head)
    while width > labels and not head[width - 1].text:
        width -= 1
    if stride > 1:
        width = labels + stride * sum(bool(cell.text) for cell in head[labels:])
        own = list(declared or [part or "" for part in (parts or [])[labels : labels + stride]])
    group: list[str] = []
    rows: list[tuple[tuple[str, ...], Cell, list[Cell]]] = []
    for line in body:
        label = line[labels - 1] if len(line) >= labels else line[-1]
        outer = [cell.text for cell in line[: labels - 1] if cell.text]
        read = [cell for cell in line[labels:] if _reads(page, cell.text)]
        filled = [cell for cell in line[labels:] if cell.text]
        if not read and not [cell for cell in filled if _is_empty(page, cell.text)]:
            if len(line) <= labels or not filled:
                if len(line[0].text.split()) <= 8 and FOOTNOTE.match(line[0].text[:1]) is None:
                    group = [line[0].text]
                page.notes.append(f"line {line[0].line} is taken for a heading or a note: {_text_of(line)}")
            else:
                page.notes.append(f"line {line[0].line} is taken for a note: {_text_of(line)}")
            continue
        if len(line) > width and any(cell.text for cell in line[width:]):
            page.wrong(
                line[width],
                f"{len(line)} cells under {width} headings",
                f"{width}: one mark too many between cells moves all that follow it",
            )
            continue
        if len(line) > width and any(len(other) == width for other in body):
            page.wrong(line[width], f"{len(line)} cells under {width} headings", f"{width}, as the other lines have")
            continue
        if len(line) < width:
            missing = width - len(line)
            page.assumed.append(
                f"line {label.line} of the page ends {_plural(missing, 'cell')} early: "
                f"{'these are' if missing > 1 else 'it is'} taken as empty"
            )
        line = line[:width] + [Cell("", label.line, 1)] * (width - len(line))
        if outer:
            group = outer
        words = [plain(text) for text in group if text]
        own_words = plain(label.text)
        if ":" in label.text and label.text.partition(":")[2].strip() and not words:
            words, own_words = [plain(label.text.partition(":")[0])], plain(label.text.partition(":")[2])
        rows.append(((*words, own_words), label, line))
    marks = _ditto_marks(page)
    cells = [line for _, _, line in rows]
    dittos = [cell for line in cells for cell in line[labels:] if is_ditto(cell.text, marks)]
    if dittos and "ditto" not in page.mapping.layout:
        page.wrong(
            dittos[0], dittos[0].text,
            'a reading, or ditto = "left" or "above" under [layout]: where stations stand side by side a ditto mark '
            "may repeat either",
        )  # fmt: skip
        page.stop()
    for line in cells:
        # Only cells under stations repeat; a label may well be the word `do`.
        tail = line[labels:]
        if page.option("ditto") == "left":
            _repeat_left(page, tail, stride)
            line[labels:] = tail
    if page.option("ditto") == "above":
        tails = [line[labels:] for line in cells]
        _repeat_dittos(page, tails, stride)
        for line, tail in zip(cells, tails, strict=True):
            line[labels:] = tail
    names = [cell for cell in head[labels:width] if cell.text or stride == 1]
    columns = [Column(("",), head[labels - 1], names)]
    for words, label, line in rows:
        tail = line[labels:]
        if stride > 1:
            tail = [_joined(page, tail[k : k + stride], own) for k in range(0, len(tail) - stride + 1, stride)]
        columns.append(Column(words, label, tail))
    return columns


def _repeat_left(page: Page, cells: list[Cell], stride: int) -> None:
    marks, count = _ditto_marks(page), 0
    for k, cell in enumerate(cells):
        if not is_ditto(cell.text, marks):
            continue
        if k < stride or _is_empty(page, cells[k - stride].text):
            page.wrong(cell, cell.text, "a reading: there is none to the left for a ditto mark to repeat")
            continue
        cells[k] = Cell(cells[k - stride].text, cell.line, cell.column, cell.text)
        count += 1
    if count:
        page.assumed.append(
            f"{_plural(count, 'ditto mark')} on line {cells[0].line} repeat{'s' if count == 1 else ''} the reading to "
            "the left"
        )


# The table -----------------------------------------------------------------------------------------------------------


@dataclass
class _Row:
    """A row of the table, and the column it is of."""

    spec: RowSpec
    key: str
    label: str
    column: Column
    texts: list[str] = field(default_factory=list)


def _table(page: Page, columns: list[Column]) -> Table:
    rows, names, distances = _assign(page, columns)
    page.stop()
    options = _hand(page, rows)
    for row in rows:
        row.label = _label(page, row, options)
    page.stop()
    for row in rows:
        _read_row(page, row, options)
    page.stop()
    stations = _stations(page, names, distances, options)
    page.stop()
    facts = _facts(page, rows)
    rows.sort(key=lambda row: BLOCKS.index(row.spec.block) if row.spec.block in BLOCKS else len(BLOCKS))
    drawn = (stations, [(row.spec.block, row.label, row.texts) for row in rows])
    where = {
        "file": str(page.path),
        "lines": page.lines,
        "stations": [
            (_place(name), _place(distances.cells[i]) if distances else _place(name)) for i, name in enumerate(names.cells)
        ],
        "rows": [(_place(row.column.heading), [_place(cell) for cell in row.column.cells]) for row in rows],
        "mappings": [(str(keys.path), keys.text) for keys in page.mapping.keys],
        "notes": page.notes,
    }
    try:
        made = _core.table_from_rows(facts, *drawn, name=str(page.path), page=where)
    except TypeError as error:  # a fact that no file can hold
        raise table_error([page.mapping.error("a fact", str(error))]) from None
    # What a blank means is known once the table is read: the rest is said of what is still unknown.
    said = _assumed_of(made, page)
    if said:
        facts["assumed"] = [*facts.get("assumed", []), *said]
        made = _core.table_from_rows(facts, *drawn, name=str(page.path), page=where)
    return Table(made)


def _place(cell: Cell) -> tuple[int, int, str]:
    return cell.line, cell.column, cell.text if cell.printed is None else cell.printed


def _assign(page: Page, columns: list[Column]) -> tuple[list[_Row], Column, Column | None]:
    """Which column is which row: the mapping's plain headings first, then those with a `*`."""
    across = page.option("stations", "down") == "across"
    headed = [(column.words, column.heading) for column in columns if column.words and column.words != ("",)]
    taken: dict[int, str] = {}

    def find(key: str, optional: bool = False) -> list[tuple[Column, str]]:
        words, which = _key_words(key)
        found = [(column, star) for column in columns if (star := _matches(column.words, words)) is not None]
        if which is not None:
            found = found[which - 1 : which]
        if "*" in words[-1]:
            return [(column, star) for column, star in found if id(column) not in taken]
        exact = [(column, star) for column, star in found if column.words == words]
        if len(found) > 1 and len(exact) == 1 and len(words) > 1:
            found = exact
        if len(found) > 1:
            groups = [_key_of(column.words, column.heading) for column, _ in found]
            if len({plain(group) for group in groups}) < len(groups):
                groups = [f"{key} [{i}]" for i in range(1, len(found) + 1)]
            page.wrong(
                found[1][0].heading,
                f"{len(found)} headings {key!r}",
                "the mapping to say which: " + ", ".join(map(repr, groups)),
            )
            return []
        if not found and not optional:
            _no_heading(page, key, headed)
        return found

    def only(key: Any) -> Column | None:
        found = find(key)
        if not found:
            return None
        taken[id(found[0][0])] = key
        return found[0][0]

    if across:
        names: Column | None = columns[0]
        taken[id(columns[0])] = "names"
    elif page.option("names") is None:
        names = columns[0]
        taken[id(columns[0])] = "names"
    else:
        names = only(page.option("names"))
    distances = only(page.option("from_stem")) if isinstance(page.option("from_stem"), str) else None
    rows: list[_Row] = []
    starred = lambda item: "*" in _key_words(item[0])[0][-1]  # noqa: E731
    for key, spec in sorted(page.mapping.rows.items(), key=starred):
        optional = spec is None or spec.optional or starred((key, spec))
        for column, star in find(key, optional):
            if id(column) in taken:
                if taken[id(column)] != key:
                    said = f"{key!r}: the column is {taken[id(column)]!r} already"
                    page.wrong(column.heading, said, "one heading of the mapping for each column")
                continue
            taken[id(column)] = key
            if spec is not None:
                rows.append(_Row(spec, key, spec.row.replace("*", star), column))
    for column in columns:
        if id(column) not in taken and column.words and column.words != ("",):
            if any(_reads(page, cell.text) for cell in column.cells):
                page.notes.append(f"{column.heading.text!r} on line {column.heading.line} is no row of the mapping's: left alone")
        elif id(column) not in taken and any(_reads(page, cell.text) for cell in column.cells):
            first = next(cell for cell in column.cells if _reads(page, cell.text))
            page.wrong(first, first.text, "nothing: no heading stands over this column")
    if not rows and not page.mistakes:
        _no_heading(page, next(iter(page.mapping.rows)), headed)
    # As they stand on the page.
    order = {id(column): i for i, column in enumerate(columns)}
    rows.sort(key=lambda row: order[id(row.column)])
    return rows, names or columns[0], distances


def _hand(page: Page, rows: list[_Row]) -> dict[str, Any]:
    """How readings are written: what the mapping says, and that a number alone is inches where others show it."""
    facts = page.mapping.facts
    options: dict[str, Any] = {key: facts[key] for key in ("units", "two_part", "plus", "one_part") if key in facts}
    options["dashed"] = facts.get("fractions") == "dashed"
    options["comma"] = facts.get("decimal") == ","
    try:
        Reading("1mm", **options)
    except (TypeError, ValueError) as error:  # units and the like that there are none of
        raise table_error([page.mapping.error("", str(error), str(error).split(" ")[0], "units")]) from None
    if options.get("units", "feet-inches-eighths") != "feet-inches-eighths" or "one_part" in options:
        return options
    cells = [cell.text for row in rows for cell in row.column.cells if not _is_empty(page, cell.text)]
    bare = [text for text in map(_unmarked, cells) if BARE.fullmatch(text)]
    shown = any(INCHES_AND_RAISED.match(text) for text in cells) or any("/" in t or not t.rstrip("?! ").isdigit() for t in bare)
    if bare and shown and all(int(re.match(r"\d+", text).group()) <= MOST_BARE_INCHES for text in bare):  # type: ignore[union-attr]
        options["one_part"] = page.mapping.facts["one_part"] = "inches"
        page.assumed.append(
            f"a number alone, such as `{bare[0]}`, is taken as inches ({_plural(len(bare), 'cell')}): others have "
            "inches without feet"
        )
    return options


def _length(page: Page, text: str, options: dict[str, Any], said: str, *keys: str) -> Reading | None:
    """A reading of the mapping's."""
    try:
        return Reading(text, **options)
    except ReadingError as error:
        page.mistakes.append(page.mapping.error(f"{said}: {text!r}", str(error.expected), *keys))
        return None


def _datum(page: Page, text: str, options: dict[str, Any], *keys: str) -> tuple[int, Reading] | None:
    """`above 2-0-0` or `below load waterline`: the way heights run, and what from, above the base line."""
    words = text.split(None, 1)
    if len(words) != 2 or words[0].lower() not in ("above", "below"):
        expected = "`above` or `below` and a height above the base line, or `load waterline`"
        page.mistakes.append(page.mapping.error(f"{text!r}", expected, *keys))
        return None
    way = 1 if words[0].lower() == "above" else -1
    place = words[1]
    if plain(place) in ("base line", "base", "baseline") and way == 1:
        return 1, Reading("0mm", **options)
    if plain(place) in LOAD_WATERLINE:
        place = page.mapping.facts.get("load_waterline")
        if place is None:
            expected = "`load_waterline = \"...\"` in the mapping: its height above the base line"
            page.mistakes.append(page.mapping.error(f"{text!r}", expected, *keys))
            return None
        place = str(place)
    height = _length(page, place, options, "a height", *keys)
    return None if height is None else (way, height)


def _exactly(reading: Reading, page: Page) -> str:
    return reading.to(page.mapping.facts.get("units", "feet-inches-eighths"), "exact")


def _label(page: Page, row: _Row, options: dict[str, Any]) -> str:
    """The row as a table has it: a waterline told from the load waterline at its height above the base line."""
    word, _, rest = row.label.strip().partition(" ")
    if word.lower() not in ("waterline", "buttock") or not rest.strip():
        return row.label
    relative = RELATIVE.fullmatch(rest.strip())
    if relative is None:
        place = rest.strip()
        if word.lower() == "waterline" and plain(place) in LOAD_WATERLINE:
            datum = _datum(page, "above load waterline", options, row.key)
            return row.label if datum is None else f"{word} {_exactly(datum[1], page)}"
        reading = _length(page, place, options, row.key, row.key)
        # `10 in` is two words, and a label's reading is one.
        return row.label if reading is None or " " not in place else f"{word} {_exactly(reading, page)}"
    distance = _length(page, relative["distance"], options, row.key, row.key)
    datum = _datum(page, f"{relative['way']} {relative['from']}", options, row.key)
    if distance is None or datum is None:
        return row.label
    way, height = datum
    return f"{word} {_exactly(height + distance if way > 0 else height - distance, page)}"


def _read_row(page: Page, row: _Row, options: dict[str, Any]) -> None:
    """The cells of a row as a table has them: at the base line, half, and in one word each."""
    spec, datum = row.spec, None
    heights = spec.datum or (page.option("heights") if spec.block == "heights" else None)
    if heights is not None:
        datum = _datum(page, heights, options, *([row.key] if spec.datum else ["heights"]))
        if datum is not None and datum == (1, Reading("0mm", **options)):
            datum = None
    for cell in row.column.cells:
        text = cell.text
        if _is_empty(page, text):
            row.texts.append("-")
            continue
        reading = None
        for said in dict.fromkeys((text, _unmarked(text))):
            try:
                reading, text = Reading(said, **options), said
                break
            except ReadingError as error:
                failed = error
        if reading is None:
            at = Cell(text, cell.line, cell.column)
            page.wrong(at, cell.text, str(failed.expected))
            row.texts.append("-")
            continue
        if text != cell.text:
            page.notes.append(f"line {cell.line}: the mark at the end of {cell.text!r} is taken for a footnote's")
        value = reading
        if datum is not None:
            way, height = datum
            value = height + reading if way > 0 else height - reading
        if spec.whole:
            value = value / 2
        row.texts.append(_word(text, reading, options) if value is reading else _reckoned(value, reading, page))


def _word(text: str, reading: Reading, options: dict[str, Any]) -> str:
    """A reading as one word that reads as the same; as it was written, if it can be."""
    joined = re.sub(r"(?<=\d)\s+(?=[\d])", "-", re.sub(r"(?<=\s)(\d+)\s*[‐-―−-]\s*(\d+)(?=\s*[\"″”]|\s*in)", r"\1/\2", text))
    for said in (text, joined, joined.replace(" ", ""), text.replace(" ", "")):
        said = said.strip()
        if not said or any(c.isspace() for c in said) or said.startswith(("#", "[")) or "|" in said or "#" in said:
            continue
        try:
            again = Reading(said, **options)
        except ReadingError:
            continue
        if again == reading and again.mark == reading.mark and again.place == reading.place:
            return said
    return reading.to(options.get("units", "feet-inches-eighths"), "exact") + reading.mark


def _reckoned(value: Reading, printed: Reading, page: Page) -> str:
    """What was reckoned from a reading, to no fewer decimals than it has: they say what it is worth."""
    text = _exactly(value, page)
    if page.mapping.facts.get("units", "feet-inches-eighths") != "feet-inches-eighths" and text[-1:].isdigit():
        point = "," if page.mapping.facts.get("decimal") == "," else "."
        decimals = len(re.match(r"\d*", str(printed).replace("·", ".").partition(point)[2]).group())  # type: ignore[union-attr]
        has = len(text.partition(point)[2])
        if decimals > has:
            text += ("" if has else point) + "0" * (decimals - has)
    return text + printed.mark


def _stations(
    page: Page, names: Column, distances: Column | None, options: dict[str, Any]
) -> list[tuple[str, str]]:
    """Names of the stations, and how far each is from the stem."""
    called = []
    for cell in names.cells:
        name = _unmarked(cell.text)
        if name != cell.text:
            page.notes.append(f"line {cell.line}: the mark at the end of {cell.text!r} is taken for a footnote's")
        called.append(name)
    many = len(called)
    if distances is not None:
        row = _Row(RowSpec("", ""), "from_stem", "", distances)
        _read_row(page, row, options)
        return list(zip(called, row.texts, strict=True))
    listed = page.option("from_stem")
    if listed is not None:
        if len(listed) != many:
            said = f"[layout] from_stem: {_plural(len(listed), 'distance')}"
            page.mistakes.append(page.mapping.error(said, f"{many}, one a station", "from_stem"))
        return list(zip(called, map(str, listed), strict=False))
    gaps = _gaps(page, many, options)
    first = page.option("first")
    place = _length(page, first if first is not None else "0mm", options, "first", "first")
    if first is None and many:
        page.assumed.append(f"the first station, {called[0]}, is taken to stand at the stem")
    if gaps is None or place is None:
        return []
    found = []
    for i, name in enumerate(called):
        if i:
            place = place + gaps[i - 1]
        found.append((name, _exactly(place, page)))
    return found


def _gaps(page: Page, many: int, options: dict[str, Any]) -> list[Reading] | None:
    """Distances from each station to the next."""
    given = page.option("spacing")
    if not isinstance(given, list):
        reading = _length(page, str(given), options, "spacing", "spacing")
        return None if reading is None else [reading] * max(many - 1, 0)
    gaps = []
    for text in given:
        times = re.fullmatch(r"\s*(\d{1,3})\s*[x×]\s*(.+)", text)
        reading = _length(page, times.group(2) if times else text, options, "spacing", "spacing")
        if reading is None:
            return None
        gaps += [reading] * (int(times.group(1)) if times else 1)
    if len(gaps) != many - 1:
        said = f"[layout] spacing: {_plural(len(gaps), 'space')} for {_plural(many, 'station')}"
        page.mistakes.append(page.mapping.error(said, f"{many - 1}, one between each two", "spacing"))
        return None
    return gaps


def _facts(page: Page, rows: list[_Row]) -> dict[str, Any]:
    """The head of the table: what the mapping says, what its rows say of their blanks, what was assumed."""
    facts = dict(page.mapping.facts)
    blank = dict(facts.get("blank", {})) if isinstance(facts.get("blank"), dict) else {}
    known = {f"{row.spec.block} {row.label}" for row in rows} | {row.spec.block for row in rows}
    known |= {f"{row.label} {row.spec.block.removesuffix('s')}" for row in rows} | {row.label for row in rows}
    for key in page.mapping.blank_of_book:
        if key not in known:
            blank.pop(key, None)
    for row in rows:
        if row.spec.blank is not None:
            blank.setdefault(f"{row.spec.block} {row.label}", row.spec.blank)
    if blank:
        facts["blank"] = blank
    said = page.assumed
    heights = [row for row in rows if row.spec.block == "heights" and row.spec.datum is None]
    if heights and page.option("heights") is None:
        said.append("heights are taken as above the base line")
    own = facts.get("assumed")
    if said:
        facts["assumed"] = [*(own if isinstance(own, list) else []), *said]
    return facts


def _assumed_of(table: _core.Table, page: Page) -> list[str]:
    """What a table leaves open, in sentences."""
    said = []
    for row, stations in table.blanks_untold:
        said.append(
            f"{row} is blank at {_listed(stations)}, and nothing says what that means: it is taken as no reading"
        )
    ends = dict(table.profiles)
    stations = table.stations
    if "stem profile" not in ends:
        said.append(f"no stem is given: she begins at her first station, {stations[0]}")
    if "stern profile" not in ends and "transom" not in table.facts:
        said.append(f"no sternpost or transom is given: she ends at her last station, {stations[-1]}")
    return said


def _listed(names: list[str]) -> str:
    return "station " + names[0] if len(names) == 1 else "stations " + ", ".join(names[:-1]) + " and " + names[-1]


page_reader = PageReader()
