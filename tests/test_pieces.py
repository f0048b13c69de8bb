"""Moulds in pieces, their ribbands and their ends, from the table to the file the router reads."""

import ezdxf
import numpy as np
import pandas
import pytest
import shapely
from conftest import SAMPLES
from ezdxf import path as ezpath

import scrieve

BOATS = ("sandling", "turnstone", "mudlark", "petrels-egg")
OF_THE_EDGE = ("Floor", "Futtocks")
TOLERANCE_MM = 1e-4  # of flattening: over 3 m of edge an area is good to 0.3 mm², under 1e-6 of a mould


@pytest.fixture(scope="module", params=BOATS)
def hull(request):
    return scrieve.read(SAMPLES / f"{request.param}.offsets").fair()


def polygons(drawing, *layers):
    """The closed outlines of a drawing on these layers, mm."""
    return [
        shapely.Polygon(path["points"])
        for path in drawing.paths(TOLERANCE_MM)
        if path["closed"] and path["layer"] in layers
    ]


def test_pieces_laid_together_are_the_whole_mould_and_cleats_lap_them_by_the_lap(hull):
    lap = 90.0
    pieces = hull.mould_set(pieces=True, lap=lap / 1e3)
    wholes = hull.moulds(shape="whole")
    assert not pieces.failures
    for together, whole in zip(pieces.assembled(), wholes, strict=True):
        (whole_mould,) = polygons(whole, "Outlines")
        for hole in polygons(whole, "Holes"):
            whole_mould = whole_mould.difference(hole)
        parts = polygons(together, *OF_THE_EDGE)
        assert len(parts) == 3 and all(part.is_valid for part in parts)
        union = shapely.union_all(parts)
        assert union.symmetric_difference(whole_mould).area < 1e-6 * whole_mould.area
        assert sum(part.area for part in parts) == pytest.approx(whole_mould.area, rel=1e-6)  # none overlaps
        for cleat in polygons(together, "Cleats"):
            lapped = [cleat.intersection(part).area for part in parts]
            length = max(cleat.length / 2 - cleat.area / (2 * lap), 0)  # of a rectangle 2 laps long: see below
            width = cleat.area / (2 * lap)
            assert length == pytest.approx(2 * lap, rel=1e-6)
            # The inner edge of a limb is drawn to 0.04 mm, and the cleat goes to it.
            assert sorted(lapped)[-2:] == pytest.approx([lap * width] * 2, rel=1e-3)


def test_each_piece_is_shorter_than_the_whole_and_its_board_holds_it(hull):
    wholes = pandas.DataFrame(hull.mould_set(shape="whole").pieces()).set_index("station").board_length
    moulds = hull.mould_set(pieces=True)
    table = pandas.DataFrame(moulds.pieces())
    assert {"floor", "futtock", "cleat floor to futtock", "spall"} == set(table.piece)
    floors_and_futtocks = table[table.piece.isin(["floor", "futtock"])]
    assert (floors_and_futtocks.board_length.to_numpy() < wholes[floors_and_futtocks.station].to_numpy()).all()
    # shapely's own narrowest rectangle is of least area; none is narrower than the narrowest board.
    for together, (_, rows) in zip(moulds.assembled(), table.groupby("station", sort=False), strict=True):
        for part, row in zip(polygons(together, *OF_THE_EDGE), rows.itertuples(), strict=False):
            corners = np.array(shapely.minimum_rotated_rectangle(part).exterior.coords)
            sides = np.hypot(*np.diff(corners, axis=0).T)[:2] / 1e3
            assert row.board_width <= min(sides) + 1e-6
            # The width of a convex shape is never under its area over its diameter.
            assert row.board_width * row.board_length >= part.convex_hull.area / 1e6


def test_every_piece_is_one_closed_outline_apart_from_the_others_and_read_back_whole(hull, tmp_path):
    moulds = hull.mould_set(pieces=True, head=True)
    table = pandas.DataFrame(moulds.pieces())
    files = scrieve.write(moulds.drawings(), tmp_path / "moulds", writer="dxf", letters="text")
    for file, (_, rows) in zip(files, table.groupby("station", sort=False), strict=True):
        document = ezdxf.readfile(file)
        auditor = document.audit()
        assert not auditor.errors and not auditor.fixes, file.name
        model = document.modelspace()
        layers = {entity.dxf.layer.partition(" - ")[2] for entity in model}
        assert layers <= {"Outlines", "Holes", "Marks", "Letters", "Notes"} and "Marks" in layers
        rings = [e for e in model.query("LWPOLYLINE") if e.dxf.layer.endswith(" - Outlines")]
        assert len(rings) == len(rows) and all(ring.closed for ring in rings)
        # To a nanometre: an arc that closes an outline is flattened to within 1e-12 mm of where it began.
        points = [[(p.x, p.y) for p in ezpath.make_path(ring).flattening(1e-2)] for ring in rings]
        parts = [shapely.Polygon(np.round(ring, 6)) for ring in points]
        for i, one in enumerate(parts):
            assert one.is_valid
            assert all(one.disjoint(other) for other in parts[i + 1 :]), f"{file.name}: pieces drawn over each other"
        texts = " ".join(e.dxf.text for e in model.query("TEXT"))
        for word in ("FLOOR", "FUTTOCK", "CLEAT", "HEAD", "SPALL", "PORT", "STARBOARD"):
            assert word in texts, f"{file.name}: nothing says {word}"


def test_marks_of_every_piece_lie_in_its_wood(hull):
    for drawing in hull.moulds(pieces=True):
        wood = shapely.union_all(polygons(drawing, "Outlines")).buffer(1e-3)
        for path in drawing.paths():
            if path["layer"] == "Marks":
                assert wood.covers(shapely.LineString(path["points"]))


def test_boards_no_larger_than_the_stock_are_asked_for(hull):
    length, width = 0.8, 0.3
    table = pandas.DataFrame(hull.mould_set(pieces=True, stock_length=length, stock_width=width).pieces())
    parts = table[table.piece.str.startswith(("floor", "futtock"))]
    assert parts.board_length.max() <= length + 1e-6 and parts.board_width.max() <= width + 1e-6


def test_a_ribband_runs_as_it_was_told_and_its_bevel_is_in_the_table(sandling, sandling_hull):
    told = "0-9-0, diagonal A, sheer - 0-4-0, sheer - 0-6-0 along the girth, through 1-0-0 at 3 and 0-10-0 at 9"
    moulds = sandling_hull.mould_set(ribbands=told, stations=[sandling.station_x["6"]])
    bevels = pandas.DataFrame(moulds.bevels()).set_index("at")
    assert bevels.loc["R1"].over == 0.018 and bevels.loc["R1"].open in (True, False)
    assert bevels.loc["R2"].girth == pytest.approx(bevels.loc["A"].girth)
    assert bevels.loc["R4"].girth == pytest.approx(bevels.loc["sheer"].girth - 0.1524)
    for name in ("R1", "R2", "R3", "R4", "R5"):
        row = bevels.loc[name]
        assert abs(row.rise) == pytest.approx(row.over * np.tan(np.radians(abs(row.in_the_wood - 90))))
        assert row.open == (row.in_the_wood > 90)


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ("0-9-0, diagonal Q", ["diagonal", "'Q'|\"Q\"", "A", "^"]),
        ("banana", ["banana", "sheer - 0-4-0", "^"]),
        ("0-9-0, sheer", ["distance below the sheer", "^"]),
        ("sheer - 0-4-9", ["0-4-9", "^"]),
        ("through 0-9-0 at 1", ["two or more", "^"]),
        ("through 0-9-0 at 1 and 0-8-0 at Z", ["Z", "distance from the stem", "^"]),
        ("sheer - 0-4-0 along deck", ["along girth", "^"]),
    ],
)
def test_a_ribband_that_is_none_is_shown_where_it_stands(run, tmp_path, told, said):
    out = tmp_path / "bevels.dxf"
    done = run("pickup", "bevels", SAMPLES / "sandling.offsets", "-o", out, "--ribbands", told)
    assert done.returncode == 2 and not out.exists()
    for words in said:
        assert any(word in done.stderr for word in words.split("|")), done.stderr
    # The carets stand under the words at fault.
    line, carets = done.stderr.rstrip().splitlines()[-2:]
    assert set(carets.strip()) == {"^"} and line.strip()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--ribbands", "0-9-0", "--ribband-notch-width", "30mm", "--ribband-notch-depth", "120mm"], "shallower notch"),
        (["--pieces", "--joint-height", "0-9-0", "--lap", "2-0-0"], "shorter lap"),
        (["--pieces", "--joint-height", "4-0-0"], "above the sheer"),
        (["--pieces", "--solid"], "limb"),
        (["--pieces", "--shape", "whole"], "one of the two"),
        (["--pieces", "--stock-length", "8-0-0"], "a length and a width"),
        (["--pieces", "--stock-length", "0-8-0", "--stock-width", "0-4-0"], "larger stock"),
        (["--spall-height", "1-0-0"], "below the sheer"),
        (["--head"], "ask for pieces"),
        (["--pieces", "--lap=-0-1-0"], "lap"),
    ],
)
def test_what_cannot_be_made_says_what_to_change(run, tmp_path, options, said):
    out = tmp_path / "moulds.dxf"
    done = run("pickup", "moulds", SAMPLES / "sandling.offsets", "-o", out, *options)
    assert done.returncode == 2 and not out.exists()
    assert said in done.stderr, done.stderr


def test_a_ribband_that_misses_a_mould_is_a_note_and_a_mould_not_made_a_finding(run, tmp_path):
    table = SAMPLES / "sandling.offsets"
    done = run("pickup", "moulds", table, "-o", tmp_path / "a.dxf", "--ribbands", "0-4-0")
    assert done.returncode == 0 and "R1 does not cross this mould" in done.stderr
    # High enough for the middle of the boat, and too low for her ends.
    done = run("pickup", "moulds", table, "-o", tmp_path / "b.dxf", "--spall-height", "2-7-0")
    assert done.returncode == 1 and "not made: mould at station" in done.stderr and (tmp_path / "b.dxf").exists()


def test_the_canoe_of_1889_has_no_mould_where_she_ends_and_the_others_are_made(run, tmp_path):
    table = SAMPLES / "stephens-1889-plate-11.csv"
    done = run("pickup", "moulds", table, "-o", tmp_path / "moulds", "--deduct", "0-0-2", "--pieces", "--assembled")
    # A reading of hers was left out in fairing, which is said, and is a finding.
    assert done.returncode == 1 and "left out, because" in done.stderr and "not made" not in done.stderr
    assert "no mould at station 0: she ends there" in done.stderr
    made = {path.stem for path in (tmp_path / "moulds").iterdir()}
    assert {"mould-1", "mould-X", "mould-X-put-together"} <= made and "mould-0" not in made
