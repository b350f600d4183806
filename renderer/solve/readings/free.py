"""Which assumptions may be off, in words: `walls, key.output, key.height, meter`."""

from __future__ import annotations

from collections.abc import Callable
from difflib import get_close_matches
from functools import partial

from renderer.errors import InputError
from renderer.scene.layer import layers
from renderer.scene.models import Scene
from renderer.solve.readings import assumption
from renderer.solve.readings.assumption import SURFACES, WALLS, Assumption

Maker = Callable[[], Assumption | None]
EXAMPLE = "walls, key.output, key.height, meter"
GROUPS = ("outputs", "heights", "distances", "cards")


def possible(scene: Scene) -> dict[str, Maker]:
    """Everything of a scene that can be free, by name."""
    found: dict[str, Maker] = {}
    if scene.room is not None:
        for name, words, which in (
            ("room", "reflectance of the whole room", SURFACES),
            ("walls", "reflectance of the walls", WALLS),
            *((it, f"reflectance of the {it.replace('_', ' ')}{' wall' if it in WALLS else ''}", (it,))
              for it in SURFACES),
        ):  # fmt: skip
            found[name] = partial(assumption.surfaces, scene, name, words, which)
    for layer in layers(scene):
        found[f"{layer.name}.output"] = partial(assumption.output, scene, layer.name)
    for name in scene.light:
        found[f"{name}.height"] = partial(assumption.height, scene, name)
        found[f"{name}.distance"] = partial(assumption.distance, scene, name)
    for name in scene.card:
        found[f"card.{name}"] = partial(assumption.card, scene, name)
    found["meter"] = assumption.meter
    return found


def usual(scene: Scene) -> list[str]:
    """What is free unless said otherwise: walls, floor, ceiling, each lit lamp, each card, the meter."""
    dark = {name for name, light in scene.light.items() if light.dim == 0.0}
    dark |= {name for name, window in scene.windows.items() if window.dim == 0.0}
    names = possible(scene)
    held = {"room", *WALLS, *(f"{name}.{what}" for name in dark for what in ("output", "height", "distance"))}
    return [name for name in names if name not in held]


def assumptions(scene: Scene, text: str | None = None) -> tuple[Assumption, ...]:
    """Those that were named, or the usual ones. Raises InputError."""
    makers = possible(scene)
    if text is None:
        made = [makers[name]() for name in usual(scene)]
        return tuple(it for it in made if it is not None)
    names: list[str] = []
    for word in (part.strip() for part in text.split(",")):
        several = _group(word, makers) if word in GROUPS else [word]
        for name in several:
            if name not in makers:
                near = get_close_matches(name, [*makers, *GROUPS], 1, 0.5)
                hint = f'; did you mean "{near[0]}"?' if near else ""
                raise InputError(
                    f'--free {text}: there is no "{name}"{hint} (possible here: {", ".join(makers)}; of all'
                    f" at once: {', '.join(GROUPS)})"
                )
            names.append(name)
    for whole, parts in (("room", ("walls", *SURFACES)), ("walls", WALLS)):
        twice = [name for name in names if name in parts]
        if whole in names and twice:
            raise InputError(f"--free {text}: {whole} has {twice[0]} in it: expected one of the two")
    found = []
    for name in dict.fromkeys(names):
        it = makers[name]()
        if it is None:
            why = "a word or a reflectance of 0 says what it reflects; expected a reflectance above 0"
            raise InputError(f"--free {text}: {name} cannot be off: {why}")
        found.append(it)
    if not found:
        raise InputError(f"--free {text}: nothing of that kind in the scene; expected such as '{EXAMPLE}'")
    return tuple(found)


def _group(word: str, names: dict[str, Maker]) -> list[str]:
    if word == "cards":
        return [name for name in names if name.startswith("card.")]
    return [name for name in names if name.endswith(f".{word.removesuffix('s')}")]
