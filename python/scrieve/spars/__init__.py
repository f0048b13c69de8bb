"""Spars: one described and marked, what it weighs and bears, several compared, and those a table tells."""
