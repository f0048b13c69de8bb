"""Layouts of wide pages, and of pages with leaders and signs: read as printed, or refused with what to write.

Boat and numbers are those of `test_printed`, invented; the layouts are common practice of period books.
"""

import re
import textwrap

import pytest
from test_printed import BOAT, HEAD, PLACES_IN, ROWS, SPACED, is_the_boat, page, refused

import scrieve

ACROSS_LAYOUT = SPACED + 'stations = "across"\n'
LABELS = dict(
    zip(
        BOAT,
        (("Heights", "Deck"), ("", "Rabbet"), ("Half-breadths", "Deck"), ("", "9 in"), ("", "6 in")),
        strict=True,
    )
)
VULGAR = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")


def eighths(n, mark="-"):
    return mark.join(map(str, (n // 96, n // 8 % 12, n % 8)))


def feet_and_inches(n):
    """As two cells: a dash for no feet, a fraction alone for no whole inch."""
    whole, over = divmod(n % 96, 8)
    inches = " ".join(part for part in (str(whole) if whole or not over else "", VULGAR[over]) if part)
    return [str(n // 96) if n >= 96 else "–", inches]


# Labels at both ends --------------------------------------------------------------------------------------------------


def across(heading=" | "):
    lines = [f"{heading} | F.P. | | 2 | | ⊗ | | A.P. | | ", " | | " + " | ".join(["FT. | INS."] * 4) + " | "]
    for row, (group, label) in LABELS.items():
        cells = [cell for n in BOAT[row] for cell in feet_and_inches(n)]
        lines.append(" | ".join([group, label, *cells, label]))
    return lines


def test_labels_may_stand_at_both_ends_of_their_lines(tmp_path):
    layout = ACROSS_LAYOUT + "headings = 2\n"
    is_the_boat(page(tmp_path, "\n".join(across()) + "\n", layout))
    # In one column, and the stations' own label with them.
    lines = ["ORD.,1,2,3,4,ORD."]
    for row, (_, label) in LABELS.items():
        own = {("heights", "sheer"): "Deck ht."}.get(row, label)
        lines.append(",".join([own, *map(eighths, BOAT[row]), own]))
    rows = ROWS.replace("Heights: Deck", "Deck ht.").replace("Heights: ", "").replace("Half-breadths: ", "")
    is_the_boat(page(tmp_path, "\n".join(lines) + "\n", ACROSS_LAYOUT, rows=rows, suffix="csv"))


def test_a_label_at_the_right_end_does_not_hide_a_mark_too_many_or_too_few(tmp_path):
    layout = ACROSS_LAYOUT + "headings = 2\n"
    lines = across()
    places, _ = refused(tmp_path, "\n".join([*lines[:3], lines[3].replace("| – |", "| – | |", 1), *lines[4:]]) + "\n",
                        layout=layout)  # fmt: skip
    assert [line for line, _ in places] == [4]
    places, _ = refused(tmp_path, "\n".join([*lines[:4], lines[4].replace("| 1 |", "| 1 ", 1), *lines[5:]]) + "\n",
                        layout=layout)  # fmt: skip
    assert {line for line, _ in places} == {5}


# Leaders --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("leader", [" . . . ", "......", " .... ", "    "])
def test_leaders_are_no_readings(tmp_path, leader):
    rows = ROWS.replace("Heights: Deck", "Deck h.").replace("Heights: ", "").replace("Half-breadths: ", "")
    for mark in ("-", "."):
        lines = ["Sta.        Deck h.   Rabbet    Deck      9 in      6 in"]
        for i in range(4):
            first, *cells = [eighths(numbers[i], mark) for numbers in BOAT.values()]
            lines.append(f"{i + 1}{leader:9}. {first:10}" + "".join(f"{cell:10}" for cell in cells))
        is_the_boat(page(tmp_path, "\n".join(lines) + "\n", rows=rows))
        # Points alone in their column are a blank still.
        gone = lines[2].replace(eighths(8, mark).ljust(10), ". .       ")
        assert gone != lines[2]
        table = page(tmp_path, "\n".join([*lines[:2], gone, *lines[3:]]) + "\n", rows=rows)
        assert table.reading("2", "rabbet height") is None and table.reading("2", "waterline 0-9-0").mm == 304.8


def test_a_point_parted_from_its_figures_is_no_leader(tmp_path):
    lines = ["Sta. | Deck h. | Rabbet | Deck | 9 in | 6 in"]
    for i in range(4):
        lines.append(" | ".join([str(i + 1), *(f"{numbers[i] / 96:.2f}".lstrip("0") for numbers in BOAT.values())]))
    rows = ROWS.replace("Heights: Deck", "Deck h.").replace("Heights: ", "").replace("Half-breadths: ", "")
    head = HEAD.replace("feet-inches-eighths", "ft")
    layout = 'first = "0.5"\nspacing = ["2 x 3", "2"]\nheights = "above base line"\n'
    rows = rows.replace("0-9-0", "0.75").replace("0-6-0", "0.5")
    table = page(tmp_path, "\n".join(lines) + "\n", layout, head, rows)
    assert table.reading("1", "rabbet height").mm == pytest.approx(0.27 * 304.8)
    torn = lines[1].replace("| .27", "| . 27")
    assert torn != lines[1]
    places, _ = refused(tmp_path, "\n".join([lines[0], torn, *lines[2:]]) + "\n", layout=layout, head=head, rows=rows)
    assert [line for line, _ in places] == [2]


# Signs and thousands --------------------------------------------------------------------------------------------------

SIGNED = """
    Spant;Höhen über CWL;;Halbe Breiten;;
    ;Deck;Kiel;Deck;WL + 150;WL − 150
    4;+ 464;− 203;565;424;52
    3;+ 448;− 225;627;489;122
    2;+ 441;− 240;662;526;161
    1;+ 443;- 249;667;530;174
"""
SIGNED_HEAD = 'name = "Austernfischer"\nunits = "mm"\nload_waterline = "300"\n'
SIGNED_LAYOUT = 'begins = "stern"\nfirst = "400"\nspacing = "400"\nheights = "above load waterline"\n'
SIGNED_ROWS = """
[rows]
"Höhen über CWL: Deck" = ["heights", "sheer"]
"Kiel" = ["heights", "rabbet"]
"Halbe Breiten: Deck" = ["half-breadths", "sheer"]
"WL *" = ["half-breadths", "waterline * above load waterline"]
"""


def signed(tmp_path, text=SIGNED, rows=SIGNED_ROWS):
    return page(tmp_path, text, SIGNED_LAYOUT, SIGNED_HEAD, rows, "csv")


def test_a_sign_may_stand_apart_from_its_decimal(tmp_path):
    table = signed(tmp_path)
    assert [table.reading(s, "sheer height").mm for s in "1234"] == [743, 741, 748, 764]
    assert [table.reading(s, "rabbet height").mm for s in "1234"] == [51, 60, 75, 97]
    assert [table.reading(s, "waterline 150").mm for s in "1234"] == [174, 161, 122, 52]
    assert table.reading("1", "waterline 450").mm == 530
    said = [sentence for sentence in table.assumed if "is taken as a minus" in sentence]
    assert said == ["'Kiel': the dash before '- 249' on line 6 of the page is taken as a minus (4 cells)"]
    assert list(table.station_x.values()) == pytest.approx([0.4, 0.8, 1.2, 1.6])


def test_a_dash_and_a_blank_before_inches_may_be_no_feet(tmp_path):
    lines = ["Station | 1 | 2 | 3 | 4"]
    for row, (_, label) in LABELS.items():
        own = {("heights", "sheer"): "Deck ht."}.get(row, label)
        cells = [" ".join(feet_and_inches(n)) if row[1] == "rabbet" else eighths(n) for n in BOAT[row]]
        lines.append(" | ".join([own, *cells]))
    rows = ROWS.replace("Heights: Deck", "Deck ht.").replace("Heights: ", "").replace("Half-breadths: ", "")
    places, said = refused(tmp_path, "\n".join(lines) + "\n", layout=ACROSS_LAYOUT, rows=rows)
    assert {line for line, _ in places} == {3} and "`0-3 ¼`, if the dash stands for no feet" in said


def test_marked_thousands_among_whole_millimetres_are_refused(tmp_path):
    table = signed(tmp_path, SIGNED.replace("565;", "565.5;"))
    assert table.reading("4", "sheer half-breadth").mm == 565.5
    places, said = refused_signed(tmp_path, SIGNED.replace(";667;", ";1.167;"))
    assert places == [(6, 15)] and "1167, if the mark parts thousands" in said
    for mark in (" ", "’", ","):
        places, said = refused_signed(tmp_path, SIGNED.replace(";667;", f";1{mark}167;"))
        assert places == [(6, 15)] and "`1167`, if the mark in it parts thousands" in said
    # Read to the micrometre throughout, it is a reading.
    fine = re.sub(r";(\d{2,3})(?=;|$)", r";\1.125", SIGNED, flags=re.M)
    assert signed(tmp_path, fine).reading("1", "sheer half-breadth").mm == 667.125


def refused_signed(tmp_path, text):
    return refused(tmp_path, text, layout=SIGNED_LAYOUT, head=SIGNED_HEAD, rows=SIGNED_ROWS, suffix="csv")


# Side by side ---------------------------------------------------------------------------------------------------------


def beside(many=2):
    heads = ["Sta.", "Deck h.", "Rabbet", "Deck", "9 in", "6 in"]
    stations = [[str(i + 1), *(eighths(numbers[i]) for numbers in BOAT.values())] for i in range(4)]
    tall = -(-4 // many)
    lines = [heads * many]
    lines += [[cell for k in range(i, 4, tall) for cell in stations[k]] for i in range(tall)]
    return [" | ".join(line) for line in lines]


BESIDE_ROWS = ROWS.replace("Heights: Deck", "Deck h.").replace("Heights: ", "").replace("Half-breadths: ", "")


@pytest.mark.parametrize("many", [2, 3, 4])
def test_parts_of_a_page_side_by_side(tmp_path, many):
    lines = ["FORE BODY | | | | | | AFTER BODY", *beside(min(many, 4)), "Lengths to the inside of plank."]
    table = page(tmp_path, "\n".join(lines if many == 2 else lines[1:]) + "\n", rows=BESIDE_ROWS)
    is_the_boat(table)
    assert list(table.station_x) == ["1", "2", "3", "4"]
    assert any("parts side by side" in said for said in table.page_notes)


def test_a_mark_too_many_or_too_few_in_parts_side_by_side_is_refused(tmp_path):
    lines = beside()
    for at in range(lines[1].count("|")):
        cells = lines[1].split("|")
        more = "|".join([*cells[:at], " ", *cells[at:]])
        fewer = "|".join([*cells[:at], f"{cells[at].strip()}{cells[at + 1].strip()}", *cells[at + 2 :]])
        for spoilt in (more, fewer):
            places, _ = refused(tmp_path, "\n".join([lines[0], spoilt, *lines[2:]]) + "\n", rows=BESIDE_ROWS)
            assert {line for line, _ in places} == {2}, spoilt


# Readings of several kinds under a station --------------------------------------------------------------------------

UNDER = """
           | 1              |              | 2 |      | 3 |      | 4 |
     Line  | Ht.   | H.B. | Ht. | H.B. | Ht. | H.B. | Ht. | H.B.
    Deck   | 2-3-6 | 0-5-4 | 2-0-6 | 1-3-0 | 1-11-2 | 1-7-0 | 1-11-6 | 1-2-6
    Chine  | 1-3-6 | 0-4-4 | 1-0-6 | 1-1-0 | 0-11-2 | 1-5-0 | 0-11-6 | 1-1-6
    Rabbet | 0-3-2 | 0-1-0 | 0-1-0 | 0-1-0 | 0-0-4  | 0-1-0 | 0-1-4  | 0-1-0
"""
UNDER_ROWS = """
[rows]
"Deck: Ht." = ["heights", "sheer"]
"Deck: H.B." = ["half-breadths", "sheer"]
"Chine: Ht." = ["heights", "chine"]
"Chine: H.B." = ["half-breadths", "chine"]
"Rabbet: Ht." = ["heights", "rabbet"]
"Rabbet: H.B." = "ignore"
"""


@pytest.mark.parametrize("named", ["", 'names = "Station"\n'])
def test_heights_and_half_breadths_under_each_station(tmp_path, named):
    text = UNDER.replace("| 1              |              |", "| 1 | |")
    if named:
        text = text.replace("           | 1", "    Station | 1", 1)
    table = page(tmp_path, text, ACROSS_LAYOUT + named, rows=UNDER_ROWS)
    assert list(table.station_x) == ["1", "2", "3", "4"]
    for row in (("heights", "sheer"), ("heights", "rabbet"), ("half-breadths", "sheer")):
        name = {"heights": f"{row[1]} height", "half-breadths": f"{row[1]} half-breadth"}[row[0]]
        assert [table.reading(s, name).mm for s in "1234"] == pytest.approx([n * 3.175 for n in BOAT[row]])
    assert [str(table.reading(s, "chine half-breadth")) for s in "1234"] == ["0-4-4", "1-1-0", "1-5-0", "1-1-6"]
    assert list(table.station_x.values()) == pytest.approx([0.0254 * x for x in PLACES_IN])
    # A mark too many or too few is refused.
    lines = textwrap.dedent(text).strip("\n").splitlines()
    for spoilt in (lines[2].replace("| 1-3-0", "| | 1-3-0"), lines[2] + " | 0-1-0"):
        places, _ = refused(
            tmp_path, "\n".join([*lines[:2], spoilt, *lines[3:]]), layout=ACROSS_LAYOUT + named, rows=UNDER_ROWS
        )
        assert {line for line, _ in places} == {3}


# Feet and inches in columns of their own ----------------------------------------------------------------------------


def in_two_columns():
    heads = ["Sta.", "Deck h.", "", "Rabbet", "", "Deck", "", "9 in", "", "6 in", ""]
    lines = [" | ".join(heads), " | ".join(["", *["Ft.", "In."] * 5])]
    stations = ([str(i + 1), *(c for n in BOAT.values() for c in feet_and_inches(n[i]))] for i in range(4))
    return [*lines, *map(" | ".join, stations)]


def test_a_mark_too_few_or_too_many_over_feet_and_inches_is_refused(tmp_path):
    lines = in_two_columns()
    is_the_boat(page(tmp_path, "\n".join(lines) + "\n", rows=BESIDE_ROWS))
    # A heading over `In.` took the inches from the reading before it.
    for line in (0, 1):
        for at in (i for i, sign in enumerate(lines[line]) if sign == "|"):
            for sign in (" ", "| |"):
                spoilt = [*lines]
                spoilt[line] = f"{lines[line][:at]}{sign}{lines[line][at + 1 :]}"
                try:
                    is_the_boat(page(tmp_path, "\n".join(spoilt) + "\n", rows=BESIDE_ROWS))
                except scrieve.TableError as refusal:
                    assert all(mistake["expected"] for mistake in refusal.mistakes)
    short = [lines[0].replace("Deck |  |", "Deck |"), *lines[1:]]
    places, said = refused(tmp_path, "\n".join(short) + "\n", rows=BESIDE_ROWS)
    assert [line for line, _ in places] == [1] and "'9 in' stands over the same reading as 'Deck'" in said


# Layouts of whole pages -----------------------------------------------------------------------------------------------


def test_heights_and_depths_from_the_load_waterline_in_one_block(tmp_path):
    """Stations across by Roman numerals; the sheer above the load waterline, the rabbet's depth below it."""
    up = {row: [n - 96 for n in BOAT[row]] for row in BOAT if row[0] == "heights"}
    lines = ["THE YAWL DABCHICK.", "Section | I | II | III | IV"]
    lines.append(" | ".join(["Gunwale above L.W.L.", *map(in_inches, up["heights", "sheer"])]))
    lines.append(" | ".join(["Rabbet below L.W.L.", *(in_inches(-n) for n in up["heights", "rabbet"])]))
    for label, row in (("Gunwale", "sheer"), ("3 below", "waterline 0-9-0"), ("6 below", "waterline 0-6-0")):
        lines.append(" | ".join([label, *map(in_inches, BOAT["half-breadths", row])]))
    lines.append("All to the inside of plank.")
    table = page(
        tmp_path,
        "\n".join(lines) + "\n",
        layout='stations = "across"\nfirst = "6"\nspacing = ["2 x 36", "24"]\n',
        head='name = "Dabchick"\nunits = "in"\nload_waterline = "12"\n',
        rows="""
[rows]
"Gunwale above L.W.L." = { block = "heights", row = "sheer", from = "above load waterline" }
"Rabbet below L.W.L." = { block = "heights", row = "rabbet", from = "below load waterline" }
Gunwale = ["half-breadths", "sheer"]
"* below" = ["half-breadths", "waterline * below load waterline"]
""",
    )
    for numbers, metres in zip(BOAT.values(), table._core.metres, strict=True):
        assert metres == pytest.approx([0.0254 / 8 * n for n in numbers], abs=1e-9)
    assert list(table.station_x.values()) == pytest.approx([0.0254 * x for x in PLACES_IN])


def in_inches(n):
    whole, over = divmod(n, 8)
    return " ".join(part for part in (str(whole) if whole or not over else "", VULGAR[over]) if part)


def test_depths_below_a_line_whole_breadths_and_leaders(tmp_path):
    """Set up under a line stretched 4 ft over the base: depths for heights, breadths from side to side, wide blanks."""

    def line(label, cells):
        return label.ljust(24) + "".join(cell.center(10) for cell in cells)

    lines = [line("Mould", "ABCD"), line("Distance from stem", ("0 6", "3 6", "6 6", "8 6")), "DEPTHS FROM THE LINE"]
    lines += [line(label, (eighths(384 - n, ".") for n in BOAT["heights", row])) for label, row in
              (("Gunwale", "sheer"), ("Rabbet", "rabbet"))]  # fmt: skip
    lines.append("WHOLE BREADTHS")
    for label, row in (("Gunwale", "sheer"), ("39 in. down", "waterline 0-9-0"), ("42 in. down", "waterline 0-6-0")):
        cells = [eighths(2 * n, ".") for n in BOAT["half-breadths", row]]
        lines.append(line(label, [*cells[:3], "...."] if row == "waterline 0-6-0" else cells))
    table = page(
        tmp_path,
        "\n".join(lines) + "\n",
        layout='stations = "across"\nfrom_stem = "Distance from stem"\nheights = "below 4-0-0"\n',
        head=HEAD + 'two_part = "feet-inches"\n',
        rows="""
[rows]
"DEPTHS FROM THE LINE: Gunwale" = ["heights", "sheer"]
"DEPTHS FROM THE LINE: Rabbet" = ["heights", "rabbet"]
"WHOLE BREADTHS: Gunwale" = { block = "half-breadths", row = "sheer", whole = true }
"39 in. down" = { block = "half-breadths", row = "waterline 0-9-0", whole = true }
"42 in. down" = { block = "half-breadths", row = "waterline 0-6-0", whole = true }
""",
    )
    for (row, numbers), metres in zip(BOAT.items(), table._core.metres, strict=True):
        told = [0.0254 / 8 * n for n in numbers]
        assert metres == pytest.approx([*told[:3], None] if row[1] == "waterline 0-6-0" else told, abs=1e-9)
    assert list(table.station_x.values()) == pytest.approx([0.0254 * x for x in PLACES_IN])


def test_a_count_of_stations_that_begins_with_the_second_is_said(tmp_path):
    """The first line of a page may be lost at a fold, or under a thumb."""
    lines = ["Sta. | Deck h. | Rabbet | Deck | 9 in | 6 in"]
    lines += [" | ".join([str(i + 1), *(eighths(n[i]) for n in BOAT.values())]) for i in range(4)]
    assert not any("counted from" in said for said in page(tmp_path, "\n".join(lines) + "\n", rows=BESIDE_ROWS).assumed)
    layout = 'first = "3-6-0"\nspacing = ["3-0-0", "2-0-0"]\n'
    table = page(tmp_path, "\n".join([lines[0], *lines[2:]]) + "\n", layout, rows=BESIDE_ROWS)
    said = "stations are counted from 2, and none before it is on the page: she is taken without one"
    assert said in table.assumed
