"""Printed pages of offsets: from lines of text, through a mapping, to a table."""
