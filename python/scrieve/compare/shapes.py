"""Shapes laid over one another: distances, trees, the main ways in which they vary.

A shape is a grid of points of the moulded surface: lines from rabbet to sheer, evenly spaced from end to
end, and on each, points evenly spaced by girth. Points of one place in the grid correspond, so that the
distance of two shapes is that between corresponding points, a true metric, and no less than the gap square to the
surface. All are of one face of the planking.
x runs from the forward end and z from the lowest point of the rabbet; a table's own base line drops out.
Principal directions are those of Cootes and others, "Active shape models", 1995: the singular vectors of the
points about their mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy

from ..errors import ScrieveError
from ..extras import extra
from .face import brought
from .names import no_boat

if TYPE_CHECKING:
    import pandas

    from ..hull.hull import Hull
    from ..table.table import Table
    from .gaps import Gap
    from .trend import Trend

# Stations and points of girth of a shape. Halving both moves distances between sister boats by under a part
# in a hundred; doubling both makes a thousand boats 48 MB.
GRID = (41, 25)

# Lines and points of the surface the grid is taken from: its chords are within 0.1 mm of a 5 m boat.
_FINE = (161, 65)

# How far to both sides of a place its profile's turn is taken, as a part of the length: a corner and a forefoot of a
# fifth of the draught's radius are alike one corner.
_TURN = 0.04

# Steps of the outline so short in profile, as parts of its length, are athwart.
_ATHWART = 2e-4

SIZES = ("length", "all")
GAPS = ("rms", "greatest")


def sample(hull: Hull) -> numpy.ndarray:
    """The grid of a hull: (stations, girths, 3), m, from her forward end and lowest rabbet.

    It depends on her shape alone, not on how the surface came to be laid out: stations run from the lower edge to the
    sheer, swinging from the line of her fore end into that of her after end, and the corners from which those ends rise
    are where her profile turns most.
    """
    fine = hull._core.grid(*_FINE)
    if not numpy.isfinite(fine).all():
        raise ScrieveError("the surface comes to nothing somewhere: it has no grid of points")
    stations, girths = GRID
    lines = _stations(fine, numpy.linspace(0, 1, _FINE[0]))
    steps = numpy.linalg.norm(numpy.diff(lines, axis=1), axis=2)
    girth = numpy.pad(numpy.cumsum(steps, axis=1), ((0, 0), (1, 0)))
    lengthwise = _evenly(lines, girth, girths).transpose(1, 0, 2)
    aft = lengthwise[..., 0] - lengthwise[:, :1, 0]
    points = _evenly(lengthwise, aft, stations).transpose(1, 0, 2)
    if not numpy.isfinite(points).all():
        raise ScrieveError("the surface comes to nothing somewhere: it has no grid of points")
    return points - [points[..., 0].min(), 0.0, points[:, 0, 2].min()]


def _stations(fine: numpy.ndarray, parts: numpy.ndarray) -> numpy.ndarray:
    """Lines from the lower edge to the sheer of a surface told by a fine grid, (parts, points, 3): each so large a part
    of the way from the fore end to the after end at its height."""
    # Her outline under the sheer, from the fore end's head round by the keel to the after end's.
    outline = numpy.concatenate([fine[0, :0:-1], fine[:, 0], fine[-1, 1:]])
    fore, lower, after = _edges(outline)
    ends = fore[::-1], after
    level = [numpy.maximum.accumulate(end[:, 2]) for end in ends]

    def part(points: numpy.ndarray) -> numpy.ndarray:
        x0, x1 = (numpy.interp(points[..., 2], z, end[:, 0]) for z, end in zip(level, ends, strict=True))
        return (points[..., 0] - x0) / (x1 - x0)

    at = part(fine)
    along = numpy.maximum.accumulate(part(lower))
    starts = numpy.stack([numpy.interp(parts, along, lower[:, k]) for k in range(3)], axis=-1)
    # Where each line crosses those along the boat. One that begins abaft the fore end, or ends before the after end,
    # has no point of those it misses: it begins there, at her outline.
    crossed = numpy.empty((len(parts), fine.shape[1], 3))
    for j in range(fine.shape[1]):
        rising = numpy.maximum.accumulate(at[:, j])
        for k in range(3):
            crossed[:, j, k] = numpy.interp(parts, rising, fine[:, j, k])
        missed = (parts < rising[0]) | (parts > rising[-1])
        crossed[missed, j] = starts[missed]
    crossed[:, 0] = starts
    for i, end in ((0, ends[0]), (-1, ends[1])):
        steps = numpy.linalg.norm(numpy.diff(end, axis=0), axis=1)
        girth = numpy.append(0.0, numpy.cumsum(steps))
        crossed[i] = _evenly(end[None], girth[None], fine.shape[1])[0]
    return crossed


def _edges(outline: numpy.ndarray) -> tuple[numpy.ndarray, numpy.ndarray, numpy.ndarray]:
    """Fore end, lower edge and after end of an outline that goes from head to head round by the keel; the corners where
    they meet belong to both. In each half of her a corner is where the profile turns most within `_TURN` of her length,
    and on a bend that is spread out, the middle of the turning."""
    profile = outline[:, ::2]
    reach = _TURN * float(numpy.ptp(profile[:, 0]))
    steps = numpy.linalg.norm(numpy.diff(profile, axis=0), axis=1)
    # What lies athwart, as the lower edge of a flat-bottomed transom, goes nowhere in profile.
    moves = steps > _ATHWART * steps.sum()
    steps[~moves] = 0.0
    s = numpy.append(0.0, numpy.cumsum(steps))
    d = numpy.diff(profile, axis=0)[moves]
    heading = numpy.unwrap(numpy.arctan2(d[:, 1], d[:, 0]))
    middles = (s[:-1] + 0.5 * steps)[moves]
    vertices = s[:-1][moves][1:]
    own = numpy.abs(numpy.diff(heading))

    def corner(within: numpy.ndarray) -> float:
        at = numpy.linspace(within[0], within[-1], 1024)
        turned = numpy.abs(numpy.interp(at + reach, middles, heading) - numpy.interp(at - reach, middles, heading))
        most = at[turned.argmax()]
        near = numpy.abs(vertices - most) <= 2 * reach
        if near.any() and own[near].max() > 0.5 * turned.max():
            return float(vertices[near][own[near].argmax()])
        weights = numpy.where(numpy.abs(at - most) <= 3 * reach, turned, 0.0) ** 4
        return float((weights * at).sum() / weights.sum()) if weights.any() else float(most)

    half = 0.5 * (profile[:, 0].min() + profile[:, 0].max())
    middle = int(numpy.flatnonzero(profile[:, 0] >= half)[0])
    a, b = corner(s[: middle + 1]), corner(s[middle:])
    # Points of equal s lie athwart, as on the lower edge of a transom: they are of the end.
    spots = [numpy.array([numpy.interp(c, s, outline[:, k]) for k in range(3)])[None] for c in (a, b)]
    first, last = numpy.searchsorted(s, a, side="right"), numpy.searchsorted(s, b, side="left")
    if a in s:
        spots[0] = outline[first - 1 : first]
    if b in s:
        spots[1] = outline[last : last + 1]
    lower = numpy.concatenate([spots[0], outline[first:last], spots[1]])
    return (
        numpy.concatenate([outline[: first - int(a in s)], spots[0]]),
        lower,
        numpy.concatenate([spots[1], outline[last + int(b in s) :]]),
    )


def _evenly(lines: numpy.ndarray, along: numpy.ndarray, n: int) -> numpy.ndarray:
    """`n` points of each line, evenly spaced in `along`, which ascends from 0."""
    # The lines are laid end to end, with a gap between, and read off all at once.
    starts = 2.0 * numpy.arange(len(lines))[:, None]
    with numpy.errstate(invalid="ignore", divide="ignore"):
        places = (along / along[:, -1:] + starts).ravel()
    at = (numpy.linspace(0.0, 1.0, n) + starts).ravel()
    read = [numpy.interp(at, places, lines[..., axis].ravel()) for axis in range(3)]
    return numpy.stack(read, axis=-1).reshape(len(lines), n, 3)


def extents(points: numpy.ndarray) -> numpy.ndarray:
    """Length, beam and depth of shapes, (..., 3): depth from rabbet to sheer halfway along."""
    length = points[..., 0].max(axis=(-1, -2)) - points[..., 0].min(axis=(-1, -2))
    beam = 2 * points[..., 1].max(axis=(-1, -2))
    middle = points.shape[-3] // 2
    depth = points[..., middle, -1, 2] - points[..., middle, 0, 2]
    return numpy.stack([length, beam, depth], axis=-1)


class Shapes:
    """Hulls brought to one size.

    `.names`; `.points`, an array (boats, stations, girths, 3); `.years`, NaN where the file gives none;
    `.moulded_to`, the face of the planking they are of, `None` where nobody has said. With
    size `"length"` all are one long. With `"all"` all have the mean boat's length, beam and depth, and her
    length is one. So distances are parts of the length.
    """

    def __init__(
        self,
        names: Sequence[str],
        points: numpy.ndarray,
        *,
        size: str = "length",
        years: Sequence[float] = (),
        moulded_to: str | None = None,
        planking: float | None = None,
    ) -> None:
        if size not in SIZES:
            raise ScrieveError(f"no such size: {size!r}; there are {', '.join(SIZES)}")
        self._names = tuple(names)
        self.size = size
        self.moulded_to = moulded_to
        self._planking = planking
        self._years = numpy.array(years, dtype=float) if len(years) else numpy.full(len(names), numpy.nan)
        sizes = extents(points)
        self._mean_size = (sizes / sizes[:, :1]).mean(axis=0)
        self._points = self._sized(points).copy()
        for held in (self._years, self._points):
            held.flags.writeable = False

    @property
    def names(self) -> list[str]:
        """The boats, in order."""
        return list(self._names)

    @property
    def points(self) -> numpy.ndarray:
        """Their points, an array (boats, stations, girths, 3) to be read only."""
        return self._points

    @property
    def years(self) -> numpy.ndarray:
        """Their years, NaN where the file gives none, to be read only."""
        return self._years

    def _sized(self, points: numpy.ndarray) -> numpy.ndarray:
        sizes = extents(points)
        factors = 1 / sizes[..., :1] if self.size == "length" else self._mean_size / sizes
        return points * factors[..., None, None, :]

    def __len__(self) -> int:
        return len(self.names)

    def __repr__(self) -> str:
        face = f", to the {self.moulded_to}" if self.moulded_to else ""
        return f"<Shapes of {len(self)} boats{face}, brought to one size by {self.size}>"

    def __getitem__(self, name: str) -> numpy.ndarray:
        """The points of one boat, (stations, girths, 3)."""
        return self.points[self._number(name)]

    def _number(self, name: str) -> int:
        if name not in self.names:
            raise no_boat(name, self.names)
        return self.names.index(name)

    def distances(self, gap: str = "rms") -> pandas.DataFrame:
        """Distance of each boat from each between corresponding points, part of the length: `"rms"`, or
        `"greatest"`. `.attrs["moulded_to"]` says of which face of the planking."""
        import pandas

        rows = [_gaps(self.points, shape, gap) for shape in self.points]
        frame = pandas.DataFrame(rows, index=self.names, columns=self.names)
        frame.attrs["moulded_to"] = self.moulded_to
        return frame

    def tree(self) -> numpy.ndarray:
        """The boats joined nearest first, by the mean distance between groups: scipy's linkage matrix."""
        with extra("compare"):
            from scipy.cluster.hierarchy import linkage
            from scipy.spatial.distance import squareform

        if len(self) < 2:
            raise ScrieveError("a tree has two boats or more")
        distances = self.distances().to_numpy()
        return linkage(squareform(distances, checks=False), method="average", optimal_ordering=True)

    def clusters(self, count: int) -> pandas.Series:
        """The group, from 1 to `count`, of each boat, where the tree is cut so as to leave that many."""
        import pandas
        from scipy.cluster.hierarchy import fcluster

        if not 1 <= count <= len(self):
            raise ScrieveError(f"{count} groups of {len(self)} boats: expected 1 to {len(self)}")
        groups = fcluster(self.tree(), count, criterion="maxclust")
        return pandas.Series(groups, index=self.names, name="cluster")

    def nearest(self, boat: str | Table | Hull, n: int = 5) -> pandas.DataFrame:
        """The `n` nearest relatives of a boat: one of these by name, or a table or hull newly found, which is brought
        to their face of the planking. Raises `ScrieveError` where it cannot be."""
        import pandas

        if not n >= 1:
            raise ScrieveError(f"{n} relatives: expected 1 or more")
        shape = self._shape(boat)
        others = [name for name in self.names if name != boat] if isinstance(boat, str) else self.names
        frame = pandas.DataFrame(
            {gap: _gaps(self.points, shape, gap) for gap in GAPS} | {"year": self.years}, index=self.names
        )
        return frame.loc[others].nsmallest(n, "rms")

    def gap(self, first: str | Table | Hull, second: str | Table | Hull) -> Gap:
        """The gap between two boats square to the surface: where the second is fuller than the first.

        Each is one of these by name, or a table or hull brought to their size.
        """
        from .gaps import gap

        names = (first if isinstance(first, str) else first.name, second if isinstance(second, str) else second.name)
        return gap(names, self._shape(first), self._shape(second), self.moulded_to)

    def _shape(self, boat: str | Table | Hull) -> numpy.ndarray:
        if isinstance(boat, str):
            return self[boat]
        hull = boat.fair() if hasattr(boat, "fair") else boat
        if self.moulded_to and hull.moulded_to != self.moulded_to:
            own = hull.source.facts.get("planking")
            try:
                hull = brought(hull, self.moulded_to.split()[0], self._planking if own is None else own)
            except ScrieveError as error:
                raise ScrieveError(f"{boat.name}: {error}") from None
        return self._sized(sample(hull))

    def mean(self) -> numpy.ndarray:
        """The mean shape, (stations, girths, 3)."""
        return self.points.mean(axis=0)

    def drift(self, tries: int = 999, seed: int = 0) -> Drift:
        """How the shape as a whole goes with the year: a straight line through every point of the grid.

        Whether it is more than chance is told by dealing the years out anew among the boats, `tries` times
        (a permutation test, Good, "Permutation Tests", 1994). Boats without a year are left out; raises
        `ScrieveError` with fewer than three left, or all of one year.
        """
        dated = numpy.isfinite(self.years)
        years, flat = self.years[dated], self.points[dated].reshape(int(dated.sum()), -1)
        if len(years) < 3 or numpy.ptp(years) == 0:
            raise ScrieveError(f"a drift wants three boats or more, of different years: {len(years)} have a year")
        off = years - years.mean()
        about = flat - flat.mean(axis=0)
        total = float((about**2).sum())
        spread = float(off @ off)

        def share(off: numpy.ndarray) -> float:
            return float(((off @ about) ** 2).sum()) / spread / total if total > 0 else 0.0

        found = share(off)
        chance = numpy.random.default_rng(seed)
        as_much = sum(share(chance.permutation(off)) >= found for _ in range(tries))
        shape = self.points.shape[1:]
        return Drift(
            mean_year=float(years.mean()),
            mean=flat.mean(axis=0).reshape(shape),
            a_year=(off @ about / spread).reshape(shape),
            share=found,
            chance=(1 + as_much) / (1 + tries),
            moulded_to=self.moulded_to,
        )

    def directions(self, count: int = 3) -> Directions:
        """The main directions in which the shapes vary, the greatest first; one fewer than boats at most."""
        if len(self) < 2:
            raise ScrieveError("shapes vary only where there are two boats or more")
        if not count >= 1:
            raise ScrieveError(f"{count} directions: expected 1 or more")
        flat = self.points.reshape(len(self), -1)
        left, spread, right = numpy.linalg.svd(flat - flat.mean(axis=0), full_matrices=False)
        count = min(count, len(self) - 1)
        # A singular vector may point either way: let the sum of half-breadths grow along it.
        across = right.reshape(len(right), *self.points.shape[1:])[..., 1].sum(axis=(1, 2))
        signs = numpy.where(across < 0, -1.0, 1.0)
        variance = spread**2 / (len(self) - 1)
        total = variance.sum()
        return Directions(
            names=self.names,
            years=self.years,
            mean=self.mean(),
            vectors=(right * signs[:, None])[:count].reshape(count, *self.points.shape[1:]),
            deviations=numpy.sqrt(variance[:count]),
            shares=variance[:count] / total if total > 0 else numpy.zeros(count),
            scores=(left * signs * spread)[:, :count],
            moulded_to=self.moulded_to,
        )


@dataclass(frozen=True)
class Directions:
    """Main directions of variation: the mean shape, and unit vectors about it, greatest deviation first."""

    names: list[str]
    years: numpy.ndarray
    mean: numpy.ndarray
    vectors: numpy.ndarray
    """(count, stations, girths, 3), each of length one."""
    deviations: numpy.ndarray
    """Standard deviation of the boats along each."""
    shares: numpy.ndarray
    """Part of all variance that lies along each."""
    scores: numpy.ndarray
    """Place of each boat along each, (boats, count)."""
    moulded_to: str | None = None
    """The face of the planking they are of."""

    def frame(self) -> pandas.DataFrame:
        """Scores in standard deviations, a row a boat, with her year."""
        import pandas

        scale = numpy.where(self.deviations > 0, self.deviations, 1.0)
        names = [f"direction {k + 1}" for k in range(len(self.vectors))]
        frame = pandas.DataFrame(self.scores / scale, index=self.names, columns=names)
        frame = frame.assign(year=self.years)
        frame.attrs.update(units=dict.fromkeys(names, "standard deviations"), moulded_to=self.moulded_to)
        return frame

    def shape(self, direction: int, deviations: float) -> numpy.ndarray:
        """The shape so many standard deviations along a direction, of which 1 is the greatest."""
        k = direction - 1
        if not 0 <= k < len(self.vectors):
            raise ScrieveError(f"no direction {direction}: there are 1 to {len(self.vectors)}")
        return self.mean + deviations * self.deviations[k] * self.vectors[k]

    def trend(self, direction: int, confidence: float = 0.95) -> Trend:
        """Change of the boats' place along a direction with the year, in standard deviations a year."""
        from .trend import trend

        return trend(self.years, self.frame()[f"direction {direction}"], confidence)


@dataclass(frozen=True)
class Drift:
    """The shape's change with the year."""

    mean_year: float
    mean: numpy.ndarray
    """The mean shape, at `mean_year`."""
    a_year: numpy.ndarray
    """Change of every point a year."""
    share: float
    """Part of all variation that goes with the year."""
    chance: float
    """How often years dealt out at random do as well: small where the drift is real."""
    moulded_to: str | None = None
    """The face of the planking the shapes are of."""

    def at(self, year: float) -> numpy.ndarray:
        """The shape the line gives for a year, (stations, girths, 3)."""
        return self.mean + (year - self.mean_year) * self.a_year


def _gaps(shapes: numpy.ndarray, shape: numpy.ndarray, gap: str) -> numpy.ndarray:
    """Distances of shapes from one shape."""
    if gap not in GAPS:
        raise ScrieveError(f"no such gap: {gap!r}; there are {', '.join(GAPS)}")
    squares = ((shapes - shape) ** 2).sum(axis=-1)
    return numpy.sqrt(squares.mean(axis=(1, 2)) if gap == "rms" else squares.max(axis=(1, 2)))


def procrustes(a: numpy.ndarray, b: numpy.ndarray) -> float:
    """How far apart two shapes stay when moved, turned and scaled to lie best on one another: 0 to 1.

    The root of the sum of squares left, of shapes whose own sums of squares about their centres are one
    (Gower, "Generalized Procrustes analysis", 1975). For tables whose base lines are not parallel.
    """
    a, b = (p.reshape(-1, 3) - p.reshape(-1, 3).mean(axis=0) for p in (a, b))
    a, b = a / numpy.linalg.norm(a), b / numpy.linalg.norm(b)
    together = numpy.linalg.svd(a.T @ b, compute_uv=False).sum()
    return float(numpy.sqrt(max(0.0, 1.0 - together**2)))


def sections(points: numpy.ndarray, at: Sequence[float]) -> list[numpy.ndarray]:
    """Sections of a shape at fractions of its length: an (n, 2) array of (y, z) each, from rabbet to sheer.

    Lines along the boat are taken through the grid's points as cubic Hermite curves (Catmull and Rom).
    """
    x = points[..., 0]
    places = x.min() + numpy.asarray(at) * (x.max() - x.min())
    found = []
    for place in places:
        line = [_crossing(points[:, j], place) for j in range(points.shape[1])]
        found.append(numpy.array([p for p in line if p is not None]).reshape(-1, 2))
    return found


def _crossing(line: numpy.ndarray, place: float) -> Any:
    """(y, z) where a line along the boat passes `place`; None off its ends."""
    x = line[:, 0]
    if not x[0] <= place <= x[-1]:
        return None
    i = min(int(numpy.searchsorted(x, place, side="right")) - 1, len(x) - 2)
    # Points are evenly spaced in x, so the share of the step is that of the distance.
    t = (place - x[i]) / (x[i + 1] - x[i])
    p1, p2 = line[i, 1:], line[i + 1, 1:]
    p0 = line[i - 1, 1:] if i else 2 * p1 - p2
    p3 = line[i + 2, 1:] if i + 2 < len(line) else 2 * p2 - p1
    m1, m2 = 0.5 * (p2 - p0), 0.5 * (p3 - p1)
    ends = (2 * t**3 - 3 * t**2 + 1) * p1 + (3 * t**2 - 2 * t**3) * p2
    return ends + (t**3 - 2 * t**2 + t) * m1 + (t**3 - t**2) * m2
