"""Tables that go with drawings: each length as a reading and in millimetres, angles in degrees; and their CSV."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ._core import Reading
from .outputs import replace

if TYPE_CHECKING:
    pass


# Columns in reciprocal metres.
CURVATURES = ("greatest_curvature", "curvature")

# Columns of tables that are no lengths.
ANGLES = (
    "bevel", "in_the_wood", "garboard", "bottom_bevel", "plank_angle", "in_plan", "inboard_in_plan", "flare",
    "level_bevel", "cut_on_face", "cut_on_edge", "cut_on_side", "round", "from_level", "side_angle",
    "arms_at",
)  # fmt: skip


def measured(frame: Any) -> Any:
    """The frame with each length in metres as a reading and in millimetres, and angles in degrees, named so."""
    import pandas

    columns = {}
    # Which piece, station or end a row is of stands first.
    named = [name for name in frame if frame[name].dtype.kind not in "fb"]
    for name in [*named, *(name for name in frame if name not in named)]:
        values, said = frame[name], str(name).replace("_", " ")
        if name in ANGLES:
            columns[f"{said}, degrees"] = values.round(2)
        elif name in CURVATURES:
            columns[f"{said}, 1/m"] = values.round(4)
        elif values.dtype.kind == "f":
            columns[said] = [_reading(v) for v in values]
            columns[f"{said}, mm"] = (1e3 * values).round(2)
        else:
            columns[said] = values
    return pandas.DataFrame(columns)


def _reading(metres: float) -> str:
    """Empty for what is wanting."""
    return "" if metres != metres else Reading(f"{1e3 * metres:.4f} mm").to("feet-inches-eighths")


def in_mm(frame: Any) -> Any:
    """The frame with each length in metres in millimetres, and named so."""
    columns = {}
    for name, values in frame.items():
        said = str(name).replace("_", " ")
        if name in CURVATURES:
            columns[f"{said}, 1/m"] = values
        elif values.dtype.kind == "f":
            columns[f"{said}, mm"] = (1e3 * values).round(3)
        else:
            columns[said] = values
    return type(frame)(columns)


# What a spreadsheet takes for the beginning of a formula; a number or a reading may begin so too.
FORMULA = re.compile(r"[=@\t\r]|[+-](?![\d.]+(-\d+)*(\.\d+)?(e[+-]?\d+)?[+-]?$)")


def csv_text(frame: Any, numbers: str | None = "%.6g") -> str:
    """The frame as CSV, `numbers` written so. Text that a spreadsheet would run as a formula gets an apostrophe."""
    plain = frame.copy()
    for i, name in enumerate(frame.columns):
        if frame.dtypes.iloc[i].kind not in "biufc":
            plain.isetitem(i, frame.iloc[:, i].map(_no_formula))
        if _no_formula(name) != name:
            plain = plain.rename(columns={name: _no_formula(name)})
    text = io.StringIO()
    plain.to_csv(text, index=False, float_format=numbers, quoting=csv.QUOTE_MINIMAL, lineterminator="\n")
    # The name of a file may hold what no encoding has.
    return text.getvalue().encode("utf-8", "backslashreplace").decode()


def _no_formula(cell: Any) -> Any:
    return f"'{cell}" if isinstance(cell, str) and FORMULA.match(cell) else cell


def write_csv(path: Path, frame: Any) -> list[Path]:
    """Writes the frame, making its folder."""
    path.parent.mkdir(parents=True, exist_ok=True)
    replace(path, csv_text(frame).encode())
    return [path]
