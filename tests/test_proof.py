"""Proofreading from Python and the command line.

The truth of `petrels-egg.offsets` is here and nowhere else: a hull known in closed form, copied with three slips.
"""

import json

import pytest
from conftest import SAMPLES

import scrieve

EGG = SAMPLES / "petrels-egg.offsets"
CANOE = SAMPLES / "stephens-1889-plate-11.csv"

# What the copyist made of what.
SLIPS = {
    ("4", "waterline 1-3-0"): ("1-3-3", "1-8-3"),
    ("6", "buttock 0-8-0"): ("0-0-4", "0-4-0"),
    ("7", "sheer height"): ("2-1-5", "2-5-1"),
}


@pytest.fixture(scope="module")
def egg():
    return scrieve.read(EGG)


@pytest.fixture(scope="module")
def queries(egg):
    return egg.proof()


def test_the_slips_of_a_copyist_are_queried_and_nothing_else(queries):
    assert {(q.station, q.row): (q.reading, q.suggestions[0].reading) for q in queries} == SLIPS


def test_queries_come_worst_first_each_in_units_of_its_own_uncertainty(queries):
    misfits = [abs(q.misfit) for q in queries]
    assert misfits == sorted(misfits, reverse=True)
    for q in queries:
        assert q.misfit == pytest.approx((q.read - q.expected) / q.sd)
        assert q.confidence == "high"
        truth = scrieve.Reading(SLIPS[q.station, q.row][1]).m
        assert abs(q.expected - truth) < 3 * q.sd < 0.01


def test_each_suggestion_names_the_slip_that_explains_it(queries):
    said = {q.row: q.suggestions[0].slip for q in queries}
    assert said == {
        "waterline 1-3-0": "8 misread as 3",
        "buttock 0-8-0": "a part left out",
        "sheer height": "two parts swapped",
    }
    for q in queries:
        chances = [s.probability for s in q.suggestions]
        assert chances == sorted(chances, reverse=True) and sum(chances) == pytest.approx(1, abs=1e-6)


def test_a_table_without_slips_gives_no_query(sandling):
    assert sandling.proof() == []
    assert sandling.disagreements() == []


def test_proofreading_leaves_the_table_as_it_was(egg):
    before = egg.to_text()
    egg.proof()
    assert egg.to_text() == before == EGG.read_bytes().decode()


def test_with_its_slips_put_right_the_table_gives_no_query(egg):
    for (station, row), (_, truth) in SLIPS.items():
        egg = egg.with_correction(station, row, truth, "checked against the original")
    assert egg.proof() == []
    assert len(egg.corrections) == 3


def test_the_table_of_1889_has_four_slips_of_the_press():
    # W. P. Stephens, Canoe and Boat Building, 1889, plate XI, as printed. At station 0 a waterline cannot stand
    # 6 in out where the deck is an eighth of an inch wide; at 3 the waterline printed 0-0^4 runs 0-2^3, 0-0^4,
    # 0-6^6; at 13 the deck would be inside its own 2 in waterline; and at 1 it would be hollow where the rest of
    # the deck, and its other end, are full: 0-0^1, 0-2^7, 0-7^4, 0-10^2.
    queries = scrieve.read(CANOE).proof()
    truth = {
        ("0", "waterline 0-6-0", "0-6^1"): "0-0-1",
        ("3", "waterline 0-2-0", "0-0^4"): "0-4-3",
        ("13", "sheer half-breadth", "0-0^4"): "0-4-0",
        ("1", "sheer half-breadth", "0-2^7"): "0-4-0",
    }
    assert {(q.station, q.row, q.reading) for q in queries} == set(truth)
    for query in queries:
        # What neighbours on either side call for is known to a quarter of an inch.
        first = scrieve.Reading(query.suggestions[0].reading.replace("^", "-"))
        expected = scrieve.Reading(truth[query.station, query.row, query.reading])
        assert abs(first.mm - expected.mm) <= 6.35, query


def test_the_command_lists_queries_and_says_so_by_its_status(run):
    done = run("proof", EGG)
    assert done.returncode == 1
    lines = done.stdout.splitlines()
    assert lines[0] == "Petrel's Egg: 3 queries"
    assert [line.split()[0] for line in lines[2:5]] == ["4", "6", "7"]
    assert "station 4: waterline 1-3-0 1-3-3 does not lie on one section" in done.stdout
    assert run("proof", SAMPLES / "sandling.offsets").returncode == 0


def test_json_holds_the_same(run):
    data = json.loads(run("proof", EGG, "--json").stdout)
    assert {(q["station"], q["row"]): (q["reading"], q["suggestions"][0]["reading"]) for q in data["queries"]} == SLIPS


def test_what_is_accepted_goes_into_a_new_file_and_is_recorded(run, tmp_path):
    before = EGG.read_bytes()
    new = tmp_path / "egg.offsets"
    done = run(
        "proof", EGG, "--accept", "4:waterline 1-3-0", "--accept", "7:sheer height", "--accept",
        "6:buttock 0-8-0=0-4-0+", "-o", new,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert EGG.read_bytes() == before
    table = scrieve.read(new)
    assert str(table.reading("4", "waterline 1-3-0")) == "1-8-3"
    assert str(table.reading("6", "buttock 0-8-0")) == "0-4-0+"
    assert len(table.corrections) == 3
    assert table.corrections[0].startswith("station 4 | waterline 1-3-0 | was 1-3-3 | now 1-8-3 | 8 misread as 3")
    assert table.proof() == []


def test_what_is_not_accepted_is_still_a_finding(run, tmp_path):
    done = run("proof", EGG, "--accept", "4:waterline 1-3-0", "-o", tmp_path / "egg.offsets")
    assert done.returncode == 1


def test_the_input_is_never_written_over(run, tmp_path):
    mine = tmp_path / "mine.offsets"
    mine.write_bytes(EGG.read_bytes())
    done = run("proof", mine, "--accept", "4:waterline 1-3-0", "-o", mine)
    assert done.returncode == 2 and "no input is written over" in done.stderr
    assert mine.read_bytes() == EGG.read_bytes()


@pytest.mark.parametrize(
    ("choice", "says"),
    [
        ("4", "expected STATION:ROW"),
        ("5:sheer height", "that is no query"),
        ("4:waterline 1-3-0=", "expected STATION:ROW"),
        ("4:waterline 1-3-0=1-8-9", "1-8-9"),
        ("40:sheer height=1-0-0", "40"),
    ],
)
def test_what_cannot_be_accepted_is_said_and_nothing_written(run, tmp_path, choice, says):
    new = tmp_path / "new.offsets"
    done = run("proof", EGG, "--accept", choice, "-o", new)
    assert done.returncode == 2 and says in done.stderr
    assert not new.exists()


def test_the_picture_rings_every_query_where_it_belongs(run, tmp_path):
    picture = tmp_path / "queries.svg"
    run("proof", EGG, "--picture", picture)
    text = picture.read_text(encoding="utf-8")
    for (station, row), (read, truth) in SLIPS.items():
        assert f"{station} {row}: {read} for {truth}" in text
    assert "Queries" in text


def test_the_hull_is_least_sure_where_there_are_no_readings(sandling):
    # Away from every reading a Gaussian process falls back on what hulls are like (Rasmussen and Williams, 2006).
    hull = sandling.fair()
    x = sandling.station_x["5"]
    text = sandling.to_text()
    sparse = scrieve.Table.from_text(
        "\n".join(line for line in text.splitlines() if not line.startswith(("buttock", "waterline 0-9", "A ", "B ")))
    )
    here = hull.sd(x, 0.4)
    assert 1e-4 < here < 1e-3  # under a pencil's width, from readings worth 0.9 mm each
    assert sparse.fair().sd(x, 0.4) > here
    with pytest.raises(scrieve.HullError):
        hull.sd(100.0, 0.4)


def test_the_body_plan_shows_how_sure_the_sections_are_when_asked(run, tmp_path):
    words = ("pickup", "body-plan", SAMPLES / "sandling.offsets", "-o")
    assert run(*words, tmp_path / "plain.svg").returncode == 0
    assert run(*words, tmp_path / "band.svg", "--band", "20").returncode == 0
    plain, band = ((tmp_path / name).read_text(encoding="utf-8") for name in ("plain.svg", "band.svg"))
    assert "one standard deviation, 20 times over" in band and "Bands" in band
    assert "standard deviation" not in plain and "Bands" not in plain
    assert run(*words, tmp_path / "none.svg", "--band", "-1").returncode == 2


@pytest.mark.parametrize(
    "line", ["section 4", "waterline 1-3-0", "buttock 0-9-0", "diagonal A", "sheer", "rabbet", "section 1.5m"]
)
def test_the_curvature_of_any_line_can_be_drawn(run, tmp_path, line):
    done = run("pickup", "curvature", SAMPLES / "sandling.offsets", "--line", line, "-o", tmp_path / "c.svg")
    assert done.returncode == 0, done.stderr
    assert f"Sandling, {line}: curvature changes sign" in (tmp_path / "c.svg").read_text(encoding="utf-8")


def test_a_line_that_is_not_there_is_named_with_those_that_are(sandling_hull):
    with pytest.raises(scrieve.HullError, match="expected section, waterline or buttock and where, or rabbet, sheer"):
        sandling_hull.line("knuckle")


def _spot(station, row):
    """A cell; of a profile's spot one name for its two readings."""
    return (station, row.split(" profile")[0] if " profile " in row else row)


@pytest.mark.parametrize(
    "path", sorted([*SAMPLES.glob("*.offsets"), *(SAMPLES / "as-built").glob("*.offsets")]), ids=lambda path: path.stem
)
def test_fairing_and_proof_leave_out_the_same_readings_of_every_sample(path):
    table = scrieve.read(path)
    hull = table.fair()
    corrections = hull.corrections()
    out = {_spot(c["station"], c["row"]) for c in corrections.to_dict("records") if c["doubted"]}
    queries = table.proof()
    queried = {_spot(q.station, q.row): q.confidence for q in queries}
    facts = {cell for cell in queried if cell[1] == "from stem" or cell[1].startswith("transom ")}
    assert out <= set(queried)
    # What is kept and yet queried is not sure.
    assert all(queried[cell] == "low" for cell in set(queried) - out - facts)


def test_fairing_and_lofting_say_the_same_of_what_they_leave_out(run, queries, tmp_path):
    notes = {}
    for verb in ("fair", "loft"):
        done = run(verb, EGG, "-o", tmp_path / verb)
        assert done.returncode == 1
        notes[verb] = [line for line in done.stderr.splitlines() if line.startswith("note: left out")]
    assert notes["fair"] == notes["loft"] != []
    for query in queries:
        assert f"{query.row} at {query.station}" in notes["fair"][0]


def test_a_station_a_foot_off_is_queried_and_lofted_by_what_the_rest_puts_it_at(run, tmp_path):
    text = (SAMPLES / "sandling.offsets").read_text()
    row = next(line for line in text.splitlines() if line.startswith("from stem"))
    cells = [cell.strip() for cell in row.split("|")[1].split()]
    feet, rest = cells[4].split("-", 1)
    wrong = f"{int(feet) + 1}-{rest}"
    changed = text.replace(row, row.split("|")[0] + "| " + " ".join([*cells[:4], wrong, *cells[5:]]))
    (tmp_path / "off.offsets").write_text(changed)
    table = scrieve.read(tmp_path / "off.offsets")
    (query,) = table.proof()
    assert (query.station, query.row, query.reading) == (table.stations[4], "from stem", wrong)
    assert query.suggestions[0].reading == cells[4] or abs(query.read - query.expected - 0.3048) < 0.05
    done = run("loft", "off.offsets", "-o", "out")
    assert done.returncode == 1
    assert "note: station 5 of" in done.stderr and "faired by that" in done.stderr


def keel_table(keel):
    """A level hull known in closed form, y = s + B (1 - ξ²)(1 - (1 - ζ)²), with a row of her keel's underside, mm."""
    xs = [0.6 * i for i in range(1, 10)]

    def half_breadth(x, z):
        return 30 + 1000 * (1 - (x / 3 - 1) ** 2) * (1 - (1 - z / 0.8) ** 2)

    rows = {
        ("heights", "sheer"): [800] * 9,
        ("heights", "rabbet"): [100 * (x / 3 - 1) ** 2 for x in xs],
        ("heights", "keel"): keel,
        ("half-breadths", "sheer"): [half_breadth(x, 0.8) for x in xs],
    }
    for z in (300, 450, 600):
        rows["half-breadths", f"waterline {z}"] = [half_breadth(x, z / 1e3) for x in xs]
    cells = [(*key, ["-" if v is None else f"{v:.0f}" for v in values]) for key, values in rows.items()]
    facts = {"name": "Level Ness", "units": "mm", "tolerance": "1", "backbone": {"half_siding": "30"},
             "stem": {"spots": [["0", "100"]]}, "sternpost": {"spots": [["6000", "100"]]}}  # fmt: skip
    return scrieve.Table.from_rows(facts, [(str(i), f"{1e3 * x:.0f}") for i, x in enumerate(xs, 1)], cells)


def of_keel(table):
    return [(q.station, q.row) for q in table.proof() if q.row == "keel height"]


SOUND_KEELS = {
    "level": [-80.0] * 9,
    "dragged": [-60.0 - 8 * i for i in range(9)],
    "rockered": [-90 + 5 * (i - 4) ** 2 for i in range(9)],
    "cut up forward": [-10, -55, -80, -80, -80, -80, -80, -80, -80],
    "turned up at a corner aft": [-80, -80, -80, -80, -80, -80, -80, -50, -20],
    "short": [None, None, -80, -82, -85, -86, -84, None, None],
}


@pytest.mark.parametrize("name", SOUND_KEELS)
def test_a_sound_keel_is_not_queried_whatever_its_shape(name):
    assert of_keel(keel_table(SOUND_KEELS[name])) == []


@pytest.mark.parametrize("name", ["level", "dragged", "rockered"])
def test_a_keels_slip_is_queried_and_no_other_of_its_readings(name):
    for station in (3, 5, 7):
        for slip in (60, -60, 25.4, -25.4):
            keel = list(SOUND_KEELS[name])
            keel[station - 1] += slip
            assert of_keel(keel_table(keel)) == [(str(station), "keel height")], (name, station, slip)
    (query,) = [q for q in keel_table([-80, -80, -80, -20, *[-80] * 5]).proof() if q.row == "keel height"]
    assert query.expected == pytest.approx(-0.080, abs=0.003)


def test_a_keel_above_the_rabbet_is_queried_however_few_its_readings():
    assert of_keel(keel_table([None, None, None, -60, 90, None, None, None, None])) == [("5", "keel height")]


def test_facts_that_no_reading_tells_again_are_said_by_proof_and_fair_alone_and_are_no_findings(run):
    transom = SAMPLES / "as-built" / "dotterel.offsets"
    proof = scrieve.read(transom).proof()
    said = [
        fact for fact in proof.not_judged if fact.startswith("how far aft the transom stands (no reading would show")
    ]
    assert len(said) == 1 and not any("no reading would show" in remark for remark in proof.remarks)
    hull = scrieve.read(transom).fair()
    assert hull.not_judged == proof.not_judged
    assert not any("no reading would show" in remark for remark in hull.remarks)
    for verb in ("proof", "fair"):
        assert f"not judged: {said[0]}" in run(verb, transom).stderr.splitlines()
        assert json.loads(run(verb, transom, "--json").stdout)["not_judged"] == proof.not_judged
    # Nothing that is cut by shows it.
    lofted = run("loft", transom, "-o", "out")
    assert lofted.returncode == 0 and "not judged" not in lofted.stderr + lofted.stdout
