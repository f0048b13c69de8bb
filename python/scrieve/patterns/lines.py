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

if TYPE_CHECKING:
    from ..hull.hull import Hull

UNITS = ("table", "readings", "mm")
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
        scale: Annotated[float | None, Option("drawn at 1 to this; left out, to fit the sheet")] = None,
        units: Annotated[str, Option("units of labels: the table's own, or these", UNITS)] = "table",
    ) -> list[_core.Drawing]:
        drawn = hull.lines(scale=scale, units=units)
        return PickedUp([drawn], {}, captions={drawn.name: "Her lines, faired."})


class BodyPlan:
    """The body plan alone: forward sections on the right, after sections on the left"""

    lofted = None  # it is in the lines drawing

    def draw(
        self,
        hull: Hull,
        *,
        scale: Annotated[float | None, Option("drawn at 1 to this; left out, to fit the sheet")] = None,
        units: Annotated[str, Option("units of labels: the table's own, or these", UNITS)] = "table",
        band: Annotated[
            float | None, Option("draw one standard deviation beside each section, so many times over")
        ] = None,
    ) -> list[_core.Drawing]:
        if band is not None and not 0 < band <= MOST_BAND:
            raise LoftError(f"band of {band:g} standard deviations: expected more than 0 and {MOST_BAND} at most")
        return [_core.body_plan(hull._core, scale=scale, units=units, band=band)]


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
        scale: Annotated[float | None, Option("drawn at 1 to this; left out, to fit the sheet")] = None,
        units: Annotated[str, Option("units of labels: the table's own, or these", UNITS)] = "table",
    ) -> list[_core.Drawing]:
        curve = hull.line(line)._core
        return [_core.curvature_drawing(curve, f"{hull.name}, {line}", scale=scale, units=units)]


lines = Lines()
curvature = Curvature()
body_plan = BodyPlan()
