"""Thwarts, stringers, bulkheads, deck beams, carlins, cases and the deck: against the hull, the arc's own formula,
read back."""

import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest

import scrieve

PLANKING = 0.0127
SAMPLES = Path(__file__).parent.parent / "samples"
SAMPLE = SAMPLES / "sandling.offsets"
ROUND = (1.5, 0.05)


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
        assert row.height == pytest.approx(sheer[2] - 0.2, abs=2e-5)
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
    # So thin that both its faces are the mould.
    drawing = sandling_hull.bulkhead(2.5, thickness=0.001, round_of_beam=(1.5, 0.05))
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
    with pytest.raises(scrieve.LoftError, match="one of the three"):
        sandling_hull.stringer(1.0, 2.0)
    done = run("pickup", "inside", SAMPLE, "-o", tmp_path / "out", "--thwarts", "6-0-0")
    assert done.returncode == 2 and "give the height" in done.stderr


def test_a_riser_runs_fair_through_heights_and_its_marks_add_up(sandling_hull):
    heights = {0.9: 0.52, 2.0: 0.46, 3.2: 0.45, 4.2: 0.5}
    riser = sandling_hull.stringer(heights=heights, depth=0.04, level=True, name="riser")
    assert list(riser.ends.height) == pytest.approx([0.52, 0.5])
    # Along the line by chords of the hull's own half-breadths inside the planking, from its first station on.
    rows = riser.stations
    for i in range(len(rows) - 1):
        step = np.diff(rows[["from_stem", "half_breadth", "height"]].iloc[i : i + 2].to_numpy(), axis=0)
        run = rows.along[i + 1] - rows.along[i]
        assert np.linalg.norm(step) - 1e-9 <= run < np.linalg.norm(step) * 1.01
    for row in rows.itertuples():
        mould = sandling_hull.mould(row.from_stem, PLANKING).points(3000)
        for y, z in ((row.half_breadth, row.height), (row.lower_half_breadth, row.lower_height)):
            assert np.hypot(mould[:, 1] - y, mould[:, 2] - z).min() < 3e-4
        assert row.inner_height == pytest.approx(row.height)


@pytest.fixture(scope="module", params=["sandling", "petrels-egg", "turnstone", "mudlark"])
def drawn(request):
    """Everything drawn inside one of the sample boats."""
    hull = scrieve.read(SAMPLES / f"{request.param}.offsets").fair()
    start, end = (float(hull.deck_table().from_stem.iloc[k]) for k in (1, -2))
    opening = scrieve.hull.inside.Opening(start + 0.3 * (end - start), start + 0.6 * (end - start), 0.25, 0.22)
    frame = hull.deck_frame(ROUND, spacing=0.5, openings=[opening])
    assert {"whole", "half"} <= set(frame.beams.kind)
    case = hull.centre_case(start + 0.4 * (end - start), start + 0.6 * (end - start), top=0.6, width=0.02)
    stringers = [
        hull.stringer(start, end, below_sheer=0.15).drawing,
        hull.stringer(start + 0.01, end, below_sheer=0.12, level=True, name="riser").drawing,
    ]
    return [*frame.drawings, *case.drawings, *stringers]


def _boxes(drawing):
    """Each text's box, as broad as the letters of a common sans serif: 0.6 of their height."""
    for text in drawing.texts():
        (x, y), high = text["at"], text["height_mm"]
        long = 0.6 * high * len(text["text"])
        back = {"start": 0.0, "middle": long / 2, "end": long}[text["anchor"]]
        turned = abs(text["angle"]) > 45
        yield (x - high, y - back, x, y - back + long) if turned else (x - back, y, x - back + long, y + high)


def test_no_two_labels_of_what_is_inside_lie_over_each_other(drawn):
    for drawing in drawn:
        boxes = list(_boxes(drawing))
        assert boxes, drawing.name
        for i, a in enumerate(boxes):
            for b in boxes[:i]:
                assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1], (drawing.name, a, b)


def test_a_stringers_sheet_names_every_station_in_every_view(drawn):
    for drawing in drawn:
        if drawing.name in ("stringer", "riser"):
            said = [text["text"] for text in drawing.texts()]
            stations = {text for text in said if text.startswith(("STATION", "FORWARD END", "AFTER END"))}
            assert len(stations) > 4
            assert all(said.count(station) == 4 for station in stations), said
            for view in ("PROFILE", "PLAN", "STRAIGHTENED", "SECTIONS"):
                assert any(text.startswith(view) for text in said)


def test_every_piece_inside_and_every_line_on_the_deck_is_named(drawn):
    for drawing in drawn:
        said = [text["text"] for text in drawing.texts()]
        name = drawing.name.replace("-", " ").upper()
        named = "SLOT IN THE KEEL" if drawing.name == "centre-case-keel" else name
        assert any(named in text for text in said), (drawing.name, said)
        if drawing.name == "deck":
            beams = sum(1 for other in drawn if "beam" in other.name)
            assert {"OPENING 1", *(f"BEAM {i}" for i in range(1, beams + 1))} <= set(said)
        if drawing.name == "centre-case":
            assert "TOP OF BED LOG" in said


def test_pieces_inside_can_be_cut(drawn):
    assert [(drawing.name, drawing.check()) for drawing in drawn if drawing.check()] == []


def test_a_deck_is_framed_round_an_opening(sandling_hull):
    frame = sandling_hull.deck_frame(ROUND, spacing=0.4, openings=[scrieve.hull.inside.Opening(1.5, 3.0, 0.4)])
    assert frame.failures == []
    radius = (ROUND[0] ** 2 / 4 + ROUND[1] ** 2) / (2 * ROUND[1])  # handbook, section 13
    for beam in frame.beams.itertuples():
        side = sandling_hull.mould(beam.from_stem, PLANKING).points(2)[-1]
        if beam.kind == "whole":
            assert beam.length == pytest.approx(2 * side[1], abs=1e-6)
            assert beam.camber == pytest.approx(radius - math.sqrt(radius**2 - side[1] ** 2), abs=1e-6)
        else:
            assert 1.5 < beam.from_stem < 3.0
            assert beam.length == pytest.approx(side[1] - 0.4 - 0.025, abs=1e-6)
    fore, after = frame.carlins.itertuples()
    for end in (fore, after):
        side = sandling_hull.mould(end.from_stem, PLANKING).points(2)[-1]
        rise = math.sqrt(radius**2 - 0.4**2) - math.sqrt(radius**2 - side[1] ** 2)
        assert end.height == pytest.approx(side[2] + rise, abs=1e-6)
    # Spaced from the forward end, and a whole beam, 30 mm sided, against either end of the opening.
    spaced = 0.4 * np.arange(1, len(frame.beams) - 1)
    assert list(frame.beams.from_stem) == pytest.approx(sorted([*spaced, 1.47, 3.0]))
    assert list(frame.beams.kind[frame.beams.from_stem.isin([1.47, 3.0])]) == ["whole", "whole"]
    near = sandling_hull.deck_frame(ROUND, beams=[1.45, 2.2], openings=[scrieve.hull.inside.Opening(1.5, 3.0, 0.4)])
    assert list(near.beams.from_stem) == pytest.approx([1.47, 2.2, 3.0])


def test_everything_inside_is_picked_up_at_once(run, tmp_path):
    done = run(
        "pickup", "inside", SAMPLE, "-o", tmp_path / "out", "--stringer-heights", "2=1-9-0, 5=1-6-0, 8=1-7-0",
        "--level-edges", "--beam-spacing", "1-6-0", "--beam", "5-0-0", "--camber", "0-2-0",
        "--openings", "5-0-0, 9-0-0, 1-2-0, 1-0-0", "--slot-from", "6-0-0", "--slot-to", "8-6-0",
        "--slot-width", "20mm", "--case-top", "2-0-0",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    names = {path.stem for path in (tmp_path / "out").glob("*.dxf")}
    assert {"stringer", "carlin-1", "centre-case", "centre-case-keel", "deck", "deck-beam-1", "half-beam-5"} <= names
    for name in names:
        audit = ezdxf.readfile(tmp_path / "out" / f"{name}.dxf").audit()
        assert not audit.errors and not audit.fixes


BEAM = ("--beam", "5-0-0", "--camber", "0-2-0")
SLIPS = {
    "one of three ways": ("--stringer-from", "2-0-0", "--stringer-to", "9-0-0"),
    "begins and ends": ("--stringer-height", "1-6-0", "--stringer-from", "2-0-0"),
    "no station 'Z'": ("--stringer-heights", "2=1-4-0, Z=1-3-0"),
    "write station = height": ("--stringer-heights", "1-4-0"),
    "two heights or more": ("--stringer-heights", "2=1-4-0"),
    "check the height": ("--stringer-height", "9-0-0", "--stringer-from", "2-0-0", "--stringer-to", "9-0-0"),
    "more than nothing": ("--stringer-height", "1-6-0", "--stringer-from", "9-0-0", "--stringer-to", "2-0-0"),
    "need a round of beam": ("--beam-spacing", "1-0-0"),
    "one of the two": ("--beam-spacing", "1-0-0", "--beams", "2-0-0", *BEAM),
    "no room for them": ("--beam-spacing", "1mm", *BEAM),
    "has 2 lengths": ("--openings", "5-0-0, 9-0-0", *BEAM),
    "bring it in": ("--openings", "5-0-0, 9-0-0, 4-0-0", *BEAM),
    "--case-top": ("--slot-from", "6-0-0"),
    "make the slot narrower": (
        "--slot-from",
        "6-0-0",
        "--slot-to",
        "8-0-0",
        "--case-top",
        "2-0-0",
        "--slot-width",
        "60mm",
    ),
    "make it shorter": ("--slot-from", "0-0-1", "--slot-to", "8-0-0", "--case-top", "2-0-0", "--slot-width", "20mm"),
    "raise the top": ("--slot-from", "6-0-0", "--slot-to", "8-0-0", "--case-top", "0-4-0", "--slot-width", "20mm"),
}


@pytest.mark.parametrize("says", SLIPS)
def test_a_slip_on_the_command_line_is_told_with_what_to_change(says, run, tmp_path):
    done = run("pickup", "inside", SAMPLE, "-o", tmp_path / "out", *SLIPS[says])
    assert done.returncode == 2 and says in done.stderr, done.stderr
    assert not (tmp_path / "out").exists()


def test_the_main_job_writes_the_deck_and_the_breadths_inside(sandling_hull, tmp_path):
    import pandas

    from scrieve.patterns.job import loft

    done = loft(sandling_hull, tmp_path / "out")
    assert done.failures == []
    page = (tmp_path / "out" / "index.html").read_text()
    for name in ("deck.dxf", "deck.csv", "breadths.csv"):
        assert f"inside/{name}" in page and (tmp_path / "out" / "inside" / name).is_file()
    rows = pandas.read_csv(tmp_path / "out" / "inside" / "breadths.csv", dtype={"station": str})
    row = rows[rows.station == "5"].iloc[1]
    x, z = row["from stem, mm"] / 1e3, row["height, mm"] / 1e3
    mould = sandling_hull.mould(x, PLANKING).points(4000)
    assert row["length, mm"] == pytest.approx(2e3 * np.interp(z, mould[:, 2], mould[:, 1]), abs=0.05)
