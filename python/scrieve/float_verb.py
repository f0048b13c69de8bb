"""The verb `float`: upright figures at a draught, or how she floats and rights herself under a load."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from .cli import emit
from .floating import CAUTION, Arms, Flotation, Weight
from .verbs import AS_JSON, LENGTH, READER, TABLE, fairing_options, read_and_fair

HEELS = tuple(range(0, 95, 5))


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
@click.option("--mass", type=float, help="Mass of the boat, kg: how she floats, with --lcg and --kg.")
@click.option("--lcg", type=LENGTH, help="Its centre aft of the forward end of the table.")
@click.option("--kg", type=LENGTH, help="Its height above the base line.")
@click.option(
    "--weight", "weights", type=(float, LENGTH, LENGTH, LENGTH), multiple=True, metavar="KG AFT OUT UP",
    help="A weight on top of the boat's, such as one of the crew: mass, kg, and place, out to starboard.",
)  # fmt: skip
@click.option("--water", type=WaterType(), default="sea", show_default=True, help="sea, fresh, or kg/m³.")
@click.option("--heel", "heels", type=float, multiple=True, help="GZ at this heel, degrees; else every 5 to 90.")
@click.option("--decked", is_flag=True, help="She has a tight deck at the sheer; else she is open.")
@fairing_options
@READER
@AS_JSON
def float_verb(
    table: Path, draught: float | None, mass: float | None, lcg: float | None, kg: float | None,
    weights: tuple[Any, ...], water: Any, heels: tuple[float, ...], decked: bool,
    fairing: dict[str, Any], reader: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Fair TABLE and float her: at a --draught, or under a load (--mass, --lcg and --kg)."""
    if (draught is None) == (mass is None):
        raise click.UsageError("give --draught, or --mass with --lcg and --kg")
    if mass is not None and (lcg is None or kg is None):
        raise click.UsageError("--mass wants the boat's centre: --lcg and --kg")
    hull = read_and_fair(table, reader, fairing)
    if draught is not None:
        figures = hull.hydrostatics(draught, water)
        if as_json:
            emit({"name": hull.name, "water": water, **asdict(figures), "caution": CAUTION})
        else:
            click.echo(figures)
        return
    load = {
        "mass": mass,
        "lcg": lcg,
        "kg": kg,
        "weights": [Weight(*weight) for weight in weights],
        "water": water,
    }
    afloat = hull.float(**load)
    arms = hull.righting_arms(heels or HEELS, **load, decked=decked)
    if as_json:
        columns = {"heels": list(arms.heels), "gz": list(arms.gz), "trim": list(arms.trim)}
        emit({"name": hull.name, "water": water, **asdict(afloat), "decked": decked, **columns,
              "flooding": arms.flooding, "caution": CAUTION})  # fmt: skip
    else:
        click.echo(_afloat(afloat, arms))


def _afloat(afloat: Flotation, arms: Arms) -> str:
    rows = [
        ("mass", afloat.mass, "kg"),
        ("draught amidships", afloat.draught, "m"),
        ("draught at her forward end", afloat.draught_fore, "m"),
        ("draught at her after end", afloat.draught_aft, "m"),
        ("trim by the stern", afloat.trim, "degrees"),
        ("heel to starboard", afloat.heel, "degrees"),
        ("least freeboard", afloat.freeboard, "m"),
        ("GM", afloat.gm, "m"),
    ]
    lines = [f"{what:<28} {value:>10.3f} {unit}" for what, value, unit in rows]
    if arms.flooding is not None:
        lines.append(f"{'water at the sheer at':<28} {arms.flooding:>10.3f} degrees")
    lines += ["", " heel     GZ m"]
    for heel, gz in zip(arms.heels, arms.gz, strict=True):
        lines.append(f"{heel:>5g} {gz:>8.4f}" if gz == gz else f"{heel:>5g}   filled")
    return "\n".join([*lines, "", CAUTION])
