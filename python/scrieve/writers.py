"""Built-in writers: DXF for the shop, SVG and PNG for looking, PDF for paper.

A writer is any object with `suffixes` and `write(drawings, path, **options) -> list of paths written`. Keyword-only
options that it declares as patterns do, in its signature, are offered by the command line and in a shop's choices.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Annotated

from ._core import Drawing, merge_drawings, write_pdf
from .plugin.options import Length, Option

PAPERS = ("A4", "A3", "Letter", "Tabloid")

# Clear space between drawings that share a file.
GAP_MM = 50.0


class DxfWriter:
    """DXF in millimetres, for a CNC shop (.dxf)"""

    suffixes = ("dxf",)

    def write(
        self,
        drawings: Sequence[Drawing],
        path: str | os.PathLike[str],
        *,
        dxf_version: Annotated[str, Option("R12 for old controllers", ("R2000", "R12"))] = "R2000",
        letters: Annotated[
            str, Option("letters as the strokes that are engraved, or as text", ("strokes", "text"))
        ] = "strokes",
        outlines: Annotated[
            str,
            Option("outlines of lines and arcs, of lines alone, or splines", ("arcs", "polylines", "splines")),
        ] = "arcs",
        chord_error: Annotated[float, Length("greatest distance of arcs and chords from the curve")] = 0.00002,
        least_segment: Annotated[
            float, Length("shorter segments are joined to their neighbours; 0 leaves them")
        ] = 0.0002,
        mark_depth: Annotated[float, Length("how deep marks and letters are cut: layers are named by it")] = 0.0005,
    ) -> list[str]:
        """Where anything is cut, layers are named by what is done along their lines, on which side of them and how
        deep, and a note below the drawing says that the lines are net. Lengths are metres.
        """
        one(drawings).write_dxf(
            os.fspath(path), dxf_version=dxf_version, letters=letters, outlines=outlines,
            chord_error_mm=_mm(chord_error), least_segment_mm=_mm(least_segment), mark_depth_mm=_mm(mark_depth),
        )  # fmt: skip
        return [os.fspath(path)]


def _mm(metres: float) -> float:
    """Millimetres as they are typed: no digits but those that were given."""
    return round(1e3 * metres, 9)


class SvgWriter:
    """SVG at full size, for looking (.svg)"""

    suffixes = ("svg",)

    def write(self, drawings: Sequence[Drawing], path: str | os.PathLike[str]) -> list[str]:
        one(drawings).write_svg(os.fspath(path))
        return [os.fspath(path)]


class PdfWriter:
    """PDF at full size: a page for each drawing, or a paper's sheets to be joined (.pdf)"""

    suffixes = ("pdf",)

    def write(
        self,
        drawings: Sequence[Drawing],
        path: str | os.PathLike[str],
        *,
        paper: Annotated[
            str | None,
            Option("full size on sheets of this, to be joined; a .pdf without it has a page for each drawing", PAPERS),
        ] = None,
        overlap: Annotated[float, Length("what the sheets share where they are joined")] = 0.015,
    ) -> list[str]:
        """A page for each drawing, or sheets of `paper` to be joined by register crosses, those of each part by
        themselves, after an index. A check bar is on every one. Lengths are metres.
        """
        write_pdf(list(drawings), os.fspath(path), paper=paper, overlap_mm=_mm(overlap))
        return [os.fspath(path)]


class PngWriter:
    """PNG at full size, for pages and screens that show no drawings (.png)"""

    suffixes = ("png",)

    def write(
        self,
        drawings: Sequence[Drawing],
        path: str | os.PathLike[str],
        *,
        dots_per_inch: Annotated[float, Option("dots to the inch of a picture (.png)")] = 150.0,
    ) -> list[str]:
        """Refused below 10 and above 2400 dots to the inch, and for a picture of more than 200 million dots."""
        one(drawings).write_png(os.fspath(path), dots_per_inch)
        return [os.fspath(path)]


def one(drawings: Sequence[Drawing]) -> Drawing:
    """The drawings as one, side by side."""
    return drawings[0] if len(drawings) == 1 else merge_drawings(list(drawings), GAP_MM)


dxf = DxfWriter()
svg = SvgWriter()
pdf = PdfWriter()
png = PngWriter()
