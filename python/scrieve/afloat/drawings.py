"""The drawings and tables of a boat afloat, written into a folder: what `scrieve float -o` leaves behind."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from .. import files
from ..errors import ScrieveError
from ..outputs import Lot, replace
from ..tables import write_csv
from ..terminal.stream import shown
from .report import Report

KINDS = ("svg", "pdf", "png")


def write(report: Report, folder: Path, kind: str = "svg") -> tuple[list[Path], list[Path], list[str]]:
    """Writes what the report has: curves of form, sectional areas, righting arms and sail plans as drawings, the
    first three as CSV besides, sail plans as DXF besides. Gives the files, those of an earlier run that were taken
    away, and what could not be drawn and why.

    `kind` is that of the drawings; a sail plan has no PNG and is written as SVG for it. All are put into the folder
    once all are made (see `outputs.Lot`). Raises `OSError`, `ScrieveError`.
    """
    lot = Lot(folder, "floated")
    with lot.made() as apart:
        written, failures = _tables(report, apart), []
        try:
            written += _plots(report, apart, kind)
        except ScrieveError as error:
            failures.append(f"curves are not drawn: {error}")
        if report.rigs and report.figures is not None:
            from .sail_plan import sail_plan

            for name in report.rigs:
                for drawing in sail_plan.draw(report.hull, rig=name, draught=report.figures.draught):
                    for suffix in ("svg" if kind == "png" else kind, "dxf"):
                        written += files.write([drawing], apart / f"{files.plain_name(drawing.name)}.{suffix}")
        names = [path.relative_to(apart) for path in written]
    return [folder / name for name in names], lot.removed, failures


def _tables(report: Report, folder: Path) -> list[Path]:
    import pandas

    frames: dict[str, Any] = {"curves-of-form": report.all_curves()}
    if report.figures is not None:
        x, area = report.sectional_areas()
        frames["sectional-areas"] = pandas.DataFrame({"x": x, "area": area})
    if report.arms is not None:
        arms = report.arms
        frames["righting-arms"] = pandas.DataFrame({"heel": arms.heels, "gz": arms.gz, "trim": arms.trim})
    return [path for name, frame in frames.items() for path in write_csv(folder / f"{name}.csv", frame)]


def _plots(report: Report, folder: Path, kind: str) -> list[Path]:
    from ..extras import extra

    with extra("notebook"):
        from . import plots as float_plots

    plots = {"curves-of-form": float_plots.curves_of_form(report)}
    if report.figures is not None:
        plots["sectional-areas"] = float_plots.sectional_areas(report)
    if report.arms is not None:
        plots["righting-arms"] = float_plots.righting_arms(report)
    # Without the hour of writing, the same boat gives the same file.
    undated: dict[str, Any] = {"svg": {"Date": None}, "pdf": {"CreationDate": None}, "png": {}}[kind]
    written = []
    for name, figure in plots.items():
        data = io.BytesIO()
        figure.savefig(data, format=kind, dpi=200, metadata=undated)
        written.append(folder / f"{name}.{kind}")
        drawn = data.getvalue()
        # XML has no way to write most of what a name may hold.
        replace(written[-1], shown(drawn.decode()).encode() if kind == "svg" else drawn)
    return written
