"""Plots for print: shapes laid over one another, measures over the years, trees, and main directions.

Each function draws into `ax`, or a figure of its own, and gives the figure. Colours are those of Okabe and
Ito, "Color universal design", 2008, told apart by the colour-blind; marks and dashes differ besides. Needs
matplotlib: `pip install 'scrieve[notebook]'`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy

from ..errors import ScrieveError
from ..plotting import COLOURS, COLUMN, DASHES, GRID, MARKS, MEASURE, axes_of, styled
from .measures import LABELS
from .shapes import Directions, Shapes, sections
from .trend import trend as trend_of

if TYPE_CHECKING:
    import pandas
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from .gaps import Gap

# A ramp that reads the same with colour vision, without, and in grey (Nuñez and others, 2018).
RAMP = "cividis"

# Sections of a body plan, as parts of the length from forward: every tenth, and the ends' halves.
STATIONS = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
# Of many boats together, fewer: the eye must still find its way between them.
FEW_STATIONS = (0.1, 0.3, 0.5, 0.7, 0.9)


def _tell_face(ax: Axes, moulded_to: str | None) -> None:
    """Says at the side which face of the planking the hulls are to."""
    if moulded_to:
        at = {"rotation": 90, "ha": "left", "va": "bottom", "fontsize": 6.5, "color": "#555555"}
        ax.text(1.01, 0.0, f"hulls to the {moulded_to}", transform=ax.transAxes, **at)


@styled
def body_plans(
    shapes: Shapes | dict[str, numpy.ndarray],
    names: Sequence[str] | None = None,
    *,
    stations: Sequence[float] | None = None,
    ax: Axes | None = None,
) -> Figure:
    """Body plans laid over one another: sections forward on the right, aft on the left (common practice).

    `shapes` are a collection's, of which `names` picks some, or arrays of points by name. More than there are
    dashes to tell apart are shaded by their year.
    """
    every = shapes.names if isinstance(shapes, Shapes) else list(shapes)
    chosen = {name: shapes[name] for name in (every if names is None else names)}
    if not chosen:
        raise ScrieveError("no boats to draw")
    figure, ax = axes_of(ax, (MEASURE, 3.6))
    many = len(chosen) > len(DASHES)
    stations = stations if stations is not None else FEW_STATIONS if many else STATIONS
    pens = _by_year(figure, ax, shapes, chosen) if many else _by_dash(chosen)
    for (name, points), pen in zip(chosen.items(), pens, strict=True):
        for i, (at, section) in enumerate(zip(stations, sections(points, stations), strict=True)):
            # The midship section is drawn on both sides.
            for side in (1, -1):
                if len(section) and (at <= 0.5 if side > 0 else at >= 0.5):
                    label = None if i or many else name
                    ax.plot(100 * side * section[:, 0], 100 * section[:, 1], label=label, **pen)
    ax.axvline(0, color=GRID, linewidth=0.6, zorder=0)
    ax.axhline(0, color=GRID, linewidth=0.6, zorder=0)
    ax.set_aspect("equal")
    ax.margins(0.04)
    ax.set_xlabel("aft    half-breadth, % of length    forward")
    ax.set_ylabel("height, % of length")
    _tell_face(ax, getattr(shapes, "moulded_to", None))
    ax.xaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    if not many:
        ax.legend(loc="upper center", ncols=3, bbox_to_anchor=(0.5, -0.2), borderaxespad=0)
    return figure


def _by_dash(chosen: dict[str, numpy.ndarray]) -> list[dict[str, Any]]:
    return [{"color": COLOURS[k], "linestyle": DASHES[k], "linewidth": 1.0} for k in range(len(chosen))]


def _by_year(figure: Figure, ax: Axes, shapes: Any, chosen: dict[str, numpy.ndarray]) -> list[dict[str, Any]]:
    """Pens for many boats: shaded by year, with a bar that says so; grey where no year is known."""
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import Normalize

    known = dict(zip(shapes.names, shapes.years, strict=True)) if isinstance(shapes, Shapes) else {}
    years = [known.get(name, numpy.nan) for name in chosen]
    dated = [year for year in years if year == year]
    shades = ScalarMappable(Normalize(min(dated, default=0), max(dated, default=1)), RAMP)
    if dated:
        figure.colorbar(shades, ax=ax, shrink=0.6, label="year", format="%d").outline.set_visible(False)
    colours = [shades.to_rgba(year) if year == year else GRID for year in years]
    return [{"color": colour, "linewidth": 0.6} for colour in colours]


@styled
def trend(
    frame: pandas.DataFrame,
    measure: str,
    *,
    by: str | None = None,
    confidence: float = 0.95,
    title: str | None = None,
    ax: Axes | None = None,
) -> Figure:
    """A measure against the year, a mark a boat, with its line and where that lies with `confidence`.

    `frame` is that of `Collection.measures` or `Directions.frame`; `by` is a fact, such as `"builder"`, that
    marks tell apart. Where it has a column `<measure>_sd` (measures with `uncertainty`), each mark has a bar of two
    standard deviations either way, and surer boats weigh more in the line.
    """
    figure, ax = axes_of(ax, (COLUMN * 1.35, 3.2))
    for name in ("year", measure, *([by] if by else [])):
        if name not in frame:
            raise ScrieveError(f"no column {name!r}; there are: {', '.join(map(str, frame))}")
    years = numpy.array([numpy.nan if not _is(y) else float(y) for y in frame["year"]])
    values = frame[measure].to_numpy(dtype=float)
    sd = frame[f"{measure}_sd"].to_numpy(dtype=float) if f"{measure}_sd" in frame else None
    found = trend_of(years, values, confidence, sd)
    dated = years[numpy.isfinite(values) & numpy.isfinite(years)]
    over = numpy.linspace(dated.min(), dated.max(), 80)
    low, high = found.band(over)
    ax.fill_between(over, low, high, color=COLOURS[1], alpha=0.15, linewidth=0, label=f"{100 * confidence:g} %")
    ax.plot(over, found.at(over), color=COLOURS[1], linewidth=1.2)
    groups: list[tuple[str | None, Any]] = [(None, numpy.ones(len(frame), bool))]
    if by:
        texts = frame[by].astype(object).where(frame[by].notna(), "not known")
        groups = [
            (f"{value:g}" if isinstance(value, float) else str(value), (texts == value).to_numpy())
            for value in dict.fromkeys(texts)
        ]
    for k, (group, which) in enumerate(groups):
        if sd is not None:
            ax.errorbar(
                years[which], values[which], 2 * sd[which], fmt="none", ecolor=COLOURS[k % len(COLOURS)],
                elinewidth=0.8, capsize=1.5, capthick=0.6, label=None if k else "2 sd of the readings",
            )  # fmt: skip
        ax.plot(
            years[which], values[which], MARKS[k % len(MARKS)], color=COLOURS[k % len(COLOURS)], markersize=4,
            markerfacecolor="white" if k % 2 else COLOURS[k % len(COLOURS)], label=group,
        )  # fmt: skip
    unit = frame.attrs.get("units", {}).get(measure, "")
    ax.set_xlabel("year")
    ax.set_ylabel(_label(measure, unit))
    _tell_face(ax, frame.attrs.get("moulded_to"))
    ax.xaxis.get_major_locator().set_params(integer=True)
    ax.set_title(title if title is not None else _slope(found, unit), loc="left", fontsize=8)
    if by:
        ax.legend(loc="upper center", ncols=2, bbox_to_anchor=(0.5, -0.2), borderaxespad=0)
    return figure


def _slope(found: Any, unit: str) -> str:
    slope, half = 10 * found.slope, 10 * (found.high - found.slope)
    # Two figures of the uncertainty, and the slope to the same place.
    places = max(0, 1 - math.floor(math.log10(half))) if half > 0 else 3
    said = f"{slope:+.{places}f} ± {half:.{places}f} {unit}".rstrip().replace("-", "−")
    return f"{said} a decade ({100 * found.confidence:g} %, {found.n} boats)"


def _label(measure: str, unit: str) -> str:
    words = LABELS.get(measure, measure.replace("_", " "))
    return f"{words}, {unit}" if unit else words


def _is(value: Any) -> bool:
    return value is not None and type(value).__name__ != "NAType" and value == value


@styled
def tree(shapes: Shapes, *, clusters: int = 1, ax: Axes | None = None) -> Figure:
    """The tree of relatives, nearest joined first; branches of the same of so many clusters share a colour."""
    from scipy.cluster.hierarchy import dendrogram

    linkage = shapes.tree()
    figure, ax = axes_of(ax, (MEASURE * 0.8, 0.6 + 0.17 * len(shapes)))
    groups = shapes.clusters(clusters).to_numpy()
    members: dict[int, set[int]] = {i: {int(g)} for i, g in enumerate(groups)}
    for i, (a, b, *_) in enumerate(linkage):
        members[len(shapes) + i] = members[int(a)] | members[int(b)]

    def colour(node: int) -> str:
        (first, *others) = members[node]
        return COLOURS[0] if others or clusters < 2 else COLOURS[1 + (first - 1) % (len(COLOURS) - 1)]

    labels = [f"{n}, {y:.0f}" if y == y else n for n, y in zip(shapes.names, shapes.years, strict=True)]
    scaled = linkage.copy()
    scaled[:, 2] *= 1000
    dendrogram(scaled, orientation="right", labels=labels, ax=ax, link_color_func=colour, leaf_font_size=8)
    for line in ax.collections:
        line.set_linewidth(1.0)
    ax.spines["left"].set_visible(False)
    face = f"\nhulls to the {shapes.moulded_to}" if shapes.moulded_to else ""
    ax.set_xlabel(f"rms distance between corresponding points,\nmm to the metre of length{face}")
    return figure


@styled
def distances(shapes: Shapes, gap: str = "rms", *, ax: Axes | None = None) -> Figure:
    """The distances of all from all as shades, boats in the order of the tree."""
    order = _leaves(shapes)
    matrix = 1000 * shapes.distances(gap).to_numpy()[numpy.ix_(order, order)]
    side = min(MEASURE, 1.8 + 0.19 * len(shapes))
    figure, ax = axes_of(ax, (side, side * 0.88))
    image = ax.imshow(matrix, cmap=f"{RAMP}_r", vmin=0)
    names = [shapes.names[i] for i in order]
    ax.set_xticks(range(len(names)), names, rotation=90, fontsize=7)
    ax.set_yticks(range(len(names)), names, fontsize=7)
    ax.tick_params(length=0)
    ax.spines[:].set_visible(False)
    bar = figure.colorbar(image, ax=ax, shrink=0.7)
    bar.set_label(f"{gap} distance between corresponding points,\nmm to the metre of length")
    _tell_face(ax, shapes.moulded_to)
    bar.outline.set_visible(False)
    return figure


@styled
def gap(found: Gap, *, ax: Axes | None = None) -> Figure:
    """Where the second boat is fuller than the first, on the first's side expanded: girth over length.

    Level lines in mm to the metre of length. Grey where nothing of the second is abreast of the first.
    """
    from matplotlib.patheffects import withStroke

    points = found.points
    x = points[..., 0] - points[..., 0].min()
    steps = numpy.linalg.norm(numpy.diff(points, axis=1), axis=2)
    girth = numpy.pad(numpy.cumsum(steps, axis=1), ((0, 0), (1, 0)))
    length = x.max()
    across, up = 100 * x / length, 100 * girth / length
    figure, ax = axes_of(ax, (MEASURE, 2.6))
    values = numpy.ma.masked_invalid(1000 * found.outside)
    reach = max(float(numpy.abs(values).max()), 1e-6) if values.count() else 1.0
    levels = _levels(reach)
    ax.pcolormesh(across, up, numpy.zeros_like(across), cmap="Greys", vmin=-1, vmax=3, shading="gouraud", zorder=0)
    image = ax.contourf(across, up, values, levels=levels, cmap="PuOr_r", vmin=levels[0], vmax=levels[-1])
    lines = ax.contour(across, up, values, levels=levels, colors="#555555", linewidths=0.4)
    halo = [withStroke(linewidth=1.5, foreground="white")]
    for label in ax.clabel(lines, fontsize=6.5, fmt=lambda v: f"{v:g}".replace("-", "\u2212")):
        label.set(color=COLOURS[0], path_effects=halo)
    ax.plot(across[:, -1], up[:, -1], color=COLOURS[0], linewidth=1.0)
    for end in (0, -1):
        ax.plot(across[end], up[end], color=COLOURS[0], linewidth=1.0)
    ax.set_aspect("equal")
    ax.margins(0.02)
    ax.set_xlabel("from the forward end, % of length")
    ax.set_ylabel("girth from the rabbet, % of length")
    _tell_face(ax, found.moulded_to)
    first, second = found.names
    ax.set_title(f"{second} against {first}: rms {1000 * found.rms:.1f} mm to the metre", loc="left", fontsize=8)
    bar = figure.colorbar(image, ax=ax, shrink=0.8)
    bar.set_label("finer   mm to the metre   fuller")
    bar.outline.set_visible(False)
    return figure


def _levels(reach: float) -> numpy.ndarray:
    """Even levels to either side of nothing, of a round step, four to eight a side."""
    step = 10.0 ** math.floor(math.log10(reach / 4))
    step *= max(k for k in (1, 2, 5) if k * step <= reach / 4)
    count = math.ceil(reach / step)
    return step * numpy.arange(-count, count + 1)


def _leaves(shapes: Shapes) -> list[int]:
    from scipy.cluster.hierarchy import leaves_list

    return [int(i) for i in leaves_list(shapes.tree())]


@styled
def directions(
    found: Directions, count: int = 2, *, deviations: float = 2.0, stations: Sequence[float] = STATIONS
) -> Figure:
    """Main directions of variation: for each a body plan so many deviations to either side of the mean."""
    import matplotlib.pyplot as plt

    count = min(count, len(found.vectors))
    if not count:
        raise ScrieveError("no directions to draw")
    size, shared = (MEASURE * 0.85, 2.9 * count), {"sharex": True, "sharey": True}
    figure, rows = plt.subplots(count, 1, figsize=size, layout="constrained", squeeze=False, **shared)
    for k, ax in enumerate(rows[:, 0], 1):
        drawn = {
            "mean": found.mean,
            f"{deviations:g} deviations less": found.shape(k, -deviations),
            f"{deviations:g} deviations more": found.shape(k, deviations),
        }
        body_plans(drawn, stations=stations, ax=ax)
        ax.set_title(f"direction {k}: {100 * found.shares[k - 1]:.0f} % of the variation", loc="left")
        _tell_face(ax, found.moulded_to)
        if k < count:
            ax.get_legend().remove()
            ax.set_xlabel("")
    return figure
