"""Pages as printers laid them out, typed as printed: each gives the same small boat, or says where it cannot.

The boat, her numbers and her page are invented; the layouts are those of period books (common practice).
"""

import json
import random
import re
import textwrap
from pathlib import Path

import pytest
from conftest import SAMPLES

import scrieve

# Heights of sheer and rabbet, half-breadths of sheer and two waterlines, in eighths of an inch at four stations.
BOAT = {
    ("heights", "sheer"): (222, 198, 186, 190),
    ("heights", "rabbet"): (26, 8, 4, 12),
    ("half-breadths", "sheer"): (44, 120, 152, 118),
    ("half-breadths", "waterline 0-9-0"): (31, 96, 128, 94),
    ("half-breadths", "waterline 0-6-0"): (19, 80, 114, 76),
}
PLACES_IN = (6, 42, 78, 102)
ROWS = """
[rows]
"Heights: Deck" = ["heights", "sheer"]
"Heights: Rabbet" = ["heights", "rabbet"]
"Half-breadths: Deck" = ["half-breadths", "sheer"]
"Half-breadths: 9 in" = ["half-breadths", "waterline 0-9-0"]
"Half-breadths: 6 in" = ["half-breadths", "waterline 0-6-0"]
"""
SPACED = 'first = "0-6-0"\nspacing = ["2 x 3-0-0", "2-0-0"]\nheights = "above base line"\n'
HEAD = 'name = "Dabchick"\nunits = "feet-inches-eighths"\n'


def page(tmp_path, text, layout=SPACED, head=HEAD, rows=ROWS, suffix="txt"):
    """The table of a page and its mapping."""
    path = tmp_path / f"page.{suffix}"
    path.write_text(textwrap.dedent(text).lstrip("\n"), encoding="utf-8")
    (tmp_path / "page.toml").write_text(f"{head}\n[layout]\n{layout}\n{rows}", encoding="utf-8")
    return scrieve.read(path)


def is_the_boat(table):
    assert list(table.station_x.values()) == pytest.approx([0.0254 * x for x in PLACES_IN], abs=1e-9)
    assert sorted(table.rows) == sorted(BOAT)
    for row, metres in zip(table.rows, table._core.metres, strict=True):
        assert metres == pytest.approx([0.0254 / 8 * n for n in BOAT[row]], abs=1e-9), row


def refused(tmp_path, text, **given):
    with pytest.raises(scrieve.TableError) as caught:
        page(tmp_path, text, **given)
    mistakes = caught.value.mistakes
    assert mistakes and all(m["expected"] for m in mistakes)
    return [(m["line"], m["column"]) for m in mistakes], str(caught.value)


GROUPED = """
    Sta. | Heights.         | Half-breadths.
         | Deck.  | Rabbet. | Deck. | 9 in. | 6 in.
    1    | 2-3-6  | 0-3-2   | 0-5-4 | 0-3-7 | 0-2-3
    2    | 2-0-6  | 0-1-0   | 1-3-0 | 1-0-0 | 0-10-0
    3    | 1-11-2 | 0-0-4   | 1-7-0 | 1-4-0 | 1-2-2
    4    | 1-11-6 | 0-1-4   | 1-2-6 | 0-11-6 | 0-9-4
"""


def test_headings_in_groups_in_two_rows(tmp_path):
    is_the_boat(page(tmp_path, GROUPED))


def test_groups_of_a_csv_reach_to_the_next_on_their_right(tmp_path):
    text = """
        Sta.,Heights,,Half-breadths,,
        ,Deck,Rabbet,Deck,9 in,6 in
        1,2-3-6,0-3-2,0-5-4,0-3-7,0-2-3
        2,2-0-6,0-1-0,1-3-0,1-0-0,0-10-0
        3,1-11-2,0-0-4,1-7-0,1-4-0,1-2-2
        4,1-11-6,0-1-4,1-2-6,0-11-6,0-9-4
    """
    is_the_boat(page(tmp_path, text, suffix="csv"))


def test_headings_in_groups_in_one_row(tmp_path):
    text = GROUPED.strip("\n").splitlines()
    head = "    Sta. | Heights: Deck. | Rabbet. | Half-breadths: Deck. | 9 in. | 6 in."
    is_the_boat(page(tmp_path, "\n".join([head, *text[2:]]) + "\n"))


def test_two_equal_headings_are_told_apart_or_refused(tmp_path):
    text = GROUPED.strip("\n").splitlines()
    head = "    Sta. | Deck. | Rabbet. | Deck. | 9 in. | 6 in."
    text = "\n".join([head, *text[2:]]) + "\n"
    rows = ROWS.replace("Heights: ", "").replace("Half-breadths: ", "")
    rows = rows.replace('Deck" = ["heights"', 'Deck [1]" = ["heights"').replace('Deck" = ["half', 'Deck [2]" = ["half')
    is_the_boat(page(tmp_path, text, rows=rows))
    places, said = refused(tmp_path, text, rows=rows.replace("Deck [1]", "Deck"))
    assert (1, 26) in places and "'Deck [1]', 'Deck [2]'" in said
    # In groups, a heading alone is not enough either.
    places, said = refused(tmp_path, GROUPED, rows=ROWS.replace('"Heights: Deck"', '"Deck"'))
    assert "2 headings 'Deck'" in said and "'Heights: Deck.'" in said


def test_dots_dashes_and_leaders_are_empty_cells(tmp_path):
    for empty in ("....", ". . .", "…", "—", "--", "-", ""):
        text = GROUPED.replace("0-1-0", empty)
        cell = page(tmp_path, text)._core.metres[1][1]
        assert cell is None, empty


def test_whole_inches_and_raised_eighths(tmp_path):
    text = """
        Station,Deck H,Rabbet,Deck B,9 in,6 in
        1,2-3^6,3^2,5^4,3^7,2^3
        2,2-0^6,1,1-3,12,10
        3,1-11^2,0^4,1-7,1-4,1-2^2
        4,1-11^6,1^4,1-2^6,11^6,9^4
    """
    rows = ROWS.replace("Heights: Deck", "Deck H").replace("Half-breadths: Deck", "Deck B")
    rows = rows.replace("Heights: ", "").replace("Half-breadths: ", "")
    head = HEAD + 'two_part = "feet-inches"\n'
    table = page(tmp_path, text, rows=rows, head=head, suffix="csv")
    is_the_boat(table)
    assert any(said.startswith("a number alone, such as `1`, is taken as inches (3 cells)") for said in table.assumed)
    declared = page(tmp_path, text, rows=rows, head=head + 'one_part = "inches"\n', suffix="csv")
    is_the_boat(declared)
    assert not any("alone" in said for said in declared.assumed)
    # Where nothing shows that inches need no sign, a number alone stays a mistake, with its place.
    places, said = refused(tmp_path, GROUPED.replace("0-10-0", "10"))
    assert places == [(4, 43)] and "one_part" in said


def test_fractions_set_with_a_dash_and_vulgar_ones_with_spaces(tmp_path):
    text = """
        Station | Deck H | Rabbet | Deck B | 9 in | 6 in
        1 | 2' 3 3-4" | 0' 3 1-4" | 5 1-2" | 3⅞" | 2 3/8"
        2 | 2 ft. 0 3/4 in. | 1" | 1' 3" | 1' 0" | 0' 10"
        3 | 1' 11¼" | ½" | 1' 7" | 1' 4" | 1' 2 1-4"
        4 | 1' 11 ¾" | 1 1-2" | 1' 2 3-4" | 11 3-4" | 9½"
    """
    rows = ROWS.replace("Heights: Deck", "Deck H").replace("Half-breadths: Deck", "Deck B")
    rows = rows.replace("Heights: ", "").replace("Half-breadths: ", "")
    is_the_boat(page(tmp_path, text, rows=rows))


def test_feet_inches_and_eighths_in_columns_of_their_own(tmp_path):
    text = """
        Sta.,Heights,,,,,,Half-breadths,,,,,,,,
        ,Deck,,,Rabbet,,,Deck,,,9 in,,,6 in,,
        ,Ft.,In.,8ths,Ft.,In.,8ths,Ft.,In.,8ths,Ft.,In.,8ths,Ft.,In.,8ths
        1,2,3,6,0,3,2,0,5,4,0,3,7,0,2,3
        2,2,0,6,,1,,1,3,,1,0,,,10,
        3,1,11,2,,,4,1,7,,1,4,,1,2,2
        4,",11,6,,1,4,1,2,6,,11,6,,9,4
    """
    table = page(tmp_path, text, suffix="csv")
    is_the_boat(table)
    (said,) = (text for text in table.assumed if text.startswith("an empty part of a reading is taken as nought: "))
    assert "line " in said and "column " in said
    assert any("ditto" in said for said in table.assumed)
    # Without the small headings the mapping says what the columns are.
    without = "\n".join(line for line in text.splitlines() if "Ft." not in line)
    is_the_boat(page(tmp_path, without, SPACED + 'parts = ["feet", "inches", "eighths"]\n', suffix="csv"))


ACROSS = """
    Station            | 1     | 2      | 3      | 4
                       | Ft In 8 | Ft In 8 | Ft In 8 | Ft In 8
    HEIGHTS
    Deck               | 2 3 6 | 2 0 6  | 1 11 2 | 1 11 6
    Rabbet             | 0 3 2 | 0 1 0  | 0 0 4  | 0 1 4
    HALF-BREADTHS
    Deck               | 0 5 4 | 1 3 0  | 1 7 0  | 1 2 6
    9 in               | 0 3 7 | 1 0 0  | 1 4 0  | 0 11 6
    6 in               | 0 2 3 | 0 10 0 | 1 2 2  | 0 9 4
"""


def test_stations_across_with_groups_on_lines_of_their_own(tmp_path):
    is_the_boat(page(tmp_path, ACROSS, SPACED + 'stations = "across"\nnames = "Station"\n'))
    # The name of the names may be left out, and the page may be too narrow for all stations.
    is_the_boat(page(tmp_path, ACROSS, SPACED + 'stations = "across"\n'))
    halves = []
    for part in (slice(0, 3), slice(3, 5)):
        for line in textwrap.dedent(ACROSS).strip("\n").splitlines():
            cells = line.split("|")
            halves.append("|".join([cells[0], *cells[1:][part.start and 2 : 2 if part.start == 0 else 4]]))
    is_the_boat(page(tmp_path, "\n".join(halves) + "\n", SPACED + 'stations = "across"\nnames = "Station"\n'))


def test_stations_across_with_parts_in_columns(tmp_path):
    lines = textwrap.dedent(ACROSS).strip("\n").splitlines()
    out = []
    for i, line in enumerate(lines):
        label, *cells = [cell.strip() for cell in line.split("|")]
        split = [cell.split() if i else [cell, "", ""] for cell in cells]
        out.append(",".join([label, *(part for cell in split for part in cell)]))
    is_the_boat(page(tmp_path, "\n".join(out) + "\n", SPACED + 'stations = "across"\n', suffix="csv"))


def test_ditto_marks_repeat_what_stands_above(tmp_path):
    for mark in ('"', "do.", "„", "''"):
        text = GROUPED.replace("2-0-6", "2-3-6").replace("| 2-3-6  | 0-1-0", f"| {mark} | 0-1-0")
        table = page(tmp_path, text)
        assert table.reading("2", "sheer height").mm == table.reading("1", "sheer height").mm
        assert table.assumed[0] == "1 ditto mark repeats the reading above it (line 4)"
        cells = table.understood()
        assert cells[(cells.station == "2") & (cells.row == "sheer height")].printed.item() == mark
    places, said = refused(tmp_path, GROUPED.replace("2-3-6", '"'))
    assert places == [(3, 8)] and "there is none above" in said


def test_readings_of_eights_and_dittos_are_no_small_headings(tmp_path):
    text = GROUPED.replace("2-0-6  | 0-1-0   | 1-3-0 | 1-0-0 | 0-10-0", '8 | " | 16 | 8 | "')
    assert text != GROUPED
    table = page(tmp_path, text, head=HEAD + 'one_part = "inches"\n')
    assert [table.reading("2", row).mm for row in ("sheer height", "sheer half-breadth")] == pytest.approx(
        [203.2, 406.4]
    )
    assert table.reading("2", "rabbet height").mm == table.reading("1", "rabbet height").mm


def test_a_ditto_mark_in_a_csv_is_no_quotation(tmp_path):
    text = """
        Sta.,Heights: Deck,Rabbet,Half-breadths: Deck,9 in,6 in
        1,2-3-6,0-3-2,0-5-4,0-3-7,0-2-3
        2,",",1-3-0,",0-10-0
        3,1-11-2,0-0-4,"1-7-0",1-4-0,1-2-2
        4,1-11-6,0-1-4,1-2-6,0-11-6,0-9-4
    """
    table = page(tmp_path, text, suffix="csv")
    assert [table.reading("2", row).mm for row in ("sheer height", "rabbet height", "waterline 0-9-0")] == [
        table.reading("1", row).mm for row in ("sheer height", "rabbet height", "waterline 0-9-0")
    ]
    assert str(table.reading("3", "sheer half-breadth")) == "1-7-0"


def test_a_ditto_mark_across_has_to_be_told_which_way_it_looks(tmp_path):
    text = ACROSS.replace("0 1 0 ", "do do do")
    across = SPACED + 'stations = "across"\n'
    places, said = refused(tmp_path, text, layout=across)
    assert places == [(5, 30)] and 'ditto = "left" or "above"' in said
    table = page(tmp_path, text, across + 'ditto = "left"\n')
    assert table.reading("2", "rabbet height").mm == table.reading("1", "rabbet height").mm
    table = page(tmp_path, text, across + 'ditto = "above"\n')
    assert table.reading("2", "rabbet height").mm == table.reading("2", "sheer height").mm


def test_footnotes_empty_lines_and_form_feeds_are_no_stations(tmp_path):
    lines = textwrap.dedent(GROUPED).strip("\n").splitlines()
    text = "\n".join([
        "TABLE OF OFFSETS OF A SKIFF", "", *lines[:4], "\f", "     |       |     |    |   |", *lines[:2],
        "-----+-------+-------", lines[4].replace("3    |", "3*   |"), lines[5], "", "* Midship section, 3 ft. abaft 2",
        "Heights are above base, in feet, inches and eighths.",
    ])  # fmt: skip
    table = page(tmp_path, text)
    is_the_boat(table)
    assert table.stations == ["1", "2", "3", "4"]
    said = "\n".join(table.page_notes)
    for told in ("TABLE OF OFFSETS", "once more", "Midship section", "Heights are above", "'3*'"):
        assert told in said, told


def test_an_extra_comma_does_not_shift_a_row(tmp_path):
    csv = "\n".join(line.replace("|", ",") for line in textwrap.dedent(GROUPED).strip("\n").splitlines()[2:])
    csv = "Sta.,Heights: Deck,Rabbet,Half-breadths: Deck,9 in,6 in\n" + csv + "\n"
    is_the_boat(page(tmp_path, csv, suffix="csv"))
    places, said = refused(tmp_path, csv.replace("2    , 2-0-6", "2    ,, 2-0-6"), suffix="csv")
    assert [line for line, _ in places] == [3] and "7 cells under 6 headings" in said
    # One at the end of every line is a way of writing, and a line that ends early is told.
    is_the_boat(page(tmp_path, csv.replace("\n", ",\n"), suffix="csv"))
    short = page(tmp_path, csv.replace(" , 0-10-0", ""), suffix="csv")
    assert "line 3 of the page ends 1 cell early: it is taken as empty" in short.assumed


@pytest.mark.parametrize("mark", ["\t", ";", "|", ","])
def test_whatever_parts_the_cells(tmp_path, mark):
    lines = textwrap.dedent(GROUPED).strip("\n").splitlines()[2:]
    head = "Sta.|Heights: Deck|Rabbet|Half-breadths: Deck|9 in|6 in"
    text = "\n".join(line.replace("|", mark) for line in [head, *lines]) + "\n"
    is_the_boat(page(tmp_path, text))


def test_cells_parted_by_wide_blanks_as_a_scan_gives_them(tmp_path):
    lines = textwrap.dedent(GROUPED).strip("\n").splitlines()[2:]
    head = "Sta.   Heights: Deck   Rabbet   Half-breadths: Deck   9 in   6 in"
    text = "\n".join([head, *("   ".join(cell.strip() for cell in line.split("|")) for line in lines)]) + "\n"
    is_the_boat(page(tmp_path, text))


def test_heights_from_the_load_waterline_and_down_from_a_datum(tmp_path):
    head = HEAD + 'load_waterline = "1-0-0"\n'
    text = GROUPED
    for was, now in (("2-3-6", "1-3-6"), ("2-0-6", "1-0-6"), ("1-11-2", "0-11-2"), ("1-11-6", "0-11-6")):
        text = text.replace(was, now)
    for was, now in (("0-3-2 ", "0-8-6 "), ("0-1-0 ", "0-11-0 "), ("0-0-4 ", "0-11-4 "), ("0-1-4 ", "0-10-4 ")):
        text = text.replace(was, now)
    rows = ROWS.replace('["heights", "sheer"]', '{ block = "heights", row = "sheer", from = "above load waterline" }')
    rows = rows.replace('["heights", "rabbet"]', '{ block = "heights", row = "rabbet", from = "below load waterline" }')
    rows = rows.replace('"waterline 0-6-0"', '"waterline 0-6-0 below load waterline"')
    rows = rows.replace('"waterline 0-9-0"', '"waterline 3in below load waterline"')
    is_the_boat(page(tmp_path, text, head=head, rows=rows))
    with pytest.raises(scrieve.TableError, match="load_waterline"):
        page(tmp_path, text, rows=rows)
    # Down from a datum 4 ft up.
    down = GROUPED
    for was, now in (
        ("2-3-6", "1-8-2"), ("2-0-6", "1-11-2"), ("1-11-2 | 0-0-4", "2-0-6 | 3-11-4"),
        ("1-11-6 | 0-1-4", "2-0-2 | 3-10-4"),
        ("0-3-2 ", "3-8-6 "), ("0-1-0 ", "3-11-0 "),
    ):  # fmt: skip
        assert was in down
        down = down.replace(was, now, 1)
    is_the_boat(page(tmp_path, down, SPACED.replace("above base line", "below 4-0-0")))


def test_metres_with_a_comma_down_from_a_datum_keep_their_decimals(tmp_path):
    text = """
        Sta;Livet H;Rablure;Livet;L.E. 0,30
        0;0,282;1,129;0,153;0,059
        1;0,350;1,170;0,378;0,176
        2;0,423;1,192;0,554;»
    """
    rows = """
        [rows]
        "Livet H" = ["heights", "sheer"]
        Rablure = ["heights", "rabbet"]
        Livet = ["half-breadths", "sheer"]
        "L.E. *" = ["half-breadths", "waterline *"]
    """
    layout = 'first = "0,200"\nspacing = "0,400"\nheights = "below 1,200"\nempty = ["»"]\n'
    table = page(tmp_path, text, layout, 'name = "Mouette"\nunits = "m"\ndecimal = ","\n', textwrap.dedent(rows))
    assert [str(table.reading(s, "sheer height")) for s in "012"] == ["0,918", "0,850", "0,777"]
    assert list(table.station_x.values()) == pytest.approx([0.2, 0.6, 1.0])
    assert table.reading("2", "waterline 0,30") is None


def test_stations_may_begin_anywhere_and_at_the_stern(tmp_path):
    layout = 'from_stem = ["0-6-0", "3-6-0", "6-6-0", "8-6-0"]\nheights = "above base line"\n'
    is_the_boat(page(tmp_path, GROUPED, layout))
    lines = textwrap.dedent(GROUPED).strip("\n").splitlines()
    is_the_boat(page(tmp_path, "\n".join([*lines[:2], *reversed(lines[2:])]), SPACED + 'begins = "stern"\n'))
    with pytest.raises(scrieve.TableError, match="2 spaces for 4 stations: expected 3"):
        page(tmp_path, GROUPED, 'spacing = ["3-0-0", "3-0-0"]\n')
    assumed = page(tmp_path, GROUPED, 'spacing = "3-0-0"\n').assumed
    assert "the first station, 1, is taken to stand at the stem" in assumed
    assert "heights are taken as above the base line" in assumed


def test_a_page_of_whole_breadths_is_halved(tmp_path):
    text = GROUPED
    for was, now in (("0-5-4", "0-11-0"), ("1-3-0", "2-6-0"), ("1-7-0", "3-2-0"), ("1-2-6", "2-5-4")):
        text = text.replace(was, now)
    rows = ROWS.replace('["half-breadths", "sheer"]', '{ block = "half-breadths", row = "sheer", whole = true }')
    is_the_boat(page(tmp_path, text, rows=rows))


def test_a_station_may_be_taken_on_the_transom(tmp_path):
    head = HEAD + "\n[transom]\n"
    head += 'foot = { from_stem = "8-6-0", height = "0-1-4" }\nhead = { from_stem = "9-0-0", height = "2-0-0" }\n'
    layout = 'first = "0-6-0"\nspacing = "3-0-0"\ntransom = "4"\n'
    table = page(tmp_path, GROUPED, layout, head)
    assert list(table.station_x.values())[:3] == pytest.approx([0.1524, 1.0668, 1.9812])
    assert table.station_x["4"] is None
    with pytest.raises(scrieve.TableError, match="the last station's name"):
        page(tmp_path, GROUPED, layout.replace('"4"', '"3"'), head)


def test_who_designed_her_and_about_when_go_into_every_report(tmp_path):
    head = HEAD + 'designer = "H. Marlow"\nyear = "1880-1890"\n'
    table = page(tmp_path, GROUPED, head=head)
    facts = table.facts
    assert (facts["designer"], facts["year"]) == ("H. Marlow", 1885)
    assert (facts["dated"], facts["year_span"]) == ("1880-1890", (1880, 1890))
    table.write(tmp_path / "boat.offsets")
    frame = scrieve.collection([tmp_path / "boat.offsets"]).facts()
    assert (frame.designer.item(), frame.year.item(), frame.dated.item()) == ("H. Marlow", 1885, "1880-1890")
    scrieve.write(table.fair().lines(), tmp_path / "lines.svg")
    drawn = (tmp_path / "lines.svg").read_text(encoding="utf-8")
    assert "1880-1890" in drawn and "designed by H. Marlow" in drawn


def test_a_mapping_serves_a_whole_book(tmp_path):
    (tmp_path / "book.toml").write_text(
        'units = "feet-inches-eighths"\nplace = "Withy Staithe"\n\n[layout]\nheights = "above base line"\n'
        'first = "0-6-0"\nspacing = "3-0-0"\n\n[blank]\n"heights rabbet" = "on the base line"\n'
        '"heights keel" = "on the base line"\n\n[rows]\n"Heights: Deck" = ["heights", "sheer"]\n'
        '"Heights: Rabbet" = ["heights", "rabbet"]\n"Heights: Keel" = ["heights", "keel"]\n'
        '"Half-breadths: Deck" = ["half-breadths", "sheer"]\n"* in" = ["half-breadths", "waterline *in"]\n'
    )
    (tmp_path / "page.txt").write_text(textwrap.dedent(GROUPED.replace("0-1-0", "....")))
    own = 'like = "book.toml"\nname = "Dabchick"\n\n[layout]\nspacing = ["2 x 3-0-0", "2-0-0"]\n'
    (tmp_path / "page.toml").write_text(own)
    table = scrieve.read(tmp_path / "page.txt")
    assert table.facts["place"] == "Withy Staithe"
    assert list(table.station_x.values()) == pytest.approx([0.0254 * x for x in PLACES_IN])
    assert table._core.blanks == [("2", "rabbet height", "on the base line")]
    (tmp_path / "page.toml").write_text(own.replace("book.toml", "no.toml"))
    with pytest.raises(scrieve.TableError, match=r"page\.toml:1:1: no\.toml: expected a mapping that is there"):
        scrieve.read(tmp_path / "page.txt")
    (tmp_path / "book.toml").write_text('like = "page.toml"\n')
    (tmp_path / "page.toml").write_text(own)
    with pytest.raises(scrieve.TableError, match="ring"):
        scrieve.read(tmp_path / "page.txt")


def test_what_a_blank_means_is_said_by_row_and_place(tmp_path):
    text = GROUPED.replace("0-3-2", "....").replace("0-0-4", "....").replace("0-1-4", "....").replace("0-2-3", "....")
    blank = 'blank = { forward = "on the stem", between = "on the base line", aft = "not taken" }'
    rows = ROWS.replace('["heights", "rabbet"]', '{ block = "heights", row = "rabbet", ' + blank + " }")
    table = page(tmp_path, text.replace("0-1-0", "0-1-0"), rows=rows)
    told = {(station, row): word for station, row, word in table._core.blanks}
    assert told[("1", "rabbet height")] == "on the stem" and told[("4", "rabbet height")] == "not taken"
    assert table._core.blanks_untold == [("waterline 0-6-0", ["1"])]
    untold = "nothing says what these blanks mean, and they are taken as no reading: waterline 0-6-0 at station 1"
    assert untold in table.assumed
    assert not any("rabbet" in s for s in table.assumed)
    # Said of a half-breadth, the base line makes no sense; the mapping's line is named.
    spec = '{ block = "half-breadths", row = "sheer", blank = "on the base line" }'
    rows = ROWS.replace('["half-breadths", "sheer"]', spec)
    with pytest.raises(scrieve.TableError, match="cannot be on the base line"):
        page(tmp_path, GROUPED.replace("1-3-0", "...."), rows=rows)


def test_what_is_said_of_a_page_names_its_own_line_and_column(tmp_path):
    # The sheer below the rabbet at 3, which the reader of the table's own text finds.
    table = page(tmp_path, GROUPED.replace("1-11-2", "0-0-1"))
    assert len(table.warnings) == 3  # and the waterlines above the sheer there
    assert [w.split(": ")[0] for w in table.warnings[1:]] == [f"{tmp_path}/page.txt:5:34", f"{tmp_path}/page.txt:5:42"]
    assert table.warnings[0].startswith(f"{tmp_path}/page.txt:5:8: warning: at station 3 the sheer")
    assert "3    | 0-0-1" in table.warnings[0] and "rows" not in table.warnings[0]
    # Still so once another cell is put right.
    edited = table.with_reading("2", "sheer height", "2-0-6+")
    assert f"{tmp_path}/page.txt:5:8:" in edited.warnings[0]
    # A fact stands in the mapping.
    with pytest.raises(scrieve.TableError, match=r"page\.toml:3:1: error: no year"):
        page(tmp_path, GROUPED, head=HEAD + "year = 18.5\n")
    # What only the making of a hull finds.
    rows = "\n".join(line for line in ROWS.splitlines() if "rabbet" not in line)
    with pytest.raises(scrieve.TableError, match=r"page\.toml:1:1: error: no rabbet") as caught:
        page(tmp_path, GROUPED, rows=rows).fair()
    assert "<rows>" not in str(caught.value)


def test_read_shows_what_was_understood(run, tmp_path):
    page(tmp_path, GROUPED.replace("0-1-0", "...."))
    done = run("read", "page.txt", "-o", "boat.offsets")
    assert done.returncode == 0, done.stderr
    assert "2-3-6" in done.stdout and "704.9" in done.stdout
    assert "? a blank, not told" in done.stdout and "no stem is given" in done.stdout
    # What was written needs no mapping and says the same.
    again = scrieve.read(tmp_path / "boat.offsets")
    assert again == scrieve.read(tmp_path / "page.txt") and again.assumed
    told = json.loads(run("read", "boat.offsets", "--json").stdout)
    cells = {(c["row"], c["station"]): c for c in told["cells"]}
    assert cells["rabbet height", "2"]["meaning"] == "blank, not told" and cells["rabbet height", "2"]["mm"] is None
    assert cells["sheer height", "1"]["mm"] == pytest.approx(704.85)
    assert told["assumed"] == [*again.assumed, *again._core.open_ends]
    listed = run("read", "page.txt", "--cells", "--mapping", "page.toml").stdout
    assert sum("rabbet height" in line for line in listed.splitlines()) >= 4
    # A mapping goes with a page, and is no more written over than the page is.
    done = run("read", "boat.offsets", "--mapping", "page.toml")
    assert done.returncode == 2 and "boat.offsets:" in done.stderr and "fault" not in done.stderr
    done = run("read", "page.txt", "-o", "page.toml")
    assert done.returncode == 2 and "no input is written over" in done.stderr


def test_every_published_table_is_a_sample_that_reads_as_printed():
    counts = {"stephens-1889-plate-11": 78, "stephens-1889-plate-30-fore-body": 84, "clark-1906-speed-launch": 44}
    for name, count in counts.items():
        table = scrieve.read(SAMPLES / f"{name}.csv")
        cells = table.understood()
        assert (cells.meaning == "read").sum() == count, name
        # Every blank has its meaning: nothing of the section is left to be guessed.
        assert table._core.blanks_untold == [], name
        assert table.assumed == [], name


def test_a_printed_error_named_at_the_head_of_a_page_is_the_first_query():
    fore_body = scrieve.read(SAMPLES / "stephens-1889-plate-30-fore-body.csv").proof()
    assert [(q.station, q.row) for q in fore_body] == [("3", "waterline 10in")]
    # Mould 4 repeats its neighbour at the fourth waterline.
    launch = scrieve.read(SAMPLES / "clark-1906-speed-launch.csv")
    assert [(q.station, q.row) for q in launch.proof()] == [("4", "waterline 1-0-0")]
    assert launch.reading("4", "waterline 1-0-0").mm == launch.reading("3", "waterline 1-0-0").mm
    assert launch.disagreements() == []


def test_what_remains_of_a_published_table_is_fair(samples=SAMPLES):
    # The fore body is read to the eighth, and hollow at her stem, of which the table has no profile.
    for name, rms_mm in (("clark-1906-speed-launch", 0.6), ("stephens-1889-plate-11", 1.5)):
        corrections = scrieve.read(samples / f"{name}.csv").fair().corrections()
        kept = corrections[~corrections.doubted].moved
        assert 1e3 * (kept**2).mean() ** 0.5 < rms_mm, name


def test_an_assumed_stem_is_marked_wherever_it_shows(run, tmp_path):
    hull = scrieve.read(SAMPLES / "clark-1906-speed-launch.csv").fair()
    assert "stem assumed, not measured" in hull.remarks
    # A plumb stem comes out plumb, and the keel straight to it.
    forward = min(line.points(200)[:, 0].min() for line in hull.reference_lines())
    assert abs(forward) < 0.001
    scrieve.write(hull.lines(), tmp_path / "lines.svg")
    assert "Stem assumed, not measured" in (tmp_path / "lines.svg").read_text(encoding="utf-8")
    # The stem's own pattern says it too, where it would be cut by.
    text = (SAMPLES / "sandling.offsets").read_text(encoding="utf-8")
    before, profile = text.split("[stem profile]")
    rows = [row.split("|")[1].split() for row in profile.splitlines() if "|" in row][:2]
    spots = ", ".join(f'["{x}", "{z}"]' for x, z in zip(*rows, strict=True))
    head = f"[stem]\nspots = [{spots}]\nassumed = true\n\n[transom]\nassumed = true\n"
    (tmp_path / "boat.offsets").write_text(before.replace("[transom]\n", head, 1).replace("[transom] ", head, 1))
    boat = scrieve.read(tmp_path / "boat.offsets")
    assert boat.facts["ends_assumed"] == "stem, transom"
    for pattern, name in (("backbone", "stem"), ("transom", "transom")):
        run("pickup", pattern, "boat.offsets", "-o", pattern, "--writer", "svg")
        assert "ASSUMED, NOT MEASURED" in (tmp_path / pattern / f"{name}.svg").read_text(encoding="utf-8"), pattern
    told = json.loads(run("read", str(SAMPLES / "clark-1906-speed-launch.csv"), "--json").stdout)
    assert told["facts"]["ends_assumed"] == "stem"
    assert told["assumed"][0] == "assumed, not measured: stem"
    # The faired table still says so.
    assert hull.table().facts["ends_assumed"] == "stem"
    faired = json.loads(run("fair", str(SAMPLES / "clark-1906-speed-launch.csv"), "--json").stdout)
    assert "stem assumed, not measured" in faired["remarks"]


@pytest.mark.parametrize(
    "name, mark",
    [("clark-1906-speed-launch", ","), ("stephens-1889-plate-11", ","), ("stephens-1889-plate-30-fore-body", ",")],
)
def test_a_mark_too_many_or_too_few_never_shifts_a_row_in_silence(tmp_path, name, mark):
    text = (SAMPLES / f"{name}.csv").read_text(encoding="utf-8")
    (tmp_path / "page.toml").write_text((SAMPLES / f"{name}.toml").read_text(encoding="utf-8"), encoding="utf-8")
    path = tmp_path / "page.csv"
    whole = scrieve.read(SAMPLES / f"{name}.csv")
    said = {*whole.assumed, *whole.page_notes}
    begins = text.index("\n", text.rindex("\n#")) + 1 if "\n#" in text else 0
    begins = next(i for i in range(begins, len(text)) if not text[text.rfind("\n", 0, i) + 1 :].startswith("#"))
    refused = 0
    for i in (i for i in range(begins, len(text)) if text[i] == mark):
        for spoilt in (text[:i] + text[i + 1 :], text[:i] + mark + text[i:]):
            path.write_text(spoilt, encoding="utf-8")
            try:
                table = scrieve.read(path)
            except scrieve.TableError as error:
                refused += 1
                assert all(m["line"] >= 1 and m["column"] >= 1 for m in error.mistakes) and error.mistakes
                continue
            same = (table._core.grid, table.stations) == (whole._core.grid, whole.stations)
            assert same or {*table.assumed, *table.page_notes} - said, spoilt[max(0, i - 40) : i + 40]
    assert refused > 100


def test_a_spoilt_page_or_mapping_is_read_or_refused_with_its_place(tmp_path):
    chance = random.Random(10)
    bits = [
        "|",
        ",",
        "\t",
        '"',
        "do.",
        "....",
        "\f",
        "\n",
        "*",
        "½",
        "1-2",
        "10",
        "  ",
        "#",
        "[",
        "{",
        "=",
        "0-0-0",
        "T",
    ]
    mapping = f"{HEAD}\n[layout]\n{SPACED}\n{ROWS}"
    across = f'{HEAD}\n[layout]\nstations = "across"\n{SPACED}\n{ROWS}'
    pages = [(textwrap.dedent(GROUPED).lstrip(), mapping), (textwrap.dedent(ACROSS).lstrip(), across)]

    def spoilt(text):
        for _ in range(chance.choice([1, 1, 2, 5])):
            at, many = chance.randrange(len(text) + 1), chance.choice([0, 1, 2, 30])
            text = text[:at] + chance.choice(["", *bits]) + text[at + many :]
        return text

    path, beside = tmp_path / "page.txt", tmp_path / "page.toml"
    outcomes = {"read": 0, "refused": 0}
    for _ in range(500):
        text, mapped = chance.choice(pages)
        of_page = chance.random() < 0.7
        path.write_text(spoilt(text) if of_page else text, encoding="utf-8", newline="")
        beside.write_text(mapped if of_page else spoilt(mapped), encoding="utf-8", newline="")
        try:
            table = scrieve.read(path)
        except scrieve.TableError as error:
            outcomes["refused"] += 1
            assert error.mistakes, str(error)
            for mistake in error.mistakes:
                # As the reader counts lines: a form feed ends none.
                lines = re.split("\r\n|\r|\n", Path(mistake["file"]).read_bytes().decode())
                assert 1 <= mistake["line"] <= len(lines) and mistake["column"] >= 1, str(error)
            continue
        outcomes["read"] += 1
        assert len(table.understood()) == len(table.rows) * len(table.stations)
        assert all(str(tmp_path) in warning for warning in table.warnings)
    assert min(outcomes.values()) > 50, outcomes
