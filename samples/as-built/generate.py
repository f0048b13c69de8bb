"""Makes the tables of this folder: one invented boat of each kind of end, bottom and section that is built.

    python samples/as-built/generate.py

Every table is that of a hull known in closed form, so that whatever is made of it can be held against her true
shape: kind, seed and stations are named in the file, the formulas stand in `rust/fairing/src/known/as_built.rs`.
Needs Rust.
"""

from __future__ import annotations

import re
import subprocess
import textwrap
from pathlib import Path

HERE = Path(__file__).resolve().parent

# Name, kind in the yardstick, seed, stations, place of the readings, what she is, year, builder. All invented.
BOATS = [
    ("Ringed Plover", "rounded-stem", 41, 9, "eighth", "beach boat with a rounded forefoot", 1897, "E. Marlow"),
    ("Oystercatcher", "rounded-double-ender", 42, 11, "eighth", "double-ended drifter", 1889, "J. Tranter"),
    ("Dotterel", "plumb-stem", 43, 10, "eighth", "smack's boat, plumb at both ends", 1901, "J. Tranter"),
    ("Shelduck", "cutaway", 44, 11, "sixteenth", "day boat with a cutaway forefoot", 1912, "the Sisters Oake"),
    ("Whooper", "spoon-bow", 45, 11, "eighth", "yawl with a spoon bow", 1909, "the Sisters Oake"),
    ("Phalarope", "clipper-bow", 46, 11, "eighth", "ketch with a clipper bow", 1886, "J. Tranter"),
    ("Greylag", "post-under-transom", 47, 12, "eighth", "pilot cutter, post under a raked transom", 1892, "J. Tranter"),
    ("Wagtail", "wineglass", 48, 9, "sixteenth", "dinghy with a wineglass transom", 1915, "the Sisters Oake"),
    ("Teal", "tuck", 49, 9, "eighth", "pulling boat with a tuck stern", 1903, "E. Marlow"),
    ("Tern's Rest", "counter", 50, 12, "eighth", "cutter with a counter", 1899, "the Sisters Oake"),
    ("Wigeon", "canoe-stern", 51, 11, "eighth", "yawl with a canoe stern", 1907, "the Sisters Oake"),
    ("Eider", "cruiser-stern", 52, 11, "eighth", "motor fishing boat with a cruiser stern", 1929, "J. Tranter"),
    ("Spoonbill", "scow", 53, 9, "eighth", "scow", 1911, "the Sisters Oake"),
    ("Moorhen", "pram", 54, 8, "eighth", "pram", 1922, "E. Marlow"),
    ("Bittern", "flat-bottom", 55, 8, "mm", "flat-bottomed skiff", 1933, "E. Marlow"),
    ("Garganey", "multi-chine", 56, 9, "eighth", "day boat with chine and knuckle", 1936, "the Sisters Oake"),
    ("Pochard", "tumblehome", 57, 9, "eighth", "ship's boat with tumblehome", 1884, "J. Tranter"),
    ("Smew", "reverse", 58, 9, "eighth", "gig with reverse in her sections", 1888, "E. Marlow"),
    ("Grebe", "ellipse", 59, 9, "mm", "lugger, the same at both ends", 1906, "the Sisters Oake"),
    ("Goldeneye", "curved-transom", 60, 9, "eighth", "launch's tender with a curved transom", 1913, "the Sisters Oake"),
    ("Scaup", "wide-keel", 61, 9, "eighth", "beach boat on a wide keel", 1895, "E. Marlow"),
]  # fmt: skip
PLACES = {
    "E. Marlow": "Withy Staithe, the Saltings shore",
    "J. Tranter": "Gullsand, the Saltings shore",
    "the Sisters Oake": "Marram, the Saltings shore",
}


def main() -> None:
    for name, kind, seed, stations, place, what, year, builder in BOATS:
        command = ["cargo", "run", "--release", "-q", "-p", "scrieve-fairing", "--example", "known_table", "--"]
        words = ["as-built", kind, str(seed), str(stations), place, name]
        text = subprocess.run(command + words, cwd=HERE, check=True, capture_output=True, text=True).stdout
        facts = [
            f'builder = "{builder}"',
            f'place = "{PLACES[builder]}"',
            f"year = {year}",
            f'kind = "{what} (invented)"',
            'moulded_to = "outside of planking"',
            f'planking = "{planking(text)}"',
        ]
        units = re.search(r"^units = .*\n", text, re.M).group()
        text = text.replace(units, units + "\n".join(facts) + "\n", 1)
        about = (
            f"{name}, {what}. Invented: there is no such boat, builder or shore. Her true shape is known in closed "
            f"form: kind {kind}, seed {seed}, {stations} stations, of rust/fairing/src/known/as_built.rs; written by "
            "generate.py beside this file."
        )
        heading = textwrap.fill(about, 118, initial_indent="# ", subsequent_indent="# ") + "\n"
        file = name.lower().replace(" ", "-").replace("'", "") + ".offsets"
        (HERE / file).write_text(heading + text, encoding="utf-8")


def planking(text: str) -> str:
    """Half an inch on a small boat, an inch on one of more than 22 ft, in the table's own units."""
    last = text.split("from stem", 2)[1].splitlines()[0].split()[-2]
    if 'units = "mm"' in text:
        return "25" if float(last) > 6700 else "12"
    return "0-1-0" if int(last.split("-")[0]) > 22 else "0-0-4"


if __name__ == "__main__":
    main()
