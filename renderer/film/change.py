"""What may be changed in a mix: said before any work begins, so this loads no numerical library."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from difflib import get_close_matches

from renderer.errors import InputError

# Own choice: far over what any light is turned up by, and far under what a pixel can hold.
STRONGEST = 100.0


def check_changes(
    names: Sequence[str],
    dim: Mapping[str, float],
    cct: Mapping[str, float],
    colour: Mapping[str, Iterable[float]],
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
        if not 0.0 <= value <= STRONGEST:
            raise InputError(f"--dim {name}={value:g}: expected 0 to {STRONGEST:g} (1 is full)")
    for name, value in cct.items():
        if not 1500.0 <= value <= 20000.0:
            raise InputError(f"--cct {name}={value:g}: expected 1500 to 20000 kelvin")
    for name, factors in colour.items():
        if not all(0.0 <= factor <= STRONGEST for factor in factors):
            given = ",".join(f"{factor:g}" for factor in factors)
            raise InputError(f"--colour {name}={given}: expected factors from 0 to {STRONGEST:g}")
