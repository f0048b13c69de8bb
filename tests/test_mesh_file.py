"""The hull as a mesh in a file, read back by trimesh, which also judges whether it closes."""

import json

import numpy as np
import pytest
import trimesh
from conftest import SAMPLES

import scrieve
from scrieve.hull.mesh_file import FORMATS

AS_BUILT = SAMPLES / "as-built"


def back(path):
    mesh = trimesh.load(path, force="mesh")
    mesh.merge_vertices()
    return mesh


@pytest.mark.parametrize("suffix", FORMATS)
def test_every_kind_of_file_is_she_at_the_scale_in_millimetres(tmp_path, suffix):
    hull = scrieve.read(SAMPLES / "sandling.offsets").fair()
    path = tmp_path / f"hull.{suffix}"
    hull.write_mesh(path, scale=12.0, tolerance=0.002)
    read, whole = back(path), trimesh.Trimesh(*hull.mesh(0.002), process=False)
    assert read.is_watertight and read.is_winding_consistent
    # What is read in single precision is as near as that.
    assert read.volume == pytest.approx(whole.volume * (1e3 / 12.0) ** 3, rel=1e-5)
    assert np.sort(read.extents) == pytest.approx(np.sort(whole.extents) * 1e3 / 12.0, rel=1e-5)
    if suffix == "3mf":
        assert read.units in ("mm", "millimeter", "millimeters")


@pytest.mark.parametrize("name", ["wigeon", "spoonbill", "bittern", "scaup", "smew"])
def test_a_half_has_a_flat_back_and_half_of_her(tmp_path, name):
    hull = scrieve.read(AS_BUILT / f"{name}.offsets").fair()
    whole = hull.write_mesh(tmp_path / "whole.stl", scale=16.0)
    hull.write_mesh(tmp_path / "half.stl", scale=16.0, half=True)
    half = back(tmp_path / "half.stl")
    assert half.is_watertight and half.is_winding_consistent
    assert half.volume == pytest.approx(0.5 * whole.volume, rel=1e-5)
    assert half.bounds[0][1] == pytest.approx(0.0, abs=1e-6)
    flat = np.abs(half.triangles[:, :, 1]).max(axis=1) < 1e-6
    # Its back looks the other way; single precision may turn a sliver over.
    areas = half.area_faces[flat]
    assert (areas * half.face_normals[flat][:, 1]).sum() == pytest.approx(-areas.sum(), rel=1e-4)


def test_the_verb_says_what_it_wrote_and_refuses_what_it_cannot(run, tmp_path):
    table = SAMPLES / "mudlark.offsets"
    done = run("mesh", table, "-o", tmp_path / "m.3mf", "--scale", "8", "--half", "--json")
    told = json.loads(done.stdout)
    assert done.returncode == 0 and told["faces"] == len(back(tmp_path / "m.3mf").faces)
    for name, more, said in (
        ("m.docx", (), "no mesh file: expected .stl, .ply, .3mf"),
        ("-", (), "no mesh file"),
        ("m.stl", ("--scale", "0"), "0.0 is not in the range"),
        ("m.stl", ("--within", "1m"), "tolerance of a mesh must be from 0.01 to 100 mm"),
    ):
        done = run("mesh", table, "-o", tmp_path / name if name != "-" else "-", *more)
        assert done.returncode == 2 and said in done.stderr and "Traceback" not in done.stderr, done.stderr
        assert not (tmp_path / name).exists()
    with pytest.raises(scrieve.ScrieveError, match="was read, and no input is written over"):
        (tmp_path / "boat.stl").write_text(table.read_text())
        hull = scrieve.read(tmp_path / "boat.stl", reader="offsets").fair()
        hull.write_mesh(tmp_path / "boat.stl")
