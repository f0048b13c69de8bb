"""How sure the readings make a figure: the hulls they leave possible, and the same figure taken of each.

What is in it: what every reading is worth (its tolerance, `?` and `!`), readings that were doubted and left out,
the gaps between stations, stem, sternpost and transom, and how stiff the batten should be.

What is not: slips that nobody saw, and whatever is wrong with all of a table alike: the scale of a model, wood
that shrank or hogged, stations set out wrongly, the siding, planking thickness, a draught or a load that is only
believed. A hull may also be of another make than fairing takes boats to be.

Measured on 200 hulls in closed form for each of four ways of writing a table, a 95 % interval of most figures holds the
truth 92 to 97 times in a hundred. Weaker: CP 90 to 92; in millimetres and sixteenths LCB, LCF and S 86 to 91, most of
all in boats with both ends rounded, canoe sterns and clipper bows. Wider than need be: volume and KB of a model's
millimetres at 1:8, 99.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from math import floor, log10
from typing import TYPE_CHECKING, Any, TypeVar

from .. import _core
from ..errors import ScrieveError
from .faired import Faired

if TYPE_CHECKING:
    import pandas


# With these an sd is sure to an eighth of itself, in about the time fairing took.
SAMPLES = 32
# With more an sd would be surer than one part in a hundred and forty, and the memory is gone.
MOST_SAMPLES = 10_000
# An interval narrower than this part of its figure is rounding, as where a volume is that of a given mass.
NOTHING = 1e-9
# More possible hulls than this part without the figure, and what the others say of it is no longer worth much.
MOST_FAILED = 0.25


@dataclass(frozen=True)
class Uncertain:
    """A figure and how sure the readings make it: numbers, or arrays of them where the figure is one."""

    value: Any
    """Of the faired hull."""
    sd: Any
    """One standard deviation: root mean square of how far the possible hulls lie off `value`."""
    low: Any
    """With 95 % confidence it lies from here ..."""
    high: Any
    """... to here (Student's t, on as many degrees of freedom as hulls)."""
    samples: int
    """Possible hulls it was taken of."""
    failures: tuple[str, ...] = ()
    """Why others do not have it."""

    @property
    def half(self) -> Any:
        """Half the interval."""
        return self.high - self.value

    def __str__(self) -> str:
        import numpy

        each = zip(numpy.ravel(self.value), numpy.ravel(self.half), strict=True)
        return "\n".join(said(value, half) for value, half in each)


class UncertainFigures(Mapping[str, Uncertain]):
    """Figures by name, each with how sure the readings make it; printed, a table of them."""

    def __init__(self, figures: dict[str, Uncertain], samples: int, failures: tuple[str, ...]) -> None:
        self._figures = figures
        self.samples = samples
        self.failures = failures

    def __getitem__(self, name: str) -> Uncertain:
        return self._figures[name]

    def __getattr__(self, name: str) -> Uncertain:
        try:
            return self.__dict__["_figures"][name]
        except KeyError:
            raise AttributeError(f"no figure {name!r}") from None

    def __iter__(self) -> Iterator[str]:
        return iter(self._figures)

    def __len__(self) -> int:
        return len(self._figures)

    def __dir__(self) -> list[str]:
        return [*super().__dir__(), *self._figures]

    def frame(self) -> pandas.DataFrame:
        """A row a figure that is one number: value, sd, low and high."""
        import numpy
        import pandas

        columns = ["value", "sd", "low", "high"]
        rows = {
            name: [getattr(figure, column) for column in columns]
            for name, figure in self._figures.items()
            if not numpy.ndim(figure.value)
        }
        return pandas.DataFrame.from_dict(rows, orient="index", columns=columns)

    def __str__(self) -> str:
        lines = []
        for name, figure in self._figures.items():
            first, *rest = str(figure).splitlines() or [""]
            lines += [f"{name:<20} {first}", *(f"{'':<20} {line}" for line in rest)]
        return "\n".join(lines + self.remarks())

    def remarks(self) -> list[str]:
        """What is to be said beside the figures."""
        said = [f"± is a 95 % interval by what the readings are worth, from {self.samples} possible hulls"]
        if self.failures:
            of = self.samples + len(self.failures)
            said.append(f"{len(self.failures)} of {of} possible hulls are left out; the first: {self.failures[0]}")
        return said

    __repr__ = __str__


U = TypeVar("U", bound="Unsure")


class Unsure(Faired):
    """What a `Hull` can be asked of its uncertainty."""

    __slots__ = ()

    def samples(self: U, count: int = SAMPLES, seed: int = 0) -> list[U]:
        """Hulls the readings leave possible, `count` of them, 2 or more: the faired hull is their mean, and any
        figure taken of each shows how sure it is.

        The first are the same whatever the count; another `seed` gives others. A sample goes through held
        readings, knows no corrections, and its own `sd` is 0. Raises `FairingError` where the readings are too
        loose to make a hull of every sample.
        """
        if not 2 <= count <= MOST_SAMPLES:
            raise ScrieveError(f"expected 2 to {MOST_SAMPLES} samples, got {count}")
        if not 0 <= seed < 2**64:
            raise ScrieveError(f"a seed is a whole number from 0 to 2^64 - 1, got {seed}")
        made = _core.samples(self._core, count, seed)
        return [self._like(core, ("sample", self._made, count, seed, i)) for i, core in enumerate(made)]

    def uncertainty(self: U, figure: Callable[[U], Any], samples: int = SAMPLES, seed: int = 0) -> Any:
        """How sure the readings make `figure`, a function of a hull: an `Uncertain`, with `value`, `sd`, `low` and
        `high` (a 95 % interval), for a number or an array; `UncertainFigures`, one of them by name, for a
        dataclass, a dict or a data frame.

            hull.uncertainty(lambda h: h.hydrostatics(draught=0.23)).volume.sd
            hull.uncertainty(lambda h: h.gz([10, 20, 30], mass=300, lcg=2.1, kg=0.4))

        A possible hull of which the figure cannot be taken (a `ValueError`) is left out and said in `.failures`.
        Raises `ScrieveError` where these are more than a quarter, and what `figure` raises of the hull itself.
        """
        return uncertain(figure, self, self.samples(samples, seed))


def uncertain(figure: Callable[[Any], Any], hull: Any, samples: Iterable[Any]) -> Any:
    """`Unsure.uncertainty`, with the possible hulls at hand."""
    value = figure(hull)
    taken: list[Any] = []
    failures: list[str] = []
    for sample in samples:
        try:
            taken.append(figure(sample))
        except ValueError as error:
            failures.append(str(error) or type(error).__name__)
    count = len(taken) + len(failures)
    if len(failures) > MOST_FAILED * count or len(taken) < 2:
        raise ScrieveError(
            f"of {count} hulls the readings leave possible {len(failures)} have no such figure, so that it cannot be "
            f"said how sure it is; the first: {failures[0]}"
        )
    named = by_name(value)
    if named is None:
        return spread(value, taken, tuple(failures))
    of_each = [by_name(one) or {} for one in taken]
    figures = {
        name: spread(own, [one.get(name) for one in of_each], tuple(failures))
        for name, own in named.items()
        if _numbers(own) is not None
    }
    return UncertainFigures(figures, len(taken), tuple(failures))


def by_name(value: Any) -> dict[str, Any] | None:
    """The fields of a dataclass, or the items of a dict or a data frame; None for anything else."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: getattr(value, field.name) for field in fields(value)}
    if isinstance(value, Mapping) or type(value).__name__ == "DataFrame":
        return {str(name): item for name, item in value.items()}
    return None


def spread(value: Any, taken: list[Any], failures: tuple[str, ...] = ()) -> Uncertain:
    """How far what was taken of possible hulls lies off `value`; where one has no number it is passed over."""
    import numpy

    own = _numbers(value)
    if own is None:
        raise ScrieveError(f"a figure is a number, an array, or a dict or dataclass of them, got {value!r:.80}")
    each = numpy.full((len(taken), *own.shape), numpy.nan)
    for i, one in enumerate(taken):
        found = _numbers(one)
        if found is not None and found.shape == own.shape:
            each[i] = found
    there = numpy.isfinite(each)
    n = there.sum(axis=0)
    square = numpy.where(there, each - own, 0.0) ** 2
    with numpy.errstate(invalid="ignore", divide="ignore"):
        root = numpy.where(n > 1, numpy.sqrt(square.sum(axis=0) / n), numpy.nan)
    half = root * numpy.vectorize(student, otypes=[float])(n)
    value, sd, low, high = (a if own.ndim else float(a) for a in (own, root, own - half, own + half))
    return Uncertain(value, sd, low, high, len(taken), failures)


def _numbers(value: Any) -> Any:
    """As an array of floats; None where it is none."""
    import numpy

    if value is None or isinstance(value, (str, bytes)):
        return None
    try:
        return numpy.asarray(value, dtype=float)
    except (TypeError, ValueError):
        return None


def student(n: int) -> float:
    """Student's t at 0.975 on n degrees of freedom: Abramowitz and Stegun 26.7.5, to a thousandth from 6 on."""
    if n < 1:
        return float("nan")
    x = 1.959963984540054
    terms = (
        (x**3 + x) / 4,
        (5 * x**5 + 16 * x**3 + 3 * x) / 96,
        (3 * x**7 + 19 * x**5 + 17 * x**3 - 15 * x) / 384,
        (79 * x**9 + 776 * x**7 + 1482 * x**5 - 1920 * x**3 - 945 * x) / 92160,
    )
    return x + sum(term / n**k for k, term in enumerate(terms, 1))


def said(value: float, half: float) -> str:
    """A number with its interval: two figures of the interval, and the number to the same place."""
    if not NOTHING * abs(value) < half < float("inf"):
        return f"{value:.4f}"
    return f"{value:.{_places(half)}f} ± {half:.{_places(half)}f}"


def plus_minus(value: float, half: float) -> str:
    """The interval of a number alone, as `± 0.0012`; empty where there is none to tell."""
    return said(value, half).partition(" ")[2]


def _places(half: float) -> int:
    return max(0, 1 - floor(log10(half)))
