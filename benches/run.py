"""Runs the benches and prints one table of ratios: `python benches/run.py [readings drawing ...]`.

A bench is a module of this folder with `run() -> list of rows`, a row being what, scrieve_s, other_s, other,
ratio, goal, and memory_mb where it matters. One that fails costs only itself, and makes the status 1.
"""

from __future__ import annotations

import sys
import traceback
from importlib import import_module

BENCHES = ("readings", "fairing", "collection", "drawing", "nesting", "main_job", "start_up")
HEADINGS = ("", "scrieve", "other", "ratio", "goal", "peak", "other is")


def main(names: list[str]) -> int:
    """Runs the named benches, or all; gives the exit status."""
    unknown = sorted(set(names) - set(BENCHES))
    if unknown:
        print(f"no bench called {', '.join(unknown)}; there are {', '.join(BENCHES)}", file=sys.stderr)
        return 2
    rows, failed = [], []
    for name in names or BENCHES:
        try:
            rows += import_module(name).run()
        except Exception:
            traceback.print_exc()
            failed.append(name)
    if rows:
        print(table(rows))
    for name in failed:
        print(f"failed: {name}")
    return 1 if failed else 0


def table(rows: list[dict]) -> str:
    """The rows, set in columns."""
    cells = [HEADINGS, *(_cells(row) for row in rows)]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    lines = []
    for what, *figures, other in cells:
        numbers = (figure.rjust(width) for figure, width in zip(figures, widths[1:-1], strict=True))
        lines.append("  ".join([what.ljust(widths[0]), *numbers, other]).rstrip())
    return "\n".join(lines)


def _cells(row: dict) -> tuple[str, ...]:
    memory = f"{row['memory_mb']:.0f} MB" if "memory_mb" in row else ""
    took = (_seconds(row["scrieve_s"]), _seconds(row["other_s"]))
    return (row["what"], *took, f"{row['ratio']:.1f}", str(row["goal"]), memory, row["other"])


def _seconds(seconds: float) -> str:
    return f"{seconds:.2f} s" if seconds >= 1 else f"{1e3 * seconds:.1f} ms"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
