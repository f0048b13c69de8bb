"""How soon a command answers: `scrieve --help` and `import scrieve` beside Python doing nothing.

The processor's time is given, files being in memory after a first start: on an idle machine the clock shows
the same, and on a busy one the goals of 0.25 s and 0.15 s still mean something.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
from pathlib import Path

from common import environment, row

TIMES = 7
HELP_GOAL_S, IMPORT_GOAL_S = 0.25, 0.15
# Heavy packages that starting must not wait for.
HEAVY = ("matplotlib", "numpy", "pandas")


def run() -> list[dict]:
    """Rows of the report; fails where `import scrieve` loads what it must not."""
    loaded = f"import sys, scrieve; print(*sorted(set({HEAVY}) & set(sys.modules)))"
    found = subprocess.run(
        [sys.executable, "-c", loaded], env=environment(), check=True, capture_output=True, text=True
    )
    if found.stdout.strip():
        raise RuntimeError(f"import scrieve loads {found.stdout.strip()}")
    commands = {
        "help": [Path(sys.executable).with_name("scrieve"), "--help"],
        "import": [sys.executable, "-c", "import scrieve"],
        "nothing": [sys.executable, "-c", "pass"],
        "pandas": [sys.executable, "-c", "import pandas"],
    }
    took = {n: statistics.median(_start_s(words) for _ in range(TIMES)) for n, words in commands.items()}
    return [
        row(what, took[ours], took[other], said, f"{goal_s} s")
        for what, ours, goal_s in (
            ("scrieve --help", "help", HELP_GOAL_S),
            ("import scrieve", "import", IMPORT_GOAL_S),
        )
        for other, said in (("nothing", "python -c pass"), ("pandas", "python -c 'import pandas'"))
    ]


def _start_s(words: list) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(words, env=environment(), check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
