"""A small reader of `.offsets` files, as a script would have it: `re` and `fractions`, little checking.

It reads what the benches and tests feed it: feet, inches and eighths, millimetres, metres or inches, at
full size, with a flat transom. It stands for a script's first step and shares no code with scrieve.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

try:
    import tomllib
except ModuleNotFoundError:  # Python 3.10
    import tomli as tomllib

MM = {"mm": Fraction(1), "m": Fraction(1000), "in": Fraction(254, 10)}
EIGHTH_MM = Fraction(254, 80)
# What one unwritten place of a decimal reading is worth, mm.
DECIMAL_PLACE_MM = Fraction(254, 1280)
# A doubted reading (`?`) counts as this many times less certain.
DOUBT = 3.0
# A held reading (`!`) counts as this much of its ordinary uncertainty.
HOLD = 0.1

# What stands for no reading.
MISSING = ("-", "x")

FEET = re.compile(r"(-?)(\d+)-(\d+)-(\d+)([+-]?)")
DECIMAL = re.compile(r"(-?\d+(?:\.\d+)?)\s*(mm|m|in)?")
BLOCK = re.compile(r"\[([a-z -]+)\]")


@dataclass
class Survey:
    """A table in metres: the reference lines, the spots between them, and where its grid lies.

    `rabbet` and `sheer` have one line a column that gives them, the transom's included: x, y, z, sd.
    `direction` is the unit direction (y, z) along which a spot was measured; (0, 0) where both y and z
    were. `stem` and `stern` are x and z; `diagonals` height on the centreline and unit direction; `transom`
    x and z of its foot and how far aft it goes for each metre up.
    """

    name: str
    half_siding: float
    planking: float
    stations: dict[str, float]
    rabbet: np.ndarray
    sheer: np.ndarray
    x: np.ndarray
    y: np.ndarray
    z: np.ndarray
    direction: np.ndarray
    sd: np.ndarray
    stem: np.ndarray
    stern: np.ndarray
    waterlines: list[float]
    buttocks: list[float]
    diagonals: dict[str, tuple[float, float, float]]
    transom: tuple[float, float, float] | None
    spot_names: list[tuple[str, str]]


def millimetres(text: str, units: str = "feet-inches-eighths", plus: Fraction = Fraction(1, 2)) -> Fraction:
    """A reading in mm, exactly; `plus` is what `+` and `-` are worth, in eighths."""
    if match := FEET.fullmatch(text):
        sign, feet, inches, eighths, strong = match.groups()
        count = Fraction(96 * int(feet) + 8 * int(inches) + int(eighths))
        count += {"+": plus, "-": -plus, "": 0}[strong]
        return (-1 if sign else 1) * count * EIGHTH_MM
    if match := DECIMAL.fullmatch(text):
        return Fraction(match[1]) * MM[match[2] or units]
    raise ValueError(f"not a reading: {text!r}")


def read(path: str | Path) -> Survey:
    """The survey in an `.offsets` file."""
    _, head, body = Path(path).read_text(encoding="utf-8-sig").split("+++", 2)
    facts = tomllib.loads(head)
    if facts.get("scale", "1:1") != "1:1":
        raise ValueError("only tables at full size are read here")
    units = facts.get("units", "feet-inches-eighths")
    plus = 8 * Fraction(facts.get("plus", "1/16"))
    blocks: dict[str, list[tuple[str, list[str]]]] = {"": []}
    block = ""
    for line in body.splitlines():
        line = line.partition("#")[0].strip()
        if match := BLOCK.fullmatch(line):
            block = match[1]
            blocks[block] = []
        elif "|" in line:
            label, *cells = line.split("|")
            blocks[block].append((label.strip(), " ".join(cells).split()))

    def metres(text: str) -> float:
        return float(millimetres(text.rstrip("?!"), units, plus) / 1000)

    def fact(text: str | None) -> float:
        return metres(text) if text else 0.0

    written = [cell for b in blocks if b != "corrections" for _, cells in blocks[b] for cell in cells]
    place_mm = _place(written, units, plus)
    sd = float(fact(facts["tolerance"]) / 3**0.5 if "tolerance" in facts else place_mm / 1000 / 12**0.5)

    def worth(cell: str) -> float:
        return sd * (DOUBT if cell.endswith("?") else HOLD if cell.endswith("!") else 1.0)

    top = dict(blocks[""])
    names, places = top["station"], top["from stem"]
    transom = None
    if "transom" in facts:
        foot, end = facts["transom"]["foot"], facts["transom"]["head"]
        (x0, z0), (x1, z1) = ((metres(p["from_stem"]), metres(p["height"])) for p in (foot, end))
        transom = (x0, z0, (x1 - x0) / (z1 - z0))
    xs = [None if place in MISSING else metres(place) for place in places]

    def plane(column: int, z: float) -> float:
        if xs[column] is not None:
            return xs[column]
        x0, z0, rake = transom
        return x0 + (z - z0) * rake

    half_siding = fact(facts.get("backbone", {}).get("half_siding"))
    heights, breadths = dict(blocks.get("heights", [])), dict(blocks.get("half-breadths", []))
    rabbet, sheer = [], []
    for i, cell in enumerate(heights.get("rabbet", [])):
        if cell not in MISSING:
            z = metres(cell)
            rabbet.append((plane(i, z), half_siding, z, worth(cell)))
    for i, (up, out) in enumerate(zip(heights["sheer"], breadths["sheer"], strict=True)):
        if up not in MISSING and out not in MISSING:
            z = metres(up)
            sheer.append((plane(i, z), metres(out), z, max(worth(up), worth(out))))

    spots, spot_names = [], []
    waterlines, buttocks, diagonals = [], [], {}

    def add(column: int, label: str, y: float, z: float, direction: tuple[float, float], cell: str) -> None:
        spots.append((plane(column, z), y, z, *direction, worth(cell)))
        spot_names.append((names[column], label))

    for label, cells in blocks.get("heights", []):
        if label.startswith("buttock"):
            buttocks.append(y := metres(label.split()[1]))
            for i, cell in enumerate(cells):
                if cell not in MISSING:
                    add(i, label, y, metres(cell), (0.0, 1.0), cell)
    for label, cells in blocks.get("half-breadths", []):
        if label.startswith("waterline"):
            waterlines.append(z := metres(label.split()[1]))
            for i, cell in enumerate(cells):
                if cell not in MISSING:
                    add(i, label, metres(cell), z, (1.0, 0.0), cell)
    for label, cells in blocks.get("diagonals", []):
        plan = facts["diagonal"][label]
        start = metres(plan["centreline_height"])
        out, up = metres(plan["through"]["half_breadth"]), metres(plan["through"]["height"]) - start
        out, up = out / np.hypot(out, up), up / np.hypot(out, up)
        diagonals[label] = start, out, up
        for i, cell in enumerate(cells):
            if cell not in MISSING:
                d = metres(cell)
                add(i, label, d * out, start + d * up, (out, up), cell)
    for label, (z, y) in blocks.get("points", [])[1:]:
        add(names.index(label), "point", metres(y), metres(z), (0.0, 0.0), y)

    def profile(name: str) -> np.ndarray:
        rows = dict(blocks.get(name, []))
        return np.array([[metres(c) for c in rows.get(key, [])] for key in ("from stem", "height")]).reshape(2, -1).T

    table = np.array(spots)
    return Survey(
        name=facts["name"],
        half_siding=half_siding,
        planking=fact(facts.get("planking")) if "outside" in facts.get("moulded_to", "outside") else 0.0,
        stations={name: x for name, x in zip(names, xs, strict=True) if x is not None},
        rabbet=np.array(rabbet),
        sheer=np.array(sheer),
        x=table[:, 0],
        y=table[:, 1],
        z=table[:, 2],
        direction=table[:, 3:5],
        sd=table[:, 5],
        stem=profile("stem profile"),
        stern=profile("stern profile"),
        waterlines=waterlines,
        buttocks=buttocks,
        diagonals=diagonals,
        transom=transom,
        spot_names=spot_names,
    )


def _place(written: list[str], units: str, plus: Fraction) -> Fraction:
    """Spacing of the readings, mm: the eighth, or what `+` is worth where any reading has it."""
    feet = [match for cell in written if (match := FEET.fullmatch(cell.rstrip("?!")))]
    if not feet:
        return DECIMAL_PLACE_MM
    return EIGHTH_MM * (plus if any(match[5] for match in feet) else 1)
