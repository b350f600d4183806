"""What holds the lenses: rims, a bridge over the nose, temples that run to the ears and hook behind them."""

from __future__ import annotations

import numpy as np

from renderer.scene.glasses import Glasses
from renderer.world.spectacles.bar import Mesh, bar, joined, smooth
from renderer.world.spectacles.lens import GAP, Lens, rim_depth
from renderer.world.spectacles.relief import Relief

RIM_POINTS, BRIDGE_POINTS, TEMPLE_POINTS = 96, 17, 72
LEAST_WIRE = 0.0012  # m: bridge and temples of rimless spectacles
BRIDGE_UP, HINGE_UP = 0.38, 0.45  # of half a lens's height over its middle
ARCH = 0.003  # m that the bridge rises over its ends
END_PIECE = 0.005  # m that the hinge stands outside the rim
HOOK = ((-0.014, 0.0, -0.006), (-0.026, -0.002, -0.022), (-0.030, -0.003, -0.036))  # m behind the ear's root
TEMPLE_HIGH, TEMPLE_THIN = 0.0024, 0.0012  # m: half the height and thickness of a temple


def frame(
    glasses: Glasses, lenses: list[Lens], skin: Relief, side_skin: list[Relief], ears: list[np.ndarray]
) -> Mesh:
    """Everything but the lenses.

    skin       along the nose's axis; side_skin: outward on either side, without the ears
    ears       (3,) each: where the temple lies on the root of the ear, outward the magnitude of y
    """
    parts = [_rim(lens) for lens in lenses] if glasses.rim > 0.0 else []
    parts.append(_bridge(glasses, lenses, skin))
    parts += [_temple(glasses, *it) for it in zip(lenses, side_skin, ears, strict=True)]
    return joined(parts)


def _rim(lens: Lens) -> Mesh:
    rim = lens.glasses.rim
    turn = np.linspace(0.0, 2.0 * np.pi, RIM_POINTS, endpoint=False)
    middle = lens.point(*lens.outline(turn, 0.4 * rim))
    outer = lens.point(*lens.outline(turn, rim))
    return bar(middle, outer - middle, 0.6 * rim, 0.5 * rim_depth(lens.glasses), closed=True)


def _on_edge(lens: Lens, up: float, outward: bool) -> np.ndarray:
    """A point of the rim's middle, `up` of half its height over the middle of the lens."""
    half_x, half_y = 0.5 * lens.glasses.lens_width, 0.5 * lens.glasses.lens_height
    x = half_x * (1.0 - abs(up) ** lens.glasses.corner) ** (1.0 / lens.glasses.corner)
    x += 0.4 * lens.glasses.rim
    return lens.point(np.array(lens.side * (x if outward else -x)), np.array(up * half_y))


def _bridge(glasses: Glasses, lenses: list[Lens], skin: Relief) -> Mesh:
    left, right = (_on_edge(lens, BRIDGE_UP, outward=False) for lens in lenses)
    half = max(LEAST_WIRE, 0.5 * rim_depth(glasses))
    share = np.linspace(0.0, 1.0, BRIDGE_POINTS)
    path = left + share[:, None] * (right - left)
    arch = 4.0 * share * (1.0 - share)
    path[:, 2] += ARCH * arch
    clear = skin.at(path[:, 1], path[:, 2]) + half + GAP - path[:, 0]
    path[:, 0] += max(0.0, float((clear[1:-1] / arch[1:-1]).max())) * arch  # one bow that clears the nose
    high = max(LEAST_WIRE, 0.6 * glasses.rim)
    return bar(path, np.tile([0.0, 0.0, 1.0], (BRIDGE_POINTS, 1)), high, half)


def _temple(glasses: Glasses, lens: Lens, skin: Relief, ear: np.ndarray) -> Mesh:
    """From the rim outward, straight back as near to the head as it lets it, and down behind the ear."""
    side, thin = lens.side, max(LEAST_WIRE, TEMPLE_THIN if glasses.rim > 0.0 else 0.0)
    start = _on_edge(lens, HINGE_UP, outward=True)
    hinge = start + np.array([-0.006, side * END_PIECE, 0.0])
    x = np.linspace(hinge[0], ear[0], 24)
    z = np.interp(x, [ear[0], hinge[0]], [ear[2], hinge[2]])
    least = skin.at(x, z) + thin + GAP
    least[0], least[-1] = side * hinge[1], max(least[-1], ear[1])
    y = _taut(x, least)
    along = np.stack([x, side * y, z], axis=1)
    corner = start + np.array([-0.0005, side * 0.7 * END_PIECE, 0.0])
    root = along[-1]
    hook = [root + np.array([dx, side * dy, dz]) for dx, dy, dz in HOOK]
    path = smooth(np.array([start, corner, *along[::3], root, *hook]), TEMPLE_POINTS)
    high = max(LEAST_WIRE, TEMPLE_HIGH if glasses.rim > 0.0 else 0.0)
    return bar(path, np.tile([0.0, 0.0, 1.0], (TEMPLE_POINTS, 1)), high, thin)


def _taut(x: np.ndarray, least: np.ndarray) -> np.ndarray:
    """A string drawn tight outside the points: the upper hull of `least` over falling x."""
    hull: list[int] = []
    for k in range(len(x)):
        while len(hull) > 1:
            i, j = hull[-2], hull[-1]
            on_line = least[i] + (least[k] - least[i]) * (x[j] - x[i]) / (x[k] - x[i])
            if least[j] > on_line:
                break
            hull.pop()
        hull.append(k)
    return np.asarray(np.interp(-x, -x[hull], least[hull]))
