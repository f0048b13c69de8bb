"""Inside structure that follows the hull at a height: thwarts, stringers, bulkheads, deck beams, the deck.

Everything is fitted to the inside of the planking, `inside` metres in from the table's surface: left out, the
table's own planking (nothing, where the table is to the inside of it). Add the ribs to it for what stands on
them. Lengths are metres and angles degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from . import _core
from ._core import Drawing
from .errors import LoftError

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class Thwart:
    """A thwart. `edges` has a row for its forward and its after edge: from_stem, height, length (tip to tip of
    the larger face), in_plan (of the end with the fore-and-aft line) and flare (of the end with plumb)."""

    edges: pandas.DataFrame
    drawing: Drawing

    def _repr_svg_(self) -> str:
        return self.drawing.to_svg()


@dataclass(frozen=True)
class Stringer:
    """A stringer or riser: its length along the side, a row for each end and for each station it crosses;
    columns as for a thwart, `length` being the breadth of the boat there."""

    length: float
    ends: pandas.DataFrame
    stations: pandas.DataFrame


@dataclass(frozen=True)
class DeckBeam:
    """A deck beam: radius of its upper edge, camber over its own length, length at the sheer, end in plan."""

    radius: float
    camber: float
    length: float
    in_plan: float
    drawing: Drawing

    def _repr_svg_(self) -> str:
        return self.drawing.to_svg()


class Inside:
    """What a hull can be asked of the structure inside it."""

    __slots__ = ()
    _core: _core.Hull

    def _inside(self, given: float | None) -> float:
        if given is not None:
            return given
        try:
            return self._core.planking_inside()
        except ValueError as error:
            raise LoftError(f"{error}: give `inside`, the planking (and ribs) to deduct") from None

    def thwart(
        self,
        x: float,
        z: float,
        *,
        width: float = 0.2,
        thickness: float = 0.022,
        inside: float | None = None,
        name: str = "thwart",
    ) -> Thwart:
        """A thwart, forward edge at x, under face at z. Raises `LoftError` where the hull does not reach it."""
        edges, drawing = _core.thwart(
            self._core, x, z, width=width, thickness=thickness, inside=self._inside(inside), name=name
        )
        return Thwart(_frame(edges), drawing)

    def stringer(
        self,
        start: float,
        end: float,
        *,
        z: float | None = None,
        below_sheer: float | None = None,
        inside: float | None = None,
    ) -> Stringer:
        """A stringer or riser from x = `start` to `end`, level at `z` or so far below the sheer."""
        length, ends, stations = _core.stringer(
            self._core, start, end, z=z, below_sheer=below_sheer, inside=self._inside(inside)
        )
        return Stringer(length, _frame(ends), _frame(stations))

    def bulkhead(
        self,
        x: float,
        *,
        top: float | None = None,
        thickness: float = 0.012,
        round_of_beam: tuple[float, float] | None = None,
        inside: float | None = None,
        name: str = "bulkhead",
    ) -> Drawing:
        """The bulkhead whose forward face stands at x, to the sheer or a level `top`; bevels round its edge."""
        return _core.bulkhead(
            self._core, x, top=top, thickness=thickness, round_of_beam=round_of_beam,
            inside=self._inside(inside), name=name,
        )  # fmt: skip

    def deck_beam(
        self,
        x: float,
        round_of_beam: tuple[float, float],
        *,
        depth: float = 0.06,
        inside: float | None = None,
        name: str = "deck beam",
    ) -> DeckBeam:
        """The deck beam at x. `round_of_beam` is (beam, camber): the radius is (beam²/4 + camber²)/2 camber."""
        radius, camber, end, drawing = _core.deck_beam(
            self._core, x, round_of_beam=round_of_beam, depth=depth, inside=self._inside(inside), name=name
        )
        return DeckBeam(radius, camber, end["length"][0], end["in_plan"][0], drawing)

    def deck(self) -> Drawing:
        """Half the deck in plan, at the sheer, mm at full size."""
        return _core.deck(self._core)


def _frame(columns: dict[str, Any]) -> pandas.DataFrame:
    import pandas

    return pandas.DataFrame(columns)
