"""What a verb says, on standard output what was asked for and on standard error the rest."""

from __future__ import annotations

import json
import math
import os
import shutil
import sys
import threading
import time
import warnings
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import click

from ..errors import Fault, Note, NotMade

FINDINGS = 1
ERROR = 2
# Longer than this and a person wonders whether anything is happening.
PATIENCE_S = 1.0


@contextmanager
def progress(doing: str) -> Iterator[None]:
    """Says on standard error what is being done, once it has taken longer than a second."""
    start = time.monotonic()
    timer = threading.Timer(PATIENCE_S, lambda: click.echo(f"{doing} ...", err=True))
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        took = time.monotonic() - start
        if took > PATIENCE_S:
            click.echo(f"{doing}: {took:.1f} s", err=True)


def emit(data: Any) -> None:
    """Writes data as JSON on standard output; what is no finite number becomes null."""
    encoding = (getattr(sys.stdout, "encoding", None) or "").lower()
    plain = not encoding.replace("-", "").startswith("utf")
    click.echo(json.dumps(_plain(data), indent=2, ensure_ascii=plain, allow_nan=False))


def _plain(data: Any) -> Any:
    if isinstance(data, dict):
        return {str(key): _plain(value) for key, value in data.items()}
    if isinstance(data, (list, tuple)):
        return [_plain(value) for value in data]
    if isinstance(data, (Path, os.PathLike)):
        return str(data)
    if hasattr(data, "item"):
        data = data.item()
    if isinstance(data, float) and not math.isfinite(data):
        return None
    return data


# So many readings are listed of a table that describes no one fair hull, unless all are asked for.
QUERIES_OF_NO_HULL = 8


# So many queries are told where a hull is faired for something else: `scrieve proof` lists them all.
QUERIES_TOLD = 6


def tell_queries(hull: Any) -> None:
    """Says which readings the rest of the boat contradicts and are kept in her; her remarks name those left out."""
    doubted = hull.corrections()
    out = set(zip(doubted.station[doubted.doubted], doubted.row[doubted.doubted], strict=True))
    # A spot of a profile is left out whole, whichever of its two readings is to blame.
    for end in ("stem", "stern"):
        spot = [f"{end} profile from stem", f"{end} profile height"]
        out |= {(station, row) for station, left in tuple(out) if left in spot for row in spot}
    kept = [q for q in hull.queries() if (q.station, q.row) not in out]
    shown = kept[: QUERIES_OF_NO_HULL if hull.no_hull is not None else QUERIES_TOLD]
    for q in shown:
        expected = f"the rest of the boat expects {q.expected_reading}"
        click.echo(f"queried, and kept: {q.row} at {q.station} reads {q.reading}, {expected}", err=True)
    if len(kept) > len(shown):
        click.echo(f"and {len(kept) - len(shown)} more; `scrieve proof` lists them", err=True)
    against = [text for text in hull._core.against_itself if text not in hull.remarks]
    for text in against[:QUERIES_TOLD]:
        click.echo(f"the table against itself: {text}", err=True)
    if len(against) > QUERIES_TOLD:
        click.echo(f"and {len(against) - QUERIES_TOLD} more; `scrieve proof` lists them", err=True)


def tell_not_judged(facts: list[str]) -> None:
    """Says which facts no reading tells again; that is no finding."""
    for fact in facts:
        click.echo(f"not judged: {fact}", err=True)


def findings_of(hull: Any) -> list[str]:
    """What the rest of the boat contradicts of her table, a few words each: readings or facts, left out or not, a whole
    row or column; and what the table says against itself. They are what her remarks and queries say one by one.

    What is drawn is then not of all that was read, or of what should be read again.
    """
    core = hull._core
    out = int(hull.corrections().doubted.sum())
    queried = len(hull.queries())
    said = {
        "the table describes no one fair hull": hull.no_hull is not None,
        f"{len(core.whole_slips)} of a whole row or column": core.whole_slips,
        "a fact of the table is off": core.doubts_facts,
        f"{queried} queried": queried,
        f"{out} left out": out,
        f"{len(core.against_itself)} against the table's own readings": core.against_itself,
    }
    return [text for text, so in said.items() if so]


def end_with_findings(hull: Any, *more: str) -> None:
    """Ends with status 1 where there is anything to say against her table, or `more` is; and says in a line why."""
    end_with([*findings_of(hull), *more])


def end_with(findings: Iterable[str]) -> None:
    """Ends with status 1 where there is any finding, and says in a line which; an empty one is none."""
    found = [text for text in findings if text]
    if found:
        click.echo(f"status 1: {'; '.join(found)}", err=True)
        raise click.exceptions.Exit(FINDINGS)


def not_made(failures: list[Any]) -> str:
    """How many parts could not be made, or would be stumbled over."""
    return f"{len(failures)} not made" if failures else ""


class Told(NamedTuple):
    """What was warned of: what could not be made or would be stumbled over, and the rest."""

    failures: list[str]
    notes: list[str]


@contextmanager
def telling() -> Iterator[Told]:
    """Says what is warned of within, and gives it afterwards."""
    given = Told([], [])
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always", Note)
        yield given
    said = [(str(w.message), w.category) for w in told if issubclass(w.category, Note)]
    for text, kind in said:
        (given.failures if issubclass(kind, (NotMade, Fault)) else given.notes).append(text)
    for text, kind in dict.fromkeys(said):
        what = "not made" if issubclass(kind, NotMade) else "to mend" if issubclass(kind, Fault) else "note"
        click.echo(f"{what}: {text}", err=True)


class Kept:
    """A write that failed, told once the report that goes with it has been."""

    def __init__(self) -> None:
        self.error: Exception | None = None

    @contextmanager
    def __call__(self) -> Iterator[None]:
        try:
            yield
        except (OSError, ValueError) as error:
            self.error = error

    def tell(self) -> None:
        if self.error is not None:
            raise self.error


def say_written(written: list[Path], as_json: bool) -> None:
    if as_json:
        emit({"written": written})
    else:
        for path in written:
            click.echo(f"wrote {path}")


def width() -> int:
    return shutil.get_terminal_size((110, 40)).columns
