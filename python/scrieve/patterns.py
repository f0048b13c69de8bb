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

UNITS = ("readings", "mm")


class Lines:
    """The lines drawing: sheer plan, half-breadth plan, body plan and diagonals"""

    def draw(
        self,
        hull: Hull,
        *,
        scale: Annotated[float | None, Option("drawn at 1 to this; left out, to fit the sheet")] = None,
        units: Annotated[str, Option("how dimensions are written", UNITS)] = "readings",
    ) -> list[_core.Drawing]:
        return [_core.lines_drawing(hull._core, scale=scale, units=units)]


class BodyPlan:
    """The body plan alone: forward sections on the right, after sections on the left"""

    def draw(
        self,
        hull: Hull,
        *,
        scale: Annotated[float | None, Option("drawn at 1 to this; left out, to fit the sheet")] = None,
        units: Annotated[str, Option("how dimensions are written", UNITS)] = "readings",
    ) -> list[_core.Drawing]:
        return [_core.body_plan(hull._core, scale=scale, units=units)]


lines = Lines()
body_plan = BodyPlan()
