"""The table of offsets, as a person wrote it, and its readers."""

from .table import Proof, Table

__all__ = ["Proof", "Table"]
