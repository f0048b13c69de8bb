"""What plugins give: drawings with their tables, and numbers with their units."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .._core import Drawing

if TYPE_CHECKING:
    import pandas

# Where a number can come from: read off the file, the faired hull, or something nobody wrote down.
BASES = ("measured", "faired", "assumed")


@dataclass(frozen=True)
class Quantity:
    """A number, its unit, and whether it was measured, faired or assumed."""

    value: float
    unit: str
    basis: str = "faired"
    sd: float = math.nan
    """One standard deviation; NaN where it is not known. A collection finds that of faired numbers itself."""


class PickedUp(list[Drawing]):
    """The drawings a pattern gives, and its tables: `.tables`, data frames by name, lengths in metres.

    What has a name in `ANGLES` is in degrees. The command line writes each table as CSV beside the drawings.
    """

    def __init__(self, drawings: Iterable[Drawing], tables: Mapping[str, pandas.DataFrame]) -> None:
        super().__init__(drawings)
        self.tables = {name: frame for name, frame in tables.items() if len(frame)}
