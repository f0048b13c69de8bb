"""An example of the four kinds of scrieve plugin, one object each.

Each object's first line of description is what `scrieve plugins` shows.
"""

from typing import Annotated

from scrieve import Drawing, Table
from scrieve.plugin import Length, Option, Quantity


class Spots:
    """A list of spots: station, height, half-breadth, in millimetres (.spots)"""

    suffixes = ("spots",)

    def reads(self, path, head):
        return path.suffix == ".spots"

    def read(self, path):
        with open(path, encoding="utf-8") as file:
            spots = [line.split() for line in file if line.strip()]
        places = sorted({float(x) for x, *_ in spots})
        names = {x: str(i + 1) for i, x in enumerate(places)}
        row = {what: ["-"] * len(places) for what in ("sheer", "rabbet", "sheer half-breadth")}
        lines = ["[points]", "station | height | half-breadth"]
        for x, what, *values in spots:
            i = places.index(float(x))
            if what == "sheer":
                row["sheer"][i], row["sheer half-breadth"][i] = values
            elif what == "rabbet":
                row["rabbet"][i] = values[0]
            else:
                lines.append(f"{names[float(x)]} | {values[0]} | {values[1]}")
        text = [
            "+++",
            "format = 1",
            'name = "From spots"',
            'units = "mm"',
            "+++",
            "station | " + " ".join(names.values()),
            "from stem | " + " ".join(f"{x:g}" for x in places),
            "[heights]",
            "sheer | " + " ".join(row["sheer"]),
            "rabbet | " + " ".join(row["rabbet"]),
            "[half-breadths]",
            "sheer | " + " ".join(row["sheer half-breadth"]),
            *lines,
        ]
        return Table.from_text("\n".join(text) + "\n", str(path))


class GirthBatten:
    """A batten marked with the girth of the hull at each station"""

    def draw(
        self,
        hull,
        *,
        width: Annotated[float, Length("width of the batten")] = 0.025,
        ends: Annotated[bool, Option("mark the ends")] = True,
    ):
        drawing = Drawing("girth-batten", f"Girths of {hull.name}")
        cut = drawing.layer("CUT", "cut outside")
        mark = drawing.layer("MARK", "mark")
        stations = {name: x for name, x in hull.source.station_x.items() if x is not None}
        girths = {name: 1e3 * hull.section(x).length for name, x in stations.items()}
        w, far = 1e3 * width, max(girths.values()) + 50.0
        drawing.polyline(cut, [(0, 0), (far, 0), (far, w), (0, w)], closed=True)
        for name, girth in girths.items():
            drawing.polyline(mark, [(girth, 1.0), (girth, w - 1.0)])
            drawing.text(mark, name, (girth + 1.0, 2.0), 5.0)
        if ends:
            drawing.polyline(mark, [(1.0, 1.0), (1.0, w - 1.0)])
        return [drawing]


class Points:
    """Every vertex of a drawing's paths, one a line, in millimetres (.points)"""

    suffixes = ("points",)

    def write(self, drawings, path):
        with open(path, "w", encoding="utf-8") as file:
            for drawing in drawings:
                for line in drawing.paths():
                    for x, y in line["points"]:
                        print(f"{line['layer']} {x:.3f} {y:.3f}", file=file)
        return [path]


class Girth:
    """Girth amidships, rabbet to sheer"""

    def measure(self, hull, facts):
        places = [x for x in hull.source.station_x.values() if x is not None]
        return {"girth_amidships": Quantity(hull.section((places[0] + places[-1]) / 2).length, "m")}


spots, girth_batten, points, girth = Spots(), GirthBatten(), Points(), Girth()
