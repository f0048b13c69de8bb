"""From a table of offsets to moulds in DXF with NumPy, SciPy, shapely and ezdxf: what scrieve is timed with.

    python benches/reference_loft.py TABLE FOLDER

The deduction is along the surface's normal in space, from the partial derivatives of the splines the faired
surface is carried on; limbs are shapely's negative buffer; each mould is an R2000 file with both halves,
their grid marks and their name.
"""

from __future__ import annotations

import sys
from pathlib import Path

import ezdxf
import numpy as np
import reference_fairing
import reference_offsets
from shapely import LineString, MultiLineString, Polygon

# Points along a mould's edge before those within the chord error are dropped; about twice as many as remain.
EDGE_POINTS = 300
CHORD_ERROR_MM = 0.02
# Steps toward the place whose inner point lies in the mould's plane; each gains a digit or more.
STEPS = 8
LIMB_M, ABOVE_SHEER_M = 0.1, 0.05
TEXT_MM = 12.0


def inner_edge(hull: reference_fairing.Hull, x: float, thickness: float) -> np.ndarray:
    """The surface `thickness` inside the hull, cut by the plane x: points (y, z), lower end first."""
    v = np.linspace(hull.lowest(x), 1, EDGE_POINTS)
    t, _, _ = hull.at(x, v)
    length = hull.x.ev(1.0, v) - hull.x.ev(0.0, v)
    for _ in range(STEPS):
        along = np.array([s.ev(t, v, dx=1) for s in (hull.x, hull.y, hull.z)])
        up = np.array([s.ev(t, v, dy=1) for s in (hull.x, hull.y, hull.z)])
        normal = np.cross(up, along, axis=0)
        normal *= np.sign(normal[1]) / np.linalg.norm(normal, axis=0)
        inner = np.array([s.ev(t, v) for s in (hull.x, hull.y, hull.z)]) - thickness * normal
        t = np.clip(t + (x - inner[0]) / length, 0, 1)
    return inner[1:].T


def half_mould(edge: np.ndarray) -> Polygon:
    """A limb inside the edge, run on past the sheer, with a straight side on the centreline."""
    edge = edge[edge[:, 0] > 0]
    onward = edge[-1] - edge[-4]
    top = edge[-1] + ABOVE_SHEER_M * onward / np.linalg.norm(onward)
    # The lower end runs straight in to the centreline; to keep the limb open both halves are carried up.
    low, high = (0.0, edge[0, 1]), top[1] + 2 * LIMB_M
    solid = Polygon([low, *edge, top, (0.0, top[1])])
    side = np.array([*edge, top, (top[0], high)])
    within = Polygon([low, *side, *(side[::-1] * (-1, 1))]).buffer(-LIMB_M, join_style="mitre")
    limb = solid.difference(within)
    parts = getattr(limb, "geoms", [limb])
    return max(parts, key=lambda part: part.area).simplify(CHORD_ERROR_MM / 1000)


def marks(survey: reference_offsets.Survey, shape: Polygon) -> list[tuple[str, LineString]]:
    """Waterlines, buttocks and diagonals where they cross the mould."""
    far = 2 * max(map(abs, shape.bounds))
    lines = [(f"WL {1000 * z:.0f}", ((0, z), (far, z))) for z in survey.waterlines]
    lines += [(f"B {1000 * y:.0f}", ((y, -far), (y, far))) for y in survey.buttocks]
    lines += [(name, ((0, z), (far * out, z + far * up))) for name, (z, out, up) in survey.diagonals.items()]
    found = []
    for name, ends in lines:
        crossing = shape.intersection(LineString(ends))
        parts = crossing.geoms if isinstance(crossing, MultiLineString) else [crossing]
        found += [(name, part) for part in parts if isinstance(part, LineString) and not part.is_empty]
    return found


def write(path: Path, title: str, shape: Polygon, crossing: list[tuple[str, LineString]], sheer: np.ndarray) -> None:
    """Both halves of a mould in millimetres, as R2000."""
    document = ezdxf.new("R2000", units=ezdxf.units.MM)
    for layer, colour in (("CUT", 1), ("MARK", 5), ("TEXT", 3)):
        document.layers.add(layer, color=colour)
    space = document.modelspace()
    for side, sign in (("starboard", 1000.0), ("port", -1000.0)):
        scale = np.array([sign, 1000.0])
        outline = np.array(shape.exterior.coords)[:-1] * scale
        space.add_lwpolyline(outline, close=True, dxfattribs={"layer": "CUT"})
        for name, line in crossing:
            start, end = np.array(line.coords)[[0, -1]] * scale
            space.add_line(start, end, dxfattribs={"layer": "MARK"})
            text = space.add_text(name, height=TEXT_MM, dxfattribs={"layer": "TEXT"})
            text.set_placement(0.5 * (start + end))
        inside = (sheer - (LIMB_M / 3, 0)) * scale
        space.add_line(sheer * scale, inside, dxfattribs={"layer": "MARK"})
        label = f"{title} {side}"
        where = np.array(shape.representative_point().coords[0]) * scale
        space.add_text(label, height=TEXT_MM, dxfattribs={"layer": "TEXT"}).set_placement(where)
    document.saveas(path)


def loft(table: Path, folder: Path) -> int:
    """Fairs the table and writes a mould for every station but the transom; gives how many."""
    survey = reference_offsets.read(table)
    hull = reference_fairing.fair_survey(survey)
    folder.mkdir(parents=True, exist_ok=True)
    for name, x in survey.stations.items():
        edge = inner_edge(hull, x, survey.planking)
        shape = half_mould(edge)
        write(folder / f"mould-{name}.dxf", f"{survey.name} {name}", shape, marks(survey, shape), edge[-1])
    return len(survey.stations)


if __name__ == "__main__":
    loft(Path(sys.argv[1]), Path(sys.argv[2]))
