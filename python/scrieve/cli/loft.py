"""`scrieve loft`: the main job."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import outputs
from ..hull import ranges
from .fairing import read_and_fair
from .options import (
    AS_JSON,
    LENGTH,
    OUTPUT_FOLDER,
    READER,
    TABLE,
    How,
    fairing_options,
)
from .telling import (
    emit,
    end_with_findings,
    not_made,
    progress,
)


@click.command("loft")
@TABLE
@click.option(
    "-o",
    "--output",
    type=OUTPUT_FOLDER,
    required=True,
    help="Folder to write into. What an earlier run wrote there is replaced or taken away, nothing else.",
)
@click.option("--deduct", type=LENGTH, help="Planking to deduct; left out, the table's own.")
@fairing_options
@READER
@AS_JSON
def verb(table: Path, output: Path, deduct: float | None, fairing: dict[str, Any], how: How, as_json: bool) -> None:
    """Fair TABLE and write all that is picked up from it: lines, moulds, set-up, bevels, backbone, transom.

    Begin with index.html in the folder. The status is 1 where a part could not be made, or readings are queried or
    left out; the rest is there.
    """
    from ..patterns import job

    outputs.claim_folder(output, *how.inputs(table))
    hull = read_and_fair(table, how, fairing)
    ranges.check(hull, deduct=deduct)
    with progress(f"picking up {hull.name}"):
        done = job.loft(hull, output, deduct)
    if as_json:
        emit({
            "name": hull.name, "written": done.written, "removed": done.removed, "failures": done.failures,
            "remarks": hull.remarks, "evidence": hull.evidence().to_dict("records"),
        })  # fmt: skip
    else:
        click.echo(done.summary())
    end_with_findings(hull, not_made(done.failures))
