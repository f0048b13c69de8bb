"""Collections: many tables read, measured and compared, whatever a few of them have wrong with them.

Each boat is read, faired and measured by herself, on any executor of the `concurrent.futures` kind, and the
hull let go again: what stays is her figures, her readings and a grid of points, cached by the content of her
table. All boats are brought to one face of the planking first, the inside or the outside.
"""

from __future__ import annotations

import difflib
import os
import re
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Executor, ThreadPoolExecutor
from math import isnan
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from .._core import Reading, give_up
from ..errors import Note, ScrieveError
from ..files import read
from ..plugin.given import BASES, Quantity
from ..terminal import counted as _progress
from .boats import Boat, Lacking, Namesake, told_apart
from .cache import Cache
from .face import FACES
from .facts import held
from .figures import Figures, Job, content_key
from .found import Failure, files_of, mapping_of
from .measuring import by_jobs
from .names import no_boat

if TYPE_CHECKING:
    import pandas

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

# Possible hulls a boat when uncertainty is asked for: an sd from so few is sure to a sixth of itself, which is
# enough to weigh boats by.
SAMPLES_A_BOAT = 16


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
    files, failures, ignored = files_of(paths)
    boats: list[Boat] = []
    namesakes: list[Namesake] = []
    by_name: dict[tuple[Any, ...], Path] = {}
    for path in _progress.counted(files, "reading tables"):
        try:
            table = read(path, reader, mapping=mapping_of(path, through))
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
        boats.append(Boat(table.name, path, held(facts), content_key(table), said, tuple(table._core.open_ends)))
    boats = told_apart(boats)
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
        through = mapping_of(boat.path, self._about.mapping)
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
        found = by_jobs(executor, jobs, self._about.reader, samples)
        for figures in _progress.counted(found, "measuring boats", len(jobs)):
            self._figures[figures.key] = figures
            # A failure may be gone next time: memory short, a plugin mended.
            if not figures.failures:
                self._about.cache.store(figures)
        self._about.cache.make_room()


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


def _several(wanted: Any) -> Any:
    """The values asked for, one or several."""
    return wanted if isinstance(wanted, (range, set, frozenset, list, tuple)) else (wanted,)


def _why(error: Exception, path: Path) -> str:
    """The reason, without the path it begins with."""
    if isinstance(error, OSError) and error.strerror:
        return error.strerror
    return (str(error) or type(error).__name__).removeprefix(f"{path}: ")
