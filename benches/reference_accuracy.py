"""How near `reference_fairing` comes to hulls known in closed form: `python benches/reference_accuracy.py`.

Tables of 13 stations to the eighth are faired and compared, in the planes of the stations and of 27 others,
with the exact readings of the same hulls: distance to the section, square to it.
"""

from __future__ import annotations

import numpy as np
import reference_fairing
import reference_offsets
from common import known_file

# Round bilges only: the reference has no chines.
FAMILIES = ("round-bilge", "raked-transom", "double-ender", "flared-bow", "parabolic", "firm-bilge")
SEEDS = (1, 2, 3)


def errors_m(hull: reference_fairing.Hull, exact: reference_offsets.Survey) -> np.ndarray:
    """Distances of the exact spots at stations, rabbet and sheer among them, from the hull's sections."""
    found = []
    for x in exact.stations.values():
        spots = np.column_stack([exact.x, exact.y, exact.z])
        every = np.vstack([spots, exact.rabbet[:, :3], exact.sheer[:, :3]])
        here = every[np.abs(every[:, 0] - x) < 1e-9, 1:]
        found.append(distances(hull.section(x, 400), here))
    return np.concatenate(found)


def distances(line: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Distance of each point from the polyline."""
    start, step = line[:-1], np.diff(line, axis=0)
    away = points[:, None] - start
    along = np.clip((away * step).sum(axis=2) / (step**2).sum(axis=1), 0, 1)
    return np.linalg.norm(away - along[..., None] * step, axis=2).min(axis=1)


def rms(values: np.ndarray) -> float:
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.square(values))))


def main() -> None:
    """Prints a line a hull, mm."""
    print(f"{'family':14}  seed  at stations: rms   max  between: rms   max")
    for family in FAMILIES:
        for seed in SEEDS:
            survey = reference_offsets.read(known_file(family, seed, 13, "eighth"))
            hull = reference_fairing.fair_survey(survey)
            at, between = (
                1e3 * errors_m(hull, reference_offsets.read(known_file(family, seed, n, "exact"))) for n in (13, 27)
            )
            stations, others = ((rms(e), e.max()) for e in (at, between))
            print(f"{family:14}  {seed:4}  {stations[0]:16.2f} {stations[1]:5.2f}", end="")
            print(f"  {others[0]:12.2f} {others[1]:5.2f}")


if __name__ == "__main__":
    main()
