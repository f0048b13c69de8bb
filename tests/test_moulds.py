"""Moulds from table to router: what the shop's program reads is what the hull says."""

import ezdxf
import numpy as np
import pytest
import shapely
from conftest import SAMPLES
from ezdxf import path as ezpath

import scrieve

# The halves of a pair are drawn this far off their centreline, so that they lie 40 mm apart.
HALF_GAP_MM = 20


def outlines(file):
    """The closed outlines on the outline layer of a DXF file, as shapely rings flattened to a micrometre."""
    document = ezdxf.readfile(file)
    auditor = document.audit()
    assert not auditor.errors and not auditor.fixes, file.name
    assert document.header["$INSUNITS"] == 4  # millimetres
    rings = []
    for entity in document.modelspace().query("LWPOLYLINE"):
        if entity.dxf.layer.startswith("CUT OUTSIDE") or entity.dxf.layer.startswith("CUT-OUTSIDE"):
            assert entity.closed, f"{file.name}: an open outline"
            rings.append(shapely.LinearRing([(p.x, p.y) for p in ezpath.make_path(entity).flattening(1e-3)]))
    return rings


@pytest.fixture(scope="module")
def lofted(sandling_hull, tmp_path_factory):
    folder = tmp_path_factory.mktemp("moulds")
    return scrieve.write(sandling_hull.moulds(), folder, writer="dxf")


def test_every_station_has_its_mould(lofted, sandling):
    assert [path.stem for path in lofted] == [f"mould-{s}" for s in sandling.stations if s != "T"]


def test_each_mould_is_a_port_and_a_starboard_outline_that_mirror_each_other(lofted):
    for file in lofted:
        port, starboard = (shapely.Polygon(ring) for ring in outlines(file))
        assert port.is_valid and starboard.is_valid
        # Arcs are fitted to each by itself: the areas agree to what the tolerance of 0.02 mm makes of the edge.
        assert port.area == pytest.approx(starboard.area, abs=0.02 * port.length)


def test_the_edge_read_back_lies_within_the_tolerance_of_the_hulls_mould(lofted, sandling, sandling_hull):
    planking = sandling.facts["planking"]
    assert planking == pytest.approx(0.0127)  # 0-0-4
    for file in lofted:
        x = sandling.station_x[file.stem.removeprefix("mould-")]
        exact = sandling_hull.mould(x, deduct=planking).points(400)[:, 1:] * 1e3
        for ring in outlines(file):
            side = 1 if ring.centroid.x > 0 else -1
            edge = shapely.points(exact * (side, 1) + (side * HALF_GAP_MM, 0))
            assert np.max(shapely.distance(ring, edge)) < 0.021, file.name  # 0.02 mm, and a micrometre of flattening


def test_a_mould_differs_from_the_section_by_more_than_its_planking_where_the_bevel_is_great(sandling, sandling_hull):
    # In the plane of the mould the deduction comes to about t / cos(bevel): common practice of the loft.
    t, x, z = 0.0127, sandling.station_x["2"], 0.55
    section, mould = (np.asarray(c.points(4000))[:, 1:] for c in (sandling_hull.section(x), sandling_hull.mould(x, t)))
    bevel = np.radians(sandling_hull.bevel(x, z))
    at = mould[np.argmin(abs(mould[:, 1] - z))]
    apart = np.min(np.hypot(*(section - at).T))
    assert abs(bevel) > 0.2
    assert apart == pytest.approx(t / np.cos(bevel), rel=0.02)


def test_a_table_measured_to_the_inside_of_the_planking_deducts_nothing(sandling):
    text = sandling.to_text().replace("outside of planking", "inside of planking")
    assert scrieve.Table.from_text(text).fair().mould_set().deduction == 0


def test_the_lines_drawing_passes_the_audit_too(sandling_hull, tmp_path):
    (file,) = scrieve.write(sandling_hull.lines(), tmp_path / "lines.dxf")
    auditor = ezdxf.readfile(file).audit()
    assert not auditor.errors and not auditor.fixes


@pytest.mark.parametrize("version", ["R12", "R2000"])
def test_the_1889_canoes_moulds_pass_the_audit(tmp_path, version):
    canoe = scrieve.read(SAMPLES / "stephens-1889-plate-11.csv").fair()
    files = scrieve.write(canoe.moulds(deduct=0.00635), tmp_path / "moulds", writer="dxf", dxf_version=version)
    assert len(files) >= 12
    for file in files:
        auditor = ezdxf.readfile(file).audit()
        assert not auditor.errors and not auditor.fixes, file.name


@pytest.mark.parametrize("deduct", [0.5, 50.0, 1e308, -12.7, float("nan")])
def test_a_mould_of_no_planking_there_is_is_refused(sandling_hull, deduct):
    with pytest.raises(scrieve.LoftError, match="deduct"):
        sandling_hull.mould(2.4, deduct=deduct)


def test_a_curve_has_a_number_of_points(sandling_hull):
    for n in (1, -1, 10**9):
        with pytest.raises(ValueError, match="2 to"):
            sandling_hull.section(2.4).points(n)


def test_a_notch_that_runs_into_the_next_costs_itself_and_is_said():
    hull = scrieve.read(SAMPLES / "sandling.offsets").fair()
    made = hull.mould_set(
        ribbands="0-9-0, 0-10-0, 1-6-0", ribband_notch_width=0.04, ribband_notch_depth=0.02, limb=0.12
    )
    assert not made.failures and len(made.drawings()) >= 11
    said = [remark for remark in made.remarks if "no notch for ribband" in remark]
    assert said and all("would run into the next" in remark for remark in said)
