"""Errors as one family, and what says which scrieve it is."""

import subprocess
import sys

import pytest


def test_every_error_is_a_scrieve_error_and_so_one_handler_catches_them():
    import scrieve
    from scrieve import errors

    named = [getattr(errors, name) for name in errors.__all__ if name.endswith("Error")]
    assert len(named) >= 9
    assert all(issubclass(error, scrieve.ScrieveError) and issubclass(error, ValueError) for error in named)
    with pytest.raises(scrieve.ScrieveError):
        scrieve.Reading("1-13-0")


def test_the_version_is_that_of_the_package_and_the_command_line_runs_as_a_module():
    from importlib.metadata import version

    import scrieve

    assert scrieve.__version__ == version("scrieve")
    said = subprocess.run([sys.executable, "-m", "scrieve", "--version"], capture_output=True, text=True, check=True)
    assert scrieve.__version__ in said.stdout
