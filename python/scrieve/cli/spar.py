"""`scrieve spar`: spars of a table, or one described here."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import files, outputs
from ..errors import LoftError
from ..outputs import Lot
from ..spars.of_table import Told, sails_of, spans, spars_of
from ..spars.report import Asked, Report, report
from ..spars.spar import KINDS, PEG, SCARF, SECTIONS, Spar
from ..tables import measured, write_csv
from ..units import is_metric
from ..writers import PAPERS
from .fairing import read
from .options import AS_JSON, LENGTH, OUTPUT_FOLDER, READER, How
from .telling import Kept, emit, end_with, not_made, telling
from .telling import Told as Warned

_FORMATS = ("svg", "dxf", "pdf")


class PartsType(click.ParamType):  # type: ignore[type-arg] # generic in newer clicks only
    """Parts of the length with parts of the diameter: 0:0.8 0.3:1 1:0.6."""

    name = "parts"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if not isinstance(value, str):
            return value
        pairs = []
        for word in value.replace(",", " ").split():
            first, colon, second = word.partition(":")
            try:
                pairs.append((float(first), float(second)))
            except ValueError:
                self.fail(f"{word!r} is no PLACE:PART: expected such as 0:0.8 0.3:1 1:0.6", param, ctx)
        return pairs


class NewtonsType(click.ParamType):  # type: ignore[type-arg]
    """A force: 300N, or the weight of 30kg."""

    name = "force"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if isinstance(value, float):
            return value
        from ..spars.bending import GRAVITY

        text = str(value).replace(" ", "")
        for unit, times in (("kN", 1e3), ("N", 1.0), ("kg", GRAVITY)):
            if text.endswith(unit):
                try:
                    return float(text.removesuffix(unit)) * times
                except ValueError:
                    break
        self.fail(f"{value!r} is no force: expected such as 300N or 30kg", param, ctx)


class WoodType(click.ParamType):  # type: ignore[type-arg]
    """A species by its name, or a density in kg/m³."""

    name = "wood"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        try:
            return float(value)
        except ValueError:
            return value


PARTS, NEWTONS, WOOD = PartsType(), NewtonsType(), WoodType()


@click.command("spar")
@click.argument("table", required=False, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--spar", "only", multiple=True, help="One of the spars of TABLE; else all. May be repeated.")
@click.option(
    "--spans", "list_spans", is_flag=True, help="List what the sails of TABLE ask of spars, and nothing else."
)
@click.option(
    "--kind", type=click.Choice(list(KINDS)), default="mast", show_default=True, help="What a spar described here is."
)
@click.option("--length", type=LENGTH, help="Its length.")
@click.option("--diameter", type=LENGTH, help="Its greatest diameter, or size fore and aft, or up and down.")
@click.option("--athwart", type=LENGTH, help="Its size athwart, where it is not round.")
@click.option("--section", type=click.Choice(SECTIONS), default="round", show_default=True)
@click.option("--taper", type=PARTS, default="0:0.8 0.3:1 1:0.6", show_default=True,
              help="Parts of the length from the heel, with parts of the diameter: a batten goes through.")  # fmt: skip
@click.option("--wall", type=LENGTH, help="Hollow, with a wall of this.")
@click.option("--staves", type=int, help="Built of so many notched staves, as thick as the wall.")
@click.option("--solid", type=(LENGTH, LENGTH), metavar="HEEL HEAD", help="How much of a hollow one stays solid.")
@click.option("--run-out", type=LENGTH, default=0.0, help="Over this the hollow opens from there.")
@click.option("--straight", help="The face that has no taper: fore or aft of a mast, top or under of others.")
@click.option("--stock", type=LENGTH, help="Length of the stock: what is longer is scarfed.")
@click.option(
    "--blank", type=(LENGTH, LENGTH), metavar="DEPTH ATHWART", help="A squared stick there is: is it large enough?"
)
@click.option("--scarf", type=float, default=SCARF, show_default=True, help="Length of a scarf over its thickness.")
@click.option("--scarf-kind", type=click.Choice(["plain", "stepped"]), default="plain", show_default=True)
@click.option(
    "--kerfs", type=(LENGTH, LENGTH), metavar="PITCH BLADE", help="Kerfs that hollow a half, so wide and apart."
)
@click.option("--species", type=WOOD, help="Wood by its name, or kg/m³; else what TABLE says, or Sitka spruce.")
@click.option("--load", "loads", type=(LENGTH, NEWTONS), multiple=True, metavar="AT FORCE",
              help="A force, 300N or the weight of 30kg, so far from the heel. May be repeated.")  # fmt: skip
@click.option("--spread", type=(LENGTH, LENGTH, NEWTONS), multiple=True, metavar="FROM TO FORCE",
              help="A force on each metre from here to there.")  # fmt: skip
@click.option("--support", "supports", type=LENGTH, multiple=True,
              help="Where it is held: once, built in; twice, free to turn. Else built in at the heel.")  # fmt: skip
@click.option("--load-athwart", is_flag=True, help="The load is athwart; else fore and aft, or up and down.")
@click.option("--at", type=LENGTH, multiple=True, help="What should be measured so far from the heel.")
@click.option("--measured", "readings", type=(LENGTH, str, LENGTH), multiple=True, metavar="AT WHAT SIZE",
              help='What was: 6-0-0 diameter 0-3-7, "eight-side flat" and so on as --at names them.')  # fmt: skip
@click.option("--every", type=LENGTH, help="From ordinate to ordinate; else a foot, or 250 mm for a metric TABLE.")
@click.option("--metric", is_flag=True, help="Write lengths in millimetres; else as TABLE does, or in feet and inches.")
@click.option("-o", "--output", type=OUTPUT_FOLDER, help="Folder for drawings and tables.")
@click.option("--format", "kinds", type=click.Choice(_FORMATS), multiple=True, default=("svg", "dxf"),
              show_default=True, help="Kinds of those drawings.")  # fmt: skip
@click.option("--scale", type=float, help="Faces at 1 to this; 1 is full size; left out, foreshortened to fit a sheet.")
@click.option("--paper", type=click.Choice(PAPERS), help="A .pdf over sheets of this, to be joined.")
@click.option(
    "--peg", type=LENGTH, default=PEG, help="Thickness of the gauges' pegs, 6 mm if not told; 0mm for points."
)
@READER
@AS_JSON
def verb(
    table: Path | None, only: tuple[str, ...], list_spans: bool, kind: str, length: float | None,
    diameter: float | None,
    athwart: float | None, section: str, taper: list[tuple[float, float]], wall: float | None, staves: int | None,
    solid: tuple[float, float] | None, run_out: float, straight: str | None, stock: float | None,
    blank: tuple[float, float] | None, scarf: float,
    scarf_kind: str, kerfs: tuple[float, float] | None, species: Any, loads: tuple[tuple[float, float], ...],
    spread: tuple[tuple[float, float, float], ...], supports: tuple[float, ...], load_athwart: bool,
    at: tuple[float, ...], readings: tuple[tuple[float, str, float], ...], every: float | None, metric: bool,
    output: Path | None, kinds: tuple[str, ...], scale: float | None, paper: str | None, peg: float, how: How,
    as_json: bool,
) -> None:  # fmt: skip
    """Mark out spars: those of TABLE, under [spar.NAME] in its head, or one described by --length and --diameter.

    Blanks, faces with their ordinates, lines for eight, sixteen and thirty-two sides with gauges and how far those are
    off, weight and balance, a load. With -o drawings, gauges to make and tables are written. The status is 1 where a
    spar of TABLE could not be made, a stick is too small, or what was measured has lost wood.
    """
    asked = Asked(species, loads, spread, supports, load_athwart, at, readings, blank)
    if (table is None) == (length is None):
        raise click.UsageError("give a TABLE whose spars it tells, or --length and --diameter of one; not both")
    if list_spans:
        _spans(table, how, as_json)
        return
    failures: list[str] = []
    boat = ""
    if table is not None:
        if output is not None:
            outputs.claim_folder(output, *how.inputs(table))
        source = read(table, how)
        told, failures = _of_table(source, only)
        metric, boat = metric or is_metric(source), source.facts["name"]
    else:
        if diameter is None:
            raise click.UsageError("--length wants --diameter too")
        if output is not None:
            outputs.claim_folder(output)
        size: Any = diameter if athwart is None else (diameter, athwart)
        spar = Spar(
            length or 0.0, size, taper, wall, section=section, staves=staves, solid=solid or (0.0, 0.0),
            run_out=run_out, straight=straight, kind=kind,
        )  # fmt: skip
        told = {kind: Told(spar, None, stock, scarf, scarf_kind, kerfs, "")}
    found = report(told, asked, metric, every, peg, boat)
    found.failures = failures
    written: list[Path] = []
    removed: list[Path] = []
    warned = Warned([], [])
    writing = Kept()
    said = found.as_data() if as_json else found.text()
    if output is not None:
        with writing(), telling() as warned:
            written, removed = _write(found, output, kinds, scale, paper)
    if as_json:
        emit({**found.as_data(), "written": written, "removed": removed})
    else:
        click.echo(said)
        for path in written:
            click.echo(f"wrote {path}")
        for path in removed:
            click.echo(f"took away {path}, of an earlier run")
    for failure in failures:
        click.echo(f"not made: {failure}", err=True)
    writing.tell()
    end_with([*found.short(), *found.gone(), not_made([*failures, *warned.failures])])


def _spans(table: Path | None, how: How, as_json: bool) -> None:
    if table is None:
        raise click.UsageError("--spans are those of the sails of a TABLE")
    source = read(table, how)
    if not sails_of(source):
        raise LoftError(f"{source.facts['name']}'s table tells no sails of three or four corners: [sail.NAME] would")
    found = spans(source)
    if as_json:
        emit({"spans": found.to_dict("records")})
    else:
        click.echo(measured(found, is_metric(source)).to_string(index=False))


def _of_table(source: Any, only: tuple[str, ...]) -> tuple[dict[str, Told], list[str]]:
    """Her spars, and what is wrong with those that cannot be made where others can."""
    from ..spars.of_table import spar_of

    facts = source.facts.get("spars", {})
    if only:
        return {name: spar_of(source, name) for name in only}, []
    if not facts:
        raise LoftError(f"{source.facts['name']}'s table tells no spars: [spar.mast] in its head would")
    if len(facts) == 1:
        return spars_of(source), []
    told, failures = {}, []
    for name in facts:
        try:
            told[name] = spar_of(source, name)
        except LoftError as failed:
            failures.append(str(failed))
    if not told:
        raise LoftError("\n".join(failures))
    return told, failures


def _write(
    found: Report, folder: Path, kinds: tuple[str, ...], scale: float | None, paper: str | None
) -> tuple[list[Path], list[Path]]:
    lot = Lot(folder, "spars")
    with lot.made() as apart:
        written: list[Path] = []
        for drawings in found.drawings(scale).values():
            for drawing in drawings:
                for kind in dict.fromkeys((*kinds, "pdf") if paper else kinds):
                    options = {"paper": paper} if kind == "pdf" and paper else {}
                    path = apart / f"{files.plain_name(drawing.name)}.{kind}"
                    written += files.write([drawing], path, **options)
        for name, frame in found.frames().items():
            written += write_csv(apart / f"{files.plain_name(name)}.csv", frame)
        names = [path.relative_to(apart) for path in written]
    return [folder / name for name in names], lot.removed
