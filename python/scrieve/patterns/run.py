"""A pattern run on a hull, by the main job and by `scrieve pickup` alike."""

from __future__ import annotations

import os
import time
import warnings
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from .. import files
from .._core import Drawing
from ..errors import LoftError, Note, NotMade, PluginError, ScrieveError, error
from ..hull import ranges
from ..hull.hull import Hull
from ..plugin.given import PickedUp
from ..plugin.options import Declared, Length, declared
from ..plugin.registry import Plugin
from ..tables import frame

if TYPE_CHECKING:
    import pandas


def refuse_no_hull(hull: Hull) -> None:
    """Raises `LoftError` where her table describes no one fair hull: what is written might be cut by."""
    if hull.no_hull is not None:
        raise LoftError(f"nothing is written to cut by: {hull.no_hull}")


def options_of(plugin: Plugin) -> list[Declared]:
    """The options of a pattern. Raises `PluginError` where they cannot be told."""
    draw = getattr(plugin.load(), "draw", None)
    if draw is None:
        raise error(PluginError, f"{plugin} has no draw()", where=plugin, plugin=plugin)
    try:
        return declared(draw)
    except Exception as failed:
        what = f"its options cannot be told: {failed}"
        raise error(PluginError, what, where=plugin, at=True, plugin=plugin) from failed


def draw(plugin: Plugin, hull: Hull, given: Mapping[str, Any], cutter: float | None = None) -> PickedUp:
    """What the pattern draws with the options given; corners that a `cutter` of this diameter, m, cannot reach into are
    relieved. Raises `LoftError` for a length out of its range, `DrawingError` for a notch the cutter does not go into,
    `PluginError` for what is no list of drawings, `ScrieveError` where it drew nothing, and what the pattern raises."""
    lengths = {o.name: given[o.name] for o in options_of(plugin) if isinstance(o.option, Length) and o.name in given}
    ranges.check(hull, **lengths)
    drawn = plugin.call("draw", hull, **given)
    if not isinstance(drawn, list) or not all(isinstance(drawing, Drawing) for drawing in drawn):
        what = f"{plugin} gave {str(drawn):.80} where a list of Drawing was expected"
        raise error(PluginError, what, where=plugin, plugin=plugin)
    if not drawn:
        raise error(ScrieveError, f"{plugin} drew nothing", where=plugin)
    picked = drawn if isinstance(drawn, PickedUp) else PickedUp(drawn, {})
    hull._named([*picked, *picked.to_look_at])
    for drawing in picked:
        if drawing.parts()["part"]:
            drawing.title_box = title_lines(hull, drawing)
        left = [] if cutter is None else drawing.relieve(1e3 * cutter)
        for said in (*_unreached(left, cutter), *_unwritten(drawing)):
            warnings.warn(Note(f'drawing "{drawing.name}": {said}'), stacklevel=2)
    parts = parts_of(picked)
    if len(parts):
        picked.tables = {PARTS: parts, **picked.tables}
    return picked


def _unreached(left: list[tuple[str, float, float, float | None]], cutter: float | None) -> Iterator[str]:
    """What is said of places the cutter does not get into."""
    for what in ("corner", "hollow", "hole"):
        some = [one for one in left if one[0] == what]
        if not some:
            continue
        at = ", ".join(f"{x:.0f}, {y:.0f}" for _, x, y, _ in some[:_TOLD])
        at += f" mm and {len(some) - _TOLD} more" if len(some) > _TOLD else " mm"
        if what == "corner":
            yield f"no room to relieve the corners at {at} for the cutter: they are left round"
        elif what == "hollow":
            size = f"{1e3 * (cutter or 0.0):g} mm"
            yield f"the edge is hollower at {at} than the cutter of {size} is round: it is left fuller"
        else:
            least, most = min(one[3] or 0.0 for one in some), max(one[3] or 0.0 for one in some)
            size = f"{least:.4g}" if most - least < 0.01 else f"{least:.4g} to {most:.4g}"
            yield f"holes of {size} mm at {at} are smaller than the cutter: bore them"


def _unwritten(drawing: Drawing) -> Iterator[str]:
    """What is said of letters a part has no room for."""
    lost = list(dict.fromkeys(drawing.unwritten))
    if lost:
        more = f" and {len(lost) - _TOLD} more" if len(lost) > _TOLD else ""
        told = ", ".join(f'"{one}"' for one in lost[:_TOLD])
        yield f"no room is left on its parts for {told}{more}: write it by hand"


# Letters of a table's SHA-256 in a title box: enough that two tables of one shop are told apart.
_HASH_LETTERS = 12


def title_lines(hull: Hull, drawing: Drawing) -> list[str]:
    """What a pattern's title box says of it; see `title_of`."""
    parts = drawing.parts()
    thick = dict.fromkeys(f"{1e3 * one:.4g} mm" for one in parts["thickness"] if one is not None)
    known = len([one for one in parts["thickness"] if one is not None])
    stock = ", ".join(thick) + (", others not said" if thick and known < len(parts["part"]) else "")
    return title_of(hull, f"PART  {drawing.name.replace('-', ' ')}", stock or "thickness not said")


def title_of(hull: Hull, what: str, stock: str) -> list[str]:
    """A title box: boat, what is drawn, stock, units, and the table it is of by its SHA-256: that of the table's text as
    `Table.write` writes it.

    There is no day in it but that of SOURCE_DATE_EPOCH, where that is set: a job done twice is the same twice, and the
    day it was cut is written by hand.
    """
    table = hull.table_sha256[:_HASH_LETTERS]
    day = os.environ.get("SOURCE_DATE_EPOCH", "")
    return [
        f"BOAT  {hull.name}",
        what,
        f"STOCK  {stock}",
        "UNITS  millimetres, full size",
        f"TABLE  {hull.source.name}, SHA-256 {table}",
        "DATE  " + (time.strftime("%Y-%m-%d", time.gmtime(int(day))) if day.isdecimal() else "____-__-__"),
    ]


# The table that lists every part of a pattern that is cut out.
PARTS = "parts"

# Places and words that are told, before the rest is only counted.
_TOLD = 3


def parts_of(drawings: list[Drawing]) -> pandas.DataFrame:
    """Every part that is cut out of these drawings, a row each."""
    import pandas

    units = {"thickness": "m", "length": "m", "width": "m", "grain": "°"}
    frames = [pandas.DataFrame({"drawing": drawing.name, **drawing.parts()}) for drawing in drawings]
    frames = [one.astype(dict.fromkeys(units, float)) for one in frames if len(one)]
    if not frames:
        return pandas.DataFrame()
    return frame(pandas.concat(frames, ignore_index=True), units)


def sound(drawings: list[Drawing]) -> list[Drawing]:
    """Those that may be cut by; warns of the others, with what is wrong."""
    kept = []
    for drawing in drawings:
        wrong = files.faults(drawing)
        if wrong:
            warnings.warn(NotMade(f'drawing "{drawing.name}": {wrong[0]}'), stacklevel=2)
        else:
            kept.append(drawing)
    return kept
