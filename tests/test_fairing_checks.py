"""The core of fairing against general reference libraries, and readings that cannot all be met."""

import sys

import numpy as np
import pytest
from conftest import ROOT
from scipy.interpolate import make_interp_spline, make_smoothing_spline
from scipy.linalg import cho_factor, cho_solve
from scipy.special import gamma, kv

import scrieve
from scrieve._core import fair_line

sys.path.insert(0, str(ROOT / "benches"))

from common import known_file  # noqa: E402

# One sixteenth of an inch, half the place of a reading to the eighth, over a boat of 5 m: an even chance within.
SD = 0.0254 / 16 / np.sqrt(3) / 5.0
PLACE = 0.0254 / 8 / 5.0


def sheer(t):
    """A springy sheer, in lengths of the boat."""
    return 0.13 + 0.09 * (t - 0.62) ** 2 + 0.02 * np.exp(-t / 0.18)


def matern(r):
    """The Matérn correlation of order 9/2 by its definition (Rasmussen and Williams 2006, eq. 4.14)."""
    s = np.where(r == 0.0, 1e-12, 3.0 * np.abs(r))
    return np.where(r == 0.0, 1.0, 2 ** (1 - 4.5) / gamma(4.5) * s**4.5 * kv(4.5, s))


def test_a_faired_line_is_scipys_posterior_of_the_same_process():
    rng = np.random.default_rng(5)
    t = np.sort(rng.uniform(0, 1, 12))
    y = np.round(sheer(t) / PLACE) * PLACE
    amplitude, length, alpha = 0.03, 0.5, 1.1
    at = np.linspace(0, 1, 23)

    def kernel(a, b):
        warped = [np.expm1(-alpha * v) / np.expm1(-alpha) / length for v in (a, b)]
        ca, cb = a[:, None] - 0.5, b[None, :] - 0.5
        # A quadratic whose coefficients of 1, 2(t - ½) and 4(t - ½)² have variance 1.
        mean = 1 + 4 * ca * cb + 16 * ca**2 * cb**2
        return amplitude**2 * matern(warped[0][:, None] - warped[1][None, :]) + mean

    factor = cho_factor(kernel(t, t) + SD**2 * np.eye(len(t)))
    across = kernel(at, t)
    value = across @ cho_solve(factor, y)
    variance = np.diag(kernel(at, at)) - np.einsum("ij,ji->i", across, cho_solve(factor, across.T))
    ours = fair_line([(a, b, SD) for a, b in zip(t, y, strict=True)], list(at), (amplitude, length, alpha))
    assert np.abs(ours[:, 0] - value).max() < 1e-8
    assert np.abs(ours[:, 1] - np.sqrt(variance)).max() < 2e-3 * np.sqrt(variance).max()


def test_a_line_of_readings_to_the_eighth_is_nearer_than_scipys_smoothing_spline():
    # make_smoothing_spline: cubic, smoothing by generalised cross-validation (Wahba 1990), over many roundings.
    at = np.linspace(0, 1, 101)
    ours, theirs = [], []
    for shift in np.linspace(0, PLACE, 12, endpoint=False):
        t = np.linspace(0, 1, 13)
        y = np.round((sheer(t) + shift) / PLACE) * PLACE - shift
        line = fair_line([(a, b, SD) for a, b in zip(t, y, strict=True)], list(at))
        ours.append(line[:, 0] - sheer(at))
        theirs.append(make_smoothing_spline(t, y)(at) - sheer(at))
    rms = [np.sqrt(np.mean(np.square(errors))) for errors in (ours, theirs)]
    assert rms[0] < 0.8 * rms[1]
    assert rms[0] < SD


@pytest.mark.parametrize("line", ["section", "waterline", "buttock"])
def test_a_curves_curvature_is_that_of_scipys_spline_through_its_points(sandling_hull, line):
    length = sandling_hull.dimensions["length"]
    curve = {
        "section": lambda: sandling_hull.section(0.5 * length),
        "waterline": lambda: sandling_hull.waterline(0.45),
        "buttock": lambda: sandling_hull.buttock(0.3),
    }[line]()
    n = 401
    points, ours = curve.points(n), curve.curvature(n)
    axes = {"section": (1, 2), "waterline": (0, 1), "buttock": (0, 2)}[line]
    s = np.linspace(0, curve.length, n)
    spline = make_interp_spline(s, points[:, axes], k=5)
    d, dd = spline(s, 1), spline(s, 2)
    theirs = (d[:, 0] * dd[:, 1] - d[:, 1] * dd[:, 0]) / np.hypot(d[:, 0], d[:, 1]) ** 3
    inside = slice(20, -20)
    scale = np.abs(theirs[inside]).max()
    assert np.abs(ours[inside] - theirs[inside]).max() < 0.01 * scale


def test_readings_that_stand_in_the_way_are_named(sandling):
    wrong = sandling.with_reading("6", "waterline 1-3-0", "1-2-0")
    remarks = wrong.fair().remarks
    said = [remark for remark in remarks if "contradicts them" in remark]
    assert len(said) == 1 and "waterline 1-3-0 at 6" in said[0]


def test_a_fair_table_has_nothing_in_the_way():
    remarks = scrieve.read(known_file("round-bilge", 2, 13, "eighth")).fair().remarks
    assert not any("tolerance" in remark or "contradict" in remark for remark in remarks)


def test_held_readings_that_contradict_each_other_are_named(sandling):
    # A waterline's spot and a point at its height, an inch apart, both held.
    station, row = "6", "waterline 1-3-0"
    height, read = scrieve.Reading("1-3-0"), sandling.reading(station, row)
    text = sandling.with_reading(station, row, str(read).rstrip("!?") + "!").to_text()
    other = f"{read.m + 0.0254:.4f}m"
    text += f"\n[points]\nstation | height | half-breadth\n{station} | {height}! | {other}!\n"
    table = scrieve.Table.from_text(text)
    said = [remark for remark in table.fair().remarks if "held readings contradict" in remark]
    assert len(said) == 1 and f"{row} at {station}" in said[0] and "point" in said[0]
