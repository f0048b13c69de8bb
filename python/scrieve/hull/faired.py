"""What everything that can be asked of a faired hull stands on: the hull of the core, and where she came from."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeVar

from .. import _core

if TYPE_CHECKING:
    from ..table.table import Table

H = TypeVar("H", bound="Faired")

# How a hull was made, by which she is made again in another process: ("faired", table, options, how the one before
# was made), ("to", how made, face, thickness) or ("sample", how made, how many, seed, which). A table is one of the
# core, or its text and the name of its file.
Made = tuple[Any, ...]

# Hulls made again that a process keeps, for the next job is likely of one of them.
KEPT = 8


class Faired:
    """One side of a faired hull, as the core has it.

    Tables ask for hulls (`Table.fair`) and hulls give tables. So that one of the two arrows is enough, a hull is told
    of which class her tables are by the table she is faired from.
    """

    __slots__ = ("_core", "_made", "_tables")

    def __init__(self, core: _core.Hull, tables: type[Table], made: Made) -> None:
        self._core = core
        self._tables = tables
        self._made = made

    def _like(self: H, core: _core.Hull, made: Made) -> H:
        """Another hull from the same table."""
        return type(self)(core, self._tables, made)

    def __copy__(self: H) -> H:
        # The core is never changed, so both may have it.
        return self._like(self._core, self._made)

    def __deepcopy__(self: H, memo: dict[int, Any]) -> H:
        return self._like(self._core, self._made)

    def __reduce__(self) -> tuple[Any, ...]:
        """She is pickled as what she was made of, and faired again from it, to the bit: that takes a fit."""
        return _again, (type(self), self._tables, _written(self._made))

    @property
    def source(self) -> Table:
        """The table she was faired from."""
        return self._tables(self._core.source())

    @property
    def name(self) -> str:
        """The boat's name."""
        return self.source.name

    @property
    def table_sha256(self) -> str:
        """SHA-256 of the table she was faired from, of its text as `Table.write` writes it."""
        return hashlib.sha256(self.source.to_text().encode()).hexdigest()

    def _named(self, drawings: list[_core.Drawing]) -> list[_core.Drawing]:
        """The same drawings, told whose they are and of which table."""
        name, digest = self.name, self.table_sha256
        for drawing in drawings:
            drawing.boat, drawing.table_sha256 = name, digest
        return drawings

    @property
    def dimensions(self) -> dict[str, float]:
        """Principal dimensions of the moulded hull, m."""
        return self._core.dimensions()


def _again(hulls: type[H], tables: type[Table], made: Made) -> H:
    return hulls(_core_of(made), tables, made)


def _written(made: Made) -> Made:
    """The same with the table as text."""
    how, of, *rest = made
    if how != "faired":
        return how, _written(of), *rest
    options, previous = rest
    text = of if isinstance(of, tuple) else (of.to_text().encode(), of.file)
    return how, text, options, None if previous is None else _written(previous)


@lru_cache(maxsize=KEPT)
def _core_of(made: Made) -> _core.Hull:
    how, of, *rest = made
    if how == "faired":
        (stiffness, robust, tolerance), previous = rest
        before = None if previous is None else _core_of(previous)
        table = _core.read_offsets(*of)
        return _core.fair(table, stiffness=stiffness, robust=robust, tolerance=tolerance, previous=before)
    if how == "to":
        return _core_of(of).on_face(*rest)
    count, seed, which = rest
    return _samples_of(of, count, seed)[which]


@lru_cache(maxsize=1)
def _samples_of(made: Made, count: int, seed: int) -> list[_core.Hull]:
    return _core.samples(_core_of(made), count, seed)
