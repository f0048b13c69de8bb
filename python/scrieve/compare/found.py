"""The files of a collection: which are to be read, through what, and which no reader knows."""

from __future__ import annotations

import glob
import os
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

from ..errors import PluginError
from ..files import HEAD_BYTES, PAGES
from ..plugin.registry import OURS, plugins


class Failure(NamedTuple):
    """Something that could not be done, and why; the rest was."""

    path: Path
    reason: str


def files_of(paths: Any) -> tuple[list[Path], list[Failure], list[Path]]:
    """The files to read, what was named and is not there, and files of folders that no reader knows."""
    files: list[Path] = []
    failures: list[Failure] = []
    ignored: list[Path] = []
    for given in [paths] if isinstance(paths, (str, os.PathLike)) else list(paths):
        path = Path(given)
        if path.is_dir():
            for inside in sorted(p for p in path.rglob("*") if p.is_symlink() or not p.is_dir()):
                if any(part.startswith(".") for part in inside.relative_to(path).parts):
                    continue
                if inside.is_dir():
                    failures.append(Failure(inside, "a link to a folder is not followed: name the folder itself"))
                    continue
                if not inside.is_file():
                    broken = inside.is_symlink() and not inside.exists()
                    failures.append(Failure(inside, "a link that leads nowhere" if broken else "no plain file"))
                    continue
                (files if known(inside) else ignored).append(inside)
        elif path.exists():
            files.append(path)
        elif found := sorted(glob.glob(os.fspath(given), recursive=True)):
            files += [p for p in map(Path, found) if p.is_file()]
        else:
            failures.append(Failure(path, "no such file or folder"))
    return list(dict.fromkeys(files)), failures, ignored


def mapping_of(path: Path, mapping: Path | None) -> Path | None:
    """What a file is read through, if it is a page and has no mapping of its own beside it."""
    if mapping is None or path.with_suffix(".toml").is_file():
        return None
    for plugin in plugins("readers"):
        with suppress(PluginError, OSError):
            with open(path, "rb") as file:
                head = file.read(HEAD_BYTES)
            if plugin.call("reads", path, head):
                return mapping if (plugin.package, plugin.name) == (OURS, PAGES) else None
    return mapping


def known(path: Path) -> bool:
    """Whether any reader takes the file for its own."""
    try:
        with open(path, "rb") as file:
            head = file.read(HEAD_BYTES)
    except OSError:
        return True  # it will be read again, and the reason listed
    for plugin in plugins("readers"):
        try:
            if plugin.call("reads", path, head):
                return True
        except PluginError:
            continue
    return False
