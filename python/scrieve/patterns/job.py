"""The main job: everything picked up from a faired hull, in a folder a person can find their way in."""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from .. import files
from .._core import Drawing
from ..afloat.report import Report, report
from ..errors import Fault, LoftError, Note, NotMade
from ..hull.backbone import ASSUMED_BOW, FashionPieces, Transom
from ..hull.floating import CAUTION
from ..hull.hull import Hull
from ..outputs import Lot, refuse_input, replace
from ..tables import frame, in_mm, measured, write_csv
from .page import page

CAUTIONS = (
    "Before cutting, measure two known dimensions of the boat on the drawing, and on paper its 100 mm bars.",
    "Fairing by number does not replace sighting along a batten: set up the moulds, bend battens round them and look.",
    "Bandsaws, planers and routers hurt people: guards, eyes, ears and dust; follow the makers' instructions.",
    "Nothing here shows that a boat is safe or lawful: follow local rules and have a licensed naval architect "
    "or surveyor judge her.",
)
T = TypeVar("T")


# What the list of a lofted folder's files is called.
LISTED = "lofted"


@dataclass
class Done:
    """What a job wrote, what it could not make, and where to begin reading."""

    hull: Hull
    folder: Path
    parts: list[tuple[str, list[Path]]] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    failures: list[str] = field(default_factory=list)
    removed: list[Path] = field(default_factory=list)

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
        if self.removed:
            lines.append(f"  taken away: {len(self.removed)} files of an earlier run, such as {self.removed[0]}")
        lines.append("begin with " + str(self.folder / "index.html"))
        return "\n".join(lines)


def refuse_no_hull(hull: Hull) -> None:
    """Raises `LoftError` where her table describes no one fair hull: what is written might be cut by."""
    if hull.no_hull is not None:
        raise LoftError(f"nothing is written to cut by: {hull.no_hull}")


def loft(hull: Hull, folder: Path, planking: float | None = None) -> Done:
    """Writes all that is picked up from a hull into `folder`, with an index.

    `planking` is its thickness, m; left out, the table's own.
    A part that cannot be made is named in `failures`; the others are written. What an earlier run wrote there is
    replaced or taken away (see `outputs.Lot`), the index last. Raises `LoftError` where her table describes no one fair
    hull, `OSError` where the folder cannot be written,
    `ScrieveError` where something else is in the way.
    """
    refuse_no_hull(hull)
    refuse_input(folder / "faired.offsets")
    lot = Lot(folder, LISTED, first="index.html")
    with lot.made() as apart:
        done = _loft(hull, apart, planking)
    done.parts = [(what, [folder / path.relative_to(apart) for path in paths]) for what, paths in done.parts]
    done.folder, done.removed = folder, lot.removed
    return done


class _Making:
    """What is made for a lofted folder, part by part: one that cannot be made costs itself and a line."""

    def __init__(self, hull: Hull, folder: Path) -> None:
        self.hull = hull
        self.folder = folder
        self.done = Done(hull, folder)

    def made(self, what: str, make: Callable[[], T]) -> T | None:
        """What `make` gives; None, and a line, where it raises. What it warns of is told too."""
        with warnings.catch_warnings(record=True) as told:
            warnings.simplefilter("always", Note)
            try:
                return make()
            except ValueError as error:
                self.done.failures.append(f"{what}: {error}")
                return None
            finally:
                self.done.failures += [str(w.message) for w in told if issubclass(w.category, (Fault, NotMade))]
                self.done.remarks += [
                    str(w.message)
                    for w in told
                    if issubclass(w.category, Note) and not issubclass(w.category, (Fault, NotMade))
                ]

    def part(self, what: str, make: Callable[[], list[Path]]) -> None:
        """Files that stand in the index under `what`."""
        paths = self.made(what, make)
        if paths:
            self.done.parts.append((what, paths))

    def drawn(self, what: str, drawing: Drawing | None, *names: str) -> None:
        """One drawing, a file for each name; the second is the same for CAD."""
        if drawing is not None:
            for said, name in zip((what, "the same for CAD"), names, strict=False):
                self.part(said, partial(files.write, drawing, self.folder / name))

    def each(self, what: str, drawings: Sequence[Drawing], folder: Path, writer: str = "dxf") -> None:
        """A file for each drawing; those that are not to be cut by are told, and the others written."""
        sound = []
        for drawing in drawings:
            wrong = files.faults(drawing)
            if wrong:
                self.done.failures.append(f"{what}: drawing {drawing.name!r}: {wrong[0]}")
            else:
                sound.append(drawing)
        if sound:
            self.part(what, lambda: files.write(sound, folder, writer=writer))


def _loft(hull: Hull, folder: Path, planking: float | None) -> Done:
    making = _Making(hull, folder)
    done = making.done
    lines = making.made("lines drawing", hull.lines)
    making.drawn("lines drawing, to look at", lines, "lines.svg", "lines.dxf")
    figures = [("Her lines, faired.", lines)]
    moulds = making.made("moulds", lambda: hull.mould_set(deduct=planking))
    set_up = None
    if moulds is not None:
        set_up = making.made("setting up", lambda: _moulds(making, moulds))
        figures.append(("The moulds within one another.", making.made("moulds", moulds.sheet)))
        making.drawn("moulds within one another, to look at", figures[-1][1], "moulds.svg")
    figures.append(("Her backbone in profile.", _backbone(making, planking)))
    if hull.has_transom:
        what = "the transom at its true size"
        making.part(what, lambda: _transom(hull.transom(planking=planking), folder / "transom"))
        what = "the fashion pieces on the transom's forward face"
        making.part(what, lambda: _fashion(hull.fashion_pieces(planking=planking), folder / "transom"))
    else:
        done.remarks.append("her table gives no transom, so none is drawn")
    if hull.has_bow_transom:
        done.remarks.append(ASSUMED_BOW)
        what = "the bow transom at its true size"
        making.part(what, lambda: _transom(hull.bow_transom(planking=planking), folder / "bow-transom"))
    _inside(making, planking)
    making.part("the faired table", lambda: _table(hull, folder / "faired.offsets"))
    making.part("how far each reading moved", lambda: write_csv(folder / "corrections.csv", in_mm(hull.corrections())))
    making.part("fairness of every line", lambda: write_csv(folder / "fairness.csv", in_mm(hull.fairness())))
    unread = hull.evidence()
    what = "stretches of her lines that no reading is near, dashed in the lines drawing"
    making.part(what, lambda: write_csv(folder / "evidence.csv", in_mm(unread)))
    if len(unread):
        done.remarks.append(
            f"no reading is near {len(unread)} stretch{'' if len(unread) == 1 else 'es'} of her lines, "
            "which are dashed in the lines drawing and listed in evidence.csv"
        )
    afloat, plans = _afloat(making)
    done.parts.append(("all of these, as sha256sum -c checks them", [folder / f"{LISTED}.sha256"]))
    notes = [f"not made: {failure}" for failure in done.failures] + hull.remarks + done.remarks
    shown = [(caption, drawing.to_svg()) for caption, drawing in figures if drawing is not None]
    floating = None
    if afloat is not None:
        above = f"Upright {afloat.at}." if afloat.at else ""
        sails = [(f"Her sails: {name}.", drawing.to_svg()) for name, drawing in plans]
        floating = (above, afloat.shown(), [*afloat.notes, CAUTION], sails)
    index = folder / "index.html"
    replace(index, page(hull, folder, done.parts, notes, CAUTIONS, shown, set_up, floating).encode())
    done.parts.insert(0, ("begin here", [index]))
    return done


def _moulds(making: _Making, moulds: Any) -> Any:
    """Writes the moulds and their tables; gives the set-up as the shop reads it."""
    folder, done = making.folder, making.done
    done.failures += [f"mould at {failure}" for failure in moulds.failures]
    done.remarks += moulds.remarks
    set_up = measured(frame(moulds.set_up()))
    making.each("moulds at full size, for the router", moulds.drawings(), folder / "moulds")
    stock = measured(frame(moulds.pieces()))
    making.part("moulds: the board each is got out of", lambda: write_csv(folder / "boards.csv", stock))
    making.part("setting up: where each mould stands", lambda: write_csv(folder / "set-up.csv", set_up))
    on_strongback = moulds.set_up_drawing(making.hull._core)
    making.drawn("moulds on the strongback", on_strongback, "set-up.svg")
    bevels = measured(frame(moulds.bevels()))
    making.part("bevels at each mould", lambda: write_csv(folder / "bevels.csv", bevels))
    making.drawn("bevel boards, to set a square from", moulds.bevel_board(), "bevel-board.dxf")
    return set_up


def _afloat(making: _Making) -> tuple[Report | None, list[tuple[str, Drawing]]]:
    """How she floats and what her sails are, if her table says anything of it, and her sail plans."""
    if not {"load_waterline", "boat_kg"} & set(making.hull.source.facts):
        return None, []
    told = making.made("how she floats", lambda: report(making.hull))
    if told is None:
        return None, []
    folder = making.folder / "afloat"
    said = told.text()
    making.part("how she floats, and her sails against the hull", lambda: _text(folder / "figures.txt", said))
    plans = making.made("sail plans", lambda: _sail_plans(told)) or []
    if plans:
        making.each("sail plans, to look at", [plan for _, plan in plans], folder, writer="svg")
        making.each("the same for CAD", [plan for _, plan in plans], folder)
    return told, plans


def _sail_plans(told: Report) -> list[tuple[str, Drawing]]:
    if told.figures is None:
        return []
    from ..afloat.sail_plan import sail_plan

    draught = told.figures.draught
    return [(name, sail_plan.draw(told.hull, rig=name, draught=draught)[0]) for name in told.rigs]


def _text(path: Path, text: str) -> list[Path]:
    path.parent.mkdir(parents=True, exist_ok=True)
    replace(path, f"{text}\n".encode())
    return [path]


def _backbone(making: _Making, planking: float | None) -> Drawing | None:
    """Writes the backbone; gives its profile, where there is one."""
    hull, done, folder = making.hull, making.done, making.folder / "backbone"
    source = hull.source
    unsaid = not source.facts.get("half_siding") and ("half-breadths", "rabbet") not in source.rows
    backbone = None
    try:
        backbone = hull.backbone(planking)
    except LoftError as error:
        if unsaid:
            done.remarks.append("her table gives no half-siding, so no rabbet and no backbone are drawn")
        else:
            done.failures.append(f"backbone: {error}")
    if backbone is None:
        return None
    done.remarks += [f"backbone: {said}" for said in backbone.remarks + backbone.failures]
    tables = {
        "line": backbone.line(),
        "keel": backbone.keel(),
        "bottom": backbone.bottom(),
        "stem": backbone.stem(),
        "sternpost": backbone.sternpost(),
    }
    for name, table in {**tables, "pieces": backbone.pieces()}.items():
        if len(table):
            making.part(f"backbone: {name}", partial(write_csv, folder / f"{name}.csv", measured(table)))
    drawings = backbone.drawings()
    making.each("keel, stem and stern as patterns, with the rabbet", drawings, folder)
    profile = next((drawing for drawing in drawings if drawing.name == "backbone"), None)
    making.drawn("backbone in profile, to look at", profile, "backbone/backbone.svg")
    return profile


def _inside(making: _Making, planking: float | None) -> None:
    """What needs no more than the hull; what stands where a builder wants it is asked for with `pickup inside`."""
    hull, folder = making.hull, making.folder / "inside"
    deck = making.made("the deck in plan", hull.deck)
    if deck is not None:
        making.each("the deck in plan", [deck], folder)
    try:
        inside = planking_inside(hull, planking)
    except LoftError as error:
        making.done.remarks.append(f"nothing is fitted inside the planking: {error}")
        return
    what = "half-breadths of the deck"
    making.part(what, lambda: write_csv(folder / "deck.csv", measured(hull.deck_table(inside))))
    what = "breadths inside the planking, with the bevels of ends: for thwarts and floors"
    making.part(what, lambda: write_csv(folder / "breadths.csv", measured(hull.breadths(inside))))


def planking_inside(hull: Hull, planking: float | None) -> float:
    """How far inside the table's surface the inner face of planking so thick lies, m."""
    if planking is None:
        return hull._inside(None)
    return 0.0 if hull.source.facts["moulded_to"] == "inside of planking" else planking


def _transom(transom: Transom, folder: Path) -> list[Path]:
    written = files.write([transom.drawing()], folder, writer="dxf")
    return written + write_csv(folder / "bevels.csv", measured(transom.bevels()))


def _fashion(fashion: FashionPieces, folder: Path) -> list[Path]:
    written = files.write([fashion.drawing()], folder, writer="dxf")
    written += write_csv(folder / "fashion-pieces.csv", measured(fashion.pieces()))
    return written + write_csv(folder / "fashion-bevels.csv", measured(fashion.bevels()))


def _table(hull: Hull, path: Path) -> list[Path]:
    hull.table().write(path)
    return [path]
