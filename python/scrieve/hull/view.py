"""A hull to turn by hand in a notebook: her sections, waterlines, rabbet and sheer as a wireframe on a canvas.

All of it is in the page: a script of a few lines and the points, in millimetres. Nothing is fetched, so that it
works without a network, and it stands in a frame of its own, which keeps the notebook's page out of its reach.
"""

from __future__ import annotations

import html
import json
from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy

from ..errors import ScrieveError

if TYPE_CHECKING:
    from .hull import Hull

# Lines enough to see the shape by, points enough that they look smooth.
SECTIONS, WATERLINES, POINTS = 13, 7, 41

# As in the plots: black first, then blue, vermilion, green.
COLOURS = ("#000000", "#0072B2", "#D55E00", "#009E73")

_SCRIPT = """
const hulls = JSON.parse(document.getElementById("hulls").textContent);
const canvas = document.querySelector("canvas"), pen = canvas.getContext("2d");
const start = [-0.6, 0.35];
let [turn, tip] = start, held = null;
let low = [1e9, 1e9, 1e9], high = [-1e9, -1e9, -1e9];
for (const hull of hulls) for (const line of hull.lines) for (const p of line)
  for (let k = 0; k < 3; k++) { low[k] = Math.min(low[k], p[k]); high[k] = Math.max(high[k], p[k]); }
low[1] = -high[1];
const middle = low.map((v, k) => (v + high[k]) / 2), reach = Math.hypot(...low.map((v, k) => high[k] - v));
function draw() {
  const w = canvas.clientWidth, h = canvas.clientHeight, fine = window.devicePixelRatio || 1;
  canvas.width = w * fine; canvas.height = h * fine;
  pen.setTransform(fine, 0, 0, fine, w * fine / 2, h * fine / 2);
  const scale = Math.min(w / reach, 2 * h / reach) * 0.98;
  const [c, s, ct, st] = [Math.cos(turn), Math.sin(turn), Math.cos(tip), Math.sin(tip)];
  for (const hull of hulls) for (const side of [1, -1]) for (const line of hull.lines) {
    pen.beginPath();
    for (const p of line) {
      const x = p[0] - middle[0], y = side * p[1], z = p[2] - middle[2];
      pen.lineTo(scale * (c * x + s * y), -scale * (ct * z + st * (c * y - s * x)));
    }
    pen.strokeStyle = hull.colour; pen.lineWidth = 0.8; pen.stroke();
  }
}
canvas.onpointerdown = e => { held = [e.clientX, e.clientY, turn, tip]; canvas.setPointerCapture(e.pointerId); };
canvas.onpointerup = canvas.onpointercancel = () => { held = null; };
canvas.onpointermove = e => {
  if (!held) return;
  turn = held[2] + (e.clientX - held[0]) / 150;
  tip = Math.max(-1.57, Math.min(1.57, held[3] + (e.clientY - held[1]) / 150));
  draw();
};
canvas.ondblclick = () => { [turn, tip] = start; draw(); };
canvas.onkeydown = e => {
  const step = {ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, -0.1], ArrowDown: [0, 0.1]}[e.key];
  if (!step) return;
  turn += step[0]; tip = Math.max(-1.57, Math.min(1.57, tip + step[1])); e.preventDefault(); draw();
};
new ResizeObserver(draw).observe(canvas);
draw();
"""

_PAGE = """<!doctype html><meta charset="utf-8"><title>{title}</title>
<style>html,body{{margin:0;height:100%;overflow:hidden;background:#fff;font:13px serif}}
canvas{{display:block;width:100%;height:calc(100% - 1.6em);cursor:grab;touch-action:none}}
p{{margin:0;height:1.6em;text-align:center}}</style>
<canvas tabindex="0" role="img" aria-label="Wireframe of {title}. Drag, or press the arrow keys, to turn her."></canvas>
<p>{legend}</p>
<script type="application/json" id="hulls">{hulls}</script><script>{script}</script>"""


def view(hulls: Hull | Iterable[Hull], height: int = 420) -> View:
    """One hull to turn by hand, or up to four laid over one another, bow to bow and rabbet to rabbet.

    Drag, or press the arrow keys, to turn; double-click to turn back. Raises `ScrieveError` for more than four.
    """
    several = list(hulls) if isinstance(hulls, Iterable) else [hulls]
    if not 0 < len(several) <= len(COLOURS):
        raise ScrieveError(f"one to {len(COLOURS)} hulls can be told apart, got {len(several)}")
    return View(several, height)


class View:
    """What a notebook shows; `page()` is the same as a web page of its own."""

    def __init__(self, hulls: list[Hull], height: int) -> None:
        self.height = height
        self.names = [hull.name for hull in hulls]
        self._hulls = [{"colour": colour, "lines": _lines(hull)} for hull, colour in zip(hulls, COLOURS, strict=False)]

    def page(self) -> str:
        """A web page that stands by itself."""
        title = html.escape(", ".join(self.names))
        legend = " &nbsp; ".join(
            f'<span style="color:{colour}">&#9472;&#9472;</span> {html.escape(name)}'
            for name, colour in zip(self.names, COLOURS, strict=False)
        )
        # "<" is written so that no name can end the script early.
        hulls = json.dumps(self._hulls, separators=(",", ":")).replace("<", "\\u003c")
        return _PAGE.format(title=title, legend=legend, hulls=hulls, script=_SCRIPT)

    def _repr_html_(self) -> str:
        return (
            f'<iframe sandbox="allow-scripts" srcdoc="{html.escape(self.page())}" '
            f'style="width:100%;height:{self.height}px;border:0"></iframe>'
        )


def _lines(hull: Hull) -> list[list[list[int]]]:
    """The lines of one side, whole millimetres from her forward end and her lowest rabbet."""
    edges = [line.points(POINTS) for line in hull.reference_lines()]
    ends = numpy.concatenate(edges)
    origin = numpy.array([ends[:, 0].min(), 0.0, edges[0][:, 2].min()])
    fore, aft, bottom = ends[:, 0].min(), ends[:, 0].max(), edges[0][:, 2].min()
    top = edges[-1][:, 2].max()
    drawn = list(edges)
    grid = hull._core.grid(2, POINTS)
    drawn += [grid[0], grid[-1]]  # the ends: stem, and transom's edge or sternpost
    for x in numpy.linspace(fore, aft, SECTIONS + 2)[1:-1]:
        drawn.append(hull.section(x).points(POINTS))
    for z in numpy.linspace(bottom, top, WATERLINES + 2)[1:-1]:
        drawn += [line.points(POINTS) for line in hull.waterlines(z)]
    # The transom's edge closes her aft, straight across.
    return [numpy.rint(1000 * (line - origin)).astype(int).tolist() for line in drawn]
