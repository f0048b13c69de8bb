"""Fairing a table of 13 stations by 12 rows: scrieve against the same method in NumPy and SciPy.

Also fairing again after one reading has changed, and a hundred tables on one thread and on two. Each side
runs in a process of its own, reading and imports left out; a first fit, which also warms up, is not counted.
"""

from __future__ import annotations

from common import fresh, known_file, row

TABLE = ("round-bilge", 1, 13)
GOAL = 10
FITS = 10
# Tables in all, and the hulls they are of.
MANY, HULLS = 100, 10

SCRIEVE = "import scrieve\ntable = scrieve.read(sys.argv[1])\ntable.fair()"
SCRIPT = """
import reference_fairing, reference_offsets
survey = reference_offsets.read(sys.argv[1])
reference_fairing.fair_survey(survey)
"""
# One sixteenth more at a spot amidships, faired from the hull before.
BEFORE = "\nhull = table.fair()\nmore = str(table.reading('7', 'waterline 1-5-0')) + '+'"
AGAIN = "again = table.with_reading('7', 'waterline 1-5-0', more).fair(previous=hull)"
AGAIN_GOAL_MS = 2
MANY_TABLES = f"""
from concurrent.futures import ThreadPoolExecutor
tables = [scrieve.read(path) for path in sys.argv[2:]] * {MANY // HULLS}
"""


def run() -> list[dict]:
    """Rows of the report."""
    path = known_file(*TABLE)
    script = fresh(SCRIPT, f"for _ in range({FITS}): reference_fairing.fair_survey(survey)", path)
    once = fresh(SCRIEVE, f"for _ in range({FITS}): table.fair()", path)
    again = fresh(SCRIEVE + BEFORE, f"for _ in range({10 * FITS}): {AGAIN}", path)
    proofed = fresh(SCRIEVE, f"for _ in range({FITS}): table.proof()", path)
    script_s = script["work_s"] / FITS
    threads = {
        n: fresh(
            SCRIEVE + MANY_TABLES,
            f"with ThreadPoolExecutor({n}) as pool: list(pool.map(lambda table: table.fair(), tables))",
            path,
            *(known_file("round-bilge", seed, 13) for seed in range(HULLS)),
            times=1,
        )
        for n in (1, 2)
    }
    other, goal = "NumPy and SciPy", f"{GOAL} times"
    return [
        row("fairing a table", once["work_s"] / FITS, script_s, other, goal, once["peak_mb"]),
        row("again, one reading changed", again["work_s"] / (10 * FITS), script_s, other, f"{AGAIN_GOAL_MS} ms"),
        # The script's own fit looks for slips too, without telling what they may have been.
        row("proofreading a table", proofed["work_s"] / FITS, script_s, "one fit by the script", "-"),
        row(
            f"{MANY} tables, one thread",
            threads[1]["work_s"],
            MANY * script_s,
            f"{other}, {MANY} times one",
            goal,
        ),
        row(
            f"{MANY} tables, two threads",
            threads[2]["clock_s"],
            threads[1]["clock_s"],
            "one thread, by the clock",
            "-",
        ),
    ]
