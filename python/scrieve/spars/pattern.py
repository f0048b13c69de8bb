"""Her spars as a pattern: everything of each that her table tells, drawn and tabled."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

from .. import _core
from ..errors import LoftError, Note, NothingToDraw, NotMade
from ..plugin.given import PickedUp
from ..plugin.lofted import Lofted, Part
from ..plugin.options import Length, Option
from ..tables import frame
from ..units import is_metric
from .of_table import Told, spar_of
from .spar import FOOT, PEG

if TYPE_CHECKING:
    from ..hull.hull import Hull

METRIC_EVERY = 0.25
# Tables of all her spars together, each with a column that says of which.
TABLES = ("layout", "blanks", "scarfs", "kerfs", "gauges", "lines")


class Spars:
    """Spars her table tells: the faces of each blank, sections, gauges, scarfs, and tables of what is marked

    A spar is a table `[spar.NAME]` in the head of the boat's own. Faces are foreshortened, with ordinates, or full
    size at scale 1, to be marked by.
    """

    lofted = Lofted(
        (
            Part("her spars, to look at", ("*",), folder="spars", suffix="svg"),
            Part("the same for CAD, and their gauges to make", ("*",), folder="spars"),
            Part("what is marked on them, got out and scarfed", (), {name: name for name in TABLES}, "spars"),
        ),
        order=75,
        headings={"blanks": "Spars to get out, net"},
        sheets=False,
    )

    def draw(
        self,
        hull: Hull,
        *,
        spar: Annotated[str | None, Option("one of her spars; left out, each of them")] = None,
        every: Annotated[
            float | None, Length("from ordinate to ordinate; left out, a foot, or 250 mm where her table is metric")
        ] = None,
        scale: Annotated[
            float | None,
            Option("faces at 1 to this along and across; 1 is full size; left out, foreshortened to fit a sheet"),
        ] = None,
        peg: Annotated[float, Length("thickness of the pegs of the gauges; 0 for points")] = PEG,
    ) -> list[_core.Drawing]:
        table = hull.source
        names = list(table.facts.get("spars", {})) if spar is None else [spar]
        if not names:
            raise NothingToDraw(f"{hull.name}'s table tells no spars: [spar.mast] would")
        metric = is_metric(table)
        every = every if every is not None else METRIC_EVERY if metric else FOOT
        drawings: list[_core.Drawing] = []
        made: dict[str, Told] = {}
        captions: dict[str, str] = {}
        for name in names:
            try:
                told = spar_of(table, name)
                drawn = drawings_of(told, every, "mm" if metric else "feet-inches-eighths", scale, peg, hull.name)
                tables_of({name: told}, every, peg)
            except LoftError as failed:
                if len(names) == 1:
                    raise
                warnings.warn(NotMade(f"spar {name}: {failed}"), stacklevel=2)
                continue
            for note in told.spar.notes:
                warnings.warn(Note(f"spar {name}: {note}"), stacklevel=2)
            drawings += drawn
            made[name] = told
            captions[drawn[0].name] = f"Her spars: {name}."
        if not drawings:
            raise LoftError("none of her spars could be made")
        return PickedUp(drawings, tables_of(made, every, peg), captions=captions)


def drawings_of(
    told: Told, every: float, units: str, scale: float | None = None, peg: float = PEG, boat: str = ""
) -> list[_core.Drawing]:
    """Its drawings, with what its table says of stock and kerfs, under the boat's name."""
    return told.spar.drawings(
        every=every, units=units, scale=scale, kerfs=told.kerfs, stock=told.stock, scarf=told.scarf,
        scarf_kind=told.scarf_kind, peg=peg, title=f"{boat}, {told.spar.name}" if boat else None,
    )  # fmt: skip


def tables_of(spars: Mapping[str, Told], every: float, peg: float = PEG) -> dict[str, Any]:
    """What is marked on them and got out, as frames by name, of all of them together."""
    found: dict[str, list[Any]] = {name: [] for name in TABLES}

    def add(table: str, spar: str, one: Any, **also: Any) -> None:
        for name, value in reversed([("spar", spar), *also.items()]):
            one.insert(0, name, value)
        found[table].append(one)

    for name, told in spars.items():
        spar = told.spar
        add("layout", name, spar.layout(every))
        add("blanks", name, spar.blanks(told.stock, told.scarf))
        if told.stock is not None:
            # Glued areas stand on the scarf's own drawing.
            scarfs = spar.scarfs(told.stock, told.scarf, told.scarf_kind)
            add("scarfs", name, scarfs.drop(columns="glued"))
        if told.kerfs is not None:
            add("kerfs", name, spar.kerfs(*told.kerfs, every))
        for sides in spar.sides:
            add("gauges", name, spar.gauges(sides, every, peg), sides=sides)
            if spar.section == "oval":
                add("lines", name, spar.lines(sides, every), sides=sides)
    return {name: _together(frames) for name, frames in found.items() if any(len(one) for one in frames)}


def _together(frames: list[Any]) -> Any:
    import pandas

    units = {name: unit for one in frames for name, unit in one.attrs["units"].items()}
    at_least = dict.fromkeys(name for one in frames for name in one.attrs["at_least"])
    return frame(pandas.concat(frames, ignore_index=True), units, at_least)


spars = Spars()
