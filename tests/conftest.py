"""What the tests share: the samples, and the command line run as a person runs it."""

import subprocess
import sys
from pathlib import Path

import pytest

import scrieve

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "samples"
# For one verb: what takes half a minute alone takes several beside other work.
PATIENCE_S = 400


@pytest.fixture(scope="session")
def sandling():
    """The invented beach boat's table."""
    return scrieve.read(SAMPLES / "sandling.offsets")


@pytest.fixture(scope="session")
def sandling_hull(sandling):
    """The invented beach boat, faired."""
    return sandling.fair()


def scrieve_verb(*words, stdin=None, cwd):
    """The command line, run in a folder; a traceback is a failure whatever the test is about."""
    command = [sys.executable, "-m", "scrieve.cli", *map(str, words)]
    kind = {"text": True, "encoding": "utf-8"} if not isinstance(stdin, bytes) else {}
    done = subprocess.run(command, input=stdin, capture_output=True, cwd=cwd, timeout=PATIENCE_S, **kind)
    said = done.stderr if isinstance(done.stderr, str) else done.stderr.decode()
    assert "Traceback" not in said and "panicked" not in said, said
    return done


@pytest.fixture
def run(tmp_path):
    """Runs the command line in an empty folder."""
    return lambda *words, stdin=None, cwd=tmp_path: scrieve_verb(*words, stdin=stdin, cwd=cwd)
