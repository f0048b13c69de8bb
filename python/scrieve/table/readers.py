"""Built-in readers: the project's own `.offsets` files, and printed pages (see `printed`).

A reader is any object with `reads(path, head) -> bool`, where `head` is the first bytes of the file, and
`read(path, **options) -> Table`.
"""

from __future__ import annotations

import os
from pathlib import Path

from .._core import read_offsets
from .pages.printed import page_reader
from .table import Table


class OffsetsReader:
    """The project's own table of offsets (.offsets)"""

    suffixes = ("offsets",)

    def reads(self, path: Path, head: bytes) -> bool:
        said = (line.strip() for line in head.removeprefix(b"\xef\xbb\xbf").splitlines())
        first = next((line for line in said if line and not line.startswith(b"#")), b"")
        return path.suffix.lower() == ".offsets" or first == b"+++"

    def read(self, path: str | os.PathLike[str]) -> Table:
        return Table(read_offsets(os.fspath(path)))


offsets = OffsetsReader()
csv = page_reader
