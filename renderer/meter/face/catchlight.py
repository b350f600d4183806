"""Catchlights: images of the lights in the cornea, a convex mirror of 7.8 mm radius, seen from the lens.

source  radius 7.8 mm and width 11.7 mm of the cornea: textbook schematic eye (from memory)
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from renderer.colour import luminance
from renderer.kernels import layout
from renderer.kernels.layout import PackedScene
from renderer.meter.face.points import Tracer, shapes_seen
from renderer.meter.face.region import label
from renderer.scene.place import CameraPlace
from renderer.world.material import EYES

CORNEA = 0.0078  # m, radius of curvature
IRIS = 0.00585  # m, radius of the coloured ring
PUPIL = 0.0019  # m, radius as seen through the cornea, of the bundled eyes
PUPIL_DEPTH = 0.00305  # m behind the apex where the pupil is seen: Gullstrand's exact eye (from memory)
CELL = 1e-4  # m between rays
FEWEST = 6  # cells: fewer is a speck
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


def clock_words(hours: float) -> str:
    """1.667 is "1:40", to the next five minutes."""
    minutes = round(hours * 12.0) * 5
    return f"{(minutes // 60 - 1) % 12 + 1}:{minutes % 60:02d}"


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
    """All images in one eye, the largest first.

    bare        the scene without the sitter: the whole image, were nothing of the face in the way
    names       of the lights; boards: of cards and flags, by the number of their shape
    apex, gaze  of the cornea, in the world
    """
    lens = np.array(camera.at)
    centre = apex - CORNEA * gaze
    to_lens = lens - centre
    to_lens = to_lens / np.linalg.norm(to_lens)
    right = np.array(camera.right) - to_lens * (to_lens @ np.array(camera.right))
    right /= np.linalg.norm(right)
    up = np.array(camera.up) - to_lens * (to_lens @ np.array(camera.up))
    up = up - right * (up @ right)
    up /= np.linalg.norm(up)
    line = np.arange(-CORNEA, CORNEA, CELL) + 0.5 * CELL
    across, upward = np.meshgrid(line, line)
    depth2 = CORNEA**2 - across**2 - upward**2
    normal = (
        across[..., None] * right
        + upward[..., None] * up
        + np.sqrt(np.maximum(0.0, depth2))[..., None] * to_lens
    ) / CORNEA
    on_iris = (depth2 > 0.0) & (normal @ gaze >= math.sqrt(1.0 - (IRIS / CORNEA) ** 2))
    point = centre + CORNEA * normal[on_iris]
    view = point - lens
    distance = np.linalg.norm(view, axis=1)
    view /= distance[:, None]
    facing = normal[on_iris]
    mirrored = view - 2.0 * (view * facing).sum(axis=1)[:, None] * facing
    start = point + OFF * facing
    # things that shine: every light, and after them every card
    cards = {shape: name for shape, name in boards.items() if _sends_back(scene, shape)}
    things = [*names, *cards.values()]
    number_of = np.concatenate([scene.shapes["light"], [-1]])
    for k, card in enumerate(cards):
        number_of[card] = len(names) + k
    whole = number_of[shapes_seen(tracer.seen(bare, start, mirrored), cards)]
    some = np.flatnonzero(whole >= 0)
    met = np.full(len(point), -1)
    reflected = np.zeros(len(point), layout.SEEN)
    if len(some):
        from_lens = tracer.seen(scene, np.broadcast_to(lens, (len(some), 3)), view[some])
        open_ = (from_lens["family"] == layout.MESH) & np.isin(from_lens["number"], EYES)
        open_ &= np.abs(from_lens["distance"] - distance[some]) < SAME_PLACE
        reflected[some] = tracer.seen(scene, start[some], mirrored[some])
        met[some] = np.where(open_, number_of[shapes_seen(reflected[some], cards)], -1)
    plane = np.full(depth2.shape, -1)
    plane[on_iris] = met
    middle = apex - PUPIL_DEPTH * gaze - centre
    pupil = np.array([middle @ right, middle @ up])
    found = []
    for thing in np.unique(met[met >= 0]):
        own_rays = np.flatnonzero(met == thing)
        if thing < len(names):
            shape = reflected["number"][own_rays]
            strength = np.zeros(len(names))
            strength[thing] = scene.shapes["luminance"][shape].mean()
        else:
            if luminance(reflected["albedo"][own_rays].mean(axis=0)) < WHITE_FROM:
                continue  # its dark side
            strength = _luminance_of_card(tracer, scene, start, mirrored, reflected, own_rays)
        hidden = max(0.0, 1.0 - float(len(own_rays)) / float((whole == thing).sum()))
        numbers = label(plane == thing)
        for number in np.unique(numbers[numbers > 0]):
            own = numbers == number
            if own.sum() < FEWEST:
                continue
            x, y = across[own] - pupil[0], upward[own] - pupil[1]
            size = 2.0 * math.sqrt(own.sum() * CELL**2 / math.pi)
            found.append(
                Catchlight(
                    eye,
                    things[thing],
                    clock_of(float(x.mean()), float(y.mean())),
                    1000.0 * math.hypot(x.mean(), y.mean()),
                    1000.0 * size,
                    100.0 * size / (2.0 * IRIS),
                    hidden,
                    float((np.hypot(x, y) < PUPIL).mean()),
                    tuple(float(value) for value in strength),
                )
            )
    return sorted(found, key=lambda item: -item.size_mm)


def _sends_back(scene: PackedScene, shape: int) -> bool:
    """Whether a card or flag is white enough to be seen in an eye."""
    it = scene.shapes[shape]
    return float(max(it["front"].max(), it["back"].max())) >= WHITE_FROM


def _luminance_of_card(
    tracer: Tracer,
    scene: PackedScene,
    start: np.ndarray,
    mirrored: np.ndarray,
    reflected: np.ndarray,
    rays: np.ndarray,
) -> np.ndarray:
    """(lights,) mean luminance [cd/m2] of a card, by each light, where some of the mirrored rays met it."""
    some = rays[:: max(1, len(rays) // CARD_POINTS)]
    facing = np.asarray(reflected["normal"][some], float)
    at = start[some] + reflected["distance"][some][:, None] * mirrored[some] + OFF * facing
    arriving = luminance(tracer.arriving(scene, at, facing, CARD_SAMPLES).sum(axis=3))[0]
    albedo = luminance(np.asarray(reflected["albedo"][some], float))
    return np.asarray((arriving * albedo[:, None]).mean(axis=0) / math.pi)
