"""A million written readings to metres: scrieve against a regular expression and Fraction.

Both take one text, a reading a line, and give a float64 array of metres; that they are equal is checked.
"""

import random
import re
import time
from fractions import Fraction

import numpy as np
from common import row

from scrieve._core import read_column

COUNT = 1_000_000
GOAL = 50

PATTERN = re.compile(r"(-?)(\d+)-(\d+)-(\d)([+-]?)")
WORTH = {"": Fraction(0), "+": Fraction(1, 16), "-": Fraction(-1, 16)}
METRES_PER_INCH = Fraction(254, 10_000)


def written(count: int) -> str:
    """Readings from -2 ft to 80 ft, a third of them plain, a third strong and a third bare."""
    draw = random.Random(1889)
    lines = []
    for _ in range(count):
        eighths, sign = draw.randrange(80 * 96), ""
        if draw.random() < 0.03:
            eighths, sign = eighths % (2 * 96), "-"
        parts = f"{eighths // 96}-{eighths // 8 % 12}-{eighths % 8}"
        lines.append(sign + parts + draw.choice(["", "+", "-"]))
    return "\n".join(lines)


def by_script(text: str) -> np.ndarray:
    lengths = []
    for line in text.splitlines():
        match = PATTERN.fullmatch(line)
        if match is None:
            raise ValueError(line)
        sign, feet, inches, eighths, strength = match.groups()
        length = 12 * int(feet) + int(inches) + Fraction(int(eighths), 8) + WORTH[strength]
        lengths.append(float((-length if sign else length) * METRES_PER_INCH))
    return np.array(lengths)


def by_scrieve(text: str) -> np.ndarray:
    metres, errors = read_column(text)
    if errors:
        raise errors[0]
    return metres


def run() -> list[dict]:
    text = written(COUNT)
    by_scrieve(text[: text.index("\n")])
    # The mean of several: one run is short enough for the machine's other work to show.
    repeats = 5
    start = time.perf_counter()
    for _ in range(repeats):
        ours = by_scrieve(text)
    seconds = (time.perf_counter() - start) / repeats
    start = time.perf_counter()
    theirs = by_script(text)
    script_seconds = time.perf_counter() - start
    np.testing.assert_allclose(ours, theirs, rtol=1e-15)
    what = f"reading {COUNT:,} written readings"
    return [row(what, seconds, script_seconds, "re and Fraction", f"{GOAL} times")]


if __name__ == "__main__":
    for line in run():
        print("  ".join(f"{key}: {value}" for key, value in line.items()))
