"""The boats of a collection, each by a name of her own."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, NamedTuple


class Namesake(NamedTuple):
    """A file whose boat has name, builder and year of an earlier file's."""

    path: Path
    first: Path


class Lacking(NamedTuple):
    """A boat that `where` passed over, because she has no such fact or measure."""

    boat: str
    name: str


@dataclass(frozen=True)
class Boat:
    """One boat of a collection: her file, its facts, and what her figures are cached under."""

    name: str
    path: Path
    facts: dict[str, Any] = field(repr=False)
    """The head of her file, which nobody changes."""
    key: str = field(repr=False)
    face_said: bool = field(default=True, repr=False)
    """Whether the file says which face of the planking it is of; if not, the outside is assumed."""
    open_ends: tuple[str, ...] = field(default=(), repr=False)
    """Ends that her file does not tell of, a sentence each: she is made as far as her stations reach."""

    def fact(self, name: str) -> Any:
        """A fact of her file, or one of its extras. Raises `KeyError`."""
        return self.facts[name] if name in self.facts else self.facts.get("extra", {})[name]


def told_apart(boats: list[Boat]) -> list[Boat]:
    """The boats, those of one name with the name of their file, and a number where that is not enough: none of them
    is the one who is meant by the bare name."""
    many = {name for name, count in Counter(boat.name for boat in boats).items() if count > 1}
    names = {boat.name for boat in boats}
    told = []
    for boat in boats:
        name, number = boat.name, 2
        if name in many:
            name = with_file = f"{name} ({boat.path.stem})"
            while name in names:
                name, number = f"{with_file} {number}", number + 1
            names.add(name)
        told.append(replace(boat, name=name))
    return told
