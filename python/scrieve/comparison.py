"""The comparison of a folder of boats as the command line reports it: rows, CSV, and what went wrong."""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ._collection import Collection, collection
from .errors import ScrieveError
from .measures import LABELS
from .outputs import STANDARD, claim, replace
from .tables import csv_text

if TYPE_CHECKING:
    import pandas

    from .gaps import Gap
    from .shapes import Shapes

# Distances are told in millimetres to the metre of length.
PER_MILLE = 1e3

# What a person looks for first; the rest of the facts are in the file.
_FACTS_SHOWN = ("builder", "year")


@dataclass
class Comparison:
    """What came of comparing: `frame`, a row a boat, and the collection it is of."""

    collection: Collection
    frame: pandas.DataFrame
    shapes: Shapes | None

    @property
    def findings(self) -> bool:
        """Whether anything failed or was left out."""
        return bool(self.collection.failures) or any(d.left_out for d in self.collection.duplicates)

    def said(self) -> list[str]:
        """What could not be done and why, a line each."""
        lines = [f"could not do: {path}: {reason}" for path, reason in self.collection.failures]
        for path, first, left_out in self.collection.duplicates:
            alike = "left out: the readings" if left_out else "note: name, builder and year"
            lines.append(f"{path}: {alike} are those of {first}")
        return lines

    def write(self, path: str | os.PathLike[str]) -> None:
        """Writes the frame as CSV, units in the headings; the last column names the numbers assumed."""
        path = Path(path)
        if path != STANDARD and path.suffix.lower() != ".csv":
            raise ScrieveError(f"{path}: the table is written as CSV: name a file that ends in .csv")
        units = self.frame.attrs["units"]
        basis = self.collection.basis()
        assumed = [" ".join(name for name in basis if row[name] == "assumed") for _, row in basis.iterrows()]
        named = self.frame.rename(columns={c: f"{c} ({units[c]})" for c in self.frame if units.get(c)})
        replace(path, csv_text(named.assign(assumed=assumed), None).encode())

    def gap(self, first: str, second: str) -> Gap:
        """Where the second boat is fuller than the first. Raises `ScrieveError` for names not here."""
        if self.shapes is None:
            raise ScrieveError("no shapes to lay over one another: no boat could be faired")
        return self.shapes.gap(first, second)

    def as_data(self, gaps: Sequence[Gap] = ()) -> dict[str, Any]:
        """All of it as plain data."""
        basis = self.collection.basis()
        boats = []
        for name, row in self.frame.iterrows():
            values = {key: _plain(value) for key, value in row.items()}
            boats.append(values | {"basis": {k: b for k, b in basis.loc[name].items() if b}})
        return {
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
            "duplicates": [
                {"path": str(path), "first": str(first), "left_out": left_out}
                for path, first, left_out in self.collection.duplicates
            ],
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
    uncertainty: bool = False,
    output: Path | None = None,
) -> Comparison:
    """Reads, measures (`uncertainty` as for `Collection.measures`) and compares.

    Raises `ScrieveError` where there is nothing to compare, or where `output`, to be written later, is a file read.
    """
    claim(output, *(path for path in paths if path.is_file()))
    boats = collection(paths, reader=reader, cache=cache)
    claim(output, *(boat.path for boat in boats))
    if not boats.boats:
        reasons = "".join(f"\n{path}: {reason}" for path, reason in boats.failures)
        raise ScrieveError(f"no table to compare in {', '.join(map(str, paths))}{reasons}")
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
    return Comparison(boats, frame, shapes)


def _plain(value: Any) -> Any:
    return None if value is None or value != value or type(value).__name__ == "NAType" else value


def _number(column: list[str]) -> bool:
    return all(cell == "-" or cell.replace(".", "").lstrip("+-").isdigit() for cell in column[2:])


def _text(value: Any) -> str:
    if type(value).__name__ == "NAType" or value is None or value != value:
        return "-"
    if isinstance(value, float):
        small, large = abs(value) < 1e-3, abs(value) >= 1e4
        return f"{value:.3f}" if small else f"{value:.0f}" if large else f"{value:.4g}"
    return str(value)
