"""What stands inside the planking, as patterns."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

from .. import _core
from ..errors import LoftError, Note
from ..hull import ranges
from ..hull.inside import Opening
from ..plugin.given import PickedUp
from ..plugin.lofted import Lofted, Part
from ..plugin.options import Length, Option, Planking
from ..tables import frame
from .options import round_of_beam

if TYPE_CHECKING:
    import pandas

    from ..hull.hull import Hull


def heights(text: str) -> list[float]:
    """Readings parted by commas, in metres. Raises `ReadingError`, `LoftError`."""
    parts = [part.strip() for part in text.split(",") if part.strip()]
    if len(parts) > ranges.MOST_PIECES:
        raise LoftError(f"{len(parts)} lengths in one option: expected {ranges.MOST_PIECES} at most")
    return [_core.Reading(part).m for part in parts]


class InsideStructure:
    """Thwarts, a stringer, bulkheads, deck beams, carlins, a centreboard's case, where given; the deck

    Pieces are fitted to the inside of the planking, and of the ribs where `outside` gives their thickness.
    """

    lofted = Lofted(
        (
            Part("the deck in plan", ("deck",), folder="inside"),
            Part("half-breadths of the deck", tables={"deck": "deck"}, folder="inside"),
            Part(
                "breadths inside the planking, with the bevels of ends: for thwarts and floors",
                tables={"breadths": "breadths"},
                folder="inside",
            ),
        ),
        order=70,
    )

    def draw(
        self,
        hull: Hull,
        *,
        planking: Annotated[float | None, Planking("planking; left out, the table's own")] = None,
        outside: Annotated[float, Length("ribs between planking and piece, added to the planking")] = 0.0,
        thwarts: Annotated[str, Option("forward edges of thwarts, readings parted by commas")] = "",
        thwart_height: Annotated[float | None, Length("height of the thwarts' under face")] = None,
        thwart_width: Annotated[float, Length("width of the thwarts")] = 0.2,
        thickness: Annotated[float, Length("thickness of thwarts and bulkheads")] = 0.022,
        bulkheads: Annotated[str, Option("forward faces of bulkheads, readings parted by commas")] = "",
        stringer_from: Annotated[float | None, Length("forward end of a stringer or riser")] = None,
        stringer_to: Annotated[float | None, Length("its after end")] = None,
        stringer_height: Annotated[float | None, Length("height of its upper edge, level")] = None,
        stringer_below_sheer: Annotated[float | None, Length("its upper edge so far below the sheer instead")] = None,
        stringer_heights: Annotated[
            str, Option("or its heights at stations, for a fair line: 2=1-4-0, 5=1-2-0, 8=1-3-0")
        ] = "",
        stringer_depth: Annotated[float, Length("width of its face, up and down the side")] = 0.045,
        stringer_thickness: Annotated[float, Length("its size square to the planking")] = 0.018,
        level_edges: Annotated[bool, Option("its edges planed level athwart, for thwarts to lie on")] = False,
        beams: Annotated[str, Option("places of deck beams, readings parted by commas")] = "",
        beam_spacing: Annotated[float | None, Length("a deck beam every so far instead")] = None,
        beam: Annotated[float | None, Length("round of beam: the beam it is stated for")] = None,
        camber: Annotated[float | None, Length("round of beam: the camber over that beam")] = None,
        depth: Annotated[float, Length("moulded depth of deck beams and carlins")] = 0.06,
        beam_siding: Annotated[float, Length("size of deck beams along the boat")] = 0.03,
        openings: Annotated[
            str,
            Option(
                "openings in the deck, parted by semicolons: forward end, after end, half-breadth, and another at the "
                "after end where it differs: 5-0-0, 9-0-0, 1-6-0, 1-3-0"
            ),
        ] = "",
        carlin_thickness: Annotated[float, Length("size of the carlins athwart")] = 0.025,
        deck_thickness: Annotated[float | None, Length("thickness of the deck; left out, it is not said")] = None,
        slot_from: Annotated[float | None, Length("forward end of a centreboard's slot in the keel")] = None,
        slot_to: Annotated[float | None, Length("its after end")] = None,
        slot_width: Annotated[float, Length("its width")] = 0.03,
        case_top: Annotated[float | None, Length("height of the top of the centreboard's case")] = None,
        bed_log: Annotated[float, Length("size of the case's bed logs athwart")] = 0.04,
        bed_log_depth: Annotated[float, Length("their depth")] = 0.09,
        cheek: Annotated[float, Length("wood to leave of the keel each side of the slot")] = 0.015,
        keel_above: Annotated[float, Length("the keel's upper edge above the bearding line")] = 0.02,
    ) -> list[_core.Drawing]:
        asked = (thwarts, bulkheads, stringer_from, stringer_to, stringer_height, stringer_below_sheer, beams, openings)
        nothing = not any(asked) and not any((stringer_heights, beam_spacing, slot_from, slot_to, case_top))
        try:
            inside = hull.planking_inside(planking) + outside
        except LoftError as error:
            if not nothing:
                raise
            warnings.warn(Note(f"nothing is fitted inside the planking: {error}"), stacklevel=2)
            return PickedUp([hull.deck(thickness=deck_thickness)], {})
        round_ = round_of_beam(beam, camber)
        cut = deck_openings(openings)
        if thwarts and thwart_height is None:
            raise LoftError("give the height of the thwarts: --thwart-height")
        framed = bool(beams) or beam_spacing is not None
        if (framed or cut) and round_ is None:
            needs = "deck beams and carlins need a round of beam"
            raise LoftError(f"{needs}: give a beam and a camber, --beam and --camber")
        if beams and beam_spacing is not None:
            raise LoftError("give places of deck beams or a spacing, one of the two: --beams or --beam-spacing")
        drawings = []
        tables = {"deck": hull.deck_table(inside), "breadths": hull.breadths(inside)}
        if thwart_height is not None:
            made = [
                hull.thwart(
                    x, thwart_height, width=thwart_width, thickness=thickness, inside=inside, name=f"thwart {i}"
                )
                for i, x in enumerate(heights(thwarts), 1)
            ]
            drawings += [thwart.drawing for thwart in made]
            tables["thwarts"] = named("thwart", [thwart.edges for thwart in made], ["forward", "after"])
        given = (stringer_height, stringer_below_sheer, stringer_heights or None)
        ends = (stringer_from, stringer_to)
        if any(value is not None for value in (*given, *ends)):
            if sum(value is not None for value in given) != 1:
                ways = "--stringer-height, --stringer-below-sheer or --stringer-heights"
                raise LoftError(f"give the height of the stringer in one of three ways: {ways}")
            if not stringer_heights and None in ends:
                raise LoftError("say where the stringer begins and ends: --stringer-from and --stringer-to")
            at = at_stations(hull, stringer_heights) if stringer_heights else None
            stringer = hull.stringer(
                stringer_from, stringer_to, z=stringer_height, below_sheer=stringer_below_sheer, heights=at,
                depth=stringer_depth, thickness=stringer_thickness, level=level_edges, inside=inside,
            )  # fmt: skip
            drawings.append(stringer.drawing)
            tables["stringer"] = stringer.stations
            tables["stringer-ends"] = named("", [stringer.ends], ["forward", "after"])
        drawings += [
            hull.bulkhead(x, thickness=thickness, round_of_beam=round_, inside=inside, name=f"bulkhead {i}")
            for i, x in enumerate(heights(bulkheads), 1)
        ]
        slot = (slot_from, slot_to, case_top)
        if any(value is not None for value in slot):
            if slot_from is None or slot_to is None or case_top is None:
                raise LoftError(
                    "a centreboard's case needs both ends of its slot and the height of its top: "
                    "--slot-from, --slot-to, --case-top"
                )
            case = hull.centre_case(
                slot_from, slot_to, top=case_top, width=slot_width, log=bed_log, log_depth=bed_log_depth,
                cheek=cheek, keel_above=keel_above,
            )  # fmt: skip
            drawings += case.drawings
            tables["centre-case"] = case.places
        if round_ is None or not (framed or cut):
            return PickedUp([*drawings, hull.deck(thickness=deck_thickness)], tables)
        deck = hull.deck_frame(
            round_, spacing=beam_spacing, beams=None if beam_spacing is not None else heights(beams), openings=cut,
            depth=depth, siding=beam_siding, carlin_thickness=carlin_thickness, inside=inside,
            deck_thickness=deck_thickness,
        )  # fmt: skip
        if deck.failures:
            raise LoftError("\n".join(deck.failures))
        tables |= {"beams": deck.beams, "carlins": deck.carlins}
        return PickedUp([*drawings, *deck.drawings], tables)


def named(piece: str, frames: Sequence[pandas.DataFrame], ends: Sequence[str]) -> pandas.DataFrame:
    """Frames with a row for each end, as one: which piece, numbered from 1, and which end, in front."""
    import pandas

    if not frames:
        return pandas.DataFrame()
    whole = frame(pandas.concat(frames, ignore_index=True))
    whole.insert(0, "end", [*ends] * len(frames))
    if piece:
        whole.insert(0, piece, [i for i in range(1, len(frames) + 1) for _ in ends])
    return whole


def deck_openings(text: str) -> list[Opening]:
    """Openings as the command line gives them. Raises `LoftError`, `ReadingError`."""
    openings = []
    for part in filter(None, (part.strip() for part in text.split(";"))):
        lengths = heights(part)
        if len(lengths) not in (3, 4):
            raise LoftError(
                f"the opening {part!r} has {len(lengths)} lengths: give its forward end, its after end and its "
                "half-breadth, and another half-breadth where it differs aft"
            )
        openings.append(Opening(*lengths))
    return openings


def at_stations(hull: Hull, text: str) -> dict[float, float]:
    """STATION=HEIGHT parted by commas, as heights by x. Raises `LoftError`, `ReadingError`."""
    places = dict(zip(*_core.station_places(hull._core), strict=True))
    at: dict[float, float] = {}
    for part in filter(None, (part.strip() for part in text.split(","))):
        station, equals, height = (piece.strip() for piece in part.rpartition("="))
        if not equals:
            raise LoftError(f"{part!r} is no height at a station: write station = height, such as 2=1-4-0")
        if station not in places:
            raise LoftError(f"her table has no station {station!r} with a place: it has {', '.join(places)}")
        at[places[station]] = _core.Reading(height).m
    return at


inside = InsideStructure()
