"""The lines on paper and screen: any scale, any sheet, every kind of file, and told apart in black."""

import re
import struct
import zlib
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pypdfium2
import pytest
from conftest import SAMPLES
from PIL import Image
from scipy.ndimage import binary_dilation, find_objects, label

import scrieve
from scrieve.sizes import DRAWING_SHEETS, drawing_sheet_mm

BOATS = sorted(SAMPLES.glob("**/*.offsets"))
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def sandling():
    return scrieve.read(SAMPLES / "sandling.offsets").fair()


def boxes(drawing):
    """Boxes round what is drawn, mm: one a layer and view is enough to see how full a sheet is."""
    return [np.vstack([p["points"].min(axis=0), p["points"].max(axis=0)]) for p in drawing.paths(0.1)]


def filled(drawing):
    """The part of the sheet within the boxes round its views and its title block: what is drawn less than 10 mm apart
    is of one view."""
    width, height = drawing.sheet_mm
    taken = np.zeros((int(height // 5) + 1, int(width // 5) + 1), bool)
    for path in drawing.paths(0.1):
        points = path["points"]
        if len(points) < 2 or (path["layer"] == "Frame" and np.ptp(points, axis=0).max() > 0.6 * width):
            continue
        steps = np.linspace(points[:-1], points[1:], 120).reshape(-1, 2)
        taken[(steps[:, 1] // 5).astype(int), (steps[:, 0] // 5).astype(int)] = True
    views = np.zeros_like(taken)
    for box in find_objects(label(binary_dilation(taken, np.ones((3, 3))))[0]):
        views[box] = True
    return views.mean()


@pytest.mark.parametrize("path", BOATS, ids=lambda path: path.stem)
def test_the_sheet_is_the_papers_size_and_full(path):
    hull = scrieve.read(path).fair()
    drawing = hull.lines()
    assert drawing.sheet_mm == (420.0, 297.0)
    root = ElementTree.fromstring(drawing.to_svg())
    assert (root.get("width"), root.get("height")) == ("420mm", "297mm")
    # More than that no scale in common use gives a boat whose next larger one is too large by a hair.
    assert filled(drawing) > 0.4
    # Every letter at least 2.5 mm high (ISO 3098); a capital is 0.72 of a font's size.
    heights = [0.72 * float(text.get("font-size")) for text in root.iter(f"{SVG}text")]
    assert min(heights) > 2.49
    texts = [text.text for text in root.iter(f"{SVG}text")]
    assert "sheer" in texts and ("transom" in texts) == hull.has_transom
    assert any("LWL" in text for text in texts) == ("load_waterline" in hull.source.facts)


@pytest.mark.parametrize("name", DRAWING_SHEETS)
def test_every_sheet_that_has_a_name_is_filled(sandling, name):
    drawing = sandling.lines(drawing_sheet=name)
    assert drawing.sheet_mm == pytest.approx(tuple(1e3 * side for side in DRAWING_SHEETS[name]))
    # Letters are as large on a small sheet.
    assert filled(drawing) > (0.3 if min(drawing.sheet_mm) < 250.0 else 0.4)


def test_a_sheet_is_told_by_its_name_or_its_sides():
    # ISO 216: A0 has an area of one square metre, each next half of it.
    for name, area in (("A0", 1.0), ("a1", 0.5), ("A2", 0.25), (" a3 ", 0.125), ("A4", 0.0625)):
        width, height = drawing_sheet_mm(name)
        assert width * height * 1e-6 == pytest.approx(area, rel=3e-3)
        assert width / height == pytest.approx(2**0.5, rel=5e-3)
    assert drawing_sheet_mm("ansi  d") == (863.6, 558.8)
    assert drawing_sheet_mm("900 x 600mm") == (900.0, 600.0)
    assert drawing_sheet_mm("3-0-0 x 2-0-0") == pytest.approx((914.4, 609.6))
    assert drawing_sheet_mm(None) is None
    for told in ("", "A9", "900mm", "900mm x 0mm", "1m x 2m x 3m", "x"):
        with pytest.raises(scrieve.ScrieveError, match="(?s)drawing sheet.*expected A4, A3"):
            drawing_sheet_mm(told)


@pytest.mark.parametrize("scale, sheet", [(24.0, (420.0, 297.0)), (12.0, None), (1.0, None), (0.5, None), (17.3, None)])
def test_at_any_scale_she_measures_what_she_is(sandling, tmp_path, scale, sheet):
    drawing = sandling.lines(scale=scale)
    if sheet is not None:
        assert drawing.sheet_mm == sheet
    scrieve.write(drawing, tmp_path / "lines.dxf")
    read = ezdxf.readfile(tmp_path / "lines.dxf")
    hull = read.modelspace().query('*[layer=="Hull"]')
    spans = [np.ptp([p.x for p in ezdxf.path.make_path(entity).flattening(0.01)]) for entity in hull]
    sheer = np.ptp(sandling.reference_lines()[-1].points(2000)[:, 0])
    assert max(spans) == pytest.approx(1e3 * sheer / scale, abs=0.05)
    width, height = drawing.sheet_mm
    for box in boxes(drawing):
        assert (box >= 0.0).all() and (box <= [width, height]).all()


@pytest.mark.parametrize("given", [
    {}, {"scale": 1.0}, {"scale": 2.0}, {"scale": 0.5}, {"scale": 7.0}, {"units": "mm"}, {"units": "mm", "scale": 1.0},
    {"foreshortened": 10.0}, {"foreshortened": 5.0, "scale": 2.0},
])  # fmt: skip
def test_the_scale_bar_is_as_long_as_it_says(sandling, given):
    drawing = sandling.lines(**given)
    told = [(text, float(text["text"].split()[1].removeprefix("1:").rstrip(",")))
            for text in drawing.texts() if text["text"].startswith("Scale 1:")]  # fmt: skip
    if "foreshortened" in given:
        rows = [text for text in drawing.texts() if ": scale 1:" in text["text"]]
        told = [(text, float(text["text"].split("1:")[1].split(",")[0])) for text in rows]
        assert told[1][1] == pytest.approx(given["foreshortened"] * told[0][1])
    ends = [text for text in drawing.texts() if re.fullmatch(r"[\d.]+ (ft|m)", text["text"])]
    noughts = [text for text in drawing.texts() if text["text"] == "0"]
    assert len(ends) == len(told) == (2 if "foreshortened" in given else 1)
    for end, (_, scale) in zip(ends, told, strict=True):
        length, unit = end["text"].split()
        nought = next(text for text in noughts if text["at"][1] == pytest.approx(end["at"][1]))
        metres = float(length) * {"ft": 0.3048, "m": 1.0}[unit]
        # Figures of a short bar are rounded to hundredths.
        assert end["at"][0] - nought["at"][0] == pytest.approx(1e3 * metres / scale, rel=0.02)


def test_a_foreshortened_drawing_shows_a_hump_that_a_true_one_hides(sandling):
    plain, short = sandling.lines(scale=20.0), sandling.lines(scale=20.0, foreshortened=10.0)

    def sheer(drawing):
        hull = [p["points"] for p in drawing.paths(0.01) if p["layer"] == "Hull"]
        return max(hull, key=lambda points: np.ptp(points[:, 0]))

    assert np.ptp(sheer(plain)[:, 0]) == pytest.approx(10.0 * np.ptp(sheer(short)[:, 0]), rel=1e-6)
    assert np.ptp(sheer(plain)[:, 1]) == pytest.approx(np.ptp(sheer(short)[:, 1]), rel=1e-3)
    texts = [text for text in short.to_svg().split("<text")[1:]]
    assert any("Lengths: scale 1:200" in text for text in texts) and not any("BODY PLAN" in text for text in texts)
    for wrong in (0.5, 0.0, float("nan")):
        with pytest.raises(scrieve.ScrieveError, match="shorter: expected 1 and more"):
            sandling.lines(foreshortened=wrong)


def test_a_scale_too_large_for_the_sheet_is_refused_with_what_it_needs(sandling):
    with pytest.raises(
        scrieve.ScrieveError, match=r"at 1:4 the drawing is \d+ x \d+ mm: larger than the sheet of 420 x 297"
    ):
        sandling.lines(scale=4.0, drawing_sheet="A3")
    for scale in (0.0, -1.0, float("inf"), 1e-3):
        with pytest.raises(scrieve.ScrieveError, match="makes no sense"):
            sandling.lines(scale=scale)


def test_a_picture_has_its_size_and_what_the_drawing_has(sandling, tmp_path):
    drawing = sandling.lines()
    scrieve.write(drawing, tmp_path / "lines.png", dots_per_inch=100.0)
    data = (tmp_path / "lines.png").read_bytes()
    at = data.index(b"pHYs")
    assert struct.unpack(">IIB", data[at + 4 : at + 13]) == (3937, 3937, 1)
    assert struct.unpack(">I", data[at + 13 : at + 17])[0] == zlib.crc32(data[at : at + 13])
    image = Image.open(tmp_path / "lines.png").convert("L")
    assert image.size == (1654, 1169)
    dark = np.asarray(image) < 160
    # Half a millimetre of hull line stands wherever the drawing has it.
    for path in drawing.paths(0.05):
        if path["layer"] == "Hull":
            x, y = (path["points"] * 100.0 / 25.4).T
            near = [
                dark[int(1169 - b) - 1 : int(1169 - b) + 2, int(a) - 1 : int(a) + 2].any()
                for a, b in zip(x, y, strict=True)
            ]
            assert np.mean(near) > 0.99
    with pytest.raises(scrieve.ScrieveError, match="10 to 2400 dots to the inch"):
        scrieve.write(drawing, tmp_path / "no.png", dots_per_inch=5.0)
    with pytest.raises(scrieve.ScrieveError, match="too large: at most"):
        scrieve.write(sandling.lines(scale=1.0), tmp_path / "no.png", dots_per_inch=300.0)
    assert not (tmp_path / "no.png").exists()


def test_a_sheet_in_pdf_is_one_page_of_its_size(sandling, tmp_path):
    for told in ("A3", "A1", "900mm x 700mm"):
        drawing = sandling.lines(drawing_sheet=told)
        scrieve.write(drawing, tmp_path / "lines.pdf")
        pdf = pypdfium2.PdfDocument(tmp_path / "lines.pdf")
        assert len(pdf) == 1
        size = tuple(side / 72.0 * 25.4 for side in pdf[0].get_size())
        assert size == pytest.approx(drawing.sheet_mm, abs=0.02)


def test_the_verb_has_what_the_method_has(run, tmp_path):
    table = SAMPLES / "sandling.offsets"
    for name in ("l.svg", "l.png", "l.pdf", "l.dxf"):
        done = run("lines", table, "-o", tmp_path / name, "--drawing-sheet", "A2", "--foreshortened", "5")
        assert done.returncode == 0 and (tmp_path / name).stat().st_size > 5000, done.stderr
    done = run("lines", table, "-o", tmp_path / "no.svg", "--drawing-sheet", "B7")
    assert done.returncode == 2 and "drawing sheet 'B7'" in done.stderr and "fairing" not in done.stderr
    assert not (tmp_path / "no.svg").exists()


def test_a_label_that_finds_no_room_is_said(run, tmp_path):
    hull = scrieve.read(SAMPLES / "sandling.offsets").fair()
    assert hull.lines(drawing_sheet="A1").unwritten == []
    with pytest.warns(scrieve.errors.Note, match="no room is left for .*: a larger drawing sheet has it"):
        small = hull.lines(scale=192.0)
    # Whatever is called so elsewhere, a section that has no name is told of.
    names = [text["text"] for text in small.texts()]
    lost = [label.removesuffix(" on its section") for label in small.unwritten if label.endswith("on its section")]
    assert lost and all(names.count(name) < 4 for name in lost)
    done = run("lines", SAMPLES / "sandling.offsets", "-o", tmp_path / "l.svg", "--scale", "192")
    assert done.returncode == 0 and "no room is left for" in done.stderr


def test_a_sheet_that_stands_has_the_views_below_one_another():
    hull = scrieve.read(SAMPLES / "as-built" / "whooper.offsets").fair()
    drawing = hull.lines(drawing_sheet="600mm x 841mm", scale=20.0)
    assert drawing.sheet_mm == (600.0, 841.0)
    names = {text["text"]: text["at"] for text in drawing.texts()}
    heights = [
        names[name][1] for name in ("SHEER PLAN", "HALF-BREADTH PLAN", "DIAGONALS", "BODY PLAN") if name in names
    ]
    assert len(heights) >= 3 and heights == sorted(heights, reverse=True)
