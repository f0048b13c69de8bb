"""Errors as one family, and what says which scrieve it is."""

import subprocess
import sys

import pytest
from conftest import PATIENCE_S, SAMPLES


def test_every_error_is_a_scrieve_error_and_so_one_handler_catches_them():
    import scrieve
    from scrieve import errors

    named = [getattr(errors, name) for name in errors.__all__ if name.endswith("Error")]
    assert len(named) >= 9
    assert all(issubclass(error, scrieve.ScrieveError) and issubclass(error, ValueError) for error in named)
    with pytest.raises(scrieve.ScrieveError):
        scrieve.Reading("1-13-0")


@pytest.mark.parametrize("deeper", [False, True])
def test_a_worker_that_panics_is_a_fault_of_scrieve_and_no_wrong_table(deeper):
    """On the thread that does the work, or on one that helps it."""
    from scrieve import _core, errors

    said = "a fault of scrieve itself, not of the table: a sum of nothing"
    with pytest.raises(errors.InternalError, match=said) as it:
        _core.fault("a sum of nothing", deeper=deeper)
    assert not isinstance(it.value, (errors.TableError, errors.FairingError, errors.HullError))
    # And work goes on after it.
    assert scrieve_still_reads()


def scrieve_still_reads():
    import scrieve

    return scrieve.Reading("1-2-3").m > 0


@pytest.mark.parametrize("verb", ["fair", "proof", "loft"])
def test_a_verb_whose_work_panics_names_it_a_fault_and_asks_for_a_report(tmp_path, verb):
    """No traceback, no cell of the table, and an end that is not a finding's."""
    out = ["-o", str(tmp_path / "out")] if verb == "loft" else []
    code = (
        "import sys; from scrieve import _core, cli; from scrieve.table.table import Table\n"
        "Table.fair = Table.proof = lambda *given, **asked: _core.fault('a sum of nothing')\n"
        f"sys.argv = ['scrieve', {verb!r}, {str(SAMPLES / 'sandling.offsets')!r}, *{out!r}]\n"
        "cli.main()"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=PATIENCE_S)
    assert done.returncode == 2 and "a fault of scrieve itself, not of the table: a sum of nothing" in done.stderr
    assert "please report it" in done.stderr and "Traceback" not in done.stderr, done.stderr
    assert not (tmp_path / "out").exists()


def test_the_version_is_that_of_the_package_and_the_command_line_runs_as_a_module():
    from importlib.metadata import version

    import scrieve

    assert scrieve.__version__ == version("scrieve")
    said = subprocess.run([sys.executable, "-m", "scrieve", "--version"], capture_output=True, text=True, check=True)
    assert scrieve.__version__ in said.stdout


def raised(ask):
    import scrieve

    with pytest.raises(scrieve.ScrieveError) as caught:
        ask()
    return caught.value


def test_every_error_says_what_where_and_what_would_do(tmp_path, sandling, sandling_hull):
    """A table's mistake has file, line and column, a reading its place in the text, an argument its name; an error that
    was raised with a message alone is all about that."""
    import scrieve
    from scrieve import errors

    text = sandling.to_text().replace("year = 1903", 'year = "then"')
    wrong = raised(lambda: scrieve.Table.from_text(text, "boat.offsets"))
    line = text.splitlines().index('year = "then"') + 1
    assert wrong.where[:2] == ("boat.offsets", line) and wrong.where[2] >= 1
    assert wrong.what in str(wrong) and wrong.remedy in str(wrong) and wrong.what == wrong.mistakes[0]["problem"]

    odd = raised(lambda: scrieve.Reading("3-x-5"))
    assert odd.where[0] == "3-x-5" and odd.where[1] == odd.span and odd.what == odd.found
    assert odd.remedy == f"expected {odd.expected}"

    thick = raised(lambda: sandling_hull.mould_set(deduct=16.0))
    assert thick.where == "deduct" and thick.what == "deduct of 16 m" and thick.remedy.startswith("expected at most")
    assert str(thick) == f"{thick.what}: {thick.remedy}"
    two = raised(lambda: sandling_hull.backbone(thickness=16.0, half_siding=16.0))
    assert two.where == ["thickness", "half_siding"] and str(two) == two.what and two.remedy is None

    no_reader = raised(lambda: scrieve.read(__file__))
    assert no_reader.where.name == "test_errors.py" and "no reader knows" in no_reader.what
    assert raised(lambda: scrieve.write(sandling_hull.lines(), tmp_path / "a.odd")).where == tmp_path / "a.odd"
    off = raised(lambda: sandling_hull.hydrostatics([0.2, 9.0]))
    assert off.where == "at index 1" and off.reason and str(off).startswith("at index 1: ")

    bare = raised(lambda: sandling_hull.section(99.0))
    assert bare.what == str(bare) and bare.where is None and bare.remedy is None
    for name in errors.__all__:
        kind = getattr(errors, name)
        if issubclass(kind, Exception) and not issubclass(kind, Warning):
            plain = kind("so it is")
            assert (plain.what, plain.where, plain.remedy) == ("so it is", None, None)


def test_an_error_keeps_its_data_on_the_way_between_processes(sandling_hull):
    import pickle

    thick = raised(lambda: sandling_hull.mould_set(deduct=16.0))
    back = pickle.loads(pickle.dumps(thick))
    assert type(back) is type(thick) and (str(back), back.what, back.where) == (str(thick), thick.what, thick.where)
