"""Collections: many tables read and measured, whatever a few of them have wrong with them."""

import json
import os
import re
import shutil
import sys
import textwrap
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor

import numpy
import pandas
import pytest
from conftest import SAMPLES

import scrieve
from scrieve.compare import cache as _cache
from scrieve.compare import measuring
from scrieve.compare.trend import trend
from scrieve.plugin import registry as _plugins

ERA = SAMPLES / "era"
SANDLING = SAMPLES / "sandling.offsets"
PUT_IN = json.loads((ERA / "put-in.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def era(tmp_path_factory):
    """The two dozen invented boats, measured."""
    boats = scrieve.collection(ERA, cache=tmp_path_factory.mktemp("cache"))
    boats.measures()
    return boats


@pytest.fixture
def folder(tmp_path):
    """A folder with three good boats."""
    folder = tmp_path / "boats"
    folder.mkdir()
    for path in sorted(ERA.glob("*.offsets"))[:2]:
        shutil.copy(path, folder)
    shutil.copy(SANDLING, folder)
    return folder


@pytest.fixture
def counted(monkeypatch):
    """How many boats have been faired."""
    done = []
    work = measuring.figures_of
    monkeypatch.setattr(measuring, "figures_of", lambda *args: done.append(args) or work(*args))
    return done


def gather(folder, **options):
    return scrieve.collection(folder, **{"cache": False, **options})


# The drift that was put in


@pytest.mark.parametrize("measure", ["beam_length", "transom_rake"])
def test_the_drift_put_into_the_era_is_found_within_its_stated_uncertainty(era, measure):
    frame = era.measures()
    found = trend(frame.year, frame[measure])
    put_in = PUT_IN["drift"][measure]["a_year"]
    assert found.low < put_in < found.high
    assert numpy.sign(found.low) == numpy.sign(found.high)  # and it is told from no drift at all


def test_the_hollow_forward_drifts_as_that_of_the_hulls_in_closed_form(era):
    frame = era.measures()
    boats = PUT_IN["boats"]
    closed = trend([boats[n]["year"] for n in frame.index], [boats[n]["hollow"] for n in frame.index])
    found = trend(frame.year, frame.hollow)
    assert 0 < found.low < closed.slope < found.high
    assert found.slope == pytest.approx(closed.slope, abs=found.standard_error / 4)


def test_each_boat_is_measured_as_she_is_in_closed_form(era):
    frame = era.measures()
    truth = pandas.DataFrame(PUT_IN["boats"]).T.loc[frame.index]
    # An eighth of an inch at full size; half an inch (a sixteenth at 1:8) where it is a model.
    reading = numpy.where(frame["scale"] == 8, 0.0127, 0.003175)
    assert (abs(frame.length - truth.length) < 2 * reading).all()
    assert (abs(frame.beam_length - truth.beam_length) * frame.length < 2 * reading).all()
    assert (abs(frame.hollow - truth.hollow) * frame.length < reading).all()


# What a frame holds


def test_a_frame_has_a_row_a_boat_with_facts_figures_units_and_where_they_are_from(era):
    frame = era.measures()
    assert len(frame) == len(era) == 24
    assert frame.loc["Thrift", "builder"] == "J. Tranter" and frame.loc["Thrift", "year"] == 1920
    assert frame.attrs["units"]["volume"] == "m³" and frame.attrs["units"]["load_waterline"] == "m"
    assert frame.attrs["basis"]["sail_area"] == "measured"
    assert frame.attrs["basis"]["volume"] == "faired"
    assert frame.attrs["basis"]["mass"] == "assumed"  # sea water is
    assert (era.basis()["transom_rake"] == "measured").all()


def test_coefficients_hang_together_by_their_definitions(era):
    # ITTC Symbols and Terminology List: CB = ∇/(LWL BWL T), CP = ∇/(AM LWL), CB = CM CP.
    f = era.measures()
    assert numpy.allclose(f.cb, f.volume / (f.lwl * f.bwl * f.moulded_draught))
    assert numpy.allclose(f.cb, f.cm * f.cp)
    assert numpy.allclose(f.sail_area_displacement, f.sail_area / f.volume ** (2 / 3))
    assert numpy.allclose(f.length_beam * f.beam_length, 1)


def test_sail_area_is_that_within_the_corners(era):
    # The shoelace formula, written apart, on the corners of the file.
    boat = next(b for b in era if b.name == "Thrift")
    x, z = numpy.array(boat.facts["sails"]["lug"]).T
    area = 0.5 * abs(numpy.dot(x, numpy.roll(z, -1)) - numpy.dot(z, numpy.roll(x, -1)))
    assert era.measures().loc["Thrift", "sail_area"] == pytest.approx(area)


def test_the_largest_rig_stands_for_the_boat_and_each_has_a_row(folder):
    boats = gather(folder)
    frame, rigs = boats.measures(), boats.rigs()
    assert list(rigs.loc["Sandling"].index) == ["working", "regatta"]
    large, small = rigs.loc[("Sandling", "regatta")], rigs.loc[("Sandling", "working")]
    columns = list(rigs)
    assert frame.loc["Sandling", columns].tolist() == pytest.approx(large.tolist())
    assert small["sail_area"] < large["sail_area"] and rigs.attrs["units"]["sail_area"] == "m²"
    # The small rig's lead, from the hull itself.
    hull = scrieve.read(SANDLING).fair().to("inside")  # as the era's are
    at = hull.hydrostatics(hull.source.facts["load_waterline"])
    rig = hull.rigs()["working"]
    assert small["lead"] == pytest.approx(rig.lead(at, hull.lateral_plane(at.draught).centre[0]))
    assert small["sail_area_wetted_surface"] == pytest.approx(rig.area / at.wetted_surface)
    # Sandling's table gives a rudder, the era's give the hull alone.
    basis = boats.basis()
    assert basis.lead["Sandling"] == "faired" and (basis.lead.drop("Sandling") == "assumed").all()


def test_a_mass_stands_in_for_a_load_waterline(folder):
    text = SANDLING.read_text(encoding="utf-8").replace('load_waterline = "0-11-2"\n', "")
    (folder / "sandling.offsets").write_text(text, encoding="utf-8")
    boats = gather(folder)
    boat = boats.measures().loc["Sandling"]
    # The volume is of the inside, as her companions are given; the shell of her planking makes up her displacement.
    shell = 0.0127 * boat["wetted_surface"]
    assert boat["mass"] == pytest.approx(470) and boat["volume"] + shell == pytest.approx(470 / 1026.021)
    assert boats.basis().loc["Sandling", ["mass", "volume"]].tolist() == ["measured", "assumed"]


def test_missing_facts_stay_missing(folder):
    text = SANDLING.read_text(encoding="utf-8")
    for said in ("year = 1903\n", 'builder = "E. Marlow"\n', 'load_waterline = "0-11-2"\n'):
        assert said in text
        text = text.replace(said, "")
    facts, rest = text.split("[mass]")
    bare = (facts + rest[rest.index("+++") :]).replace("Sandling", "Nameless")
    (folder / "nameless.offsets").write_text(bare.replace("1-1-5", "1-1-6"), encoding="utf-8")
    frame = gather(folder).measures()
    assert frame.year.isna()["Nameless"] and frame.builder.isna()["Nameless"]
    assert frame.year["Sandling"] == 1903
    assert "Nameless" not in gather(folder).rigs().index.get_level_values("boat")
    # Nobody wrote down a load waterline: no displacement is made up for it.
    assert frame.volume.isna()["Nameless"] and frame.sail_area.isna()["Nameless"]
    assert frame.volume["Sandling"] > 0.4 and frame.sail_area["Sandling"] > 5
    assert numpy.isfinite(frame.beam).all()


def test_filters_take_values_ranges_and_functions_and_leave_out_what_does_not_say(era):
    assert {b.facts["builder"] for b in era.where(builder="E. Marlow")} == {"E. Marlow"}
    assert [b.facts["year"] for b in era.where(year=range(1880, 1884))] == [1880, 1882, 1883]
    late = era.where(lambda facts: facts["year"] > 1910, builder={"E. Marlow", "J. Tranter"})
    assert len(late) == 6 and min(b.facts["year"] for b in late) == 1911
    assert len(era.where(lambda facts: facts["crew_kg"] > 0)) == 0
    assert len(late.measures()) == 6


# Mixed units, scales and layouts


def remade(table, name, units):
    """The same table in other units, every reading turned over exactly."""

    def turned(reading):
        return scrieve.Reading(reading.group()).to(units) + units

    text = table.to_text()
    head, _, body = text.partition("\n+++\n\n")
    head, body = (re.sub(r"\d+-\d+-\d+", turned, part) for part in (head, body))
    head = head.replace(f'name = "{table.name}"', f'name = "{name}"')
    return f"{head}\n+++\n\n{body}"


def test_units_make_no_difference(folder):
    table = scrieve.read(SANDLING)
    (folder / "metric.offsets").write_text(remade(table, "Sandling in metres", "m"), encoding="utf-8")
    boats = gather(folder)
    assert not boats.failures
    # The readings are the same to a tenth of a millimetre: it is one boat, and said.
    (pair,) = boats.near().itertuples()
    assert {pair.first, pair.second} == {"Sandling", "Sandling in metres"} and pair.distance < 0.002


def test_half_models_and_boats_come_out_at_full_size_together(era):
    frame = era.measures()
    models = frame[frame["scale"] == 8]
    assert len(models) == 8
    assert models.length.between(4.3, 5.6).all() and frame.length.between(4.3, 5.6).all()


# What goes wrong costs only itself


def test_a_broken_file_an_empty_one_and_a_copy_cost_only_themselves(folder):
    (folder / "broken.offsets").write_text(SANDLING.read_text(encoding="utf-8").replace("1-1-5", "1-13-5"))
    (folder / "empty.offsets").write_text("")
    (folder / "bytes.offsets").write_bytes(b"\xff\xfe\x00\x01" * 50)
    shutil.copy(SANDLING, folder / "sandling-again.offsets")
    (folder / "notes.txt").write_text("Seen on the hard at Gullsand.\n")
    (folder / ".hidden.offsets").write_text("")
    boats = gather(folder)
    frame = boats.measures()
    assert (
        set(frame.index) == {"Petrel's Egg", "Turnstone", "Sandling (sandling-again)", "Sandling (sandling)"}
        and numpy.isfinite(frame.beam).all()
    )
    assert sorted(f.path.name for f in boats.failures) == ["broken.offsets", "bytes.offsets", "empty.offsets"]
    reason = next(f.reason for f in boats.failures if f.path.name == "broken.offsets")
    assert "1-13-5" in reason and "broken.offsets:" in reason
    assert [d.path.name for d in boats.namesakes] == ["sandling.offsets"] and len(boats.near()) == 1
    assert [p.name for p in boats.ignored] == ["notes.txt"]


def test_what_is_no_plain_file_in_a_folder_is_listed(tmp_path):
    shutil.copy(SAMPLES / "mudlark.offsets", tmp_path)
    (tmp_path / "broken.offsets").symlink_to("nowhere")
    (tmp_path / "round.offsets").symlink_to("round.offsets")
    os.mkfifo(tmp_path / "pipe.offsets")
    (tmp_path / "era").symlink_to(SAMPLES / "era")
    boats = scrieve.collection(tmp_path, cache=False)
    assert len(boats) == 1
    reasons = {failure.path.name: failure.reason for failure in boats.failures}
    assert reasons == {
        "broken.offsets": "a link that leads nowhere",
        "round.offsets": "a link that leads nowhere",
        "pipe.offsets": "no plain file",
        "era": "a link to a folder is not followed: name the folder itself",
    }


def test_a_file_whose_name_no_encoding_has_is_compared_like_any_other(tmp_path):
    for name in ("m\udcff.offsets", "plain.offsets"):
        shutil.copy(SAMPLES / "mudlark.offsets", tmp_path / name)
    boats = scrieve.collection(tmp_path, cache=False)
    from scrieve.tables import csv_text

    written = csv_text(boats.facts())
    assert "m\\udcff.offsets" in written and written.encode()


def test_a_boat_measured_twice_is_told_and_kept(folder):
    text = SANDLING.read_text(encoding="utf-8").replace("1-1-5", "1-1-6")
    (folder / "sandling-second-visit.offsets").write_text(text, encoding="utf-8")
    boats = gather(folder)
    assert [d.path.name for d in boats.namesakes] == ["sandling.offsets"]
    assert {"Sandling (sandling-second-visit)", "Sandling (sandling)"} < set(boats.measures().index)


def test_a_table_that_cannot_be_faired_costs_only_itself(folder):
    (folder / "scant.offsets").write_text(
        '+++\nformat = 1\nname = "Scant"\nunits = "mm"\n+++\n\nstation | 1 2\nfrom stem | 100 900\n\n'
        "[heights]\nsheer | 700 690\nrabbet | 60 50\n\n[half-breadths]\nsheer | 300 500\n"
    )
    boats = gather(folder)
    frame = boats.measures()
    assert len(frame) == 4 and numpy.isnan(frame.loc["Scant", "beam"])
    assert [f.path.name for f in boats.failures] == ["scant.offsets"]
    assert len(boats.shapes()) == 3


def test_a_waterline_over_her_sheer_costs_only_what_is_reckoned_from_it(folder):
    text = SANDLING.read_text(encoding="utf-8").replace('load_waterline = "0-11-2"', 'load_waterline = "9-0-0"')
    (folder / "sandling.offsets").write_text(text, encoding="utf-8")
    boats = gather(folder)
    frame = boats.measures()
    assert numpy.isnan(frame.volume["Sandling"]) and frame.beam["Sandling"] > 1.5
    assert [f.path.name for f in boats.failures] == ["sandling.offsets"] * 2
    assert "floating" in boats.failures[0].reason and "sails" in boats.failures[1].reason


def test_a_fault_in_one_measure_of_one_boat_is_no_more_than_that(folder, plug):
    # What PyO3 raises where Rust panics is no Exception.
    plug("""
        class Fault(BaseException):
            pass
        class Gull:
            def measure(self, hull, facts):
                raise Fault("out of gulls")
        plugin = Gull()
        """)
    boats = gather(folder)
    assert (boats.measures().beam > 1.2).all() and len(boats.failures) == 3
    assert "out of gulls" in boats.failures[0].reason


def test_a_folder_with_nothing_in_it_is_an_empty_frame(tmp_path):
    boats = gather(tmp_path)
    assert len(boats) == 0 and len(boats.measures()) == 0 and not boats.failures
    with pytest.raises(scrieve.ScrieveError, match="no shapes"):
        boats.distances()


def test_a_path_that_is_not_there_is_listed(folder):
    boats = gather([folder, folder / "gone.offsets"])
    assert len(boats) == 3 and boats.failures == [(folder / "gone.offsets", "no such file or folder")]


def test_a_pattern_and_a_list_of_files_will_do(folder):
    assert len(gather(str(folder / "18*.offsets"))) == 2
    assert len(gather([SANDLING, SANDLING, SAMPLES / "stephens-1889-plate-11.csv"])) == 2


@pytest.fixture
def plug(tmp_path, monkeypatch):
    """Lays down a measure in a package of its own, as an installer leaves it."""
    caches = (_plugins._discover, _cache._code)

    def plug(code):
        (tmp_path / "gull_measures.py").write_text(textwrap.dedent(code))
        info = tmp_path / "gull_measures-0.3.dist-info"
        info.mkdir()
        (info / "METADATA").write_text("Metadata-Version: 2.1\nName: gull-measures\nVersion: 0.3\n")
        (info / "entry_points.txt").write_text("[scrieve.measures]\ngull = gull_measures:plugin\n")
        monkeypatch.syspath_prepend(tmp_path)
        for cached in caches:
            cached.cache_clear()

    yield plug
    sys.modules.pop("gull_measures", None)
    for cached in caches:
        cached.cache_clear()


def test_a_failing_measure_costs_only_itself_and_is_named_with_its_package(folder, plug):
    plug("""
        from scrieve.plugin import Quantity
        class Gull:
            def measure(self, hull, facts):
                if facts["year"] > 1890:
                    raise RuntimeError("no gulls after 1890")
                return {"gulls": Quantity(3, "gulls", "measured")}
        plugin = Gull()
        """)
    boats = gather(folder)
    frame = boats.measures()
    assert frame.gulls.to_dict()["Turnstone"] == 3 and numpy.isnan(frame.gulls["Sandling"])
    assert numpy.isfinite(frame.beam["Sandling"]) and frame.attrs["units"]["gulls"] == "gulls"
    (failure,) = boats.failures
    assert failure.path.name == "sandling.offsets"
    assert all(word in failure.reason for word in ("gull-measures", "0.3", "no gulls after 1890"))


@pytest.mark.parametrize(
    "given", ["None", "{'beam': Quantity(1, 'm')}", "{'gulls': 3}", "{'gulls': Quantity(3, '', 'guessed')}",
              "{'gulls': Quantity('three', '')}"]
)  # fmt: skip
def test_a_measure_that_gives_no_numbers_or_anothers_is_refused(folder, plug, given):
    plug(f"""
        from scrieve.plugin import Quantity
        class Gull:
            def measure(self, hull, facts):
                return {given}
        plugin = Gull()
        """)
    boats = gather(folder)
    frame = boats.measures()
    assert len(boats.failures) == 3 and all("gull-measures" in f.reason for f in boats.failures)
    assert (frame.beam > 1.2).all()


# Executors


def same(a, b):
    return a.drop(columns="file").equals(b.drop(columns="file"))


@pytest.mark.parametrize("kind", [ThreadPoolExecutor, ProcessPoolExecutor])
def test_threads_and_processes_give_the_same_frame(folder, kind):
    plain = gather(folder).measures()
    with kind(2) as executor:
        boats = gather(folder)
        assert same(boats.measures(executor), plain) and not boats.failures


def test_a_local_dask_cluster_does_the_work(folder):
    import distributed

    plain = gather(folder).measures()
    here = {"n_workers": 1, "threads_per_worker": 1, "processes": False, "dashboard_address": None}
    with distributed.LocalCluster(**here) as cluster, distributed.Client(cluster) as client:
        assert same(gather(folder).measures(client.get_executor()), plain)


def test_a_worker_that_dies_loses_its_work_and_nothing_else(folder):
    with ProcessPoolExecutor(1) as executor:
        executor.submit(os.getpid).result()
        os.kill(executor.submit(os.getpid).result(), 9)
        boats = gather(folder)
        try:
            frame = boats.measures(executor)
        except Exception as error:  # the pool may be known to be broken before a job is given it
            pytest.fail(f"{type(error).__name__} came out")
    assert frame.get("beam", pandas.Series(dtype=float)).isna().all()
    assert all("lost" in f.reason for f in boats.failures) and len(boats.failures) == 3


def test_a_boat_that_kills_each_worker_she_is_given_to_costs_only_herself(folder, monkeypatch):
    class Deadly(ThreadPoolExecutor):
        def submit(self, work, boats, *args):
            if any(path.name == SANDLING.name for path, *_ in boats):
                return super().submit(os.kill, os.getpid(), "a signal that is none")
            return super().submit(work, boats, *args)

    monkeypatch.setattr(measuring, "LEAST_JOBS", 1)  # so that all three go in one job
    with Deadly(1) as executor:
        boats = gather(folder)
        frame = boats.measures(executor)
    assert [f.path.name for f in boats.failures] == [SANDLING.name] and "lost: TypeError" in boats.failures[0].reason
    assert frame.beam.notna().sum() == 2


# The cache


def test_a_second_run_fairs_nothing(folder, tmp_path, counted):
    first = gather(folder, cache=tmp_path / "cache").measures()
    assert len(counted) == 3
    second = gather(folder, cache=tmp_path / "cache")
    assert second.measures().equals(first) and second.shapes() and len(counted) == 3
    assert second.measures().attrs == first.attrs


def test_what_has_changed_is_measured_anew(folder, tmp_path, counted):
    gather(folder, cache=tmp_path / "cache").measures()
    path = folder / "sandling.offsets"
    path.write_text(path.read_text(encoding="utf-8").replace("2-6-1", "2-6-2"), encoding="utf-8")
    gather(folder, cache=tmp_path / "cache").measures()
    assert len(counted) == 4


@pytest.mark.parametrize("harm", [b"", b"PK\x03\x04 cut short", None])
def test_a_spoilt_cache_is_as_if_it_were_not_there(folder, tmp_path, counted, harm):
    cache = tmp_path / "cache"
    first = gather(folder, cache=cache).measures()
    for held in cache.iterdir():
        held.write_bytes(held.read_bytes()[:700] if harm is None else harm)
    assert gather(folder, cache=cache).measures().equals(first) and len(counted) == 6
    assert not list(cache.glob("*.part"))


def test_a_full_cache_lets_go_what_was_longest_untouched(folder, tmp_path, monkeypatch, counted):
    cache = tmp_path / "cache"
    gather(folder, cache=cache).measures()
    # Named as the cache names its own: it lets go of nothing else.
    old = {f"{i:064x}.npz" for i in range(9)}
    for name in old:
        (cache / name).touch()
        os.utime(cache / name, (1, 1))
    monkeypatch.setattr(_cache, "MOST_KEPT", 10)
    (folder / "one-more.offsets").write_text((SAMPLES / "turnstone.offsets").read_text(encoding="utf-8"))
    gather(folder, cache=cache).measures()
    kept = {path.name for path in cache.iterdir()}
    assert len(kept) == 9 and len(kept - old) == 4, "the four boats, and as many of the old as there is room for"
    assert len(counted) == 4
    gather(folder, cache=cache).measures()
    assert len(counted) == 4


def test_a_cache_that_cannot_be_written_is_no_matter(folder, tmp_path):
    (tmp_path / "file").write_text("not a folder")
    assert len(gather(folder, cache=tmp_path / "file").measures()) == 3


def test_long_work_is_counted_on_standard_error_and_short_work_is_not(capsys, monkeypatch):
    from scrieve.terminal import counted as _progress

    assert list(_progress.counted([1, 2], "sounding")) == [1, 2]
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(_progress, "PATIENCE_S", 0.0)
    list(_progress.counted([1, 2], "sounding"))
    assert "sounding: 2 in" in capsys.readouterr().err


# The command line


@pytest.fixture
def own_cache(tmp_path, monkeypatch):
    for name in ("XDG_CACHE_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))


def test_compare_tells_each_boat_and_her_nearest_relative(run, folder, own_cache):
    done = run("compare", folder)
    # Whoever waits longer than a second is told what for.
    said = [line for line in done.stderr.splitlines() if not line.startswith("measuring boats:")]
    assert done.returncode == 0 and said == []
    for word in ("Petrel's Egg", "Turnstone", "Sandling", "nearest", "m³", "mm/m"):
        assert word in done.stdout


def test_compare_does_the_rest_and_says_what_it_could_not_read(run, folder, own_cache, tmp_path):
    (folder / "empty.offsets").write_text("")
    done = run("compare", folder, "-o", tmp_path / "boats.csv", "--by", "all", "--json")
    assert done.returncode == 1
    assert "empty.offsets" in done.stderr
    told = json.loads(done.stdout)
    assert len(told["boats"]) == 3 and told["failures"][0]["path"].endswith("empty.offsets")
    assert told["boats"][0]["basis"]["beam"] == "faired" and told["distances"]["Turnstone"]["Turnstone"] == 0
    table = pandas.read_csv(tmp_path / "boats.csv")
    assert list(table.name) == [b["name"] for b in told["boats"]] and "beam (m)" in table
    assert table["assumed"].fillna("").tolist() == ["mass lead", "mass lead", "mass"]


def test_where_one_boat_is_fuller_than_another_is_said_and_given_as_data(run):
    between = ("--between", "Petrel's Egg", "Thrift")
    done = run("compare", ERA, *between)
    said = "Thrift against Petrel's Egg, both to the inside of planking: inside her by up to"
    assert done.returncode == 0 and said in done.stdout
    (found,) = json.loads(run("compare", ERA, *between, "--json").stdout)["gaps"]
    assert found["between"] == ["Petrel's Egg", "Thrift"] and 0.01 < found["rms"] < found["greatest"] < 0.06
    assert len(found["outside_mm_per_m"]) == 10 and all(row["mid-girth"] < 0 for row in found["outside_mm_per_m"])
    unknown = run("compare", ERA, "--between", "Thrift", "Cockle")
    assert unknown.returncode == 2 and "no boat called 'Cockle'" in unknown.stderr


def test_compare_of_nothing_is_an_error(run, tmp_path, own_cache):
    (tmp_path / "none").mkdir()
    assert run("compare", tmp_path / "none").returncode == 2
    assert run("compare", tmp_path / "gone").returncode == 2


def test_compare_writes_csv_and_nothing_else(run, folder, own_cache, tmp_path):
    done = run("compare", folder, "-o", tmp_path / "boats.xlsx")
    assert done.returncode == 2 and "csv" in done.stderr


# How sure the numbers are


def test_measures_say_how_sure_they_are_when_asked(era):
    frame = era.measures(uncertainty=True)
    assert frame.attrs["units"]["volume_sd"] == "m³" and "volume_sd" not in frame.attrs["basis"]
    # What sails' corners are worth nobody says; a rake is worth what its spots are; the mass of the sea water displaced
    # is fairing's to doubt.
    assert "sail_area_sd" not in frame and (frame.transom_rake_sd > 0).all() and (frame.mass_sd > 0).all()
    own = scrieve.read(frame.file["Thrift"]).fair()
    volume = own.uncertainty(lambda h: h.hydrostatics(frame.load_waterline["Thrift"]), samples=16).volume
    assert frame.volume["Thrift"] == pytest.approx(volume.value)
    assert frame.volume_sd["Thrift"] == pytest.approx(volume.sd)
    # A model at 1:8 read to the sixteenth is four times as coarse at full size as a boat read to the eighth.
    models = frame[frame["scale"] == 8]
    boats = frame[frame["scale"] == 1]
    assert 2 < (models.beam_sd.median() / boats.beam_sd.median()) < 6
    plain = era.measures()
    assert not any(str(name).endswith("_sd") for name in plain)
    pandas.testing.assert_frame_equal(plain, frame[plain.columns], check_exact=True)


def test_boats_in_closed_form_lie_within_the_uncertainty_of_their_measures(era):
    frame = era.measures(uncertainty=True)
    truth = pandas.DataFrame(PUT_IN["boats"]).T.loc[frame.index].astype(float, errors="ignore")
    off = [(frame[name] - truth[name].astype(float)) / frame[f"{name}_sd"] for name in ("beam_length", "hollow")]
    within = numpy.mean([abs(o) < 2 for o in off])
    assert within > 0.85, off


def test_a_second_asking_takes_uncertainties_from_the_cache(folder, tmp_path, monkeypatch):
    first = scrieve.collection(folder, cache=tmp_path / "cache").measures(uncertainty=True)
    monkeypatch.setattr(measuring, "figures_of", None)
    again = scrieve.collection(folder, cache=tmp_path / "cache")
    pandas.testing.assert_frame_equal(again.measures(uncertainty=True), first, check_exact=True)
    assert list(again.measures()) == [name for name in first if not name.endswith("_sd")]


def test_a_measure_that_fails_of_possible_hulls_costs_its_uncertainty_alone(folder, monkeypatch):
    plugin = next(p for p in _plugins.plugins("measures") if p.name == "form")
    kept = _plugins.Plugin.call

    def call(self, method, *given, **options):
        if self.name == "form" and given[0].corrections().empty:
            raise scrieve.ScrieveError("no such luck")
        return kept(self, method, *given, **options)

    monkeypatch.setattr(_plugins.Plugin, "call", call)
    boats = scrieve.collection(folder, cache=False)
    with ThreadPoolExecutor(2) as threads:
        frame = boats.measures(threads, uncertainty=True)
    assert "hollow_sd" not in frame and frame.hollow.notna().all() and frame.volume_sd.notna().all()
    (reason,) = {f.reason for f in boats.failures}
    assert reason.startswith(f"uncertainty of {plugin}: of 16 hulls the readings leave possible 16 have no such figure")
    assert reason.endswith("the first: no such luck")


def test_a_trend_weighs_boats_by_their_uncertainty(era):
    frame = era.measures(uncertainty=True)
    plain = trend(frame.year, frame.beam_length)
    found = trend(frame.year, frame.beam_length, sd=frame.beam_length_sd)
    put_in = PUT_IN["drift"]["beam_length"]["a_year"]
    assert found.low < put_in < found.high and found.scatter < plain.residual


def test_compare_writes_how_sure_each_measure_is_when_asked(run, folder, tmp_path):
    done = run("compare", folder, "-o", tmp_path / "boats.csv", "--uncertainty", "--no-cache")
    assert done.returncode == 0, done.stderr
    written = pandas.read_csv(tmp_path / "boats.csv", index_col="name")
    assert (written["volume_sd (m³)"] > 0).all() and (written["volume_sd (m³)"] < 0.01 * written["volume (m³)"]).all()
    # The terminal's table stays as narrow as it was.
    assert "_sd" not in done.stdout and " sd" not in done.stdout
