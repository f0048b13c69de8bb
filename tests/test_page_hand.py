"""What proofreading expects, as the page it was read from would print it. The pages are a sample's readings, printed in
several hands by code of this file's own."""

import json
from fractions import Fraction

import pytest
from conftest import SAMPLES

import scrieve
from scrieve.table.pages.hand import PageHand

# One half-breadth of the sheer is printed three inches too wide; the page of decimals has it in its own units.
STATION, ROW, OFF_M = "6", ("half-breadths", "sheer"), 3 * 0.0254


def eighths(metres):
    return round(metres / 0.0254 * 8)


def mixed(feet, end, raised=False):
    def write(metres):
        q = eighths(metres)
        over = f"^{q % 8}" if raised else f" {Fraction(q % 8, 8)}" if q % 8 else ""
        head = "" if raised and q < 96 else f"{q // 96}{feet}"
        return f"{head}{q % 96 // 8}{over}{end}"

    return write


HANDS = {
    "signs": ("feet-inches-eighths", mixed("' ", '"')),
    "blanks": ("feet-inches-eighths", mixed(" ", "")),
    "raised": ("feet-inches-eighths", mixed("-", "", raised=True)),
    "decimals of feet": ("ft", lambda m: f"{m / 0.3048:.2f}"),
    "centimetres": ("cm", lambda m: f"{m * 100:.1f}"),
}


def plain(units):
    """A length as the mapping may say it."""
    return {"ft": HANDS["decimals of feet"][1], "cm": HANDS["centimetres"][1]}.get(
        units, lambda m: f"{eighths(m) // 96}-{eighths(m) % 96 // 8}-{eighths(m) % 8}"
    )


@pytest.fixture(params=HANDS)
def page(request, tmp_path):
    units, write = HANDS[request.param]
    table = scrieve.read(SAMPLES / "mudlark.offsets")
    core = table._core
    rows = [i for i, (block, _) in enumerate(core.rows) if block in ("heights", "half-breadths")]
    at = [i for i, x in enumerate(table.station_x.values()) if x is not None]
    lines = ["; ".join(["station", *(f"{core.rows[i][0]}: {core.rows[i][1]}" for i in rows)])]
    for column in at:
        cells = []
        for i in rows:
            metres = core.metres[i][column]
            if (table.stations[column], core.rows[i]) == (STATION, ROW):
                right, metres = write(metres), metres + OFF_M
                wrong = write(metres)
            cells.append("...." if metres is None else write(metres))
        lines.append("; ".join([table.stations[column], *cells]))
    places = [plain(units)(list(table.station_x.values())[i]) for i in at]
    mapping = [
        'name = "Printed"', f'units = "{units}"', 'two_part = "feet-inches"', "[layout]", 'stations = "down"',
        'names = "station"', 'cells = ";"', f"from_stem = {json.dumps(places)}", "[rows]",
        *(f'"{core.rows[i][0]}: {core.rows[i][1]}" = {json.dumps(core.rows[i])}' for i in rows),
    ]  # fmt: skip
    (tmp_path / "page.csv").write_text("\n".join(lines) + "\n")
    (tmp_path / "page.toml").write_text("\n".join(mapping) + "\n")
    return tmp_path / "page.csv", wrong, right


def test_what_is_expected_is_shown_as_the_page_prints_it(run, page):
    path, wrong, right = page
    data = json.loads(run("proof", path, "--json").stdout)
    first = data["queries"][0]
    assert (first["station"], first["row"], first["printed"]) == (STATION, "sheer half-breadth", wrong)
    # A figure of the last place is what the page is read to.
    figures = [number(said) for said in (first["expected_printed"], right)]
    assert abs(figures[0] - figures[1]) <= 0.0254 / 8 + 1e-9
    shape = [[c for c in said if not c.isdigit()] for said in (first["expected_printed"], wrong)]
    assert set(shape[0]) <= set(shape[1]) | {" ", "/"}
    told = run("proof", path).stdout
    if first["expected_printed"] != first["expected_reading"]:
        assert "expected there" in told and first["expected_printed"] in told


def number(said):
    """Metres of a length as these pages print it."""
    if "." in said:
        return float(said) * (0.3048 if float(said) < 20 else 0.01)
    said = said.replace("' ", "-").replace('"', "").replace("^", " ")
    feet, _, rest = said.partition("-" if "-" in said else " ")
    inches, _, over = rest.partition(" ")
    part = Fraction(over or 0) if "/" in over or not over else Fraction(int(over), 8)
    return float(int(feet) * 12 + int(inches) + part) * 0.0254


def test_a_table_that_was_on_no_page_is_shown_as_ever(run):
    text = (SAMPLES / "mudlark.offsets").read_text()
    assert "expected there" not in run("proof", SAMPLES / "mudlark.offsets").stdout
    assert scrieve.Table.from_text(text)._core.printed is None


def from_datum(metres, sign):
    """Millimetres above a waterline 300 mm up, with a sign before them, or below it."""
    mm = round(1e3 * metres) - 300
    return f"{mm}" if sign == "" else f"{'+' if mm >= 0 else '−'} {abs(mm)}" if sign == "+" else f"{-mm}"


@pytest.mark.parametrize("sign, datum", [("+", "above"), ("", "above"), ("-", "below")])
def test_heights_from_a_datum_are_expected_as_they_are_printed(run, tmp_path, sign, datum):
    table = scrieve.read(SAMPLES / "mudlark.offsets")
    core = table._core
    rows = [i for i, (block, _) in enumerate(core.rows) if block == "heights"]
    wide = [i for i, (block, _) in enumerate(core.rows) if block == "half-breadths"]
    at = [i for i, x in enumerate(table.station_x.values()) if x is not None]
    lines = ["; ".join(["station", *(f"{core.rows[i][0]}: {core.rows[i][1]}" for i in (*rows, *wide))])]
    for column in at:
        cells = []
        for i in rows:
            metres = core.metres[i][column]
            if (table.stations[column], core.rows[i]) == (STATION, ("heights", "sheer")):
                right = from_datum(metres, sign)
                metres += OFF_M
                wrong = from_datum(metres, sign)
            cells.append("...." if metres is None else from_datum(metres, sign))
        # Whole breadths.
        for i in wide:
            metres = core.metres[i][column]
            cells.append("...." if metres is None else f"{2e3 * metres:.0f}")
        lines.append("; ".join([table.stations[column], *cells]))
    places = [f"{1e3 * x:.0f}" for x in table.station_x.values() if x is not None]
    told = []
    for i in (*rows, *wide):
        block, row = core.rows[i]
        whole = ", whole = true" if block == "half-breadths" else ""
        row = " ".join([row.split()[0], *(f"{float(scrieve.Reading(t).mm)}mm" for t in row.split()[1:])])
        told.append(f'"{core.rows[i][0]}: {core.rows[i][1]}" = {{ block = "{block}", row = "{row}"{whole} }}')
    mapping = [
        'name = "Printed"', 'units = "mm"', 'load_waterline = "300"', "[layout]", 'names = "station"', 'cells = ";"',
        f"from_stem = {json.dumps(places)}", f'heights = "{datum} load waterline"', "[rows]", *told,
    ]  # fmt: skip
    (tmp_path / "page.csv").write_text("\n".join(lines) + "\n")
    (tmp_path / "page.toml").write_text("\n".join(mapping) + "\n")
    data = json.loads(run("proof", tmp_path / "page.csv", "--json").stdout)
    query = next(q for q in data["queries"] if (q["station"], q["row"]) == (STATION, "sheer height"))
    assert query["printed"] == wrong
    bare = [int(said.replace(" ", "").replace("−", "-")) for said in (query["expected_printed"], right)]
    assert abs(bare[0] - bare[1]) <= 4
    assert query["expected_printed"][:2] == right[:2] or sign == ""
    text = run("proof", tmp_path / "page.csv").stdout
    assert query["expected_printed"] in text and "[there " in text
    # Whole breadths stand on the page as whole ones.
    hand = PageHand(scrieve.read(tmp_path / "page.csv"))
    assert hand.write("sheer half-breadth", "500") == "1000"
