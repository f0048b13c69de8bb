"""`scrieve lines`: the lines drawing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import files, outputs
from ..patterns.lines import FORESHORTENED, SCALE, SHEET, UNITS
from ..sizes import drawing_sheet_mm
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
    "-o", "--output", type=OUTPUT_FILE, required=True,
    help="lines.svg, .pdf, .png or .dxf; - is standard output, as SVG.",
)  # fmt: skip
@click.option("--scale", type=float, help=f"{SCALE[0].upper()}{SCALE[1:]}.")
@click.option("--drawing-sheet", help=f"{SHEET[0].upper()}{SHEET[1:]}.")
@click.option("--foreshortened", type=float, default=1.0, help=f"{FORESHORTENED[0].upper()}{FORESHORTENED[1:]}.")
@click.option("--units", type=click.Choice(UNITS), default="table", show_default=True)
@fairing_options
@READER
@AS_JSON
def verb(
    table: Path, output: Path, fairing: dict[str, Any], how: How, as_json: bool, **given: Any,
) -> None:  # fmt: skip
    """Draw the lines of TABLE, faired: sheer plan, half-breadth plan, body plan, diagonals."""
    no_json_beside(output, as_json)
    # A mistake in what was chosen is told before minutes of fairing.
    drawing_sheet_mm(given["drawing_sheet"])
    hull = read_and_fair(table, how, fairing, output)
    with telling() as told:
        written = files.write(hull.lines(**given), output, "svg" if output == outputs.STANDARD else None)
    say_written(written, as_json)
    end_with_findings(hull, not_made(told.failures))
