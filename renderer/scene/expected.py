"""Words of the sheet of readings, known before anything is traced: its settings and its columns."""

from __future__ import annotations

ALL = "all together"
HEAD = ("setting", "unit", "letter", "mark", "meter", "value", "error", "in", "t_stop", "in_thirds", "read")
"""Columns of `readings.csv`; `value` is what to expect, `read` is left blank."""


def on_alone(light: str) -> str:
    """The setting in which one light is on."""
    return f"{light} alone"
