"""A page's cells arranged: a heading over each column, a cell in it for each station.

What is a heading, a group of them, a station, a note or an empty line is told by how the page is set: by the headings
the mapping names, by how many cells a line has and by whether any of them reads as a reading.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..._core import Reading, ReadingError
from . import by_place as _by_place
from .grid import FOOTNOTE, cells_of, framed, is_ditto, is_rule, plain
from .mapping import Cell, Mapping, mistake, table_error

# The words of a heading, its cell, and what else its words may be.
_Heading = tuple[tuple[str, ...], Cell, list[tuple[str, ...]]]

# What a station may be called: more words than these are a sentence.
LONGEST_NAME_WORDS = 3
# The number of a page.
PAGE_NUMBER = re.compile(r"[\[(]?\d{1,4}[\])]?")
# What parts cells, in words.
PARTED = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars", "spaces": "two blanks or more"}
# The parts a reading is printed in, as the small headings over their columns have them.
PART_WORDS = {
    "feet": {"ft", "feet", "f", "'", "foot"},
    "inches": {"in", "ins", "inches", "inch", '"', "''", "i"},
    "eighths": {"8", "8ths", "8th", "eighths", "1/8", "⅛", "/8", "eighth"},
    "sixteenths": {"16", "16ths", "16th", "sixteenths", "1/16", "/16"},
}


@dataclass
class Column:
    """A heading and the cells under it, one a station."""

    # The group it stands in and its own words, from the outside in, as compared.
    words: tuple[str, ...]
    heading: Cell
    cells: list[Cell]
    # What else its words may be: over wide blanks a page does not show how far the heading of a group reaches.
    maybe: list[tuple[str, ...]] = field(default_factory=list)

    def answers(self, key: tuple[str, ...]) -> tuple[str | None, bool]:
        """What stands for the `*` of a key, None where the heading does not answer to it; and whether that is sure."""
        found = [matches(words, key) for words in (self.words, *self.maybe)]
        star = next((star for star in found if star is not None), None)
        return star, None not in found


@dataclass
class Panel:
    """One part of a table: the line it begins on, its stations' names and its columns."""

    line: int
    names: Column
    columns: list[Column]


@dataclass
class Page:
    """A page being read: its cells, what is wrong with it and what was taken for granted."""

    path: Path
    mapping: Mapping
    lines: list[str]
    mark: str = ","
    mistakes: list[dict[str, Any]] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)
    # Readings of which a part is blank.
    half_blank: list[Cell] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def wrong(self, cell: Cell, said: str, expected: str) -> None:
        self.mistakes.append(mistake(self.path, cell, said, expected))

    def stop(self) -> None:
        """Raises what is wrong so far."""
        if self.mistakes:
            own = str(self.path)
            raise table_error(sorted(self.mistakes, key=lambda m: (m["file"] != own, m["line"], m["column"])))

    def option(self, key: str, default: Any = None) -> Any:
        return self.mapping.layout.get(key, default)


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


def is_empty(page: Page, text: str) -> bool:
    """Whether a cell says that there is no reading."""
    if text in page.option("empty", []):
        return True
    # A dash, dots and the like: the notation's own, whatever the units.
    return not text or text in ("x", "X") or all(c in "-‐‑‒–—−.…‥·•_ \t" for c in text)


def unmarked(text: str) -> str:
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
    # `8` and `16` are readings too, and `"` is a ditto mark: a word for feet or inches has to be among them.
    words = [word for cell in told for word in cell.text.split() if any(c.isalpha() for c in word)]
    if not any(_part_of(word) in ("feet", "inches") for word in words):
        return None
    kinds = {part for part in found if part is not None}
    return found if kinds and (len(kinds) > 1 or kinds == {""}) else None


def key_words(key: str) -> tuple[tuple[str, ...], int | None]:
    """A heading of the mapping taken apart: group and words, and which of several it is, `Deck [2]`."""
    which = re.fullmatch(r"(.*\S)\s*\[(\d+)\]", key.strip())
    text = which.group(1) if which else key
    words = tuple(part for part in map(plain, text.split(":")) if part)
    return words or (plain(text),), int(which.group(2)) if which else None


def matches(words: tuple[str, ...], key: tuple[str, ...]) -> str | None:
    """What stands for the `*` of a key that a heading answers to; "" without one, None where it does not answer. A
    heading set in two lines, `Deck` over `height`, answers to `Deck height` too."""
    if not words or not key:
        return None
    for last in range(len(words) - 1, -1, -1):
        one = last == len(words) - 1
        star = _star(words[last], key[-1]) if one else _star(_unstopped(" ".join(words[last:])), _unstopped(key[-1]))
        if star is not None:
            rest = iter(words[:last])
            return star if all(any(word == wanted for word in rest) for wanted in key[:-1]) else None
    return None


def _unstopped(text: str) -> str:
    """Words without the points after them: the last of a line has lost its own."""
    return re.sub(r"[.,:;]+(?=\s|$)", "", text)


def _star(text: str, key: str) -> str | None:
    if "*" not in key:
        return "" if text == key else None
    before, _, after = key.partition("*")
    found = re.fullmatch(re.escape(before) + r"\s*(\S.*?)\s*" + re.escape(after), text)
    return found.group(1) if found else None


def _wanted(page: Page) -> list[str]:
    """The headings a mapping names."""
    named = [page.option("names"), page.option("from_stem"), *page.mapping.rows]
    return [heading for heading in named if isinstance(heading, str)]


def _known(page: Page, headings: list[_Heading]) -> list[bool]:
    """Which of these headings the mapping names."""
    keys = [key_words(key)[0] for key in _wanted(page)]
    # What fits any heading tells nothing of one, unless its group does.
    keys = [key for key in keys if key[-1].strip() != "*" or len(key) > 1]
    return [any(matches(one, key) is not None for one in (words, *more) for key in keys) for words, _, more in headings]


# Headings over columns ----------------------------------------------------------------------------------------------


def _headings(page: Page, rows: list[list[Cell]]) -> list[_Heading]:
    """The heading of each column: its words, group first, and what else they may be. A group reaches to the next one on
    its right, or as far as the bars beside it; in a single row it is told by its colon, `Heights: Deck`."""
    if page.mark == "spaces":
        return _with_colons(_by_place.under_groups(page.lines, rows))
    spread = [_spread(page, row, rows[-1]) for row in rows[:-1]]
    exact = [found is not None for found in spread]
    rows = [*(found or row for found, row in zip(spread, rows, strict=False)), rows[-1]]
    width = max(len(row) for row in rows)
    none = Cell("", rows[-1][0].line, 1)
    found: list[_Heading] = []
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
            found.append(((plain(above[-1].text),), above[-1], []))
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
        found.append((words, Cell(said, own.line, own.column) if own.text else own, []))
    return found


def _with_colons(found: list[_Heading]) -> list[_Heading]:
    """Headings of which some tell their group themselves, `Heights: Deck`, which reaches to the next that does."""
    within, told = "", []
    for words, cell, more in found:
        head, colon, rest = cell.text.partition(":")
        last = plain(rest) if colon and rest.strip() else plain(cell.text)
        if colon:
            within = plain(head) if rest.strip() else ""
        stacks = [(*stack[:-1], last) for stack in (words, *more)]
        if within:
            stacks = [stack if len(stack) > 1 else (within, *stack) for stack in stacks]
        told.append((stacks[0], cell, stacks[1:]))
    return told


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


# Rows of headings at most, and how far down a page its first may stand.
MOST_HEADINGS = 3


def _find_headings(page: Page, grid: list[list[Cell]]) -> list[tuple[int, int]]:
    """Where headings begin and where they end, for each part of the page: rows that hold what the mapping names."""
    given = page.option("headings")
    sizes = [given, given - 1] if given else range(1, MOST_HEADINGS + 1)
    found: list[tuple[int, int, int]] = []
    # Most lines of a page hold nothing that any heading of the mapping has: looked at no further.
    wanted = {plain(part) for key in _wanted(page) for part in re.split(r"[:*]", key) if plain(part)}
    for end in range(1, len(grid) + 1):
        texts = {plain(cell.text) for cell in grid[end - 1] if cell.text}
        if not any(text in part or part in text for text in texts for part in wanted):
            continue
        best = (0, 0, 0)
        for rows in sizes:
            start = end - rows
            if rows < 1 or start < 0 or _parts_line(grid[end - 1]) is not None:
                continue
            some = grid[start:end]
            known = sum(_known(page, _headings(page, some)))
            # The last row has to bring something, or it is no heading but a line under one.
            if rows > 1 and known <= sum(_known(page, _headings(page, some[:-1]))):
                continue
            if known > best[0]:
                best = (known, start, end)
        if best[0]:
            found.append(best)
    if not found:
        _no_headings(page, grid)
    most = max(found)
    label = _label(grid[most[1] : most[2]])
    parts: list[tuple[int, int, int]] = []
    for known, start, end in sorted(found, key=lambda one: (-one[0], one[1])):
        clear = all(end <= other[1] or start >= other[2] for other in parts)
        if clear and ((known, start, end) == most or _heads_a_part(page, grid[start:end], label)):
            parts.append((known, start, end))
    return sorted((start, end) for _, start, end in parts)


def _label(rows: list[list[Cell]]) -> str:
    """What stands over the stations' names."""
    return next((plain(row[0].text) for row in reversed(rows) if row and row[0].text), "")


def _heads_a_part(page: Page, rows: list[list[Cell]], label: str) -> bool:
    """Whether rows head a part of the table: they begin as its headings do, or hold mostly what the mapping names."""
    headings = _headings(page, rows)
    known = [heading for heading, is_known in zip(headings, _known(page, headings), strict=True) if is_known]
    if label and _label(rows) == label:
        return bool(known)
    words = [cell for _, cell, _ in known if not reads_as_reading(page, cell.text)]
    others = [cell for _, cell, _ in headings[1:] if cell.text]
    return len(words) >= 2 and 2 * len(known) >= len(others)


def _no_headings(page: Page, grid: list[list[Cell]]) -> None:
    """Refuses a page that has none of the mapping's headings."""
    rows = [[cell for cell in line if cell.text and not reads_as_reading(page, cell.text)] for line in grid]
    at = max(range(len(rows)), key=lambda i: len(rows[i]))
    wanted = ", ".join(map(repr, _wanted(page)[:6]))
    some = ", ".join(repr(" ".join(cell.text.split())) for cell in rows[at][:12])
    page.wrong(
        rows[at][0] if rows[at] else grid[0][0],
        f"none of the headings {wanted} is on the page",
        f"headings under [rows] as they are printed, such as {some}; a heading of two lines with a blank between them",
    )
    page.stop()


def down(page: Page) -> list[Panel]:
    """The parts of a page whose stations are lines."""
    grid = _written(page)
    found = _find_headings(page, grid)
    for line in grid[: found[0][0]]:
        page.notes.append(f"line {line[0].line} stands above the headings: {_text_of(line)}")
    panels: list[Panel] = []
    label = _label(grid[found[0][0] : found[0][1]])
    before: tuple[list[tuple[str, ...]], list[Cell]] | None = None
    for i, (start, end) in enumerate(found):
        heads = grid[start:end]
        body = grid[end : found[i + 1][0] if i + 1 < len(found) else len(grid)]
        beside = _side_by_side(page, heads, body)
        for heads, body in beside:
            panel, last = _panel(page, heads, body, label, before)
            before = ([words for words, _, _ in _headings(page, heads)], last) if last else before
            if panels and _same_headings(panels[-1], panel) and len(beside) == 1:
                page.notes.append(f"line {heads[0][0].line} is the headings once more")
            panels.append(panel)
    page.stop()
    return panels


# A part beside another has so many columns at least.
LEAST_BESIDE = 3


def _side_by_side(
    page: Page, heads: list[list[Cell]], body: list[list[Cell]]
) -> list[tuple[list[list[Cell]], list[list[Cell]]]]:
    """Headings and lines of each part where parts stand side by side, fore body and after body: all the headings come
    again on their line, the stations' own among them. Over wide blanks counts do not tell which part a cell is of."""
    texts = [plain(cell.text) for cell in heads[-1]]
    again = next((i for i in range(1, len(texts)) if texts[0] and texts[i] == texts[0]), 0)
    wide = len(texts) + (-len(texts) % again if again else 0)
    alike = again >= LEAST_BESIDE and all(
        (texts[i] if i < len(texts) else "") == texts[i % again] for i in range(again, wide)
    )
    if not alike or page.mark == "spaces" or any(len(head) < len(texts) for head in heads[:-1]):
        return [(heads, body)]
    whole = []
    for line in body:
        while line and len(line) % again and not line[-1].text:
            line = line[:-1]
        # A mark lost in one part moves all that follows it into the next.
        if (len(line) > wide or len(line) % again) and any(reads_as_reading(page, cell.text) for cell in line):
            page.wrong(
                line[min(len(line), wide) - 1],
                f"{len(line)} cells under {wide // again} parts of {again} headings side by side",
                f"{wide}, or {again} for each part that has a station there",
            )
            continue
        whole.append(line)
    parts = []
    for at in range(0, wide, again):
        own = [line[at : at + again] for line in whole]
        lines = [line for line in own if any(cell.text for cell in line)]
        parts.append(([head[at : at + again] for head in heads], lines))
    page.notes.append(f"the headings on line {heads[-1][0].line} come {plural(len(parts), 'time')}: parts side by side")
    return parts


def _same_headings(before: Panel, panel: Panel) -> bool:
    """Whether a part has the headings of the one before; it is under the same groups then, printed again or not."""
    if [column.words[-1:] for column in before.columns] != [column.words[-1:] for column in panel.columns]:
        return False
    for had, column in zip(before.columns, panel.columns, strict=True):
        if len(column.words) > 1 and column.words != had.words:
            return False
    for had, column in zip(before.columns, panel.columns, strict=True):
        column.words, column.maybe = had.words, had.maybe
    return True


def _panel(
    page: Page,
    heads: list[list[Cell]],
    body: list[list[Cell]],
    label: str,
    before: tuple[list[tuple[str, ...]], list[Cell]] | None,
) -> tuple[Panel, list[Cell]]:
    """One part of a page, and its last line of cells."""
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
        headings += [((), Cell("", heads[-1][0].line, 1), [])] * (many - len(headings))
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
        headings += [((), Cell("", heads[-1][0].line, 1), [])] * (width - len(headings))
    repeated = [[plain(cell.text) for cell in head] for head in heads]
    lines = _station_lines(page, body, [cell for _, cell, _ in headings], names, repeated, label)
    above = before[1] if before and before[0] == [words for words, _, _ in headings] else None
    _repeat_dittos(page, lines, 1 if not parts else len(declared or []) or 1, above=above)
    columns = []
    for i, (words, heading, more) in enumerate(headings):
        columns.append(Column(words, heading, [line[i] for line in lines], more))
    named = columns[names]
    if parts:
        columns = _merged(page, columns, parts)
    others = [column for column in columns if column is not named]
    return Panel(heads[0][0].line, named, others), lines[-1] if lines else []


def _names_column(page: Page, headings: list[_Heading]) -> int:
    names = page.option("names")
    if names is None:
        return 0
    key = key_words(names)[0]
    found = [i for i, (words, _, _) in enumerate(headings) if matches(words, key) is not None]
    if found:
        return found[0]
    no_heading(page, names, [(words, cell) for words, cell, _ in headings if words])
    return 0


def no_heading(page: Page, key: str, headings: list[tuple[tuple[str, ...], Cell]]) -> None:
    at = headings[0][1] if headings else Cell("", 1, 1)
    expected = "one of: " + ", ".join(repr(key_of(words, cell)) for words, cell in headings)
    page.wrong(at, f"no heading {key!r}", expected)


def key_of(words: tuple[str, ...], cell: Cell) -> str:
    """A heading as a mapping may name it."""
    own = cell.text if ":" not in cell.text or len(words) < 2 else cell.text.partition(":")[2].strip()
    return ": ".join([*(word.capitalize() for word in words[:-1]), own])


def _station_lines(
    page: Page, body: list[list[Cell]], heads: list[Cell], names: int, repeated: list[list[str]], label: str
) -> list[list[Cell]]:
    """The lines that are stations, each as wide as the headings. Notes, and headings that come again, are left out."""
    width = len(heads)
    surplus = [line for line in body if len(line) > width]
    # A mark at the end of every line is no cell.
    closed = surplus and all(len(line) == width + 1 and not line[-1].text for line in body if len(line) >= width)
    kept = []
    for line in body:
        if [plain(cell.text) for cell in line] in repeated or _parts_line(line) is not None:
            page.notes.append(f"line {line[0].line} is the headings once more")
            continue
        read = [cell for i, cell in enumerate(line) if i != names and reads_as_reading(page, cell.text)]
        if is_page_head(line):
            page.notes.append(f"line {line[0].line} is taken for the head of a page: {_text_of(line)}")
            continue
        if label and plain(line[0].text) == label and len(line) > 1 and not read:
            page.wrong(
                line[0], f"{_text_of(line)}: none of the mapping's headings", "a line of headings that [rows] has"
            )
            continue
        if not read and _is_note(page, line, width, names):
            if not _unparted(page, line):
                page.notes.append(f"line {line[0].line} is taken for a note: {_text_of(line)}")
            continue
        kept.append((line, len(read)))
    full = [line for line, _ in kept]
    places = _by_place.columns_of(page.lines, heads, full) if page.mark == "spaces" else None
    usual = sorted(many for _, many in kept)[len(kept) // 2] if kept else 0
    found = []
    for line, many in kept:
        if len(line) > width and not (closed and not line[-1].text):
            page.wrong(
                line[width],
                f"{len(line)} cells under {width} headings",
                f"{width}: one mark too many between cells moves all that follow it",
            )
            continue
        if page.mark == "spaces" and (len(line) < width or _stands_apart(page, line, heads, full)):
            whole = _whole(page, line, heads, places)
            if whole is None:
                continue
            line = whole
        elif len(line) < width and many:
            _ends_early(page, line, width - len(line))
            line = [*line, *_none_after(line, width - len(line))]
        line = line[:width] + [Cell("", line[0].line, 1)] * (width - len(line))
        if not line[names].text:
            page.wrong(line[names], "a line of readings without a station", "the station's name")
            continue
        words = len(line[names].text.split())
        if words > LONGEST_NAME_WORDS or (words > 1 and 3 * many < usual):
            page.wrong(
                line[names],
                f"{_text_of(line)}: no station's name",
                f"a name of {LONGEST_NAME_WORDS} words at most and its readings; or, of a line that is no part of the "
                f'table, skip = ["{_beginning(line[names].text)}"] under [layout]',
            )
            continue
        found.append(line)
    return found


def _beginning(text: str) -> str:
    return " ".join(text.split()[:3]).replace('"', "'")


def _ends_early(page: Page, line: list[Cell], missing: int) -> None:
    page.assumed.append(
        f"line {line[0].line} of the page ends {plural(missing, 'cell')} early: "
        f"{'these are' if missing > 1 else 'it is'} taken as empty"
    )


def _none_after(line: list[Cell], many: int) -> list[Cell]:
    last = line[-1]
    return [Cell("", last.line, last.column + len(last.text)) for _ in range(many)]


def _whole(page: Page, line: list[Cell], heads: list[Cell], places: list[tuple[int, int]] | None) -> list[Cell] | None:
    """A line with fewer cells than headings over wide blanks, each cell under the heading it stands under."""
    found = _by_place.placed(page.lines, line, places) if places else None
    if found is None:
        page.wrong(
            line[0],
            f"{plural(len(line), 'cell')} under {plural(len(heads), 'heading')}",
            "each reading under its heading, as the full lines have theirs: over wide blanks their places alone tell "
            "which are missing; or a mark for each that is, such as `-` or `...`",
        )
        return None
    under = [repr(head.text) for head, cell in zip(heads, found, strict=True) if not cell.text]
    page.assumed.append(f"line {line[0].line} of the page has nothing under {', '.join(under)}: taken as empty")
    return found


# So many lines are compared with one another at most; a longer table is no printed page.
MOST_COMPARED = 200


def _stands_apart(page: Page, line: list[Cell], heads: list[Cell], full: list[list[Cell]]) -> bool:
    """Whether a line that fills all columns by count does not by place, where the others are in line: a reading torn in
    two makes up for a blank."""
    others = [other for other in full if other is not line and len(other) == len(heads)]
    if len(line) != len(heads) or len(others) < 3 or len(others) > MOST_COMPARED:
        return False
    columns = _by_place.columns_of(page.lines, heads, others)
    return columns is not None and _by_place.placed(page.lines, line, columns) is None


def is_page_head(line: list[Cell]) -> bool:
    """Whether a line is the head of a page: a title, with no figure but the page's number before or after it."""
    words = " ".join(cell.text for cell in line if cell.text).split()
    if len(words) < 3:
        return False
    first, last = PAGE_NUMBER.fullmatch(words[0]), PAGE_NUMBER.fullmatch(words[-1])
    rest = words[1:] if first else words[:-1]
    wordy = [word for word in rest if len(word) > 2 and any(c.isalpha() for c in word)]
    # A title, which a station's name of two words is not.
    titled = len(wordy) >= 3 or (len(wordy) == 2 and all(word.isupper() for word in wordy))
    return bool(first or last) and titled and not any(c.isdigit() for word in rest for c in word)


def _unparted(page: Page, line: list[Cell]) -> bool:
    """Whether a line that has no cells of readings holds readings all the same: said, since it would be lost."""
    text = page.lines[line[0].line - 1]
    tokens = re.split(r"[\s,;|]+", text.strip())
    read = [token for token in tokens if any(c.isdigit() for c in token) and reads_as_reading(page, token)]
    if len(read) < 3 or 3 * len(read) < 2 * len(tokens):
        return False
    parted = PARTED.get(page.mark, f"`{page.mark}`")
    page.wrong(
        line[0],
        f"{_text_of(line)}: readings that are not parted as those of the other lines",
        f"cells parted by {parted}, as on the other lines; `cells` under [layout] says what parts them",
    )
    return True


def reads_as_reading(page: Page, text: str) -> bool:
    """Whether a cell holds a reading or says that it repeats one."""
    if is_empty(page, text):
        return False
    if is_ditto(text, _ditto_marks(page)):
        return True
    if not any(c.isdigit() or c in "½¼¾⅛⅜⅝⅞" for c in text):
        return False
    if re.fullmatch(r"[\d\s⁰¹²³⁴-⁹½¼¾⅛⅜⅝⅞'\"′″’”^/⁄.,:·+‐-―−?!*†‡-]*", text):
        return True
    try:
        Reading(unmarked(text))
    except ReadingError:
        return False
    return True


def _is_note(page: Page, line: list[Cell], width: int, names: int) -> bool:
    """Whether a line without a reading is words and not a station."""
    told = [cell for cell in line if cell.text and not is_empty(page, cell.text)]
    if len(told) != 1 or len(line) != width:
        return True
    name = line[names].text if names < len(line) else ""
    return not name or len(name.split()) > LONGEST_NAME_WORDS or FOOTNOTE.fullmatch(name.split()[0]) is not None


def _ditto_marks(page: Page) -> frozenset[str]:
    return frozenset(mark.casefold() for mark in page.option("ditto_marks", []))


def _repeat_dittos(
    page: Page, lines: list[list[Cell]], stride: int, left: bool = False, above: list[Cell] | None = None
) -> None:
    """Puts what a ditto mark repeats in its place: the cell above, or so many columns to the left. `above` is the line
    before the first, where the headings only come once more between them."""
    marks, at = _ditto_marks(page), []
    for i, line in enumerate(lines):
        for k, cell in enumerate(line):
            if not is_ditto(cell.text, marks):
                continue
            source = None
            if left:
                source = line[k - stride] if k >= stride + 1 else None
            elif i:
                source = lines[i - 1][k]
            elif above and k < len(above):
                source = above[k]
            if source is None or is_empty(page, source.text):
                side = "to the left" if left else "above"
                page.wrong(cell, cell.text, f"a reading: there is none {side} for a ditto mark to repeat")
                continue
            line[k] = Cell(source.text, cell.line, cell.column, cell.text)
            at.append(cell.line)
    if at:
        its, one = ("its", "it") if len(at) == 1 else ("their", "them")
        said = f"to {its} left" if left else f"above {one}"
        page.assumed.append(
            f"{plural(len(at), 'ditto mark')} repeat{'s' if len(at) == 1 else ''} the reading {said} ({on_lines(at)})"
        )


def on_lines(numbers: list[int]) -> str:
    some = [str(n) for n in dict.fromkeys(numbers)]
    return f"line {some[0]}" if len(some) == 1 else f"lines {', '.join(some[:-1])} and {some[-1]}"


def plural(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


# Readings in several columns ----------------------------------------------------------------------------------------


def _merged(page: Page, columns: list[Column], parts: list[str | None]) -> list[Column]:
    """Columns of feet, inches and eighths made one, under the heading that stands over the first that has one."""
    found: list[Column] = []
    over: list[tuple[int, Cell]] = []
    i = 0
    while i < len(columns):
        part = parts[i] if i < len(parts) else None
        if not part:
            found.append(columns[i])
            i += 1
            continue
        group = [part]
        while i + len(group) < len(parts) and (after := parts[i + len(group)]) in _order(group[-1]):
            group.append(after)
        some = columns[i : i + len(group)]
        headed = next((column for column in some if column.words), some[0])
        if other := next((c for c in some if c.words and c.words != headed.words), None):
            _out_of_step(page, other.heading, f"stands over the same reading as {headed.heading.text!r}")
            break
        if headed.words:
            cells = [_joined(page, [c.cells[k] for c in some], group) for k in range(len(some[0].cells))]
            found.append(Column(headed.words, headed.heading, cells, headed.maybe))
            if len(group) > 1:
                over.append((some.index(headed), headed.heading))
        i += len(group)
    if odd := next((one for one in over if one[0] != over[0][0]), None):
        (place, heading), (usual, first) = odd, over[0]
        said = f"stands over column {place + 1} of its reading, {first.text!r} over column {usual + 1}"
        _out_of_step(page, heading, said)
    return found


def _out_of_step(page: Page, heading: Cell, said: str) -> None:
    """A mark too few among the headings, or too many, moves all that follow it over another reading's columns."""
    page.wrong(
        heading,
        f"{heading.text!r} {said}",
        "each heading over the first of its columns: is a mark between cells missing, or one too many?",
    )


def _order(part: str | None) -> tuple[str, ...]:
    """The parts that may come after one in a reading."""
    order = {"feet": ("inches",), "inches": ("eighths", "sixteenths")}
    return order.get(part or "", ())


def _joined(page: Page, cells: list[Cell], parts: list[str]) -> Cell:
    """One reading of its parts, each in its cell."""
    first = next((cell for cell in cells if cell.text), cells[0])
    if all(is_empty(page, cell.text) for cell in cells):
        return Cell(" ".join(cell.text for cell in cells if cell.text), first.line, first.column)
    said: dict[str, str] = {}
    is_half_blank = False
    for cell, part in zip(cells, parts, strict=True):
        text = unmarked(cell.text)
        if is_empty(page, text):
            text = "0"
            is_half_blank = True
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
    if is_half_blank:
        page.half_blank.append(Cell(" ".join(cell.text or "_" for cell in cells), first.line, first.column))
    return Cell(text, first.line, first.column, " ".join(cell.printed or cell.text for cell in cells))


# Of readings with a blank part so many are named.
HALF_BLANK_NAMED = 8


def parts_of_blanks(page: Page) -> list[str]:
    """That empty parts of readings are taken as nought, and of which."""
    cells = page.half_blank
    if not cells:
        return []
    named = ", ".join(f"line {cell.line}, column {cell.column} ({cell.text!r})" for cell in cells[:HALF_BLANK_NAMED])
    more = f" and {len(cells) - HALF_BLANK_NAMED} more" if len(cells) > HALF_BLANK_NAMED else ""
    return [f"an empty part of a reading is taken as nought: {named}{more}"]


# Stations across ----------------------------------------------------------------------------------------------------


def across(page: Page) -> list[Panel]:
    """The parts of a page whose stations stand side by side: its lines, turned."""
    grid = _written(page)
    labels = page.option("headings", 1)
    start = _find_names(page, grid, labels)
    for line in grid[:start]:
        page.notes.append(f"line {line[0].line} stands above the stations: {_text_of(line)}")
    panels = []
    at = start
    while at < len(grid):
        # A page too narrow for all stations has them in blocks, the labels once more in each.
        end = at + 1
        while end < len(grid) and not _is_names_line(page, grid[end], grid[start], labels):
            end += 1
        block = _block(page, grid[at], grid[at + 1 : end], labels)
        panels.append(Panel(grid[at][0].line, block[0], block[1:]))
        at = end
    page.stop()
    for panel in panels:
        many = len(panel.names.cells)
        for column in panel.columns:
            column.cells += [Cell("", column.heading.line, 1)] * (many - len(column.cells))
    return panels


def _find_names(page: Page, grid: list[list[Cell]], labels: int) -> int:
    """The line of the station names."""
    names = page.option("names")
    if names is not None:
        key = key_words(names)[0]
        for i, line in enumerate(grid):
            if any(matches((plain(cell.text),), key) is not None for cell in line[:labels]):
                return i
        page.wrong(grid[0][0], f"no heading {names!r}", "one of: " + _labels_said(grid))
        page.stop()
    # Without its name: the line before the first that the mapping knows.
    keys = [key_words(key)[0] for key in _wanted(page)]
    for i, line in enumerate(grid):
        words = (plain(line[labels - 1].text),) if len(line) >= labels else ()
        if any(words and matches(words, key[-1:]) is not None for key in keys):
            before = [k for k in range(i) if _fills(grid[k], labels) and _parts_line(grid[k]) is None]
            if before:
                return before[-1]
            page.wrong(line[0], "no line of station names", "one above the first row")
            page.stop()
    # A row's label heads several where each station has columns of its own under it, `Sheer: Ht.`
    for i, line in enumerate(grid[:-1]):
        if _fills(line, labels) and _under_stations(page, line, grid[i + 1], labels):
            return i
    said = f"none of the headings {', '.join(map(repr, _wanted(page)[:6]))}"
    page.wrong(grid[0][0], said, "one of: " + _labels_said(grid))
    page.stop()
    return 0


# So many kinds of reading at most stand under one station.
MOST_UNDER = 4


def _under_stations(page: Page, head: list[Cell], line: list[Cell], labels: int) -> list[Cell] | None:
    """The headings under each station, such as `Ht.` and `H.B.`, the same under all; None where a line is none."""
    told, names = line[labels:], [cell for cell in head[labels:] if cell.text]
    while told and not told[-1].text:
        told = told[:-1]
    texts = [plain(cell.text) for cell in told]
    if not names or len(texts) % len(names) or not 2 <= (many := len(texts) // len(names)) <= MOST_UNDER:
        return None
    if _parts_line(line) is not None or len(set(texts[:many])) < many or texts != texts[:many] * len(names):
        return None
    worded = all(any(c.isalpha() for c in cell.text) and not is_empty(page, cell.text) for cell in told)
    return told[:many] if worded and [c for c in head[labels:] if c.text] == head[labels::many][: len(names)] else None


def _labels_said(grid: list[list[Cell]]) -> str:
    """The first cells of lines, as a message lists them."""
    said = [repr(line[0].text) for line in grid if line[0].text]
    return ", ".join(dict.fromkeys(said[:40]))


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
    under = _under_stations(page, head, body[0], labels) if body and not parts else None
    stride = 1
    if parts and any(parts):
        again = (k for k in range(labels + 1, len(parts)) if parts[k] == parts[labels])
        stride = next(again, len(parts)) - labels
    elif under:
        body, stride = body[1:], len(under)
    elif declared:
        stride = len(declared)
    head = _once(head, head[labels - 1], labels)
    width = len(head)
    while width > labels and not head[width - 1].text:
        width -= 1
    if stride > 1:
        width = labels + stride * sum(bool(cell.text) for cell in head[labels:])
        own = list(declared or [part or "" for part in (parts or [])[labels : labels + stride]])
    places = None
    if page.mark == "spaces" and stride == 1:
        filled_lines = [line for line in body if any(reads_as_reading(page, cell.text) for cell in line[labels:])]
        places = _by_place.columns_of(page.lines, head[:width], filled_lines)
    group: list[str] = []
    unused: list[Cell] | None = None
    rows: list[tuple[tuple[str, ...], Cell, list[Cell]]] = []
    for line in body:
        label = line[labels - 1] if len(line) >= labels else line[-1]
        if len(line) > width:
            line = _once(line, label, labels)
        outer = [cell.text for cell in line[: labels - 1] if cell.text]
        read = [cell for cell in line[labels:] if reads_as_reading(page, cell.text)]
        filled = [cell for cell in line[labels:] if cell.text]
        known = any(matches((plain(label.text),), key_words(key)[0][-1:]) is not None for key in _wanted(page))
        if (is_page_head(line) and not known) or (not filled and PAGE_NUMBER.fullmatch(line[0].text)):
            page.notes.append(f"line {line[0].line} is taken for the head of a page: {_text_of(line)}")
            continue
        if not read and not [cell for cell in filled if is_empty(page, cell.text)]:
            if _unparted(page, line):
                continue
            if len(line) <= labels or not filled:
                if unused is not None:
                    page.notes.append(f"line {unused[0].line} is taken for a note: {_text_of(unused)}")
                    unused = None
                if len(line[0].text.split()) <= 8 and FOOTNOTE.match(line[0].text[:1]) is None:
                    group, unused = [line[0].text], line
                else:
                    page.notes.append(f"line {line[0].line} is taken for a note: {_text_of(line)}")
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
        if len(line) < width and page.mark == "spaces":
            whole = _whole(page, line, head[:width], places)
            if whole is None:
                continue
            line, label = whole, whole[labels - 1]
        elif len(line) < width:
            _ends_early(page, line, width - len(line))
        line = line[:width] + [Cell("", label.line, 1)] * (width - len(line))
        if unused is not None:
            page.notes.append(f"line {unused[0].line} is taken as the heading of a group: {_text_of(unused)}")
            unused = None
        if outer:
            group = outer
        words = [plain(text) for text in group if text]
        own_words = plain(label.text)
        if ":" in label.text and label.text.partition(":")[2].strip() and not words:
            words, own_words = [plain(label.text.partition(":")[0])], plain(label.text.partition(":")[2])
        rows.append(((*words, own_words), label, line))
    if unused is not None:
        page.notes.append(f"line {unused[0].line} is taken for a note: {_text_of(unused)}")
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
    seen: list[tuple[tuple[str, ...], list[str]]] = []
    for told, label, line in rows:
        own_texts = [" ".join(cell.text.split()) for cell in line[labels:]]
        if (told, own_texts) in seen:
            page.notes.append(f"{label.text!r} on line {label.line} is there once more, alike")
            continue
        seen.append((told, own_texts))
        tail = line[labels:]
        if under:
            columns += [
                Column((*told, plain(sub.text)), Cell(sub.text, label.line, label.column), tail[k::stride])
                for k, sub in enumerate(under)
            ]
            continue
        if stride > 1:
            tail = [_joined(page, tail[k : k + stride], own) for k in range(0, len(tail) - stride + 1, stride)]
        columns.append(Column(told, label, tail))
    return columns


def _once(line: list[Cell], label: Cell, labels: int) -> list[Cell]:
    """A line whose label stands at its right end once more, as on wide pages, without that."""
    said = [cell for cell in line[labels:] if cell.text]
    if not said or not label.text or plain(said[-1].text) != plain(label.text):
        return line
    return line[: line.index(said[-1])]


def _repeat_left(page: Page, cells: list[Cell], stride: int) -> None:
    marks, count = _ditto_marks(page), 0
    for k, cell in enumerate(cells):
        if not is_ditto(cell.text, marks):
            continue
        if k < stride or is_empty(page, cells[k - stride].text):
            page.wrong(cell, cell.text, "a reading: there is none to the left for a ditto mark to repeat")
            continue
        cells[k] = Cell(cells[k - stride].text, cell.line, cell.column, cell.text)
        count += 1
    if count:
        page.assumed.append(
            f"{plural(count, 'ditto mark')} on line {cells[0].line} repeat{'s' if count == 1 else ''} the reading to "
            "the left"
        )
