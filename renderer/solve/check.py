"""What may be asked of a solver: said before any work begins, so this loads no numerical library."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from difflib import get_close_matches

from renderer.errors import InputError


def check(
    names: Sequence[str],
    targets: bool,
    hold: Collection[str],
    limit: Mapping[str, tuple[float, float]],
    free: Collection[str] = (),
) -> None:
    """Before any work begins. Raises InputError."""
    for option, given in (("--hold", hold), ("--limit", limit), ("--free", free)):
        for name in given:
            if name not in names:
                near = get_close_matches(name, names, 1)
                hint = f'; did you mean "{near[0]}"?' if near else ""
                raise InputError(f'{option}: no light is called "{name}"{hint} (lights: {", ".join(names)})')
    for name, (low, high) in limit.items():
        if not 0.0 <= low <= high <= 1.0:
            raise InputError(f"--limit {name}={low:g}..{high:g}: expected 0..1, the lower first")
        if name in hold:
            raise InputError(f"--limit {name}: it is held; expected --hold or --limit, not both")
    if not targets:
        raise InputError(
            'the scene has no target: expected a [target] in it, or --want such as lighting_ratio="4:1"'
        )
