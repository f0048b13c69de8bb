"""Plugins: what a stranger's package can add, and what its failures cost."""

import json
import os
import shutil
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

HERE = Path(__file__).parent
SAMPLE = HERE.parent / "samples" / "sandling.offsets"

GROUPS = {"readers": "spots", "patterns": "girth-batten", "writers": "points", "measures": "girth"}


def scrieve(*words, path, cwd=None):
    command = [sys.executable, "-m", "scrieve.cli", *map(str, words)]
    env = {**os.environ, "PYTHONPATH": str(path)}
    return subprocess.run(command, capture_output=True, text=True, env=env, cwd=cwd, timeout=120)


def install(package, target):
    subprocess.run(
        [sys.executable, "-m", "pip", "install", "--no-deps", "--no-build-isolation", "--target", target, package],
        check=True,
        timeout=300,
    )  # fmt: skip


@pytest.fixture(scope="session")
def installed(tmp_path_factory):
    """A folder with the example package installed by pip."""
    # A copy, since building leaves its traces beside the source.
    source = shutil.copytree(HERE / "example_package", tmp_path_factory.mktemp("source") / "saltings")
    target = tmp_path_factory.mktemp("site")
    install(source, target)
    return target


def package(folder, name, group, plugin, code):
    """Lays a package down as an installer would leave it: a module and its metadata."""
    module = name.replace("-", "_")
    (folder / f"{module}.py").write_text(textwrap.dedent(code))
    info = folder / f"{module}-1.2.3.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.2.3\n")
    (info / "entry_points.txt").write_text(f"[scrieve.{group}]\n{plugin} = {module}:plugin\n")
    return folder


def test_the_built_in_plugins_are_declared_like_any_other():
    from importlib import metadata

    from scrieve import plugins

    for group in GROUPS:
        declared = {e.name for e in metadata.entry_points(group=f"scrieve.{group}") if e.dist.name == "scrieve"}
        assert declared and declared <= {p.name for p in plugins(group)}


def test_an_installed_package_adds_one_of_each_kind(installed):
    done = scrieve("plugins", "--json", path=installed)
    assert done.returncode == 0, done.stderr
    added = {(r["kind"], r["name"], r["package"], r["version"]) for r in json.loads(done.stdout)}
    assert added >= {(group, name, "scrieve-saltings", "0.3.1") for group, name in GROUPS.items()}


def test_its_pattern_and_writer_work_together_from_the_command_line(installed, tmp_path):
    out = tmp_path / "batten.points"
    done = scrieve("pickup", "girth-batten", SAMPLE, "-o", out, "--width", "0-0-6", path=installed)
    assert done.returncode == 0, done.stderr
    outline = [line.split() for line in out.read_text().splitlines() if line.startswith("CUT")]
    assert {float(y) for _, _, y in outline} == {0.0, 19.05}  # 0-0-6 is 19.05 mm


def test_its_reader_reads_what_scrieve_alone_cannot(installed, tmp_path):
    spots = tmp_path / "model.spots"
    lines = []
    for x in range(0, 4001, 500):
        u = x / 4000
        half, keel = 600 * (4 * u * (1 - u)) ** 0.5 + 20, 50 + 40 * u
        lines += [f"{x} sheer 700 {half:.1f}", f"{x} rabbet {keel:.1f}"]
        for t in (0.25, 0.5, 0.75):
            lines.append(f"{x} spot {keel + (700 - keel) * t * t:.1f} {half * t:.1f}")
    spots.write_text("\n".join(lines) + "\n")
    alone = scrieve("fair", spots, path="")
    assert alone.returncode == 2 and "no reader knows" in alone.stderr
    done = scrieve("fair", spots, "--json", path=installed)
    assert done.returncode in (0, 1), done.stderr
    assert json.loads(done.stdout)["name"] == "From spots"


def test_a_plugin_that_does_not_import_is_named_and_the_rest_goes_on(tmp_path):
    folder = package(tmp_path, "broken-reader", "readers", "broken", "raise RuntimeError('rotten plank')")
    done = scrieve("plugins", path=folder)
    assert done.returncode == 1
    assert "broken-reader 1.2.3" in done.stdout and "rotten plank" in done.stdout
    assert "Traceback" not in done.stdout + done.stderr
    done = scrieve("lines", SAMPLE, "-o", tmp_path / "lines.svg", path=folder)
    assert done.returncode == 0, done.stderr


def test_a_pattern_that_raises_is_named_with_its_version(tmp_path):
    code = """
        class Plugin:
            "Draws nothing"
            def draw(self, hull):
                raise KeyError("adze")
        plugin = Plugin()
    """
    folder = package(tmp_path, "blunt-tools", "patterns", "blunt", code)
    done = scrieve("pickup", "blunt", SAMPLE, "-o", tmp_path / "out.dxf", path=folder)
    assert done.returncode == 2
    assert "blunt-tools 1.2.3" in done.stderr and "adze" in done.stderr and "Traceback" not in done.stderr
    assert not (tmp_path / "out.dxf").exists()


def test_two_plugins_of_one_name_are_an_error_that_lists_both(tmp_path):
    code = """
        class Plugin:
            "Claims a name that is taken"
            def draw(self, hull):
                return []
        plugin = Plugin()
    """
    folder = package(tmp_path, "other-moulds", "patterns", "moulds", code)
    done = scrieve("pickup", "moulds", SAMPLE, "-o", tmp_path / "out.dxf", path=folder)
    assert done.returncode == 2
    assert "other-moulds 1.2.3" in done.stderr and "scrieve 0" in done.stderr


# What a stranger's package can do wrong, and what it costs


def entry_points(folder, name, text, metadata=True):
    """A package of which nothing is there but what it declares."""
    info = folder / f"{name.replace('-', '_')}-1.2.3.dist-info"
    info.mkdir()
    if metadata:
        (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.2.3\n")
    (info / "entry_points.txt").write_bytes(text if isinstance(text, bytes) else text.encode())
    return folder


@pytest.mark.parametrize(
    "text",
    [
        "[scrieve.readers]\nnothing after the name\n",
        "[scrieve.readers]\n= nothing:before\n",
        "[scrieve.writers]\nodd = not a module at all!\n",
        "[scrieve.measures\nodd = a:b\n",
        "[scrieve.measures]\n\x00 = \x00\n",
        "[scrieve.patterns]\nodd =\n",
        b"[scrieve.readers]\nodd = \xff\xfe:x\n",
        "[scrieve.readers]\nodd = no.such.module:x\n[scrieve.writers]\nodd = json:no_such_name\n",
    ],
)
def test_malformed_entry_points_cost_only_themselves_and_are_named(tmp_path, text):
    folder = entry_points(tmp_path, "rotten-declaration", text)
    done = scrieve("lines", SAMPLE, "-o", tmp_path / "lines.svg", path=folder)
    assert done.returncode == 0, done.stderr
    done = scrieve("compare", SAMPLE, "--no-cache", path=folder)
    assert done.returncode in (0, 1) and "fault in scrieve" not in done.stderr
    done = scrieve("plugins", path=folder)
    assert "fault in scrieve" not in done.stderr and "moulds" in done.stdout
    if "[scrieve.measures\n" not in str(text):
        assert done.returncode == 1 and "rotten-declaration 1.2.3" in done.stdout, done.stdout


def test_a_package_without_metadata_is_listed_as_far_as_it_can_be(tmp_path):
    folder = entry_points(tmp_path, "nameless", "[scrieve.readers]\nodd = json:loads\n", metadata=False)
    done = scrieve("plugins", path=folder)
    assert done.returncode in (0, 1) and "odd" in done.stdout, done.stderr


LEAVING = {
    "pattern that leaves": (
        "patterns", "import sys\nclass P:\n  'x'\n  def draw(self, hull): sys.exit(0)\nplugin = P()",
    ),
    "pattern that leaves as it is imported": ("patterns", "import sys\nsys.exit(0)"),
    "pattern that raises what is no Exception": (
        "patterns",
        "class Odd(BaseException): pass\nclass P:\n  'x'\n  def draw(self, hull): raise Odd('adze')\nplugin = P()",
    ),
    "pattern that gives no drawings": ("patterns", "class P:\n  'x'\n  def draw(self, hull): return [1]\nplugin = P()"),
    "pattern with an annotation that is none": (
        "patterns", "class P:\n  'x'\n  def draw(self, hull, *, a: 'nothing[' = 1): return []\nplugin = P()",
    ),
    "pattern with an option that is taken": (
        "patterns", "class P:\n  'x'\n  def draw(self, hull, *, output: str = ''): return []\nplugin = P()",
    ),
    "pattern without draw": ("patterns", "plugin = 3"),
}  # fmt: skip


@pytest.mark.parametrize("what", LEAVING)
def test_whatever_a_pattern_does_it_is_named_and_nothing_is_written(tmp_path, what):
    group, code = LEAVING[what]
    folder = package(tmp_path, "odd-tools", group, "odd", code)
    done = scrieve("pickup", "odd", SAMPLE, "-o", tmp_path / "out.dxf", path=folder)
    assert done.returncode == 2 and "odd-tools 1.2.3" in done.stderr, (done.stdout, done.stderr)
    assert "Traceback" not in done.stderr and not (tmp_path / "out.dxf").exists()
    assert scrieve("pickup", "transom", SAMPLE, "-o", tmp_path / "t.dxf", path=folder).returncode == 0


def test_an_import_that_hangs_is_waited_for_only_so_long_and_only_where_it_is_wanted(tmp_path):
    package(tmp_path, "endless-reader", "readers", "endless", "import time\ntime.sleep(1e6)")
    package(tmp_path, "endless-measure", "measures", "endless", "import time\ntime.sleep(1e6)")
    # Neither is wanted for the file of ours.
    assert scrieve("fair", SAMPLE, path=tmp_path).returncode == 0
    done = scrieve("compare", SAMPLE, "--no-cache", path=tmp_path)
    assert done.returncode == 1 and "endless-measure 1.2.3" in done.stderr and "not done in 10 s" in done.stderr
    assert "0.27" in done.stdout or "Sandling" in done.stdout


def test_what_a_measure_does_to_what_it_is_given_costs_the_others_nothing(tmp_path):
    code = """
        import math
        from scrieve.plugin import Quantity
        class Plugin:
            "Empties what it is given"
            def measure(self, hull, facts):
                for value in list(facts.values()):
                    if isinstance(value, (dict, list)):
                        value.clear()
                facts.clear()
                hull._core = None
                return {"half": Quantity(0.5, "")}
        plugin = Plugin()
    """
    alone = json.loads(scrieve("compare", SAMPLE, "--no-cache", "--json", path="").stdout)["boats"][0]
    for name in ("aaa", "zzz"):
        folder = tmp_path / name
        folder.mkdir()
        package(folder, f"{name}-emptier", "measures", name, code)
        done = scrieve("compare", SAMPLE, "--no-cache", "--json", path=folder)
        assert done.returncode == 0, done.stderr
        boat = json.loads(done.stdout)["boats"][0]
        assert boat.pop("half") == 0.5 and boat["basis"].pop("half")
        assert boat == alone


def test_an_infinite_number_is_refused_by_name_and_the_rest_is_told(tmp_path):
    code = """
        from scrieve.plugin import Quantity
        class Plugin:
            "Divides by nothing"
            def measure(self, hull, facts):
                return {"endless": Quantity(float("inf"), "m")}
        plugin = Plugin()
    """
    folder = package(tmp_path, "by-nothing", "measures", "endless", code)
    done = scrieve("compare", SAMPLE, "--no-cache", "--json", path=folder)
    told = json.loads(done.stdout)
    assert done.returncode == 1 and told["boats"][0]["length"] > 5.0
    assert "by-nothing 1.2.3" in told["failures"][0]["reason"]


def test_no_plugin_takes_a_suffix_from_the_built_in_one(tmp_path):
    reader = """
        class Plugin:
            "Reads everything"
            def reads(self, path, head):
                return True
            def read(self, path):
                raise RuntimeError("taken")
        plugin = Plugin()
    """
    writer = """
        class Plugin:
            "Writes everything"
            suffixes = ("dxf", "svg", "pdf")
            def write(self, drawings, path):
                open(path, "w").write("taken")
                return [path]
        plugin = Plugin()
    """
    package(tmp_path, "aa-reader", "readers", "aaa", reader)
    package(tmp_path, "aa-writer", "writers", "aaa", writer)
    done = scrieve("lines", SAMPLE, "-o", tmp_path / "lines.dxf", path=tmp_path)
    assert done.returncode == 0 and "SECTION" in (tmp_path / "lines.dxf").read_text(), done.stderr
    # By its name it is still to be had, and what it claims besides is told.
    folder = tmp_path / "named"
    assert scrieve("pickup", "transom", SAMPLE, "-o", folder, "--writer", "aaa", path=tmp_path).returncode == 0
    assert (folder / "transom.dxf").read_text() == "taken"
    done = scrieve("plugins", path=tmp_path)
    assert done.returncode == 1 and "aa-writer" in done.stdout and ".dxf" in done.stdout


@pytest.mark.parametrize("fails", ["raise ValueError('adze')", "import sys; sys.exit(0)", "return None"])
def test_a_writer_that_fails_leaves_the_old_file_and_touches_no_drawing_but_its_own(tmp_path, fails):
    code = f"""
        class Plugin:
            "Writes half"
            suffixes = ("half",)
            def write(self, drawings, path):
                drawings[0].polyline(0, [(0, 0), (1e6, 1e6)])
                with open(path, "w") as file:
                    file.write("half")
                    file.flush()
                    {fails}
        plugin = Plugin()
    """
    folder = package(tmp_path, "half-writer", "writers", "half", code)
    out = tmp_path / "out.half"
    out.write_text("precious")
    done = scrieve("pickup", "transom", SAMPLE, "-o", out, path=folder)
    if "return" in fails:
        assert done.returncode == 0 and out.read_text() == "half"
    else:
        assert done.returncode == 2 and "half-writer 1.2.3" in done.stderr and out.read_text() == "precious"
        assert not list(tmp_path.glob(".scrieve*")) and not list(tmp_path.glob("out-*"))


# In the main job


@pytest.fixture(scope="module")
def alone(tmp_path_factory):
    """A lofted folder with no stranger's pattern about."""
    out = tmp_path_factory.mktemp("alone") / "out"
    assert scrieve("loft", SAMPLE, "-o", out, path="").returncode == 0
    return out


def test_a_strangers_pattern_stands_in_a_lofted_folder_and_its_index(installed, tmp_path):
    """The example package's batten of girths, drawn by its defaults, with what it says of itself."""
    done = scrieve("loft", SAMPLE, "-o", tmp_path / "out", path=installed)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "out" / "girth-batten" / "girth-batten.dxf").is_file()
    assert "girth-batten: A batten marked with the girth of the hull at each station" in done.stdout
    index = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert 'href="girth-batten/girth-batten.dxf"' in index
    listed = (tmp_path / "out" / "lofted.sha256").read_text()
    assert "girth-batten/girth-batten.dxf" in listed
    # What is picked up by itself is the same, to the byte.
    assert scrieve("pickup", "girth-batten", SAMPLE, "-o", tmp_path / "one", path=installed).returncode == 0
    alone = (tmp_path / "one" / "girth-batten.dxf").read_bytes()
    assert alone == (tmp_path / "out" / "girth-batten" / "girth-batten.dxf").read_bytes()


PATTERN = """
    import warnings
    import pandas
    from typing import Annotated
    from scrieve import Drawing, errors
    from scrieve.plugin import Length, Lofted, Part, PickedUp, Planking

    def square(name, side=100.0):
        drawing = Drawing(name, name)
        layer = drawing.layer("CUT", "cut outside")
        drawing.polyline(layer, [(0, 0), (side, 0), (side, side), (0, side)], closed=True)
        return drawing

    class Plugin:
        "Squares of planking"
        {body}
    plugin = Plugin()
"""


def pattern(folder, name, body):
    code = textwrap.dedent(PATTERN).format(body=textwrap.indent(textwrap.dedent(body), "    ").lstrip())
    return package(folder, f"{name}-maker", "patterns", name, code)


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("def draw(self, hull):\n    raise RuntimeError('no luck')", "RuntimeError: no luck"),
        ("def draw(self, hull):\n    import sys; sys.exit(0)", "SystemExit"),
        ("def draw(self, hull):\n    return 'a drawing'", "where a list of Drawing was expected"),
        ("def draw(self, hull):\n    return []", "drew nothing"),
        ("def draw(self, hull):\n    return [Drawing('torn', 'torn'), None]", "where a list of Drawing was expected"),
        ("def draw(self, hull, *, what: bytes = b''):\n    return [square('s')]", "its options cannot be told"),
        ("lofted = 'first'\ndef draw(self, hull):\n    return [square('s')]", "expected a scrieve.plugin.Lofted"),
        ("pass", "has no draw()"),
        ("raise ImportError('no wood')", "no wood"),
    ],
)  # fmt: skip
def test_a_pattern_that_fails_in_the_main_job_is_named_and_costs_itself_only(alone, tmp_path, body, said):
    folder = pattern(tmp_path, "squares", body)
    done = scrieve("loft", SAMPLE, "-o", tmp_path / "out", path=folder)
    assert done.returncode == 1 and "Traceback" not in done.stderr
    (line,) = [line for line in done.stdout.splitlines() if "not made" in line]
    assert "squares" in line and "squares-maker 1.2.3" in line and said in line
    assert not (tmp_path / "out" / "squares").exists()
    assert "squares-maker" in (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    ours = {p.relative_to(alone) for p in alone.rglob("*") if p.is_file()}
    assert ours == {p.relative_to(tmp_path / "out") for p in (tmp_path / "out").rglob("*") if p.is_file()}
    for name in ours - {Path("index.html"), Path("lofted.sha256")}:
        assert (alone / name).read_bytes() == (tmp_path / "out" / name).read_bytes()


def test_the_main_job_tells_every_pattern_the_planking_and_writes_its_tables_in_their_units(tmp_path):
    """An area is an area, not a reading; what has no unit is a bare number, and that is said."""
    body = """
        def draw(self, hull, *, skin: Annotated[float | None, Planking("planking")] = None):
            frame = pandas.DataFrame({"piece": ["a"], "skin": [skin or 0.0], "area": [8.19], "rake": [12.5],
                                      "load": [240.0], "part": [0.25], "odd": [3.125]})
            units = {"skin": "m", "area": "m²", "rake": "°", "load": "kg", "part": ""}
            warnings.warn(errors.Note("sharpen the plane"))
            return PickedUp([square("square")], {"pieces": frame}, units)
    """
    folder = pattern(tmp_path, "squares", body)
    done = scrieve("loft", SAMPLE, "-o", tmp_path / "out", "--deduct", "14mm", path=folder)
    assert done.returncode == 0, done.stdout + done.stderr
    heading, row = (tmp_path / "out" / "squares" / "pieces.csv").read_text(encoding="utf-8").splitlines()
    assert heading == 'piece,skin,"skin, mm","area, m²","rake, degrees","load, kg",part,odd'
    assert row == "a,0-0-4+,14,8.19,12.5,240,0.25,3.125"
    index = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert "squares: sharpen the plane" in index and "squares: no unit is told of odd" in index
    told = scrieve("pickup", "squares", SAMPLE, "-o", tmp_path / "one", "--skin", "14mm", "--json", path=folder)
    data = json.loads(told.stdout)
    assert data["tables"]["pieces"][0]["area"] == 8.19 and data["units"]["pieces"]["area"] == "m²"
    assert (tmp_path / "one" / "pieces.csv").read_text(encoding="utf-8").splitlines() == [heading, row]
    assert "no unit is told of odd" in told.stderr


def test_a_pattern_says_where_its_files_stand_and_overwrites_nobodys(alone, tmp_path):
    body = """
        lofted = Lofted((Part("as the moulds", ("mould-*",), folder="moulds"),
                         Part("up and away", ("away",), folder="../..", file="../index"),
                         Part("drawn to look at", ("seen",), suffix="svg", file="lines")), order=5)
        def draw(self, hull):
            return PickedUp([square("mould-4", 10.0), square("away"), square("rest")], {},
                            to_look_at=[square("seen")], captions={"seen": "A square, seen."})
    """
    folder = pattern(tmp_path, "index", body)
    entry = folder / "index_maker-1.2.3.dist-info" / "entry_points.txt"
    entry.write_text(entry.read_text().replace("index =", "index.html ="))
    done = scrieve("loft", SAMPLE, "-o", tmp_path / "in" / "out", path=folder)
    assert done.returncode == 0, done.stdout + done.stderr
    out = tmp_path / "in" / "out"
    assert [p.name for p in (tmp_path / "in").iterdir()] == ["out"]
    index = (out / "index.html").read_text(encoding="utf-8")
    assert "<h1>Sandling</h1>" in index and "A square, seen." in index and "index.html-2/rest.dxf" in index
    # Theirs came first, and had the names; ours stand beside it with all that is in them.
    drawn = {path.read_bytes() for path in out.rglob("*.dxf")} | {path.read_bytes() for path in out.rglob("*.svg")}
    for path in [*alone.rglob("*.dxf"), *alone.rglob("*.svg")]:
        assert path.read_bytes() in drawn, path.name


def test_a_pattern_that_must_be_told_something_is_left_to_pickup_and_none_that_wishes_it_is_run(tmp_path):
    needs = "def draw(self, hull, *, side: Annotated[float, Length('side')]):\n    return [square('s', 1e3 * side)]"
    pattern(tmp_path, "needy", needs)
    pattern(tmp_path, "shy", "lofted = None\ndef draw(self, hull):\n    raise RuntimeError('not asked')")
    done = scrieve("loft", SAMPLE, "-o", tmp_path / "out", path=tmp_path)
    assert done.returncode == 0, done.stdout
    index = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert "needy is left out of the main job: it needs side to be told" in index and "shy" not in index


def test_of_two_patterns_of_one_name_the_main_job_keeps_the_built_in_one(tmp_path):
    folder = pattern(tmp_path, "moulds", "def draw(self, hull):\n    return [square('mould-1')]")
    done = scrieve("loft", SAMPLE, "-o", tmp_path / "out", path=folder)
    assert done.returncode == 1 and "moulds-maker 1.2.3" in done.stdout
    assert len(list((tmp_path / "out" / "moulds").glob("*.dxf"))) == 11
