"""What several patterns take or give: words for options, and columns as frames."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..errors import LoftError

if TYPE_CHECKING:
    import pandas


def frame(columns: dict[str, Any]) -> pandas.DataFrame:
    """Columns as a data frame."""
    import pandas

    return pandas.DataFrame(columns)


def round_of_beam(beam: float | None, camber: float | None) -> tuple[float, float] | None:
    """The two as one. Raises `LoftError` where one is given without the other."""
    if beam is None and camber is None:
        return None
    if beam is None or camber is None:
        raise LoftError("a round of beam is a beam and a camber: give both, or neither")
    return beam, camber
