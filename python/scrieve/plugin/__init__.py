"""Plugins: what whoever writes one needs, and how they are found.

from scrieve.plugin import Length, Lofted, Option, Part, PickedUp, Planking, Quantity
"""

from .given import BASES, PickedUp, Quantity
from .lofted import Lofted, Part
from .options import Length, Option, Planking

__all__ = ["BASES", "Length", "Lofted", "Option", "Part", "PickedUp", "Planking", "Quantity"]
