"""Change with the year: a straight line by least squares, and how sure its slope is.

The interval is that of Student's t on n - 2 degrees of freedom, as in any text on linear regression; it takes
the boats to scatter about the line independently and alike. Where it is known how sure each boat's own number is,
boats weigh by that and by their scatter together, as studies do in a meta-analysis: the scatter is what makes the
weighted squares n - 2 (Paule and Mandel, J. Res. Natl. Bur. Stand. 87, 1982), the interval that of Knapp and
Hartung (Stat. Med. 22, 2003). Alike for every boat, it changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy

from ..errors import ScrieveError
from ..extras import extra


@dataclass(frozen=True)
class Trend:
    """A line through a measure over the years."""

    slope: float
    """Change a year."""
    standard_error: float
    """Of the slope."""
    low: float
    """The slope is from here ..."""
    high: float
    """... to here, with `confidence`."""
    confidence: float
    at_mean: float
    """The line's height at `mean_year`."""
    mean_year: float
    n: int
    """Boats with both a year and the measure."""
    residual: float
    """Standard deviation of the boats about the line."""
    scatter: float
    """The same less what is only the uncertainty of their own numbers: how far the boats themselves differ."""
    _weight: float
    _spread: float
    _t: float

    def at(self, years: Any) -> numpy.ndarray:
        """The line's height at years."""
        return self.at_mean + self.slope * (numpy.asarray(years, dtype=float) - self.mean_year)

    def band(self, years: Any) -> tuple[numpy.ndarray, numpy.ndarray]:
        """Where the line itself lies at years, with `confidence`: lower and upper bound."""
        off = numpy.asarray(years, dtype=float) - self.mean_year
        half = self._t * numpy.sqrt(1 / self._weight + off**2 / self._spread)
        return self.at(years) - half, self.at(years) + half

    def __str__(self) -> str:
        return (
            f"{self.slope:+.4g} a year, {100 * self.confidence:g} % interval "
            f"{self.low:+.4g} to {self.high:+.4g} ({self.n} boats)"
        )


def trend(
    years: Iterable[Any], values: Iterable[Any], confidence: float = 0.95, sd: Iterable[Any] | None = None
) -> Trend:
    """The line through values over years; boats that want either are left out.

    `sd` is how sure each value is by itself, such as the `_sd` column of `Collection.measures`: surer boats
    weigh more, and `scatter` is without it. A boat whose own is wanting counts with the median of the others.
    Raises `ScrieveError` with fewer than three boats left, or all of one year.
    """
    with extra("compare"):
        from scipy.special import stdtrit

    if not 0 < confidence < 1:
        raise ScrieveError(f"confidence is between 0 and 1, got {confidence:g}")
    x, y = _numbers(years), _numbers(values)
    own = numpy.zeros(len(y)) if sd is None else _numbers(sd)
    if not len(x) == len(y) == len(own):
        raise ScrieveError(f"{len(x)} years, {len(y)} values and {len(own)} sds: expected as many of each")
    both = numpy.isfinite(x) & numpy.isfinite(y)
    x, y, own = x[both], y[both], own[both]
    n = len(x)
    if n < 3 or numpy.ptp(x) == 0:
        raise ScrieveError(f"a trend wants three boats or more, of different years: {n} have a year and the measure")
    if (own < 0).any():
        raise ScrieveError(f"an sd is 0 or more, got {own[own < 0][0]:g}")
    known = own[numpy.isfinite(own)]
    own = numpy.where(numpy.isfinite(own), own, numpy.median(known) if len(known) else 0.0)
    scatter = _scatter(x, y, own)
    left, weights, mean, spread, slope = _line(x, y, own, scatter)
    # Squares short of n - 2 would make the line surer than the boats' own numbers let it be.
    squares = float(weights @ left**2) / (n - 2)
    unit = 1.0 if scatter == 0 and known.any() and squares < 1 else squares
    error = (unit / spread) ** 0.5
    t = float(stdtrit(n - 2, 0.5 + 0.5 * confidence))
    at_mean, total = float(weights @ y / weights.sum()), float(weights.sum())
    residual = float(numpy.sqrt(left @ left / (n - 2)))
    return Trend(
        slope, error, slope - t * error, slope + t * error, confidence, at_mean, mean, n, residual,
        float(scatter) if known.any() else residual,
        total / unit if unit else numpy.inf, spread / unit if unit else numpy.inf, t,
    )  # fmt: skip


def _line(x: Any, y: Any, own: Any, scatter: float) -> tuple[Any, Any, float, float, float]:
    """What is left of y about the line, the weights, their mean x, the weighted squares of x, and the slope."""
    variance = own**2 + scatter**2
    weights = 1 / variance if variance.all() else numpy.ones(len(x))
    mean = float(weights @ x / weights.sum())
    off = x - mean
    spread = float(weights @ off**2)
    slope = float(weights @ (off * y)) / spread
    return y - weights @ y / weights.sum() - slope * off, weights, mean, spread, slope


def _scatter(x: Any, y: Any, own: Any) -> float:
    """The scatter of boats that makes their weighted squares n - 2; 0 where their own sds do already."""
    if not own.any():
        return 0.0

    def beyond(scatter: float) -> float:
        left, weights, *_ = _line(x, y, own, scatter)
        return float(weights @ left**2) - (len(x) - 2)

    # With no boat surer than the scatter the squares are at most those of the plain line: there they are too few.
    low, high = 0.0, max(float(numpy.ptp(y)), 1e-300)
    if own.all() and beyond(low) <= 0:
        return 0.0
    for _ in range(100):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if beyond(middle) > 0 else (low, middle)
    return high


def _numbers(given: Iterable[Any]) -> Any:
    return numpy.asarray([numpy.nan if _missing(one) else one for one in given], dtype=float)


def _missing(value: Any) -> bool:
    """None, NaN, or pandas' NA, which is neither true nor false."""
    return value is None or type(value).__name__ == "NAType"
