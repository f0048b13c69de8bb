"""A count on standard error of work that takes longer than a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable, Iterator
from typing import TypeVar

T = TypeVar("T")

# Longer than this and a person wonders whether anything is happening.
PATIENCE_S = 1.0
# Between one count and the next: a terminal's line is written over, a log's is not.
TERMINAL_S, LOG_S = 0.2, 10.0


def counted(items: Iterable[T], doing: str, total: int | None = None) -> Iterator[T]:
    """The items, counted on standard error as they pass once a second has gone by."""
    total = len(items) if total is None else total  # type: ignore[arg-type]
    terminal = sys.stderr is not None and sys.stderr.isatty()
    start = time.monotonic()
    due = start + PATIENCE_S
    said = False
    for done, item in enumerate(items):
        if (now := time.monotonic()) >= due:
            said, due = True, now + (TERMINAL_S if terminal else LOG_S)
            _say(f"{doing}: {done} of {total}", terminal)
        yield item
    if said:
        _say(f"{doing}: {total} in {time.monotonic() - start:.1f} s", terminal, last=True)


def _say(text: str, terminal: bool, last: bool = False) -> None:
    if sys.stderr is not None:
        end = "\n" if last or not terminal else ""
        print(f"\r{text:<60}" if terminal else text, end=end, file=sys.stderr, flush=True)
