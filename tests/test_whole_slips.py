"""Slips of the whole, from Python and the command line: said first, in one line, and put right when asked."""

import json
import re

import pytest
from conftest import SAMPLES

import scrieve

SANDLING = SAMPLES / "sandling.offsets"


@pytest.fixture(scope="module")
def headed(tmp_path_factory):
    """The sandling with her second waterline headed 1-0-0 for 0-10-0."""
    text = SANDLING.read_text()
    right, wrong = "waterline 0-10-0", "waterline 1-0-0"
    assert text.count(right) == 1 and wrong not in text
    path = tmp_path_factory.mktemp("whole") / "headed.offsets"
    path.write_text(text.replace(right, wrong, 1))
    return path, right, wrong


def test_a_heading_is_named_first_and_its_queries_are_folded_under_it(run, headed):
    path, right, wrong = headed
    done = run("proof", path)
    assert done.returncode == 1, done.stderr
    first, how = done.stdout.splitlines()[:2]
    assert first.startswith(f"{wrong}: its readings are those of {right.split()[1]} (explains ")
    line = next(i for i, row in enumerate(path.read_text().splitlines(), 1) if row.startswith(wrong))
    assert f"line {line}, column 1: write `{right}` for `{wrong}`" in how


def test_json_and_python_say_the_same(run, headed):
    path, right, wrong = headed
    data = json.loads(run("proof", path, "--json").stdout)
    (slip,) = data["whole_slips"]
    assert slip["kind"] == "heading"
    assert (slip["edits"][0]["was"], slip["edits"][0]["now"]) == (wrong, right)
    assert len(slip["explains"]) > 2 and not data["queries"]
    found = scrieve.read(path).proof()
    assert [s.text for s in found.whole_slips] == [slip["text"]]
    assert {q.explained_by for q in found} == {slip["text"]}
    put_right = scrieve.read(path).put_right(found.whole_slips[0])
    assert put_right.rows == scrieve.read(SANDLING).rows
    assert put_right.corrections[-1] == slip["text"]
    assert list(put_right.proof()) == []
    with pytest.raises(scrieve.TableError, match="was not found in this table"):
        scrieve.read(SANDLING).put_right(found.whole_slips[0])
    # One whose headings are the same and whose readings are not.
    other = scrieve.read(path).with_reading("4", "sheer half-breadth", "1-0-0")
    with pytest.raises(scrieve.TableError, match="its readings are others"):
        other.put_right(found.whole_slips[0])


def test_it_is_put_right_in_a_new_file_only_when_asked(run, headed, tmp_path):
    path, right, _ = headed
    before, new = path.read_bytes(), tmp_path / "right.offsets"
    done = run("proof", path, "--put-right", "-o", new)
    assert done.returncode == 0, done.stdout + done.stderr
    assert path.read_bytes() == before
    assert scrieve.read(new).rows == scrieve.read(SANDLING).rows
    assert run("proof", new).returncode == 0


def test_fairing_says_it_and_moves_nothing_by_it(run, headed):
    path, right, wrong = headed
    done = run("fair", path)
    assert done.returncode == 1
    assert f"note: {wrong}: its readings are those of {right.split()[1]}" in done.stderr
    assert "she is faired by the table as it stands" in done.stderr


def test_fairing_ends_with_findings_where_nothing_but_a_whole_slip_is_wrong(run, tmp_path):
    swapped = []
    for line in SANDLING.read_text().splitlines():
        label, bar, cells = line.partition("|")
        cells = cells.split()
        if bar and not label.startswith(("station", "from stem")) and len(cells) > 6 and "profile" not in label:
            cells[2], cells[4] = cells[4], cells[2]
            line = f"{label}| " + "  ".join(cells)
        swapped.append(line)
    path = tmp_path / "swapped.offsets"
    path.write_text("\n".join(swapped) + "\n")
    done = run("fair", path)
    assert done.returncode == 1
    assert "to put it right" in done.stderr


def test_tolerances_of_ones_own_do_not_hide_it(run, headed):
    path, right, wrong = headed
    done = run("fair", path, "--tolerance", "2mm")
    assert done.returncode == 1
    said = f"{wrong}: its readings are those of {right.split()[1]}"
    assert said in done.stderr and f"write `{right}` for `{wrong}`" in done.stderr
    # Readings that may be three inches off do not speak against it, and it is sound with what it is.
    assert said not in run("fair", path, "--tolerance", "80mm").stderr
    assert "its readings are those of" not in run("fair", SANDLING, "--tolerance", "2mm").stderr


def test_fairing_from_an_earlier_hull_says_it_too(headed):
    path, right, wrong = headed
    table = scrieve.read(path)
    before = scrieve.read(SANDLING).fair()
    assert not before._core.whole_slips
    assert not scrieve.read(SANDLING).fair(previous=before)._core.whole_slips
    again = table.with_reading("4", "sheer half-breadth", "1-10-0").fair(previous=table.fair())
    assert any(f"write `{right}` for `{wrong}`" in said for said in again.remarks)


def test_a_comparison_says_it_of_its_boat(run, headed, tmp_path):
    path, right, wrong = headed
    (tmp_path / "headed.offsets").write_text(path.read_text())
    (tmp_path / "mudlark.offsets").write_text((SAMPLES / "mudlark.offsets").read_text())
    cache = tmp_path / "cache"
    for _ in range(2):  # measured, then of the cache
        boats = scrieve.collection(tmp_path, cache=cache, planking="0-0-4", moulded_to="inside")
        said = boats.whole_slips()
        assert list(said) == ["Sandling"] and len(said["Sandling"]) == 1
        assert f"write `{right}` for `{wrong}`" in said["Sandling"][0]
    options = ("--moulded-to", "inside", "--planking", "0-0-4")
    done = run("compare", tmp_path / "headed.offsets", tmp_path / "mudlark.offsets", *options)
    assert done.returncode == 1 and "Mudlark" in done.stdout
    assert f"Sandling: compared by her table as it stands: {wrong}: its readings are those of" in done.stderr
    data = json.loads(run("compare", tmp_path / "headed.offsets", *options, "--json").stdout)
    assert list(data["whole_slips"]) == ["Sandling"]
    sound = run("compare", SANDLING, tmp_path / "mudlark.offsets", *options)
    assert "as it stands" not in sound.stderr


def test_what_is_not_plainly_sound_is_named_and_not_put_right(run, tmp_path):
    """The breadth at the sheer written whole: no other row tells how broad she is there."""
    head, row = SANDLING.read_text().split("[half-breadths]", 1)
    start = row.index("sheer")
    stop = row.index("\n", start)

    def doubled(match):
        feet, inches, eighths = map(int, match.groups())
        whole = 2 * (96 * feet + 8 * inches + eighths)
        return f"{whole // 96}-{whole // 8 % 12}-{whole % 8}"

    line = re.sub(r"(\d+)-(\d+)-(\d+)\+?", doubled, row[start:stop])
    path, new = tmp_path / "whole.offsets", tmp_path / "right.offsets"
    path.write_text(f"{head}[half-breadths]{row[:start]}{line}{row[stop:]}")
    before = path.read_bytes()
    done = run("proof", path, "--put-right", "-o", new)
    assert done.returncode == 1, done.stdout
    assert "sheer half-breadth: the topside would run out to it nearly level" in done.stdout
    assert "not put right: " in done.stdout and path.read_bytes() == before
    assert not new.exists() or new.read_text().count(line) == 1
    table = scrieve.read(path)
    (slip,) = table.proof().whole_slips
    assert slip.unsure and not slip.edits
    with pytest.raises(scrieve.TableError, match="not put right"):
        table.put_right(slip)
    assert run("fair", path).returncode == 1


def test_where_nothing_is_put_right_the_new_file_is_said_to_be_as_it_was(run, tmp_path):
    new = tmp_path / "same.offsets"
    done = run("proof", SANDLING, "--put-right", "-o", new)
    assert done.returncode == 0 and "the table as it was: nothing was put right" in done.stdout
    assert new.read_text() == SANDLING.read_text()


def test_a_stations_distance_and_a_fact_of_the_transom_are_accepted(run, tmp_path):
    text = SANDLING.read_text()
    station, new = tmp_path / "station.offsets", tmp_path / "new.offsets"
    station.write_text(text.replace("10-6-0  11-10-0", "10-6-0  12-10-0"))
    done = run("proof", station, "--accept", "9:from stem=11-10-0", "-o", new)
    assert "accepted: station 9, from stem: 11-10-0" in done.stdout, done.stderr
    assert scrieve.read(new).stations == scrieve.read(SANDLING).stations
    assert "station 9 | from stem | was 12-10-0 | now 11-10-0" in new.read_text()
    transom = tmp_path / "transom.offsets"
    transom.write_text(text.replace('height = "2-5-5"', 'height = "3-5-5"'))
    done = run("proof", transom, "--accept", "T:transom head height=2-5-5", "-o", new)
    assert "accepted: station T, transom head height: 2-5-5" in done.stdout, done.stderr
    assert 'height = "2-5-5"' in new.read_text()


def test_every_verb_says_a_query_that_is_kept_and_ends_with_findings(run, tmp_path):
    text = (SAMPLES / "as-built" / "teal.offsets").read_text()
    head = re.search(r'head = \{ from_stem = "([^"]+)"', text)
    path = tmp_path / "teal.offsets"
    path.write_text(text.replace(head.group(0), head.group(0).replace("15-2-5", "14-2-5")))
    hull = scrieve.read(path).fair()
    assert [(q.station, q.row) for q in hull.queries()] == [(q.station, q.row) for q in scrieve.read(path).proof()]
    assert not hull.corrections().doubted.any() and scrieve.read(path).fair(robust=False).queries() == []
    said = "queried, and kept: transom head from stem at T reads 14-2-5"
    proofread = run("proof", path)
    assert proofread.returncode == 1 and "transom head from stem" in proofread.stdout
    for verb in (["fair", path], ["loft", path, "-o", tmp_path / "loft"], ["pickup", "moulds", path, "-o", tmp_path]):
        done = run(*verb)
        assert done.returncode == 1 and said in done.stderr, (verb, done.stderr)
