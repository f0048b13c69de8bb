"""Writing 2,000 outlines of 500 points as DXF: scrieve against ezdxf, each in a process of its own."""

from __future__ import annotations

import json
import re
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from common import row

OUTLINES, POINTS = 2_000, 500
# How many times faster than ezdxf the writing should be.
GOAL = 10


def shapes() -> np.ndarray:
    """Rings on a grid, mm: (outlines, points, 2), bent everywhere, so that no vertex may be left out."""
    turn = np.linspace(0.0, 2.0 * np.pi, POINTS, endpoint=False)
    radius = 100.0 + np.sin(7.0 * turn)
    ring = np.stack([radius * np.cos(turn), radius * np.sin(turn)], axis=1)
    number = np.arange(OUTLINES)
    places = 250.0 * np.stack([number % 50, number // 50], axis=1)
    return places[:, None, :] + ring[None, :, :]


def write_with_scrieve(path: str) -> float:
    from scrieve import Drawing

    rings = shapes()
    start = time.perf_counter()
    drawing = Drawing("bench", "Bench")
    cut = drawing.layer("Outline", "cut outside")
    for points in rings:
        drawing.polyline(cut, points, closed=True)
    drawing.write_dxf(path)
    return time.perf_counter() - start


def write_with_ezdxf(path: str) -> float:
    import ezdxf

    rings = shapes()
    start = time.perf_counter()
    document = ezdxf.new("R2000", units=ezdxf.units.MM)
    document.layers.add("Outline")
    space = document.modelspace()
    for points in rings:
        space.add_lwpolyline(points, close=True, dxfattribs={"layer": "Outline"})
    document.saveas(path)
    return time.perf_counter() - start


WRITERS = {"scrieve": write_with_scrieve, "ezdxf": write_with_ezdxf}


def measured(writer: str) -> dict:
    """Seconds to write, peak memory of the whole process in MB, and vertices in the file."""
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder) / "bench.dxf")
        run = subprocess.run([sys.executable, __file__, writer, path], capture_output=True, text=True, check=True)
        result = json.loads(run.stdout)
        # The count of vertices is group 90 of each polyline.
        polylines = Path(path).read_text().split("\nLWPOLYLINE\n")[1:]
        counts = [re.search(r"AcDbPolyline\n *90\n *(\d+)\n", polyline) for polyline in polylines]
        result["vertices"] = sum(int(count[1]) for count in counts)
    return result


def run() -> list[dict]:
    ours, theirs = measured("scrieve"), measured("ezdxf")
    assert ours["vertices"] == theirs["vertices"] == OUTLINES * POINTS, "the two did not write the same"
    what = f"writing {OUTLINES:,} outlines of {POINTS} points as DXF"
    other = f"ezdxf (peak {theirs['peak_mb']:.0f} MB)"
    return [row(what, ours["seconds"], theirs["seconds"], other, f"{GOAL} times", ours["peak_mb"])]


def main() -> None:
    if len(sys.argv) == 3:
        seconds = WRITERS[sys.argv[1]](sys.argv[2])
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        # Kilobytes on Linux, bytes on macOS.
        peak_mb = peak / (1e6 if sys.platform == "darwin" else 1e3)
        print(json.dumps({"seconds": seconds, "peak_mb": peak_mb}))
        return
    for line in run():
        print(line)


if __name__ == "__main__":
    main()
