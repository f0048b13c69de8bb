"""Woods for spars: specific gravity, modulus of elasticity and modulus of rupture.

USDA Forest Products Laboratory, Wood Handbook: Wood as an Engineering Material (General Technical Report FPL-GTR-190,
2010), chapter 5, the table of strength properties of woods grown in the United States, metric: at 12 % moisture
content, from small clear pieces. The figures are from memory: look them up before anything hangs on them. Density is
that chapter 4 makes of the specific gravity, which is oven-dry weight over volume at that moisture: 1000 G (1 + 0.12)
kg/m³.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from difflib import get_close_matches

from ..errors import LoftError, error

SOURCE = "Wood Handbook, FPL-GTR-190 (2010), chapter 5, at 12 % moisture, small clear pieces; from memory, verify"
MOISTURE = 0.12


@dataclass(frozen=True)
class Wood:
    """A wood by its name, dry."""

    name: str
    density: float
    """kg/m³, at 12 % moisture."""
    elasticity: float | None = None
    """Modulus of elasticity along the grain, Pa; None where it is not known."""
    rupture: float | None = None
    """Modulus of rupture, Pa: the stress of the outermost wood at which a small clear piece breaks in bending."""


def _wood(name: str, gravity: float, gigapascals: float, megapascals: float) -> Wood:
    return Wood(name, 1000.0 * gravity * (1.0 + MOISTURE), gigapascals * 1e9, megapascals * 1e6)


SPECIES = {
    wood.name: wood
    for wood in (
        _wood("Sitka spruce", 0.40, 10.8, 70.0),
        _wood("Engelmann spruce", 0.35, 8.9, 64.0),
        _wood("white spruce", 0.36, 9.6, 65.0),
        _wood("red spruce", 0.40, 11.1, 74.0),
        _wood("black spruce", 0.42, 11.1, 74.0),
        _wood("Douglas-fir, coast", 0.48, 13.4, 85.0),
        _wood("eastern white pine", 0.35, 8.5, 59.0),
        _wood("western white pine", 0.38, 10.1, 67.0),
        _wood("longleaf pine", 0.59, 13.7, 100.0),
        _wood("western larch", 0.52, 12.9, 90.0),
        _wood("tamarack", 0.53, 11.3, 80.0),
        _wood("western redcedar", 0.32, 7.7, 51.7),
        _wood("Port-Orford-cedar", 0.43, 11.7, 88.0),
        _wood("yellow-cedar", 0.44, 9.8, 77.0),
        _wood("white ash", 0.60, 12.0, 103.0),
    )
}


def wood_of(species: str | float | Wood) -> Wood:
    """The wood of that name, or of that density, kg/m³, of which nothing more is known.

    Raises `LoftError` for a name that is not in `SPECIES`, a density that is none.
    """
    if isinstance(species, Wood):
        return species
    if isinstance(species, str):
        named = {name.casefold(): wood for name, wood in SPECIES.items()}
        found = named.get(species.strip().casefold())
        if found is None:
            close = get_close_matches(species.casefold(), named, 3, 0.5) or list(named)
            known = ", ".join(named[name].name for name in close)
            raise error(LoftError, f"no species {species!r} is known", remedy=f"{known}; or a density in kg/m³")
        return found
    density = float(species)
    if not (math.isfinite(density) and 0.0 < density < 2000.0):
        what = f"a wood of {density:g} kg/m³"
        raise error(LoftError, what, remedy="a density is above 0 and below 2000 kg/m³, or give a species by its name")
    return Wood(f"{density:g} kg/m³", density)
