"""Cells parted by wide blanks: which heading each stands under is told by its place on the line.

A blank cell leaves no mark between its neighbours, so that a line with fewer cells than headings says nothing by their
order. What a heading and the full lines under it cover is its column; a cell belongs to the one column it stands in.
"""

from __future__ import annotations

from .grid import plain
from .mapping import Cell

# How much nearer than any other a column must be for a cell that stands beside all of them.
NEARER = 2


def extent(lines: list[str], cell: Cell) -> tuple[int, int]:
    """Where a cell begins and ends on its line, as it is seen: tabs reach to the next eighth place."""
    before = lines[cell.line - 1][: cell.column - 1].expandtabs(8)
    return len(before), len(before) + max(1, len(cell.text))


def columns_of(lines: list[str], heads: list[Cell], body: list[list[Cell]]) -> list[tuple[int, int]] | None:
    """What each column covers, by its heading and by the lines that fill all of them; None where they run into one
    another, as on a page whose columns are not in line."""
    found = [extent(lines, cell) for cell in heads]
    for line in body:
        if len(line) == len(heads):
            own = [extent(lines, cell) for cell in line]
            found = [(min(a, c), max(b, d)) for (a, b), (c, d) in zip(found, own, strict=True)]
    if any(after[0] <= before[1] for before, after in zip(found, found[1:], strict=False)):
        return None
    return found


def placed(lines: list[str], line: list[Cell], columns: list[tuple[int, int]]) -> list[Cell] | None:
    """A line with a cell for each column, those without one empty; None where their places do not tell."""
    found = [Cell("", line[0].line, 1) for _ in columns]
    last = -1
    for cell in line:
        begin, end = extent(lines, cell)
        within = [i for i, (a, b) in enumerate(columns) if begin < b and a < end]
        if len(within) > 1:
            return None
        if not within:
            off = sorted((max(a - end, begin - b), i) for i, (a, b) in enumerate(columns))
            if len(off) > 1 and off[1][0] < NEARER * max(1, off[0][0]):
                return None
            within = [off[0][1]]
        if within[0] <= last:
            return None
        last = within[0]
        found[last] = cell
    return found


def under_groups(lines: list[str], rows: list[list[Cell]]) -> list[tuple[tuple[str, ...], Cell, list[tuple[str, ...]]]]:
    """The heading of each column: its words, group first, its cell, and what else its words may be.

    A heading stands under the group whose own words reach over its middle; between two groups it may be of either.
    """
    heads = list(rows[-1])
    upper = [list(row) for row in rows[:-1]]
    # The station's heading may stand in an upper row alone, before all others.
    for row in upper:
        if not (row and heads):
            continue
        ends = extent(lines, row[0])[1]
        rest = row[1] if len(row) > 1 else heads[0]
        if ends < extent(lines, heads[0])[0] and ends <= extent(lines, rest)[0]:
            heads.insert(0, row.pop(0))
    found = []
    for cell in heads:
        begin, end = extent(lines, cell)
        middle = (begin + end) / 2
        stacks: list[tuple[str, ...]] = [()]
        for row in upper:
            spans = [extent(lines, group) for group in row]
            over = [i for i, (a, b) in enumerate(spans) if a <= middle <= b]
            if not over:
                before = [i for i, (a, b) in enumerate(spans) if b < middle]
                after = [i for i, (a, b) in enumerate(spans) if a > middle]
                over = [*before[-1:], *after[:1]]
                # Nearest first.
                over.sort(key=lambda i: max(spans[i][0] - middle, middle - spans[i][1]))
            if over:
                stacks = [(*stack, plain(row[i].text)) for i in over for stack in stacks]
        words = [(*stack, plain(cell.text)) for stack in stacks]
        found.append((words[0], cell, words[1:]))
    return found
