"""A page of text as cells, each knowing its line and column: what parts them, and which lines are none.

Cells are parted by commas, semicolons, tabs, upright bars or wide blanks. Ditto marks are printed as `"`, which is a
quotation mark elsewhere: a mark alone in its cell is a ditto, and one that is closed before the next cell quotes.
"""

from __future__ import annotations

import re
from pathlib import Path

from .mapping import CELLS, Cell, mistake, table_error

# A printed table is a page or two; what is larger is some other file.
LARGEST_BYTES = 8_000_000

# What a ditto mark is printed or typed as.
DITTO = {
    '"', "''", "“", "”", "„", "‟", ",,", "〃", "″", "´´", "``", "do", "do.", "dº", "ditto", "id", "id.", "idem",
}  # fmt: skip
# What marks a footnote, at the end of a cell.
FOOTNOTE = re.compile(r"\s*(\*+|[†‡§¶‖]+|\(\*+\)|\[[a-z0-9]\]|\([a-z]\))$")
# Leaders: the points that lead the eye from a name to its readings, run on or parted by blanks.
_LEADERS = r"[.·…](?: ?[.·…])+"
# Before a reading; one point alone may be a decimal's, torn off, unless what follows has marks of its own.
LEADERS_BEFORE = re.compile(rf"(?:{_LEADERS}|[.·…](?! *[\d ]+$)) *(?<= )(?=[^\s.·…])")
LEADERS_AT_END = re.compile(rf"(?<=[^\s.·…]) ?{_LEADERS}$| [.·…]$")
LEADERS_AFTER = re.compile(rf" ?{_LEADERS} ?(?=[^\s.·…])")
# A line that is drawn, not written.
RULE = re.compile(r"[\s|+=_:─━│┃┼╋├┤┬┴-]*")


def read_lines(path: Path) -> list[str]:
    """The lines of a page. Raises `TableError` where it is no text."""
    if path.stat().st_size > LARGEST_BYTES:
        raise table_error([
            mistake(path, Cell("", 1, 1), f"over {LARGEST_BYTES // 1_000_000} MB: this is no printed table", "a page")
        ])  # fmt: skip
    data = path.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        said = mistake(path, Cell("", line, 1), "not UTF-8 text", "a table saved as UTF-8")
        raise table_error([said]) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise table_error([mistake(path, Cell("", line, 1), "a binary file, not a table", "text")])
    return re.split("\r\n|\r|\n", text)


def parting(lines: list[str], path: Path, given: str | None) -> str:
    """What parts the cells of a page: as the mapping says, or what most of its lines have."""
    if given is not None:
        return CELLS[given]
    if path.suffix.lower() == ".tsv":
        return "\t"
    written = [line for line in lines if line.strip() and not line.startswith("#") and not is_rule(line)]
    for mark in ("|", "\t", ";"):
        if 2 * sum(mark in line for line in written) > len(written):
            return mark
    if path.suffix.lower() != ".csv" and 2 * sum("," in line for line in written) <= len(written):
        return "spaces"
    return ","


def is_rule(line: str) -> bool:
    """Whether a line is drawn across the page: dashes and bars, three or more."""
    return RULE.fullmatch(line) is not None and sum(c in "-=_─━" for c in line) >= 3


def framed(lines: list[str]) -> tuple[bool, bool]:
    """Whether bars stand before the first cell of every line, and after the last."""
    barred = [line.strip() for line in lines if "|" in line and not line.startswith("#") and not is_rule(line)]
    return all(line.startswith("|") for line in barred), all(line.endswith("|") for line in barred)


def cells_of(line: str, number: int, mark: str, frame: tuple[bool, bool] = (False, False)) -> list[Cell]:
    """The cells of one line; `frame` says whether bars at its ends are a frame."""
    if mark == "spaces":
        line = _without_leaders(line)
        return [_led(Cell(m.group(), number, m.start() + 1)) for m in re.finditer(r"\S+(?: \S+)*", line)]
    cells, at = [], 0
    while True:
        text, after = _quoted(line, at, mark) if mark in ",;\t" else (None, 0)
        if text is None:
            end = line.find(mark, at)
            after = len(line) if end < 0 else end
            text = line[at:after]
        start = at + len(line[at:after]) - len(line[at:after].lstrip())
        cells.append(_led(Cell(text.strip(), number, start + 1)))
        if after >= len(line):
            break
        at = after + len(mark)
    if mark == "|" and len(cells) > 1:
        cells = cells[frame[0] : len(cells) - frame[1]]
    return cells


def _led(cell: Cell) -> Cell:
    """A cell without the leaders that stand before what it says, or after it."""
    leaders = LEADERS_BEFORE.match(cell.text)
    begin = leaders.end() if leaders else 0
    return Cell(LEADERS_AT_END.sub("", cell.text[begin:]), cell.line, cell.column + begin)


def _without_leaders(line: str) -> str:
    """A line over wide blanks with blanks for the leaders after its first words. Points that stand alone in a column
    are a mark for no reading."""
    name = re.match(r"\s*\S+(?: \S+)*", line)
    found = LEADERS_AFTER.search(name.group(), 1) if name else None
    if found is None or len(found.group()) < 2:
        return line
    return line[: found.start()] + " " * len(found.group()) + line[found.end() :]


def _quoted(line: str, at: int, mark: str) -> tuple[str | None, int]:
    """A quoted cell's text and where it ends; None where the cell is not quoted."""
    pattern = re.compile(rf'[^\S\t]*"((?:[^"]|"")*)"[^\S\t]*(?={re.escape(mark)}|$)')
    found = pattern.match(line, at)
    if found is None:
        return None, at
    inside = found.group(1)
    # `",7,"` is two ditto marks and a cell between: nobody quotes a text that begins with what parts cells.
    if inside.lstrip(" ").startswith(mark):
        return None, at
    return inside.replace('""', '"'), found.end()


def is_ditto(text: str, more: frozenset[str]) -> bool:
    """Whether a cell holds ditto marks only: one, or one for each part of the reading."""
    words = text.casefold().split()
    return bool(words) and all(word in DITTO or word in more for word in words)


def plain(text: str) -> str:
    """A heading as it is compared: without capitals, wide blanks and the point at its end."""
    text = text.replace("’", "'").replace("“", '"').replace("”", '"')
    text = re.sub("[‐‑‒–—]", "-", text)
    return " ".join(text.split()).casefold().rstrip(" .,:;")
