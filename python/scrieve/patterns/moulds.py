"""The moulds as patterns: their shapes, their bevels, and how they stand."""

from __future__ import annotations

import warnings
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Any

from .. import _core
from ..errors import Note, NotMade
from ..plugin.given import PickedUp
from ..plugin.lofted import Lofted, Part
from ..plugin.options import Length, Option, Planking, declared
from ..tables import frame

if TYPE_CHECKING:
    from ..hull.hull import Hull


RIBBANDS = (
    "where ribbands run, parted by commas: 0-6-0, diagonal A, chine, sheer - 0-4-0 (or along girth), "
    "through 0-9-0 at 1 and 0-7-0 at 6"
)
SHAPES = ("pair", "stacked", "whole")


class Moulds:
    """Moulds at full size, one drawing each: shape inside the planking, grid lines, sheer mark, spall line

    The shape is cut from the surface parallel to the hull. A square edge bears on the station line: the
    mould lies on that side of it that is toward the widest part of the boat.

    In pieces, a mould is a floor across the bottom and futtocks up each side, butted in one thickness with a
    cleat over each joint on the face off the station line: pieces in two layers that lap would have half
    their edge a thickness off that line, where the hull is wider. Joints are chosen clear of notches and of
    the tightest turn, as many as the stock asks for, or one is stated.

    Ribbands are told one after another, parted by commas: a height (0-6-0), diagonal A, chine (or chine 2,
    counted from the keel), sheer - 0-4-0, sheer - 0-4-0 along girth, or a batten through its own readings,
    through 0-9-0 at 1 and 0-7-0 at 6.

    Her sheer is marked where it comes in square to the planking, on the inside of it: where her side flares that is
    above the height in the table by the planking's thickness times the sine of the flare.

    The cross spall, unless its height is given, stands a round figure of 100 mm or more clear of her highest,
    stem head and all. Chines are marked, and the planking below and above each has its own bevel.
    """

    lofted = Lofted(
        (
            Part("moulds within one another, to look at", ("moulds",), suffix="svg"),
            Part("moulds at full size, for the router", ("*",), folder="moulds"),
            Part("moulds: the board each is got out of", tables={"boards": "boards"}),
            Part("", tables={"set-up": ""}),
        ),
        order=20,
    )

    def draw(
        self,
        hull: Hull,
        *,
        deduct: Annotated[float | None, Planking("planking to deduct; left out, the table's own")] = None,
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
        ribbands: Annotated[str, Option(RIBBANDS)] = "",
        ribband_notch_width: Annotated[float, Length("width of each ribband's notch; none where left out")] = 0.0,
        ribband_notch_depth: Annotated[float, Length("its depth")] = 0.0,
        pieces: Annotated[bool, Option("a floor, futtocks, cleats and a cross spall")] = False,
        joint_height: Annotated[float | None, Length("in pieces: height of the joint; chosen where left out")] = None,
        joint_half_breadth: Annotated[float | None, Length("in pieces: half-breadth of the joint")] = None,
        lap: Annotated[
            float | None, Length("in pieces: lap of a cleat on each piece; the limb's width if left out")
        ] = None,
        head: Annotated[bool, Option("in pieces: a head across the limbs, level with the sheer")] = False,
        stock_length: Annotated[float | None, Length("in pieces: length of the largest board there is")] = None,
        stock_width: Annotated[float | None, Length("in pieces: its width")] = None,
        spalls: Annotated[bool, Option("a cross spall for each mould; always, in pieces")] = False,
        spall_width: Annotated[float, Length("width of the cross spall")] = 0.1,
        spall_lap: Annotated[float | None, Length("its lap on each limb; to the outer edge where left out")] = None,
        pilot_hole: Annotated[float, Length("holes of this diameter where fastenings go; 0 marks them")] = 0.0,
        registration_hole: Annotated[
            float, Length("two holes of this diameter through each half, to lay port on starboard; 0 for none")
        ] = 0.0,
        assembled: Annotated[bool, Option("also each mould put together, with the boards it takes")] = False,
        upright: Annotated[bool, Option("built keel down")] = False,
    ) -> list[_core.Drawing]:
        options = {name: value for name, value in locals().items() if name not in ("self", "hull", "assembled")}
        moulds = moulds_told(hull, **options)
        drawings = moulds.drawings() + (moulds.assembled() if assembled else [])
        tables = {"boards": frame(moulds.pieces()), "set-up": frame(moulds.set_up())}
        sheet = moulds.sheet()
        captions = {sheet.name: "The moulds within one another."}
        return PickedUp(drawings, tables, to_look_at=[sheet], captions=captions)


# Moulds, their bevels and their setting up are asked for one after another of one boat.
@lru_cache(maxsize=1)
def _mould_set(hull: Hull, options: tuple[tuple[str, Any], ...]) -> _core.Moulds:
    return hull.mould_set(**dict(options))


def moulds_told(hull: Hull, **options: Any) -> _core.Moulds:
    """The moulds, with what is to be told of them as warnings; `options` are those of the pattern `moulds`."""
    default = {option.name: option.default for option in declared(Moulds.draw) if option.name != "assembled"}
    moulds = _mould_set(hull, tuple(sorted((default | options).items())))
    for remark in moulds.remarks:
        warnings.warn(Note(remark), stacklevel=4)
    for failure in moulds.failures:
        warnings.warn(NotMade(f"mould at {failure}"), stacklevel=4)
    return moulds


class Bevels:
    """Bevel boards: the bevels of each mould and the transom as lines across a board, labelled"""

    lofted = Lofted(
        (
            Part("bevels at each mould", tables={"bevels": "bevels"}),
            Part("bevel boards, to set a square from", ("*",)),
            Part("", tables={"transom-bevels": ""}),
        ),
        order=40,
        sheets=False,
    )

    def draw(
        self,
        hull: Hull,
        *,
        deduct: Annotated[float | None, Planking("planking to deduct; left out, the table's own")] = None,
        over: Annotated[
            float, Length("thickness of the moulds, that rises are given over", like=("moulds", "thickness"))
        ] = 0.018,
        transom_over: Annotated[
            float, Length("thickness of the transom, that its own are given over", like=("transom", "thickness"))
        ] = 0.022,
        spacing: Annotated[
            float | None, Length("a mould every so far, instead of at the stations", like=("moulds", "spacing"))
        ] = None,
        ribbands: Annotated[str, Option(RIBBANDS, like=("moulds", "ribbands"))] = "",
    ) -> list[_core.Drawing]:
        moulds = moulds_told(hull, deduct=deduct, thickness=over, spacing=spacing, ribbands=ribbands)
        transom = hull.transom(transom_over, deduct) if hull.has_transom else None
        tables = {"bevels": frame(moulds.bevels())}
        if transom is not None:
            tables["transom-bevels"] = transom.bevels()
        return PickedUp([moulds.bevel_board(transom._core if transom else None)], tables)


class SetUp:
    """The moulds on the strongback, with distances running from one end"""

    lofted = Lofted(
        (
            Part("setting up: where each mould stands", tables={"set-up": "set-up"}),
            Part("moulds on the strongback", ("*",), suffix="svg", file="set-up"),
        ),
        order=30,
        headings={"set-up": "Setting up"},
    )

    def draw(
        self,
        hull: Hull,
        *,
        deduct: Annotated[float | None, Planking("planking to deduct; left out, the table's own")] = None,
        thickness: Annotated[float, Length("thickness of the moulds' stock", like=("moulds", "thickness"))] = 0.018,
        spacing: Annotated[
            float | None, Length("a mould every so far, instead of at the stations", like=("moulds", "spacing"))
        ] = None,
        spall_height: Annotated[
            float | None, Length("height of the cross spall, one for all", like=("moulds", "spall_height"))
        ] = None,
        strongback_from: Annotated[float, Length("where distances start, aft of the forward end")] = 0.0,
        upright: Annotated[bool, Option("built keel down", like=("moulds", "upright"))] = False,
    ) -> list[_core.Drawing]:
        options = {name: value for name, value in locals().items() if name not in ("self", "hull")}
        moulds = moulds_told(hull, **options)
        return PickedUp([moulds.set_up_drawing(hull._core)], {"set-up": frame(moulds.set_up())})


moulds = Moulds()
bevels = Bevels()
set_up = SetUp()
