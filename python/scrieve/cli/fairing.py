"""The hull of a table, with what is to be said of her."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from .. import outputs
from ..table.table import Table
from .options import How
from .telling import progress, tell_queries


def read_and_fair(table: Path, how: How, fairing: dict[str, Any], output: Path | None = None) -> Any:
    """The hull of a table, once `output` is known for none of what is read."""
    return faired(read(table, how, output), fairing)


def read(table: Path, how: How, output: Path | None = None) -> Table:
    """The table, once `output` is known for none of what is read."""
    outputs.claim(output, *how.inputs(table))
    got = how.read(table)
    outputs.claim(output)
    for warning in got.warnings:
        click.echo(warning, err=True)
    return got


def faired(got: Table, fairing: dict[str, Any]) -> Any:
    """The hull of a table that was read."""
    with progress(f"fairing {got.name}"):
        hull = got.fair(**fairing)
    if hull.no_hull is not None:
        click.echo(f"{hull.name}: {hull.no_hull}", err=True)
    for remark in hull.remarks:
        if remark != hull.no_hull:
            click.echo(f"note: {remark}", err=True)
    tell_queries(hull)
    return hull
