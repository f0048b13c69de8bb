"""What a plain installation leaves out, and what to install where it is wanted."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from .errors import ScrieveError, error


@contextmanager
def extra(name: str) -> Iterator[None]:
    """Around the imports of an extra's packages: says which extra is missing."""
    try:
        yield
    except ImportError as missing:
        what, remedy = f"{missing.name} is not installed", f"pip install 'scrieve[{name}]'"
        raise error(ScrieveError, what, where=missing.name, remedy=remedy) from missing
