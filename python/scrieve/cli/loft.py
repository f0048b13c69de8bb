"""`scrieve loft`: the main job."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import outputs
from ..hull import ranges
from .fairing import faired, read
from .options import (
    AS_JSON,
    INTO_FOLDER,
    READER,
    TABLE,
    How,
    fairing_options,
)
from .shop import Told, shop_options
from .telling import (
    emit,
    end_with_findings,
    not_made,
    progress,
)


@click.command("loft")
@TABLE
@INTO_FOLDER
@shop_options
@fairing_options
@READER
@AS_JSON
def verb(table: Path, output: Path, shop: Told, fairing: dict[str, Any], how: How, as_json: bool) -> None:
    """Fair TABLE and write all that is picked up from it: lines, moulds, set-up, bevels, backbone, transom.

    A shop's choices are kept in [shop] of the table's head, or in a file shop.toml beside it; what is said here goes
    before them. Begin with index.html in the folder. The status is 1 where a part could not be made, or readings are
    queried or left out; the rest is there.
    """
    from ..patterns import job

    outputs.claim_folder(output, *how.inputs(table), *shop.inputs(table))
    source = read(table, how)
    # A mistake in what was chosen is told before minutes of fairing.
    choices = shop.choices(source, table)
    hull = faired(source, fairing)
    ranges.check(hull, deduct=choices.value("deduct"))
    with progress(f"picking up {hull.name}"):
        done = job.loft(hull, output, choices=choices)
    if as_json:
        emit({
            "name": hull.name, "written": done.written, "removed": done.removed, "failures": done.failures,
            "remarks": hull.remarks, "evidence": hull.evidence().to_dict("records"),
        })  # fmt: skip
    else:
        click.echo(done.summary())
    end_with_findings(hull, not_made(done.failures))
