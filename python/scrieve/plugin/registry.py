"""The four extension points: readers, patterns, writers, measures.

A plugin is an object named by an entry point of one of the groups; the built-in ones are declared in the
same way, in pyproject.toml. Nothing is imported until it is asked for.
"""

from __future__ import annotations

import copy
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import metadata
from typing import Any

from ..errors import PluginError, error

GROUPS = ("readers", "patterns", "writers", "measures")

# Whose plugins are the built-in ones: asked first, and trusted with their errors.
OURS = "scrieve"

# An import that takes longer hangs, for all that a person can tell.
IMPORT_S = 10.0


@dataclass(frozen=True)
class Plugin:
    """One entry point: what it is called, what it is for, and whose it is."""

    group: str
    name: str
    package: str
    version: str
    _entry: metadata.EntryPoint | None = field(repr=False, compare=False)
    """None where it is declared wrongly: its name is then what stands there."""
    _imported: list[Any] = field(default_factory=list, repr=False, compare=False)
    """What importing it gave, once it was asked for."""

    def __str__(self) -> str:
        return f"{self.group[:-1]} {self.name!r} of {self.package} {self.version}"

    def load(self) -> Any:
        """The plugin object. Raises `PluginError` if it does not import, or not soon."""
        if self.package == OURS and self._entry is not None:
            return self._entry.load()
        if not self._imported:
            self._imported.append(_imported(self))
        found = self._imported[0]
        if isinstance(found, PluginError):
            raise found
        return found

    @property
    def module(self) -> str | None:
        """The module it is in, where its entry point says."""
        try:
            return None if self._entry is None else self._entry.module
        except Exception:  # what stands for the object names none
            return None

    @property
    def summary(self) -> str:
        """First line of the plugin's own description. Raises `PluginError` if it does not import."""
        said = getattr(self.load(), "__doc__", None)
        return said.strip().partition("\n")[0] if isinstance(said, str) else ""

    def call(self, method: str, *args: Any, **options: Any) -> Any:
        """Calls a method of the plugin. What a stranger's code raises comes out as a `PluginError`.

        A stranger gets copies, so that what it changes nobody else sees. A built-in plugin's errors about the user's
        input pass unchanged: they are scrieve's own.
        """
        function = getattr(self.load(), method, None)
        if function is None:
            raise error(PluginError, f"{self} has no {method}()", where=self, plugin=self)
        if self.package == OURS:
            return function(*args, **options)
        return self._guarded(f"failed in {method}()", lambda: function(*map(_lent, args), **options))

    def _guarded(self, what: str, work: Callable[[], Any]) -> Any:
        """What the work gives; whatever it raises but Ctrl-C, leaving included, becomes a `PluginError`."""
        try:
            return work()
        except KeyboardInterrupt:
            raise
        except BaseException as raised:
            said = f"{self} {what}: {type(raised).__name__}: {raised}"
            raise error(PluginError, said, where=self, plugin=self) from raised


def _lent(value: Any) -> Any:
    """A copy of what a plugin is given, as far as it could be changed."""
    from .._core import Drawing

    if isinstance(value, Drawing):
        return value.copy()
    if isinstance(value, list):
        return [_lent(item) for item in value]
    return copy.deepcopy(value)


def _imported(plugin: Plugin) -> Any:
    """A stranger's plugin, or why it cannot be loaded: trying again would gain nothing.

    It is imported on a thread of its own, so that one that hangs is waited for only so long.
    """
    if plugin._entry is None:
        return PluginError(f"{plugin} is declared wrongly: expected name = module:object")
    done: list[Any] = []

    def work() -> None:
        try:
            done.append(plugin._guarded("could not be loaded", plugin._entry.load))  # type: ignore[union-attr]
        except PluginError as failed:
            done.append(failed)
        except KeyboardInterrupt as stopped:  # not a person's: that comes to the main thread
            done.append(PluginError(f"{plugin} could not be loaded: {type(stopped).__name__}"))

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    thread.join(IMPORT_S)
    return done[0] if done else PluginError(f"{plugin} could not be loaded: not done in {IMPORT_S:g} s")


@lru_cache(maxsize=1)
def _discover() -> dict[str, tuple[Plugin, ...]]:
    found: dict[str, list[Plugin]] = {group: [] for group in GROUPS}
    seen = set()
    for package in metadata.distributions():
        try:
            declared = package.read_text("entry_points.txt") or ""
        except UnicodeDecodeError as error:
            declared = bytes(error.object).decode(errors="replace")
        except Exception:  # unreadable: nothing of ours can be told from it
            continue
        # Most packages declare nothing of ours; parsing what they do declare is what takes time.
        if "[scrieve." not in declared:
            continue
        # An editable install and its build folder can both be on the path: the first is the one imported.
        name, version = _whose(package)
        if name in seen:
            continue
        seen.add(name)
        for group, entry in _entries(declared):
            found[group].append(Plugin(group, entry[0], name, version, entry[1]))
    ours_first = {
        group: sorted(list_, key=lambda p: (p.package != OURS, p.name, p.package)) for group, list_ in found.items()
    }
    return {group: tuple(list_) for group, list_ in ours_first.items()}


def _whose(package: metadata.Distribution) -> tuple[str, str]:
    """Name and version; a question mark for what its metadata does not say."""
    try:
        facts = package.metadata  # parsed at every asking
        return str(facts["Name"] or "?"), str(facts["Version"] or "?")
    except Exception:
        return "?", "?"


def _entries(declared: str) -> list[tuple[str, tuple[str, metadata.EntryPoint | None]]]:
    """What a package declares in our groups, line by line, so that one malformed line costs itself only."""
    entries: list[tuple[str, tuple[str, metadata.EntryPoint | None]]] = []
    group = ""
    for line in map(str.strip, declared.splitlines()):
        if line.startswith("["):
            group = line.strip("[]").strip().removeprefix("scrieve.") if line.startswith("[scrieve.") else ""
        elif line and not line.startswith(("#", ";")) and group in GROUPS:
            name, equals, value = (part.strip() for part in line.partition("="))
            sound = name and equals and metadata.EntryPoint.pattern.match(value)
            entries.append((group, (name, metadata.EntryPoint(name, value, f"scrieve.{group}") if sound else None)))
    return entries


def plugins(group: str | None = None) -> list[Plugin]:
    """Every plugin there is, or those of one group: readers, patterns, writers, measures."""
    if group is not None and group not in GROUPS:
        what = f"no such kind of plugin: {group!r}; there are {', '.join(GROUPS)}"
        raise error(PluginError, what, where=group)
    found = _discover()
    return [plugin for g in GROUPS if group in (None, g) for plugin in found[g]]


def find(group: str, name: str) -> Plugin:
    """The plugin of that name. Raises `PluginError` if there is none, or more than one, listing them."""
    named = [plugin for plugin in plugins(group) if plugin.name == name]
    if len(named) == 1:
        return named[0]
    if named:
        claims = " and ".join(f"{plugin.package} {plugin.version}" for plugin in named)
        what = f"{claims} both have a {group[:-1]} called {name!r}; uninstall one of them"
        raise error(PluginError, what, where=name)
    names = ", ".join(dict.fromkeys(plugin.name for plugin in plugins(group)))
    raise error(PluginError, f"no {group[:-1]} called {name!r}; there are: {names}", where=name)
