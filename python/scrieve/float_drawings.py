"""The drawings and tables of a boat afloat, written into a folder: what `scrieve float -o` leaves behind."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from . import files
from .errors import ScrieveError
from .float_report import Report
from .tables import replace

KINDS = ("svg", "pdf", "png")


def write(report: Report, folder: Path, kind: str = "svg") -> tuple[list[Path], list[str]]:
    """Writes what the report has: curves of form, sectional areas, righting arms and sail plans as drawings, the
    first three as CSV besides, sail plans as DXF besides. Gives the files, and what could not be drawn and why.

    `kind` is that of the drawings; a sail plan has no PNG and is written as SVG for it. Raises `OSError`.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written, failures = _tables(report, folder), []
    try:
        written += _plots(report, folder, kind)
    except ScrieveError as error:
        failures.append(f"curves are not drawn: {error}")
    if report.rigs and report.figures is not None:
        from .sail_plan import sail_plan

        for name in report.rigs:
            for drawing in sail_plan.draw(report.hull, rig=name, draught=report.figures.draught):
                for suffix in ("svg" if kind == "png" else kind, "dxf"):
                    written += files.write([drawing], folder / f"{files.plain_name(drawing.name)}.{suffix}")
    return written, failures


def _tables(report: Report, folder: Path) -> list[Path]:
    import pandas

    frames: dict[str, Any] = {"curves-of-form": report.all_curves()}
    if report.figures is not None:
        x, area = report.sectional_areas()
        frames["sectional-areas"] = pandas.DataFrame({"x": x, "area": area})
    if report.arms is not None:
        arms = report.arms
        frames["righting-arms"] = pandas.DataFrame({"heel": arms.heels, "gz": arms.gz, "trim": arms.trim})
    written = []
    for name, frame in frames.items():
        text = io.StringIO()
        frame.to_csv(text, index=False, float_format="%.6g", lineterminator="\n")
        written.append(folder / f"{name}.csv")
        replace(written[-1], text.getvalue().encode())
    return written


def _plots(report: Report, folder: Path, kind: str) -> list[Path]:
    from ._extras import extra

    with extra("notebook"):
        from . import float_plots

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
        replace(written[-1], data.getvalue())
    return written
