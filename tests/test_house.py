"""The house as it is drawn in DEVELOPERS.md: no arrow back, no circle, one concept a file."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).parent.parent
HOUSE = ROOT / "python" / "scrieve"

# A table is faired into a hull, and a hull gives tables: the one arrow back, and only in what is annotated.
ANNOTATED_ONLY = {("hull.faired", "table.table"), ("hull.hull", "table.table")}

LONGEST = 600
# One concept each, though long: the arranging of a page's lines into columns, and the making of a table of them.
LONG = {"table.pages.arranged", "table.pages.printed"}


def modules() -> dict[str, Path]:
    """Every module by its name within the package, `hull` for `hull/__init__.py`."""
    found = {}
    for path in sorted(HOUSE.rglob("*.py")):
        parts = path.relative_to(HOUSE).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imports(path: Path, name: str, every: set[str]) -> set[tuple[str, bool]]:
    """What a module imports of the house, wherever in it the import stands; and whether for annotations only."""
    here = name.split(".") if path.name == "__init__.py" else name.split(".")[:-1]
    here = [part for part in here if part]
    found = set()

    def visit(node: ast.AST, annotated: bool) -> None:
        for child in ast.iter_child_nodes(node):
            only = annotated or (isinstance(child, ast.If) and ast.unparse(child.test) == "TYPE_CHECKING")
            if isinstance(child, ast.ImportFrom) and (child.level or (child.module or "").split(".")[0] == "scrieve"):
                up = here[: len(here) - child.level + 1] if child.level else []
                module = (child.module or "").split(".")[0 if child.level else 1 :]
                base = ".".join([*up, *filter(None, module)])
                for one in child.names:
                    whole = f"{base}.{one.name}" if base else one.name
                    target = whole if whole in every else base
                    assert target in every, f"{name} imports {whole}, which is no module of the house"
                    found.add((target, only))
            if isinstance(child, ast.Import):
                for one in child.names:
                    assert one.name.split(".")[0] != "scrieve", f"{name}: the house's own modules are imported by place"
            visit(child, only)

    visit(ast.parse(path.read_text()), False)
    return found


def drawn() -> dict[str, int]:
    """On which floor each package or module of the plan in DEVELOPERS.md stands."""
    plan = re.search(r"```floors\n(.*?)```", (ROOT / "DEVELOPERS.md").read_text(), re.DOTALL)
    assert plan, "DEVELOPERS.md draws the floors of python/scrieve"
    floors = {}
    for floor, line in enumerate(plan[1].splitlines()):
        for room in line.partition("|")[0].split():
            assert room not in floors, f"{room} is drawn twice"
            floors[room] = floor
    return floors


def arrows() -> set[tuple[str, str, bool]]:
    every = {*modules(), "_core"}
    return {
        (name, target, only)
        for name, path in modules().items()
        if name  # the public face, which imports each name when it is asked for
        for target, only in imports(path, name, every)
    }


def test_every_room_is_drawn_and_every_drawn_room_is_there():
    rooms = {name.split(".")[0] for name in modules() if name} | {"_core"}
    assert rooms == set(drawn())


def test_no_arrow_points_back():
    """A room depends on the floors below its own, and on nothing else on its floor."""
    floors = drawn()
    back = {
        (name, target)
        for name, target, _ in arrows()
        if (room := name.split(".")[0]) != (other := target.split(".")[0]) and floors[other] >= floors[room]
    }
    assert back == ANNOTATED_ONLY


def test_what_points_back_is_annotation_and_no_more():
    assert not {(name, target) for name, target, only in arrows() if not only} & ANNOTATED_ONLY


def test_no_modules_import_one_another_in_a_circle():
    """Imports within functions and for annotations counted."""
    to: dict[str, set[str]] = {}
    for name, target, _ in arrows():
        # A package's own face gathers its modules; a module that imports a sibling goes past it.
        if (name, target) not in ANNOTATED_ONLY and target != name:
            to.setdefault(name, set()).add(target)
    done: set[str] = set()

    def follow(name: str, way: list[str]) -> None:
        assert name not in way, " -> ".join([*way[way.index(name) :], name])
        if name not in done:
            for target in sorted(to.get(name, ())):
                follow(target, [*way, name])
            done.add(name)

    for name in sorted(to):
        follow(name, [])


def test_a_circle_and_an_arrow_back_would_be_seen(tmp_path: Path):
    """Also where the import stands within a function, for annotations, or by the package's whole name."""
    every = {"hull", "hull.hull", "hull.curve", "table", "table.table", "_core"}
    module = tmp_path / "curve.py"
    module.write_text(
        "from typing import TYPE_CHECKING\nfrom .. import _core\nif TYPE_CHECKING:\n    from .hull import Hull\n"
        "def late():\n    from ..table.table import Table\n    from scrieve.table import Proof\n"
    )
    found = imports(module, "hull.curve", every)
    assert found == {("_core", False), ("hull.hull", True), ("table.table", False), ("table", False)}


def test_a_file_holds_one_concept():
    long = {name for name, path in modules().items() if len(path.read_text().splitlines()) > LONGEST}
    assert long == LONG


def test_files_are_written_in_one_place():
    """Whole or not at all, and over no input: only `outputs` and the core write to a folder of a person's."""
    found = set()
    for name, path in modules().items():
        for call in (node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Call)):
            of = ast.unparse(call.func)
            mode = " ".join(ast.unparse(argument) for argument in call.args[1:2])
            mode += " ".join(ast.unparse(word.value) for word in call.keywords if word.arg == "mode")
            if of.endswith(
                (".write_text", ".write_bytes", "os.replace", "os.rename", "shutil.move", "shutil.copy")
            ) or (of in ("open", "io.open") and set(mode) & set("wax+")):
                found.add((name, of))
    # What a pipe gave is held in a folder of its own; the terminal's streams may be closed.
    assert found == {("outputs", "os.replace"), ("files", "held.write_bytes"), ("terminal.stream", "open")}
