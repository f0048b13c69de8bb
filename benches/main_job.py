"""One table to moulds in DXF: scrieve against a script of NumPy, SciPy, shapely and ezdxf doing the same.

Both read the same table of 13 stations, fair it, deduct the planking square to the surface in space, and
write one R2000 file for every station, with both halves of the mould, its limb, and its grid marks. Goal: 10
times faster, and scrieve's peak memory under 150 MB.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from common import fresh, known_file, row

TABLE = ("raked-transom", 1, 13, "eighth", "0-0-4")
GOAL, GOAL_MB = 10, 150

SCRIEVE = (
    "from scrieve import read, write, writers\nfrom scrieve.hull import hull\nfrom scrieve.table import readers",
    "hull = read(sys.argv[1]).fair()\nwrite(hull.moulds(), sys.argv[2], writer='dxf')",
)
SCRIPT = (
    "from pathlib import Path\nfrom reference_loft import loft",
    "loft(Path(sys.argv[1]), Path(sys.argv[2]))",
)


def run() -> list[dict]:
    """Rows of the report; fails where the two do not write a mould for every station."""
    table = known_file(*TABLE)
    sides = {}
    for name, (imports, work) in {"scrieve": SCRIEVE, "script": SCRIPT}.items():
        with tempfile.TemporaryDirectory() as folder:
            sides[name] = fresh(imports, work, table, folder)
            moulds = len(list(Path(folder).glob("*.dxf")))
        if moulds != TABLE[2]:
            raise RuntimeError(f"{name} wrote {moulds} moulds for {TABLE[2]} stations")
    ours, theirs = sides["scrieve"], sides["script"]
    other = f"script, {theirs['peak_mb']:.0f} MB"
    goal, memory = f"{GOAL} times, {GOAL_MB} MB", ours["peak_mb"]
    return [
        row("table to moulds in DXF, imports left out", ours["work_s"], theirs["work_s"], other, goal, memory),
        row("the same, Python's start and imports in", ours["total_s"], theirs["total_s"], other, goal, memory),
    ]
