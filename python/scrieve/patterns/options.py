"""Options that several patterns have."""

from __future__ import annotations

from ..errors import LoftError


def round_of_beam(beam: float | None, camber: float | None) -> tuple[float, float] | None:
    """The two as one. Raises `LoftError` where one is given without the other."""
    if beam is None and camber is None:
        return None
    if beam is None or camber is None:
        raise LoftError("a round of beam is a beam and a camber: give both, or neither")
    return beam, camber
