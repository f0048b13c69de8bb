"""What of a boat's lines is read, and what is not.

The hull is known in closed form, y = s + B (1 - ξ²)(1 - (1 - ζ)²) between plumb ends, its rabbet level on the base line
and its sheer level at ζ = 1, so that whatever is blanked in its table is the only thing about it that is not read.
"""

import json
import math
import xml.etree.ElementTree as ElementTree

import ezdxf
import numpy as np
import pytest
from conftest import SAMPLES, scrieve_verb

import scrieve
from scrieve.tables import in_mm

LENGTH, BREADTH, DEPTH, SIDING = 6.0, 1.0, 0.8, 0.03
XS = [0.6 * i for i in range(1, 10)]
WATERLINES = [0.2, 0.4, 0.6]
ENDS = '[stem]\nspots = [["0", "0"]]\n[sternpost]\nspots = [["6000", "0"]]\n'


def half_breadth(x, z):
    return SIDING + BREADTH * (1 - (2 * x / LENGTH - 1) ** 2) * (1 - (1 - z / DEPTH) ** 2)


def table_text(blank=None, head=ENDS, keel=None, **changed):
    """Her table in mm; `blank` maps rows to stations left empty, `changed` (as `r_400_5`) readings to others."""
    rows = {
        "heights": {"sheer": [DEPTH] * 9, "rabbet": [0.0] * 9},
        "half-breadths": {"sheer": [half_breadth(x, DEPTH) for x in XS]}
        | {f"waterline {1e3 * z:.0f}": [half_breadth(x, z) for x in XS] for z in WATERLINES},
    }
    if keel:
        rows["heights"]["keel"] = keel
    text = '+++\nformat = 1\nname = "Level Ness" # invented\nunits = "mm"\ntolerance = "0.5"\n'
    text += 'planking = "12"\nload_waterline = "400"\n'
    text += f'[backbone]\nhalf_siding = "{1e3 * SIDING:.0f}"\n{head}+++\n'
    text += "station | " + " ".join(str(i) for i in range(1, 10)) + "\n"
    text += "from stem | " + " ".join(f"{1e3 * x:.0f}" for x in XS) + "\n"
    for block, lines in rows.items():
        text += f"\n[{block}]\n"
        for name, values in lines.items():
            empty = (blank or {}).get((block, name), ())
            cells = ["-" if i in empty else f"{1e3 * v:.0f}" for i, v in enumerate(values, 1)]
            for key, value in changed.items():
                _, row, station = key.split("_")
                if name == f"waterline {row}":
                    cells[int(station) - 1] = value
            text += f"{name} | " + " ".join(cells) + "\n"
    return text


@pytest.fixture
def boat(tmp_path):
    def faired(**given):
        path = tmp_path / "level-ness.offsets"
        path.write_text(table_text(**given))
        return scrieve.read(path).fair()

    return faired


SHEER, SHEER_BREADTH = ("heights", "sheer"), ("half-breadths", "sheer")
RABBET, WATERLINE = ("heights", "rabbet"), ("half-breadths", "waterline 400")


def test_a_full_table_is_read_all_along(boat):
    hull = boat()
    assert len(hull.evidence()) == 0
    assert not any("unread" in layer["name"] for layer in hull.lines().layers)
    assert "Dashed" not in hull.lines().to_svg()


def test_lengths_alone_are_headed_with_a_unit_though_no_stretch_is_listed(boat):
    headed = [str(name) for name in in_mm(boat().evidence()).columns]
    assert len(headed) == 9
    assert [name for name in headed if "mm" not in name] == ["line", "assumed", "why"]


@pytest.mark.parametrize("name", ["turnstone", "sandling", "mudlark", "as-built/bittern", "as-built/moorhen"])
def test_samples_with_a_reading_at_every_station_are_read_all_along(name):
    assert len(scrieve.read(SAMPLES / f"{name}.offsets").fair().evidence()) == 0


@pytest.mark.parametrize(
    ("row", "line"),
    [
        (SHEER, "sheer in profile"),
        (SHEER_BREADTH, "sheer in plan"),
        (RABBET, "rabbet in profile"),
        (WATERLINE, "waterline 400"),
    ],
)
@pytest.mark.parametrize(("first", "last"), [(4, 6), (5, 5), (3, 7)])
def test_readings_taken_away_leave_exactly_that_stretch(boat, row, line, first, last):
    evidence = boat(blank={row: range(first, last + 1)}).evidence()
    assert list(evidence.line) == [line]
    stretch = evidence.iloc[0]
    ends = (XS[first - 2], XS[last])
    assert (stretch.from_x, stretch.to_x) == pytest.approx(ends, abs=2e-3)
    assert stretch.why == f"no reading between station {first - 1} and station {last + 1}"
    assert not stretch.assumed
    # No shorter than its run along the boat, and no longer than that and what the half-breadth changes by.
    assert ends[1] - ends[0] - 4e-3 <= stretch.length <= ends[1] - ends[0] + BREADTH
    assert 1e-5 < stretch.sd < 0.1


def test_the_wider_the_stretch_the_less_is_known_of_it(boat):
    sds = [boat(blank={SHEER: range(5 - k, 6 + k)}).evidence().sd.max() for k in range(3)]
    assert sds[0] < sds[1] < sds[2]


def test_past_its_last_reading_a_line_is_unread_to_its_end(boat):
    evidence = boat(blank={WATERLINE: range(7, 10)}).evidence()
    assert list(evidence.line) == ["waterline 400"]
    # Its end lies on the sternpost, which is told; the stretch between is as long all the same.
    assert (evidence.from_x[0], evidence.to_x[0]) == pytest.approx((XS[5], LENGTH), abs=2e-3)
    assert evidence.why[0] == "no reading past station 6"


def test_a_reading_left_out_is_none(boat):
    evidence = boat(r_400_5="990").evidence()
    assert list(evidence.line) == ["waterline 400"]
    assert (evidence.from_x[0], evidence.to_x[0]) == pytest.approx((XS[3], XS[5]), abs=2e-3)
    assert "what was read there is left out" in evidence.why[0]


def test_what_is_assumed_shows_with_it(boat):
    hull = boat(head=ENDS.replace("]]\n[sternpost]", "]]\nassumed = true\n[sternpost]"))
    evidence = hull.evidence().set_index("line")
    stem = evidence.loc["stem in profile"]
    assert stem.assumed and stem.why == "assumed, not measured"
    assert abs(stem.from_z - stem.to_z) == pytest.approx(DEPTH, abs=0.01)
    # Whatever ends on it is read no farther than the first station.
    for line in ["sheer in profile", "sheer in plan", "waterline 200", "waterline 400", "waterline 600"]:
        row = evidence.loc[line]
        assert (row.from_x, row.to_x) == pytest.approx((0.0, XS[0]), abs=2e-3)
    assert "Stem assumed, not measured" in hull.lines().to_svg()


def test_a_blank_that_stands_for_a_reading_is_an_assumption(boat):
    told = ENDS + '[blank]\nrabbet = "on the base line"\n'
    evidence = boat(blank={RABBET: (4, 5, 6)}, head=told).evidence()
    assert list(evidence.line) == ["rabbet in profile"] and evidence.assumed.all()
    assert "blanks taken as on the base line" in evidence.why[0]


def test_the_underside_of_the_keel_is_listed_too(tmp_path):
    path = tmp_path / "keel.offsets"
    path.write_text(table_text(keel=[-0.05] * 9, blank={("heights", "keel"): (4, 5, 6)}))
    evidence = scrieve.read(path).fair().evidence()
    assert list(evidence.line) == ["keel"] and math.isnan(evidence.sd[0])
    assert (evidence.from_x[0], evidence.to_x[0]) == pytest.approx((XS[2], XS[6]))


def test_unread_stretches_are_dashed_in_the_drawing_and_said(boat, tmp_path):
    hull = boat(blank={SHEER: (4, 5, 6), WATERLINE: (4, 5, 6)})
    drawing = hull.lines()
    assert "Dashed: no reading near, or assumed" in drawing.to_svg()
    groups = ElementTree.fromstring(drawing.to_svg()).iter("{http://www.w3.org/2000/svg}g")
    dashed = {g[0].text for g in groups if g.get("stroke-dasharray")}
    assert {"Hull unread", "Waterlines unread"} <= dashed
    scrieve.write([drawing], tmp_path / "lines.dxf")
    read = ezdxf.readfile(tmp_path / "lines.dxf")
    auditor = read.audit()
    assert not auditor.errors and not auditor.fixes
    pattern = read.linetypes.get(read.layers.get("Hull unread").dxf.linetype)
    lengths = [tag.value for tag in pattern.pattern_tags.tags if tag.code == 49]
    assert len(lengths) == 2 and lengths[0] > 0 > lengths[1]
    # The drawn lines and the dashed ones together are as long as the lines of a table without gaps.
    whole = boat().lines()
    scrieve.write([whole], tmp_path / "whole.dxf")

    def drawn(document, layer):
        paths = document.modelspace().query(f'*[layer=="{layer}"]')
        points = (np.array(list(ezdxf.path.make_path(entity).flattening(0.01))) for entity in paths)
        return sum(np.linalg.norm(np.diff(p, axis=0), axis=1).sum() for p in points)

    full = ezdxf.readfile(tmp_path / "whole.dxf")
    for layer in ["Hull", "Waterlines"]:
        parts = drawn(read, layer), drawn(read, f"{layer} unread")
        assert sum(parts) == pytest.approx(drawn(full, layer), rel=2e-3)
        assert 0.02 < parts[1] / sum(parts) < 0.5


def test_ends_that_nothing_tells_of_are_drawn_in_dashes_and_said(boat, tmp_path):
    post = ENDS[ENDS.index("[sternpost]") :]
    stem = ENDS[: ENDS.index("[sternpost]")]
    heights, dashes = [], []
    for head, said in (
        ("", "No stem or stern given: drawn from station 1 to station 9, no longer"),
        (post, "No stem given: drawn from station 1 on, not from her stem"),
        (stem, "No stern given: drawn to station 9, not to her stern"),
    ):
        drawing = boat(head=head).lines(scale=20.0)
        svg = drawing.to_svg()
        # A long line of the title block goes on below.
        written = " ".join(t.text for t in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text"))
        assert said in written and "Dashed: no reading near, or assumed" in written
        groups = ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}g")
        assert "Hull unread" in {g[0].text for g in groups if g.get("stroke-dasharray")}
        # The whole end is dashed, rabbet to sheer, and in plan from the rabbet out.
        scrieve.write([drawing], tmp_path / "lines.dxf")
        read = ezdxf.readfile(tmp_path / "lines.dxf").modelspace().query('*[layer=="Hull unread"]')
        paths = [np.array(list(ezdxf.path.make_path(entity).flattening(0.01))) for entity in read]
        heights.append(max(np.ptp(p[:, 1]) for p in paths if np.ptp(p[:, 0]) < 1e-6))
        dashes.append(sum(np.linalg.norm(np.diff(p, axis=0), axis=1).sum() for p in paths))
    assert max(heights) == pytest.approx(min(heights), rel=0.01)
    assert dashes[0] == pytest.approx(dashes[1] + dashes[2], rel=0.02)
    told = boat().lines().to_svg()
    assert "given" not in told
    # A length has its unit.
    assert "Length 6000 mm, beam " in told and "Length 4800 mm" in boat(head="").lines().to_svg()


def test_the_backbones_drawing_dashes_what_nothing_tells_of(boat):
    profile = boat(blank={RABBET: (4, 5, 6)}).backbone().drawings()[0]
    dashed = [layer["name"] for layer in profile.layers if layer["dashes_mm"]]
    assert dashed == ["Rabbet lines unread"]
    assert "DASHED: NO READING NEAR, OR ASSUMED" in profile.to_svg()
    assert "DASHED" not in boat().backbone().drawings()[0].to_svg()
    assumed = boat(head=ENDS.replace("]]\n[sternpost]", "]]\nassumed = true\n[sternpost]"))
    names = [layer["name"] for layer in assumed.backbone().drawings()[0].layers if layer["dashes_mm"]]
    assert set(names) == {"Rabbet lines unread", "Pieces unread"}


def test_the_reports_list_it(run, tmp_path):
    path = tmp_path / "level-ness.offsets"
    path.write_text(table_text(blank={SHEER: (4, 5, 6)}))
    said = run("fair", path)
    assert "no reading near" in said.stdout
    listed = said.stdout[said.stdout.index("no reading near") :].splitlines()
    assert len(listed) == 2 and listed[1].split()[:5] == ["sheer", "in", "profile", "1800", "4200"]
    data = json.loads(run("fair", path, "--json").stdout)
    assert [row["line"] for row in data["evidence"]] == ["sheer in profile"]
    done = run("loft", path, "-o", "lofted")
    assert "no reading is near 1 stretch of her lines" in (tmp_path / "lofted" / "index.html").read_text()
    listed = (tmp_path / "lofted" / "evidence.csv").read_text().splitlines()
    name, start = listed[1].split(",")[:2]
    assert len(listed) == 2 and name == "sheer in profile", done.stderr
    assert float(start) == pytest.approx(1800, abs=0.1)


def test_a_table_without_a_stem_says_so_with_the_remedy_in_every_report(tmp_path):
    path = tmp_path / "boats" / "level-ness.offsets"
    path.parent.mkdir()
    path.write_text(table_text(head=""))
    remedy = "no stem is given: she begins at her first station, 1; if she does not, `[stem]`"
    for verb in [("fair", path), ("float", path), ("lines", path, "-o", "lines.svg"), ("compare", path.parent)]:
        done = scrieve_verb(*verb, cwd=tmp_path)
        assert remedy in done.stdout + done.stderr, verb
    scrieve_verb("loft", path, "-o", "lofted", cwd=tmp_path)
    assert "she begins at her first station, 1" in (tmp_path / "lofted" / "index.html").read_text()
    given = json.loads(scrieve_verb("compare", path.parent, "--json", cwd=tmp_path).stdout)
    assert remedy in given["open_ends"]["Level Ness"][0]


def test_a_keel_that_crosses_the_rabbet_is_said_and_she_floats_all_the_same(run, tmp_path):
    path = tmp_path / "crossed.offsets"
    keel = [-0.05] * 9
    keel[4] = 0.04
    path.write_text(table_text(keel=keel))
    hull = scrieve.read(path).fair()
    area, centre = hull.lateral_plane(0.4).parts["keel"]
    # Two trapezia of 1.8 m, and from each a triangle to where the underside crosses the rabbet, 5/9 of a space on.
    assert area == pytest.approx(2 * (1.8 * 0.05 + 0.5 * 0.05 * 0.6 * 5 / 9), rel=0.02)
    assert centre[0] == pytest.approx(LENGTH / 2, abs=0.01)
    done = run("float", path)
    # She floats, and the reading is a query of proofreading's, kept in her.
    assert done.returncode == 1 and "upright at the load waterline" in done.stdout
    assert "queried, and kept: keel height at 5 reads 40" in done.stderr
    assert "keel height at station 5 lies 40 mm above the rabbet" in done.stderr
