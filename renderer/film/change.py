"""What may be changed in a mix: said before any work begins, so this loads no numerical library."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches

from pydantic_core import PydanticCustomError

from renderer.errors import InputError
from renderer.scene.gel import Entry, Gel, Stack, stacked
from renderer.scene.white import White

# Own choice: far over what any light is turned up by, and far under what a pixel can hold.
STRONGEST = 100.0


def check_changes(
    lights: Mapping[str, White],
    dim: Mapping[str, float],
    cct: Mapping[str, float],
    colour: Mapping[str, Iterable[float]],
    solo: Collection[str],
    mute: Collection[str],
    gel: Mapping[str, Entry | Sequence[Entry]],
) -> None:
    """Raises InputError for a name that is not among `lights`, or a value that cannot be."""
    for name in (*dim, *cct, *colour, *solo, *mute, *gel):
        if name not in lights:
            near = get_close_matches(name, list(lights), 1)
            hint = f'; did you mean "{near[0]}"?' if near else ""
            raise InputError(f'no light is called "{name}"{hint} (lights: {", ".join(lights)})')
    if solo and not set(solo) - set(mute):
        raise InputError(f"--solo {', '.join(solo)}: all are muted too; expected --solo or --mute, not both")
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
    for name in dict.fromkeys((*gel, *cct)):
        white = lights[name]
        gels = gels_of(name, gel[name]) if name in gel else white.gel
        changed = replace(white, cct=cct.get(name, white.cct), gel=gels)
        for _, text in changed.problems():
            raise InputError(f"--{'gel' if name in gel else 'cct'} {name}: {text}")


def gels_of(name: str, given: Entry | Sequence[Entry]) -> Gel:
    """What gels before the light `name` come to, given as in a scene. Raises InputError."""
    if isinstance(given, list) and len(given) == 1:  # then a line need not say which
        given = given[0]
    try:
        return stacked(Stack().check(given))
    except PydanticCustomError as wrong:
        raise InputError(f"--gel {name}: {(wrong.context or {})['text']}") from None
