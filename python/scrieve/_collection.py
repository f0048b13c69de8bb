"""Collections: many tables read, measured and compared, whatever a few of them have wrong with them.

Each boat is read, faired and measured by herself, on any executor of the `concurrent.futures` kind, and the
hull let go again: what stays is her figures and a grid of points. Both are cached by the content of her
table.
"""

from __future__ import annotations

import glob
import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import CancelledError, Executor, Future, ThreadPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from math import isinf, isnan
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from . import _progress
from ._cache import Cache, content_key
from ._core import give_up
from ._plugins import Plugin, plugins
from .errors import PluginError, ScrieveError
from .files import HEAD_BYTES, read
from .measures import BASES, Quantity

if TYPE_CHECKING:
    import numpy
    import pandas

    from .hull import Hull
    from .shapes import Shapes
    from .table import Table

# Facts with no place in a cell of a data frame; measures draw on them.
_NOT_CELLS = {"transom", "sails", "rigs", "lateral", "boat_centre", "crew", "loads", "extra", "two_part"}

# Units of the facts that have one, once at full size.
_FACT_UNITS = {
    "planking": "m",
    "tolerance": "m",
    "half_siding": "m",
    "load_waterline": "m",
    "boat_kg": "kg",
    "crew_kg": "kg",
}

# Boats a job, so that an executor in other processes has little to carry beside the work; and jobs a collection
# at least, so that the last ones leave no worker idle for long.
MOST_A_JOB = 16
LEAST_JOBS = 64

# Possible hulls a boat when uncertainty is asked for: an sd from so few is sure to a sixth of itself, which is
# enough to weigh boats by.
SAMPLES_A_BOAT = 16

# Readings of two tables nearer than this are the same: less than half a 128th of an inch, the finest written.
_SAME_READING_M = 1e-4


class Failure(NamedTuple):
    """Something that could not be done, and why; the rest was."""

    path: Path
    reason: str


class Duplicate(NamedTuple):
    """A file of a boat that an earlier file had already; `left_out` where the readings are the same too."""

    path: Path
    first: Path
    left_out: bool


@dataclass(frozen=True)
class Boat:
    """One boat of a collection: her file, its facts, and what her figures are cached under."""

    name: str
    path: Path
    facts: dict[str, Any] = field(repr=False)
    key: str = field(repr=False)


@dataclass
class Figures:
    """What was found out about one boat, and what could not be."""

    key: str
    quantities: dict[str, Quantity]
    points: numpy.ndarray | None
    failures: list[str]
    samples: int = 0
    """Possible hulls its uncertainties were taken of; with none they are not known."""


def collection(
    paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]],
    *,
    reader: str | None = None,
    cache: bool | str | os.PathLike[str] = True,
) -> Collection:
    """The boats in a folder, in files matching a pattern (`"models/*.offsets"`), or in the files listed.

    In a folder, and those inside it, files that no reader plugin takes for its own are passed over and listed
    in `.ignored`; a file that is named must be read. What cannot be read is in `.failures`, with the reason.
    Figures are cached in the platform's cache folder, in the folder given as `cache`, or not at all
    (`False`).
    """
    files, failures, ignored = _files(paths)
    boats: list[Boat] = []
    duplicates: list[Duplicate] = []
    seen = _Seen(reader)
    by_name: dict[tuple[Any, ...], Path] = {}
    names: set[str] = set()
    for path in _progress.counted(files, "reading tables"):
        try:
            table = read(path, reader)
            first = seen.before(path, table)
        except (ValueError, OSError) as error:
            failures.append(Failure(path, _why(error, path)))
            continue
        if first is not None:
            duplicates.append(Duplicate(path, first, True))
            continue
        facts = table.facts
        who = (table.name, facts.get("builder"), facts.get("year"))
        if None not in who:
            if who in by_name:
                duplicates.append(Duplicate(path, by_name[who], False))
            by_name.setdefault(who, path)
        name = _unlike(names, table.name, path)
        names.add(name)
        boats.append(Boat(name, path, facts, content_key(table)))
    return Collection(boats, failures, duplicates, ignored, Cache.at(cache), reader)


class Collection:
    """Boats to be compared. Get one with `scrieve.collection`.

    `.boats` are those read, `.failures` what could not be done and why, `.duplicates` files of a boat already
    there, `.ignored` files in a folder that no reader takes for a table.
    """

    def __init__(
        self,
        boats: list[Boat],
        failures: list[Failure],
        duplicates: list[Duplicate],
        ignored: list[Path],
        cache: Cache,
        reader: str | None = None,
    ) -> None:
        self.boats = boats
        self.duplicates = duplicates
        self.ignored = ignored
        self._unread = failures
        self._cache = cache
        self._reader = reader
        self._figures: dict[str, Figures] = {}

    def __len__(self) -> int:
        return len(self.boats)

    def __iter__(self) -> Iterator[Boat]:
        return iter(self.boats)

    def __repr__(self) -> str:
        return f"<Collection of {len(self)} boats, {len(self.failures)} failures>"

    @property
    def failures(self) -> list[Failure]:
        """What could not be read, and, once measured, what could not be measured."""
        measured = [
            Failure(boat.path, reason)
            for boat in self.boats
            if boat.key in self._figures
            for reason in self._figures[boat.key].failures
        ]
        return self._unread + measured

    def where(self, test: Callable[[dict[str, Any]], bool] | None = None, /, **facts: Any) -> Collection:
        """The boats whose facts pass `test`, and are as given by name: a value, or a range or set of values.

        `boats.where(lambda facts: facts["year"] < 1900, builder="E. Marlow")`. What a file does not say does
        not pass.
        """

        def passes(boat: Boat) -> bool:
            for name, wanted in facts.items():
                if name not in boat.facts:
                    return False
                several = isinstance(wanted, (range, set, frozenset, list, tuple))
                if not (boat.facts[name] in wanted if several else boat.facts[name] == wanted):
                    return False
            try:
                return test is None or bool(test(boat.facts))
            except KeyError:
                return False

        some = Collection(
            [boat for boat in self.boats if passes(boat)],
            self._unread, self.duplicates, self.ignored, self._cache, self._reader,
        )  # fmt: skip
        some._figures = self._figures
        return some

    def facts(self) -> pandas.DataFrame:
        """The facts of the files, a row a boat: lengths in metres at full size, what is missing left missing.

        Units are in `.attrs["units"]`.
        """
        import pandas

        rows = []
        for boat in self.boats:
            row = {"file": str(boat.path), **{k: v for k, v in boat.facts.items() if k not in _NOT_CELLS}}
            extra = boat.facts.get("extra", {})
            row |= {k: v for k, v in extra.items() if k not in row and isinstance(v, (str, int, float))}
            rows.append(row)
        frame = pandas.DataFrame(rows, index=self._index())
        order = ["name", "builder", "year", "place", "kind", "source"]
        for name in order:
            if name not in frame:
                frame[name] = None
        frame["year"] = pandas.array(frame["year"], dtype="Int64")
        rest = [name for name in frame if name not in order]
        frame = frame[order + rest]
        frame.attrs["units"] = {name: unit for name, unit in _FACT_UNITS.items() if name in frame}
        return frame

    def measures(self, executor: Executor | None = None, *, uncertainty: bool = False) -> pandas.DataFrame:
        """Facts and every measure plugin's numbers, a row a boat; NaN where a number is wanting.

        The work is done by `executor`, of the `concurrent.futures` kind, on its threads, processes or
        machines; left out, by as many threads as there are processors. A boat that cannot be faired, or a
        measure that fails, costs itself and a line in `.failures`. Units are in `.attrs["units"]`;
        `.attrs["basis"]` says whether each column was measured, faired or assumed, and `basis()` the same
        boat by boat.

        With `uncertainty`, a column `<name>_sd` for every number that fairing has a part in: one standard
        deviation by what the readings are worth, as `Hull.uncertainty`, from 16 possible hulls. It takes some eight
        times as long, a thousand boats some two minutes on two processors; it is cached as well.
        """
        import pandas

        self._measure(executor, SAMPLES_A_BOAT if uncertainty else 0)
        frame = self.facts()
        columns = self._columns(lambda quantity: quantity.value)
        numbers = pandas.DataFrame(columns, index=frame.index, dtype=float)
        units = dict(frame.attrs["units"])
        basis: dict[str, str] = {}
        for boat in self.boats:
            for name, quantity in self._figures[boat.key].quantities.items():
                units[name] = quantity.unit
                found = {*basis.get(name, quantity.basis).split(", "), quantity.basis}
                basis[name] = ", ".join(sorted(found, key=BASES.index))
        if uncertainty:
            sds = pandas.DataFrame(self._columns(lambda quantity: quantity.sd), index=frame.index, dtype=float)
            sds = sds.dropna(axis=1, how="all")
            units |= {f"{name}_sd": units[name] for name in sds}
            numbers = pandas.concat([numbers, sds.add_suffix("_sd")], axis=1)
        frame = pandas.concat([frame.drop(columns=[c for c in columns if c in frame]), numbers], axis=1)
        frame.attrs.update(units=units, basis=basis)
        return frame

    def basis(self, executor: Executor | None = None) -> pandas.DataFrame:
        """Whether each number of `measures()` was measured, faired or assumed; empty where it is wanting."""
        import pandas

        self._measure(executor)
        return pandas.DataFrame(self._columns(lambda quantity: quantity.basis, ""), index=self._index())

    def rigs(self, executor: Executor | None = None) -> pandas.DataFrame:
        """A row a rig, under boat and rig: `sail_area`, its ratios and `lead`, as in `measures()`, where the rig of
        greatest area stands for the boat. Units and basis as there."""
        import pandas

        from .measures import each_rig

        frame = self.measures(executor)
        rows = {
            (boat.name, rig): numbers
            for boat in self.boats
            for rig, numbers in each_rig(boat.facts, frame.loc[boat.name]).items()
        }
        index = pandas.MultiIndex.from_tuples(list(rows), names=["boat", "rig"])
        columns = ["sail_area", "sail_area_displacement", "sail_area_wetted_surface", "lead"]
        rigs = pandas.DataFrame(list(rows.values()), index=index, columns=columns, dtype=float)
        for said in ("units", "basis"):
            rigs.attrs[said] = {name: value for name, value in frame.attrs[said].items() if name in columns}
        return rigs

    def shapes(self, size: str = "length", executor: Executor | None = None) -> Shapes:
        """The hulls brought to one size by `"length"`, or by length, beam and depth each, `"all"`."""
        import numpy

        from .shapes import Shapes

        self._measure(executor)
        with_points = [(boat, self._figures[boat.key].points) for boat in self.boats]
        kept = [(boat, points) for boat, points in with_points if points is not None]
        if not kept:
            raise ScrieveError("no shapes to compare: no boat of the collection could be faired")
        years = [boat.facts.get("year", float("nan")) for boat, _ in kept]
        points = numpy.array([points for _, points in kept], dtype=float)
        return Shapes([boat.name for boat, _ in kept], points, size=size, years=years)

    def distances(self, size: str = "length", gap: str = "rms", executor: Executor | None = None) -> pandas.DataFrame:
        """Distances between the shapes, a square frame. See `Shapes.distances`."""
        return self.shapes(size, executor).distances(gap)

    def _index(self) -> pandas.Index:
        import pandas

        return pandas.Index([boat.name for boat in self.boats], name="boat", dtype=object)

    def _columns(self, value: Callable[[Quantity], Any], missing: Any = float("nan")) -> dict[str, list[Any]]:
        figures = [self._figures[boat.key].quantities for boat in self.boats]
        names = dict.fromkeys(name for quantities in figures for name in quantities)
        return {name: [value(q[name]) if name in q else missing for q in figures] for name in names}

    def _measure(self, executor: Executor | None, samples: int = 0) -> None:
        wanted = {}
        for boat in self.boats:
            held = self._figures.get(boat.key)
            if held is None or held.samples < samples:
                found = self._cache.load(boat.key, samples)
                if found is None:
                    wanted[boat.key] = boat
                else:
                    self._figures[boat.key] = found
        if not wanted:
            return
        if executor is not None:
            self._measure_on(executor, wanted, samples)
        else:
            with ThreadPoolExecutor(os.cpu_count()) as threads:
                try:
                    self._measure_on(threads, wanted, samples)
                except KeyboardInterrupt:
                    give_up()  # what the threads are at, which are waited for
                    raise

    def _measure_on(self, executor: Executor, wanted: dict[str, Boat], samples: int) -> None:
        boats = list(wanted.values())
        found = self._by_jobs(executor, boats, min(MOST_A_JOB, -(-len(boats) // LEAST_JOBS)), samples)
        for figures in _progress.counted(found, "measuring boats", len(boats)):
            self._figures[figures.key] = figures
            # A failure may be gone next time: memory short, a plugin mended.
            if not figures.failures:
                self._cache.store(figures)
        self._cache.make_room()

    def _by_jobs(self, executor: Executor, boats: list[Boat], size: int, samples: int) -> Iterator[Figures]:
        """Each boat's figures as they come, `size` boats a job; a job that is lost is done again boat by boat."""
        running: dict[Future[list[Figures]], list[Boat]] = {}
        lost: list[Boat] = []
        try:
            for i in range(0, len(boats), size):
                job = boats[i : i + size]
                asked = [(boat.path, boat.key) for boat in job]
                try:
                    running[executor.submit(figures_of_each, asked, self._reader, samples)] = job
                except RuntimeError as error:  # a pool that is broken or shut takes nothing more
                    yield from (_lost(boat, error, samples) for boat in job)
            for done in as_completed(running):
                try:
                    yield from done.result()
                except (Exception, CancelledError) as error:  # the executor's own: a worker died, a pool shut
                    if size > 1:
                        lost += running[done]
                    else:
                        yield from (_lost(boat, error, samples) for boat in running[done])
        finally:
            for job_running in running:
                job_running.cancel()
        if lost:
            yield from self._by_jobs(executor, lost, 1, samples)


def _lost(boat: Boat, error: BaseException, samples: int) -> Figures:
    return Figures(boat.key, {}, None, [f"the work was lost: {type(error).__name__}: {error}"], samples)


def figures_of_each(boats: list[tuple[Path, str]], reader: str | None, samples: int = 0) -> list[Figures]:
    """Figures of boats by path and key: a job of the executor."""
    return [figures_of(path, reader, key, samples) for path, key in boats]


def figures_of(path: Path, reader: str | None, key: str, samples: int = 0) -> Figures:
    """Reads, fairs and measures one boat, and so many possible hulls of her. Raises nothing of the boat's."""
    from .shapes import sample

    found = Figures(key, {}, None, [], samples)
    hull = None
    with _costing_only(found):
        table = read(path, reader)
        if content_key(table) != key:
            raise ScrieveError("the file has changed since it was read")
        hull = table.fair()
    if hull is None:
        found.failures = [reason.removeprefix(f"{path}: ") for reason in found.failures]
        return found
    facts = table.facts
    unsure: list[tuple[Plugin, list[str]]] = []
    for plugin in plugins("measures"):
        with _costing_only(found, plugin):
            given = plugin.call("measure", hull, facts)
            _take(found, plugin, given)
            unsure.append((plugin, [n for n, q in given.items() if q.basis != "measured" and isnan(q.sd)]))
    if samples:
        with _costing_only(found, "uncertainty"):
            possible = hull.samples(samples)
            for plugin, names in unsure:
                with _costing_only(found, f"uncertainty of {plugin}"):
                    _find_sds(found, plugin, names, hull, facts, possible)
    with _costing_only(found, "the shape"):
        # Single precision: a micrometre on a boat of ten metres, in half the room.
        found.points = sample(hull).astype("f4")
    return found


def _find_sds(
    found: Figures, plugin: Plugin, names: list[str], hull: Hull, facts: dict[str, Any], possible: list[Hull]
) -> None:
    """Gives the named numbers of a measure the sd that the possible hulls show."""
    from .uncertainty import uncertain

    def values(hull: Hull) -> dict[str, Any]:
        given = plugin.call("measure", hull, facts)
        return {name: given[name].value for name in names if name in given}

    if names:
        for name, figure in uncertain(values, hull, possible).items():
            found.quantities[name] = replace(found.quantities[name], sd=figure.sd)


@contextmanager
def _costing_only(found: Figures, what: Any = None) -> Iterator[None]:
    """Whatever goes wrong inside becomes a line of the boat's failures."""
    try:
        yield
    except (KeyboardInterrupt, SystemExit):
        raise
    except PluginError as error:
        found.failures.append(str(error))
    except (ValueError, OSError) as error:
        said = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        found.failures.append(f"{what}: {said}" if what else said)
    except BaseException as error:  # a fault of ours: PyO3's panics are BaseExceptions
        fault = f"a fault in scrieve itself: {type(error).__name__}: {error}"
        found.failures.append(f"{what}: {fault}" if what else fault)


def _take(found: Figures, plugin: Plugin, given: Any) -> None:
    """Adds a measure's numbers. Raises `PluginError` where they are no numbers, or another's already."""
    if not isinstance(given, dict) or not all(isinstance(q, Quantity) for q in given.values()):
        raise PluginError(f"{plugin} gave {str(given):.80} where a dict of Quantity was expected")
    for name, quantity in given.items():
        if quantity.basis not in BASES:
            raise PluginError(f"{plugin} gave {name} as {quantity.basis!r}: expected {', '.join(BASES)}")
        if name in found.quantities:
            raise PluginError(f"{plugin} gave {name}, which another measure gives too")
        try:
            value, sd = float(quantity.value), float(quantity.sd)
        except (TypeError, ValueError):
            raise PluginError(f"{plugin} gave {name} as {quantity.value!r:.80}: no number") from None
        if isinf(value) or isinf(sd):
            raise PluginError(
                f"{plugin} gave {name} as {value:g} with a standard deviation of {sd:g}: no finite number"
            )
        found.quantities[str(name)] = Quantity(value, quantity.unit, quantity.basis, sd)


def _files(paths: Any) -> tuple[list[Path], list[Failure], list[Path]]:
    """The files to read, what was named and is not there, and files of folders that no reader knows."""
    files: list[Path] = []
    failures: list[Failure] = []
    ignored: list[Path] = []
    for given in [paths] if isinstance(paths, (str, os.PathLike)) else list(paths):
        path = Path(given)
        if path.is_dir():
            for inside in sorted(p for p in path.rglob("*") if p.is_file()):
                if any(part.startswith(".") for part in inside.relative_to(path).parts):
                    continue
                (files if _known(inside) else ignored).append(inside)
        elif path.exists():
            files.append(path)
        elif found := sorted(glob.glob(os.fspath(given), recursive=True)):
            files += [p for p in map(Path, found) if p.is_file()]
        else:
            failures.append(Failure(path, "no such file or folder"))
    return list(dict.fromkeys(files)), failures, ignored


def _known(path: Path) -> bool:
    """Whether any reader takes the file for its own."""
    try:
        with open(path, "rb") as file:
            head = file.read(HEAD_BYTES)
    except OSError:
        return True  # it will be read again, and the reason listed
    for plugin in plugins("readers"):
        try:
            if plugin.call("reads", path, head):
                return True
        except PluginError:
            continue
    return False


class _Seen:
    """Files by their readings, whatever their units, facts and comments.

    Readings are compared only of tables whose stations stand alike, since it takes some time.
    """

    def __init__(self, reader: str | None) -> None:
        self._reader = reader
        self._by_stations: dict[tuple[int | None, ...], list[Path]] = {}
        self._readings: dict[Path, list[int]] = {}

    def before(self, path: Path, table: Table) -> Path | None:
        """The first file with the same readings, if there is one; else the file is remembered."""
        stations = tuple(None if x is None else round(x / _SAME_READING_M) for x in table.station_x.values())
        alike = self._by_stations.setdefault(stations, [])
        if alike:
            self._readings[path] = _readings(table)
        for other in alike:
            if other not in self._readings:
                self._readings[other] = _readings(read(other, self._reader))
            if self._readings[other] == self._readings[path]:
                return other
        alike.append(path)
        return None


def _readings(table: Table) -> list[int]:
    scale = float(table.facts.get("scale", 1.0))
    return [
        round(scale * reading.m / _SAME_READING_M)
        for block, label in table.rows
        for station in table.stations
        if (reading := table.reading(station, f"{block} {label}")) is not None
    ]


def _unlike(names: set[str], name: str, path: Path) -> str:
    """The boat's name; with the name of her file, and a number, where another has hers."""
    if name not in names:
        return name
    name = f"{name} ({path.stem})"
    number = 2
    unlike = name
    while unlike in names:
        unlike, number = f"{name} {number}", number + 1
    return unlike


def _why(error: Exception, path: Path) -> str:
    """The reason, without the path it begins with."""
    if isinstance(error, OSError) and error.strerror:
        return error.strerror
    return (str(error) or type(error).__name__).removeprefix(f"{path}: ")
