"""Catchlights: images of the lights in the cornea, a convex mirror of 7.8 mm radius, seen from the lens.

source  radius 7.8 mm and width 11.7 mm of the cornea: textbook schematic eye (from memory)
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from renderer.colour import luminance
from renderer.kernels import layout
from renderer.kernels.layout import PackedScene
from renderer.meter.face.points import Tracer, shapes_seen
from renderer.meter.face.region import label
from renderer.scene.place import CameraPlace
from renderer.world.material import EYES, FINE_HAIR

CORNEA = 0.0078  # m, radius of curvature
IRIS = 0.00585  # m, radius of the coloured ring
PUPIL = 0.0019  # m, radius as seen through the cornea, of the bundled eyes
PUPIL_DEPTH = 0.00305  # m behind the apex where the pupil is seen: Gullstrand's exact eye (from memory)
CELL = 1e-4  # m between rays
FEWEST = 6  # cells: fewer is a speck
COARSE, FINER = 60, 6  # images of fewer cells are looked at again, with rays so many times closer
OFF = 5e-5  # m off the cornea where reflected rays start
SAME_PLACE = 1e-3  # m
WHITE_FROM = 0.2  # reflectance: a darker board is not looked for
CARD_POINTS, CARD_SAMPLES = 48, 16


@dataclass(frozen=True)
class Catchlight:
    """One image of one light or card in one eye, as the lens sees it.

    clock     hours, 12 up, from the middle of the pupil in the picture
    offset_mm from the middle of the pupil; size_mm: diameter of the disc of the same area
    clipped   part of the whole image that lid, brow or nose hide
    on_pupil  part of the image that lies on the pupil
    luminance of the light or card itself, by each light of the scene [cd/m2 at full dimmer]
    """

    eye: str
    light: str
    clock: float
    offset_mm: float
    size_mm: float
    iris_percent: float
    clipped: float
    on_pupil: float
    luminance: tuple[float, ...]

    def as_json(self) -> dict[str, Any]:
        data = asdict(self) | {"luminance": [float(f"{value:.6g}") for value in self.luminance]}
        return {key: round(value, 4) if isinstance(value, float) else value for key, value in data.items()}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Catchlight:
        return cls(**{**data, "luminance": tuple(data["luminance"])})


def clock_of(right: float, up: float) -> float:
    """Hours on a clock face, 0 < hour <= 12, of a direction in the picture."""
    return (math.degrees(math.atan2(right, up)) / 30.0) % 12.0 or 12.0


@dataclass(frozen=True)
class Mirror:
    """A cornea as the lens sees it.

    across, upward  of the picture, square to the way to the lens; middle: of the pupil, in these two [m]
    """

    tracer: Tracer
    scene: PackedScene
    bare: PackedScene
    number_of: np.ndarray
    lens: np.ndarray
    centre: np.ndarray
    gaze: np.ndarray
    to_lens: np.ndarray
    across: np.ndarray
    upward: np.ndarray
    middle: np.ndarray

    def look(self, x: np.ndarray, y: np.ndarray, shining: Collection[int]) -> Images:
        """What the cornea shows at the places x, y (n,) [m] of the picture."""
        depth2 = np.maximum(0.0, CORNEA**2 - x**2 - y**2)
        normal = x[:, None] * self.across + y[:, None] * self.upward + np.sqrt(depth2)[:, None] * self.to_lens
        normal /= CORNEA
        on_iris = (depth2 > 0.0) & (normal @ self.gaze >= math.sqrt(1.0 - (IRIS / CORNEA) ** 2))
        point = self.centre + CORNEA * normal
        view = point - self.lens
        distance = np.linalg.norm(view, axis=1)
        view /= distance[:, None]
        way = view - 2.0 * (view * normal).sum(axis=1)[:, None] * normal
        start = point + OFF * normal
        rays = np.flatnonzero(on_iris)
        whole, met = np.full(len(x), -1), np.full(len(x), -1)
        seen = np.zeros(len(x), layout.SEEN)
        whole[rays] = self.number_of[
            shapes_seen(self.tracer.seen(self.bare, start[rays], way[rays]), shining)
        ]
        some = np.flatnonzero(whole >= 0)
        if len(some):
            lens = np.broadcast_to(self.lens, (len(some), 3))
            from_lens = self.tracer.seen(self.scene, lens, view[some], past=(FINE_HAIR,))
            open_ = (from_lens["family"] == layout.MESH) & np.isin(from_lens["number"], EYES)
            open_ &= np.abs(from_lens["distance"] - distance[some]) < SAME_PLACE
            seen[some] = self.tracer.seen(self.scene, start[some], way[some], past=(FINE_HAIR,))
            met[some] = np.where(open_, self.number_of[shapes_seen(seen[some], shining)], -1)
        return Images(whole, met, start, way, seen)


@dataclass(frozen=True)
class Images:
    """What each ray has met: number of the thing with nobody there, and with the face, -1 for none; and the
    mirrored rays themselves."""

    whole: np.ndarray
    met: np.ndarray
    start: np.ndarray
    way: np.ndarray
    seen: np.ndarray


def catchlights(
    tracer: Tracer,
    scene: PackedScene,
    bare: PackedScene,
    camera: CameraPlace,
    names: list[str],
    boards: dict[int, str],
    eye: str,
    apex: np.ndarray,
    gaze: np.ndarray,
) -> list[Catchlight]:
    """All images in one eye, the largest first; lashes before it do not count.

    bare        the scene without the sitter: the whole image, were nothing of the face in the way
    names       of the lights; boards: of cards and flags, by the number of their shape
    apex, gaze  of the cornea, in the world
    """
    cards = {shape: name for shape, name in boards.items() if _sends_back(scene, shape)}
    things = [*names, *cards.values()]
    number_of = np.concatenate([scene.shapes["light"], [-1]])
    for k, card in enumerate(cards):
        number_of[card] = len(names) + k
    lens, centre = np.array(camera.at), apex - CORNEA * gaze
    to_lens = (lens - centre) / np.linalg.norm(lens - centre)
    across = _square_to(np.array(camera.right), to_lens)
    upward = np.array(camera.up) - to_lens * (to_lens @ np.array(camera.up))
    upward = _square_to(upward, across)
    pupil = apex - PUPIL_DEPTH * gaze - centre
    middle = np.array([pupil @ across, pupil @ upward])
    mirror = Mirror(tracer, scene, bare, number_of, lens, centre, gaze, to_lens, across, upward, middle)
    line = np.arange(-CORNEA, CORNEA, CELL) + 0.5 * CELL
    x, y = np.meshgrid(line, line)
    images = mirror.look(x.ravel(), y.ravel(), cards)
    found: list[Catchlight] = []
    for thing in np.unique(images.whole[images.whole >= 0]):
        here = np.flatnonzero(images.whole == thing)
        grid, cell, shown = (x, y), CELL, images
        if len(here) < COARSE:  # a small light: once more, with finer rays about its image
            cell = CELL / FINER
            left, right = (op(x.ravel()[here]) for op in (np.min, np.max))
            low, high = (op(y.ravel()[here]) for op in (np.min, np.max))
            fine_x = np.arange(left - 1.5 * CELL, right + 1.5 * CELL, cell) + 0.5 * cell
            fine_y = np.arange(low - 1.5 * CELL, high + 1.5 * CELL, cell) + 0.5 * cell
            grid = np.meshgrid(fine_x, fine_y)
            shown = mirror.look(grid[0].ravel(), grid[1].ravel(), cards)
        found += _pieces(mirror, shown, grid, cell, int(thing), eye, things[thing], len(names))
    return sorted(found, key=lambda item: -item.size_mm)


def _square_to(vector: np.ndarray, axis: np.ndarray) -> np.ndarray:
    """The part of a vector across a unit axis, at length 1."""
    part = vector - axis * (axis @ vector)
    return np.asarray(part / np.linalg.norm(part))


def _pieces(
    mirror: Mirror,
    images: Images,
    grid: Sequence[np.ndarray],
    cell: float,
    thing: int,
    eye: str,
    name: str,
    lights: int,
) -> Iterator[Catchlight]:
    """The connected images of one light or card on a grid of cells [m]."""
    rays = np.flatnonzero(images.met == thing)
    if len(rays) == 0:
        return
    if thing < lights:
        strength = np.zeros(lights)
        strength[thing] = mirror.scene.shapes["luminance"][images.seen["number"][rays]].mean()
    else:
        if luminance(images.seen["albedo"][rays].mean(axis=0)) < WHITE_FROM:
            return  # its dark side
        strength = _luminance_of_card(mirror, images, rays)
    hidden = max(0.0, 1.0 - float(len(rays)) / float((images.whole == thing).sum()))
    numbers = label((images.met == thing).reshape(grid[0].shape))
    for number in np.unique(numbers[numbers > 0]):
        own = numbers == number
        if own.sum() < FEWEST:
            continue
        x, y = grid[0][own] - mirror.middle[0], grid[1][own] - mirror.middle[1]
        size = 2.0 * math.sqrt(own.sum() * cell**2 / math.pi)
        yield Catchlight(
            eye,
            name,
            clock_of(float(x.mean()), float(y.mean())),
            1000.0 * math.hypot(x.mean(), y.mean()),
            1000.0 * size,
            100.0 * size / (2.0 * IRIS),
            hidden,
            float((np.hypot(x, y) < PUPIL).mean()),
            tuple(float(value) for value in strength),
        )


def _sends_back(scene: PackedScene, shape: int) -> bool:
    """Whether a card or flag is white enough to be seen in an eye."""
    it = scene.shapes[shape]
    return float(max(it["front"].max(), it["back"].max())) >= WHITE_FROM


def _luminance_of_card(mirror: Mirror, images: Images, rays: np.ndarray) -> np.ndarray:
    """(lights,) mean luminance [cd/m2] of a card, by each light, where some of the mirrored rays met it."""
    some = rays[:: max(1, len(rays) // CARD_POINTS)]
    facing = np.asarray(images.seen["normal"][some], float)
    at = images.start[some] + images.seen["distance"][some][:, None] * images.way[some] + OFF * facing
    arriving = luminance(mirror.tracer.arriving(mirror.scene, at, facing, CARD_SAMPLES).sum(axis=3))[0]
    albedo = luminance(np.asarray(images.seen["albedo"][some], float))
    return np.asarray((arriving * albedo[:, None]).mean(axis=0) / math.pi)
