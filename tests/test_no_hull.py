"""A table that describes no one fair hull: said first, in one line, with where to begin, and not lofted.

The tables are samples with their readings put in another order, by a seed, or with another boat's in their place.
"""

import json
import random

import pytest
from conftest import SAMPLES

import scrieve

MUDLARK = SAMPLES / "mudlark.offsets"
NO_HULL = "this table does not describe one fair hull: "


def permuted(text, seed=2):
    """The rows of heights and half-breadths, each with its readings in another order; blanks stay."""
    chance, lines, block = random.Random(seed), [], None
    for line in text.splitlines():
        block = line if line.startswith("[") else block
        if "|" in line and block in ("[heights]", "[half-breadths]"):
            label, cells = line.split("|", 1)
            readings = [cell for cell in cells.split() if cell != "-"]
            chance.shuffle(readings)
            line = f"{label}| " + "  ".join("-" if cell == "-" else readings.pop() for cell in cells.split())
        lines.append(line)
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="module")
def shuffled(tmp_path_factory):
    path = tmp_path_factory.mktemp("no-hull") / "shuffled.offsets"
    path.write_text(permuted(MUDLARK.read_text()))
    return path


def test_proof_says_so_first_and_lists_few_of_its_queries(run, shuffled):
    done = run("proof", shuffled)
    assert done.returncode == 1
    lines = done.stdout.splitlines()
    assert lines[0].startswith(f"Mudlark: {NO_HULL}") and "begin with" in lines[0]
    assert any(line.endswith("more; --all lists them") for line in lines)
    every = run("proof", shuffled, "--all").stdout
    assert len(every.splitlines()) > len(lines) and "--all" not in every
    said = json.loads(run("proof", shuffled, "--json").stdout)
    assert said["no_hull"] == lines[0].removeprefix("Mudlark: ")
    assert len(said["queries"]) > 8


def test_random_numbers_are_said_to_be_no_hull_before_anything_else(run, tmp_path):
    chance, lines, block = random.Random(5), [], None
    for line in MUDLARK.read_text().splitlines():
        block = line if line.startswith("[") else block
        if "|" in line and block in ("[heights]", "[half-breadths]"):
            label, cells = line.split("|", 1)
            of = [c if c == "-" else f"{chance.randint(0, 3)}-{chance.randint(0, 11)}-0" for c in cells.split()]
            line = f"{label}| " + "  ".join(of)
        lines.append(line)
    path = tmp_path / "random.offsets"
    path.write_text("\n".join(lines) + "\n")
    done = run("proof", path)
    said = [t for t in (done.stdout + done.stderr).splitlines() if not t.startswith("proofreading")]
    assert done.returncode in (1, 2) and NO_HULL in said[0], said[:3]


def test_fair_says_so_first(run, shuffled):
    done = run("fair", shuffled)
    assert done.returncode == 1
    said = [line for line in done.stderr.splitlines() if NO_HULL in line or line.startswith("note:")]
    assert said[0].startswith(f"Mudlark: {NO_HULL}") and NO_HULL not in "".join(said[1:])
    hull = scrieve.read(shuffled).fair()
    assert hull.no_hull is not None and hull.remarks[0] == hull.no_hull


def test_what_might_be_cut_by_is_refused(run, shuffled, tmp_path):
    lofted = run("loft", shuffled, "-o", tmp_path / "lofted")
    assert lofted.returncode == 2 and NO_HULL in lofted.stderr
    assert not (tmp_path / "lofted").exists()
    picked_up = run("pickup", "moulds", shuffled, "-o", tmp_path / "moulds.dxf")
    assert picked_up.returncode == 2 and NO_HULL in picked_up.stderr
    assert not (tmp_path / "moulds.dxf").exists()


def test_compare_names_the_file_and_compares_the_others(run, shuffled, tmp_path):
    for name in ("mudlark", "turnstone"):
        (tmp_path / f"{name}.offsets").write_text((SAMPLES / f"{name}.offsets").read_text())
    (tmp_path / "shuffled.offsets").write_text(shuffled.read_text().replace('"Mudlark"', '"Shuffled"'))
    done = run("compare", tmp_path, "--no-cache", "--moulded-to", "inside", "--planking", "0-0-4")
    assert done.returncode == 1
    assert [line for line in done.stderr.splitlines() if NO_HULL in line and "shuffled.offsets" in line]
    assert "Turnstone" in done.stdout


def test_samples_are_hulls():
    for path in sorted(SAMPLES.glob("*.offsets")):
        hull = scrieve.read(path).fair()
        assert hull.no_hull is None, path.name


def test_a_sheer_under_its_rabbet_all_along_is_one_mistake(run, tmp_path):
    text = MUDLARK.read_text()
    for a, b in (("rabbet  ", "SHEER  "), ("sheer  ", "rabbet  "), ("SHEER  ", "sheer  ")):
        head, heights = text.split("[heights]")
        heights, rest = heights.split("[half-breadths]")
        text = f"{head}[heights]{heights.replace(a, b)}[half-breadths]{rest}"
    path = tmp_path / "exchanged.offsets"
    path.write_text(text)
    done = run("proof", path)
    assert done.returncode == 2
    assert done.stderr.count("the sheer is not above the rabbet") == 1 and "begin with these two rows" in done.stderr
