"""The command line, one file a verb. Exit status: 0 done, 1 done with findings, 2 could not be done."""

from .main import main, scrieve

__all__ = ["main", "scrieve"]
