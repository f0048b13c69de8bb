"""What a person at a terminal sees: text shown plainly, rows aligned, a count of long work."""
