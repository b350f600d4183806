"""Other people in the same chair under the same rig: which target fails for whom."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from renderer.errors import InputError
from renderer.meter.face.finding import Finding
from renderer.meter.face.verdict import Verdict
from renderer.scene.change import changed
from renderer.scene.models import Scene
from renderer.scene.sitter import BUNDLED
from renderer.scene.skin import TONES
from renderer.solve.exactness.snapshot import Snapshot
from renderer.solve.goal import words_of
from renderer.solve.motion import lifted

HEIGHTS = (-0.10, 0.10)  # m of the eyes
Watcher = Callable[[str], None]


@dataclass(frozen=True)
class Swapped:
    """One other sitter.

    verdicts, values, words  by measure; ratios in stops
    glare   what the spectacles show, where they are worn
    failed  why it could not be traced
    """

    who: str
    verdicts: dict[str, Verdict]
    values: dict[str, float]
    words: dict[str, str]
    glare: str = ""
    failed: str = ""

    @property
    def missed(self) -> list[str]:
        """Targets that do not hold, in words."""
        return [words_of(name) for name, it in self.verdicts.items() if it.result == "fail"]

    @property
    def nearly(self) -> list[str]:
        """Targets missed by less than a margin."""
        return [words_of(name) for name, it in self.verdicts.items() if it.result == "warn"]

    def as_json(self) -> dict[str, Any]:
        return {
            "sitter": self.who,
            "missed": self.missed,
            "nearly": self.nearly,
            "verdicts": {name: it.as_json() for name, it in self.verdicts.items()},
            "values": {
                name: float(f"{value:.5g}") for name, value in self.values.items() if math.isfinite(value)
            },
            "words": self.words,
            "glare": self.glare,
            "not_traced": self.failed,
        }


def others(scene: Scene) -> Iterator[tuple[str, Callable[[], Scene]]]:
    """Every other sitter: heights, spectacles, bundled heads (deep-set eyes among them), tones of skin."""
    for by in HEIGHTS:
        yield f"eyes {100 * abs(by):.0f} cm {'higher' if by > 0 else 'lower'}", _lift(scene, by)
    if scene.sitter.glasses is None:
        yield "spectacles on", _other(scene, {"sitter.glasses": {}})
    else:
        yield "spectacles off", _other(scene, {"sitter.glasses": None})
    for head in BUNDLED:
        if head != scene.sitter.mesh:
            yield f"head {head.replace('_', ' ')}", _other(scene, {"sitter.mesh": head})
    for tone, reflectance in TONES.items():
        if reflectance != scene.sitter.skin_reflectance:
            words = tone.rpartition("_")[0].replace("_", " ")
            yield f"skin {words}, {reflectance:g}", _other(scene, {"sitter.skin_reflectance": tone})


def _lift(scene: Scene, by: float) -> Callable[[], Scene]:
    return lambda: lifted(scene, by)


def _other(scene: Scene, values: dict[str, Any]) -> Callable[[], Scene]:
    if "sitter.mesh" in values and scene.sitter.landmarks is not None:
        values = values | {"sitter.landmarks": None}
    return lambda: changed(scene, values)


def swaps(
    scene: Scene,
    base: Snapshot,
    within: float,
    seed: int,
    threads: int | None,
    watch: Watcher | None = None,
) -> Iterator[Swapped]:
    """The sitter as written, then every other, each traced."""
    yield _judged("as written", base)
    for who, make in others(scene):
        if watch:
            watch(who)
        try:
            yield _judged(who, Snapshot.traced(make(), within, seed, threads))
        except InputError as wrong:
            yield Swapped(who, {}, {}, {}, failed=wrong.lines[0].split(": ", 2)[-1])


def _judged(who: str, found: Snapshot) -> Swapped:
    values = {name: it.value for name, it in found.values.items()}
    numbers = found.preview.numbers()
    return Swapped(who, numbers.verdicts(), values, found.words, glare_words(numbers.named()))


def glare_words(found: Mapping[str, Finding]) -> str:
    """What spectacles show, as the head is and may turn, in a few words; empty where none are worn."""
    if "glare_margin" not in found:
        return ""
    for part in ("pupil", "lens"):
        shown = [it for name, it in found.items() if name.startswith(f"glare_{part}.") and it.number > 0.0]
        if shown:
            worst = max(shown, key=lambda it: it.number)
            return f"glare on a {part}: {worst.why}"
    return f"no glare as the head is; {found['glare_margin'].number:.0f} degrees to it"
