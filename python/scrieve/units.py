"""What a number is of, and how its unit is written: quantities, tables, pages, CSV and JSON all ask here.

A quantity has its unit's symbol, a data frame those of its columns in `.attrs["units"]`. Inside all is in the units of
`UNITS`; a shop reads lengths in readings and millimetres and angles in degrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Unit:
    """A unit by its symbol: what is measured in it, and how a shop reads that."""

    symbol: str
    dimension: str
    """length, angle, area, volume, mass, curvature, part, none; or other, for a unit not known here."""
    shop: str
    """What the shop has it in."""
    times: float = 1.0
    """How many of the shop's make one."""
    places: int | None = None
    """After the point, in the shop's; None is all there are."""


UNITS = {
    unit.symbol: unit
    for unit in (
        Unit("m", "length", "mm", 1e3, 2),
        Unit("°", "angle", "degrees", 1.0, 2),
        Unit("m²", "area", "m²", 1.0, 4),
        Unit("m³", "volume", "m³", 1.0, 5),
        Unit("kg", "mass", "kg", 1.0, 2),
        Unit("1/m", "curvature", "1/m", 1.0, 4),
        Unit("%", "part", "%", 1.0, 1),
        Unit("", "none", ""),
    )
}


def unit(symbol: str) -> Unit:
    """The unit of that symbol; one not known here stays as it is written."""
    return UNITS.get(symbol) or Unit(symbol, "other", symbol)


def told(frame: Any) -> Mapping[str, str]:
    """The symbol of each column whose unit is told."""
    return dict(frame.attrs.get("units", {}))


def is_metric(table: Any) -> bool:
    """Whether a table of offsets is in millimetres, centimetres or metres."""
    return table.facts.get("units") in ("mm", "cm", "m")


def in_words(name: str) -> str:
    """A column's name as a person reads it."""
    return str(name).replace("_", " ")


def heading(name: str, of: Unit) -> str:
    """A column's name with what it is in."""
    return f"{in_words(name)}, {of.shop}" if of.shop else in_words(name)


def has_unit(written: str) -> bool:
    """Whether a heading so written is that of numbers in a unit."""
    _, comma, shop = written.rpartition(", ")
    return bool(comma) and shop in {of.shop for of in UNITS.values()}
