"""A boat's parts on sheets, in a folder: a file a sheet, lists of sheets and parts, and what a page shows of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .. import files
from .._core import Drawing, merge_drawings
from ..errors import DrawingError, error
from ..tables import measured, write_csv
from .nest import nest
from .run import title_of
from .shop import NEST, Choices, nest_options

if TYPE_CHECKING:
    from ..hull.hull import Hull

# Between sheets that are looked at side by side, mm.
_APART_MM = 100.0


@dataclass
class Laid:
    """What was written, and what a page shows of it: drawings under captions, tables under headings."""

    files: list[Path] = field(default_factory=list)
    figures: list[tuple[str, Drawing]] = field(default_factory=list)
    tables: list[tuple[str, Any]] = field(default_factory=list)


def stock_told(choices: Choices) -> list[str]:
    """The sheets that were chosen. Raises `DrawingError` where none were."""
    told = choices.of_pattern(NEST).get("sheet") or ""
    sheets = [one.strip() for one in told.split(",") if one.strip()]
    if not sheets:
        raise error(
            DrawingError, "no sheet is told of, to lay parts on", where="sheet",
            remedy='such as --sheet "2440mm x 1220mm", or sheet in [shop.nest] of the table or [nest] of shop.toml',
        )  # fmt: skip
    return sheets


def wanted(choices: Choices) -> list[str] | None:
    """The patterns whose parts are to be laid; None: of all that are got out of sheets."""
    said = choices.of_pattern(NEST).get("patterns")
    return None if said is None else [name.strip() for name in said.split(",") if name.strip()]


def lay(
    hull: Hull, drew: Mapping[str, tuple[bool, list[Drawing]]], choices: Choices, folder: Path, writer: str = "dxf"
) -> Laid:
    """Lays what each pattern drew (and whether that is got out of sheets), as far as it was chosen, on the sheets that
    were chosen, and writes them into `folder`.

    Raises `DrawingError` where they cannot be laid, `ScrieveError` where a file cannot be written.
    """
    chosen = choices.of_pattern(NEST)
    options = {name: value for name, value in chosen.items() if name not in ("sheet", "patterns")}
    cutter, gap = choices.value("cutter"), options.get("gap", nest_options()["gap"].default)
    if cutter is not None and gap < cutter:
        raise error(
            DrawingError, f"parts {1e3 * gap:g} mm apart leave no way for a cutter of {1e3 * cutter:g} mm",
            where="gap", remedy="a gap of the cutter's diameter or more",
        )  # fmt: skip
    names = wanted(choices)
    missing = [name for name in names or () if name not in drew]
    if missing:
        raise error(
            DrawingError, f"nothing is drawn by {', '.join(missing)}, whose parts are to be laid", where="patterns",
            remedy=f"patterns that drew: {', '.join(drew)}",
        )  # fmt: skip
    some = [drawn for name, (sheets, drawn) in drew.items() if (sheets if names is None else name in names)]
    parts = [drawing for drawings in some for drawing in drawings]
    laid, done = nest(parts, stock_told(choices), boat=hull.name, **options), Laid()
    folder.mkdir(parents=True, exist_ok=True)
    for sheet in laid.sheets:
        row = laid.stock[laid.stock.sheet == sheet.name].iloc[0]
        size = " x ".join(f"{1e3 * side:.6g}" for side in (row.length, row.width, row.thickness))
        sheet.title_box = title_of(hull, f"SHEET  {sheet.title}, {row.parts} parts", f"{size} mm")
        path = folder / f"{files.plain_name(sheet.name)}.{writer}"
        done.files += files.write(sheet, path, writer, **files.options_of(path, choices.of_writers(), writer))
        done.figures.append((f"{sheet.title}: {row.parts} parts, {row.used:.0f} % of it used.", sheet))
    if laid.sheets:
        done.files += files.write(merge_drawings(laid.sheets, _APART_MM), folder / "sheets.svg", "svg")
    for name, table, heading in (("sheets", laid.stock, "Sheets"), ("parts", laid.placed, "Parts on the sheets")):
        done.files += write_csv(folder / f"{name}.csv", measured(table))
        done.tables.append((heading, measured(table)))
    return done
