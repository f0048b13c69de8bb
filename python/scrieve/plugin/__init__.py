"""Plugins: what whoever writes one needs, and how they are found.

from scrieve.plugin import Length, Option, PickedUp, Quantity
"""

from .given import BASES, PickedUp, Quantity
from .options import Length, Option

__all__ = ["BASES", "Length", "Option", "PickedUp", "Quantity"]
