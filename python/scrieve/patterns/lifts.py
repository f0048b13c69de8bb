"""The half model in lifts, as a pattern."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Annotated

import pandas

from .. import _core
from ..errors import Note
from ..plugin.given import PickedUp
from ..plugin.options import Length, Option
from ..units import is_metric

if TYPE_CHECKING:
    from ..hull.hull import Hull

# Scales that half models were carved to, where feet and inches or metres are used (common practice).
SCALE_FEET, SCALE_METRIC = 12.0, 10.0

OUTSIDE = "the model is carved to the rabbet: keel, stem and post outside it are made apart"


class Lifts:
    """The half model, or a whole one, at a scale, in lifts: boards glued one on the other and carved to the glue lines

    Each lift holds all that the hull has between its joints. Her profile is drawn to carve them to.
    """

    lofted = None  # the scale is for a person to say

    def draw(
        self,
        hull: Hull,
        *,
        scale: Annotated[
            float | None, Option("the model is 1 to this; left out, 12 (an inch to the foot), in a metric table 10")
        ] = None,
        lift: Annotated[float, Length("thickness of a lift, on the model")] = 0.0127,
        joint: Annotated[
            float | None,
            Length(
                "height above the base line, of the boat, at which one joint lies; left out, the load waterline, or 0"
            ),
        ] = None,
        whole: Annotated[bool, Option("both sides in one, in place of the starboard half")] = False,
    ) -> list[_core.Drawing]:
        if scale is None:
            scale = SCALE_METRIC if is_metric(hull.source) else SCALE_FEET
        drawings, profile, columns, tips = _core.lifts(
            hull._core, scale=scale, thickness=lift, joint=joint, whole=whole
        )
        warnings.warn(Note(OUTSIDE), stacklevel=2)
        for height, along in tips:
            said = f"a tip {1e3 * along:.0f} mm from her fore end, above the joint at {height:.3f} m of the boat"
            warnings.warn(Note(f"{said}, is under 2 mm long and is no lift: build it up"), stacklevel=2)
        table = pandas.DataFrame(columns)
        units = dict.fromkeys(("from_z", "to_z", "length", "breadth"), "m")
        return PickedUp([*drawings, profile], {"lifts": table}, units)


lifts = Lifts()
