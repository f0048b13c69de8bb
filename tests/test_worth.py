"""What readings are worth, sizes no boat has, and tables at full size, through Python and the command line."""

import json
import re

import pytest
from conftest import SAMPLES

import scrieve

MODEL = SAMPLES / "era" / "1887-kittiwakes-due.offsets"  # at 1:8, invented


def to_half_inch(text):
    """The same table taken by a hand that read to the half inch and wrote eighths still."""
    head, body = text.rsplit("+++", 1)

    def reading(found):
        feet, inches, eighths = (int(part) for part in found.group(1, 2, 3))
        halves = round((96 * feet + 8 * inches + eighths) / 4)
        return f"{halves // 24}-{halves // 2 % 12}-{halves % 2 * 4}"

    lines = []
    for line in body.splitlines():
        label, bar, cells = line.partition("|")
        if bar and label.strip() != "station":
            cells = re.sub(r"(\d+)-(\d+)-(\d+)[+-]?(?=\s|$)", reading, cells)
        lines.append(label + bar + cells)
    return head + "+++" + "\n".join(lines) + "\n"


@pytest.fixture(scope="module")
def halves(sandling, tmp_path_factory):
    path = tmp_path_factory.mktemp("halves") / "halves.offsets"
    path.write_text(to_half_inch(sandling.to_text()), encoding="utf-8")
    return path


def test_a_grid_the_readings_lie_on_is_said_and_is_what_they_are_worth(halves):
    hull = scrieve.read(halves).fair()
    assert any("lie on a grid of 1/2 in" in remark for remark in hull.remarks), hull.remarks
    corrections = hull.corrections()
    assert corrections.tolerance.median() == pytest.approx(0.0254 / 4)
    assert not corrections.doubted.any()


def test_proofreading_says_it_too_and_queries_nothing(halves, run):
    done = run("proof", halves)
    assert done.returncode == 0 and "no query" in done.stdout
    assert done.stderr.count("grid of 1/2 in") == 1
    assert scrieve.read(halves).worth and not scrieve.read(SAMPLES / "sandling.offsets").worth


def test_a_tolerance_overrides_it_and_it_is_said_no_more(halves, run):
    told = scrieve.read(halves).fair(tolerance=0.0254 / 16)
    assert not any("grid" in remark for remark in told.remarks)
    assert told.corrections().tolerance.max() == pytest.approx(0.0254 / 16)
    said = run("fair", halves, "--json").stdout
    assert "grid of 1/2 in" in said
    assert "grid" not in run("fair", halves, "--json", "--tolerance", "1/4 in").stdout


@pytest.mark.parametrize("sample", sorted(SAMPLES.rglob("*.offsets")), ids=lambda path: path.stem)
def test_no_sample_is_taken_for_coarser_or_of_another_size_than_it_is(sample):
    remarks = scrieve.read(sample)._core.remarks
    odd = ("grid", "coarser marks", "no boat", "whatever the scale")
    assert not [remark for remark in remarks if any(word in remark for word in odd)]


def test_what_gives_back_a_models_shrinkage_is_among_her_facts(tmp_path):
    text = MODEL.read_text(encoding="utf-8")
    assert "[shrinkage]" not in text
    head, body = text.rsplit("+++", 1)
    path = tmp_path / "shrunk.offsets"
    path.write_text(f"{head}\n[shrinkage]\nbreadth = 1.03\nheight = 0.98\n+++{body}", encoding="utf-8")
    table = scrieve.read(path)
    assert table.facts["shrinkage"] == {"length": 1.0, "breadth": 1.03, "height": 0.98}
    assert any("wood shrinks, it does not swell" in remark for remark in table._core.remarks)
    facts = scrieve.collection([path, SAMPLES / "sandling.offsets"]).facts()
    assert list(facts.shrinkage_breadth.fillna(1.0)) == [1.03, 1.0]


@pytest.mark.parametrize("units", ["feet-inches-eighths", "in", "mm", "m"])
def test_a_models_faired_table_is_written_at_the_boats_size(units):
    hull = scrieve.read(MODEL).fair()
    table = hull.table(units=units)
    assert table.facts["scale"] == 1.0 and table.facts["units"] == units
    for fact in ("half_siding", "load_waterline"):
        assert table.facts[fact] == pytest.approx(hull.source.facts[fact], abs=1e-5)
    # To half a sixteenth of an inch, or half of what the other units are written to.
    half = 0.0254 / 32 if units == "feet-inches-eighths" else 0.0254 / 200
    checked = 0
    for c in hull.corrections().itertuples():
        # Profile spots are moved square to the profile, and written by their distances only.
        if c.row.startswith("sheer ") and not c.doubted:
            assert table.reading(c.station, c.row).m == pytest.approx(c.faired, abs=half + 1e-4), (c.station, c.row)
            checked += 1
    assert checked > 10
    again = table.fair()
    assert again.hydrostatics(0.3).volume == pytest.approx(hull.hydrostatics(0.3).volume, rel=0.004)


def test_the_command_line_writes_a_model_at_full_size_in_feet_and_inches(run, tmp_path):
    done = run("fair", MODEL, "-o", "full.offsets", "--units", "feet-inches-eighths")
    assert done.returncode in (0, 1), done.stderr
    table = scrieve.read(tmp_path / "full.offsets")
    assert table.facts["scale"] == 1.0
    own = run("fair", MODEL, "-o", "own.offsets", "--full-size")
    assert own.returncode in (0, 1), own.stderr
    assert scrieve.read(tmp_path / "own.offsets").facts["units"] == scrieve.read(MODEL).facts["units"]
    refused = run("fair", MODEL, "--full-size")
    assert refused.returncode == 2 and "give -o" in refused.stderr
    assert json.loads(run("fair", MODEL, "--json").stdout)["written"] == []
