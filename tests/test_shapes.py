"""Shapes laid over one another, against closed forms and general libraries on the same points."""

import sys

import numpy
import pytest
from conftest import SAMPLES
from scipy.interpolate import RectBivariateSpline
from scipy.optimize import minimize

import scrieve
from scrieve.compare import shapes
from scrieve.compare.gaps import gap
from scrieve.compare.measures import hollow
from scrieve.compare.trend import trend

ERA = SAMPLES / "era"


@pytest.fixture(scope="module")
def era(tmp_path_factory):
    return scrieve.collection(ERA, cache=tmp_path_factory.mktemp("cache"))


def parabolic(length=5.0, beam=1.5, depth=0.6, draught_at=0.0):
    """The grid of the parabolic hull y = B/2 (1 - ξ²)(1 - ζ²), taken straight from its formula."""
    stations, girths = shapes.GRID
    xi = numpy.linspace(-1, 1, stations)[:, None] + numpy.zeros(girths)
    zeta = numpy.linspace(-1, 0, girths) + numpy.zeros((stations, 1))
    y = 0.5 * beam * (1 - xi**2) * (1 - zeta**2)
    return numpy.stack([0.5 * length * (xi + 1), y, depth * (zeta + 1) + draught_at], axis=-1)


# Distance


@pytest.mark.parametrize("size", shapes.SIZES)
@pytest.mark.parametrize("gap", shapes.GAPS)
def test_distance_is_a_metric(era, size, gap):
    d = era.distances(size, gap).to_numpy()
    assert (numpy.diag(d) == 0).all() and (d == d.T).all()
    assert (d[~numpy.eye(len(d), dtype=bool)] > 0).all()
    assert (d[:, None, :] <= d[:, :, None] + d[None, :, :] + 1e-12).all()


def test_the_greatest_gap_is_no_less_than_the_rms(era):
    assert (era.distances(gap="greatest") >= era.distances(gap="rms")).to_numpy().all()


def test_distances_of_parabolic_hulls_are_those_of_the_formula():
    # Two such hulls differ in breadth alone: the gap is ΔB/2 (1 - ξ²)(1 - ζ²), ΔB/2 at its greatest. Over ξ
    # and ζ the mean of (1 - ξ²)² is 8/15 each way, so that its rms is ΔB/2 · 8/15.
    narrow, wide = parabolic(beam=1.5), parabolic(beam=1.7)
    pair = shapes.Shapes(["narrow", "wide"], numpy.array([narrow, wide]))
    greatest = pair.distances("greatest").loc["narrow", "wide"]
    assert greatest == pytest.approx(0.1 / 5.0)
    # The grid's points at the ends count in full, the trapezoidal rule's by half: 3 % at 41 by 25.
    assert pair.distances("rms").loc["narrow", "wide"] == pytest.approx(0.1 / 5.0 * 8 / 15, rel=0.03)


# The gap square to the surface


def ball(radius):
    """Part of a sphere's side, as a grid from rabbet to sheer."""
    stations, girths = shapes.GRID
    a, b = numpy.linspace(0.3, numpy.pi - 0.3, stations)[:, None], numpy.linspace(0, 1.2, girths)
    xyz = (-numpy.cos(a) + 0 * b, numpy.sin(a) * numpy.sin(b), -numpy.sin(a) * numpy.cos(b))
    return radius * numpy.stack(xyz, axis=-1)


@pytest.mark.parametrize("more", [0.01, -0.02, 0.1])
def test_a_ball_so_much_larger_lies_so_much_outside_everywhere(more):
    found = gap(("a", "b"), ball(1.0), ball(1.0 + more))
    assert found.outside == pytest.approx(numpy.full(shapes.GRID, more), abs=1e-9)
    assert (found.rms, found.greatest, found.farthest) == pytest.approx([abs(more)] * 3, abs=1e-9)


def test_the_gap_of_a_boat_to_herself_is_nothing_and_the_greatest_is_the_same_both_ways(era):
    every = era.shapes()
    herself = every.gap("Thrift", "Thrift")
    assert herself.farthest < 1e-12 and "nowhere off her" in str(herself)
    out, back = every.gap("Thrift", "Cockle Strand"), every.gap("Cockle Strand", "Thrift")
    assert (out.rms, out.greatest, out.farthest) == pytest.approx((back.rms, back.greatest, back.farthest))


def test_the_gap_is_no_more_than_the_distance_of_corresponding_points(era):
    every = era.shapes()
    for name in every.names[1:8]:
        found = every.gap(every.names[0], name)
        assert 0 < found.greatest <= found.farthest <= every.distances("greatest").loc[every.names[0], name]
        nearest = numpy.linalg.norm(every[name] - every[every.names[0]], axis=-1)
        assert (numpy.abs(numpy.nan_to_num(found.outside)) <= nearest + 1e-12).all()


def test_the_nearest_points_are_those_scipys_minimiser_finds(era):
    # scipy.optimize on the same bicubic spline, started afresh from several places of it.
    every = era.shapes()
    a, b = every["Thrift"], every["Petrel's Egg"]
    found = gap(("a", "b"), a, b)
    stations, girths = shapes.GRID
    splines = [RectBivariateSpline(range(stations), range(girths), b[..., k]) for k in range(3)]
    for i, j in [(3, 4), (10, 20), (20, 12), (30, 6), (37, 22)]:

        def square(uv, point=a[i, j]):
            return sum((spline.ev(*uv) - p) ** 2 for spline, p in zip(splines, point, strict=True)) * 1e4

        starts = [(u, v) for u in (5, 20, 35) for v in (4, 12, 20)]
        bounds = [(0, stations - 1), (0, girths - 1)]
        least = min(minimize(square, start, bounds=bounds, tol=1e-15).fun for start in starts)
        assert abs(found.outside[i, j]) == pytest.approx(numpy.sqrt(least / 1e4), abs=1e-6)


def test_sides_carried_higher_are_farther_off_and_no_fuller():
    low = parabolic()
    high = low.copy()
    high[..., 2] *= 1.2
    high[..., 1] = low[..., 1]
    box = numpy.array([low, high])
    box[..., 1] = 0.3  # wall-sided: nothing of it changes but the height
    found = gap(("low", "high"), box[0], box[1])
    assert found.greatest == pytest.approx(0, abs=1e-9) and found.farthest == pytest.approx(0.2 * 0.6)


def test_a_wider_parabolic_hull_is_the_fuller_and_most_so_amidships_at_the_sheer():
    pair = shapes.Shapes(["narrow", "wide"], numpy.array([parabolic(beam=1.5), parabolic(beam=1.7)]))
    found = pair.gap("narrow", "wide")
    frame = found.frame(5)
    assert (frame.to_numpy()[1:-1] > 0).all() and frame.loc["0.40 to 0.60"].is_monotonic_increasing
    assert str(found).startswith("wide against narrow: outside her by up to 20.0 mm")  # ΔB/2 over L
    assert "inside" in str(pair.gap("wide", "narrow"))


def test_known_pairs_come_in_order():
    boats = {"her": parabolic(), "sister": parabolic(beam=1.52), "cousin": parabolic(beam=1.6, depth=0.63)}
    boats["stranger"] = parabolic(beam=2.1, depth=0.8)
    four = shapes.Shapes(list(boats), numpy.array(list(boats.values())))
    assert list(four.nearest("her", 3).index) == ["sister", "cousin", "stranger"]
    d = four.distances()["her"]
    assert d["sister"] < d["cousin"] < d["stranger"]


def test_size_makes_no_difference_and_neither_does_the_base_line():
    pair = numpy.array([parabolic(), 12.0 * parabolic()])
    assert shapes.Shapes(["boat", "ship"], pair).distances().to_numpy().max() < 1e-12


def test_brought_to_one_length_beam_and_depth_parabolic_hulls_are_all_alike():
    pair = numpy.array([parabolic(), parabolic(beam=2.2, depth=0.4, length=7.0)])
    assert shapes.Shapes(["a", "b"], pair, size="all").distances().to_numpy().max() < 1e-12
    assert shapes.Shapes(["a", "b"], pair, size="length").distances().to_numpy().max() > 0.01


def test_scale_and_base_line_of_a_table_make_no_difference():
    text = (SAMPLES / "sandling.offsets").read_text(encoding="utf-8")
    # The half-siding and the planking are the boat's own size whatever the scale.
    double = text.replace('scale = "1:1"', 'scale = "1:2"').replace('"0-1-1"', '"0-2-2"')
    same = [shapes.sample(scrieve.Table.from_text(t).fair()) for t in (text, double)]
    assert shapes.Shapes(["boat", "her double"], numpy.array(same)).distances().to_numpy().max() < 1e-6


def test_the_layout_of_a_table_makes_no_difference_beyond_the_reading_error():
    # Every other waterline, buttock and diagonal, and stations 2, 6 and 10, left out: an eighth of an inch is
    # 3.175 mm, and a reading is off by half that at most.
    lines = (SAMPLES / "sandling.offsets").read_text(encoding="utf-8").splitlines()
    left_out = ("waterline 0-10-0", "waterline 1-9-0", "buttock 1-3-0", "B  ")
    kept = [line for line in lines if not line.startswith(left_out)]
    out = []
    table = False
    for line in kept:
        if line.startswith("station "):
            table = True
        if line.startswith("[stem profile]"):
            table = False
        label, bar, cells = line.partition("|")
        if table and bar:
            cells = " ".join(c for i, c in enumerate(cells.split(), 1) if i not in (2, 6, 10))
        out.append(f"{label}{bar} {cells}" if bar else line)
    full, sparse = (scrieve.Table.from_text("\n".join(t)).fair() for t in (lines, out))
    pair = shapes.Shapes(["full", "sparse"], numpy.array([shapes.sample(full), shapes.sample(sparse)]))
    length = full.dimensions["length"]
    assert pair.distances().iloc[0, 1] * length < 0.003175 / 2
    assert pair.distances("greatest").iloc[0, 1] * length < 3 * 0.003175


def test_points_of_the_grid_lie_on_the_hull(sandling_hull):
    points = shapes.sample(sandling_hull)
    lowest = min(p[2] for p in sandling_hull.reference_lines()[0].points(400))
    fore = min(p[0] for line in sandling_hull.reference_lines() for p in line.points(400))
    for i in range(4, 37, 8):
        for j in range(2, 24, 5):
            x, y, z = points[i, j] + [fore, 0, lowest]
            assert sandling_hull.half_breadth(x, z) == pytest.approx(y, abs=3e-4)


def test_sections_of_a_parabolic_hull_are_those_of_the_formula():
    for at, section in zip((0.1, 0.33, 0.5), shapes.sections(parabolic(), (0.1, 0.33, 0.5)), strict=True):
        zeta = section[:, 1] / 0.6 - 1
        y = 0.75 * (1 - (2 * at - 1) ** 2) * (1 - zeta**2)
        assert abs(section[:, 0] - y).max() < 1e-4


def test_nearest_places_a_newly_found_table_among_the_others(era):
    found = scrieve.read(ERA / "1889-brent.offsets")
    nearest = era.shapes().nearest(found, 3)
    assert nearest.index[0] == "Brent" and nearest.rms.iloc[0] < 1e-6 < nearest.rms.iloc[1]
    assert list(nearest.index[1:]) == list(era.shapes().nearest("Brent", 2).index)


# Directions, clusters, Procrustes, against general libraries


def test_main_directions_are_those_of_scikit_learns_pca(era):
    from sklearn.decomposition import PCA

    of = era.shapes()
    ours = of.directions(5)
    theirs = PCA(5, svd_solver="full").fit(of.points.reshape(len(of), -1))
    assert numpy.allclose(ours.shares, theirs.explained_variance_ratio_)
    assert numpy.allclose(ours.deviations**2, theirs.explained_variance_)
    along = numpy.abs((ours.vectors.reshape(5, -1) * theirs.components_).sum(axis=1))
    assert numpy.allclose(along, 1)
    assert numpy.allclose(numpy.abs(ours.scores), numpy.abs(theirs.transform(of.points.reshape(len(of), -1))))


def test_every_boat_is_the_mean_and_her_way_along_all_directions(era):
    of = era.shapes()
    all_ = of.directions(len(of))
    back = all_.mean + numpy.tensordot(all_.scores, all_.vectors, 1)
    assert len(all_.vectors) == len(of) - 1 and abs(back - of.points).max() < 1e-12
    assert all_.shares.sum() == pytest.approx(1)
    assert numpy.allclose(all_.frame().drop(columns="year").std(ddof=1), 1)


def test_hulls_that_differ_in_one_way_vary_in_one_direction():
    beams = numpy.linspace(1.3, 1.7, 9)
    of = shapes.Shapes([f"{b}" for b in beams], numpy.array([parabolic(beam=b) for b in beams]))
    main = of.directions(2)
    assert main.shares[0] == pytest.approx(1)
    wide = shapes.extents(main.shape(1, 2.0))[1] * 5.0
    assert wide == pytest.approx(beams.mean() + 2 * beams.std(ddof=1))


def test_procrustes_distance_is_scipys_on_the_same_points(era):
    from scipy.spatial import procrustes

    of = era.shapes()
    for i, j in [(0, 1), (3, 17), (5, 23)]:
        a, b = of.points[i].reshape(-1, 3), of.points[j].reshape(-1, 3)
        assert shapes.procrustes(a, b) == pytest.approx(procrustes(a, b)[2] ** 0.5, rel=1e-6)


def test_a_table_trimmed_on_its_base_line_is_the_same_shape_to_procrustes():
    upright = parabolic()
    c, s = numpy.cos(0.02), numpy.sin(0.02)
    trimmed = 3.0 * upright @ numpy.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]) + [1.0, 0.0, 0.4]
    assert shapes.procrustes(upright, trimmed) < 1e-7


def test_the_tree_joins_sisters_before_strangers():
    boats = [parabolic(beam=b) for b in (1.5, 1.51, 2.0, 2.02)]
    four = shapes.Shapes(["a", "a2", "b", "b2"], numpy.array(boats))
    groups = four.clusters(2)
    assert groups["a"] == groups["a2"] != groups["b"] == groups["b2"]
    # Cophenetic height of the last join: the mean of the four distances across (UPGMA).
    d = four.distances().to_numpy()
    assert four.tree()[-1, 2] == pytest.approx(d[:2, 2:].mean())


# Trends


def test_a_trend_is_scipys_linear_regression():
    from scipy.stats import linregress, t

    chance = numpy.random.default_rng(7)
    years = chance.integers(1880, 1921, 30)
    values = 0.35 - 0.001 * (years - 1880) + chance.normal(0, 0.01, 30)
    ours, theirs = trend(years, values), linregress(years, values)
    assert ours.slope == pytest.approx(theirs.slope) and ours.standard_error == pytest.approx(theirs.stderr)
    assert ours.high - ours.slope == pytest.approx(t.ppf(0.975, 28) * theirs.stderr)
    assert ours.at(1900) == pytest.approx(theirs.intercept + 1900 * theirs.slope)


def test_the_stated_interval_holds_the_true_slope_as_often_as_it_says():
    chance = numpy.random.default_rng(11)
    years = numpy.linspace(1880, 1920, 24)
    found = [trend(years, 0.002 * years + chance.normal(0, 0.02, 24), 0.9) for _ in range(2000)]
    held = numpy.mean([f.low < 0.002 < f.high for f in found])
    assert held == pytest.approx(0.9, abs=0.02)  # three standard errors of 2000 tries


def test_boats_without_a_year_are_left_out_of_a_trend():
    whole = trend([1880, 1890, 1900, 1911], [1.0, 2.0, 3.1, 4.0])
    holes = trend([1880, None, 1890, 1900, 1911, 1905], [1.0, 9.0, 2.0, 3.1, 4.0, float("nan")])
    assert holes == whole and holes.n == 4


def test_boats_weigh_by_how_sure_each_is_and_by_how_far_they_differ():
    from scipy.special import stdtrit

    # NumPy's weighted fit, at the scatter found; and the squares so weighted are what n - 2 boats should have.
    chance = numpy.random.default_rng(5)
    years = chance.integers(1880, 1921, 40).astype(float)
    sd = chance.uniform(0.002, 0.04, 40)
    values = 0.35 + 0.001 * (years - 1900) + chance.normal(0, numpy.hypot(sd, 0.02))
    found = trend(years, values, sd=sd)
    weights = 1 / numpy.hypot(sd, found.scatter)
    line, covariance = numpy.polyfit(years - 1900, values, 1, w=weights, cov="unscaled")
    assert found.slope == pytest.approx(line[0]) and found.at(1900) == pytest.approx(line[1])
    assert found.standard_error == pytest.approx(covariance[0, 0] ** 0.5, rel=1e-6)
    low, high = found.band([1900])
    assert (high - low)[0] == pytest.approx(2 * stdtrit(38, 0.975) * covariance[1, 1] ** 0.5, rel=1e-6)
    assert numpy.sum((weights * (values - found.at(years))) ** 2) == pytest.approx(38)
    assert found.scatter < found.residual and found.standard_error < trend(years, values).standard_error


def test_with_boats_of_unlike_worth_the_interval_holds_as_often_as_it_says():
    chance = numpy.random.default_rng(13)
    years, sd = numpy.linspace(1880, 1920, 24), numpy.tile([0.004, 0.01, 0.05], 8)
    tries = [0.002 * years + chance.normal(0, numpy.hypot(sd, 0.01)) for _ in range(1000)]
    found = [trend(years, values, 0.9, sd) for values in tries]
    plain = [trend(years, values, 0.9) for values in tries]
    held = numpy.mean([f.low < 0.002 < f.high for f in found])
    assert held == pytest.approx(0.9, abs=0.035)
    assert numpy.std([f.slope for f in found]) < 0.75 * numpy.std([f.slope for f in plain])
    assert numpy.median([f.scatter for f in found]) == pytest.approx(0.01, rel=0.25)


def test_boats_alike_in_worth_are_as_without_it_until_it_is_all_their_scatter():
    years = numpy.array([1880, 1890, 1895, 1904, 1911, 1920.0])
    values = 0.3 + 0.002 * (years - 1900) + numpy.array([3, -2, 1, -4, 2, 0]) * 1e-3
    plain, alike = trend(years, values), trend(years, values, sd=[1e-3] * 6)
    for name in ("slope", "standard_error", "low", "high", "residual"):
        assert getattr(alike, name) == pytest.approx(getattr(plain, name), rel=1e-9)
    assert plain.scatter == plain.residual
    assert alike.scatter == pytest.approx((plain.residual**2 - 1e-6) ** 0.5)
    # Boats surer to lie off the line than they do: none of it is theirs, and the line is no surer than they are.
    loose = trend(years, values, sd=[0.1] * 6)
    assert loose.scatter == 0
    assert loose.standard_error == pytest.approx(0.1 / numpy.sum((years - years.mean()) ** 2) ** 0.5)
    # One whose own is wanting counts with the median.
    assert trend(years, values, sd=[1e-3] * 5 + [float("nan")]) == alike
    assert trend(years, values, sd=[float("nan")] * 6) == plain


def test_sds_that_make_no_sense_are_refused():
    with pytest.raises(scrieve.ScrieveError, match="0 or more, got -1"):
        trend([1, 2, 4], [1, 2, 3], sd=[1, -1, 1])
    with pytest.raises(scrieve.ScrieveError, match="3 years, 3 values and 2 sds"):
        trend([1, 2, 4], [1, 2, 3], sd=[1, 1])


def test_the_drift_of_a_shape_is_that_of_its_formula():
    years = numpy.array([1880, 1885, 1893, 1900, 1911, 1920.0])
    hulls = numpy.array([parabolic(beam=1.6 - 0.01 * (year - 1880)) for year in years])
    found = shapes.Shapes([str(y) for y in years], hulls, years=years).drift()
    assert found.share == pytest.approx(1) and found.chance < 0.01
    assert shapes.extents(found.at(1890))[1] * 5.0 == pytest.approx(1.5)
    assert abs(found.at(1890) - parabolic(beam=1.5) / 5.0).max() < 1e-12


def test_the_era_drifts_more_than_chance_and_years_dealt_out_at_random_do_not(era):
    of = era.shapes()
    found = of.drift()
    assert found.chance < 0.05 and 0.05 < found.share < 0.5
    first, last = (shapes.extents(found.at(year)) for year in (1880, 1920))
    assert last[1] / last[0] - first[1] / first[0] == pytest.approx(-0.04, abs=0.008)
    chance = numpy.random.default_rng(3)
    dealt = [shapes.Shapes(of.names, of.points, years=chance.permutation(of.years)).drift(99).chance for _ in range(60)]
    # Uniform between 0 and 1, if the test says what it should: the mean of 60 is ½ ± 0.037.
    assert numpy.mean(dealt) == pytest.approx(0.5, abs=0.12)


@pytest.mark.parametrize("years", [[1880, 1890], [1900, 1900, 1900], [None, 1880, 1890]])
def test_a_trend_of_too_few_boats_is_refused(years):
    with pytest.raises(scrieve.ScrieveError, match="three boats"):
        trend(years, [1.0] * len(years))


def test_the_hollow_of_a_bow_is_the_gap_under_a_straight_edge():
    # y = x² up to 1, then level: a straight-edge from the stem to x = 1 stands off it by x - x², ¼ at most.
    x = numpy.linspace(0, 2, 2001)
    line = numpy.stack([x, numpy.minimum(x, 1) ** 2], axis=1)
    assert hollow(line) == pytest.approx(0.25, abs=1e-6)
    assert hollow(numpy.stack([x, numpy.sin(x)], axis=1)) == pytest.approx(0, abs=1e-12)


def test_without_scipy_the_extra_to_install_is_named(era, monkeypatch):
    monkeypatch.setitem(sys.modules, "scipy.special", None)
    monkeypatch.setitem(sys.modules, "scipy.cluster.hierarchy", None)
    for ask in (lambda: trend([1, 2, 4], [1, 2, 3]), era.shapes().tree):
        with pytest.raises(scrieve.ScrieveError, match=r"scrieve\[compare\]"):
            ask()


@pytest.mark.parametrize(
    "ask",
    [
        lambda s: s["Flying Dutchman"],
        lambda s: s.distances("mean"),
        lambda s: s.directions().shape(9, 1.0),
        lambda s: shapes.Shapes(["a"], s.points[:1]).directions(),
        lambda s: shapes.Shapes(["a"], s.points[:1]).tree(),
        lambda s: shapes.Shapes(["a"], s.points[:1], size="beam"),
    ],
)
def test_what_cannot_be_asked_is_said(era, ask):
    with pytest.raises(scrieve.ScrieveError):
        ask(era.shapes())
