"""`python -m scrieve` is the command line."""

from .cli import main

main()
