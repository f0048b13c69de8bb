"""Collections: many tables read, measured and compared, whatever a few of them have wrong with them.

Each boat is read, faired and measured by herself, on any executor of the `concurrent.futures` kind, and the
hull let go again: what stays is her figures, her readings and a grid of points, cached by the content of her
table. All boats are brought to one face of the planking first, the inside or the outside.
"""

from __future__ import annotations

import difflib
import glob
import os
import re
import warnings
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import CancelledError, Executor, Future, ThreadPoolExecutor, as_completed
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from math import isinf, isnan
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from . import _progress
from ._cache import Cache, content_key
from ._core import Reading, give_up
from ._plugins import OURS, Plugin, plugins
from .errors import Note, PluginError, ScrieveError
from .files import HEAD_BYTES, PAGES, read
from .measures import BASES, Quantity

if TYPE_CHECKING:
    import numpy
    import pandas

    from .hull import Hull
    from .shapes import Shapes

# Facts with no place in a cell of a data frame; measures draw on them.
_NOT_CELLS = {
    "transom", "sails", "rigs", "lateral", "boat_centre", "crew", "loads", "extra", "two_part", "assumed", "year_span",
    "shrinkage",
}  # fmt: skip

# Units of the facts that have one, once at full size.
_FACT_UNITS = {
    "planking": "m",
    "tolerance": "m",
    "half_siding": "m",
    "load_waterline": "m",
    "boat_kg": "kg",
    "crew_kg": "kg",
}

# Facts a file may give that few do, so that asking for one of them is no misspelling.
_FACTS = {"name", "builder", "year", "place", "kind", "source", "extra", "sails", "transom", *_FACT_UNITS}

# No boat that is lofted from offsets is planked thicker, m.
MOST_PLANKING_M = 0.3

# Boats a job, so that an executor in other processes has little to carry beside the work; and jobs a collection
# at least, so that the last ones leave no worker idle for long.
MOST_A_JOB = 16
LEAST_JOBS = 64

# Possible hulls a boat when uncertainty is asked for: an sd from so few is sure to a sixth of itself, which is
# enough to weigh boats by.
SAMPLES_A_BOAT = 16

# The faces of the planking, as a file names them and as they are asked for.
FACES = {"inside": "inside of planking", "outside": "outside of planking"}


class Failure(NamedTuple):
    """Something that could not be done, and why; the rest was."""

    path: Path
    reason: str


class Namesake(NamedTuple):
    """A file whose boat has name, builder and year of an earlier file's."""

    path: Path
    first: Path


class Lacking(NamedTuple):
    """A boat that `where` passed over, because she has no such fact or measure."""

    boat: str
    name: str


@dataclass(frozen=True)
class Boat:
    """One boat of a collection: her file, its facts, and what her figures are cached under."""

    name: str
    path: Path
    facts: dict[str, Any] = field(repr=False)
    key: str = field(repr=False)
    face_said: bool = field(default=True, repr=False)
    """Whether the file says which face of the planking it is of; if not, the outside is assumed."""
    open_ends: tuple[str, ...] = field(default=(), repr=False)
    """Ends that her file does not tell of, a sentence each: she is made as far as her stations reach."""

    def fact(self, name: str) -> Any:
        """A fact of her file, or one of its extras. Raises `KeyError`."""
        return self.facts[name] if name in self.facts else self.facts.get("extra", {})[name]


class Job(NamedTuple):
    """What is asked about one boat: her file, its content, and the planking she is carried over by, if she is."""

    path: Path
    content: str
    face: str = ""
    """The face she is carried to, `"inside"` or `"outside"`; nothing where she is given to it."""
    planking: float | None = None
    """The thickness, m: her table's, or the one assumed; `None` where nobody says."""
    assumed: bool = False
    mapping: Path | None = None
    """What she is read through, where she is a page without a mapping of its own."""

    @property
    def key(self) -> str:
        """What the figures go by."""
        carried = f"|{self.face}|{self.planking}|{self.assumed}" if self.face or self.assumed else ""
        return self.content + carried


@dataclass
class Figures:
    """What was found out about one boat, and what could not be."""

    key: str
    quantities: dict[str, Quantity]
    points: numpy.ndarray | None
    failures: list[str]
    readings: list[tuple[str, str, float, float]] = field(default_factory=list)
    """Station, row, reading and tolerance, m at full size, of every reading used."""
    doubted: list[str] = field(default_factory=list)
    """Readings left out, as the rest of the boat contradicts them: row, station and reading."""
    whole_slips: list[str] = field(default_factory=list)
    """What makes a whole row, column or block wrong in one way, a sentence each."""
    surface_sd: float = float("nan")
    """One standard deviation of the surface at the readings, root mean square, m."""
    samples: int = 0
    """Possible hulls its uncertainties were taken of; with none they are not known."""


def collection(
    paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]],
    *,
    reader: str | None = None,
    mapping: str | os.PathLike[str] | None = None,
    cache: bool | str | os.PathLike[str] = True,
    moulded_to: str | None = None,
    planking: float | str | None = None,
) -> Collection:
    """The boats in a folder, in files matching a pattern (`"models/*.offsets"`), or in the files listed.

    In a folder, and those inside it, files that no reader plugin takes for its own are passed over and listed
    in `.ignored`; a file that is named must be read. What cannot be read is in `.failures`, with the reason.
    A printed page without a mapping of its own beside it is read through `mapping`.
    Figures are cached in the platform's cache folder, in the folder given as `cache`, or not at all
    (`False`).

    All boats are brought to one face of the planking, by the surface parallel to theirs (`Hull.to`): to the
    `"inside"` or `"outside"` asked for as `moulded_to`; left out, to the one they are all given to, or to the inside
    where they differ, since that takes cutting only. `planking`, m or a reading, is assumed of boats whose files give
    none; without it, one that would have to be carried is in `.failures`. `Collection.faces` tells of each.
    """
    if moulded_to is not None and moulded_to not in FACES:
        raise ScrieveError(f"no such face of the planking: {moulded_to!r}; there are {', '.join(FACES)}")
    thickness = _thickness(planking)
    through = None if mapping is None else Path(mapping)
    files, failures, ignored = _files(paths)
    boats: list[Boat] = []
    namesakes: list[Namesake] = []
    by_name: dict[tuple[Any, ...], Path] = {}
    for path in _progress.counted(files, "reading tables"):
        try:
            table = read(path, reader, mapping=_mapping_of(path, through))
        except (ValueError, OSError) as error:
            failures.append(Failure(path, _why(error, path)))
            continue
        facts = table.facts
        who = (table.name, facts.get("builder"), facts.get("year"))
        if None not in who:
            if who in by_name:
                namesakes.append(Namesake(path, by_name[who]))
            by_name.setdefault(who, path)
        said = re.search(r"(?m)^\s*moulded_to\s*=", table.to_text()) is not None
        boats.append(Boat(table.name, path, facts, content_key(table), said, tuple(table._core.open_ends)))
    boats = _told_apart(boats)
    given = {boat.facts["moulded_to"] for boat in boats}
    one = next((face for face, words in FACES.items() if given == {words}), "inside")
    about = _About(failures, namesakes, ignored, Cache.at(cache), reader, through, moulded_to or one, thickness)
    return Collection(boats, about)


class _About(NamedTuple):
    """What the parts of a collection share."""

    unread: list[Failure]
    namesakes: list[Namesake]
    ignored: list[Path]
    cache: Cache
    reader: str | None
    mapping: Path | None
    face: str
    planking: float | None


class Collection:
    """Boats to be compared. Get one with `scrieve.collection`.

    `.boats` are those read, `.failures` what could not be done and why, `.namesakes` files whose boat has name,
    builder and year of another's, `.ignored` files in a folder that no reader takes for a table. `.lacking` are those
    that `where` passed over for want of what was asked.
    """

    def __init__(self, boats: list[Boat], about: _About, lacking: Iterable[Lacking] = ()) -> None:
        self.boats = boats
        self.lacking = list(lacking)
        self._about = about
        self._figures: dict[str, Figures] = {}

    @property
    def namesakes(self) -> list[Namesake]:
        """Files whose boat has name, builder and year of another's."""
        return self._about.namesakes

    @property
    def ignored(self) -> list[Path]:
        """Files in a folder that no reader takes for a table."""
        return self._about.ignored

    @property
    def moulded_to(self) -> str:
        """The face of the planking that all figures and shapes are of."""
        return FACES[self._about.face]

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
            if (key := self._job(boat).key) in self._figures
            for reason in self._figures[key].failures
        ]
        return self._about.unread + measured

    def where(self, test: Callable[[Mapping[str, Any]], bool] | None = None, /, **asked: Any) -> Collection:
        """The boats whose facts pass `test`, and are as asked by name: a value, a `range` or set of values, or a
        function of the value that gives True or False. Names are those of facts and of measures; for a measure the
        boats are measured first.

        `boats.where(lambda b: b["year"] < 1900, builder="E. Marlow", beam_length=lambda ratio: ratio > 0.4)`. A boat
        without what is asked for does not pass: she is in `.lacking` of what is given, and a `Note` warns of her.
        So does a value that no boat has, with those that they have. Raises `ScrieveError` for a name that no boat has,
        with those like it; for text asked of a number, a pair of numbers that may be meant for a range, or a measure to
        be met exactly; and where a function raises or gives neither True nor False, with the boat.
        """
        for name, wanted in asked.items():
            self._askable(name, wanted, self._known(name))
        kept, lacking = [], []
        for boat in self.boats:
            try:
                if self._passes(boat, test, asked):
                    kept.append(boat)
            except _Lacks as lacks:
                lacking.append(Lacking(boat.name, lacks.args[0]))
        for name in dict.fromkeys(lack.name for lack in lacking):
            without = [lack.boat for lack in lacking if lack.name == name]
            warnings.warn(Note(f"passed over, having no {name}: {', '.join(without)}"), stacklevel=2)
        return self._some(kept, lacking)

    def _askable(self, name: str, wanted: Any, fact: bool) -> None:
        """Raises `ScrieveError` for what no value could be, or could only be by chance; warns of what none is."""
        if callable(wanted):
            return
        like = f"{name}=lambda value: 1 < value < 2"
        if not fact:
            raise ScrieveError(f"{name} is measured, and never just {wanted!r:.80}: ask with a function, as {like}")
        values = [known[name] for known in (_Known(self, boat) for boat in self.boats) if name in known]
        numbers = [v for v in values if isinstance(v, (int, float)) and not isinstance(v, bool)]
        several = _several(wanted)
        if isinstance(wanted, (tuple, list)) and len(several) == 2 and numbers:
            raise ScrieveError(
                f"{name}={wanted!r}: two values, or from one to the other? Ask with a set, {set(wanted)!r}, or with a "
                f"function, as {like}"
            )
        for one in () if isinstance(several, range) else several:
            if numbers and len(numbers) == len(values) and not isinstance(one, (int, float)) or one != one:
                raise ScrieveError(
                    f"{name}={one!r:.80}: the boats have numbers, such as {numbers[0] if numbers else 1}"
                )
        if values and not any(value in several for value in values):
            there = ", ".join(dict.fromkeys(str(value) for value in values))
            warnings.warn(Note(f"no boat has {name} {wanted!r:.80}; they have {there:.300}"), stacklevel=3)

    def _passes(self, boat: Boat, test: Callable[[Mapping[str, Any]], bool] | None, asked: dict[str, Any]) -> bool:
        import numpy

        known = _Known(self, boat)

        def called(function: Callable[[Any], Any], of: Any) -> bool:
            try:
                passes = function(of)
            except (_Lacks, _Unknown, KeyboardInterrupt):
                raise
            except BaseException as error:
                raise ScrieveError(f"{boat.name}: the test failed: {type(error).__name__}: {error}") from error
            if not isinstance(passes, (bool, numpy.bool_)):
                raise ScrieveError(f"{boat.name}: the test gave {passes!r:.80}, expected True or False")
            return bool(passes)

        for name, wanted in asked.items():
            value = known[name]
            if not (called(wanted, value) if callable(wanted) else value in _several(wanted)):
                return False
        return test is None or called(test, known)

    def _known(self, name: str) -> bool:
        """Whether any boat has a fact so called; if not it is a measure's name. Raises `ScrieveError` for neither."""
        facts = {fact for boat in self.boats for fact in (*boat.facts, *boat.facts.get("extra", {}))} | _FACTS
        if name in facts or not self.boats:
            return True
        self._measure(None)
        measures = {measure for boat in self.boats for measure in self._of(boat).quantities}
        if name in measures:
            return False
        near = difflib.get_close_matches(name, sorted(facts | measures), 4, 0.5)
        like = f"; is it {', '.join(near)}?" if near else f"; there are {', '.join(sorted(facts | measures))}"
        raise _Unknown(f"no boat has a fact or a measure called {name!r}{like}")

    def without(self, *names: str) -> Collection:
        """The collection without the boats of those names. Raises `ScrieveError` for a name that is not here."""
        here = [boat.name for boat in self.boats]
        for name in names:
            if name not in here:
                raise no_boat(name, difflib.get_close_matches(name, here, 3, 0.4) or here)
        return self._some([boat for boat in self.boats if boat.name not in names], self.lacking)

    def _some(self, boats: list[Boat], lacking: list[Lacking]) -> Collection:
        some = Collection(boats, self._about, lacking)
        some._figures = self._figures
        return some

    def faces(self) -> pandas.DataFrame:
        """How each boat comes to the one face of the planking, a row a boat: `given`, the face her file is of;
        `given_assumed`, where the file does not say; `carried`, how far her surface was carried, m, less than nothing
        inward, NaN where her planking is not known; `planking_assumed`, where the thickness is not her file's."""
        import pandas

        rows = []
        for boat in self.boats:
            job = self._job(boat)
            way = 1.0 if job.face == "outside" else -1.0
            carried = 0.0 if not job.face else float("nan") if job.planking is None else way * job.planking
            rows.append((boat.facts["moulded_to"], not boat.face_said, carried, job.assumed))
        columns = ["given", "given_assumed", "carried", "planking_assumed"]
        frame = pandas.DataFrame(rows, index=self._index(), columns=columns)
        frame.attrs.update(units={"carried": "m"}, moulded_to=self.moulded_to)
        return frame

    def readings_left_out(self, executor: Executor | None = None) -> dict[str, list[str]]:
        """Of each boat that had any, the readings her figures were made without, as the rest of her contradicts them:
        row, station and reading. `Table.proof` tells what they may have been."""
        self._measure(executor)
        found = ((boat.name, self._of(boat).doubted) for boat in self.boats)
        return {name: doubted for name, doubted in found if doubted}

    def whole_slips(self, executor: Executor | None = None) -> dict[str, list[str]]:
        """Of each boat whose table has any, what makes a whole row, column or block of it wrong in one way, a sentence
        each. Her figures are of the table as it stands: `Table.put_right` mends it. Of what is no one boat's there
        are no figures, and `failures` say so."""
        self._measure(executor)
        found = ((boat.name, self._of(boat).whole_slips) for boat in self.boats)
        return {name: said for name, said in found if said}

    def near(self, executor: Executor | None = None) -> pandas.DataFrame:
        """Pairs of boats nearer to one another than their readings can tell apart, a row a pair: the same boat twice
        over, sisters off one mould, or copies of one table. Nothing is left out: `without` does that.

        `distance`: root mean square `between` "corresponding points", m, where the second is brought to the size of
        the first, or, where that is more than their readings allow but not by much, between "surfaces", square to them;
        `sds`: the same in standard deviations of the difference of two surfaces, by what their readings are
        worth; `length`, `breadth`, `height`: what the second's are multiplied by to lie best on the first, so a
        shrunken model shows a ratio across that it has not along. `cells`: readings of the same station and row that
        differ by more than both tolerances, at the ratio of their row (-1 where the tables are laid out otherwise, or
        taken to the other face of the planking); `differing` names them: a copy with one slip has one.
        """
        from .near import pairs

        self._measure(executor)
        figures = [self._of(boat) for boat in self.boats]
        frame = pairs([boat.name for boat in self.boats], figures, [boat.facts["moulded_to"] for boat in self.boats])
        frame.attrs["moulded_to"] = self.moulded_to
        return frame

    def facts(self) -> pandas.DataFrame:
        """The facts of the files, a row a boat: lengths in metres at full size, what is missing left missing;
        what gives back a model's shrinkage as `shrinkage_length`, `shrinkage_breadth` and `shrinkage_height`.

        Units are in `.attrs["units"]`.
        """
        import pandas

        rows = []
        for boat in self.boats:
            row = {"file": str(boat.path), **{k: v for k, v in boat.facts.items() if k not in _NOT_CELLS}}
            row |= {f"shrinkage_{way}": factor for way, factor in boat.facts.get("shrinkage", {}).items()}
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
        boat by boat. Numbers are of the hull to `.attrs["moulded_to"]`; those of a boat carried there by planking that
        was assumed are assumed.

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
            for name, quantity in self._of(boat).quantities.items():
                units[name] = quantity.unit
                found = {*basis.get(name, quantity.basis).split(", "), quantity.basis}
                basis[name] = ", ".join(sorted(found, key=BASES.index))
        if uncertainty:
            sds = pandas.DataFrame(self._columns(lambda quantity: quantity.sd), index=frame.index, dtype=float)
            sds = sds.dropna(axis=1, how="all")
            units |= {f"{name}_sd": units[name] for name in sds}
            numbers = pandas.concat([numbers, sds.add_suffix("_sd")], axis=1)
        frame = pandas.concat([frame.drop(columns=[c for c in columns if c in frame]), numbers], axis=1)
        frame.attrs.update(units=units, basis=basis, moulded_to=self.moulded_to)
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
        rigs.attrs["moulded_to"] = self.moulded_to
        return rigs

    def shapes(self, size: str = "length", executor: Executor | None = None) -> Shapes:
        """The hulls, to one face of the planking, brought to one size by `"length"`, or by length, beam and depth
        each, `"all"`."""
        import numpy

        from .shapes import Shapes

        self._measure(executor)
        with_points = [(boat, self._of(boat).points) for boat in self.boats]
        kept = [(boat, points) for boat, points in with_points if points is not None]
        if not kept:
            raise ScrieveError("no shapes to compare: no boat of the collection could be faired")
        years = [boat.facts.get("year", float("nan")) for boat, _ in kept]
        points = numpy.array([points for _, points in kept], dtype=float)
        return Shapes(
            [boat.name for boat, _ in kept], points, size=size, years=years,
            moulded_to=self.moulded_to, planking=self._about.planking,
        )  # fmt: skip

    def distances(self, size: str = "length", gap: str = "rms", executor: Executor | None = None) -> pandas.DataFrame:
        """Distances between the shapes, a square frame. See `Shapes.distances`."""
        return self.shapes(size, executor).distances(gap)

    def _index(self) -> pandas.Index:
        import pandas

        return pandas.Index([boat.name for boat in self.boats], name="boat", dtype=object)

    def _columns(self, value: Callable[[Quantity], Any], missing: Any = float("nan")) -> dict[str, list[Any]]:
        figures = [self._of(boat).quantities for boat in self.boats]
        names = dict.fromkeys(name for quantities in figures for name in quantities)
        return {name: [value(q[name]) if name in q else missing for q in figures] for name in names}

    def _job(self, boat: Boat) -> Job:
        own = boat.facts.get("planking")
        through = _mapping_of(boat.path, self._about.mapping)
        if boat.facts["moulded_to"] == self.moulded_to:
            # What she displaces hangs on her planking all the same.
            assumed = own is None and self._about.planking is not None and self._about.face == "inside"
            return Job(boat.path, boat.key, "", self._about.planking if assumed else None, assumed, through)
        return Job(
            boat.path, boat.key, self._about.face, self._about.planking if own is None else own,
            own is None and self._about.planking is not None, through,
        )  # fmt: skip

    def _of(self, boat: Boat) -> Figures:
        return self._figures[self._job(boat).key]

    def _measure(self, executor: Executor | None, samples: int = 0) -> None:
        wanted = {}
        for job in map(self._job, self.boats):
            held = self._figures.get(job.key)
            if held is None or held.samples < samples:
                found = self._about.cache.load(job.key, samples)
                if found is None:
                    wanted[job.key] = job
                else:
                    self._figures[job.key] = found
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

    def _measure_on(self, executor: Executor, wanted: dict[str, Job], samples: int) -> None:
        jobs = list(wanted.values())
        found = self._by_jobs(executor, jobs, min(MOST_A_JOB, -(-len(jobs) // LEAST_JOBS)), samples)
        for figures in _progress.counted(found, "measuring boats", len(jobs)):
            self._figures[figures.key] = figures
            # A failure may be gone next time: memory short, a plugin mended.
            if not figures.failures:
                self._about.cache.store(figures)
        self._about.cache.make_room()

    def _by_jobs(self, executor: Executor, boats: list[Job], size: int, samples: int) -> Iterator[Figures]:
        """Each boat's figures as they come, `size` boats a job; a job that is lost is done again boat by boat."""
        running: dict[Future[list[Figures]], list[Job]] = {}
        lost: list[Job] = []
        try:
            for i in range(0, len(boats), size):
                job = boats[i : i + size]
                try:
                    running[executor.submit(figures_of_each, job, self._about.reader, samples)] = job
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


def _lost(job: Job, error: BaseException, samples: int) -> Figures:
    return Figures(job.key, {}, None, [f"the work was lost: {type(error).__name__}: {error}"], samples=samples)


def figures_of_each(jobs: list[Job], reader: str | None, samples: int = 0) -> list[Figures]:
    """Figures of several boats: a job of the executor."""
    return [figures_of(job, reader, samples) for job in jobs]


def figures_of(job: Job, reader: str | None, samples: int = 0) -> Figures:
    """Reads, fairs and measures one boat, and so many possible hulls of her. Raises nothing of the boat's."""
    from .shapes import sample

    path = job.path
    found = Figures(job.key, {}, None, [], samples=samples)
    hull = None
    with _costing_only(found):
        table = read(path, reader, mapping=job.mapping)
        if content_key(table) != job.content:
            raise ScrieveError("the file has changed since it was read")
        given = table.fair()
        if given.no_hull is not None:
            raise ScrieveError(given.no_hull)
        found.readings, found.surface_sd, found.doubted = _worth(given)
        found.whole_slips = given._core.whole_slips
        hull = brought(given, job.face, job.planking) if job.face else given
    if hull is None:
        found.failures = [reason.removeprefix(f"{path}: ") for reason in found.failures]
        return found
    facts = {**table.facts, "planking": job.planking} if job.assumed else table.facts
    unsure: list[tuple[Plugin, list[str]]] = []
    for plugin in plugins("measures"):
        with _costing_only(found, plugin):
            measured = plugin.call("measure", hull, facts)
            _take(found, plugin, measured)
            unsure.append((plugin, [n for n, q in measured.items() if q.basis != "measured" and isnan(q.sd)]))
    if samples:
        with _costing_only(found, "uncertainty"):
            possible = hull.samples(samples)
            for plugin, names in unsure:
                with _costing_only(found, f"uncertainty of {plugin}"):
                    _find_sds(found, plugin, names, hull, facts, possible)
    if job.assumed and job.face:
        for name, quantity in found.quantities.items():
            if quantity.basis == "faired":
                found.quantities[name] = replace(quantity, basis="assumed")
    with _costing_only(found, "the shape"):
        # Single precision: a micrometre on a boat of ten metres, in half the room.
        found.points = sample(hull).astype("f4")
    return found


def brought(hull: Hull, face: str, planking: float | None) -> Hull:
    """The hull to that face of her planking. Raises `ScrieveError` with what would do."""
    if planking is None and hull.source.facts.get("planking") is None:
        raise ScrieveError(
            f"given to the {hull.moulded_to}, and compared to the {FACES[face]}, but her file gives no planking: write "
            "planking in her head, assume one (planking=, --planking), or leave her out"
        )
    try:
        return hull.to(face, planking)
    except ValueError as error:
        other = "outside" if face == "inside" else "inside"
        raise ScrieveError(
            f"given to the {hull.moulded_to}, she cannot be brought to the {FACES[face]}: {error}; compare all to the "
            f"{other} (moulded_to=, --moulded-to), or leave her out"
        ) from None


def _worth(hull: Hull) -> tuple[list[tuple[str, str, float, float]], float, list[str]]:
    """Her readings, the standard deviation of her surface at them, and those that were left out."""
    frame = hull.corrections()
    rows = zip(frame.station, frame.row, frame.read, frame.tolerance, strict=True)
    sd = float((frame.sd**2).mean() ** 0.5)
    out = frame[frame.doubted]
    doubted = [
        f"{row} at {station} ({1e3 * read:.0f} mm)"
        for station, row, read in zip(out.station, out.row, out.read, strict=True)
    ]
    return [(str(station), str(row), float(read), float(worth)) for station, row, read, worth in rows], sd, doubted


class _Lacks(Exception):
    """A boat has not what other boats have."""


class _Unknown(ScrieveError):
    """No boat has it."""


class _Known(dict[str, Any]):
    """Facts and measures of a boat, as a test is given them: what no boat has is an error, not a silence."""

    def __init__(self, boats: Collection, boat: Boat) -> None:
        super().__init__({**boat.facts.get("extra", {}), **boat.facts})
        self._boats, self._boat = boats, boat

    def __missing__(self, name: str) -> Any:
        if not self._boats._known(name):
            found = self._boats._of(self._boat).quantities.get(name)
            if found is not None and not isnan(found.value):
                return found.value
        raise _Lacks(name)

    def get(self, name: str, default: Any = None) -> Any:
        try:
            return self[name]
        except _Lacks:
            return default


def _thickness(given: float | str | None) -> float | None:
    """A planking thickness, m, of a number or a reading. Raises `ScrieveError`."""
    if given is None:
        return None
    try:
        metres = Reading(given).m if isinstance(given, str) else float(given)
    except (ValueError, TypeError) as error:
        raise ScrieveError(f"planking: {error}") from None
    if not 0 < metres < MOST_PLANKING_M:
        raise ScrieveError(f"planking {metres:g} m thick: expected more than nothing and less than {MOST_PLANKING_M} m")
    return metres


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
            for inside in sorted(p for p in path.rglob("*") if p.is_symlink() or not p.is_dir()):
                if any(part.startswith(".") for part in inside.relative_to(path).parts):
                    continue
                if inside.is_dir():
                    failures.append(Failure(inside, "a link to a folder is not followed: name the folder itself"))
                    continue
                if not inside.is_file():
                    broken = inside.is_symlink() and not inside.exists()
                    failures.append(Failure(inside, "a link that leads nowhere" if broken else "no plain file"))
                    continue
                (files if _known(inside) else ignored).append(inside)
        elif path.exists():
            files.append(path)
        elif found := sorted(glob.glob(os.fspath(given), recursive=True)):
            files += [p for p in map(Path, found) if p.is_file()]
        else:
            failures.append(Failure(path, "no such file or folder"))
    return list(dict.fromkeys(files)), failures, ignored


def _mapping_of(path: Path, mapping: Path | None) -> Path | None:
    """What a file is read through, if it is a page and has no mapping of its own beside it."""
    if mapping is None or path.with_suffix(".toml").is_file():
        return None
    for plugin in plugins("readers"):
        with suppress(PluginError, OSError):
            with open(path, "rb") as file:
                head = file.read(HEAD_BYTES)
            if plugin.call("reads", path, head):
                return mapping if (plugin.package, plugin.name) == (OURS, PAGES) else None
    return mapping


def _several(wanted: Any) -> Any:
    """The values asked for, one or several."""
    return wanted if isinstance(wanted, (range, set, frozenset, list, tuple)) else (wanted,)


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


def _told_apart(boats: list[Boat]) -> list[Boat]:
    """The boats, those of one name with the name of their file, and a number where that is not enough: none of them
    is the one who is meant by the bare name."""
    many = {name for name, count in Counter(boat.name for boat in boats).items() if count > 1}
    names = {boat.name for boat in boats}
    told = []
    for boat in boats:
        name, number = boat.name, 2
        if name in many:
            name = with_file = f"{name} ({boat.path.stem})"
            while name in names:
                name, number = f"{with_file} {number}", number + 1
            names.add(name)
        told.append(replace(boat, name=name))
    return told


def no_boat(name: str, names: Iterable[str]) -> ScrieveError:
    """Says that no boat is called so, and which are, or which of several of that name there are."""
    listed = list(names)
    several = [other for other in listed if other.startswith(f"{name} (")]
    if several:
        return ScrieveError(f"several boats are called {name!r}: say which, {' or '.join(map(repr, several))}")
    return ScrieveError(f"no boat called {name!r}; there are: {', '.join(listed)}")


def _why(error: Exception, path: Path) -> str:
    """The reason, without the path it begins with."""
    if isinstance(error, OSError) and error.strerror:
        return error.strerror
    return (str(error) or type(error).__name__).removeprefix(f"{path}: ")
