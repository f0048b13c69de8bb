"""Boats to the inside and to the outside of the planking, brought to one face before they are compared."""

import json
import re
import shutil
import sys
import warnings

import numpy
import pytest
from conftest import SAMPLES

import scrieve
from scrieve.errors import Note

SANDLING = SAMPLES / "sandling.offsets"
ERA = SAMPLES / "era"
PLANKING = 0.0127
EIGHTH = 0.0254 / 8


def gather(paths, **options):
    return scrieve.collection(paths, **{"cache": False, **options})


@pytest.fixture(scope="module")
def sandling():
    return scrieve.read(SANDLING).fair()


def taken_off(hull, name, deduct=0.0, scale=1, shrunk=1.0, decimals=1):
    """A table of a hull in millimetres, to the inside of her planking by what is deducted, or to the outside: read off
    her moulds, as a builder would off the loft floor, or off a half model of them at a scale, that has shrunk since."""
    table = hull.source
    half_siding = table.facts["half_siding"]
    stations = [x for x in table.station_x.values() if x is not None]
    keel, sheer = (hull.line(name).points(200)[:, 2].min() for name in ("rabbet", "sheer"))
    heights = [round(keel + part * (sheer - keel), 3) for part in (0.13, 0.24, 0.36, 0.5, 0.64, 0.78, 0.92)]
    rows = {"sheer z": [], "sheer y": [], "rabbet": [], **{z: [] for z in heights}}

    def mm(metres, across=True):
        return f"{1000 * metres / scale / (shrunk if across else 1):.{decimals}f}"

    for x in stations:
        y, z = hull.mould(x, deduct=deduct).points(4000)[:, 1:].T
        rows["sheer z"].append(mm(z[-1]))
        rows["sheer y"].append(mm(y[-1]))
        # The bearding line: where the inner face comes out of the side of keel or stem. Of the outside, the rabbet.
        out = max(1, numpy.flatnonzero(y > half_siding + 1e-6)[0])
        share = numpy.clip((half_siding - y[out - 1]) / (y[out] - y[out - 1]), 0, 1)
        bearding = z[out - 1] + share * (z[out] - z[out - 1])
        rows["rabbet"].append(mm(bearding))
        for height in heights:
            inside = bearding < height < z[-1]
            rows[height].append(mm(numpy.interp(height, z[out:], y[out:])) if inside else "-")
    face = hull.to("inside") if deduct else hull
    for row, end, axis in (
        ("sheer z", face.line("sheer"), 2), ("sheer y", face.line("sheer"), 1), ("rabbet", face.line("rabbet"), 2)
    ):  # fmt: skip
        rows[row].append(mm(end.points(5)[-1, axis]))
    # The stem's bearding line, by where each waterline's inner face comes to the half-siding.
    head = face.line("sheer").points(5)[0]
    stem = [(head[0], head[2])]
    for height in (head[2] - part * (head[2] - keel) for part in (0.02, 0.08, 0.2, 0.34, 0.5, 0.66, 0.8, 0.9, 0.96)):
        outer = hull.waterline(height).points(3000)[:700]
        if not deduct:
            first = numpy.flatnonzero(outer[:, 1] > half_siding + 1e-6)[0]
            stem.append((outer[max(0, first - 1), 0], height))
            continue
        at = []
        for x, y, z in outer[1:]:
            n = numpy.array(hull.normal(x, z))
            at.append(numpy.array([x, y, z]) - deduct * n)
        at = numpy.array(at)
        order = numpy.argsort(at[:, 1])
        if at[:, 1].min() < half_siding < at[:, 1].max():
            x, z = (numpy.interp(half_siding, at[order, 1], at[order, k]) for k in (0, 2))
            stem.append((x, z))
    forward = stem[0][0]
    transom = table.facts["transom"]
    along = [mm(x - forward, across=False) for x in stations]
    foot, head = (
        f'{{ from_stem = "{mm(x - forward, across=False)}", height = "{mm(z)}" }}'
        for x, z in (transom["foot"], transom["head"])
    )
    lines = [
        "+++", "format = 1", f'name = "{name}"', 'builder = "E. Marlow"', "year = 1903", 'units = "mm"',
        f'scale = "1:{scale}"', f'moulded_to = "{"inside" if deduct else "outside"} of planking"',
        # Planking and siding are the boat's own size.
        f'planking = "{1000 * PLANKING:.1f}"', "[backbone]", f'half_siding = "{1000 * half_siding:.1f}"',
        "[transom]", f"foot = {foot}", f"head = {head}",
        *(["[shrinkage]", f"breadth = {shrunk}", f"height = {shrunk}"] if shrunk != 1 else []),
        "+++", "",
        "station | " + " ".join(str(i + 1) for i in range(len(stations))) + " T",
        "from stem | " + " ".join(along) + " -", "", "[heights]",
        "sheer | " + " ".join(rows["sheer z"]), "rabbet | " + " ".join(rows["rabbet"]), "", "[half-breadths]",
        "sheer | " + " ".join(rows["sheer y"]),
        *(f"waterline {1000 * z / scale / shrunk:.4f} | " + " ".join(rows[z]) + " -" for z in heights), "",
        "[stem profile]", "from stem | " + " ".join(mm(x - forward, across=False) for x, _ in stem),
        "height | " + " ".join(mm(z) for _, z in stem), "",
    ]  # fmt: skip
    return "\n".join(lines)


@pytest.fixture(scope="module")
def inside_table(sandling):
    return taken_off(sandling, "Sandling inside", PLANKING)


# One face


def test_every_point_of_the_inside_is_a_planking_in_from_the_outside_along_its_normal(sandling):
    inside = sandling.to("inside")
    assert (sandling.moulded_to, inside.moulded_to) == ("outside of planking", "inside of planking")
    assert inside.to("inside") is not None and inside.to("inside").moulded_to == "inside of planking"
    for x in (0.5, 1.5, 2.5, 3.5, 4.5):
        for p in inside.section(x).points(9)[1:-1]:
            n = numpy.array(inside.normal(p[0], p[2]))
            foot = p + PLANKING * n
            assert sandling.half_breadth(foot[0], foot[2]) == pytest.approx(foot[1], abs=2e-4)


def test_inside_and_outside_differ_by_the_surface_times_the_planking(sandling):
    # Steiner's formula to the first order: the volume between parallel surfaces is area times distance.
    outer, inner = (hull.hydrostatics(draught=0.5) for hull in (sandling, sandling.to("inside")))
    shell = 0.5 * (outer.wetted_surface + inner.wetted_surface) * PLANKING
    assert outer.volume - inner.volume == pytest.approx(shell, rel=0.04)


def test_a_carried_hull_deducts_no_planking_twice_and_keeps_the_table_that_was_read(sandling):
    inside = sandling.to("inside")
    assert inside.table().to_text() == sandling.table().to_text()
    assert (inside.corrections().read == sandling.corrections().read).all()
    moulds = [hull.mould_set(stations=[2.0]) for hull in (sandling, inside)]
    assert "inside of the planking" in " ".join(moulds[1].remarks)


def test_one_boat_to_inside_and_outside_is_one_shape_and_one_set_of_figures(tmp_path, inside_table):
    (tmp_path / "inside.offsets").write_text(inside_table, encoding="utf-8")
    shutil.copy(SANDLING, tmp_path)
    boats = gather(tmp_path)
    frame = boats.measures()
    assert not boats.failures and boats.moulded_to == frame.attrs["moulded_to"] == "inside of planking"
    assert boats.faces().carried.to_dict() == {"Sandling inside": 0.0, "Sandling": pytest.approx(-PLANKING)}
    # As they stand they are 13 mm and more apart everywhere; her readings to the eighth are good to 3 mm.
    assert abs(frame.length.diff().iloc[1]) < 0.008 and abs(frame.beam.diff().iloc[1]) < 0.004
    gap = boats.shapes().gap("Sandling", "Sandling inside")
    assert gap.rms * frame.length.iloc[0] < 0.0035 and "inside of planking" in str(gap)
    (row,) = boats.near().itertuples()
    assert {row.first, row.second} == {"Sandling inside", "Sandling"} and row.between == "corresponding points"


@pytest.mark.parametrize("boat", ["sandling", "as-built/teal"])
def test_one_boat_five_ways_is_one_boat(tmp_path, boat):
    hull = scrieve.read(SAMPLES / f"{boat}.offsets").fair()
    five = {
        "inside": taken_off(hull, "inside", PLANKING),
        "mm": taken_off(hull, "mm", decimals=0),
        "model": taken_off(hull, "model", scale=8),
        "shrunk": taken_off(hull, "shrunk", scale=8, shrunk=1.03),
    }
    for name, text in five.items():
        (tmp_path / f"{name}.offsets").write_text(text, encoding="utf-8")
    shutil.copy(SAMPLES / f"{boat}.offsets", tmp_path)
    boats = gather(tmp_path)
    assert len(boats) == 5 and not boats.failures and boats.moulded_to == "inside of planking"
    length = boats.measures().length.iloc[0]
    # The coarsest of them is read to an eighth of an inch; points of one place slide a little along an edge, where the
    # surfaces themselves do not part.
    distances = boats.distances()
    assert distances.to_numpy().max() * length < EIGHTH
    assert boats.distances(gap="greatest").to_numpy().max() * length < 3 * EIGHTH
    near = boats.near()
    assert len(near) == 10 and near.distance.max() < 0.001
    assert near[["length", "breadth", "height"]].to_numpy() == pytest.approx(1, abs=1e-3)
    if boat == "sandling":
        sizes = boats.measures(uncertainty=True)
        for name in ("length", "beam", "depth"):
            assert (sizes[name] - sizes[name].mean()).abs().max() < 3 * sizes[f"{name}_sd"].max()


def test_all_of_one_face_are_compared_on_it_as_they_stand():
    boats = gather(sorted(ERA.glob("18*.offsets"))[:2])
    assert boats.moulded_to == "inside of planking" and (boats.faces().carried == 0).all()
    boats = gather([SANDLING, SAMPLES / "turnstone.offsets"])
    assert boats.moulded_to == "outside of planking" and (boats.faces().carried == 0).all()
    assert boats.shapes().moulded_to == boats.distances().attrs["moulded_to"] == "outside of planking"


def test_asked_for_the_inside_both_are_carried_and_the_volumes_are_less():
    outer, inner = gather([SANDLING]), gather([SANDLING], moulded_to="inside")
    assert inner.measures().volume.iloc[0] < 0.95 * outer.measures().volume.iloc[0]
    with pytest.raises(scrieve.ScrieveError, match=r"middle.*inside, outside"):
        gather([SANDLING], moulded_to="middle")


def test_without_a_thickness_she_is_named_with_the_remedy_and_with_one_assumed_she_is_marked(tmp_path):
    text = SANDLING.read_text(encoding="utf-8").replace('planking = "0-0-4"\n', "")
    (tmp_path / "sandling.offsets").write_text(text, encoding="utf-8")
    paths = [tmp_path / "sandling.offsets", sorted(ERA.glob("*.offsets"))[0]]
    boats = gather(paths)
    frame = boats.measures()
    assert numpy.isnan(frame.length["Sandling"]) and numpy.isfinite(frame.length["Petrel's Egg"])
    (failure,) = boats.failures
    assert failure.path.name == "sandling.offsets" and "write planking in her head" in failure.reason
    boats = gather(paths, planking="0-0-4")
    frame = boats.measures()
    assert not boats.failures and frame.volume["Sandling"] > 0
    assert boats.faces().planking_assumed.to_dict() == {"Sandling": True, "Petrel's Egg": True}
    assert boats.basis().loc["Sandling", ["beam", "volume"]].tolist() == ["assumed", "assumed"]
    assert boats.basis().loc["Petrel's Egg", "beam"] == "faired"
    for bad in (0, -0.01, 2.0, "half an inch", float("nan")):
        with pytest.raises(scrieve.ScrieveError, match="planking"):
            gather(paths, planking=bad)


def test_a_file_that_does_not_say_its_face_is_marked(tmp_path):
    text = SANDLING.read_text(encoding="utf-8").replace('moulded_to = "outside of planking"\n', "")
    (tmp_path / "sandling.offsets").write_text(text, encoding="utf-8")
    assert gather(tmp_path).faces().given_assumed.tolist() == [True]


def test_one_that_cannot_be_brought_to_the_outside_is_refused_by_name_with_the_remedy(tmp_path):
    # The planking of her forefoot lies along the side of the stem.
    paths = [SANDLING, sorted(ERA.glob("*.offsets"))[0]]
    boats = gather(paths, moulded_to="outside", planking=PLANKING)
    assert numpy.isfinite(boats.measures().length["Sandling"])
    (failure,) = boats.failures
    assert failure.path == paths[1] and "--moulded-to" in failure.reason and "x = " in failure.reason
    assert boats.shapes().names == ["Sandling"]


def test_a_boat_newly_found_is_brought_to_the_face_of_the_shapes(tmp_path):
    boats = gather(sorted(ERA.glob("18*.offsets"))[:3])
    shapes = boats.shapes()
    found = scrieve.read(SANDLING)
    assert shapes.nearest(found, 1).rms.iloc[0] == pytest.approx(
        shapes.nearest(found.fair().to("inside"), 1).rms.iloc[0]
    )
    bare = changed(tmp_path, "bare", lambda text: text.replace('planking = "0-0-4"\n', ""))
    with pytest.raises(scrieve.ScrieveError, match="bare.*planking"):
        shapes.nearest(scrieve.read(bare), 1)


# Nearer than their readings


def changed(tmp_path, name, change):
    text = SANDLING.read_text(encoding="utf-8").replace('name = "Sandling"', f'name = "{name}"')
    path = tmp_path / f"{name}.offsets"
    path.write_text(change(text), encoding="utf-8")
    return path


def test_a_copy_a_copy_with_a_slip_a_shrunken_model_and_a_larger_sister_are_listed_and_kept(tmp_path):
    copies = {
        "copy": lambda text: text,
        "slip": lambda text: text.replace("2-0-1    2-3-4", "2-0-1    2-3-0"),
        "shrunk": lambda text: text.replace(
            "[diagonal.A]", "[shrinkage]\nbreadth = 1.03\nheight = 1.03\n\n[diagonal.A]"
        ),
        "large": lambda text: text.replace('scale = "1:1"', 'scale = "1:2"').replace("0-1-1\"", "0-2-2\""),
    }  # fmt: skip
    paths = {name: changed(tmp_path, name, change) for name, change in copies.items()}
    boats = gather([SANDLING, paths["copy"], paths["slip"], paths["shrunk"], paths["large"]])
    near = boats.near()
    assert len(boats) == 5 and not boats.failures
    hers = near[near["first"] == "Sandling"].set_index("second")
    assert hers.distance["copy"] == pytest.approx(0, abs=1e-6) and hers.cells["copy"] == 0
    assert hers.cells["slip"] == 1 and "sheer half-breadth at 5" in hers.differing["slip"]
    assert hers.sds["slip"] < 1
    ratios = hers.loc["shrunk", ["length", "breadth", "height"]].tolist()
    assert ratios == pytest.approx([1, 1 / 1.03, 1 / 1.03], abs=0.003) and hers.cells["shrunk"] == 0
    assert hers.length["large"] == pytest.approx(0.5) and hers.cells["large"] == 0
    less = boats.without("copy", "large", "shrunk")
    assert [boat.name for boat in less] == ["Sandling", "slip"] and len(less.near()) == 1
    with pytest.raises(scrieve.ScrieveError, match="no boat called 'copi'.*copy"):
        boats.without("copi")


def test_boats_that_differ_are_not_listed():
    assert len(gather(sorted(ERA.glob("18*.offsets"))).near()) == 0


# Asking strictly


@pytest.fixture(scope="module")
def few():
    return gather([*sorted(ERA.glob("18*.offsets"))[:3], SANDLING])


def test_a_misspelt_fact_is_an_error_that_names_those_like_it(few):
    with pytest.raises(scrieve.ScrieveError, match="'bulder'.*builder"):
        few.where(bulder="E. Marlow")
    with pytest.raises(scrieve.ScrieveError, match="'yaer'.*year"):
        few.where(lambda boat: boat["yaer"] < 1900)
    with pytest.raises(scrieve.ScrieveError, match="'yaer'.*year"):
        few.where(lambda boat: boat.get("yaer", 0) < 1900)


def test_a_measure_is_asked_by_its_name(few):
    frame = few.measures()
    wide = few.where(beam_length=lambda ratio: ratio > 0.33)
    assert [boat.name for boat in wide] == list(frame.index[frame.beam_length > 0.33])
    assert 0 < len(wide) < len(few)
    assert [b.name for b in few.where(lambda b: b["volume"] > 0.7 and b["year"] < 1890)] == list(
        frame.index[(frame.volume > 0.7) & (frame.year < 1890)]
    )
    with pytest.raises(scrieve.ScrieveError, match="beam_lenght.*beam_length"):
        few.where(beam_lenght=1)


def test_a_test_that_raises_names_the_boat_and_what_it_raised(few):
    with pytest.raises(scrieve.ScrieveError, match="Petrel's Egg.*TypeError"):
        few.where(lambda boat: boat["year"] < "1900")
    with pytest.raises(scrieve.ScrieveError, match="Petrel's Egg.*ZeroDivisionError"):
        few.where(year=lambda year: 1 / 0)


def test_what_no_boat_could_be_or_only_by_chance_is_an_error(few):
    for asked, expected in (
        ({"year": "1890"}, "numbers"),
        ({"year": (1880, 1890)}, "function"),
        ({"year": float("nan")}, "numbers"),
        ({"length": 4}, "measured"),
        ({"length": lambda metres: None}, "True or False"),
        ({"year": lambda year: "yes"}, "True or False"),
        ({"year": lambda year: sys.exit(0)}, "SystemExit"),
    ):
        with pytest.raises(scrieve.ScrieveError, match=expected):
            few.where(**asked)
    with pytest.warns(Note, match="no boat has builder 'e. marlow'.*E. Marlow"):
        assert len(few.where(builder="e. marlow")) == 0
    assert len(few.where(year={1880, 1882})) == 2
    assert len(few.where(lambda boat: numpy.float64(boat["volume"]) > 0)) == len(few)


def test_a_boat_without_what_is_asked_is_told_of(few):
    with pytest.warns(Note, match=r"no load_waterline|no planking: Petrel's Egg"):
        kept = few.where(planking=lambda metres: metres > 0)
    assert [boat.name for boat in kept] == ["Sandling"]
    assert {lack.name for lack in kept.lacking} == {"planking"} and len(kept.lacking) == 3
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert len(few.where(builder="E. Marlow")) == 1 and len(few.where(year=range(1880, 1883))) == 2


# What is measured off rounded spots


def test_the_rake_has_an_uncertainty_from_its_two_spots(few):
    frame = few.measures(uncertainty=True)
    # Two spots, each off by half an eighth over √3 square to the rake: their difference over their distance.
    transom = scrieve.read(SANDLING).facts["transom"]
    apart = numpy.hypot(*numpy.subtract(transom["head"], transom["foot"]))
    by_hand = numpy.degrees(numpy.sqrt(2) * 0.0254 / 16 / numpy.sqrt(3) / apart)
    assert frame.transom_rake_sd["Sandling"] == pytest.approx(by_hand, rel=0.05)


# The command


def test_the_verb_says_the_face_marks_what_is_assumed_and_leaves_out_only_what_is_named(run, tmp_path):
    bare = changed(tmp_path, "bare", lambda text: text.replace('planking = "0-0-4"\n', ""))
    again = changed(tmp_path, "again", lambda text: text)
    era = sorted(ERA.glob("*.offsets"))[0]
    paths = [str(p) for p in (SANDLING, bare, again, era)]
    done = run("compare", *paths, "--no-cache", "--planking", "0-0-4")
    assert done.returncode == 1
    assert (
        "to the inside of planking" in done.stdout + done.stderr
        and "ASSUMED, 12.7 mm: bare" in done.stdout + done.stderr
    )
    assert "nearer than their readings can tell apart: Sandling and again" in done.stdout + done.stderr
    done = run("compare", *paths, "--no-cache", "--planking", "0-0-4", "--leave-out", "again", "--leave-out", "bare")
    assert done.returncode == 0 and "Left out as asked: again, bare." in done.stdout + done.stderr
    done = run("compare", *paths, "--no-cache", "--leave-out", "agian")
    assert done.returncode == 2 and "again" in done.stdout + done.stderr
    done = run("compare", *paths, "--no-cache", "--planking", "0-0-4", "-o", str(tmp_path / "all.csv"))
    head = (tmp_path / "all.csv").read_text(encoding="utf-8").splitlines()[0]
    assert all(column in head for column in ("compared_to", "carried (m)", "planking_assumed"))


# What a historian met


def test_mass_is_what_she_displaces_to_her_outside_whatever_face_she_is_compared_on(tmp_path):
    # Her own outside against her inside and the shell of her planking: Steiner's formula to the first order.
    loaded = changed(tmp_path, "loaded", lambda text: re.sub(r"(?m)^load_waterline.*\n", "", text))
    outer, inner = (gather([SANDLING, loaded], moulded_to=face).measures() for face in ("outside", "inside"))
    assert inner.mass["Sandling"] == pytest.approx(outer.mass["Sandling"], rel=1e-2)
    assert inner.volume["Sandling"] < 0.95 * outer.volume["Sandling"]
    # Under a load she tells, she floats where she floats.
    assert inner.mass["loaded"] == pytest.approx(outer.mass["loaded"], rel=1e-4)
    hull = scrieve.read(loaded).fair()
    afloat = hull.to("inside").hydrostatics(hull.level_draught(outer.mass["loaded"]))
    assert inner.lwl["loaded"] == pytest.approx(afloat.lwl, abs=0.005)
    assert inner.sail_area_displacement["loaded"] == pytest.approx(outer.sail_area_displacement["loaded"], rel=5e-3)


def test_of_boats_of_one_name_each_has_her_files_and_the_bare_name_is_nobodys(tmp_path):
    for name, year in (("one", 1900), ("two", 1921)):
        text = SANDLING.read_text(encoding="utf-8").replace("year = 1903", f"year = {year}")
        (tmp_path / f"{name}.offsets").write_text(text, encoding="utf-8")
    boats = gather(tmp_path)
    assert [boat.name for boat in boats] == ["Sandling (one)", "Sandling (two)"]
    for asked in (lambda: boats.shapes().nearest("Sandling"), lambda: boats.without("Sandling")):
        with pytest.raises(
            scrieve.ScrieveError, match=r"several.*'Sandling \((one|two)\)' or 'Sandling \((one|two)\)'"
        ):
            asked()


def test_json_of_a_boat_without_a_year(run, tmp_path):
    undated = changed(tmp_path, "undated", lambda text: re.sub(r"(?m)^year.*\n", "", text))
    done = run("compare", undated, "--no-cache", "--json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["boats"][0]["year"] is None


def test_a_stretched_sister_is_of_one_form_and_many_copies_are_one_family(run, tmp_path):
    large = changed(
        tmp_path, "large", lambda text: text.replace('scale = "1:1"', 'scale = "1:2"').replace('0-1-1"', '0-2-2"')
    )
    done = run("compare", SANDLING, large, "--no-cache")
    assert "of one form but for her size: Sandling and large" in done.stderr
    copies = [changed(tmp_path, f"copy {i}", lambda text: text) for i in range(6)]
    done = run("compare", *copies, "--no-cache")
    assert done.stderr.count("nearer than their readings") == 1 and "15 pairs" in done.stderr


def test_groups_are_no_more_than_boats(few):
    for count in (0, -1, 99):
        with pytest.raises(scrieve.ScrieveError, match="expected 1 to 4"):
            few.shapes().clusters(count)


# What an archivist met


def test_readings_left_out_of_a_comparison_are_told_and_the_status_is_1(run, tmp_path):
    slip = changed(tmp_path, "slip", lambda text: text.replace("2-0-1    2-3-4", "1-0-1    2-3-4"))
    boats = gather([slip, sorted(ERA.glob("*.offsets"))[0]])
    assert list(boats.readings_left_out()) == ["slip"]
    assert len(boats.readings_left_out()["slip"]) == 1
    done = run("compare", slip, "--no-cache", "--json")
    assert done.returncode == 1 and json.loads(done.stdout)["readings_left_out"]["slip"]
    assert "slip: readings left out" in done.stderr


def test_a_copy_with_a_slip_is_named_among_many_copies(run, tmp_path):
    copies = [changed(tmp_path, f"copy {i}", lambda text: text) for i in range(6)]
    copies.append(changed(tmp_path, "slip", lambda text: text.replace("2-0-1    2-3-4", "2-0-1    2-3-0")))
    done = run("compare", *copies, "--no-cache")
    assert "copies that differ" in done.stderr and "sheer half-breadth at 5" in done.stderr


def test_planking_assumed_floats_a_boat_that_is_given_to_the_inside(run, tmp_path):
    inside = taken_off(scrieve.read(SANDLING).fair(), "inside", PLANKING)
    inside = inside.replace('units = "mm"', 'units = "mm"\nload_waterline = "285.75"')
    (tmp_path / "told.offsets").write_text(inside, encoding="utf-8")
    bare = inside.replace('name = "inside"', 'name = "bare"').replace(f'planking = "{1000 * PLANKING:.1f}"\n', "")
    (tmp_path / "bare.offsets").write_text(bare, encoding="utf-8")
    mass = gather(tmp_path).measures().mass
    assert mass["bare"] < 0.95 * mass["inside"]
    boats = gather(tmp_path, planking=PLANKING)
    assert boats.measures().mass["bare"] == pytest.approx(mass["inside"], rel=1e-6)
    assert boats.faces().planking_assumed.to_dict() == {"inside": False, "bare": True}
    done = run("compare", tmp_path, "--no-cache")
    assert "of bare are by the inside alone" in done.stdout
