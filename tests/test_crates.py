"""The crates depend on one another as DEVELOPERS.md draws them: one way, and the yardstick on none that is shipped."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

ROOT = Path(__file__).parent.parent
CRATES = {path.parent.name: tomllib.loads(path.read_text()) for path in ROOT.glob("rust/*/Cargo.toml")}


def drawn() -> dict[str, set[str]]:
    """Each room of the drawn graph, and the rooms with an arrow to it."""
    (graph,) = re.findall(r"```mermaid\n(graph LR\n\s+notation.*?)```", (ROOT / "DEVELOPERS.md").read_text(), re.DOTALL)
    before: dict[str, set[str]] = {}
    for line in graph.splitlines()[1:]:
        rooms = [re.sub(r"\[.*", "", room.strip()) for room in line.split("-->")]
        for room in rooms:
            before.setdefault(room, set())
        for one, other in zip(rooms, rooms[1:], strict=False):
            before[other].add(one)
    return before


def all_before(room: str, before: dict[str, set[str]], seen: tuple[str, ...] = ()) -> set[str]:
    assert room not in seen, f"a circle: {' --> '.join((*seen, room))}"
    return {far for near in before[room] for far in {near} | all_before(near, before, (*seen, room))}


def needs(crate: str, table: str = "dependencies") -> set[str]:
    return {name.removeprefix("scrieve-") for name in CRATES[crate].get(table, {}) if name.startswith("scrieve-")}


def test_every_crate_is_drawn_and_no_arrow_goes_back() -> None:
    before = drawn()
    assert set(CRATES) <= set(before)
    for crate in CRATES:
        assert needs(crate) <= all_before(crate, before), crate


def test_every_arrow_between_crates_is_a_dependency() -> None:
    for crate, near in drawn().items():
        if crate in CRATES:
            assert near & set(CRATES) <= needs(crate), crate


def test_the_yardstick_is_shipped_with_nothing() -> None:
    assert [crate for crate in CRATES if "yardstick" in needs(crate)] == []
    assert any("yardstick" in needs(crate, "dev-dependencies") for crate in CRATES)


def test_every_crate_keeps_the_workspaces_lints_and_oldest_rust() -> None:
    for crate, table in CRATES.items():
        assert table["lints"] == {"workspace": True}, crate
        assert table["package"]["rust-version"] == {"workspace": True}, crate


def with_features(*selected: str) -> dict[str, set[str]]:
    """Each package that is built of the selected ones, and the features it has on."""
    command = ["cargo", "tree", "--offline", "--locked", "--prefix", "none", "--format", "{p}|{f}", *selected]
    said = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    lines = (line.removesuffix(" (*)").split("|") for line in said.splitlines() if line)
    on: dict[str, set[str]] = {}
    for package, features in lines:
        on.setdefault(package, set()).update(filter(None, features.split(",")))
    return on


def test_what_the_extension_is_built_of_is_built_once_with_the_tests() -> None:
    alone = with_features("-p", "scrieve-bindings", "-e", "normal,build")
    whole = with_features("--workspace", "-e", "normal,build,dev")
    assert "faer v0.24" in " ".join(alone)
    assert {name: on for name, on in alone.items() if whole[name] != on} == {}
