"""What can go wrong: what it is about, where that is and what would do, and a text made of them.

`what` is the fault, the whole message where nothing else is told; `where` its place: a file, with its line and column
where it has them, a folder, a plugin, an option, an index; `remedy` what would do or was expected. The last two are
None where they are not known apart.
"""

from __future__ import annotations

from typing import Any, TypeVar

from ._core import (
    DrawingError,
    FairingError,
    FloatingError,
    HullError,
    InternalError,
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
    "InternalError",
    "LoftError",
    "NotMade",
    "Note",
    "NothingToDraw",
    "PluginError",
    "ReadingError",
    "ScrieveError",
    "TableError",
]


E = TypeVar("E", bound=ScrieveError)


class _Whole:
    """What an error is about that was raised with its message alone: all of that."""

    def __get__(self, error: Any, kind: Any = None) -> Any:
        return self if error is None else str(error)


ScrieveError.what = _Whole()  # type: ignore[assignment] # an error's own stands before it
ScrieveError.where = None
ScrieveError.remedy = None


def error(
    kind: type[E], what: str, *, where: Any = None, remedy: str | None = None, at: bool = False, **besides: Any
) -> E:
    """An error of that kind, whose text is `what` and `remedy`; with `at`, after where it is. `besides` is what else is
    known of it, as attributes."""
    made = kind((f"{where}: " if at else "") + what + (f": {remedy}" if remedy else ""))
    made.what, made.where, made.remedy = what, where, remedy
    for name, value in besides.items():
        setattr(made, name, value)
    return made


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
