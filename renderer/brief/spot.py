"""The marks of a preview by letter, and which of them stand so near each other that they share a cross."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from renderer.brief.geometry import Point, distance
from renderer.brief.view import View
from renderer.meter.expected import letter
from renderer.meter.mark import Mark
from renderer.scene.parts import Vec3


@dataclass(frozen=True)
class Spot:
    """A mark and its letter."""

    letter: str
    mark: Mark

    @property
    def at(self) -> Vec3:
        x, y, z = (float(value) for value in self.mark.at)
        return x, y, z


def spots(marks: Sequence[Mark]) -> list[Spot]:
    """A to Z, then AA to ZZ, in the order of the readings."""
    return [Spot(letter(i), mark) for i, mark in enumerate(marks)]


def clusters(several: Sequence[Spot], view: View, apart: float) -> list[tuple[Point, list[Spot]]]:
    """Marks that are seen less than `apart` metres from the first of them, together, at its place.

    Spot meters stand at the lens and are left out: the table says what they look at.
    """
    found: list[tuple[Point, list[Spot]]] = []
    for spot in several:
        if spot.mark.meter == "spot":
            continue
        at = view.at(spot.at)
        near = next((group for where, group in found if distance(where, at) < apart), None)
        if near is None:
            found.append((at, [spot]))
        else:
            near.append(spot)
    return found
