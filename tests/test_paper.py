"""Patterns on paper at full size, as pdfium (pypdfium2) draws the pages: what a printer would be given."""

import numpy
import pypdfium2
import pytest
from conftest import SAMPLES

import scrieve

# Dots to the millimetre that pages are drawn at; a dot either way is what a length is known to.
DOTS = 8
# A4, ISO 216.
A4 = (210.0, 297.0)


def pages(path, dots=DOTS):
    """Size of each page, mm, and its ink as a mask, the last row at the foot of the page."""
    found = []
    for page in pypdfium2.PdfDocument(path):
        grey = page.render(scale=dots * 25.4 / 72, grayscale=True).to_numpy()
        found.append((tuple(side * 25.4 / 72 for side in page.get_size()), grey.reshape(grey.shape[:2]) < 200))
    return found


@pytest.fixture(scope="module")
def mould(sandling_hull):
    (fifth,) = [drawing for drawing in sandling_hull.moulds() if drawing.name == "mould-5"]
    return fifth


@pytest.fixture(scope="module")
def tiled(mould, tmp_path_factory):
    path = tmp_path_factory.mktemp("paper") / "mould.pdf"
    scrieve.write([mould], path, paper="A4")
    return pages(path)


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


def test_a_whole_mould_is_on_its_sheet_as_wide_as_the_hull_inside_her_planking(sandling_hull, tmp_path):
    (mould,) = [drawing for drawing in sandling_hull.moulds(shape="whole") if drawing.name == "mould-5"]
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


def test_tiles_laid_cross_over_cross_make_the_whole_drawing(mould, tiled, tmp_path):
    path = tmp_path / "mould.pdf"
    scrieve.write([mould], path)
    ((_, whole),) = pages(path)
    lying = tiled[1][0][0] > tiled[1][0][1]
    width, height = (297.0, 210.0) if lying else A4
    overlap, edge, strip = 15.0, 8.0, 20.0
    step = width - 2 * edge - overlap, height - 2 * edge - overlap
    x0, y0, x1, y1 = mould.bounds()
    rows = int(numpy.ceil((y1 - y0 - overlap) / step[1]))
    columns = int(numpy.ceil((x1 - x0 - overlap) / step[0]))
    laid = numpy.zeros(
        (int((rows * step[1] + overlap) * DOTS) + 4, int((columns * step[0] + overlap) * DOTS) + 4), bool
    )
    places = tile_places(tiled, columns, rows, step, whole, strip)
    for (_, ink), (column, row) in zip(tiled[1:], places, strict=True):
        inner = ink[int(edge * DOTS) : -int(edge * DOTS), int(edge * DOTS) : -int(edge * DOTS)]
        top, left = int(round(row * step[1] * DOTS)), int(round(column * step[0] * DOTS))
        laid[top : top + inner.shape[0], left : left + inner.shape[1]] |= inner
    # The whole sheet's drawing, its foot laid on the tiles' foot: all its ink is on some tile.
    low = int(strip * DOTS)
    drawn = whole[: whole.shape[0] - low, low:]
    rows_dots, columns_dots = numpy.nonzero(drawn[: -int(115 * DOTS), :])
    foot = int(round((rows * step[1] + overlap) * DOTS))
    at = foot - (drawn.shape[0] - rows_dots), columns_dots
    near = laid.copy()
    for shift in (-2, -1, 1, 2):
        near |= numpy.roll(laid, shift, axis=0) | numpy.roll(laid, shift, axis=1)
    assert near[at].mean() > 0.99


def tile_places(tiled, columns, rows, step, whole, strip):
    """Column and row of each tile, row by row, those without ink on the whole sheet left out."""
    places = []
    low = int(strip * DOTS)
    drawn = whole[: whole.shape[0] - low, low:]
    for row in range(rows):
        for column in range(columns):
            left, right = column * step[0], column * step[0] + step[0] + 15
            foot = (rows - 1 - row) * step[1]
            box = drawn[
                max(0, drawn.shape[0] - int((foot + step[1] + 15) * DOTS)) : drawn.shape[0] - int(foot * DOTS),
                int(left * DOTS) : int(right * DOTS),
            ]
            if box.any():
                places.append((column, row))
    assert len(places) == len(tiled) - 1
    return places


def test_a_pattern_is_put_on_the_paper_asked_for(run, tmp_path):
    done = run("pickup", "transom", SAMPLES / "sandling.offsets", "-o", "transom.pdf", "--paper", "A3")
    assert done.returncode == 0, done.stderr
    sizes = [size for size, _ in pages(tmp_path / "transom.pdf", dots=1)]
    assert len(sizes) > 4 and all(sorted(size) == pytest.approx((297, 420), abs=0.01) for size in sizes)
    done = run("pickup", "transom", SAMPLES / "sandling.offsets", "-o", "transom.dxf", "--paper", "A3")
    assert done.returncode == 2 and "write a .pdf" in done.stderr and not (tmp_path / "transom.dxf").exists()
