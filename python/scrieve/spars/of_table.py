"""The spars of a boat, as her table tells them under `[spar.NAME]`, and what her sails ask of spars.

A sail of four corners has throat and peak above, tack and clew below, the forward one of either pair first; one of
three has its head above. Yards and gaffs span the head, booms the foot, sprits from tack to peak.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from ..errors import LoftError, error
from ..tables import frame
from .spar import KINDS, SCARF, Spar

if TYPE_CHECKING:
    import pandas

    from ..table.table import Table

Corner = tuple[float, float]
# From which corner to which each kind of spar reaches.
SPANS = {"yard": ("throat", "peak"), "gaff": ("throat", "peak"), "boom": ("tack", "clew"), "sprit": ("tack", "peak")}
EDGES = {
    "head": ("throat", "peak"), "foot": ("tack", "clew"), "luff": ("tack", "throat"), "leech": ("peak", "clew"),
    "diagonal": ("tack", "peak"),
}  # fmt: skip
# A mast leans by no more, degrees: past it a slip.
RAKE = 30.0


class Told(NamedTuple):
    """A spar of a table, with what is to be done with it."""

    spar: Spar
    species: str | None
    stock: float | None
    scarf: float
    scarf_kind: str
    kerfs: tuple[float, float] | None
    spans: str
    """How its length was found; empty where the table gives it."""


@dataclass(frozen=True)
class Sail:
    """The corners of a sail by their names, (from the stem, height), m."""

    name: str
    corners: dict[str, Corner]
    outline: tuple[Corner, ...]

    def span(self, begin: str, end: str) -> float:
        """From corner to corner, m."""
        (x, z), (u, w) = self.corners[begin], self.corners[end]
        return math.hypot(u - x, w - z)


def sails_of(table: Table) -> dict[str, Sail]:
    """Her sails of three or four corners, by name; those of more are left out, since no corner of them has one name."""
    found = {}
    for name, given in table.facts.get("sails", {}).items():
        corners: list[Corner] = [(float(x), float(z)) for x, z in given]
        if len(corners) not in (3, 4):
            continue
        by_height = sorted(corners, key=lambda corner: corner[1])
        tack, clew = sorted(by_height[:2])
        above = sorted(by_height[2:])
        named = {"tack": tack, "clew": clew} | dict(
            zip(("throat", "peak") if len(above) == 2 else ("head",), above, strict=True)
        )
        found[name] = Sail(name, named, tuple(corners))
    return found


def spans(table: Table) -> pandas.DataFrame:
    """The edges of her sails that a spar may span, m."""
    rows = [
        (sail.name, edge, sail.span(*ends))
        for sail in sails_of(table).values()
        for edge, ends in EDGES.items()
        if set(ends) <= set(sail.corners)
    ]
    columns = {name: [row[i] for row in rows] for i, name in enumerate(("sail", "edge", "length"))}
    return frame(columns, {"length": "m"})


def mast_length(sail: Sail, step: Sequence[float], rake: float = 0.0, over: float = 0.0) -> float:
    """Length of a mast whose heel stands at `step`, (from the stem, height), m, raked `rake` degrees aft, which
    reaches `over`, m, above the highest place where its line crosses the sail's edge: that of the yard or gaff, or the
    head of a sail that is set on the mast itself.

    A mast that stands before the luff is taken to reach as high as the sail's upper corner nearest to it. Raises
    `LoftError` where it would have no length.
    """
    if not abs(rake) <= RAKE:
        raise error(LoftError, f"a mast raked {rake:g} degrees", remedy=f"from {-RAKE:g} to {RAKE:g}, aft positive")
    x, z = (float(one) for one in step)
    along = math.sin(math.radians(rake)), math.cos(math.radians(rake))
    placed = [
        ((u - x) * along[0] + (w - z) * along[1], (u - x) * along[1] - (w - z) * along[0]) for u, w in sail.outline
    ]
    crossed = []
    for (s, off), (t, away) in zip(placed, placed[1:] + placed[:1], strict=True):
        if off * away <= 0.0 and off != away:
            crossed.append(s + (t - s) * off / (off - away))
    if not crossed:
        upper = [named for named in ("throat", "peak", "head") if named in sail.corners]
        near = [(abs(off), s) for (s, off), corner in zip(placed, sail.outline, strict=True)
                if any(sail.corners[named] == corner for named in upper)]  # fmt: skip
        crossed = [min(near)[1]]
    length = max(crossed) + over
    if not length > 0.0:
        what = f"a mast stepped at {x:g} m, {z:g} m high, stands above all of the {sail.name}"
        raise error(LoftError, what, remedy="look at its step, [from_stem, height]")
    return length


def spars_of(table: Table) -> dict[str, Told]:
    """Her spars, by name. Raises `LoftError`, which names the spar, for one that cannot be made."""
    return {name: spar_of(table, name) for name in table.facts.get("spars", {})}


def spar_of(table: Table, name: str) -> Told:
    """That spar of hers. Raises `LoftError` where there is none, or none can be made of what is said of it."""
    facts = table.facts.get("spars", {})
    if name not in facts:
        there = ", ".join(facts) or f"[spar.{name}] would tell one"
        raise error(LoftError, f"{table.facts['name']}'s table tells no spar {name!r}", remedy=there)
    try:
        return _told(table, name, facts[name])
    except LoftError as failed:
        raise error(LoftError, str(failed), where=f"[spar.{name}]", at=True) from None


def _told(table: Table, name: str, said: dict[str, Any]) -> Told:
    kind = said.get("kind") or (name if name in KINDS else "mast")
    length, spanned = _length(table, kind, said)
    diameter: Any = said["diameter"]
    if "athwart" in said:
        diameter = diameter, said["athwart"]
    options: dict[str, Any] = {
        key: said[key] for key in ("taper", "section", "run_out", "straight", "taper_athwart") if key in said
    }
    if "staves" in said:
        options["staves"] = int(said["staves"])
    if "solid" in said:
        options["solid"] = tuple(said["solid"])
    marks = {mark: tuple(at) for mark, at in said.get("marks", {}).items()}
    spar = Spar(length, diameter, wall=said.get("wall"), kind=kind, name=name, marks=marks, **options)
    kerfs = tuple(said["kerfs"]) if "kerfs" in said else None
    return Told(
        spar, said.get("species"), said.get("stock"), said.get("scarf", SCARF), said.get("scarf_kind", "plain"),
        kerfs, spanned,
    )  # fmt: skip


def _length(table: Table, kind: str, said: dict[str, Any]) -> tuple[float, str]:
    if "length" in said:
        unused = [key for key in ("sail", "over", "step", "rake") if key in said]
        if unused:
            remedy = f"leave out {' and '.join(unused)}, or the length"
            raise error(LoftError, f"its length is given, and {unused[0]} too", remedy=remedy)
        return said["length"], ""
    sails = sails_of(table)
    if said["sail"] not in sails:
        remedy = ", ".join(sails) or "[sail.NAME] with three or four corners"
        raise error(LoftError, f"there is no sail {said['sail']!r} of three or four corners", remedy=remedy)
    sail, over = sails[said["sail"]], said.get("over", 0.0)
    if kind == "mast":
        if "step" not in said:
            raise error(
                LoftError, "a mast that is to reach a sail", remedy="give `step = [from_stem, height]` of its heel"
            )
        found = mast_length(sail, said["step"], said.get("rake", 0.0), over)
        return found, f"to where it leaves the {sail.name}" + (f", and {over:.3f} m above" if over else "")
    if kind not in SPANS:
        raise error(LoftError, f"no side of a sail tells a {kind}'s length", remedy="give its length")
    begin, end = SPANS[kind]
    if not {begin, end} <= set(sail.corners):
        raise error(
            LoftError, f"the {sail.name} has three corners, and a {kind} spans one of four", remedy="give its length"
        )
    over_both = f", and {over:.3f} m over at either end" if over else ""
    return sail.span(begin, end) + 2.0 * over, f"{begin} to {end} of the {sail.name}{over_both}"
