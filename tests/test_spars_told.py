"""Spars that a table tells, those her sails ask for, and the command line."""

import json
import math

import pandas
import pytest
from conftest import SAMPLES

import scrieve
from scrieve import LoftError, Spar
from scrieve.patterns import job
from scrieve.spars.of_table import mast_length, sails_of, spans, spars_of

SANDLING = SAMPLES / "sandling.offsets"

TOLD = """
[spar.mast]
sail = "lug"
step = ["3-3-0", "0-4-0"]
over = "0-9-0"
diameter = "0-3-2"
wall = [[0, "0-0-6"], [1, "0-0-4"]]
solid = ["2-6-0", "1-6-0"]
species = "Douglas-fir, coast"
marks = { partners = "1-9-0", sheave = ["9-6-0", "9-9-0", "0-0-6"] }

[spar.yard]
sail = "lug"
over = "0-4-0"
diameter = "0-2-0"
taper = [[0, 0.75], [0.4, 1], [1, 0.65]]
"""


def told(text, tmp_path, name="boat.offsets"):
    source = SANDLING.read_text()
    path = tmp_path / name
    path.write_text(source.replace("[lateral.rudder]", text + "\n[lateral.rudder]", 1))
    return path


def test_a_tables_spars_take_their_lengths_from_her_sails(tmp_path):
    """Sandling's lug: throat (3-4-0, 10-9-0) and peak (9-0-0, 14-6-0), worked by hand in feet."""
    table = scrieve.read(told(TOLD, tmp_path))
    made = spars_of(table)
    head = math.hypot(9 - (3 + 4 / 12), 14.5 - 10.75) * 0.3048
    yard, mast_ = made["yard"].spar, made["mast"].spar
    assert yard.kind == "yard" and yard.length == pytest.approx(head + 2 * 4 * 0.0254)
    # The mast's line at 3-3-0 leaves the sail on the luff, from tack (0-9-0, 3-3-0) to throat.
    luff = 3.25 + (10.75 - 3.25) * (3.25 - 0.75) / (3 + 4 / 12 - 0.75)
    assert mast_.length == pytest.approx((luff - 4 / 12 + 0.75) * 0.3048)
    assert mast_.marks["sheave"] == pytest.approx((9.5 * 0.3048, 9.75 * 0.3048, 0.01905))
    assert made["mast"].species == "Douglas-fir, coast" and "leaves the lug" in made["mast"].spans
    edges_ = spans(table).set_index(["sail", "edge"]).length
    assert edges_["lug", "head"] == pytest.approx(head)


def test_a_sprit_reaches_from_tack_to_peak():
    """Turnstone's spritsail, (3-9-0, 3-6-0) to (9-6-0, 13-6-0), three inches over at either end."""
    hers = spars_of(scrieve.read(SAMPLES / "turnstone.offsets"))
    assert hers["sprit"].spar.length == pytest.approx(math.hypot(5.75, 10.0) * 0.3048 + 2 * 3 * 0.0254)
    assert hers["mast"].spar.length == pytest.approx((9.5 - 0.5 + 0.5) * 0.3048)


def test_a_mast_may_rake_and_stand_before_the_sail():
    sail = sails_of(scrieve.read(SANDLING))["jib"]
    upright = mast_length(sail, (1.0, 0.0))
    assert mast_length(sail, (1.0, 0.0), over=0.2) == pytest.approx(upright + 0.2)
    assert mast_length(sail, (5.0, 0.0)) == pytest.approx(11 * 0.3048)
    with pytest.raises(LoftError, match="from -30 to 30"):
        mast_length(sail, (1.0, 0.0), rake=60.0)
    with pytest.raises(LoftError, match="stands above"):
        mast_length(sail, (1.0, 9.0))


def test_spars_are_kept_in_the_faired_table(tmp_path):
    table = scrieve.read(told(TOLD, tmp_path))
    again = table.fair().table()
    first, second = table.facts["spars"], again.facts["spars"]
    assert first.keys() == second.keys()
    for name in first:
        assert json.dumps(first[name]) == json.dumps(second[name]), name


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ('[spar.mast]\nlength = "18-0-0"\n', 1, "diameter"),
        ('[spar.mast]\ndiameter = "0-3-0"\n', 1, "length"),
        ('[spar.mast]\nlength = "18-0-0"\ndiameter = "0-3-x"\n', 3, "0-3-x"),
        ('[spar.mast]\nlength = "18-0-0"\ndiameter = "0-3-0"\nwals = "0-0-4"\n', 4, "`wall`"),
        ('[spar.mast]\nlength = "18-0-0"\ndiameter = "0-3-0"\ntaper = [[0, 1], [1]]\n', 4, "pair of numbers"),
        ('[spar.mast]\nlength = "18-0-0"\ndiameter = "0-3-0"\nsection = "ovel"\n', 4, "oval"),
        ('[spar.mast]\nlength = "18-0-0"\ndiameter = "0-3-0"\nsolid = "1-0-0"\n', 4, "heel and head"),
        ('[spar.mast]\nlength = "18-0-0"\ndiameter = "0-3-0"\nmarks = { a = [] }\n', 4, "one, two or three"),
        ('[spar.mast]\nlength = "0-0-0"\ndiameter = "0-3-0"\n', 2, "above nought"),
    ],
)
def test_a_mistake_in_a_spar_is_pointed_at(text, line, said, tmp_path):
    path = told(text, tmp_path)
    at = path.read_text().split("\n").index(text.split("\n")[0]) + line
    with pytest.raises(scrieve.TableError) as failed:
        scrieve.read(path)
    assert said in str(failed.value) and f":{at}:" in str(failed.value), str(failed.value)


def test_the_main_job_draws_her_spars(tmp_path):
    hull = scrieve.read(told(TOLD, tmp_path)).fair()
    done = job.loft(hull, tmp_path / "out")
    assert not done.failures
    names = {path.name for path in (tmp_path / "out" / "spars").iterdir()}
    assert {"mast.svg", "mast.dxf", "yard.dxf", "layout.csv", "blanks.csv", "gauges.csv"} <= names
    layout = pandas.read_csv(tmp_path / "out" / "spars" / "layout.csv")
    assert set(layout.spar) == {"mast", "yard"}
    assert "Spars to get out" in (tmp_path / "out" / "index.html").read_text()


def test_one_spar_that_cannot_be_made_costs_itself(run, tmp_path):
    told(TOLD + '\n[spar.boom]\nlength = "9-0-0"\ndiameter = "0-2-0"\nwall = "0-2-0"\n', tmp_path)
    done = run("spar", "boat.offsets", "-o", "out")
    assert done.returncode == 1 and "not made: [spar.boom]: the wall is thicker" in done.stderr
    assert (tmp_path / "out" / "mast.dxf").exists() and not (tmp_path / "out" / "boom.dxf").exists()
    picked = run("pickup", "spars", "boat.offsets", "-o", "picked")
    assert picked.returncode == 1 and "boom" in picked.stderr and (tmp_path / "picked" / "layout.csv").exists()


# The command line


def test_a_spar_is_described_on_the_command_line(run):
    words = ("--length", "19-8-0", "--diameter", "0-4-0", "--species", "Sitka spruce", "--load", "18-0-0", "30kg")
    done = run("spar", *words, "--support", "0-0-0", "--support", "2-0-0", "--at", "6-0-0", "--json")
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)["spars"]["mast"]
    spar = Spar(19 * 0.3048 + 8 * 0.0254, 4 * 0.0254)
    assert data["mass"] == pytest.approx(spar.mass("Sitka spruce"))
    bent = spar.bend([(18 * 0.3048, 30 * 9.80665)], (0.0, 2 * 0.3048))
    assert data["load"]["deflection"] == pytest.approx(bent.deflection)
    assert data["checks"][0]["diameter"] == pytest.approx(spar.diameter(6 * 0.3048))
    text = run("spar", *words)
    assert "gauge for 8 sides" in text.stdout and "licensed naval architect" in text.stdout


def test_wood_that_is_gone_is_a_finding(run):
    words = ("spar", "--length", "6m", "--diameter", "100mm", "--metric")
    sound = run(*words, "--measured", "1.8m", "diameter", "100.2mm")
    gone = run(*words, "--measured", "1.8m", "diameter", "98mm")
    assert (sound.returncode, gone.returncode) == (0, 1)
    assert "diameter at 1.800 m is 2.0 mm too small" in gone.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--length", "6m"], "--diameter"),
        ([str(SANDLING), "--wall", "10mm"], "--wall: the spars of a TABLE are described in its head"),
        (["--length", "6m", "--diameter", "100mm", "--spar", "mast"], "--spar: it names a spar of a TABLE"),
        (["--length", "6m", "--diameter", "100mm", "--scale", "1"], "--scale: it is for drawings"),
        (["--length", "6m", "--diameter", "100mm", "--support", "1m"], "--support: it is for a --load"),
        (["--length", "6m", "--diameter", "100m"], "give its unit"),
        (["--length", "6m", "--diameter", "100mm", "--wall", "60mm"], "wall is thicker than the spar has room for"),
        (["--length", "6m", "--diameter", "100mm", "--taper", "0:1 0.5:0.6 1:0.9"], "turns back"),
        (["--length", "6m", "--diameter", "100mm", "--stock", "1m"], "too short for its scarfs"),
        (["--length", "6m", "--diameter", "100mm", "--load", "5m", "-20N"], "-20 N"),
        (["--length", "6m", "--diameter", "100mm", "--load", "7m", "20N"], "off the spar"),
        (["--length", "6m", "--diameter", "100mm", "--load", "5m", "20"], "300N or 30kg"),
        (["--length", "6m", "--diameter", "100mm", "--staves", "8"], "give the wall"),
        (["--length", "6m", "--diameter", "100mm", "--every", "0mm"], "or more"),
        (["--length", "6m", "--diameter", "100mm", "--scale", "-1", "-o", "out"], "above 0"),
        (["--length", "6m", "--diameter", "100mm", "--straight", "top"], "fore, aft"),
        (["--length", "6m", "--diameter", "100mm", "--kerfs", "10mm", "3mm", "-o", "out"], "not built of halves"),
        ([str(SAMPLES / "mudlark.offsets")], "[spar.mast]"),
        ([str(SANDLING), "--spar", "topmast"], "topmast"),
    ],
)
def test_what_cannot_be_is_refused_with_what_would_do(run, tmp_path, words, said):
    done = run("spar", *words)
    assert done.returncode == 2 and said in done.stderr, done.stderr
    assert not (tmp_path / "out").exists()
