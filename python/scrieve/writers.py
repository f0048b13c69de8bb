"""Built-in writers: DXF for the shop, SVG for looking, PDF for paper.

A writer is any object with `suffixes` and `write(drawings, path, **options) -> list of paths written`.
"""

from __future__ import annotations

import os
from collections.abc import Sequence

from ._core import Drawing, merge_drawings

# Clear space between drawings that share a file.
GAP_MM = 50.0


class DxfWriter:
    """DXF in millimetres, for a CNC shop (.dxf)"""

    suffixes = ("dxf",)

    def write(
        self,
        drawings: Sequence[Drawing],
        path: str | os.PathLike[str],
        version: str = "R2000",
        tolerance_mm: float = 0.02,
    ) -> list[str]:
        """`version` is R2000 or R12; `tolerance_mm` the greatest distance of arcs from the curve."""
        one(drawings).write_dxf(os.fspath(path), version=version, tolerance_mm=tolerance_mm)
        return [os.fspath(path)]


class SvgWriter:
    """SVG at full size, for looking (.svg)"""

    suffixes = ("svg",)

    def write(self, drawings: Sequence[Drawing], path: str | os.PathLike[str]) -> list[str]:
        one(drawings).write_svg(os.fspath(path))
        return [os.fspath(path)]


class PdfWriter:
    """PDF at full size: one sheet, or tiled over a paper's pages (.pdf)"""

    suffixes = ("pdf",)

    def write(
        self,
        drawings: Sequence[Drawing],
        path: str | os.PathLike[str],
        paper: str | None = None,
        overlap_mm: float = 15.0,
    ) -> list[str]:
        """`paper` (A4, A3, Letter, Tabloid) tiles the drawing with register crosses and a check bar on every tile."""
        one(drawings).write_pdf(os.fspath(path), paper=paper, overlap_mm=overlap_mm)
        return [os.fspath(path)]


def one(drawings: Sequence[Drawing]) -> Drawing:
    """The drawings as one, side by side."""
    return drawings[0] if len(drawings) == 1 else merge_drawings(list(drawings), GAP_MM)


dxf = DxfWriter()
svg = SvgWriter()
pdf = PdfWriter()
