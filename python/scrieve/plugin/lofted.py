"""How a pattern stands in a lofted folder: which files what it draws becomes, and what the index says of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Part:
    """A line of the index and its files. What no part takes goes into a folder named after the pattern."""

    what: str
    drawings: tuple[str, ...] = ()
    """Names of drawings, with `*` for any part of one: each is a file. One to look at goes by its whole name."""
    tables: Mapping[str, str] = field(default_factory=dict)
    """Names of tables, and what their CSV is called; nothing leaves one out that another pattern writes."""
    folder: str = ""
    """Within the lofted folder, where the part's files are."""
    suffix: str = "dxf"
    """Of the drawings' files, by which their writer is found."""
    file: str = ""
    """What the one drawing's file is called, where that is not the drawing's name."""


@dataclass(frozen=True)
class Lofted:
    """A pattern's place in the main job: an attribute `lofted` of it. Without one its drawings are DXF and its tables
    CSV in a folder of its name; None leaves it out of the job, to be asked for with `scrieve pickup`."""

    parts: tuple[Part, ...] = ()
    order: int = 100
    """Patterns are run and listed in this order; what has none comes last."""
    says: str = ""
    """What its notes begin with."""
    headings: Mapping[str, str] = field(default_factory=dict)
    """Tables that the index shows, each under a heading."""
    sheets: bool = True
    """Whether its parts are got out of sheets, so that `scrieve nest` lays them."""
    section: str = ""
    """`"afloat"`: its drawings are shown beside the figures of floating."""
