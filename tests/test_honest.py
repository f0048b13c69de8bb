"""Nothing misleading: what was left out, cannot be so, or is out of all range is said, and soon."""

import json
import math
import os
import random
import re
import resource
import subprocess
import sys

import pytest
import shapely
from conftest import SAMPLES, scrieve_verb

import scrieve

SANDLING = SAMPLES / "sandling.offsets"
EGG = SAMPLES / "petrels-egg.offsets"
PRINTED = SAMPLES / "stephens-1889-plate-11.csv"


@pytest.mark.parametrize(
    "words",
    [
        ("loft", "-o", "out"), ("lines", "-o", "l.svg"), ("pickup", "moulds", "-o", "m"), ("fair",),
        ("float", "--draught", "0.2m"),
    ],
)  # fmt: skip
def test_readings_left_out_are_a_finding_of_every_verb_that_fairs(run, words):
    verb, *rest = words
    middle = [rest.pop(0)] if verb == "pickup" else []
    done = run(verb, *middle, EGG, *rest)
    assert done.returncode == 1 and "left out" in done.stderr, done.stderr
    done = run(verb, *middle, SANDLING, *rest)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("stiffness", ["0", "-1", "nan", "inf", "1e9", "1e-9"])
@pytest.mark.parametrize("verb", ["proof", "fair"])
def test_a_stiffness_that_is_none_is_refused(run, verb, stiffness):
    done = run(verb, EGG, f"--stiffness={stiffness}")
    assert done.returncode == 2 and "stiffness" in done.stderr and "no query" not in done.stdout


def test_a_boat_that_finds_no_rest_is_a_finding(run):
    done = run("float", SANDLING, "--mass", "300", "--lcg", "2.5m", "--kg", "1.4m")
    assert "falls to one side" in done.stdout and done.returncode == 1, done.stdout


def crossing():
    drawing = scrieve.Drawing("bow tie")
    drawing.polyline(drawing.layer("Outline", "cut outside"), [(0, 0), (10, 10), (10, 0), (0, 6)], closed=True)
    return drawing


def test_an_outline_that_crosses_itself_is_not_written(tmp_path):
    good = scrieve.Drawing("good")
    good.polyline(good.layer("Outline", "cut outside"), [(0, 0), (10, 0), (10, 10)], closed=True)
    for path in ("a.dxf", "a.svg", "a.pdf"):
        with pytest.raises(scrieve.DrawingError, match='"bow tie" is not written: a cut outline crosses'):
            scrieve.write([good, crossing()], tmp_path / path)
    with pytest.raises(scrieve.DrawingError):
        scrieve.write([good, crossing()], tmp_path / "folder", writer="dxf")
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]


def test_a_keel_notch_that_takes_a_moulds_foot_is_said_and_one_that_takes_its_bottom_is_not_made(sandling_hull):
    import shapely

    def made_and_told(**notch):
        moulds = sandling_hull.mould_set(solid=True, **notch)
        told = {remark.split()[1].rstrip(":") for remark in moulds.remarks if "takes the foot off" in remark}
        halves = {}
        for drawing in moulds.drawings():
            outlines = [p["points"] for p in drawing.paths() if p["operation"] == "cut outside"]
            halves[drawing.name.removeprefix("mould-")] = shapely.Polygon(outlines[0])
        return halves, told

    plain, nothing = made_and_told()
    assert not nothing
    for width, depth in ((0.09, 0.03), (0.3, 0.05)):
        made, told = made_and_told(keel_notch_width=width, keel_notch_depth=depth)
        for station in made:
            whole = plain[station]
            top = whole.bounds[1] + 1e3 * depth
            across = whole.intersection(shapely.box(-1e4, top - 0.01, 1e4, top + 0.01)).bounds
            assert (station in told) == (across[2] - across[0] < 1e3 * width / 2), (station, across)
    assert told
    deep = sandling_hull.mould_set(keel_notch_width=0.38, keel_notch_depth=0.3, solid=True)
    assert any("keel notch" in failure for failure in deep.failures)


def test_what_a_shop_would_stumble_over_is_said(tmp_path):
    from scrieve.errors import Fault

    drawing = scrieve.Drawing("open")
    drawing.polyline(drawing.layer("Outline", "cut outside"), [(0, 0), (10, 0), (10, 10)])
    drawing.text(drawing.layer("Marks", "mark"), "Möwe", (0, 0), 5.0)
    with pytest.warns(Fault, match="a cut path is open") as told:
        scrieve.write(drawing, tmp_path / "a.dxf")
    assert any("written in plain ASCII" in str(w.message) for w in told)


# Lengths out of all range

TOO_MUCH = [
    ("backbone", "--knee-arm=300m"), ("backbone", "--keel-depth=100m"), ("backbone", "--stem-outside=90m"),
    ("backbone", "--section-every=0.01mm"), ("backbone", "--scarf=1e9"), ("moulds", "--spall-height=9999m"),
    ("moulds", "--deduct=100m"), ("moulds", "--spacing=0.1mm"), ("moulds", "--keel-notch-width=1m"),
    ("moulds", "--above-sheer=100m"), ("moulds", "--thickness=9m"), ("body-plan", "--band=1e9"),
    ("body-plan", "--band=inf"), ("transom", "--thickness=50m"), ("transom", "--beam=25m --camber=1m"),
    ("transom", "--bevel-every=0.0001mm"), ("set-up", "--strongback-from=1e6m"), ("bevels", "--over=9m"),
    ("inside", "--thwart-height=0.5m --thwarts=" + ",".join(["2m"] * 3000)),
    ("inside", "--beam=1.5m --camber=0.05m --beam-spacing=0.01mm"),
    ("inside", "--bulkheads=" + ",".join(["2m"] * 3000)), ("sail-plan", "--draught=900m"),
]  # fmt: skip


def bounded():
    """A gibibyte at most, of which what is mapped and not used is the greater part."""
    resource.setrlimit(resource.RLIMIT_DATA, (1 << 30, 1 << 30))


def soon(*words, cwd, seconds=10.0):
    """The command line within ten seconds and a gibibyte, ending as it should."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    # One thread for libraries that would set room aside for as many as there are processors.
    env = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    done = subprocess.run(
        [sys.executable, "-m", "scrieve.cli", *map(str, words)], cwd=cwd, env=env, capture_output=True, text=True,
        timeout=60, preexec_fn=bounded,
    )  # fmt: skip
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    # The processor's time, which does not hang on what else the machine is at.
    took = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    assert done.returncode in (0, 1, 2), (words, done.returncode, done.stderr)
    assert "Traceback" not in done.stderr and "fault in scrieve" not in done.stderr, (words, done.stderr)
    assert "panicked" not in done.stderr and "out of memory" not in done.stderr, (words, done.stderr)
    assert took < seconds, (words, took)
    return done


@pytest.mark.parametrize(("pattern", "options"), TOO_MUCH)
def test_a_length_out_of_all_range_is_named_with_the_range(tmp_path, pattern, options):
    done = soon("pickup", pattern, SANDLING, "-o", "out", *options.split(" "), cwd=tmp_path)
    assert done.returncode == 2, (done.stdout, done.stderr)
    assert re.search(r"expected|no room|give 0\.01 m or more|must be", done.stderr), done.stderr
    assert not (tmp_path / "out").exists()


def test_python_says_the_same(sandling_hull):
    for ask in (
        lambda: sandling_hull.backbone(knee_arm=300.0),
        lambda: sandling_hull.mould_set(spall_height=9999.0),
        lambda: sandling_hull.mould_set(stations=[2.0] * 3000),
        lambda: sandling_hull.transom(thickness=math.nan),
        lambda: sandling_hull.deck_frame((1.5, 0.05), spacing=1e-6),
        lambda: sandling_hull.thwart(2.0, 0.5, width=30.0),
    ):
        with pytest.raises(scrieve.LoftError, match="expected|no room"):
            ask()


def longer(text, times):
    """The table, every length of it so many times as long."""
    return text.replace('scale = "1:1"', f'scale = "1:{times}"')


@pytest.mark.parametrize("metres", [31, 46, 90])
def test_a_ship_lofts_as_a_boat_does(tmp_path, metres):
    text = longer(SANDLING.read_text(), round(metres / 5.03))
    # Planking and keel are stated at full size: those of a ship.
    text = text.replace('planking = "0-0-4"', 'planking = "0-3-0"').replace(
        'half_siding = "0-1-1"', 'half_siding = "0-6-0"'
    )
    (tmp_path / "ship.offsets").write_text(text)
    done = soon("loft", "ship.offsets", "-o", "out", cwd=tmp_path, seconds=20.0)
    assert done.returncode in (0, 1), done.stderr
    made = {path.relative_to(tmp_path / "out").as_posix() for path in (tmp_path / "out").rglob("*.dxf")}
    assert {"lines.dxf", "transom/transom.dxf", "backbone/keel.dxf", "moulds/mould-4.dxf"} <= made, done.stdout
    # Her mass is the beach boat's still, and she does not float by it.
    assert {line.split(":")[1].strip() for line in done.stdout.splitlines() if "not made" in line} <= {"how she floats"}


def test_no_more_paper_is_written_than_anybody_joins(tmp_path):
    (tmp_path / "ship.offsets").write_text(longer(SANDLING.read_text(), 20))
    done = soon("pickup", "backbone", "ship.offsets", "-o", "out.pdf", "--paper", "A4", cwd=tmp_path, seconds=30.0)
    assert done.returncode == 2 and "sheets of this paper" in done.stderr and not (tmp_path / "out.pdf").exists()


# Options at random. With SCRIEVE_ROUNDS=400 a long look; here a short one, the same every day.

ROUNDS = int(os.environ.get("SCRIEVE_ROUNDS", "24"))
SEED = int(os.environ.get("SCRIEVE_SEED", "11"))
LENGTHS = [
    "0", "0-0-0", "0-0-1", "0-0-4", "0-1-0", "0-6-0", "1-0-0", "2-6-0", "5-0-0", "16-0-0", "100-0-0", "-0-0-4",
    "-3-0-0", "0.001mm", "1mm", "18mm", "100mm", "0.5m", "3m", "300m", "99999m", "1e9m", "1e308m", "nan", "inf",
    "x", "-", "",
]  # fmt: skip
NUMBERS = ["0", "1", "-1", "0.5", "2", "8", "24", "1000", "1e9", "1e-9", "1e308", "nan", "inf", "-inf", "x"]
WORDS = [
    "", "sheer", "rabbet", "section 3", "waterline 1-3-0", "0-6-0, diagonal A, sheer - 0-4-0", "diagonal Z", "1-0-0,",
    "through 0-9-0 at 1 and 0-7-0 at 6", "5-0-0, 9-0-0, 1-0-0", "2=1-4-0, 5=1-2-0", ",", ";", "=", "9" * 300, "∇", "%s",
]  # fmt: skip
TABLES = [SANDLING, SAMPLES / "turnstone.offsets", SAMPLES / "mudlark.offsets", PRINTED]


def command_at_random(chance):
    from scrieve.cli import scrieve as verbs

    def some(command):
        """A few of a command's options, each with a value of its kind or, now and then, another's."""
        words = []
        options = [p for p in command.params if p.param_type_name == "option" and p.name not in ("output", "help")]
        for option in chance.sample(options, min(len(options), chance.choice([0, 1, 2, 3, 5]))):
            flag = chance.choice([*option.opts, *option.secondary_opts])
            if option.is_flag:
                words.append(flag)
                continue
            kind = getattr(option.type, "choices", None) or {
                "length": LENGTHS, "float": NUMBERS, "integer": NUMBERS, "text": WORDS + LENGTHS
            }.get(option.type.name, LENGTHS + NUMBERS)  # fmt: skip
            values = [str(chance.choice(list(kind))) for _ in range(option.nargs)]
            words += [f"{flag}={values[0]}"] if len(values) == 1 else [flag, *values]
        return words

    context = None
    verb = chance.choice(["pickup", "pickup", "pickup", "loft", "float", "compare", "lines"])
    command = verbs.get_command(context, verb)
    output = {"loft": ["-o", "out"], "lines": ["-o", "out.dxf"]}.get(verb, chance.choice([["-o", "out"], []]))
    if verb == "pickup":
        name = chance.choice(command.list_commands(context))
        output = chance.choice([["-o", "out"], ["-o", "out.dxf"], ["-o", "out.pdf"], ["-o", "out.svg"]])
        return [verb, name, chance.choice(TABLES), *output, *some(command.get_command(context, name))]
    tables = [SAMPLES / "turnstone.offsets", SANDLING] if verb == "compare" else [chance.choice(TABLES)]
    if verb == "compare":
        output = chance.choice([["-o", "out.csv", "--no-cache"], ["--no-cache"]])
    return [verb, *tables, *output, *some(command)]


@pytest.mark.parametrize("round_", range(ROUNDS))
def test_options_at_random_end_soon_and_well_with_simple_outlines(tmp_path, round_):
    import ezdxf

    words = command_at_random(random.Random(SEED * 100_000 + round_))
    done = soon(*words, cwd=tmp_path, seconds=20.0 if "--uncertainty" in words else 10.0)
    if done.returncode == 2:
        assert done.stderr.strip(), words
    for path in tmp_path.rglob("*.dxf"):
        for entity in ezdxf.readfile(path).modelspace().query("LWPOLYLINE"):
            if "cut" in entity.dxf.layer.lower() and entity.closed and len(entity) > 2:
                spots = ezdxf.path.make_path(entity).flattening(0.01)
                outline = shapely.Polygon([(spot.x, spot.y) for spot in spots])
                assert outline.is_valid and outline.area > 0, (words, path.name)


# What is shown


def test_figures_go_to_a_stream_of_another_encoding(tmp_path):
    for encoding in ("ascii", "latin-1", "cp1252"):
        for words in (["float", SANDLING], ["compare", SANDLING, "--no-cache"], ["float", SANDLING, "--json"]):
            env = {**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
            done = subprocess.run(
                [sys.executable, "-m", "scrieve.cli", *map(str, words)], capture_output=True, env=env, timeout=60
            )
            assert done.returncode == 0, done.stderr
            said = done.stdout.decode(encoding)
            assert "Traceback" not in done.stderr.decode(encoding)
            if "--json" in words:
                assert json.loads(said)["name"] == "Sandling"
            elif words[0] == "float":
                assert ("SA/V^2/3" if encoding == "ascii" else "SA/V^") in said


HOSTILE = {
    "a formula": "=cmd|'/c calc'!A1", "another": "+1+1", "a third": "-2+3", "a fourth": "@SUM(A1)",
    "an escape": "\\u001b[2J\\u001b]0;owned\\u0007boat", "a direction": "\\u202Egnp.exe\\u2066x",
    "a long name": "Å" * 240, "a slash": "../../up", "a device": "CON", "nothing but points": "...",
    "a return": "a\\rb",
}  # fmt: skip


@pytest.mark.parametrize("what", HOSTILE)
def test_a_hostile_name_neither_runs_nor_reaches_the_terminal_nor_ends_the_loft(run, tmp_path, what):
    text = SANDLING.read_text().replace('name = "Sandling"', f'name = "{HOSTILE[what]}"')
    (tmp_path / "odd.offsets").write_text(text)
    name = scrieve.read(tmp_path / "odd.offsets").name
    for words in (
        ["loft", "odd.offsets", "-o", "out"], ["compare", "odd.offsets", "-o", "out.csv", "--no-cache"],
        ["pickup", "sail-plan", "odd.offsets", "-o", "plans"], ["fair", "odd.offsets"],
        ["fair", "odd.offsets", "--json"],
    ):  # fmt: skip
        done = run(*words)
        assert done.returncode == 0, done.stderr
        for said in (done.stdout, done.stderr):
            assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b-\u200f\u202a-\u202e\u2060-\u206f]", said), words
        if "--json" in words:
            assert json.loads(done.stdout)["name"] == name
    for path in tmp_path.rglob("*.csv"):
        for line in path.read_text().splitlines():
            for cell in line.split(","):
                assert not re.match(r'"?[=@]|"?[+-](?![\d.])', cell) and cell not in ("+1+1", "-2+3"), line


def test_stations_and_rigs_may_have_names_of_any_length(run, tmp_path):
    long = "Å" * 200
    text = re.sub(r"^(station +\|  )1 ", rf"\g<1>{long} ", SANDLING.read_text(), count=1, flags=re.M)
    text = text.replace('rig = "working"', f'rig = "{long}"')
    (tmp_path / "long.offsets").write_text(text)
    done = run("loft", "long.offsets", "-o", "out")
    assert done.returncode == 0, done.stderr
    assert all(len(path.name.encode()) <= 255 for path in (tmp_path / "out").rglob("*"))
    assert len(list((tmp_path / "out" / "moulds").iterdir())) == 11


@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-", "<&- >&- 2>&-", "| head -c 1", "| true", "2>&1 | true"])
def test_a_closed_stream_is_no_fault_of_ours(tmp_path, closed):
    for words in ("convert --to mm", "fair --all", "compare --no-cache", "--help", "nonsense"):
        table = "" if words.split()[0] in ("convert", "--help", "nonsense") else f"'{SANDLING}'"
        command = f"'{sys.executable}' -m scrieve.cli {words} {table} {closed} < /dev/null"
        if "<&-" in closed:
            command = command.removesuffix(" < /dev/null")
        done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=60, cwd=tmp_path)
        assert "fault in scrieve" not in done.stderr and "Traceback" not in done.stderr, (words, done.stderr)
        assert "Exception ignored" not in done.stderr, (words, done.stderr)


def test_a_table_may_come_through_a_pipe(tmp_path):
    for verb in ("fair", "proof", "float"):
        command = f"'{sys.executable}' -m scrieve.cli {verb} <(cat '{SANDLING}')"
        done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=60, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
    command = f"'{sys.executable}' -m scrieve.cli fair <(sed s/2-8-7/2-18-7/ '{SANDLING}')"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=60, cwd=tmp_path)
    assert done.returncode == 2 and re.search(r"/dev/fd/\d+:\d+:\d+", done.stderr), done.stderr


# Mistakes in a printed table


def spoilt(chance, text):
    lines = text.split("\n")
    i = chance.randrange(len(lines))
    cells = lines[i].split(",")
    j = chance.randrange(len(cells))
    what = chance.choice(["cell", "cell", "cell", "drop", "double", "swap", "quote", "cut", "key"])
    if what == "cell":
        cells[j] = chance.choice(["9-9-9-9", "banana", "-", "", "0-0-0", "99-0-0", "-5-0-0", '"', "1-13", "\x01"])
        lines[i] = ",".join(cells)
    elif what == "drop":
        del lines[i]
    elif what == "double":
        lines.insert(i, lines[i])
    elif what == "swap":
        k = chance.randrange(len(lines))
        lines[i], lines[k] = lines[k], lines[i]
    elif what == "quote":
        lines[i] = '"' + lines[i]
    elif what == "cut":
        lines[i] = lines[i][: chance.randrange(len(lines[i]) + 1)]
    else:
        lines[i] = re.sub(
            r'"[^"]*"', chance.choice(['"cubits"', "3", "[]", "1979-05-27", "99999999999999999999"]), lines[i]
        )
    return "\n".join(lines)


def test_every_mistake_of_a_printed_table_or_its_mapping_has_its_line(tmp_path):
    chance = random.Random(16)
    printed, mapping = PRINTED.read_text(), PRINTED.with_suffix(".toml").read_text()
    path, beside = tmp_path / "printed.csv", tmp_path / "printed.toml"
    refused = 0
    for round_ in range(1800):
        of_mapping = round_ % 3 == 0
        path.write_text(printed if of_mapping else spoilt(chance, printed))
        beside.write_text(spoilt(chance, mapping) if of_mapping else mapping)
        try:
            scrieve.read(path)
        except scrieve.TableError as error:
            refused += 1
            assert error.mistakes, str(error)
            for mistake in error.mistakes:
                assert mistake["file"] in (str(path), str(beside)), str(error)
                assert f"{mistake['file']}:{mistake['line']}:{mistake['column']}: " in str(error)
                length = len((path if mistake["file"] == str(path) else beside).read_text().splitlines())
                assert 1 <= mistake["line"] <= max(1, length) and mistake["column"] >= 1, str(error)
    assert refused > 400


def test_a_mistake_that_only_the_whole_table_shows_is_placed_in_the_printed_one(run, tmp_path):
    """The cell of the printed table itself, not of the text it becomes."""
    (tmp_path / "p.toml").write_text(PRINTED.with_suffix(".toml").read_text())
    lines = PRINTED.read_text().splitlines()
    at = next(i for i, line in enumerate(lines) if not line.startswith("#")) + 3
    lines[at] = lines[at - 1].split(",")[0] + "," + ",".join(lines[at].split(",")[1:])  # one station's name twice
    (tmp_path / "p.csv").write_text("\n".join(lines) + "\n")
    done = run("fair", "p.csv")
    assert done.returncode == 2 and f"p.csv:{at + 1}:" in done.stderr, done.stderr


# No verb changes any input


def test_no_verb_changes_any_input_byte_for_byte(tmp_path):
    """A folder of tables, with options and outputs at random among them and beside them."""
    chance = random.Random(7)
    names = ["a.offsets", "b.offsets", "faired.offsets", "p.csv", "p.toml", "index.html", "lines.svg"]
    sources = [SANDLING, EGG, SAMPLES / "turnstone.offsets", PRINTED, PRINTED.with_suffix(".toml")]
    kept = dict(zip(names, [source.read_bytes() for source in sources] + [b"a person's own"] * 2, strict=True))
    for name, data in kept.items():
        (tmp_path / name).write_bytes(data)
    (tmp_path / "link.offsets").symlink_to("a.offsets")
    (tmp_path / "hard.csv").hardlink_to(tmp_path / "p.csv")
    tables = ["a.offsets", "b.offsets", "faired.offsets", "p.csv", "link.offsets"]
    inputs_of = {"link.offsets": {"a.offsets"}, "p.csv": {"p.csv", "p.toml", "hard.csv"}}
    for _ in range(24):
        table = chance.choice(tables)
        verb = chance.choice(["fair", "lines", "loft", "float", "proof", "pickup", "compare", "read"])
        output = chance.choice([*tables, "hard.csv", "p.toml", ".", "./sub/../" + table, str(tmp_path / table), "new"])
        words = {
            "proof": ["proof", table, "--accept", "1:sheer height=2-0-0"], "pickup": ["pickup", "transom", table],
            "compare": ["compare", table, "--no-cache"], "loft": ["loft", table],
        }.get(verb, [verb, table])  # fmt: skip
        before = {name: (tmp_path / name).read_bytes() for name in kept}
        scrieve_verb(*words, "-o", output, cwd=tmp_path)
        for name in inputs_of.get(table, {table}) | {"index.html", "lines.svg"}:
            assert (tmp_path / name).read_bytes() == before.get(name, kept["p.csv"]), (words, output)
        for name, data in kept.items():  # another's table may be named as an output: it is laid back
            if (tmp_path / name).read_bytes() != data:
                (tmp_path / name).write_bytes(data)
        (tmp_path / "hard.csv").unlink()
        (tmp_path / "hard.csv").hardlink_to(tmp_path / "p.csv")
