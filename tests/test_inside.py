"""Thwarts, stringers, bulkheads, deck beams and the deck: against the hull, the arc's own formula, read back."""

import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest

import scrieve

PLANKING = 0.0127
SAMPLE = Path(__file__).parent.parent / "samples" / "sandling.offsets"


def test_a_thwart_reaches_the_inside_of_the_planking(sandling_hull):
    x, z = 2.2, 0.45
    thwart = sandling_hull.thwart(x, z, width=0.2, thickness=0.022)
    for edge in thwart.edges.itertuples():
        mould = sandling_hull.mould(edge.from_stem, PLANKING).points(3000)
        longer = max(np.interp(h, mould[:, 2], mould[:, 1]) for h in (z, z + 0.022))
        assert edge.length == pytest.approx(2 * longer, abs=2e-5)
        # The normal gives the flare and the taper; the hull's own half-breadths give them again.
        step = 1e-3
        flare = sandling_hull.half_breadth(edge.from_stem, z + step) - sandling_hull.half_breadth(edge.from_stem, z)
        assert edge.flare == pytest.approx(math.degrees(math.atan(flare / step)), abs=1.0)
    assert thwart.drawing.check() == []


def test_a_riser_below_the_sheer_keeps_its_distance(sandling_hull):
    riser = sandling_hull.stringer(0.8, 4.2, below_sheer=0.2)
    for row in riser.stations.itertuples():
        sheer = sandling_hull.mould(row.from_stem, PLANKING).points(2)[-1]
        assert row.height == pytest.approx(sheer[2] - 0.2, abs=1e-6)
    assert 3.4 < riser.length < 3.8 and list(riser.ends.from_stem) == pytest.approx([0.8, 4.2])
    level = sandling_hull.stringer(0.8, 4.2, z=0.5)
    assert set(np.round(level.stations.height, 9)) == {0.5}


def test_a_deck_beam_is_an_arc_of_the_round_of_beam(sandling_hull):
    beam, camber = 1.5, 0.05
    made = sandling_hull.deck_beam(2.0, (beam, camber))
    assert made.radius == pytest.approx((beam**2 / 4 + camber**2) / (2 * camber))  # handbook, section 13
    assert made.camber == pytest.approx(made.radius - math.sqrt(made.radius**2 - made.length**2 / 4))
    outline = next(p["points"] for p in made.drawing.paths() if p["layer"] == "Outlines")
    top = outline[:, 1].max()
    upper = outline[(outline[:, 1] > top - 1e3 * made.camber + 0.01)]
    centre = top - 1e3 * made.radius
    assert np.hypot(upper[:, 0], upper[:, 1] - centre) == pytest.approx(1e3 * made.radius, abs=0.05)


def test_a_bulkheads_edge_is_the_mould_at_its_place(sandling_hull):
    drawing = sandling_hull.bulkhead(2.5, round_of_beam=(1.5, 0.05))
    assert drawing.check() == []
    outline = next(p["points"] for p in drawing.paths() if p["layer"] == "Outlines")
    mould = 1e3 * sandling_hull.mould(2.5, PLANKING).points(4000)[:, 1:]
    sheer = mould[-1, 1]
    edge = outline[(outline[:, 0] > 60) & (outline[:, 1] < sheer)]
    assert len(edge) > 20
    for spot in edge:
        assert np.hypot(*(mould - spot).T).min() < 0.3  # points of the mould stand that far apart


def test_inside_structure_is_picked_up_and_reads_back(run, tmp_path):
    done = run(
        "pickup", "inside", SAMPLE, "-o", tmp_path / "out", "--thwarts", "6-0-0, 10-0-0", "--thwart-height", "1-6-0",
        "--bulkheads", "3-0-0", "--beams", "2-0-0", "--beam", "5-0-0", "--camber", "0-2-0",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    names = sorted(path.stem for path in (tmp_path / "out").glob("*.dxf"))
    assert names == ["bulkhead-1", "deck", "deck-beam-1", "thwart-1", "thwart-2"]
    for name in names:
        audit = ezdxf.readfile(tmp_path / "out" / f"{name}.dxf").audit()
        assert not audit.errors and not audit.fixes


def test_what_does_not_fit_is_told_what_would_do(sandling_hull, run, tmp_path):
    with pytest.raises(scrieve.LoftError, match="check the height"):
        sandling_hull.thwart(2.0, 3.0)
    with pytest.raises(scrieve.LoftError, match="makes no arc"):
        sandling_hull.deck_beam(2.0, (0.3, 0.1))
    with pytest.raises(scrieve.LoftError, match="one of the two"):
        sandling_hull.stringer(1.0, 2.0)
    done = run("pickup", "inside", SAMPLE, "-o", tmp_path / "out", "--thwarts", "6-0-0")
    assert done.returncode == 2 and "give the height" in done.stderr
