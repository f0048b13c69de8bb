"""Drawings of a boat afloat: what they show is what the figures say."""

import csv
from xml.dom import minidom

import ezdxf
import numpy as np
import pytest
from conftest import SAMPLES

import scrieve
from scrieve.afloat import plots as float_plots
from scrieve.afloat.report import report
from scrieve.afloat.sail_plan import sail_plan

SANDLING = SAMPLES / "sandling.offsets"


@pytest.fixture(scope="module")
def said(sandling_hull):
    return report(sandling_hull)


def drawn(drawing, layer):
    return [path["points"] for path in drawing.paths() if path["layer"] == layer]


def test_a_sail_plan_draws_each_sail_to_scale_and_the_lead_between_the_centres(sandling_hull, said):
    (drawing,) = sail_plan.draw(sandling_hull, rig="working", scale=10)
    sails = sandling_hull.source.facts["sails"]
    lug, mizzen = drawn(drawing, "Sails")
    assert lug == pytest.approx(100 * np.array(sails["lug"])) and mizzen == pytest.approx(
        100 * np.array(sails["mizzen"])
    )
    effort = np.array(said.rigs["working"].rig.centre_of_effort)
    resistance = np.array(said.lateral.centre)
    lines = sorted(drawn(drawing, "Dimensions"), key=lambda line: line[0][0])
    assert lines[0][0][0] == pytest.approx(100 * effort[0]) and lines[1][0][0] == pytest.approx(100 * resistance[0])
    words = [text["text"] for text in drawing.texts()]
    lead = said.rigs["working"].lead
    assert f"lead {resistance[0] - effort[0]:.3f} m, {100 * lead:.1f} % of LWL" in words
    for name in ("lug", "mizzen", "rudder", "CE", "CLR", "waterline", "Sandling, sail plan, working rig"):
        assert name in words


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.offsets")), ids=lambda path: path.stem)
def test_a_sail_plan_has_no_label_over_another(path):
    """Letters are taken 0.6 of their height wide (a common sans serif)."""
    for drawing in sail_plan.draw(scrieve.read(path).fair()):
        boxes = []
        for text in drawing.texts():
            wide = 0.6 * text["height_mm"] * len(text["text"])
            x = text["at"][0] - {"start": 0, "middle": 0.5, "end": 1}[text["anchor"]] * wide
            boxes.append((x, text["at"][1], x + wide, text["at"][1] + text["height_mm"], text["text"]))
        for i, a in enumerate(boxes):
            for b in boxes[:i]:
                assert a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1], (a, b)


def test_a_sail_plan_is_written_for_the_loft_and_for_looking(run, tmp_path):
    done = run("pickup", "sail-plan", SANDLING, "-o", tmp_path / "plans", "--rig", "regatta", "--letters", "text")
    assert done.returncode == 0
    document = ezdxf.readfile(tmp_path / "plans" / "sail-plan-regatta.dxf")
    assert not document.audit().errors
    assert "great lug" in {text.dxf.text for text in document.modelspace().query("TEXT")}
    done = run("pickup", "sail-plan", SANDLING, "-o", tmp_path / "plan.svg", "--rig", "summer")
    assert done.returncode == 2 and "working, regatta" in done.stderr


def test_a_folder_holds_every_curve_as_drawing_and_as_numbers(run, tmp_path):
    out = tmp_path / "afloat"
    done = run("float", SANDLING, "--draughts", "0.2m", "0.4m", "0.05m", "-o", out)
    drawn = {path.name for path in out.iterdir()} - {"floated.sha256"}
    assert done.returncode == 0 and done.stdout.count("wrote ") == len(drawn) == 10
    with (out / "curves-of-form.csv").open() as file:
        assert [float(row["draught"]) for row in csv.DictReader(file)] == pytest.approx([0.2, 0.25, 0.3, 0.35, 0.4])
    for name in ("curves-of-form", "sectional-areas", "righting-arms", "sail-plan-working", "sail-plan-regatta"):
        assert "<svg" in (out / f"{name}.svg").read_text(encoding="utf-8")
    first = (out / "righting-arms.svg").read_bytes()
    assert run("float", SANDLING, "-o", tmp_path / "png", "--format", "png").returncode == 0
    assert (tmp_path / "png" / "curves-of-form.png").read_bytes().startswith(b"\x89PNG")
    run("float", SANDLING, "-o", out)
    assert len((out / "righting-arms.svg").read_bytes()) == len(first)


def test_what_an_earlier_run_wrote_is_taken_away_and_what_another_wrote_is_not_gone_over(run, tmp_path):
    out = tmp_path / "afloat"
    assert run("float", SANDLING, "-o", out).returncode == 0
    (out / "notes.txt").write_text("mine")
    table = tmp_path / "sandling.offsets"
    table.write_text(SANDLING.read_text(encoding="utf-8").replace("regatta", "racing"), encoding="utf-8")
    done = run("float", table, "-o", out)
    assert done.returncode == 0 and done.stdout.count("took away") == 2
    plans = {path.name for path in out.glob("sail-plan-*")}
    assert plans == {f"sail-plan-{rig}.{kind}" for rig in ("working", "racing") for kind in ("svg", "dxf")}
    assert (out / "notes.txt").read_text() == "mine"
    (tmp_path / "held").mkdir()
    (tmp_path / "held" / "curves-of-form.csv").write_text("mine")
    done = run("float", SANDLING, "-o", tmp_path / "held")
    assert done.returncode == 2 and "in the way" in done.stderr
    assert [path.read_text() for path in (tmp_path / "held").iterdir()] == ["mine"]


def test_a_name_that_xml_cannot_hold_is_written_as_what_it_is(run, tmp_path):
    table = tmp_path / "odd.offsets"
    text = SANDLING.read_text(encoding="utf-8").replace('name = "Sandling"', 'name = "San\\u001b[31mdling\\u0007"')
    table.write_text(text, encoding="utf-8")
    done = run("float", table, "-o", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    for drawing in (tmp_path / "out").glob("*.svg"):
        minidom.parse(str(drawing))


def test_without_matplotlib_the_rest_is_written_and_what_to_install_is_said(run, tmp_path, monkeypatch):
    (tmp_path / "matplotlib").mkdir()
    (tmp_path / "matplotlib" / "__init__.py").write_text("raise ImportError('no', name='matplotlib')")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    done = run("float", SANDLING, "-o", tmp_path / "afloat")
    assert done.returncode == 1 and "pip install 'scrieve[notebook]'" in done.stderr
    assert (tmp_path / "afloat" / "sail-plan-working.dxf").exists()


def test_the_plot_of_righting_arms_ends_where_the_water_comes_in(said, sandling_hull):
    (ax,) = float_plots.righting_arms(said).axes
    heel, gz = (np.array(values) for values in ax.lines[0].get_data())
    assert heel[gz == gz].max() == pytest.approx(said.arms.flooding, abs=1e-3)
    decked = report(sandling_hull, decked=True)
    (ax,) = float_plots.righting_arms([said, decked]).axes
    assert np.isfinite(ax.lines[-2].get_data()[1]).all()


def test_the_plot_of_areas_encloses_the_volume(said):
    (ax,) = float_plots.sectional_areas(said).axes
    x, area = ax.lines[0].get_data()
    assert np.trapezoid(area, x) == pytest.approx(said.figures.volume, rel=2e-3)
    # Two boats: each area under its curve is brought to 1.
    (ax,) = float_plots.sectional_areas([said, said]).axes
    assert np.trapezoid(ax.lines[1].get_ydata(), ax.lines[1].get_xdata()) == pytest.approx(1, rel=2e-3)


def test_the_curves_of_form_are_those_of_the_figures(said):
    figure = float_plots.curves_of_form(said)
    volume, draught = figure.axes[0].lines[0].get_data()
    assert np.interp(said.figures.draught, draught, volume) == pytest.approx(said.figures.volume, rel=2e-3)
    assert {ax.get_xlabel().split(",")[0] for ax in figure.axes} >= {"volume", "area", "coefficient"}
    with pytest.raises(scrieve.ScrieveError, match="no boats"):
        float_plots.curves_of_form([])


def test_a_lofted_folder_tells_how_she_floats_and_shows_her_sails(run, tmp_path):
    done = run("loft", SANDLING, "-o", tmp_path / "boat")
    assert done.returncode == 0
    figures = (tmp_path / "boat" / "afloat" / "figures.txt").read_text(encoding="utf-8")
    page = (tmp_path / "boat" / "index.html").read_text(encoding="utf-8")
    assert scrieve.hull.floating.CAUTION in figures and scrieve.hull.floating.CAUTION in page
    for words in ("Afloat", "prismatic coefficient", "sail area, regatta", "Her sails: working."):
        assert words in page
    assert (tmp_path / "boat" / "afloat" / "sail-plan-working.dxf").exists()


def test_a_mass_too_great_to_float_costs_the_lofted_folder_only_its_floating(run, tmp_path):
    text = SANDLING.read_text(encoding="utf-8").replace("boat_kg = 230", "boat_kg = 23000")
    (tmp_path / "lead.offsets").write_text(text, encoding="utf-8")
    done = run("loft", tmp_path / "lead.offsets", "-o", tmp_path / "boat")
    assert done.returncode == 1 and "more than she can float" in done.stdout
    assert (tmp_path / "boat" / "lines.svg").exists() and not (tmp_path / "boat" / "afloat").exists()


def test_a_file_named_where_several_are_written_is_refused_before_any_work(run, tmp_path):
    done = run("float", SAMPLES / "sandling.offsets", "-o", "afloat.pdf")
    assert done.returncode == 2 and "give a folder, -o afloat --format pdf" in done.stderr
    assert not (tmp_path / "afloat.pdf").exists()
