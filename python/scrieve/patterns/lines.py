"""Built-in patterns: what is drawn from a faired hull.

A pattern is any object with `draw(hull, *, options...) -> list of Drawing`. Options are keyword-only and
annotated as `scrieve.plugin.options` says, so that the command line offers them too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from .. import _core
from ..errors import LoftError
from ..plugin.given import PickedUp
from ..plugin.lofted import Lofted, Part
from ..plugin.options import Option
from ..sizes import drawing_sheet_mm, tell_left_off

if TYPE_CHECKING:
    from ..hull.hull import Hull

UNITS = ("table", "readings", "mm")
SCALE = "drawn at 1 to this, 1 being full size; left out, to fit the sheet"
SHEET = (
    'sheet it is set out on: A4 to A0, Letter, Tabloid, "ANSI D" ..., or "900mm x 600mm"; left out A3, or where a '
    "scale is told the smallest A size that does, or one of its own"
)
FORESHORTENED = (
    "how many times shorter lengths are drawn than heights and breadths, without the body plan: 10 shows a hump as "
    "sighting along a batten does"
)
# One standard deviation of a fit is a fraction of a millimetre: a thousand of them are wider than any line apart.
MOST_BAND = 1000


class Lines:
    """The lines drawing: sheer plan, half-breadth plan, body plan and diagonals"""

    lofted = Lofted(
        (
            Part("lines drawing, to look at", ("*",), suffix="svg", file="lines"),
            Part("the same for CAD", ("*",), file="lines"),
        ),
        order=10,
    )

    def draw(
        self,
        hull: Hull,
        *,
        scale: Annotated[float | None, Option(SCALE)] = None,
        units: Annotated[str, Option("units of labels: the table's own, or these", UNITS)] = "table",
        drawing_sheet: Annotated[str | None, Option(SHEET)] = None,
        foreshortened: Annotated[float, Option(FORESHORTENED)] = 1.0,
    ) -> list[_core.Drawing]:
        drawn = hull.lines(scale=scale, units=units, drawing_sheet=drawing_sheet, foreshortened=foreshortened)
        return PickedUp([drawn], {}, captions={drawn.name: "Her lines, faired."})


class BodyPlan:
    """The body plan alone: forward sections on the right, after sections on the left"""

    lofted = None  # it is in the lines drawing

    def draw(
        self,
        hull: Hull,
        *,
        scale: Annotated[float | None, Option(SCALE)] = None,
        units: Annotated[str, Option("units of labels: the table's own, or these", UNITS)] = "table",
        drawing_sheet: Annotated[str | None, Option(SHEET)] = None,
        band: Annotated[
            float | None, Option("draw one standard deviation beside each section, so many times over")
        ] = None,
    ) -> list[_core.Drawing]:
        if band is not None and not 0 < band <= MOST_BAND:
            raise LoftError(f"band of {band:g} standard deviations: expected more than 0 and {MOST_BAND} at most")
        sheet_mm = drawing_sheet_mm(drawing_sheet)
        return [tell_left_off(_core.body_plan(hull._core, scale=scale, units=units, sheet_mm=sheet_mm, band=band))]


class Curvature:
    """One line of the hull, its curvature as ordinates normal to it and the changes of its sign marked"""

    lofted = None  # which line is for a person to say

    def draw(
        self,
        hull: Hull,
        *,
        line: Annotated[
            str, Option("section 3, waterline 1-3-0, buttock 0-9-0, diagonal A, sheer, rabbet or chine")
        ] = "sheer",
        scale: Annotated[float | None, Option(SCALE)] = None,
        units: Annotated[str, Option("units of labels: the table's own, or these", UNITS)] = "table",
        drawing_sheet: Annotated[str | None, Option(SHEET)] = None,
    ) -> list[_core.Drawing]:
        curve = hull.line(line)._core
        sheet_mm, name = drawing_sheet_mm(drawing_sheet), f"{hull.name}, {line}"
        return [_core.curvature_drawing(curve, name, scale=scale, units=units, sheet_mm=sheet_mm)]


lines = Lines()
curvature = Curvature()
body_plan = BodyPlan()
