"""What is said of spars: sizes, blanks, weight and balance, gauges, a load, several beside each other, checks at the
bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from .. import tables
from ..errors import LoftError
from ..terminal.columns import columns_text
from ..units import in_words
from ..units import told as units_of
from .bending import CAUTION, Bending
from .compared import compared
from .of_table import Told
from .pattern import METRIC_EVERY, drawings_of, tables_of
from .spar import FOOT, PEG, Spar
from .species import SOURCE, wood_of

# Wood that is gone by more than this is a finding, m: what a plane takes off and nobody puts back.
GONE_M = 5e-4
WOOD = "Sitka spruce"
BUILT = {
    "solid": "solid", "halves": "hollow, in two halves", "box": "hollow, a box of four boards",
    "staves": "hollow, of notched staves",
}  # fmt: skip


@dataclass(frozen=True)
class Asked:
    """What is asked of the spars besides their sizes. Metres, newtons."""

    species: str | float | None = None
    loads: Sequence[tuple[float, float]] = ()
    spread: Sequence[tuple[float, float, float]] = ()
    supports: Sequence[float] = ()
    athwart: bool = False
    at: Sequence[float] = ()
    measured: Sequence[tuple[float, str, float]] = ()
    blank: tuple[float, float] | None = None
    """A squared stick there is."""

    @property
    def load(self) -> dict[str, Any]:
        """As `Spar.bend` takes it; nothing where none is told."""
        if not self.loads and not self.spread:
            return {}
        return {
            "loads": self.loads, "spread": self.spread, "supports": self.supports or (0.0,), "athwart": self.athwart,
        }  # fmt: skip


@dataclass
class Report:
    """Spars and what was asked of them."""

    spars: dict[str, Told]
    asked: Asked
    metric: bool
    every: float
    peg: float = PEG
    boat: str = ""
    failures: list[str] = field(default_factory=list)

    @property
    def units(self) -> str:
        """How its drawings write lengths."""
        return "mm" if self.metric else "feet-inches-eighths"

    def species(self, told: Told) -> Any:
        """The wood a spar is taken to be of."""
        return self.asked.species if self.asked.species is not None else told.species or WOOD

    def bent(self, told: Told) -> Bending | None:
        """It under the load; None where none is told."""
        load = self.asked.load
        return told.spar.bend(species=self.species(told), **load) if load else None

    def short(self) -> list[str]:
        """Where the stick there is is too small."""
        found = []
        for name, told in self.spars.items() if self.asked.blank else ():
            for row in told.spar.short(*(self.asked.blank or ())).itertuples():
                where = f"from {row.begins:.3f} to {row.ends:.3f} m"
                found.append(f"{name}: the stick is too small {where}, by up to {1e3 * row.lacks:.1f} mm")
        return found

    def gone(self) -> list[str]:
        """What was measured where wood is gone that should be there."""
        if not self.asked.measured:
            return []
        found = []
        for name, told in self.spars.items():
            for row in told.spar.measured(self.asked.measured).itertuples():
                if row.off < -GONE_M:
                    found.append(f"{name}: {row.what} at {row.place:.3f} m is {-1e3 * row.off:.1f} mm too small")
        return found

    def text(self) -> str:
        """For a terminal."""
        blocks = [self._said(told) for told in self.spars.values()]
        if len(self.spars) > 1:
            blocks.append(f"beside each other\n{_as_text(self._compared())}")
        if self.asked.load:
            blocks.append(CAUTION)
        return "\n\n".join(blocks)

    def _compared(self) -> Any:
        species = {name: self.species(told) for name, told in self.spars.items()}
        load = self.asked.load
        return compared({name: told.spar for name, told in self.spars.items()}, species, **load)

    def _said(self, told: Told) -> str:
        spar, wood = told.spar, wood_of(self.species(told))
        depth, athwart = spar.greatest
        size = f"{1e3 * depth:.1f} mm" if spar.section == "round" else f"{1e3 * depth:.1f} by {1e3 * athwart:.1f} mm"
        lines = [
            f"{spar.name}: {spar.section} {spar.kind}, {BUILT[spar.built]}, {spar.length:.3f} m, greatest {size}",
        ]
        lines += [f"  length: {told.spans}"] if told.spans else []
        told_by = "" if self.asked.species is not None or told.species else " (assumed: no species is told)"
        lines += [
            f"  {spar.mass(wood):.2f} kg of {wood.name}{told_by}, "
            f"balances {spar.balance:.3f} m from the {spar.ends[0]}",
            f"  wood {1e3 * spar.volume:.2f} litres, surface {spar.surface:.3f} m², "
            f"glued along it {spar.glue_area:.3f} m²",
        ]
        if spar.built != "solid":
            least = min(spar.stiffness(s, self.asked.athwart) for s in spar.places(spar.length / 100.0))
            lines.append(
                f"  {100 * spar.part_of_solid():.1f} % of the solid's weight, at least {100 * least:.1f} % as stiff"
            )
        lines += [f"  note: {note}" for note in spar.notes]
        lines += [self._stick(row) for row in spar.blanks(told.stock, told.scarf).itertuples()]
        lines.append(self._layout(spar.layout(self.every), spar.sides))
        lines += self._gauges(told)
        bent = self.bent(told)
        if bent is not None:
            lines += _bent(bent)
        for s in self.asked.at:
            found = ", ".join(f"{what} {1e3 * size:.1f}" for what, size in spar.check(s).items())
            lines.append(f"  at {s:.3f} m should measure, mm: {found}")
        if self.asked.measured:
            lines.append(_as_text(tables.in_mm(spar.measured(self.asked.measured))))
        return "\n".join(lines)

    def _length(self, metres: float, up: bool = False) -> str:
        """As the shop reads it; of what is got out, rounded up."""
        if not self.metric:
            return tables.reading(metres, up)
        return f"{tables.rounded_up(1e3 * metres, 0.1) if up else 1e3 * metres:.1f}"

    def _stick(self, row: Any) -> str:
        sizes = " x ".join(self._length(size, up=True) for size in (row.thickness, row.width, row.length))
        said = f"  to get out, net: {row.count} {row.piece if row.count == 1 else _several(row.piece)}, {sizes}"
        if row.lengths_each > 1:
            said += f", in up to {row.lengths_each} lengths of up to {self._length(row.longest_length, up=True)}, "
            said += f"scarfs {self._length(row.scarf)} long"
        return said

    def _layout(self, layout: Any, sides: tuple[int, ...]) -> str:
        """The table of ordinates, narrow enough for a terminal."""
        names = [name.replace("_in_from_edge", "").replace("_", " ") for name in layout]
        cells = [[self._length(value) for value in layout[name]] for name in layout]
        unit = "mm" if self.metric else "feet-inches-eighths"
        head = f"  what is marked, {unit}"
        head += f'; "{sides[0]} sides": how far in from either edge the lines for them lie' if sides else ""
        return head + "\n" + columns_text([tuple(names), *zip(*cells, strict=True)], set(range(len(names))))

    def _gauges(self, told: Told) -> list[str]:
        lines = []
        for sides in told.spar.sides:
            found = told.spar.gauges(sides, self.every, self.peg)
            off = {name[6:].replace("_", " "): found[name] for name in found if name.startswith("error_")}
            said = [f"{name} {1e3 * one.min():+.2f} to {1e3 * one.max():+.2f} mm" for name, one in off.items()]
            clear, pencil, _ = (f"{1e3 * one:.1f} mm" for one in told.spar.gauge(sides, self.peg).values())
            lines += [
                f"  gauge for {sides} sides: {clear} clear between pegs of {1e3 * self.peg:g} mm, "
                f"pencils {pencil} from them",
                f"    off the exact lines: {'; '.join(said)}",
            ]
        return lines

    def as_data(self) -> dict[str, Any]:
        """The same as plain data; metres, kilograms, newtons, pascals."""
        return {
            "spars": {name: self._data(told) for name, told in self.spars.items()},
            "compared": self._compared().to_dict("records") if len(self.spars) > 1 else None,
            "not_made": self.failures,
            "caution": CAUTION if self.asked.load else None,
            "woods": SOURCE,
        }

    def _data(self, told: Told) -> dict[str, Any]:
        spar, wood = told.spar, wood_of(self.species(told))
        bent = self.bent(told)
        load = None
        if bent is not None:
            names = ("deflection", "deflection_at", "stress", "stress_at", "reactions", "part_of_rupture", "of_solid")
            load = {name: getattr(bent, name) for name in names}
        return {
            "kind": spar.kind, "section": spar.section, "built": spar.built, "length": spar.length,
            "greatest": spar.greatest, "wood": wood.name, "mass": spar.mass(wood), "balance": spar.balance,
            "volume": spar.volume, "surface": spar.surface, "glue_area": spar.glue_area,
            "weight_of_solid": spar.part_of_solid(), "length_from": told.spans or None, "notes": spar.notes,
            "blanks": spar.blanks(told.stock, told.scarf).to_dict("records"),
            "layout": spar.layout(self.every).to_dict("records"), "load": load,
            "checks": [{"place": s, **spar.check(s)} for s in self.asked.at],
            "short": spar.short(*self.asked.blank).to_dict("records") if self.asked.blank else None,
            "measured": spar.measured(self.asked.measured).to_dict("records") if self.asked.measured else None,
        }  # fmt: skip

    def drawings(self, scale: float | None) -> dict[str, list[Any]]:
        """Drawings of each spar, by its name."""
        return {
            name: drawings_of(told, self.every, self.units, scale, self.peg, self.boat)
            for name, told in self.spars.items()
        }

    def frames(self) -> dict[str, Any]:
        """What is marked on them and got out, and the load on each, as frames by the names of their files."""
        every = tables_of(self.spars, self.every, self.peg)
        found: dict[str, Any] = {what: tables.measured(one, self.metric) for what, one in every.items()}
        for name, told in self.spars.items():
            bent = self.bent(told)
            if bent is not None:
                found[f"{'-'.join(name.split())}-load"] = bent.table()
        if len(self.spars) > 1:
            found["compared"] = self._compared()
        return found


def report(
    spars: dict[str, Told], asked: Asked, metric: bool, every: float | None = None, peg: float = PEG, boat: str = ""
) -> Report:
    """Spars with what was asked of them. Raises `LoftError`."""
    if not spars:
        raise LoftError("there is no spar to tell of")
    for name, told in spars.items():
        try:
            _try(told.spar, asked)
        except LoftError as failed:
            remedy = ": name those it is for with --spar" if len(spars) > 1 else ""
            raise LoftError(f"{name}: {failed}{remedy}") from None
    return Report(spars, asked, metric, every if every is not None else METRIC_EVERY if metric else FOOT, peg, boat)


def _try(spar: Spar, asked: Asked) -> None:
    """Raises `LoftError` where what is asked is not of this spar."""
    for s in asked.at:
        spar.check(s)
    if asked.measured:
        spar.measured(asked.measured)
    if asked.load:
        spar.bend(elasticity=1.0, **asked.load)


def _bent(bent: Bending) -> list[str]:
    held = " and ".join(f"{force:.0f}" for force in bent.reactions)
    rupture = "" if bent.part_of_rupture != bent.part_of_rupture else (
        f", {100 * bent.part_of_rupture:.0f} % of what a small clear piece breaks at"
    )  # fmt: skip
    far = "; that is farther than this theory holds for" if bent.is_far else ""
    return [
        f"  under the load it gives way {1e3 * abs(bent.deflection):.1f} mm at {bent.deflection_at:.3f} m, "
        f"{bent.of_solid:.2f} times the solid's; supports hold {held} N{far}",
        f"  greatest stress {bent.stress / 1e6:.1f} MPa at {bent.stress_at:.3f} m{rupture}",
    ]


def _several(piece: str) -> str:
    return "halves" if piece == "half" else f"{piece}s"


def _as_text(frame: Any) -> str:
    """A frame as rows of a terminal, lengths in metres, each column with its unit."""
    cells = [[_cell(value) for value in frame[name]] for name in frame]
    units = units_of(frame)
    names = [", ".join(filter(None, (in_words(name), units.get(name)))) for name in frame]
    rows = [tuple(names), *zip(*cells, strict=True)]
    return columns_text(rows, {i for i, name in enumerate(frame) if frame[name].dtype.kind in "fiu"})


def _cell(value: Any) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)
