"""The terminal, or what stands in its place: whatever it can show, and whatever is written to it.

What a file says may hold marks that move the cursor, change colours or turn the direction of what is read; they
are written as what they are, in the way of JSON. What the encoding cannot hold is spelt in letters that it can.
"""

from __future__ import annotations

import codecs
import contextlib
import io
import os
import sys
import unicodedata

# Controls but tab and line feed; marks of direction and joining; ends of lines and paragraphs that are none.
_UNSEEN = (
    *(c for c in range(0x20) if c not in (0x09, 0x0A)), 0x7F, *range(0x80, 0xA0), 0x061C, *range(0x200B, 0x2010),
    *range(0x2028, 0x202F), *range(0x2060, 0x2070), 0xFEFF, *range(0xFFF9, 0xFFFC),
)  # fmt: skip
_SEEN = {c: f"\\u{c:04x}" for c in _UNSEEN}

# What stands in our own words and comes apart into no plain letters.
_SPELT = {"∇": "V", "Δ": "D", "±": "+-", "°": " deg", "²": "2", "³": "3", "⁄": "/", "–": "-", "—": "-", "×": "x"}


def shown(text: str) -> str:
    """The text with what would not be seen written as what it is."""
    return text.translate(_SEEN)


class Shown(io.TextIOWrapper):
    """A stream of text on which nothing is hidden."""

    ascii_only = False

    def write(self, text: str, /) -> int:
        # A line that is written over, such as a count, begins so.
        again = "\r" if text.startswith("\r") else ""
        seen = again + shown(text[len(again) :])
        super().write(seen.encode("ascii", "scrieve-plainly").decode() if self.ascii_only else seen)
        return len(text)


def _plainly(error: UnicodeError) -> tuple[str | bytes, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text = unicodedata.normalize("NFKD", error.object[error.start : error.end])
    spelt = (_SPELT.get(c, c if ord(c) < 0x80 else "" if unicodedata.combining(c) else "?") for c in text)
    return "".join(spelt), error.end


codecs.register_error("scrieve-plainly", _plainly)


def prepare() -> None:
    """Has standard output and error show all there is to see. A stream that is closed takes what it is given."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115 # for as long as we run
        elif type(stream) is io.TextIOWrapper:
            # click takes a stream of ASCII for a mistake, and writes UTF-8 to it: it sees a wider one.
            ascii_only = codecs.lookup(stream.encoding).name == "ascii"
            encoding = "latin-1" if ascii_only else stream.encoding
            seeing = Shown(
                stream.buffer, encoding=encoding, errors="scrieve-plainly", line_buffering=stream.line_buffering
            )
            seeing.ascii_only = ascii_only
            setattr(sys, name, seeing)
    if sys.stdin is None:
        sys.stdin = open(os.devnull, encoding="utf-8")  # noqa: SIM115 # likewise


def leave() -> None:
    """Writes what is still to be written. Where nobody reads it any more, it goes nowhere."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError):
            with contextlib.suppress(OSError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
