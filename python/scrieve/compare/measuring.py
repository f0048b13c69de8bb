"""Boats read, faired and measured, by jobs of an executor, which may be in other processes."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import CancelledError, Executor, Future, as_completed
from contextlib import contextmanager
from dataclasses import replace
from math import isinf, isnan
from typing import TYPE_CHECKING, Any

from ..errors import PluginError, ScrieveError
from ..files import read
from ..plugin.given import BASES, Quantity
from ..plugin.registry import Plugin, plugins
from .face import brought
from .figures import Figures, Job, content_key

if TYPE_CHECKING:
    from ..hull.hull import Hull


# Boats a job, so that an executor in other processes has little to carry beside the work; and jobs a collection
# at least, so that the last ones leave no worker idle for long.
MOST_A_JOB = 16
LEAST_JOBS = 64


def by_jobs(executor: Executor, boats: list[Job], reader: str | None, samples: int) -> Iterator[Figures]:
    """Each boat's figures as they come, several boats a job; a job that is lost is done again boat by boat."""
    return _by_jobs(executor, boats, reader, min(MOST_A_JOB, -(-len(boats) // LEAST_JOBS)), samples)


def _by_jobs(executor: Executor, boats: list[Job], reader: str | None, size: int, samples: int) -> Iterator[Figures]:
    running: dict[Future[list[Figures]], list[Job]] = {}
    lost: list[Job] = []
    try:
        for i in range(0, len(boats), size):
            job = boats[i : i + size]
            try:
                running[executor.submit(figures_of_each, job, reader, samples)] = job
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
        yield from _by_jobs(executor, lost, reader, 1, samples)


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


def _find_sds(
    found: Figures, plugin: Plugin, names: list[str], hull: Hull, facts: dict[str, Any], possible: list[Hull]
) -> None:
    """Gives the named numbers of a measure the sd that the possible hulls show."""
    from ..hull.uncertainty import uncertain

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
