"""The house style of plots.

Colours are those of Okabe and Ito, "Color universal design", 2008, told apart by the colour-blind; marks and dashes
differ besides. Needs matplotlib: `pip install 'scrieve[notebook]'`.
"""

from __future__ import annotations

from functools import wraps
from typing import TYPE_CHECKING, Any

from .extras import extra

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Okabe and Ito's eight without yellow, which is lost on white paper; black leads.
COLOURS = ("#000000", "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9")
DASHES = ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (7, 2, 1.5, 2)), (0, (1, 1)))
GRID = "#BBBBBB"
MARKS = "os^Dvph"

# A book's column and its full measure, inches.
COLUMN, MEASURE = 3.4, 7.0

_STYLE = {
    "font.family": "serif",
    "font.size": 9,
    "axes.labelsize": 9,
    "axes.titlesize": 10,
    "axes.linewidth": 0.6,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "xtick.labelsize": 8,
    "ytick.labelsize": 8,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "legend.frameon": False,
    "legend.fontsize": 8,
    "savefig.dpi": 300,
    "figure.dpi": 110,
    "svg.fonttype": "none",
}


def axes_of(ax: Axes | None, size: tuple[float, float]) -> tuple[Figure, Axes]:
    import matplotlib.pyplot as plt

    if ax is not None:
        return ax.figure, ax
    figure, ax = plt.subplots(figsize=size, layout="constrained")
    return figure, ax


def styled(draw: Any) -> Any:
    """Draws in the house style, leaves the reader's own settings alone, and lets a notebook show it once."""

    @wraps(draw)
    def drawn(*args: Any, **options: Any) -> Figure:
        with extra("notebook"):
            import matplotlib.pyplot as plt
        with plt.rc_context(_STYLE):
            figure = draw(*args, **options)
        if options.get("ax") is None:
            plt.close(figure)
        return figure

    return drawn
