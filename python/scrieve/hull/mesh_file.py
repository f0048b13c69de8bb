"""The hull as a mesh in a file, for whoever prints or routs a model: STL, PLY, 3MF and what else trimesh writes.

trimesh is the well-kept library that writes them (the extra `mesh`). All files are in millimetres: STL and PLY say no
unit, and millimetres are what printers and routers take them for (common practice); 3MF says so itself.
"""

from __future__ import annotations

import os
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from ..errors import HullError, error
from ..extras import extra
from ..outputs import refuse_input, replace

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# What is written, and what each is for.
FORMATS = {
    "stl": "printers and routers",
    "ply": "meshes in general",
    "3mf": "printers, with its unit",
    "obj": "pictures",
    "glb": "pictures",
}

# How near a model is to the hull where nobody says, m of the model: below what is printed or routed.
NEAR_M = 5e-5

# Models that make sense: a ship's on a mantelpiece, and her full size.
SCALES = (1.0, 1000.0)


class Meshed(Protocol):
    """What has a name and a mesh: a hull."""

    @property
    def name(self) -> str: ...

    def mesh(self, tolerance: float) -> tuple[NDArray[np.float64], NDArray[np.int64]]: ...


def write_mesh(
    hull: Meshed, path: str | os.PathLike[str], scale: float = 1.0, tolerance: float | None = None, half: bool = False
) -> Any:
    """Writes the hull's mesh, 1 to `scale`, mm, whole or not at all, and gives it as trimesh has it.

    `tolerance` is how near to the hull it is, m at full size; left out, 0.05 mm of the model. `half` is the starboard
    half, flat on the centreline, as a half model is. Raises `HullError` for a suffix that is not in `FORMATS`,
    a scale or a tolerance that is none, `ScrieveError` where trimesh is not there.
    """
    path = Path(path)
    suffix = path.suffix.lower().lstrip(".")
    if suffix not in FORMATS:
        remedy = f"expected {', '.join(f'.{one}' for one in FORMATS)}"
        raise error(HullError, f"{path.name} is no mesh file", where=path, remedy=remedy)
    if not SCALES[0] <= scale <= SCALES[1]:
        raise error(HullError, f"a model of 1:{scale:g} makes no sense", where=scale, remedy="expected 1 to 1000")
    if tolerance is None:
        tolerance = min(max(NEAR_M * scale, 1e-4), 5e-3)
    vertices, faces = hull.mesh(tolerance)
    with extra("mesh"):
        for needed in ("lxml", "networkx"):  # 3MF is written with them
            import_module(needed)
        trimesh: Any = import_module("trimesh")
        shapely: Any = import_module("shapely")
    if half:
        vertices, faces = _half(vertices, faces, shapely)
    mesh = trimesh.Trimesh(1e3 / scale * vertices, faces, process=False)
    if not mesh.is_watertight:
        raise error(HullError, f"the mesh of {hull.name} does not close: it is not written", where=path)
    mesh.units = "mm"
    mesh.metadata["name"] = hull.name
    data = mesh.export(file_type=suffix)
    refuse_input(path)
    replace(path, data.encode() if isinstance(data, str) else data)
    return mesh


def _half(
    vertices: NDArray[np.float64], faces: NDArray[np.int64], shapely: Any
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """The starboard half: its own faces, straight across to the centreline where they are open, and the profile as its
    back, by the same spots, so that nothing gapes."""
    import numpy

    y = vertices[:, 1]
    own = faces[(y[faces] >= 0.0).all(axis=1) & (y[faces] > 0.0).any(axis=1)]
    sides = {(int(a), int(b)) for face in own for a, b in zip(face, numpy.roll(face, -1), strict=True)}
    # Each open edge, one way, to the next round the half.
    after = {a: b for a, b in sides if (b, a) not in sides}
    spots = [*vertices]
    back = {}
    for a in after:
        if y[a] > 0.0:
            back[a] = len(spots)
            spots.append(vertices[a] * (1.0, 0.0, 1.0))
        else:
            back[a] = a
    across = [
        face for a, b in after.items() for face in ((b, a, back[a]), (b, back[a], back[b])) if len(set(face)) == 3
    ]
    start = next(iter(after))
    ring = [start]
    while (then := after[ring[-1]]) != start:
        ring.append(then)
    profile = numpy.array([spots[back[a]][[0, 2]] for a in ring])
    outline = shapely.Polygon(profile)
    if outline.is_valid:
        number = {tuple(spot): i for i, spot in enumerate(profile)}
        found = [
            [number[tuple(corner)] for corner in numpy.asarray(triangle.exterior.coords)[:3]]
            for triangle in shapely.constrained_delaunay_triangles(outline).geoms
        ]
    else:
        # An end that is straight across may be seen to cross itself by a hair where post and transom meet.
        found = _ears(profile)
    cap = []
    for one in found:
        (ax, az), (bx, bz), (cx, cz) = profile[one]
        # Its back is seen from port, with x to the left: anticlockwise there.
        is_turned = (bx - ax) * (cz - az) - (bz - az) * (cx - ax) < 0.0
        corners = [back[ring[i]] for i in one]
        cap.append(corners[::-1] if is_turned and outline.is_valid else corners)
    return numpy.array(spots), numpy.concatenate([own, numpy.array(across), numpy.array(cap)])


def _ears(ring: NDArray[np.float64]) -> list[list[int]]:
    """Triangles that fill a ring, (n, 2), using every spot of it once: its ears cut off one by one, the plumpest first,
    and where there is none, as in a ring that crosses itself, the least corner. They run as an anticlockwise ring does.
    """
    import numpy

    turned = numpy.roll(ring, -1, axis=0)
    way = 1.0 if (ring[:, 0] * turned[:, 1] - turned[:, 0] * ring[:, 1]).sum() > 0.0 else -1.0
    left = list(range(len(ring)))
    triangles = []
    while len(left) > 3:
        at = ring[left]
        before, after = numpy.roll(at, 1, axis=0), numpy.roll(at, -1, axis=0)
        areas = way * _cross(at - before, after - at)
        ears = [int(i) for i in numpy.argsort(-areas) if areas[i] > 0.0]
        ear = next((i for i in ears if not _holds(before[i], at[i], after[i], at, way)), None)
        if ear is None:
            ear = int(numpy.argmin(abs(areas)))
        one = [left[ear - 1], left[ear], left[(ear + 1) % len(left)]]
        triangles.append(one if way > 0.0 else one[::-1])
        del left[ear]
    return [*triangles, left if way > 0.0 else left[::-1]]


def _cross(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


def _holds(
    a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64], spots: NDArray[np.float64], way: float
) -> bool:
    """Whether any of the spots lies within a triangle, its corners left out."""
    within = [way * _cross(q - p, spots - p) > 1e-12 for p, q in ((a, b), (b, c), (c, a))]
    return bool((within[0] & within[1] & within[2]).any())
