"""The main job: everything picked up from a faired hull, in a folder a person can find their way in."""

from __future__ import annotations

import csv
import html
import io
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from . import files
from ._core import Reading
from .errors import LoftError
from .hull import Hull

CAUTIONS = (
    "Before cutting, check the check square of each sheet and two known dimensions of the boat.",
    "Fairing by number does not replace sighting along a batten: set up the moulds, bend battens round them and look.",
    "Bandsaws, planers and routers hurt people: guards, eyes, ears and dust; follow the makers' instructions.",
    "Nothing here shows that a boat is safe or lawful: follow local rules and have a licensed naval architect "
    "or surveyor judge her.",
)


@dataclass
class Done:
    """What a job wrote, what it could not make, and where to begin reading."""

    hull: Hull
    folder: Path
    parts: list[tuple[str, list[Path]]] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    failures: list[str] = field(default_factory=list)

    @property
    def written(self) -> list[Path]:
        """Every file, in the order it was made."""
        return [path for _, paths in self.parts for path in paths]

    def summary(self) -> str:
        """What was written and where, for a terminal."""
        lines = [f"{self.hull.name}: written into {self.folder}{os.sep}"]
        for what, paths in self.parts:
            names = [str(path.relative_to(self.folder)) for path in paths]
            shown = names[0] if len(names) == 1 else f"{names[0]} ... {Path(names[-1]).name} ({len(names)} files)"
            lines.append(f"  {shown:<44} {what}")
        lines += [f"  not made: {failure}" for failure in self.failures]
        lines.append("begin with " + str(self.folder / "index.html"))
        return "\n".join(lines)


def loft(hull: Hull, folder: Path) -> Done:
    """Writes lines, moulds, faired table, corrections and set-up into `folder`, with an index.

    A part that cannot be made is named in `failures`; the others are written. Raises `OSError` where the
    folder cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    done = Done(hull, folder)

    def part(what: str, make: Any) -> None:
        try:
            paths = make()
        except ValueError as error:
            done.failures.append(f"{what}: {error}")
        else:
            done.parts.append((what, paths))

    lines = hull.lines()
    part("lines drawing, to look at", lambda: files.write(lines, folder / "lines.svg"))
    part("the same for CAD", lambda: files.write(lines, folder / "lines.dxf"))
    set_up = None
    try:
        moulds = hull.mould_set()
    except LoftError as error:
        done.failures.append(f"moulds: {error}")
    else:
        import pandas

        done.failures += [f"mould at {failure}" for failure in moulds.failures]
        done.remarks += moulds.remarks
        set_up = pandas.DataFrame(moulds.set_up())
        part("moulds at full size, for the router", lambda: _each(moulds.drawings(), folder / "moulds"))
        part(
            "moulds within one another, to look at",
            lambda: files.write(moulds.sheet(), folder / "moulds.svg"),
        )
        part("setting up: where each mould stands", lambda: _csv(folder / "set-up.csv", set_up))
        on_strongback = moulds.set_up_drawing(hull._core)
        part("moulds on the strongback", lambda: files.write(on_strongback, folder / "set-up.svg"))
        part("bevels at each mould", lambda: _csv(folder / "bevels.csv", pandas.DataFrame(moulds.bevels())))
        board = moulds.bevel_board()
        part("bevel boards, to set a square from", lambda: files.write(board, folder / "bevel-board.dxf"))
    _backbone(hull, folder / "backbone", done, part)
    if hull.has_transom:
        part("the transom at its true size", lambda: _transom(hull, folder / "transom"))
    else:
        done.remarks.append("her table gives no transom, so none is drawn")
    part("the faired table", lambda: _table(hull, folder / "faired.offsets"))
    part("how far each reading moved", lambda: _csv(folder / "corrections.csv", hull.corrections()))
    part("fairness of every line", lambda: _csv(folder / "fairness.csv", hull.fairness()))
    index = folder / "index.html"
    replace(index, _index(done, lines.to_svg(), set_up).encode())
    done.parts.insert(0, ("begin here", [index]))
    return done


def _backbone(hull: Hull, folder: Path, done: Done, part: Any) -> None:
    source = hull.source
    if not source.facts.get("half_siding") and ("half-breadths", "rabbet") not in source.rows:
        done.remarks.append("her table gives no half-siding, so no rabbet and no backbone are drawn")
        return
    try:
        backbone = hull.backbone()
    except LoftError as error:
        done.failures.append(f"backbone: {error}")
        return
    done.remarks += [f"backbone: {failure}" for failure in backbone.failures]
    tables = {"keel": backbone.keel(), "stem": backbone.stem(), "sternpost": backbone.sternpost()}
    for name, frame in {**tables, "pieces": backbone.pieces()}.items():
        if len(frame):
            part(f"backbone: {name}", lambda name=name, frame=frame: _csv(folder / f"{name}.csv", measured(frame)))
    part("keel, stem and stern as patterns, with the rabbet", lambda: _each(backbone.drawings(), folder))


def _transom(hull: Hull, folder: Path) -> list[Path]:
    transom = hull.transom()
    written = _each([transom.drawing()], folder)
    return written + _csv(folder / "bevels.csv", measured(transom.bevels()))


# Columns of tables that are no lengths.
ANGLES = ("bevel", "in_the_wood", "garboard", "bottom_bevel", "plank_angle")


def measured(frame: Any) -> Any:
    """The frame with each length in metres as a reading and in millimetres, and angles in degrees, named so."""
    import pandas

    columns = {}
    for name, values in frame.items():
        said = str(name).replace("_", " ")
        if name in ANGLES:
            columns[f"{said}, degrees"] = values.round(2)
        elif values.dtype.kind == "f":
            columns[said] = [Reading(f"{1e3 * v:.4f} mm").to("feet-inches-eighths") for v in values]
            columns[f"{said}, mm"] = (1e3 * values).round(2)
        else:
            columns[said] = values
    return pandas.DataFrame(columns)


def replace(path: Path, data: bytes) -> None:
    """Writes a file beside `path`, then puts it in its place: the old one stays until the new is whole."""
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_bytes(data)
        os.replace(beside, path)
    finally:
        beside.unlink(missing_ok=True)


def _each(drawings: list[Any], folder: Path) -> list[Path]:
    return files.write(drawings, folder, writer="dxf")


def _table(hull: Hull, path: Path) -> list[Path]:
    hull.table().write(path)
    return [path]


def _csv(path: Path, frame: Any) -> list[Path]:
    path.parent.mkdir(parents=True, exist_ok=True)
    text = io.StringIO()
    frame.to_csv(text, index=False, float_format="%.6g", quoting=csv.QUOTE_MINIMAL, lineterminator="\n")
    replace(path, text.getvalue().encode())
    return [path]


STYLE = """
body { font: 16px/1.5 Georgia, serif; color: #1d2a30; max-width: 1100px; margin: 2rem auto; padding: 0 1rem }
h1 { font-weight: normal; margin-bottom: 0 } h2 { font-weight: normal; border-bottom: 1px solid #b9c2c4 }
table { border-collapse: collapse; font-size: 14px } td, th { padding: .15rem .7rem; text-align: right }
th { font-weight: normal; color: #56666c } td:first-child, th:first-child { text-align: left }
tr:nth-child(even) td { background: #f3f5f4 } svg { max-width: 100%; height: auto } li { margin: .2rem 0 }
"""


def _index(done: Done, lines_svg: str, set_up: Any) -> str:
    hull, facts = done.hull, done.hull.source.facts
    said = [str(facts[key]) for key in ("kind", "builder", "place", "year") if facts.get(key)]
    parts = []
    for what, paths in done.parts:
        links = ", ".join(
            f'<a href="{html.escape(path.relative_to(done.folder).as_posix())}">{html.escape(path.name)}</a>'
            for path in paths
        )
        parts.append(f"<li>{html.escape(what)}: {links}</li>")
    notes = [f"<li>not made: {html.escape(failure)}</li>" for failure in done.failures]
    notes += [f"<li>{html.escape(remark)}</li>" for remark in [*hull.remarks, *done.remarks]]
    corrections = hull.corrections()
    worst = corrections[corrections.past | corrections.doubted]
    listed = "".join(
        f"<tr><td>{html.escape(c.station)}</td><td>{html.escape(c.row)}</td><td>{1e3 * c.read:.1f}</td>"
        f"<td>{1e3 * c.faired:.1f}</td><td>{1e3 * c.moved:+.1f}</td><td>{'left out' if c.doubted else ''}</td></tr>"
        for c in worst.itertuples()
    )
    moved = (
        "<p>Every reading is within its tolerance of the faired hull.</p>"
        if worst.empty
        else "<table><tr><th>station</th><th>row</th><th>read mm</th><th>faired mm</th><th>moved mm</th><th></th></tr>"
        + listed
        + "</table>"
    )
    return "\n".join(
        [
            '<!doctype html><html lang="en"><head><meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width">',
            f"<title>{html.escape(hull.name)}</title><style>{STYLE}</style></head><body>",
            f"<h1>{html.escape(hull.name)}</h1><p>{html.escape(', '.join(said))}</p>",
            lines_svg[lines_svg.index("<svg") :],
            "<h2>Files</h2><ul>" + "".join(parts) + "</ul>",
            "<h2>Readings that moved past their tolerance</h2>" + moved,
            "<h2>Notes</h2><ul>" + "".join(notes) + "</ul>" if notes else "",
            "<h2>Setting up</h2>" + set_up.to_html(index=False, border=0) if set_up is not None else "",
            "<h2>Cautions</h2><ul>" + "".join(f"<li>{html.escape(c)}</li>" for c in CAUTIONS) + "</ul>",
            "</body></html>\n",
        ]
    )
