"""What may be changed in a mix: said before any work begins, so this loads no numerical library."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from difflib import get_close_matches

from renderer.errors import InputError


def check_changes(
    names: Sequence[str],
    dim: Mapping[str, float],
    cct: Mapping[str, float],
    colour: Collection[str],
    solo: Collection[str],
    mute: Collection[str],
) -> None:
    """Raises InputError for a name that is not among `names`, or a value that cannot be."""
    for name in (*dim, *cct, *colour, *solo, *mute):
        if name not in names:
            near = get_close_matches(name, names, 1)
            hint = f'; did you mean "{near[0]}"?' if near else ""
            raise InputError(f'no light is called "{name}"{hint} (lights: {", ".join(names)})')
    for name, value in dim.items():
        if not (math.isfinite(value) and value >= 0.0):
            raise InputError(f"dimmer of {name}: expected a number from 0 up (1 is full); got {value:g}")
    for name, value in cct.items():
        if not 1500.0 <= value <= 20000.0:
            raise InputError(f"cct of {name}: expected 1500 to 20000 kelvin; got {value:g}")
