"""The four extension points: readers, patterns, writers, measures.

A plugin is an object named by an entry point of one of the groups; the built-in ones are declared in the
same way, in pyproject.toml. Nothing is imported until it is asked for.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from importlib import metadata
from typing import Any

from .errors import PluginError

GROUPS = ("readers", "patterns", "writers", "measures")


@dataclass(frozen=True)
class Plugin:
    """One entry point: what it is called, what it is for, and whose it is."""

    group: str
    name: str
    package: str
    version: str
    _entry: metadata.EntryPoint = field(repr=False, compare=False)

    def __str__(self) -> str:
        return f"{self.group[:-1]} {self.name!r} of {self.package} {self.version}"

    def load(self) -> Any:
        """The plugin object. Raises `PluginError` if it does not import."""
        try:
            return self._entry.load()
        except Exception as error:
            raise PluginError(f"{self} could not be loaded: {type(error).__name__}: {error}") from error

    @property
    def summary(self) -> str:
        """First line of the plugin's own description. Raises `PluginError` if it does not import."""
        return (getattr(self.load(), "__doc__", None) or "").strip().partition("\n")[0]

    def call(self, method: str, *args: Any, **options: Any) -> Any:
        """Calls a method of the plugin. What a stranger's code raises comes out as a `PluginError`.

        A built-in plugin's errors about the user's input pass unchanged: they are scrieve's own.
        """
        function = getattr(self.load(), method, None)
        if function is None:
            raise PluginError(f"{self} has no {method}()")
        try:
            return function(*args, **options)
        except Exception as error:
            if self.package == "scrieve" and isinstance(error, (ValueError, OSError)):
                raise
            raise PluginError(f"{self} failed in {method}(): {type(error).__name__}: {error}") from error


@lru_cache(maxsize=1)
def _discover() -> dict[str, tuple[Plugin, ...]]:
    found: dict[str, list[Plugin]] = {group: [] for group in GROUPS}
    seen = set()
    for package in metadata.distributions():
        # Most packages declare nothing of ours; parsing what they do declare is what takes time.
        if "[scrieve." not in (package.read_text("entry_points.txt") or ""):
            continue
        # An editable install and its build folder can both be on the path: the first is the one imported.
        facts = package.metadata  # parsed at every asking
        name, version = facts["Name"], facts["Version"]
        if name in seen:
            continue
        seen.add(name)
        for entry in package.entry_points:
            group = entry.group.removeprefix("scrieve.")
            if group in GROUPS and group != entry.group:
                found[group].append(Plugin(group, entry.name, name, version, entry))
    return {group: tuple(sorted(list_, key=lambda p: (p.name, p.package))) for group, list_ in found.items()}


def plugins(group: str | None = None) -> list[Plugin]:
    """Every plugin there is, or those of one group: readers, patterns, writers, measures."""
    if group is not None and group not in GROUPS:
        raise PluginError(f"no such kind of plugin: {group!r}; there are {', '.join(GROUPS)}")
    found = _discover()
    return [plugin for g in GROUPS if group in (None, g) for plugin in found[g]]


def find(group: str, name: str) -> Plugin:
    """The plugin of that name. Raises `PluginError` if there is none, or more than one, listing them."""
    named = [plugin for plugin in plugins(group) if plugin.name == name]
    if len(named) == 1:
        return named[0]
    if named:
        claims = " and ".join(f"{plugin.package} {plugin.version}" for plugin in named)
        raise PluginError(f"{claims} both have a {group[:-1]} called {name!r}; uninstall one of them")
    names = ", ".join(dict.fromkeys(plugin.name for plugin in plugins(group)))
    raise PluginError(f"no {group[:-1]} called {name!r}; there are: {names}")
