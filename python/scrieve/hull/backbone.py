"""Backbone and transom, as they are picked up from a faired hull. Metres and degrees."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .. import _core
from ..tables import frame
from .curve import Curve

if TYPE_CHECKING:
    import pandas


class Backbone:
    """Keel, stem, sternpost, knees and keelson, with the rabbet's three lines; or a flat bottom and what is on it."""

    __slots__ = ("_core",)

    def __init__(self, core: _core.Backbone) -> None:
        self._core = core

    def keel(self) -> pandas.DataFrame:
        """The keel at each station. Heights and half-breadths in metres; degrees: `garboard` from the side of
        the keel up to the planking's outer face, `bottom_bevel` the underside's rise aft to the base line."""
        return frame(self._core.keel())

    def stem(self) -> pandas.DataFrame:
        """The stem up its rabbet, in its own cross sections: `bearding` and `middle` are distances in from
        the rabbet line square to it, m; `plank_angle` from the stem's side to the planking, degrees."""
        return frame(self._core.stem())

    def line(self) -> pandas.DataFrame:
        """The backbone's one line from the stem head aft, on which all of it hangs: lengths along it, where it is, the
        piece it is on, its direction `from_level` (degrees, rising aft), `curvature` in profile (1/m, positive
        where it turns upward going aft), half-siding and `plank_angle` (from the side of the piece, square to the line,
        degrees)."""
        return frame(self._core.line())

    def bottom(self) -> pandas.DataFrame:
        """A flat bottom at each station: `along` it from its forward end, half-breadth and height of its edge, m, and
        `side_angle`, the angle in the wood between bottom and side, degrees. Empty for a boat that has a keel."""
        return frame(self._core.bottom())

    def sternpost(self) -> pandas.DataFrame:
        """The sternpost, a double-ender's or one below a transom, as `stem`; empty without one."""
        return frame(self._core.sternpost())

    def pieces(self) -> pandas.DataFrame:
        """What is cut: sided and moulded sizes and the length from end to end, along the boat or up her, m: the
        shortest stock there is for it. Of a knee the angle `arms_at` between its arms, degrees."""
        return frame(self._core.pieces())

    @property
    def scarf(self) -> float:
        """Length of the scarfs between the keel and its ends, along the keel, m."""
        return self._core.scarf

    @property
    def nib(self) -> float:
        """Depth of the scarfs' nibs, m; 0 where they end in feather edges."""
        return self._core.nib

    @property
    def knee_angle(self) -> float | None:
        """Angle between the arms of the stern knee, degrees; None without a transom."""
        return self._core.knee_angle

    @property
    def remarks(self) -> list[str]:
        """What the builder should know: where the planking all but lies along a piece, where a scarf is short."""
        return self._core.remarks

    @property
    def failures(self) -> list[str]:
        """Spots at which there is no rabbet, and why."""
        return self._core.failures

    def drawings(self) -> list[_core.Drawing]:
        """The assembly in profile, each piece, the keel in plan, sections of the rabbet; of a flat-bottomed boat her
        bottom laid flat; mm at full size."""
        return self._core.drawings()

    def _repr_svg_(self) -> str:
        drawings = self.drawings()
        return drawings[0]._repr_svg_() if drawings else ""

    def __repr__(self) -> str:
        return f"<Backbone of {', '.join(self.pieces()['piece'])}>"


# Said wherever a bow transom is drawn, for a table may only have left its stem out.
ASSUMED_BOW = (
    "a bow transom is assumed: her table gives no stem, and her forward end is a section of some breadth. If she has a "
    "stem, give its profile: rows `from stem` and `height` under [stem profile]"
)


class FashionPieces:
    """The fashion pieces of a transom: timbers on its forward face, along its edge."""

    __slots__ = ("_core",)

    def __init__(self, core: _core.FashionPieces) -> None:
        self._core = core

    def pieces(self) -> pandas.DataFrame:
        """Those of one side, the lowest first: sided and moulded sizes, and the board each is got out of, m."""
        return frame(self._core.pieces())

    def bevels(self) -> pandas.DataFrame:
        """Bevels along their edges, counted from the after face; columns as for the transom's."""
        return frame(self._core.bevels())

    def drawing(self) -> _core.Drawing:
        """Those of both sides, mm at full size, looking forward."""
        return self._core.drawing()

    def _repr_svg_(self) -> str:
        return self.drawing()._repr_svg_()

    def __repr__(self) -> str:
        return f"<FashionPieces: {', '.join(self.pieces()['piece'])}>"


class Transom:
    """A transom at its true size, in metres and degrees."""

    __slots__ = ("_core",)

    def __init__(self, core: _core.Transom) -> None:
        self._core = core

    @property
    def outer(self) -> Curve:
        """Outline of the after face, rabbet to sheer."""
        return Curve(self._core.outer)

    @property
    def inner(self) -> Curve:
        """Outline of the forward face, rabbet to sheer."""
        return Curve(self._core.inner)

    @property
    def rake(self) -> float:
        """Angle of its centreline from plumb, degrees, positive where the head is aft of the foot."""
        return self._core.rake

    @property
    def radius(self) -> float | None:
        """Radius of its after face, m; None if it is flat."""
        return self._core.radius

    def bevels(self) -> pandas.DataFrame:
        """Bevels round its edge, counted from the after face; columns as for the moulds' bevels."""
        return frame(self._core.bevels())

    def drawing(self) -> _core.Drawing:
        """It drawn, mm at full size, looking at its outer face."""
        return self._core.drawing()

    def _repr_svg_(self) -> str:
        return self.drawing()._repr_svg_()

    def __repr__(self) -> str:
        return repr(self._core)
