"""Floating: what a hull displaces, how she trims and heels under a load, and her sails.

What is counted is the moulded canoe body, rabbet to sheer, closed straight across along rabbet, stem, sheer
and after end, a curved transom by its cylinder: no keel, deadwood or rudder below the rabbet, and no planking
where the table is to the inside of it. Lengths are metres, masses kilograms, angles degrees; x runs aft from
the forward end of the table and heights stand on the base line.

Names and symbols are those of the ITTC Symbols and Terminology List, from memory. Where small craft differ: Δ is a
mass (the list's Δm), AM is the greatest section under water (its AX), AWP its AW, and BMT its BM.

Hydrostatic and stability figures are for comparison and study. They do not show that a boat is safe or
lawful: follow local rules and have a licensed naval architect or surveyor judge her.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, fields
from typing import TYPE_CHECKING, Any, TypeAlias

from .. import _core
from ..errors import ScrieveError
from ..tables import frame
from .each import each
from .faired import Faired

if TYPE_CHECKING:
    import numpy
    import pandas
    from numpy.typing import ArrayLike


CAUTION: str = _core.floating_caution()

# A hull has a method `float`, as the trade has it; these name the number where it would stand in the way.
Metres: TypeAlias = float
Kilograms: TypeAlias = float
Degrees: TypeAlias = float
Water: TypeAlias = str | float
"""`"sea"` or `"fresh"`, at 15 °C (ITTC 7.5-02-01-03), or a density in kg/m³."""


@dataclass(frozen=True)
class Weight:
    """A weight that may be moved: one of the crew, ballast, stores. `y` is to starboard."""

    mass: float
    x: float
    y: float = 0.0
    z: float = 0.0
    name: str = ""


@dataclass(frozen=True)
class Load:
    """The boat and what she carries: `hull.float(**load.arguments())`."""

    mass: float
    """Of the boat alone, kg."""
    lcg: float | None = None
    """Her centre aft of the forward end of the table, m; None where it is not known."""
    kg: float | None = None
    """Its height above the base line, m."""
    weights: tuple[Weight, ...] = ()
    remarks: tuple[str, ...] = ()
    """What had to be assumed."""

    @property
    def total(self) -> float:
        """Mass of all, kg."""
        return self.mass + sum(weight.mass for weight in self.weights)

    @property
    def placed(self) -> bool:
        """Whether the boat's centre is known."""
        return self.lcg is not None and self.kg is not None

    def arguments(self) -> dict[str, Any]:
        """For `Hull.float`, `gz` and `righting_arms`. Raises `ScrieveError` where the centre is not known."""
        if not self.placed:
            raise ScrieveError("the boat's centre is not known: `centre` under [mass] in her table gives it")
        return {"mass": self.mass, "lcg": self.lcg, "kg": self.kg, "weights": self.weights}


def load_of(facts: dict[str, Any], crew: bool = True) -> Load | None:
    """The load a file's facts give; None where they do not give the boat's mass. Without `crew`, boat and loads."""
    if "boat_kg" not in facts:
        return None
    lcg, kg = facts.get("boat_centre", (None, None))
    groups = {**(facts.get("crew", {}) if crew else {}), **facts.get("loads", {})}
    weights = [
        Weight(group["kg"], x, y, z, name)
        for name, group in groups.items()
        for x, y, z in group["places"]
    ]  # fmt: skip
    remarks = []
    if crew and facts.get("crew_kg"):
        if lcg is not None:
            remarks.append(
                f"her table does not say where her crew sit: their {facts['crew_kg']:g} kg are put at the boat's own "
                "centre; [crew] tables would place them"
            )
        weights.append(Weight(facts["crew_kg"], lcg or 0.0, 0.0, kg or 0.0, "crew"))
    return Load(facts["boat_kg"], lcg, kg, tuple(weights), tuple(remarks))


# Attribute, symbol, unit and what it is, as a report lists them.
FIGURES = [
    ("draught", "", "m", "draught from the base line"),
    ("moulded_draught", "T", "m", "moulded draught"),
    ("volume", "∇", "m³", "volume"),
    ("mass", "Δ", "kg", "mass"),
    ("lwl", "LWL", "m", "length on the waterline"),
    ("bwl", "BWL", "m", "breadth on the waterline"),
    ("awp", "AWP", "m²", "waterplane"),
    ("am", "AM", "m²", "greatest section under water"),
    ("am_x", "", "m", "its place"),
    ("cb", "CB", "", "block coefficient"),
    ("cp", "CP", "", "prismatic coefficient"),
    ("cm", "CM", "", "section coefficient"),
    ("cwp", "CWP", "", "waterplane coefficient"),
    ("lcb", "LCB", "m", "centre of buoyancy"),
    ("lcf", "LCF", "m", "centre of flotation"),
    ("kb", "KB", "m", "height of the centre of buoyancy"),
    ("bmt", "BMT", "m", "transverse metacentre above it"),
    ("bml", "BML", "m", "longitudinal metacentre above it"),
    ("km", "KM", "m", "transverse metacentre above the base line"),
    ("wetted_surface", "S", "m²", "wetted surface"),
    ("lateral_area", "", "m²", "profile of the hull under water"),
    ("clr_x", "", "m", "its centre"),
    ("immersion", "", "kg/mm", "to sink her a millimetre"),
    ("moment_to_trim", "", "kg m/mm", "to trim her a millimetre"),
]


@dataclass(frozen=True)
class Hydrostatics:
    """Upright figures at a draught, under their ITTC names; printed, a table of them."""

    draught: float
    """What was asked, from the base line, m."""
    moulded_draught: float
    """T of the coefficients: from the lowest point of the moulded body, m."""
    volume: float
    """∇, m³."""
    mass: float
    """Δ = ρ∇, kg."""
    lwl: float
    """LWL, m; it runs from x = `waterline_fore` to `waterline_aft`."""
    waterline_fore: float
    waterline_aft: float
    bwl: float
    """BWL, the greatest breadth on the waterline, m."""
    awp: float
    """AWP, area of the waterplane, m²."""
    am: float
    """AM, area of the greatest immersed section, m² (AX where that is not amidships); it stands at x = `am_x`."""
    am_x: float
    cb: float
    """CB = ∇ / (LWL · BWL · T)."""
    cp: float
    """CP = ∇ / (AM · LWL)."""
    cm: float
    """CM = AM / (BWL · T)."""
    cwp: float
    """CWP = AWP / (LWL · BWL)."""
    lcb: float
    """x of the centre of buoyancy, m."""
    lcf: float
    """x of the centre of flotation, m."""
    kb: float
    """Height of the centre of buoyancy above the base line, m."""
    bmt: float
    """BMT, m."""
    bml: float
    """BML, m."""
    km: float
    """KB + BMT, m."""
    wetted_surface: float
    """S, m²: both sides, the flat between the rabbet lines, and the transom."""
    lateral_area: float
    """Profile under water, m², its centre at (`clr_x`, `clr_z`)."""
    clr_x: float
    clr_z: float
    immersion: float
    """Mass that sinks her a millimetre, kg/mm."""
    moment_to_trim: float
    """Moment that trims her a millimetre over LWL, kg m/mm, taking BML for GML."""

    def text(self, unsure: Mapping[str, str] | None = None) -> str:
        """The figures as a table, without the caution; `unsure` is what to say after a figure, by name."""
        if not isinstance(self.draught, (int, float)):
            import pandas

            numbers = {name: values.ravel() for name, values in asdict(self).items()}
            return str(pandas.DataFrame(numbers).to_string(index=False))
        after = {name: f" {said:<11}" for name, said in unsure.items()} if unsure else {}
        return "\n".join(
            f"{what:<42} {symbol:>4} {getattr(self, name):>12.4f}{after.get(name, '')} {unit}".rstrip()
            for name, symbol, unit, what in FIGURES
        )

    def __str__(self) -> str:
        return f"{self.text()}\n\n{CAUTION}"


@dataclass(frozen=True)
class Flotation:
    """How she floats under a load."""

    mass: float
    """All she carries, herself included, kg, its centre at (`lcg`, `tcg`, `kg`), m."""
    lcg: float
    tcg: float
    kg: float
    draught: float
    """On the centreline at x = `midships`, halfway along the moulded hull, above the base line, m."""
    draught_fore: float
    """The same at the forward end of the hull, m."""
    draught_aft: float
    """The same at her after end, m."""
    midships: float
    trim: float
    """Degrees, positive by the stern."""
    heel: float
    """Degrees, positive to starboard."""
    volume: float
    """∇, m³, its centre at (`lcb`, `tcb`, `kb`) in the hull's own axes, m."""
    lcb: float
    tcb: float
    kb: float
    freeboard: float
    """Least height of the sheer above the water, m; below 0 where, decked, its edge is under."""
    gm: float
    """GM, m: slope of the righting arm by heel in radians, there. Below 0 she will not stay so."""


@dataclass(frozen=True)
class Arms:
    """Righting arms over heel."""

    heels: numpy.ndarray
    """Degrees, positive to starboard."""
    gz: numpy.ndarray
    """GZ, m: positive rights her from starboard. NaN where an open boat has filled over the sheer."""
    trim: numpy.ndarray
    """Degrees by the stern at each heel."""
    flooding: float | None
    """Heel to starboard at which the water reaches the sheer, the deck edge, degrees."""

    def greatest(self) -> tuple[float, float] | None:
        """Heel (degrees) and value (m) of the greatest GZ to starboard, by a parabola through the greatest of
        those computed and its neighbours. None where none is above 0."""
        heels, gz = self._to_starboard()
        if not len(gz) or gz.max() <= 0:
            return None
        k = int(gz.argmax())
        if 0 < k < len(gz) - 1:
            a, b, c = heels[k - 1 : k + 2]
            p, q, r = gz[k - 1 : k + 2]
            before, after = (q - p) / (b - a), (r - q) / (c - b)
            bend = (after - before) / (c - a)
            if bend < 0:
                top = 0.5 * (a + b) - before / (2 * bend)
                return float(top), float(p + before * (top - a) + bend * (top - a) * (top - b))
        return float(heels[k]), float(gz[k])

    def loll(self) -> float | None:
        """Angle of loll, degrees: where GZ, below 0 from upright, rises through 0 to starboard, between two heels
        computed. None if it does not."""
        heels, gz = self._to_starboard()
        for k in range(1, len(gz)):
            if gz[k - 1] < 0 <= gz[k]:
                return float(heels[k - 1] - (heels[k] - heels[k - 1]) * gz[k - 1] / (gz[k] - gz[k - 1]))
        return None

    def vanishing(self) -> float | None:
        """Heel to starboard at which GZ falls through 0, degrees, between two of those computed; None if it does
        not within them."""
        heels, gz = self._to_starboard()
        for k in range(1, len(gz)):
            if gz[k - 1] > 0 >= gz[k]:
                return float(heels[k - 1] + (heels[k] - heels[k - 1]) * gz[k - 1] / (gz[k - 1] - gz[k]))
        return None

    def _to_starboard(self) -> tuple[numpy.ndarray, numpy.ndarray]:
        known = (self.heels >= 0) & (self.gz == self.gz)
        order = self.heels[known].argsort()
        return self.heels[known][order], self.gz[known][order]


@dataclass(frozen=True)
class LateralPlane:
    """What of her profile is under water; its centre is taken for that of lateral resistance, CLR."""

    parts: dict[str, tuple[float, tuple[float, float]]]
    """Area (m²) and centre (x, z) (m) of each: the hull's own profile, the keel, what the table gives besides."""
    area: float
    centre: tuple[float, float]
    """(x, z), m."""


def _weights(mass: float, lcg: float, kg: float, tcg: float, weights: Iterable[Any]) -> list[Any]:
    moved = [(w.mass, w.x, w.y, w.z) if isinstance(w, Weight) else tuple(w) for w in weights]
    return [(mass, lcg, tcg, kg), *moved]


class Afloat(Faired):
    """What a `Hull` can be asked of floating."""

    __slots__ = ()

    def hydrostatics(self, draught: ArrayLike, water: Water = "sea") -> Hydrostatics:
        """Upright figures at `draught` metres above the base line; of an array, arrays of them.

        Raises `FloatingError` if the water does not reach her or is not below her sheer everywhere.
        """
        if isinstance(draught, (int, float)):
            return Hydrostatics(**_core.hydrostatics(self._core, draught, water))
        names = [figure.name for figure in fields(Hydrostatics)]

        def figures(at: float) -> list[float]:
            found = _core.hydrostatics(self._core, at, water)
            return [found[name] for name in names]

        found = each(figures, draught)
        if isinstance(found, list):  # an array of no axes
            return Hydrostatics(*found)
        return Hydrostatics(*(found[..., i] if found.size else found for i in range(len(names))))

    def curves_of_form(self, draughts: Iterable[Metres], water: Water = "sea") -> pandas.DataFrame:
        """Upright figures over draughts (m): a row for each, columns as the attributes of `Hydrostatics`."""
        curves = _core.curves_of_form(self._core, list(draughts), water)
        return frame(curves, {name: unit for name, _, unit, _ in FIGURES})

    @property
    def draught_range(self) -> tuple[float, float]:
        """Heights above the base line of her lowest point and of the lowest point of her sheer, m."""
        return _core.depths(self._core)

    def level_draught(self, mass: Kilograms, water: Water = "sea") -> Metres:
        """Height above the base line of level water in which she displaces `mass` kg, m. Raises `FloatingError`
        where that is over her sheer."""
        return _core.level_draught(self._core, mass, water)

    def load(self, crew: bool = True) -> Load | None:
        """What her table says she weighs and carries; None where it does not."""
        return load_of(self.source.facts, crew)

    def rigs(self) -> dict[str, Rig]:
        """Her rigs by name, as her table gives them."""
        return rigs_of(self.source.facts)

    def lateral_plane(
        self, draught: Metres, parts: dict[str, Sequence[Sequence[Metres]]] | None = None
    ) -> LateralPlane:
        """The lateral plane below level water at `draught`: the hull's profile, the keel where her table has a
        row of it, and `parts` by their corners (x, z), m; left out, those of her table."""
        given = self.source.facts.get("lateral", {}) if parts is None else parts
        plain = [(name, [list(corner) for corner in corners]) for name, corners in given.items()]
        found = {name: (area, (x, z)) for name, area, (x, z) in _core.lateral_plane(self._core, draught, plain)}
        whole = sum(area for area, _ in found.values())
        if not whole:
            raise ScrieveError(f"a draught of {draught:.3f} m leaves her dry")
        x, z = (sum(area * centre[k] for area, centre in found.values()) / whole for k in (0, 1))
        return LateralPlane(found, whole, (x, z))

    def sectional_areas(self, xs: Iterable[Metres], draught: Metres) -> numpy.ndarray:
        """The curve of areas: both sides of the station planes `xs` under water, m²; 0 off the hull."""
        return _core.sectional_areas(self._core, list(xs), draught)

    def float(
        self,
        mass: Kilograms,
        lcg: Metres,
        kg: Metres,
        tcg: Metres = 0.0,
        weights: Iterable[Weight | Sequence[Metres]] = (),
        water: Water = "sea",
        decked: bool = False,
    ) -> Flotation:
        """Draught, trim and heel at which her weight equals that of the water displaced, centres in line.

        `mass` (kg) with its centre (m) is the boat; `weights` come on top, as `Weight` or (mass, x, y, z).
        `decked`, she has a tight deck at the sheer and may float with its edge under. Raises `FloatingError` if she
        sinks, capsizes, finds no trim or, open, is swamped over the sheer.
        """
        return Flotation(**_core.float_at(self._core, _weights(mass, lcg, kg, tcg, weights), water, decked))

    def righting_arms(
        self,
        heels: Iterable[Degrees],
        mass: Kilograms,
        lcg: Metres,
        kg: Metres,
        tcg: Metres = 0.0,
        weights: Iterable[Weight | Sequence[Metres]] = (),
        water: Water = "sea",
        decked: bool = False,
    ) -> Arms:
        """GZ at `heels` degrees with sinkage and trim free; the load as for `float`.

        An open boat's curve stops where water comes in over the sheer; `decked`, she has a tight deck
        straight across from sheer to sheer and the curve goes on. Raises `FloatingError` if she sinks, or
        is swamped upright.
        """
        import numpy

        degrees = numpy.array(list(heels), dtype="f8")
        load = _weights(mass, lcg, kg, tcg, weights)
        gz, trim, flooding = _core.righting_arms(self._core, degrees.tolist(), load, water, decked)
        return Arms(degrees, gz, trim, flooding)

    def gz(self, heels: Iterable[Degrees], mass: Kilograms, lcg: Metres, kg: Metres, **load: Any) -> numpy.ndarray:
        """GZ at `heels` degrees, m: NaN where, open, she has filled over the sheer. As `righting_arms`."""
        return self.righting_arms(heels, mass, lcg, kg, **load).gz


@dataclass(frozen=True)
class Rig:
    """The sails set at one time, each by its corners (x, z) in order round it, m, taken flat and in line."""

    name: str
    sails: dict[str, Sequence[Sequence[float]]]
    area: float = field(init=False)
    """Sail area, m²."""
    centre_of_effort: tuple[float, float] = field(init=False)
    """(x, z), m."""

    def __post_init__(self) -> None:
        sails = [(name, [list(corner) for corner in corners]) for name, corners in self.sails.items()]
        area, (x, z) = _core.centre_of_effort(self.name, sails)
        object.__setattr__(self, "area", area)
        object.__setattr__(self, "centre_of_effort", (x, z))

    def each(self) -> dict[str, tuple[float, tuple[float, float]]]:
        """Area (m²) and centre (x, z) (m) of each sail."""
        one = {name: Rig(name, {name: corners}) for name, corners in self.sails.items()}
        return {name: (rig.area, rig.centre_of_effort) for name, rig in one.items()}

    def lead(self, figures: Hydrostatics, clr_x: float | None = None) -> float:
        """How far the centre of effort lies forward of that of lateral resistance, as a part of LWL.

        `clr_x` is the latter's place, m; left out, the centre of the hull's own profile under water is taken,
        which leaves out keel, rudder and centreboard.
        """
        resistance = figures.clr_x if clr_x is None else clr_x
        return (resistance - self.centre_of_effort[0]) / figures.lwl

    def area_to_displacement(self, figures: Hydrostatics) -> float:
        """SA/∇^⅔."""
        return self.area / figures.volume ** (2 / 3)

    def area_to_wetted_surface(self, figures: Hydrostatics) -> float:
        """SA/S."""
        return self.area / figures.wetted_surface


ALL_SAILS = "all sails"
"""The one rig of a boat whose table names none."""


def rigs_of(facts: dict[str, Any]) -> dict[str, Rig]:
    """The rigs a file's facts give, by name; empty where they give no sails."""
    sails = facts.get("sails", {})
    if not sails:
        return {}
    named = facts.get("rigs") or {ALL_SAILS: list(sails)}
    return {rig: Rig(rig, {sail: sails[sail] for sail in chosen}) for rig, chosen in named.items()}
