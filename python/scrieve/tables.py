"""Tables that go with drawings: data frames whose columns know their units, as the shop reads them; and their CSV."""

from __future__ import annotations

import csv
import io
import math
import re
import warnings
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ._core import Reading
from .errors import Note
from .outputs import replace
from .units import heading, in_words, told, unit

if TYPE_CHECKING:
    import pandas

# Of an inch, exact (NIST SP 811, appendix B).
SIXTEENTH_MM = 25.4 / 16
# Columns of our own tables that are numbers and no lengths.
NO_LENGTHS = {
    **dict.fromkeys((
        "bevel", "in_the_wood", "garboard", "bottom_bevel", "plank_angle", "in_plan", "inboard_in_plan", "flare",
        "level_bevel", "cut_on_face", "cut_on_edge", "cut_on_side", "round", "from_level", "side_angle", "arms_at",
    ), "°"),
    **dict.fromkeys(("greatest_curvature", "curvature"), "1/m"),
}  # fmt: skip


def frame(columns: Any, units: Mapping[str, str] | None = None, at_least: Iterable[str] = ()) -> pandas.DataFrame:
    """Columns of the core, or a frame of them, as a frame that knows its units: `units`, where they are given;
    otherwise a number with a point in it is a length unless `NO_LENGTHS` has its name. Lengths of the columns
    `at_least` are sizes of stock, which a shop reads rounded up: a piece of the size it reads holds what is wanted."""
    import pandas

    made = pandas.DataFrame(columns)
    if units is None:
        units = {str(n): NO_LENGTHS.get(str(n), "m") for n in made if made[n].dtype.kind == "f"}
    made.attrs["units"] = dict(units)
    made.attrs["at_least"] = tuple(at_least)
    return made


def measured(frame: Any, metric: bool = False) -> Any:
    """The frame as a shop reads it: each length as a reading and in millimetres, and whatever has a unit named by it.
    Millimetres stand first for a shop whose table is `metric`.

    A number whose unit is not told is left as it is, and a `Note` warns of it: it might be anything.
    """
    import pandas

    units = told(frame)
    untold = [str(name) for name in frame if frame[name].dtype.kind == "f" and name not in units]
    if untold:
        warnings.warn(Note(f"no unit is told of {', '.join(untold)}: written as bare numbers"), stacklevel=2)
    columns: dict[str, Any] = {}
    # Which piece, station or end a row is of stands first.
    named = [name for name in frame if frame[name].dtype.kind not in "fb" and name not in units]
    for name in [*named, *(name for name in frame if name not in named)]:
        values, up = frame[name], name in frame.attrs.get("at_least", ())
        readings: dict[str, Any] = {}
        if unit(units.get(name, "")).dimension == "length":
            readings = {in_words(name): [reading(v, up) for v in values]}
        if name in units:
            numbers = {heading(name, of): _in_shop(values, of, up=up) for of in [unit(units[name])]}
        else:
            numbers = {in_words(name): values}
        columns |= numbers | readings if metric else readings | numbers
    return pandas.DataFrame(columns)


def _in_shop(values: Any, of: Any, places: int | None = None, up: bool = False) -> Any:
    places = of.places if places is None else places
    numbers = values.astype(float) * of.times
    if places is None:
        return numbers
    return numbers.map(lambda number: rounded_up(number, 10.0**-places)).round(places) if up else numbers.round(places)


def rounded_up(number: float, step: float) -> float:
    """The least multiple of the step that is no less than the number, but for what no float can tell from it."""
    return math.ceil(number / step - 1e-6) * step if math.isfinite(number) else number


def reading(metres: float, up: bool = False) -> str:
    """In feet, inches and eighths to the sixteenth, the nearest or the next one `up`; empty for what is wanting."""
    if metres != metres:
        return ""
    mm = rounded_up(1e3 * metres, SIXTEENTH_MM) if up else 1e3 * metres
    return Reading(f"{mm:.4f} mm").to("feet-inches-eighths")


# Places of a millimetre where a table tells how far things are off.
FINE = 3


def in_mm(frame: Any) -> Any:
    """The frame with each length in millimetres, and named so; no readings."""
    units = told(frame)
    columns = {}
    for name, values in frame.items():
        of = unit(units.get(name, ""))
        fine = _in_shop(values, of, FINE) if of.dimension == "length" else values
        columns[heading(name, of)] = fine
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
