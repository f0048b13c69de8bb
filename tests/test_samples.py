"""Every sample goes through the main job, as the README promises."""

import pytest
from conftest import SAMPLES

import scrieve
from scrieve.patterns import job

OURS = sorted(SAMPLES.glob("*.offsets"))


@pytest.mark.parametrize("path", OURS, ids=lambda path: path.stem)
def test_a_sample_is_lofted_whole(path, tmp_path):
    hull = scrieve.read(path).fair()
    done = job.loft(hull, tmp_path)
    assert not done.failures
    assert (tmp_path / "index.html").exists() and all(file.stat().st_size > 0 for file in done.written)
    stations = [x for x in hull.source.station_x.values() if x is not None]
    assert len(list((tmp_path / "moulds").glob("*.dxf"))) == len(stations)


@pytest.mark.parametrize("path", OURS, ids=lambda path: path.stem)
def test_an_invented_boat_says_so(path):
    assert "(invented)" in scrieve.read(path).facts["kind"]


@pytest.mark.parametrize("path", [p for p in OURS if p.stem != "petrels-egg"], ids=lambda path: path.stem)
def test_a_sample_without_slips_has_no_query(path):
    assert scrieve.read(path).proof() == []


def test_a_chine_is_a_corner_of_every_section_and_the_only_one():
    hull = scrieve.read(SAMPLES / "mudlark.offsets").fair()
    x = hull.source.station_x["5"]
    section = hull.section(x)
    assert len(section.corners) == 1
    chine = hull.source.reading("5", "chine height")
    assert section.corners[0][2] == pytest.approx(chine.m, abs=0.003)
