"""`scrieve nest`: a boat's parts on sheets."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import outputs
from ..hull import ranges
from ..patterns.shop import NEST, SHEET, nest_options
from ..plugin.registry import find
from .fairing import faired, read
from .options import AS_JSON, INTO_FOLDER, READER, TABLE, How, fairing_options
from .shop import SAID_HERE, Told, as_option, shop_options
from .telling import emit, end_with_findings, not_made, progress

_OWN = [option for name, option in nest_options().items() if name != SHEET.name]


@click.command("nest")
@TABLE
@INTO_FOLDER
@click.option(
    "--sheet",
    "sheets",
    multiple=True,
    help='Length x width of a sheet, and its thickness: "2440mm x 1220mm", "8-0-0 x 4-0-0 x 0-0-6"; "3 of ..." where '
    "there are no more. May be repeated: those told first are used first.",
)
@click.option("--writer", default="dxf", show_default=True, help="Writer of each sheet's file.")
@shop_options
@fairing_options
@READER
@AS_JSON
def verb(
    table: Path, output: Path, sheets: tuple[str, ...], writer: str, shop: Told, fairing: dict[str, Any], how: How,
    as_json: bool, **given: Any,
) -> None:  # fmt: skip
    """Fair TABLE and lay the parts got out of sheets on sheets of given sizes: a file each, its corner at the origin.

    Parts of one thickness go together, on sheets of that thickness or on those told without one. What is chosen is
    kept in [shop.nest] of the table's head, or in [nest] of a file shop.toml beside it; what is said here goes before
    them. Begin with index.html in the folder. The status is 1 where a part could not be made, or readings are queried
    or left out; the rest is there.
    """
    from ..patterns import job

    find("writers", writer)
    outputs.claim_folder(output, *how.inputs(table), *shop.inputs(table))
    source = read(table, how)
    said = {SHEET.name: ", ".join(sheets) or None, **given}
    # A mistake in what was chosen is told before minutes of fairing.
    choices = shop.choices(source, table).told(SAID_HERE, NEST, **said)
    hull = faired(source, fairing)
    ranges.check(hull, deduct=choices.value("deduct"))
    with progress(f"laying the parts of {hull.name}"):
        done = job.nested(hull, output, choices, writer)
    if as_json:
        emit({
            "name": hull.name, "written": done.written, "removed": done.removed, "failures": done.failures,
            "remarks": hull.remarks + done.remarks,
        })  # fmt: skip
    else:
        click.echo(done.summary())
        for remark in done.remarks:
            click.echo(f"note: {remark}", err=True)
    end_with_findings(hull, not_made(done.failures))


for _option in reversed(_OWN):
    verb = as_option(_option, shown=False)(verb)
