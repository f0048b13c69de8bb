"""`scrieve plugins`: what there is, and where it came from."""

from __future__ import annotations

import click

from .. import files
from ..errors import PluginError
from ..plugin.registry import GROUPS, find, plugins
from ..terminal.columns import columns_text
from .options import (
    AS_JSON,
)
from .telling import (
    FINDINGS,
    emit,
)


@click.command("plugins")
@click.argument("group", required=False, type=click.Choice(GROUPS))
@AS_JSON
def verb(group: str | None, as_json: bool) -> None:
    """List readers, patterns, writers and measures. The status is 1 where one is broken or a name is taken twice."""
    rows, broken = [], False
    for plugin in plugins(group):
        row = {
            "kind": plugin.group,
            "name": plugin.name,
            "package": plugin.package,
            "version": plugin.version,
        }
        try:
            find(plugin.group, plugin.name)
            row["summary"] = plugin.summary
            if claims := files.claimed_by_ours(plugin):
                said = ", ".join(f".{suffix}" for suffix in claims)
                row["error"] = f"claims {said}, which the built-in one keeps: ask for this one by its name"
                broken = True
        except PluginError as error:
            row["error"] = str(error)
            broken = True
        rows.append(row)
    if as_json:
        emit(rows)
    else:
        table = [
            (
                r["kind"],
                r["name"],
                f"{r['package']} {r['version']}",
                f"BROKEN: {r['error']}" if "error" in r else r["summary"],
            )
            for r in rows
        ]
        click.echo(columns_text([("kind", "name", "package", ""), *table], right=set()))
    if broken:
        raise click.exceptions.Exit(FINDINGS)
