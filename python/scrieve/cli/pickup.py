"""`scrieve pickup`: one pattern, with the options its `draw` declares."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
from click.core import ParameterSource

from .. import files, outputs
from .._core import Drawing
from ..errors import PluginError, ScrieveError
from ..patterns.run import draw, options_of, refuse_no_hull, sound
from ..patterns.shop import CUTTER, writer_options
from ..plugin.options import Declared, Planking
from ..plugin.registry import Plugin, find, plugins
from ..tables import measured, write_csv
from ..units import is_metric
from ..units import told as told_units
from .fairing import faired, read
from .options import (
    AS_JSON,
    OUTPUT_FOLDER,
    READER,
    TABLE,
    How,
    fairing_options,
    no_json_beside,
)
from .shop import Told, as_option, shop_options
from .telling import (
    emit,
    end_with_findings,
    not_made,
    progress,
    say_written,
    telling,
)


class Patterns(click.Group):
    """One command for each pattern plugin, with the options its `draw` declares."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(dict.fromkeys(plugin.name for plugin in plugins("patterns")))

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in self.list_commands(ctx):
            return None
        return _pattern_command(name)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        rows = []
        for plugin in plugins("patterns"):
            try:
                rows.append((plugin.name, plugin.summary))
            except PluginError as error:
                rows.append((plugin.name, f"broken: {error}"))
        with formatter.section("Patterns"):
            formatter.write_dl(rows)


@click.command("pickup", cls=Patterns)
def verb() -> None:
    """Pick up one thing from a faired table."""


def _pattern_command(name: str) -> click.Command:
    plugin = find("patterns", name)
    options, said = _told_of(plugin)

    def run(
        table: Path, output: Path, writer: str, shop: Told, fairing: dict[str, Any], how: How, as_json: bool,
        **given: Any,
    ) -> None:  # fmt: skip
        no_json_beside(output, as_json)
        find("writers", writer)
        _refuse_options_of_others(shop.given, output, writer)
        outputs.claim(output, *shop.inputs(table))
        source = read(table, how, output)
        # A mistake in what was chosen is told before minutes of fairing.
        choices = shop.choices(source, table)
        hull = faired(source, fairing)
        refuse_no_hull(hull)
        of_writer = _writer_options(output, writer, choices.of_writers())
        # What was typed goes before what the shop chose, and that before what is usual.
        context = click.get_current_context()
        usual = {n for n in given if context.get_parameter_source(n) == ParameterSource.DEFAULT}
        deduct = choices.value("deduct")
        planking = {o.name: deduct for o in options if isinstance(o.option, Planking) and deduct is not None}
        given |= {n: value for n, value in (planking | choices.of_pattern(name, options)).items() if n in usual}
        with telling() as told:
            with progress(f"drawing {name}"):
                drawings = draw(plugin, hull, given, choices.value("cutter"))
            tables = drawings.tables
            with progress(f"writing {name}"):
                written, removed = _write_picked_up(
                    name, drawings, tables, output, writer, of_writer, is_metric(source)
                )
        if as_json:
            rows = {name: frame.to_dict("records") for name, frame in tables.items()}
            emit(
                {
                    "written": written,
                    "removed": removed,
                    "tables": rows,
                    "units": {name: told_units(frame) for name, frame in tables.items()},
                    "failures": told.failures,
                    "remarks": told.notes,
                }
            )
        else:
            say_written(written, as_json)
            for path in removed:
                click.echo(f"took away {path}, of an earlier run")
        end_with_findings(hull, not_made(told.failures))

    decorators: list[Any] = [
        TABLE,
        click.option(
            "-o",
            "--output",
            type=OUTPUT_FOLDER,
            required=True,
            help="A file (all in one), or a folder (a file each); - is standard output.",
        ),
        click.option("--writer", default="dxf", show_default=True, help="Writer of each file, where -o is a folder."),
        *map(as_option, options),
        shop_options,
        fairing_options,
        READER,
        AS_JSON,
    ]
    command: Any = run
    for decorate in reversed(decorators):
        command = decorate(command)
    return click.command(name, help=said)(command)


# What every pattern's command has already; the last are the names of its other parameters.
TAKEN = {"table", "output", "writer", "stiffness", "tolerance", "trusting", "reader", "json", "help"} | {
    "mapping", "fairing", "how", "as_json", "shop", "shop_file", "cutter",
}  # fmt: skip


def _told_of(plugin: Plugin) -> tuple[list[Declared], str]:
    """The options of a pattern and its description. Raises `PluginError` where they cannot be told."""
    options = options_of(plugin)
    taken = sorted({option.name for option in options} & (TAKEN | set(writer_options())))
    if taken:
        raise PluginError(f"{plugin} has an option {taken[0]!r}, which every pattern has already")
    said = getattr(plugin.load(), "__doc__", None)
    return options, said if isinstance(said, str) else ""


def _writer_options(output: Path, writer: str, chosen: dict[str, Any]) -> dict[str, Any]:
    """Those of the options chosen that the writer of this output has."""
    by_name = writer if output == outputs.STANDARD or not output.suffix else None
    return files.options_of(output, chosen, by_name)


def _refuse_options_of_others(typed: dict[str, Any], output: Path, writer: str) -> None:
    """Raises where an option was typed that the writer of this output does not have."""
    asked = {name: value for name, value in typed.items() if value is not None and name != CUTTER.name}
    has = _writer_options(output, writer, asked)
    for name in asked.keys() - has.keys():
        flag = "--" + name.replace("_", "-")
        whose = next(p for p in plugins("writers") if name in files.options_of(output, asked, p.name))
        raise click.UsageError(
            f"{flag} is an option of {whose.name} files: write a .{whose.name}, or a folder with --writer {whose.name}"
        )


def _write_picked_up(
    name: str, drawings: list[Drawing], tables: dict[str, Any], output: Path, writer: str, chosen: dict[str, Any],
    metric: bool,
) -> tuple[list[Path], list[Path]]:  # fmt: skip
    """Drawings and tables put in their places together: the files, and what of an earlier run was taken away.

    A drawing that is not to be cut by is warned of, and the others are written.
    """
    kept = sound(drawings)
    if not kept:
        raise ScrieveError("nothing is written: none of what was drawn is to be cut by")
    if output == outputs.STANDARD:
        return files.write(kept, output, writer, **chosen), []
    if output.suffix:
        folder = output.parent
        with outputs.together(folder) as apart:
            made = files.write(kept, apart / output.name, None, **chosen)
            for table_name, frame in tables.items():
                made += write_csv(apart / f"{output.stem}-{table_name}.csv", measured(frame, metric))
            return [folder / path.relative_to(apart) for path in made], []
    lot = outputs.Lot(output, f"picked-up-{name}")
    with lot.made() as apart:
        made = files.write(kept, apart, writer, **chosen)
        for table_name, frame in tables.items():
            made += write_csv(apart / f"{table_name}.csv", measured(frame, metric))
        written = [output / path.relative_to(apart) for path in made]
    return written, lot.removed
