"""scrieve: from a table of offsets to a fair hull, moulds a router can cut, and designs compared.

    table = scrieve.read("sandling.offsets")
    hull = table.fair()
    scrieve.write(hull.moulds(), "moulds.dxf")

Lengths are metres and angles degrees unless a name says otherwise; readings are exact.
"""

from . import _program as _program  # isort: skip
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    __version__: str
    from ._core import Drawing as Drawing
    from ._core import Reading as Reading
    from .compare.collection import Collection as Collection
    from .compare.collection import collection as collection
    from .errors import DrawingError as DrawingError
    from .errors import FairingError as FairingError
    from .errors import FloatingError as FloatingError
    from .errors import HullError as HullError
    from .errors import LoftError as LoftError
    from .errors import PluginError as PluginError
    from .errors import ReadingError as ReadingError
    from .errors import ScrieveError as ScrieveError
    from .errors import TableError as TableError
    from .files import read as read
    from .files import write as write
    from .hull.batten import Batten as Batten
    from .hull.batten import batten as batten
    from .hull.curve import Curve as Curve
    from .hull.hull import Hull as Hull
    from .patterns.nest import Nest as Nest
    from .patterns.nest import Sheet as Sheet
    from .patterns.nest import nest as nest
    from .plugin.registry import plugins as plugins
    from .spars.spar import Spar as Spar
    from .table.table import Table as Table

# Each name is imported when it is first asked for, so that the command line and `import scrieve` start at once.
_HOMES = {
    "Batten": "hull.batten",
    "Collection": "compare.collection",
    "Curve": "hull.curve",
    "Drawing": "_core",
    "DrawingError": "errors",
    "FairingError": "errors",
    "FloatingError": "errors",
    "Hull": "hull.hull",
    "HullError": "errors",
    "LoftError": "errors",
    "Nest": "patterns.nest",
    "PluginError": "errors",
    "Reading": "_core",
    "ReadingError": "errors",
    "ScrieveError": "errors",
    "Sheet": "patterns.nest",
    "Spar": "spars.spar",
    "Table": "table.table",
    "TableError": "errors",
    "batten": "hull.batten",
    "collection": "compare.collection",
    "nest": "patterns.nest",
    "plugins": "plugin.registry",
    "read": "files",
    "write": "files",
}

__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name == "__version__":
        from importlib.metadata import version

        value = globals()[name] = version(__name__)
        return value
    if name not in _HOMES:
        raise AttributeError(f"module 'scrieve' has no attribute {name!r}")
    value = globals()[name] = getattr(import_module(f".{_HOMES[name]}", __name__), name)
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOMES})
