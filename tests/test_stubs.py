"""The types written down for the compiled core are those it has."""

import subprocess
import sys

from conftest import ROOT

HOW = (
    "\n\npython/scrieve/_core.pyi is kept by hand. Where stubtest names something of rust/bindings that was added, "
    "renamed or taken away, do the same in that file (signatures as `help()` shows them; __all__ in order). If it "
    "names what you did not touch, the built module is old: `pip install -e .` builds it again."
)


def test_the_stubs_say_what_the_compiled_core_has():
    command = [sys.executable, "-m", "mypy.stubtest", "scrieve._core"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr + HOW
