"""The main job: everything picked up from a faired hull, in a folder a person can find their way in."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from . import files
from ._core import Drawing
from .backbone import Transom
from .errors import LoftError
from .float_report import Report, report
from .floating import CAUTION
from .hull import Hull
from .page import page
from .tables import in_mm, measured, replace, write_csv

CAUTIONS = (
    "Before cutting, measure two known dimensions of the boat on the drawing, and on paper its 100 mm bars.",
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
        shown = []
        for _, paths in self.parts:
            names = [str(path.relative_to(self.folder)) for path in paths]
            shown.append(names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more")
        wide = max(map(len, shown))
        lines += [f"  {name:<{wide}}  {what}" for name, (what, _) in zip(shown, self.parts, strict=True)]
        lines += [f"  not made: {failure}" for failure in self.failures]
        lines.append("begin with " + str(self.folder / "index.html"))
        return "\n".join(lines)


def loft(hull: Hull, folder: Path, planking: float | None = None) -> Done:
    """Writes all that is picked up from a hull into `folder`, with an index.

    `planking` is its thickness, m; left out, the table's own.
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
    moulds = set_up = None
    try:
        moulds = hull.mould_set(deduct=planking)
    except LoftError as error:
        done.failures.append(f"moulds: {error}")
    else:
        import pandas

        done.failures += [f"mould at {failure}" for failure in moulds.failures]
        done.remarks += moulds.remarks
        set_up = measured(pandas.DataFrame(moulds.set_up()))
        bevels = measured(pandas.DataFrame(moulds.bevels()))
        part("moulds at full size, for the router", lambda: _each(moulds.drawings(), folder / "moulds"))
        part(
            "moulds within one another, to look at",
            lambda: files.write(moulds.sheet(), folder / "moulds.svg"),
        )
        stock = measured(pandas.DataFrame(moulds.pieces()))
        part("moulds: the board each is got out of", lambda: write_csv(folder / "boards.csv", stock))
        part("setting up: where each mould stands", lambda: write_csv(folder / "set-up.csv", set_up))
        on_strongback = moulds.set_up_drawing(hull._core)
        part("moulds on the strongback", lambda: files.write(on_strongback, folder / "set-up.svg"))
        part("bevels at each mould", lambda: write_csv(folder / "bevels.csv", bevels))
        board = moulds.bevel_board()
        part("bevel boards, to set a square from", lambda: files.write(board, folder / "bevel-board.dxf"))
    profile = _backbone(hull, folder / "backbone", planking, done, part)
    if hull.has_transom:
        part("the transom at its true size", lambda: _transom(hull.transom(planking=planking), folder / "transom"))
    else:
        done.remarks.append("her table gives no transom, so none is drawn")
    if hull.has_bow_transom:
        made = lambda: _transom(hull.bow_transom(planking=planking), folder / "bow-transom")  # noqa: E731
        part("the bow transom at its true size", made)
    _inside(hull, folder / "inside", planking, done, part)
    part("the faired table", lambda: _table(hull, folder / "faired.offsets"))
    part("how far each reading moved", lambda: write_csv(folder / "corrections.csv", in_mm(hull.corrections())))
    part("fairness of every line", lambda: write_csv(folder / "fairness.csv", in_mm(hull.fairness())))
    afloat = _afloat(hull, folder / "afloat", done, part)
    index = folder / "index.html"
    notes = [f"not made: {failure}" for failure in done.failures] + hull.remarks + done.remarks
    figures = [("Her lines, faired.", lines.to_svg())]
    if moulds is not None:
        figures.append(("The moulds within one another.", moulds.sheet().to_svg()))
    if profile is not None:
        figures.append(("Her backbone in profile.", profile.to_svg()))
    floating = None
    if afloat is not None:
        above = f"Upright {afloat.at}." if afloat.at else ""
        plans = [(f"Her sails: {name}.", drawing.to_svg()) for name, drawing in _sail_plans(afloat)]
        floating = (above, afloat.frame(), [*afloat.notes, CAUTION], plans)
    replace(index, page(hull, folder, done.parts, notes, CAUTIONS, figures, set_up, floating).encode())
    done.parts.insert(0, ("begin here", [index]))
    return done


def _afloat(hull: Hull, folder: Path, done: Done, part: Any) -> Report | None:
    """How she floats and what her sails are, if her table says anything of it."""
    if not {"load_waterline", "boat_kg"} & set(hull.source.facts):
        return None
    try:
        told = report(hull)
    except ValueError as error:
        done.failures.append(f"how she floats: {error}")
        return None
    part("how she floats, and her sails against the hull", lambda: _text(folder / "figures.txt", told.text()))
    plans = [drawing for _, drawing in _sail_plans(told)]
    if plans:
        part("sail plans, to look at", lambda: files.write(plans, folder, writer="svg"))
        part("the same for CAD", lambda: files.write(plans, folder, writer="dxf"))
    return told


def _sail_plans(told: Report) -> list[tuple[str, Any]]:
    if told.figures is None:
        return []
    from .sail_plan import sail_plan

    draught = told.figures.draught
    return [(name, sail_plan.draw(told.hull, rig=name, draught=draught)[0]) for name in told.rigs]


def _text(path: Path, text: str) -> list[Path]:
    path.parent.mkdir(parents=True, exist_ok=True)
    replace(path, f"{text}\n".encode())
    return [path]


def _backbone(hull: Hull, folder: Path, planking: float | None, done: Done, part: Any) -> Drawing | None:
    """Writes the backbone; gives its profile, where there is one."""
    source = hull.source
    unsaid = not source.facts.get("half_siding") and ("half-breadths", "rabbet") not in source.rows
    try:
        backbone = hull.backbone(planking)
    except LoftError as error:
        if unsaid:
            done.remarks.append("her table gives no half-siding, so no rabbet and no backbone are drawn")
        else:
            done.failures.append(f"backbone: {error}")
        return None
    done.remarks += [f"backbone: {said}" for said in backbone.remarks + backbone.failures]
    tables = {
        "line": backbone.line(),
        "keel": backbone.keel(),
        "bottom": backbone.bottom(),
        "stem": backbone.stem(),
        "sternpost": backbone.sternpost(),
    }
    for name, frame in {**tables, "pieces": backbone.pieces()}.items():
        if len(frame):
            part(f"backbone: {name}", lambda name=name, frame=frame: write_csv(folder / f"{name}.csv", measured(frame)))
    drawings = backbone.drawings()
    part("keel, stem and stern as patterns, with the rabbet", lambda: _each(drawings, folder))
    profile = next((drawing for drawing in drawings if drawing.name == "backbone"), None)
    if profile is not None:
        part("backbone in profile, to look at", lambda: files.write(profile, folder / "backbone.svg"))
    return profile


def _inside(hull: Hull, folder: Path, planking: float | None, done: Done, part: Any) -> None:
    """What needs no more than the hull; what stands where a builder wants it is asked for with `pickup inside`."""
    part("the deck in plan", lambda: _each([hull.deck()], folder))
    try:
        inside = planking_inside(hull, planking)
    except LoftError as error:
        done.remarks.append(f"nothing is fitted inside the planking: {error}")
        return
    part("half-breadths of the deck", lambda: write_csv(folder / "deck.csv", measured(hull.deck_table(inside))))
    what = "breadths inside the planking, with the bevels of ends: for thwarts and floors"
    part(what, lambda: write_csv(folder / "breadths.csv", measured(hull.breadths(inside))))


def planking_inside(hull: Hull, planking: float | None) -> float:
    """How far inside the table's surface the inner face of planking so thick lies, m."""
    if planking is None:
        return hull._inside(None)
    return 0.0 if hull.source.facts["moulded_to"] == "inside of planking" else planking


def _transom(transom: Transom, folder: Path) -> list[Path]:
    written = _each([transom.drawing()], folder)
    return written + write_csv(folder / "bevels.csv", measured(transom.bevels()))


def _each(drawings: list[Any], folder: Path) -> list[Path]:
    return files.write(drawings, folder, writer="dxf")


def _table(hull: Hull, path: Path) -> list[Path]:
    hull.table().write(path)
    return [path]
