"""What a plain installation leaves out, and what to install where it is wanted."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from .errors import ScrieveError


@contextmanager
def extra(name: str) -> Iterator[None]:
    """Around the imports of an extra's packages: says which extra is missing."""
    try:
        yield
    except ImportError as error:
        raise ScrieveError(f"{error.name} is not installed: pip install 'scrieve[{name}]'") from error
