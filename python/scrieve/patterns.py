"""Built-in patterns: what is drawn from a faired hull.

A pattern is any object with `draw(hull, *, options...) -> list of Drawing`. Options are keyword-only and
annotated as `scrieve.options` says, so that the command line offers them too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from . import _core
from .options import Length, Option

if TYPE_CHECKING:
    from .hull import Hull

UNITS = ("table", "readings", "mm")
SHAPES = ("pair", "stacked", "whole")


class Lines:
    """The lines drawing: sheer plan, half-breadth plan, body plan and diagonals"""

    def draw(
        self,
        hull: Hull,
        *,
        scale: Annotated[float | None, Option("drawn at 1 to this; left out, to fit the sheet")] = None,
        units: Annotated[str, Option("units of labels: the table's own, or these", UNITS)] = "table",
    ) -> list[_core.Drawing]:
        return [_core.lines_drawing(hull._core, scale=scale, units=units)]


class BodyPlan:
    """The body plan alone: forward sections on the right, after sections on the left"""

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
        return [_core.body_plan(hull._core, scale=scale, units=units, band=band)]


class Moulds:
    """Moulds at full size, one drawing each: shape inside the planking, grid lines, sheer mark, spall line

    The shape is cut from the surface parallel to the hull. A square edge bears on the station line: the
    mould lies on that side of it that is toward the widest part of the boat.
    """

    def draw(
        self,
        hull: Hull,
        *,
        deduct: Annotated[float | None, Length("planking to deduct; left out, the table's own")] = None,
        outside: Annotated[float, Length("ribs or ribbands between planking and moulds")] = 0.0,
        thickness: Annotated[float, Length("thickness of the moulds' stock")] = 0.018,
        spacing: Annotated[float | None, Length("a mould every so far, instead of at the stations")] = None,
        shape: Annotated[str, Option("both halves, one to stack and cut in pairs, or whole", SHAPES)] = "pair",
        limb: Annotated[float, Length("width of the limb")] = 0.1,
        solid: Annotated[bool, Option("no limb: solid to the centreline")] = False,
        bevelled: Annotated[bool, Option("cut to the larger face, to bevel down to the line")] = False,
        above_sheer: Annotated[float, Length("how far the edge runs on above the sheer")] = 0.05,
        spall_height: Annotated[float | None, Length("height of the cross spall, one for all")] = None,
        keel_notch_width: Annotated[float, Length("width of the notch for keel or hog")] = 0.0,
        keel_notch_depth: Annotated[float, Length("its depth")] = 0.0,
        upright: Annotated[bool, Option("built keel down")] = False,
    ) -> list[_core.Drawing]:
        options = dict(locals())
        for name in ("self", "hull"):
            del options[name]
        return hull.mould_set(**options).drawings()


class Curvature:
    """One line of the hull, its curvature as ordinates normal to it and the changes of its sign marked"""

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
moulds = Moulds()
body_plan = BodyPlan()
