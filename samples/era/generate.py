"""Makes the two dozen tables of this folder: invented boats of an invented shore, with a known drift.

    python samples/era/generate.py

Over forty years the boats grow narrower for their length, their transoms rake more, and their bows grow
hollower: straight lines with the year, and scatter about them. What was put into each boat, in closed form,
is written beside the tables as `put-in.json`, so that an analysis of the tables can be held against it. Needs
Rust: the hulls are those of `rust/fairing/src/known.rs`.
"""

from __future__ import annotations

import json
import math
import random
import re
import subprocess
from pathlib import Path

HERE = Path(__file__).resolve().parent
SEED = 1880
STATIONS = 11
FIRST_YEAR, LAST_YEAR, BOATS = 1880, 1920, 24

# At the first year, change a year, and scatter (standard deviation) of each proportion.
DRIFT = {
    "beam_length": (0.350, -0.0010, 0.006),
    "transom_rake": (8.0, 0.30, 1.8),  # degrees
    "entry": (3.2, -0.040, 0.15),  # slope of the plan form at the stem; below about 2.7 it is hollow
}
LENGTH_M = (4.4, 5.5)
# Every third boat is a half model to this scale, read to the sixteenth; the rest are read to the eighth.
SCALE = 8

# What the builders call their boats and where they work. All invented.
BUILDERS = [
    ("E. Marlow", "Withy Staithe, the Saltings shore"),
    ("J. Tranter", "Gullsand, the Saltings shore"),
    ("the Sisters Oake", "Eelpool, the Saltings shore"),
    ("J. Tranter", "Marram, the Saltings shore"),
]
NAMES = [
    "Petrel's Egg", "Turnstone", "Marsh Samphire", "Little Auk", "Kittiwake's Due", "Brent", "Sea Lavender",
    "Knot", "Old Dunlin", "Whimbrel", "Sandwort", "Cockle Strand", "Glasswort", "Redshank", "Ebb Tide Annie",
    "Sea Aster", "Plover's Lease", "Godwit", "Winkle", "Stilt", "Sanderling Bank", "Avocet's Neck",
    "Curlew Call", "Thrift",
]  # fmt: skip


def main() -> None:
    chance = random.Random(SEED)
    drift = {name: {"at_first": a, "a_year": b, "scatter": s} for name, (a, b, s) in DRIFT.items()}
    put_in: dict = {"drift": drift, "boats": {}}
    for i, name in enumerate(NAMES):
        year = FIRST_YEAR + round(i * (LAST_YEAR - FIRST_YEAR) / (BOATS - 1))
        wanted = {
            key: at + slope * (year - FIRST_YEAR) + chance.gauss(0, scatter)
            for key, (at, slope, scatter) in DRIFT.items()
        }
        length = chance.uniform(*LENGTH_M)
        builder, place = BUILDERS[chance.randrange(len(BUILDERS))]
        model = i % 3 == 1
        text, figures = table(100 + i, name, length, wanted, SCALE if model else None)
        path = HERE / f"{year}-{name.lower().replace(' ', '-').replace(chr(39), '')}.offsets"
        path.write_text(furnished(text, name, builder, place, year, figures, model), encoding="utf-8")
        figures.pop("half_siding")
        put_in["boats"][name] = {"year": year, **figures}
    text = json.dumps(put_in, indent=1, ensure_ascii=False) + "\n"
    (HERE / "put-in.json").write_text(text, encoding="utf-8")


def table(seed: int, name: str, length: float, wanted: dict, model: int | None) -> tuple[str, dict]:
    """The table of a boat `length` metres over all, and her figures in closed form."""
    rake = math.tan(math.radians(wanted["transom_rake"]))
    to_foot = length
    for _ in range(4):  # the overhang of the transom is known once she is drawn
        beam = wanted["beam_length"] * length
        words = [seed, STATIONS, name, to_foot, beam, rake, wanted["entry"], *([model] if model else [])]
        command = ["cargo", "run", "--release", "-q", "-p", "scrieve-fairing", "--example", "era_table", "--"]
        done = subprocess.run(command + list(map(str, words)), cwd=HERE, check=True, capture_output=True, text=True)
        first, _, text = done.stdout.partition("\n")
        figures = json.loads(first.removeprefix("# "))
        to_foot += length - figures["length"]
    return text, {key: round(value, 6) for key, value in figures.items()}


def furnished(text: str, name: str, builder: str, place: str, year: int, figures: dict, model: bool) -> str:
    """The table with the facts a museum would have: who, where, when, her load waterline and her sail."""
    length = figures["length"]
    afloat = 0.17 * figures["beam_length"] * length + 0.08

    def reading(m: float) -> str:
        eighths = round(m / 0.0254 * 8)
        return f"{eighths // 96}-{eighths // 8 % 12}-{eighths % 8}"

    corners = [(0.3, 0.75), (0.95, 0.8), (0.78, 1.35), (0.33, 1.15)]
    sail = ", ".join(f'["{reading(x * length)}", "{reading(z * length)}"]' for x, z in corners)
    kind = "half model of a beach boat (invented)" if model else "beach boat (invented)"
    facts = [
        f'builder = "{builder}"',
        f'place = "{place}"',
        f"year = {year}",
        f'kind = "{kind}"',
        *([f'scale = "1:{SCALE}"'] if model else []),
        'moulded_to = "inside of planking"',
        f'load_waterline = "{reading(afloat / (SCALE if model else 1))}"',
    ]
    units = 'units = "feet-inches-eighths"\n'
    # Sails and half-siding are given at the boat's own size whatever the scale.
    text = re.sub('half_siding = ".*"', f'half_siding = "{reading(figures["half_siding"])}"', text, count=1)
    text = text.replace(units, units + "\n".join(facts) + "\n", 1)
    text = text.replace("\n[backbone]", f"\n[sail.lug]\ncorners = [{sail}]\n\n[backbone]", 1)
    heading = (
        f"# {name}. Invented: there is no such boat, builder or shore. One of two dozen with a known drift\n"
        "# over forty years, made by generate.py beside this file.\n"
    )
    return heading + text


if __name__ == "__main__":
    main()
