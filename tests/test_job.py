"""The main job and the patterns picked up one by one draw the same."""

import json
import math
import re

import pandas
import pytest
from conftest import SAMPLES, scrieve_verb

SANDLING = SAMPLES / "sandling.offsets"
# Where a lofted folder has what each pattern draws and lists.
LOFTED = {
    "lines": {"lines.dxf": "lines.dxf"},
    "moulds": {"mould-4.dxf": "moulds/mould-4.dxf", "boards.csv": "boards.csv", "set-up.csv": "set-up.csv"},
    "bevels": {"bevel-board.dxf": "bevel-board.dxf", "bevels.csv": "bevels.csv"},
    "backbone": {"stem.dxf": "backbone/stem.dxf", "keel.csv": "backbone/keel.csv", "pieces.csv": "backbone/pieces.csv"},
    "transom": {"transom.dxf": "transom/transom.dxf", "fashion-pieces.csv": "transom/fashion-pieces.csv"},
    "inside": {"deck.dxf": "inside/deck.dxf", "deck.csv": "inside/deck.csv", "breadths.csv": "inside/breadths.csv"},
    "set-up": {"set-up.csv": "set-up.csv"},
    "sail-plan": {"sail-plan-working.dxf": "afloat/sail-plan-working.dxf"},
}  # fmt: skip


@pytest.fixture(scope="module")
def lofted(tmp_path_factory):
    where = tmp_path_factory.mktemp("lofted")
    assert scrieve_verb("loft", SANDLING, "-o", "out", cwd=where).returncode == 0
    return where / "out"


@pytest.mark.parametrize("pattern", LOFTED)
def test_what_is_lofted_and_what_is_picked_up_are_the_same_to_the_byte(lofted, tmp_path, pattern):
    assert scrieve_verb("pickup", pattern, SANDLING, "-o", "one", cwd=tmp_path).returncode == 0
    for picked, of_all in LOFTED[pattern].items():
        assert (tmp_path / "one" / picked).read_bytes() == (lofted / of_all).read_bytes(), picked


def test_the_lofted_bevel_board_has_the_transom(lofted, tmp_path):
    """Every bevel of the transom's table stands on the board, as it is set: from the face, so a right angle more."""
    assert scrieve_verb("loft", SANDLING, "-o", "text", "--letters", "text", cwd=tmp_path).returncode == 0
    board = (tmp_path / "text" / "bevel-board.dxf").read_text(encoding="utf-8")
    assert "Sandling TRANSOM" in board
    bevels = pandas.read_csv(lofted / "transom" / "bevels.csv").rename(columns={"bevel, degrees": "degrees"})
    assert len(bevels) > 5
    for row in bevels.itertuples():
        assert f"{row.at} {90 + row.degrees:.1f} " in board
    # A rise is over the thickness of what is bevelled: the transom's own, not the moulds'.
    rises = re.findall(r"(\d+\.\d) (?:OPEN|SHUT) (\d+\.\d) IN (\d+)", board)
    assert {over for *_, over in rises} == {"18", "22"}
    for degrees, rise, over in rises:
        assert abs(abs(math.tan(math.radians(float(degrees) - 90))) * float(over) - float(rise)) < 0.1
    of_transom = [rise for _, rise, over in rises if over == "22"]
    assert len(of_transom) == len(bevels)


def test_a_table_without_rows_has_the_headings_of_one_with(lofted):
    """Words are words where nothing is listed, too."""
    (heading,) = (lofted / "evidence.csv").read_text().splitlines()
    lengths = [f'"{name}, mm"' for name in ("from x", "from z", "to x", "to z", "length", "sd")]
    assert heading == ",".join(["line", *lengths, "assumed", "why"])


def test_figures_in_json_name_their_units(tmp_path):
    """Lengths, areas, volumes and masses of the upright figures, of a comparison and of a fair table."""
    afloat = json.loads(scrieve_verb("float", SANDLING, "--draught", "0.2m", "--json", cwd=tmp_path).stdout)
    assert {afloat["units"][name] for name in ("lwl", "awp", "volume", "mass")} == {"m", "m²", "m³", "kg"}
    assert "cb" in afloat and "cb" not in afloat["units"]
    compared = json.loads(scrieve_verb("compare", SANDLING, "--json", "--no-cache", cwd=tmp_path).stdout)
    assert compared["units"]["awp"] == "m²" and compared["units"]["transom_rake"] == "°"
    faired = json.loads(scrieve_verb("fair", SANDLING, "--json", cwd=tmp_path).stdout)
    assert faired["units"]["corrections"]["moved"] == "m" and faired["units"]["fairness"]["greatest_curvature"] == "1/m"
