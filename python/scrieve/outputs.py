"""What is written, and what is never written over.

An output that is the same file as an input is refused, however it is spelt or linked. A file is replaced whole or
not at all (`replace`). Several that belong together are made apart and put in their places when all are there
(`together`). A folder that a job fills lists what it wrote (`Lot`), so that the next run takes away what it does
not write again, and nothing else.
"""

from __future__ import annotations

import errno
import hashlib
import os
import shutil
import stat
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath

from ._core import keep_outputs, write_whole
from .errors import ScrieveError, error

try:
    import fcntl
except ImportError:  # Windows: leftovers of a killed run stay, and two runs into one folder are not kept apart
    fcntl = None  # type: ignore[assignment]

# Standard output, where a file is asked for.
STANDARD = Path("-")

# How the names of folders begin that files are made in; the rest is letters and digits.
_STAGE = ".scrieve-part-"

# Files of an earlier hand named in a message, before the rest is only counted.
_NAMED = 3

# Files that were read, and those we wrote ourselves as we left them, by device and number.
_read: dict[tuple[int, int], Path] = {}
_written: dict[tuple[int, int], tuple[int, int]] = {}


def _which(found: os.stat_result) -> tuple[int, int]:
    return found.st_dev, found.st_ino


def note_read(path: str | os.PathLike[str], own_too: bool = False) -> None:
    """Remembers a file as an input. One that this session wrote, and nobody changed since, is none unless `own_too`."""
    with suppress(OSError):
        found = os.stat(path)
        ours = _written.get(_which(found)) == (found.st_mtime_ns, found.st_size)
        if stat.S_ISREG(found.st_mode) and (own_too or not ours):
            _read[_which(found)] = Path(os.path.abspath(path))


def note_written(path: str | os.PathLike[str]) -> None:
    """Remembers a file as written by this session."""
    with suppress(OSError):
        found = os.stat(path)
        _read.pop(_which(found), None)
        _written[_which(found)] = (found.st_mtime_ns, found.st_size)


def refuse_input(path: str | os.PathLike[str]) -> None:
    """Raises `ScrieveError` where the file is one that was read: the same, a link to it, or another name of it."""
    try:
        found = os.stat(path)
        source = _read.get(_which(found))
        if source is None or not os.path.samestat(found, os.stat(source)):
            return
    except OSError:  # not there, or what was read is gone and its number given to another
        return
    same = "" if os.path.abspath(path) == str(source) else f" the same file as {source}, which"
    what = f"{path} is{same or ' what'} was read, and no input is written over"
    raise error(ScrieveError, what, where=path, remedy="give another name")


def _refuse_standard() -> None:
    """Raises `ScrieveError` where a shell has put a file that was read in the place of standard output."""
    source = None
    with suppress(OSError, ValueError, AttributeError):
        source = _read.get(_which(os.fstat(sys.stdout.fileno())))
    if source is not None:
        what = f"standard output is {source}, which was read, and no input is written over"
        raise error(ScrieveError, what, where=source, remedy="send it elsewhere")


def claim(output: Path | None, *inputs: Path) -> None:
    """Refuses an output before any work is done: an input, or what is neither a plain file nor a new name.

    Raises `ScrieveError`.
    """
    for path in inputs:
        note_read(path, own_too=True)
    if output is None:
        return
    if output == STANDARD:
        _refuse_standard()
        return
    refuse_input(output)
    if output.is_dir():
        return
    if output.exists() and not output.is_file():
        remedy = "give a file, a new name, or - for standard output"
        raise error(ScrieveError, f"{output} is no plain file", where=output, remedy=remedy)
    if not output.is_file() and output.name in ("", ".", ".."):
        raise error(ScrieveError, f"{output} names no file", where=output)


def claim_folder(output: Path, *inputs: Path) -> None:
    """As `claim`, for a folder that files are written into. Raises `ScrieveError`."""
    claim(None, *inputs)
    if output == STANDARD:
        what = "several files are written, which standard output cannot hold"
        raise error(ScrieveError, what, where=output, remedy="give a folder")
    if output.exists() and not output.is_dir():
        what = f"{output} is no folder, and several files are written"
        raise error(ScrieveError, what, where=output, remedy="give a folder")


def replace(path: str | os.PathLike[str], data: bytes) -> None:
    """Writes a file whole or not at all, or to standard output where it is `-`. Raises `OSError`, `ScrieveError`."""
    if Path(path) == STANDARD:
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
    else:
        write_whole(os.fspath(path), data)


@contextmanager
def together(folder: Path) -> Iterator[Path]:
    """A folder to make files in, which are put into `folder` when all are made, and lost when one fails.

    Raises `ScrieveError` where one would go over an input, or over what is no plain file; then none is put there.
    Raises `OSError` where there is no such folder.
    """
    if not folder.is_dir():
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(folder))
    with _stage(folder) as stage:
        yield stage
        targets = {made: Path(os.path.realpath(folder / made.relative_to(stage))) for made in _files(stage)}
        for target in targets.values():
            _check_target(target)
        for made, target in targets.items():
            _move(made, target)


@contextmanager
def standard(name: str) -> Iterator[Path]:
    """A name to write a file under, which goes to standard output when it is whole."""
    with tempfile.TemporaryDirectory() as apart:
        path = Path(apart) / name
        yield path
        replace(STANDARD, path.read_bytes())


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def _check_target(target: Path) -> None:
    refuse_input(target)
    if target.is_dir() or (target.exists() and not target.is_file()):
        raise error(ScrieveError, f"{target} is no plain file, and only such are replaced", where=target)


def _move(made: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    if target.exists():
        shutil.copymode(target, made)
    os.replace(made, target)
    note_written(target)


@contextmanager
def _stage(folder: Path) -> Iterator[Path]:
    """A folder inside `folder`, gone afterwards. One that a killed run left is cleared away."""
    new = [parent for parent in (folder, *folder.parents) if not parent.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    try:
        _clear(folder)
        stage, held = _held_stage(folder)
        try:
            yield stage
        finally:
            shutil.rmtree(stage, ignore_errors=True)
            _let_go(held)
    finally:
        # What was made only to hold the stage goes with it; a folder with something in it stays.
        for made in new:
            with suppress(OSError):
                made.rmdir()


def _held_stage(folder: Path) -> tuple[Path, int | None]:
    while True:
        stage = Path(tempfile.mkdtemp(prefix=_STAGE, dir=folder))
        held = _hold(stage, wait=True)
        if stage.exists():  # else another run took it for a leftover before it was held
            return stage, held
        _let_go(held)


def _clear(folder: Path) -> None:
    for entry in os.scandir(folder):
        if (
            entry.name.startswith(_STAGE)
            and entry.is_dir(follow_symlinks=False)
            and (held := _hold(Path(entry.path))) is not None
        ):
            shutil.rmtree(entry.path, ignore_errors=True)
            _let_go(held)


def _hold(folder: Path, wait: bool = False) -> int | None:
    """Locks a folder, and gives what lets go of it; None where another holds it or nothing can be locked."""
    if fcntl is None:
        return None
    try:
        held = os.open(folder, os.O_RDONLY)
    except OSError:
        return None
    try:
        fcntl.flock(held, fcntl.LOCK_EX if wait else fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(held)
        return None
    return held


def _let_go(held: int | None) -> None:
    if held is not None:
        os.close(held)


class Lot:
    """The files that a job writes into a folder, listed there so that the next run knows its own.

    What stands in the folder is the job's own if it is as the list says, by the SHA-256 of its contents. Such files
    are replaced, and taken away where they are not written again; nothing else in the folder is touched, and where
    something else is in the way nothing is written at all. The `first` file, which a reader begins with, is replaced
    last; until then it says that the folder is half done.
    """

    def __init__(self, folder: Path, job: str, first: str = "HALF-DONE.txt") -> None:
        self.folder = folder
        self.first = first
        self.list = f"{job}.sha256"
        self.removed: list[Path] = []
        """What an earlier run wrote and this one did not, once `made` is over."""

    @contextmanager
    def made(self) -> Iterator[Path]:
        """A folder to make the files in. Raises `ScrieveError` where one of them would go over another's."""
        with _stage(self.folder) as stage:
            yield stage
            held = _hold(self.folder, wait=True)
            try:
                self._place(stage)
            finally:
                _let_go(held)

    def _place(self, stage: Path) -> None:
        new = {made.relative_to(stage).as_posix(): _digest(made.read_bytes()) for made in _files(stage)}
        old = self._listed()
        self._refuse(new, old)
        replace(self.folder / self.first, _half_done(self.first))
        # From here on both lists hold, so that what is left of a run that is killed is known for its own.
        both = [*((name, digest) for name, digests in old.items() for digest in digests), *new.items()]
        replace(self.folder / self.list, _as_text(both))
        for name in new:
            if name != self.first:
                _move(stage / name, self.folder / name)
        for name, digests in old.items():
            if name not in new and name != self.first and _is(self.folder / name, digests):
                self._remove(name)
        replace(self.folder / self.list, _as_text(new.items()))
        if self.first in new:
            _move(stage / self.first, self.folder / self.first)
        else:
            (self.folder / self.first).unlink()

    def _refuse(self, new: dict[str, str], old: dict[str, set[str]]) -> None:
        others = []
        old = {**old, self.first: {*old.get(self.first, ()), _digest(_half_done(self.first))}}
        for name, digest in {**new, self.first: new.get(self.first, "")}.items():
            path = self.folder / name
            refuse_input(path)
            inside = self._inside(name)
            if os.path.lexists(path) and not (inside and _is(path, {*old.get(name, ()), digest})):
                others.append(path)
            elif not inside:
                others.append(path.parent)
        if others := list(dict.fromkeys(others)):
            more = f" and {len(others) - _NAMED} more" if len(others) > _NAMED else ""
            what = f"in the way: {', '.join(map(str, others[:_NAMED]))}{more}, which no earlier run left so"
            remedy = "nothing is written. Give an empty folder, or move what is in the way"
            raise error(ScrieveError, what, where=self.folder, remedy=remedy)

    def _inside(self, name: str) -> bool:
        """Whether the name leads through no link."""
        straight = os.path.join(os.path.realpath(self.folder), *Path(name).parts[:-1])
        return os.path.realpath((self.folder / name).parent) == straight

    def _listed(self) -> dict[str, set[str]]:
        """Names and digests of what earlier runs wrote; a list that cannot be read lists nothing."""
        found: dict[str, set[str]] = {}
        path = self.folder / self.list
        if not path.exists():
            return found
        if path.is_symlink() or not path.is_file():
            raise error(
                ScrieveError, f"{path} is no plain file, and the list of what is written goes there", where=path
            )
        for line in path.read_bytes().decode(errors="replace").splitlines():
            digest, _, name = line.partition("  ")
            parts = PurePosixPath(name).parts
            if len(digest) == 64 and parts and not PurePosixPath(name).is_absolute() and ".." not in parts:
                found.setdefault(name, set()).add(digest)
        if not found:
            what, remedy = f"{path} is no list of what was written", "move it, or give another folder"
            raise error(ScrieveError, what, where=path, remedy=remedy)
        return found

    def _remove(self, name: str) -> None:
        path = self.folder / name
        if not self._inside(name):
            return  # through a link out of the folder
        path.unlink()
        self.removed.append(path)
        for parent in path.parents:
            if parent == self.folder:
                break
            with suppress(OSError):
                parent.rmdir()


def _half_done(first: str) -> bytes:
    said = (
        "These files are half done: a run that wrote them was broken off, and they may be of two boats. Run it again."
    )
    if first.endswith(".html"):
        said = f'<!doctype html>\n<html lang="en"><meta charset="utf-8"><title>Half done</title><p>{said}</p></html>'
    return f"{said}\n".encode()


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _is(path: Path, digests: Iterable[str]) -> bool:
    """Whether it is a plain file with one of these contents."""
    try:
        return not path.is_symlink() and path.is_file() and _digest(path.read_bytes()) in digests
    except OSError:
        return False


def _as_text(listed: Iterable[tuple[str, str]]) -> bytes:
    """As `sha256sum -c` reads it."""
    return "".join(f"{digest}  {name}\n" for name, digest in sorted(set(listed))).encode()


# What the compiled writers ask and tell.
keep_outputs(refuse_input, note_written)
