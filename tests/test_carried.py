"""Hulls, curves, tables and readings go to other processes and come back the same, and nobody changes what is held."""

import copy
import pickle
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np
import pytest
from conftest import SAMPLES

import scrieve
from scrieve.compare.shapes import sample


@pytest.fixture(scope="module")
def pool():
    """Another process, begun afresh."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as executor:
        yield executor


def asked(hull):
    """Figures that hang on all of a hull, and on what was said of her."""
    at = hull.hydrostatics(draught=0.23)
    places = sample(hull)
    return at, places.tobytes(), hull.remarks, hull.corrections().to_csv(), hull.table().to_text(), hull.sd(2.0, 0.3)


def of_curve(curve):
    return curve.points(50).tobytes(), curve.length, curve.corners.tobytes(), curve.curvature(20).tobytes(), curve.svg()


def made(kind, table):
    hull = table.fair()
    if kind == "stiff":
        return table.fair(stiffness=1.5, robust=False, tolerance={"sheer": 0.002, ("4", "sheer height"): 0.001})
    if kind == "faired again":
        x = table.reading("4", "sheer height") + scrieve.Reading("1mm")
        return table.with_reading("4", "sheer height", x).fair(previous=hull)
    return {"faired": lambda: hull, "inside": lambda: hull.to("inside"), "sample": lambda: hull.samples(3, seed=5)[1]}[
        kind
    ]()


@pytest.mark.parametrize("kind", ["faired", "stiff", "faired again", "inside", "sample"])
def test_a_hull_in_another_process_is_the_same_to_the_bit(pool, sandling, kind):
    hull = made(kind, sandling)
    assert pool.submit(asked, hull).result(timeout=120) == asked(hull)
    # And so is one that was carried twice.
    assert asked(pickle.loads(pickle.dumps(pickle.loads(pickle.dumps(hull))))) == asked(hull)


def test_curves_tables_and_readings_are_the_same_in_another_process(pool, sandling, sandling_hull):
    bent = scrieve.batten([(0, 0.3), (1, 0.12), (2, 0.05)], tolerance=0.001)
    for curve in (sandling_hull.section(2.0), sandling_hull.line("rabbet"), sandling_hull.mould(2.0, 0.016), bent):
        assert pool.submit(of_curve, curve).result(timeout=120) == of_curve(curve)
    assert pickle.loads(pickle.dumps(bent)).off == bent.off
    assert pool.submit(scrieve.Table.to_text, sandling).result(timeout=120) == sandling.to_text()
    assert pickle.loads(pickle.dumps(sandling)) == sandling
    reading = scrieve.Reading("3-4-5+?")
    back = pickle.loads(pickle.dumps(reading))
    assert (back, str(back), back.mark, hash(back)) == (reading, str(reading), "?", hash(reading))


@pytest.mark.parametrize("copied", [copy.copy, copy.deepcopy])
def test_hulls_curves_tables_and_readings_can_be_copied(sandling, sandling_hull, copied):
    assert asked(copied(sandling_hull)) == asked(sandling_hull)
    assert of_curve(copied(sandling_hull.section(2.0))) == of_curve(sandling_hull.section(2.0))
    assert copied(sandling) == sandling and copied(scrieve.Reading("3-4-5")) == scrieve.Reading("3-4-5")


# What is asked of arrays


def test_arrays_are_asked_point_by_point_and_broadcast(sandling_hull):
    x, z = np.linspace(1.0, 4.0, 4)[:, None], np.array([0.25, 0.35])
    for ask in (sandling_hull.half_breadth, sandling_hull.bevel, sandling_hull.sd, sandling_hull.normal):
        found = ask(x, z)
        assert found.shape[:2] == (4, 2) and found.dtype == float
        for i, j in np.ndindex(4, 2):
            assert found[i, j] == pytest.approx(ask(float(x[i, 0]), float(z[j])), rel=1e-12)
    assert sandling_hull.normal(x, z).shape == (4, 2, 3)
    assert sandling_hull.half_breadth([1.0, 2.0], 0.3).shape == (2,)
    assert sandling_hull.half_breadth(np.array([]), 0.3).shape == (0,)
    heights = sandling_hull.height(np.array([1.5, 2.5]), 0.2)
    assert heights == pytest.approx([sandling_hull.height(1.5, 0.2), sandling_hull.height(2.5, 0.2)])
    # A number of numpy's is a number, and what comes of it too.
    assert isinstance(sandling_hull.half_breadth(np.float32(2.0), np.float64(0.3)), float)


def test_a_point_off_the_hull_is_named_by_its_place_in_the_array(sandling_hull):
    with pytest.raises(scrieve.HullError, match="at index 1, 0: "):
        sandling_hull.half_breadth([[2.0], [99.0]], 0.3)
    with pytest.raises(ValueError, match="broadcast"):
        sandling_hull.half_breadth([1.0, 2.0], [0.1, 0.2, 0.3])


def test_upright_figures_over_an_array_of_draughts_are_those_of_each(sandling_hull):
    draughts = np.array([[0.2, 0.25], [0.3, 0.35]])
    over = sandling_hull.hydrostatics(draughts)
    for at in np.ndindex(2, 2):
        alone = sandling_hull.hydrostatics(float(draughts[at]))
        assert {name: values[at] for name, values in vars(over).items()} == pytest.approx(vars(alone))
    assert "volume" in str(over) and "licensed" in str(over)
    with pytest.raises(scrieve.FloatingError, match="at index 1: "):
        sandling_hull.hydrostatics([0.2, 9.0])


# Nobody changes what is held


def test_the_facts_of_a_boat_are_read_and_not_changed(tmp_path):
    (boat,) = scrieve.collection([SAMPLES / "sandling.offsets"], cache=False)
    before = copy.deepcopy(boat.facts)
    changes = [
        lambda f: f.update(year=1), lambda f: f.clear(), lambda f: f.pop("name"), lambda f: f.setdefault("x", 1),
        lambda f: f.__setitem__("year", 1), lambda f: f.__delitem__("name"), lambda f: f.popitem(),
        lambda f: f["transom"].clear(), lambda f: f["rigs"]["working"].append(1), lambda f: f.__ior__({"year": 1}),
        lambda f: next(iter(f["sails"].values())).clear(),
    ]  # fmt: skip
    for change in changes:
        with pytest.raises(TypeError, match="those of her file"):
            change(boat.facts)
    assert boat.facts == before and type(before) is dict and type(before["transom"]) is dict
    assert pickle.loads(pickle.dumps(boat)).facts == before
    before["year"] = 1  # a copy is one's own
    assert boat.facts.get("year") != 1


def test_the_points_of_shapes_are_read_and_not_changed():
    era = scrieve.collection(sorted((SAMPLES / "era").glob("*.offsets"))[:3], cache=False)
    shapes = era.shapes()
    held = shapes.points.copy()
    for of in (shapes.points, shapes[shapes.names[0]], shapes.years, shapes.points[0, 0]):
        with pytest.raises(ValueError, match="read-only"):
            of[...] = 0
    shapes.names.clear()
    with pytest.raises(AttributeError):
        shapes.points = held
    assert len(shapes.names) == 3 and (shapes.points == held).all() and shapes.distances().shape == (3, 3)
    for count in (0, -1, float("nan")):
        with pytest.raises(scrieve.ScrieveError, match="expected 1"):
            shapes.directions(count)
        with pytest.raises(scrieve.ScrieveError, match="expected 1"):
            shapes.clusters(count)
        with pytest.raises(scrieve.ScrieveError, match="expected 1"):
            shapes.nearest(shapes.names[0], count)


# In a notebook's cell


def test_what_a_notebook_shows_fits_its_cell_and_a_file_keeps_full_size(sandling_hull):
    """Widths and heights of a picture for a page are pixels no more than a cell holds; a file's are millimetres."""
    import re

    beam = sandling_hull.bulkhead(2.0)
    shown = [
        sandling_hull, sandling_hull.lines(), sandling_hull.backbone(), sandling_hull.transom(),
        sandling_hull.fashion_pieces(), sandling_hull.section(2.0), beam,
        sandling_hull.mould_set().set_up_drawing(sandling_hull._core),
        sandling_hull.thwart(2.5, 0.4), sandling_hull.stringer(1.0, 4.0, z=0.3),
    ]  # fmt: skip
    for one in shown:
        head = one._repr_svg_().partition(">")[0]
        width, height = (float(re.search(rf'{of}="([\d.]+)"', head)[1]) for of in ("width", "height"))
        assert 100 <= width <= 900 and 20 <= height <= 640, head
        left, top, w, h = map(float, re.search(r'viewBox="([^"]+)"', head)[1].split())
        assert width / height == pytest.approx(w / h, rel=0.02)
    drawing = sandling_hull.mould_set().set_up_drawing(sandling_hull._core)
    head = drawing.to_svg().partition(">")[0]
    width = float(re.search(r'width="([\d.]+)mm"', head)[1])
    assert width == float(re.search(r'viewBox="([^"]+)"', head)[1].split()[2]) > 5000


def test_the_figures_of_a_floating_boat_are_numbers_in_a_frame(sandling_hull):
    from scrieve.afloat.report import report

    found = report(sandling_hull)
    frame = found.frame()
    assert frame.value.dtype == float
    row = frame[frame.symbol == "∇"].iloc[0]
    assert row.value == found.figures.volume and row.unit == "m³"
    assert found.shown()[frame.symbol == "∇"].value.item() == f"{found.figures.volume:.3f}"
