"""The gap between two shapes square to the surface: where one boat is fuller than another, and by how much.

From each point of one shape's grid the nearest point of the other's surface is found, the surface being the
bicubic spline through its grid, by Gauss and Newton's steps held within its edges. Where the nearest point
lies on an edge (one boat runs on past the other's stem, sheer or rabbet) the gap is no longer square to the
surface and says nothing of fullness, only of distance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy

from ..extras import extra

if TYPE_CHECKING:
    import pandas

# Steps toward the nearest point: each at least halves what is left, near the foot it squares it.
STEPS = 25
# A foot this near an edge, in parts of a step of the grid, is on it.
ON_EDGE = 1e-6

# A gap less than this part of the length, a micrometre in ten metres, is none.
LEAST = 1e-7

# Bands of girth from rabbet to sheer, as a builder would point at them.
BANDS = ("next the rabbet", "mid-girth", "next the sheer")


@dataclass(frozen=True)
class Gap:
    """How far the second shape's surface lies outside the first's; all lengths are parts of the length."""

    names: tuple[str, str]
    points: numpy.ndarray
    """The grid of the first shape, (stations, girths, 3)."""
    outside: numpy.ndarray
    """(stations, girths): gap square to the surface, less than nothing where the second is inside the
    first; NaN where nothing of the second is abreast of the first."""
    rms: float
    """Root mean square of the gap, by area, of all of either surface that lies abreast of the other."""
    greatest: float
    """The greatest gap there."""
    farthest: float
    """The greatest distance of any point of either surface from the other, its edges included: Hausdorff's.
    Where it is much more than the greatest gap, one boat runs on past the other's sheer or ends."""
    moulded_to: str | None = None
    """The face of the planking both are of."""

    def frame(self, parts: int = 10) -> pandas.DataFrame:
        """Mean gap in so many equal parts of the length (rows, from forward) and three of the girth.

        mm to the metre of length, positive where the second boat is the fuller.
        """
        import pandas

        x = self.points[..., 0]
        at = (x - x.min()) / (x.max() - x.min())
        part = numpy.minimum((at * parts).astype(int), parts - 1)
        girths = self.points.shape[1]
        band = numpy.broadcast_to(numpy.arange(girths) * len(BANDS) // girths, part.shape)
        rows = [[_mean(self.outside[(part == p) & (band == b)]) for b in range(len(BANDS))] for p in range(parts)]
        index = pandas.Index([f"{p / parts:.2f} to {(p + 1) / parts:.2f}" for p in range(parts)], name="part of length")
        return pandas.DataFrame(rows, index=index, columns=list(BANDS)) * 1000

    def __str__(self) -> str:
        first, second = self.names
        said = []
        for sign, way in ((1, "outside"), (-1, "inside")):
            signed = numpy.nan_to_num(sign * self.outside, nan=-numpy.inf)
            i, j = numpy.unravel_index(int(signed.argmax()), signed.shape)
            if signed[i, j] > LEAST:
                line = self.points[:, :, 0]
                along = (self.points[i, j, 0] - line.min()) / (line.max() - line.min())
                up = j / (self.points.shape[1] - 1)
                said.append(
                    f"{way} her by up to {1000 * signed[i, j]:.1f} mm to the metre of length, {100 * along:.0f} % "
                    f"of the length from forward and {100 * up:.0f} % of the girth up from the rabbet"
                )
        where = "; ".join(said) or "nowhere off her"
        face = f", both to the {self.moulded_to}" if self.moulded_to else ""
        return (
            f"{second} against {first}{face}: {where}; rms {1000 * self.rms:.1f} mm to the metre, "
            f"no point farther off than {1000 * self.farthest:.1f}"
        )


def gap(names: tuple[str, str], first: numpy.ndarray, second: numpy.ndarray, moulded_to: str | None = None) -> Gap:
    """The gap between two shapes, each (stations, girths, 3)."""
    distances, gaps = zip(_from(first, second), _from(second, first), strict=True)
    areas = numpy.array([_areas(first), _areas(second)])
    abreast = numpy.isfinite(gaps)
    found = numpy.where(abreast, gaps, 0.0)
    rms = numpy.sqrt((areas * found**2).sum() / max((areas * abreast).sum(), 1e-300))
    greatest, farthest = numpy.abs(found).max(), numpy.max(distances)
    return Gap(names, first, gaps[0], float(rms), float(greatest), float(farthest), moulded_to)


def _from(points: numpy.ndarray, other: numpy.ndarray) -> tuple[numpy.ndarray, numpy.ndarray]:
    """Distance of each point to the other surface, and the gap square to that, + where it lies outside."""
    with extra("compare"):
        from scipy.interpolate import RectBivariateSpline
        from scipy.spatial import cKDTree
    last = numpy.array(other.shape[:2]) - 1.0
    splines = [RectBivariateSpline(*(numpy.arange(n + 1) for n in last.astype(int)), other[..., k]) for k in range(3)]

    def at(uv: numpy.ndarray, du: int = 0, dv: int = 0) -> numpy.ndarray:
        return numpy.stack([s.ev(uv[:, 0], uv[:, 1], dx=du, dy=dv) for s in splines], axis=1)

    flat = points.reshape(-1, 3)
    _, nearest = cKDTree(other.reshape(-1, 3)).query(flat)
    uv = numpy.stack(numpy.unravel_index(nearest, other.shape[:2]), axis=1).astype(float)
    for _ in range(STEPS):
        away, along = at(uv) - flat, [at(uv, 1, 0), at(uv, 0, 1)]
        uu, vv = ((a * a).sum(axis=1) for a in along)
        cross = (along[0] * along[1]).sum(axis=1)
        pull = [(away * a).sum(axis=1) for a in along]
        within = numpy.maximum(uu * vv - cross**2, 1e-12 * uu * vv + 1e-300)
        step = numpy.stack([cross * pull[1] - vv * pull[0], cross * pull[0] - uu * pull[1]], axis=1) / within[:, None]
        step = numpy.clip(step, -1.0, 1.0)
        for k, square in ((0, vv), (1, uu)):
            # Held at an edge in one direction, the foot slides along it in the other.
            out = (uv[:, k] + step[:, k] < 0) | (uv[:, k] + step[:, k] > last[k])
            slid = -(pull[1 - k] / numpy.maximum(square, 1e-300))
            step[out, 1 - k] = numpy.clip(slid[out], -1.0, 1.0)
        uv = numpy.clip(uv + step, 0.0, last)
    away = flat - at(uv)
    normal = numpy.cross(at(uv, 0, 1), at(uv, 1, 0))
    size = numpy.linalg.norm(normal, axis=1)
    # Out to the side of the hull the grid is of, whichever way its lines run.
    way = 1.0 if normal[:, 1].sum() >= 0 else -1.0
    square = -way * (away * normal).sum(axis=1) / numpy.where(size > 0, size, 1.0)
    distance = numpy.linalg.norm(away, axis=1)
    edge = (uv < ON_EDGE).any(axis=1) | (uv > last - ON_EDGE).any(axis=1)
    # On an edge a gap may be square to the surface all the same.
    aslant = edge & (numpy.abs(square) < 0.99 * distance)
    outside = numpy.where(aslant | (size == 0), numpy.nan, square)
    return distance.reshape(points.shape[:2]), outside.reshape(points.shape[:2])


def _areas(points: numpy.ndarray) -> numpy.ndarray:
    """Area about each point of a grid: a quarter of each cell it is a corner of."""
    a, b = points[1:, 1:] - points[:-1, :-1], points[1:, :-1] - points[:-1, 1:]
    cells = 0.125 * numpy.linalg.norm(numpy.cross(a, b), axis=-1)
    areas = numpy.zeros(points.shape[:2])
    for i in (slice(None, -1), slice(1, None)):
        for j in (slice(None, -1), slice(1, None)):
            areas[i, j] += cells
    return areas


def _mean(values: numpy.ndarray) -> float:
    values = values[numpy.isfinite(values)]
    return float(values.mean()) if len(values) else float("nan")
