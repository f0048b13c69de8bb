"""Plots of a boat afloat, or of several together: curves of form, sectional areas, righting arms.

Each takes a `scrieve.float_report.Report` or a list of them, draws a figure in the house style of `plots`, and
gives it. Needs matplotlib: `pip install 'scrieve[notebook]'`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from ..errors import ScrieveError
from ..plotting import COLOURS, DASHES, GRID, MEASURE, axes_of, styled

if TYPE_CHECKING:
    import pandas
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from .report import Report

# Panels of the curves of form: what is along the axis, and the curves in it by name and symbol.
_PANELS: list[tuple[str, list[tuple[str, str]]]] = [
    ("volume, m³", [("volume", "∇")]),
    ("area, m²", [("awp", "AWP"), ("wetted_surface", "S")]),
    ("coefficient", [("cb", "CB"), ("cp", "CP"), ("cm", "CM"), ("cwp", "CWP")]),
    ("from the forward end, m", [("lcb", "LCB"), ("lcf", "LCF")]),
    ("above the base line, m", [("kb", "KB"), ("km", "KM")]),
    ("to sink her a millimetre, kg", [("immersion", "")]),
]
# Stations of a curve of areas, draughts of curves of form, and heels of a curve of arms, degrees.
STATIONS, DRAUGHTS, HEEL_STEP, HEELS = 201, 41, 1.0, 90.0


@styled
def curves_of_form(reports: Report | Sequence[Report]) -> Figure:
    """Upright figures over draught: draught upward, as the curves are drawn by hand (common practice)."""
    import matplotlib.pyplot as plt

    boats = _list(reports)
    size = (MEASURE, 5.6)
    figure, grid = plt.subplots(2, 3, figsize=size, layout="constrained", sharey=True)
    frames = [_close(boat) for boat in boats]
    for ax, (title, curves) in zip(grid.flat, _PANELS, strict=True):
        for k, (boat, frame) in enumerate(zip(boats, frames, strict=True)):
            # Of several boats all four coefficients would be a tangle.
            for i, (name, symbol) in enumerate(curves[:2] if len(boats) > 1 else curves):
                colour = COLOURS[(k if len(boats) > 1 else i) % len(COLOURS)]
                dash = DASHES[(i if len(boats) > 1 else 0) % len(DASHES)]
                label = boat.hull.name if not i and ax is grid[0, 0] else None
                ax.plot(frame[name], frame["draught"], color=colour, linestyle=dash, linewidth=1.1, label=label)
                if not k and symbol:
                    # On the line, each symbol at a height of its own.
                    at = int((0.76 - 0.2 * i) * (len(frame) - 1))
                    box = {"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none"}
                    ax.text(frame[name].iloc[at], frame["draught"].iloc[at], symbol, color=colour, fontsize=8,
                            ha="center", va="center", bbox=box)  # fmt: skip
        ax.set_xlabel(title)
        if len(boats) == 1 and boats[0].figures is not None:
            ax.axhline(boats[0].figures.draught, color=GRID, linewidth=0.8, zorder=0)
    for ax in grid[:, 0]:
        ax.set_ylabel("draught from the base line, m")
    if len(boats) == 1 and boats[0].figures is not None:
        grid[0, 0].annotate("waterline", (0.02, boats[0].figures.draught), xycoords=("axes fraction", "data"),
                            ha="left", va="bottom", fontsize=7, color="#666666", xytext=(0, 1),
                            textcoords="offset points")  # fmt: skip
    _name(figure, boats)
    return figure


def _close(boat: Report) -> pandas.DataFrame:
    """The curves over the draughts asked for, close enough together that they look smooth."""
    import numpy

    frame = boat.all_curves()
    if len(frame) < 2:
        return frame
    draughts = numpy.linspace(frame["draught"].min(), frame["draught"].max(), DRAUGHTS)
    return boat.hull.curves_of_form(draughts, boat.water)


@styled
def sectional_areas(reports: Report | Sequence[Report], *, ax: Axes | None = None) -> Figure:
    """The curve of areas at each boat's waterline. Of several, length is brought to 1 and the area under the
    curve too, so that what differs is how the volume is spread."""
    import numpy

    boats = [boat for boat in _list(reports) if boat.figures is not None]
    if not boats:
        raise ScrieveError("no boat to draw: none has a waterline")
    figure, ax = axes_of(ax, (MEASURE * 0.8, 3.0))
    for k, boat in enumerate(boats):
        figures = boat.figures
        assert figures is not None
        x, areas = (numpy.array(values) for values in boat.sectional_areas(STATIONS))
        if len(boats) > 1:
            x, areas = (x - figures.waterline_fore) / figures.lwl, areas * figures.lwl / figures.volume
        colour, dash = COLOURS[k % len(COLOURS)], DASHES[k % len(DASHES)]
        ax.plot(x, areas, color=colour, linestyle=dash, linewidth=1.2, label=f"{boat.hull.name}, CP {figures.cp:.3f}")
        if len(boats) == 1:
            ax.fill_between(x, areas, color=COLOURS[6], alpha=0.25, linewidth=0)
            ax.plot([figures.lcb] * 2, [0, numpy.interp(figures.lcb, x, areas)], color=GRID, linewidth=0.8)
            ax.annotate("LCB", (figures.lcb, 0), ha="left", fontsize=8, xytext=(3, 4), textcoords="offset points")
            ax.set_title(
                f"{boat.hull.name}: ∇ {figures.volume:.3f} m³, AM {figures.am:.3f} m², CP {figures.cp:.3f}", loc="left"
            )
    ax.set_ylim(bottom=0)
    if len(boats) > 1:
        ax.set_xlabel("from the forward end of the waterline, parts of LWL")
        ax.set_ylabel("section under water over ∇/LWL")
        ax.legend()
    else:
        ax.set_xlabel("from the forward end, m")
        ax.set_ylabel("section under water, m²")
    return figure


@styled
def righting_arms(reports: Report | Sequence[Report], *, ax: Axes | None = None) -> Figure:
    """GZ over heel to starboard. A ring marks where the water reaches the sheer: there an open boat's curve ends, a
    decked one's goes on. Of one boat alone the slope at the start, GM, is drawn up to a radian."""
    import numpy

    boats = [boat for boat in _list(reports) if boat.arms is not None and boat.load is not None]
    if not boats:
        raise ScrieveError("no boat to draw: no mass with its centre is known")
    figure, ax = axes_of(ax, (MEASURE * 0.8, 3.2))
    for k, boat in enumerate(boats):
        assert boat.load is not None
        under = {**boat.load.arguments(), "water": boat.water, "decked": boat.decked}
        heels = numpy.arange(0.0, HEELS + HEEL_STEP, HEEL_STEP)
        flooding = boat.arms.flooding if boat.arms is not None else None
        if flooding is not None:
            heels = numpy.unique([*heels, flooding - 1e-5])
        arms = boat.hull.righting_arms(heels, **under)
        colour, dash = COLOURS[k % len(COLOURS)], DASHES[k % len(DASHES)]
        kind = "decked" if boat.decked else "open"
        ax.plot(arms.heels, arms.gz, color=colour, linestyle=dash, linewidth=1.2, label=f"{boat.hull.name}, {kind}")
        if flooding is not None and flooding <= HEELS:
            gz = numpy.interp(flooding, arms.heels[arms.gz == arms.gz], arms.gz[arms.gz == arms.gz])
            ax.plot(flooding, gz, "o", markersize=5, markerfacecolor="white", color=colour)
            if len(boats) == 1:
                edge = "deck edge" if boat.decked else "water over the sheer"
                ax.annotate(f"{edge}\n{flooding:.0f}°", (flooding, gz), fontsize=8, va="top",
                            xytext=(7, -4), textcoords="offset points")  # fmt: skip
        if len(boats) == 1 and boat.afloat is not None and boat.afloat.heel == 0:
            gm = boat.afloat.gm
            radian = numpy.degrees(1.0)
            ax.plot([0, radian], [0, gm], color=GRID, linewidth=0.8, zorder=0)
            ax.annotate(f"GM {gm:.3f} m", (radian, gm), fontsize=8, color="#666666", ha="right",
                        xytext=(-4, 2), textcoords="offset points")  # fmt: skip
    ax.axhline(0, color="black", linewidth=0.6)
    ax.set_xlim(0, HEELS)
    ax.set_xticks(range(0, int(HEELS) + 1, 15))
    ax.set_xlabel("heel, degrees")
    ax.set_ylabel("GZ, m")
    if len(boats) > 1:
        ax.legend(loc="upper center", ncols=3, bbox_to_anchor=(0.5, -0.2), borderaxespad=0)
    else:
        (boat,) = boats
        ax.set_title(f"{boat.hull.name}, {'decked' if boat.decked else 'open'}, {boat.load.total:g} kg", loc="left")  # type: ignore[union-attr]
    return figure


def _list(reports: Any) -> list[Report]:
    found = [reports] if hasattr(reports, "hull") else list(reports)
    if not found:
        raise ScrieveError("no boats to draw")
    return found


def _name(figure: Figure, boats: list[Report]) -> None:
    if len(boats) > 1:
        figure.legend(loc="outside lower center", ncols=4)
    else:
        figure.suptitle(f"{boats[0].hull.name}: curves of form", x=0.01, ha="left", fontsize=10)
