"""`scrieve fair`: how far each reading moved, and the faired table."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import outputs
from ..terminal.columns import columns_text
from ..units import told
from .fairing import read_and_fair
from .options import (
    AS_JSON,
    OUTPUT_FILE,
    READER,
    TABLE,
    How,
    fairing_options,
    no_json_beside,
)
from .telling import (
    QUERIES_OF_NO_HULL,
    Kept,
    emit,
    end_with_findings,
    tell_not_judged,
)

# A line bent to no less than 10 km: over a 10 m boat it stands 1 mm off its chord.
STRAIGHT_PER_M = 1e-4


@click.command("fair")
@TABLE
@click.option(
    "-o", "--output", type=OUTPUT_FILE, help="Write the faired table here; - is standard output, and the report then "
    "goes to standard error.",
)  # fmt: skip
@click.option(
    "--full-size", is_flag=True, help="Write a scaled table at the boat's size, scale and shrinkage worked in.",
)  # fmt: skip
@click.option(
    "--units", type=click.Choice(["feet-inches-eighths", "in", "ft", "mm", "cm", "m"]),
    help="Write the table at the boat's size in these units.",
)  # fmt: skip
@click.option("--all", "every", is_flag=True, help="List every reading, not only those past tolerance.")
@fairing_options
@READER
@AS_JSON
def verb(
    table: Path, output: Path | None, full_size: bool, units: str | None, every: bool, fairing: dict[str, Any],
    how: How, as_json: bool,
) -> None:  # fmt: skip
    """Fair TABLE and say how far each reading moved.

    The status is 1 where the table does not describe one fair hull, which is said first, where a reading or a fact is
    queried or left out, as `scrieve proof` would, and where one moved past its tolerance by more than the hull itself
    is in doubt there (two standard deviations).
    TABLE itself is never changed.
    """
    no_json_beside(output, as_json)
    if output is None and (full_size or units):
        raise click.UsageError(f"{'--units' if units else '--full-size'} is of the table that -o writes: give -o")
    hull = read_and_fair(table, how, fairing, output)
    tell_not_judged(hull.not_judged)
    corrections = hull.corrections()
    past = corrections[corrections.past | corrections.doubted]
    findings = corrections[(corrections.moved.abs() > corrections.tolerance + 2 * corrections.sd) | corrections.doubted]
    aside = output == outputs.STANDARD
    writing = Kept()
    if output is not None:
        with writing():
            outputs.replace(output, hull.table(full_size=full_size, units=units).to_text().encode())
    written = [output] if output and not aside and not writing.error else []
    if as_json:
        emit(
            {
                "name": hull.name,
                "no_hull": hull.no_hull,
                "corrections": corrections.to_dict("records"),
                "fairness": hull.fairness().to_dict("records"),
                "evidence": hull.evidence().to_dict("records"),
                "units": {"corrections": told(corrections), "fairness": told(hull.fairness())}
                | {"evidence": told(hull.evidence())},
                "remarks": hull.remarks,
                "not_judged": hull.not_judged,
                "written": written,
            }
        )
    else:
        moved = corrections[~corrections.doubted].moved.abs()
        click.echo(
            f"{hull.name}: {len(corrections)} readings, moved {1e3 * (moved**2).mean() ** 0.5:.2f} mm rms, "
            f"{1e3 * moved.max():.2f} mm at most, {len(past)} past tolerance or left out",
            err=aside,
        )
        # Of what is no hull every reading may be past its tolerance, and none tells anything.
        most = len(past) if hull.no_hull is None else QUERIES_OF_NO_HULL
        listed = corrections if every else past[:most]
        if len(listed):
            click.echo(_corrections_text(listed), err=aside)
        if len(past) > len(listed):
            click.echo(f"and {len(past) - len(listed)} more; --all lists them", err=aside)
        click.echo(_fairness_text(hull.fairness()), err=aside)
        unread = hull.evidence()
        if len(unread):
            click.echo(_evidence_text(unread, every), err=aside)
        if written:
            click.echo(f"wrote {output}")
    writing.tell()
    end_with_findings(hull, f"{len(findings)} moved past tolerance or left out" if len(findings) else "")


def _corrections_text(corrections: Any) -> str:
    rows = [("station", "row", "read mm", "faired mm", "moved mm", "")]
    for c in corrections.itertuples():
        said = "left out" if c.doubted else "past tolerance" if c.past else ""
        rows.append((c.station, c.row, f"{1e3 * c.read:.1f}", f"{1e3 * c.faired:.1f}", f"{1e3 * c.moved:+.1f}", said))
    return columns_text(rows, right={2, 3, 4})


# So many stretches without a reading are listed, the longest, unless all are asked for.
UNREAD_SHOWN = 12


def _evidence_text(unread: Any, every: bool) -> str:
    """The stretches of lines that no reading is near, the longest of them where they are many."""
    shown = unread if every else unread.loc[unread.length.nlargest(UNREAD_SHOWN).index.sort_values()]
    rows = [("no reading near", "from x mm", "to x mm", "length mm", "sd mm", "")]
    for line in shown.itertuples():
        sd = "" if line.sd != line.sd else f"{1e3 * line.sd:.1f}"
        ends = (f"{1e3 * line.from_x:.0f}", f"{1e3 * line.to_x:.0f}", f"{1e3 * line.length:.0f}")
        rows.append((line.line, *ends, sd, line.why))
    more = len(unread) - len(shown)
    return columns_text(rows, right={1, 2, 3, 4}) + (f"\nand {more} shorter; --all lists them" if more else "")


def _fairness_text(fairness: Any) -> str:
    rows = [("line", "length mm", "least radius mm", "changes of curvature")]
    for line in fairness.itertuples():
        straight = line.greatest_curvature < STRAIGHT_PER_M
        radius = "straight" if straight else f"{1e3 / line.greatest_curvature:.0f}"
        rows.append((line.line, f"{1e3 * line.length:.0f}", radius, str(line.sign_changes)))
    return columns_text(rows, right={1, 2, 3})
