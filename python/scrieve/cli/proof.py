"""The verb that proofreads a table."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import _core, files, outputs
from ..errors import ScrieveError
from ..sizes import tell_left_off
from ..table.pages.hand import PageHand
from ..table.table import Table
from ..terminal.columns import columns_text
from .options import (
    AS_JSON,
    OUTPUT_FILE,
    READER,
    TABLE,
    How,
    no_json_beside,
)
from .telling import (
    ERROR,
    FINDINGS,
    QUERIES_OF_NO_HULL,
    Kept,
    emit,
    progress,
    tell_not_judged,
    telling,
)

# Suggestions shown for a query; the likeliest two or three hold nearly all of the probability.
SHOWN = 3
# Less likely than this is not worth a person's reading.
LEAST = 0.01


@click.command("proof")
@TABLE
@click.option(
    "--accept", "accepted", multiple=True, metavar="STATION:ROW[=READING]",
    help="Take the first suggestion, or READING, into the new file; as often as wanted.",
)  # fmt: skip
@click.option(
    "--put-right", "putting_right", is_flag=True,
    help="Put slips of a whole row or column right in the new file, before anything is accepted.",
)  # fmt: skip
@click.option("-o", "--output", type=OUTPUT_FILE, help="The new file; - is standard output.")
@click.option("--picture", type=OUTPUT_FILE, help="Draw the body plan, queried cells ringed.")
@click.option("--stiffness", type=float, default=1.0, show_default=True, help="Stiffness of the batten.")
@click.option("--all", "every", is_flag=True, help="List every query of a table that describes no one fair hull, too.")
@READER
@AS_JSON
def verb(
    table: Path, accepted: tuple[str, ...], putting_right: bool, output: Path | None, picture: Path | None,
    stiffness: float, every: bool, how: How, as_json: bool,
) -> None:  # fmt: skip
    """Proofread TABLE: readings that the rest of the boat contradicts, worst first, and what they may have been.

    What a whole row or column that is off in one way explains is said in one line, first, and not query by query. A
    table that does not describe one fair hull is said to be none, and where to begin, before any query. TABLE itself
    is never changed. The status is 1 where anything is queried and not accepted, or so explained and not put right,
    or it is no hull.

    \b
    scrieve proof petrels-egg.offsets --picture queries.svg
    scrieve proof petrels-egg.offsets --accept "4:waterline 1-3-0" --accept "7:sheer height=2-5-1" -o new.offsets
    """
    if (bool(accepted) or putting_right) != (output is not None):
        raise click.UsageError(
            "--accept or --put-right and -o go together: what is accepted or put right is written into a new file"
        )
    no_json_beside(output, as_json)
    if picture == outputs.STANDARD:
        raise click.UsageError("--picture takes a file, such as queries.svg")
    for path in (output, picture):
        outputs.claim(path, *how.inputs(table))
    got = how.read(table)
    for path in (output, picture):
        outputs.claim(path)
    against = got.disagreements()
    try:
        with progress(f"proofreading {got.name}"):
            found = got.proof(stiffness=stiffness)
    except ScrieveError as error:
        # First what is wrong with all of it; then what it says against itself, which may be why.
        click.echo(f"scrieve: {error}", err=True)
        for warning in got.warnings:
            click.echo(warning, err=True)
        shown = against if every else against[:QUERIES_OF_NO_HULL]
        for text in shown:
            click.echo(f"against itself: {text}", err=True)
        if len(against) > len(shown):
            click.echo(f"and {len(against) - len(shown)} more; --all lists them", err=True)
        raise click.exceptions.Exit(ERROR) from None
    aside = output == outputs.STANDARD
    no_hull = found.no_hull
    if no_hull is not None and not as_json:
        click.echo(f"{got.name}: {no_hull}", err=aside)
    slips = found.whole_slips
    queries = [q for q in found if q.explained_by is None]
    named = [slip for slip in slips if slip.unsure is not None]
    corrected = got
    for slip in (slip for slip in slips if putting_right and slip.unsure is None):
        corrected = corrected.put_right(slip)
    # What a slip that is only named explains still stands in the table, and may be mended reading by reading.
    unsure = {slip.text for slip in named}
    corrected, taken = accept(corrected, [*queries, *(q for q in found if q.explained_by in unsure)], accepted)
    for warning in got.warnings:
        click.echo(warning, err=True)
    # Of the table with slips put right, as queries are.
    for remark in (*corrected.worth, *found.remarks):
        click.echo(f"note: {remark}", err=True)
    tell_not_judged(found.not_judged)
    written = []
    writing = Kept()
    if picture is not None:
        with progress(f"drawing {got.name}"), writing(), telling():
            drawing = _core.queried_body_plan(got.fair(stiffness=stiffness)._core, queries)
            written += files.write(tell_left_off(drawing), picture)
    if output is not None:
        with writing():
            outputs.replace(output, corrected.to_text().encode())
            written += [] if aside else [output]
        against = corrected.disagreements()
    page = PageHand(got)
    left = [q for q in queries if (q.station, q.row) not in taken]
    # What is only named is done with when the reading that it is of is.
    of_it = {slip.text: [q for q in found if q.explained_by == slip.text] for slip in named}
    still_named = [text for text, own in of_it.items() if not own or any((q.station, q.row) not in taken for q in own)]
    if as_json:
        emit(
            {
                "name": got.name,
                "no_hull": no_hull,
                "whole_slips": [slip_as_dict(slip, found) for slip in slips],
                "queries": [as_dict(q) | on_the_page(q, page) for q in queries],
                "remarks": found.remarks,
                "not_judged": found.not_judged,
                "against_itself": against,
                "accepted": [{"station": s, "row": r, "reading": new} for (s, r), new in taken.items()],
                "written": written,
            }
        )
    else:
        count = counted(len(queries)) if queries else "no query"
        for slip in slips:
            explains = f" (explains {counted(slip.explains)})" if slip.explains else ""
            click.echo(f"{slip.text}{explains}", err=aside)
            click.echo(f"  {slip.offer if slip.unsure is not None else f'to put it right, {slip.offer}'}", err=aside)
        count += " besides" if slips else ""
        click.echo(f"{got.name}: {count}", err=aside)
        if queries:
            listed = queries if every or no_hull is None else queries[:QUERIES_OF_NO_HULL]
            click.echo(queries_text(listed, page), err=aside)
            if len(queries) > len(listed):
                click.echo(f"and {len(queries) - len(listed)} more; --all lists them", err=aside)
        if against:
            said = against if every or no_hull is None else against[:QUERIES_OF_NO_HULL]
            click.echo("the table against itself:\n" + "\n".join(f"  {text}" for text in said), err=aside)
            if len(against) > len(said):
                click.echo(f"and {len(against) - len(said)} more; --all lists them", err=aside)
        for (station, row), new in taken.items():
            click.echo(f"accepted: station {station}, {row}: {new}", err=aside)
        is_other = bool(taken) or corrected.to_text() != got.to_text()
        as_it_was = "" if is_other else ", the table as it was: nothing was put right"
        for path in written:
            click.echo(f"wrote {path}{as_it_was if path == output else ''}", err=aside)
    writing.tell()
    if left or against or no_hull is not None or still_named or (slips and not putting_right):
        raise click.exceptions.Exit(FINDINGS)


def accept(table: Table, queries: list[_core.Query], accepted: tuple[str, ...]) -> tuple[Table, dict[Any, str]]:
    """The table with what is accepted taken in and recorded, and the new reading of each cell by station and row.

    Raises `ScrieveError` for a cell without a suggestion where no reading is given.
    """
    taken: dict[Any, str] = {}
    for choice in accepted:
        cell, equals, reading = choice.partition("=")
        station, colon, row = (part.strip() for part in cell.partition(":"))
        if not colon or (equals and not reading.strip()):
            raise ScrieveError(f"--accept {choice!r}: expected STATION:ROW or STATION:ROW=READING")
        found = [q for q in queries if q.station == station and " ".join(row.split()) in (q.row, _bare(q.row))]
        query = found[0] if len(found) == 1 else None
        if query is None and not equals:
            names = ", ".join(f"{q.station}:{q.row}" for q in queries) or "none"
            raise ScrieveError(f"--accept {choice!r}: that is no query; give a reading, or one of the queries: {names}")
        if query is not None:
            row = query.row
            if not equals and not query.suggestions:
                raise ScrieveError(f"--accept {choice!r}: nothing is suggested there; give a reading")
        suggestions = query.suggestions if query else []
        new = reading.strip() if equals else suggestions[0].reading
        slips = {s.reading: s.slip for s in suggestions}
        reason = slips.get(new, "as given")
        if query is not None:
            reason += f"; the rest of the boat expects {query.expected_reading}"
        table = table.with_correction(station, row, new, reason)
        taken[station, row] = new
    return table, taken


def counted(queries: int) -> str:
    """`1 query`, `9 queries`."""
    return f"{queries} quer{'y' if queries == 1 else 'ies'}"


def slip_as_dict(slip: _core.WholeSlip, found: list[_core.Query]) -> dict[str, Any]:
    """A slip of the whole as plain data, with the queries it explains."""
    names = ("file", "line", "column", "was", "now")
    return {
        "kind": slip.kind,
        "text": slip.text,
        "offer": slip.offer,
        "edits": [dict(zip(names, edit, strict=True)) for edit in slip.edits],
        "gain": slip.gain,
        "explains": [as_dict(q) for q in found if q.explained_by == slip.text],
    }


def _bare(row: str) -> str:
    """A row's name without what it measures, as it may be typed where that is plain."""
    return row.removesuffix(" height").removesuffix(" half-breadth")


def as_dict(query: _core.Query) -> dict[str, Any]:
    """A query as plain data, lengths in metres."""
    names = ("station", "row", "reading", "read", "expected", "expected_reading", "sd", "misfit", "confidence", "place")
    suggestions = [
        {name: getattr(s, name) for name in ("reading", "value", "slip", "probability")} for s in query.suggestions
    ]
    return {**{name: getattr(query, name) for name in names}, "suggestions": suggestions}


def on_the_page(query: _core.Query, page: PageHand) -> dict[str, str | None]:
    """What a query's cell has on the page it was read from, and what is expected there in the page's own hand."""
    printed = page.printed(query.station, query.row)
    return {"printed": printed, "expected_printed": page.write(query.row, query.expected_reading) if printed else None}


def _there(reading: str, printed: str | None) -> str:
    """A reading as the page would have it, where that is otherwise."""
    return f" [there {printed}]" if printed and printed != reading else ""


def queries_text(queries: list[_core.Query], page: PageHand) -> str:
    """Queries in aligned columns, with what the page has and would have where it writes otherwise than the table."""
    heads = ["station", "row", "reads", "expected", "± mm", "off by", "sure", "may have been"]
    seen = [on_the_page(q, page) for q in queries]
    own = [(q.reading, q.expected_reading) for q in queries]
    there = [(s["printed"] or "", s["expected_printed"] or "") for s in seen]
    otherwise = any(a[1] and a != b for a, b in zip(there, own, strict=True))
    if otherwise:
        heads[4:4] = ["printed", "expected there"]
    rows = [tuple(heads)]
    for q, on_page in zip(queries, there, strict=True):
        likely = [
            f"{s.reading}{_there(s.reading, page.write(q.row, s.reading) if on_page[0] else None)} "
            f"({s.slip}, {100 * s.probability:.0f} %)"
            for s in q.suggestions[:SHOWN]
            if s.probability >= LEAST
        ]
        rows.append((
            q.station, q.row, q.reading, q.expected_reading, *(on_page if otherwise else ()), f"{1e3 * q.sd:.1f}",
            f"{q.misfit:+.1f} sd", "" if q.confidence == "high" else "little", "; ".join(likely) or "no usual slip",
        ))  # fmt: skip
    return columns_text(rows, right=set(range(2, 8 if otherwise else 6)))
