"""Rows of cells for a terminal."""

from __future__ import annotations

from collections.abc import Sequence


def columns_text(rows: Sequence[tuple[str, ...]], right: set[int], gap: int = 2) -> str:
    """Rows of cells as aligned text, `gap` spaces between; the columns in `right` to the right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [c.rjust(w) if i in right else c.ljust(w) for i, (c, w) in enumerate(zip(row, widths, strict=True))]
        lines.append("  " + (" " * gap).join(cells).rstrip())
    return "\n".join(lines)
