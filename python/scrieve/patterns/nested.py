"""A boat's parts on sheets, in a folder: a file a sheet, lists of sheets and parts, and a page to begin with."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from .. import files
from .._core import merge_drawings
from ..errors import DrawingError, error
from ..tables import measured, write_csv
from .nest import Nest, nest
from .shop import NEST, Choices, nest_options

if TYPE_CHECKING:
    from .job import Making

# Between sheets that are looked at side by side, mm.
_APART_MM = 100.0


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


def lay(making: Making, folder: Path, writer: str = "dxf") -> list[Path]:
    """Lays what the patterns drew, as far as it was chosen, on the sheets that were chosen, and writes them: the files.

    Raises `DrawingError` where they cannot be laid, `ScrieveError` where a file cannot be written.
    """
    chosen = making.choices.of_pattern(NEST)
    options = {name: value for name, value in chosen.items() if name not in ("sheet", "patterns")}
    cutter, gap = making.choices.value("cutter"), options.get("gap")
    got = gap if gap is not None else nest_options()["gap"].default
    if cutter is not None and got < cutter:
        raise error(
            DrawingError, f"parts {1e3 * got:g} mm apart leave no way for a cutter of {1e3 * cutter:g} mm",
            where="gap", remedy="a gap of the cutter's diameter or more",
        )  # fmt: skip
    names = wanted(making.choices)
    missing = [name for name in names or () if name not in making.drew]
    if missing:
        raise error(
            DrawingError, f"nothing is drawn by {', '.join(missing)}, whose parts are to be laid", where="patterns",
            remedy=f"patterns that drew: {', '.join(making.drew)}",
        )  # fmt: skip
    drew = [drawn for name, (sheets, drawn) in making.drew.items() if (sheets if names is None else name in names)]
    laid = nest(
        [drawing for drawings in drew for drawing in drawings],
        stock_told(making.choices),
        boat=making.hull.name,
        **options,
    )
    return _write(making, laid, folder, writer)


def _write(making: Making, laid: Nest, folder: Path, writer: str) -> list[Path]:
    folder.mkdir(parents=True, exist_ok=True)
    written: list[Path] = []
    for sheet in laid.sheets:
        path = folder / f"{files.plain_name(sheet.name)}.{writer}"
        written += files.write(sheet, path, writer, **files.options_of(path, making.choices.of_writers(), writer))
        row = laid.stock[laid.stock.sheet == sheet.name].iloc[0]
        said = f"{sheet.title}: {row.parts} parts, {row.used:.0f} % of it used."
        making.shown.figures.append((said, sheet))
    if laid.sheets:
        written += files.write(merge_drawings(laid.sheets, _APART_MM), folder / "sheets.svg", "svg")
    for name, table, heading in (("sheets", laid.stock, "Sheets"), ("parts", laid.placed, "Parts on the sheets")):
        written += write_csv(folder / f"{name}.csv", measured(table))
        making.shown.tables.append((heading, measured(table)))
    return written
