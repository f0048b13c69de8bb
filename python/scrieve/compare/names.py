"""Boats by their names."""

from __future__ import annotations

from collections.abc import Iterable

from ..errors import ScrieveError


def no_boat(name: str, names: Iterable[str]) -> ScrieveError:
    """Says that no boat is called so, and which are, or which of several of that name there are."""
    listed = list(names)
    several = [other for other in listed if other.startswith(f"{name} (")]
    if several:
        return ScrieveError(f"several boats are called {name!r}: say which, {' or '.join(map(repr, several))}")
    return ScrieveError(f"no boat called {name!r}; there are: {', '.join(listed)}")
