"""`scrieve compare`: the boats of a folder side by side."""

from __future__ import annotations

from pathlib import Path

import click

from .. import outputs
from ..terminal.columns import columns_text
from .options import (
    AS_JSON,
    LENGTH,
    OUTPUT_FILE,
    READER,
    How,
    no_json_beside,
)
from .telling import (
    FINDINGS,
    Kept,
    emit,
    width,
)


@click.command("compare")
@click.argument("folder", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("-o", "--output", type=OUTPUT_FILE, help="Write the table here, as CSV; - is standard output.")
@click.option(
    "--by", type=click.Choice(["length", "all"]), default="length", show_default=True,
    help="What hulls are brought to one size by: length, or length, beam and depth each.",
)  # fmt: skip
@click.option(
    "--between", nargs=2, multiple=True, metavar="BOAT BOAT",
    help="Say where the second of two boats is fuller than the first, and by how much. May be given again.",
)  # fmt: skip
@click.option(
    "--uncertainty", is_flag=True,
    help="Say in CSV and JSON how sure the readings make each measure, at the load waterline as it is written, as "
    "<name>_sd: takes some eight times longer.",
)  # fmt: skip
@click.option(
    "--moulded-to", type=click.Choice(["inside", "outside"]),
    help="The face of the planking all are brought to; left out, the one all are given to, or the inside. Most boats "
    "given to the inside cannot be brought outside.",
)  # fmt: skip
@click.option(
    "--planking", type=LENGTH, help="Thickness assumed where a file gives none and she has to be carried by it."
)
@click.option("--leave-out", multiple=True, metavar="BOAT", help="Leave this boat out. May be given again.")
@click.option("--no-cache", is_flag=True, help="Measure every boat anew, and keep nothing.")
@READER
@AS_JSON
def verb(
    folder: tuple[Path, ...], output: Path | None, by: str, between: tuple[tuple[str, str], ...], uncertainty: bool,
    moulded_to: str | None, planking: float | None, leave_out: tuple[str, ...], no_cache: bool, how: How,
    as_json: bool,
) -> None:  # fmt: skip
    """Compare the boats of FOLDER, or of the files given: facts, measures, nearest relatives.

    The distance of two shapes is that between corresponding points of their surfaces, root mean square, in
    millimetres to the metre of length. All boats are brought to one face of the planking first. Nothing is left out
    unasked: pairs nearer than their readings can tell apart, as copies and sisters are, are told. Status 1 where
    there are such, a whole row or column of a table is off, or a file or a measure failed; the rest is done.
    """
    from ..compare import report as comparison

    no_json_beside(output, as_json)
    if uncertainty and output is None and not as_json:
        raise click.UsageError("--uncertainty takes its time and shows in CSV and JSON: give -o or --json")
    done = comparison.compare(
        folder, by=by, cache=not no_cache, reader=how.reader, mapping=how.mapping, uncertainty=uncertainty,
        output=output, moulded_to=moulded_to, planking=planking, leave_out=leave_out,
    )  # fmt: skip
    gaps = [done.gap(*pair) for pair in between]
    aside = output == outputs.STANDARD
    writing = Kept()
    if output is not None:
        with writing():
            done.write(output)
    written = [output] if output and not aside and not writing.error else []
    if as_json:
        emit(done.as_data(gaps) | {"written": written})
    else:
        click.echo("\n".join(done.heading()) + "\n", err=aside)
        click.echo("\n\n".join(columns_text(rows, right) for rows, right in done.blocks(width())), err=aside)
        for gap in gaps:
            click.echo(f"\n{gap}\n\n{gap.frame().round(1).to_string()}", err=aside)
        if written:
            click.echo(f"wrote {output}")
    for said in done.said():
        click.echo(said, err=True)
    writing.tell()
    if done.findings:
        raise click.exceptions.Exit(FINDINGS)
