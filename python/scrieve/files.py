"""Reading tables and writing drawings through whichever plugin knows the file."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from ._core import Drawing
from ._plugins import find, plugins
from .errors import PluginError, ScrieveError
from .table import Table

# Enough of a file for a reader to know its own by; a title and a first line of any format fit in it.
HEAD_BYTES = 4096


def read(path: str | os.PathLike[str], reader: str | None = None, **options: Any) -> Table:
    """The table of offsets in a file.

    `reader` names a reader plugin; left out, the first that says it can read the file is taken.
    `options` go to the reader. Raises `TableError` with every mistake of the file, `OSError` where the
    file cannot be opened, `ScrieveError` where no reader knows it. A reader that breaks while the file is
    being recognised costs only itself.
    """
    path = Path(path)
    if reader is not None:
        return _table(find("readers", reader).call("read", path, **options))
    with open(path, "rb") as file:
        head = file.read(HEAD_BYTES)
    broken = []
    for plugin in plugins("readers"):
        try:
            knows = plugin.call("reads", path, head)
        except PluginError as error:
            broken.append(str(error))
            continue
        if knows:
            return _table(plugin.call("read", path, **options))
    names = ", ".join(plugin.name for plugin in plugins("readers"))
    raise ScrieveError("\n".join([f"{path}: no reader knows this file; there are: {names}", *broken]))


def _table(got: Any) -> Table:
    if not isinstance(got, Table):
        raise PluginError(f"a reader gave a {type(got).__name__} where a Table was expected")
    return got


def write(
    drawings: Drawing | list[Drawing],
    path: str | os.PathLike[str],
    writer: str | None = None,
    **options: Any,
) -> list[Path]:
    """Writes drawings and gives the paths of the files written.

    The writer is chosen by the suffix unless named. Several drawings go into a folder, one file each,
    when `path` is a folder; into one file, side by side, when it has a suffix.
    Each file is replaced only when its successor is whole.
    """
    path = Path(path)
    drawings = [drawings] if isinstance(drawings, Drawing) else list(drawings)
    if not drawings:
        raise ScrieveError("nothing to write: no drawings were given")
    if writer is None:
        suffix = path.suffix.lower().lstrip(".")
        if not suffix:
            raise ScrieveError(f"{path}: name a file with a suffix ({_suffixes()}), or a writer")
        writer = next((p.name for p in plugins("writers") if suffix in _writes(p)), None)
        if writer is None:
            raise ScrieveError(f"{path}: no writer writes .{suffix}; there are: {_suffixes()}")
    plugin = find("writers", writer)
    if path.suffix:
        return [Path(p) for p in plugin.call("write", drawings, path, **options)]
    path.mkdir(parents=True, exist_ok=True)
    written = []
    for drawing, name in zip(drawings, _file_names(drawing.name for drawing in drawings), strict=True):
        target = path / f"{name}.{_writes(plugin)[0]}"
        written += [Path(p) for p in plugin.call("write", [drawing], target, **options)]
    return written


def plain_name(name: str) -> str:
    """A name as a file can bear it on any system."""
    return "".join(c if c.isalnum() or c in "-_+. " else "-" for c in name).strip(" .") or "drawing"


def _file_names(names: Iterable[str]) -> list[str]:
    """Each name as a file can bear it on any system: a station may be called 1/2, or A beside a."""
    given: list[str] = []
    for name in names:
        plain = plain_name(name)
        apart, n = plain, 1
        while apart.casefold() in map(str.casefold, given):
            n += 1
            apart = f"{plain}-{n}"
        given.append(apart)
    return given


def _writes(plugin: Any) -> tuple[str, ...]:
    try:
        return tuple(plugin.load().suffixes)
    except (PluginError, AttributeError):
        return ()


def _suffixes() -> str:
    return ", ".join(f".{suffix}" for plugin in plugins("writers") for suffix in _writes(plugin))
