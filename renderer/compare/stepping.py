"""One key of a scene, or two, walked through a range: a picture and all measures at every step.

>>> walk(load("scenes/classic-walk.toml"), "light.key.around.elevation=90..20 in 8", within=0.1)
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from renderer.compare.finding import findings_of
from renderer.compare.footprint import footprint
from renderer.compare.name import chosen
from renderer.compare.stock import Stock
from renderer.compare.vary import Vary, scenes_of, vary
from renderer.errors import InputError
from renderer.meter.face import Finding
from renderer.meter.face.verdict import Verdict, Wanted, wanted_of
from renderer.meter.level import wanted_level
from renderer.meter.numbers import Numbers
from renderer.picture.bands import Pixels
from renderer.picture.png import png_bytes
from renderer.scene.measure import measure_names
from renderer.scene.models import Scene
from renderer.world.build import build

DEFAULT = ("lighting_ratio_stops", "eye_shade", "nose_shadow", "under_chin", "background", "level.face")
Numbered = tuple[int, ...]
Watcher = Callable[[str], None]


@dataclass(frozen=True)
class Step:
    """One place of a walk: its picture, its measures, how they stand to the targets.

    wanted  bands that measures are held against, by their names; traced  whether it was, or mixed anew
    """

    picture: Pixels
    findings: Mapping[str, Finding]
    verdicts: Mapping[str, Verdict]
    wanted: Mapping[str, Wanted]
    traced: bool

    @property
    def pattern(self) -> str:
        """The shadow pattern; empty where there is none to name."""
        finding = self.findings.get("pattern")
        return str(finding.value) if finding is not None else ""


@dataclass(frozen=True)
class Walk:
    """Finished steps by the numbers of their values; `measures` are those that curves are drawn of."""

    scene: Scene
    varied: tuple[Vary, ...]
    steps: Mapping[Numbered, Step]
    measures: tuple[str, ...]
    traced: int
    notes: tuple[str, ...] = field(default=())

    @property
    def planned(self) -> int:
        count = 1
        for it in self.varied:
            count *= len(it.values)
        return count

    def line(self, other: int = 0) -> list[tuple[int, Step]]:
        """Finished steps along the first key, at one value of the second: numbers and steps."""
        rest = (other,) if len(self.varied) == 2 else ()
        found = ((i, self.steps.get((i, *rest))) for i in range(len(self.varied[0].values)))
        return [(i, step) for i, step in found if step is not None]

    @property
    def others(self) -> range:
        """Numbers of the second key's values; one where there is no second key."""
        return range(len(self.varied[1].values) if len(self.varied) == 2 else 1)

    def sheet(self) -> Pixels:
        """All pictures: a row, or a grid for two keys, (h, w, 3) uint8 sRGB."""
        from renderer.compare.walk_sheet import walk_sheet

        return walk_sheet(self)

    def curves(self) -> Pixels:
        """The chosen measures against the first key, (h, w, 3) uint8 sRGB."""
        from renderer.compare.walk_sheet import curves_of

        return curves_of(self)

    def lines(self) -> list[str]:
        """A table for a terminal, and where pattern and targets change."""
        from renderer.compare.walk_table import lines_of

        return lines_of(self)

    def as_json(self) -> dict[str, Any]:
        """Everything but the pictures, as plain data."""
        from renderer.compare.walk_table import json_of

        return json_of(self)

    def csv(self) -> str:
        """Every measure at every step, with its error, a line a step."""
        from renderer.compare.walk_table import csv_of

        return csv_of(self)

    def _repr_png_(self) -> bytes:
        return png_bytes(self.sheet())


def walk(
    scene: Scene,
    varied: str | Vary | Sequence[str | Vary],
    measures: Sequence[str] = (),
    *,
    stock: Stock | None = None,
    watch: Watcher | None = None,
    **options: Any,
) -> Walk:
    """Step one key or two through their values; `options` as of `Preview.trace`.

    measures  names, or stems of names, of what curves are drawn of; a usual set unless given
    watch     told in words before each step
    Steps that have the same light (dimmers, colour temperatures, colours, lumens, exposure) are traced once.
    An interrupt from the keyboard ends the walk and keeps the steps that are finished; where there are none
    it is passed on. Raises InputError for what cannot be, before tracing begins.
    """
    given = [varied] if isinstance(varied, (str, Vary)) else list(varied)
    if not 1 <= len(given) <= 2:
        raise InputError(f"--vary: expected one key or two; got {len(given)}")
    keys = tuple(it if isinstance(it, Vary) else vary(it) for it in given)
    wanted = chosen(measures, measure_names(scene))
    scenes = scenes_of(scene, keys)
    prints = {numbers: _print_of(it, _words(keys, numbers)) for numbers, it in scenes.items()}
    options.setdefault("magnify", False)
    stock = stock or Stock(**options)
    order = sorted(scenes, key=lambda numbers: list(prints.values()).index(prints[numbers]))
    steps: dict[Numbered, Step] = {}
    try:
        for k, numbers in enumerate(order):
            if watch:
                watch(f"step {k + 1} of {len(order)}: {_words(keys, numbers)}")
            steps[numbers] = _step(scenes[numbers], stock)
            if prints[numbers] not in (prints[later] for later in order[k + 1 :]):
                stock.forget(prints[numbers])
    except KeyboardInterrupt:
        if not steps:
            raise
    there = {name for step in steps.values() for name in step.findings}
    targets = {name for step in steps.values() for name in step.wanted}
    names = wanted or [name for name in _usual(scene, targets) if name in there]
    notes = [f"{name}: has no value at any step" for name in wanted if name not in there]
    if len(steps) < len(scenes):
        notes.append(f"interrupted: {len(steps)} of {len(scenes)} steps are finished")
    shown = tuple(name for name in names if name in there)
    return Walk(scene, keys, dict(sorted(steps.items())), shown, stock.traced, tuple(notes))


def _words(keys: Sequence[Vary], numbers: Numbered) -> str:
    """A step in words."""
    return ", ".join(f"{it.path} = {it.words(i)}" for it, i in zip(keys, numbers, strict=True))


def _print_of(scene: Scene, step: str) -> str:
    """The digest of what its layers depend on. Raises InputError, with the step, for what cannot be built."""
    try:
        return footprint(build(scene)).digest
    except InputError as error:
        raise InputError(*(f"{step}: {line}" for line in error.lines)) from None


def _usual(scene: Scene, targets: set[str]) -> list[str]:
    """The usual measures, and all that the scene states a target for."""
    names = list(measure_names(scene))
    first = {name for name in names if name in DEFAULT or name.partition(".")[0] in DEFAULT}
    return [name for name in names if name in first | (targets - {"lighting_ratio"})]


def _step(scene: Scene, stock: Stock) -> Step:
    taken = stock.take(scene, "an earlier step")
    preview = taken.preview
    numbers = preview.numbers()
    wanted = _wanted(scene, numbers)
    return Step(preview.picture(), findings_of(numbers), numbers.verdicts(), wanted, taken.of is None)


def _wanted(scene: Scene, numbers: Numbers) -> dict[str, Wanted]:
    """The bands of the scene's targets, in stops for a ratio and a level."""
    target = scene.target
    if target is None:
        return {}
    found = {name: wanted_of(name, finding, target) for name, finding in numbers.named().items()}
    for name, level in target.level.items():
        if name in numbers.marks:
            found[f"level.{name}"] = wanted_level(level, numbers.marks[name].mark.meter, scene.camera)
    return {name: it for name, it in found.items() if it is not None}
