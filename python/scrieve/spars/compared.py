"""Spars beside each other: what each weighs, how stiff it is, and how far it gives way under one load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from ..errors import LoftError, error
from ..tables import frame
from .spar import Spar
from .species import Wood, wood_of

if TYPE_CHECKING:
    import pandas


def compared(
    spars: Mapping[str, Spar], species: str | float | Wood | Mapping[str, Any] = "Sitka spruce", **load: Any
) -> pandas.DataFrame:
    """A row for each spar: length, m, greatest sizes, m, wood, m³, mass, kg, balance, m, its parts of the same spar's
    weight and least stiffness solid; with a load, as `Spar.bend` takes it, the greatest deflection, m, and stress,
    MPa, too.

    `species` is one for all, or one each by the spars' names. Raises `LoftError` where there are none, or one lacks
    its wood.
    """
    if not spars:
        raise error(LoftError, "no spars are given", remedy="one or more, by their names")
    rows = []
    for name, spar in spars.items():
        wood = wood_of(_of(species, name))
        depth, athwart = spar.greatest
        row = {
            "spar": name, "built": spar.built, "wood": wood.name, "length": spar.length, "greatest": depth,
            "greatest_athwart": athwart, "volume": spar.volume, "mass": spar.mass(wood), "balance": spar.balance,
            "weight_of_solid": spar.part_of_solid(),
            "least_stiffness_of_solid": min(spar.stiffness(s, bool(load.get("athwart"))) for s in _along(spar)),
        }  # fmt: skip
        if load:
            bent = spar.bend(species=wood, **load)
            row |= {"deflection": abs(bent.deflection), "stress": bent.stress / 1e6, "of_rupture": bent.part_of_rupture}
        rows.append(row)
    columns = {name: [row[name] for row in rows] for name in rows[0]}
    lengths = ("length", "greatest", "greatest_athwart", "balance", "deflection")
    units = dict.fromkeys(lengths, "m") | {"volume": "m³", "mass": "kg", "stress": "MPa"}
    units |= dict.fromkeys(("weight_of_solid", "least_stiffness_of_solid", "of_rupture"), "")
    return frame(columns, {name: unit for name, unit in units.items() if name in columns})


def _of(species: Any, name: str) -> Any:
    if not isinstance(species, Mapping):
        return species
    if name not in species:
        raise error(LoftError, f"no species is given for {name!r}", remedy=f"given are {', '.join(species)}")
    return species[name]


def _along(spar: Spar) -> Sequence[float]:
    return spar.places(spar.length / 100.0)
