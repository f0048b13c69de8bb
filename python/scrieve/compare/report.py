"""The comparison of a folder of boats as the command line reports it: rows, CSV, and what went wrong."""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import ScrieveError
from ..outputs import STANDARD, claim, replace
from ..tables import csv_text
from .collection import Collection, collection
from .measures import LABELS
from .near import NEAR_SDS

if TYPE_CHECKING:
    import pandas

    from .gaps import Gap
    from .shapes import Shapes

# Distances are told in millimetres to the metre of length.
PER_MILLE = 1e3

# Sizes as near as this part are one to a tape on a half model.
_TAPE = 0.01

# Pairs told one by one; of more their families are.
_PAIRS_SHOWN = 12

# Readings of a copy that differ, where slips made them.
_SLIPS = 3

# What a person looks for first; the rest of the facts are in the file.
_FACTS_SHOWN = ("builder", "year")


@dataclass
class Comparison:
    """What came of comparing: `frame`, a row a boat, and the collection it is of."""

    collection: Collection
    frame: pandas.DataFrame
    shapes: Shapes | None

    near: pandas.DataFrame
    left_out: Sequence[str] = ()

    @property
    def findings(self) -> bool:
        """Whether anything failed, a reading was left out, a whole row or column is off, or boats are nearer than their
        readings can tell apart."""
        return bool(
            self.collection.failures
            or len(self.near)
            or self.collection.readings_left_out()
            or self.collection.whole_slips()
        )

    def heading(self) -> list[str]:
        """Which face of the planking all figures are of, and how the boats come to it, a line each."""
        faces = self.collection.faces()
        lines = [f"All figures and shapes are of the hulls to the {self.collection.moulded_to}."]
        carried = faces[faces.carried.fillna(0) != 0]
        own, assumed = carried[~carried.planking_assumed], carried[carried.planking_assumed]
        way = "inward" if self.collection.moulded_to.startswith("inside") else "outward"
        if len(own):
            each = (f"{name} {1e3 * abs(by):.1f} mm" for name, by in own.carried.items())
            lines.append(f"Carried {way} by their planking: {', '.join(each)}.")
        if len(assumed):
            by = 1e3 * abs(assumed.carried.iloc[0])
            lines.append(f"Carried {way} by planking that is ASSUMED, {by:.1f} mm: {', '.join(assumed.index)}.")
        if faces.given_assumed.any():
            names = ", ".join(faces.index[faces.given_assumed])
            lines.append(f"Outside of planking ASSUMED, their files not saying: {names}.")
        ends = ((boat.name, boat.facts.get("ends_assumed")) for boat in self.collection)
        told = [f"{name} ({which})" for name, which in ends if which]
        if told:
            lines.append(f"Ends ASSUMED, not measured: {', '.join(told)}.")
        unknown = [
            boat.name for boat in self.collection
            if self.collection.moulded_to.startswith("inside") and boat.facts.get("planking") is None
            and not faces.planking_assumed[boat.name] and boat.name in self.frame.index
            and "mass" in self.frame and self.frame.mass[boat.name] == self.frame.mass[boat.name]
        ]  # fmt: skip
        if unknown:
            who = ", ".join(unknown) if len(unknown) <= _PAIRS_SHOWN else f"{len(unknown)} boats"
            lines.append(f"Mass and SA/∇^⅔ of {who} are by the inside alone, no planking being told: --planking.")
        if self.left_out:
            lines.append(f"Left out as asked: {', '.join(self.left_out)}.")
        return lines

    def said(self) -> list[str]:
        """What could not be done and why, and what is suspiciously alike, a line each."""
        lines = [f"could not do: {path}: {reason}" for path, reason in self.collection.failures]
        for path, first in self.collection.namesakes:
            lines.append(f"{path}: note: name, builder and year are those of {first}")
        for boat in self.collection:
            lines += [f"{boat.name}: note: {text}" for text in boat.open_ends]
        for name, slips_said in self.collection.whole_slips().items():
            lines += [f"{name}: compared by her table as it stands: {text}" for text in slips_said]
        for name, doubted in self.collection.readings_left_out().items():
            lines.append(f"{name}: readings left out, as the rest of her contradicts them: {', '.join(doubted)}")
        pairs: list[str] = []
        slips: list[str] = []
        for row in self.near.itertuples():
            ratios = [row.length, row.breadth, row.height]
            size = (
                ""
                if all(abs(r - 1) < 5e-4 for r in ratios)
                else " at {:.3f} along, {:.3f} across, {:.3f} up".format(*ratios)
            )
            cells = {-1: "the tables are laid out otherwise", 0: "no reading differs by more than its tolerance"}
            differ = cells.get(
                row.cells,
                f"{row.cells} readings differ: {row.differing}".replace("1 readings differ", "1 reading differs"),
            )
            sisters = all(abs(r - 1) < _TAPE for r in ratios)
            # Of another size, or as slender or deep, a tape would tell them apart.
            alike = "nearer than their readings can tell apart" if sisters else "of one form but for her size"
            slips += [f"{row.first} and {row.second}: {differ}"] if 0 < row.cells <= _SLIPS else []
            pairs.append(
                f"{alike}: {row.first} and {row.second}: {1e3 * row.distance:.1f} mm "
                f"rms between {row.between}{size}, {row.sds:.1f} sd; {differ}"
            )
        if len(self.near) > _PAIRS_SHOWN:
            families = [", ".join(family) for family in self.families()]
            pairs = [f"nearer than their readings can tell apart but for their size: {names}" for names in families]
            pairs.append(f"that is {len(self.near)} pairs: -o does not hold them, --json and Collection.near() do")
            pairs += [f"copies that differ: {said}" for said in slips[:_PAIRS_SHOWN]]
        if pairs:
            pairs.append(
                f"nearer: within {NEAR_SDS:g} standard deviations of what both are read to; --leave-out drops one"
            )
        return lines + pairs

    def families(self) -> list[list[str]]:
        """Boats that readings cannot tell apart, each nearer so to another of its family than to any outside it."""
        of: dict[str, set[str]] = {}
        for first, second in zip(self.near["first"], self.near["second"], strict=True):
            family = of.get(first, {first}) | of.get(second, {second})
            of.update(dict.fromkeys(family, family))
        return [sorted(family) for family in {id(f): f for f in of.values()}.values()]

    def write(self, path: str | os.PathLike[str]) -> None:
        """Writes the frame as CSV, units in the headings; the last columns say to which face of the planking and how
        far the boat was carried, and name the numbers assumed."""
        path = Path(path)
        if path != STANDARD and path.suffix.lower() != ".csv":
            raise ScrieveError(f"{path}: the table is written as CSV: name a file that ends in .csv")
        units = self.frame.attrs["units"]
        basis = self.collection.basis()
        assumed = [" ".join(name for name in basis if row[name] == "assumed") for _, row in basis.iterrows()]
        faces = self.collection.faces()
        named = self.frame.rename(columns={c: f"{c} ({units[c]})" for c in self.frame if units.get(c)})
        told = named.assign(
            compared_to=self.collection.moulded_to, **{"carried (m)": faces.carried},
            planking_assumed=faces.planking_assumed, assumed=assumed,
        )  # fmt: skip
        replace(path, csv_text(told, None).encode())

    def gap(self, first: str, second: str) -> Gap:
        """Where the second boat is fuller than the first. Raises `ScrieveError` for names not here."""
        if self.shapes is None:
            raise ScrieveError("no shapes to lay over one another: no boat could be faired")
        return self.shapes.gap(first, second)

    def as_data(self, gaps: Sequence[Gap] = ()) -> dict[str, Any]:
        """All of it as plain data."""
        basis = self.collection.basis()
        faces = self.collection.faces()
        boats = []
        for name, row in self.frame.iterrows():
            values = {key: _plain(value) for key, value in row.items()}
            values |= {key: _plain(value) for key, value in faces.loc[name].items()}
            boats.append(values | {"basis": {k: b for k, b in basis.loc[name].items() if b}})
        return {
            "moulded_to": self.collection.moulded_to,
            "boats": boats,
            "units": self.frame.attrs["units"],
            "rigs": [
                {"boat": boat, "rig": rig} | {name: _plain(value) for name, value in row.items()}
                for (boat, rig), row in self.collection.rigs().iterrows()
            ],
            "distances": {} if self.shapes is None else self.shapes.distances().to_dict(),
            "gaps": [
                {
                    "between": list(gap.names),
                    "rms": gap.rms,
                    "greatest": gap.greatest,
                    "farthest": gap.farthest,
                    "outside_mm_per_m": [
                        {"part": part} | {band: _plain(value) for band, value in row.items()}
                        for part, row in gap.frame().iterrows()
                    ],
                }
                for gap in gaps
            ],
            "failures": [{"path": str(path), "reason": reason} for path, reason in self.collection.failures],
            "namesakes": [{"path": str(path), "first": str(first)} for path, first in self.collection.namesakes],
            "near": [{key: _plain(value) for key, value in row.items()} for row in self.near.to_dict("records")],
            "left_out": list(self.left_out),
            "readings_left_out": self.collection.readings_left_out(),
            "whole_slips": self.collection.whole_slips(),
            "open_ends": {boat.name: list(boat.open_ends) for boat in self.collection if boat.open_ends},
        }

    def blocks(self, width: int) -> list[tuple[list[tuple[str, ...]], set[int]]]:
        """The frame as text: rows of cells in blocks that fit `width`, and which columns are numbers."""
        units = self.frame.attrs["units"]
        names = [str(name) for name in self.frame.index]
        columns = []
        for column in self.frame:
            if column in (*_FACTS_SHOWN, *self.frame.attrs["basis"], "nearest", "distance"):
                cells = [_text(value) for value in self.frame[column]]
                heading = LABELS.get(column, column.replace("_", " "))
                columns.append([heading, units.get(column, ""), *cells])
        blocks: list[list[list[str]]] = []
        block: list[list[str]] = []
        used = 0
        first = ["boat", "", *names]
        for column in columns:
            wide = 2 + max(map(len, column))
            if block and used + wide > width:
                blocks.append(block)
                block = []
            if not block:
                block, used = [first], 2 + max(map(len, first))
            block.append(column)
            used += wide
        blocks.append(block)
        numbers = [c for c in range(max(map(len, blocks)))]
        return [
            (list(zip(*block, strict=True)), {i for i in numbers[1 : len(block)] if _number(block[i])})
            for block in blocks
        ]


def compare(
    paths: Sequence[Path],
    *,
    by: str,
    cache: bool,
    reader: str | None,
    mapping: Path | None = None,
    uncertainty: bool = False,
    output: Path | None = None,
    moulded_to: str | None = None,
    planking: float | None = None,
    leave_out: Sequence[str] = (),
) -> Comparison:
    """Reads, measures (`uncertainty` as for `Collection.measures`) and compares, all brought to one face of the
    planking as `collection` does it, without the boats named in `leave_out`.

    Raises `ScrieveError` where there is nothing to compare, or where `output`, to be written later, is a file read.
    """
    claim(output, *(path for path in [*paths, *([mapping] if mapping else [])] if path.is_file()))
    boats = collection(paths, reader=reader, mapping=mapping, cache=cache, moulded_to=moulded_to, planking=planking)
    claim(output, *(boat.path for boat in boats))
    if not boats.boats:
        reasons = "".join(f"\n{path}: {reason}" for path, reason in boats.failures)
        raise ScrieveError(f"no table to compare in {', '.join(map(str, paths))}{reasons}")
    boats = boats.without(*leave_out)
    if not boats.boats:
        raise ScrieveError("nothing is left to compare: every boat was left out")
    frame = boats.measures(uncertainty=uncertainty)
    attrs = frame.attrs
    shapes = None
    with suppress(ScrieveError):  # where no boat could be faired the failures say why
        shapes = boats.shapes(by)
    if shapes is not None and len(shapes) > 1:
        nearest = {name: shapes.nearest(name, 1) for name in shapes.names}
        frame = frame.assign(
            nearest=[nearest[n].index[0] if n in nearest else None for n in frame.index],
            distance=[PER_MILLE * nearest[n].rms.iloc[0] if n in nearest else None for n in frame.index],
        )
        attrs = attrs | {"units": attrs["units"] | {"distance": "mm/m"}}
    frame.attrs.update(attrs)
    return Comparison(boats, frame, shapes, boats.near(), list(leave_out))


def _plain(value: Any) -> Any:
    return None if value is None or type(value).__name__ == "NAType" or value != value else value


def _number(column: list[str]) -> bool:
    return all(cell == "-" or cell.replace(".", "").lstrip("+-").isdigit() for cell in column[2:])


def _text(value: Any) -> str:
    if type(value).__name__ == "NAType" or value is None or value != value:
        return "-"
    if isinstance(value, float):
        small, large = abs(value) < 1e-3, abs(value) >= 1e4
        return f"{value:.2g}" if small else f"{value:.0f}" if large else f"{value:.4g}"
    return str(value)
