"""A spar under a load: how far it gives way, and what its outermost wood bears, with the cautions that go with both."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from .. import _core
from ..errors import LoftError, error
from ..tables import frame
from .species import SOURCE, Wood

if TYPE_CHECKING:
    import pandas

# Standard acceleration of free fall, m/s²: what a weight in kg comes to in N (NIST SP 811, appendix B).
GRAVITY = 9.80665

CAUTION = (
    "Deflections and stresses are those of a slender straight beam of sound, straight-grained, dry wood under the load "
    "stated: knots, slope of grain, wet wood, joints, rigging's thrust, buckling, shocks and years are not in them. "
    "They are for comparing spars, and do not show that one is strong enough: follow local rules, and have a "
    "licensed naval architect or surveyor judge the rig."
)


@dataclass(frozen=True)
class Bending:
    """A spar under a load. Lengths m, forces N, stresses Pa."""

    wood: Wood
    deflection: float
    """The greatest, with the load; negative where it is against it."""
    deflection_at: float
    stress: float
    """The greatest."""
    stress_at: float
    reactions: tuple[float, ...]
    """What each support holds; negative where it must hold the spar down."""
    part_of_rupture: float
    """The greatest stress over the modulus of rupture of small clear pieces; NaN where that is not known."""
    of_solid: float
    """The greatest deflection over that of the same spar solid; NaN where neither gives way."""
    _columns: dict[str, Any] = field(repr=False)

    @property
    def caution(self) -> str:
        """What these figures do not show."""
        return CAUTION

    @property
    def source(self) -> str:
        """Where the wood's figures come from."""
        return SOURCE if self.wood.elasticity is not None else "as told"

    def table(self) -> pandas.DataFrame:
        """Place, m, bending moment, N m, deflection, m, and the section's greatest stress, MPa."""
        columns = {**self._columns, "stress": [stress / 1e6 for stress in self._columns["stress"]]}
        return frame(columns, {"place": "m", "moment": "N m", "deflection": "m", "stress": "MPa"})


def bending(
    core: _core.Spar, wood: Wood, loads: list[tuple[float, float]], spread: list[tuple[float, float, float]],
    supports: list[float], elasticity: float | None, rupture: float | None, athwart: bool,
) -> Bending:  # fmt: skip
    """See `Spar.bend`."""
    modulus = elasticity if elasticity is not None else wood.elasticity
    if modulus is None:
        what = f"the modulus of elasticity of {wood.name} is not known"
        raise error(LoftError, what, remedy="give elasticity=, Pa, or a species by its name")
    limit = rupture if rupture is not None else wood.rupture
    columns, reactions = core.bent(supports, loads, spread, modulus, athwart=athwart)
    greatest = {}
    solid = core.solid().bent(supports, loads, spread, modulus, athwart=athwart)[0]["deflection"]
    most = max(map(abs, solid))
    for name in ("deflection", "stress"):
        greatest[name] = max(zip(columns[name], columns["place"], strict=True), key=lambda pair: abs(pair[0]))
    return Bending(
        wood,
        *greatest["deflection"],
        *greatest["stress"],
        tuple(reactions),
        greatest["stress"][0] / limit if limit else math.nan,
        abs(greatest["deflection"][0]) / most if most > 0.0 else math.nan,
        columns,
    )
