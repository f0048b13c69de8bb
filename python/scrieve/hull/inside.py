"""Inside structure: thwarts, stringers, bulkheads, deck beams, carlins, the deck, the case of a centreboard.

Everything is fitted to the inside of the planking, `inside` metres in from the table's surface: left out, the
table's own planking (nothing, where the table is to the inside of it). Add the ribs to it for what stands on
them. Lengths are metres and angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from .. import _core
from .._core import Drawing
from ..errors import LoftError
from ..tables import frame
from . import ranges
from .faired import Faired

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class Thwart:
    """A thwart, cut to hold both its faces. `edges` has a row for its forward and its after edge: from_stem, height,
    length (tip to tip of the wider face there), in_plan (of the end with the fore-and-aft line) and flare (of the end
    with plumb)."""

    edges: pandas.DataFrame
    drawing: Drawing

    def _repr_svg_(self) -> str:
        return self.drawing._repr_svg_()


@dataclass(frozen=True)
class Stringer:
    """A stringer or riser: its length along the side, and how far it bows from straight where its face is rolled
    out flat (up is positive): straight stock must be sprung edgewise by so much.

    `ends` and `stations` have a row for each end and each station crossed. along: from the forward end, for the
    mark on the straight stock; height, half_breadth: the upper edge against the planking; the same with inner_
    (upper inner edge), lower_ and lower_inner_; bow; in_plan; flare (of the face with plumb); level_bevel (what
    comes off a square upper edge to make it level athwart); cut_on_face and cut_on_edge (from the line going aft
    to the station's plane, on the face going down and on the edge going in)."""

    length: float
    bow: float
    ends: pandas.DataFrame
    stations: pandas.DataFrame
    drawing: Drawing

    def _repr_svg_(self) -> str:
        return self.drawing._repr_svg_()


@dataclass(frozen=True)
class DeckBeam:
    """A deck beam: radius of its upper edge, camber over its own length, length at the sheer, and its
    ends: in plan with the fore-and-aft line, and flare from plumb."""

    radius: float
    camber: float
    length: float
    in_plan: float
    flare: float
    drawing: Drawing

    def _repr_svg_(self) -> str:
        return self.drawing._repr_svg_()


@dataclass(frozen=True)
class HalfBeam:
    """A beam from a carlin to the side: its length along the top, level; `ends`, inboard and at the side:
    half_breadth, height, in_plan, flare."""

    length: float
    ends: pandas.DataFrame
    drawing: Drawing

    def _repr_svg_(self) -> str:
        return self.drawing._repr_svg_()


@dataclass(frozen=True)
class Carlin:
    """A carlin: length of its upper edge, level length between its ends, and spring: how far the edge is above the
    straight (negative: below) at its worst. `ends`, forward and after: from_stem, half_breadth (inboard face),
    height of the upper edge, below_middle (how far that is below the middle of the beams), in_plan (bevel of the end
    off square), cut_on_side (upper edge to end), round (fall of the upper edge outboard)."""

    length: float
    level: float
    spring: float
    ends: pandas.DataFrame
    drawing: Drawing

    def _repr_svg_(self) -> str:
        return self.drawing._repr_svg_()


@dataclass(frozen=True)
class Case:
    """The case of a centreboard. `places` has a row for both ends of the slot and the stations between: half_siding
    and bearding of the keel, cheek (wood left beside the slot), foot (at the slot) and foot_outside (at the bed
    log's outer face) as heights, side_height from foot to top, bevel of the foot at the outer face.

    `drawings` are a side to cut and the slot on the keel with sections."""

    places: pandas.DataFrame
    drawings: list[Drawing]

    def _repr_svg_(self) -> str:
        return self.drawings[1]._repr_svg_()


@dataclass(frozen=True)
class Opening:
    """An opening in the deck: forward and after end, m from the stem, and its half-breadth at either."""

    start: float
    end: float
    half_breadth: float
    half_breadth_aft: float | None = None

    @property
    def corners(self) -> tuple[float, float, float, float]:
        """Forward end, after end, half-breadth forward and aft."""
        aft = self.half_breadth if self.half_breadth_aft is None else self.half_breadth_aft
        return self.start, self.end, self.half_breadth, aft


@dataclass(frozen=True)
class Deck:
    """The deck's frame. `beams` has a row for each: beam, from_stem, kind (whole, or half beside an opening), length
    along the top (level, tip to tip of a whole beam), camber of a whole one, in_plan and flare of its end at the
    side, inboard_in_plan; `carlins` a row for each end of each; `failures` says what could not be made and why."""

    beams: pandas.DataFrame
    carlins: pandas.DataFrame
    drawings: list[Drawing]
    failures: list[str]

    def _repr_svg_(self) -> str:
        return self.drawings[-1]._repr_svg_()


class Inside(Faired):
    """What a hull can be asked of the structure inside it."""

    __slots__ = ()

    def planking_inside(self, planking: float | None = None) -> float:
        """How far inside her surface the inner face of her planking lies, m: nothing where her surface is that face,
        else `planking`; left out, the table's own. Raises `LoftError` where nobody tells."""
        if planking is not None:
            return 0.0 if self._core.is_inside else planking
        try:
            return self._core.planking_inside()
        except ValueError as error:
            raise LoftError(f"{error}: give `inside`, the planking (and ribs) to deduct") from None

    def _inside(self, given: float | None) -> float:
        return self.planking_inside() if given is None else given

    def _round_in_range(self, round_of_beam: tuple[float, float] | None, **lengths: float | None) -> None:
        beam, camber = round_of_beam or (None, None)
        ranges.check(self, beam=beam, camber=camber, **lengths)

    def thwart(
        self,
        x: float,
        z: float,
        *,
        width: float = 0.2,
        thickness: float = 0.022,
        inside: float | None = None,
        name: str = "thwart",
    ) -> Thwart:
        """A thwart, forward edge at x, under face at z. Raises `LoftError` where the hull does not reach it."""
        inside = self._inside(inside)
        ranges.check(self, thwart_height=z, thwart_width=width, thickness=thickness, inside=inside)
        edges, drawing = _core.thwart(self._core, x, z, width=width, thickness=thickness, inside=inside, name=name)
        return Thwart(frame(edges), drawing)

    def stringer(
        self,
        start: float | None = None,
        end: float | None = None,
        *,
        z: float | None = None,
        below_sheer: float | None = None,
        heights: Mapping[float, float] | Sequence[tuple[float, float]] | None = None,
        depth: float = 0.045,
        thickness: float = 0.018,
        level: bool = False,
        inside: float | None = None,
        name: str = "stringer",
    ) -> Stringer:
        """A stringer or riser from x = `start` to `end`, its upper edge against the planking level at `z`, so far
        below the sheer, or on the fair line through `heights`, which are (x, z), and then from the first to the
        last where the ends are left out.

        `depth` is the width of its face and `thickness` its size square to the planking; `level` planes its edges
        level athwart, as a riser's are for thwarts. Raises `LoftError` where it leaves the inside of the hull.
        """
        given = None if heights is None else sorted(dict(heights).items())
        start, end = (x if x is not None else given[k][0] if given else None for x, k in ((start, 0), (end, -1)))
        if start is None or end is None:
            raise LoftError("say where the piece begins and ends")
        inside = self._inside(inside)
        ranges.check(
            self, stringer_from=start, stringer_to=end, stringer_height=z, stringer_below_sheer=below_sheer,
            stringer_depth=depth, stringer_thickness=thickness, inside=inside,
        )  # fmt: skip
        length, bow, ends, stations, drawing = _core.stringer(
            self._core, start, end, z=z, below_sheer=below_sheer, heights=given, depth=depth, thickness=thickness,
            level=level, inside=inside, name=name,
        )  # fmt: skip
        return Stringer(length, bow, frame(ends), frame(stations), drawing)

    def bulkhead(
        self,
        x: float,
        *,
        top: float | None = None,
        thickness: float = 0.012,
        round_of_beam: tuple[float, float] | None = None,
        inside: float | None = None,
        name: str = "bulkhead",
    ) -> Drawing:
        """The bulkhead whose forward face stands at x, to the sheer or a level `top`, cut to hold both its faces;
        bevels round its edge."""
        inside = self._inside(inside)
        self._round_in_range(round_of_beam, thickness=thickness, inside=inside)
        return _core.bulkhead(
            self._core, x, top=top, thickness=thickness, round_of_beam=round_of_beam, inside=inside, name=name,
        )  # fmt: skip

    def deck_beam(
        self,
        x: float,
        round_of_beam: tuple[float, float],
        *,
        depth: float = 0.06,
        siding: float = 0.03,
        inside: float | None = None,
        name: str = "deck beam",
    ) -> DeckBeam:
        """The deck beam whose forward face stands at x, cut to hold both its faces. `round_of_beam` is (beam, camber):
        the radius is (beam²/4 + camber²)/2 camber."""
        inside = self._inside(inside)
        self._round_in_range(round_of_beam, depth=depth, beam_siding=siding, inside=inside)
        radius, camber, end, drawing = _core.deck_beam(
            self._core, x, round_of_beam=round_of_beam, depth=depth, siding=siding, inside=inside, name=name
        )
        return DeckBeam(radius, camber, end["length"][0], end["in_plan"][0], end["flare"][0], drawing)

    def half_beam(
        self,
        x: float,
        round_of_beam: tuple[float, float],
        carlin: float,
        *,
        in_plan: float = 0.0,
        depth: float = 0.06,
        siding: float = 0.03,
        inside: float | None = None,
        name: str = "half beam",
    ) -> HalfBeam:
        """The half beam whose forward face stands at x, from the outboard face of a carlin, at half-breadth `carlin`
        there, to the side; `in_plan` is the carlin's angle with the fore-and-aft line, degrees, positive where it runs
        out going aft."""
        inside = self._inside(inside)
        self._round_in_range(round_of_beam, depth=depth, beam_siding=siding, inside=inside)
        length, ends, drawing = _core.half_beam(
            self._core, x, carlin=carlin, in_plan=in_plan, round_of_beam=round_of_beam, depth=depth, siding=siding,
            inside=inside, name=name,
        )  # fmt: skip
        return HalfBeam(length, frame(ends), drawing)

    def carlin(
        self,
        start: float,
        end: float,
        round_of_beam: tuple[float, float],
        half_breadth: float,
        half_breadth_aft: float | None = None,
        *,
        depth: float = 0.06,
        thickness: float = 0.025,
        inside: float | None = None,
        name: str = "carlin",
    ) -> Carlin:
        """The carlin from the after face of one beam, x = `start`, to the forward face of another, `end`; its
        inboard face at `half_breadth`, and at `half_breadth_aft` at its after end. Its upper edge is the beams'."""
        aft = half_breadth if half_breadth_aft is None else half_breadth_aft
        inside = self._inside(inside)
        self._round_in_range(round_of_beam, depth=depth, carlin_thickness=thickness, inside=inside)
        (length, level, spring), ends, drawing = _core.carlin(
            self._core, start, end, half_breadths=(half_breadth, aft), round_of_beam=round_of_beam, depth=depth,
            thickness=thickness, inside=inside, name=name,
        )  # fmt: skip
        return Carlin(length, level, spring, frame(ends), drawing)

    def centre_case(
        self,
        start: float,
        end: float,
        *,
        top: float,
        width: float = 0.03,
        log: float = 0.04,
        log_depth: float = 0.09,
        cheek: float = 0.015,
        keel_above: float = 0.02,
        planking: float | None = None,
        half_siding: float | None = None,
        name: str = "centre case",
    ) -> Case:
        """The case of a centreboard over a slot from x = `start` to `end`, to a level `top` above the base line.

        Bed logs are `log` thick and `log_depth` deep; the keel's upper edge is `keel_above` the bearding line, and
        `cheek` of it must be left each side of the slot. `planking` and `half_siding` as for `rabbet`. Raises
        `LoftError` for a slot too wide, or past the rabbet of stem or stern.
        """
        ranges.check(
            self, slot_from=start, slot_to=end, case_top=top, slot_width=width, bed_log=log,
            bed_log_depth=log_depth, cheek=cheek, keel_above=keel_above, planking=planking, half_siding=half_siding,
        )  # fmt: skip
        places, drawings = _core.centre_case(
            self._core, start, end, width=width, top=top, log=log, log_depth=log_depth, cheek=cheek,
            keel_above=keel_above, planking=planking, half_siding=half_siding, name=name,
        )  # fmt: skip
        return Case(frame(places), drawings)

    def deck_frame(
        self,
        round_of_beam: tuple[float, float],
        *,
        spacing: float | None = None,
        beams: Iterable[float] | None = None,
        openings: Iterable[Opening] = (),
        depth: float = 0.06,
        siding: float = 0.03,
        carlin_thickness: float = 0.025,
        inside: float | None = None,
        deck_thickness: float | None = None,
    ) -> Deck:
        """Every deck beam, at `beams` (x) or every `spacing` from the forward end, with carlins along the sides of
        `openings` and half beams beside them; the last drawing is the deck with all of it marked.

        Each opening has a whole beam at its forward end, its after face there, and one at its after end; a beam
        asked for within twice the beams' `siding` of one of those gives way to it. Drawings are of forward faces.
        A beam that cannot be made costs only itself and is in `.failures`.
        """
        import pandas

        if (spacing is None) == (beams is None):
            raise LoftError("give places of deck beams or a spacing, one of the two")
        openings, inside = list(openings), self._inside(inside)
        self._round_in_range(
            round_of_beam, depth=depth, beam_siding=siding, carlin_thickness=carlin_thickness, beam_spacing=spacing,
            inside=inside,
        )  # fmt: skip
        if len(openings) > ranges.MOST_PIECES:
            raise LoftError(f"{len(openings)} openings: expected {ranges.MOST_PIECES} at most")
        beams = None if beams is None else ranges.few("deck beams", beams)
        at = sorted(beams) if beams is not None else _core.beam_places(self._core, spacing or 0.0, inside)
        ends = [x for o in openings for x in (o.start - siding, o.end)]
        at = sorted([*(x for x in at if all(abs(x - end) >= 2 * siding for end in ends)), *ends])
        rows: list[dict[str, Any]] = []
        sides: list[pandas.DataFrame] = []
        drawings: list[Drawing] = []
        failures: list[str] = []
        made: list[float] = []
        for i, opening in enumerate(openings, 1):
            start, end, fore, aft = opening.corners
            carlin = self.carlin(
                start, end, round_of_beam, fore, aft, depth=depth, thickness=carlin_thickness, inside=inside,
                name=f"carlin {i}",
            )  # fmt: skip
            both = carlin.ends.assign(carlin=i, end=["forward", "after"], length=carlin.length, spring=carlin.spring)
            sides.append(both)
            drawings.append(carlin.drawing)
        for x in at:
            name = f"beam {len(made) + 1}"
            row: dict[str, Any] = {"beam": len(made) + 1, "from_stem": float(x), "kind": "whole"}
            beside = next((o.corners for o in openings if o.start < x < o.end), None)
            try:
                if beside is None:
                    beam = self.deck_beam(
                        x, round_of_beam, depth=depth, siding=siding, inside=inside, name=f"deck {name}"
                    )
                    row |= {"length": beam.length, "camber": beam.camber, "in_plan": beam.in_plan, "flare": beam.flare}
                    drawings.append(beam.drawing)
                else:
                    start, end, fore, aft = beside
                    angle = math.atan2(aft - fore, end - start)
                    face = fore + (aft - fore) * (x - start) / (end - start) + carlin_thickness / math.cos(angle)
                    half = self.half_beam(
                        x, round_of_beam, face, in_plan=math.degrees(angle), depth=depth, siding=siding, inside=inside,
                        name=f"half {name}",
                    )  # fmt: skip
                    inboard, side = half.ends.in_plan
                    row |= {"kind": "half", "length": half.length, "in_plan": side, "flare": half.ends.flare[1]}
                    row["inboard_in_plan"] = inboard
                    drawings.append(half.drawing)
            except LoftError as error:
                failures.append(f"deck beam at {x:.4f} m: {error}")
                continue
            rows.append(row)
            made.append(float(x))
        drawings.append(self.deck(beams=made, openings=openings, thickness=deck_thickness))
        columns = ["beam", "from_stem", "kind", "length", "camber", "in_plan", "flare", "inboard_in_plan"]
        carlins = pandas.concat(sides, ignore_index=True) if sides else pandas.DataFrame()
        return Deck(frame(pandas.DataFrame(rows, columns=columns)), frame(carlins), drawings, failures)

    def deck(
        self, *, beams: Iterable[float] = (), openings: Iterable[Opening] = (), thickness: float | None = None
    ) -> Drawing:
        """Half the deck in plan, at the sheer, mm at full size, with beams (x) and openings marked. `thickness` is that
        of its stock, m; left out, none is said on it. Raises `LoftError` for one that is none."""
        ranges.check(self, thickness=thickness)
        return _core.deck(self._core, beams=list(beams), openings=[o.corners for o in openings], thickness=thickness)

    def deck_table(self, inside: float | None = None) -> pandas.DataFrame:
        """The deck at each station: half-breadth of the sheer, and half-breadth and height of the sheer of the
        inside of the planking."""
        return frame(_core.deck_stations(self._core, self._inside(inside)))

    def breadths(self, inside: float | None = None) -> pandas.DataFrame:
        """The inside of the planking where each waterline crosses each station: breadth of the boat (length),
        taper in plan and flare, so what spans her there is so long with ends so bevelled."""
        return frame(_core.breadths(self._core, self._inside(inside)))
