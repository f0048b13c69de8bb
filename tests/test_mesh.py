"""The hull as a mesh, as trimesh judges it: closed, outside out, port as starboard, the water her own figures say."""

import numpy as np
import pytest
import trimesh
from conftest import SAMPLES
from scipy.spatial import cKDTree

import scrieve
from scrieve._core import depths

BOATS = sorted(SAMPLES.glob("**/*.offsets"))


@pytest.mark.parametrize("path", BOATS, ids=lambda path: path.stem)
def test_every_sample_is_a_closed_mesh_that_displaces_what_she_does(path):
    hull = scrieve.read(path).fair()
    vertices, faces = hull.mesh()
    assert vertices.shape[1] == faces.shape[1] == 3 and vertices.dtype == float
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    # One skin without a handle or a wall inside: watertight, wound one way, Euler's number that of a ball.
    assert mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0.0
    assert mesh.euler_number == 2 and mesh.body_count == 1
    assert len(np.unique(faces)) == len(vertices)
    # Both sides the same to the bit.
    mirrored = {tuple(p) for p in vertices * (1.0, -1.0, 1.0) + 0.0}
    assert mirrored == {tuple(p) for p in vertices + 0.0}
    # What lies below a level waterline, closed by the plane itself: as the hull's own integrals have it.
    low, sheer = depths(hull._core)
    for part in (0.35, 0.8):
        level = low + part * (sheer - low)
        below = trimesh.intersections.slice_mesh_plane(mesh, [0, 0, -1], [0, 0, level])
        wet = trimesh.Trimesh(below.vertices - [0, 0, level], below.faces, process=False)
        assert wet.volume == pytest.approx(hull.hydrostatics(draught=level).volume, rel=2e-4)


def test_spots_between_lie_within_the_tolerance():
    hull = scrieve.read(SAMPLES / "sandling.offsets").fair()
    fine = trimesh.Trimesh(*hull.mesh(5e-5), process=False)
    near = cKDTree(fine.vertices)
    for tolerance in (0.02, 0.005, 0.0005):
        vertices, faces = hull.mesh(tolerance)
        # What is straight across has no spots between: only the side is asked.
        side = faces[(vertices[faces][:, :, 1] > 1e-6).all(axis=1)]
        middles = vertices[side].mean(axis=1)
        some = middles[:: max(1, len(middles) // 150)]
        for spot, nearest in zip(some, near.query(some, k=6)[1], strict=True):
            faces_near = np.unique(fine.vertex_faces[nearest])
            triangles = fine.triangles[faces_near[faces_near >= 0]]
            closest = trimesh.triangles.closest_point(triangles, np.repeat([spot], len(triangles), axis=0))
            assert np.linalg.norm(closest - spot, axis=1).min() < tolerance, (tolerance, spot)
    coarse, finer = hull.mesh(0.02)[1], hull.mesh(0.0005)[1]
    assert len(coarse) < len(finer)


@pytest.mark.parametrize("tolerance", [0.0, -1.0, float("nan"), float("inf"), 1e-9, 5.0])
def test_a_tolerance_that_is_none_is_refused(tolerance):
    with pytest.raises(scrieve.HullError, match="tolerance of a mesh must be from 0.01 to 100 mm"):
        scrieve.read(SAMPLES / "sandling.offsets").fair().mesh(tolerance)
