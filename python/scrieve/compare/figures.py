"""What is asked about one boat of a collection, and what was found out."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from ..plugin.given import Quantity

if TYPE_CHECKING:
    import numpy

    from ..table.table import Table


def content_key(table: Table) -> str:
    """What a table's figures go by: its text, hashed."""
    return hashlib.sha256(table.to_text().encode()).hexdigest()


class Job(NamedTuple):
    """What is asked about one boat: her file, its content, and the planking she is carried over by, if she is."""

    path: Path
    content: str
    face: str = ""
    """The face she is carried to, `"inside"` or `"outside"`; nothing where she is given to it."""
    planking: float | None = None
    """The thickness, m: her table's, or the one assumed; `None` where nobody says."""
    assumed: bool = False
    mapping: Path | None = None
    """What she is read through, where she is a page without a mapping of its own."""

    @property
    def key(self) -> str:
        """What the figures go by."""
        carried = f"|{self.face}|{self.planking}|{self.assumed}" if self.face or self.assumed else ""
        return self.content + carried


@dataclass
class Figures:
    """What was found out about one boat, and what could not be."""

    key: str
    quantities: dict[str, Quantity]
    points: numpy.ndarray | None
    failures: list[str]
    readings: list[tuple[str, str, float, float]] = field(default_factory=list)
    """Station, row, reading and tolerance, m at full size, of every reading used."""
    doubted: list[str] = field(default_factory=list)
    """Readings left out, as the rest of the boat contradicts them: row, station and reading."""
    whole_slips: list[str] = field(default_factory=list)
    """What makes a whole row, column or block wrong in one way, a sentence each."""
    surface_sd: float = float("nan")
    """One standard deviation of the surface at the readings, root mean square, m."""
    samples: int = 0
    """Possible hulls its uncertainties were taken of; with none they are not known."""
