"""Built-in measures: numbers with units, a row of a comparison for each boat.

A measure is any object with `measure(hull, facts) -> dict of name to Quantity`; `facts` is the head of the
boat's file.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .hull import Hull


@dataclass(frozen=True)
class Quantity:
    """A number, its unit, and whether it was measured, faired or assumed."""

    value: float
    unit: str
    basis: str = "faired"


class Dimensions:
    """Length, beam and depth of the moulded hull"""

    def measure(self, hull: Hull, facts: dict[str, Any]) -> dict[str, Quantity]:
        """Length and beam over the sheer, depth from rabbet to sheer amidships, m."""
        return {name: Quantity(value, "m") for name, value in hull.dimensions.items()}


dimensions = Dimensions()
