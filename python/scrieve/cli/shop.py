"""The shop's choices on the command line: for all patterns and writers, by the names they have in `[shop]`."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import click

from ..plugin.options import Declared, Length
from .options import LENGTH

SAID_HERE = "the command line"


class Told(NamedTuple):
    """What was said on the command line, and the file of choices named there."""

    file: Path | None
    given: dict[str, Any]

    def inputs(self, table: Path) -> list[Path]:
        """The file of choices that is read, where there is one."""
        from ..patterns.shop import BESIDE

        file = self.file or table.parent / BESIDE
        return [file] if file.is_file() else []

    def choices(self, source: Any, table: Path) -> Any:
        """All choices, those of the command line first. Raises `TableError`, `OSError`."""
        from ..patterns import shop

        return shop.of_table(source, table, self.file).told(SAID_HERE, **self.given)


def as_option(option: Declared, shown: bool = True) -> Any:
    """An option as the command line has it: lengths are typed as readings, and shown in millimetres. Where it is not
    `shown`, what is left out is left to others to decide."""
    kind: Any = LENGTH if isinstance(option.option, Length) else option.type
    if option.option.choices:
        kind = click.Choice(option.option.choices)
    flag, told = "--" + option.name.replace("_", "-"), bool(option.default)
    if option.type is bool:
        flag, told = f"{flag}/--no-{option.name.replace('_', '-')}", True
    # Shown as it would be typed.
    default = f"{1e3 * option.default:g}mm" if kind is LENGTH and option.default is not None else option.default
    said = option.option.help
    if not shown:
        usual = f"  [default: {default}]" if told else ""
        return click.option(flag, option.name, type=kind, default=None, help=said + usual)
    return click.option(flag, option.name, type=kind, default=default, show_default=told, help=said)


def shop_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of every verb that draws for a shop; the command takes them as one, `shop`."""
    from ..patterns.shop import CUTTER, DEDUCT, writer_options

    options = [CUTTER, *writer_options().values()]
    if command.__name__ == "verb":  # the main job, whose patterns all deduct the same
        options.insert(0, DEDUCT)

    @functools.wraps(command)
    def run(*args: Any, shop_file: Path | None, **given: Any) -> Any:
        told = {option.name: given.pop(option.name) for option in options}
        return command(*args, shop=Told(shop_file, told), **given)

    for option in reversed(options):
        run = as_option(option, shown=False)(run)
    return click.option(
        "--shop", "shop_file", type=click.Path(exists=True, dir_okay=False, path_type=Path),
        help="The shop's choices (.toml); left out, shop.toml beside TABLE.",
    )(run)  # fmt: skip
