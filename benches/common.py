"""What the benches share: known tables, fresh processes with one thread each, and rows of the report.

Every figure is a ratio of two sides doing the same work in one run, each in its own process. Where each side
has one thread its processor time is compared, which a busy machine does not upset as it does the clock. BLAS
is held to one thread on both sides. OPENBLAS_CORETYPE and OPENBLAS_L2_SIZE are dropped where set: they hold
current NumPy to an older machine's code, which would flatter scrieve.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
SLOWING = ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE")
# Long enough for the slowest side on a busy machine.
PATIENCE_S = 300


def environment() -> dict[str, str]:
    """The environment both sides run in."""
    kept = {key: value for key, value in os.environ.items() if key not in SLOWING}
    return kept | dict.fromkeys(ONE_THREAD, "1") | {"PYTHONPATH": str(ROOT / "benches")}


def row(what: str, scrieve_s: float, other_s: float, other: str, goal: str, memory_mb: float | None = None) -> dict:
    """One line of the report; `memory_mb` is scrieve's peak."""
    line = {
        "what": what,
        "scrieve_s": scrieve_s,
        "other_s": other_s,
        "other": other,
        "ratio": other_s / scrieve_s,
        "goal": goal,
    }
    return line if memory_mb is None else line | {"memory_mb": memory_mb}


@cache
def known_table(family: str, seed: int, stations: int, place: str = "eighth", planking: str | None = None) -> str:
    """The `.offsets` text of a hull known in closed form, with a planking thickness if asked for."""
    words = [family, str(seed), str(stations), place, "Known hull"]
    text = subprocess.run([known_table_example(), *words], cwd=ROOT, check=True, capture_output=True, text=True).stdout
    if planking is None:
        return text
    facts = f'moulded_to = "outside of planking"\nplanking = "{planking}"\n\n[backbone]'
    return text.replace("\n[backbone]", facts, 1)


@cache
def known_table_example() -> str:
    """The example that prints known hulls, built with the whole workspace, as tests are, so that they share a build."""
    build = ["cargo", "build", "--release", "-q", "--workspace", "--example", "known_table", "--message-format=json"]
    said = subprocess.run(build, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    made = [json.loads(line).get("executable") for line in said.splitlines()]
    return next(filter(None, made))


@cache
def known_file(*table: object) -> Path:
    """`known_table` in a temporary file that lasts until the benches end."""
    path = Path(_folder().name) / f"{'-'.join(map(str, table))}.offsets"
    path.write_text(known_table(*table), encoding="utf-8")
    return path


@cache
def _folder() -> tempfile.TemporaryDirectory:
    return tempfile.TemporaryDirectory(prefix="scrieve-bench-")


# What a fresh process does with the two parts it is given.
CHILD = """
import json, sys, time
{imports}
clock, processor = time.perf_counter(), time.process_time()
{work}
took = {{"work_s": time.process_time() - processor, "clock_s": time.perf_counter() - clock}}
took["total_s"] = time.process_time()
from common import peak_mb
print(json.dumps(took | {{"peak_mb": peak_mb()}}))
"""


def fresh(imports: str, work: str, *arguments: object, times: int = 3) -> dict[str, float]:
    """Runs `imports`, then `work`, in fresh processes: medians of work_s, clock_s, total_s and peak_mb.

    `work_s` is the processor's time for `work`, `clock_s` the same by the clock, `total_s` the processor's
    time from starting Python to the end of `work`. `work` prints nothing.
    """
    code = CHILD.format(imports=imports, work=work)
    runs = []
    for _ in range(times):
        command = [sys.executable, "-c", code, *map(str, arguments)]
        out = subprocess.run(command, env=environment(), check=True, stdout=subprocess.PIPE, timeout=PATIENCE_S)
        runs.append(json.loads(out.stdout))
    return {key: statistics.median(run[key] for run in runs) for key in runs[0]}


def peak_mb() -> float:
    """Greatest resident memory of this process so far, MB.

    Linux's own figure for the address space, where there is one: `ru_maxrss` of a process begins at that of
    the process it was started from.
    """
    try:
        status = Path("/proc/self/status").read_text()
        return int(status.partition("VmHWM:")[2].split()[0]) * 1024 / 1e6
    except OSError:
        import resource

        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        return peak / 1e6 if sys.platform == "darwin" else peak * 1024 / 1e6
