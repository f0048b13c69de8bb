"""The command line. Exit status: 0 done, 1 done with findings, 2 could not be done."""

from __future__ import annotations

import os
import signal
import sys
from importlib import import_module, metadata
from typing import Any

import click

from ..terminal import stream as console
from .telling import ERROR

# As shells have it: 128 and the number of the signal.
STOPPED = 130


class Verbs(click.Group):
    """Verbs in the order the work is done, each imported only when it is called."""

    VERBS = {
        "convert": "Convert readings between feet-inches-eighths, inches, millimetres and metres.",
        "read": "Read a table or a printed page: what was understood of each cell, and what was assumed.",
        "proof": "Proofread a table: readings the rest of the boat contradicts, and what they may have been.",
        "fair": "Fair a table and say how far each reading moved.",
        "lines": "Draw the lines of a faired table.",
        "loft": "Fair a table and write everything picked up from it into a folder.",
        "pickup": "Pick up one thing: moulds, or what another pattern plugin draws.",
        "nest": "Lay the parts of a faired table on sheets of given sizes, for the router.",
        "mesh": "Write the faired hull as a closed mesh, for a printer or a router.",
        "float": "Float her: figures at a draught, or draught, trim and righting arms under a load.",
        "spar": "Mark out spars: blanks, faces, gauges, hollows, weight, a load; those of a table, or one described.",
        "compare": "Compare the boats of a folder: their facts, their measures and their nearest relatives.",
        "plugins": "List readers, patterns, writers and measures, and where each came from.",
    }

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.VERBS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in self.VERBS:
            return None
        # One file a verb, which has the command as `verb`.
        return import_module(f".{name}", __package__).verb

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Verbs"):
            formatter.write_dl(list(self.VERBS.items()))

    def resolve_command(self, ctx: click.Context, args: list[str]) -> Any:
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            raise click.UsageError(f"{error.message} The verbs are: {', '.join(self.VERBS)}.", ctx) from None


@click.command(cls=Verbs, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(metadata.version("scrieve"), prog_name="scrieve")
def scrieve() -> None:
    """From a table of offsets to a fair hull, and moulds a router can cut."""


def main(argv: list[str] | None = None) -> None:
    """Runs the command line and exits; whatever goes wrong becomes one message, never a traceback."""
    try:
        if signal.getsignal(signal.SIGINT) == signal.SIG_DFL:
            signal.signal(signal.SIGINT, signal.default_int_handler)
        console.prepare()
        status = scrieve.main(argv, standalone_mode=False)
        sys.stdout.flush()
    except click.exceptions.Exit as exit_:
        status = exit_.exit_code
    except click.ClickException as error:
        error.show()
        status = ERROR
    except (click.Abort, KeyboardInterrupt):
        status = _stopped()
    except BrokenPipeError:
        status = ERROR
    except (ValueError, OSError) as error:
        click.echo(f"scrieve: {_said(error)}", err=True)
        status = ERROR
    except MemoryError:
        click.echo("scrieve: out of memory", err=True)
        status = ERROR
    except BaseException as error:  # a fault of ours (PyO3's panics are BaseExceptions); still no traceback
        if isinstance(error, SystemExit):  # click's own, where whoever read our output has gone
            status = ERROR
        elif os.environ.get("SCRIEVE_DEBUG"):
            raise
        else:
            click.echo(
                f"scrieve: a fault in scrieve itself ({type(error).__name__}: {error}). "
                "Set SCRIEVE_DEBUG=1 to see where, and please report it.",
                err=True,
            )
        status = ERROR
    console.leave()
    sys.exit(status if isinstance(status, int) else 0)


def _stopped() -> int:
    click.echo("stopped", err=True)
    return STOPPED


def _said(error: Exception) -> str:
    if isinstance(error, OSError) and error.strerror:
        return f"{error.filename}: {error.strerror}" if error.filename else error.strerror
    return str(error) or type(error).__name__
