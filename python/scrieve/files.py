"""Reading tables and writing drawings through whichever plugin knows the file."""

from __future__ import annotations

import os
import re
import tempfile
import unicodedata
import warnings
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from ._core import Drawing
from .errors import DrawingError, Fault, Note, PluginError, ScrieveError, error
from .outputs import STANDARD, note_read, standard, together
from .plugin.options import declared
from .plugin.registry import OURS, Plugin, find, plugins
from .table.table import Table

# Enough of a file for a reader to know its own by; a title and a first line of any format fit in it.
HEAD_BYTES = 4096

# The built-in reader of printed pages, which alone takes a mapping.
PAGES = "csv"

# A table is a page or two; a pipe that gives more gives something else.
LARGEST_PIPE_BYTES = 16_000_000


def read(
    path: str | os.PathLike[str],
    reader: str | None = None,
    *,
    mapping: str | os.PathLike[str] | None = None,
    **options: Any,
) -> Table:
    """The table of offsets in a file.

    `reader` names a reader plugin; left out, the first that says it can read the file is taken. What is given a
    `mapping` is a printed page, whatever its suffix, read through that file; left out, the one of the same name beside
    it. `options` go to the reader. Raises `TableError` with every mistake of the file, `OSError` where the
    file cannot be opened, `ScrieveError` where no reader knows it. A reader that breaks while the file is
    being recognised costs only itself.
    """
    path = Path(path)
    if mapping is not None:
        mapping = Path(mapping)
        reader = reader or PAGES
        if reader == "offsets":
            what, remedy = "a table in a file of its own takes no mapping", "leave one of the two out"
            raise error(ScrieveError, what, where=path, remedy=remedy, at=True)
        note_read(mapping)
        options["mapping"] = mapping
    if path.is_file() or not path.exists() or path.is_dir():
        table = _read(path, path, reader, options)
        note_read(path)
        return table
    # A pipe gives its bytes once, and a reader may ask for them twice.
    with tempfile.TemporaryDirectory() as apart:
        with open(path, "rb") as pipe:
            data = pipe.read(LARGEST_PIPE_BYTES + 1)
        if len(data) > LARGEST_PIPE_BYTES:
            what = f"over {LARGEST_PIPE_BYTES // 1_000_000} MB: this is no table of offsets"
            raise error(ScrieveError, what, where=path, at=True)
        held = Path(apart) / path.name
        held.write_bytes(data)
        return _read(path, held, reader, options)


def _read(path: Path, held: Path, reader: str | None, options: dict[str, Any]) -> Table:
    """The table called `path`, whose bytes are in the file `held`."""
    if reader is not None:
        return _by(find("readers", reader), path, held, options)
    with open(held, "rb") as file:
        head = file.read(HEAD_BYTES)
    broken = []
    for plugin in plugins("readers"):
        try:
            knows = plugin.call("reads", path, head)
        except PluginError as failed:
            broken.append(str(failed))
            continue
        if knows:
            return _by(plugin, path, held, options)
    names = ", ".join(plugin.name for plugin in plugins("readers"))
    what = "\n".join([f"no reader knows this file; there are: {names}", *broken])
    raise error(ScrieveError, what, where=path, at=True)


def _by(plugin: Plugin, path: Path, held: Path, options: dict[str, Any]) -> Table:
    if held != path and plugin.package == OURS and plugin.name == "offsets":
        return Table.from_text(held.read_bytes(), str(path))
    got = plugin.call("read", held, **options)
    if not isinstance(got, Table):
        what = f"{plugin} gave a {type(got).__name__} where a Table was expected"
        raise error(PluginError, what, where=plugin, plugin=plugin)
    return got


def write(
    drawings: Drawing | list[Drawing],
    path: str | os.PathLike[str],
    writer: str | None = None,
    **options: Any,
) -> list[Path]:
    """Writes drawings and gives the paths of the files written.

    The writer is chosen by the suffix unless named. Several drawings go into a folder, one file each,
    when `path` is a folder; into one file, when it has a suffix: side by side, or in a PDF one after another.
    Files are put in their places when all of them are whole, and none goes over one that was read.

    Every drawing is checked first (`Drawing.check`): one with a cut outline that crosses itself or encloses nothing
    is not written, and what else is found is warned of as `errors.Fault`.
    """
    path = Path(path)
    drawings = [drawings] if isinstance(drawings, Drawing) else list(drawings)
    if not drawings:
        raise error(ScrieveError, "nothing to write: no drawings were given", where=path)
    if writer is None:
        suffix = path.suffix.lower().lstrip(".")
        if not suffix:
            what = f"name a file with a suffix ({_suffixes()}), or a writer"
            raise error(ScrieveError, what, where=path, at=True)
        writer = next((p.name for p in plugins("writers") if suffix in _writes(p)), None)
        if writer is None:
            what = f"no writer writes .{suffix}; there are: {_suffixes()}"
            raise error(ScrieveError, what, where=path, at=True)
    plugin = find("writers", writer)
    _hold_to_account(drawings, plain="dxf" in _writes(plugin))
    if path == STANDARD:
        with standard(f"drawing.{(_writes(plugin) or ('',))[0]}") as at:
            plugin.call("write", drawings, at, **options)
        return []
    if path.suffix:
        # Where a link leads to, so that the link stays one.
        folder, jobs = Path(os.path.realpath(path)).parent, [(drawings, Path(os.path.realpath(path)).name)]
    else:
        suffix = (_writes(plugin) or (plugin.name,))[0]
        named = _file_names((drawing.name for drawing in drawings), room=len(suffix) + 1)
        folder, jobs = path, [([d], f"{name}.{suffix}") for d, name in zip(drawings, named, strict=True)]
    written: list[Path] = []
    if not path.suffix:
        folder.mkdir(parents=True, exist_ok=True)
    with together(folder) as apart:
        for some, name in jobs:
            before = set(apart.iterdir())
            plugin.call("write", some, apart / name, **options)
            made = sorted(set(apart.iterdir()) - before, key=lambda p: (p.name != name, p.name))
            if not made:
                raise error(PluginError, f"{plugin} wrote nothing to {name}", where=plugin, plugin=plugin)
            written += made
    if path.suffix:
        return [path if made.name == jobs[0][1] else path.parent / made.name for made in written]
    return [path / made.name for made in written]


def options_of(path: Path, chosen: Mapping[str, Any], writer: str | None = None) -> dict[str, Any]:
    """Those of the options chosen for writers that the one which writes this file declares."""
    if writer is None:
        suffix = path.suffix.lower().lstrip(".")
        found = next((plugin for plugin in plugins("writers") if suffix in _writes(plugin)), None)
    else:
        found = find("writers", writer)
    write_it = None if found is None else getattr(found.load(), "write", None)
    there = {option.name for option in declared(write_it)} if write_it is not None and chosen else set()
    return {name: value for name, value in chosen.items() if name in there}


# Faults with which a drawing is not written: what is cut by it would not be what was drawn.
_UNSOUND = {"not finite", "no such layer", "crosses itself", "no area"}


def faults(drawing: Drawing) -> list[str]:
    """What is wrong with a drawing so that it is not written, each with its place."""
    return [found["message"] for found in drawing.check() if found["fault"] in _UNSOUND]


def _hold_to_account(drawings: list[Drawing], plain: bool) -> None:
    """Raises `DrawingError` for a drawing that is not to be cut by; warns of what else the shop should know.

    Text is spelt otherwise only in a `plain` file.
    """
    for drawing in drawings:
        found = drawing.check()
        to_look_at = {layer["name"] for layer in drawing.layers if layer["operation"] == "annotate"}
        unsound = [one["message"] for one in found if one["fault"] in _UNSOUND]
        if unsound:
            more = f", and {len(unsound) - 1} more" if len(unsound) > 1 else ""
            what = f'drawing "{drawing.name}" is not written: {unsound[0]}{more}'
            raise error(DrawingError, what, where=drawing.name)
        for one in found:
            if one["fault"] != "respelled" and one["layer"] not in to_look_at:
                warnings.warn(Fault(f'drawing "{drawing.name}": {one["message"]}'), stacklevel=3)
        spelt = [one["message"] for one in found if one["fault"] == "respelled"]
        if plain and spelt:
            more = f", and {len(spelt) - 1} more" if len(spelt) > 1 else ""
            warnings.warn(Note(f'drawing "{drawing.name}": {spelt[0]}{more}'), stacklevel=3)


# Bytes of a file's name: the usual systems hold 255, and a number, a suffix and a table's name may come to it.
LONGEST_NAME_BYTES = 160


def plain_name(name: str, room: int = 0) -> str:
    """A name as a file can bear it on any system, with `room` bytes left for what comes after."""
    plain = "".join(c if c.isalnum() or c in "-_+. " else "-" for c in name).strip(" .") or "drawing"
    short = plain.encode()[: LONGEST_NAME_BYTES - room].decode(errors="ignore").strip(" .")
    # Devices on some systems, whatever comes after the point.
    return f"-{short}" if _DEVICE.fullmatch(short.partition(".")[0].strip()) else short


_DEVICE = re.compile(r"con|prn|aux|nul|(com|lpt)[0-9¹²³]", re.IGNORECASE)


def _file_names(names: Iterable[str], room: int) -> list[str]:
    """Each name as a file can bear it on any system: a station may be called 1/2, or A beside a."""
    given: set[str] = set()
    told: list[str] = []
    for name in names:
        apart, n = plain_name(name, room), 1
        while unicodedata.normalize("NFC", apart).casefold() in given:
            n += 1
            apart = f"{plain_name(name, room)}-{n}"
        given.add(unicodedata.normalize("NFC", apart).casefold())
        told.append(apart)
    return told


def _writes(plugin: Plugin) -> tuple[str, ...]:
    try:
        return tuple(map(str, plugin.load().suffixes))
    except (PluginError, AttributeError, TypeError):
        return ()


def claimed_by_ours(plugin: Plugin) -> list[str]:
    """Suffixes that a stranger's reader or writer claims and a built-in one has. Raises `PluginError`."""
    if plugin.package == OURS or plugin.group not in ("readers", "writers"):
        return []
    ours = {suffix for p in plugins(plugin.group) if p.package == OURS for suffix in _writes(p)}
    return [suffix for suffix in _writes(plugin) if suffix.lower().lstrip(".") in ours]


def _suffixes() -> str:
    return ", ".join(f".{suffix}" for plugin in plugins("writers") for suffix in _writes(plugin))
