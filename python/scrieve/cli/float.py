"""The verb `float`: how a boat floats, as her table says or as she is told, in numbers and drawings."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import outputs
from ..afloat.report import draughts_between, report, with_uncertainty
from ..hull.floating import Load, Weight
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
    Kept,
    Told,
    emit,
    end_with_findings,
    not_made,
    progress,
    telling,
)


class WaterType(click.ParamType):  # type: ignore[type-arg] # generic in newer clicks only
    """Water by name or density."""

    name = "water"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if value in ("sea", "fresh"):
            return value
        try:
            return float(value)
        except ValueError:
            self.fail(f"{value!r} is not sea, fresh or a density in kg/m³", param, ctx)


@click.command("float")
@TABLE
@click.option("--draught", type=LENGTH, help="Upright figures with the water this high above the base line.")
@click.option(
    "--draughts", type=(LENGTH, LENGTH, LENGTH), metavar="FROM TO STEP", help="Curves of form over these draughts."
)
@click.option("--mass", type=float, help="Mass of the boat, kg, with --lcg and --kg, in place of what her table says.")
@click.option("--lcg", type=LENGTH, help="Its centre aft of the forward end of the table.")
@click.option("--kg", type=LENGTH, help="Its height above the base line.")
@click.option(
    "--weight", "weights", type=(float, LENGTH, LENGTH, LENGTH), multiple=True, metavar="KG AFT OUT UP",
    help="A weight on top, such as one of the crew: mass, kg, and place, out to starboard (- to port).",
)  # fmt: skip
@click.option("--no-crew", is_flag=True, help="Leave the crew of her table ashore.")
@click.option("--water", type=WaterType(), default="sea", show_default=True, help="sea, fresh, or kg/m³.")
@click.option("--heel", "heels", type=float, multiple=True, help="GZ at this heel, degrees; else every 5 to 90.")
@click.option("--decked", is_flag=True, help="She has a tight deck at the sheer; else she is open.")
@click.option(
    "--uncertainty", is_flag=True,
    help="Say how sure the readings make each figure but the curves of form: ± is a 95 % interval. Held against known "
         "hulls, those of CP, LCB, LCF and wetted surface hold the truth some 90 times in a hundred, less in mm.",
)  # fmt: skip
@click.option("--rig", help="One of the rigs of her table; else all of them.")
@click.option(
    "-o", "--output", type=OUTPUT_FOLDER,
    help="Folder for drawings and tables: curves of form, sectional areas, righting arms, sail plans.",
)  # fmt: skip
@click.option(
    "--format", "kind", type=click.Choice(["svg", "pdf", "png"]), default="svg", show_default=True,
    help="Kind of those drawings; sail plans come as DXF besides.",
)  # fmt: skip
@fairing_options
@READER
@AS_JSON
def verb(
    table: Path, draught: float | None, draughts: tuple[float, float, float] | None, mass: float | None,
    lcg: float | None, kg: float | None, weights: tuple[Any, ...], no_crew: bool, water: Any,
    heels: tuple[float, ...], decked: bool, uncertainty: bool, rig: str | None, output: Path | None,
    kind: str, fairing: dict[str, Any], how: How, as_json: bool,
) -> None:  # fmt: skip
    """Fair TABLE and float her.

    Without more she floats as her table says: at its load_waterline, and under the boat's mass, crew and loads,
    whichever it gives; and her sails are set against the hull. --draught, or --mass with --lcg and --kg, take
    their place. The status is 1 where she capsizes or finds no rest upright, readings are queried, or a drawing
    could not be made.
    """
    load = _load(draught, mass, lcg, kg)
    if draught is not None and (weights or no_crew):
        raise click.UsageError("--weight and --no-crew are for a loaded boat: leave out --draught")
    if output is not None and output.suffix.lower() in (".svg", ".pdf", ".png", ".dxf", ".csv"):
        kinds = output.suffix[1:] if output.suffix.lower() in (".svg", ".pdf", ".png") else None
        hint = f"{output.stem} --format {kinds}" if kinds else output.stem
        raise click.UsageError(f"-o {output} names a file, and several are written: give a folder, -o {hint}")
    if output is not None:
        outputs.claim_folder(output, *how.inputs(table))
    over = draughts_between(*draughts) if draughts else []
    hull = read_and_fair(table, how, fairing)
    asked = {
        "draught": draught, "load": load, "crew": not no_crew, "weights": [Weight(*weight) for weight in weights],
        "water": water, "heels": heels, "decked": decked, "rig": rig,
    }  # fmt: skip
    found = report(hull, draughts=over, **asked)
    if uncertainty:
        with progress(f"floating hulls the readings of {hull.name} leave possible"):
            with_uncertainty(found, **asked)
    written: list[Path] = []
    removed: list[Path] = []
    failures: list[str] = []
    told = Told([], [])
    writing = Kept()
    if output is not None:
        from ..afloat import drawings as float_drawings

        with progress(f"drawing {hull.name} afloat"), writing(), telling() as told:
            written, removed, failures = float_drawings.write(found, output, kind)
    if as_json:
        emit(found.as_data() | {"written": written, "removed": removed})
    else:
        click.echo(found.text())
        for path in written:
            click.echo(f"wrote {path}")
        for path in removed:
            click.echo(f"took away {path}, of an earlier run")
    for failure in failures:
        click.echo(failure, err=True)
    writing.tell()
    end_with_findings(
        hull,
        "she capsizes" if found.capsizes else "",
        "she finds no rest upright" if found.restless else "",
        not_made([*failures, *told.failures]),
    )


def _load(draught: float | None, mass: float | None, lcg: float | None, kg: float | None) -> Load | None:
    """The load given on the command line."""
    if mass is None:
        if lcg is not None or kg is not None:
            raise click.UsageError("--lcg and --kg are the place of --mass: give it too")
        return None
    if draught is not None:
        raise click.UsageError("give --draught, or --mass with --lcg and --kg, not both")
    if lcg is None or kg is None:
        raise click.UsageError("--mass wants the boat's centre: --lcg and --kg")
    if not mass > 0:
        raise click.BadParameter(f"{mass:g} kg: a boat's mass is above 0", param_hint="--mass")
    return Load(mass, lcg, kg)
