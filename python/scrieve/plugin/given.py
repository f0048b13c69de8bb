"""What plugins give: drawings with their tables, and numbers with their units."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .._core import Drawing
from ..units import unit

if TYPE_CHECKING:
    import pandas

# Where a number can come from: read off the file, the faired hull, or something nobody wrote down.
BASES = ("measured", "faired", "assumed")


@dataclass(frozen=True)
class Quantity:
    """A number, its unit, and whether it was measured, faired or assumed."""

    value: float
    unit: str
    """Its symbol: m, °, m², m³, kg, 1/m, nothing for a ratio, or any other, which is written as it is."""
    basis: str = "faired"
    sd: float = math.nan
    """One standard deviation; NaN where it is not known. A collection finds that of faired numbers itself."""

    @property
    def dimension(self) -> str:
        """What it is: length, angle, area, volume, mass, curvature, none, or other."""
        return unit(self.unit).dimension


class PickedUp(list[Drawing]):
    """The drawings a pattern gives, and its tables: `.tables`, data frames by name.

    `units` tells those of columns, whichever table they are in: `{"length": "m", "bevel": "°", "area": "m²"}`; so
    does a frame's own `.attrs["units"]`. A length is written as a reading and in millimetres, what is in another unit
    with that unit's name, and a number whose unit is not told as it is, with a note that it might be anything. The
    command line writes each table as CSV beside the drawings.

    A lofted folder has `to_look_at` besides, drawings to be seen and not to be cut by, and its index shows those
    drawings that have `captions`, by their names.
    """

    def __init__(
        self,
        drawings: Iterable[Drawing],
        tables: Mapping[str, pandas.DataFrame],
        units: Mapping[str, str] | None = None,
        *,
        to_look_at: Iterable[Drawing] = (),
        captions: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(drawings)
        self.to_look_at = list(to_look_at)
        self.captions = dict(captions or {})
        self.tables = {name: frame for name, frame in tables.items() if len(frame)}
        for frame in self.tables.values() if units else ():
            told = {name: unit for name, unit in (units or {}).items() if name in frame}
            frame.attrs["units"] = told | frame.attrs.get("units", {})
