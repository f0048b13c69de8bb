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


def in_tenths(text, factor):
    """The same table, so many times as large, taken in inches and tenths."""
    head, body = text.rsplit("+++", 1)
    head = re.sub(r"units = .*", 'units = "in"', head)

    def reading(found):
        feet, inches, eighths = (int(part) for part in found.group(1, 2, 3))
        return f"{factor * (12 * feet + inches + eighths / 8):.1f}"

    pattern = r"(\d+)-(\d+)-(\d+)[+-]?(?=[\s\"]|$)"
    lines = []
    for line in body.splitlines():
        label, bar, cells = line.partition("|")
        if label.split()[:1] == ["station"]:
            lines.append(line)
            continue
        label = re.sub(pattern, reading, label.rstrip()) if bar else label
        lines.append(label + bar + re.sub(pattern, reading, cells))
    return re.sub(pattern, reading, head) + "+++" + "\n".join(lines) + "\n"


def test_tenths_of_an_inch_fall_on_its_quarters_more_often_than_four_in_ten(sandling, tmp_path):
    # .0, .2, .3, .5, .7 and .8 are on quarters, as far as tenths can say.
    path = tmp_path / "tenths.offsets"
    for k in range(40):
        path.write_text(in_tenths(sandling.to_text(), 1 + 0.013 * k), encoding="utf-8")
        assert scrieve.read(path).worth == [], k


def in_hundredths_of_a_foot(spots_ft):
    """A hull in closed form of a spoon bow, read to 0.01 ft and written in inches, with spots of its stem."""

    def sheer(x):
        return 6.0 + 2.2 * ((26 - x) / 26) ** 2

    def keel(x):
        # The stem is a quarter of an ellipse, 11 ft long.
        return 1.0 + (sheer(0) - 1.0) * (1 - max(0.0, 1 - ((x - 11) / 11) ** 2) ** 0.5) if x < 11 else 1.0

    def breadth(x, z):
        t = (z - keel(x)) / (sheer(x) - keel(x))
        across = 0.25 + 4.9 * (1 - ((x - 20) / 22) ** 2)
        return 0.25 + (across - 0.25) * (1 - (1 - t) ** 2.4) if t >= 0 else None

    def inches(feet):
        return "-" if feet is None else f"{0.12 * round(100 * feet):.2f}"

    xs = [6.11 + 2.75 * i for i in range(11)]
    rows = {"sheer": [sheer(x) for x in xs], "rabbet": [keel(x) for x in xs]}
    across = {"sheer": [breadth(x, sheer(x)) for x in xs]}
    across |= {f"waterline {12 * z}": [breadth(x, z) for x in xs] for z in (3, 4, 5)}
    text = '+++\nformat = 1\nname = "Spoon" # invented\nunits = "in"\n[backbone]\nhalf_siding = "3"\n+++\n'
    text += "station | " + " ".join(str(i) for i in range(11)) + "\n"
    text += "from stem | " + " ".join(inches(x) for x in xs) + "\n"
    for block, lines in (("heights", rows), ("half-breadths", across)):
        text += f"\n[{block}]\n" + "".join(f"{name} | {' '.join(map(inches, v))}\n" for name, v in lines.items())
    text += "\n[stem profile]\nfrom stem | " + " ".join(map(inches, spots_ft)) + "\n"
    return text + "height | " + " ".join(inches(keel(x)) for x in spots_ft) + "\n"


def test_spots_of_a_stem_at_whole_feet_were_chosen_and_not_read_to_the_foot(tmp_path):
    lengths = []
    for spots in ([0, 1, 2, 3, 5, 7, 8, 10], [0, 0.94, 1.93, 3.12, 4.93, 6.94, 8.09, 9.95]):
        path = tmp_path / "spoon.offsets"
        path.write_text(in_hundredths_of_a_foot(spots), encoding="utf-8")
        table = scrieve.read(path)
        assert any("0.01 ft" in said for said in table.worth)
        assert not any("favour" in said for said in table.worth), table.worth
        hull = table.fair()
        assert not hull.corrections().doubted.any()
        lengths.append(hull.dimensions["length"])
    # She is 33.61 ft from the stem's head to her last station.
    assert lengths == pytest.approx([33.61 * 0.3048] * 2, abs=0.006)


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
