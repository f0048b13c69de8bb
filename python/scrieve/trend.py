"""Change with the year: a straight line by least squares, and how sure its slope is.

The interval is that of Student's t on n - 2 degrees of freedom, as in any text on linear regression; it takes
the boats to scatter about the line independently and alike.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy

from ._extras import extra
from .errors import ScrieveError


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
    _spread: float
    _t: float

    def at(self, years: Any) -> numpy.ndarray:
        """The line's height at years."""
        return self.at_mean + self.slope * (numpy.asarray(years, dtype=float) - self.mean_year)

    def band(self, years: Any) -> tuple[numpy.ndarray, numpy.ndarray]:
        """Where the line itself lies at years, with `confidence`: lower and upper bound."""
        off = numpy.asarray(years, dtype=float) - self.mean_year
        half = self._t * self.residual * numpy.sqrt(1 / self.n + off**2 / self._spread)
        return self.at(years) - half, self.at(years) + half

    def __str__(self) -> str:
        return (
            f"{self.slope:+.4g} a year, {100 * self.confidence:g} % interval "
            f"{self.low:+.4g} to {self.high:+.4g} ({self.n} boats)"
        )


def trend(years: Iterable[Any], values: Iterable[Any], confidence: float = 0.95) -> Trend:
    """The line through values over years; boats that want either are left out.

    Raises `ScrieveError` with fewer than three boats left, or all of one year.
    """
    with extra("compare"):
        from scipy.special import stdtrit

    if not 0 < confidence < 1:
        raise ScrieveError(f"confidence is between 0 and 1, got {confidence:g}")
    x = numpy.asarray([numpy.nan if _missing(y) else y for y in years], dtype=float)
    y = numpy.asarray([numpy.nan if _missing(v) else v for v in values], dtype=float)
    both = numpy.isfinite(x) & numpy.isfinite(y)
    x, y = x[both], y[both]
    n = len(x)
    if n < 3 or numpy.ptp(x) == 0:
        raise ScrieveError(f"a trend wants three boats or more, of different years: {n} have a year and the measure")
    off = x - x.mean()
    spread = float(off @ off)
    slope = float(off @ y) / spread
    left = y - y.mean() - slope * off
    residual = float(numpy.sqrt(left @ left / (n - 2)))
    error = residual / spread**0.5
    t = float(stdtrit(n - 2, 0.5 + 0.5 * confidence))
    return Trend(
        slope, error, slope - t * error, slope + t * error, confidence, float(y.mean()), float(x.mean()), n,
        residual, spread, t,
    )  # fmt: skip


def _missing(value: Any) -> bool:
    """None, NaN, or pandas' NA, which is neither true nor false."""
    return value is None or type(value).__name__ == "NAType"
