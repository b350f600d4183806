"""Where the lenses stand: parts of spheres before the pupils, as near as the face lets them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renderer.errors import InputError
from renderer.kernels.layout import LENS
from renderer.scene.field import plain
from renderer.scene.glasses import Glasses
from renderer.world.spectacles.relief import Relief

NEAREST = 0.012  # m from cornea to lens, where the face leaves room: common practice, no source
FURTHEST = 0.030  # m: beyond, this is no face that spectacles fit
UNDER_PUPIL = 0.003  # m: the middle of a lens stands so far under the pupil; common practice, no source
CUT = 0.30  # by how much a lens is narrower below, beside the nose; own choice
GAP = 0.0005  # m between rim and skin
SIDES = (1.0, -1.0)  # sitter's left, right
AROUND = 96  # points of an outline


@dataclass(frozen=True)
class Lens:
    """middle of the front; axes as rows: across to the sitter's left, up the lens, out of its front."""

    glasses: Glasses
    side: float
    middle: np.ndarray
    axes: np.ndarray

    @property
    def centre(self) -> np.ndarray:
        """Of the sphere."""
        return np.asarray(self.middle - self.glasses.front_radius * self.axes[2])

    def point(self, x: np.ndarray, y: np.ndarray, ahead: float = 0.0) -> np.ndarray:
        """Points (n, 3) x across and y up the lens, `ahead` [m] of its front along the sphere's radius."""
        radius = self.glasses.front_radius
        depth = np.sqrt(np.maximum(0.0, radius**2 - x**2 - y**2))
        off = np.stack([x, y, depth], axis=-1) @ self.axes
        return np.asarray(self.centre + off * (1.0 + ahead / radius))

    def outline(self, turn: np.ndarray, beyond: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
        """Places x, y (n,) on the outline, `beyond` [m] outside it, at angles [rad] from +x through +y."""
        half_x, half_y = 0.5 * self.glasses.lens_width + beyond, 0.5 * self.glasses.lens_height + beyond
        power = 2.0 / self.glasses.corner
        c, s = np.cos(turn), np.sin(turn)
        x, y = np.sign(c) * np.abs(c) ** power, np.sign(s) * np.abs(s) ** power
        x = np.where((self.side * x < 0.0) & (y < 0.0), x / (1.0 - CUT * y), x)
        return half_x * x, half_y * y

    def moved(self, ahead: float) -> Lens:
        """The lens further out along the nose's axis [m]."""
        return Lens(self.glasses, self.side, self.middle + np.array([ahead, 0.0, 0.0]), self.axes)

    def before(self, pupil: np.ndarray) -> float:
        """How far [m] along the nose's axis the lens stands before a point."""
        radius, off = self.glasses.front_radius, pupil - self.centre
        return float(np.sqrt(max(0.0, radius**2 - off[1] ** 2 - off[2] ** 2)) - off[0])


def _unfitted(glasses: Glasses, side: float, height: float) -> Lens:
    tilt, wrap = np.radians(glasses.tilt), side * np.radians(glasses.wrap)
    turn = np.array([[np.cos(wrap), np.sin(wrap), 0.0], [-np.sin(wrap), np.cos(wrap), 0.0], [0.0, 0.0, 1.0]])
    across = np.array([0.0, 1.0, 0.0])
    up = np.array([np.sin(tilt), 0.0, np.cos(tilt)])
    out = np.array([np.cos(tilt), 0.0, -np.sin(tilt)])
    middle = np.array([0.0, side * 0.5 * (glasses.bridge + glasses.lens_width), height])
    return Lens(glasses, side, middle, np.stack([across, up, out]) @ turn)


def fitted(glasses: Glasses, pupils: list[np.ndarray], skin: Relief) -> list[Lens]:
    """Both lenses, the sitter's left first: at the distance written, or as near as the face lets them.

    skin  along the nose's axis
    Raises InputError where they would stand in the face, or before none.
    """
    height = float(np.mean([pupil[2] for pupil in pupils])) - UNDER_PUPIL
    lenses = [_unfitted(glasses, side, height) for side in SIDES]
    at = float(np.mean([lens.before(pupil) for lens, pupil in zip(lenses, pupils, strict=True)]))
    needed = max(_room(lens, skin) for lens in lenses)
    least = at + needed
    if least > FURTHEST:
        raise InputError(
            f"sitter.glasses: the face is in their way to {1000.0 * least:.0f} mm before the eyes; expected"
            " a wider bridge, lower lenses, a thinner rim, or landmarks that are a face's"
        )
    wanted = glasses.vertex_distance
    if wanted is not None and wanted < least - GAP:
        raise InputError(
            f"sitter.glasses.vertex_distance: at {plain(wanted)} metres the rim is in the skin; expected at"
            f" least {plain(round(least, 4))} metres on this face"
        )
    distance = max(NEAREST, least) if wanted is None else wanted
    return [lens.moved(distance - at) for lens in lenses]


def _room(lens: Lens, skin: Relief) -> float:
    """How far [m] the lens has to go ahead for its rim and its back to clear the skin."""
    rim = lens.glasses.rim
    turn = np.linspace(0.0, 2.0 * np.pi, AROUND, endpoint=False)
    thick = 0.5 * rim_depth(lens.glasses)
    rings = [lens.outline(turn, beyond) for beyond in (0.0, 0.5 * rim, rim)]
    rings += [(share * x, share * y) for share in (0.3, 0.6, 0.9) for x, y in rings[:1]]
    most = -np.inf
    for x, y in rings:
        back = lens.point(x, y, -thick)
        most = max(most, float((skin.at(back[:, 1], back[:, 2]) - back[:, 0]).max()))
    return most + GAP


def rim_depth(glasses: Glasses) -> float:
    """Thickness [m] of lens and rim from front to back."""
    return min(0.005, max(0.0025, 1.2 * glasses.rim))


def packed_lenses(lenses: list[Lens], rows: np.ndarray, origin: np.ndarray) -> np.ndarray:
    """LENS records in the world: world = rows @ head + origin."""
    packed = np.zeros(len(lenses), LENS)
    for record, lens in zip(packed, lenses, strict=True):
        glasses = lens.glasses
        record["eta"], record["radius"], record["corner"] = (
            glasses.index,
            glasses.front_radius,
            glasses.corner,
        )
        record["cut"] = CUT * lens.side
        record["half_u"], record["half_v"] = 0.5 * glasses.lens_width, 0.5 * glasses.lens_height
        record["centre"] = rows @ lens.centre + origin
        record["u"], record["v"], record["w"] = lens.axes @ rows.T
        turn = np.linspace(0.0, 2.0 * np.pi, AROUND, endpoint=False)
        edge = lens.point(*lens.outline(turn)) @ rows.T + origin
        record["middle"] = rows @ lens.middle + origin
        record["reach"] = 1.01 * np.linalg.norm(edge - record["middle"], axis=1).max()
    return packed
