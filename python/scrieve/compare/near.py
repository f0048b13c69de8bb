"""Boats nearer to one another than their readings can tell apart: copies, sisters, one boat measured twice.

Two shapes are laid on one another at the three ratios, along, across and up, that fit best (least squares), so that
a model shrunken across the grain, or taken at a wrong scale, is found all the same. What is left between corresponding
points, or between the surfaces themselves, is held against the standard deviations of both. Of tables laid out alike
the readings are compared one by one.
"""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING, Any

import numpy

from .gaps import gap

if TYPE_CHECKING:
    import pandas

    from .figures import Figures

# Pairs as near as this, in standard deviations of the difference of their surfaces, are listed: past three, chance
# would have to be kind.
NEAR_SDS = 3.0

# Breadth and height may differ from length by a ratio within this: wood shrinks by 12 % across the grain at most
# (common practice). Past it two boats of one form are two boats.
MOST_SHRUNKEN = 0.12

# Tables are laid out alike where this part of the fewer readings stand at one station and row.
LAID_OUT_ALIKE = 0.8

# No surface is known better than this, m: the tenth of a pencil line.
LEAST_SD_M = 5e-5

# Pairs whose corresponding points are no farther apart, part of the length, are held against one another surface to
# surface too: readings that leave a round forefoot or an end in doubt shift points along the boat, not off her. Of
# boats that are not of one form few come so near, and each takes a fifth of a second.
SLID = 0.006

COLUMNS = ("first", "second", "distance", "between", "sds", "length", "breadth", "height", "cells", "differing")


def pairs(names: list[str], figures: list[Figures], faces: list[str | None]) -> pandas.DataFrame:
    """The pairs, nearest first, as `Collection.near` gives them. `faces`: those of the planking they were read off."""
    import pandas

    boats = zip(names, figures, faces, strict=True)
    known = [(name, found, face) for name, found, face in boats if found.points is not None]
    rows = []
    if len(known) > 1:
        points = numpy.array([found.points for _, found, _ in known], dtype=float).reshape(len(known), -1, 3)
        # Where forward end and lowest rabbet lie is no part of a shape; the centreline is.
        points[..., [0, 2]] -= points[..., [0, 2]].mean(axis=1, keepdims=True)
        products = numpy.stack([points[..., k] @ points[..., k].T for k in range(3)], axis=-1)
        squares = numpy.einsum("iik->ik", products)
        for i in range(len(known)):
            for j in range(i + 1, len(known)):
                row = _pair(known[i], known[j], points[i], points[j], products[i, j] / squares[j])
                if row is not None:
                    rows.append(row)
    rows.sort(key=lambda row: row[4])
    frame = pandas.DataFrame(rows, columns=list(COLUMNS))
    frame.attrs["units"] = {"distance": "m"}
    return frame


def _pair(
    one: tuple[str, Figures, str | None],
    other: tuple[str, Figures, str | None],
    p: numpy.ndarray,
    q: numpy.ndarray,
    ratios: numpy.ndarray,
) -> tuple[Any, ...] | None:
    along = ratios[0]
    if one[1].points is None or other[1].points is None:
        return None
    if along <= 0 or (abs(ratios / along - 1) > MOST_SHRUNKEN).any():
        return None
    distance = float(numpy.sqrt(((p - q * ratios) ** 2).sum(axis=-1).mean()))
    sd = float(numpy.hypot(one[1].surface_sd, along * other[1].surface_sd))
    sds = distance / max(sd, LEAST_SD_M)
    between = "corresponding points"
    if not sds <= NEAR_SDS:
        if distance > SLID * float(numpy.ptp(p[:, 0])):
            return None
        shapes = [one[1].points.astype(float), other[1].points.astype(float)]
        tried = [(gap(("", ""), shapes[0], shapes[1] * by).rms, by) for by in (numpy.ones(3), ratios)]
        distance, ratios = min(tried, key=lambda t: t[0])
        sds, between = distance / max(sd, LEAST_SD_M), "surfaces"
        if not sds <= NEAR_SDS:
            return None
    # Of two faces every reading differs, by what the planking is thick.
    cells = differing(one[1], other[1]) if one[2] == other[2] else None
    said = "" if not cells else ", ".join(cells)
    return one[0], other[0], distance, between, sds, *map(float, ratios), -1 if cells is None else len(cells), said


def differing(one: Figures, other: Figures) -> list[str] | None:
    """Readings of one station and row that differ by more than both their tolerances; `None` where few have a fellow.

    Readings of a row are compared at the ratio most of its kind show.
    """
    theirs = {(station, row): (read, worth) for station, row, read, worth in other.readings}
    both = [(s, r, a, w, *theirs[s, r]) for s, r, a, w in one.readings if (s, r) in theirs]
    if len(both) < LAID_OUT_ALIKE * min(len(one.readings), len(other.readings)) or not both:
        return None
    ratios: dict[str, list[float]] = {}
    for _, row, a, _, b, _ in both:
        if b != 0:
            ratios.setdefault(_kind(row), []).append(a / b)
    usual = {kind: median(found) if len(found) > 2 else 1.0 for kind, found in ratios.items()}
    found = []
    for station, row, a, wa, b, wb in both:
        ratio = usual.get(_kind(row), 1.0)
        if abs(a - ratio * b) > 1.001 * (wa + ratio * wb):
            found.append(f"{row} at {station} ({1e3 * a:.0f} and {1e3 * b:.0f} mm)")
    return found


def _kind(row: str) -> str:
    """What rows are read alike: heights, half-breadths, or out along a diagonal."""
    words = row.split()
    if words[0] in ("buttock", "rabbet", "keel") or words[-1] == "height":
        return "height"
    return "diagonal" if words[0] == "diagonal" else "distance" if words[-1] == "stem" else "breadth"
