"""The verbs of the command line. Each reads its input, calls the library, and says what came out."""

from __future__ import annotations

import functools
import shutil
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import click

from . import Drawing, Reading, ReadingError, ScrieveError, files, outputs, ranges
from ._columns import columns_text
from ._plugins import GROUPS, Plugin, find, plugins
from .cli import ERROR, FINDINGS, emit, progress
from .errors import Fault, Note, NotMade, PluginError
from .options import Declared, Length, declared
from .table import Table
from .tables import PickedUp, measured, write_csv

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


# A line bent to no less than 10 km: over a 10 m boat it stands 1 mm off its chord.
STRAIGHT_PER_M = 1e-4


# So many readings are listed of a table that describes no one fair hull, unless all are asked for.
QUERIES_OF_NO_HULL = 8


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


def read_and_fair(table: Path, how: How, fairing: dict[str, Any], output: Path | None = None) -> Any:
    """The hull of a table, once `output` is known for none of what is read."""
    outputs.claim(output, *how.inputs(table))
    got = how.read(table)
    outputs.claim(output)
    for warning in got.warnings:
        click.echo(warning, err=True)
    with progress(f"fairing {got.name}"):
        hull = got.fair(**fairing)
    if hull.no_hull is not None:
        click.echo(f"{hull.name}: {hull.no_hull}", err=True)
    for remark in hull.remarks:
        if remark != hull.no_hull:
            click.echo(f"note: {remark}", err=True)
    tell_queries(hull)
    return hull


# So many queries are told where a hull is faired for something else: `scrieve proof` lists them all.
QUERIES_TOLD = 6


def tell_queries(hull: Any) -> None:
    """Says which readings the rest of the boat contradicts and are kept in her; her remarks name those left out."""
    doubted = hull.corrections()
    out = set(zip(doubted.station[doubted.doubted], doubted.row[doubted.doubted], strict=True))
    kept = [q for q in hull.queries() if (q.station, q.row) not in out]
    shown = kept[: QUERIES_OF_NO_HULL if hull.no_hull is not None else QUERIES_TOLD]
    for q in shown:
        expected = f"the rest of the boat expects {q.expected_reading}"
        click.echo(f"queried, and kept: {q.row} at {q.station} reads {q.reading}, {expected}", err=True)
    if len(kept) > len(shown):
        click.echo(f"and {len(kept) - len(shown)} more; `scrieve proof` lists them", err=True)
    against = [text for text in hull._core.against_itself if text not in hull.remarks]
    for text in against[:QUERIES_TOLD]:
        click.echo(f"the table against itself: {text}", err=True)
    if len(against) > QUERIES_TOLD:
        click.echo(f"and {len(against) - QUERIES_TOLD} more; `scrieve proof` lists them", err=True)


def tell_not_judged(facts: list[str]) -> None:
    """Says which facts no reading tells again; that is no finding."""
    for fact in facts:
        click.echo(f"not judged: {fact}", err=True)


def findings_of(hull: Any) -> list[str]:
    """What the rest of the boat contradicts of her table, a few words each: readings or facts, left out or not, a whole
    row or column; and what the table says against itself. They are what her remarks and queries say one by one.

    What is drawn is then not of all that was read, or of what should be read again.
    """
    core = hull._core
    out = int(hull.corrections().doubted.sum())
    queried = len(hull.queries())
    said = {
        "the table describes no one fair hull": hull.no_hull is not None,
        f"{len(core.whole_slips)} of a whole row or column": core.whole_slips,
        "a fact of the table is off": core.doubts_facts,
        f"{queried} queried": queried,
        f"{out} left out": out,
        f"{len(core.against_itself)} against the table's own readings": core.against_itself,
    }
    return [text for text, so in said.items() if so]


def end_with_findings(hull: Any, *more: str) -> None:
    """Ends with status 1 where there is anything to say against her table, or `more` is; and says in a line why."""
    found = [*findings_of(hull), *(text for text in more if text)]
    if found:
        click.echo(f"status 1: {'; '.join(found)}", err=True)
        raise click.exceptions.Exit(FINDINGS)


def not_made(failures: list[Any]) -> str:
    """How many parts could not be made, or would be stumbled over."""
    return f"{len(failures)} not made" if failures else ""


class Told(NamedTuple):
    """What was warned of: what could not be made or would be stumbled over, and the rest."""

    failures: list[str]
    notes: list[str]


@contextmanager
def telling() -> Iterator[Told]:
    """Says what is warned of within, and gives it afterwards."""
    given = Told([], [])
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always", Note)
        yield given
    said = [(str(w.message), w.category) for w in told if issubclass(w.category, Note)]
    for text, kind in said:
        (given.failures if issubclass(kind, (NotMade, Fault)) else given.notes).append(text)
    for text, kind in dict.fromkeys(said):
        what = "not made" if issubclass(kind, NotMade) else "to mend" if issubclass(kind, Fault) else "note"
        click.echo(f"{what}: {text}", err=True)


class Kept:
    """A write that failed, told once the report that goes with it has been."""

    def __init__(self) -> None:
        self.error: Exception | None = None

    @contextmanager
    def __call__(self) -> Iterator[None]:
        try:
            yield
        except (OSError, ValueError) as error:
            self.error = error

    def tell(self) -> None:
        if self.error is not None:
            raise self.error


def no_json_beside(output: Path | None, as_json: bool) -> None:
    """Raises where two things would go to standard output."""
    if as_json and output == outputs.STANDARD:
        raise click.UsageError("--json and -o - both go to standard output: give a file to one of them")


@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("readings", nargs=-1, type=click.UNPROCESSED)
@click.option("--to", "to", type=UNITS, required=True, help="Units to write.")
@click.option(
    "--units", type=UNITS, default="feet-inches-eighths", show_default=True,
    help="Units of a number written without one.",
)  # fmt: skip
@click.option(
    "--two-part",
    type=click.Choice(["feet-inches", "inches-eighths"]),
    help="What a reading of two parts means.",
)
@click.option("--plus", default="1/16", show_default=True, help="What + and - are worth, in inches.")
@click.option("--precision", type=PRECISION, default="1/16", show_default=True, help="How finely eighths are written.")
@click.option("--lenient", is_flag=True, help="Take parts out of range, such as 3-12-0, with a warning.")
@AS_JSON
def convert(
    readings: tuple[str, ...], to: str, units: str, two_part: str | None, plus: str, precision: str,
    lenient: bool, as_json: bool,
) -> None:  # fmt: skip
    """Convert READINGS, or a column of them from standard input, one a line.

    A line that is no reading is reported with its number, the rest are converted, and the status is 2.

    \b
    scrieve convert 3-4-5+ --to mm
    scrieve convert "1033.4625 mm" --to feet-inches-eighths
    """
    source = "argument" if readings and readings != ("-",) else "line"
    texts = list(readings) if source == "argument" else sys.stdin.read().splitlines()
    rows, failed = [], False
    for number, text in enumerate(texts, 1):
        if source == "line" and not text.strip():
            continue
        try:
            reading = Reading(text, units=units, two_part=two_part, plus=plus, lenient=lenient)
            row = {"reading": text, to: reading.to(to, precision=precision), "mark": reading.mark}
        except ReadingError as error:
            failed = True
            click.echo(f"{source} {number}: {error}", err=True)
            row = {"reading": text, to: None, "error": str(error)}
        rows.append(row)
        if not as_json and row[to] is not None:
            click.echo(row[to])
    if as_json:
        emit(rows)
    if failed:
        raise click.exceptions.Exit(ERROR)


@click.command()
@TABLE
@click.option(
    "-o", "--output", type=OUTPUT_FILE, help="Write the faired table here; - is standard output, and the report then "
    "goes to standard error.",
)  # fmt: skip
@click.option(
    "--full-size", is_flag=True, help="Write a scaled table at the boat's size, scale and shrinkage worked in.",
)  # fmt: skip
@click.option(
    "--units", type=click.Choice(["feet-inches-eighths", "in", "ft", "mm", "cm", "m"]),
    help="Write the table at the boat's size in these units.",
)  # fmt: skip
@click.option("--all", "every", is_flag=True, help="List every reading, not only those past tolerance.")
@fairing_options
@READER
@AS_JSON
def fair(
    table: Path, output: Path | None, full_size: bool, units: str | None, every: bool, fairing: dict[str, Any],
    how: How, as_json: bool,
) -> None:  # fmt: skip
    """Fair TABLE and say how far each reading moved.

    The status is 1 where the table does not describe one fair hull, which is said first, where a reading or a fact is
    queried or left out, as `scrieve proof` would, and where one moved past its tolerance by more than the hull itself
    is in doubt there (two standard deviations).
    TABLE itself is never changed.
    """
    no_json_beside(output, as_json)
    if output is None and (full_size or units):
        raise click.UsageError(f"{'--units' if units else '--full-size'} is of the table that -o writes: give -o")
    hull = read_and_fair(table, how, fairing, output)
    tell_not_judged(hull.not_judged)
    corrections = hull.corrections()
    past = corrections[corrections.past | corrections.doubted]
    findings = corrections[(corrections.moved.abs() > corrections.tolerance + 2 * corrections.sd) | corrections.doubted]
    aside = output == outputs.STANDARD
    writing = Kept()
    if output is not None:
        with writing():
            outputs.replace(output, hull.table(full_size=full_size, units=units).to_text().encode())
    written = [output] if output and not aside and not writing.error else []
    if as_json:
        emit(
            {
                "name": hull.name,
                "no_hull": hull.no_hull,
                "corrections": corrections.to_dict("records"),
                "fairness": hull.fairness().to_dict("records"),
                "evidence": hull.evidence().to_dict("records"),
                "remarks": hull.remarks,
                "not_judged": hull.not_judged,
                "written": written,
            }
        )
    else:
        moved = corrections[~corrections.doubted].moved.abs()
        click.echo(
            f"{hull.name}: {len(corrections)} readings, moved {1e3 * (moved**2).mean() ** 0.5:.2f} mm rms, "
            f"{1e3 * moved.max():.2f} mm at most, {len(past)} past tolerance or left out",
            err=aside,
        )
        # Of what is no hull every reading may be past its tolerance, and none tells anything.
        most = len(past) if hull.no_hull is None else QUERIES_OF_NO_HULL
        listed = corrections if every else past[:most]
        if len(listed):
            click.echo(_corrections_text(listed), err=aside)
        if len(past) > len(listed):
            click.echo(f"and {len(past) - len(listed)} more; --all lists them", err=aside)
        click.echo(_fairness_text(hull.fairness()), err=aside)
        unread = hull.evidence()
        if len(unread):
            click.echo(_evidence_text(unread, every), err=aside)
        if written:
            click.echo(f"wrote {output}")
    writing.tell()
    end_with_findings(hull, f"{len(findings)} moved past tolerance or left out" if len(findings) else "")


def _corrections_text(corrections: Any) -> str:
    rows = [("station", "row", "read mm", "faired mm", "moved mm", "")]
    for c in corrections.itertuples():
        said = "left out" if c.doubted else "past tolerance" if c.past else ""
        rows.append((c.station, c.row, f"{1e3 * c.read:.1f}", f"{1e3 * c.faired:.1f}", f"{1e3 * c.moved:+.1f}", said))
    return columns_text(rows, right={2, 3, 4})


# So many stretches without a reading are listed, the longest, unless all are asked for.
UNREAD_SHOWN = 12


def _evidence_text(unread: Any, every: bool) -> str:
    """The stretches of lines that no reading is near, the longest of them where they are many."""
    shown = unread if every else unread.loc[unread.length.nlargest(UNREAD_SHOWN).index.sort_values()]
    rows = [("no reading near", "from x mm", "to x mm", "length mm", "sd mm", "")]
    for line in shown.itertuples():
        sd = "" if line.sd != line.sd else f"{1e3 * line.sd:.1f}"
        ends = (f"{1e3 * line.from_x:.0f}", f"{1e3 * line.to_x:.0f}", f"{1e3 * line.length:.0f}")
        rows.append((line.line, *ends, sd, line.why))
    more = len(unread) - len(shown)
    return columns_text(rows, right={1, 2, 3, 4}) + (f"\nand {more} shorter; --all lists them" if more else "")


def _fairness_text(fairness: Any) -> str:
    rows = [("line", "length mm", "least radius mm", "changes of curvature")]
    for line in fairness.itertuples():
        straight = line.greatest_curvature < STRAIGHT_PER_M
        radius = "straight" if straight else f"{1e3 / line.greatest_curvature:.0f}"
        rows.append((line.line, f"{1e3 * line.length:.0f}", radius, str(line.sign_changes)))
    return columns_text(rows, right={1, 2, 3})


@click.command()
@TABLE
@click.option(
    "-o", "--output", type=OUTPUT_FILE, required=True, help="lines.svg or lines.dxf; - is standard output, as SVG."
)
@click.option("--scale", type=float, help="Draw at 1 to this; left out, to fit the sheet.")
@click.option("--units", type=click.Choice(["table", "readings", "mm"]), default="table", show_default=True)
@fairing_options
@READER
@AS_JSON
def lines(
    table: Path, output: Path, scale: float | None, units: str, fairing: dict[str, Any],
    how: How, as_json: bool,
) -> None:  # fmt: skip
    """Draw the lines of TABLE, faired: sheer plan, half-breadth plan, body plan, diagonals."""
    no_json_beside(output, as_json)
    hull = read_and_fair(table, how, fairing, output)
    with telling() as told:
        written = files.write(
            hull.lines(scale=scale, units=units), output, "svg" if output == outputs.STANDARD else None
        )
    _say_written(written, as_json)
    end_with_findings(hull, not_made(told.failures))


def _say_written(written: list[Path], as_json: bool) -> None:
    if as_json:
        emit({"written": written})
    else:
        for path in written:
            click.echo(f"wrote {path}")


@click.command()
@TABLE
@click.option(
    "-o",
    "--output",
    type=OUTPUT_FOLDER,
    required=True,
    help="Folder to write into. What an earlier run wrote there is replaced or taken away, nothing else.",
)
@click.option("--deduct", type=LENGTH, help="Planking to deduct; left out, the table's own.")
@fairing_options
@READER
@AS_JSON
def loft(table: Path, output: Path, deduct: float | None, fairing: dict[str, Any], how: How, as_json: bool) -> None:
    """Fair TABLE and write all that is picked up from it: lines, moulds, set-up, bevels, backbone, transom.

    Begin with index.html in the folder. The status is 1 where a part could not be made, or readings are queried or
    left out; the rest is there.
    """
    from . import job

    outputs.claim_folder(output, *how.inputs(table))
    hull = read_and_fair(table, how, fairing)
    ranges.check(hull, deduct=deduct)
    with progress(f"picking up {hull.name}"):
        done = job.loft(hull, output, deduct)
    if as_json:
        emit({
            "name": hull.name, "written": done.written, "removed": done.removed, "failures": done.failures,
            "remarks": hull.remarks, "evidence": hull.evidence().to_dict("records"),
        })  # fmt: skip
    else:
        click.echo(done.summary())
    end_with_findings(hull, not_made(done.failures))


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


@click.command(cls=Patterns)
def pickup() -> None:
    """Pick up one thing from a faired table."""


def _pattern_option(option: Declared) -> Any:
    """An option of a pattern as the command line has it: lengths are typed as readings, and shown in millimetres."""
    kind: Any = LENGTH if isinstance(option.option, Length) else option.type
    if option.option.choices:
        kind = click.Choice(option.option.choices)
    flag, shown = "--" + option.name.replace("_", "-"), bool(option.default)
    if option.type is bool:
        flag, shown = f"{flag}/--no-{option.name.replace('_', '-')}", True
    # Shown as it would be typed.
    default = f"{1e3 * option.default:g}mm" if kind is LENGTH and option.default is not None else option.default
    return click.option(flag, option.name, type=kind, default=default, show_default=shown, help=option.option.help)


def _pattern_command(name: str) -> click.Command:
    from .job import refuse_no_hull

    plugin = find("patterns", name)
    options, said = _options_of(plugin)

    def run(
        table: Path, output: Path, writer: str, paper: str | None, fairing: dict[str, Any], how: How,
        as_json: bool, **given: Any,
    ) -> None:  # fmt: skip
        pages = {"paper": paper} if paper else {}
        if pages and (output.suffix[1:].lower() or writer) != "pdf":
            raise click.UsageError("--paper is for patterns on paper: write a .pdf, or a folder with --writer pdf")
        no_json_beside(output, as_json)
        find("writers", writer)
        hull = read_and_fair(table, how, fairing, output)
        refuse_no_hull(hull)
        with telling() as told:
            lengths = {o.name: given[o.name] for o in options if isinstance(o.option, Length)}
            ranges.check(hull, **lengths)
            with progress(f"drawing {name}"):
                drawings = plugin.call("draw", hull, **given)
            if not isinstance(drawings, list) or not all(isinstance(drawing, Drawing) for drawing in drawings):
                raise PluginError(f"{plugin} gave {str(drawings):.80} where a list of Drawing was expected")
            if not drawings:
                raise ScrieveError(f"{plugin} drew nothing")
            tables = drawings.tables if isinstance(drawings, PickedUp) else {}
            with progress(f"writing {name}"):
                written, removed = _write_picked_up(name, drawings, tables, output, writer, pages)
        if as_json:
            rows = {name: frame.to_dict("records") for name, frame in tables.items()}
            emit(
                {
                    "written": written,
                    "removed": removed,
                    "tables": rows,
                    "failures": told.failures,
                    "remarks": told.notes,
                }
            )
        else:
            _say_written(written, as_json)
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
        click.option(
            "--paper",
            type=click.Choice(["A4", "A3", "Letter", "Tabloid"]),
            help="Full size on sheets of this, to be joined; a .pdf left without it is one long sheet.",
        ),  # fmt: skip
        *map(_pattern_option, options),
        fairing_options,
        READER,
        AS_JSON,
    ]
    command: Any = run
    for decorate in reversed(decorators):
        command = decorate(command)
    return click.command(name, help=said)(command)


# What every pattern's command has already; the last are the names of its other parameters.
TAKEN = {"table", "output", "writer", "paper", "stiffness", "tolerance", "trusting", "reader", "json", "help"} | {
    "mapping", "fairing", "how", "as_json",
}  # fmt: skip


def _options_of(plugin: Plugin) -> tuple[list[Declared], str]:
    """The options of a pattern and its description. Raises `PluginError` where they cannot be told."""
    pattern = plugin.load()
    draw = getattr(pattern, "draw", None)
    if draw is None:
        raise PluginError(f"{plugin} has no draw()")
    try:
        options = declared(draw)
    except Exception as error:
        raise PluginError(f"{plugin}: its options cannot be told: {error}") from error
    taken = sorted({option.name for option in options} & TAKEN)
    if taken:
        raise PluginError(f"{plugin} has an option {taken[0]!r}, which every pattern has already")
    said = getattr(pattern, "__doc__", None)
    return options, said if isinstance(said, str) else ""


def _write_picked_up(
    name: str, drawings: list[Drawing], tables: dict[str, Any], output: Path, writer: str, pages: dict[str, Any]
) -> tuple[list[Path], list[Path]]:
    """Drawings and tables put in their places together: the files, and what of an earlier run was taken away.

    A drawing that is not to be cut by is warned of, and the others are written.
    """
    sound = []
    for drawing in drawings:
        wrong = files.faults(drawing)
        if wrong:
            warnings.warn(NotMade(f'drawing "{drawing.name}": {wrong[0]}'), stacklevel=2)
        else:
            sound.append(drawing)
    if not sound:
        raise ScrieveError("nothing is written: none of what was drawn is to be cut by")
    if output == outputs.STANDARD:
        return files.write(sound, output, writer, **pages), []
    if output.suffix:
        folder = output.parent
        with outputs.together(folder) as apart:
            made = files.write(sound, apart / output.name, None, **pages)
            for table_name, frame in tables.items():
                made += write_csv(apart / f"{output.stem}-{table_name}.csv", measured(frame))
            return [folder / path.relative_to(apart) for path in made], []
    lot = outputs.Lot(output, f"picked-up-{name}")
    with lot.made() as apart:
        made = files.write(sound, apart, writer, **pages)
        for table_name, frame in tables.items():
            made += write_csv(apart / f"{table_name}.csv", measured(frame))
        written = [output / path.relative_to(apart) for path in made]
    return written, lot.removed


@click.command()
@click.argument("folder", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("-o", "--output", type=OUTPUT_FILE, help="Write the table here, as CSV; - is standard output.")
@click.option(
    "--by", type=click.Choice(["length", "all"]), default="length", show_default=True,
    help="What hulls are brought to one size by: length, or length, beam and depth each.",
)  # fmt: skip
@click.option(
    "--between", nargs=2, multiple=True, metavar="BOAT BOAT",
    help="Say where the second of two boats is fuller than the first, and by how much. May be given again.",
)  # fmt: skip
@click.option(
    "--uncertainty", is_flag=True,
    help="Say in CSV and JSON how sure the readings make each measure, at the load waterline as it is written, as "
    "<name>_sd: takes some eight times longer.",
)  # fmt: skip
@click.option(
    "--moulded-to", type=click.Choice(["inside", "outside"]),
    help="The face of the planking all are brought to; left out, the one all are given to, or the inside. Most boats "
    "given to the inside cannot be brought outside.",
)  # fmt: skip
@click.option(
    "--planking", type=LENGTH, help="Thickness assumed where a file gives none and she has to be carried by it."
)
@click.option("--leave-out", multiple=True, metavar="BOAT", help="Leave this boat out. May be given again.")
@click.option("--no-cache", is_flag=True, help="Measure every boat anew, and keep nothing.")
@READER
@AS_JSON
def compare(
    folder: tuple[Path, ...], output: Path | None, by: str, between: tuple[tuple[str, str], ...], uncertainty: bool,
    moulded_to: str | None, planking: float | None, leave_out: tuple[str, ...], no_cache: bool, how: How,
    as_json: bool,
) -> None:  # fmt: skip
    """Compare the boats of FOLDER, or of the files given: facts, measures, nearest relatives.

    The distance of two shapes is that between corresponding points of their surfaces, root mean square, in
    millimetres to the metre of length. All boats are brought to one face of the planking first. Nothing is left out
    unasked: pairs nearer than their readings can tell apart, as copies and sisters are, are told. Status 1 where
    there are such, a whole row or column of a table is off, or a file or a measure failed; the rest is done.
    """
    from . import comparison

    no_json_beside(output, as_json)
    if uncertainty and output is None and not as_json:
        raise click.UsageError("--uncertainty takes its time and shows in CSV and JSON: give -o or --json")
    done = comparison.compare(
        folder, by=by, cache=not no_cache, reader=how.reader, mapping=how.mapping, uncertainty=uncertainty,
        output=output, moulded_to=moulded_to, planking=planking, leave_out=leave_out,
    )  # fmt: skip
    gaps = [done.gap(*pair) for pair in between]
    aside = output == outputs.STANDARD
    writing = Kept()
    if output is not None:
        with writing():
            done.write(output)
    written = [output] if output and not aside and not writing.error else []
    if as_json:
        emit(done.as_data(gaps) | {"written": written})
    else:
        click.echo("\n".join(done.heading()) + "\n", err=aside)
        click.echo("\n\n".join(columns_text(rows, right) for rows, right in done.blocks(_width())), err=aside)
        for gap in gaps:
            click.echo(f"\n{gap}\n\n{gap.frame().round(1).to_string()}", err=aside)
        if written:
            click.echo(f"wrote {output}")
    for said in done.said():
        click.echo(said, err=True)
    writing.tell()
    if done.findings:
        raise click.exceptions.Exit(FINDINGS)


def _width() -> int:
    return shutil.get_terminal_size((110, 40)).columns


@click.command(name="plugins")
@click.argument("group", required=False, type=click.Choice(GROUPS))
@AS_JSON
def list_plugins(group: str | None, as_json: bool) -> None:
    """List readers, patterns, writers and measures. The status is 1 where one is broken or a name is taken twice."""
    rows, broken = [], False
    for plugin in plugins(group):
        row = {
            "kind": plugin.group,
            "name": plugin.name,
            "package": plugin.package,
            "version": plugin.version,
        }
        try:
            find(plugin.group, plugin.name)
            row["summary"] = plugin.summary
            if claims := files.claimed_by_ours(plugin):
                said = ", ".join(f".{suffix}" for suffix in claims)
                row["error"] = f"claims {said}, which the built-in one keeps: ask for this one by its name"
                broken = True
        except PluginError as error:
            row["error"] = str(error)
            broken = True
        rows.append(row)
    if as_json:
        emit(rows)
    else:
        table = [
            (
                r["kind"],
                r["name"],
                f"{r['package']} {r['version']}",
                f"BROKEN: {r['error']}" if "error" in r else r["summary"],
            )
            for r in rows
        ]
        click.echo(columns_text([("kind", "name", "package", ""), *table], right=set()))
    if broken:
        raise click.exceptions.Exit(FINDINGS)
