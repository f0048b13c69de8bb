"""The command line, verb by verb, as a person meets it."""

import json
import re
from pathlib import Path
from urllib.parse import unquote

import pandas
import pytest
from conftest import SAMPLES

import scrieve

SANDLING = SAMPLES / "sandling.offsets"


def test_help_lists_every_verb_in_the_order_of_the_work(run):
    done = run("--help")
    assert done.returncode == 0
    verbs = re.findall(r"^  (\w+) ", done.stdout.partition("Verbs:")[2], re.M)
    assert [v for v in verbs if v in ("convert", "proof", "fair", "lines", "loft", "pickup", "plugins")] == [
        "convert", "proof", "fair", "lines", "loft", "pickup", "plugins",
    ]  # fmt: skip
    for verb in verbs:
        assert run(verb, "--help").returncode == 0, verb


def test_a_reading_converts_to_millimetres_exactly(run):
    done = run("convert", "3-4-5+", "--to", "mm")
    assert (done.returncode, done.stdout.strip()) == (0, "1033.4625")  # 1 in = 25.4 mm, NIST SP 811, appendix B


def test_and_back_again(run):
    done = run("convert", "1033.4625mm", "--to", "feet-inches-eighths")
    assert (done.returncode, done.stdout.strip()) == (0, "3-4-5+")


def test_a_reading_below_the_base_line_is_no_option(run):
    done = run("convert", "-0-2-3", "--to", "mm")
    assert (done.returncode, done.stdout.strip()) == (0, "-60.325")


def test_a_column_comes_in_on_standard_input(run):
    done = run("convert", "--to", "mm", stdin="0-0-4\n1-0-0\n\n0-0-1\n")
    assert (done.returncode, done.stdout.split()) == (0, ["12.7", "304.8", "3.175"])


def test_a_bad_line_of_a_column_is_named_and_the_rest_converted(run):
    done = run("convert", "--to", "mm", stdin="0-0-4\n3-12-0\n1-0-0\n")
    assert done.returncode == 2
    assert done.stdout.split() == ["12.7", "304.8"]
    assert "line 2" in done.stderr and "^" in done.stderr


def test_fair_tells_what_moved_and_writes_a_table_that_reads_back(run, tmp_path):
    done = run("fair", SANDLING, "-o", tmp_path / "faired.offsets", "--json")
    assert done.returncode in (0, 1)
    told = json.loads(done.stdout)
    assert told["name"] == "Sandling"
    assert max(abs(c["moved"]) for c in told["corrections"] if not c["doubted"]) < 0.004
    again = run("fair", tmp_path / "faired.offsets", "--json")
    assert again.returncode == 0, again.stdout


@pytest.mark.parametrize("name", ["lines.svg", "lines.dxf"])
def test_the_lines_are_drawn(run, tmp_path, name):
    done = run("lines", SANDLING, "-o", tmp_path / name)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / name).stat().st_size > 10_000


def test_loft_leaves_a_folder_with_an_index_that_links_every_file(run, tmp_path):
    done = run("loft", SANDLING, "-o", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip().endswith("index.html")
    index = (tmp_path / "out" / "index.html").read_text()
    linked = {tmp_path / "out" / link for link in re.findall(r'href="([^"]+)"', index)}
    files = {p for p in (tmp_path / "out").rglob("*") if p.is_file() and p.name != "index.html"}
    assert files == linked
    assert len(list((tmp_path / "out" / "moulds").glob("*.dxf"))) >= 11
    assert "<script" not in index and "src=" not in index and "@import" not in index
    assert "licensed naval architect" in index and index.count("<svg") == 5


def test_every_number_of_a_lofted_folders_tables_names_its_unit_or_is_a_reading(run, tmp_path):
    assert run("loft", SANDLING, "-o", tmp_path / "out").returncode == 0
    for path in (tmp_path / "out").rglob("*.csv"):
        for column, values in pandas.read_csv(path, dtype={"station": str}).items():
            if values.dtype.kind == "f":
                assert column.endswith((", mm", ", degrees", ", 1/m")), f"{path.name}: {column}"


def test_stations_may_have_any_name_and_every_mould_is_linked(run, tmp_path):
    table = SANDLING.read_text()
    named = "station           |  1/2 A a ../3 4%20 <5> 6&7 8 é 10 11 T\n"
    table = re.sub(r"^station .*\n", lambda _: named, table, count=1, flags=re.M)
    (tmp_path / "odd.offsets").write_text(table, encoding="utf-8")
    done = run("loft", "odd.offsets", "-o", "out")
    assert done.returncode == 0, done.stderr
    moulds = {path for path in (tmp_path / "out" / "moulds").iterdir()}
    assert len(moulds) == 11 and len({path.name.casefold() for path in moulds}) == 11
    index = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    linked = {tmp_path / "out" / unquote(link) for link in re.findall(r'href="([^"]+)"', index)}
    assert moulds <= linked


def test_loft_twice_gives_the_same_bytes(run, tmp_path):
    for folder in ("a", "b"):
        assert run("loft", SANDLING, "-o", tmp_path / folder).returncode == 0
    for path in (tmp_path / "a").rglob("*"):
        if path.is_file():
            twin = tmp_path / "b" / path.relative_to(tmp_path / "a")
            assert path.read_bytes() == twin.read_bytes(), path.name


def test_moulds_are_picked_up_with_the_options_the_pattern_declares(run, tmp_path):
    done = run("pickup", "moulds", SANDLING, "-o", tmp_path / "moulds", "--deduct", "0-0-6", "--json")
    assert done.returncode == 0, done.stderr
    written = [Path(p) for p in json.loads(done.stdout)["written"]]
    assert written and all(p.suffix in (".dxf", ".csv") and p.exists() for p in written)


def test_an_unknown_verb_gets_the_list_of_verbs(run):
    done = run("scrub", SANDLING)
    assert done.returncode == 2 and "convert, read, proof, fair, lines" in done.stderr


def test_output_cut_short_by_its_reader_is_no_fault(run, tmp_path):
    import subprocess
    import sys

    command = f"'{sys.executable}' -m scrieve.cli fair --all '{SANDLING}' | head -n 1"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=60)
    assert done.stdout and "Traceback" not in done.stderr and "BrokenPipe" not in done.stderr


TABLES = {
    "moulds": ["boards", "parts", "set-up"],
    "bevels": ["bevels", "parts", "transom-bevels"],
    "set-up": ["set-up"],
    "backbone": ["line", "keel", "stem", "parts", "pieces"],
    "transom": ["transom-bevels", "fashion-pieces", "fashion-bevels", "parts"],
    "inside": ["deck", "breadths", "parts"],
}


@pytest.mark.parametrize("pattern", TABLES)
def test_what_is_picked_up_comes_with_its_tables_in_readings_and_millimetres(run, tmp_path, pattern):
    done = run("pickup", pattern, SANDLING, "-o", "out", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert sorted(told["tables"]) == sorted(TABLES[pattern])
    for name in TABLES[pattern]:
        assert str(Path("out") / f"{name}.csv") in told["written"]
        frame = pandas.read_csv(tmp_path / "out" / f"{name}.csv", keep_default_na=False)
        assert len(frame) == len(told["tables"][name]) > 0
        for column in frame:
            if column.endswith(", mm"):
                reading = frame[column.removesuffix(", mm")]
                # A sixteenth's rounding at most: half of it, 0.8 mm.
                for written, mm in zip(reading, frame[column], strict=True):
                    assert written == mm == "" or abs(scrieve.Reading(written).mm - float(mm)) < 0.8
    # All in one file, the tables stand beside it.
    run("pickup", pattern, SANDLING, "-o", "all.dxf")
    assert {path.name for path in tmp_path.glob("all-*.csv")} == {f"all-{name}.csv" for name in TABLES[pattern]}
