"""Plots for print, and the hull to turn by hand: what is drawn, in what colours, and that nothing is fetched."""

import html
import json
import re

import matplotlib
import numpy
import pytest
from conftest import SAMPLES

import scrieve
from scrieve.compare import plots
from scrieve.compare.trend import trend
from scrieve.hull.view import view

# Okabe and Ito, "Color universal design", 2008: the eight colours, from memory.
OKABE_ITO = {"#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7"}


@pytest.fixture(scope="module")
def era(tmp_path_factory):
    return scrieve.collection(SAMPLES / "era", cache=tmp_path_factory.mktemp("cache"))


def colours(figure):
    lines = [line for ax in figure.axes for line in ax.get_lines()]
    return {matplotlib.colors.to_hex(line.get_color()) for line in lines} - {plots.GRID.lower()}


def test_the_colours_are_those_the_colour_blind_tell_apart():
    assert {colour.lower() for colour in plots.COLOURS} < OKABE_ITO


def test_a_body_plan_has_sections_forward_on_the_right_and_aft_on_the_left(era):
    figure = plots.body_plans(era.shapes(), ["Petrel's Egg", "Thrift"])
    (ax,) = figure.axes
    sections = [line.get_xydata() for line in ax.get_lines() if len(line.get_xydata()) > 2]
    # Eleven stations, the midship one on both sides, for each boat.
    assert len(sections) == 2 * 12
    assert sum((s[:, 0] > 0).all() for s in sections) == sum((s[:, 0] < 0).all() for s in sections) == 12
    widest = max(abs(s[:, 0]).max() for s in sections)
    assert widest == pytest.approx(50 * era.measures().beam_length[["Petrel's Egg", "Thrift"]].max(), rel=2e-3)
    assert "% of length" in ax.get_xlabel() and "% of length" in ax.get_ylabel()
    assert [t.get_text() for t in ax.get_legend().get_texts()] == ["Petrel's Egg", "Thrift"]
    assert colours(figure) < OKABE_ITO
    assert len({line.get_linestyle() for line in ax.get_lines()}) > 1  # told apart without colour too


def test_many_boats_are_shaded_by_their_year(era):
    figure = plots.body_plans(era.shapes())
    assert figure.axes[1].get_ylabel() == "year"


def test_a_trend_shows_every_boat_the_line_and_its_slope_with_uncertainty(era):
    frame = era.measures()
    figure = plots.trend(frame, "transom_rake", by="builder")
    (ax,) = figure.axes
    found = trend(frame.year, frame.transom_rake)
    line = next(line.get_xydata() for line in ax.get_lines() if len(line.get_xydata()) == 80)
    assert numpy.ptp(line[:, 1]) / numpy.ptp(line[:, 0]) == pytest.approx(found.slope)
    marks = [line for line in ax.get_lines() if line.get_linestyle() == "None"]
    assert sum(len(m.get_xdata()) for m in marks) == 24 and len({m.get_marker() for m in marks}) == 3
    assert ax.get_ylabel() == "transom rake, °" and ax.get_xlabel() == "year"
    assert ax.get_title(loc="left") == "+3.18 ± 0.79 ° a decade (95 %, 24 boats)"
    assert colours(figure) < OKABE_ITO


def test_the_tree_names_every_boat_with_her_year(era):
    (ax,) = plots.tree(era.shapes(), clusters=3).axes
    labels = {t.get_text() for t in ax.get_yticklabels()}
    assert len(labels) == 24 and "Thrift, 1920" in labels
    assert "mm to the metre" in ax.get_xlabel()


def test_the_matrix_shows_every_distance(era):
    ax, bar = plots.distances(era.shapes()).axes
    shown = ax.get_images()[0].get_array()
    assert sorted(shown.ravel()) == pytest.approx(sorted(1000 * era.distances().to_numpy().ravel()))
    assert "mm to the metre" in bar.get_ylabel()


def test_directions_are_drawn_as_body_plans_two_deviations_to_either_side(era):
    found = era.shapes().directions(2)
    figure = plots.directions(found, 2)
    assert [ax.get_title(loc="left")[:12] for ax in figure.axes] == ["direction 1:", "direction 2:"]
    texts = [t.get_text() for t in figure.axes[1].get_legend().get_texts()]
    assert texts == ["mean", "2 deviations less", "2 deviations more"]


def test_a_gap_is_drawn_to_the_same_level_either_way_with_nothing_in_the_middle_of_its_ramp(era):
    shapes = era.shapes()
    figure = plots.gap(shapes.gap("Petrel's Egg", "Thrift"))
    ax, bar = figure.axes
    low, high = bar.get_ylim()
    greatest = 1000 * numpy.nanmax(numpy.abs(shapes.gap("Petrel's Egg", "Thrift").outside))
    assert low == -high and greatest <= high < 2 * greatest and "mm to the metre" in bar.get_ylabel()
    assert ax.get_title(loc="left").startswith("Thrift against Petrel's Egg: rms")
    x = numpy.concatenate([line.get_xdata() for line in ax.get_lines()])
    assert (x.min(), x.max()) == pytest.approx((0, 100))


def test_a_plot_leaves_the_readers_own_settings_alone(era):
    before = dict(matplotlib.rcParams)
    plots.trend(era.measures(), "beam_length")
    assert dict(matplotlib.rcParams) == before and not matplotlib.pyplot.get_fignums()


def test_what_is_not_there_to_plot_is_said(era):
    with pytest.raises(scrieve.ScrieveError, match="beam_length"):
        plots.trend(era.measures(), "beauty")
    with pytest.raises(scrieve.ScrieveError, match="no boat called"):
        plots.body_plans(era.shapes(), ["Flying Dutchman"])


# The hull to turn by hand


def test_a_view_needs_no_network(sandling_hull):
    page = view(sandling_hull).page()
    assert not re.search(r"https?:|//[a-z]|\bsrc=|\bhref=|@import|\bimport\b|fetch|XMLHttp", page)
    frame = view(sandling_hull)._repr_html_()
    assert frame.startswith("<iframe sandbox=") and "allow-same-origin" not in frame
    assert html.unescape(re.search(r'srcdoc="([^"]*)"', frame).group(1)) == page


def test_a_view_shows_the_hulls_own_lines(sandling_hull):
    page = view(sandling_hull).page()
    (shown,) = json.loads(re.search(r'id="hulls">(.*?)</script>', page).group(1))
    points = numpy.array(shown["lines"]).reshape(-1, 3) / 1000
    of = sandling_hull.dimensions
    assert points[:, 0].max() == pytest.approx(of["length"], abs=0.002) and points[:, 0].min() == 0
    assert 2 * points[:, 1].max() == pytest.approx(of["beam"], abs=0.005)
    assert points[:, 2].min() == 0 and len(shown["lines"]) > 20


def test_no_name_gets_out_of_the_page():
    text = (SAMPLES / "sandling.offsets").read_text(encoding="utf-8")
    name = "</script><script>alert(1)</script>"
    page = view(scrieve.Table.from_text(text.replace('"Sandling"', f'"{name}"')).fair()).page()
    assert name not in page and page.count("<script") == 2


def test_five_hulls_are_too_many_to_tell_apart(sandling_hull):
    with pytest.raises(scrieve.ScrieveError, match="one to 4"):
        view([sandling_hull] * 5)


def test_a_trend_shows_how_sure_each_boat_is_where_the_frame_says(era):
    frame = era.measures(uncertainty=True)
    figure = plots.trend(frame, "hollow", by="builder")
    (ax,) = figure.axes
    drawn = [segment for bars in ax.containers for segment in bars.lines[2][0].get_segments()]
    spans = sorted((bottom[0], top[1] - bottom[1]) for bottom, top in drawn)
    expected = sorted(zip(frame.year.astype(float), 4 * frame.hollow_sd, strict=True))
    numpy.testing.assert_allclose(spans, expected, rtol=1e-9)
    found = trend(frame.year, frame.hollow, sd=frame.hollow_sd)
    assert f"{10 * found.slope:+.5f}" in ax.get_title(loc="left")
    assert "2 sd of the readings" in [text.get_text() for text in ax.get_legend().get_texts()]
    assert not plots.trend(era.measures(), "hollow").axes[0].containers
