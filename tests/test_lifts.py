"""The lifts of a half model: each holds all of the hull between its joints and hardly more, and glued they are her."""

import numpy as np
import pytest
import shapely
import trimesh
from conftest import SAMPLES

import scrieve
from scrieve import _core
from scrieve.patterns.lifts import lifts

BOATS = sorted(SAMPLES.glob("as-built/*.offsets"))[::4] + [SAMPLES / "sandling.offsets", SAMPLES / "mudlark.offsets"]


def outlines(drawing):
    """The cut outlines, mm, closed."""
    cut = {layer["name"] for layer in drawing.layers if layer["operation"] == "cut outside"}
    return [shapely.Polygon(path["points"]) for path in drawing.paths(0.001) if path["layer"] in cut]


@pytest.mark.parametrize("path", BOATS, ids=lambda path: path.stem)
def test_each_lift_holds_what_the_hull_has_between_its_joints_and_no_more(path):
    hull = scrieve.read(path).fair()
    scale, thickness = 11.0, 0.009
    drawn, _, columns, tips = _core.lifts(hull._core, scale=scale, thickness=thickness)
    vertices, faces = hull.mesh(0.0006)
    fore = hull._core.mesh(0.0006)[0][:, 0].min()
    model = trimesh.Trimesh((vertices - [fore, 0, 0]) * (1e3 / scale), faces, process=False)
    levels = {}
    for lift, low, high in zip(columns["lift"], columns["from_z"], columns["to_z"], strict=True):
        levels[lift] = (low * 1e3 / scale, high * 1e3 / scale)
    assert len(levels) == len(drawn) >= 3
    # The joints lie on one another, from her foot to her top, and each lift is as thick as it is told but the two ends.
    ordered = [levels[i + 1] for i in range(len(levels))]
    assert all(a[1] == pytest.approx(b[0]) for a, b in zip(ordered, ordered[1:], strict=False))
    assert all(high - low == pytest.approx(1e3 * thickness) for low, high in ordered[1:-1])
    volume = 0.0
    for drawing, (low, high) in zip(drawn, ordered, strict=True):
        slab = trimesh.intersections.slice_mesh_plane(model, [0, 0, 1], [0, 0, low + 1e-6])
        slab = trimesh.intersections.slice_mesh_plane(slab, [0, 0, -1], [0, 0, high - 1e-6])
        seen = slab.vertices[slab.vertices[:, 1] >= 0.0][:, :2]
        whole = shapely.union_all(outlines(drawing))
        assert whole.is_valid and not whole.is_empty
        off = shapely.distance(whole, shapely.points(seen))
        for height, along in tips:
            if low <= 1e3 / scale * height + 1e-6 < high:
                off[(seen[:, 0] > 1e3 * along - 0.01) & (seen[:, 0] < 1e3 * along + 2.0)] = 0.0
        assert off.max() < 0.02, f"{drawing.name}: {off.max():.3f} mm of the hull is outside"
        # No more than her: every spot of the edge is near a spot of her, as the mesh's spots are apart.
        edge = shapely.get_coordinates(whole.boundary)
        edge = edge[edge[:, 1] > 0.05]
        sides = slab.triangles[slab.triangles[:, :, 1].max(axis=1) > 0.0][:, :, :2]
        seen_from_above = shapely.polygons(sides[np.ptp(sides, axis=1).min(axis=1) > 1e-6])
        tree = shapely.STRtree(seen_from_above)
        _, beyond = tree.query_nearest(shapely.points(edge), return_distance=True, all_matches=False)
        assert beyond.max() < 0.03, drawing.name
        volume += whole.area * (high - low)
        assert [f for f in drawing.check() if f["fault"] != "respelled"] == []
    # The glued blank holds her with what is carved away.
    assert 0.5 * model.volume < volume < 1.5 * 0.5 * model.volume


def test_a_whole_model_is_the_half_and_its_mirror_image():
    hull = scrieve.read(SAMPLES / "mudlark.offsets").fair()
    half = lifts.draw(hull, scale=8.0)
    whole = lifts.draw(hull, scale=8.0, whole=True)
    assert [d.name for d in half] == [d.name for d in whole]
    for one, both in zip(half[:-1], whole[:-1], strict=True):
        for a, b in zip(outlines(one), outlines(both), strict=True):
            mirrored = shapely.transform(a, lambda p: p * [1.0, -1.0])
            assert b.area == pytest.approx(2.0 * a.area, rel=1e-6)
            assert shapely.union(a, mirrored).hausdorff_distance(b) < 0.005
        assert one.parts()["grain"] == [0.0] * len(outlines(one))


def test_a_joint_lies_where_it_is_told_and_at_the_load_waterline_where_it_is_not():
    hull = scrieve.read(SAMPLES / "sandling.offsets").fair()
    load = hull.source.facts["load_waterline"]
    for joint, at in ((None, load), (0.4, 0.4), (0.0, 0.0)):
        table = lifts.draw(hull, joint=joint).tables["lifts"]
        steps = (table.boat_from.to_numpy()[1:] - at) / (0.0127 * 12.0)
        assert np.abs(steps - np.round(steps)).max() < 1e-9, joint


@pytest.mark.parametrize(
    "given, said",
    [
        ({"scale": 0.0}, "a model of 1:0 makes no sense"),
        ({"scale": float("nan")}, "makes no sense"),
        ({"lift": 0.0}, "lifts 0 mm thick make no sense"),
        ({"lift": -0.01}, "lifts -10 mm thick"),
        ({"lift": 0.0005, "scale": 1.0}, "lifts, and 200 are the most"),
        ({"joint": float("inf")}, "a joint at inf m"),
    ],
)
def test_lifts_of_no_size_are_refused(given, said):
    hull = scrieve.read(SAMPLES / "sandling.offsets").fair()
    with pytest.raises(scrieve.ScrieveError, match=said):
        lifts.draw(hull, **given)


def test_lifts_are_laid_on_boards_of_their_thickness():
    hull = scrieve.read(SAMPLES / "sandling.offsets").fair()
    laid = scrieve.nest(lifts.draw(hull), "1m x 0.2m x 12.7mm")
    assert laid.placed.part.tolist().count("lift 1") == 1
    # Grain runs along the board: never turned across it.
    assert set(laid.placed.turned % 180) == {0.0}


def test_what_a_shop_reads_of_a_lift_is_the_models(recwarn):
    hull = scrieve.read(SAMPLES / "sandling.offsets").fair()
    from scrieve.patterns.run import draw
    from scrieve.plugin.registry import find

    made = draw(find("patterns", "lifts"), hull, {"scale": 10.0, "lift": 0.03, "joint": 0.04})
    listed, parts = made.tables["lifts"], made.tables["parts"]
    # The board lies along the grain: it is as long and as wide as the lift.
    assert parts.length.tolist() == pytest.approx(listed.model_length.tolist(), abs=1e-5)
    assert parts.width.tolist() == pytest.approx(listed.model_breadth.tolist(), abs=1e-5)
    assert ((listed.boat_to - listed.boat_from) / 10.0).tolist() == pytest.approx(listed.model_height.tolist())
    for drawing in made[:-1]:
        assert any("1:10" in line for line in drawing.title_box)
        assert not any("full size" in line for line in drawing.title_box)
    thin = listed[listed.model_height < 0.15 * 0.03]
    said = [str(w.message) for w in recwarn if "of its board" in str(w.message)]
    assert len(thin) == len(said) > 0


def test_lifts_are_nested_and_lofted_where_they_are_asked_for(run, tmp_path):
    table = tmp_path / "sandling.offsets"
    table.write_text((SAMPLES / "sandling.offsets").read_text())
    (tmp_path / "shop.toml").write_text('[lifts]\nscale = 16\nlift = "10mm"\n')
    done = run("nest", table, "--sheet", "900mm x 200mm", "--patterns", "lifts", "-o", tmp_path / "laid")
    assert done.returncode == 0, done.stderr
    assert "lift 1" in (tmp_path / "laid" / "parts.csv").read_text()
    done = run("loft", table, "-o", tmp_path / "boat")
    assert (tmp_path / "boat" / "lifts" / "lift-1.dxf").exists(), done.stderr
    (tmp_path / "shop.toml").unlink()
    run("loft", table, "-o", tmp_path / "boat")
    assert not (tmp_path / "boat" / "lifts").exists()
