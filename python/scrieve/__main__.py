"""`python -m scrieve` is the command line."""

from .cli.main import main

main()
