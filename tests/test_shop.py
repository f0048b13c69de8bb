"""What a CNC shop is given: files that need no words, as ezdxf reads them back and shapely judges them."""

import json
import math
import warnings

import ezdxf
import numpy as np
import pandas
import pytest
import shapely
from conftest import SAMPLES
from ezdxf import path as ezpath

import scrieve
from scrieve import Drawing
from scrieve.patterns import job
from scrieve.patterns.shop import of_table

SANDLING = SAMPLES / "sandling.offsets"
# What a machine's controller is spared, mm.
LEAST_MM = 0.2


def flat(entity, distance=1e-3):
    # A spline by its own points, in its own direction: as a path ezdxf may turn it round.
    spots = (
        entity.flattening(distance) if entity.dxftype() == "SPLINE" else ezpath.make_path(entity).flattening(distance)
    )
    return [(p.x, p.y) for p in spots]


def cuts(document, side="OUTSIDE"):
    """What is cut out, outside or inside the line, as closed rings."""
    layers = (f"CUT {side} THROUGH", f"CUT-{side}_")
    return [entity for entity in document.modelspace() if entity.dxf.layer.startswith(layers)]


def lengths(entity):
    """Lengths of a polyline's lines and arcs, mm."""
    points = list(entity.get_points("xyb"))
    pairs = zip(points, points[1:] + points[:1] if entity.closed else points[1:], strict=False)
    for (x0, y0, bulge), (x1, y1, _) in pairs:
        chord, turn = math.hypot(x1 - x0, y1 - y0), 4.0 * math.atan(abs(bulge))
        yield chord if bulge == 0.0 else chord * (turn / 2.0) / math.sin(turn / 2.0)


@pytest.fixture(scope="module")
def lofted(tmp_path_factory):
    """Two boats lofted, each DXF of theirs read."""
    documents = {}
    for name in ("sandling", "mudlark"):
        folder = tmp_path_factory.mktemp(name)
        job.loft(scrieve.read(SAMPLES / f"{name}.offsets").fair(), folder)
        documents |= {path: ezdxf.readfile(path) for path in sorted(folder.rglob("*.dxf"))}
    return documents


def test_what_is_cut_is_closed_simple_one_way_round_and_of_no_tiny_segments(lofted):
    cut_out = 0
    for path, document in lofted.items():
        audit = document.audit()
        assert not audit.errors and not audit.fixes, path
        for entity in document.modelspace().query("LWPOLYLINE"):
            assert min(lengths(entity)) >= LEAST_MM, f"{path}: {entity.dxf.layer}"
        for side, way in (("OUTSIDE", 1), ("INSIDE", -1)):
            for entity in cuts(document, side):
                cut_out += 1
                if entity.dxftype() == "CIRCLE":
                    continue
                assert entity.closed and shapely.Polygon(flat(entity)).is_valid, path
                assert shapely.LinearRing(flat(entity)).is_ccw == (way > 0), path
    assert cut_out > 40


def test_layers_say_what_is_done_on_which_side_and_how_deep_and_the_sheet_that_lines_are_net(lofted):
    done = ("CUT OUTSIDE THROUGH - ", "CUT INSIDE THROUGH - ", "MARK ON LINE 0.5 MM DEEP - ")
    done += ("ENGRAVE ON LINE 0.5 MM DEEP - ", "LOOK ONLY - ")
    for path, document in lofted.items():
        used = {entity.dxf.layer for entity in document.modelspace()}
        if not any(name.startswith("CUT") for name in used):
            assert not any(name.startswith(done) for name in used), f"{path}: nothing is cut by it"
            continue
        assert all(name.startswith(done) for name in used), path
        assert "LOOK ONLY - Notes" in used
        assert not document.modelspace().query("TEXT"), "letters are strokes"


def test_letters_are_strokes_within_the_part_and_spell_what_the_drawing_says(sandling_hull, tmp_path):
    for drawing in sandling_hull.moulds():
        path = tmp_path / f"{drawing.name}.dxf"
        scrieve.write(drawing, path)
        document = ezdxf.readfile(path)
        parts = [shapely.Polygon(flat(entity)) for entity in cuts(document)]
        letters = [e for e in document.modelspace() if e.dxf.layer.startswith("ENGRAVE")]
        strokes = [shapely.LineString(flat(entity)) for entity in letters]
        for stroke in strokes:
            assert sum(part.contains(stroke) for part in parts) == 1, f"{drawing.name}: letters out of the wood"
        # The same words engraved on a drawing of their own, one by one, are these strokes and no others.
        alone = Drawing("alone")
        layer = alone.layer("Letters", "engrave")
        for text in drawing.texts():
            height = text["height_mm"]
            assert height >= 2.5
            alone.engrave(layer, text["text"], text["at"], height, text["angle"], text["anchor"])
        wanted = shapely.MultiLineString([one["points"] for one in alone.paths()])
        assert wanted.hausdorff_distance(shapely.MultiLineString(strokes)) < 1e-5
        assert sum(map(lambda s: s.length, strokes)) == pytest.approx(wanted.length, abs=1e-3)
        said = " ".join(text["text"] for text in drawing.texts())
        for word in ("18 MM THICK", "12.7 MM OFF", "CUT 1", "GRAIN", "FACE", "PORT", "STARBOARD"):
            assert word in said, f"{drawing.name} does not say {word}"


def test_text_is_written_where_it_is_asked_for(sandling_hull, tmp_path):
    drawing = sandling_hull.moulds()[2]
    scrieve.write(drawing, tmp_path / "text.dxf", letters="text")
    read = {e.dxf.text for e in ezdxf.readfile(tmp_path / "text.dxf").modelspace().query("TEXT")}
    assert {text["text"] for text in drawing.texts()} <= read
    with pytest.raises(scrieve.DrawingError, match='letters must be "strokes" or "text", got "gothic"'):
        scrieve.write(drawing, tmp_path / "no.dxf", letters="gothic")
    assert not (tmp_path / "no.dxf").exists()


@pytest.mark.parametrize("name", ["sandling", "mudlark", "turnstone", "petrels-egg"])
def test_port_is_starboards_mirror_image_vertex_for_vertex(name, tmp_path):
    for drawing in scrieve.read(SAMPLES / f"{name}.offsets").fair().moulds():
        path = tmp_path / f"{drawing.name}.dxf"
        scrieve.write(drawing, path)
        one, other = (list(entity.get_points("xyb")) for entity in cuts(ezdxf.readfile(path)))
        right, left = sorted((one, other), key=lambda points: -max(x for x, *_ in points))
        mirrored = [(-x, y) for x, y, _ in right]
        assert len(mirrored) == len(left)
        apart = [min(math.hypot(x - u, y - v) for u, v in mirrored) for x, y, _ in left]
        assert max(apart) < 2e-6, drawing.name
        bulges = np.sort([b for *_, b in right]), np.sort([b for *_, b in left])
        assert np.abs(bulges[0] - bulges[1]).max() < 1e-8, drawing.name


def test_outlines_come_as_arcs_polylines_or_splines_all_the_same_shape(sandling_hull, tmp_path):
    drawing = sandling_hull.moulds()[4]
    rings = {}
    for kind in ("arcs", "polylines", "splines"):
        scrieve.write(drawing, tmp_path / f"{kind}.dxf", outlines=kind)
        document = ezdxf.readfile(tmp_path / f"{kind}.dxf")
        audit = document.audit()
        assert not audit.errors and not audit.fixes
        rings[kind] = [shapely.LinearRing(flat(entity)) for entity in cuts(document)]
        kinds = {entity.dxftype() for entity in cuts(document)}
        assert kinds == ({"SPLINE"} if kind == "splines" else {"LWPOLYLINE"})
        if kind == "polylines":
            assert all(b == 0 for entity in cuts(document) for *_, b in entity.get_points("xyb"))
        assert all(ring.is_ccw for ring in rings[kind])
    for other in ("polylines", "splines"):
        for a, b in zip(rings["arcs"], rings[other], strict=True):
            assert a.hausdorff_distance(b) < 0.05
    with pytest.raises(scrieve.DrawingError, match="R12 DXF has no splines"):
        scrieve.write(drawing, tmp_path / "r12.dxf", outlines="splines", dxf_version="R12")
    assert not (tmp_path / "r12.dxf").exists()


def test_a_coarser_chord_error_takes_fewer_vertices_and_keeps_to_it(sandling_hull, tmp_path):
    drawing, counts = sandling_hull.moulds()[4], []
    true = [shapely.LinearRing(p["points"]) for p in drawing.paths(1e-3) if p["operation"] == "cut outside"]
    for error in (0.00002, 0.0002):
        scrieve.write(drawing, tmp_path / "mould.dxf", outlines="polylines", chord_error=error, least_segment=0.0)
        entities = cuts(ezdxf.readfile(tmp_path / "mould.dxf"))
        counts.append(sum(len(entity) for entity in entities))
        for ring, entity in zip(true, entities, strict=True):
            assert shapely.LinearRing(flat(entity)).hausdorff_distance(ring) < 1e3 * error + 2e-3
    assert counts[1] < 0.5 * counts[0]


def test_fastenings_and_registration_are_bored_as_circles_alike_on_both_sides(sandling_hull, tmp_path):
    drawings = sandling_hull.moulds(pieces=True, pilot_hole=0.004, registration_hole=0.008)
    for drawing in drawings:
        assert drawing.check() == [], drawing.name
        path = tmp_path / f"{drawing.name}.dxf"
        scrieve.write(drawing, path)
        document = ezdxf.readfile(path)
        parts = [shapely.Polygon(flat(entity)) for entity in cuts(document)]
        bored = [entity for entity in cuts(document, "INSIDE") if entity.dxftype() == "CIRCLE"]
        radii = sorted({round(entity.dxf.radius, 3) for entity in bored})
        assert radii == [2.0, 4.0]
        for entity in bored:
            hole = shapely.Point(entity.dxf.center.x, entity.dxf.center.y).buffer(entity.dxf.radius)
            assert sum(part.contains(hole) for part in parts) == 1
    plain = sandling_hull.moulds(registration_hole=0.008)
    for drawing in plain:
        holes = [p["points"].mean(axis=0) for p in drawing.paths() if p["operation"] == "cut inside"]
        assert len(holes) == 4, drawing.name
        mirrored = sorted((-x, y) for x, y in holes)
        assert np.allclose(sorted(map(tuple, holes)), mirrored, atol=1e-6)


CUTTER_MM = 6.0


def test_a_notch_is_relieved_so_that_the_cutter_gets_to_every_corner(sandling_hull, tmp_path):
    """The void that a disc reaches is the void opened by it: eroded and dilated again (mathematical morphology)."""
    given = dict(keel_notch_width=0.04, keel_notch_depth=0.05)
    given |= dict(ribbands="0-9-0, sheer - 0-4-0", ribband_notch_width=0.03, ribband_notch_depth=0.02)
    square, relieved = sandling_hull.moulds(**given), sandling_hull.moulds(**given)
    corners = 0
    for before, after in zip(square, relieved, strict=True):
        left = after.relieve(CUTTER_MM)
        if after.name == "mould-1":
            # Its foot is 5 mm of wood beside the keel's notch: no relief has room there, which is said.
            assert [what for what, *_ in left] == ["corner", "corner"]
            continue
        assert left == []
        assert after.check() == [], after.name
        outside = [[shapely.Polygon(p["points"]) for p in d.paths(1e-3) if p["operation"] == "cut outside"]
                   for d in (before, after)]  # fmt: skip
        for was, part in zip(*outside, strict=True):
            assert was.buffer(1e-2).contains(part), "wood is taken off, never added"
            beyond = part.envelope.buffer(50.0)
            void = beyond.difference(part)
            reached = void.buffer(-CUTTER_MM / 2 + 0.005, quad_segs=64).buffer(CUTTER_MM / 2, quad_segs=64)
            taken = was.difference(part)
            assert shapely.get_num_geometries(taken) >= 1
            for lobe in shapely.get_parts(taken):
                if lobe.area < 0.5:
                    continue
                corners += 1
                # The corner's own point, where the square part turns in, is reached.
                turns = [shapely.Point(p) for p in was.exterior.coords if lobe.buffer(0.02).contains(shapely.Point(p))]
                assert turns and all(reached.distance(p) < 0.02 for p in turns)
    assert corners > 40


def test_a_cutter_wider_than_a_notch_is_refused_and_nothing_is_written(run, tmp_path):
    notch = ("--keel-notch-width", "40mm", "--keel-notch-depth", "50mm", "--ribbands", "0-9-0")
    notch += ("--ribband-notch-width", "8mm", "--ribband-notch-depth", "20mm")
    done = run("pickup", "moulds", SANDLING, "-o", tmp_path / "out", *notch, "--cutter", "12mm")
    assert done.returncode == 2 and "a notch 8.00 mm wide" in done.stderr and "12 mm cutter" in done.stderr
    assert not (tmp_path / "out").exists()
    done = run("pickup", "moulds", SANDLING, "-o", tmp_path / "out", *notch, "--cutter", "4mm")
    assert done.returncode == 0, done.stderr
    for wrong in ("0mm", "-3mm"):
        done = run("pickup", "moulds", SANDLING, "-o", tmp_path / "none", "--cutter", wrong)
        assert done.returncode == 2 and "cutter" in done.stderr
        assert not (tmp_path / "none").exists()


CHOICES = """\
cutter = "3mm"
dxf-version = "R12"
letters = "text"
deduct = "0-0-3"

[moulds]
thickness = "15mm"
shape = "stacked"
registration_hole = "8mm"
"""


@pytest.fixture
def yard(tmp_path):
    """A table with a shop's choices beside it."""
    table = tmp_path / "sandling.offsets"
    table.write_bytes(SANDLING.read_bytes())
    (tmp_path / "shop.toml").write_text(CHOICES)
    return table


def in_head(table, text):
    """Puts text at the end of a table's head."""
    before, fence, after = table.read_text().rpartition("\n+++\n")
    table.write_text(f"{before}\n\n{text}+++\n{after}")


def test_a_shops_choices_are_those_of_the_command_line(yard, run, tmp_path):
    plain = tmp_path / "plain"
    plain.mkdir()
    alone = plain / yard.name
    alone.write_bytes(yard.read_bytes())
    said = ("--cutter", "3mm", "--dxf-version", "R12", "--letters", "text", "--deduct", "0-0-3", "--thickness", "15mm")
    said += ("--shape", "stacked", "--registration-hole", "8mm")
    assert run("pickup", "moulds", yard, "-o", tmp_path / "kept").returncode == 0
    assert run("pickup", "moulds", alone, "-o", tmp_path / "typed", *said).returncode == 0
    kept, typed = ({p.name: p.read_bytes() for p in sorted((tmp_path / d).glob("mould*"))} for d in ("kept", "typed"))
    assert kept and kept == typed
    # What is typed goes before what is kept.
    over = run("pickup", "moulds", yard, "-o", tmp_path / "over", "--thickness", "20mm", "--dxf-version", "R2000")
    assert over.returncode == 0
    assert ezdxf.readfile(tmp_path / "over" / "mould-3.dxf").dxfversion == "AC1015"
    assert set(pandas.read_csv(tmp_path / "over" / "parts.csv")["thickness, mm"]) == {20.0}


def test_the_whole_job_is_repeated_from_the_tables_own_head_and_listed(yard, run, tmp_path):
    head = CHOICES.replace("[moulds]", "[shop.moulds]").replace("R12", "R2000")
    (yard.parent / "shop.toml").unlink()
    in_head(yard, f"[shop]\n{head}")
    assert run("loft", yard, "-o", tmp_path / "lofted").returncode == 0
    page = (tmp_path / "lofted" / "index.html").read_text()
    for said in ("The shop&#x27;s choices", "moulds: shape", "stacked", "3mm", "sandling.offsets"):
        assert said in page
    parts = pandas.read_csv(tmp_path / "lofted" / "parts.csv")
    moulds = parts[parts.pattern == "moulds"]
    assert set(moulds["count"]) == {2} and set(moulds["thickness, mm"]) == {15.0}
    assert {"moulds", "backbone", "transom"} <= set(parts.pattern)
    # Her own table is still read, and in Python her choices are the same.
    choices = of_table(scrieve.read(yard), yard)
    assert choices.value("cutter") == pytest.approx(0.003) and choices.of_pattern("moulds")["shape"] == "stacked"
    done = job.loft(scrieve.read(yard).fair(), tmp_path / "python", choices=choices)
    assert not [failure for failure in done.failures if "mould" in failure]
    for path in sorted((tmp_path / "python" / "moulds").iterdir()):
        assert path.read_bytes() == (tmp_path / "lofted" / "moulds" / path.name).read_bytes()


@pytest.mark.parametrize(
    ("text", "place", "said"),
    [
        ('cutter = "6mm"\nleters = "text"\n', "2:1", "expected `letters`"),
        ("cutter = 6\n", "1:1", 'expected a length with its unit, "18mm"'),
        ('cutter = "six"\n', "1:1", "expected a length with its unit"),
        ('letters = "gothic"\n', "1:1", 'expected one of "strokes", "text"'),
        ('[moulds]\nsolid = "yes"\n', "2:1", "expected true or false"),
        ('[moulds]\nthicknes = "18mm"\n', "2:1", "expected `thickness`"),
        ('cutter = "6mm"\n\n[mouldes]\nlimb = "80mm"\n', "3:1", "expected `moulds`"),
        ('cutter = "6mm"\nletters = text\n', "2:11", "not TOML"),
    ],
)
def test_a_wrong_choice_is_told_with_its_place_and_nothing_is_written(yard, run, tmp_path, text, place, said):
    (yard.parent / "shop.toml").write_text(text)
    done = run("pickup", "moulds", yard, "-o", tmp_path / "out")
    assert done.returncode == 2 and f"shop.toml:{place}: " in done.stderr and said in done.stderr, done.stderr
    assert not (tmp_path / "out").exists()


def test_a_wrong_choice_in_a_tables_head_has_its_line_there(yard, run, tmp_path):
    (yard.parent / "shop.toml").unlink()
    in_head(yard, '[shop]\nleters = "text"\n')
    line = next(i for i, text in enumerate(yard.read_text().splitlines(), 1) if text.startswith("leters"))
    done = run("loft", yard, "-o", tmp_path / "out")
    assert done.returncode == 2 and f"sandling.offsets:{line}:1: " in done.stderr
    assert not (tmp_path / "out").exists()


def test_an_option_of_another_writer_is_refused(run, tmp_path):
    done = run("pickup", "moulds", SANDLING, "-o", tmp_path / "moulds.pdf", "--letters", "text")
    assert done.returncode == 2 and "--letters is an option of dxf files" in done.stderr


def test_odd_names_are_spelt_in_strokes_and_file_names(tmp_path, run):
    text = SANDLING.read_text().replace('name = "Sandling"', 'name = "Élan/Øst ½"')
    table = tmp_path / "elan.offsets"
    table.write_text(text)
    done = run("pickup", "moulds", table, "-o", tmp_path / "out", "--json")
    assert done.returncode == 0, done.stderr
    assert len(json.loads(done.stdout)["tables"]["parts"]) > 10
    document = ezdxf.readfile(tmp_path / "out" / "mould-3.dxf")
    assert not document.audit().errors and any(e.dxf.layer.startswith("ENGRAVE") for e in document.modelspace())


def warned(name, **options):
    """What is said as a pattern is drawn of Sandling."""
    from scrieve.patterns.run import draw
    from scrieve.plugin.registry import find

    cutter = options.pop("cutter", None)
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always", scrieve.errors.Note)
        drawn = draw(find("patterns", name), scrieve.read(SANDLING).fair(), options, cutter)
    return drawn, [str(one.message) for one in told]


def test_holes_with_no_room_are_left_out_with_a_word_and_small_ones_are_said_to_be_bored():
    _, said = warned("moulds", registration_hole=0.09, limb=0.08)
    assert sum("no registration hole of 90.0 mm has room" in one for one in said) == 11
    # What the limb holds is bored in each half of each mould, two of them, and nothing is said.
    drawn, said = warned("moulds", registration_hole=0.005, cutter=0.006)
    assert not any("registration" in one for one in said)
    assert all(sum(p["operation"] == "cut inside" for p in one.paths()) == 4 for one in drawn)
    assert sum("holes of 5 mm" in one and "smaller than the cutter: bore them" in one for one in said) == 11


def test_a_cutter_that_does_not_get_into_a_hollow_is_told_where_and_one_that_is_none_is_refused():
    _, small = warned("moulds", cutter=0.004)
    assert not any("hollower" in one for one in small)
    # A board with half a circle of 20 mm radius out of its upper edge, of cubics.
    board = Drawing("board")
    k = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0) * 20.0
    straight = [(0, 0), (300, 0), (300, 80), (170, 80)]

    def lines(corners):
        pairs = zip(map(np.asarray, corners), map(np.asarray, corners[1:]), strict=False)
        return [p for a, b in pairs for p in (a + (b - a) / 3, a + (b - a) * 2 / 3, b)]

    hollow = [(170, 80 - k), (150 + k, 60), (150, 60), (150 - k, 60), (130, 80 - k), (130, 80)]
    spots = [straight[0], *lines(straight), *hollow, *lines([(130, 80), (0, 80), (0, 0)])]
    board.bezier(board.layer("Outline", "cut outside"), spots, closed=True)
    assert board.copy().relieve(39.0) == []
    told = board.copy().relieve(44.0)
    (at,) = [one for one in told if one[0] == "hollow"]
    assert math.dist(at[1:3], (150.0, 80.0)) == pytest.approx(20.0, abs=0.05)
    with pytest.raises(scrieve.DrawingError, match="at most 100 mm"):
        warned("moulds", cutter=0.5)


def test_a_boats_name_longer_than_a_limb_is_wide_is_in_lines_and_one_that_cannot_be_parted_is_told(tmp_path):
    text = SANDLING.read_text()
    long = "The Honourable Company of Cockle Strand Rakers own Jubilee Ferry and Market Boat Number Twelve"
    for name, all_there in ((long, True), ("Q" * 300, False)):
        (tmp_path / "boat.offsets").write_text(text.replace('name = "Sandling"', f'name = "{name}"'))
        hull = scrieve.read(tmp_path / "boat.offsets").fair()
        for drawing in hull.moulds():
            written = " ".join(one["text"] for one in drawing.texts())
            lost = " ".join(drawing.unwritten)
            # Each word is engraved, or said to have no room: none goes without a word.
            assert all(word in written or word in lost for word in name.split())
            if drawing.name not in ("mould-1", "mould-2"):  # whose limbs run out to nothing
                assert ("QQQ" in lost) != all_there and ("Twelve" in written) == all_there


def test_what_is_one_thing_for_two_patterns_is_chosen_once(tmp_path):
    (tmp_path / "boat.offsets").write_bytes(SANDLING.read_bytes())
    (tmp_path / "shop.toml").write_text('[moulds]\nthickness = "15mm"\nribbands = "0-9-0"\nspall_height = "3-6-0"\n')
    table = scrieve.read(tmp_path / "boat.offsets")
    done = job.loft(table.fair(), tmp_path / "out", choices=of_table(table, tmp_path / "boat.offsets"))
    assert not done.failures
    bevels = pandas.read_csv(tmp_path / "out" / "bevels.csv")
    assert set(bevels["over, mm"]) == {15} and "R1" in set(bevels["at"])
    stands = pandas.read_csv(tmp_path / "out" / "set-up.csv")
    assert stands["spall height, mm"].to_numpy() == pytest.approx(42 * 25.4)
    # Its own choice goes before.
    (tmp_path / "shop.toml").write_text('[moulds]\nthickness = "15mm"\n[bevels]\nover = "20mm"\n')
    choices = of_table(table, tmp_path / "boat.offsets")
    job.loft(table.fair(), tmp_path / "out", choices=choices)
    assert set(pandas.read_csv(tmp_path / "out" / "bevels.csv")["over, mm"]) == {20.0}


def test_bevel_boards_are_listed_by_what_they_are_of():
    drawn, _ = warned("bevels")
    names = list(pandas.DataFrame(drawn[0].parts()).part)
    assert len(set(names)) == len(names) == 12 and "bevel board, mould 4" in names and "bevel board, transom" in names


def test_lengths_less_than_nothing_are_told_with_all_other_mistakes_and_before_anything_is_faired(tmp_path):
    (tmp_path / "boat.offsets").write_bytes(SANDLING.read_bytes())
    (tmp_path / "shop.toml").write_text('chord_error = "-1mm"\ncuter = "3mm"\n')
    table = scrieve.read(tmp_path / "boat.offsets")
    with pytest.raises(scrieve.TableError) as wrong:
        of_table(table, tmp_path / "boat.offsets")
    assert "shop.toml:1:1" in str(wrong.value) and "shop.toml:2:1" in str(wrong.value)


def test_a_table_in_millimetres_takes_its_ribbands_in_millimetres(tmp_path):
    metric = scrieve.read(SANDLING).fair().table(units="mm")
    metric.write(tmp_path / "metric.offsets")
    hull = scrieve.read(tmp_path / "metric.offsets").fair()
    assert list(hull.moulds(ribbands="228.6"))
    for text, said in (("ribbands 300", "ribband"), ("sheer - 90 along keel", "along")):
        with pytest.raises(scrieve.ScrieveError, match=said):
            hull.moulds(ribbands=text)
    with pytest.raises(scrieve.ScrieveError, match="228"):
        scrieve.read(SANDLING).fair().moulds(ribbands="228")
