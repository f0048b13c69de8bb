"""`python -m scrieve.cli` is the command line too."""

from .main import main

main()
