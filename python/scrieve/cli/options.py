"""Arguments and options that several verbs have, and the types of what is typed."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import click

from .. import files, outputs
from .._core import Reading
from ..errors import ReadingError
from ..table.table import Table
from .telling import progress

UNITS = click.Choice(["feet-inches-eighths", "in", "ft", "mm", "cm", "m"])
PRECISION = click.Choice(["1/8", "1/16", "1/32"])
TABLE = click.argument("table", type=click.Path(exists=True, dir_okay=False, path_type=Path))
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Report as JSON.")


class How(NamedTuple):
    """How a verb is told to read its table."""

    reader: str | None
    mapping: Path | None

    def inputs(self, table: Path) -> list[Path]:
        """The files that are read."""
        return [table] if self.mapping is None else [table, self.mapping]

    def read(self, table: Path) -> Table:
        """The table. Raises as `files.read`."""
        with progress(f"reading {table}"):
            return files.read(table, self.reader, mapping=self.mapping)


def READER(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of every verb that reads a table; the command takes them as one, `how`."""

    @functools.wraps(command)
    def run(*args: Any, reader: str | None, mapping: Path | None, **given: Any) -> Any:
        return command(*args, how=How(reader, mapping), **given)

    run = click.option(
        "--mapping", type=click.Path(exists=True, dir_okay=False, path_type=Path),
        help="How a printed page becomes a table (.toml); left out, the file of the same name beside it.",
    )(run)  # fmt: skip
    return click.option("--reader", help="Name of the reader plugin, where the file does not tell.")(run)


class LengthType(click.ParamType):  # type: ignore[type-arg] # generic in newer clicks only
    """A length: a reading, or a number with its unit; metres inside."""

    name = "length"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        if isinstance(value, float):
            return value
        try:
            return Reading(value).m
        except ReadingError as error:
            self.fail(f"{error} (a length is written 0-0-4 or with its unit, 12.7mm)", param, ctx)


LENGTH = LengthType()


class OutputFile(click.Path):
    """A file to be written: a plain file, a new name, or - for standard output. A link is followed."""

    def __init__(self) -> None:
        super().__init__(dir_okay=False, path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if value == "":
            self.fail("names nothing: give a file, or - for standard output", param, ctx)
        path: Any = super().convert(value, param, ctx)
        if path != outputs.STANDARD and path.exists() and not path.is_file():
            self.fail(f"{path} is no plain file: give a file, a new name, or - for standard output", param, ctx)
        return path


OUTPUT_FILE = OutputFile()


class OutputFolder(click.Path):
    """A folder to write into, or a file where a verb may write one. An empty name, as a path, would be this folder."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if value == "":
            self.fail("names nothing: give a folder, . for this one", param, ctx)
        return super().convert(value, param, ctx)


OUTPUT_FOLDER = OutputFolder()
INTO_FOLDER = click.option(
    "-o", "--output", type=OUTPUT_FOLDER, required=True,
    help="Folder to write into. What an earlier run wrote there is replaced or taken away, nothing else.",
)  # fmt: skip


class ToleranceType(click.ParamType):  # type: ignore[type-arg] # as above
    """LENGTH for every reading, ROW=LENGTH for a row, STATION/ROW=LENGTH for one reading."""

    name = "tolerance"

    def get_metavar(self, param: click.Parameter, ctx: click.Context | None = None) -> str:
        return "[[STATION/]ROW=]LENGTH"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        row, _, length = value.rpartition("=")
        station, slash, within = row.partition("/")
        key = None if not row else (station.strip(), within.strip()) if slash else row.strip()
        return key, LENGTH.convert(length.strip(), param, ctx)


def fairing_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of every verb that fairs; the command takes them as one, `fairing`."""

    @functools.wraps(command)
    def run(*args: Any, stiffness: float, trusting: bool, tolerance: tuple[Any, ...], **given: Any) -> Any:
        fairing = {"stiffness": stiffness, "robust": not trusting, "tolerance": dict(tolerance)}
        return command(*args, fairing=fairing, **given)

    run = click.option(
        "--stiffness", type=float, default=1.0, show_default=True,
        help="Stiffness of the batten: 1 is what the readings call for, 2 twice as stiff.",
    )(run)  # fmt: skip
    run = click.option(
        "--tolerance", type=ToleranceType(), multiple=True,
        help="How far readings may be off, at full size: all of them, or those of a row, such as "
        '"waterline 1-3-0=2mm" or "sheer=0-0-1", or one, such as "4/sheer height=1mm". May be repeated.',
    )(run)  # fmt: skip
    return click.option(
        "--trusting", is_flag=True, help="Leave out no reading, even one the rest of the boat contradicts."
    )(run)


def no_json_beside(output: Path | None, as_json: bool) -> None:
    """Raises where two things would go to standard output."""
    if as_json and output == outputs.STANDARD:
        raise click.UsageError("--json and -o - both go to standard output: give a file to one of them")
