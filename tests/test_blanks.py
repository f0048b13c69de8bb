"""A hundred jobs of boats and options by chance: what is cut holds the finished piece, and says what it is.

The finished piece is judged apart from the code that cuts it: points of the hull's surface are carried in along her own
normals by the planking, and those that lie between the faces of a part are points of its edge, however it was drawn.
shapely judges whether the part's outline holds them.
"""

import random
import re

import numpy as np
import pytest
import shapely
from conftest import SAMPLES

import scrieve

BOATS = (
    "sandling", "mudlark", "turnstone", "petrels-egg", "era/1883-marsh-samphire", "era/1890-sea-lavender",
    "era/1904-ebb-tide-annie", "era/1911-winkle", "era/1917-avocets-neck", "era/1920-thrift",
)  # fmt: skip
JOBS_A_BOAT = 10
# What a blank may be short by, mm: chords of the outlines, and the surface between the points that are carried in.
SHORT_MM = 0.15
# Sections through the thickness of a part and a little beyond it, and points on each.
SECTIONS, POINTS = 7, 30
# Points so many plankings from a chine are not judged.
CHINE_WIDE = 3.0
WRONG = {"mark on cut", "mark outside", "letters outside", "crosses itself", "open cut", "no area", "drawn twice"}


def edge_points(hull, start, end, off, many=POINTS):
    """Points, m, of the surface `off` inside the hull, from x = `start` to `end`: carried in along the normals."""
    found = []
    # By a chine what is carried in from one side may lie past what is carried in from the other.
    chines = np.vstack([np.empty((0, 3)), *(line.points(300) for line in hull.reference_lines()[1:-1])])
    beyond = 2.0 * off + 0.002
    for x in np.linspace(start - beyond, end + beyond, SECTIONS + int(8 * beyond / max(end - start, 0.01))):
        try:
            points = hull.section(x).points(many)[2:-2]
        except scrieve.ScrieveError:
            continue
        for px, y, z in points:
            try:
                if abs(hull.half_breadth(px, z) - y) > 1e-6:
                    continue
                p = np.array([px, y, z]) - off * np.asarray(hull.normal(px, z))
            except scrieve.ScrieveError:
                continue
            by_chine = len(chines) and np.linalg.norm(chines - [px, y, z], axis=1).min() < CHINE_WIDE * off
            if p[1] > 0.005 and start <= p[0] <= end and not by_chine:
                found.append(p)
    return np.array(found).reshape(-1, 3)


def outlines(drawing):
    return [shapely.Polygon(p["points"]) for p in drawing.paths(1e-3) if p["operation"] == "cut outside"]


def short_by(outline, points):
    """How far the farthest of these points, mm, lies outside what is cut."""
    return max((outline.distance(shapely.Point(p)) for p in points), default=0.0)


def says_what_it_is(drawing):
    """Marks and letters are where they belong, and port is port."""
    wrong = [one["message"] for one in drawing.check() if one["fault"] in WRONG]
    assert wrong == [], f"{drawing.name}: {wrong}"
    texts = drawing.texts()
    words = {text["text"] for text in texts}
    if "PORT" not in words and "STARBOARD" not in words:
        return
    # Looking aft at a forward face, her port side is on the right hand.
    right = "PORT" if "FORWARD FACE" in words else "STARBOARD"
    # What is laid on the other face is drawn in a row apart, wherever it belongs.
    laid_on = re.compile("cleat|head|spall")
    cut = list(zip(drawing.parts()["part"], outlines(drawing), strict=True))
    for text in texts:
        if text["text"] not in ("PORT", "STARBOARD"):
            continue
        at = text["at"]
        found = [(name, part) for name, part in cut if part.buffer(1e-3).contains(shapely.Point(at))]
        assert found, f"{drawing.name}: {text['text']} is in no part"
        if laid_on.search(found[0][0]):
            assert text["text"].lower() in found[0][0]
            continue
        within = [part for _, part in found]
        side = within[0].centroid.x if abs(within[0].centroid.x) > 20.0 else at[0]
        assert (side > 0) == (text["text"] == right), f"{drawing.name}: {text['text']} at {at}"


def moulds(hull, chance, planking):
    """A set of moulds of chance options: those bevelled hold both faces, those square are the station's own shape."""
    given = {
        "deduct": planking, "thickness": chance.choice([0.012, 0.018, 0.025]), "limb": chance.uniform(0.07, 0.14),
        "shape": chance.choice(["whole", "pair", "stacked"]), "bevelled": chance.random() < 0.5,
        "above_sheer": chance.uniform(0.0, 0.08),
    }  # fmt: skip
    if chance.random() < 0.4:
        given |= {"keel_notch_width": chance.uniform(0.02, 0.06), "keel_notch_depth": chance.uniform(0.02, 0.04)}
    if chance.random() < 0.4:
        given |= {"pieces": True, "shape": "pair"}
    bare = hull.mould_set(**given)
    if chance.random() < 0.5:
        low = chance.uniform(0.15, 0.4)
        notch = {"ribband_notch_width": chance.uniform(0.015, 0.05), "ribband_notch_depth": chance.uniform(0.01, 0.03)}
        made = hull.mould_set(**given, ribbands=f"{1e3 * low:.0f}mm, sheer - 90mm", **notch)
        # A notch that does not go in is left out by itself, and no mould with it.
        assert len(made.drawings()) == len(bare.drawings()), made.failures
    else:
        made = bare
    stands = made.set_up()
    drawings = made.drawings()
    judged = chance.sample(range(len(drawings)), min(4, len(drawings)))
    for k in judged:
        drawing = drawings[k]
        says_what_it_is(drawing)
        if made is not bare or given.get("pieces") or "keel_notch_width" in given:
            continue
        x = stands["from_stem"][k]
        towards = 1.0 if stands["lies"][k] == "aft" else -1.0
        ends = sorted((x, x + towards * given["thickness"] * (1.0 if given["bevelled"] else 0.02)))
        points = 1e3 * edge_points(hull, *ends, planking)
        if not len(points):
            continue
        cut = outlines(drawing)
        right = max(cut, key=lambda part: part.bounds[2])
        # Halves lie a gap apart.
        gap = 0.0 if given["shape"] == "whole" else max(right.bounds[0], 0.0)
        high = right.bounds[3]
        solid = [(p[1] + gap, p[2]) for p in points if p[2] < high - 1.0]
        assert short_by(right, solid) < SHORT_MM, f"{drawing.name}, {given}"


def inside(hull, chance, planking):
    """A bulkhead and a thwart somewhere in her, of some thickness."""
    stem, stern = (hull.line("sheer").points(2)[k][0] for k in (0, -1))
    x, thick = stem + chance.uniform(0.2, 0.8) * (stern - stem), chance.uniform(0.006, 0.04)
    bulkhead = hull.bulkhead(x, thickness=thick, inside=planking)
    says_what_it_is(bulkhead)
    (outline,) = outlines(bulkhead)
    points = 1e3 * edge_points(hull, x, x + thick, planking)
    assert len(points) > 50
    for side in (1.0, -1.0):
        solid = [(side * p[1], p[2]) for p in points if p[2] < outline.bounds[3] - 1.0]
        assert short_by(outline, solid) < SHORT_MM, f"bulkhead at {x}, {thick} thick"
    wide = chance.uniform(0.15, 0.25)
    z = float(np.quantile(points[:, 2], chance.uniform(0.5, 0.8))) / 1e3
    thwart = hull.thwart(x, z, width=wide, thickness=thick, inside=planking).drawing
    says_what_it_is(thwart)
    (outline,) = outlines(thwart)
    points = edge_points(hull, x, x + wide, planking)
    solid = [1e3 * p for p in points if z <= p[2] <= z + thick]
    for side in (1.0, -1.0):
        held = short_by(outline, [(p[0], side * p[1]) for p in solid])
        # Drawn aft along the first axis, or from the thwart's own edge.
        shifted = short_by(outline, [(p[0] - 1e3 * x + outline.bounds[0], side * p[1]) for p in solid])
        assert min(held, shifted) < SHORT_MM, f"thwart at {x}, {z}"


def beam(hull, chance, planking):
    """A deck beam somewhere: its ends hold the planking's inside on both its faces, and all between."""
    stem, stern = (hull.line("sheer").points(2)[k][0] for k in (0, -1))
    x, thick = stem + chance.uniform(0.2, 0.8) * (stern - stem), chance.uniform(0.015, 0.06)
    given = {"depth": chance.uniform(0.03, 0.08), "siding": thick, "inside": planking}
    round_of_beam = (1.5, chance.uniform(0.0, 0.09))
    if chance.random() < 0.5:
        made = hull.deck_beam(x, round_of_beam, **given).drawing
    else:
        made = hull.half_beam(x, round_of_beam, 0.1, **given).drawing
    says_what_it_is(made)
    (outline,) = outlines(made)
    points = 1e3 * edge_points(hull, x, x + thick, planking, 90)
    solid = []
    for _, y, z in points:
        # Beside the planking the beam stands between its lower edge and the deck.
        wood = outline.intersection(shapely.LineString([(y - 3.0, -1e4), (y - 3.0, 1e4)]))
        if not wood.is_empty and wood.bounds[1] + 1.0 < z < wood.bounds[3] - 1.0:
            solid.append((y, z))
    sides = (1.0, -1.0) if outline.bounds[0] < 0.0 else (1.0,)
    for side in sides:
        held = short_by(outline, [(side * y, z) for y, z in solid])
        assert held < SHORT_MM, f"deck beam at {x}, {thick} thick"
    return len(solid)


def transom(hull, chance, planking):
    """The transom of some thickness: points of the planking's inside between its faces, on its own plane."""
    text = hull.source.to_text()
    ends = re.findall(r'(foot|head) = \{ from_stem = "([^"]+)", height = "([^"]+)" \}', text)
    if not hull.has_transom or len(ends) != 2 or 'scale = "1:1"' not in text or "radius" in text:
        return
    (_, *foot), (_, *head) = ends
    foot, head = (np.array([scrieve.Reading(one).m for one in spot]) for spot in (foot, head))
    thick = chance.uniform(0.012, 0.035)
    drawing = hull.transom(thick, planking).drawing()
    says_what_it_is(drawing)
    up = (head - foot) / np.hypot(*(head - foot))
    square = np.array([-up[1], up[0]])  # forward, in profile
    points = edge_points(hull, min(foot[0], head[0]) - thick - 0.05, max(foot[0], head[0]), planking)
    profile = points[:, [0, 2]] - foot
    inward = profile @ square
    held = (inward >= 0) & (inward <= thick)
    assert held.sum() >= 5
    spots = np.column_stack([points[held, 1], profile[held] @ up + foot[1] / up[1]]) * 1e3
    (outline,) = outlines(drawing)
    for side in (1.0, -1.0):
        assert short_by(outline, spots * [side, 1.0]) < SHORT_MM, f"transom {thick} thick"


@pytest.mark.parametrize("name", BOATS)
def test_what_is_cut_holds_the_finished_piece_and_its_marks(name):
    hull = scrieve.read(SAMPLES / f"{name}.offsets").fair()
    chance = random.Random(name)
    judged = 0
    for _ in range(JOBS_A_BOAT):
        planking = chance.choice([0.0, 0.008, 0.0127, 0.02])
        moulds(hull, chance, planking)
        inside(hull, chance, planking)
        transom(hull, chance, planking)
        judged += beam(hull, chance, planking)
    assert judged > 10


def test_a_blank_that_is_a_quarter_of_a_millimetre_small_is_found(sandling_hull):
    """The test's own measure: it fails what is cut to one face."""
    x, thick = 1.2, 0.022
    (outline,) = outlines(sandling_hull.bulkhead(x, thickness=thick, inside=0.0127))
    points = 1e3 * edge_points(sandling_hull, x, x + thick, 0.0127)
    solid = [(p[1], p[2]) for p in points if p[2] < outline.bounds[3] - 1.0]
    assert short_by(outline, solid) < SHORT_MM < short_by(outline.buffer(-0.4), solid)


def test_nothing_is_said_to_be_off_where_nothing_is(tmp_path):
    """A table to the inside of the planking has it off already."""
    text = (SAMPLES / "sandling.offsets").read_text().replace("outside of planking", "inside of planking")
    (tmp_path / "inside.offsets").write_text(text)
    for drawing in scrieve.read(tmp_path / "inside.offsets").fair().moulds():
        said = " ".join(text["text"] for text in drawing.texts())
        assert "NOTHING OFF" in said and "MM OFF" not in said
