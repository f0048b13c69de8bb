"""Patterns on paper at full size, as pdfium (pypdfium2) draws and reads the pages: what a printer would be given."""

import re
import xml.etree.ElementTree as xml

import ezdxf
import ezdxf.path
import numpy
import paper_pages
import pypdfium2
import pytest
import shapely
from conftest import SAMPLES
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path

import scrieve
from scrieve import Drawing, DrawingError
from scrieve.patterns.run import draw
from scrieve.plugin.registry import find

# Dots to the millimetre that pages are drawn at; a dot either way is what a length is known to.
DOTS = 8
# ISO 216 and ANSI Y14.1, mm.
SIZES = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4), "Tabloid": (279.4, 431.8)}
A4 = SIZES["A4"]
# What a line may lie off between the formats of one part, mm.
AGREE_MM = 0.05
# What printers reach, from the edge of the paper, mm.
EDGE_MM = 8.0


def pages(path, dots=DOTS):
    """Size of each page, mm, and its ink as a mask, the last row at the foot of the page."""
    with pypdfium2.PdfDocument(path) as document:
        sizes = [tuple(side * 25.4 / 72 for side in page.get_size()) for page in document]
    return list(zip(sizes, paper_pages.ink(path, dots), strict=True))


@pytest.fixture(scope="module")
def mould(sandling_hull):
    (fifth,) = [drawing for drawing in sandling_hull.moulds(shape="whole") if drawing.name == "mould-5"]
    return fifth


@pytest.fixture(scope="module")
def on_paper(mould, tmp_path_factory):
    path = tmp_path_factory.mktemp("paper") / "mould.pdf"
    scrieve.write([mould], path, paper="A4")
    return path


@pytest.fixture(scope="module")
def tiled(on_paper):
    return pages(on_paper)


def longest_run(line):
    """Length of the longest unbroken run of a mask."""
    edges = numpy.flatnonzero(numpy.diff(numpy.concatenate([[0], line.astype(int), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def test_tiles_are_of_the_paper_asked_for_and_none_is_blank(tiled):
    for size, ink in tiled:
        assert sorted(size) == pytest.approx(A4, abs=0.01)
        assert ink.any()


def test_every_tile_has_a_bar_of_100_mm_either_way(tiled):
    for _, ink in tiled[1:]:
        for lines in (ink, ink.T):
            runs = {longest_run(line) for line in lines}
            # Ends are round: half a line's thickness more at each.
            assert any(abs(run / DOTS - 100) < 0.5 for run in runs), sorted(runs)[-5:]


def test_a_whole_mould_is_on_its_sheet_as_wide_as_the_hull_inside_her_planking(sandling_hull, mould, tmp_path):
    path = tmp_path / "mould.pdf"
    scrieve.write([mould], path)
    ((size, ink),) = pages(path, dots=4)
    x0, _, x1, _ = mould.bounds()
    # 20 mm below and to the left of the drawing, where the bars stand, and 8 mm to the right of it.
    assert size[0] == pytest.approx(x1 - x0 + 28, abs=0.01)
    table = sandling_hull.table()
    edge = sandling_hull.mould(table.station_x["5"], deduct=table.facts["planking"]).points(2000)
    # At the height of each of a few spots of the edge, counted from the lowest ink of the keel's own flat.
    foot = numpy.flatnonzero(ink[:, int((20 + 0.5 * (x1 - x0)) * 4)])[-1]
    for y, z in ((edge[i, 1], edge[i, 2]) for i in (600, 1200, 1800)):
        row = ink[foot - int(round((z - edge[0, 2]) * 4000))]
        inked = numpy.flatnonzero(row[int(20 * 4) - 2 :])
        assert (inked[-1] - inked[0]) / 4 == pytest.approx(2000 * y, abs=1.5)


def test_tiles_laid_cross_over_cross_make_the_whole_drawing(mould, on_paper, tiled, tmp_path):
    path = tmp_path / "mould.pdf"
    scrieve.write([mould], path)
    ((_, whole),) = pages(path)
    (one,) = paper_pages.pages(path)
    sheets = paper_pages.pages(on_paper)[1:]
    x0, y0, x1, y1 = (
        f(side)
        for f, side in zip((min, min, max, max), zip(*(s.on_drawing() for s in sheets), strict=True), strict=True)
    )
    laid = numpy.zeros((int((y1 - y0) * DOTS) + 4, int((x1 - x0) * DOTS) + 4), bool)
    for (_, ink), sheet in zip(tiled[1:], sheets, strict=True):
        left, _, _, top = sheet.on_drawing()
        inner = ink[int(EDGE_MM * DOTS) : -int(EDGE_MM * DOTS), int(EDGE_MM * DOTS) : -int(EDGE_MM * DOTS)]
        row, column = int(round((y1 - top) * DOTS)), int(round((left - x0) * DOTS))
        laid[row : row + inner.shape[0], column : column + inner.shape[1]] |= inner
    # All ink of the drawing itself on the whole sheet, which the bars there are beside, is on some tile.
    left, foot, right, top = mould.bounds()
    shift = one.shift
    rows, columns = numpy.nonzero(whole)
    x, y = columns / DOTS - shift[0], (whole.shape[0] - rows) / DOTS - shift[1]
    drawn = (x > left - 1) & (x < right + 1) & (y > foot - 1) & (y < top + 1)
    at = ((y1 - y[drawn]) * DOTS).astype(int), ((x[drawn] - x0) * DOTS).astype(int)
    near = laid.copy()
    for step in (-2, -1, 1, 2):
        near |= numpy.roll(laid, step, axis=0) | numpy.roll(laid, step, axis=1)
    assert drawn.sum() > 10_000 and near[at].mean() > 0.995


def lines_of(points):
    return shapely.MultiLineString([one for one in points if len(one) > 1])


def joined(sheets):
    """The drawing's lines as the sheets of it give them, each within what the printer reaches, mm of the drawing."""
    found = []
    for sheet in sheets:
        window = shapely.box(*sheet.on_drawing(EDGE_MM - 0.01))
        own = lines_of([line - numpy.array(sheet.shift) for line in sheet.drawn])
        found.append(shapely.intersection(own, window))
    return shapely.union_all(found)


def of_dxf(path):
    """Lines of a DXF whose letters are text, mm."""
    found = []
    for entity in ezdxf.readfile(path).modelspace():
        if entity.dxftype() != "TEXT":
            points = ezdxf.path.make_path(entity).flattening(0.002, 32)
            found.append(numpy.array([(p.x, p.y) for p in points]))
    return lines_of(found)


def of_svg(path):
    """Lines of an SVG, mm, y up."""
    found = []
    for element in xml.parse(path).iter("{http://www.w3.org/2000/svg}path"):
        if element.get("fill") == "#ffffff":  # the paper behind
            continue
        pen = RecordingPen()
        parse_path(element.get("d"), pen)
        points = []
        for operator, places in pen.value:
            if operator == "moveTo":
                points = [numpy.array(places[0])]
                found.append(points)
            elif operator == "curveTo":
                t = numpy.linspace(0, 1, 65)[1:, None]
                a, (b, c, d) = points[-1], map(numpy.array, places)
                points += list((1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d)
            else:
                points += [points[0]] if operator == "closePath" else [numpy.array(place) for place in places]
    return lines_of([numpy.array(one) * (1, -1) for one in found])


def farthest(these, those):
    """How far spots of one lot of lines, 2 mm apart, lie from the other at most."""
    shapely.prepare(those)
    spots = shapely.get_coordinates(shapely.segmentize(these, 2.0))
    return float(shapely.distance(shapely.points(spots), those).max())


@pytest.fixture(scope="module", params=["sandling", "mudlark", "turnstone"])
def parts(request):
    """Two moulds, the transom and the keel of a boat: those she has, without the box below."""
    hull = scrieve.read(SAMPLES / f"{request.param}.offsets").fair()
    found = [drawing for drawing in hull.moulds() if drawing.name in ("mould-3", "mould-6")]
    for pattern, name in (("transom", "transom"), ("backbone", "keel")):
        try:
            found += [one for one in draw(find("patterns", pattern), hull, {}) if one.name == name]
        except scrieve.ScrieveError:
            continue
    assert len(found) >= 3
    for drawing in found:
        drawing.title_box = []  # each format has it where there is room
    return found


def test_dxf_svg_and_pdf_of_a_part_are_one_shape(parts, tmp_path):
    for part in parts:
        paths = {suffix: tmp_path / f"{part.name}.{suffix}" for suffix in ("dxf", "svg", "pdf")}
        part.write_dxf(paths["dxf"], letters="text")
        part.write_svg(paths["svg"])
        part.write_pdf(paths["pdf"])
        dxf, svg = of_dxf(paths["dxf"]), of_svg(paths["svg"])
        (sheet,) = paper_pages.pages(paths["pdf"])
        whole = lines_of([line - numpy.array(sheet.shift) for line in sheet.drawn])
        for other in (svg, whole):
            assert farthest(dxf, other) < AGREE_MM and farthest(other, dxf) < AGREE_MM, part.name


@pytest.mark.parametrize("paper", SIZES)
def test_sheets_laid_cross_over_cross_are_the_shape_of_the_dxf(parts, paper, tmp_path):
    for part in parts:
        part.write_dxf(tmp_path / "part.dxf", letters="text")
        part.write_pdf(tmp_path / "part.pdf", paper)
        sheets = [page for page in paper_pages.pages(tmp_path / "part.pdf") if page.shift is not None]
        assert all(sorted(sheet.size) == pytest.approx(SIZES[paper], abs=0.01) for sheet in sheets)
        dxf, laid = of_dxf(tmp_path / "part.dxf"), joined(sheets)
        assert farthest(dxf, laid) < AGREE_MM and farthest(laid, dxf) < AGREE_MM, part.name


def test_a_part_is_as_long_on_paper_as_it_is_cut(parts, tmp_path):
    for part in parts:
        part.write_dxf(tmp_path / "part.dxf", letters="text")
        part.write_pdf(tmp_path / "part.pdf")
        left, low, right, high = of_dxf(tmp_path / "part.dxf").bounds
        (sheet,) = paper_pages.pages(tmp_path / "part.pdf")
        (ink,) = paper_pages.ink(tmp_path / "part.pdf", 4)
        # Past the strip with the bars, and half the line's thickness at either side.
        ink = ink[: -19 * 4, 19 * 4 :]
        columns, rows = numpy.flatnonzero(ink.any(axis=0)), numpy.flatnonzero(ink.any(axis=1))
        assert (columns[-1] - columns[0] + 1) / 4 == pytest.approx(right - left + 0.35, abs=0.5), part.name
        assert (rows[-1] - rows[0] + 1) / 4 == pytest.approx(high - low + 0.35, abs=0.5), part.name
        assert sheet.size[0] == pytest.approx(right - left + 28, abs=0.6)


def names_on(page):
    return [line.strip() for line in page.words.splitlines()]


def test_each_half_has_sheets_of_its_own_named_by_boat_part_and_place(sandling_hull, tmp_path):
    moulds = [drawing for drawing in sandling_hull.moulds() if drawing.name in ("mould-4", "mould-5")]
    path = tmp_path / "moulds.pdf"
    scrieve.write(moulds, path, paper="A4")
    index, *sheets = paper_pages.pages(path)
    while sheets[0].shift is None:
        index.words += sheets.pop(0).words
    named = []
    for sheet in sheets:
        (name,) = [line for line in names_on(sheet) if line.startswith("Sandling - ")]
        boat, part, place = name.split(" - ")
        assert boat == "Sandling" and re.fullmatch(r"[A-Z]+\d+ of \d+ x \d+", place)
        other = "starboard" if part.endswith("port") else "port"
        assert other.upper() not in sheet.words.replace("STARBOARD", "starboard" if other == "port" else "STARBOARD")
        named.append((part, place.split()[0]))
    parts = list(dict.fromkeys(part for part, _ in named))
    assert parts == ["mould 4 port", "mould 4 starboard", "mould 5 port", "mould 5 starboard"]
    joins = {}
    for (part, place), sheet in zip(named, sheets, strict=True):
        joins[part, place] = {line.split()[1] for line in names_on(sheet) if line.startswith("joins ")}
    for (part, place), others in joins.items():
        column, row = ord(place[0]), int(place[1:])
        near = {(column - 1, row), (column + 1, row), (column, row - 1), (column, row + 1)}
        there = {f"{chr(c)}{r}" for c, r in near if (part, f"{chr(c)}{r}") in joins}
        assert others == there, (part, place)
    # The index tells the pages of each part.
    with pypdfium2.PdfDocument(path) as document:
        before = len(document) - len(sheets)
    for part in parts:
        at = [before + 1 + i for i, (other, _) in enumerate(named) if other == part]
        assert f"{part}: pages {at[0]} to {at[-1]}" in index.words and at == list(range(at[0], at[-1] + 1))


def test_the_index_says_how_to_print_and_what_to_measure(on_paper, mould):
    index = paper_pages.pages(on_paper)[0].words
    for said in ("actual size", "100 mm along", "Sheets share 15", "over all", "two", "damp", "A4 (210 x 297 mm)"):
        assert said in index, said
    (outline,) = [path["points"] for path in mould.paths() if path["operation"] == "cut outside"]
    wide, high = numpy.ptp(outline, axis=0)
    assert f"{wide:.1f} x {high:.1f}" in index


def test_every_word_is_found_on_the_sheets_that_show_it(sandling_hull, tmp_path):
    drawings = draw(find("patterns", "moulds"), sandling_hull, {})[3:5]
    for paper in (None, "A4"):
        path = tmp_path / "words.pdf"
        scrieve.write(drawings, path, **({"paper": paper} if paper else {}))
        found = "\n".join(page.words for page in paper_pages.pages(path))
        for drawing in drawings:
            for text in [*(one["text"] for one in drawing.texts()), *drawing.title_box]:
                assert " ".join(text.split()) in " ".join(found.split()), text
        assert b"/Type3" in path.read_bytes() and b"/BaseFont" not in path.read_bytes()


def test_accents_are_found_as_they_are_written(tmp_path):
    drawing = Drawing("dôme", "Dôme")
    layer = drawing.layer("Letters", "engrave")
    words = ["Élan Øst", "Ærø", "3⅜", "½", "Straße 15.9°", "łódź", "Жук", "日本", "a\u0301", "😀"]
    for i, text in enumerate(words):
        drawing.text(layer, text, (0, 20.0 * i), 8)
    drawing.boat = "Élan/Øst ½"
    drawing.write_pdf(tmp_path / "a.pdf", "A4")
    found = paper_pages.pages(tmp_path / "a.pdf")[1].words
    for text in [*words, "Élan/Øst ½ - dôme - A1 of 1 x 1"]:
        assert text in found, text
    with pypdfium2.PdfDocument(tmp_path / "a.pdf") as document:
        assert document.get_metadata_dict()["Title"] == "Élan/Øst ½ - dôme"


def test_words_that_are_engraved_and_laid_on_a_sheet_are_found(tmp_path):
    plank = Drawing("plank", "Plank")
    plank.polyline(plank.layer("Outlines", "cut outside"), [(0, 0), (3000, 0), (3000, 150), (0, 150)], closed=True)
    plank.engrave(plank.layer("Letters", "engrave"), "THIS END UP", (200, 60), 20)
    laid = scrieve.nest([plank], "2440mm x 1220mm x 18mm", thickness=0.018, joint="scarf")
    scrieve.write(laid.sheets, tmp_path / "sheet.pdf", paper="A3")
    found = "\n".join(page.words for page in paper_pages.pages(tmp_path / "sheet.pdf"))
    for said in ("THIS END UP", "PLANK 1 OF 2", "PLANK 2 OF 2", "100 MM"):
        assert said in found, said


def test_a_file_says_what_it_is_and_has_bookmarks_and_no_day(run, tmp_path):
    done = run("pickup", "moulds", SAMPLES / "sandling.offsets", "-o", "moulds.pdf", "--paper", "A3")
    assert done.returncode == 0, done.stderr
    path = tmp_path / "moulds.pdf"
    digest = scrieve.read(SAMPLES / "sandling.offsets").fair().table_sha256
    with pypdfium2.PdfDocument(path) as document:
        told = document.get_metadata_dict()
        marks = [(mark.level, mark.get_title(), mark.get_dest().get_index()) for mark in document.get_toc()]
    assert told["Title"] == "Sandling - mould 1 port and 21 more" and told["Creator"] == "scrieve"
    assert digest in told["Subject"] and told["CreationDate"] == told["ModDate"] == ""
    data = path.read_bytes()
    packet = re.search(rb"<x:xmpmeta.*</x:xmpmeta>", data, re.DOTALL)[0]
    said = " ".join(xml.fromstring(packet).itertext())
    assert "Sandling - mould 1 port and 21 more" in said and digest in said and "scrieve" in said
    sheets = paper_pages.pages(path)
    assert marks[0] == (0, "index", 0)
    for level, title, at in marks[1:]:
        name = title if level == 0 else "Sandling - " + " - ".join(title.rsplit(" ", 1)) + " of"
        assert any(line.startswith(name) for line in names_on(sheets[at])), title
    assert sum(level == 0 for level, _, _ in marks) == 23


def test_each_drawing_has_a_page_where_no_paper_is_asked_for(sandling_hull, tmp_path):
    moulds = sandling_hull.moulds()
    scrieve.write(moulds, tmp_path / "moulds.pdf")
    found = paper_pages.pages(tmp_path / "moulds.pdf")
    assert len(found) == len(moulds)
    for page, drawing in zip(found, moulds, strict=True):
        assert drawing.name.replace("-", " ").upper() in page.words


@pytest.mark.parametrize("length", [5040.0, 9000.0, 14_000.0])
def test_a_keel_too_long_for_a_page_is_cut_into_pages_that_are_joined(length, tmp_path):
    keel = Drawing("keel", "Keel")
    layer = keel.layer("Outlines", "cut outside")
    keel.polyline(layer, [(0, 0), (length, 60), (length, 200), (0, 150)], closed=True)
    keel.text(keel.layer("Letters", "engrave"), "KEEL", (0.5 * length, 80), 20)
    keel.write_pdf(tmp_path / "keel.pdf")
    assert b"/UserUnit" not in (tmp_path / "keel.pdf").read_bytes()
    found = paper_pages.pages(tmp_path / "keel.pdf")
    sheets = [page for page in found if page.shift is not None]
    # ISO 32000-1, annex C: 14 400 units, 200 in.
    assert all(side <= 5080.001 for page in found for side in page.size)
    assert len(sheets) == (1 if length < 5052 else -(-int(length) // 5049))
    if len(sheets) > 1:
        assert "joins B1" in sheets[0].words and "joins A1" in sheets[1].words and found[0].shift is None
    drawn = lines_of([path["points"][[*range(len(path["points"])), 0]] for path in keel.paths()])
    laid = joined(sheets)
    assert farthest(drawn, laid) < 0.01 and farthest(laid, drawn) < 0.01
    assert any("KEEL" in sheet.words for sheet in sheets)


def test_what_cannot_be_put_on_paper_is_refused_and_no_file_is_left(mould, run, tmp_path):
    path = tmp_path / "mould.pdf"
    for options, said in [
        ({"paper": "A4", "overlap": 0.0945}, "94.0 mm or less on A4, not by 94.5 mm"),
        ({"paper": "A4", "overlap": -0.001}, "0 mm or more"),
        ({"paper": "A4", "overlap": float("nan")}, "not by NaN mm"),
        ({"overlap": 6.0}, "on the largest page"),
        ({"paper": "A5"}, 'paper must be "A4", "A3", "Letter" or "Tabloid", got "A5"'),
    ]:
        with pytest.raises(DrawingError, match=re.escape(said)):
            scrieve.write([mould], path, **options)
    vast = Drawing("vast", "Vast")
    vast.polyline(vast.layer("Outlines", "cut outside"), [(0, 0), (20_000, 0), (20_000, 9000)], closed=True)
    with pytest.raises(DrawingError, match="sheets of this paper"):
        scrieve.write([vast], path, paper="A4")
    with pytest.raises(DrawingError, match="no drawing"):
        scrieve._core.write_pdf([], path)
    for typed, said in [(("--paper", "A9"), "A9"), (("--paper", "A4", "--overlap", "200mm"), "on A4, not by 200 mm")]:
        done = run("pickup", "transom", SAMPLES / "sandling.offsets", "-o", path, *typed)
        assert done.returncode == 2 and said in done.stderr, done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_pattern_is_put_on_the_paper_asked_for(run, tmp_path):
    done = run("pickup", "transom", SAMPLES / "sandling.offsets", "-o", "transom.pdf", "--paper", "A3")
    assert done.returncode == 0, done.stderr
    sizes = [size for size, _ in pages(tmp_path / "transom.pdf", dots=1)]
    assert len(sizes) > 4 and all(sorted(size) == pytest.approx((297, 420), abs=0.01) for size in sizes)
    done = run("pickup", "transom", SAMPLES / "sandling.offsets", "-o", "transom.dxf", "--paper", "A3")
    assert done.returncode == 2 and "write a .pdf" in done.stderr and not (tmp_path / "transom.dxf").exists()
