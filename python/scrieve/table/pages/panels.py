"""The parts a table is printed in, made one: further stations under the same headings, or further headings for them.

A page too small for a table has it in parts, each with its own line of headings and its own names of stations. Stations
of one name are one station. A part that has only stations known already brings further columns; one with others goes on
under equal headings, and what it gives again has to agree.
"""

from __future__ import annotations

from .arranged import Column, Page, Panel, is_empty, plural, unmarked
from .grid import plain
from .mapping import Cell

# A station: its name, and which of several of that name in one part, so that a name typed twice is seen as one.
_Key = tuple[str, int]


def _keys(panel: Panel) -> list[_Key]:
    return _numbered([plain(unmarked(cell.text)) for cell in panel.names.cells])


def _numbered(texts: list) -> list:  # type: ignore[type-arg]
    """Each with how many of the same came before."""
    seen: dict = {}  # type: ignore[type-arg]
    found = []
    for text in texts:
        found.append((text, seen.get(text, 0)))
        seen[text] = seen.get(text, 0) + 1
    return found


def joined(page: Page, panels: list[Panel]) -> tuple[Column, list[Column]]:
    """The names and the columns of all parts, each as long as there are stations."""
    first = panels[0]
    if len(panels) == 1:
        return first.names, first.columns
    order: list[_Key] = _keys(first)
    name_cells = dict(zip(order, first.names.cells, strict=True))
    columns: list[tuple[Column, dict[_Key, Cell]]] = [
        (column, dict(zip(order, column.cells, strict=True))) for column in first.columns
    ]
    for panel in panels[1:]:
        keys = _keys(panel)
        known = set(order)
        if keys and all(key in known for key in keys):
            _further_columns(page, panel, keys, columns)
            continue
        _insert(order, keys)
        for key, cell in zip(keys, panel.names.cells, strict=True):
            name_cells.setdefault(key, cell)
        _further_stations(page, panel, keys, columns)
    page.stop()
    names = Column(first.names.words, first.names.heading, [name_cells[key] for key in order], first.names.maybe)
    found = []
    for column, cells in columns:
        empty = Cell("", column.heading.line, 1)
        found.append(Column(column.words, column.heading, [cells.get(key, empty) for key in order], column.maybe))
    return names, found


def _insert(order: list[_Key], keys: list[_Key]) -> None:
    """Puts new stations after those they follow."""
    for i, key in enumerate(keys):
        if key in order:
            continue
        if i:
            order.insert(order.index(keys[i - 1]) + 1, key)
            continue
        after = next((order.index(other) for other in keys if other in order), len(order))
        order.insert(after, key)


def _further_columns(
    page: Page, panel: Panel, keys: list[_Key], columns: list[tuple[Column, dict[_Key, Cell]]]
) -> None:
    """Columns of stations that are there already."""
    page.notes.append(
        f"from line {panel.line} on the page has further headings for stations it had before: "
        + ", ".join(column.heading.text for column in panel.columns if column.words)
    )
    for column in panel.columns:
        cells = dict(zip(keys, column.cells, strict=True))
        again = [other for other, _ in columns if other.words == column.words]
        if again and any(
            all(_same(page, cells[key], had.get(key)) for key in keys) for other, had in columns if other in again
        ):
            page.notes.append(f"{column.heading.text!r} on line {column.heading.line} is there once more, alike")
            continue
        columns.append((column, cells))


def _same(page: Page, cell: Cell, other: Cell | None) -> bool:
    if other is None or is_empty(page, other.text) or is_empty(page, cell.text):
        return is_empty(page, cell.text) and (other is None or is_empty(page, other.text))
    return " ".join(cell.text.split()) == " ".join(other.text.split())


def _further_stations(
    page: Page, panel: Panel, keys: list[_Key], columns: list[tuple[Column, dict[_Key, Cell]]]
) -> None:
    """Cells of further stations, under the headings there are and under new ones."""
    had = _numbered([column.words for column, _ in columns])
    own = _numbered([column.words for column in panel.columns])
    for words, _ in own:
        before, here = (sum(other == words for other, _ in some) for some in (had, own))
        if words and before > 1 and here != before:
            at = next(column.heading for column in panel.columns if column.words == words)
            page.wrong(
                at,
                f"{plural(here, 'heading')} {at.text!r}, and {before} in the part of the page before",
                "as many, or groups of headings over them, so that each is known from the other",
            )
            return
    missing = [column.heading.text for (words, column) in zip(had, (c for c, _ in columns), strict=True)
               if words not in own and words[0]]  # fmt: skip
    if missing:
        page.notes.append(f"from line {panel.line} on the page has other headings: none of {', '.join(missing)}")
    for column, key_of_column in zip(panel.columns, own, strict=True):
        cells = dict(zip(keys, column.cells, strict=True))
        if key_of_column not in had or not column.words:
            columns.append((column, cells))
            continue
        _, into = columns[had.index(key_of_column)]
        for key, cell in cells.items():
            other = into.get(key)
            if other is None or is_empty(page, other.text):
                into[key] = cell
            elif not is_empty(page, cell.text) and not _same(page, cell, other):
                page.wrong(
                    cell,
                    f"{cell.text!r} for {column.heading.text!r} at station {key[0]}",
                    f"{other.text}, as on line {other.line}, where the same station has it already; or another name "
                    "for this one",
                )
