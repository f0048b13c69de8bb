"""The faired hull, and what can be asked of it."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from .. import _core
from ..errors import HullError, LoftError
from ..sizes import drawing_sheet_mm, tell_left_off
from ..tables import frame
from . import ranges
from .backbone import Backbone, FashionPieces, Transom
from .curve import Curve
from .each import each
from .floating import Afloat
from .inside import Inside
from .mesh_file import write_mesh
from .uncertainty import Unsure

if TYPE_CHECKING:
    import numpy as np
    import pandas
    from numpy.typing import ArrayLike, NDArray

    from ..table.table import Table

# Length of a scarf over its depth: twelve is long in spars, and the rabbet has no room for many more.
LONGEST_SCARF = 40


def _length(text: str) -> float:
    """A reading, or a length with its unit, m. Raises `HullError`."""
    try:
        return _core.Reading(text).m
    except ValueError as error:
        raise HullError(f"where is the line? {error}") from error


def _lengths(options: dict[str, Any]) -> dict[str, float]:
    """Those of the options that are numbers."""
    return {name: v for name, v in options.items() if isinstance(v, (int, float)) and not isinstance(v, bool)}


def _notch(width: float, depth: float) -> tuple[float, float] | None:
    return (width, depth) if width or depth else None


def _longest(branches: list[_core.Curve], what: str) -> Curve:
    if not branches:
        raise HullError(f"{what} does not cut the hull")
    return Curve(max(branches, key=lambda curve: curve.length))


class Hull(Afloat, Inside, Unsure):
    """One side of a faired hull. x runs aft, y out, z up, in metres; angles are in degrees."""

    __slots__ = ()

    @property
    def remarks(self) -> list[str]:
        """What fairing had to say: assumptions made, readings that stood in the way."""
        return self._core.remarks

    @property
    def not_judged(self) -> list[str]:
        """Facts of her table that no reading tells again, each with how far it could be off unseen; no findings."""
        return self._core.not_judged

    def queries(self) -> list[_core.Query]:
        """The readings and facts of her table that the rest of her contradicts, the worst first, as proofreading has
        them: those left out of her, and those kept in her because the rest is not sure enough. None of a hull faired
        with `robust=False`. A slip of the whole may explain some: `Table.proof` tells."""
        return self._core.queries()

    @property
    def no_hull(self) -> str | None:
        """That her table does not describe one fair hull, and where to begin; None where it does.

        It is the first of her remarks then. What is asked of her is computed all the same, and is no boat's.
        """
        return self._core.no_hull

    @property
    def moulded_to(self) -> str:
        """The face of the planking her surface is: `"inside of planking"` or `"outside of planking"`."""
        return "inside of planking" if self._core.is_inside else "outside of planking"

    def to(self, face: str, thickness: float | None = None) -> Hull:
        """The hull with her surface the `"inside"` or the `"outside"` of her planking; herself where it is that.

        Every point goes along its normal by `thickness` (m; the table's where left out). Stem, keel and post keep
        their half-breadth: rabbet and bearding line both lie on the side of the backbone. A transom and an end in a
        plane stay in it, chines are mitred, the sheer is carried square. Her table, its corrections and her faired
        table remain of the face that was measured.

        Raises `HullError` without a thickness, and where no surface parallel to hers within 0.1 mm, or a
        fifty-thousandth of a long boat, ends where it should. So it is with most boats given to the inside: where the
        planking lies along the side of stem and keel nobody can tell from its inside where its outside would end.
        """
        if face not in ("inside", "outside"):
            raise HullError(f"no such face of the planking: {face!r}; there are inside, outside")
        ranges.check(self, thickness=thickness)
        inside = face == "inside"
        return self._like(self._core.on_face(inside, thickness), ("to", self._made, inside, thickness))

    def table(self, precision: str = "1/16", *, full_size: bool = False, units: str | None = None) -> Table:
        """The faired table in the file's own units and size; feet and inches are written to `precision`.

        With `full_size` a scaled one is written at the boat's size, scale and shrinkage worked in; with `units`
        (`feet-inches-eighths`, `in`, `ft`, `mm`, `cm` or `m`) at the boat's size in those. Notes and corrections of the
        file stay behind then.
        """
        if not full_size and units is None:
            return self._tables(self._core.faired_table(precision))
        return self._tables(self._core.faired_at_full_size(units or self.source.facts["units"], precision))

    def corrections(self) -> pandas.DataFrame:
        """How far each reading moved, those past their tolerance first, then the farthest.

        Columns: station, row, read, faired, moved, sd and tolerance in metres; past, whether it moved
        farther than its tolerance; doubted, whether it was left out as contradicted by the rest.
        """
        found = frame(self._core.corrections(), dict.fromkeys(("read", "faired", "moved", "sd", "tolerance"), "m"))
        order = found.assign(far=found.moved.abs()).sort_values(["past", "far"], ascending=False, kind="stable")
        return found.loc[order.index].reset_index(drop=True)

    def section(self, x: float) -> Curve:
        """The section at x, from the rabbet to the sheer. Raises `HullError` off the hull."""
        return Curve(self._core.section(x))

    def waterline(self, z: float) -> Curve:
        """The waterline at height z, bow to stern: the longest, where the sheer or keel cuts it in two."""
        return _longest(self._core.waterlines(z), f"the waterline at z = {z:g} m")

    def waterlines(self, z: float) -> list[Curve]:
        """Every branch of the waterline at height z."""
        return [Curve(curve) for curve in self._core.waterlines(z)]

    def buttock(self, y: float) -> Curve:
        """The buttock at half-breadth y, bow to stern: the longest, where there are several."""
        return _longest(self._core.buttocks(y), f"the buttock at y = {y:g} m")

    def buttocks(self, y: float) -> list[Curve]:
        """Every branch of the buttock at half-breadth y."""
        return [Curve(curve) for curve in self._core.buttocks(y)]

    def diagonal(self, centreline_height: float, angle: float = 45.0) -> Curve:
        """The diagonal from `centreline_height` on the centreline, falling outward at `angle` degrees."""
        what = f"the diagonal from {centreline_height:g} m at {angle:g} degrees"
        return _longest(self._core.diagonals(centreline_height, angle), what)

    def line(self, name: str) -> Curve:
        """A line by its name: `section 3` (a station's name, or a distance from the stem), `waterline 1-3-0`,
        `buttock 0-9-0` (readings, or lengths with their unit, at full size), `diagonal A`, `sheer`, `chine` or
        `chine 2`, or `rabbet`: all of it, down the stem, along the keel and up the sternpost. Raises `HullError` where
        there is no such line.
        """
        kind, _, at = " ".join(name.split()).partition(" ")
        if kind == "section":
            x = self.source.station_x.get(at)
            return self.section(_length(at) if x is None else x)
        if kind == "waterline":
            return self.waterline(_length(at))
        if kind == "buttock":
            return self.buttock(_length(at))
        edges = self.reference_lines()
        named = {"rabbet": Curve(self._core.rabbet_line()), "sheer": edges[-1]} | {
            f"chine {i}": edge for i, edge in enumerate(edges[1:-1], 1)
        }
        if len(edges) > 2:
            named["chine"] = edges[1]
        for letter, height, angle in self._core.diagonals_named():
            if kind == "diagonal" and letter == at:
                return self.diagonal(height, angle)
            named[f"diagonal {letter}"] = edges[0]
        if name.strip() in named:
            return named[name.strip()]
        raise HullError(
            f"no line is called {name!r}: expected section, waterline or buttock and where, or {', '.join(named)}"
        )

    def reference_lines(self) -> list[Curve]:
        """The rabbet, the chines and the sheer, in that order: the rabbet as the lower edge of the planking between
        stem and sternpost, which round a forefoot part from it where the surface does, anywhere along the turn.
        `line("rabbet")` has the ends too."""
        return [Curve(curve) for curve in self._core.reference_lines()]

    # Each takes numbers, or arrays that broadcast, of which it gives an array.

    def half_breadth(self, x: ArrayLike, z: ArrayLike) -> Any:
        """Half-breadth at (x, z), m: the outermost where there are several. Raises `HullError` off the hull, of arrays
        with the index of the first point there."""
        return each(self._core.half_breadth, x, z)

    def height(self, x: ArrayLike, y: ArrayLike) -> Any:
        """Height at (x, y), m: the lowest where there are several. Raises `HullError` as `half_breadth`."""
        return each(self._core.height, x, y)

    def normal(self, x: ArrayLike, z: ArrayLike) -> Any:
        """Outward unit normal at (x, z): three numbers, of arrays the last axis. Raises as `half_breadth`."""
        return each(self._core.normal, x, z)

    def bevel(self, x: ArrayLike, z: ArrayLike) -> Any:
        """Bevel at (x, z): the angle of the planking with the fore-and-aft line, degrees. Raises as `half_breadth`."""
        return each(self._core.bevel, x, z)

    def sd(self, x: ArrayLike, z: ArrayLike) -> Any:
        """One standard deviation of the surface at (x, z), along its normal, m: what the readings leave unsure. Raises
        as `half_breadth`."""
        return each(self._core.sd, x, z)

    def mould(self, x: float, deduct: float = 0.0) -> Curve:
        """The shape of a mould at x: the surface parallel to the hull, `deduct` metres inside it, cut at x; less than
        nothing is outside. Whole, as the surface ends: by the keel it may run past the centreline, where a mould is
        cut off. Raises `LoftError` where that is more than planking is."""
        ranges.check(self, deduct=abs(deduct))
        return Curve(self._core.parallel_section(x, deduct))

    def rabbet(self, x: float, thickness: float | None = None, half_siding: float | None = None) -> _core.Rabbet:
        """The rabbet at the station x: `.rabbet`, `.bearding` and `.middle` as (y, z), m, and `.bevel`, the
        garboard angle in degrees from the side of the keel up to the planking's outer face (90: a flat floor).

        `thickness` is the planking's and `half_siding` the keel's; left out, the record's own. Raises
        `LoftError` where the planking is thicker than the half-siding allows.
        """
        return _core.rabbet(self._core, x, planking=thickness, half_siding=half_siding)

    def stem_rabbet(self, z: float, thickness: float | None = None, half_siding: float | None = None) -> _core.Rabbet:
        """The rabbet of the stem at height z, in the stem's own cross section there: points are (y, distance
        in from the rabbet's profile), m; otherwise as `rabbet`."""
        return _core.rabbet(self._core, z, end="stem", planking=thickness, half_siding=half_siding)

    def sternpost_rabbet(
        self, z: float, thickness: float | None = None, half_siding: float | None = None
    ) -> _core.Rabbet:
        """The rabbet of the sternpost, a double-ender's or one below a transom, at height z, as `stem_rabbet`."""
        return _core.rabbet(self._core, z, end="sternpost", planking=thickness, half_siding=half_siding)

    @property
    def has_bow_transom(self) -> bool:
        """Whether she ends forward in a section, as scows, prams and punts do, and not on a stem."""
        return self._core.has_bow_transom

    @property
    def has_transom(self) -> bool:
        """Whether her table gives a transom."""
        return self._core.has_transom

    def backbone(self, thickness: float | None = None, half_siding: float | None = None, **options: float) -> Backbone:
        """Keel, stem, sternpost and stern knee, with the rabbet along them.

        `thickness` is the planking's; `options` as for the pattern `backbone`. Raises `LoftError` where there
        is no rabbet at any station; single failures are in its `.failures`.
        """
        # Over the depth of the keel, not lengths.
        ratios = ("scarf", "nib")
        lengths = {name: value for name, value in options.items() if name not in ratios}
        ranges.check(self, thickness=thickness, half_siding=half_siding, **lengths)
        if options.get("scarf", 1.0) > LONGEST_SCARF:
            raise LoftError(
                f"a scarf {options['scarf']:g} times the depth of the keel: expected {LONGEST_SCARF} at most"
            )
        return Backbone(_core.backbone(self._core, planking=thickness, half_siding=half_siding, **options))

    def transom(
        self,
        thickness: float = 0.022,
        planking: float | None = None,
        round_of_beam: tuple[float, float] | None = None,
        bevel_every: float | None = None,
    ) -> Transom:
        """The transom at its true size: `.outer` and `.inner`, the outlines of its after and forward face as
        curves in its own plane (points are (0, across, up), up measured along it from the base line), with the
        planking deducted. A curved one is rolled out.

        `thickness` is the transom's; `round_of_beam` is (beam, camber), m, for the round of its top. Its bevels are
        given at waterlines and diagonals, and every `bevel_every` m up the edge where that is given. Raises
        `LoftError` where there is no transom or it misses the hull.
        """
        beam, camber = round_of_beam or (None, None)
        ranges.check(
            self, thickness=thickness, planking=planking, beam=beam, camber=camber, bevel_every=bevel_every
        )  # fmt: skip
        return Transom(
            _core.transom(
                self._core,
                thickness=thickness,
                planking=planking,
                round_of_beam=round_of_beam,
                bevel_every=bevel_every,
            )
        )

    def fashion_pieces(
        self,
        sided: float = 0.03,
        moulded: float = 0.07,
        thickness: float = 0.022,
        planking: float | None = None,
    ) -> FashionPieces:
        """The fashion pieces that stand on the transom's forward face, along its edge, the planking deducted.

        `sided` is their size along the boat, `moulded` their width, `thickness` the transom's. At a chine they are
        jointed. Raises `LoftError` where there is no transom, or one too narrow for them.
        """
        ranges.check(
            self, fashion_sided=sided, fashion_moulded=moulded, thickness=thickness, planking=planking
        )  # fmt: skip
        return FashionPieces(
            _core.fashion_pieces(self._core, thick=thickness, sided=sided, moulded=moulded, planking=planking)
        )

    def bow_transom(
        self,
        thickness: float = 0.022,
        planking: float | None = None,
        round_of_beam: tuple[float, float] | None = None,
        bevel_every: float | None = None,
        foot: tuple[float, float] | None = None,
        head: tuple[float, float] | None = None,
    ) -> Transom:
        """The bow transom of a scow, pram or punt, as `transom`; its outer face is the forward one.

        It lies in the plane of her forward end, or in that through `foot` and `head`, each (x, z), m. Raises
        `LoftError` where she has a stem.
        """
        if (foot is None) != (head is None):
            raise LoftError("a bow transom's plane is a foot and a head: give both, or neither")
        beam, camber = round_of_beam or (None, None)
        ranges.check(
            self, thickness=thickness, planking=planking, beam=beam, camber=camber, bevel_every=bevel_every
        )  # fmt: skip
        return Transom(
            _core.transom(
                self._core,
                thickness=thickness,
                planking=planking,
                round_of_beam=round_of_beam,
                bevel_every=bevel_every,
                bow=True,
                foot=foot,
                head=head,
            )
        )

    def mould_set(
        self,
        *,
        deduct: float | None = None,
        keel_notch_width: float = 0.0,
        keel_notch_depth: float = 0.0,
        ribband_notch_width: float = 0.0,
        ribband_notch_depth: float = 0.0,
        stock_length: float | None = None,
        stock_width: float | None = None,
        upright: bool = False,
        **options: Any,
    ) -> _core.Moulds:
        """The moulds with their set-up, bevels and pieces; `options` as for the pattern `moulds`, and `stations`,
        a list of distances aft of the forward end (m) in place of the table's.

        `ribbands` are told in words (`0-6-0, diagonal A, sheer - 0-4-0`, or `through 0-9-0 at 1 and 0-7-0 at 6`)
        or as a list of heights, m. `pieces` makes each mould of a floor and futtocks in one thickness, butted
        at a joint chosen clear of notches and of the tightest turn, or stated, with a cleat lapping both; and a
        cross spall. Raises `LoftError` where no mould can be made; single failures are in its `.failures`.
        """
        if (stock_length is None) != (stock_width is None):
            raise LoftError("stock is a length and a width: give both, or neither")
        ranges.check(
            self, deduct=deduct, keel_notch_width=keel_notch_width, keel_notch_depth=keel_notch_depth,
            ribband_notch_width=ribband_notch_width, ribband_notch_depth=ribband_notch_depth,
            stock_length=stock_length, stock_width=stock_width, **_lengths(options),
        )  # fmt: skip
        if options.get("stations") is not None:
            options["stations"] = ranges.few("moulds", options["stations"])
        stock = (stock_length, stock_width) if stock_length is not None and stock_width is not None else None
        return _core.moulds(
            self._core, planking=deduct, keel_notch=_notch(keel_notch_width, keel_notch_depth),
            ribband_notch=_notch(ribband_notch_width, ribband_notch_depth), stock=stock,
            upside_down=not upright, **options,
        )  # fmt: skip

    def moulds(self, **options: Any) -> list[_core.Drawing]:
        """Drawings of the moulds, mm at full size; `options` as for `mould_set`."""
        return self._named(self.mould_set(**options).drawings())

    def fairness(self) -> pandas.DataFrame:
        """How fair each line is: length, greatest curvature (1/m), changes of its sign, and the worst hump:
        its height off its chord and where it is, m."""
        lengths = ("length", "worst_hump", "worst_hump_x", "worst_hump_y", "worst_hump_z")
        return frame(self._core.fairness(), dict.fromkeys(lengths, "m") | {"greatest_curvature": "1/m"})

    def evidence(self) -> pandas.DataFrame:
        """What is not evidence: every stretch of a line of her table without a reading near, and what is assumed.

        A stretch between two readings of a line counts where they stand farther apart than one and a half of the
        table's usual spacing of stations there; what runs on past the last of them, from half a spacing on. Another
        reading on the line, or beside it in a station's plane, counts as one of it, and so does an end on a stem, sheer
        or rabbet that is read there. Readings left out as contradicted, and blank cells the table gives a meaning, do
        not. Empty where she is read all along.

        Columns: line; from_x, from_z, to_x, to_z, where the stretch begins and ends, and length, along the line, in
        metres; sd, the greatest standard deviation of the surface along it, m (no number for the underside of the
        keel, which is none of the surface); assumed, whether the table says so itself (a stem, a blank's meaning);
        why, between which readings.
        """
        lengths = ("from_x", "from_z", "to_x", "to_z", "length", "sd")
        return frame(self._core.evidence(), dict.fromkeys(lengths, "m"))

    def mesh(self, tolerance: float = 0.0005) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        """The hull as a closed mesh of triangles: `vertices`, (n, 3), m, and `faces`, (m, 3), numbers of vertices
        anticlockwise seen from outside.

        Both sides, port the mirror image of starboard; the deck straight from sheer to sheer; keel, stem and after end
        straight across at the half-siding, a curved transom on its cylinder. Every spot lies within `tolerance`, m, of
        the surface; chines are edges. Raises `HullError` for a tolerance under 0.01 mm or over 100 mm.
        """
        return self._core.mesh(tolerance)

    def write_mesh(
        self, path: str | os.PathLike[str], *, scale: float = 1.0, tolerance: float | None = None, half: bool = False
    ) -> Any:
        """Writes her mesh, 1 to `scale`, mm: .stl, .ply, .3mf, .obj or .glb; gives it as trimesh has it. See `mesh`.

        `tolerance`, m at full size, is left out 0.05 mm of the model; `half` is the starboard half with a flat back.
        Needs the extra `mesh`. Raises `HullError`, `ScrieveError`.
        """
        return write_mesh(self, path, scale, tolerance, half)

    def lines(
        self,
        *,
        scale: float | None = None,
        units: str = "table",
        drawing_sheet: str | None = None,
        foreshortened: float = 1.0,
    ) -> _core.Drawing:
        """The lines drawing, at 1 to `scale` (1 is full size; left out, the largest scale in common use that fits).

        `drawing_sheet` is a name such as "A1" or "ANSI D", or width and height, "900mm x 600mm"; left out it is A3, or
        where a scale is told the smallest A size that holds the drawing, or a sheet of its own. `units` of its labels
        are the table's own, `"readings"` or `"mm"`. `foreshortened` is how many times shorter lengths are drawn than
        heights and breadths, without the body plan: 10 shows a hump as sighting along a batten does. Raises `LoftError`
        for a scale at which she is larger than the sheet told.
        """
        sheet_mm = drawing_sheet_mm(drawing_sheet)
        drawn = _core.lines_drawing(
            self._core, scale=scale, units=units, sheet_mm=sheet_mm, foreshortened=foreshortened
        )
        return self._named([tell_left_off(drawn)])[0]

    def __repr__(self) -> str:
        return f"<Hull {self.name!r}>"

    def _repr_svg_(self) -> str:
        return self.lines()._repr_svg_()
