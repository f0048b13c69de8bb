"""The verbs of the command line. Each reads its input, calls the library, and says what came out."""
