"""How soon a command answers: `scrieve --help` and `import scrieve` beside Python doing nothing.

The goals, 0.25 s and 0.15 s, are for an idle machine; the ratios hold on any.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from common import environment, median_s, row

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
    took = {name: median_s(lambda words=words: _start(words), TIMES) for name, words in commands.items()}
    return [
        row(what, took[ours], took[other], said, f"{goal_s} s")
        for what, ours, goal_s in (
            ("scrieve --help", "help", HELP_GOAL_S),
            ("import scrieve", "import", IMPORT_GOAL_S),
        )
        for other, said in (("nothing", "python -c pass"), ("pandas", "python -c 'import pandas'"))
    ]


def _start(words: list) -> None:
    subprocess.run(words, env=environment(), check=True, stdout=subprocess.DEVNULL)
