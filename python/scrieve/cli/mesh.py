"""`scrieve mesh`: the hull as a mesh, for a printer or a router."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import outputs
from ..hull.mesh_file import FORMATS, SCALES, write_mesh
from .fairing import read_and_fair
from .options import AS_JSON, LENGTH, READER, TABLE, How, OutputFile, fairing_options
from .telling import emit, end_with_findings, progress


@click.command("mesh")
@TABLE
@click.option(
    "-o", "--output", type=OutputFile(), required=True,
    help=f"{', '.join(f'hull.{one}' for one in FORMATS)}: in millimetres.",
)  # fmt: skip
@click.option(
    "--scale", type=click.FloatRange(*SCALES), default=1.0, show_default=True,
    help="A model 1 to this; 1 is full size.",
)  # fmt: skip
@click.option("--half", is_flag=True, help="The starboard half, flat on the centreline, as a half model is.")
@click.option("--within", type=LENGTH, help="How near to the hull, at full size; left out, 0.05 mm of the model.")
@fairing_options
@READER
@AS_JSON
def verb(
    table: Path, output: Path, scale: float, half: bool, within: float | None, fairing: dict[str, Any], how: How,
    as_json: bool,
) -> None:  # fmt: skip
    """Fair TABLE and write the hull as a closed mesh: both sides, deck and ends, as a body that floats is.

    The deck is straight from sheer to sheer; keel, stem and post outside the rabbet are not in it.
    """
    if output == outputs.STANDARD or output.suffix.lower().lstrip(".") not in FORMATS:
        raise click.UsageError(f"{output} is no mesh file: expected {', '.join(f'.{one}' for one in FORMATS)}")
    hull = read_and_fair(table, how, fairing, output)
    with progress(f"writing {output}"):
        mesh = write_mesh(hull, output, scale, within, half)
    size = [float(side) for side in mesh.extents]
    if as_json:
        emit({"written": [output], "faces": len(mesh.faces), "size_mm": size, "volume_mm3": float(mesh.volume)})
    else:
        click.echo(f"wrote {output}")
        click.echo(
            f"{' x '.join(f'{side:.1f}' for side in size)} mm, 1:{scale:g}, {mesh.volume * 1e-6:.4g} litres, "
            f"{len(mesh.faces)} triangles, closed"
        )
    end_with_findings(hull)
