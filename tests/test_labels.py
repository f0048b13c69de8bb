"""Labels on what is picked up: no two over one another, on any sample, and none lost where all have a place."""

import itertools

import numpy
import pytest
from conftest import SAMPLES
from shapely import Polygon
from shapely.strtree import STRtree

import scrieve

BOATS = [*sorted(SAMPLES.glob("*.offsets")), *sorted((SAMPLES / "era").glob("*.offsets"))]
# A common sans serif is as broad as this part of its height, letter by letter, on the average.
LETTER = 0.6


def boxes(drawing):
    """Each text with the box it is lettered in."""
    for text in drawing.texts():
        high, angle = text["height_mm"], numpy.radians(text["angle"])
        long = LETTER * high * len(text["text"])
        back = {"start": 0.0, "middle": long / 2, "end": long}[text["anchor"]]
        along, up = (
            numpy.array([numpy.cos(angle), numpy.sin(angle)]),
            numpy.array([-numpy.sin(angle), numpy.cos(angle)]),
        )
        corner = numpy.array(text["at"]) - back * along
        yield (
            text["text"],
            Polygon([corner, corner + long * along, corner + long * along + high * up, corner + high * up]),
        )


def over_one_another(drawing):
    """Pairs of labels that run over one another by more than the corner of a letter."""
    said, polygons = zip(*boxes(drawing), strict=True)
    for i, j in STRtree(polygons).query(polygons, predicate="intersects").T:
        if i < j and polygons[i].intersection(polygons[j]).area > 0.05 * min(polygons[i].area, polygons[j].area):
            yield said[i], said[j]


@pytest.fixture(scope="module", params=BOATS, ids=lambda path: path.stem)
def hull(request):
    return scrieve.read(request.param).fair()


def planking(hull):
    """The table's planking, or a common one where it gives none."""
    return hull.source.facts.get("planking", 0.012)


@pytest.mark.parametrize("pattern", ["moulds", "pieces", "set-up", "close set-up", "bevels", "transom", "backbone"])
def test_no_two_labels_lie_over_one_another(hull, pattern):
    deduct = {"deduct": planking(hull)}
    if pattern == "transom" and not hull.has_transom:
        with pytest.raises(scrieve.LoftError, match="no transom"):
            hull.transom(0.022, planking(hull))
        return
    drawings = {
        "moulds": lambda: hull.moulds(**deduct),
        "pieces": lambda: hull.moulds(**deduct, pieces=True),
        "set-up": lambda: [hull.mould_set(**deduct).set_up_drawing(hull._core)],
        "close set-up": lambda: [hull.mould_set(**deduct, spacing=0.05).set_up_drawing(hull._core)],
        "bevels": lambda: [hull.mould_set(**deduct).bevel_board()],
        "transom": lambda: [hull.transom(0.022, planking(hull)).drawing()],
        "backbone": lambda: hull.backbone(thickness=planking(hull)).drawings(),
    }[pattern]()
    assert drawings
    found = {d.name: list(itertools.islice(over_one_another(d), 3)) for d in drawings if d.texts()}
    assert not any(found.values()), {name: pairs for name, pairs in found.items() if pairs}


def test_every_mould_of_a_set_up_is_told_however_close_they_stand(hull):
    moulds = hull.mould_set(deduct=planking(hull), spacing=0.05)
    said = [text["text"] for text in moulds.set_up_drawing(hull._core).texts()]
    stations = moulds.set_up()["station"]
    assert len(stations) > 50
    for station in stations:
        assert sum(text.startswith(f"{station}: ") for text in said) == 1, station


def test_every_piece_and_line_of_the_backbone_in_profile_is_named(hull):
    backbone = hull.backbone(thickness=planking(hull))
    profile, plan = (next(d for d in backbone.drawings() if d.name == name) for name in ("backbone", "keel-plan"))
    said = [text["text"] for text in profile.texts()]
    pieces = {name.upper() for name in backbone.pieces()["piece"]}
    assert pieces and pieces | {"RABBET LINE", "BEARDING LINE", "MIDDLE LINE", "BASE LINE"} <= set(said)
    assert set(backbone.keel()["station"]) <= set(said) & {text["text"] for text in plan.texts()}


def test_accents_are_spelled_in_plain_letters_and_stations_that_differ_in_them_alone_are_told_apart(tmp_path):
    text = (SAMPLES / "sandling.offsets").read_text(encoding="utf-8")
    head, rows = text.split("station", 1)
    cells, rest = rows.split("\n", 1)
    names = cells.split()
    names[names.index("3")], names[names.index("4")] = "é", "è"
    path = tmp_path / "elan.offsets"
    head = head.replace('name = "Sandling"', 'name = "Élan"')
    path.write_text(f"{head}station {' '.join(names)}\n{rest}", encoding="utf-8")
    drawings = scrieve.read(path).fair().moulds()
    made = [drawing.name for drawing in drawings]
    assert {"mould-e (3)", "mould-e (4)"} <= set(made) and len(set(made)) == len(made)
    said = {text["text"] for drawing in drawings for text in drawing.texts()}
    assert "Elan" in said and "MOULD e (3)" in said and not any("?" in one for one in said)
