"""Ctrl-C while the program's own modules are read: nobody is there yet to say that it stops, so it just ends.

Read first of all, and for nobody who only imports the package. `cli.main` takes over.
"""

import os
import signal
import sys

if (os.path.basename(sys.argv[0]).startswith("scrieve") or "scrieve.cli" in sys.orig_argv) and signal.getsignal(
    signal.SIGINT
) is signal.default_int_handler:
    signal.signal(signal.SIGINT, signal.SIG_DFL)
