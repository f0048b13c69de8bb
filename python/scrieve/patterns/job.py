"""The main job: what every pattern draws of a faired hull, in a folder a person can find their way in.

The patterns are those that `scrieve pickup` runs, anybody's: each says in its `lofted` where its files stand.
"""

from __future__ import annotations

import os
import unicodedata
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from .. import files
from .._core import Drawing
from ..afloat.report import Report, report
from ..errors import Fault, Note, NothingToDraw, NotMade, PluginError
from ..hull.floating import CAUTION
from ..hull.hull import Hull
from ..outputs import Lot, refuse_input, replace
from ..plugin.given import PickedUp
from ..plugin.lofted import Lofted, Part
from ..plugin.options import Planking
from ..plugin.registry import OURS, Plugin, find, plugins
from ..tables import frame, in_mm, measured, write_csv
from ..units import is_metric
from .nested import lay, stock_told, wanted
from .page import page
from .run import PARTS, draw, options_of, refuse_no_hull, sound
from .shop import NEST, Choices, carried

CAUTIONS = (
    "Before cutting, measure two known dimensions of the boat on the drawing, and on paper its 100 mm bars.",
    "Fairing by number does not replace sighting along a batten: set up the moulds, bend battens round them and look.",
    "Bandsaws, planers and routers hurt people: guards, eyes, ears and dust; follow the makers' instructions.",
    "Nothing here shows that a boat is safe or lawful: follow local rules and have a licensed naval architect "
    "or surveyor judge her.",
)
T = TypeVar("T")


# What the list of a lofted folder's files is called.
LISTED = "lofted"
# What stands in the folder and no pattern makes.
RESERVED = {
    "index.html", f"{LISTED}.sha256", "faired.offsets", "corrections.csv", "fairness.csv", "evidence.csv", "parts.csv",
}  # fmt: skip


@dataclass
class Done:
    """What a job wrote, what it could not make, and where to begin reading."""

    hull: Hull
    folder: Path
    parts: list[tuple[str, list[Path]]] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    failures: list[str] = field(default_factory=list)
    removed: list[Path] = field(default_factory=list)

    @property
    def written(self) -> list[Path]:
        """Every file, in the order it was made."""
        return [path for _, paths in self.parts for path in paths]

    def summary(self) -> str:
        """What was written and where, for a terminal."""
        lines = [f"{self.hull.name}: written into {self.folder}{os.sep}"]
        shown = []
        for _, paths in self.parts:
            names = [str(path.relative_to(self.folder)) for path in paths]
            shown.append(names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more")
        wide = max(map(len, shown))
        lines += [f"  {name:<{wide}}  {what}" for name, (what, _) in zip(shown, self.parts, strict=True)]
        lines += [f"  not made: {failure}" for failure in self.failures]
        if self.removed:
            lines.append(f"  taken away: {len(self.removed)} files of an earlier run, such as {self.removed[0]}")
        lines.append("begin with " + str(self.folder / "index.html"))
        return "\n".join(lines)


def loft(hull: Hull, folder: Path, planking: float | None = None, choices: Choices | None = None) -> Done:
    """Writes all that is picked up from a hull into `folder`, with an index.

    `planking` is its thickness, m; left out, the table's own. `choices` are those of the shop (`shop.of_table`), by
    which patterns are drawn and files written; the index lists them.
    A part that cannot be made is named in `failures`; the others are written. What an earlier run wrote there is
    replaced or taken away (see `outputs.Lot`), the index last. Raises `LoftError` where her table describes no one fair
    hull, `OSError` where the folder cannot be written,
    `ScrieveError` where something else is in the way.
    """
    refuse_no_hull(hull)
    refuse_input(folder / "faired.offsets")
    lot = Lot(folder, LISTED, first="index.html")
    with lot.made() as apart:
        done = _loft(hull, apart, (choices or Choices()).told("Python", deduct=planking))
    done.parts = [(what, [folder / path.relative_to(apart) for path in paths]) for what, paths in done.parts]
    done.folder, done.removed = folder, lot.removed
    return done


def nested(hull: Hull, folder: Path, choices: Choices, writer: str = "dxf") -> Done:
    """Writes a boat's parts into `folder` as they lie on sheets, with an index.

    Whose parts, on which sheets and how, are choices (`shop.nest_options`). A pattern that cannot be drawn is named in
    `failures`, the parts of the others are laid. Raises `LoftError` where her table describes no one fair hull,
    `DrawingError` where the parts cannot be laid, `PluginError` where no pattern has a name that is asked for,
    `OSError` where the folder cannot be written; then nothing is written.
    """
    refuse_no_hull(hull)
    find("writers", writer)
    lot = Lot(folder, "nested", first="index.html")
    with lot.made() as apart:
        making = Making(hull, apart, choices)
        stock_told(choices)
        names = wanted(choices)
        for name in names or ():
            find("patterns", name)
        for plugin, place in patterns_of(making):
            if place.sheets if names is None else plugin.name in names:
                given = given_to(making, plugin)
                if given is not None:
                    making.drawn(plugin, place, given)
        with making.hearing():
            making.done.parts.append(("sheets of parts", making.laid(apart, writer)))
        _index(making)
    done = making.done
    done.parts = [(what, [folder / path.relative_to(apart) for path in paths]) for what, paths in done.parts]
    done.folder, done.removed = folder, lot.removed
    return done


@dataclass
class _Shown:
    """What the index shows of what the patterns drew: drawings under captions, tables under headings."""

    figures: list[tuple[str, Drawing]] = field(default_factory=list)
    afloat: list[tuple[str, Drawing]] = field(default_factory=list)
    tables: list[tuple[str, Any]] = field(default_factory=list)


class Making:
    """What is made for a lofted folder, part by part: one that cannot be made costs itself and a line."""

    def __init__(self, hull: Hull, folder: Path, choices: Choices) -> None:
        self.hull = hull
        self.folder = folder
        self.choices = choices
        self.metric = is_metric(hull.source)
        # Every part that is cut out, pattern by pattern.
        self.cut: list[Any] = []
        # What each pattern drew that may be cut by, and whether it is got out of sheets.
        self.drew: dict[str, tuple[bool, list[Drawing]]] = {}
        self.done = Done(hull, folder)
        self.shown = _Shown()
        # Moulds, their bevels and their setting up have the same to say; it is said once.
        self._said: set[str] = set()

    def _say(self, lines: list[str], text: str, begins: str = "") -> None:
        if text and text not in self._said:
            self._said.add(text)
            lines.append(begins + text)

    @contextmanager
    def hearing(self, says: str = "") -> Iterator[None]:
        """What is warned of meanwhile is told, after `says`."""
        with warnings.catch_warnings(record=True) as told:
            warnings.simplefilter("always", Note)
            try:
                yield
            finally:
                for warning in told:
                    if issubclass(warning.category, (Fault, NotMade)):
                        self._say(self.done.failures, str(warning.message))
                    elif issubclass(warning.category, Note):
                        self._say(self.done.remarks, str(warning.message), says)

    def made(self, what: str, make: Callable[[], T], says: str = "") -> T | None:
        """What `make` gives; None, and a line, where it raises. What it warns of is told too, after `says`."""
        with self.hearing(says):
            try:
                return make()
            except NothingToDraw as nothing:
                self._say(self.done.remarks, nothing.remark)
                return None
            except ValueError as error:
                self._say(self.done.failures, str(error), f"{what}: ")
                return None

    def part(self, what: str, make: Callable[[], list[Path]], says: str = "") -> None:
        """Files that stand in the index under `what`."""
        paths = self.made(what, make, says)
        if paths:
            self.done.parts.append((what, paths))

    def drawn(self, plugin: Plugin, lofted: Lofted, given: Mapping[str, Any]) -> tuple[PickedUp, list[Drawing]] | None:
        """What a pattern draws, and which drawings may be cut by; None where it could not be run."""
        says = lofted.says or ("" if plugin.package == OURS else f"{plugin.name}: ")
        drawn = self.made(plugin.name, lambda: draw(plugin, self.hull, given, self.choices.value("cutter")), says)
        if drawn is None:
            return None
        drawings = self.made(plugin.name, lambda: sound(drawn), says) or []
        self.drew[plugin.name] = lofted.sheets, drawings
        return drawn, drawings

    def pattern(self, plugin: Plugin, lofted: Lofted, given: Mapping[str, Any]) -> None:
        """What a pattern draws, in its place in the folder."""
        says = lofted.says or ("" if plugin.package == OURS else f"{plugin.name}: ")
        made = self.drawn(plugin, lofted, given)
        if made is None:
            return
        drawn, drawings = made
        cut = drawn.tables.pop(PARTS, None)
        tables = drawn.tables
        own_folder = _free(self.folder, plugin.name).name
        for part, of, own in _parts(plugin, lofted, drawings, drawn, own_folder):
            self.part(part.what, partial(self._write, part, of, own), says)
        if cut is not None:
            kept = cut[cut.drawing.isin([one.name for one in drawings])]
            kept.insert(0, "pattern", plugin.name)
            self.cut.append(kept)
        figures = self.shown.afloat if lofted.section == "afloat" else self.shown.figures
        for name, caption in drawn.captions.items():
            figures += [(caption, one) for one in (*drawings, *drawn.to_look_at) if one.name == name]
        self.shown.tables += [
            (said, measured(tables[name], self.metric)) for name, said in lofted.headings.items() if name in tables
        ]

    def laid(self, folder: Path, writer: str = "dxf") -> list[Path]:
        """What was drawn, laid on the sheets that were chosen. Raises `ScrieveError`."""
        laid = lay(self.hull, self.drew, self.choices, folder, writer)
        self.shown.figures += laid.figures
        self.shown.tables += laid.tables
        return laid.files

    def _write(self, part: Part, drawings: Sequence[Drawing], tables: Mapping[str, Any]) -> list[Path]:
        folder = self.folder.joinpath(*(files.plain_name(name) for name in part.folder.split("/") if name))
        folder.mkdir(parents=True, exist_ok=True)
        written: list[Path] = []
        for drawing in drawings:
            path = _free(folder, part.file or drawing.name, part.suffix)
            written += files.write(drawing, path, **files.options_of(path, self.choices.of_writers()))
        for file, table in tables.items():
            written += write_csv(_free(folder, file, "csv"), measured(table, self.metric))
        return written


def _free(folder: Path, name: str, suffix: str = "") -> Path:
    """A name in the folder that nothing has yet, however capitals count: no pattern writes over another's file."""
    there = {unicodedata.normalize("NFC", path.name).casefold() for path in folder.iterdir()} | RESERVED
    ending = f".{suffix}" if suffix else ""
    n, told = 1, files.plain_name(name, len(ending))
    while unicodedata.normalize("NFC", told + ending).casefold() in there:
        n += 1
        told = f"{files.plain_name(name, len(ending))}-{n}"
    return folder / f"{told}{ending}"


def _parts(
    plugin: Plugin, lofted: Lofted, drawings: Sequence[Drawing], drawn: PickedUp, folder: str
) -> Iterator[tuple[Part, list[Drawing], dict[str, Any]]]:
    """Each part with its drawings, and its tables by the names of their files. What none takes is a part besides."""
    taken: set[str] = set()
    for part in lofted.parts:
        # A drawing to look at is none of those that are cut, and is only meant by its own name.
        of = [one for one in drawings if any(fnmatchcase(one.name, name) for name in part.drawings)]
        of += [one for one in drawn.to_look_at if one.name in part.drawings]
        own = {file: drawn.tables[name] for name, file in part.tables.items() if file and name in drawn.tables}
        taken |= {one.name for one in of}
        if of or own:
            yield part, of, own
    left = [one for one in (*drawings, *drawn.to_look_at) if one.name not in taken]
    if left:
        yield Part(f"{plugin.name}: {plugin.summary}".removesuffix(": "), folder=folder), left, {}
    for name, table in drawn.tables.items():
        if not any(name in part.tables for part in lofted.parts):
            yield Part(f"{plugin.name}: {name}", folder=folder), [], {name: table}


def _lofted(plugin: Plugin) -> Lofted | None:
    """A pattern's place in the job. Raises `PluginError`."""
    place = getattr(plugin.load(), "lofted", Lofted())
    if place is not None and not isinstance(place, Lofted):
        raise PluginError(f"{plugin}: lofted is {place!r:.80}: expected a scrieve.plugin.Lofted or None")
    return place


def patterns_of(making: Making) -> list[tuple[Plugin, Lofted]]:
    """Every pattern of the job, in order. One that cannot be loaded, or has a name that is taken, costs itself."""
    found: dict[str, tuple[Plugin, Lofted]] = {}
    for plugin in plugins("patterns"):  # the built-in ones come first
        if plugin.name in found:
            with_it = f"{found[plugin.name][0].package} has a pattern of that name too: uninstall one of them"
            making.done.failures.append(f"{plugin}: {with_it}")
            continue
        place = making.made(plugin.name, partial(_lofted, plugin))
        if place is not None:
            found[plugin.name] = plugin, place
    return sorted(found.values(), key=lambda pair: pair[1].order)


# Patterns before this order stand in the index above the tables of the fairing, the others below.
RECORDS = 80


def _loft(hull: Hull, folder: Path, choices: Choices) -> Done:
    making = Making(hull, folder, choices)
    done, shown = making.done, making.shown
    patterns = patterns_of(making)
    records = next((i for i, (_, place) in enumerate(patterns) if place.order >= RECORDS), len(patterns))
    _run(making, patterns[:records])
    _records(making)
    afloat = _afloat(making)
    _run(making, patterns[records:])
    _cut(making)
    if choices.of_pattern(NEST):
        making.part("sheets of parts, for the router", lambda: making.laid(making.folder / "nest"))
    done.parts.append(("all of these, as sha256sum -c checks them", [folder / f"{LISTED}.sha256"]))
    floating = None
    if afloat is not None:
        above = f"Upright {afloat.at}." if afloat.at else ""
        sails = [(caption, drawing.to_svg()) for caption, drawing in shown.afloat]
        floating = (above, afloat.shown(), [*afloat.notes, CAUTION], sails)
    _index(making, floating)
    return done


def _index(making: Making, floating: Any = None) -> None:
    """The page the folder opens with."""
    import pandas

    hull, done, shown = making.hull, making.done, making.shown
    notes = [f"not made: {failure}" for failure in done.failures] + hull.remarks + done.remarks
    figures = [(caption, drawing.to_svg()) for caption, drawing in shown.figures]
    if making.choices.made:
        shown.tables.append(("The shop's choices", pandas.DataFrame(making.choices.listed())))
    index = making.folder / "index.html"
    replace(index, page(hull, making.folder, done.parts, notes, CAUTIONS, figures, shown.tables, floating).encode())
    done.parts.insert(0, ("begin here", [index]))


def _cut(making: Making) -> None:
    """The list of every part that is cut out, whichever pattern it is of."""
    import pandas

    if making.cut:
        parts = frame(pandas.concat(making.cut, ignore_index=True), making.cut[0].attrs["units"])
        path = making.folder / "parts.csv"
        making.part(
            "every part to cut: stock, count, grain, face", lambda: write_csv(path, measured(parts, making.metric))
        )


def _run(making: Making, patterns: Sequence[tuple[Plugin, Lofted]]) -> None:
    for plugin, place in patterns:
        given = given_to(making, plugin)
        if given is not None:
            making.pattern(plugin, place, given)


def given_to(making: Making, plugin: Plugin) -> dict[str, Any] | None:
    """The options a pattern is run with; None, and a line, where it cannot be run without being told more."""
    planking = making.choices.value("deduct")
    options = making.made(plugin.name, partial(options_of, plugin))
    if options is None:
        return None
    untold = [option.name for option in options if option.default is option.UNTOLD]
    if untold:
        said = f"it needs {', '.join(untold)} to be told: scrieve pickup {plugin.name}"
        making.done.remarks.append(f"{plugin.name} is left out of the main job: {said}")
        return None
    given = {option.name: planking for option in options if isinstance(option.option, Planking)}
    return (given if planking is not None else {}) | making.choices.of_pattern(plugin.name, options)


def _records(making: Making) -> None:
    """What the fairing leaves behind, whatever is drawn."""
    hull, folder = making.hull, making.folder
    making.part("the faired table", lambda: _table(hull, folder / "faired.offsets"))
    making.part("how far each reading moved", lambda: write_csv(folder / "corrections.csv", in_mm(hull.corrections())))
    making.part("fairness of every line", lambda: write_csv(folder / "fairness.csv", in_mm(hull.fairness())))
    unread = hull.evidence()
    what = "stretches of her lines that no reading is near, dashed in the lines drawing"
    making.part(what, lambda: write_csv(folder / "evidence.csv", in_mm(unread)))
    if len(unread):
        making.done.remarks.append(
            f"no reading is near {len(unread)} stretch{'' if len(unread) == 1 else 'es'} of her lines, "
            "which are dashed in the lines drawing and listed in evidence.csv"
        )


def _afloat(making: Making) -> Report | None:
    """How she floats, if her table says anything of it."""
    if not {"load_waterline", "boat_kg"} & set(making.hull.source.facts):
        return None
    told = making.made("how she floats", lambda: report(making.hull))
    if told is not None:
        path, said = making.folder / "afloat" / "figures.txt", told.text()
        making.part("how she floats, and her sails against the hull", lambda: _text(path, said))
    return told


def _text(path: Path, text: str) -> list[Path]:
    path.parent.mkdir(parents=True, exist_ok=True)
    replace(path, f"{text}\n".encode())
    return [path]


def _table(hull: Hull, path: Path) -> list[Path]:
    """The faired table, with the shop's choices that stood in the head of the one it was faired from."""
    faired, source = hull.table(), hull.source.to_text()
    kept = carried(source, faired.to_text())
    refuse_input(path)
    replace(path, kept.encode())
    return [path]
