"""What is said of a boat afloat: upright figures, curves over draught, flotation, righting arms and sails.

`report` gathers it from the faired hull and from what her table says of her load waterline, her mass and her
sails; the verb `float`, the lofted folder and the drawings of `float_drawings` all show the same report.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from ..errors import FloatingError, ScrieveError
from ..hull.floating import CAUTION, FIGURES, Arms, Flotation, Hydrostatics, LateralPlane, Load, Rig, Water, Weight
from ..hull.uncertainty import SAMPLES, Uncertain, UncertainFigures, plus_minus
from ..terminal.columns import columns_text

if TYPE_CHECKING:
    import pandas

    from ..hull.hull import Hull

# See `scrieve.uncertainty`.
WEAKER = (
    "held against known hulls, intervals of CP, LCB, LCF and wetted surface are narrower than they should be: "
    "they hold the truth some 90 times in a hundred"
)
HEELS: tuple[float, ...] = tuple(range(0, 95, 5))
# The heel taken for that of flooding, degrees short of it, so that an open boat has not filled yet.
EDGE = 1e-5
# Stations of the curve of areas from end to end of the waterline.
AREAS = 41
# Draughts of curves drawn unasked, and the parts of her depth they run between: nearer the keel coefficients mean
# nothing.
DRAUGHTS, LOWEST, HIGHEST = 40, 0.12, 0.98
# More draughts than this in one table are a slip of the step.
MOST_DRAUGHTS = 500

# Columns of the curves of form as a terminal shows them: name, heading, places.
_CURVES = [
    ("draught", "m", 3), ("volume", "∇ m³", 4), ("mass", "Δ kg", 1), ("lwl", "LWL m", 3), ("bwl", "BWL m", 3),
    ("awp", "AWP m²", 3), ("wetted_surface", "S m²", 3), ("cb", "CB", 3), ("cp", "CP", 3), ("cm", "CM", 3),
    ("cwp", "CWP", 3), ("lcb", "LCB m", 3), ("lcf", "LCF m", 3), ("kb", "KB m", 3), ("bmt", "BMT m", 3),
    ("immersion", "kg/mm", 2),
]  # fmt: skip


@dataclass(frozen=True)
class RigFigures:
    """A rig against the hull it drives."""

    rig: Rig
    lead: float | None
    """How far the centre of effort lies forward of that of the lateral plane, as a part of LWL."""
    area_to_displacement: float | None
    """SA/∇^⅔."""
    area_to_wetted_surface: float | None
    """SA/S."""

    def as_data(self) -> dict[str, Any]:
        sails = {name: {"area": area, "centre": centre} for name, (area, centre) in self.rig.each().items()}
        own = {"area": self.rig.area, "centre_of_effort": self.rig.centre_of_effort, "sails": sails}
        return own | {name: getattr(self, name) for name in _AGAINST}


_AGAINST = ("lead", "area_to_displacement", "area_to_wetted_surface")


@dataclass
class Report:
    """A boat afloat. What was not asked for and cannot be told is None or empty."""

    hull: Hull
    water: Water
    figures: Hydrostatics | None = None
    """Upright, at `at`."""
    at: str = ""
    load: Load | None = None
    whose: str = ""
    """Where the load was taken from."""
    afloat: Flotation | None = None
    arms: Arms | None = None
    decked: bool = False
    lateral: LateralPlane | None = None
    rigs: dict[str, RigFigures] = field(default_factory=dict)
    curves: pandas.DataFrame | None = None
    capsizes: str = ""
    """Why she floats in no way, if she does not."""
    unsure: UncertainFigures | None = None
    """How sure the readings make each of `numbers`."""
    notes: list[str] = field(default_factory=list)

    @property
    def restless(self) -> bool:
        """Whether she finds no rest: with GM not above 0 she falls to one side, and lies at no heel there."""
        if self.afloat is None or self.afloat.gm > 0:
            return False
        return self.arms is None or self.arms.loll() is None

    def sectional_areas(self, stations: int = AREAS) -> tuple[list[float], list[float]]:
        """The curve of areas at `figures`: places along the waterline, m, and areas, m²."""
        import numpy

        assert self.figures is not None
        xs = numpy.linspace(self.figures.waterline_fore, self.figures.waterline_aft, stations)
        return xs.tolist(), self.hull.sectional_areas(xs, self.figures.draught).tolist()

    def numbers(self) -> dict[str, Any]:
        """Every figure but the curves of form, by name: upright ones under their own, others as `afloat.trim`,
        `righting_arms.gz` or `rigs.lug and mizzen.lead`."""
        blocks: dict[str, Any] = {"": self.figures, "afloat.": self.afloat, "righting_arms.": self.arms}
        found = {
            f"{block}{name}": value
            for block, figures in blocks.items()
            if figures is not None
            for name, value in vars(figures).items()
        }
        found |= {f"rigs.{rig}.{name}": getattr(f, name) for rig, f in self.rigs.items() for name in _AGAINST}
        return {name: value for name, value in found.items() if value is not None}

    def _plus_minus(self, block: str = "") -> dict[str, str]:
        """What to say after the figures of a block that are one number."""
        unsure: Mapping[str, Uncertain] = self.unsure or {}
        own = {name.removeprefix(block): figure for name, figure in unsure.items() if name.startswith(block)}
        return {name: plus_minus(f.value, f.half) for name, f in own.items() if isinstance(f.value, float)}

    def all_curves(self) -> pandas.DataFrame:
        """`curves`; where none were asked for, from a little above her keel to just below her sheer."""
        if self.curves is not None:
            return self.curves
        low, sheer = self.hull.draught_range
        parts = [LOWEST + (HIGHEST - LOWEST) * i / (DRAUGHTS - 1) for i in range(DRAUGHTS)]
        return self.hull.curves_of_form([low + part * (sheer - low) for part in parts], self.water)

    @property
    def _in_water(self) -> str:
        return f"in {self.water} water" if isinstance(self.water, str) else f"in water of {self.water:g} kg/m³"

    def as_data(self) -> dict[str, Any]:
        """All of it as plain values: the upright figures at the top under their names, the rest below."""
        data: dict[str, Any] = {"name": self.hull.name, "water": self.water}
        if self.figures is not None:
            xs, areas = self.sectional_areas()
            data |= {"at": self.at, **asdict(self.figures), "sectional_areas": {"x": xs, "area": areas}}
            data["units"] = {name: unit for name, _, unit, _ in FIGURES if unit}
        if self.curves is not None:
            data["curves_of_form"] = self.curves.to_dict("records")
        if self.load is not None:
            load = {"from": self.whose, **asdict(self.load), "total": self.load.total}
            data["load"] = load
        if self.capsizes:
            data["capsizes"] = self.capsizes
        if self.afloat is not None:
            data["afloat"] = asdict(self.afloat) | {"stays_so": self.afloat.gm > 0}
        if self.arms is not None:
            arms = self.arms
            data["righting_arms"] = {
                "decked": self.decked, "heel": list(arms.heels), "gz": list(arms.gz), "trim": list(arms.trim),
                "flooding": arms.flooding, "greatest": arms.greatest(), "vanishing": arms.vanishing(),
                "loll": None if self.afloat is None or self.afloat.gm > 0 else arms.loll(),
            }  # fmt: skip
        if self.lateral is not None:
            data["lateral_plane"] = asdict(self.lateral)
        if self.rigs:
            data["rigs"] = {name: rig.as_data() for name, rig in self.rigs.items()}
        if self.unsure is not None:
            data["uncertainty"] = {
                "samples": self.unsure.samples,
                "failures": list(self.unsure.failures),
                "figures": {
                    name: {of: _listed(getattr(figure, of)) for of in ("sd", "low", "high")}
                    for name, figure in self.unsure.items()
                },
            }
        return data | {"notes": self.notes, "remarks": self.hull.remarks, "caution": CAUTION}

    def frame(self) -> pandas.DataFrame:
        """The figures a page shows: columns what, symbol, value (a number) and unit; `.attrs["places"]` says how many
        places after the point of each the page shows."""
        import pandas

        rows: list[tuple[str, str, float, str, int]] = []
        if self.figures is not None:
            numbers = asdict(self.figures)
            rows += [
                (what, symbol, numbers[n], unit, 1 if unit == "kg" else 3)
                for n, symbol, unit, what in FIGURES
                if symbol
            ]
        if self.afloat is not None:
            rows += [(*row, 3) for row in _afloat_rows(self.afloat)]
        if self.arms is not None and self.arms.flooding is not None:
            rows.append(("water at the sheer at a heel of", "", self.arms.flooding, "degrees", 0))
        for name, figures in self.rigs.items():
            rows.append((f"sail area, {name}", "SA", figures.rig.area, "m²", 2))
            if figures.lead is not None:
                rows.append((f"lead, {name}", "", 100 * figures.lead, "% of LWL", 1))
            if figures.area_to_displacement is not None:
                rows.append((f"sail area to displacement, {name}", "SA/∇^⅔", figures.area_to_displacement, "", 2))
        made = pandas.DataFrame([row[:4] for row in rows], columns=["", "symbol", "value", "unit"])
        made.attrs["places"] = [row[4] for row in rows]
        return made

    def shown(self) -> pandas.DataFrame:
        """`frame` as a page shows it: values as text, to their places."""
        made = self.frame()
        places = made.attrs["places"]
        return made.assign(value=[f"{v:.{to}f}" for v, to in zip(made.value, places, strict=True)])

    def text(self) -> str:
        """All of it for a terminal."""
        blocks = []
        if self.figures is not None:
            blocks.append(
                f"{self.hull.name}, upright {self.at}, {self._in_water}\n\n{self.figures.text(self._plus_minus())}"
            )
        if self.curves is not None:
            blocks.append(f"{self.hull.name}, upright over draughts, {self._in_water}\n\n{curves_text(self.curves)}")
        if self.load is not None:
            blocks.append(f"{self.hull.name}, loaded as {self.whose}, {self._in_water}\n\n{_load_text(self.load)}")
        if self.capsizes:
            blocks.append(self.capsizes)
        if self.afloat is not None:
            blocks.append(_afloat_text(self.afloat, self.arms, self._plus_minus("afloat.")))
        if self.arms is not None:
            blocks.append(_arms_text(self.arms, self.decked, self.unsure))
        if self.rigs:
            blocks.append(_rigs_text(self.rigs, self.lateral, self.unsure))
        notes = [*self.notes, *(self.unsure.remarks() if self.unsure is not None else ())]
        return "\n\n".join([*blocks, *(f"note: {note}" for note in notes), CAUTION])


def report(
    hull: Hull,
    *,
    draught: float | None = None,
    load: Load | None = None,
    draughts: Sequence[float] = (),
    crew: bool = True,
    weights: Iterable[Weight] = (),
    water: Water = "sea",
    heels: Sequence[float] = (),
    decked: bool = False,
    rig: str | None = None,
) -> Report:
    """Floats her at a `draught`, under a `load`, or, given neither, as her table says: at its load waterline, and
    under its mass, crew (unless `crew` is false) and loads, whichever it gives.

    `weights` come on top of the load; `draughts` (m) are those of the curves of form; `heels` are
    degrees, every 5 to 90 if left out; `rig` picks one of her rigs. Raises `ScrieveError` where there is nothing
    to go by, `FloatingError` where she cannot float so.
    """
    facts = hull.source.facts
    found = Report(hull, water, decked=decked)
    added = tuple(weights)
    if draught is not None:
        at, said = draught, f"at a draught of {draught:.3f} m"
    else:
        own = load is None
        if load is None:
            load = hull.load(crew)
            found.whose = "her table says"
        else:
            found.whose = "given"
        if load is None and (added or not crew):
            raise ScrieveError(
                f"{hull.name}'s table does not say what she weighs: `boat_kg` and `centre` under [mass] would"
            )
        if load is not None:
            found.load = Load(load.mass, load.lcg, load.kg, load.weights + added, load.remarks)
            found.notes += load.remarks
        drawn = facts.get("load_waterline") if own else None
        if drawn is not None:
            at, said = drawn, f"at the load waterline of her table, {drawn:.3f} m above the base line"
        elif found.load is not None:
            try:
                at = hull.level_draught(found.load.total, water)
            except FloatingError as error:
                raise _named(error, found) from None
            said = f"and level with her {found.load.total:g} kg, at a draught of {at:.3f} m"
        elif draughts:
            at = None
        else:
            raise ScrieveError(
                f"{hull.name}'s table says neither where she floats nor what she weighs: give a draught "
                "(--draught), or a mass and its centre (--mass, --lcg, --kg); or `load_waterline`, or `boat_kg` and "
                "`centre` under [mass], in the table"
            )
    if at is not None:
        try:
            found.figures, found.at = hull.hydrostatics(at, water), said
        except FloatingError as error:
            if draught is None and found.load is None:
                raise ScrieveError(f"the load waterline of {hull.name}'s table: {error}") from None
            raise
        found.lateral = hull.lateral_plane(at)
    if draughts:
        found.curves = hull.curves_of_form(draughts, water)
    if found.load is not None:
        _float(found, heels)
    found.rigs = _rigs(found, rig)
    found.notes.append(_counted(found))
    return found


def _counted(found: Report) -> str:
    """What of her the figures count."""
    facts = found.hull.source.facts
    if facts["moulded_to"] != "inside of planking":
        return "counted is her moulded body from rabbet to sheer: no keel, deadwood or rudder below it"
    said = "her table is to the inside of the planking, which is not counted, nor is keel, deadwood or rudder"
    if found.figures is not None and "planking" in facts:
        # A thin shell holds its area times its thickness.
        shell = found.figures.wetted_surface * facts["planking"]
        more = found.figures.mass / found.figures.volume * shell
        said += f"; {1e3 * facts['planking']:.1f} mm of it under water would displace about {more:.0f} kg more"
    return said


def with_uncertainty(found: Report, samples: int = SAMPLES, heels: Sequence[float] = (), **given: Any) -> Report:
    """The report with how sure the readings make each number of it; `given` is as it was for `report`."""
    if not found.numbers():
        found.notes.append("curves of form are told without how sure they are: --draught, or a load, would be")
        return found
    # Righting arms are taken at the same heels of every possible hull, not at each one's own flooding.
    under = {**given, "heels": heels or HEELS}
    found.unsure = found.hull.uncertainty(lambda hull: report(hull, **under).numbers(), samples)
    found.notes.append(WEAKER)
    return found


def _listed(value: Any) -> Any:
    return value.tolist() if hasattr(value, "tolist") else value


def _float(found: Report, heels: Sequence[float]) -> None:
    """Flotation and righting arms under the load, as far as the centre is known."""
    load = found.load
    assert load is not None
    if not load.placed:
        found.notes.append(
            "her table does not say where the boat's centre is, so how she trims and rights herself is not told: "
            "`centre` under [mass] would say"
        )
        return
    drawn = found.figures
    try:
        found.afloat = found.hull.float(**load.arguments(), water=found.water, decked=found.decked)
    except FloatingError as error:
        if error.reason != "capsizes":
            raise _named(error, found) from None
        found.capsizes = f"she capsizes: {error}"
    under = {**load.arguments(), "water": found.water, "decked": found.decked}
    found.arms = found.hull.righting_arms(heels or HEELS, **under)
    if not heels and found.arms.flooding is not None:
        # The curve's own end, or the heel at which her deck edge goes under.
        edge = found.arms.flooding - EDGE
        found.arms = found.hull.righting_arms(sorted({*HEELS, edge}), **under)
    if found.afloat is not None and drawn is not None and found.at.startswith("at the load waterline"):
        over = load.total - drawn.mass
        apart = f"{abs(over):.0f} kg {'less' if over > 0 else 'more'} than" if abs(over) >= 0.5 else "which is"
        found.notes.append(
            f"at the load waterline of her table she displaces {drawn.mass:.0f} kg, {apart} her load of "
            f"{load.total:.0f} kg"
        )


def _named(error: FloatingError, found: Report) -> Exception:
    """The error with what is to be changed, where the load is the table's own."""
    if found.whose == "given" or error.reason == "argument":
        return error
    return ScrieveError(f"{error}; so she is loaded by [mass], [crew] and [load] in her table")


def _rigs(found: Report, chosen: str | None) -> dict[str, RigFigures]:
    rigs = found.hull.rigs()
    if chosen is not None and chosen not in rigs:
        there = f"there are: {', '.join(rigs)}" if rigs else "it gives no sails"
        raise ScrieveError(f"no rig is called {chosen!r} in {found.hull.name}'s table; {there}")
    figures, lateral = found.figures, found.lateral
    if rigs and lateral is not None and set(lateral.parts) == {"hull"}:
        found.notes.append(
            "the centre of lateral resistance is that of the hull's profile alone: her table gives no keel and no "
            "[lateral] parts, such as a centreboard"
        )
    against: dict[str, RigFigures] = {}
    for name, rig in rigs.items():
        if chosen in (None, name):
            numbers: tuple[float | None, ...] = (None, None, None)
            if figures is not None and lateral is not None:
                numbers = (
                    rig.lead(figures, lateral.centre[0]),
                    rig.area_to_displacement(figures),
                    rig.area_to_wetted_surface(figures),
                )  # fmt: skip
            against[name] = RigFigures(rig, *numbers)
    return against


def draughts_between(first: float, last: float, step: float) -> list[float]:
    """Draughts from `first` to `last`, both included, m. Raises `ScrieveError` where there are none."""
    if not step > 0:
        raise ScrieveError(f"a step of {step:g} m between draughts: it must be above 0")
    if first > last:
        raise ScrieveError(f"no draughts from {first:g} m to {last:g} m: the first is above the last")
    count = int((last - first) / step + 1e-9) + 1
    if count > MOST_DRAUGHTS:
        raise ScrieveError(f"{count} draughts are more than {MOST_DRAUGHTS}: make the step longer")
    return [first + i * step for i in range(count)]


def curves_text(curves: pandas.DataFrame) -> str:
    """The curves of form as a table for a terminal."""
    rows = [tuple(heading for _, heading, _ in _CURVES)]
    rows += [tuple(f"{row[name]:.{places}f}" for name, _, places in _CURVES) for row in curves.to_dict("records")]
    return columns_text(rows, right=set(range(len(_CURVES))), gap=1)


def _load_text(load: Load) -> str:
    rows = [("", "mass kg", "from stem m", "out m", "up m")]
    centre = (f"{load.lcg:.3f}", "", f"{load.kg:.3f}") if load.placed else ("not known", "", "")
    rows.append(("boat", f"{load.mass:.1f}", *centre))
    for weight in load.weights:
        place = (f"{weight.x:.3f}", f"{weight.y:.3f}", f"{weight.z:.3f}")
        rows.append((weight.name or "weight", f"{weight.mass:.1f}", *(place if load.placed else ("", "", ""))))
    if load.weights:
        rows.append(("together", f"{load.total:.1f}", "", "", ""))
    return columns_text(rows, right={1, 2, 3, 4})


# Attribute, what it is, symbol and unit.
_AFLOAT = [
    ("draught", "draught amidships", "", "m"),
    ("draught_fore", "draught at her forward end", "", "m"),
    ("draught_aft", "draught at her after end", "", "m"),
    ("trim", "trim by the stern", "", "degrees"),
    ("heel", "heel to starboard", "", "degrees"),
    ("freeboard", "least freeboard", "", "m"),
    ("lcg", "centre of gravity aft of her forward end", "", "m"),
    ("kg", "its height above the base line", "KG", "m"),
    ("gm", "transverse metacentre above it", "GM", "m"),
]


def _afloat_rows(afloat: Flotation) -> list[tuple[str, str, float, str]]:
    return [(what, symbol, getattr(afloat, name), unit) for name, what, symbol, unit in _AFLOAT]


def _afloat_text(afloat: Flotation, arms: Arms | None, unsure: dict[str, str]) -> str:
    after = {name: f" {said:<11}" for name, said in unsure.items()}
    lines = [
        f"{what:<42} {symbol:>4} {getattr(afloat, name):>12.4f}{after.get(name, '')} {unit}"
        for name, what, symbol, unit in _AFLOAT
    ]
    if afloat.gm <= 0:
        loll = arms.loll() if arms is not None else None
        rest = " and finds no rest there" if loll is None else f", and lies at about {loll:.0f} degrees"
        lines.append(f"With GM not above 0 she does not stay so: she falls to one side{rest}.")
    return "\n".join(lines)


def _arms_text(arms: Arms, decked: bool, unsure: UncertainFigures | None) -> str:
    flooding, at_heel = "", {}
    if unsure is not None and "righting_arms.gz" in unsure:
        end, gz = unsure.get("righting_arms.flooding"), unsure["righting_arms.gz"]
        flooding = plus_minus(end.value, end.half) if end is not None else ""
        each = zip(unsure["righting_arms.heels"].value, gz.value, gz.half, strict=True)
        at_heel = {heel: plus_minus(value, half) for heel, value, half in each}
    lines = [f"righting arms, she being {'decked' if decked else 'open'}"]
    top, gone = arms.greatest(), arms.vanishing()
    if top is not None:
        lines.append(f"{'greatest GZ':<42} {'':>4} {top[1]:>12.4f} m at {top[0]:.0f} degrees")
    if arms.flooding is not None:
        edge = "deck edge under water from" if decked else "water comes in over the sheer from"
        sure = f" {flooding:<11}" if flooding else ""
        lines.append(f"{edge:<42} {'':>4} {arms.flooding:>12.1f}{sure} degrees")
    if gone is not None:
        lines.append(f"{'GZ falls through 0 at':<42} {'':>4} {gone:>12.1f} degrees")
    wide = 11 if at_heel else 0
    lines += ["", f"   heel    GZ m{'':{wide}}  trim degrees"]
    filled = [heel for heel, gz in zip(arms.heels, arms.gz, strict=True) if gz != gz]
    for heel, gz, trim in zip(arms.heels, arms.gz, arms.trim, strict=True):
        if gz == gz:
            under = decked and arms.flooding is not None and heel > arms.flooding
            note = "  deck edge under" if under else ""
            sure = f" {at_heel.get(heel, ''):<10}" if at_heel else ""
            lines.append(f"{round(heel, 2):>7g} {gz:>7.4f}{sure} {trim:>13.2f}{note}")
    if filled:
        lines.append(f"at {', '.join(f'{heel:g}' for heel in filled)} degrees she has filled")
    return "\n".join(lines)


def _against(value: float | None, unsure: Uncertain | None, times: int) -> str:
    if value is None:
        return ""
    sure = plus_minus(times * value, times * unsure.half) if unsure is not None else ""
    return f"{times * value:.{1 if times > 1 else 2}f} {sure}".rstrip()


def _rigs_text(rigs: dict[str, RigFigures], lateral: LateralPlane | None, unsure: UncertainFigures | None) -> str:
    rows: list[tuple[str, ...]] = [("sails", "area m²", "centre from stem m", "up m", "lead % LWL", "SA/∇^⅔", "SA/S")]
    of_rigs: Mapping[str, Uncertain] = unsure or {}
    for name, figures in rigs.items():
        numbers = [
            _against(getattr(figures, of), of_rigs.get(f"rigs.{name}.{of}"), 100 if of == "lead" else 1)
            for of in _AGAINST
        ]
        x, z = figures.rig.centre_of_effort
        rows.append((name, f"{figures.rig.area:.2f}", f"{x:.3f}", f"{z:.3f}", *numbers))
        each = figures.rig.each().items()
        rows += [(f"  {sail}", f"{a:.2f}", f"{c[0]:.3f}", f"{c[1]:.3f}", "", "", "") for sail, (a, c) in each]
    text = columns_text(rows, right=set(range(1, 7)))
    if lateral is None:
        return text
    parts = [("lateral plane", "area m²", "centre from stem m", "up m")]
    parts += [(f"  {name}", f"{a:.3f}", f"{c[0]:.3f}", f"{c[1]:.3f}") for name, (a, c) in lateral.parts.items()]
    x, z = lateral.centre
    parts.append(("together: CLR", f"{lateral.area:.3f}", f"{x:.3f}", f"{z:.3f}"))
    return f"{text}\n\n{columns_text(parts, right={1, 2, 3})}"
