"""The table of offsets across the boundary: what a person wrote, and what Python gets of it."""

import pickle

import pytest

from scrieve._core import Reading, TableError, read_offsets, table_from_rows

INCH = 0.0254  # NIST SP 811, appendix B

TURNSTONE = """\
+++
format = 1
name = "Turnstone"                 # invented
builder = "J. Tranter"
year = 1911
units = "feet-inches-eighths"
scale = "1 in = 1 ft"
planking = "0-0-5"

[transom]
foot = { from_stem = "1-3-0", height = "0-1-0" }
head = { from_stem = "1-4-0", height = "0-2-4" }

[sail.lug]
corners = [["3-0-0", "4-0-0"], ["11-0-0", "4-0-0"], ["3-0-0", "16-0-0"]]

[extra]
number = "MR 7"
visits = [1, 2.5, true]
+++

station   | 1      2      T        # T on the transom
from stem | 0-2-0  0-9-0  -

[heights]
sheer     | 0-2-4  0-2-0  0-2-4
rabbet    | 0-0-4  0-0-2  0-1-0

[half-breadths]
sheer     | 0-1-2? 0-3-0! 0-2-0
"""


@pytest.fixture
def turnstone():
    return read_offsets(TURNSTONE.encode(), "turnstone.offsets")


def mistakes(text):
    with pytest.raises(TableError) as caught:
        read_offsets(text if isinstance(text, bytes) else text.encode(), "boat.offsets")
    return caught.value


def test_a_table_is_read_from_a_path_and_from_bytes_alike(tmp_path, turnstone):
    path = tmp_path / "turnstone.offsets"
    path.write_text(TURNSTONE, encoding="utf-8")
    assert read_offsets(path) == read_offsets(str(path)) == turnstone
    assert read_offsets(path).file == str(path)


def test_a_file_that_is_not_there_is_the_systems_error(tmp_path):
    with pytest.raises(FileNotFoundError, match="missing.offsets"):
        read_offsets(tmp_path / "missing.offsets")


def test_stations_and_rows_are_those_of_the_file(turnstone):
    assert turnstone.stations == ["1", "2", "T"]
    # An inch of the model is a foot of the boat.
    assert turnstone.station_x == pytest.approx([24 * INCH, 108 * INCH, None])
    assert turnstone.rows == [("heights", "sheer"), ("heights", "rabbet"), ("half-breadths", "sheer")]
    assert turnstone.grid[2] == ["0-1-2?", "0-3-0!", "0-2-0"]


def test_facts_are_plain_values_in_metres_at_full_size(turnstone):
    facts = turnstone.facts
    assert facts["name"] == turnstone.name == "Turnstone"
    assert (facts["builder"], facts["year"], facts["scale"]) == ("J. Tranter", 1911, 12.0)
    assert facts["planking"] == pytest.approx(0.625 * INCH)
    assert facts["transom"]["head"] == pytest.approx((12 * 16 * INCH, 12 * 2.5 * INCH))
    assert facts["sails"]["lug"][1] == pytest.approx((132 * INCH, 48 * INCH))
    assert facts["extra"] == {"number": "MR 7", "visits": [1, 2.5, True]}
    assert "place" not in facts and "half_siding" not in facts


def test_a_reading_is_exact_and_keeps_its_mark(turnstone):
    reading = turnstone.reading("1", "sheer half-breadth")
    assert reading == Reading("0-1-2")
    assert (str(reading), reading.mark) == ("0-1-2?", "?")
    assert turnstone.reading("1", "half-breadths sheer") == reading
    with pytest.raises(TableError, match="`sheer height` or `sheer half-breadth`"):
        turnstone.reading("1", "sheer")
    with pytest.raises(TableError, match="the station to be"):
        turnstone.reading("9", "rabbet")


def test_the_text_comes_back_to_the_letter_but_for_what_is_replaced(turnstone):
    assert turnstone.to_text() == TURNSTONE
    edited = turnstone.with_reading("2", "rabbet", "0-0-2+")
    assert edited.to_text() == TURNSTONE.replace("0-0-4  0-0-2  0-1-0", "0-0-4  0-0-2+ 0-1-0")
    assert turnstone.to_text() == TURNSTONE
    assert edited != turnstone
    with pytest.raises(TableError, match="0 to 7"):
        turnstone.with_reading("2", "rabbet", "0-0-9")


def test_a_correction_is_written_down(turnstone):
    corrected = turnstone.with_correction("1", "rabbet", "0-0-5", "4 misread for 5")
    assert corrected.corrections == ["station 1 | rabbet height | was 0-0-4 | now 0-0-5 | 4 misread for 5"]
    assert corrected.reading("1", "rabbet") == Reading("0-0-5")


def test_a_table_written_is_the_table_read(tmp_path, turnstone):
    path = tmp_path / "boat.offsets"
    turnstone.write(path)
    assert path.read_bytes() == TURNSTONE.encode()
    assert [p.name for p in tmp_path.iterdir()] == ["boat.offsets"]
    with pytest.raises(OSError, match="no such folder"):
        turnstone.write(tmp_path / "no such folder" / "boat.offsets")


def test_a_table_is_pickled_by_its_text(turnstone):
    again = pickle.loads(pickle.dumps(turnstone))
    assert again == turnstone
    assert (again.to_text(), again.file) == (TURNSTONE, "turnstone.offsets")


def test_all_mistakes_come_together_with_their_place():
    error = mistakes(TURNSTONE.replace("planking", "plankign").replace("0-0-4  0-0-2", "0-0-4  0-13-2"))
    first, second = error.mistakes
    assert (first["file"], first["line"], first["column"]) == ("boat.offsets", 8, 1)
    assert (first["text"], first["expected"], first["severity"]) == ("plankign", "`planking`", "error")
    assert (second["line"], second["column"], second["text"]) == (27, 22, "13")
    assert second["source_line"] == "rabbet    | 0-0-4  0-13-2  0-1-0"
    assert '\n 8 | plankign = "0-0-5"\n   | ^^^^^^^^ expected `planking`' in str(error)
    assert isinstance(error, ValueError)


def test_what_is_no_text_is_an_error_with_its_place():
    assert mistakes(b"").mistakes[0]["problem"] == "the file is empty"
    assert mistakes(b"+++\n\x00").mistakes[0]["problem"] == "the file is not text"
    assert mistakes("+++\n".encode("utf-16")).mistakes[0]["problem"] == "the file is UTF-16"
    latin = mistakes('+++\nname = "4½"\n'.encode("latin-1")).mistakes[0]
    assert (latin["line"], latin["column"]) == (2, 10)
    assert mistakes(bytes(100_000_000)).mistakes[0]["problem"] == "the file is longer than 16 MB"


def test_a_warning_does_not_stop_the_table(turnstone):
    text = TURNSTONE + "waterline 0-3-0 | 0-1-0 - -\n"
    table = read_offsets(text.encode(), "boat.offsets")
    assert len(table.warnings) == 1 and turnstone.warnings == []
    assert "boat.offsets:31:19: warning: waterline 0-3-0 lies above the sheer" in table.warnings[0]


def test_what_is_left_out_of_the_hull_is_said(turnstone):
    text = TURNSTONE + "waterline 0-3-0 | 0-1-0 - -\n"
    no_siding = "no half-siding is given: the rabbet is taken to lie on the centreline"
    left_out = "waterline 0-3-0 at station 1 lies above the sheer; it is left out"
    ends = turnstone.open_ends
    assert ends[0].startswith("no stem is given: she begins at her first station, 1; ") and "[stem]" in ends[0]
    assert turnstone.remarks == [*ends, no_siding]
    assert read_offsets(text.encode()).remarks == [*ends, no_siding, left_out]
    with pytest.raises(TableError, match="no hull"):
        _ = table_from_rows(
            {"name": "x"},
            [("1", "1-0-0"), ("2", "2-0-0")],
            [
                ("heights", "sheer", ["1-0-0", "1-0-0"]),
            ],
        ).remarks


def test_a_reader_builds_a_table_from_rows():
    facts = {
        "name": "Cruising canoe",
        "two_part": "feet-inches",
        "year": 1889,
        "backbone": {"half_siding": Reading("0-0-4")},
        "sail": {"main": {"corners": [["1-0-0", "2-0-0"], ["5-0-0", "2-0-0"], ["1-0-0", "8-0-0"]]}},
        "extra": {"plate": "XI", "sheets": 1, "lug": True},
        "place": None,
    }
    rows = [
        ("heights", "sheer", ["1-4^4", "1 2⁷"]),
        ("half-breadths", "waterline 0-6-0", ["0-2^3", ""]),
        ("half-breadths", "sheer", ["0-2^7", None]),
        ("points", "2", ["0-9-0", "0-3 1/2"]),
    ]
    table = table_from_rows(facts, [("1", "1-0-0"), ("2", "2-0-0")], rows, name="plate.csv")
    assert (table.name, table.file) == ("Cruising canoe", "plate.csv")
    assert table.reading("2", "sheer height") == Reading("1-2-7")
    assert table.reading("2", "waterline 0-6-0") is None
    assert table.facts["extra"] == facts["extra"]
    assert table.facts["half_siding"] == pytest.approx(0.5 * INCH)
    assert read_offsets(table.to_text().encode()) == table


def test_mistakes_in_rows_speak_of_the_text_they_make():
    stations = [("1", "1-0-0"), ("2", "2-0-0")]
    with pytest.raises(TableError) as caught:
        rows = [("heights", "sheer", ["1-0-0"]), ("heights", "shear", ["-", "-"])]
        table_from_rows({"name": "x"}, stations, rows)
    problems = [m["problem"] for m in caught.value.mistakes]
    assert problems == ["1 cell for 2 stations", "no row is called `shear`"]
    with pytest.raises(TableError, match="no block is called 'depths'"):
        table_from_rows({"name": "x"}, stations, [("depths", "sheer", ["1-0-0", "1-0-0"])])
    with pytest.raises(TypeError, match="complex"):
        table_from_rows({"name": 1j}, stations, [])
