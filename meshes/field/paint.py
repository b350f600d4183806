"""Which surface is what: region label with soft coverage, and the named patches, from place alone."""

import numpy as np

from .blend import Array, curve, step, stroke
from .eye import globe
from .hairline import growth
from .mouth import lip_weight
from .noise import noise
from .sitter import Sitter

SKIN, LIPS, BROW, LASH, CARUNCLE, SCALP = range(6)
BROW_LINE = [(8.8, 17.2), (14.0, 20.3), (22.0, 23.0), (32.0, 24.6), (41.0, 23.0), (49.5, 17.0)]
BROW_HALF = curve([(0, 2.2), (0.12, 3.7), (0.35, 3.9), (0.7, 2.7), (1, 0.8)])

PATCHES = (
    "none",
    "forehead_centre",
    "forehead_side",
    "temple",
    "brow",
    "upper_lid",
    "lower_lid",
    "malar",
    "nasolabial",
    "nose_bridge",
    "nose_tip",
    "nose_wing",
    "upper_lip",
    "lower_lip",
    "chin_front",
    "submental",
    "jaw_side",
    "ear",
    "neck_front",
    "neck_side",
    "scalp",
    "shoulder",
    "chest",
)


def brow_weight(x: Array, y: Array, z: Array, thick: float = 1.0) -> Array:
    """Coverage of the shadow under the brow's hairs, 0..1, uneven, thin at both ends."""
    gap, t, side = stroke(np.abs(x), y, BROW_LINE, 40)
    half = thick * BROW_HALF(t)
    cover = step(1.35, 0.25, gap / (half * np.where(side < 0, 0.85, 1.15)))
    uneven = 0.75 + 0.35 * noise((x - 0.6 * y) / 1.6, (y + 0.6 * x) / 3.5, z / 9.0, 121)
    return 0.50 * cover * uneven * step(0.0, 0.25, t) * step(1.0, 0.5, t) * (z > 45)


def regions(p: Array, sitter: Sitter) -> tuple[np.ndarray, np.ndarray]:
    """Region label (n,) uint8 and its coverage (n,) in 0..1; coverage 1 on plain skin. `p` is (n, 3) [mm]."""
    eye = sitter.eye
    x, y, z = np.abs(p[:, 0]), p[:, 1], p[:, 2]
    weights = np.zeros((6, len(p)))
    x0, y0, z0 = sitter.canonical(x, y, z)
    weights[LIPS] = lip_weight(x0 / sitter.mouth_breadth, y0, z0)
    weights[BROW] = brow_weight(x0, y0, z0, sitter.brow_weight)
    dense = 0.42 if sitter.hair == "none" else 0.55
    weights[SCALP] = np.where(y0 < -75.0, 0.0, dense * growth(x0, y0, z0, sitter.recede) ** 1.8) * step(
        80.0, 76.0, x0
    )
    near = (np.abs(x - eye.centre[0]) < 19) & (np.abs(y - eye.centre[1]) < 12) & (z > eye.centre[2] - 6)
    a, b, c = x[near], y[near], z[near]
    gap = eye.opening(a, b)
    off = globe(a, b, c, eye, 0.0)
    upper = b > eye.centre[1] + eye.inner[1] + (a - eye.centre[0] - eye.inner[0]) * 0.1
    ball, radius = eye.caruncle()
    pink = step(
        radius + 0.7, radius - 0.1, np.sqrt((a - ball[0]) ** 2 + (b - ball[1]) ** 2 + (c - ball[2]) ** 2)
    )
    pink = np.maximum(pink * step(0.4, -0.2, gap), step(-0.35, -0.9, gap) * (off > 0.05))
    line = (
        step(1.25, 0.35, gap)
        * step(-1.0, -0.3, gap)
        * step(0.2, 0.9, off)
        * np.where(upper, 0.55, 0.16)
        * step(-14.0, -9.0, a - eye.centre[0])
    )
    weights[LASH, near] = line * (1.0 - pink)
    weights[CARUNCLE, near] = pink
    label = np.argmax(weights, axis=0)
    cover = weights[label, np.arange(len(p))]
    label[cover < 0.02] = SKIN
    return label.astype(np.uint8), np.where(label == SKIN, 1.0, cover)


def patches(p: Array, normal: Array, sitter: Sitter) -> np.ndarray:
    """Index into PATCHES per vertex (n,) uint8; l/r are told apart by the sign of the sideways place."""
    eye = sitter.eye
    ex, ey = np.abs(p[:, 0]) - eye.centre[0], p[:, 1] - eye.centre[1]
    x, y, z = sitter.canonical(np.abs(p[:, 0]), p[:, 1], p[:, 2])
    out = np.zeros(len(p), dtype=np.uint8)

    def put(name: str, where: np.ndarray) -> None:
        out[where] = PATCHES.index(name)

    front = (z > 45) & (normal[:, 2] > 0.15)
    put("scalp", (y > 72) | ((y > -40) & (z < -30) & (x < 74)))
    put("neck_side", (y < -75) & (y > -190) & (z > -70) & (x > 38))
    put("neck_front", (y < -122) & (y > -185) & (z > 0) & (x < 20) & (normal[:, 2] > 0.5))
    put("shoulder", (y < -165) & (x > 110) & (normal[:, 1] > 0.2))
    put("chest", (y < -215) & (x < 60) & (z > 10) & (normal[:, 2] > 0.4))
    put("temple", (y > 8) & (y < 48) & (x > 55) & (z > 20))
    put("forehead_side", front & (y > 34) & (y < 62) & (x > 18) & (x < 46))
    put("forehead_centre", front & (y > 34) & (y < 62) & (x < 13))
    put("brow", front & (y > 16) & (y < 29) & (x > 8) & (x < 50))
    put("upper_lid", front & (np.abs(ex) < 14) & (ey > 2) & (ey < 12))
    put("lower_lid", front & (np.abs(ex) < 14) & (ey < -4) & (ey > -13))
    put("malar", front & (np.hypot(x - 37, y + 25) < 10))
    put("nasolabial", front & (x > 16) & (x < 28) & (y < -44) & (y > -58))
    put("nose_bridge", front & (x < 7) & (y < 8) & (y > -20))
    put("nose_tip", (x < 9) & (y < -24) & (y > -42) & (z > 105))
    put("nose_wing", (x > 11) & (x < 20) & (y < -29) & (y > -43) & (z > 88))
    put("upper_lip", front & (x < 14) & (y < -48) & (y > -59))
    put("lower_lip", front & (x < 14) & (y < -68) & (y > -76))
    put("chin_front", front & (x < 13) & (y < -88) & (y > -106))
    put("submental", (x < 22) & (y < -95) & (z > 32) & (z < 66) & (normal[:, 1] < -0.6))
    put("jaw_side", (x > 44) & (y < -52) & (y > -85) & (z > 8) & (z < 50))
    put("ear", (x > 70) & (y < 18) & (y > -50) & (z < 2) & (z > -42))
    return out
