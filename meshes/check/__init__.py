"""Measures of a finished head: its sizes, and where a far light reaches."""
