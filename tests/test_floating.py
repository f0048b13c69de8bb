"""Floating across the boundary: upright figures, loads, righting arms and sails, by other ways than ours."""

import json
from pathlib import Path

import numpy as np
import pytest
import trimesh

import scrieve
from scrieve._core import surface_grid
from scrieve.hull import floating
from scrieve.hull.floating import CAUTION, Rig, Weight

SANDLING = Path(__file__).parent.parent / "samples" / "sandling.offsets"
DRAUGHT = 0.35  # m, an ordinary load for the sample boat


@pytest.fixture(scope="module")
def figures(sandling_hull):
    return sandling_hull.hydrostatics(draught=DRAUGHT)


@pytest.fixture(scope="module")
def mesh(sandling_hull):
    """Both sides of the boat and what closes them, as triangles."""
    faces = []

    def quads(grid):
        a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
        for triangle in ((a, b, c), (a, c, d)):
            faces.append(np.stack([corner.reshape(-1, 3) for corner in triangle], axis=1))

    mirror = np.array([1.0, -1.0, 1.0])

    def across(edge):
        quads(np.stack([edge, edge * mirror], axis=1))

    grids = surface_grid(sandling_hull._core, 601, 241)
    for grid in grids:
        quads(grid)
        quads((grid * mirror)[:, ::-1])
        across(grid[0])
        across(grid[-1][::-1])
    across(grids[0][::-1, 0])
    across(grids[-1][:, -1])
    corners = np.concatenate(faces)
    whole = trimesh.Trimesh(corners.reshape(-1, 3), np.arange(3 * len(corners)).reshape(-1, 3), process=False)
    return whole


def under_water(mesh, draught):
    """The wet part, with the water at z = 0 so that the missing waterplane adds nothing to the volume."""
    wet = trimesh.intersections.slice_mesh_plane(mesh, plane_normal=[0, 0, -1], plane_origin=[0, 0, draught])
    wet.apply_translation([0, 0, -draught])
    return wet


@pytest.mark.parametrize("draught", [0.2, DRAUGHT, 0.5])
def test_volume_and_wetted_surface_agree_with_a_fine_mesh(sandling_hull, mesh, draught):
    """trimesh on some 600,000 triangles of the same hull."""
    wet = under_water(mesh, draught)
    figures = sandling_hull.hydrostatics(draught=draught)
    a, b, c = np.moveaxis(wet.triangles, 1, 0)
    six_volumes = np.einsum("ij,ij->i", a, np.cross(b, c))
    assert abs(six_volumes.sum() / 6) == pytest.approx(figures.volume, rel=2e-5)
    centre = (six_volumes[:, None] * (a + b + c) / 4).sum(axis=0) / six_volumes.sum()
    assert centre == pytest.approx([figures.lcb, 0.0, figures.kb - draught], abs=2e-5)
    assert wet.area == pytest.approx(figures.wetted_surface, rel=2e-5)


def test_the_mesh_is_closed(mesh):
    """Where it were not, its volume would hang on where the origin is."""
    moved = mesh.copy()
    moved.apply_translation([50.0, 20.0, 30.0])
    assert moved.volume == pytest.approx(mesh.volume, rel=1e-9)


def test_a_table_of_the_parabolic_hull_floats_as_its_formula(tmp_path):
    """Handbook section 15, through a table read to the hundredth of a millimetre, and fairing."""
    length, breadth, depth, draught = 6.0, 1.6, 0.8, 0.5

    def half_breadth(x, z):
        return breadth / 2 * (1 - (2 * x / length - 1) ** 2) * (1 - (z / depth - 1) ** 2)

    xs = np.linspace(0.3, 5.7, 13)
    zs = np.linspace(0.1, 0.7, 7)

    def row(label, values):
        return f"{label} | " + " ".join(f"{1e3 * value:.2f}" for value in values)

    text = "\n".join([
        '+++\nformat = 1\nname = "Parabola"\nunits = "mm"\n\n[backbone]\nhalf_siding = "0"\n+++\n',
        "station | " + " ".join(str(i + 1) for i in range(len(xs))),
        row("from stem", xs),
        "\n[heights]",
        row("sheer", np.full(len(xs), depth)),
        row("rabbet", np.zeros(len(xs))),
        "\n[half-breadths]",
        row("sheer", half_breadth(xs, depth)),
        *[row(f"waterline {1e3 * z:.0f}", half_breadth(xs, z)) for z in zs],
        "\n[stem profile]\nfrom stem | 0 0 0\nheight | 800 400 0",
        f"\n[stern profile]\nfrom stem | {1e3 * length:.0f} {1e3 * length:.0f} {1e3 * length:.0f}",
        "height | 800 400 0\n",
    ])  # fmt: skip
    path = tmp_path / "parabola.offsets"
    path.write_text(text, encoding="utf-8")
    figures = scrieve.read(path).fair().hydrostatics(draught=draught)
    part = draught / depth
    section = depth * breadth * (part**2 - part**3 / 3)
    waterline = breadth * (1 - (1 - part) ** 2)
    assert figures.volume == pytest.approx(2 / 3 * length * section, rel=2e-3)
    assert figures.am == pytest.approx(section, rel=2e-3)
    assert figures.awp == pytest.approx(2 / 3 * length * waterline, rel=2e-3)
    assert figures.cp == pytest.approx(2 / 3, rel=2e-3)
    assert figures.cwp == pytest.approx(2 / 3, rel=2e-3)
    assert figures.lcb == pytest.approx(length / 2, abs=5e-3)


def test_coefficients_are_what_their_names_mean(figures):
    """ITTC Symbols and Terminology List."""
    box = figures.lwl * figures.bwl * figures.moulded_draught
    assert figures.cb == pytest.approx(figures.volume / box)
    assert figures.cb == pytest.approx(figures.cp * figures.cm)
    assert figures.cwp == pytest.approx(figures.awp / (figures.lwl * figures.bwl))
    assert figures.mass == pytest.approx(1026.021 * figures.volume)  # ITTC 7.5-02-01-03, from memory
    assert figures.lwl == pytest.approx(figures.waterline_aft - figures.waterline_fore)


def test_figures_have_the_names_others_write_against(figures):
    names = "volume mass lwl bwl awp am cb cp cm cwp lcb lcf kb bmt bml wetted_surface".split()  # noqa: SIM905
    assert all(getattr(figures, name) > 0 for name in names)


def test_curves_over_draughts_grow_by_the_waterplane(sandling_hull):
    """d∇/dT = AWP: by the trapezoidal rule over a millimetre."""
    curves = sandling_hull.curves_of_form(np.arange(0.30, 0.41, 0.001))
    assert np.diff(curves.volume) == pytest.approx(
        0.001 * (curves.awp[1:].values + curves.awp[:-1].values) / 2, rel=1e-6
    )
    assert set(curves.columns) == set(floating.Hydrostatics.__dataclass_fields__)


def test_the_curve_of_areas_encloses_the_volume(sandling_hull, figures):
    xs = np.linspace(0, 5.2, 2001)
    areas = sandling_hull.sectional_areas(xs, DRAUGHT)
    assert np.trapezoid(areas, xs) == pytest.approx(figures.volume, rel=1e-4)
    assert areas.max() == pytest.approx(figures.am, rel=1e-5)


def test_mass_in_is_the_mass_of_water_displaced(sandling_hull, figures):
    afloat = sandling_hull.float(mass=figures.mass, lcg=figures.lcb, kg=0.5)
    assert afloat.draught == pytest.approx(DRAUGHT, abs=1e-6)
    fresh = sandling_hull.float(mass=figures.mass, lcg=figures.lcb, kg=0.5, water="fresh")
    assert fresh.volume * 999.103 == pytest.approx(figures.mass)  # ITTC 7.5-02-01-03, from memory
    assert fresh.draught > afloat.draught


def test_crew_are_weights_that_may_be_moved(sandling_hull):
    boat = {"mass": 300.0, "lcg": 2.75, "kg": 0.45}
    level = sandling_hull.float(**boat, weights=[Weight(75, 2.5, 0, 0.6), (75, 3.0, 0, 0.6)])
    aft = sandling_hull.float(**boat, weights=[Weight(75, 4.0, 0, 0.6), Weight(75, 4.2, 0, 0.6)])
    out = sandling_hull.float(**boat, weights=[Weight(75, 2.5, 0.5, 0.6), Weight(75, 3.0, 0.5, 0.6)])
    assert level.mass == aft.mass == out.mass == 450.0
    assert level.lcg == pytest.approx((300 * 2.75 + 75 * 5.5) / 450)
    assert aft.trim > level.trim + 1 and aft.draught_aft > level.draught_aft
    assert out.heel > 3 and level.heel == 0
    # The centres are in line athwart, in the water plane.
    lean = np.radians(out.heel)
    apart = (out.tcb - out.tcg) * np.cos(lean) + (out.kb - out.kg) * np.sin(lean)
    assert abs(apart) < 1e-4


def test_an_open_boats_curve_stops_where_the_water_comes_in(sandling_hull, figures):
    load = {"mass": figures.mass, "lcg": figures.lcb, "kg": 0.5}
    heels = np.arange(0.0, 61.0, 5.0)
    open_boat = sandling_hull.righting_arms(heels, **load)
    decked = sandling_hull.righting_arms(heels, **load, decked=True)
    filled = heels > open_boat.flooding
    assert filled.any() and not filled.all()
    assert (np.isnan(open_boat.gz) == filled).all()
    assert not np.isnan(decked.gz).any()
    assert decked.gz[~filled] == pytest.approx(open_boat.gz[~filled], abs=1e-8)
    assert sandling_hull.gz(heels, **load)[~filled] == pytest.approx(open_boat.gz[~filled])
    # GZ = GM φ at a small heel.
    small = sandling_hull.gz([0.01], **load)
    assert small[0] == pytest.approx((figures.km - 0.5) * np.radians(0.01), rel=1e-5)


def test_a_righting_arm_agrees_with_the_mesh_heeled(sandling_hull, mesh, figures):
    """The mesh below the same water, as trimesh cuts it: as much water, and its centre as far out."""
    load = {"mass": figures.mass, "lcg": figures.lcb + 0.1, "kg": 0.5}
    for heel in (10.0, 25.0):
        arms = sandling_hull.righting_arms([heel], **load)
        lean, trim = np.radians(heel), np.radians(arms.trim[0])
        up = np.array([-np.sin(trim), -np.cos(trim) * np.sin(lean), np.cos(trim) * np.cos(lean)])

        def below(height, up=up):
            wet = trimesh.intersections.slice_mesh_plane(mesh, plane_normal=-up, plane_origin=height * up)
            a, b, c = np.moveaxis(wet.triangles - height * up, 1, 0)
            six = np.einsum("ij,ij->i", a, np.cross(b, c))
            return abs(six.sum()) / 6, (six[:, None] * (a + b + c) / 4).sum(axis=0) / six.sum() + height * up

        # The secant method on the height of the water, for the same volume.
        heights, volumes = [0.2, 0.3], [below(0.2)[0], below(0.3)[0]]
        for _ in range(4):
            slope = (volumes[-1] - volumes[-2]) / (heights[-1] - heights[-2])
            heights.append(heights[-1] + (figures.volume - volumes[-1]) / slope)
            volume, centre = below(heights[-1])
            volumes.append(volume)
        assert volume == pytest.approx(figures.volume, rel=1e-8)
        across = np.array([0.0, np.cos(lean), np.sin(lean)])
        apart = centre - [load["lcg"], 0.0, load["kg"]]
        assert apart @ across == pytest.approx(arms.gz[0], abs=2e-5)
        along = np.cross(across, up)
        assert apart @ along == pytest.approx(0.0, abs=1e-4)  # centres in line to 0.1 mm


def test_sails_by_their_corners(figures):
    """Areas of triangles and rectangles."""
    rig = Rig("lug and jib", {
        "lug": [(1.5, 1.0), (3.5, 1.0), (3.5, 4.0), (1.5, 4.0)],
        "jib": [(-0.5, 1.0), (1.5, 1.0), (1.5, 4.0)],
    })  # fmt: skip
    assert rig.area == pytest.approx(9.0)
    assert rig.centre_of_effort == pytest.approx(((6 * 2.5 + 3 * 2.5 / 3) / 9, (6 * 2.5 + 3 * 2.0) / 9))
    assert rig.lead(figures, clr_x=rig.centre_of_effort[0] + 0.1 * figures.lwl) == pytest.approx(0.1)
    assert rig.lead(figures) * figures.lwl == pytest.approx(figures.clr_x - rig.centre_of_effort[0])
    assert rig.area_to_displacement(figures) == pytest.approx(9 / figures.volume ** (2 / 3))
    assert rig.area_to_wetted_surface(figures) == pytest.approx(9 / figures.wetted_surface)
    with pytest.raises(scrieve.FloatingError, match="mizzen"):
        Rig("yawl", {"mizzen": [(4.0, 1.0), (4.5, 1.0)]})


def test_a_report_carries_its_caution(figures):
    report = str(figures)
    assert CAUTION in report and "naval architect" in CAUTION
    assert f"{figures.volume:.4f} m³" in report


def test_the_command_line_floats_her_at_a_draught_and_under_a_load(run, figures):
    done = run("float", SANDLING, "--draught", "350mm")
    assert done.returncode == 0 and figures.text() in done.stdout and CAUTION in done.stdout
    load = ["--mass", "600", "--lcg", "2.75m", "--kg", "0.45m", "--weight", "75", "3m", "0.4m", "0.6m"]
    done = run("float", SANDLING, *load, "--heel", "0", "--heel", "60", "--json")
    assert done.returncode == 0
    report = json.loads(done.stdout)
    assert report["mass"] == pytest.approx(675) and report["load"]["total"] == 675
    assert report["afloat"]["mass"] == 675 and report["afloat"]["heel"] > 0
    # She heels to starboard, and fills before 60 degrees.
    assert report["righting_arms"]["gz"][0] < 0 and report["righting_arms"]["gz"][1] is None
    assert report["caution"] == CAUTION
    done = run("float", SANDLING, *load)
    assert done.returncode == 0 and "filled" in done.stdout and CAUTION in done.stdout


def test_without_more_she_floats_as_her_table_says(run, sandling_hull):
    done = run("float", SANDLING, "--json")
    assert done.returncode == 0
    report = json.loads(done.stdout)
    figures = sandling_hull.hydrostatics(sandling_hull.source.facts["load_waterline"])
    assert report["volume"] == pytest.approx(figures.volume) and "load waterline" in report["at"]
    # Boat, helmsman, two hands and gear.
    assert report["load"]["total"] == 230 + 3 * 70 + 30
    assert report["afloat"]["volume"] == pytest.approx(470 / 1026.021)
    assert report["righting_arms"]["flooding"] == pytest.approx(report["righting_arms"]["heel"][8], abs=1e-4)
    areas = report["sectional_areas"]
    assert np.trapezoid(areas["area"], areas["x"]) == pytest.approx(figures.volume, rel=0.01)
    assert set(report["rigs"]) == {"working", "regatta"}
    assert set(report["rigs"]["working"]["sails"]) == {"lug", "mizzen"}
    assert set(report["lateral_plane"]["parts"]) == {"hull", "rudder"}
    ashore = json.loads(run("float", SANDLING, "--no-crew", "--rig", "regatta", "--json").stdout)
    assert ashore["load"]["total"] == 260 and set(ashore["rigs"]) == {"regatta"}
    said = run("float", SANDLING)
    assert said.returncode == 0
    for words in ("load waterline of her table", "loaded as her table says", "lead", "CLR", "helmsman"):
        assert words in said.stdout


def test_what_is_counted_is_said(run, tmp_path):
    assert "from rabbet to sheer" in run("float", SANDLING).stdout
    inside = edited(tmp_path, ('moulded_to = "outside', 'moulded_to = "inside'))
    told = json.loads(run("float", inside, "--json").stdout)
    # Wetted surface by half an inch of planking, in sea water.
    more = 1026.021 * told["wetted_surface"] * 0.0127
    assert any(f"about {more:.0f} kg more" in note for note in told["notes"])


def test_curves_over_draughts_are_listed(run, sandling_hull):
    done = run("float", SANDLING, "--draughts", "0.2m", "0.4m", "0.1m", "--json")
    rows = json.loads(done.stdout)["curves_of_form"]
    assert [row["draught"] for row in rows] == pytest.approx([0.2, 0.3, 0.4])
    assert rows[1]["volume"] == pytest.approx(sandling_hull.hydrostatics(0.3).volume)
    assert " 0.400 " in run("float", SANDLING, "--draughts", "0.2m", "0.4m", "0.1m").stdout


def test_a_level_draught_displaces_the_mass(sandling_hull, figures):
    assert sandling_hull.level_draught(figures.mass) == pytest.approx(DRAUGHT, abs=1e-9)
    fresh = sandling_hull.level_draught(figures.mass, water="fresh")
    assert sandling_hull.hydrostatics(fresh, "fresh").mass == pytest.approx(figures.mass)


def test_the_lateral_plane_takes_in_keel_and_parts_below_the_water(sandling, sandling_hull, figures):
    bare = sandling_hull.lateral_plane(DRAUGHT, {})
    assert bare.area == pytest.approx(figures.lateral_area)
    assert bare.centre == pytest.approx((figures.clr_x, figures.clr_z))
    # A board a metre deep and half a metre long, awash in its upper fifth.
    board = [(2.0, -0.45), (2.5, -0.45), (2.5, 0.55), (2.0, 0.55)]
    both = sandling_hull.lateral_plane(DRAUGHT, {"board": board})
    area, centre = both.parts["board"]
    assert area == pytest.approx(0.5 * 0.8) and centre == pytest.approx((2.25, -0.05))
    assert both.centre[0] == pytest.approx((figures.lateral_area * figures.clr_x + 0.4 * 2.25) / both.area)
    # A keel whose underside is the base line: the area under the rabbet, by the trapezoidal rule.
    rows = sandling.to_text().splitlines()
    stations = next(row for row in rows if row.startswith("station ")).split("|")[1].split()
    at = next(i for i, row in enumerate(rows) if row.startswith("rabbet"))
    keel = ["0-0-0" if name in ["2", "4", "6", "8", "10"] else "-" for name in stations]
    rows.insert(at + 1, "keel | " + "  ".join(keel))
    text = "\n".join(rows) + "\n"
    keeled = scrieve.Table(scrieve._core.read_offsets(text.encode(), "keeled.offsets")).fair()
    area, centre = keeled.lateral_plane(DRAUGHT, {}).parts["keel"]
    first, last = keeled.source.station_x["2"], keeled.source.station_x["10"]
    rabbet = keeled.reference_lines()[0].points(2001)
    within = (rabbet[:, 0] >= first) & (rabbet[:, 0] <= last)
    assert area == pytest.approx(np.trapezoid(rabbet[within, 2], rabbet[within, 0]), rel=5e-3)
    assert first < centre[0] < last and 0 < centre[1] < 0.05


def test_rigs_are_those_of_the_table(sandling_hull, figures):
    rigs = sandling_hull.rigs()
    assert rigs["regatta"].area == pytest.approx(sum(area for area, _ in rigs["regatta"].each().values()))
    facts = {"sails": {"lug": [(1.5, 1.0), (3.5, 1.0), (3.5, 4.0)]}}
    assert list(floating.rigs_of(facts)) == ["all sails"]
    assert floating.rigs_of({}) == {}


def test_crew_without_places_are_said_to_be_put_at_the_boats_centre():
    facts = {"boat_kg": 300.0, "boat_centre": (2.7, 0.4), "crew_kg": 150.0}
    load = floating.load_of(facts)
    assert load.total == 450 and (load.weights[0].x, load.weights[0].z) == (2.7, 0.4)
    assert "does not say where her crew sit" in load.remarks[0]
    assert floating.load_of(facts, crew=False).total == 300
    with pytest.raises(scrieve.ScrieveError, match="centre"):
        floating.load_of({"boat_kg": 300.0}).arguments()


def test_greatest_and_vanishing_arms_are_found_between_the_heels_computed():
    """GZ = sin 2φ: greatest at 45 degrees, nought at 90."""
    heels = np.arange(0.0, 121.0, 7.0)
    arms = floating.Arms(heels, np.sin(2 * np.radians(heels)), 0 * heels, None)
    assert arms.greatest() == pytest.approx((45, 1), abs=0.02)
    assert arms.vanishing() == pytest.approx(90, abs=0.2)
    assert floating.Arms(heels, -np.ones(len(heels)), 0 * heels, None).greatest() is None
    lolls = floating.Arms(heels, np.sin(np.radians(heels)) * (0.9 - np.cos(np.radians(heels))), 0 * heels, None)
    assert lolls.loll() == pytest.approx(np.degrees(np.arccos(0.9)), abs=1) and arms.loll() is None


def test_a_decked_boat_may_float_with_her_deck_edge_under(sandling_hull):
    load = {"mass": 470.0, "lcg": 2.75, "kg": 0.45, "weights": [(150, 2.75, 0.75, 0.5), (150, 2.75, 0.75, 0.5)]}
    with pytest.raises(scrieve.FloatingError, match="under water") as raised:
        sandling_hull.float(**load)
    assert raised.value.reason == "swamped"
    afloat = sandling_hull.float(**load, decked=True)
    assert afloat.freeboard < 0 and afloat.heel > 30
    # There her arm is nought.
    assert sandling_hull.gz([afloat.heel], **load, decked=True)[0] == pytest.approx(0, abs=1e-6)


def edited(tmp_path, *swaps):
    text = SANDLING.read_text(encoding="utf-8")
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "edited.offsets"
    path.write_text(text, encoding="utf-8")
    return path


def bare(tmp_path):
    """Sandling's table with nothing said of where she floats or what she weighs."""
    text = SANDLING.read_text(encoding="utf-8").replace('load_waterline = "0-11-2"\n', "")
    facts, rest = text.split("[mass]")
    path = tmp_path / "bare.offsets"
    path.write_text(facts + rest[rest.index("+++") :], encoding="utf-8")
    return path


def test_a_table_that_says_nothing_of_floating_is_told_what_to_say(run, tmp_path):
    done = run("float", bare(tmp_path))
    assert done.returncode == 2 and not done.stdout
    for words in ("--draught", "--mass", "load_waterline", "[mass]"):
        assert words in done.stderr
    assert run("float", bare(tmp_path), "--draughts", "0.2m", "0.3m", "0.1m").returncode == 0


def test_a_boat_too_tender_to_find_rest_is_a_finding(run, tmp_path):
    tender = edited(tmp_path, ('height = "1-4-0"', 'height = "4-0-0"'))
    done = run("float", tender)
    assert done.returncode == 1 and "finds no rest" in done.stdout
    report = json.loads(run("float", tender, "--json").stdout)
    assert report["afloat"]["gm"] < 0 and report["afloat"]["stays_so"] is False
    # With a hand out on her side there is no heel at which she comes to rest.
    high = ["--mass", "400", "--lcg", "2.75m", "--kg", "2m", "--weight", "70", "2.7m", "0.5m", "1m"]
    done = run("float", tender, *high)
    assert done.returncode == 1 and "capsizes" in done.stdout and "righting arms" in done.stdout


@pytest.mark.parametrize(
    "words, says",
    [
        (["--draught", "1m", "--mass", "5"], "not both"),
        (["--mass", "600"], "--lcg"),
        (["--lcg", "2m"], "--mass"),
        (["--mass", "-5", "--lcg", "2m", "--kg", "0.4m"], "above 0"),
        (["--mass", "90000", "--lcg", "2.75m", "--kg", "0.4m"], "more than she can float"),
        (["--draught", "9m"], "sheer"),
        (["--draught", "0.3m", "--water", "salt"], "sea, fresh"),
        (["--draught", "0.3m", "--water", "1.025"], "900 to 1400"),
        (["--draught", "0.3m", "--weight", "75", "3m", "0m", "1m"], "--draught"),
        (["--weight", "-75", "3m", "0m", "1m"], "mass"),
        (["--draughts", "0.3m", "0.2m", "0.01m"], "above the last"),
        (["--draughts", "0.2m", "0.3m", "0m"], "above 0"),
        (["--draughts", "0.2m", "0.3m", "0.001mm"], "longer"),
        (["--draughts", "0.2m", "3m", "0.1m"], "sheer"),
        (["--rig", "summer"], "working, regatta"),
        (["--heel", "400"], "180"),
    ],
)
def test_the_command_line_says_what_it_wants(run, words, says):
    done = run("float", SANDLING, *words)
    assert done.returncode == 2 and says in done.stderr and not done.stdout


@pytest.mark.parametrize(
    "old, new, says",
    [
        ("boat_kg = 230", "boat_kg = -230", "kilograms, nought or more"),
        ("boat_kg = 230", "boat_kg = 23000", "so she is loaded by [mass]"),
        ('height = "1-4-0"', 'height = "tall"', "expected"),
        ('load_waterline = "0-11-2"', 'load_waterline = "9-0-0"', "sheer"),
        ('rig = "working"\ncorners = [["0-9-0", "3-3-0"], ["3-4-0", "10-9-0"], ', "corners = [", "2 corners"),
        ('["3-4-0", "10-9-0"], ["9-0-0", "14-6-0"]', '["9-0-0", "14-6-0"], ["3-4-0", "10-9-0"]', "crosses"),
    ],
)
def test_what_a_table_cannot_mean_is_said(run, tmp_path, old, new, says):
    done = run("float", edited(tmp_path, (old, new)))
    assert done.returncode == 2 and says in done.stderr and not done.stdout


@pytest.mark.parametrize(
    "ask, says",
    [
        (lambda hull: hull.hydrostatics(draught=-1.0), "dry"),
        (lambda hull: hull.hydrostatics(draught=3.0), "sheer"),
        (lambda hull: hull.hydrostatics(draught=float("nan")), "draught"),
        (lambda hull: hull.hydrostatics(draught=0.3, water="salt"), "sea"),
        (lambda hull: hull.hydrostatics(draught=0.3, water=-1.0), "density"),
        (lambda hull: hull.float(mass=1e6, lcg=2.6, kg=0.5), "more than she can float"),
        (lambda hull: hull.float(mass=-1.0, lcg=2.6, kg=0.5), "mass"),
        (lambda hull: hull.float(mass=500.0, lcg=9.0, kg=0.5), "trim|sheer"),
        (lambda hull: hull.float(mass=500.0, lcg=2.6, kg=3.0, tcg=0.2), "heel|sheer"),
        (lambda hull: hull.gz([5.0, 400.0], mass=500.0, lcg=2.6, kg=0.5), "180"),
    ],
)
def test_what_cannot_be_floated_is_said(sandling_hull, ask, says):
    with pytest.raises(scrieve.FloatingError, match=says):
        ask(sandling_hull)
