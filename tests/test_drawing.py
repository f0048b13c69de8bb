"""Drawings written by scrieve, read back by libraries that know nothing of it.

`ezdxf` is the judge of DXF: its audit must find nothing to say. Shapes are judged by `shapely`.
"""

import math
import xml.etree.ElementTree as ElementTree

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import path as dxf_path
from ezdxf import recover

from scrieve import Drawing
from scrieve._core import DrawingError, merge_drawings

VERSIONS = ["R2000", "R12"]
TOLERANCE_MM = 0.02

# Half a mould, keel to sheer, as two cubic curves that meet smoothly, mm.
SECTION = np.array([(30, 10), (260, 60), (440, 130), (560, 280), (660, 405), (690, 540), (700, 700)], float)


def bezier_points(controls, n=400):
    """Points of cubic curves end to end, by Bernstein's polynomials."""
    t = np.linspace(0.0, 1.0, n)[:, None]
    weights = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3]
    pieces = [controls[i : i + 4] for i in range(0, len(controls) - 1, 3)]
    runs = [sum(w * p for w, p in zip(weights, piece, strict=True)) for piece in pieces]
    return np.vstack(runs)


@pytest.fixture
def mould():
    drawing = Drawing("mould-3", "Mould 3 & its marks")
    cut = drawing.layer("Outline", "cut outside")
    holes = drawing.layer("Holes", "cut inside")
    grid = drawing.layer("Waterlines", "mark", dashes_mm=[6.0, 3.0])
    words = drawing.layer("Words", "annotate")
    letters = drawing.layer("Letters", "engrave")
    square = [(700, 700), (0, 700), (0, 10), (30, 10)]
    straight = [end for a, b in zip(square, square[1:], strict=False) for end in (a, b, b)]
    drawing.bezier(cut, np.vstack([SECTION, straight]), closed=True)
    drawing.circle(holes, (200.0, 400.0), 6.0)
    drawing.polyline(grid, [(0.0, 300.0), (574.0, 300.0)])
    drawing.cross(grid, (100.0, 500.0), 5.0)
    drawing.text(words, "Mould 3, planking ⅜″ deducted", (20.0, 650.0), 10.0)
    drawing.text(words, "shut 12°", (600.0, 500.0), 8.0, angle=90.0, anchor="middle")
    drawing.engrave(letters, "3 AFT 6-3-5+", (40.0, 600.0), 12.0)
    return drawing


@pytest.fixture(params=VERSIONS)
def read_back(request, mould, tmp_path):
    file = tmp_path / "mould.dxf"
    mould.write_dxf(file, dxf_version=request.param, letters="text")
    return ezdxf.readfile(file)


@pytest.mark.parametrize("version", VERSIONS)
def test_an_audit_has_nothing_to_find_and_nothing_to_fix(mould, tmp_path, version):
    mould.write_dxf(tmp_path / "mould.dxf", dxf_version=version)
    Drawing("empty").write_dxf(tmp_path / "empty.dxf", dxf_version=version)
    for name in ("mould.dxf", "empty.dxf"):
        audits = [ezdxf.readfile(tmp_path / name).audit(), recover.readfile(tmp_path / name)[1]]
        for audit in audits:
            assert [(e.code, e.message) for e in audit.errors + audit.fixes] == []


def test_it_is_in_millimetres(read_back):
    assert read_back.header["$INSUNITS"] == ezdxf.units.MM
    assert read_back.header["$MEASUREMENT"] == 1


def outline(document):
    kind = "POLYLINE" if document.dxfversion == "AC1009" else "LWPOLYLINE"
    names = ("CUT OUTSIDE THROUGH - OUTLINE", "CUT-OUTSIDE_OUTLINE")
    layer = next(layer.dxf.name for layer in document.layers if layer.dxf.name.upper() in names)
    (only,) = document.modelspace().query(f'{kind}[layer=="{layer}"]')
    return only


def test_an_outline_is_one_closed_polyline_within_tolerance_of_the_curve(read_back):
    entity = outline(read_back)
    assert entity.is_closed
    read = shapely.Polygon([(p.x, p.y) for p in dxf_path.make_path(entity).flattening(1e-3)])
    assert read.is_valid
    section = bezier_points(SECTION)
    true = shapely.LineString(np.vstack([section, [(0, 700), (0, 10), (30, 10)]]))
    for one, other in [(read.exterior, true), (true, read.exterior)]:
        spots = shapely.points(shapely.get_coordinates(shapely.segmentize(one, 2.0)))
        assert shapely.distance(spots, other).max() < TOLERANCE_MM


def test_an_outline_takes_arcs_not_a_swarm_of_chords(read_back):
    entity = outline(read_back)
    bulges = (
        [b for *_, b in entity.get_points("xyb")]
        if entity.dxftype() == "LWPOLYLINE"
        else [v.dxf.bulge for v in entity.vertices]
    )
    assert len(bulges) <= 36
    assert sum(b != 0 for b in bulges) >= 10


def test_holes_are_circles_and_text_stands_apart_from_cuts(read_back):
    space = read_back.modelspace()
    (hole,) = space.query("CIRCLE")
    assert hole.dxf.radius == pytest.approx(6.0, abs=1e-3)
    assert (hole.dxf.center.x, hole.dxf.center.y) == pytest.approx((200.0, 400.0), abs=1e-3)
    texts = space.query("TEXT")
    said = [t.dxf.text for t in texts]
    assert said[:2] == ['Mould 3, planking 3/8" deducted', "shut 12 deg"]
    assert said[2] == "LINES ARE NET: CUTTER OFFSET NOT INCLUDED"
    assert not any("CUT" in t.dxf.layer.upper() for t in texts)
    assert texts[1].dxf.rotation == pytest.approx(90.0)
    assert texts[1].get_placement()[0] is ezdxf.enums.TextEntityAlignment.CENTER


def test_layers_keep_their_colour_dashes_and_weight(mould, tmp_path):
    mould.write_dxf(tmp_path / "mould.dxf")
    layers = ezdxf.readfile(tmp_path / "mould.dxf").layers
    # 0 is in every file; ezdxf adds the other as it reads.
    named = {layer.dxf.name for layer in layers} - {"0", "Defpoints"}
    told = {name: name.partition(" - ")[2] for name in named}
    assert sorted(told.values()) == sorted([layer["name"] for layer in mould.layers] + ["Notes"])
    of = {called: layers.get(name) for name, called in told.items()}
    assert of["Outline"].dxf.lineweight == 35
    assert of["Waterlines"].dxf.linetype.startswith("DASH")
    # The nearest there is of those seen on white and on dark; 7 is black on the one and white on the other.
    palette = {index: np.array(ezdxf.colors.aci2rgb(index)) for index in range(1, 256)}
    seen = {index: rgb for index, rgb in palette.items() if is_seen(rgb)}
    for wanted in mould.layers[1:]:
        index = of[wanted["name"]].dxf.color
        assert index == 7 or is_seen(palette[index]), f"{wanted['name']} is drawn in colour {index}"
        grey = len(set(wanted["rgb"])) == 1
        alike = {i: rgb for i, rgb in seen.items() if not grey or len(set(map(int, rgb))) == 1}
        apart = {i: np.linalg.norm(rgb - wanted["rgb"]) for i, rgb in alike.items()}
        assert apart[index] <= min(apart.values()) + 3.0, f"{wanted['name']} is drawn in colour {index}"


def is_seen(rgb):
    """Whether a colour has a contrast of 3, WCAG 2.1's for graphics, with white and with a dark screen's grey."""
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in np.asarray(rgb) / 255.0]
    bright = float(np.dot([0.2126, 0.7152, 0.0722], linear))
    return 1.05 / (bright + 0.05) >= 3.0 and (bright + 0.05) / (0.02 + 0.05) >= 3.0


@pytest.mark.parametrize("version", VERSIONS)
def test_the_same_drawing_gives_the_same_bytes(mould, tmp_path, version):
    for name in ("a.dxf", "b.dxf"):
        mould.write_dxf(tmp_path / name, dxf_version=version)
    assert (tmp_path / "a.dxf").read_bytes() == (tmp_path / "b.dxf").read_bytes()
    assert mould.to_svg() == mould.to_svg()


def test_points_read_in_python_are_those_of_the_curve(mould):
    first = mould.paths()[0]
    assert (first["layer"], first["operation"], first["closed"]) == ("Outline", "cut outside", True)
    ring = shapely.Polygon(first["points"]).exterior
    far = shapely.distance(shapely.points(bezier_points(SECTION)), ring)
    assert far.max() < TOLERANCE_MM


def test_svg_is_whole_xml_at_real_size(mould):
    root = ElementTree.fromstring(mould.to_svg())
    left, bottom, right, top = mould.bounds()
    width, height = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
    margin = 0.02 * max(right - left, top - bottom)
    assert (width, height) == pytest.approx((right - left + 2 * margin, top - bottom + 2 * margin), abs=0.01)
    title = root.find("{http://www.w3.org/2000/svg}title")
    assert title.text == "Mould 3 & its marks"
    assert mould._repr_svg_().startswith("<svg")


def test_drawings_in_a_row_do_not_overlap(mould):
    row = merge_drawings([mould, mould], 50.0)
    left, _, right, _ = mould.bounds()
    assert row.bounds()[2] - row.bounds()[0] == pytest.approx(2 * (right - left) + 50.0)
    a, b = (shapely.Polygon(p["points"]) for p in row.paths() if p["layer"] == "Outline")
    assert a.area == pytest.approx(b.area) and not a.intersects(b)


def test_a_sound_mould_has_only_its_spelling_to_remark_on(mould):
    assert {finding["fault"] for finding in mould.check()} == {"respelled"}


def test_faults_a_shop_would_stumble_over_are_found_as_shapely_finds_them():
    drawing = Drawing("faults")
    cut = drawing.layer("Outline", "cut outside")
    crossing = [(0, 0), (10, 10), (10, 0), (0, 6)]
    assert not shapely.Polygon(crossing).is_valid
    drawing.polyline(cut, crossing, closed=True)
    drawing.polyline(cut, [(20, 0), (30, 0), (30, 5)])
    drawing.text(cut, "not here", (0, 0), 5.0)
    assert [finding["fault"] for finding in drawing.check()] == ["crosses itself", "open cut", "text on cut"]


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_number_that_is_none_is_refused_and_the_old_file_kept(mould, tmp_path, bad):
    file = tmp_path / "mould.dxf"
    mould.write_dxf(file)
    before = file.read_bytes()
    mould.polyline(0, [(0.0, bad), (1.0, 1.0)])
    for write in (mould.write_dxf, mould.write_svg):
        with pytest.raises(
            DrawingError, match=r'drawing "mould-3" .* not a finite number \(layer "Outline", path \d+ of \d+\)'
        ):
            write(file)
    assert file.read_bytes() == before
    assert [entry.name for entry in tmp_path.iterdir()] == ["mould.dxf"]


def test_what_cannot_be_drawn_says_what_would_do(mould, tmp_path):
    for ask, words in [
        (lambda: mould.layer("New", "carve"), "operation must be one of"),
        (lambda: mould.polyline(99, [(0, 0), (1, 1)]), "there is no layer 99"),
        (lambda: mould.polyline(0, [(0, 0, 0), (1, 1, 1)]), r"points must be \(n, 2\)"),
        (lambda: mould.polyline(0, "points"), r"points must be \(n, 2\)"),
        (lambda: mould.bezier(0, [(0, 0), (1, 1), (2, 2)]), "4, 7, 10"),
        (lambda: mould.text(0, "a", (0, 0), -1.0), "height must be"),
        (lambda: mould.write_dxf(tmp_path / "a.dxf", dxf_version="R14"), "dxf_version must be"),
        (lambda: mould.write_dxf(tmp_path / "a.dxf", chord_error_mm=0.0), "chord error must be"),
    ]:
        with pytest.raises(DrawingError, match=words):
            ask()
    with pytest.raises(FileNotFoundError) as caught:
        mould.write_dxf(tmp_path / "nowhere" / "a.dxf")
    assert caught.value.filename == str(tmp_path / "nowhere" / "a.dxf")


@pytest.mark.parametrize("version", VERSIONS)
def test_layer_names_of_any_language_give_a_sound_file(tmp_path, version):
    drawing = Drawing("names")
    for name in ["Ébauche", "船", "a/b:c*d", "0", "", "Outline", "OUTLINE", "x" * 300, "line\nbreak"]:
        layer = drawing.layer(name, "mark")
        drawing.polyline(layer, [(0, layer), (10, layer)])
    drawing.write_dxf(tmp_path / "names.dxf", dxf_version=version)
    document = ezdxf.readfile(tmp_path / "names.dxf")
    audit = document.audit()
    assert not audit.errors and not audit.fixes
    assert len({line.dxf.layer.upper() for line in document.modelspace()}) == 9


def test_no_line_of_the_lines_drawing_is_drawn_twice(sandling_hull):
    assert sandling_hull.lines().check() == []


@pytest.mark.parametrize("size", [(2**40, 2**40), (10**7, 3), (2, 10**12)])
def test_a_grid_that_no_memory_holds_is_refused(sandling_hull, size):
    with pytest.raises(ValueError, match="points one may have"):
        sandling_hull._core.grid(*size)


def test_a_plugins_cut_is_no_mark_where_both_are_called_the_same():
    one, other = Drawing("a", "A"), Drawing("b", "B")
    one.circle(one.layer("Outline", "mark"), (0, 0), 5)
    other.circle(other.layer("Outline", "cut outside"), (0, 0), 5)
    sheet = merge_drawings([one, other], 10.0)
    assert [path["operation"] for path in sheet.paths(0.1)] == ["mark", "cut outside"]
