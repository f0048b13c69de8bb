"""`scrieve lines`: the lines drawing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import files, outputs
from .fairing import read_and_fair
from .options import (
    AS_JSON,
    OUTPUT_FILE,
    READER,
    TABLE,
    How,
    fairing_options,
    no_json_beside,
)
from .telling import (
    end_with_findings,
    not_made,
    say_written,
    telling,
)


@click.command("lines")
@TABLE
@click.option(
    "-o", "--output", type=OUTPUT_FILE, required=True, help="lines.svg or lines.dxf; - is standard output, as SVG."
)
@click.option("--scale", type=float, help="Draw at 1 to this; left out, to fit the sheet.")
@click.option("--units", type=click.Choice(["table", "readings", "mm"]), default="table", show_default=True)
@fairing_options
@READER
@AS_JSON
def verb(
    table: Path, output: Path, scale: float | None, units: str, fairing: dict[str, Any],
    how: How, as_json: bool,
) -> None:  # fmt: skip
    """Draw the lines of TABLE, faired: sheer plan, half-breadth plan, body plan, diagonals."""
    no_json_beside(output, as_json)
    hull = read_and_fair(table, how, fairing, output)
    with telling() as told:
        written = files.write(
            hull.lines(scale=scale, units=units), output, "svg" if output == outputs.STANDARD else None
        )
    say_written(written, as_json)
    end_with_findings(hull, not_made(told.failures))
