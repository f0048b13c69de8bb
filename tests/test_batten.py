"""The batten from Python, against SciPy and beams."""

import math

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.optimize import minimize

import scrieve

SHEER = [(0.0, 0.95), (0.7, 0.78), (1.5, 0.66), (2.6, 0.6), (3.7, 0.63), (4.6, 0.74)]


def test_at_small_slopes_a_batten_is_the_natural_cubic_spline():
    flat = [(x, 1e-3 * y) for x, y in SHEER]
    spline = CubicSpline(*np.array(flat).T, bc_type="natural")
    points = scrieve.batten(flat).points(400)
    assert np.abs(points[:, 1] - spline(points[:, 0])).max() < 1e-6 * 0.35e-3
    assert np.all(points[:, 2] == 0)


def test_at_large_slopes_no_spline_of_one_axis_bends_less():
    # What a spline of y over x takes for bending is y''²; a batten's own is ∫κ² ds, the same whichever way it lies.
    steep = [(0.0, 0.0), (0.4, 0.7), (1.0, 1.0), (1.6, 0.7), (2.0, 0.0)]
    bent = scrieve.batten(steep)

    def energy(curve):
        kappa, ds = curve.curvature(4001), curve.length / 4000
        return ((kappa[:-1] ** 2 + kappa[1:] ** 2) / 2).sum() * ds

    spline = CubicSpline(*np.array(steep).T, bc_type="natural")
    x = np.linspace(0, 2, 4001)
    slope, bend = spline(x, 1), spline(x, 2)
    of_spline = np.trapezoid(bend**2 / (1 + slope**2) ** 2.5, x)
    assert energy(bent) < 0.99 * of_spline
    turned = scrieve.batten([(y * 0.6 - x * 0.8, x * 0.6 + y * 0.8) for x, y in steep])
    assert turned.length == pytest.approx(bent.length, abs=1e-9) and energy(turned) == pytest.approx(energy(bent))


def test_a_batten_bends_as_little_as_a_chain_of_many_links_through_the_same_nails():
    # The discrete elastica: 120 equal chords, turned as little as may be, held to the nails by SciPy.
    steep = [(0.0, 0.0), (0.6, 0.8), (1.5, 0.9), (2.2, 0.2)]
    bent = scrieve.batten(steep)
    girths = [0.0]
    dense = bent.points(2001)
    for x, y in steep[1:]:
        girths.append(np.argmin(np.hypot(dense[:, 0] - x, dense[:, 1] - y)) / 2000 * bent.length)
    n = 40
    start = []
    for a, b in zip(girths, girths[1:], strict=False):
        at = np.interp(a + (b - a) * (np.arange(n) + 0.5) / n, np.linspace(0, bent.length, 2001), np.arange(2001))
        step = np.diff(dense[:, :2], axis=0)[np.minimum(at.astype(int), 1999)]
        start += list(np.arctan2(step[:, 1], step[:, 0]))
    spans = np.diff(girths)
    # Away from the batten, so that the chain has to find its own way.
    start = np.array([*(np.array(start) * 0.9), *(spans * 1.03)])

    def energy(v):
        angles, links = v[:-3], np.repeat(v[-3:] / n, n)
        return 100 * (np.diff(angles) ** 2 / ((links[1:] + links[:-1]) / 2)).sum()

    def ends(v):
        angles, links = v[:-3], np.repeat(v[-3:] / n, n)
        xy = np.cumsum(np.c_[links * np.cos(angles), links * np.sin(angles)], axis=0)[n - 1 :: n]
        return (xy - steep[1:]).ravel()

    done = minimize(
        energy, start, constraints={"type": "eq", "fun": ends}, method="SLSQP", options={"maxiter": 400, "ftol": 1e-9}
    )
    kappa = bent.curvature(4001)
    own = ((kappa[:-1] ** 2 + kappa[1:] ** 2) / 2).sum() * bent.length / 4000
    assert done.fun / 100 == pytest.approx(own, rel=2e-3)
    assert done.x[-3:] == pytest.approx(spans, rel=2e-3)


def test_a_batten_that_may_leave_its_nails_is_fairer():
    rough = [(x, y + 0.001 * (-1) ** i) for i, (x, y) in enumerate(SHEER)]
    held, eased = scrieve.batten(rough), scrieve.batten(rough, 0.002)
    assert np.abs(eased.curvature(200)).max() < np.abs(held.curvature(200)).max()
    assert max(map(abs, held.off)) == 0 and 0 < max(map(abs, eased.off)) <= 0.002
    one = scrieve.batten(rough, [0, 0.002, 0.002, 0.002, 0.002, 0])
    assert one.off[0] == one.off[-1] == 0 and one.points(2)[0][:2] == pytest.approx(rough[0])


def test_a_beam_pushed_up_midway_has_three_times_the_rise_over_its_span_at_the_ends():
    # Timoshenko, Strength of Materials, from memory.
    points = scrieve.batten([(0, 0), (1, 1e-4), (2, 0)]).points(2001)
    assert points[1][1] / points[1][0] == pytest.approx(3 * 1e-4 / 2, rel=1e-5)


@pytest.mark.parametrize(
    ("points", "tolerance", "said"),
    [
        ([(0, 0)], None, "2 to 500 nails, and 1 are given"),
        ([(0, 0), (1, 0), (1, 0)], None, "nails 2 and 3 are in one place"),
        ([(0, 0), (1, math.nan)], None, "nail 2: its place and tolerance must be numbers"),
        ([(0, 0), (1, 0)], -0.1, "the tolerance not below 0"),
        ([(0, 0), (1, 0)], [0.1], "2 points and 1 tolerances"),
        ([(0, 0), (1, 0), (0, 0.001)], None, "springs off between nails 1 and 2|finds no rest"),
    ],
)
def test_what_bends_no_batten_is_told_what_would_do(points, tolerance, said):
    with pytest.raises(scrieve.FairingError, match=said):
        scrieve.batten(points, tolerance)
