"""Breakups: boards with holes, leaves and twigs, that throw a broken shadow."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from renderer.scene.board import Board
from renderer.scene.field import Problem, Quantity, Reflectance, Size, plain
from renderer.scene.parts import Mask

SIDE = 512
"""Cells of a mask along either side of the board."""
Pattern = Literal["leaves", "twigs", "slats", "holes"]
PICTURE_FILES = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".webp")
DRAWN = ("piece", "seed")
"""Keys that only a drawn pattern has."""
PIECE = {"leaves": 0.06, "twigs": 0.012, "slats": 0.04, "holes": 0.08}
"""Size of a piece where the scene gives none [m], but no less than a mask shows: length of a leaf, width of
a twig, slat or hole."""


class Breakup(Board):
    """A board that lets light through in places: a drawn pattern, or a picture whose white is open."""

    reflectance: Reflectance = Field(default=(0.05,) * 3, description="of the front, 0 to 1, or [r, g, b]")
    back_reflectance: Reflectance = Field(
        default=(0.05,) * 3, description="of the back, 0 to 1, or [r, g, b]"
    )
    pattern: Pattern | None = Field(
        default=None, description="what is drawn: leaves, twigs, slats or holes; this or picture"
    )
    picture: str | None = Field(
        default=None,
        description="path of a picture, relative to the scene file; light goes through where it is white",
    )
    stopped: Annotated[float, Quantity("a share", 0.02, 0.98, slips=((0.01, "per cent"),))] | None = Field(
        default=None, description="share of the board that stops light; 0.5 unless given"
    )
    piece: Size | None = Field(
        default=None, description="metres; length of a leaf, width of a twig, slat or hole"
    )
    seed: Annotated[int, Quantity("a seed", 0, 1_000_000, whole=True)] | None = Field(
        default=None, description="another number draws other leaves"
    )

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        yield from super().key_problems(given)
        if ("pattern" in given) == ("picture" in given):
            found = "both" if "pattern" in given else "neither"
            yield (), f"has no clear pattern: expected either pattern or picture; got {found}"
        for key in DRAWN:
            if "picture" in given and key in given:
                yield (key,), "belongs to a drawn pattern; a picture has none"
        if "picture" in given and "stopped" in given:
            yield ("stopped",), "belongs to a drawn pattern; a picture says itself how much it stops"

    def problems(self) -> Iterator[Problem]:
        yield from super().problems()
        if self.piece is not None and self.piece < self.finest():
            least = math.ceil(self.finest() * 1e5) / 1e5
            text = f"is finer than a {SIDE}th of the board: expected at least {plain(least)} metres"
            yield ("piece",), f"{text}; got {plain(self.piece)}"

    def finest(self) -> float:
        """The smallest piece [m] that the mask of this board shows: a cell of it, along its longer side; of
        level slats along its height."""
        return (self.spans()[1] if self.pattern == "slats" else max(self.spans())) / SIDE

    def picture_path(self, folder: Path | None) -> Path | None:
        """The picture's file; None for a drawn pattern."""
        return None if self.picture is None else (folder or Path()) / self.picture

    def spans(self) -> tuple[float, float]:
        """Width and height of the board [m]."""
        if self.diameter is not None:
            return self.diameter, self.diameter
        return self.width or 0.0, self.height or 0.0

    def mask(self, folder: Path | None) -> Mask:
        """Where it stops light. Raises InputError for a picture that cannot be read."""
        from renderer.scene import foliage  # drawing needs libraries that reading a scene does not

        path = self.picture_path(folder)
        if path is not None:
            return foliage.from_picture(path)
        pattern = self.pattern or "leaves"
        piece = self.piece if self.piece is not None else max(PIECE[pattern], self.finest())
        stopped = self.stopped if self.stopped is not None else 0.5
        return foliage.drawn(pattern, self.spans(), piece, stopped, self.seed or 0)
