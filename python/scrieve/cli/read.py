"""`scrieve read`: a table or a printed page as it was understood, cell by cell, and what was taken for granted."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import click

from .. import outputs
from ..table.pages.mapping_keys import KEYS
from ..table.pages.printed import said_of_blanks
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
    Kept,
    emit,
    width,
)

# What stands in the table for a blank, by its meaning.
BLANKS = {
    "on the base line": "b", "at the rabbet": "r", "on the stem": "s", "not taken": "n", "blank, not told": "?",
}  # fmt: skip
# What a reading says, whatever stands between its parts.
_FIGURES = re.compile(r"\d+|[½¼¾⅛⅜⅝⅞⁰¹²³⁴-⁹]|[+-]$")
# Between two stations of the table, and what is left of the terminal for them.
GUTTER = 2


def _show_keys(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted:
        click.echo(KEYS, nl=False)
        context.exit()


@click.command("read")
@TABLE
@click.option("-o", "--output", type=OUTPUT_FILE, help="Write the table here, as .offsets; - is standard output.")
@click.option("--units", type=click.Choice(["both", "readings", "mm"]), default="both", show_default=True)
@click.option("--cells", "every", is_flag=True, help="List every cell on a line of its own, printed and understood.")
@click.option(
    "--keys",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_show_keys,
    help="Show all that a mapping may say, with what each key means, and stop.",
)
@READER
@AS_JSON
def verb(table: Path, output: Path | None, units: str, every: bool, how: How, as_json: bool) -> None:
    """Read TABLE and show what was understood of each cell, and what was assumed.

    Nothing is faired or changed. A printed page is read through a mapping, page.toml beside page.csv, which says what
    its headings are and where its stations stand; --keys shows all it may say. With -o what was understood is written
    as a table of its own, which says what was assumed and needs no mapping.

    \b
    scrieve read --keys
    scrieve read page.csv
    scrieve read page.txt --mapping book.toml -o boat.offsets
    """
    no_json_beside(output, as_json)
    outputs.claim(output, *how.inputs(table))
    got = how.read(table)
    outputs.claim(output)
    aside = output == outputs.STANDARD
    writing = Kept()
    if output is not None:
        with writing():
            outputs.replace(output, got.to_text().encode())
    written = [output] if output and not aside and not writing.error else []
    if as_json:
        emit(_as_data(got) | {"written": written})
    else:
        click.echo("\n".join(_report(got, units, every)), err=aside)
        for path in written:
            click.echo(f"wrote {path}")
    writing.tell()


def _as_data(table: Table) -> dict[str, Any]:
    core = table._core
    return {
        "name": table.name,
        "facts": table.facts,
        "stations": [{"station": name, "from_stem_m": x} for name, x in table.station_x.items()],
        "cells": table.understood().to_dict("records"),
        "profiles": {block: [{"from_stem_m": x, "height_m": z} for x, z in spots] for block, spots in core.profiles},
        "diagonals": [
            {"diagonal": name, "centreline_height_m": height, "angle": angle} for name, height, angle in core.diagonals
        ],
        "assumed": _assumed(table),
        "notes": table.page_notes,
        "warnings": table.warnings,
    }


def _assumed(table: Table) -> list[str]:
    """What was assumed, and of a table that was not read from a page what it leaves open."""
    said = table.assumed
    ends = table.facts.get("ends_assumed")
    if ends:
        said.append(f"assumed, not measured: {ends}")
    said += table._core.open_ends
    said += [sentence for sentence in said_of_blanks(table._core.blanks_untold) if sentence not in said]
    return said


def _report(table: Table, units: str, every: bool) -> list[str]:
    facts, cells = table.facts, table.understood()
    kind = ", ".join(str(said) for said in (facts.get("kind"), facts.get("dated") or facts.get("year")) if said)
    read = int((cells.meaning == "read").sum())
    lines = [
        f"{table.name}{f', {kind}' if kind else ''}: {len(table.rows)} rows at {len(table.stations)} stations, "
        f"{read} readings of {len(cells)} cells, in {facts['units']}"
    ]
    if every:
        rows = [("row", "station", "printed", "reading", "mm", "meaning")]
        rows += [
            (c.row, c.station, c.printed, c.reading or "-", "" if c.mm != c.mm else f"{c.mm:.1f}", c.meaning)
            for c in cells.itertuples()
        ]
        lines += ["", columns_text(rows, right={4})]
    else:
        lines += _grid(table, cells, units)
    core = table._core
    for block, spots in core.profiles:
        said = ", ".join(f"{_mm(x)} aft {_mm(z)} up" for x, z in spots)
        lines += ["", f"{block}, mm: {said}"]
    if core.diagonals:
        lines.append("")
    for name, height, angle in core.diagonals:
        lines.append(f"diagonal {name}: from {1e3 * height:.1f} mm up the centreline, falling {angle:.2f} degrees")
    for heading, told in (("Assumed", _assumed(table)), ("Of the page", table.page_notes), ("Odd", table.warnings)):
        if told:
            lines += ["", f"{heading}:", *(f"  {line}" for line in told)]
    return lines


def _mm(metres: float | None) -> str:
    return "-" if metres is None else f"{1e3 * metres:.1f}"


def _grid(table: Table, cells: Any, units: str) -> list[str]:
    """Rows by stations, as many stations side by side as there is room for."""
    core, shown, used, differs = table._core, {}, set(), False
    for c in cells.itertuples():
        blank = BLANKS.get(c.meaning)
        if blank:
            used.add(c.meaning)
        own = c.reading or "-"
        if blank:
            own = f"{own}{blank}" if c.reading else blank
        elif _FIGURES.findall(c.printed or "") != _FIGURES.findall(own):
            own, differs = own + "*", True
        shown[c.row, c.station] = own, "" if c.mm != c.mm else f"{c.mm:.1f}"
    heads = ["", *(f"{row}" for row in core.row_names)]
    first = max(map(len, [*heads, "from stem mm"]))
    room = max(1, (width() - first) // (max(len(text) for both in shown.values() for text in both) + GUTTER))
    lines: list[str] = []
    names = table.stations
    for at in range(0, len(names), room):
        some = names[at : at + room]
        places = [_mm(table.station_x[name]) for name in some]
        rows = [("station", *some), ("from stem mm", *places)]
        block_before = None
        for (block, _), row in zip(core.rows, core.row_names, strict=True):
            if block != block_before:
                rows.append((block, *("" for _ in some)))
                block_before = block
            both = [shown[row, name] for name in some]
            if units != "mm":
                rows.append((f"  {row}", *(own for own, _ in both)))
            if units == "mm":
                rows.append((f"  {row}", *(mm or (own if len(own) == 1 else "") for own, mm in both)))
            elif units == "both":
                rows.append(("", *(mm for _, mm in both)))
        lines += ["", columns_text(rows, right=set(range(1, len(some) + 1)))]
    legend = [f"{BLANKS[meaning]} a blank, {meaning.removeprefix('blank, ')}" for meaning in BLANKS if meaning in used]
    if differs:
        legend.append("* printed otherwise (--cells shows it)")
    return [*lines, "", *(["; ".join(legend)] if legend else [])]
