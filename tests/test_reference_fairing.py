"""scrieve's fairing against the same method written apart from it, in NumPy and SciPy, and against the truth.

`benches/reference_fairing.py` shares no code with the Rust core. Both are given the table of a hull known in
closed form, read to the eighth; the truth is the exact table of the same hull.
"""

import sys
from pathlib import Path

import numpy as np
import pytest

import scrieve

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "benches"))

import reference_fairing
import reference_loft
import reference_offsets
from common import known_file
from reference_accuracy import distances, errors_m, rms

HULLS = [("round-bilge", 1), ("raked-transom", 2), ("double-ender", 3)]
# A reading to the eighth is worth 0.92 mm, and two fits that trust it alike differ by less than that.
APART_M = 0.5e-3
# What is asked of fairing a table of 13 stations: errors square to the hull at the stations.
ERROR_M = 0.6e-3


@pytest.fixture(scope="module", params=HULLS, ids=lambda hull: f"{hull[0]}-{hull[1]}")
def faired(request):
    """The hull by scrieve, the hull by the reference, and the exact table."""
    path = known_file(*request.param, 13, "eighth")
    exact = reference_offsets.read(known_file(*request.param, 13, "exact"))
    return scrieve.read(path).fair(), reference_fairing.fair_survey(reference_offsets.read(path)), exact


class Sections:
    """scrieve's sections as the reference gives them: (y, z)."""

    def __init__(self, hull):
        self.hull = hull

    def section(self, x, n):
        return self.hull.section(x).points(n)[:, 1:]


def test_two_fairings_of_one_table_agree_amidships(faired):
    ours, theirs, exact = faired
    length = max(exact.stations.values())
    amidships = [x for x in exact.stations.values() if length / 3 < x < 2 * length / 3]
    assert len(amidships) >= 4
    apart = [distances(theirs.section(x, 400), Sections(ours).section(x, 60)) for x in amidships]
    assert rms(np.concatenate(apart)) < APART_M


def test_two_moulds_square_inside_the_planking_agree_amidships(faired):
    ours, theirs, exact = faired
    x = sorted(exact.stations.values())[len(exact.stations) // 2]
    half_an_inch = 0.0127
    mould = ours.mould(x, deduct=half_an_inch).points(60)[:, 1:]
    assert rms(distances(reference_loft.inner_edge(theirs, x, half_an_inch), mould)) < APART_M


def test_each_fairing_is_within_its_own_error_of_the_hull(faired):
    ours, theirs, exact = faired
    assert rms(errors_m(Sections(ours), exact)) < ERROR_M
    assert rms(errors_m(theirs, exact)) < ERROR_M


def test_the_reference_leaves_out_a_slip_and_nothing_else():
    survey = reference_offsets.read(known_file("round-bilge", 1, 13, "eighth"))
    spot = survey.spot_names.index(("7", "waterline 1-5-0"))
    # An inch lost.
    survey.y[spot] -= 0.0254
    assert list(reference_fairing.fair_survey(survey).slips) == [spot]
