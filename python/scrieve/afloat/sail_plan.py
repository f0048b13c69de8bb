"""The sail plan: sails over the profile, centre of effort, centre of lateral resistance, and the lead between.

The centre of lateral resistance is taken for that of the lateral plane (common practice). Drawn in millimetres
of paper at a scale in common use, or at full size.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Annotated, Any

from .. import _core
from ..errors import NothingToDraw, ScrieveError
from ..plugin.given import PickedUp
from ..plugin.lofted import Lofted, Part
from ..plugin.options import Length, Option
from .report import report

if TYPE_CHECKING:
    from ..hull.floating import Hydrostatics, LateralPlane, Rig
    from ..hull.hull import Hull

# Scales in common use, metric and feet-and-inches; the first that fits is taken.
SCALES = (1, 2, 4, 5, 8, 10, 12, 16, 20, 24, 25, 32, 40, 48, 50, 64, 75, 96, 100, 150, 192, 200, 250, 500)
# What an A3 sheet holds within its margins, mm.
SHEET_MM = (390.0, 260.0)
# Letters, mm of paper: as the lines drawing's.
LETTER_MM = 2.8
# Points along a line of the profile, and room for title and dimension below it, mm.
POINTS = 80
FOOT_MM = 46.0


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
    import numpy

    profile = _profile(hull)
    outlines = {name: corners for name, corners in parts.items() if corners}
    everything = numpy.concatenate(
        [line[:, :2] for line in profile] + [numpy.array(c) for c in [*rig.sails.values(), *outlines.values()]]
    )
    (left, low), (right, high) = everything.min(axis=0), everything.max(axis=0)
    if scale is None:
        scale = next(
            (n for n in SCALES
             if 1e3 * (right - left) / n < SHEET_MM[0] and 1e3 * (high - low) / n + FOOT_MM < SHEET_MM[1]),
            SCALES[-1],
        )  # fmt: skip
    if not 0 < scale < math.inf:
        raise ScrieveError(f"a scale of 1 to {scale:g}: it must be a number above 0")
    k = 1e3 / scale
    # Letters of a full-size drawing are still read with the whole of it in view.
    letter = LETTER_MM * max(1.0, k * (right - left) / SHEET_MM[0])
    title = f"{hull.name}, sail plan" + (f", {rig.name} rig" if several else "")
    drawing = _core.Drawing("-".join(["sail-plan", *(rig.name.split() if several else [])]), title)
    pen = {
        name: drawing.layer(name, "annotate", width_mm=width, rgb=rgb, dashes_mm=dashes)
        for name, width, rgb, dashes in [
            ("Hull", 0.4, (0, 0, 0), None),
            ("Lateral plane", 0.25, (0, 0, 0), [3.0, 1.0]),
            ("Sails", 0.3, (136, 44, 40), None),
            ("Waterline", 0.2, (38, 70, 120), None),
            ("Centres", 0.3, (0, 0, 0), None),
            ("Dimensions", 0.13, (0, 0, 0), [4.0, 1.0, 1.0, 1.0]),
            ("Letters", 0.18, (0, 0, 0), None),
        ]
    }

    def at(x: float, z: float) -> tuple[float, float]:
        return (k * x, k * z)

    def write(text: str, x: float, y: float, anchor: str = "middle", size: float = 1.0) -> None:
        drawing.text(pen["Letters"], text, (x, y), size * letter, anchor=anchor)

    def line(layer: str, points: Iterable[Sequence[float]], closed: bool = False) -> None:
        drawing.polyline(pen[layer], numpy.array([at(*p) for p in points]), closed=closed)

    for curve in profile:
        line("Hull", curve[:, :2])
    effort, resistance = at(*rig.centre_of_effort), at(*lateral.centre)
    for name, corners in outlines.items():
        line("Lateral plane", corners, closed=True)
        xs, foot = [k * x for x, _ in corners], k * min(z for _, z in corners)
        wide = 0.6 * letter * len(name)
        # Below it, or beside it, off the lines let down for the lead.
        places = [
            (sum(xs) / len(xs), foot - 1.7 * letter, "middle", 0.5),
            (max(xs) + letter, foot, "start", 0.0),
            (min(xs) - letter, foot, "end", 1.0),
        ]
        clear = [
            place for place in places
            if not any(-letter < x - place[0] + place[3] * wide < wide + letter for x in (effort[0], resistance[0]))
        ]  # fmt: skip
        x, y, anchor, _ = (clear or places)[0]
        write(name, x, y, anchor)
    reach = 0.04 * (right - left)
    fore, aft = figures.waterline_fore - reach, figures.waterline_aft + reach
    line("Waterline", [(fore, figures.draught), (aft, figures.draught)])
    write("waterline", k * fore - letter, k * figures.draught - 0.5 * letter, "end")

    for name, (area, centre) in rig.each().items():
        line("Sails", rig.sails[name], closed=True)
        x, y = at(*centre)
        # Clear of the centre of effort, which is this sail's own where there is but one.
        near = abs(x - effort[0]) < 8 * letter and abs(y - effort[1]) < 5 * letter
        up = effort[1] - y + (3.8 if y >= effort[1] else -4.4) * letter if near else 0.0
        write(name, x, y + up + 0.3 * letter)
        write(f"{area:.2f} m²", x, y + up - 1.2 * letter)
    for name, (x, y) in (("CE", effort), ("CLR", resistance)):
        drawing.circle(pen["Centres"], (x, y), 0.6 * letter)
        drawing.cross(pen["Centres"], (x, y), letter)
        write(name, x + 1.4 * letter, y + 0.4 * letter, "start")

    # The lead, set off below everything.
    foot_y = k * low - 5.0 * letter
    for x, y in (effort, resistance):
        drawing.polyline(pen["Dimensions"], numpy.array([(x, y - letter), (x, foot_y - letter)]))
    bar = numpy.array([(effort[0], foot_y), (resistance[0], foot_y)])
    drawing.polyline(pen["Centres"], bar)
    for x, y in bar:
        drawing.polyline(pen["Centres"], numpy.array([(x - 0.4 * letter, y - 0.4 * letter),
                                                      (x + 0.4 * letter, y + 0.4 * letter)]))  # fmt: skip
    lead = rig.lead(figures, lateral.centre[0])
    metres = lead * figures.lwl
    said = f"lead {metres:.3f} m, {100 * lead:.1f} % of LWL" + (" (CE abaft CLR)" if lead < 0 else "")
    write(said, max(x for x, _ in bar) + 1.5 * letter, foot_y - 0.5 * letter, "start")

    y = foot_y - 5.0 * letter
    write(title, k * left, y, "start", 1.4)
    counted = " and ".join(", ".join(lateral.parts).rsplit(", ", 1))
    said_below = [
        f"sail area {rig.area:.2f} m², LWL {figures.lwl:.3f} m, 1:{scale:g}",
        f"SA/volume^⅔ {rig.area_to_displacement(figures):.2f}, SA/S {rig.area_to_wetted_surface(figures):.2f}",
        f"lateral plane: {counted}",
        "for comparison and study",
    ]
    for i, text in enumerate(said_below):
        write(text, k * left, y - (2.0 + 1.8 * i) * letter, "start")
    return drawing


def _profile(hull: Hull) -> list[Any]:
    """Lines of the profile as (n, 2) arrays of x and z, m: sheer, chines, rabbet, stem and after end."""
    lines = [curve.points(POINTS)[:, [0, 2]] for curve in hull.reference_lines()]
    for grid in _core.surface_grid(hull._core, 2, POINTS):
        lines += [grid[0][:, [0, 2]], grid[-1][:, [0, 2]]]
    return lines
