"""`scrieve convert`: readings between units."""

from __future__ import annotations

import sys

import click

from .._core import Reading
from ..errors import ReadingError
from .options import (
    AS_JSON,
    PRECISION,
    UNITS,
)
from .telling import (
    ERROR,
    emit,
)


@click.command("convert", context_settings={"ignore_unknown_options": True})
@click.argument("readings", nargs=-1, type=click.UNPROCESSED)
@click.option("--to", "to", type=UNITS, required=True, help="Units to write.")
@click.option(
    "--units", type=UNITS, default="feet-inches-eighths", show_default=True,
    help="Units of a number written without one.",
)  # fmt: skip
@click.option(
    "--two-part",
    type=click.Choice(["feet-inches", "inches-eighths"]),
    help="What a reading of two parts means.",
)
@click.option("--plus", default="1/16", show_default=True, help="What + and - are worth, in inches.")
@click.option("--precision", type=PRECISION, default="1/16", show_default=True, help="How finely eighths are written.")
@click.option("--lenient", is_flag=True, help="Take parts out of range, such as 3-12-0, with a warning.")
@AS_JSON
def verb(
    readings: tuple[str, ...], to: str, units: str, two_part: str | None, plus: str, precision: str,
    lenient: bool, as_json: bool,
) -> None:  # fmt: skip
    """Convert READINGS, or a column of them from standard input, one a line.

    A line that is no reading is reported with its number, the rest are converted, and the status is 2.

    \b
    scrieve convert 3-4-5+ --to mm
    scrieve convert "1033.4625 mm" --to feet-inches-eighths
    """
    source = "argument" if readings and readings != ("-",) else "line"
    texts = list(readings) if source == "argument" else sys.stdin.read().splitlines()
    rows, failed = [], False
    for number, text in enumerate(texts, 1):
        if source == "line" and not text.strip():
            continue
        try:
            reading = Reading(text, units=units, two_part=two_part, plus=plus, lenient=lenient)
            row = {"reading": text, to: reading.to(to, precision=precision), "mark": reading.mark}
        except ReadingError as error:
            failed = True
            click.echo(f"{source} {number}: {error}", err=True)
            row = {"reading": text, to: None, "error": str(error)}
        rows.append(row)
        if not as_json and row[to] is not None:
            click.echo(row[to])
    if as_json:
        emit(rows)
    if failed:
        raise click.exceptions.Exit(ERROR)
