"""A thousand tables read, faired and measured: on one thread, on two, by Dask's executor, and from the cache.

The tables are those of the known hulls, each family at many sizes. Every side is a fresh process, timed by the
clock, since sharing the work is what is measured: on two free processors two threads should take little more
than half as long as one. Memory is flat where a thousand tables take little more than a hundred; with Dask's,
the workers' own is not counted. The tables are written anew for each run, and the cache is a folder of its
own.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from common import fresh, known_table, row

FAMILIES = ("round-bilge", "raked-transom", "double-ender", "flared-bow", "firm-bilge")
STATIONS, SEEDS = 11, 4
TABLES, FEW = 1000, 100
# Tables of one hull differ in size by this part.
STEP = 0.002

IMPORTS = """
import scrieve, scrieve.compare.collection, scrieve.compare.shapes, scrieve.hull.floating, pandas, numpy, os
from concurrent.futures import ThreadPoolExecutor
"""
DASK = """
import logging
from distributed import Client, LocalCluster
cluster = LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=logging.ERROR)
executor = Client(cluster).get_executor()
# So that starting Python in the workers is not counted.
list(executor.map(__import__, ["scrieve.compare.shapes"] * 8))
"""
WORK = """
boats = scrieve.collection(sys.argv[1], cache={cache})
frame = boats.measures({executor})
if len(frame) != int(sys.argv[2]) or frame.beam.isna().any():
    sys.exit(f"{{len(frame)}} boats, {{boats.failures[:3]}}")
"""


def run() -> list[dict]:
    """Rows of the report; fails where a boat was not measured."""
    with tempfile.TemporaryDirectory(prefix="scrieve-bench-") as folder:
        many, few, cache = (Path(folder) / name for name in ("many", "few", "cache"))
        write(many, TABLES)
        write(few, FEW)
        cached = f"{str(cache)!r}"

        def side(where: Path, executor: str, cache: str = "False", imports: str = IMPORTS) -> dict:
            count = TABLES if where == many else FEW
            return fresh(imports, WORK.format(cache=cache, executor=executor), where, count, times=1)

        one = side(many, "ThreadPoolExecutor(1)")
        two = side(many, "ThreadPoolExecutor(2)", cached)
        again = side(many, "ThreadPoolExecutor(2)", cached)
        dask = side(many, "executor", imports=IMPORTS + DASK)
        hundred = side(few, "ThreadPoolExecutor(1)")
    flat = f"one thread; {one['peak_mb']:.0f} MB, {FEW} tables {hundred['peak_mb']:.0f} MB"
    return [
        row(f"{TABLES} tables, two threads", two["clock_s"], one["clock_s"], flat, "1.6 times", two["peak_mb"]),
        row(f"{TABLES} tables, Dask, two workers", dask["clock_s"], one["clock_s"], "one thread", "1.6 times"),
        row(f"{TABLES} tables, from the cache", again["clock_s"], one["clock_s"], "one thread", "10 times"),
    ]


def write(folder: Path, count: int) -> None:
    """`count` tables, no two alike."""
    folder.mkdir()
    hulls = [known_table(family, seed, STATIONS) for family in FAMILIES for seed in range(SEEDS)]
    for i in range(count):
        scale = 1 + STEP * (i // len(hulls))
        text = hulls[i % len(hulls)].replace("\nunits =", f'\nscale = "1:{scale:.3f}"\nunits =', 1)
        (folder / f"{i:04d}.offsets").write_text(text.replace("Known hull", f"Known hull {i}"), encoding="utf-8")
