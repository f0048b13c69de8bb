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

from ... import _core
from ..._core import Reading, ReadingError, TableError
from ..table import Table
from .arranged import (
    Column,
    Page,
    across,
    down,
    is_empty,
    key_of,
    key_words,
    no_heading,
    parts_of_blanks,
    plural,
    reads_as_reading,
    unmarked,
)
from .grid import parting, plain, read_lines
from .mapping import BLOCKS, Cell, RowSpec, read_mapping, table_error
from .panels import joined
from .sequence import OUT_OF_ORDER, begins_late, odd_steps
from .signs import METRIC, parted_sign, without_thousands

# A number alone, or with a fraction: inches, where other readings show that inches need no sign.
BARE = re.compile(r"\d{1,2}(\s*[½¼¾⅛⅜⅝⅞]|[\s-]*\d+[/⁄]\d+)?\s*[?!]?")
INCHES_AND_RAISED = re.compile(r"\d{1,2}\s*(\^\s*\d|[⁰¹²³⁴-⁹])")
# What is over so many inches is no whole number of inches: nobody prints 40 for 3 ft 4 in.
MOST_BARE_INCHES = 36
RELATIVE = re.compile(r"(?P<distance>.+?)\s+(?P<way>above|below)\s+(?P<from>.+)", re.IGNORECASE)
LOAD_WATERLINE = {"load waterline", "load water line", "lwl", "l.w.l", "dwl"}


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

    A row may say `whole = true` where breadths are whole ones.

    `scrieve read --keys` prints every key with what it means. Besides those above, under `[layout]`: `cells`, what
    parts cells (",", ";", "|", "tab", "spaces"), where the page does not show it; `headings`, how many rows of
    headings there are; `parts`, such as ["feet", "inches", "eighths"], where a reading takes a column for each;
    `ditto`, "above" or "left", what a ditto mark repeats; `ditto_marks` and `empty`, lists of other marks for these;
    `skip`, beginnings of lines that are no part of the table; `begins`, "stern" where the first station is aftmost;
    `transom`, the name of a last station that is taken on the transom, or false. Lines that are on no page and run
    straight are told by `[straight]`, `rabbet = "0-2-4"`. Everything outside `[layout]`, `[rows]` and `[straight]` is
    the head of the table, as in an `.offsets` file. Lines that begin with `#` are comments. Readings are taken as
    printed; none is corrected.
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
        page.assumed += page.mapping.said
        page.mark = parting(page.lines, path, page.option("cells"))
        panels = across(page) if page.option("stations", "down") == "across" else down(page)
        page.stop()
        names, columns = joined(page, panels)
        return _table(page, names, columns)


@dataclass
class _Row:
    """A row of the table, and the column it is of."""

    spec: RowSpec
    key: str
    label: str
    column: Column
    texts: list[str] = field(default_factory=list)
    # A line that is on no page: its heading and cells are nowhere.
    is_told: bool = False


def _table(page: Page, names: Column, columns: list[Column]) -> Table:
    rows, distances = _assign(page, names, columns)
    _turned(page, names, columns, distances)
    options = _hand(page, rows)
    for row in rows:
        row.label = _label(page, row, options)
    for row in rows:
        _read_row(page, row, options)
    _check_hand(page, rows)
    _gather(page)
    page.stop()
    stations = _stations(page, names, distances, options)
    page.stop()
    rows += _straight(page, rows, names, options)
    page.stop()
    facts = _facts(page, rows)
    rows.sort(key=lambda row: BLOCKS.index(row.spec.block) if row.spec.block in BLOCKS else len(BLOCKS))
    drawn = (stations, [(row.spec.block, row.label, row.texts) for row in rows])
    where = {
        "file": str(page.path),
        "lines": page.lines,
        "stations": [
            (_place(name), _place(distances.cells[i] if distances else name)) for i, name in enumerate(names.cells)
        ],
        "rows": [
            (None, [None] * len(stations))
            if row.is_told
            else (_place(row.column.heading), [_place(cell) for cell in row.column.cells])
            for row in rows
        ],
        "mappings": [(str(keys.path), keys.text) for keys in page.mapping.keys],
        "notes": page.notes,
    }
    try:
        made = _core.table_from_rows(facts, *drawn, name=str(page.path), page=where)
    except TypeError as error:  # a fact that no file can hold
        raise table_error([page.mapping.error("a fact", str(error))]) from None
    except TableError as error:
        raise _of_the_mapping(page, rows, error) from None
    # What a blank means is known once the table is read: the rest is said of what is still unknown.
    said = _assumed_of(made)
    if said:
        facts["assumed"] = [*facts.get("assumed", []), *said]
        made = _core.table_from_rows(facts, *drawn, name=str(page.path), page=where)
    return Table(made)


def _of_the_mapping(page: Page, rows: list[_Row], error: TableError) -> TableError:
    """The same mistakes, those of what a row is called being the mapping's: the page has only its heading."""
    found = []
    for mistake in error.mistakes:
        at = (mistake["line"], mistake["column"])
        row = next((row for row in rows if not row.is_told and _place(row.column.heading)[:2] == at), None)
        if mistake["file"] != str(page.path) or row is None:
            found.append(mistake)
            continue
        said = f"[rows] {row.key!r}: {row.label!r} under {row.spec.block}"
        found.append(page.mapping.error(said, mistake["expected"], row.key) | {"severity": mistake["severity"]})
    return table_error(found) if found != error.mistakes else error


def _straight(page: Page, rows: list[_Row], names: Column, options: dict[str, Any]) -> list[_Row]:
    """Rows of lines that are on no page and that the mapping says run straight and level."""
    found = []
    for name, height in page.mapping.straight.items():
        if any(row.spec.block == "heights" and row.label == name for row in rows):
            said = f"[straight] {name}: the page has its heights"
            page.mistakes.append(page.mapping.error(said, "a line that is on no page", name))
            continue
        reading = _length(page, height, options, f"[straight] {name}", name)
        if reading is None:
            continue
        text = _exactly(reading, page)
        page.assumed.append(
            f"{name}: the page has no heights of it; it is taken as straight and level, {height} above the base line"
        )
        spec = RowSpec("heights", name, blank=f"at {text}")
        column = Column((), Cell("", 1, 1), [])
        found.append(_Row(spec, name, name, column, ["-"] * len(names.cells), is_told=True))
    return found


def _place(cell: Cell) -> tuple[int, int, str]:
    return cell.line, cell.column, cell.text if cell.printed is None else cell.printed


def _assign(page: Page, names: Column, columns: list[Column]) -> tuple[list[_Row], Column | None]:
    """Which column is which row: the mapping's plain headings first, then those with a `*`."""
    headed = [(column.words, column.heading) for column in columns if column.words and column.words != ("",)]
    taken: dict[int, str] = {}

    def find(key: str, optional: bool = False) -> list[tuple[Column, str]]:
        words, which = key_words(key)
        found = [(column, *column.answers(words)) for column in columns]
        sure = [(column, star) for column, star, is_sure in found if star is not None and is_sure]
        perhaps = [(column, star) for column, star, is_sure in found if star is not None and not is_sure]
        starred = "*" in words[-1]
        if perhaps and (starred or not sure):
            untaken = [(column, star) for column, star in perhaps if id(column) not in taken]
            sure += untaken if starred else perhaps
            for column, _ in untaken:
                page.assumed.append(
                    f"{column.heading.text!r} on line {column.heading.line} is taken to stand under "
                    f"{words[0].capitalize()!r}, as the mapping has it: over wide blanks the page does not show how "
                    "far the heading of a group reaches"
                )
        if which is not None:
            sure = sure[which - 1 : which]
        if starred:
            sure = [(column, star) for column, star in sure if id(column) not in taken]
            for i, (column, _) in enumerate(sure):
                again = [other for other, _ in sure[:i] if other.words == column.words]
                if again:
                    own = key_of(column.words, column.heading)
                    several(column, own, [f"{own} [{n}]" for n in range(1, len(again) + 2)])
            return sure
        exact = [(column, star) for column, star in sure if column.words == words]
        if len(sure) > 1 and len(exact) == 1 and len(words) > 1:
            sure = exact
        if len(sure) > 1:
            groups = [key_of(column.words, column.heading) for column, _ in sure]
            if len({plain(group) for group in groups}) < len(groups):
                groups = [f"{key} [{i}]" for i in range(1, len(sure) + 1)]
            several(sure[1][0], key, groups)
            return []
        if not sure and not optional:
            no_heading(page, key, headed)
        return sure

    def several(column: Column, key: str, groups: list[str]) -> None:
        page.wrong(
            column.heading,
            f"{len(groups)} headings {key!r}",
            f'the mapping to say which: {", ".join(map(repr, groups))}; one that is no row of its own is "ignore"',
        )

    distances = None
    if isinstance(page.option("from_stem"), str):
        found = find(page.option("from_stem"))
        if found:
            distances = found[0][0]
            taken[id(distances)] = page.option("from_stem")
    rows: list[_Row] = []
    for key in sorted(page.mapping.rows, key=_is_starred):
        specs = page.mapping.rows[key]
        optional = not specs or any(spec.optional for spec in specs) or _is_starred(key)
        for column, star in find(key, optional):
            if id(column) in taken:
                if taken[id(column)] != key:
                    said = f"{key!r}: the column is {taken[id(column)]!r} already"
                    page.wrong(
                        column.heading,
                        said,
                        "one heading of the mapping for each column; a heading that serves two rows has both in a list",
                    )
                continue
            taken[id(column)] = key
            rows += [_Row(spec, key, spec.row.replace("*", star), column) for spec in specs]
    for column in columns:
        if id(column) not in taken and column.words and column.words != ("",):
            if any(reads_as_reading(page, cell.text) for cell in column.cells):
                heading = column.heading
                page.notes.append(f"{heading.text!r} on line {heading.line} is no row of the mapping's: left alone")
        elif id(column) not in taken and any(reads_as_reading(page, cell.text) for cell in column.cells):
            first = next(cell for cell in column.cells if reads_as_reading(page, cell.text))
            page.wrong(first, first.text, "nothing: no heading stands over this column")
    if not rows and not page.mistakes:
        no_heading(page, next(iter(page.mapping.rows)), headed)
    # As they stand on the page.
    order = {id(column): i for i, column in enumerate(columns)}
    rows.sort(key=lambda row: order[id(row.column)])
    return rows, distances


def _is_starred(key: str) -> bool:
    return "*" in key_words(key)[0][-1]


def _hand(page: Page, rows: list[_Row]) -> dict[str, Any]:
    """How readings are written: what the mapping says, and that a number alone is inches where others show it."""
    facts = page.mapping.facts
    options: dict[str, Any] = {key: facts[key] for key in ("units", "two_part", "plus", "one_part") if key in facts}
    options["dashed"] = facts.get("fractions") == "dashed"
    options["comma"] = facts.get("decimal") == ","
    try:
        Reading("1mm", **options)
    except (TypeError, ValueError) as error:  # units and the like that there are none of
        page.mistakes.append(page.mapping.error("", str(error), str(error).split(" ")[0], "units"))
        page.stop()
    if options.get("units", "feet-inches-eighths") != "feet-inches-eighths" or "one_part" in options:
        return options
    cells = [cell.text for row in rows for cell in row.column.cells if not is_empty(page, cell.text)]
    bare = [text for text in map(unmarked, cells) if BARE.fullmatch(text)]
    with_fraction = [text for text in bare if not text.rstrip("?! ").isdigit()]
    shown = with_fraction or any(INCHES_AND_RAISED.match(text) for text in cells)
    if bare and shown and all(int(re.findall(r"\d+", text + " 0")[0]) <= MOST_BARE_INCHES for text in bare):
        options["one_part"] = page.mapping.facts["one_part"] = "inches"
        page.assumed.append(
            f"a number alone, such as `{bare[0]}`, is taken as inches ({plural(len(bare), 'cell')}): others have "
            "inches without feet"
        )
    return options


def _length(page: Page, text: str, options: dict[str, Any], said: str, *keys: str) -> Reading | None:
    """A reading of the mapping's."""
    try:
        return Reading(parted_sign(text, options) or text, **options)
    except ReadingError as error:
        expected = _expected(text, str(error.expected), options)
        page.mistakes.append(page.mapping.error(f"{said}: {text!r}", expected, *keys))
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
        given = page.mapping.facts.get("load_waterline")
        if given is None:
            expected = '`load_waterline = "..."` in the mapping: its height above the base line'
            page.mistakes.append(page.mapping.error(f"{text!r}", expected, *keys))
            return None
        place = str(given)
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
    values: list[tuple[Cell, Reading]] = []
    signed = []
    for cell in row.column.cells:
        text = cell.text
        if is_empty(page, text):
            row.texts.append("-")
            continue
        reading = None
        with_sign = parted_sign(unmarked(text), options, page.mark)
        for said in dict.fromkeys((text, unmarked(text)) if with_sign is None else (with_sign,)):
            try:
                reading, text = Reading(said, **options), said
                break
            except ReadingError as error:
                failed = error
        if reading is None and re.fullmatch(r"0+", unmarked(cell.text)):
            # Nought is nought in any units.
            text = "0-0-0"
            reading = Reading(text, **options)
        if reading is None:
            at = Cell(text, cell.line, cell.column)
            page.wrong(at, cell.text, _expected(cell.text, str(failed.expected), options))
            row.texts.append("-")
            continue
        values.append((cell, reading))
        if with_sign is not None and with_sign.startswith("-"):
            signed.append(cell)
        if text != cell.text and text == unmarked(cell.text):
            page.notes.append(f"line {cell.line}: the mark at the end of {cell.text!r} is taken for a footnote's")
        value = reading
        if datum is not None:
            way, height = datum
            value = height + reading if way > 0 else height - reading
        if spec.whole:
            value = value / 2
        row.texts.append(_word(text, reading, options) if value is reading else _reckoned(value, reading, page))
    if signed:
        page.assumed.append(
            f"{row.column.heading.text!r}: the dash before {signed[0].text!r} on line {signed[0].line} of the page is "
            f"taken as a minus ({plural(len(signed), 'cell')})"
        )
    if spec.block in ("heights", "half-breadths") and datum is None:
        for (_, before), (cell, reading), (_, after) in zip(values, values[1:], values[2:], strict=False):
            if reading.m == 0 and min(before.m, after.m) > NO_NOUGHT_BESIDE_M:
                page.assumed.append(
                    f"line {cell.line} of the page: {cell.text!r} under {row.column.heading.text!r}, between readings, "
                    "is taken as a reading of nought, not as a blank"
                )


# A reading of nought between two of more than this is odd, m.
NO_NOUGHT_BESIDE_M = 0.025
# Letters that a scan has for figures.
LETTERS = str.maketrans({"O": "0", "o": "0", "Q": "0", "l": "1", "I": "1", "S": "5", "B": "8", "Z": "2"})
DECIMAL = re.compile(r"[+-]?\d*[.,·]\d+")


def _expected(text: str, expected: str, options: dict[str, Any]) -> str:
    """What was expected of a cell, with what it may be: a letter for a figure, a decimal in other units."""
    figures = text.translate(LETTERS)
    if figures != text:
        try:
            Reading(unmarked(figures), **options)
        except ReadingError:
            pass
        else:
            return f"{expected}; or `{figures}`, if a letter stands there for a figure"
    if options.get("units", "feet-inches-eighths") == "feet-inches-eighths" and DECIMAL.fullmatch(text.strip()):
        return f'{expected}; or units = "ft", "in", "mm", "cm" or "m" in the mapping, for a page of decimals'
    whole = without_thousands(unmarked(text)) if options.get("units") in METRIC else None
    if whole is not None:
        return f"{expected}; or `{whole}`, if the mark in it parts thousands"
    if options.get("units", "feet-inches-eighths") == "feet-inches-eighths" and DASH_AND_BLANK.match(text):
        return f"{expected}; or `{DASH_AND_BLANK.sub('0-', text)}`, if the dash stands for no feet"
    return expected


# A dash before inches that stand alone.
DASH_AND_BLANK = re.compile(r"[‐‑‒–—−-]\s+(?=\d)")
# Feet and inches parted by a blank, with a raised eighth; and parted by a dash.
BLANKED = re.compile(r"\d{1,2}\s+\d{1,2}\s*(\^\s*\d|[⁰¹²³⁴-⁹])")
DASHED = re.compile(r"\d{1,2}\s*[-‐–]\s*\d{1,2}\s*(\^\s*\d|[⁰¹²³⁴-⁹])?")
# So many readings with a dash make one with a blank odd.
MANY_DASHED = 8


def _check_hand(page: Page, rows: list[_Row]) -> None:
    """Refuses readings in which a blank stands where the page's hand has a dash: `1 0^6` may be 10^6, torn."""
    cells = {(cell.line, cell.column): cell for row in rows for cell in row.column.cells}.values()
    _check_thousands(page, list(cells))
    blanked = [cell for cell in cells if BLANKED.fullmatch(unmarked(cell.text))]
    dashed = [cell for cell in cells if DASHED.fullmatch(unmarked(cell.text))]
    if len(dashed) < MANY_DASHED * len(blanked):
        return
    for cell in blanked:
        feet, rest = cell.text.split(None, 1)
        page.wrong(
            cell, f"{cell.text}: a blank where the other readings have a dash", f"{feet}-{rest}, or {feet}{rest}"
        )


def _check_thousands(page: Page, cells: list[Cell]) -> None:
    """Refuses `1.205` among whole millimetres: none reads to the micrometre one cell in many."""
    if page.mapping.facts.get("units") != "mm":
        return
    point = "," if page.mapping.facts.get("decimal") == "," else "."
    decimals = [cell for cell in cells if point in cell.text and DECIMAL.fullmatch(unmarked(cell.text))]
    marked = [(cell, whole) for cell in decimals if (whole := without_thousands(unmarked(cell.text))) is not None]
    wholes = [cell for cell in cells if unmarked(cell.text).isdigit()]
    if not marked or len(marked) < len(decimals) or not wholes:
        return
    for cell, whole in marked:
        page.wrong(
            cell,
            f"{cell.text}: three decimals of a millimetre among whole ones",
            f"{whole}, if the mark parts thousands; or {cell.text}0, if it is meant",
        )


def _word(text: str, reading: Reading, options: dict[str, Any]) -> str:
    """A reading as one word that reads as the same; as it was written, if it can be."""
    slashed = re.sub(r"(?<=\s)(\d+)\s*[‐-―−-]\s*(\d+)(?=\s*[\"″”]|\s*in)", r"\1/\2", text)
    joined = re.sub(r"(?<=\d)\s+(?=[\d])", "-", slashed)
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


def _stations(page: Page, names: Column, distances: Column | None, options: dict[str, Any]) -> list[tuple[str, str]]:
    """Names of the stations, and how far each is from the stem."""
    called = []
    for cell in names.cells:
        name = unmarked(cell.text)
        if name != cell.text:
            page.notes.append(f"line {cell.line}: the mark at the end of {cell.text!r} is taken for a footnote's")
        called.append(name)
    many = len(called)
    on_transom = page.option("transom")
    if isinstance(on_transom, str):
        if not called or plain(on_transom) not in (plain(called[-1]), plain(called[0])):
            expected = f"the last station's name, {called[-1] if called else ''!r}"
            page.mistakes.append(page.mapping.error(f"[layout] transom: {on_transom!r}", expected, "transom"))
            return []
        if plain(on_transom) != plain(called[-1]):
            page.wrong(names.cells[0], called[0], "the transom's column last, as its stations run aft")
            return []
        many -= 1
    last_on_transom = many < len(called)
    if late := begins_late(called[:many]):
        said = f"stations are counted from {late}, and none before it is on the page: she is taken without one"
        page.assumed.append(said)
    if distances is not None:
        row = _Row(RowSpec("", ""), "from_stem", "", distances)
        _read_row(page, row, options)
        if last_on_transom:
            row.texts[-1] = "-"
        return list(zip(called, row.texts, strict=True))
    listed = page.option("from_stem")
    if listed is not None:
        if len(listed) != many:
            said = f"[layout] from_stem: {plural(len(listed), 'distance')}"
            expected = f"{many}, one a station"
            if not last_on_transom and called and len(listed) == many - 1 and _is_transom(called[-1]):
                expected += f'; or transom = "{called[-1]}", where that one is taken on the transom'
            page.mistakes.append(page.mapping.error(said, expected, "from_stem"))
        for i, how in odd_steps(called[:many]):
            if how == OUT_OF_ORDER:
                page.assumed.append(
                    f"stations {called[i]} and {called[i + 1]} are {how}: they are placed as they stand on the page"
                )
        return list(zip(called, [*map(str, listed), *(["-"] if last_on_transom else [])], strict=False))
    if on_transom is None and any(_is_transom(name) for name in (called[:1] + called[-1:])):
        at = -1 if _is_transom(called[-1]) else 0
        page.wrong(
            names.cells[at],
            f"station {called[at]!r}: not told whether it stands a space from the one beside it or lies on the transom",
            f'transom = "{called[at]}" under [layout], where it is taken on the transom, whose place [transom] gives; '
            "or transom = false, where it is upright",
        )
        return []
    spaced = page.option("spacing")
    for i, how in odd_steps(called[:many]):
        said = f"stations {called[i]} and {called[i + 1]} are {how}"
        if isinstance(spaced, list):
            page.assumed.append(f"{said}: they are placed as they stand on the page, by the list of spaces")
        else:
            page.wrong(
                names.cells[i + 1],
                said,
                f'the stations in their order and all there; or a list of spaces, such as spacing = ["{max(i, 1)} x '
                f'{spaced}", ...] under [layout]',
            )
    page.stop()
    gaps = _gaps(page, many, options)
    first = page.option("first")
    place = _length(page, first if first is not None else "0mm", options, "first", "first")
    if first is None and many:
        page.assumed.append(f"the first station, {called[0]}, is taken to stand at the stem")
    if gaps is None or place is None:
        return []
    found = []
    for i, name in enumerate(called[:many]):
        if i:
            place = place + gaps[i - 1]
        found.append((name, _exactly(place, page)))
    return found + [(name, "-") for name in called[many:]]


# What a station taken on the transom is called.
TRANSOM = re.compile(r"(at |on |to )?(tr|trans|transom|archboard|arch board|counter)( frame)?")


def _is_transom(name: str) -> bool:
    return TRANSOM.fullmatch(plain(name)) is not None


def _turned(page: Page, names: Column, columns: list[Column], distances: Column | None) -> None:
    """Turns a page that runs from the stern, as the mapping says or as its distances show."""
    listed = page.option("from_stem")
    begins = page.option("begins")
    hand: dict[str, Any] = {key: page.mapping.facts[key] for key in ("units", "two_part", "plus", "one_part")
                            if key in page.mapping.facts}  # fmt: skip
    hand["comma"] = page.mapping.facts.get("decimal") == ","

    def falls(texts: list[Any]) -> bool:
        places = []
        for text in texts:
            if is_empty(page, str(text)):
                continue
            try:
                places.append(Reading(str(text), **hand).m)
            except (ReadingError, TypeError, ValueError):
                return False
        return len(places) > 1 and all(after < before for before, after in zip(places, places[1:], strict=False))

    if isinstance(listed, list) and falls(listed) and all(isinstance(text, str) for text in listed):
        page.mapping.layout["from_stem"] = listed[::-1]
    elif begins != "stern" and (distances is None or not falls([cell.text for cell in distances.cells])):
        return
    if begins is None:
        page.assumed.append("stations run from the stern on the page, as their distances show: they are turned")
    elif begins == "stem":
        at = names.cells[0]
        page.wrong(at, "stations that run from the stern, by their distances", 'begins = "stern" under [layout]')
        return
    for column in {id(column): column for column in (names, *columns)}.values():
        column.cells.reverse()


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
        said = f"[layout] spacing: {plural(len(gaps), 'space')} for {plural(many, 'station')}"
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
    said += parts_of_blanks(page)
    heights = [row for row in rows if row.spec.block == "heights" and row.spec.datum is None]
    if heights and page.option("heights") is None:
        said.append("heights are taken as above the base line")
    own = facts.get("assumed")
    if said:
        facts["assumed"] = [*(own if isinstance(own, list) else []), *said]
    return facts


# Sheers of open boats and small vessels stand no lower or higher and are no narrower or wider than this in half, m.
BOATS_M = (0.2, 5.0)
# A number with nothing that says of what.
ALONE = re.compile(r"[+-]?(\d+|\d*[.,·]\d+)")
# So many mistakes of one kind are told as one.
MOST_ALIKE = 3


def _gather(page: Page) -> None:
    """Of many cells that are numbers alone where none are looked for, one mistake, of the units."""
    units = page.mapping.facts.get("units", "feet-inches-eighths")
    if units != "feet-inches-eighths":
        return
    numbers = [m for m in page.mistakes if ALONE.fullmatch(m["text"].strip())]
    alone = [m["text"].strip() for m in numbers]
    decimals = [text for text in alone if DECIMAL.fullmatch(text)]
    greatest = max((float(re.sub("[,·]", ".", text)) for text in alone), default=0.0)
    # Whole numbers that small are inches, in a page whose other readings show it.
    if len(decimals) <= MOST_ALIKE and (len(alone) <= MOST_ALIKE or greatest <= MOST_BARE_INCHES):
        return
    page.mistakes = [m for m in page.mistakes if m not in numbers]
    kind = "decimals" if len(decimals) == len(alone) else "numbers alone"
    said = f"{len(alone)} {kind}, such as {alone[0]} on line {numbers[0]['line']}, in units of {units}"
    expected = f'units = "ft", "in", "mm", "cm" or "m"{_likely_units(page, greatest)}'
    page.mistakes.append(page.mapping.error(said, expected, "units"))


def _likely_units(page: Page, greatest: float) -> str:
    """Which units make a boat of the greatest reading, to choose from: none is assumed. Of a model it is not known."""
    if page.mapping.facts.get("scale", "1:1") != "1:1":
        return ""
    sizes = {unit: greatest * Reading(f"1{unit}").m for unit in ("ft", "in", "mm", "cm", "m")}
    least, most = BOATS_M
    likely = [f'"{unit}" makes that {size:.2f} m' for unit, size in sizes.items() if least <= size <= most]
    return f"; the greatest is {greatest:g}, and of a boat's size are: {', '.join(likely)}" if likely else ""


def _assumed_of(table: _core.Table) -> list[str]:
    """What a table leaves open of its blanks, in a sentence."""
    return said_of_blanks(table.blanks_untold)


def said_of_blanks(untold: list[tuple[str, list[str]]]) -> list[str]:
    """One sentence of blanks that nothing tells the meaning of, by row; none where there are none."""
    if not untold:
        return []
    rows = "; ".join(f"{row} at {_listed(stations)}" for row, stations in untold)
    return [f"nothing says what these blanks mean, and they are taken as no reading: {rows}"]


def _listed(names: list[str]) -> str:
    return "station " + names[0] if len(names) == 1 else "stations " + ", ".join(names[:-1]) + " and " + names[-1]


page_reader = PageReader()
