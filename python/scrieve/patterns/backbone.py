"""The backbone as patterns."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Annotated

from .. import _core
from ..errors import LoftError, Note, NothingToDraw, NotMade
from ..plugin.given import PickedUp
from ..plugin.lofted import Lofted, Part
from ..plugin.options import Length, Option, Planking

if TYPE_CHECKING:
    from ..hull.hull import Hull


class Backbone:
    """Keel, stem, sternpost and knees: patterns with the rabbet, plan, profile and full-size sections

    A stern knee stands before a transom, a heel knee in the corner of keel and sternpost; a keelson is drawn where its
    depth is given. Of a boat whose bottom is flat across, the bottom laid flat, her stem and a skeg.

    Rabbet, bearding and middle line are marked on every piece. The keel's underside is a batten bent through the
    table's readings of it. Scarfs are nibbed: a nib of 0 leaves feather edges.
    """

    lofted = Lofted(
        (
            *(
                Part(f"backbone: {name}", tables={name: name}, folder="backbone")
                for name in ("line", "keel", "bottom", "stem", "sternpost", "pieces")
            ),
            Part("keel, stem and stern as patterns, with the rabbet", ("*",), folder="backbone"),
            Part("backbone in profile, to look at", ("backbone",), folder="backbone", suffix="svg"),
        ),
        order=50,
        says="backbone: ",
        sheets=False,
    )

    def draw(
        self,
        hull: Hull,
        *,
        thickness: Annotated[float | None, Planking("planking; left out, the table's own")] = None,
        half_siding: Annotated[float | None, Length("half the width at the rabbet; left out, the table's")] = None,
        keel_depth: Annotated[float, Length("keel below the rabbet, where the table gives no keel")] = 0.075,
        stem_outside: Annotated[float, Length("stem's head outside the rabbet line")] = 0.05,
        inside: Annotated[float, Length("inner edge of the pieces inside the bearding line")] = 0.02,
        section_every: Annotated[float, Length("spacing of the stem's full-size sections")] = 0.25,
        transom_thickness: Annotated[float, Length("transom the stern knee stands against")] = 0.022,
        knee_arm: Annotated[float, Length("length of each arm of the stern knee and the heel knee")] = 0.35,
        keelson_depth: Annotated[float | None, Length("a keelson's depth; left out, none is drawn")] = None,
        keelson_siding: Annotated[float | None, Length("its width; left out, the keel's")] = None,
        keelson_above: Annotated[float, Length("its under face above the keel's upper edge, as on floors")] = 0.0,
        scarf: Annotated[float, Option("length of a scarf over the depth of the keel")] = 8.0,
        nib: Annotated[
            float, Option("depth of its nibs over that of the keel; 1/8 to 1/6 is usual, 0 is none")
        ] = 0.143,
    ) -> list[_core.Drawing]:
        options = {name: value for name, value in locals().items() if name not in ("self", "hull")}
        try:
            made = hull.backbone(**options)
        except LoftError as error:
            facts, rows = hull.source.facts, hull.source.rows
            if facts.get("half_siding") or half_siding or ("half-breadths", "rabbet") in rows:
                raise
            remark = "her table gives no half-siding, so no rabbet and no backbone are drawn"
            raise NothingToDraw(str(error), remark) from error
        for remark in made.remarks:
            warnings.warn(Note(remark), stacklevel=2)
        for failure in made.failures:
            warnings.warn(NotMade(f"rabbet of the {failure}"), stacklevel=2)
        tables = {
            "line": made.line(),
            "keel": made.keel(),
            "bottom": made.bottom(),
            "stem": made.stem(),
            "sternpost": made.sternpost(),
            "pieces": made.pieces(),
        }
        return PickedUp(made.drawings(), tables, captions={"backbone": "Her backbone in profile."})


backbone = Backbone()
