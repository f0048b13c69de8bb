"""What a person sees and does in a browser: the index page of a lofted boat, and the hull turned by hand.

They run in the Chromium or Chrome on the path, or the one named by CHROMIUM; where there is none, they are
listed as not run.
"""

import os
import shutil
from urllib.parse import unquote, urlparse

import numpy
import pytest
from conftest import SAMPLES, scrieve_verb
from playwright.sync_api import sync_playwright

import scrieve
from scrieve.hull.view import view

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
# Without these Chromium looks for its maker's hosts at every start.
QUIET = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
         "--disable-sync", "--no-first-run"]  # fmt: skip


@pytest.fixture(scope="module")
def browser():
    path = os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)
    if path is None:
        pytest.skip("no Chromium or Chrome on the path: nothing was tried in a browser")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture
def page(browser):
    """A page without a network, which fails the test at any complaint of the browser's."""
    context = browser.new_context(viewport={"width": 600, "height": 400}, offline=True)
    page = context.new_page()
    complaints = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.on("requestfailed", lambda request: complaints.append(request.url))
    yield page
    context.close()
    assert not complaints


@pytest.fixture(scope="module")
def hull():
    return scrieve.read(SAMPLES / "sandling.offsets").fair()


def drawn(where):
    """Where the canvas is inked, a mask as high and wide as it is."""
    inked, width = where.evaluate(
        """() => {
            const c = document.querySelector("canvas");
            const data = c.getContext("2d").getImageData(0, 0, c.width, c.height).data;
            return [Array.from({length: c.width * c.height}, (_, i) => data[4 * i + 3] > 60 ? 1 : 0), c.width];
        }"""
    )
    return numpy.array(inked, dtype=bool).reshape(-1, width)


def extent(mask):
    """Width and height of what is inked, pixels."""
    rows, columns = numpy.nonzero(mask)
    return numpy.ptp(columns), numpy.ptp(rows)


def test_a_hull_turned_broadside_shows_her_length_and_end_on_her_beam(page, hull):
    page.set_content(view(hull).page())
    canvas = page.locator("canvas")
    canvas.focus()
    # Broadside: turned back to 0 and tipped level, a tenth of a radian a key.
    for key, times in (("ArrowRight", 6), ("ArrowUp", 3)):
        for _ in range(times):
            canvas.press(key)
    # The last half key of tip is dragged: 150 pixels to the radian.
    box = canvas.bounding_box()
    middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0], middle[1] - 0.05 * 150)
    page.mouse.up()
    lines = numpy.concatenate([line.points(200) for line in hull.reference_lines()])
    length, depth = numpy.ptp(lines[:, 0]), numpy.ptp(lines[:, 2])
    across, up = extent(drawn(page))
    assert across / up == pytest.approx(length / depth, rel=0.03)

    # End on: a quarter turn.
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] + numpy.pi / 2 * 150, middle[1])
    page.mouse.up()
    beam = 2 * lines[:, 1].max()
    turned, up_still = extent(drawn(page))
    assert turned / up_still == pytest.approx(beam / depth, rel=0.06)


def test_a_double_click_turns_her_back(page, hull):
    page.set_content(view(hull).page())
    canvas = page.locator("canvas")
    before = drawn(page)
    canvas.focus()
    canvas.press("ArrowLeft")
    assert (drawn(page) != before).any()
    canvas.dblclick()
    assert (drawn(page) == before).all()


def test_she_turns_inside_a_notebooks_sandboxed_frame(page, hull):
    other = scrieve.read(SAMPLES / "turnstone.offsets").fair()
    page.set_content(view([hull, other])._repr_html_())
    frame = page.frame_locator("iframe")
    canvas = frame.locator("canvas")
    canvas.wait_for()
    assert frame.locator("p").inner_text().split() == ["──", *hull.name.split(), "──", *other.name.split()]
    inner = page.frames[1]
    before = drawn(inner)
    canvas.press("ArrowLeft")
    assert before.any() and (drawn(inner) != before).any()


@pytest.fixture(scope="module")
def lofted(tmp_path_factory):
    where = tmp_path_factory.mktemp("lofted")
    done = scrieve_verb("loft", SAMPLES / "sandling.offsets", "-o", "sandling", cwd=where)
    assert done.returncode in (0, 1), done.stderr
    return where / "sandling"


def test_every_link_of_the_index_leads_to_a_file_and_every_file_is_linked(page, lofted):
    page.goto((lofted / "index.html").as_uri())
    hrefs = page.locator("a").evaluate_all("links => links.map(a => a.href)")
    linked = {unquote(urlparse(href).path) for href in hrefs if href.startswith("file:")}
    files = {str(path) for path in lofted.rglob("*") if path.is_file() and path.name != "index.html"}
    assert linked == files


def test_a_drawing_opens_from_the_index(page, lofted):
    page.goto((lofted / "index.html").as_uri())
    link = page.locator("a[href$='.svg']").first
    link.click()
    assert page.url.endswith(".svg") and page.locator("path, polyline, line").count() > 10


@pytest.mark.parametrize("width", [390, 1280])
def test_the_index_fits_a_telephone_and_a_desk(page, lofted, width):
    page.set_viewport_size({"width": width, "height": 800})
    page.goto((lofted / "index.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    lines = page.locator("figure svg").first.bounding_box()
    assert lines["width"] > 0.8 * min(width, 1000) and lines["height"] > 100
