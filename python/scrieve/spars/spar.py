"""A spar: what is marked on its blank, what it weighs, and what should be measured of it at the bench."""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple, overload

from .. import _core
from ..errors import LoftError, Note, error
from ..tables import frame
from . import given
from .bending import GRAVITY, Bending, bending
from .species import Wood, wood_of

if TYPE_CHECKING:
    import numpy
    import pandas
    from numpy.typing import ArrayLike, NDArray

FOOT = 0.3048
# A builder's usual mast: stoutest at three tenths, less at the heel, least at the head.
TAPER = ((0.0, 0.8), (0.3, 1.0), (1.0, 0.6))
# Length of a scarf over its thickness (common practice).
SCARF = 12.0
# Dowels of a spar gauge.
PEG = 0.006
# A stick that lacks less is taken to hold the spar, m: a shaving.
LEAST_LACK = 5e-5
# What is bored for a spar gauge passes the widest flat by this.
CLEAR = 0.004


class Kind(NamedTuple):
    """What the ends and faces of a kind of spar are called."""

    ends: tuple[str, str]
    faces: tuple[str, str] = ("top", "under")


KINDS = {
    "mast": Kind(("heel", "head"), ("fore", "aft")),
    "boom": Kind(("fore end", "after end")),
    "gaff": Kind(("jaws", "peak")),
    "yard": Kind(("throat", "peak")),
    "sprit": Kind(("heel", "peak")),
    "bowsprit": Kind(("heel", "outer end")),
}
SECTIONS = ("round", "oval", "rectangular")


@dataclass(frozen=True)
class Stick:
    """What a spar is got out of, so many alike. Metres."""

    name: str
    count: int
    thickness: float
    width: float
    length: float
    ways: Mapping[int, str] = field(default_factory=lambda: {0: ""})
    """Which of the spar's patterns of lengths these follow, and what those are called after the name."""


_SIDES_OF_HER = ("port", "starboard")

Size = float | tuple[float, float]
Mark = float | tuple[float, float] | tuple[float, float, float]


class Spar:
    """A spar: round, oval or rectangular, solid or hollow.

    `length`, m. `diameter`, m: of a round one; otherwise a pair, fore and aft (up and down of what lies level) and
    athwart. `taper` has pairs of a fraction of the length from the heel and a fraction of the diameter; a batten is
    bent through them, and `taper_athwart` is another for the size athwart. `wall`, m, or pairs of a fraction of the
    length and a wall, makes it hollow: two halves of what is round or oval, a box of four boards of what is
    rectangular, or so many notched `staves`. `solid` is what stays solid at heel and head, m, and over `run_out`, m,
    the hollow opens from there. `straight` names the face that is left straight: "aft" of a mast, "top" of a boom.

    `kind` is one of mast, boom, gaff, yard, sprit, bowsprit: it names ends and faces. `marks` are distances from the
    heel, or (from, to) or (from, to, width), m, by their names, which are drawn.

    Distances `s` are metres from the heel, or the end that stands for it. Raises `LoftError` for what makes no spar,
    with the limit.

        mast = scrieve.Spar(6.0, 0.100, taper=[(0.0, 0.8), (0.3, 1.0), (1.0, 0.6)])
        mast.diameter(1.8), mast.lines(8), mast.mass("Sitka spruce")
    """

    def __init__(
        self, length: float, diameter: Size, taper: Iterable[tuple[float, float]] = TAPER,
        wall: float | Iterable[tuple[float, float]] | None = None, *, section: str = "round",
        staves: int | None = None, solid: tuple[float, float] = (0.0, 0.0), run_out: float = 0.0,
        straight: str | None = None, taper_athwart: Iterable[tuple[float, float]] | None = None,
        kind: str = "mast", name: str | None = None, marks: Mapping[str, Mark] | None = None,
    ) -> None:  # fmt: skip
        self.kind = given.one_of("kind", kind, tuple(KINDS))
        self.section = given.one_of("section", section, SECTIONS)
        self.name = name or kind
        self._kind = KINDS[kind]
        if straight is not None:
            given.one_of("straight", straight, self._kind.faces)
        self.straight = straight
        depth, breadth = given.pair("diameter", diameter)
        self._core = _core.Spar(
            given.number("length", length), depth, breadth, given.pairs("taper", taper),
            taper_breadth=None if taper_athwart is None else given.pairs("taper_athwart", taper_athwart),
            shape=section, wall=given.wall(wall), staves=given.count(staves), solid=given.pair("solid", solid),
            run_out=given.number("run_out", run_out),
            straight="" if straight is None else ("first", "second")[self._kind.faces.index(straight)],
        )  # fmt: skip
        self._sizes = depth, breadth
        self.staves = staves
        self._solid, self._run_out = given.pair("solid", solid), float(run_out)
        self.marks = given.marks(marks or {})
        for what, (begin, end, _) in self.marks.items():
            for s in (begin, end):
                self._at(s, f"mark {what!r}: ")

    def __repr__(self) -> str:
        size = " by ".join(f"{1e3 * size:.1f}" for size in dict.fromkeys(self._sizes))
        built = "" if self.built == "solid" else f", {self.built}"
        return f"Spar({self.name!r}: {self.section} {self.kind}, {self.length:.3f} m, {size} mm{built})"

    @property
    def length(self) -> float:
        """m."""
        return self._core.blank[2]

    @property
    def built(self) -> str:
        """`"solid"`, `"halves"`, `"box"` or `"staves"`."""
        return self._core.build

    @property
    def ends(self) -> tuple[str, str]:
        """What its ends are called, from the one distances are measured from."""
        return self._kind.ends

    @property
    def faces(self) -> tuple[str, str, str, str]:
        """What its faces are called."""
        return (*self._kind.faces, *_SIDES_OF_HER)

    @property
    def greatest(self) -> tuple[float, float]:
        """Its greatest size fore and aft, or up and down, and athwart, m. Between two places of the taper the batten
        may pass a little outside both: then it is more than was stated, and `notes` say so."""
        (_, depth), (_, breadth) = self._core.greatest
        return depth, breadth

    @property
    def notes(self) -> list[str]:
        """What whoever cuts it should know of what was assumed."""
        told = []
        for which, (at, size), stated in zip(("", " athwart"), self._core.greatest, self._sizes, strict=True):
            if size < stated - 5e-5 and not (which and self.section == "round"):
                told.append(
                    f"the taper never reaches 1: it is at most {1e3 * size:.1f} mm{which}, at {at:.3f} m, "
                    f"of the {1e3 * stated:.1f} mm stated"
                )
            if size > stated + 5e-5 and not (which and self.section == "round"):
                told.append(
                    f"the batten through the taper makes it {1e3 * size:.1f} mm{which} at {at:.3f} m, "
                    f"{1e3 * (size - stated):.1f} mm more than stated: the blank is that large"
                )
        if self.built != "solid" and not any(self._solid):
            told.append("hollow from end to end: say which lengths stay solid, or plug it where anything bears")
        if self.staves is not None and not self.sides:
            told.append(
                f"it has {self.staves} sides when it is glued: "
                "lines for 8, 16 and 32 sides do not apply, and none are told"
            )
        if self.built == "halves" and self.section == "oval":
            told.append("the wall is as stated on the oval's two axes and a little different between them")
        return told

    # Sizes

    @overload
    def diameter(self, s: float) -> float: ...
    @overload
    def diameter(self, s: ArrayLike) -> NDArray[numpy.float64]: ...
    def diameter(self, s: Any) -> Any:
        """Diameter at a distance from the heel, m; of several, an array. Raises `LoftError` off the spar, or where it
        is not round: ask `size`."""
        if self.section != "round":
            raise error(LoftError, f"a spar that is {self.section} has no one diameter", remedy="ask size(s)")
        if not isinstance(s, (int, float)):
            import numpy

            every = numpy.asarray(s, dtype=float)
            return numpy.array([self.size(one)[0] for one in every.ravel()]).reshape(every.shape)[()]
        return self.size(float(s))[0]

    def size(self, s: float) -> tuple[float, float]:
        """Size fore and aft, or up and down, and athwart, m."""
        depth, breadth = self._core.half(self._at(s))
        return 2.0 * depth, 2.0 * breadth

    def hollow(self, s: float) -> tuple[float, float]:
        """The same of its hollow; of staves across the flats of the polygon they leave. Nothing where it is solid."""
        depth, breadth = self._core.hollow(self._at(s))
        return 2.0 * depth, 2.0 * breadth

    def girth(self, s: float) -> float:
        """Once round it, m."""
        return self._core.section(self._at(s))[2]

    def places(self, every: float = FOOT) -> list[float]:
        """Distances from the heel `every` so far, and the head, m."""
        return self._core.places(given.number("every", every))

    # What is marked

    @property
    def sides(self) -> tuple[int, ...]:
        """For how many sides lines are marked on it, one after another: 8, 16 and 32; of eight staves, which have eight
        sides when they are glued, 16 and 32, of sixteen 32; of other staves and of a rectangular spar none."""
        return tuple(self._core.sides)

    def layout(self, every: float = FOOT) -> pandas.DataFrame:
        """What is marked on the blank at every place, m: half its size on each face, where the edges of the face with
        the straight side lie from that, and of a hollow its wall and its size."""
        places = self.places(every)
        half = [self._core.half(s) for s in places]
        columns: dict[str, Any] = {"place": places}
        fore, athwart = ("half_" + name.replace(" ", "_") for name in self._directions)
        if self.section == "round":
            columns["half_breadth"] = [one[0] for one in half]
            columns["diameter"] = [2.0 * one[0] for one in half]
        else:
            columns |= {fore: [one[0] for one in half], athwart: [one[1] for one in half]}
        if self.straight is not None:
            columns["from_straight_edge"] = [2.0 * one[0] for one in half]
        if self.built != "solid":
            hollow = [self._core.hollow(s) for s in places]
            columns["wall"] = [h[0] - c[0] for h, c in zip(half, hollow, strict=True)]
            columns["half_hollow"] = [c[0] for c in hollow]
            if self.section != "round":
                columns["half_hollow_athwart"] = [c[1] for c in hollow]
        if self.staves is not None:
            columns |= {"stave_width": [self._stave(s)[0] for s in places]}
            columns |= {"notch_depth": [self._stave(s)[1] for s in places]}
        for sides in self.sides:
            found = self._core.flats(sides, places)
            each = len(found["place"]) // len(places)
            columns[f"{sides}_sides_in_from_edge"] = found["in_from_edge"][each - 1 :: each]
            if self.section == "oval":
                name = f"{sides}_sides_in_from_edge_{self._faces_of(0.0).replace(' ', '_')}"
                columns[name] = found["in_from_edge"][::each]
        return frame(columns)

    def lines(self, sides: int = 8, every: float = FOOT) -> pandas.DataFrame:
        """The lines by which it is given 8, 16 or 32 sides: at every place the width of each flat they are drawn on,
        how far in from either of its edges they lie, and how wide the new flat between them is, m. An oval has several
        kinds of flat, each on a row of its own. Raises `LoftError` for other than its `sides`.

        Of a circle d across they lie d (tan(π/n) - tan(π/2n))/2 in, going from n sides to 2n.
        """
        found = self._core.flats(given.number("sides", sides, whole=True), self.places(every))
        turns = found.pop("turn")
        columns = {"place": found.pop("place"), "faces": [self._faces_of(turn) for turn in turns]}
        return frame(columns | {"flat": found["width"], "in_from_edge": found["in_from_edge"], "left": found["left"]})

    def gauges(self, sides: int = 8, every: float = FOOT, peg: float = PEG) -> pandas.DataFrame:
        """What spar gauges mark on those flats: at every place the exact line in from the edge, and how much farther
        in than that each gauge marks, m. The first is set for this spar; 7:10:7 and 5:7:5 are common practice.

        A gauge is turned until its pegs, `peg` thick, bear on both edges. Thick pegs bear off its line, which makes it
        mark narrow flats too near their edges; points (0) do not.
        """
        widths, span = self._gauged(sides)
        lines = self.lines(sides, every)
        found = _core.spar_gauges(sides, span, given.number("peg", peg), [*lines.flat, *widths])
        columns = {"place": lines.place, "faces": lines.faces, "flat": lines.flat, "in_from_edge": lines.in_from_edge}
        errors = {f"error_{name.replace(' ', '_')}": off[: len(lines)] for name, _, off in found}
        return frame(columns | errors)

    def gauge(self, sides: int = 8, peg: float = PEG) -> dict[str, float]:
        """How a gauge is set for those flats, m: clear between its pegs, from either peg to the pencil nearer it, and
        between the pencils. It is the one that is drawn."""
        widths, span = self._gauged(sides)
        _, part, _ = _core.spar_gauges(sides, span, given.number("peg", peg), list(widths))[0]
        return {
            "clear between pegs": span,
            "from peg to pencil": part * span,
            "between pencils": (1.0 - 2.0 * part) * span,
        }

    def _gauged(self, sides: int) -> tuple[tuple[float, float], float]:
        """Narrowest and widest flat on the spar, and a gauge's clear span for them."""
        at = [0.0, self.length, *(place for place, _ in self._core.greatest)]
        flats = self._core.flats(sides, at)["width"]
        widest = max(flats)
        return (min(flats), widest), widest + CLEAR

    def kerfs(self, pitch: float, blade: float, every: float = FOOT) -> pandas.DataFrame:
        """Depths of saw kerfs in the glued face of a half: a row each place, a column each kerf, named by how far it
        lies from the blank's middle toward its first face, mm. `pitch` is from kerf to kerf, `blade` how wide one is,
        m; the side of the blade nearer the wall just reaches the finished hollow. Raises `LoftError` where it is not
        built of halves."""
        places = self.places(every)
        at, depths = self._core.kerfs(places, given.number("pitch", pitch), given.number("blade", blade))
        columns: dict[str, Any] = {"place": places}
        for i, y in enumerate(at):
            columns[f"kerf_{1e3 * y:+.1f}_mm".replace("+0.0", "0").replace("-0.0", "0")] = [row[i] for row in depths]
        return frame(columns)

    def stave(self, s: float) -> NDArray[numpy.float64]:
        """A stave's section where it lies, (5, 2) m: across from the spar's middle, and out from it. Raises
        `LoftError` where it is not built of staves."""
        import numpy

        return numpy.array(self._stave(self._at(s))[3])

    def _stave(self, s: float) -> Any:
        found = self._core.stave(s)
        if found is None:
            raise error(LoftError, "it is not built of staves", remedy="staves=8 with a wall")
        return found

    def blanks(self, stock: float | None = None, scarf: float | None = SCARF) -> pandas.DataFrame:
        """What it is got out of, net: each stick with how many, its thickness, width and length, m, and of sticks
        longer than the `stock`, m, so many lengths scarfed `scarf` to 1. Raises `LoftError` where the stock is too
        short and `scarf` is None."""
        rows = []
        for stick in self._sticks():
            ways = [[(0.0, stick.length)]]
            if stock is not None:
                lap = None if scarf is None else _core.spar_scarf("plain", scarf, stick.thickness, stick.thickness)[0]
                ways = [pieces for _, pieces in self._cut(stick, stock, lap)]
            several = max(len(pieces) for pieces in ways)
            longest = max(to - begin for pieces in ways for begin, to in pieces)
            joined = 0.0 if several == 1 or scarf is None else scarf * stick.thickness
            rows.append((stick.name, stick.count, stick.thickness, stick.width, stick.length, several, longest, joined))
        names = ("piece", "count", "thickness", "width", "length", "lengths_each", "longest_length", "scarf")
        columns = {name: [row[i] for row in rows] for i, name in enumerate(names)}
        sizes = ("thickness", "width", "length", "longest_length")
        return frame(columns, dict.fromkeys((*sizes, "scarf"), "m"), at_least=sizes)

    def _sticks(self) -> list[Stick]:
        depth, breadth, length = self._core.blank
        fore, aft, port, starboard = self.faces
        if self.built == "solid":
            return [Stick("stick", 1, min(depth, breadth), max(depth, breadth), length)]
        wall = max(self._core.wall(s) or 0.0 for s in self.places(self.length / 200.0))
        if self.built == "halves":
            found = [Stick("half", 2, 0.5 * breadth, depth, length, {0: "", 1: ", every second"})]
        elif self.built == "box":
            between = max(2.0 * (self._core.half(s)[0] - (self._core.wall(s) or 0.0)) for s in self._fine())
            # Opposite boards are scarfed alike, and those between them clear of both.
            found = [Stick(f"{fore} and {aft} board", 2, wall, breadth, length, {0: ""})]
            found.append(Stick(f"{port} and {starboard} board", 2, wall, between, length, {1: ""}))
        else:
            ways = dict(enumerate(("", ", every second", ", the last")[: self._core.patterns]))
            width = max(self._stave(s)[0] for s in self._fine())
            found = [Stick("stave", self.staves or 0, wall, width, length, ways)]
        for end, solid in zip(self.ends, self._solid, strict=True):
            if solid > 0.0 and self.built != "halves":
                across = self._plug(end, solid + self._run_out)
                found.append(Stick(f"{end} plug", 1, min(across), max(across), solid + self._run_out))
        return found

    def _plug(self, end: str, length: float) -> tuple[float, float]:
        """The square, m, of a plug that fills what staves or boards leave for so long from that end, where that is
        largest: most often where the run-out ends."""
        along = [s for s in self._fine() if s < length] + [length]
        if end != self.ends[0]:
            along = [s for s in self._fine() if s > self.length - length] + [self.length - length]
        inner = [[half - (self._core.wall(s) or 0.0) for half in self._core.half(s)] for s in along]
        depth, breadth = (2.0 * max(one) for one in zip(*inner, strict=True))
        if self.staves is None:
            return depth, breadth
        # The polygon's corners reach farther than its flats.
        turns = [(2 * i + 1) * math.pi / self.staves for i in range(self.staves)]
        tall, wide = ([turned(turn) for turn in turns] for turned in (math.cos, math.sin))
        out = 0.5 / math.cos(math.pi / self.staves)
        return depth * out * (max(tall) - min(tall)), breadth * out * (max(wide) - min(wide))

    def _fine(self) -> list[float]:
        return [*self.places(self.length / 400.0), *(at for at, _ in self._core.greatest)]

    def _cut(self, stick: Stick, stock: float, lap: float | None) -> list[tuple[str, list[tuple[float, float]]]]:
        """Each way such a stick is cut to lengths: its name, and from and to of each length, m."""
        patterns = 1 if stick.count == 1 else self._core.patterns
        found = _core.spar_lengths(stick.length, given.number("stock", stock), lap, patterns=patterns)
        return [
            (stick.name + which, [(begin, to) for begin, to in found[pattern]]) for pattern, which in stick.ways.items()
        ]

    def short(self, depth: float, athwart: float | None = None) -> pandas.DataFrame:
        """Where a stick squared to this, m, is too small for it: from and to, m from the heel, and the most it lacks,
        m; no row where it holds all of it. One size is that of both faces."""
        stick = given.number("depth", depth), given.number("athwart", depth if athwart is None else athwart)
        places = sorted(self._fine())
        lacks = [max(size - have for size, have in zip(self.size(s), stick, strict=True)) for s in places]
        rows: list[list[float]] = []
        begun = None
        for i, lack in enumerate(lacks):
            if lack > LEAST_LACK and begun is None:
                begun = i
            if begun is not None and (lack <= LEAST_LACK or i == len(lacks) - 1):
                last = i if lack > LEAST_LACK else i - 1
                rows.append([places[begun], places[last], max(lacks[begun : last + 1])])
                begun = None
        return frame({name: [row[i] for row in rows] for i, name in enumerate(("begins", "ends", "lacks"))})

    def scarfs(self, stock: float, scarf: float = SCARF, kind: str = "plain") -> pandas.DataFrame:
        """Where the lengths of each stick join, m from the heel, clear of the scarfs of those beside it: the two
        halves, adjoining boards (opposite ones are alike), staves by turns, of which an odd ring's last has joints of
        its own. `kind` is plain or stepped; with each its length and glued area. Raises `LoftError`."""
        columns: dict[str, list[Any]] = {"piece": [], "begins": [], "ends": [], "length": [], "glued": []}
        for stick in self._sticks():
            lap, glued = _core.spar_scarf(kind, scarf, stick.thickness, stick.width)
            for name, pieces in self._cut(stick, stock, lap):
                for before, after in zip(pieces, pieces[1:], strict=False):
                    for column, value in zip(columns.values(), (name, after[0], before[1], lap, glued), strict=True):
                        column.append(value)
        return frame(columns, {"begins": "m", "ends": "m", "length": "m", "glued": "m²"})

    # What it weighs and bears

    @property
    def volume(self) -> float:
        """Wood in it, m³."""
        return self._core.volume()[0]

    @property
    def surface(self) -> float:
        """What is sanded and varnished, m², both ends included."""
        return self._core.volume()[3]

    @property
    def glue_area(self) -> float:
        """Joints glued along it, m², each once; scarfs and plugs not counted."""
        return self._core.volume()[4]

    @property
    def balance(self) -> float:
        """How far from the heel it balances, m."""
        return self._core.volume()[1]

    def mass(self, species: str | float | Wood = "Sitka spruce") -> float:
        """kg, of a species by its name or of a density in kg/m³; glue and finish not counted."""
        return self.volume * wood_of(species).density

    def part_of_solid(self) -> float:
        """Its weight over that of the same spar solid."""
        return self._core.volume()[0] / self._core.volume()[2]

    def stiffness(self, s: float, athwart: bool = False) -> float:
        """Its stiffness at a place over that of the same spar solid."""
        at = self._at(s)
        return self._core.section(at)[1][athwart] / self._core.solid().section(at)[1][athwart]

    def bend(
        self, loads: Iterable[tuple[float, float]] = (), supports: Sequence[float] = (0.0,), *,
        spread: Iterable[tuple[float, float, float]] = (), species: str | float | Wood = "Sitka spruce",
        elasticity: float | None = None, rupture: float | None = None, athwart: bool = False,
    ) -> Bending:  # fmt: skip
        """What becomes of it under a load: see `Bending`.

        `loads` are (distance from the heel, N), `spread` (from, to, N on each metre), all one way, fore and aft or with
        `athwart` across. `supports` are one place where it is built in, or two where it is held and free to turn: heel
        and partners of a mast. A species gives its moduli; otherwise `elasticity` and `rupture` are told, Pa.

        Raises `LoftError` for negative loads or none, places off the spar, a wood whose modulus is not known.
        """
        return bending(
            self._core, wood_of(species), [(float(s), float(n)) for s, n in loads],
            [(float(a), float(b), float(n)) for a, b, n in spread], [float(s) for s in supports],
            elasticity, rupture, athwart,
        )  # fmt: skip

    # At the bench

    def check(self, s: float) -> dict[str, float]:
        """What should be measured at a distance from the heel, m: the square (fore and aft, athwart), the flats of
        eight sides, the diameter and the girth; of what is not round or not eight-sided, what there is; of staves, no
        square, and the flats of as many sides."""
        at = self._at(s)
        depth, breadth = self.size(at)
        found = (
            {"square": depth} if self.section == "round" else dict(zip(self._directions, self.size(at), strict=True))
        )
        if self.staves is not None:
            # Not squared: glued, it has as many sides as staves.
            name = "eight-side flat" if self.staves == 8 else f"{self.staves}-side flat"
            found = {name: depth * math.tan(math.pi / self.staves)}
        elif self.section != "rectangular":
            eight = self._core.flats(16, [at])["width"]
            if self.section == "round":
                found["eight-side flat"] = eight[0]
            else:
                found |= {f"eight-side flat, {self._faces_of(i / 8)}": width for i, width in enumerate(eight)}
        if self.section == "round":
            found["diameter"] = depth
        return found | {"girth": self.girth(at)}

    def measured(self, readings: Iterable[tuple[float, str, float]]) -> pandas.DataFrame:
        """How far off what was measured is: `readings` are (distance from the heel, what, size), m, with what one of
        `check`'s names. Positive is wood still to take off, negative wood that is gone. Raises `LoftError` for another
        name."""
        columns: dict[str, list[Any]] = {"place": [], "what": [], "measured": [], "expected": [], "off": []}
        for s, what, size in readings:
            there = self.check(s)
            if what not in there:
                raise error(LoftError, f"{what!r} is not measured of it", remedy=", ".join(there))
            row = (float(s), what, given.number(what, size), there[what], float(size) - there[what])
            for column, value in zip(columns.values(), row, strict=True):
                column.append(value)
        return frame(columns)

    # On paper

    def drawings(
        self, *, every: float = FOOT, units: str = "mm", scale: float | tuple[float, float] | None = None,
        kerfs: tuple[float, float] | None = None, stock: float | None = None, scarf: float = SCARF,
        scarf_kind: str = "plain", peg: float = PEG, title: str | None = None,
    ) -> list[_core.Drawing]:  # fmt: skip
        """Its faces with their lines and ordinates, its sections, its gauges and its scarf.

        `scale` is 1 to so much, along and across where they differ; 1 is full size, to be marked by; left out,
        foreshortened to fit a sheet. `units` are mm or feet-inches-eighths. `kerfs` are a pitch and a blade. Gauges
        are full size, to make.
        """
        title = title or self.name[:1].upper() + self.name[1:]
        stem = "-".join(self.name.split()) or "spar"
        pair = None if scale is None else given.pair("scale", scale)
        stick = self._sticks()[0]
        joined = None
        if stock is not None and stock < stick.length:
            lap, _ = _core.spar_scarf(scarf_kind, scarf, stick.thickness, stick.width)
            joined = given.number("stock", stock), lap
        at = [(self.ends[0], 0.0), ("greatest", self._core.greatest[0][0]), (self.ends[1], self.length)]
        sections = {s: name for name, s in reversed(at)}
        faces, cross = self._core.drawings(
            name=stem, title=title, ends=list(self.ends), faces=list(self.faces), every=given.number("every", every),
            units=units, marks=[(name, *mark) for name, mark in (self._plugs() | self.marks).items()],
            sections=[(name, s) for s, name in sorted(sections.items())],
            scale=None if pair is None else list(pair), kerfs=None if kerfs is None else list(kerfs), scarf=joined,
        )  # fmt: skip
        found = [faces, cross]
        if joined is not None:
            found.append(
                _core.spar_scarf_drawing(
                    scarf_kind, scarf, stick.thickness, stick.width, name=f"{stem}-scarf", title=title, units=units
                )
            )
        return found + self._gauge_drawings(stem, title, peg)

    def _plugs(self) -> dict[str, tuple[float, float, float]]:
        """Where the plugs of staves or a box end: what is hollow of halves is drawn itself."""
        if self.built not in ("staves", "box"):
            return {}
        ends = zip(self.ends, self._solid, (0.0, self.length), (1.0, -1.0), strict=True)
        at = ((end, begin + way * (solid + self._run_out)) for end, solid, begin, way in ends if solid > 0.0)
        return {f"{end} plug ends": (s, s, 0.0) for end, s in at}

    def _gauge_drawings(self, stem: str, title: str, peg: float) -> list[_core.Drawing]:
        """Gauges as far as there is room for their pencils."""
        found = []
        for sides in self.sides:
            (narrowest, widest), span = self._gauged(sides)
            named, pegs = (f"{stem}-gauge-{sides}", f"{title}, gauge for {sides} sides"), given.number("peg", peg)
            try:
                found.append(_core.spar_gauge_drawing(*named, sides, span, pegs, narrowest, widest))
            except LoftError as slim:
                warnings.warn(Note(f"{self.name}: {slim}"), stacklevel=3)
                break
        return found

    def _repr_svg_(self) -> str:
        """Its faces, foreshortened, for a notebook."""
        return self.drawings()[0].to_svg()

    @property
    def _directions(self) -> tuple[str, str]:
        return ("fore and aft" if self.kind == "mast" else "up and down"), "athwart"

    def _faces_of(self, turn: float) -> str:
        """Which faces lie so many parts of a turn from the first."""
        if self.section == "round":
            return "all"
        named = {0.0: " and ".join(self.faces[:2]), 0.25: " and ".join(self.faces[2:])}
        return named.get(turn, f"{360.0 * turn:g} degrees round")

    def _at(self, s: float, what: str = "") -> float:
        at = given.number("a distance", s)
        if not -1e-9 <= at <= self.length + 1e-9:
            remedy = f"it is {self.length:g} m long"
            raise error(LoftError, f"{what}{at:g} m from the {self.ends[0]} is off the spar", remedy=remedy)
        return at


__all__ = ["FOOT", "GRAVITY", "KINDS", "SCARF", "SECTIONS", "Spar"]
