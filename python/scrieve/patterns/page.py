"""The page that a lofted boat's folder opens with: her lines, the cautions, every file, what moved, the set-up.

One static file: no scripts, no fonts but the reader's own, nothing fetched.
"""

from __future__ import annotations

import html
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

from .._core import Reading
from ..hull.hull import Hull
from ..units import has_unit

_STYLE = """
:root { color-scheme: light; --ink: #1d2a30; --quiet: #54646b; --rule: #c3cbcd; --paper: #f6f7f5 }
* { box-sizing: border-box }
body { font: 1rem/1.5 Georgia, "Times New Roman", serif; color: var(--ink); max-width: 68rem; margin: 0 auto;
  padding: 1.5rem 1rem 4rem; background: #fff }
h1 { font-size: 2.4rem; font-weight: normal; line-height: 1.1; margin: 0 }
h2 { font-size: 1.3rem; font-weight: normal; border-bottom: 1px solid var(--rule); margin: 2.5rem 0 .8rem }
.said { color: var(--quiet); margin: .3rem 0 1.2rem }
a { color: #0b5475 } a:focus-visible { outline: 2px solid #0b5475; outline-offset: 2px }
figure { margin: 0 0 1.2rem } figure svg { display: block; width: 100%; height: auto }
figcaption { color: var(--quiet); font-size: .9rem; margin-top: .4rem }
dl { display: flex; flex-wrap: wrap; gap: .4rem 2.2rem; margin: 0 0 1.5rem }
dt { color: var(--quiet); font-size: .85rem } dd { margin: 0 }
.cautions { background: #fbf4e4; border-left: 4px solid #b9862b; padding: .7rem 1rem .8rem; margin: 0 }
.cautions h2 { border: 0; margin: 0 0 .3rem; font-size: 1.1rem } .cautions ul { margin: 0; padding-left: 1.2rem }
.wide { overflow-x: auto } .wide th, .wide td { white-space: nowrap }
table { border-collapse: collapse; font-size: .88rem; font-variant-numeric: tabular-nums }
th, td { padding: .25rem 1.1rem .25rem 0; text-align: left; vertical-align: top }
th { font-weight: normal; color: var(--quiet) }
tbody tr { border-top: 1px solid #e4e8e8 }
.number { text-align: right } .files tr:first-child { border-top: 0 } .files { width: 100% }
.files td:first-child { min-width: 15rem }
.files a { margin-right: .8rem; white-space: nowrap; display: inline-block }
@media (max-width: 40rem) {
  h1 { font-size: 1.9rem } .files td { display: block; padding-right: 0 } .files td + td { padding-top: 0 }
}
@media print { a { color: inherit } .cautions { border: 1px solid } }
"""


def page(
    hull: Hull,
    folder: Path,
    parts: Sequence[tuple[str, Sequence[Path]]],
    notes: Sequence[str],
    cautions: Sequence[str],
    figures: Sequence[tuple[str, str]],
    tables: Sequence[tuple[str, Any]],
    afloat: tuple[str, Any, Sequence[str], Sequence[tuple[str, str]]] | None = None,
) -> str:
    """The page as HTML.

    `parts` are what was made, each with its files in `folder`; `figures` pairs of a caption and an SVG;
    `tables` pairs of a heading and a data frame as the shop reads it; `afloat` what is said above the figures of
    floating, a data frame of them, what is said below, and pairs like those of `figures`.
    """
    facts = hull.source.facts
    facts = {**facts, "year": facts.get("dated") or facts.get("year")}
    said = ", ".join(str(facts[key]) for key in ("kind", "designer", "builder", "place", "year") if facts.get(key))
    body = [
        f"<h1>{_text(hull.name)}</h1>",
        f'<p class="said">{_text(said)}</p>' if said else "",
        _particulars(hull),
        *(_figure(caption, svg) for caption, svg in figures[:1]),
        f'<section class="cautions"><h2>Cautions</h2>{_list(cautions)}</section>',
        "<h2>Files</h2>" + _files(folder, parts),
        "<h2>Readings that moved past their tolerance</h2>" + _moved(hull),
        "<h2>Notes</h2>" + _list(notes) if notes else "",
        *(f"<h2>{_text(heading)}</h2>" + _table(frame) for heading, frame in tables),
        *(_figure(caption, svg) for caption, svg in figures[1:]),
        _afloat(*afloat) if afloat is not None else "",
    ]
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{_text(hull.name)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        + "\n".join(block for block in body if block)
        + "\n</body>\n</html>\n"
    )


def _text(value: Any) -> str:
    return html.escape(str(value))


def _list(items: Iterable[str]) -> str:
    return "<ul>" + "".join(f"<li>{_text(item)}</li>" for item in items) + "</ul>"


def _figure(caption: str, svg: str) -> str:
    return f"<figure>{svg[svg.index('<svg') :]}<figcaption>{_text(caption)}</figcaption></figure>"


def _particulars(hull: Hull) -> str:
    facts = hull.source.facts
    known = {name: hull.dimensions[name] for name in ("length", "beam", "depth")}
    if "planking" in facts:
        known["planking"] = facts["planking"]
    terms = "".join(
        f"<div><dt>{name}</dt><dd>{_text(_length(metres, facts['units']))}</dd></div>" for name, metres in known.items()
    )
    return f"<dl>{terms}<div><dt>lines to the</dt><dd>{_text(facts['moulded_to'])}</dd></div></dl>"


def _length(metres: float, units: str) -> str:
    """A length in millimetres, after what it is in the units of the table where those are others."""
    mm = f"{1e3 * metres:.1f}".removesuffix(".0") + " mm"
    if units in ("mm", "cm", "m"):
        return mm
    written = Reading(f"{1e3 * metres:.4f} mm").to(units, precision="1/8")
    return f"{written}{f' {units}' if units in ('in', 'ft') else ''}, {mm}"


def _afloat(said: str, frame: Any, below: Sequence[str], figures: Sequence[tuple[str, str]]) -> str:
    under = "".join(f'<p class="said">{_text(line)}</p>' for line in below)
    drawn = "".join(_figure(*figure) for figure in figures)
    return f'<h2>Afloat</h2><p class="said">{_text(said)}</p>{_table(frame)}{under}{drawn}'


def _files(folder: Path, parts: Sequence[tuple[str, Sequence[Path]]]) -> str:
    rows = []
    for what, paths in parts:
        links = " ".join(
            f'<a href="{quote(name)}">{_text(name)}</a>'
            for name in (path.relative_to(folder).as_posix() for path in paths)
        )
        rows.append(f"<tr><td>{_text(what)}</td><td>{links}</td></tr>")
    return f'<table class="files"><tbody>{"".join(rows)}</tbody></table>'


def _moved(hull: Hull) -> str:
    import pandas

    corrections = hull.corrections()
    worst = corrections[corrections.past | corrections.doubted]
    if worst.empty:
        return "<p>None: every reading is within its tolerance of the faired hull.</p>"
    shown = pandas.DataFrame({"station": worst.station, "row": worst.row})
    for name in ("read", "faired"):
        shown[f"{name}, mm"] = [f"{1e3 * metres:.1f}" for metres in worst[name]]
    shown["moved, mm"] = [f"{1e3 * metres:+.1f}" for metres in worst.moved]
    shown[""] = ["left out" if doubted else "" for doubted in worst.doubted]
    return _table(shown)


def _table(frame: Any) -> str:
    """A data frame as a table: what has a unit, which its column names, and values stand on the right."""

    def cell(tag: str, column: str, value: Any) -> str:
        number = ' class="number"' if has_unit(column) or column == "value" else ""
        return f"<{tag}{number}>{_text(value)}</{tag}>"

    head = "".join(cell("th", column, column) for column in frame.columns)
    rows = (zip(frame.columns, row, strict=True) for row in frame.itertuples(index=False))
    body = "".join("<tr>" + "".join(cell("td", *at) for at in row) + "</tr>" for row in rows)
    return f'<div class="wide"><table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>'
