"""Rabbet and transom from Python: against the readings, against closed forms, and as drawings read back."""

import math
import re
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from scipy.spatial.distance import pdist

import scrieve

PLANKING = 0.0127
SAMPLE = Path(__file__).parent.parent / "samples" / "sandling.offsets"


def test_the_rabbet_line_is_where_the_table_reads_it(sandling, sandling_hull):
    for station in ("3", "6", "9"):
        x = scrieve.Reading({"3": "3-9-0", "6": "7-9-0", "9": "11-10-0"}[station]).m
        height = scrieve.Reading({"3": "0-2-7", "6": "0-2-0", "9": "0-2-5"}[station]).m
        rabbet = sandling_hull.rabbet(x)
        assert rabbet.rabbet[0] == pytest.approx(scrieve.Reading("0-1-1").m, abs=1e-6)
        assert rabbet.rabbet[1] == pytest.approx(height, abs=1.6e-3)  # half of an eighth


def test_bearding_and_middle_lie_on_the_planks_inner_face(sandling_hull):
    for x in np.linspace(1.0, 4.4, 8):
        rabbet = sandling_hull.rabbet(x, thickness=PLANKING)
        mould = sandling_hull.mould(x, PLANKING).points(2000)[:, 1:]
        for spot in (rabbet.bearding, rabbet.middle):
            assert np.hypot(*(mould - spot).T).min() < 6e-4  # points of the mould stand about a millimetre apart
        middle, line = rabbet.in_space[2], rabbet.in_space[0]
        # In the station plane they are a little more apart than the planking is thick: t / cos(bevel).
        assert PLANKING - 1e-6 < math.dist(middle, line) < 1.3 * PLANKING


def test_the_garboard_angle_is_counted_from_the_side_of_the_keel(sandling_hull):
    midship, forward = sandling_hull.rabbet(2.6).bevel, sandling_hull.rabbet(1.0).bevel
    assert 60 < midship < 90 and 20 < forward < 60
    x = 2.6
    (y, z), step = sandling_hull.rabbet(x).rabbet, 1e-4
    slope = (sandling_hull.height(x, y + step) - z) / step
    assert midship == pytest.approx(90 - math.degrees(math.atan(slope)), abs=0.05)


def test_the_stems_rabbet_is_given_square_to_its_profile(sandling_hull):
    angles = [sandling_hull.stem_rabbet(z).bevel for z in (0.3, 0.5, 0.8)]
    assert angles == sorted(angles) and 3 < angles[0] < angles[-1] < 45
    rabbet = sandling_hull.stem_rabbet(0.5)
    assert rabbet.rabbet == pytest.approx((rabbet.half_siding, 0.0), abs=1e-6)
    assert rabbet.bearding[1] > rabbet.middle[1] > 0


def test_what_makes_no_rabbet_is_told_what_would_do(sandling_hull):
    with pytest.raises(scrieve.LoftError, match="side the piece .* or take thinner planking"):
        sandling_hull.stem_rabbet(0.5, thickness=0.05)
    with pytest.raises(scrieve.LoftError, match="must be more than nothing"):
        sandling_hull.rabbet(2.0, thickness=-1.0)
    with pytest.raises(scrieve.LoftError, match="off the stem, whose rabbet runs from"):
        sandling_hull.stem_rabbet(3.0)
    with pytest.raises(scrieve.LoftError, match="no sternpost"):
        sandling_hull.sternpost_rabbet(0.5)
    with pytest.raises(scrieve.LoftError, match="off the hull"):
        sandling_hull.rabbet(9.0)


def test_the_transom_is_drawn_along_its_rake(sandling, sandling_hull):
    foot, head = ((15, 9, 7), (0, 4, 5)), ((16, 5, 0), (2, 5, 5))
    metres = lambda r: (r[0] * 12 + r[1] + r[2] / 8) * 0.0254  # noqa: E731
    run, rise = metres(head[0]) - metres(foot[0]), metres((2, 5, 5)) - metres((0, 4, 5))
    transom = sandling_hull.transom(thickness=0.022, planking=0.0)
    assert transom.rake == pytest.approx(math.degrees(math.atan2(run, rise)), abs=1e-6)
    outer = transom.outer.points(400)
    assert np.all(outer[:, 0] == 0)
    # Column T of the table: half-breadths at waterlines, whose heights along the transom are z / cos(rake).
    for height, breadth in (("0-10-0", "0-7-6"), ("1-3-0", "1-0-3"), ("2-3-0", "1-6-5")):
        up = scrieve.Reading(height).m / math.cos(math.radians(transom.rake))
        across = np.interp(up, outer[:, 2], outer[:, 1])
        assert across == pytest.approx(scrieve.Reading(breadth).m, abs=1.6e-3)


def test_the_transoms_edge_lies_on_the_hull(sandling_hull):
    transom = sandling_hull.transom(planking=0.0)
    rake = math.radians(transom.rake)
    foot = scrieve.Reading("15-9-7").m - scrieve.Reading("0-4-5").m * math.tan(rake)
    for _, across, up in transom.outer.points(20)[1:-1]:
        x, z = foot + up * math.sin(rake), up * math.cos(rake)
        assert sandling_hull.half_breadth(x - 1e-7, z) == pytest.approx(across, abs=2e-5)


def test_the_transoms_bevels_tell_its_forward_face(sandling_hull):
    thickness = 0.01
    transom = sandling_hull.transom(thickness=thickness)
    inner = transom.inner.points(4000)
    bevels = transom.bevels()
    assert list(bevels["at"])[0] == "lower end" and list(bevels["at"])[-1] == "sheer"
    outer = transom.outer.points(4000)
    for row in bevels.iloc[1:-1].itertuples():
        spot = outer[np.argmin(np.abs(np.cumsum(np.r_[0, np.linalg.norm(np.diff(outer, axis=0), axis=1)]) - row.girth))]
        gap = np.linalg.norm(inner - spot, axis=1).min()
        assert gap == pytest.approx(row.rise, abs=1.5e-4)
        assert row.open and row.in_the_wood == pytest.approx(90 + row.bevel)


def test_the_transoms_drawing_reads_back_clean(sandling_hull, tmp_path):
    path = tmp_path / "transom.dxf"
    scrieve.write([sandling_hull.transom(round_of_beam=(1.5, 0.05)).drawing()], path, letters="text")
    document = ezdxf.readfile(path)
    audit = document.audit()
    assert not audit.errors and not audit.fixes
    space = document.modelspace()
    outlines = [e for e in space if e.dxf.layer.endswith(" - Outlines")]
    assert len(outlines) == 1 and outlines[0].closed
    texts = " ".join(e.dxf.text for e in space.query("TEXT"))
    for said in ("Sandling", "TRANSOM", "FORWARD FACE", "WL 1-3-0", "DEG"):
        assert said in texts


def test_what_makes_no_transom_is_told_what_would_do(sandling, sandling_hull):
    with pytest.raises(scrieve.LoftError, match="transom thickness is -1 m"):
        sandling_hull.transom(thickness=-1.0)
    with pytest.raises(scrieve.LoftError, match="makes no arc"):
        sandling_hull.transom(round_of_beam=(0.2, 0.5))


def test_the_backbones_tables_agree_with_the_rabbet(sandling_hull):
    backbone = sandling_hull.backbone()
    assert backbone.failures == []
    keel = backbone.keel()
    for row in keel.itertuples():
        rabbet = sandling_hull.rabbet(row.from_stem)
        assert (row.rabbet, row.bearding, row.middle) == pytest.approx(
            (rabbet.rabbet[1], rabbet.bearding[1], rabbet.middle[1]), abs=1e-9
        )
        assert row.underside < row.rabbet < row.middle < row.bearding < row.upper
    amidships = keel.iloc[len(keel) // 2]
    assert backbone.scarf == pytest.approx(8 * (amidships.upper - amidships.underside))  # common practice
    stem = backbone.stem()
    assert list(stem.height) == sorted(stem.height) and len(stem) > 20
    assert stem.height.iloc[-1] == pytest.approx(scrieve.Reading("3-2-1").m, abs=0.01)
    pieces = backbone.pieces()
    assert list(pieces.piece) == ["keel", "stem", "stern knee"]
    # A stem stands: its stock is as long as it is from head to scarf, not as it reaches along the boat.
    cut = {d.name: d for d in backbone.drawings()}
    for row in pieces.itertuples():
        drawing = cut[row.piece.replace(" ", "-")]
        (points,) = [p["points"] for p in drawing.paths() if p["layer"] == "Outlines"]
        assert row.length == pytest.approx(1e-3 * pdist(points).max(), abs=1e-3)
    assert len(backbone.sternpost()) == 0


def test_the_backbones_drawings_read_back_clean(sandling_hull, tmp_path):
    drawings = sandling_hull.backbone().drawings()
    names = [drawing.name for drawing in drawings]
    assert names == ["backbone", "keel", "stem", "stern-knee", "keel-plan", "rabbet-sections"]
    for drawing in drawings:
        assert drawing.check() == [], drawing.name
        path = tmp_path / f"{drawing.name}.dxf"
        scrieve.write([drawing], path, letters="text")
        document = ezdxf.readfile(path)
        audit = document.audit()
        assert not audit.errors and not audit.fixes, drawing.name
    texts = " ".join(e.dxf.text for e in ezdxf.readfile(tmp_path / "stem.dxf").modelspace().query("TEXT"))
    for said in ("STEM", "RABBET", "BEARDING", "MIDDLE", "WL 1-3-0", "SCARF"):
        assert said in texts


def test_a_backbone_whose_planking_is_too_thick_is_told_what_would_do(sandling_hull):
    with pytest.raises(scrieve.LoftError, match="keel depth is 0 m"):
        sandling_hull.backbone(keel_depth=0.0)
    assert any("side the piece" in failure for failure in sandling_hull.backbone(thickness=0.04).failures)


def test_the_bevel_board_draws_each_bevel_at_its_angle(sandling_hull):
    import pandas

    moulds = sandling_hull.mould_set(ribbands=[0.3])
    bevels = pandas.DataFrame(moulds.bevels())
    board = moulds.bevel_board()
    assert board.check() == []
    drawn = [p["points"] for p in board.paths() if p["layer"] == "Marks"]
    assert len(drawn) == len(bevels) and "R1" in set(bevels["at"])
    for (start, end), in_the_wood in zip(drawn, bevels.in_the_wood, strict=True):
        angle = math.degrees(math.atan2(end[0] - start[0], end[1] - start[1]))  # from the edge of the board, upward
        assert angle == pytest.approx(in_the_wood, abs=0.02)
    # Labels stand clear of the lines above them: a letter's height and more between any two lines.
    for board_left in {round(line[0][0]) for line in drawn}:
        ends = [(a[1], b[1]) for a, b in drawn if round(a[0]) == board_left]
        for above, below in zip(ends, ends[1:], strict=False):
            assert min(above[0] - below[0], above[1] - below[1]) > 11.9


def test_a_mould_and_its_bevels_foretell_the_next(sandling_hull):
    import pandas

    step = 0.02
    x = 1.5494
    here, there = (pandas.DataFrame(sandling_hull.mould_set(stations=[at]).bevels()) for at in (x, x + step))
    edge = sandling_hull.mould(x + step, PLANKING).points(4000)[:, 1:]
    mould = sandling_hull.mould(x, PLANKING).points(4000)[:, 1:]
    for now, then in zip(here[1:-1].itertuples(), there[1:-1].itertuples(), strict=True):
        along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(mould, axis=0), axis=1))]
        spot = mould[np.argmin(np.abs(along - now.girth))]
        gap = np.linalg.norm(edge - spot, axis=1).min()
        mean = math.radians((now.bevel + then.bevel) / 2)
        assert gap == pytest.approx(abs(step * math.tan(mean)), abs=1e-4)


def test_the_set_up_drawing_tells_running_distances(sandling, sandling_hull):
    moulds = sandling_hull.mould_set(strongback_from=-0.3)
    drawing = moulds.set_up_drawing(sandling_hull._core)
    assert drawing.check() == []
    texts = " ".join(text["text"] for text in drawing.texts())
    assert "KEEL UP" in texts and "3: 4-8-6+, 1443 MM" in texts  # 3-9-0 and 300 mm


@pytest.mark.parametrize("name", ["backbone", "transom", "bevels", "set-up"])
def test_each_is_picked_up_from_the_command_line(run, tmp_path, name):
    done = run("pickup", name, SAMPLE, "-o", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    written = list((tmp_path / "out").glob("*.dxf"))
    assert written
    for path in written:
        assert not ezdxf.readfile(path).audit().errors


def test_half_a_round_of_beam_is_refused(run, tmp_path):
    done = run("pickup", "transom", SAMPLE, "-o", tmp_path / "out", "--camber", "0-2-0")
    assert done.returncode == 2 and "give both, or neither" in done.stderr


def test_loft_writes_backbone_and_transom_and_links_them(run, tmp_path):
    done = run("loft", SAMPLE, "-o", tmp_path / "out")
    assert done.returncode == 0, done.stdout
    index = (tmp_path / "out" / "index.html").read_text()
    for path in ("backbone/stem.dxf", "backbone/keel.csv", "transom/transom.dxf", "bevel-board.dxf", "set-up.svg"):
        assert (tmp_path / "out" / path).is_file() and f'href="{path}"' in index
    keel = (tmp_path / "out" / "backbone" / "keel.csv").read_text().splitlines()
    assert keel[0].startswith('station,from stem,"from stem, mm"')


def test_what_does_not_apply_is_left_out_with_a_note(run, tmp_path, sandling):
    lines = sandling.to_text().splitlines()
    start = lines.index("[transom]")
    del lines[start : start + 3]
    # Column T, the last, goes with the transom.
    without_t = [line.rsplit(None, 1)[0] if "|" in line and not line.startswith("#") else line for line in lines]
    profile = next(i for i, line in enumerate(lines) if line.startswith("[stem profile]"))
    text = "\n".join(without_t[:profile] + lines[profile:])
    text = text.replace('half_siding = "0-1-1"', "").replace("[backbone]", "")
    (tmp_path / "open.offsets").write_text(text + "\n")
    done = run("loft", tmp_path / "open.offsets", "-o", tmp_path / "out")
    not_made = [line for line in done.stdout.splitlines() if "not made" in line]
    assert not any("transom" in line or "backbone" in line for line in not_made)
    assert not (tmp_path / "out" / "transom").exists() and not (tmp_path / "out" / "backbone").exists()
    index = (tmp_path / "out" / "index.html").read_text()
    assert "gives no transom" in index and "gives no half-siding" in index


def test_of_a_model_taken_to_the_inside_the_bearding_is_what_was_read():
    hull = scrieve.read(SAMPLE.parent / "era" / "1883-marsh-samphire.offsets").fair()
    with pytest.raises(scrieve.LoftError, match="gives no planking thickness: give one"):
        hull.rabbet(2.6)
    x = 2.6
    rabbet = hull.rabbet(x, thickness=PLANKING)
    assert rabbet.bearding == pytest.approx((rabbet.half_siding, hull.section(x).points(2)[0][2]), abs=1e-6)
    assert rabbet.rabbet[1] == pytest.approx(
        rabbet.bearding[1] - PLANKING / math.sin(math.radians(rabbet.bevel)), abs=3e-4
    )
    backbone = hull.backbone(thickness=PLANKING)
    assert backbone.failures == []
    assert any(
        "stem" in said and "all but lies along the piece" in said and "mm) up" in said for said in backbone.remarks
    )
    assert all(drawing.check() == [] for drawing in backbone.drawings())


def outline(drawing):
    """The piece cut, as a polygon in mm."""
    from shapely.geometry import Polygon

    (path,) = [p for p in drawing.paths() if p["layer"] == "Outlines"]
    return Polygon(path["points"])


@pytest.mark.parametrize("nib", [0.0, 1 / 8, 1 / 6])
@pytest.mark.parametrize("boat", ["sandling", "turnstone"])
def test_scarfed_pieces_mate_along_the_whole_joint(boat, nib):
    hull = scrieve.read(SAMPLE.parent / f"{boat}.offsets").fair()
    backbone = hull.backbone(nib=nib, scarf=6.0)
    cut = {d.name: outline(d) for d in backbone.drawings() if d.name in ("keel", "stem", "sternpost")}
    keel = cut.pop("keel")
    amidships = backbone.keel().iloc[len(backbone.keel()) // 2]
    depth = amidships.upper - amidships.underside
    assert backbone.scarf == pytest.approx(6 * depth) and backbone.nib == pytest.approx(nib * depth)
    for name, end in cut.items():
        assert keel.is_valid and end.is_valid, name
        whole = keel.union(end)
        # One piece without a hole, nothing counted twice: within what a chord may leave of a curve.
        assert whole.geom_type == "Polygon" and not whole.interiors, name
        assert keel.intersection(end).area < 1.0 and whole.area == pytest.approx(keel.area + end.area, abs=1.0)
        joint = keel.boundary.intersection(end.boundary.buffer(0.05)).length
        assert joint == pytest.approx(math.hypot(1e3 * backbone.scarf, 1e3 * depth), rel=0.05), name


def test_a_batten_bends_the_underside_of_the_keel_within_what_its_readings_are_worth(sandling, run, tmp_path):
    source = SAMPLE.read_text().splitlines()
    row = next(i for i, line in enumerate(source) if line.startswith("rabbet") and "|" in line)
    columns = source[row].split("|")[1].split()
    # A straight keel that drops aft by half an inch a station, and one reading an eighth off a straight.
    straight = ["-" if c == "-" else f"-0-{1 + i // 4}-{2 * (i % 4)}" for i, c in enumerate(columns)]
    straight[-1] = "-"
    (tmp_path / "straight.offsets").write_text(
        "\n".join([*source[: row + 1], "keel | " + " ".join(straight), *source[row + 1 :]]) + "\n"
    )
    keel = scrieve.read(tmp_path / "straight.offsets").fair().backbone().keel()
    assert len(keel) > 6
    slopes = np.diff(keel.underside) / np.diff(keel.from_stem)
    read = [scrieve.Reading(straight[int(s) - 1]).m for s in keel.station]
    assert np.abs(keel.underside - read).max() <= 1.6e-3 + 1e-6
    assert np.ptp(slopes) < 5e-3


def test_a_keel_with_much_drag_says_that_no_deadwood_is_parted_from_it(tmp_path):
    source = SAMPLE.read_text().splitlines()
    row = next(i for i, line in enumerate(source) if line.startswith("rabbet") and "|" in line)
    columns = source[row].split("|")[1].split()
    inches = [2 + 2 * i for i in range(len(columns))]
    drag = ["-" if c == "-" else f"-{n // 12}-{n % 12}-0" for c, n in zip(columns, inches, strict=True)]
    drag[-1] = "-"
    path = tmp_path / "drag.offsets"
    path.write_text("\n".join([*source[: row + 1], "keel | " + " ".join(drag), *source[row + 1 :]]) + "\n")
    backbone = scrieve.read(path).fair().backbone()
    assert not any("deadwood" in failure for failure in backbone.failures)
    said = [remark for remark in backbone.remarks if "deadwood" in remark]
    assert len(said) == 1 and "built up" in said[0]


def test_the_command_line_tells_where_the_rabbet_is_long_and_what_would_do(run, tmp_path):
    done = run("pickup", "backbone", SAMPLE.parent / "era" / "1911-winkle.offsets", "-o", tmp_path / "out",
               "--thickness", "0-0-4")  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "note: stem, " in done.stderr and "all but lies along the piece" in done.stderr
    assert "cut to a piece of the planking" in done.stderr


@pytest.mark.parametrize(
    ("words", "said", "status"),
    [
        (["--nib", "0.6"], "a scarf's nib of 0.6", 2),
        (["--scarf", "0"], "length of a scarf over the keel's depth", 2),
        # On a flat floor even thick planking finds room: what has none is told once a piece.
        (["--thickness", "0-4-0"], "not made: rabbet of the stem: .* side the piece .* or take thinner planking", 1),
        (["--thickness", "0-9-0"], "side the piece .* or take thinner planking", 2),
    ],
)
def test_a_backbone_that_cannot_be_is_refused_in_a_sentence(run, tmp_path, words, said, status):
    done = run("pickup", "backbone", SAMPLE, "-o", tmp_path / "out", *words)
    assert done.returncode == status and re.search(said, done.stderr), done.stderr
    # On a busy machine it is also told how long fairing took.
    assert len([line for line in done.stderr.splitlines() if not line.startswith("fairing ")]) < 7


def test_a_transoms_bevels_are_given_at_diagonals_and_at_a_spacing(sandling_hull):
    plain, close = sandling_hull.transom(), sandling_hull.transom(bevel_every=0.1)
    table = plain.bevels()
    rake = math.radians(plain.rake)
    diagonals = table[table["at"].str.startswith("diagonal")]
    assert len(diagonals) > 0
    outer = plain.outer.points(8001)
    steps = np.r_[0, np.cumsum(np.linalg.norm(np.diff(outer, axis=0), axis=1))]
    for row in diagonals.itertuples():
        _, across, up = outer[np.argmin(np.abs(steps - row.girth))]
        given = re.search(rf"\[diagonal\.{row.at.split()[1]}\](.*?)\n\n", SAMPLE.read_text(), re.S).group(1)
        # Its height on the centreline, and the half-breadth and height it passes through.
        m = [scrieve.Reading(reading).m for reading in re.findall(r'"([-0-9]+)"', given)]
        assert up * math.cos(rake) == pytest.approx(m[0] - (m[0] - m[2]) / m[1] * across, abs=5e-4)
    girths = close.bevels()[close.bevels()["at"].str.endswith("up the edge")].girth
    assert list(girths) == pytest.approx([0.1 * (i + 1) for i in range(len(girths))], abs=1e-6)
    assert list(close.bevels().girth) == sorted(close.bevels().girth)
    with pytest.raises(scrieve.LoftError, match="give 0.01 m or more"):
        sandling_hull.transom(bevel_every=0.0)


@pytest.mark.parametrize("name", ["eider", "grebe", "oystercatcher", "greylag", "wigeon"])
def test_round_ends_give_simple_patterns_without_a_knife_edge(name):
    made = scrieve.read(SAMPLE.parent / "as-built" / f"{name}.offsets").fair().backbone()
    assert not made.failures
    drawings = {drawing.name: drawing for drawing in made.drawings()}
    assert {"keel", "stem", "sternpost"} <= set(drawings)
    for pattern in ("keel", "stem", "sternpost"):
        assert not drawings[pattern].check()
        for path in drawings[pattern].paths(0.02):
            if path["layer"] != "Outlines":
                continue
            points = np.asarray(path["points"])
            legs = np.diff(np.vstack([points, points[:2]]), axis=0)
            legs = legs[np.hypot(*legs.T) > 1e-3]
            after = np.roll(legs, -1, axis=0)
            turn = np.abs(np.arctan2(legs[:, 0] * after[:, 1] - legs[:, 1] * after[:, 0], (legs * after).sum(axis=1)))
            assert np.degrees(turn[:-1].max()) < 150
