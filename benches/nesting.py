"""Laying a boat's moulds out of one long board: scrieve against spyrrow, which packs strips, in as long a time."""

from __future__ import annotations

import time
import warnings
from pathlib import Path

import numpy as np
from common import row

SANDLING = Path(__file__).parent.parent / "samples" / "sandling.offsets"
# Of the board, and between parts, m.
WIDTH, GAP, LONG = 1.2, 0.012, 30.0
# How long the other may search for each second of ours.
GOAL = 1


def run() -> list[dict]:
    """Seconds of either, and in words how long a board either takes."""
    import spyrrow

    import scrieve

    hull = scrieve.read(SANDLING).fair()
    moulds = list(hull.moulds())
    start = time.perf_counter()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        laid = scrieve.nest(moulds, scrieve.Sheet(LONG, WIDTH), gap=GAP, margin=0.0)
    ours = time.perf_counter() - start
    reach = max(
        float(np.max(path["points"][:, 0])) for path in laid.sheets[0].paths() if path["operation"] == "cut outside"
    )
    outlines = [path["points"] for mould in moulds for path in mould.paths(0.1) if path["operation"] == "cut outside"]
    turns = [float(angle) for angle in range(0, 360, 15)]
    items = [spyrrow.Item(str(i), [tuple(p) for p in ring], 1, turns) for i, ring in enumerate(outlines)]
    strip = spyrrow.StripPackingInstance("moulds", 1e3 * WIDTH, items)
    how = spyrrow.StripPackingConfig(
        total_computation_time=max(2, round(ours)), seed=1, min_items_separation=1e3 * GAP, num_workers=1
    )
    start = time.perf_counter()
    solved = strip.solve(how)
    theirs = time.perf_counter() - start
    longer = 1e-3 * reach / (1e-3 * solved.width)
    what = f"laying {len(items)} halves of moulds: {1e-3 * reach:.2f} m of board, {longer:.2f} times the other's"
    return [row(what, ours, theirs, "spyrrow, as long", GOAL)]
