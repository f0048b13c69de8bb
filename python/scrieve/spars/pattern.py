"""Her spars as a pattern: everything of each that her table tells, drawn and tabled."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Annotated, Any

from .. import _core
from ..errors import LoftError, Note, NothingToDraw, NotMade
from ..plugin.given import PickedUp
from ..plugin.lofted import Lofted, Part
from ..plugin.options import Length, Option
from ..units import is_metric
from .of_table import Told, spar_of
from .spar import FOOT, PEG

if TYPE_CHECKING:
    from ..hull.hull import Hull

METRIC_EVERY = 0.25


class Spars:
    """Spars her table tells: the faces of each blank, sections, gauges, scarfs, and tables of what is marked

    A spar is a table `[spar.NAME]` in the head of the boat's own. Faces are foreshortened, with ordinates, or full
    size at scale 1, to be marked by.
    """

    lofted = Lofted(
        (
            Part("her spars, to look at", ("*",), folder="spars", suffix="svg"),
            Part("the same for CAD, and their gauges to make", ("*",), folder="spars"),
        ),
        order=75,
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
        tables: dict[str, Any] = {}
        captions: dict[str, str] = {}
        for name in names:
            try:
                told = spar_of(table, name)
                drawn = drawings_of(told, every, "mm" if metric else "feet-inches-eighths", scale, peg)
                tabled = tables_of(told, every, peg)
            except LoftError as failed:
                if len(names) == 1:
                    raise
                warnings.warn(NotMade(f"spar {name}: {failed}"), stacklevel=2)
                continue
            for note in told.spar.notes:
                warnings.warn(Note(f"spar {name}: {note}"), stacklevel=2)
            drawings += drawn
            tables |= {f"{'-'.join(name.split())}-{what}": one for what, one in tabled.items()}
            captions[drawn[0].name] = f"Her spars: {name}."
        if not drawings:
            raise LoftError("none of her spars could be made")
        return PickedUp(drawings, tables, captions=captions)


def drawings_of(
    told: Told, every: float, units: str, scale: float | None = None, peg: float = PEG
) -> list[_core.Drawing]:
    """Its drawings, with what its table says of stock and kerfs."""
    return told.spar.drawings(
        every=every, units=units, scale=scale, kerfs=told.kerfs, stock=told.stock, scarf=told.scarf,
        scarf_kind=told.scarf_kind, peg=peg,
    )  # fmt: skip


def tables_of(told: Told, every: float, peg: float = PEG) -> dict[str, Any]:
    """What is marked on it and got out, as frames by name."""
    spar = told.spar
    found = {"layout": spar.layout(every), "blanks": spar.blanks(told.stock, told.scarf)}
    if told.stock is not None:
        found["scarfs"] = spar.scarfs(told.stock, told.scarf, told.scarf_kind)
    if told.kerfs is not None:
        found["kerfs"] = spar.kerfs(*told.kerfs, every)
    if spar.section != "rectangular":
        found |= {f"gauge-{sides}": spar.gauges(sides, every, peg) for sides in (8, 16, 32)}
    if spar.section == "oval":
        found |= {f"lines-{sides}": spar.lines(sides, every) for sides in (8, 16, 32)}
    return found


spars = Spars()
