"""Parts on sheets, as shapely judges them: clear of one another and the edge, on no more sheets than boxes take."""

import json
import math
import subprocess
import sys
import warnings

import ezdxf
import numpy as np
import pandas
import pytest
import shapely
from conftest import SAMPLES
from ezdxf import path as ezpath
from shapely import affinity

import scrieve
from scrieve import Drawing, DrawingError, Sheet
from scrieve.errors import Note
from scrieve.patterns import job
from scrieve.patterns.shop import of_table

SANDLING = SAMPLES / "sandling.offsets"
# Chords and rounding of what is read back, mm.
READ_MM = 0.02


def scrieve_says(*args):
    command = [sys.executable, "-m", "scrieve", *map(str, args)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def part(name, outline, marks=(), holes=()):
    drawing = Drawing(name)
    drawing.polyline(drawing.layer("Outline", "cut outside"), outline, closed=True)
    for mark in marks:
        drawing.polyline(drawing.layer("Marks", "mark"), mark)
    for centre, radius in holes:
        drawing.circle(drawing.layer("Holes", "cut inside"), centre, radius)
    return drawing


def wedge(rng):
    """A crescent, a frame's limb, a bar, a lump or a ring left open: what bent work is made of."""
    kind = rng.integers(5)
    size = rng.uniform(120.0, 700.0)
    turn = np.linspace(0.0, rng.uniform(1.2, 2.6), 24)
    if kind == 0:
        outer, inner = size, size * rng.uniform(0.55, 0.85)
        ring = [(outer * math.cos(a), outer * math.sin(a)) for a in turn]
        ring += [(inner * math.cos(a), inner * math.sin(a)) for a in turn[::-1]]
    elif kind == 1:
        w = size * rng.uniform(0.12, 0.3)
        ring = [(0, 0), (size, 0), (size, w), (w, w), (w, 0.8 * size), (0, 0.8 * size)]
    elif kind == 2:
        ring = [(0, 0), (size, 0), (size * 0.9, 0.12 * size), (0, 0.15 * size)]
    elif kind == 3:
        radii = size * rng.uniform(0.25, 0.5, 9)
        ring = [(r * math.cos(0.7 * i), r * math.sin(0.7 * i)) for i, r in enumerate(radii)]
    else:
        w = size * rng.uniform(0.1, 0.2)
        ring = [(0, 0), (size, 0), (size, size), (size - w, size), (size - w, w), (w, w), (w, size), (0, size)]
    return np.asarray(ring, float)


def rings(drawing, operation="cut outside"):
    return [shapely.Polygon(path["points"]) for path in drawing.paths(1e-3) if path["operation"] == operation]


def judge(sheets, size, gap, margin):
    """Every part of every sheet clear of the others by the gap, and of the edge by the margin: how many there are."""
    count = 0
    room = shapely.box(margin, margin, size[0] - margin, size[1] - margin).buffer(1e-6)
    for sheet in sheets:
        parts = rings(sheet)
        count += len(parts)
        assert all(one.is_valid and room.covers(one) for one in parts), sheet.name
        tree = shapely.STRtree(parts)
        for i, one in enumerate(parts):
            near = [parts[j] for j in tree.query(one.buffer(gap)) if j > i]
            assert all(one.distance(other) >= gap - 1e-6 for other in near), sheet.name
        check = [p["points"] for p in sheet.paths() if p["layer"] == "Check square" and p["closed"]]
        for square in map(shapely.Polygon, check):
            assert all(one.distance(square) >= gap - 1e-6 for one in parts), sheet.name
    return count


def shelves(parts, size, gap, margin):
    """Sheets that a shelf packing of their boxes takes: each upright or lying as it is lower, the highest first."""
    boxes = [sorted(np.ptp(np.asarray(one.minimum_rotated_rectangle.exterior.coords), axis=0)) for one in parts]
    boxes = sorted((tuple(b) for b in boxes), reverse=True)
    long, wide = size[0] - 2 * margin, size[1] - 2 * margin
    sheets, y, x, high = 1, 0.0, 0.0, 0.0
    for low, length in boxes:
        if x + length > long:
            x, y, high = 0.0, y + high + gap, 0.0
        if y + max(high, low) > wide:
            sheets, x, y, high = sheets + 1, 0.0, 0.0, 0.0
        x, high = x + length + gap, max(high, low)
    return sheets


@pytest.mark.parametrize("seed", range(6))
def test_whatever_is_laid_is_clear_and_inside_and_takes_no_more_sheets_than_shelves_of_boxes(seed):
    rng = np.random.default_rng([11, seed])
    gap, margin = rng.choice([0.0, 4.0, 12.0, 25.0]), rng.choice([0.0, 10.0, 30.0])
    size = (2440.0, 1220.0) if seed % 2 else (1800.0, 900.0)
    drawings = [part(f"part-{i}", wedge(rng)) for i in range(24)]
    parts = [rings(one)[0] for one in drawings]
    turn = ("any", "quarter", "half")[seed % 3]
    laid = scrieve.nest(
        drawings, Sheet(size[0] / 1e3, size[1] / 1e3), gap=gap / 1e3, margin=margin / 1e3, thickness=0.018, turn=turn
    )
    assert judge(laid.sheets, size, gap, margin) == len(drawings)
    assert len(laid.sheets) <= shelves(parts, size, gap, margin)
    assert sum(laid.stock.used / 100.0) * size[0] * size[1] == pytest.approx(sum(p.area for p in parts), rel=1e-4)


def test_a_part_keeps_its_shape_its_marks_and_its_holes_and_is_never_turned_over():
    rng = np.random.default_rng(5)
    drawings, parts = [], {}
    for i in range(12):
        ring = np.array([(0, 0), (400, 0), (430, 90), (60, 130)]) * rng.uniform(0.7, 1.4)
        inner = ring.mean(axis=0)
        drawings.append(part(f"part-{i}", ring, [[inner, inner + (30.0, 5.0)]], [(tuple(inner - (20.0, 10.0)), 6.0)]))
        parts[f"part-{i}"] = (shapely.Polygon(ring), inner)
    laid = scrieve.nest(drawings, "2440mm x 1220mm", thickness=0.012)
    # The same again is the same.
    assert laid.placed.equals(scrieve.nest(drawings, "2440mm x 1220mm", thickness=0.012).placed)
    (sheet,) = laid.sheets
    marks = [p["points"] for p in sheet.paths() if p["layer"] == "Marks"]
    holes = rings(sheet, "cut inside")
    assert len(marks) == len(holes) == 12
    found = 0
    for row in laid.placed.itertuples():
        shape, inner = parts[row.drawing]
        turned = affinity.rotate(shape, row.turned, origin=(0, 0))
        move = np.array([1e3 * row.x, 1e3 * row.y]) - turned.bounds[:2]
        there = affinity.translate(turned, *move)
        assert min(there.symmetric_difference(one).area for one in rings(sheet)) < 0.05
        mark = affinity.rotate(shapely.LineString([inner, inner + (30.0, 5.0)]), row.turned, (0, 0))
        mark = affinity.translate(mark, *move)
        found += any(mark.hausdorff_distance(shapely.LineString(one)) < READ_MM for one in marks)
        hole = affinity.translate(affinity.rotate(shapely.Point(*(inner - (20.0, 10.0))), row.turned, (0, 0)), *move)
        assert any(one.centroid.distance(hole) < READ_MM for one in holes)
    assert found == 12


@pytest.mark.parametrize("joint", ["scarf", "step"])
def test_a_keel_too_long_for_the_bed_is_made_of_pieces_whose_faces_lie_one_on_the_other(joint):
    hull = scrieve.read(SANDLING).fair()
    keel = next(d for d in _patterns(hull, "backbone") if d.name == "keel")
    whole = rings(keel)[0]
    with pytest.warns(Note, match="keel is too long"):
        laid = scrieve.nest([keel], "2440mm x 700mm", joint=joint)
    pieces = {row.part: row for row in laid.placed.itertuples()}
    many = len(pieces)
    assert list(sorted(pieces)) == [f"keel {n} of {many}" for n in range(1, many + 1)]
    back = []
    for row in pieces.values():
        sheet = next(s for s in laid.sheets if s.name == row.sheet)
        corner = (1e3 * row.x, 1e3 * row.y)
        ring = min(rings(sheet), key=lambda r: math.dist(r.bounds[:2], corner))
        assert max(np.ptp(np.asarray(ring.exterior.coords), axis=0)) <= 2420.0
        back.append(ring)
    # Nothing is lost at the joints, and nothing is there twice.
    assert sum(one.area for one in back) == pytest.approx(whole.area, abs=1.0)
    words = {d["layer"] for s in laid.sheets for d in s.paths()}
    assert "Letters" in words
    for sheet in laid.sheets:
        assert not sheet.check(), sheet.check()[:2]


def _patterns(hull, name):
    from scrieve.patterns.run import draw, sound
    from scrieve.plugin.registry import find

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Note)
        return sound(draw(find("patterns", name), hull, {}))


def test_grain_runs_along_the_sheet_and_stock_goes_by_thickness():
    hull = scrieve.read(SANDLING).fair()
    drawings = _patterns(hull, "moulds") + _patterns(hull, "transom")
    sheets = ["2440mm x 1220mm x 18mm", "3000mm x 1500mm"]
    laid = scrieve.nest(drawings, sheets)
    by = laid.placed.merge(laid.stock, on="sheet")
    assert set(by[by.drawing.str.startswith("mould")].length) == {2.44}
    assert set(by[~by.drawing.str.startswith("mould")].length) == {3.0}
    transom = by[by.part == "transom"].iloc[0]
    assert transom.turned % 180.0 == pytest.approx(0.0, abs=1e-9)
    fashion = by[by.part == "fashion piece port"].iloc[0]
    grain = pandas.DataFrame(next(d for d in drawings if d.name == "fashion-pieces").parts())
    grain = grain[grain.part == "fashion piece port"].grain.iloc[0]
    assert (fashion.turned + grain) % 180.0 == pytest.approx(0.0, abs=1e-6)


def test_a_sheet_is_read_as_it_is_written():
    assert Sheet.read("2440mm x 1220mm") == Sheet(2.44, 1.22)
    assert Sheet.read("2440 × 1220 x 18 mm".replace(" mm", "mm")) == Sheet(2.44, 1.22, 0.018)
    assert Sheet.read("3 of 8-0-0 x 4-0-0 x 0-0-6") == Sheet(2.4384, 1.2192, 0.01905, 3)
    for text, what in [
        ("", "nothing"), ("banana", "no second length"), ("2m x 1m x 18mm x 3mm", "4 lengths"),
        ("2440 x 1220", "2440"),
        ("0mm x 1220mm", "no length"), ("-2m x 1m", "no length"), ("0 of 2m x 1m", "none"),
        ("2m x 1 furlong", "furlong"),
    ]:  # fmt: skip
        with pytest.raises(DrawingError, match=what):
            Sheet.read(text)


def test_what_cannot_be_laid_is_refused_with_its_reason_and_leaves_no_file(tmp_path):
    out = tmp_path / "nest"
    for options, said in [
        (["--sheet", "900mm x 600mm"], "mould 7 starboard takes"),
        (["--sheet", "2440mm x 1220mm x 9mm"], "no sheet is 18 mm thick"),
        (["--sheet", "1 of 2440mm x 1220mm"], "the sheets there are do not do"),
        (["--sheet", "2440mm x 1220mm", "--gap", "3mm", "--cutter", "6mm"], "no way for a cutter of 6 mm"),
        (["--sheet", "2440mm x 1220mm", "--gap", "-3mm"], "gap"),
        (["--sheet", "2440mm x 1220mm", "--margin", "700mm"], "larger than the sheet"),
        (["--sheet", "2440mm x 1220mm", "--patterns", "planks of oak"], "no pattern called 'planks of oak'"),
        (["--sheet", "2440mm x 1220mm", "--patterns", "backbone"], "a joint to make it of several pieces"),
        (["--sheet", "2440mm x 1220mm", "--bed", "1mm"], "bed"),
        (["--sheet", "1mm x 1mm"], "from 10 mm"),
        ([], "no sheet is told of"),
    ]:
        done = scrieve_says("nest", SANDLING, *options, "-o", out)
        assert done.returncode == 2 and said in done.stderr and "Traceback" not in done.stderr, (options, done.stderr)
        assert not out.exists(), options


def test_the_command_writes_a_file_a_sheet_with_its_corner_at_the_origin(tmp_path):
    done = scrieve_says("nest", SANDLING, "--sheet", "2440mm x 1220mm", "--gap", "12mm", "-o", tmp_path / "nest")
    assert done.returncode == 0, done.stderr
    files = sorted((tmp_path / "nest").glob("sheet-*.dxf"))
    stock = pandas.read_csv(tmp_path / "nest" / "sheets.csv")
    assert [path.stem for path in files] == list(stock.sheet)
    listed = pandas.read_csv(tmp_path / "nest" / "parts.csv")
    cut = 0
    for path in files:
        document = ezdxf.readfile(path)
        audit = document.audit()
        assert not audit.errors and not audit.fixes
        parts = []
        for entity in document.modelspace():
            points = None
            if entity.dxf.layer.startswith("CUT OUTSIDE"):
                points = [(p.x, p.y) for p in ezpath.make_path(entity).flattening(1e-3)]
                parts.append(shapely.Polygon(points))
        cut += len(parts)
        room = shapely.box(10.0, 10.0, 2430.0, 1210.0).buffer(READ_MM)
        assert all(room.covers(one) for one in parts)
        pairs = [(a, b) for i, a in enumerate(parts) for b in parts[:i]]
        assert all(a.distance(b) >= 12.0 - READ_MM for a, b in pairs)
        square = [
            e for e in document.modelspace() if "CHECK SQUARE" in e.dxf.layer.upper() and e.dxftype() == "LWPOLYLINE"
        ]
        xs = [x for e in square if e.closed for x, *_ in e.get_points()]
        assert max(xs) - min(xs) == pytest.approx(100.0, abs=1e-3)
    assert cut == len(listed) == stock.parts.sum()
    # 11 moulds in halves, the transom, and its two fashion pieces.
    assert cut == 25


def test_loft_lays_the_parts_too_where_the_shop_told_its_sheets(tmp_path):
    (tmp_path / "boat.offsets").write_bytes(SANDLING.read_bytes())
    (tmp_path / "shop.toml").write_text('[nest]\nsheet = "2440mm x 1220mm"\ngap = "15mm"\npatterns = "moulds"\n')
    table = scrieve.read(tmp_path / "boat.offsets")
    choices = of_table(table, tmp_path / "boat.offsets")
    done = job.loft(table.fair(), tmp_path / "out", choices=choices)
    sheets = sorted((tmp_path / "out" / "nest").glob("sheet-*.dxf"))
    assert not done.failures and sheets
    page = (tmp_path / "out" / "index.html").read_text()
    assert "Parts on the sheets" in page and "nest: gap" in page
    # The same by the verb, from the same choices.
    said = scrieve_says("nest", tmp_path / "boat.offsets", "-o", tmp_path / "alone", "--json")
    assert said.returncode == 0, said.stderr
    assert [p for p in json.loads(said.stdout)["written"] if p.endswith(".dxf")]
    wanted = [path for path in sheets if path.name in {p.name for p in (tmp_path / "alone").glob("*.dxf")}]
    assert wanted and all(path.read_bytes() == (tmp_path / "alone" / path.name).read_bytes() for path in wanted)


def test_mistakes_in_what_the_shop_chose_of_nesting_have_their_place(tmp_path):
    (tmp_path / "boat.offsets").write_bytes(SANDLING.read_bytes())
    (tmp_path / "shop.toml").write_text('[nest]\nsheet = 3\nturns = "any"\nturn = "askew"\n')
    done = scrieve_says("nest", tmp_path / "boat.offsets", "-o", tmp_path / "out")
    assert done.returncode == 2
    for said in ("shop.toml:2", "shop.toml:3", "shop.toml:4", "`turn`", '"quarter"'):
        assert said in done.stderr, done.stderr


def test_parts_nobody_told_the_thickness_of_are_left_out_and_named():
    ring = [(0, 0), (300, 0), (300, 100), (0, 100)]
    with pytest.warns(Note, match="nobody said how thick: plate"):
        laid = scrieve.nest([part("plate", ring)], "2m x 1m")
    assert not laid.sheets and not len(laid.placed)
    assert len(scrieve.nest([part("plate", ring)], "2m x 1m", thickness=0.01).sheets) == 1
