"""Built-in patterns of what is picked up before planking, besides the moulds: see `scrieve.patterns`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from . import _core
from .errors import LoftError
from .options import Length, Option
from .patterns import RIBBANDS, moulds_told

if TYPE_CHECKING:
    from .hull import Hull


class Backbone:
    """Keel, stem, sternpost and stern knee: patterns with the rabbet, plan, profile and full-size sections

    Rabbet, bearding and middle line are marked on every piece. Scarfs are eight times the keel's depth.
    """

    def draw(
        self,
        hull: Hull,
        *,
        thickness: Annotated[float | None, Length("planking; left out, the table's own")] = None,
        half_siding: Annotated[float | None, Length("half the width at the rabbet; left out, the table's")] = None,
        keel_depth: Annotated[float, Length("keel below the rabbet, where the table gives no keel")] = 0.075,
        stem_outside: Annotated[float, Length("stem's head outside the rabbet line")] = 0.05,
        inside: Annotated[float, Length("inner edge of the pieces inside the bearding line")] = 0.02,
        section_every: Annotated[float, Length("spacing of the stem's full-size sections")] = 0.25,
        transom_thickness: Annotated[float, Length("transom the stern knee stands against")] = 0.022,
        knee_arm: Annotated[float, Length("length of each arm of the stern knee")] = 0.35,
    ) -> list[_core.Drawing]:
        options = {name: value for name, value in locals().items() if name not in ("self", "hull")}
        return hull.backbone(**options).drawings()


class Transom:
    """The transom at its true size, planking deducted, both faces, bevels round its edge; rolled out if curved"""

    def draw(
        self,
        hull: Hull,
        *,
        thickness: Annotated[float, Length("thickness of the transom")] = 0.022,
        planking: Annotated[float | None, Length("planking to deduct; left out, the table's own")] = None,
        beam: Annotated[float | None, Length("round of beam: the beam it is stated for")] = None,
        camber: Annotated[float | None, Length("round of beam: the camber over that beam")] = None,
    ) -> list[_core.Drawing]:
        return [hull.transom(thickness, planking, round_of_beam(beam, camber)).drawing()]


def round_of_beam(beam: float | None, camber: float | None) -> tuple[float, float] | None:
    """The two as one. Raises `LoftError` where one is given without the other."""
    if beam is None and camber is None:
        return None
    if beam is None or camber is None:
        raise LoftError("a round of beam is a beam and a camber: give both, or neither")
    return beam, camber


class Bevels:
    """Bevel boards: the bevels of each mould and the transom as lines across a board, labelled"""

    def draw(
        self,
        hull: Hull,
        *,
        deduct: Annotated[float | None, Length("planking to deduct; left out, the table's own")] = None,
        over: Annotated[float, Length("thickness that rises are given over")] = 0.018,
        spacing: Annotated[float | None, Length("a mould every so far, instead of at the stations")] = None,
        ribbands: Annotated[str, Option(RIBBANDS)] = "",
    ) -> list[_core.Drawing]:
        moulds = moulds_told(hull, deduct=deduct, thickness=over, spacing=spacing, ribbands=ribbands)
        transom = hull.transom(over, deduct)._core if hull.has_transom else None
        return [moulds.bevel_board(transom)]


def heights(text: str) -> list[float]:
    """Readings parted by commas, in metres. Raises `ReadingError`."""
    return [_core.Reading(part.strip()).m for part in text.split(",") if part.strip()]


class SetUp:
    """The moulds on the strongback, with distances running from one end"""

    def draw(
        self,
        hull: Hull,
        *,
        deduct: Annotated[float | None, Length("planking to deduct; left out, the table's own")] = None,
        thickness: Annotated[float, Length("thickness of the moulds' stock")] = 0.018,
        spacing: Annotated[float | None, Length("a mould every so far, instead of at the stations")] = None,
        spall_height: Annotated[float | None, Length("height of the cross spall, one for all")] = None,
        strongback_from: Annotated[float, Length("where distances start, aft of the forward end")] = 0.0,
        upright: Annotated[bool, Option("built keel down")] = False,
    ) -> list[_core.Drawing]:
        options = {name: value for name, value in locals().items() if name not in ("self", "hull")}
        return [moulds_told(hull, **options).set_up_drawing(hull._core)]


class InsideStructure:
    """Thwarts, a bulkhead, deck beams and the deck: each is drawn where its place is given

    Pieces are fitted to the inside of the planking, and of the ribs where `outside` gives their thickness.
    """

    def draw(
        self,
        hull: Hull,
        *,
        outside: Annotated[float, Length("ribs between planking and piece, added to the planking")] = 0.0,
        thwarts: Annotated[str, Option("forward edges of thwarts, readings parted by commas")] = "",
        thwart_height: Annotated[float | None, Length("height of the thwarts' under face")] = None,
        thwart_width: Annotated[float, Length("width of the thwarts")] = 0.2,
        thickness: Annotated[float, Length("thickness of thwarts and bulkheads")] = 0.022,
        bulkheads: Annotated[str, Option("forward faces of bulkheads, readings parted by commas")] = "",
        beams: Annotated[str, Option("places of deck beams, readings parted by commas")] = "",
        beam: Annotated[float | None, Length("round of beam: the beam it is stated for")] = None,
        camber: Annotated[float | None, Length("round of beam: the camber over that beam")] = None,
        depth: Annotated[float, Length("moulded depth of deck beams")] = 0.06,
    ) -> list[_core.Drawing]:
        inside = hull._inside(None) + outside
        round_ = round_of_beam(beam, camber)
        at = {what: heights(text) for what, text in (("thwart", thwarts), ("bulkhead", bulkheads), ("beam", beams))}
        if at["thwart"] and thwart_height is None:
            raise LoftError("give the height of the thwarts")
        if at["beam"] and round_ is None:
            raise LoftError("deck beams need a round of beam: give a beam and a camber")
        drawings = []
        if thwart_height is not None:
            drawings += [
                hull.thwart(
                    x, thwart_height, width=thwart_width, thickness=thickness, inside=inside, name=f"thwart {i}"
                ).drawing
                for i, x in enumerate(at["thwart"], 1)
            ]
        drawings += [
            hull.bulkhead(x, thickness=thickness, round_of_beam=round_, inside=inside, name=f"bulkhead {i}")
            for i, x in enumerate(at["bulkhead"], 1)
        ]
        if round_ is not None:
            drawings += [
                hull.deck_beam(x, round_, depth=depth, inside=inside, name=f"deck beam {i}").drawing
                for i, x in enumerate(at["beam"], 1)
            ]
        return [*drawings, hull.deck()]


backbone = Backbone()
transom = Transom()
bevels = Bevels()
set_up = SetUp()
inside = InsideStructure()
