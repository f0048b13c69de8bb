"""What was found out about a boat, kept in a file named by the content of her table.

The name is a hash of the table's text, scrieve's version and every measure plugin's, and the times at which
their code was last changed, so that nothing worked out by other code is taken. A file is written whole or not
at all, and one that cannot be read is as if it were not there.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import io
import json
import os
import re
import sys
from functools import lru_cache
from importlib import metadata
from pathlib import Path

from ..outputs import replace
from ..plugin.given import BASES, Quantity
from ..plugin.registry import plugins
from .figures import Figures

# Our own modules whose change makes what is cached worthless.
_OURS = (
    "scrieve._core",
    "scrieve.compare.figures",
    "scrieve.compare.measuring",
    "scrieve.compare.shapes",
    "scrieve.hull.floating",
    "scrieve.hull.hull",
    "scrieve.hull.uncertainty",
    "scrieve.table.table",
)


def platform_folder() -> Path:
    """Where the platform keeps what can be worked out again."""
    if sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    elif sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "scrieve"


@lru_cache(maxsize=1)
def _code() -> str:
    """Versions and times of everything the figures are worked out with."""
    parts = [metadata.version("scrieve")]
    modules = list(_OURS)
    for plugin in plugins("measures"):
        parts += [plugin.name, plugin.package, plugin.version]
        modules += [plugin.module] if plugin.module else []
    for module in dict.fromkeys(modules):
        try:
            spec = importlib.util.find_spec(module)
            parts.append(str(os.stat(spec.origin).st_mtime_ns) if spec and spec.origin else "")
        except Exception:  # a plugin that does not import fails where it is called, not here
            parts.append("")
    return "\0".join(parts)


# What we name a file: nothing else of a folder is ours to let go.
_OUR_FILE = re.compile(r"[0-9a-f]{64}\.npz")

# Boats the platform's cache keeps, at some 40 kB each; past so many the longest untouched make room, a part at a time.
MOST_KEPT, MADE_ROOM = 20_000, 0.1


class Cache:
    """Figures by key in a folder; without a folder, nothing is kept."""

    def __init__(self, folder: Path | None) -> None:
        self.folder = folder

    @classmethod
    def at(cls, where: bool | str | os.PathLike[str]) -> Cache:
        """`True` for the platform's folder, `False` for none, or a folder."""
        if isinstance(where, bool):
            return cls(platform_folder() / "figures" if where else None)
        return cls(Path(where))

    def _file(self, folder: Path, key: str, samples: int) -> Path:
        return folder / f"{hashlib.sha256(f'{_code()}|{samples}|{key}'.encode()).hexdigest()}.npz"

    def load(self, key: str, samples: int = 0) -> Figures | None:
        """The figures of that key, with uncertainties of so many samples, if they are there and whole."""
        import numpy

        if self.folder is None:
            return None
        try:
            file = self._file(self.folder, key, samples)
            with numpy.load(file, allow_pickle=False) as held:
                quantities = {
                    name: Quantity(float(value), str(unit), str(basis), float(sd))
                    for name, (value, unit, basis, sd) in json.loads(str(held["quantities"])).items()
                }
                points = held["points"]
                readings = [
                    (str(station), str(row), float(read), float(worth))
                    for station, row, read, worth in json.loads(str(held["readings"]))
                ]
                doubted = [str(said) for said in json.loads(str(held["doubted"]))]
                whole_slips = [str(said) for said in json.loads(str(held["whole_slips"]))]
                surface_sd = float(held["surface_sd"])
            with contextlib.suppress(OSError):
                os.utime(file)  # touched: what is used stays longest
        except Exception:  # missing, cut short, or no archive at all: it is worked out anew
            return None
        from .shapes import GRID

        if points.shape != (*GRID, 3) or any(q.basis not in BASES for q in quantities.values()):
            return None
        return Figures(key, quantities, points, [], readings, doubted, whole_slips, surface_sd, samples)

    def store(self, figures: Figures) -> None:
        """Keeps the figures; a folder that cannot be written to is no matter."""
        import numpy

        if self.folder is None or figures.points is None:
            return
        quantities = {name: [q.value, q.unit, q.basis, q.sd] for name, q in figures.quantities.items()}
        data = io.BytesIO()
        numpy.savez(
            data, quantities=numpy.array(json.dumps(quantities)), points=figures.points,
            readings=numpy.array(json.dumps(figures.readings)), doubted=numpy.array(json.dumps(figures.doubted)),
            whole_slips=numpy.array(json.dumps(figures.whole_slips)), surface_sd=numpy.array(figures.surface_sd),
        )  # fmt: skip
        with contextlib.suppress(OSError):
            self.folder.mkdir(parents=True, exist_ok=True)
            replace(self._file(self.folder, figures.key, figures.samples), data.getvalue())

    def make_room(self) -> None:
        """Lets go what was longest untouched of its own, where more is kept than `MOST_KEPT`."""
        if self.folder is None:
            return
        with contextlib.suppress(OSError):
            ours = [entry for entry in os.scandir(self.folder) if _OUR_FILE.fullmatch(entry.name) and entry.is_file()]
            held = [(entry.stat().st_mtime_ns, entry.path) for entry in ours]
            if len(held) <= MOST_KEPT:
                return
            for _, path in sorted(held)[: len(held) - int(MOST_KEPT * (1 - MADE_ROOM))]:
                Path(path).unlink(missing_ok=True)
