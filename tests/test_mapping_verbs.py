"""A printed page and its mapping go into every verb that takes a table, wherever the mapping lies."""

import json
import shutil

import click
import pytest
from conftest import SAMPLES

from scrieve.cli import scrieve

PLATE = SAMPLES / "stephens-1889-plate-11.csv"


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """A published page with no mapping beside it, and the mapping."""
    folder = tmp_path_factory.mktemp("page")
    shutil.copy(PLATE, folder / "page.csv")
    (folder / "mappings").mkdir()
    shutil.copy(PLATE.with_suffix(".toml"), folder / "mappings" / "book.toml")
    return folder / "page.csv", folder / "mappings" / "book.toml"


def commands(group, names=()):
    """Every command of a group and of the groups within it, by its names."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        if isinstance(command, click.Group):
            yield from commands(command, (*names, name))
        else:
            yield " ".join((*names, name)), command


def test_every_verb_that_takes_a_table_takes_a_mapping():
    seen = []
    for name, command in commands(scrieve):
        options = {option for param in command.params for option in param.opts}
        if "table" in options or "folder" in options:
            seen.append(name)
            assert {"--mapping", "--reader"} <= options, name
    assert {"read", "proof", "fair", "lines", "loft", "pickup moulds", "float", "compare"} <= set(seen)


@pytest.mark.parametrize("verb", ["proof", "fair"])
def test_it_is_read_as_with_its_mapping_beside_it(run, page, verb):
    table, mapping = page
    through = run(verb, table, "--mapping", mapping)
    beside = run(verb, PLATE)
    assert through.stdout == beside.stdout and through.returncode == beside.returncode == 1
    without = run(verb, table)
    assert without.returncode == 2 and "page.toml" in without.stderr


def test_lofting_and_drawing_take_it(run, page, tmp_path):
    table, mapping = page
    assert run("loft", table, "--mapping", mapping, "-o", tmp_path / "lofted").returncode == 1
    assert (tmp_path / "lofted" / "index.html").is_file()
    assert run("lines", table, "--mapping", mapping, "-o", tmp_path / "lines.svg").returncode == 1
    assert (tmp_path / "lines.svg").is_file()


def test_a_comparison_reads_pages_through_it_and_tables_as_they_are(run, page):
    table, mapping = page
    done = run("compare", table, SAMPLES / "mudlark.offsets", "--mapping", mapping, "--planking", "0-0-2", "--json")
    boats = {row["name"] for row in json.loads(done.stdout)["boats"]}
    assert boats == {"American cruising canoe, 14 ft by 30 in", "Mudlark"}


def test_the_mapping_is_an_input_that_nothing_writes_over(run, page):
    table, mapping = page
    before = mapping.read_text()
    for verb in ("fair", "lines"):
        done = run(verb, table, "--mapping", mapping, "-o", mapping)
        assert done.returncode == 2 and "book.toml" in done.stderr
    assert mapping.read_text() == before


def test_a_table_in_a_file_of_its_own_takes_none(run, page):
    done = run("proof", SAMPLES / "mudlark.offsets", "--reader", "offsets", "--mapping", page[1])
    assert done.returncode == 2 and "takes no mapping" in done.stderr
