"""Bad input: a located error or a stated warning, no traceback, and what was there before still there."""

import pytest
from conftest import SAMPLES

GOOD = (SAMPLES / "sandling.offsets").read_text()


def write(tmp_path, data):
    path = tmp_path / "bad.offsets"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def edited(old, new):
    assert old in GOOD
    return GOOD.replace(old, new, 1)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        pytest.param(b"", "empty", id="an empty file"),
        pytest.param(bytes(range(256)) * 8, "", id="a binary file"),
        pytest.param(GOOD.encode("utf-16"), "UTF-16", id="UTF-16"),
        pytest.param(GOOD.replace("Invented", "Invent\xe9").encode("latin-1"), "UTF-8", id="another encoding"),
        pytest.param(edited("2-10-3", "2-12-3"), "^", id="a reading out of range"),
        pytest.param(edited('planking = "0-0-4"', 'planking = "-0-0-4"'), "planking", id="negative planking"),
        pytest.param(edited('planking = "0-0-4"', 'planking = "9-0-0"'), "planking", id="planking too thick"),
        pytest.param(edited("2-5-0", "1-1-0"), "station", id="a station repeated"),
        pytest.param(edited("2-5-0", "4-5-0"), "station", id="stations out of order"),
        pytest.param(edited("planking", "plankign"), "planking", id="an unknown key"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_read_says_where_and_what_was_expected(run, tmp_path, data, said):
    path = write(tmp_path, data)
    done = run("fair", path, "-o", tmp_path / "out.offsets")
    assert done.returncode == 2
    assert "bad.offsets" in done.stderr and said in done.stderr
    assert not (tmp_path / "out.offsets").exists()


def test_every_mistake_of_a_file_is_told_at_once(run, tmp_path):
    text = edited("2-10-3", "2-12-3").replace("0-3-4", "0-3-9").replace("1-3-1 ", "banana")
    done = run("fair", write(tmp_path, text))
    assert done.returncode == 2
    assert all(wrong in done.stderr for wrong in ("2-12-3", "0-3-9", "banana"))


@pytest.mark.parametrize("data", [GOOD.replace("\n", "\r\n").encode(), b"\xef\xbb\xbf" + GOOD.encode()])
def test_windows_line_ends_and_a_byte_order_mark_are_welcome(run, tmp_path, data):
    assert run("fair", write(tmp_path, data)).returncode in (0, 1)


def test_a_file_far_too_large_is_refused_without_being_read(run, tmp_path):
    path = tmp_path / "bad.offsets"
    with open(path, "wb") as file:
        file.truncate(100_000_000)
    done = run("fair", path)
    assert done.returncode == 2 and "MB" in done.stderr


def columns(text, keep):
    """The table with only its first `keep` stations."""
    lines, body = [], False
    for line in text.splitlines():
        body = body or line.startswith("station")
        if body and "|" in line and "profile" not in line:
            label, _, cells = line.partition("|")
            line = f"{label}| {' '.join(cells.split()[:keep])}"
        lines.append(line)
    return "\n".join(lines).replace("[transom]", "[extra]", 1) + "\n"


def test_a_table_of_one_station_says_how_many_are_needed(run, tmp_path):
    done = run("fair", write(tmp_path, columns(GOOD, 1)))
    assert done.returncode == 2 and "station" in done.stderr


def test_a_table_without_readings_is_refused(run, tmp_path):
    head, _, body = GOOD.partition("[heights]")
    lines = []
    for line in body.splitlines():
        label, bar, cells = line.partition("|")
        lines.append(f"{label}{bar} {' '.join('-' for _ in cells.split())}")
    done = run("fair", write(tmp_path, f"{head}[heights]\n" + "\n".join(lines)))
    assert done.returncode == 2


def test_a_sheer_below_the_rabbet_is_located(run, tmp_path):
    done = run("fair", write(tmp_path, edited("2-8-7", "0-1-0")))
    assert "sheer" in done.stderr and "rabbet" in done.stderr
    assert "bad.offsets:" in done.stderr


def test_a_folder_that_cannot_be_written_costs_nothing_else(run, tmp_path):
    (tmp_path / "taken").write_text("precious")
    done = run("loft", SAMPLES / "sandling.offsets", "-o", tmp_path / "taken")
    assert done.returncode == 2 and (tmp_path / "taken").read_text() == "precious"


@pytest.mark.parametrize("deduct", ["-0-0-4", "9-0-0"])
def test_a_deduction_that_makes_no_sense_is_refused(run, tmp_path, deduct):
    out = tmp_path / "moulds.dxf"
    out.write_text("precious")
    done = run("pickup", "moulds", SAMPLES / "sandling.offsets", "-o", out, f"--deduct={deduct}")
    assert done.returncode == 2 and done.stderr
    assert out.read_text() == "precious"


def test_a_table_that_does_not_exist_is_named(run):
    done = run("fair", "nowhere.offsets")
    assert done.returncode == 2 and "nowhere.offsets" in done.stderr
