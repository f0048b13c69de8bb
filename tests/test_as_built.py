"""A boat of each kind of end, lofted whole: outlines, rabbet, plank angle, sheets. Her shapes are closed forms."""

import warnings

import numpy as np
import pytest
from conftest import SAMPLES

import scrieve
from scrieve.patterns import job

BOATS = sorted((SAMPLES / "as-built").glob("*.offsets"))

# Plank angles may turn so far, degrees in a centimetre, where the planking is fair.
MOST_TURN = 3.0
# And within so much of the heads, and of a corner of the surface, by boat: her *surface* is so, not the pattern.
ROUGH = {"eider": 100.0, "grebe": 60.0, "oystercatcher": 10.0}
# Curvature of the rabbet in profile is felt from here on, 1/m.
FELT = 0.02
# Hollows her line truly has: a clipper's stem, and a counter's or a transom's overhang abaft the post.
TURNS = {"phalarope": 1, "greylag": 2, "terns-rest": 2}
# The flat-bottomed boat's planking.
PLANKING_MM = 12.0


@pytest.fixture(scope="module", params=BOATS, ids=lambda path: path.stem)
def boat(request):
    return request.param.stem, scrieve.read(request.param).fair()


def outlines(drawing):
    """What is cut, as polygons in mm."""
    from shapely.geometry import Polygon

    return [Polygon(path["points"]) for path in drawing.paths() if path["layer"] == "Outlines"]


def test_there_is_a_boat_of_every_kind():
    assert len(BOATS) == 21


def test_she_is_lofted_whole(boat, tmp_path):
    name, hull = boat
    done = job.loft(hull, tmp_path)
    assert not done.failures
    assert (tmp_path / "index.html").exists() and all(file.stat().st_size > 0 for file in done.written)
    if hull.has_transom:
        assert (tmp_path / "transom" / "fashion-pieces.dxf").exists()


def test_what_is_cut_has_one_simple_outline_and_no_fault(boat):
    name, hull = boat
    backbone = hull.backbone()
    drawings = backbone.drawings() + hull.mould_set().drawings()
    if hull.has_transom:
        drawings += [hull.transom().drawing(), hull.fashion_pieces().drawing()]
    if hull.has_bow_transom:
        drawings.append(hull.bow_transom().drawing())
    for drawing in drawings:
        assert drawing.check() == [], drawing.name
        for polygon in outlines(drawing):
            assert polygon.is_valid and polygon.area > 0, drawing.name
    assert backbone.failures == []


def test_rabbet_and_plank_angle_run_smoothly_through_the_joints(boat):
    name, hull = boat
    line = hull.backbone().line()
    along, angle = line.along.to_numpy(), line.plank_angle.to_numpy()
    steps = np.diff(along)
    turn = np.abs(np.diff(angle)) / np.maximum(100 * steps, 1.0)
    felt = line.curvature[line.curvature.abs() > FELT]
    signs = int((np.diff(np.sign(felt)) != 0).sum())
    print(f"{name}: plank angle turns {turn.max():.2f} deg/cm at most, curvature changes sign {signs} times")
    assert signs <= TURNS.get(name, 0)
    assert turn.max() <= ROUGH.get(name, MOST_TURN)
    if len(joints := np.flatnonzero(line.piece.to_numpy()[1:] != line.piece.to_numpy()[:-1])):
        assert turn[joints].max() <= MOST_TURN


def test_a_bow_transom_is_told_as_what_it_is_an_assumption(boat):
    name, hull = boat
    from scrieve.patterns.transom import transom

    if not (hull.has_transom or hull.has_bow_transom):
        with pytest.raises(scrieve.LoftError, match="no transom"):
            transom.draw(hull)
        return
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        transom.draw(hull)
    assumed = [str(w.message) for w in told if "a bow transom is assumed" in str(w.message)]
    assert len(assumed) == hull.has_bow_transom
    assert all("[stem profile]" in said for said in assumed)


def test_a_fashion_piece_carries_the_transoms_edge_on():
    import shapely

    # Scaup's transom is flat; no planking taken off and next to no siding, its forward face is the pattern.
    hull = scrieve.read(SAMPLES / "as-built" / "scaup.offsets").fair()
    fashion = hull.fashion_pieces(sided=1e-4, moulded=0.07, thickness=0.022).drawing()
    (right,) = [p for p in outlines(fashion) if p.centroid.x > 0]
    inner = hull.transom(thickness=0.022).inner.points(4001)[:, 1:] * 1e3
    face = shapely.Polygon([*inner, *(inner[::-1] * [-1, 1])])
    # Both are measured up along the rake, from where their own faces pass the base line: the planes are parallel.
    rake = np.radians(hull.transom().rake)
    points = np.array(right.exterior.coords) + [-10.0, -22.0 * np.tan(rake)]
    # On the edge or 70 mm within it, but for the foot and the cut along the post.
    edge = shapely.distance(shapely.points(points), face.exterior)
    assert (edge < 0.1).mean() > 0.3
    within = edge[edge > 69.9]
    assert within.size and within.max() < 70.2


def test_moulded_to_nothing_there_are_no_fashion_pieces_and_too_wide_they_are_refused():
    from scrieve.patterns.transom import transom

    hull = scrieve.read(SAMPLES / "as-built" / "scaup.offsets").fair()
    assert [d.name for d in transom.draw(hull, fashion_moulded=0.0)] == ["transom"]
    assert [d.name for d in transom.draw(hull)] == ["transom", "fashion-pieces"]
    with pytest.raises(scrieve.LoftError, match="no room for fashion pieces"):
        # Her transom is 374 mm broad at the sheer.
        scrieve.read(SAMPLES / "as-built" / "moorhen.offsets").fair().fashion_pieces(moulded=0.2)
    with pytest.raises(scrieve.LoftError, match="must be"):
        hull.fashion_pieces(moulded=-0.1)


def test_a_heel_knee_and_a_keelson_lie_on_the_backbone_and_touch_nothing_else():
    hull = scrieve.read(SAMPLES / "turnstone.offsets").fair()
    backbone = hull.backbone(keelson_depth=0.05)
    names = set(backbone.pieces().piece.str.replace(" ", "-"))
    cut = {d.name: outlines(d)[0] for d in backbone.drawings() if d.name in names}
    assert {"heel-knee", "keelson"} <= set(cut)
    body = cut["keel"].union(cut["stem"]).union(cut["sternpost"])
    for name in ("heel-knee", "keelson"):
        piece = cut[name]
        # It lies on the wood: no overlap, and its foot along it.
        assert piece.intersection(body).area < 1e-3 * piece.area, name
        assert piece.boundary.intersection(body.boundary.buffer(0.2)).length > 0.3 * piece.length / 2, name
    assert cut["heel-knee"].intersection(cut["keelson"]).area < 1.0
    assert cut["keelson"].area == pytest.approx(50 * cut["keelson"].boundary.length / 2, rel=0.03)
    on_floors = hull.backbone(keelson_depth=0.05, keelson_above=0.06, keelson_siding=0.1)
    row = on_floors.pieces().set_index("piece").loc["keelson"]
    assert row.sided == pytest.approx(0.1) and row.moulded_most == pytest.approx(0.05)
    raised = next(outlines(d)[0] for d in on_floors.drawings() if d.name == "keelson")
    assert raised.distance(body) == pytest.approx(60.0, abs=1.0)


def test_a_flat_bottoms_keelson_lies_on_the_inside_of_the_bottom():
    hull = scrieve.read(SAMPLES / "as-built" / "bittern.offsets").fair()
    drawings = {d.name: d for d in hull.backbone(keelson_depth=0.04, keelson_siding=0.09).drawings()}
    keelson = outlines(drawings["keelson"])[0]
    assert keelson.is_valid and drawings["keelson"].check() == []
    x = hull.source.station_x["5"]
    low = min(z for px, z in keelson.exterior.coords if abs(px - 1e3 * x) < 60)
    height = hull.backbone().bottom().set_index("station").loc["5"].height
    # Half an inch of planking, square to a bottom that is all but level there.
    assert low == pytest.approx(1e3 * height + PLANKING_MM, abs=1.0)


def test_every_station_is_named_on_the_backbone(boat):
    _, hull = boat
    assembly = next(d for d in hull.backbone().drawings() if d.name == "backbone")
    said = {text["text"] for text in assembly.texts()}
    box = np.vstack([p["points"] for p in assembly.paths() if p["layer"] == "Pieces"])
    low, high = box[:, 0].min(), box[:, 0].max()
    on_it = [s for s, x in hull.source.station_x.items() if x is not None and low <= 1e3 * x <= high]
    assert set(on_it) <= said


def test_the_rabbet_is_one_line_from_head_to_head(boat):
    name, hull = boat
    rabbet, sheer = hull.line("rabbet"), hull.line("sheer").points(3)
    points = rabbet.points(4001)
    # Whatever is lofted of the backbone, stem and post too, lies on it.
    line = hull.backbone().line()
    for x, z in zip(line.from_stem, line.height, strict=True):
        assert np.hypot(points[:, 0] - x, points[:, 2] - z).min() < 2.5e-3, (name, x, z)
    heads = {"[stem profile]": 0} | ({} if hull.has_transom else {"[stern profile]": -1})
    for block, end in heads.items():
        if block in hull.source.to_text():
            assert abs(points[end] - sheer[end]).max() < 1e-3, block
