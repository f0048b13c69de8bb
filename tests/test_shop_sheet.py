"""What stands on a shop's sheets besides the cuts: title boxes, the set-up drawing, what goes from file to file."""

import hashlib

import ezdxf
import pandas
import pytest
import shapely
from conftest import SAMPLES
from ezdxf import path as ezpath

import scrieve
from scrieve import Drawing
from scrieve.patterns import job
from scrieve.patterns.run import draw
from scrieve.patterns.shop import of_table
from scrieve.plugin.registry import find

SANDLING = SAMPLES / "sandling.offsets"


def drawn(name, hull, **options):
    return draw(find("patterns", name), hull, options)


def test_letters_outside_their_part_are_found():
    drawing = Drawing("part")
    drawing.polyline(drawing.layer("Outlines", "cut outside"), [(0, 0), (90, 0), (90, 40), (0, 40)], closed=True)
    letters = drawing.layer("Letters", "engrave")
    drawing.text(letters, "IN", (10, 10), 5.0)
    assert drawing.check() == []
    drawing.text(letters, "HALF OUT OF IT", (60, 10), 5.0)
    (found,) = drawing.check()
    assert found["fault"] == "letters outside" and "HALF OUT OF IT" in found["message"]


def test_every_pattern_that_is_cut_has_a_title_box_clear_of_its_parts(sandling_hull, tmp_path, monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    table = hashlib.sha256(SANDLING.read_bytes()).hexdigest()
    for name in ("moulds", "transom", "bevels"):
        for drawing in drawn(name, sandling_hull):
            said = "\n".join(drawing.title_box)
            assert "BOAT  Sandling" in said and "millimetres" in said and "DATE  ____" in said
            assert table.startswith(said.split("SHA-256 ")[1].split()[0]), "the SHA-256 of the file as sha256sum has it"
            path = tmp_path / f"{drawing.name}.dxf"
            scrieve.write(drawing, path, letters="text")
            document = ezdxf.readfile(path)
            boxed = [e for e in document.modelspace() if e.dxf.layer == "LOOK ONLY - Title"]
            texts = [e.dxf.text for e in boxed if e.dxftype() == "TEXT"]
            assert len(texts) == len(drawing.title_box) == 6
            low = drawing.bounds()[1]
            for one in boxed:
                ends = [one.dxf.insert] if one.dxftype() == "TEXT" else ezpath.make_path(one).control_vertices()
                assert max(end.y for end in ends) < low
    assert "STOCK  18 mm" in drawn("moulds", sandling_hull)[0].title_box
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    assert "DATE  1970-01-01" in drawn("moulds", sandling_hull)[0].title_box


def test_a_drawing_with_its_title_box_is_the_same_bytes_twice(sandling_hull, tmp_path):
    for suffix in ("dxf", "svg", "pdf"):
        for once in ("a", "b"):
            scrieve.write(drawn("moulds", sandling_hull)[:1], tmp_path / f"{once}.{suffix}")
        assert (tmp_path / f"a.{suffix}").read_bytes() == (tmp_path / f"b.{suffix}").read_bytes()
        if suffix == "svg":
            assert "SHA-256" in (tmp_path / "a.svg").read_text()


@pytest.mark.parametrize("upright", [False, True])
def test_the_set_up_says_where_each_mould_and_her_ends_stand_and_nothing_is_clipped(sandling_hull, upright):
    (drawing,) = drawn("set-up", sandling_hull, upright=upright)
    rows = sandling_hull.mould_set(upright=upright).set_up()
    texts = [text["text"] for text in drawing.texts()]
    for k, station in enumerate(rows["station"]):
        (line,) = [text for text in texts if text.startswith(f"{station}: ")]
        assert f"{1e3 * rows['along_strongback'][k]:.0f} MM" in line
        assert line.endswith(rows["face_on_the_line"][k].upper())
    assert sum("SPACING" in text for text in texts) == len(rows["station"]) - 1
    # The transom's foot is 15-9-7 from the stem in the table; her planking ends there to a sixteenth or so.
    (foot,) = [text for text in texts if text.startswith("TRANSOM EDGE, FOOT")]
    assert float(foot.split(", ")[2].split()[0]) == pytest.approx(scrieve.Reading("15-9-7").mm, abs=3)
    assert any(text.startswith("FORWARD END OF PLANKING, HEAD") for text in texts)
    left, bottom, right, top = drawing.bounds()
    # Strokes of the same words; tails of commas go a sixth of the letters below their line.
    alone = Drawing("strokes")
    layer = alone.layer("Letters", "annotate")
    for text in drawing.texts():
        alone.engrave(layer, text["text"], text["at"], text["height_mm"], text["angle"], text["anchor"])
    strokes = shapely.MultiLineString([one["points"] for one in alone.paths()])
    assert shapely.box(left, bottom, right, top).buffer(40.0 / 3.0).contains(strokes)
    # From above, port and starboard alike about a line.
    plan = [one for one in drawing.paths() if one["layer"] == "Moulds"][-len(rows["station"]) :]
    middles = [(one["points"][:, 1].min() + one["points"][:, 1].max()) / 2 for one in plan]
    assert max(middles) - min(middles) < 1e-6


def test_a_shops_choices_in_the_head_go_with_the_faired_table(tmp_path):
    head, rest = SANDLING.read_text().split("\n[backbone]", 1)
    choices = '\n[shop]\ncutter = "6mm"\n\n[shop.moulds]\nthickness = "15mm"   # ply\n'
    (tmp_path / "boat.offsets").write_text(f"{head}\n{choices}\n[backbone]{rest}")
    table = scrieve.read(tmp_path / "boat.offsets")
    job.loft(table.fair(), tmp_path / "out", choices=of_table(table, tmp_path / "boat.offsets"))
    faired = scrieve.read(tmp_path / "out" / "faired.offsets")
    kept = of_table(faired, tmp_path / "out" / "faired.offsets")
    assert kept.value("cutter") == pytest.approx(0.006) and kept.of_pattern("moulds") == {"thickness": 0.015}
    assert faired.stations == table.stations


def test_millimetres_come_first_of_a_boat_in_millimetres(tmp_path, sandling_hull):
    sandling_hull.table(units="mm").write(tmp_path / "metric.offsets")
    hull = scrieve.read(tmp_path / "metric.offsets").fair()
    job.loft(hull, tmp_path / "out")
    for file in ("parts.csv", "set-up.csv"):
        columns = list(pandas.read_csv(tmp_path / "out" / file))
        first = next(name for name in columns if name.startswith(("thickness", "from stem")))
        assert first.endswith(", mm"), columns


def test_a_half_deck_says_its_thickness_where_it_is_told(sandling_hull):
    told = drawn("inside", sandling_hull, deck_thickness=0.009)[-1]
    assert told.parts()["thickness"] == [pytest.approx(0.009)]
    assert any("9 MM THICK" in text["text"] for text in told.texts())
    assert drawn("inside", sandling_hull)[-1].parts()["thickness"] == [None]
