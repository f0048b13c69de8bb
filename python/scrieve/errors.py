"""What can go wrong, each with where, what and why as data; the text is made from them."""

from __future__ import annotations

from ._core import (
    DrawingError,
    FairingError,
    FloatingError,
    HullError,
    LoftError,
    ReadingError,
    ScrieveError,
    TableError,
)

__all__ = [
    "DrawingError",
    "Fault",
    "FairingError",
    "FloatingError",
    "HullError",
    "LoftError",
    "NotMade",
    "Note",
    "NothingToDraw",
    "PluginError",
    "ReadingError",
    "ScrieveError",
    "TableError",
]


class Note(UserWarning):
    """Something assumed or passed over on the way, that whoever asked should know of; what came of it is sound."""


class NotMade(Note):
    """Something a pattern could not draw, and why; the rest is sound."""


class Fault(Note):
    """Something a shop would stumble over in a drawing that is written all the same."""


class NothingToDraw(LoftError):
    """A boat has nothing of what a pattern draws, which is no failure; `remark` is what the main job says of it."""

    def __init__(self, message: str, remark: str = "") -> None:
        super().__init__(message)
        self.remark = remark


class PluginError(ScrieveError):
    """A plugin is missing, ambiguous or broken; the message names its package and version."""
