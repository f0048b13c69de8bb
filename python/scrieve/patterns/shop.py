"""A shop's choices, kept once: in `[shop]` of the table's head, or in a file `shop.toml` beside the table.

    cutter = "6mm"
    letters = "text"

    [moulds]
    thickness = "18mm"
    ribbands = "sheer, chine 1"

    [nest]
    sheet = "2440mm x 1220mm x 18mm"

Names are those of the options on the command line and in Python, with `_` or `-`. What stands at the top goes for every
pattern and writer; a table named after a pattern has that pattern's options, and `[nest]` those of laying parts on
sheets, which the main job then does too. In the head of an `.offsets` file the
tables are `[shop]` and `[shop.moulds]`. What is said on the command line goes before the table's head, and that before
the file.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from .._core import Reading
from ..errors import PluginError, ReadingError
from ..outputs import note_read
from ..plugin.options import Declared, Length, Option, declared
from ..plugin.registry import OURS, plugins
from ..table.pages.mapping import Keys, mistake, table_error
from ..table.table import Table
from .nest import WRITTEN, nest
from .run import options_of

try:
    import tomllib
except ModuleNotFoundError:  # Python 3.10
    import tomli as tomllib  # type: ignore[no-redef]

# What the file beside a table is called.
BESIDE = "shop.toml"
# A page of choices at most; what is larger is some other file.
LARGEST_BYTES = 1_000_000

CUTTER = Declared(
    "cutter", float, None, Length("diameter of the cutter: corners it cannot reach into are relieved by it")
)
NEST = "nest"
SHEET = Declared(
    "sheet", str, None, Option(f"stock, parted by commas: such as {WRITTEN}; those that come first are used first")
)
PATTERNS = Declared(
    "patterns", str, None,
    Option("whose parts are laid, parted by commas; left out, those of all patterns that are got out of sheets"),
)  # fmt: skip
DEDUCT = Declared("deduct", float, None, Length("planking to deduct; left out, the table's own"))


def writer_options() -> dict[str, Declared]:
    """The options of the built-in writers, by name."""
    ours = [plugin for plugin in plugins("writers") if plugin.package == OURS]
    return {option.name: option for plugin in ours for option in declared(plugin.load().write)}


@dataclass(frozen=True)
class Choice:
    """One choice: of which pattern (nothing: of all), its option, what was chosen, as it was written, and where."""

    pattern: str
    name: str
    value: Any
    written: str
    source: str


@dataclass
class Choices:
    """What was chosen. A later choice of the same goes before an earlier one."""

    made: dict[tuple[str, str], Choice] = field(default_factory=dict)

    def add(self, choice: Choice) -> None:
        """Takes one more."""
        self.made[choice.pattern, choice.name] = choice

    def told(self, source: str, pattern: str = "", **given: Any) -> Choices:
        """These, and what else was said, for all patterns or for nesting; what is None was not said."""
        more = Choices(dict(self.made))
        known = nest_options() if pattern else _for_all()
        for name, value in given.items():
            if value is not None:
                length = isinstance(known[name].option, Length)
                more.add(Choice(pattern, name, value, f"{1e3 * value:g} mm" if length else str(value), source))
        return more

    def value(self, name: str) -> Any:
        """What was chosen for all patterns; None where nothing was."""
        choice = self.made.get(("", name))
        return None if choice is None else choice.value

    def of_writers(self) -> dict[str, Any]:
        """Options of writers that were chosen."""
        return {name: self.value(name) for name in writer_options() if ("", name) in self.made}

    def of_pattern(self, pattern: str, options: Iterable[Declared] = ()) -> dict[str, Any]:
        """Options of a pattern that were chosen; of its `options`, also those that go by another pattern's choice."""
        by_others = {
            option.name: self.made.get(option.option.like or ("", "")) for option in options if option.option.like
        }
        like = {name: choice.value for name, choice in by_others.items() if choice is not None}
        own = {choice.name: choice.value for choice in self.made.values() if choice.pattern == pattern}
        return like | own

    def listed(self) -> list[dict[str, str]]:
        """Each as the index shows it."""
        return [
            {
                "choice": f"{choice.pattern}: {choice.name}".removeprefix(": ").replace("_", " "),
                "chosen": choice.written,
                "said in": choice.source,
            }
            for choice in self.made.values()
        ]


def nest_options() -> dict[str, Declared]:
    """What is chosen of nesting, by name."""
    own = [option for option in declared(nest) if option.name != "boat"]
    return {option.name: option for option in (SHEET, PATTERNS, *own)}


def _for_all() -> dict[str, Declared]:
    return {**writer_options(), CUTTER.name: CUTTER, DEDUCT.name: DEDUCT}


def of_table(table: Table, path: Path, beside: Path | None = None) -> Choices:
    """The choices that go with a table read from `path`: those of the file `beside` it (left out, `shop.toml` in its
    folder where there is one), and those of its own head. Raises `TableError` with every mistake, `OSError`."""
    choices = Choices()
    if beside is None:
        beside = path.parent / BESIDE
        if not beside.is_file():
            beside = None
    if beside is not None:
        with open(beside, "rb") as file:
            data = file.read(LARGEST_BYTES + 1)
        note_read(beside)
        _take(choices, beside, data.decode(errors="replace"), 0, in_head=False)
    head, before = _head(table.to_text())
    if re.search(r"^\s*\[\s*shop\b|^\s*shop\b", head, re.MULTILINE):
        _take(choices, path, head, before, in_head=True)
    return choices


def _head(text: str) -> tuple[str, int]:
    """The head of a table's text, and how many lines stand before it."""
    lines = text.split("\n")
    fences = [i for i, line in enumerate(lines) if line.strip() == "+++"][:2]
    if len(fences) < 2:
        return "", 0
    return "\n".join(lines[fences[0] + 1 : fences[1]]), fences[0] + 1


def carried(source: str, text: str) -> str:
    """A table's text with the shop's choices in its head that stand in the head of another's, `source`, and not in its
    own."""
    at_shop = re.compile(r"^\s*\[\s*shop\s*[.\]]")
    kept: list[str] = []
    taken = False
    for line in _head(source)[0].split("\n"):
        if re.match(r"\s*\[", line):
            taken = at_shop.match(line) is not None
        if taken:
            kept.append(line)
    head, before = _head(text)
    if not kept or any(at_shop.match(line) for line in head.split("\n")):
        return text
    lines = text.split("\n")
    end = before + len(head.split("\n"))
    while kept and not kept[-1].strip():
        kept.pop()
    return "\n".join([*lines[:end], "", *kept, *lines[end:]])


class _Places:
    """Where keys stand in a file, table by table."""

    def __init__(self, path: Path, text: str, before: int) -> None:
        self.path, self.before = path, before
        self.tables: dict[str, Keys] = {}
        self.offsets: dict[str, int] = {}
        begun, name = 0, ""
        lines = text.split("\n")
        for i, line in [*enumerate(lines), (len(lines), "[")]:
            heading = re.match(r"\s*\[\s*([^\]]*?)\s*\]", line + "]" if line == "[" else line)
            if heading:
                self.tables.setdefault(name, Keys(path, "\n".join(lines[begun:i])))
                self.offsets.setdefault(name, begun)
                begun, name = i, heading[1].replace('"', "").replace("'", "").replace(" ", "")

    def mistake(self, table: str, key: str, text: str, expected: str) -> dict[str, Any]:
        keys = self.tables.get(table)
        cell = keys.cell(key, key.replace("_", "-"), table) if keys else Keys(self.path, "").cell()
        cell.line += self.before + self.offsets.get(table, 0)
        return mistake(self.path, cell, text, expected)


def _take(choices: Choices, path: Path, text: str, before: int, *, in_head: bool) -> None:
    if len(text) > LARGEST_BYTES:
        raise table_error([mistake(path, Keys(path, "").cell(), "", "a page of choices, not over 1 MB")])
    try:
        read = tomllib.loads(text)
    except tomllib.TOMLDecodeError as failed:
        told = re.search(r"\(at line (\d+), column (\d+)\)", str(failed))
        cell = Keys(path, "").cell()
        if told:
            cell.line, cell.column = before + int(told[1]), int(told[2])
        said = re.sub(r"\s*\(at [^)]*\)", "", str(failed))
        expected = "`name = value` lines and `[pattern]` headings"
        raise table_error([mistake(path, cell, f"not TOML: {said}", expected)]) from None
    shop = read.get("shop") if in_head else read
    places = _Places(path, text, before)
    mistakes: list[dict[str, Any]] = []
    if not isinstance(shop, dict):
        mistakes.append(places.mistake("", "shop", "`shop` is no table", "a heading [shop], choices below it"))
        raise table_error(mistakes)
    patterns = {plugin.name: plugin for plugin in reversed(plugins("patterns"))}
    prefix = "shop" if in_head else ""
    for key, value in shop.items():
        if not isinstance(value, dict):
            _one(choices, places, mistakes, (prefix, "", key), value, _for_all())
            continue
        at = f"{prefix}.{key}".removeprefix(".")
        if key == NEST:
            for name, chosen in value.items():
                _one(choices, places, mistakes, (at, key, name), chosen, nest_options())
            continue
        if key not in patterns:
            text_, expected = f"no pattern is called `{key}`", _like(key, {**patterns, NEST: None})
            mistakes.append(places.mistake(at, key, text_, expected))
            continue
        try:
            known = {option.name: option for option in options_of(patterns[key])}
        except PluginError as broken:
            mistakes.append(places.mistake(at, key, str(broken), "a pattern whose options can be told"))
            continue
        for name, chosen in value.items():
            _one(choices, places, mistakes, (at, key, name), chosen, known)
    if mistakes:
        raise table_error(sorted(mistakes, key=lambda one: (one["line"], one["column"])))


def _one(
    choices: Choices, places: _Places, mistakes: list[dict[str, Any]], at: tuple[str, str, str], value: Any,
    known: Mapping[str, Declared],
) -> None:  # fmt: skip
    table, pattern, key = at
    name = key.replace("-", "_")
    if name not in known:
        whose = "nesting" if pattern == NEST else f"the pattern {pattern}" if pattern else "a shop"
        mistakes.append(places.mistake(table, key, f"no choice of {whose} is called `{key}`", _like(name, known)))
        return
    try:
        chosen = converted(known[name], value)
    except ValueError as wrong:
        text, expected = wrong.args
        mistakes.append(places.mistake(table, key, f"`{key}` {text}", expected))
        return
    if not pattern and isinstance(known[name].option, Length) and chosen < 0.0:
        mistakes.append(places.mistake(table, key, f"`{key}` is {value!r}, less than nothing", "a length of 0 or more"))
        return
    written = value if isinstance(value, str) else str(value).lower()
    choices.add(Choice(pattern, name, chosen, written, places.path.name))


def _like(name: str, known: Mapping[str, Any]) -> str:
    near = difflib.get_close_matches(name, list(known), n=1)
    listed = ", ".join(sorted(known))
    return f"`{near[0]}`, or another of {listed}" if near else f"one of {listed}"


def converted(option: Declared, value: Any) -> Any:
    """A value of TOML as the option takes it. Raises `ValueError` of what is wrong and what was expected."""
    told: Option = option.option
    if isinstance(told, Length):
        length = 'a length with its unit, "18mm", or a reading, "0-0-6"'
        if not isinstance(value, str):
            raise ValueError(f"is {value!r}", length)
        try:
            return Reading(value).m
        except ReadingError as wrong:
            raise ValueError(
                f"is {value!r}: {wrong}", 'a length with its unit, "18mm", or a reading, "0-0-6"'
            ) from None
    if told.choices:
        if value not in told.choices:
            raise ValueError(f"is {value!r}", "one of " + ", ".join(f'"{choice}"' for choice in told.choices))
        return value
    if option.type is bool:
        if not isinstance(value, bool):
            raise ValueError(f"is {value!r}", "true or false")
        return value
    if option.type in (int, float):
        if isinstance(value, bool) or not isinstance(value, (int, option.type)):
            raise ValueError(f"is {value!r}", "a number" if option.type is float else "a whole number")
        return option.type(value)
    if not isinstance(value, str):
        raise ValueError(f"is {value!r}", 'text in quotes, "..."')
    return value
