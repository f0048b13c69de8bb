"""The sail plan as a pattern: what is drawn of each rig is gathered here, and composed in rust/drawing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Annotated, Any

from .. import _core
from ..errors import NothingToDraw
from ..plugin.given import PickedUp
from ..plugin.lofted import Lofted, Part
from ..plugin.options import Length, Option
from .report import report

if TYPE_CHECKING:
    from ..hull.floating import Hydrostatics, LateralPlane, Rig
    from ..hull.hull import Hull


class SailPlan:
    """The sail plan of each rig: sails, centre of effort and of lateral resistance, and the lead between them"""

    lofted = Lofted(
        (
            Part("sail plans, to look at", ("*",), folder="afloat", suffix="svg"),
            Part("the same for CAD", ("*",), folder="afloat"),
        ),
        order=90,
        section="afloat",
    )

    def draw(
        self,
        hull: Hull,
        *,
        rig: Annotated[str | None, Option("one of her rigs; left out, a drawing of each")] = None,
        draught: Annotated[
            float | None, Length("height of the water above the base line; left out, as her table says")
        ] = None,
        scale: Annotated[float | None, Option("drawn at 1 to this; left out, to fit a sheet; 1 is full size")] = None,
    ) -> list[_core.Drawing]:
        said = draught is not None or {"load_waterline", "boat_kg"} & set(hull.source.facts)
        rigs = hull.rigs()
        if not rigs:
            raise NothingToDraw(f"{hull.name}'s table gives no sails: [sail.NAME] with `corners` would")
        if not said:
            lacking = f"{hull.name}'s table does not say where she floats: give a draught"
            raise NothingToDraw(lacking, "her table does not say where she floats, so her sails are not drawn")
        found = report(hull, draught=draught, rig=rig, heels=[0.0])
        assert found.figures is not None and found.lateral is not None
        parts = {name: found.hull.source.facts.get("lateral", {}).get(name) for name in found.lateral.parts}
        plans = {
            name: _plan(hull, rigs[name], found.figures, found.lateral, parts, scale, len(rigs) > 1)
            for name in found.rigs
        }
        return PickedUp(plans.values(), {}, captions={plan.name: f"Her sails: {name}." for name, plan in plans.items()})


sail_plan = SailPlan()


def _plan(
    hull: Hull, rig: Rig, figures: Hydrostatics, lateral: LateralPlane, parts: dict[str, Any], scale: float | None,
    several: bool,
) -> _core.Drawing:  # fmt: skip
    named = [name for name in parts if parts[name]]
    return _core.sail_plan(
        hull._core,
        name="-".join(["sail-plan", *(rig.name.split() if several else [])]),
        title=f"{hull.name}, sail plan" + (f", {rig.name} rig" if several else ""),
        sails=[(name, _corners(rig.sails[name]), *of_one) for name, of_one in rig.each().items()],
        effort=rig.centre_of_effort,
        lateral=[(name, _corners(parts[name])) for name in named],
        resistance=lateral.centre,
        waterline=(figures.waterline_fore, figures.waterline_aft),
        draught=figures.draught,
        lwl=figures.lwl,
        lead=rig.lead(figures, lateral.centre[0]),
        ratios=(rig.area_to_displacement(figures), rig.area_to_wetted_surface(figures)),
        counted=list(lateral.parts),
        scale=scale,
    )


def _corners(given: Iterable[Sequence[float]]) -> list[tuple[float, float]]:
    return [(float(x), float(z)) for x, z in given]
