"""Options of pattern plugins, declared in the signature of `draw` and offered by the command line.

    def draw(self, hull, *, deduct: Annotated[float | None, Length("what to take off")] = None): ...

Each keyword-only parameter becomes an option: its name, its type, its default and the help given here.
"""

from __future__ import annotations

import inspect
import typing
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, get_args

from ..errors import PluginError


@dataclass(frozen=True)
class Option:
    """An option and its help. `choices`, where given, are the only values it takes."""

    help: str
    choices: tuple[str, ...] = ()
    like: tuple[str, str] | None = None
    """A pattern and its option whose choice in a shop's file goes for this too, where nothing else is chosen: what is
    one thing for two patterns is said once."""


@dataclass(frozen=True)
class Length(Option):
    """A length: metres in Python, typed as a reading or with its unit on the command line."""


@dataclass(frozen=True)
class Planking(Length):
    """The thickness of the planking: what the main job is told of it (`scrieve loft --deduct`) every pattern gets."""


@dataclass(frozen=True)
class Declared:
    """One option as a pattern's signature declares it."""

    UNTOLD: ClassVar = inspect.Parameter.empty
    """The default of one that has none."""

    name: str
    type: type
    default: Any
    option: Option


def declared(draw: Callable[..., Any]) -> list[Declared]:
    """The options that `draw` takes. Raises `PluginError` for a type no command line can offer."""
    found = []
    for name, parameter in inspect.signature(draw).parameters.items():
        if parameter.kind is not parameter.KEYWORD_ONLY:
            continue
        hint = parameter.annotation if parameter.annotation is not parameter.empty else str
        if isinstance(hint, str):  # written under `from __future__ import annotations`
            hint = eval(hint, inspect.unwrap(getattr(draw, "__func__", draw)).__globals__)
        option = next((m for m in getattr(hint, "__metadata__", ()) if isinstance(m, Option)), Option(""))
        if hasattr(hint, "__metadata__"):
            hint = get_args(hint)[0]
        kinds = [kind for kind in (get_args(hint) or (hint,)) if kind is not type(None)]
        if typing.get_origin(hint) in (list, tuple) or kinds[0] not in (bool, int, float, str):
            raise PluginError(f"option {name!r} has type {hint}: expected bool, int, float or str")
        found.append(Declared(name, kinds[0], parameter.default, option))
    return found
