"""What everything that can be asked of a faired hull stands on: the hull of the core, and where she came from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from .. import _core

if TYPE_CHECKING:
    from ..table.table import Table

H = TypeVar("H", bound="Faired")


class Faired:
    """One side of a faired hull, as the core has it.

    Tables ask for hulls (`Table.fair`) and hulls give tables. So that one of the two arrows is enough, a hull is told
    of which class her tables are by the table she is faired from.
    """

    __slots__ = ("_core", "_tables")

    def __init__(self, core: _core.Hull, tables: type[Table]) -> None:
        self._core = core
        self._tables = tables

    def _like(self: H, core: _core.Hull) -> H:
        """Another hull from the same table."""
        return type(self)(core, self._tables)

    def __copy__(self: H) -> H:
        # The core is never changed, so both may have it.
        return self._like(self._core)

    def __deepcopy__(self: H, memo: dict[int, Any]) -> H:
        return self._like(self._core)

    @property
    def source(self) -> Table:
        """The table she was faired from."""
        return self._tables(self._core.source())

    @property
    def name(self) -> str:
        """The boat's name."""
        return self.source.name

    @property
    def dimensions(self) -> dict[str, float]:
        """Principal dimensions of the moulded hull, m."""
        return self._core.dimensions()
