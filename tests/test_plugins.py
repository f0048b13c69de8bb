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
