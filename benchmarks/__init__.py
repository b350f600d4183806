"""Measurements of this program, and against others; see README.md. Not part of what is installed."""
