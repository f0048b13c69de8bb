"""One batten by itself: the curve of least bending energy through given nails."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from .. import _core
from ..errors import FairingError
from .curve import Curve

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray


class Batten(Curve):
    """A bent batten: a curve in the plane of its nails, z = 0, in metres."""

    __slots__ = ("off",)

    #: How far it lies from each nail, m: positive to the left, going along it.
    off: list[float]

    def __init__(self, core: _core.Curve, off: list[float]) -> None:
        super().__init__(core)
        self.off = off


def batten(
    points: Sequence[tuple[float, float]] | NDArray[numpy.float64], tolerance: float | Iterable[float] | None = None
) -> Batten:
    """The batten bent round nails: of all curves through `points` in their order, the one of least ∫κ² ds.

    `points` are (n, 2), metres, in any plane. `tolerance`, one for all or one a nail, m, is how far it may
    leave each; left out, it passes through every nail. Its ends are free. At small slopes it is the natural
    cubic spline; at large ones the elastica, which no scaling of the axes changes.

    Raises `FairingError` for fewer than 2 points or more than 500, two in one place, or a turn of more than
    about a right angle from one nail to the next, where a batten springs off.

        fair = scrieve.batten([(0, 0.30), (1, 0.12), (2, 0.05), (3, 0.08)], tolerance=0.0016)
        fair.points(50), fair.curvature(50), fair.off
    """
    spots = [(float(x), float(y)) for x, y in points]
    if tolerance is None:
        tolerance = 0.0
    each = [float(t) for t in tolerance] if isinstance(tolerance, Iterable) else [float(tolerance)] * len(spots)
    if len(each) != len(spots):
        raise FairingError(f"{len(spots)} points and {len(each)} tolerances: give one for all, or one a point")
    return Batten(*_core.batten([(x, y, t) for (x, y), t in zip(spots, each, strict=True)]))
