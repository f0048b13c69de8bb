"""A curve on the hull, or parallel to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .. import _core

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray


class Curve:
    """A curve on the hull, or parallel to it, in metres."""

    __slots__ = ("_core",)

    def __init__(self, core: _core.Curve) -> None:
        self._core = core

    @property
    def length(self) -> float:
        """Length, m."""
        return self._core.length

    @property
    def corners(self) -> NDArray[numpy.float64]:
        """Corners, such as chines: an (n, 3) array, m."""
        return self._core.corners

    def points(self, n: int) -> NDArray[numpy.float64]:
        """`n` points equally spaced along the curve, ends included: an (n, 3) array of x, y, z, m."""
        return self._core.points(n)

    def curvature(self, n: int) -> NDArray[numpy.float64]:
        """Curvature at `points(n)`, 1/m: positive where the curve turns left as drawn."""
        return self._core.curvature(n)

    def svg(self, width: int = 480) -> str:
        """The curve drawn in its own plane, as an SVG `width` pixels wide."""
        left, bottom, right, top = (1e3 * bound for bound in self._core.bounds())
        margin = 0.03 * max(right - left, top - bottom, 1e-3)
        w, h = right - left + 2 * margin, top - bottom + 2 * margin
        height = max(1, round(width * h / w))
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
            f'viewBox="{left - margin:.3f} {-top - margin:.3f} {w:.3f} {h:.3f}">'
            f'<path transform="scale(1 -1)" d="{self._core.path_data()}" fill="none" stroke="#1d3340" '
            'stroke-width="1.5" vector-effect="non-scaling-stroke"/></svg>'
        )

    def _repr_svg_(self) -> str:
        return self.svg()

    def __repr__(self) -> str:
        return repr(self._core)
