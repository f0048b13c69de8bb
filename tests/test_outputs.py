"""Nothing lost: no input is written over, files are whole or not there, a folder holds the files of one run."""

import os
import shutil
import signal
import stat
import subprocess
import sys
import threading
import time
from hashlib import sha256
from pathlib import Path

import pytest
from conftest import SAMPLES

import scrieve
from scrieve import outputs

SANDLING = SAMPLES / "sandling.offsets"
EGG = SAMPLES / "petrels-egg.offsets"
ERA = SAMPLES / "era"


@pytest.fixture
def mine(tmp_path):
    """A person's own table, where they keep it."""
    path = tmp_path / "mine.offsets"
    path.write_bytes(SANDLING.read_bytes())
    return path


def spellings(path):
    """Names of one file: its own, another spelling, a link, a link to a link, a hard link."""
    folder = path.parent
    (folder / "link.offsets").symlink_to(path.name)
    (folder / "far.offsets").symlink_to("link.offsets")
    (folder / "hard.offsets").hardlink_to(path)
    (folder / "sub").mkdir()
    return [path, folder / "sub" / ".." / path.name, *(folder / f"{n}.offsets" for n in ("link", "far", "hard"))]


def listing(folder):
    return {str(p.relative_to(folder)): p.read_bytes() for p in Path(folder).rglob("*") if p.is_file()}


def test_no_verb_writes_over_its_input_however_it_is_spelt(run, mine, tmp_path):
    names = spellings(mine)
    before = listing(tmp_path)
    for name in names:
        for words in (
            ("fair", mine, "-o", name),
            ("proof", mine, "--accept", "4:waterline 1-3-0=1-0-0", "-o", name),
            ("proof", mine, "--picture", name),
            ("lines", mine, "-o", name),
            ("pickup", "transom", mine, "-o", name),
            ("compare", mine, EGG, "-o", name, "--no-cache"),
        ):
            done = run(*words)
            assert done.returncode == 2 and "no input is written over" in done.stderr, (words, done.stderr)
            assert listing(tmp_path) == before, words


def test_loft_into_the_folder_of_a_table_that_has_the_name_of_an_output(run, tmp_path):
    mine = tmp_path / "faired.offsets"
    mine.write_bytes(SANDLING.read_bytes())
    done = run("loft", mine, "-o", tmp_path)
    assert done.returncode == 2 and "no input is written over" in done.stderr
    assert list(tmp_path.iterdir()) == [mine]
    # Under another name she may lie in the folder that is written.
    mine.rename(tmp_path / "boat.offsets")
    assert run("loft", tmp_path / "boat.offsets", "-o", tmp_path).returncode == 0
    assert (tmp_path / "boat.offsets").read_bytes() == SANDLING.read_bytes()


def test_a_printed_tables_mapping_is_an_input_too(run, tmp_path):
    for name in ("stephens-1889-plate-11.csv", "stephens-1889-plate-11.toml"):
        (tmp_path / name).write_bytes((SAMPLES / name).read_bytes())
    before = listing(tmp_path)
    for target in before:
        done = run("fair", "stephens-1889-plate-11.csv", "-o", target)
        assert done.returncode == 2 and "no input is written over" in done.stderr
    assert listing(tmp_path) == before


def test_python_writes_over_nothing_that_it_read_and_over_what_it_wrote(mine, tmp_path):
    table = scrieve.read(mine)
    drawing = scrieve.Drawing("a")
    drawing.polyline(drawing.layer("Mark", "mark"), [(0, 0), (1, 1)])
    for name in spellings(mine):
        for write in (
            table.write,
            table.with_reading("4", "heights sheer", "2-0-0").write,
            drawing.write_svg, drawing.write_dxf, drawing.write_pdf,
            lambda path: scrieve.write(drawing, path, writer="svg"),
        ):  # fmt: skip
            with pytest.raises(scrieve.ScrieveError, match="no input is written over"):
                write(name)
    assert mine.read_bytes() == SANDLING.read_bytes()
    # What a session wrote it may read, and write again.
    other = tmp_path / "other.offsets"
    for _ in range(2):
        table.write(other)
        assert scrieve.read(other) == table
    # Once a person has been at it, it is theirs.
    other.write_text(other.read_text() + "# measured again\n")
    again = scrieve.read(other)
    with pytest.raises(scrieve.ScrieveError, match="no input is written over"):
        again.write(other)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="named pipes")
def test_devices_pipes_and_folders_are_no_outputs(run, mine, tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    for target in ("/dev/null", "pipe", "folder"):
        for words in (("fair", mine), ("lines", mine), ("compare", mine, EGG), ("proof", mine, "--accept", "x=1-0-0")):
            done = run(*words, "-o", target)
            assert done.returncode == 2, (words, target, done.stdout)
    assert stat.S_ISFIFO((tmp_path / "pipe").stat().st_mode) and stat.S_ISCHR(os.stat("/dev/null").st_mode)
    for name in ("/dev/null", tmp_path / "pipe", tmp_path / "folder"):
        with pytest.raises(OSError):
            scrieve.read(SANDLING).write(name)
    for verb in (["loft"], ["float"], ["pickup", "transom"]):
        assert run(*verb, mine, "-o", "pipe").returncode == 2


def test_a_dash_is_standard_output_and_the_report_goes_beside_it(run, mine, tmp_path):
    done = run("fair", mine, "-o", "-")
    assert done.stdout.encode() == scrieve.read(mine).fair().table().to_text().encode()
    assert "mm rms" in done.stderr
    assert run("lines", mine, "-o", "-").stdout.startswith("<svg")
    assert "SECTION" in run("pickup", "transom", mine, "-o", "-").stdout
    assert run("compare", mine, EGG, "-o", "-", "--no-cache").stdout.startswith("name,")
    assert run("loft", mine, "-o", "-").returncode == 2
    assert run("fair", mine, "-o", "-", "--json").returncode == 2
    assert [p.name for p in tmp_path.iterdir()] == ["mine.offsets"]


def test_standard_output_sent_into_the_table_itself_is_refused(mine, tmp_path):
    before = mine.read_bytes()
    with mine.open("ab") as out:
        done = subprocess.run(
            [sys.executable, "-m", "scrieve.cli", "fair", str(mine), "-o", "-"], stdout=out, stderr=subprocess.PIPE
        )  # fmt: skip
    assert done.returncode == 2 and b"standard output is" in done.stderr and mine.read_bytes() == before


def test_an_empty_name_is_no_output(run, mine, tmp_path):
    for verb in (["loft"], ["pickup", "moulds"], ["float"], ["fair"], ["lines"]):
        done = run(*verb, mine, "-o", "")
        assert done.returncode == 2 and "names nothing" in done.stderr, (verb, done.stderr)
    assert [path.name for path in tmp_path.iterdir()] == [mine.name]


def test_ctrl_c_at_any_moment_leaves_no_traceback(mine, tmp_path):
    for wait in (0.03, 0.06, 0.09, 0.12, 0.16, 0.2, 0.3):
        process = subprocess.Popen(
            [shutil.which("scrieve", path=os.path.dirname(sys.executable)), "fair", str(mine), "-o", "o.offsets"],
            cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        time.sleep(wait)
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=30)
        # Before a line of ours is read the interpreter has the say.
        ours = "scrieve/" in said.partition("importlib")[0]
        assert "Traceback" not in said or not ours, (wait, said)


def test_a_link_stays_one_and_permissions_stay(run, mine, tmp_path):
    target = tmp_path / "real.offsets"
    target.write_text("old")
    target.chmod(0o640)
    (tmp_path / "link.offsets").symlink_to("real.offsets")
    for verb, suffix in (("fair", "offsets"), ("lines", "svg")):
        (tmp_path / f"to.{suffix}").symlink_to("real.offsets")
        assert run(verb, mine, "-o", f"to.{suffix}").returncode == 0
        assert (tmp_path / f"to.{suffix}").is_symlink() and target.stat().st_size > 1000
        assert stat.S_IMODE(target.stat().st_mode) == 0o640


def test_a_report_is_given_although_the_file_cannot_be_written(run, mine, tmp_path):
    for words in (("fair",), ("proof", "--picture", "no/such.svg"), ("float",)):
        (tmp_path / "file").write_text("in the way")
        output = [] if "--picture" in words else ["-o", "file/out" if words == ("float",) else "no/such.offsets"]
        done = run(words[0], mine, *words[1:], *output)
        assert done.returncode == 2 and "Sandling" in done.stdout or "displac" in done.stdout, words
        assert "such" in done.stderr or "file" in done.stderr


@pytest.mark.parametrize("writer", ["table", "drawing", "csv"])
def test_six_writers_and_readers_of_one_path_never_meet_half_a_file(tmp_path, writer):
    import pandas

    from scrieve.tables import write_csv

    path = tmp_path / "one.file"
    tables = [scrieve.Table.from_text(SANDLING.read_text() + f"# {i}\n" * 200 * i) for i in range(6)]
    drawings = []
    for i in range(6):
        drawings.append(scrieve.Drawing(f"d{i}"))
        drawings[i].polyline(drawings[i].layer("Mark", "mark"), [(0, j % 7) for j in range(500 * (i + 1))])
    frames = [pandas.DataFrame({"a": range(1000 * (i + 1))}) for i in range(6)]
    write = {
        "table": lambda i: tables[i].write(path),
        "drawing": lambda i: drawings[i].write_svg(path),
        "csv": lambda i: write_csv(path, frames[i]),
    }[writer]
    whole = set()
    for i in range(6):
        write(i)
        whole.add(sha256(path.read_bytes()).digest())
    faults = []

    def work(i):
        try:
            for _ in range(40):
                write(i)
                if sha256(path.read_bytes()).digest() not in whole:
                    faults.append("torn")
        except Exception as error:  # told by the assertion, since a thread's own is lost
            faults.append(repr(error))

    threads = [threading.Thread(target=work, args=(i,)) for i in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults and [p.name for p in tmp_path.iterdir()] == ["one.file"]


def test_a_link_laid_where_a_part_was_expected_is_not_followed(mine, tmp_path):
    precious = tmp_path / "precious"
    precious.write_text("precious")
    for name in (".out.csv.part", ".out.csv.0-0.part", ".scrieve-part-x"):
        (tmp_path / name).symlink_to(precious)
    import pandas

    from scrieve.tables import write_csv

    write_csv(tmp_path / "out.csv", pandas.DataFrame({"a": [1]}))
    scrieve.write(scrieve.read(mine).fair().lines(), tmp_path / "out.svg")
    assert precious.read_text() == "precious"


# Folders of many files


def stations_cut(tmp_path):
    """A table of fewer moulds: the same boat with a station's mould less."""
    text = SANDLING.read_text().replace('name = "Sandling"', 'name = "Lesser"')
    lines = []
    for line in text.splitlines():
        head, bar, cells = line.partition("|")
        row = cells.split()
        if bar and len(row) == 12:
            line = f"{head}{bar} {' '.join(row[:9] + row[10:])}"
        lines.append(line)
    path = tmp_path / "lesser.offsets"
    path.write_text("\n".join(lines) + "\n")
    return path


def names(folder):
    return {str(path.relative_to(folder)) for path in Path(folder).rglob("*") if path.is_file()}


def test_a_second_boat_lofted_into_a_folder_leaves_nothing_of_the_first(run, tmp_path):
    lesser = stations_cut(tmp_path)
    out, alone = tmp_path / "out", tmp_path / "alone"
    assert run("loft", SANDLING, "-o", out).returncode == 0
    (out / "notes.txt").write_text("a builder's own")
    (out / "moulds" / "extra.dxf").write_text("a builder's own")
    first = names(out)
    again = run("loft", lesser, "-o", out)
    assert again.returncode in (0, 1) and "taken away" in again.stdout, again.stderr
    run("loft", lesser, "-o", alone)
    assert names(out) == names(alone) | {"notes.txt", "moulds/extra.dxf"} and first - names(out)
    assert all((out / n).read_bytes() == (alone / n).read_bytes() for n in names(alone))
    checked = subprocess.run(["sha256sum", "-c", "lofted.sha256"], cwd=out, capture_output=True, text=True)
    assert checked.returncode == 0, checked.stdout


@pytest.mark.parametrize("theirs", ["index.html", "moulds/mould-4.dxf", "lines.svg"])
def test_what_a_person_put_in_the_folder_or_changed_is_never_written_over(run, tmp_path, theirs):
    out = tmp_path / "out"
    (out / theirs).parent.mkdir(parents=True)
    (out / theirs).write_text("a person's own")
    done = run("loft", SANDLING, "-o", out)
    assert done.returncode == 2 and theirs.split("/")[-1] in done.stderr
    assert names(out) == {theirs} and (out / theirs).read_text() == "a person's own"
    (out / theirs).unlink()
    assert run("loft", SANDLING, "-o", out).returncode == 0
    (out / theirs).write_text("changed by hand")
    before = listing(out)
    assert run("loft", SANDLING, "-o", out).returncode == 2 and listing(out) == before


def test_a_list_of_files_that_leads_out_of_the_folder_takes_nothing_away(tmp_path):
    outside, folder = tmp_path / "precious", tmp_path / "out"
    outside.write_text("precious")
    digest = sha256(b"precious").hexdigest()
    folder.mkdir()
    (folder / "way").symlink_to(tmp_path)
    (folder / "job.sha256").write_text(
        "".join(f"{digest}  {name}\n" for name in ("../precious", str(outside), "way/precious", "a/../../precious"))
    )
    lot = outputs.Lot(folder, "job")
    with lot.made() as apart:
        (apart / "new.txt").write_text("new")
    assert outside.read_text() == "precious" and (folder / "new.txt").read_text() == "new" and not lot.removed
    # Nor is anything written through a link out of it.
    (folder / "sub").symlink_to(tmp_path)
    with pytest.raises(scrieve.ScrieveError, match="in the way"), outputs.Lot(folder, "job").made() as apart:
        (apart / "sub").mkdir()
        (apart / "sub" / "precious").write_text("other")
    assert outside.read_text() == "precious"


def test_a_folder_written_halfway_says_so_and_is_whole_after_the_next_run(tmp_path, monkeypatch):
    folder = tmp_path / "out"

    def write(of, count):
        with outputs.Lot(folder, "job", first="index.html").made() as apart:
            for i in range(count):
                (apart / f"{i}.txt").write_text(of)
            (apart / "index.html").write_text(of)

    write("first", 6)
    moved = []

    def broken(made, target):
        if len(moved) == 3:
            raise OSError(28, "No space left on device")
        moved.append(target)
        os.replace(made, target)

    with monkeypatch.context() as patched:
        patched.setattr(outputs, "_move", broken)
        with pytest.raises(OSError):
            write("second", 5)
    assert "half done" in (folder / "index.html").read_text()
    write("third", 4)
    assert listing(folder).keys() == {"index.html", "job.sha256", *(f"{i}.txt" for i in range(4))}
    assert {(folder / f"{i}.txt").read_text() for i in range(4)} == {"third"}


KILLS = int(os.environ.get("SCRIEVE_KILLS", "12"))


def test_killed_at_any_moment_a_folder_is_of_one_boat_or_says_that_it_is_half_done(tmp_path):
    """Run with SCRIEVE_KILLS=200 for the full count; here a few, spread over a run."""
    lesser = stations_cut(tmp_path)
    out = tmp_path / "out"
    whole = {}
    for table in (SANDLING, lesser):
        folder = tmp_path / table.stem
        start = time.monotonic()
        command = [sys.executable, "-m", "scrieve.cli", "loft", str(table), "-o"]
        assert subprocess.run([*command, str(folder)], capture_output=True).returncode in (0, 1)
        took = time.monotonic() - start
        whole[table] = listing(folder)
    subprocess.run([sys.executable, "-m", "scrieve.cli", "loft", str(SANDLING), "-o", str(out)], capture_output=True)
    half = 0
    for i in range(KILLS):
        table = (lesser, SANDLING)[i % 2]
        process = subprocess.Popen(
            [sys.executable, "-m", "scrieve.cli", "loft", str(table), "-o", str(out)],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        # Most of them near the end, where files are put in their places.
        time.sleep(took * (0.2 + 0.9 * (i + 0.5) / KILLS))
        process.kill()
        process.wait()
        now = {n: data for n, data in listing(out).items() if not n.startswith(".scrieve-")}
        if now not in whole.values():
            half += 1
            assert b"half done" in now.get("index.html", b"half done"), f"a mixture after kill {i}"
    last = [sys.executable, "-m", "scrieve.cli", "loft", str(lesser), "-o", str(out)]
    assert subprocess.run(last, capture_output=True).returncode in (0, 1) and listing(out) == whole[lesser]


@pytest.mark.parametrize("verb", [["fair"], ["loft"], ["lines"], ["pickup", "moulds"], ["float"]])
def test_a_full_disk_leaves_what_was_there(tmp_path, mine, verb):
    """A file may not grow past a limit, which is how a full disk is met: the write fails midway."""
    name = {"fair": "o.offsets", "lines": "o.svg"}.get(verb[0], "folder")
    command = [sys.executable, "-m", "scrieve.cli", *verb, str(mine), "-o", str(tmp_path / name)]
    assert subprocess.run(command, capture_output=True).returncode in (0, 1)
    before = listing(tmp_path)
    limited = (
        "import resource, runpy, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000));"
        "sys.argv = ['scrieve', *sys.argv[1:]]; from scrieve.cli import main; main()"
    )
    done = subprocess.run([sys.executable, "-c", limited, *command[3:]], capture_output=True, text=True)
    assert done.returncode in (1, 2) and "Traceback" not in done.stderr, done.stderr
    assert done.stderr.strip() or "not made" in done.stdout
    if verb != ["loft"]:  # whose parts cost only themselves
        assert done.returncode == 2 and listing(tmp_path) == before


def test_a_cache_lets_go_of_its_own_files_only(tmp_path, monkeypatch):
    from scrieve.compare import cache as _cache

    (tmp_path / "thesis.npz").write_text("precious")
    (tmp_path / ("f" * 64)).write_text("precious")
    for i in range(20):
        (tmp_path / f"{i:064x}.npz").write_text("figures")
    monkeypatch.setattr(_cache, "MOST_KEPT", 10)
    _cache.Cache(tmp_path).make_room()
    left = {path.name for path in tmp_path.iterdir()}
    assert {"thesis.npz", "f" * 64} <= left and len(left) == 2 + 9


# Ctrl-C


@pytest.mark.parametrize("verb", ["fair", "proof", "loft", "compare"])
def test_ctrl_c_ends_within_a_second_with_nothing_half_written(tmp_path, verb):
    """Of a table whose fit takes many seconds."""
    table = tmp_path / "long.offsets"
    table.write_text(long_table())
    outputs_of = {"loft": ["-o", "out"], "proof": [], "compare": ["-o", "out.csv", "--no-cache"]}
    output = outputs_of.get(verb, ["-o", "o.offsets"])
    process = subprocess.Popen(
        [sys.executable, "-m", "scrieve.cli", verb, str(table), *output], cwd=tmp_path,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    time.sleep(2.0)
    assert process.poll() is None, "the fit was over before it was stopped: " + process.communicate()[1]
    start = time.monotonic()
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=30)
    took = time.monotonic() - start
    assert process.returncode == 130 and "stopped" in said and "Traceback" not in said, said
    assert took < 1.5, f"{took:.1f} s"
    assert [p.name for p in tmp_path.iterdir()] == ["long.offsets"]


def long_table():
    """A hull of a great many spots: a fit that takes its time."""
    x = range(0, 20_001, 25)
    station, sheer, rabbet = [], [], []
    spots = []
    for i, at in enumerate(x):
        u = at / 20_000
        half = 2500 * (4 * u * (1 - u)) ** 0.5 + 60
        keel = 300 + 200 * (2 * u - 1) ** 2
        station.append(f"{at}")
        sheer.append((3000 + 500 * (2 * u - 1) ** 2, half))
        rabbet.append(keel)
        for j in range(1, 14):
            t = j / 14
            spots.append(f"{i} | {keel + (sheer[-1][0] - keel) * t * t:.1f} | {half * t:.1f}")
    return "\n".join([
        "+++", "format = 1", 'name = "Long"', 'units = "mm"', "+++",
        "station | " + " ".join(str(i) for i in range(len(station))),
        "from stem | " + " ".join(station),
        "[heights]", "sheer | " + " ".join(f"{z:.1f}" for z, _ in sheer),
        "rabbet | " + " ".join(f"{z:.1f}" for z in rabbet),
        "[half-breadths]", "sheer | " + " ".join(f"{y:.1f}" for _, y in sheer),
        "[points]", "station | height | half-breadth", *spots,
    ]) + "\n"  # fmt: skip
