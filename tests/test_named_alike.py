"""A slip has one name: what proofreading queries a faired hull queries, and a verb that ends with findings says why."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import scrieve
from scrieve.cli import scrieve as command

SAMPLES = Path(__file__).resolve().parents[1] / "samples" / "as-built"


def with_inches(reading: str, inches: int) -> str:
    """The reading so many inches more, to the eighth."""
    feet, whole, eighths = (int(part) for part in reading.split("-"))
    eighths += 96 * feet + 8 * (whole + inches)
    return f"{eighths // 96}-{eighths // 8 % 12}-{eighths % 8}"


def in_row(text: str, heading: str, row: str, column: int, inches: int) -> str:
    """The table with one reading of a row under a heading so many inches more."""
    at = text.index(f"\n{row}", text.index(heading)) + 1
    line = text[at : text.index("\n", at)]
    label, cells = line.split("|")
    read = cells.split()
    read[column] = with_inches(read[column], inches)
    return text.replace(line, f"{label}| {' '.join(read)}", 1) if line.startswith(row) else text


def with_foot(text: str, key: str, inches: int) -> str:
    """The table with the transom's foot so many inches farther aft or up."""
    return re.sub(rf'(foot = {{.*?{key} = ")([^"]*)"', lambda m: f'{m[1]}{with_inches(m[2], inches)}"', text, count=1)


SLIPS = {
    "a spot of the stem": lambda text: in_row(text, "[stem profile]", "height", 3, 3),
    "the head of the stem": lambda text: in_row(text, "[stem profile]", "from stem", 0, 3),
    "a station": lambda text: in_row(text, "+++\n\nstation", "from stem", 4, 6),
    "the first station": lambda text: in_row(text, "+++\n\nstation", "from stem", 0, 3),
    "the foot's height": lambda text: with_foot(text, "height", 3),
    "where the foot stands": lambda text: with_foot(text, "from_stem", 6),
    "the sheer": lambda text: in_row(text, "[heights]", "sheer", 4, 4),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_has_one_name_in_proof_and_in_fair(slip: str, tmp_path: Path) -> None:
    text = SLIPS[slip]((SAMPLES / "pochard.offsets").read_text())
    path = tmp_path / "slipped.offsets"
    path.write_text(text)
    table = scrieve.read(path)
    found, hull = table.proof(), table.fair()
    named = sorted((q.station, q.row, q.expected_reading) for q in found if q.explained_by is None)
    if not found.whole_slips:
        assert named == sorted((q.station, q.row, q.expected_reading) for q in hull.queries())
    # What one verb ends with the other does, and each says why.
    runner = CliRunner()
    proofread = runner.invoke(command, ["proof", str(path)])
    faired = runner.invoke(command, ["lines", str(path), "-o", str(tmp_path / "lines.svg")])
    assert proofread.exit_code == faired.exit_code, (proofread.output, faired.output)
    assert ("status 1: " in faired.output) == (faired.exit_code == 1), faired.output


def test_loft_that_ends_with_findings_says_why_in_a_line(tmp_path: Path) -> None:
    path = tmp_path / "slipped.offsets"
    path.write_text(SLIPS["the foot's height"]((SAMPLES / "pochard.offsets").read_text()))
    lofted = CliRunner().invoke(command, ["loft", str(path), "-o", str(tmp_path / "lofted")])
    assert lofted.exit_code == 1, lofted.output
    said = [line for line in lofted.output.splitlines() if line.startswith("status 1: ")]
    assert len(said) == 1 and "queried" in said[0], lofted.output
