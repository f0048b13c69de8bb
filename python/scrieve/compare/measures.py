"""Built-in measures: numbers with units, a row of a comparison for each boat.

A measure is any object with `measure(hull, facts) -> dict of name to Quantity`; `facts` is the head of the
boat's file. What the file does not say is not guessed: the numbers that need it are left out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from ..errors import ScrieveError
from ..plugin.given import Quantity

if TYPE_CHECKING:
    import numpy

    from ..hull.floating import Hydrostatics
    from ..hull.hull import Hull

# What is written on a plot or over a column, where the name's own words would mislead.
LABELS = {
    "length_beam": "length / beam",
    "beam_length": "beam / length",
    "beam_depth": "beam / depth",
    "hollow": "hollow forward / length",
    "sheer_spring": "sheer spring / length",
    "lwl": "LWL",
    "bwl": "BWL",
    "awp": "AWP",
    "am": "AM",
    "cb": "CB",
    "cp": "CP",
    "cm": "CM",
    "cwp": "CWP",
    "lcb": "LCB / LWL",
    "lcf": "LCF / LWL",
    "sail_area_displacement": "SA/∇^⅔",
    "sail_area_wetted_surface": "SA/S",
    "lead": "lead / LWL",
}

# Points along a waterline: enough that its hollow is right to a thousandth of itself.
_WATERLINE_POINTS = 400

# Rounds in which what the planking displaces and how deep she floats agree to a gram: each leaves a twentieth.
_SHELLS = 6


class Dimensions:
    """Length, beam and depth of the moulded hull, and their ratios"""

    def measure(self, hull: Hull, facts: dict[str, Any]) -> dict[str, Quantity]:
        """Length and beam over the sheer, depth from rabbet to sheer amidships, m; and one to another."""
        of = hull.dimensions
        ratios = {
            "length_beam": of["length"] / of["beam"],
            "beam_length": of["beam"] / of["length"],
            "beam_depth": of["beam"] / of["depth"],
        }
        lengths = {name: Quantity(value, "m") for name, value in of.items()}
        return lengths | {name: Quantity(value, "") for name, value in ratios.items()}


class Form:
    """Shape in the builder's terms: rake of the transom, spring of the sheer, hollow forward"""

    def measure(self, hull: Hull, facts: dict[str, Any]) -> dict[str, Quantity]:
        """`transom_rake`: degrees aft of upright, from the file's own spots, its sd by what a reading of the table is
        worth. `sheer_spring`: how far the
        sheer falls under the straight line between its ends, as part of the length. `hollow`: the greatest
        gap under a straight-edge laid along the bow at the waterline halfway up the side amidships, likewise.
        """
        length = hull.dimensions["length"]
        sheer = hull.reference_lines()[-1].points(_WATERLINE_POINTS)
        (x0, _, z0), (x1, _, z1) = sheer[0], sheer[-1]
        chord = z0 + (z1 - z0) * (sheer[:, 0] - x0) / (x1 - x0)
        middle = hull.section(0.5 * length + min(x0, x1)).points(2)
        waterline = hull.waterline(middle[:, 2].mean()).points(_WATERLINE_POINTS)
        found = {
            "sheer_spring": Quantity((chord - sheer[:, 2]).max() / length, ""),
            "hollow": Quantity(hollow(waterline[:, :2]) / length, ""),
        }
        if "transom" in facts:
            (x0, z0), (x1, z1) = facts["transom"]["foot"], facts["transom"]["head"]
            # Four co-ordinates, each off by what a reading of her table may be; those along the rake do not turn it.
            off = math.sqrt(2) * _reading_sd(hull) / math.hypot(x1 - x0, z1 - z0)
            rake = math.degrees(math.atan2(x1 - x0, z1 - z0))
            found["transom_rake"] = Quantity(rake, "°", "measured", math.degrees(off))
        return found


def _reading_sd(hull: Hull) -> float:
    """One standard deviation of a reading of her table, m at full size: tolerance/√3, an even chance within it."""
    return float(hull.corrections().tolerance.median()) / math.sqrt(3)


def hollow(line: numpy.ndarray) -> float:
    """Greatest gap under a straight-edge laid along the outside of a line, forward of its widest place.

    `line` is (n, 2), distance aft and half-breadth, from forward. The straight-edge is the line's upper
    convex hull (Andrew, "Another efficient algorithm for convex hulls in two dimensions", 1979).
    """
    import numpy

    line = line[: int(line[:, 1].argmax()) + 1]
    outside: list[tuple[float, float]] = []
    for x, y in line:
        while len(outside) > 1:
            (ax, ay), (bx, by) = outside[-2:]
            if (bx - ax) * (y - ay) < (by - ay) * (x - ax):
                break
            outside.pop()
        outside.append((x, y))
    edge = numpy.array(outside)
    return float((numpy.interp(line[:, 0], edge[:, 0], edge[:, 1]) - line[:, 1]).max())


class Floating:
    """Figures at the load waterline the file gives, or under the mass it gives, by their ITTC names"""

    def measure(self, hull: Hull, facts: dict[str, Any]) -> dict[str, Quantity]:
        """Upright figures of the moulded body at `load_waterline`; the mass is that of the sea water she displaces,
        an assumption. Without a load waterline, those at which she displaces her mass, crew and loads, if the
        file gives them: the mass is then measured, and that she floats level in sea water assumed.

        Volume and the rest are of the hull to the face of the planking it is of. What she displaces is that of her
        outside: to the inside, the shell of her planking, its thickness times the wetted surface, is added, where
        the thickness is known.

        LCB and LCF are parts of LWL aft of its forward end.
        """
        found = _upright(hull, facts)
        if found is None:
            return {}
        at, drawn, displaced = found
        basis = "faired" if drawn else "assumed"
        lengths = {name: Quantity(getattr(at, name), "m", basis) for name in ("lwl", "bwl", "moulded_draught")}
        areas = {name: Quantity(getattr(at, name), "m²", basis) for name in ("awp", "am", "wetted_surface")}
        coefficients = {name: getattr(at, name) for name in ("cb", "cp", "cm", "cwp")}
        coefficients["lcb"] = (at.lcb - at.waterline_fore) / at.lwl
        coefficients["lcf"] = (at.lcf - at.waterline_fore) / at.lwl
        return {
            "volume": Quantity(at.volume, "m³", basis),
            "mass": Quantity(at.mass * displaced / at.volume, "kg", "assumed" if drawn else "measured"),
            **lengths,
            **areas,
            **{name: Quantity(value, "", basis) for name, value in coefficients.items()},
        }


class Sails:
    """Sail area by the sails' corners, against displacement and wetted surface, and the lead of their centre"""

    def measure(self, hull: Hull, facts: dict[str, Any]) -> dict[str, Quantity]:
        """Of the rig of greatest area; `Collection.rigs` has every one.

        The area is as the corners are written down, without an sd: what they are worth nobody says. The ratios and
        the lead want what `floating` wants. The lead, a part of LWL, is assumed where the file
        gives neither keel nor other lateral parts, and faired where it does.
        """
        from ..hull.floating import rigs_of

        rigs = rigs_of(facts).values()
        if not rigs:
            return {}
        rig = max(rigs, key=lambda rig: rig.area)
        found = {"sail_area": Quantity(rig.area, "m²", "measured")}
        try:
            upright = _upright(hull, facts)
        except ValueError as error:
            raise ScrieveError(f"where she floats: {error}") from None
        if upright is not None:
            at, drawn, displaced = upright
            lateral = hull.lateral_plane(at.draught)
            basis = "faired" if drawn else "assumed"
            whole = set(lateral.parts) != {"hull"}
            found |= {
                "sail_area_displacement": Quantity(rig.area / displaced ** (2 / 3), "", basis),
                "sail_area_wetted_surface": Quantity(rig.area_to_wetted_surface(at), "", basis),
                "lead": Quantity(rig.lead(at, lateral.centre[0]), "", basis if whole else "assumed"),
            }
        return found


def each_rig(facts: dict[str, Any], measured: Mapping[str, float]) -> dict[str, dict[str, float]]:
    """The numbers of `Sails` for each rig of a boat, by the rig's name, from her file's facts and her measures;
    NaN where a number is wanting."""
    from ..hull.floating import rigs_of

    rigs = rigs_of(facts)
    if not rigs:
        return {}
    by_displacement, surface, lwl, lead = (
        measured.get(name, math.nan) for name in ("sail_area_displacement", "wetted_surface", "lwl", "lead")
    )
    greatest = max(rigs.values(), key=lambda rig: rig.area)
    return {
        name: {
            "sail_area": rig.area,
            "sail_area_displacement": by_displacement * rig.area / greatest.area,
            "sail_area_wetted_surface": rig.area / surface,
            "lead": lead + (greatest.centre_of_effort[0] - rig.centre_of_effort[0]) / lwl,
        }
        for name, rig in rigs.items()
    }


def _upright(hull: Hull, facts: dict[str, Any]) -> tuple[Hydrostatics, bool, float] | None:
    """Upright figures where the file says she floats, whether it says so by a waterline, and the volume she displaces
    there to the outside of her planking, m³; or None."""
    from ..hull.floating import load_of

    inside = hull.moulded_to.startswith("inside")
    planking = (facts.get("planking") or 0.0) if inside else 0.0

    def displaced(at: Hydrostatics) -> float:
        # Steiner's formula to the first order: what lies between parallel surfaces, within a per cent of her.
        return at.volume + planking * at.wetted_surface

    if "load_waterline" in facts:
        at = hull.hydrostatics(facts["load_waterline"])
        return at, True, displaced(at)
    load = load_of(facts)
    if not load:
        return None
    # Under all her load the inside alone would float her deeper: her planking floats her too. By Newton's method, the
    # waterplane taken for how fast she displaces more.
    draught = hull.level_draught(load.total)
    at = hull.hydrostatics(draught)
    wanted = load.total * at.volume / at.mass
    for _ in range(_SHELLS if planking else 0):
        draught -= (displaced(at) - wanted) / at.awp
        at = hull.hydrostatics(draught)
    return at, False, displaced(at)


dimensions = Dimensions()
form = Form()
floating = Floating()
sails = Sails()
