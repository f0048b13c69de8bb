"""The hull as a mesh in a file, for whoever prints or routs a model: STL, PLY, 3MF and what else trimesh writes.

trimesh is the well-kept library that writes them (the extra `mesh`). All files are in millimetres: STL and PLY say no
unit, and millimetres are what printers and routers take them for (common practice); 3MF says so itself.
"""

from __future__ import annotations

import os
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

    `tolerance` is how near to the hull it is, m at full size; left out, 0.05 mm of the model. `half` is the starboard half,
    flat on the centreline, as a half model is. Raises `HullError` for a suffix that is not in `FORMATS`, a scale or a
    tolerance that is none, `ScrieveError` where trimesh is not there.
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
        import lxml  # noqa: F401 # 3MF is written with it
        import mapbox_earcut  # noqa: F401 # closes a half
        import networkx  # noqa: F401 # 3MF is written with it
        import trimesh
    mesh = trimesh.Trimesh(1e3 / scale * vertices, faces, process=False)
    if half:
        mesh = trimesh.intersections.slice_mesh_plane(mesh, [0, 1, 0], [0, 0, 0], cap=True, engine="earcut")
        mesh.merge_vertices()
    if not mesh.is_watertight:
        raise error(HullError, f"the mesh of {hull.name} does not close: it is not written", where=path)
    mesh.units = "mm"
    mesh.metadata["name"] = hull.name
    data = mesh.export(file_type=suffix)
    refuse_input(path)
    replace(path, data.encode() if isinstance(data, str) else data)
    return mesh
