"""Layouts of printed pages that are easily read as another boat: read as printed, or refused with what to write.

Boat, numbers and pages are those of `test_printed`, invented; the layouts are common practice of period books.
"""

import re
import textwrap

import pytest
from conftest import SAMPLES
from test_printed import ACROSS, BOAT, GROUPED, HEAD, ROWS, SPACED, is_the_boat, page, refused

import scrieve
from scrieve.table.pages.mapping import LAYOUT, PARTS, tomllib

ACROSS_LAYOUT = SPACED + 'stations = "across"\n'


def lines_of(text):
    return textwrap.dedent(text).strip("\n").splitlines()


# Equal headings -----------------------------------------------------------------------------------------------------

EQUAL = """
    Station,1,2,3,4
    Deck,2-3-6,2-0-6,1-11-2,1-11-6
    Rabbet,0-3-2,0-1-0,0-0-4,0-1-4
    Deck,0-5-4,1-3-0,1-7-0,1-2-6
    9 in,0-3-7,1-0-0,1-4-0,0-11-6
    6 in,0-2-3,0-10-0,1-2-2,0-9-4
"""
EQUAL_ROWS = ROWS.replace("Heights: ", "").replace("Half-breadths: ", "")


def test_two_equal_labels_across_are_told_apart_or_refused(tmp_path):
    rows = EQUAL_ROWS.replace('"Deck" = ["half-breadths", "sheer"]\n', "")
    places, said = refused(tmp_path, EQUAL, layout=ACROSS_LAYOUT, rows=rows, suffix="csv")
    assert places == [(4, 1)] and "'Deck [1]', 'Deck [2]'" in said
    told = EQUAL_ROWS.replace('"Deck" = ["heights"', '"Deck [1]" = ["heights"')
    told = told.replace('"Deck" = ["half', '"Deck [2]" = ["half')
    is_the_boat(page(tmp_path, EQUAL, ACROSS_LAYOUT, rows=told, suffix="csv"))


def test_a_row_printed_twice_is_refused_under_a_star_too(tmp_path):
    text = EQUAL.replace("    6 in", "    9 in,0-3-7,1-1-0,1-4-0,0-11-6\n    6 in").replace("Deck,0-5", "Deck B,0-5")
    rows = """
        [rows]
        Deck = ["heights", "sheer"]
        Rabbet = ["heights", "rabbet"]
        "Deck B" = ["half-breadths", "sheer"]
        "* in" = ["half-breadths", "waterline *in"]
    """
    places, said = refused(tmp_path, text, layout=ACROSS_LAYOUT, rows=textwrap.dedent(rows), suffix="csv")
    assert places == [(6, 1)] and "'9 in [1]', '9 in [2]'" in said and '"ignore"' in said
    # Typed twice alike, it is there once.
    table = page(tmp_path, text.replace("9 in,0-3-7,1-1", "9 in,0-3-7,1-0"), ACROSS_LAYOUT, rows=textwrap.dedent(rows),
                 suffix="csv")  # fmt: skip
    assert len(table.rows) == 5 and any("'9 in' on line 6 is there once more, alike" in n for n in table.page_notes)


# Wide blanks --------------------------------------------------------------------------------------------------------

WIDE = """
    Sta.  Deck h.  Rabbet  Deck b.  9 in    6 in
    1     2-3-6    0-3-2   0-5-4    0-3-7   0-2-3
    2     2-0-6    0-1-0   1-3-0    1-0-0   0-10-0
    3     1-11-2   0-0-4   1-7-0    1-4-0   1-2-2
    4     1-11-6   0-1-4   1-2-6    0-11-6  0-9-4
"""
WIDE_ROWS = EQUAL_ROWS.replace('"Deck" = ["heights"', '"Deck h." = ["heights"').replace(
    '"Deck" = ["half', '"Deck b." = ["half'
)


def test_over_wide_blanks_a_blank_cell_moves_nothing(tmp_path):
    is_the_boat(page(tmp_path, WIDE, rows=WIDE_ROWS))
    for gone, row in (("0-1-0", "rabbet height"), ("1-3-0", "sheer half-breadth"), ("0-10-0", "waterline 0-6-0")):
        table = page(tmp_path, WIDE.replace(gone, " " * len(gone)), rows=WIDE_ROWS)
        whole = page(tmp_path, WIDE, rows=WIDE_ROWS)
        for other in table._core.row_names:
            here = table.reading("2", other)
            assert (here is None) == (other == row), (gone, other)
            assert here is None or here.mm == whole.reading("2", other).mm or other == row
        assert any(said.startswith("line 3 of the page has nothing under") for said in table.assumed)
    # A ditto mark repeats what stands above it, not what has moved there.
    table = page(tmp_path, WIDE.replace("0-1-0", "     ").replace("1-7-0", "do.  "), rows=WIDE_ROWS)
    assert table.reading("3", "sheer half-breadth").mm == table.reading("2", "sheer half-breadth").mm


def test_over_wide_blanks_a_place_that_tells_nothing_is_refused(tmp_path):
    # Between columns, or over two of them.
    torn = WIDE.replace("2-0-6    0-1-0   1-3-0 ", "2  0-6           1-3-0 ")
    places, said = refused(tmp_path, torn, rows=WIDE_ROWS)
    assert places == [(3, 1)] and "6 cells under 6 headings" in said
    ragged = WIDE.replace("2     2-0-6    0-1-0   1-3-0    1-0-0   0-10-0", "2     2-0-6  1-3-0  1-0-0  0-10-0")
    places, said = refused(tmp_path, ragged, rows=WIDE_ROWS)
    assert places == [(3, 1)] and "`...`" in said


def test_over_wide_blanks_groups_reach_as_far_as_the_mapping_has_them(tmp_path):
    text = """
              HEIGHTS.               HALF BREADTHS.
        Sta.  Deck     Rabbet  Deck     9 in    6 in
        1     2-3-6    0-3-2   0-5-4    0-3-7   0-2-3
        2     2-0-6    0-1-0   1-3-0    1-0-0   0-10-0
        3     1-11-2   0-0-4   1-7-0    1-4-0   1-2-2
        4     1-11-6   0-1-4   1-2-6    0-11-6  0-9-4
    """
    rows = ROWS.replace("Half-breadths", "Half breadths")
    table = page(tmp_path, text, rows=rows)
    is_the_boat(table)
    assert any("as the mapping has it" in said for said in table.assumed)
    # The stations' heading may stand in the upper line.
    up = text.replace("              HEIGHTS.", "        Sta.  HEIGHTS.").replace("Sta.  Deck ", "      Deck ", 1)
    assert up.count("Sta.") == 1
    is_the_boat(page(tmp_path, up, rows=rows))
    # The page may go on elsewhere without the groups.
    lines = lines_of(text)
    is_the_boat(page(tmp_path, "\n".join([*lines[:4], "SKIFF (continued)", lines[1], *lines[4:]]) + "\n", rows=rows))


def test_over_wide_blanks_rows_across_keep_their_stations(tmp_path):
    text = """
        Station   1        2        3        4
        Deck h.   2-3-6    2-0-6    1-11-2   1-11-6
        Rabbet    0-3-2             0-0-4    0-1-4
        Deck b.   0-5-4    1-3-0    1-7-0    1-2-6
        9 in      0-3-7    1-0-0    1-4-0    0-11-6
        6 in      0-2-3    0-10-0   1-2-2    0-9-4
    """
    table = page(tmp_path, text, ACROSS_LAYOUT, rows=WIDE_ROWS)
    assert [table.reading(s, "rabbet height") is None for s in "1234"] == [False, True, False, False]
    assert str(table.reading("3", "rabbet height")) == "0-0-4"


# Parts of a page ----------------------------------------------------------------------------------------------------


ONE_LINE = "Sta. | Heights: Deck | Rabbet | Half-breadths: Deck | 9 in | 6 in"


def bars(line, *which):
    cells = line.split("|")
    return "|".join(cells[i] for i in which)


def test_further_columns_for_the_same_stations_on_the_next_page(tmp_path):
    lines = [ONE_LINE, *lines_of(GROUPED)[2:]]
    one = [bars(line, 0, 1, 2) for line in lines]
    two = [bars(line, 0, 3, 4, 5) for line in lines]
    table = page(tmp_path, "\n".join(["SKIFF", *one, "", "SKIFF (continued)", *two]) + "\n")
    is_the_boat(table)
    assert any("has further headings for stations it had before" in said for said in table.page_notes)
    # Across: heights on one page, half-breadths on the next, with the same stations.
    lines = lines_of(ACROSS)
    is_the_boat(page(tmp_path, "\n".join([*lines[:5], "SKIFF (continued)", *lines[:2], *lines[5:]]) + "\n",
                     ACROSS_LAYOUT))  # fmt: skip
    # Groups that are printed nowhere leave two headings alike, which the mapping has to tell apart.
    bare = [line for line in lines if not line.startswith(("HEIGHTS", "HALF"))]
    rows = EQUAL_ROWS.replace('"Deck" = ["heights"', '"Deck [1]" = ["heights"')
    text = "\n".join([*bare[:4], *bare[:2], *bare[4:]]) + "\n"
    is_the_boat(page(tmp_path, text, ACROSS_LAYOUT, rows=rows.replace('"Deck" = ["half', '"Deck [2]" = ["half')))
    places, said = refused(tmp_path, text, layout=ACROSS_LAYOUT,
                           rows=EQUAL_ROWS.replace('"Deck" = ["half-breadths", "sheer"]\n', ""))  # fmt: skip
    assert "'Deck [1]', 'Deck [2]'" in said


def test_a_part_whose_headings_a_group_and_a_star_tell(tmp_path):
    lines = [ONE_LINE, *lines_of(GROUPED)[2:]]
    one = [bars(line, 0, 1, 2, 3) for line in lines]
    two = ["Sta. | Half-breadths: 0-9-0 | 0-6-0", *[bars(line, 0, 4, 5) for line in lines[1:]]]
    rows = ROWS[: ROWS.index('"Half-breadths: 9 in"')] + '"Half-breadths: *" = ["half-breadths", "waterline *"]\n'
    is_the_boat(page(tmp_path, "\n".join([*one, *two]) + "\n", rows=rows))


def test_a_second_line_of_headings_heads_what_stands_under_it(tmp_path):
    lines = lines_of(GROUPED)
    heads = "Sta. | Heights: Deck | Rabbet | Half-breadths: Deck | 6 in | 9 in"
    swapped = [bars(line, 0, 1, 2, 3, 5, 4) for line in lines[4:]]
    is_the_boat(page(tmp_path, "\n".join([*lines[:4], "Skiff, after body", heads, *swapped]) + "\n"))
    # A heading the first part had not begins a column, empty there.
    less = [bars(line, 0, 1, 2, 3, 4) for line in (ONE_LINE, *lines[2:4])]
    table = page(tmp_path, "\n".join([*less, heads, *swapped]) + "\n")
    assert [table.reading(s, "waterline 0-6-0") is None for s in "1234"] == [True, True, False, False]
    assert table.reading("3", "waterline 0-9-0").mm == pytest.approx(1e3 * 0.0254 * 16)
    # A station on both pages has to agree with itself.
    both = "\n".join([*lines[:5], *lines[:2], *lines[4:]]) + "\n"
    is_the_boat(page(tmp_path, both))
    places, said = refused(tmp_path, both[::-1].replace("2-2-1", "2-1-1", 1)[::-1])
    assert places and "where the same station has it already" in said
    # Headings that the mapping does not know are no note.
    places, said = refused(tmp_path, "\n".join([*lines[:4], "Sta. | Bow | Stern | a | b | c", *lines[4:]]) + "\n")
    assert places == [(5, 1)] and "none of the mapping's headings" in said


# Lines that are no stations, and stations that are no notes ---------------------------------------------------------


def test_the_head_of_a_page_is_no_station(tmp_path):
    lines = lines_of(GROUPED)
    for head in ("THE YACHTING ALMANACK |||||119", "118 | THE YACHTING ALMANACK", "THE YACHTING ALMANACK 119"):
        table = page(tmp_path, "\n".join([*lines[:4], head, *lines[4:]]) + "\n")
        is_the_boat(table)
        assert any("line 5 is taken for" in said for said in table.page_notes), head
    wide = lines_of(WIDE)
    head = "THE YACHTING ALMANACK                      119"
    is_the_boat(page(tmp_path, "\n".join([head, *wide[:3], "\f", head, wide[0], *wide[3:]]) + "\n", rows=WIDE_ROWS))
    across = lines_of(ACROSS)
    is_the_boat(page(tmp_path, "\n".join([*across[:4], "118", *across[4:]]) + "\n", ACROSS_LAYOUT))
    # A row with one reading is a row, if the mapping knows it.
    rows = ROWS + '"Buttock of one foot" = ["heights", "buttock 1-0-0"]\n'
    text = "\n".join([*across[:5], "Buttock of one foot | - | - | - | 20", *across[5:]]) + "\n"
    table = page(
        tmp_path, text, ACROSS_LAYOUT, HEAD + 'one_part = "inches"\n', rows.replace("Buttock", "Heights: Buttock")
    )
    assert table.reading("4", "buttock 1-0-0").mm == 508
    # What may be either is asked about.
    places, said = refused(tmp_path, "\n".join([*lines[:4], "No 3 add | 12", *lines[4:]]) + "\n")
    assert places == [(5, 1)] and 'skip = ["No 3 add"]' in said
    is_the_boat(page(tmp_path, "\n".join([*lines[:4], "No 3 add | 12", *lines[4:]]) + "\n",
                     SPACED + 'skip = ["No 3 add"]\n'))  # fmt: skip


def test_a_line_of_readings_is_no_note(tmp_path):
    wide = lines_of(WIDE)
    for text in (
        "\n".join([*wide[:3], " ".join(wide[3].split()), wide[4]]),
        "\n".join([*wide[:3], ";".join(wide[3].split()), wide[4]]),
    ):
        places, said = refused(tmp_path, text + "\n", rows=WIDE_ROWS)
        assert places == [(4, 1)] and "not parted as those of the other lines" in said
    commas = [",".join(line.replace("Deck ", "Deck_").replace(" in", "_in").split()) for line in wide]
    commas[0] = commas[0].replace("_", " ")
    is_the_boat(page(tmp_path, "\n".join(commas) + "\n", rows=WIDE_ROWS, suffix="csv"))
    commas[3] = commas[3].replace(",", "\t")
    places, said = refused(tmp_path, "\n".join(commas) + "\n", rows=WIDE_ROWS, suffix="csv")
    assert places == [(4, 1)] and "parted by commas" in said
    across = lines_of(EQUAL.replace("Deck,0", "Deck B,0"))
    across[3] = across[3].replace(",", "  ")
    places, said = refused(tmp_path, "\n".join(across) + "\n", layout=ACROSS_LAYOUT, suffix="csv",
                           rows=EQUAL_ROWS.replace('"Deck" = ["half', '"Deck B" = ["half'))  # fmt: skip
    assert (4, 1) in places and "not parted as" in said


# Where stations stand -----------------------------------------------------------------------------------------------


def test_a_station_called_the_transom_is_not_spaced_without_a_word(tmp_path):
    head = HEAD + "\n[transom]\n"
    head += 'foot = { from_stem = "8-6-0", height = "0-1-4" }\nhead = { from_stem = "9-0-0", height = "2-0-0" }\n'
    layout = 'first = "0-6-0"\nspacing = "3-0-0"\n'
    for name in ("Tr.", "Transom", "At transom"):
        text = GROUPED.replace("    4    |", f"    {name} |")
        places, said = refused(tmp_path, text, layout=layout, head=head)
        assert places == [(6, 1)] and f'transom = "{name}"' in said and "transom = false" in said
        table = page(tmp_path, text, layout + f'transom = "{name}"\n', head)
        assert list(table.station_x.values())[3] is None
        # An upright transom is a station like any other, once that is said.
        upright = page(tmp_path, text, layout + "transom = false\n")
        assert list(upright.station_x.values())[3] == pytest.approx(0.0254 * 114)
    # Listed, its distance is said.
    listed = 'from_stem = ["0-6-0", "3-6-0", "6-6-0", "8-6-0"]\n'
    is_the_boat(page(tmp_path, GROUPED.replace("    4    |", "    Tr.  |"), listed))


@pytest.mark.parametrize(
    "names, said",
    [
        (("1", "2", "4", "5"), "stations 2 and 4 are beside one another, and one is left out between"),
        (("1", "3", "2", "4"), "stations 3 and 2 are out of their order"),
        (("A", "B", "E", "F"), "stations B and E are beside one another, and 2 are left out between"),
        (("I", "II", "IV", "V"), "stations II and IV are"),
        (("½", "1½", "2½", "4½"), "stations 2½ and 4½ are"),
        (("1/2", "1", "2", "3"), "stations 1/2 and 1 are nearer to one another"),
        (("Sta. 1", "Sta. 2", "Sta. 4", "Sta. 5"), "stations Sta. 2 and Sta. 4"),
    ],
)
def test_equal_spaces_are_not_laid_over_a_gap_in_the_count(tmp_path, names, said):
    text = GROUPED
    for i, name in enumerate(names, 1):
        text = text.replace(f"    {i}    |", f"    {name}*|")
    places, told = refused(tmp_path, text.replace("*|", "|"), layout='first = "0-6-0"\nspacing = "3-0-0"\n')
    assert said in told and "spacing = [" in told
    # A list of spaces is what the mapping's writer saw on the page; it is said all the same.
    table = page(tmp_path, text.replace("*|", "|"))
    assert [x for x in table.station_x.values()] == pytest.approx([0.1524, 1.0668, 1.9812, 2.5908])
    assert any(said in sentence for sentence in table.assumed)


@pytest.mark.parametrize(
    "names",
    [
        ("FP", "1", "2", "AP"),
        ("0", "2", "4", "6"),
        ("10", "9", "8", "7"),
        ("G", "H", "J", "K"),
        ("stem", "M", "x", "stern"),
    ],
)
def test_counts_without_a_gap_are_spaced(tmp_path, names):
    text = GROUPED
    for i, name in enumerate(names, 1):
        text = text.replace(f"    {i}    |", f"    {name}*|")
    table = page(tmp_path, text.replace("*|", "|"), 'first = "0-6-0"\nspacing = "3-0-0"\n')
    assert not any("stations" in said and "count" in said for said in table.assumed)


def test_a_page_from_the_stern_is_turned_by_its_distances_or_refused(tmp_path):
    lines = lines_of(GROUPED)
    text = "\n".join([*lines[:2], *reversed(lines[2:])]) + "\n"
    table = page(tmp_path, text, 'from_stem = ["8-6-0", "6-6-0", "3-6-0", "0-6-0"]\nheights = "above base line"\n')
    is_the_boat(table)
    assert any("run from the stern" in said for said in table.assumed)
    is_the_boat(page(tmp_path, text, 'from_stem = ["0-6-0", "3-6-0", "6-6-0", "8-6-0"]\nbegins = "stern"\n'))
    is_the_boat(page(tmp_path, text, 'from_stem = ["8-6-0", "6-6-0", "3-6-0", "0-6-0"]\nbegins = "stern"\n'))
    layout = 'from_stem = ["8-6-0", "6-6-0", "3-6-0", "0-6-0"]\nbegins = "stem"\n'
    _, said = refused(tmp_path, text, layout=layout)
    assert 'begins = "stern"' in said


# Mappings of a book -------------------------------------------------------------------------------------------------


def test_another_boats_ends_are_not_taken_over(tmp_path):
    other = HEAD.replace("Dabchick", "Gannet") + 'load_waterline = "0-9-0"\nyear = 1890\n[stem]\n'
    other += 'spots = [["0-0-0", "2-5-0"], ["0-4-0", "0-3-6"]]\n'
    (tmp_path / "gannet.toml").write_text(f"{other}\n[layout]\n{SPACED}\n{ROWS}")
    table = page(tmp_path, GROUPED, "", 'like = "gannet.toml"\nname = "Dabchick"\n', "")
    is_the_boat(table)
    assert not table._core.profiles and "load_waterline" not in table.facts and "year" not in table.facts
    assert any("those of Gannet" in said and "stem" in said for said in table.assumed)
    assert any("spacing and first under [layout]: taken over" in said for said in table.assumed)
    # The same boat's, on another page of hers, are.
    (tmp_path / "gannet.toml").write_text(f"{other}\n[layout]\n{SPACED}\n{ROWS}".replace("Gannet", "Dabchick"))
    table = page(tmp_path, GROUPED, "", 'like = "gannet.toml"\nname = "Dabchick"\n', "")
    assert table._core.profiles and table.facts["year"] == 1890
    assert not any("taken over" in said for said in table.assumed)


# Rows ---------------------------------------------------------------------------------------------------------------


def test_one_printed_row_may_serve_two(tmp_path):
    rows = ROWS.replace('["heights", "rabbet"]', '[["heights", "rabbet"], { block = "heights", row = "chine" }]')
    table = page(tmp_path, GROUPED, rows=rows)
    for station in "1234":
        assert table.reading(station, "chine height").mm == table.reading(station, "rabbet height").mm
    with pytest.raises(scrieve.TableError, match="a list of these where one heading serves two rows"):
        page(tmp_path, GROUPED, rows=rows.replace('row = "chine"', 'rows = "chine"'))


def test_headings_set_in_two_lines_over_their_parts(tmp_path):
    text = """
        Skiff DABCHICK -- offsets to inside of plank

        Sta. | Deck   |        | Rabbet |        | Deck     |      | 9 in.    |      | 6 in.    |
             | height |        | height |        | half-br. |      | half-br. |      | half-br. |
             | Ft. | In.       | Ft. | In.       | Ft. | In.       | Ft. | In.       | Ft. | In.
        1    | 2 | 3 3/4 | 0 | 3 1/4 | 0 | 5 1/2 | 0 | 3 7/8 | 0 | 2 3/8
        2    | 2 | 0 3/4 | 0 | 1     | 1 | 3     | 1 | 0     | 0 | 10
        3    | 1 | 11 1/4 | 0 | 0 1/2 | 1 | 7     | 1 | 4     | 1 | 2 1/4
        4    | 1 | 11 3/4 | 0 | 1 1/2 | 1 | 2 3/4 | 0 | 11 3/4 | 0 | 9 1/2
    """
    rows = """
[rows]
"Deck height" = ["heights", "sheer"]
"Rabbet height" = ["heights", "rabbet"]
"Deck half-br." = ["half-breadths", "sheer"]
"* in. half-br." = ["half-breadths", "waterline *in"]
"""
    table = page(tmp_path, text, rows=rows)
    assert [table.reading(s, "waterline 9in").mm for s in "1234"] == pytest.approx(
        [n * 3.175 for n in (31, 96, 128, 94)]
    )
    # Their number may be said, with the line of parts or without it.
    for many in (2, 3):
        again = page(tmp_path, text, SPACED + f"headings = {many}\n", rows=rows)
        assert again.rows == table.rows and again._core.metres == table._core.metres
    # Where none is on the page, what stands there is said.
    _, said = refused(tmp_path, text, rows=rows.replace(" height", " hgt").replace("half-br.", "hb"))
    assert "none of the headings 'Deck hgt'" in said and "as they are printed" in said


# Units, letters and noughts -----------------------------------------------------------------------------------------

DECIMAL_ROWS = EQUAL_ROWS.replace('"Deck" = ["heights"', '"Deck h." = ["heights"').replace(
    '"Deck" = ["half', '"Deck b." = ["half'
)


def decimals(unit_eighths, places):
    """The boat's page in decimals, and what they say in metres."""
    rows = ["Sta.,Deck h.,Rabbet,Deck b.,9 in,6 in"]
    for i in range(4):
        rows.append(",".join([str(i + 1), *(f"{BOAT[row][i] / unit_eighths:.{places}f}" for row in BOAT)]))
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    "units, eighths, places, metres", [("ft", 96, 2, 0.3048), ("cm", 8 / 2.54, 1, 0.01), ("mm", 8 / 25.4, 0, 0.001)]
)
def test_pages_in_decimal_feet_and_in_centimetres(tmp_path, units, eighths, places, metres):
    text = decimals(eighths, places)
    named = {"9 in": 72 / eighths, "6 in": 48 / eighths}
    rows = DECIMAL_ROWS
    for heading, value in named.items():
        rows = re.sub(rf'("{heading}" = .*"waterline )[^"]*', rf"\g<1>{value:.3f}", rows)
    head = f'name = "Dabchick"\nunits = "{units}"\nload_waterline = "{72 / eighths:.3f}"\n'
    layout = f'first = "{48 / eighths:.3f}"\nspacing = "{288 / eighths:.3f}"\n'
    table = page(tmp_path, text, layout, head, rows, suffix="csv")
    for row, found in zip(table.rows, table._core.metres, strict=True):
        eighths_of = next(BOAT[own] for own in BOAT if own[0] == row[0] and own[1].split()[0] == row[1].split()[0]
                          and ("waterline" not in row[1] or own[1].endswith("9-0") == row[1].startswith(
                              f"waterline {72 / eighths:.3f}"[:13])))  # fmt: skip
        assert found == pytest.approx([0.0254 / 8 * n for n in eighths_of], abs=0.51 * metres * 10**-places), row
    assert table.facts["load_waterline"] == pytest.approx(72 * 0.0254 / 8, abs=1e-5)
    assert table.facts["units"] == units
    # Written as a table of its own it says the same.
    table.write(tmp_path / "boat.offsets")
    assert scrieve.read(tmp_path / "boat.offsets")._core.metres == table._core.metres
    faired = table.fair().table()
    assert scrieve.Reading(f"1{units}").m == pytest.approx(metres)
    for row, found in zip(faired.rows, faired._core.metres, strict=True):
        before = table._core.metres[table.rows.index(row)]
        assert all(abs(a - b) < 0.02 for a, b in zip(found, before, strict=True)), row


def test_decimals_under_feet_inches_and_eighths_name_the_units(tmp_path):
    _, said = refused(tmp_path, decimals(96, 2), rows=DECIMAL_ROWS, suffix="csv")
    assert len(said.splitlines()) == 1 and "page.toml:2:1: 20 decimals, such as 2.31 on line 2" in said
    assert 'units = "ft"' in said


@pytest.mark.parametrize(
    ("write", "likely", "not_likely"),
    [
        # The greatest reading of a sheer 0.72 m high.
        (lambda m: f"{m / 0.3048:.2f}", {"ft": 0.72, "m": 2.36}, {"in", "mm", "cm"}),
        (lambda m: f"{m * 100:.1f}", {"cm": 0.72, "in": 1.83}, {"ft", "mm", "m"}),
        (lambda m: f"{m * 1000:.0f}", {"mm": 0.72}, {"ft", "in", "cm", "m"}),
    ],
)
def test_a_page_that_tells_no_unit_is_told_which_would_make_a_boat(tmp_path, write, likely, not_likely):
    heights = [0.72, 0.66, 0.62, 0.64, 0.70]
    lines = [f"{i}, {write(z)}, {write(0.5 * z)}" for i, z in enumerate(heights)]
    rows = '[rows]\nDeck = ["heights", "sheer"]\nRabbet = ["heights", "rabbet"]\n'
    head = 'name = "Told no unit"\n[layout]\nnames = "station"\nspacing = "3-0-0"\n'
    (tmp_path / "page.csv").write_text("\n".join(["station, Deck, Rabbet", *lines]) + "\n")
    (tmp_path / "page.toml").write_text(head + rows)
    with pytest.raises(scrieve.TableError) as refusal:
        scrieve.read(tmp_path / "page.csv")
    said = str(refusal.value)
    for unit, size in likely.items():
        assert f'"{unit}" makes that {size:.2f} m' in said, said
    assert not any(f'"{unit}" makes' in said for unit in not_likely)
    # Of a model nobody knows.
    (tmp_path / "page.toml").write_text(head.replace("[layout]", 'scale = "1:12"\n[layout]') + rows)
    with pytest.raises(scrieve.TableError) as refusal:
        scrieve.read(tmp_path / "page.csv")
    assert 'units = "ft"' in str(refusal.value) and "makes that" not in str(refusal.value)


def test_a_letter_for_a_figure_is_named(tmp_path):
    for was, scanned in (("2-0-6", "2-O-6"), ("1-11-2", "l-11-2"), ("0-5-4", "0-S-4"), ("1-0-0", "I-0-0")):
        _, said = refused(tmp_path, GROUPED.replace(was, scanned, 1))
        assert f"`{was}`, if a letter stands there for a figure" in said, scanned


def test_nought_alone_is_nought_in_any_hand(tmp_path):
    table = page(tmp_path, GROUPED.replace("0-1-0", "0").replace("0-0-4", "00"))
    assert table.reading("2", "rabbet height").mm == 0
    assert not any("nought" in said for said in table.assumed)
    # Between half-breadths it is odd, and said.
    table = page(tmp_path, GROUPED.replace("1-0-0", "0"))
    assert table.reading("2", "waterline 0-9-0").mm == 0
    assert any("line 4 of the page: '0' under '9 in.'" in said for said in table.assumed)


def test_a_blank_for_a_dash_is_asked_about(tmp_path):
    text = """
        Station,Deck H,Rabbet,Deck B,9 in,6 in
        1,2-3^6,3^2,5^4,3^7,2^3
        2,2-0^6,1,1-3,1 0^2,10
        3,1-11^2,0^4,1-7,1-4,1-2^2
        4,1-11^6,1^4,1-2^6,11^6,9^4
    """
    rows = ROWS.replace("Heights: Deck", "Deck H").replace("Half-breadths: Deck", "Deck B")
    rows = rows.replace("Heights: ", "").replace("Half-breadths: ", "")
    head = HEAD + 'two_part = "feet-inches"\n'
    places, said = refused(tmp_path, text, rows=rows, head=head, suffix="csv")
    assert places == [(3, 15)] and "expected 1-0^2, or 10^2" in said
    # A hand that parts all so is read.
    spaced = re.sub(r"(\d)-(\d)", r"\1 \2", text)
    assert page(tmp_path, spaced, rows=rows, head=head, suffix="csv").reading("2", "waterline 0-9-0").mm == 311.15


# What is told once, and where a mistake is ---------------------------------------------------------------------------


def test_a_rabbet_that_is_on_no_page_may_be_told_straight(tmp_path):
    rows = "\n".join(line for line in ROWS.splitlines() if "rabbet" not in line)
    told = rows + '\n[straight]\nrabbet = "0-2-4"\n'
    table = page(tmp_path, GROUPED, rows=told)
    assert [str(table.reading(s, "rabbet height")) for s in "1234"] == ["0-2-4"] * 4
    assert any(said.startswith("rabbet: the page has no heights of it") for said in table.assumed)
    assert {word for _, row, word in table._core.blanks if row == "rabbet height"} == {"at the height told"}
    assert set(table.understood().query("row == 'rabbet height'").meaning) == {"at the height told"}
    # Nothing is read there, so that it is no evidence: drawn in dashes and listed.
    listed = table.fair().evidence().astype(str).agg(" ".join, axis=1)
    assert any("rabbet in profile" in line and "at the height told" in line for line in listed), list(listed)
    # As a table of its own it says so still.
    table.write(tmp_path / "boat.offsets")
    again = scrieve.read(tmp_path / "boat.offsets")
    assert again._core.blanks == table._core.blanks and again.assumed == table.assumed
    with pytest.raises(scrieve.TableError, match=r"page\.toml:\d+:1: \[straight\] rabbet: the page has its heights"):
        page(tmp_path, GROUPED, rows=ROWS + '\n[straight]\nrabbet = "0-2-4"\n')
    with pytest.raises(scrieve.TableError, match=r"\[straight\] rabbet: 'low'"):
        page(tmp_path, GROUPED, rows=rows + '\n[straight]\nrabbet = "low"\n')
    # A breadth cannot be at a height.
    spec = '{ block = "half-breadths", row = "sheer", blank = "at 0-2-0" }'
    with pytest.raises(scrieve.TableError, match="cannot be at the height told"):
        page(tmp_path, GROUPED.replace("1-3-0", "...."), rows=ROWS.replace('["half-breadths", "sheer"]', spec))


def test_mistakes_of_the_mapping_are_in_the_mapping(tmp_path):
    for head, rows, where in (
        (HEAD + "[transoms]\nfoot = 1\n", ROWS, ":3:1"),
        ('units = "feet-inches-eighths"\n', ROWS, ":1:1"),
        (HEAD, ROWS.replace('"sheer"]', '"shear"]', 1), ":11:1"),
    ):
        with pytest.raises(scrieve.TableError) as caught:
            page(tmp_path, GROUPED, head=head, rows=rows)
        first = caught.value.mistakes[0]
        assert f"{first['file']}:{first['line']}:{first['column']}".endswith(f"page.toml{where}"), str(caught.value)


def test_every_key_of_a_mapping_is_explained(run, tmp_path):
    told = run("read", "--keys")
    assert told.returncode == 0, told.stderr
    readme = (SAMPLES.parent / "README.md").read_text(encoding="utf-8")
    section = readme.partition("### A printed page")[2]
    for key in (*LAYOUT, *PARTS, "from", "blank", "whole", "straight", "like"):
        assert re.search(rf"\b{key}\b", told.stdout), key
        assert re.search(rf"\b{key}\b", section), key
    # What is printed is a mapping that reads.
    (tmp_path / "keys.toml").write_text(told.stdout.replace('like = "book.toml"', "#"), encoding="utf-8")
    keys = tomllib.loads((tmp_path / "keys.toml").read_text(encoding="utf-8"))
    assert set(keys["layout"]) == set(LAYOUT)
    with pytest.raises(scrieve.TableError, match=r"scrieve read --keys"):
        page(tmp_path, GROUPED, SPACED + "order = 1\n")


def test_a_row_in_another_unit_is_one_remark(tmp_path):
    rows = ROWS.replace("waterline 0-9-0", "waterline 9ft")
    table = page(tmp_path, GROUPED, rows=rows)
    assert (
        len(table.warnings) == 1
        and "waterline 9ft lies above the sheer at 4 stations: 1, 2, 3 and 1 more" in (table.warnings[0])
    )
    assert "page.txt:2:35" in table.warnings[0]
