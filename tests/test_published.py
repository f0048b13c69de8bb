"""A published table: W. P. Stephens, Canoe and Boat Building, 4th edition, New York 1889, plate XI."""

import csv
from pathlib import Path

import pytest
from conftest import SAMPLES

import scrieve

PLATE = SAMPLES / "stephens-1889-plate-11.csv"


@pytest.fixture(scope="module")
def canoe():
    return scrieve.read(PLATE)


def printed():
    with open(PLATE, encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def test_every_reading_goes_in_as_it_was_printed(canoe):
    rows = {
        "height deck": "sheer height",
        "height rabbet": "rabbet height",
        "half-breadth deck": "sheer half-breadth",
        "half-breadth 6 in": "waterline 0-6-0",
        "half-breadth 4 in": "waterline 0-4-0",
        "half-breadth 2 in": "waterline 0-2-0",
    }
    count = 0
    for line in printed():
        for heading, row in rows.items():
            reading = canoe.reading(line["station"], row)
            if line[heading]:
                assert str(reading) == line[heading], (line["station"], heading)
                count += 1
            elif heading == "height rabbet" and line["station"] not in ("0", "14"):
                # The book leaves the rabbet out where it is on the base line.
                assert reading.mm == 0
            else:
                assert reading is None, (line["station"], heading)
    assert count == 78


def test_stations_stand_a_foot_apart(canoe):
    assert list(canoe.station_x.values()) == pytest.approx([0.3048 * i for i in range(15)])


def test_readings_are_feet_and_inches_with_a_raised_eighth(canoe):
    assert canoe.reading("0", "sheer height").mm == 18 * 25.4
    assert canoe.reading("6", "waterline 0-4-0").mm == pytest.approx((13 + 3 / 8) * 25.4, abs=1e-9)


def test_fairing_leaves_out_what_the_rest_of_the_boat_contradicts(canoe):
    corrections = canoe.fair().corrections()
    out = {(c.station, c.row) for c in corrections[corrections.doubted].itertuples()}
    # Half an inch at station 3 and at station 13, where both neighbours are some four inches or more.
    assert {("3", "waterline 0-2-0"), ("13", "sheer half-breadth")} <= out
    assert len(out) <= 5


def test_the_rest_of_the_canoe_is_fair_to_the_eighth(canoe):
    corrections = canoe.fair().corrections()
    kept = corrections[~corrections.doubted & (corrections.moved.abs() < 0.05)]
    assert len(kept) >= 72
    assert (kept.moved**2).mean() ** 0.5 < 0.002


def test_a_heading_the_mapping_does_not_find_is_named(tmp_path):
    table = tmp_path / "table.csv"
    table.write_text(PLATE.read_text().replace("height rabbet", "height garboard"))
    (tmp_path / "table.toml").write_text(PLATE.with_suffix(".toml").read_text())
    with pytest.raises(scrieve.TableError, match=r"table\.csv:5:.*height rabbet"):
        scrieve.read(table)


def test_a_cell_that_is_no_reading_is_located(tmp_path):
    table = tmp_path / "table.csv"
    table.write_text(PLATE.read_text().replace("1-2^7,0-0^4", "1-2^9,0-0^4"))
    (tmp_path / "table.toml").write_text(PLATE.with_suffix(".toml").read_text())
    with pytest.raises(scrieve.TableError, match=r"table\.csv:8:3: 1-2\^9") as caught:
        scrieve.read(table)
    assert caught.value.mistakes[0]["line"] == 8


def test_a_printed_table_without_its_mapping_says_what_is_missing(tmp_path):
    table = tmp_path / "table.csv"
    table.write_text(PLATE.read_text())
    with pytest.raises(scrieve.TableError, match=r"table\.toml"):
        scrieve.read(Path(table))
