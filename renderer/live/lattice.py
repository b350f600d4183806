"""Every second pixel of a picture, along and across: enough for light, which varies slowly over a surface.

What a pixel sends is the light that arrives times what its surface does with it. The latter is known from
a picture that was traced before and changes little while lights move; so light is traced and filtered at the
nodes of the lattice, and goes to the pixels between by surface and normal. Outlines, hair, eyes and lamps
are traced pixel by pixel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from renderer.film.denoise import box_sum
from renderer.film.film import Film
from renderer.kernels.lattice import CORNERS
from renderer.kernels.layout import MESH, NOTHING
from renderer.world.material import CLOTH, SKIN

STEP = 2  # pixels from node to node
FAR_STEP = 2  # nodes from one that is traced to the next, behind the sitter
TURN = 0.3  # length of the difference of unit normals at which one pixel's light is not another's: 17 degrees
DEPTH = 0.02  # and difference of their distances, as a share
LEAST_SHARE = 0.1  # of the nodes about a pixel that have to show its surface
LEAST_ALBEDO = 1e-3
MOST_GAIN = 1.0 / math.pi  # 1/sr, of a white surface
SURFACES = 1000  # more than there are numbers in a family


@dataclass(frozen=True)
class Lattice:
    """nodes    (rows, columns) int32 pixel of every node
    source   (rows, columns) int32 pixel whose light a node takes: its own, or behind the sitter another's
    near     (n, CORNERS) int32 and share (n, CORNERS) float32, as `light_between` takes them
    gain     (n, 3) float32, likewise
    single   (n,) bool: pixels that are traced by themselves
    """

    nodes: np.ndarray
    source: np.ndarray
    near: np.ndarray
    share: np.ndarray
    gain: np.ndarray
    single: np.ndarray

    @classmethod
    def over(cls, film: Film) -> Lattice:
        """That of a film which was traced at every pixel."""
        seen = film.seen()
        own = np.arange(seen.size, dtype=np.int32).reshape(seen.shape)
        nodes = np.ascontiguousarray(own[STEP // 2 :: STEP, STEP // 2 :: STEP])
        plain = _plain(seen)
        near, share = _about(seen, plain, nodes)
        single = share.sum(axis=1) < LEAST_SHARE
        single |= ~plain.ravel()
        share /= np.maximum(share.sum(axis=1, keepdims=True), LEAST_SHARE)
        share[single] = -1.0
        return cls(nodes, _sources(seen, plain, nodes), near, share, _gain(film, plain), single)

    @cached_property
    def shared(self) -> np.ndarray:
        """(n,) bool: pixels whose light several nodes take."""
        found = np.zeros(len(self.single), np.bool_)
        found[self.source[self.source != self.nodes]] = True
        return found

    @property
    def traced(self) -> np.ndarray:
        """(n,) bool: pixels that have to be traced."""
        found = self.single.copy()
        found[self.source] = True
        return found


def _surface(seen: np.ndarray) -> np.ndarray:
    return np.asarray(seen["family"] * SURFACES + seen["number"])


def _plain(seen: np.ndarray) -> np.ndarray:
    """(h, w) bool: pixels that show one smooth surface, and not at its outline."""
    sitter = seen["family"] == MESH
    plain = (seen["emits"] == 0) & (seen["family"] != NOTHING)
    plain &= ~sitter | np.isin(seen["number"], (SKIN, CLOTH))
    surface = np.pad(_surface(seen), 1, mode="edge")
    middle = surface[1:-1, 1:-1]
    for about in (surface[:-2, 1:-1], surface[2:, 1:-1], surface[1:-1, :-2], surface[1:-1, 2:]):
        plain &= about == middle
    return np.asarray(plain)


def _like(seen: np.ndarray, there: np.ndarray) -> np.ndarray:
    """How far pixels show one smooth piece of a surface with others: 0 not at all, 1 the same plane."""
    turned = ((seen["normal"] - there["normal"]) ** 2).sum(axis=-1) / TURN**2
    with np.errstate(invalid="ignore"):  # where nothing is seen, both are infinite
        near = np.abs(seen["distance"] - there["distance"]) < DEPTH * seen["distance"]
    same = near & (_surface(seen) == _surface(there))
    return np.asarray(same * np.maximum(0.0, 1.0 - turned) ** 2, np.float32)


def _about(seen: np.ndarray, plain: np.ndarray, nodes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The four nodes about every pixel (n, CORNERS), as numbers of nodes, and their shares before they are
    made to sum to 1."""
    height, width = seen.shape
    rows, columns = nodes.shape
    y, x = ((np.arange(n) - STEP // 2) / STEP for n in (height, width))
    near = np.empty((seen.size, CORNERS), np.int32)
    share = np.empty((seen.size, CORNERS), np.float32)
    usable = plain.ravel()[nodes]
    for k in range(CORNERS):
        j, i = np.floor(y).astype(int) + k // 2, np.floor(x).astype(int) + k % 2
        down, across = np.maximum(0.0, 1.0 - np.abs(y - j)), np.maximum(0.0, 1.0 - np.abs(x - i))
        j, i = np.clip(j, 0, rows - 1), np.clip(i, 0, columns - 1)
        there = np.ix_(j, i)
        like = _like(seen, seen.ravel()[nodes[there]]) * usable[there]
        near[:, k] = (j[:, None] * columns + i[None, :]).ravel()
        share[:, k] = (down[:, None] * across[None, :] * like).ravel()
    return near, share


def _sources(seen: np.ndarray, plain: np.ndarray, nodes: np.ndarray) -> np.ndarray:
    """Of the nodes behind the sitter, all but one in FAR_STEP along and across take another's light."""
    rows, columns = nodes.shape
    j, i = (np.minimum(np.arange(n) // FAR_STEP * FAR_STEP, n - 1) for n in (rows, columns))
    other = nodes[np.ix_(j, i)]
    own, there = seen.ravel()[nodes], seen.ravel()[other]
    fit = (own["family"] != MESH) & (_like(own, there) > 0.5)
    fit &= plain.ravel()[nodes] & plain.ravel()[other]
    return np.where(fit, other, nodes)


def _gain(film: Film, plain: np.ndarray) -> np.ndarray:
    """(n, 3) float32 radiance that every pixel sends for the light that arrives [1/sr]: its own reflectance,
    and beside that the mean of the pixels about it, since single ones have had little light so far."""
    picture, _, light = film.mixed()
    own = np.maximum(film.seen()["albedo"], LEAST_ALBEDO)
    gain = np.empty_like(light)
    for k in range(3):
        sent = picture[..., k] / own[..., k]
        about, arriving = box_sum(sent * plain), box_sum(light[..., k] * plain)
        ratio = np.divide(about, arriving, out=np.full_like(about, 1.0 / math.pi), where=arriving > 0.0)
        gain[..., k] = np.minimum(ratio * own[..., k], MOST_GAIN)
    return gain.reshape(-1, 3)


def covered(camera: np.ndarray, spheres: np.ndarray) -> np.ndarray:
    """(h * w,) bool: pixels whose middle looks into one of `spheres`, (n, 4) centre and radius [m]."""
    view = camera[0]
    width, height = int(view["width"]), int(view["height"])
    found = np.zeros((height, width), np.bool_)
    right, down, forward = view["step_right"], view["step_down"], view["forward"]
    across, along, ahead = (float(it @ it) for it in (right, down, forward))
    for x, y, z, radius in spheres:
        away = np.array([x, y, z]) - view["at"]
        beyond = float(away @ away) - radius * radius
        if beyond <= 0.0:
            return np.ones(found.size, np.bool_)
        # A ray is forward + u right + v down, square to each other: its products come by row and column.
        of_u, of_v, of_1 = float(right @ away), float(down @ away), float(forward @ away)
        u, columns = _pixels(of_u, of_1, radius, across, ahead, width)
        v, rows = _pixels(of_v, of_1, radius, along, ahead, height)
        towards = of_u * u[None, :] + (of_v * v[:, None] + of_1)
        square = across * u[None, :] ** 2 + (along * v[:, None] ** 2 + ahead)
        found[rows, columns] |= (towards > 0.0) & (towards * towards > beyond * square)
    return found.ravel()


def _pixels(
    of_step: float, of_forward: float, radius: float, step: float, ahead: float, count: int
) -> tuple[np.ndarray, slice]:
    """Places, in steps from the middle, of the columns (or rows) between which a sphere appears, and which
    they are: all, where it reaches beside the camera.

    of_step, of_forward  products of the vector to its centre with those of a step and forward; step, ahead:
                         squares of the latter
    Seen along the rows the sphere is a circle; the tangents to it from the camera bound it.
    """
    places = np.arange(count) + 0.5 - 0.5 * count
    x, z = of_step / math.sqrt(step), of_forward / math.sqrt(ahead)
    span = z * z - radius * radius
    if z <= radius:
        return places, slice(None)
    reach = radius * math.sqrt(x * x + span)
    scale = math.sqrt(ahead / step) / span
    first, last = np.searchsorted(places, [scale * (x * z - reach), scale * (x * z + reach)])
    within = slice(int(first), int(last))
    return places[within], within
