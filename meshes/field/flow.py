"""How hair lies: where tufts are rooted, which way they run, how long, wide and light they are."""

from dataclasses import dataclass

import numpy as np

from ..surface.grid import Field, gradient
from .blend import Array, step
from .hair import Hair
from .hairline import growth
from .noise import chance, noise

CROWN = np.array([-6.0, 96.0, -62.0])
MIDDLE = 6.0  # of the bob: a little off the middle
GOLDEN = np.pi * (3.0 - np.sqrt(5.0))


@dataclass(frozen=True)
class Tufts:
    """Centre lines (n, k, 3) [mm], outward units (n, k, 3), breadth (n, k) [mm], shade (n, k)."""

    line: Array
    outward: Array
    width: Array
    shade: Array


def march(field: Field, start: Array, way, length: Array, lift: Array):  # type: ignore[no-untyped-def]
    """Lines (n, k, 3) over a surface, `lift` (n, k) above it, and its normals.

    way(p, s) says where they run at places (n, 3) and the share s of their length.
    """
    k = lift.shape[1]
    p, n, lines, normals = start, np.zeros_like(start), [], []
    for i in range(k):
        if i:
            d = way(p, i / (k - 1.0))
            d -= (d * n).sum(axis=1, keepdims=True) * n
            d /= np.maximum(np.linalg.norm(d, axis=1, keepdims=True), 1e-9)
            p = p + d * (length / (k - 1.0))[:, None]
        for _ in range(3):
            n = gradient(field, p, 0.3)
            miss = field(p[:, 0], p[:, 1], p[:, 2]) - lift[:, i]
            p = p - np.clip(miss, -4.0, 4.0)[:, None] * n
        lines.append(p)
        normals.append(n)
    return np.stack(lines, axis=1), np.stack(normals, axis=1)


def roots(field: Field, count: int, centre: tuple[float, float, float], seed: int) -> Array:
    """Even places (count, 3) over the whole of a round surface [mm]."""
    i = np.arange(count)
    height = 1.0 - 2.0 * (i + 0.5) / count
    turn = GOLDEN * i
    ring = np.sqrt(1.0 - height * height)
    way = np.stack([ring * np.cos(turn), height, ring * np.sin(turn)], axis=1)
    shift = np.stack([chance(i, i * 0 + axis, i * 0, seed) - 0.5 for axis in range(3)], axis=1)
    way += 3.0 / np.sqrt(count) * shift
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    lo, hi = np.zeros(count), np.full(count, 190.0)
    for _ in range(26):
        mid = 0.5 * (lo + hi)
        p = np.array(centre) + mid[:, None] * way
        out = field(p[:, 0], p[:, 1], p[:, 2]) > 0.0
        lo, hi = np.where(out, lo, mid), np.where(out, mid, hi)
    return np.array(centre) + hi[:, None] * way


def even(line: Array) -> np.ndarray:
    """True (n,) for lines that never turn sharply nor stand still."""
    part = np.diff(line, axis=1)
    size = np.linalg.norm(part, axis=2)
    turn = (part[:, 1:] * part[:, :-1]).sum(axis=2) / np.maximum(size[:, 1:] * size[:, :-1], 1e-12)
    return np.asarray((turn > 0.5).all(axis=1) & (size > 0.15).all(axis=1))


def _swirl(p: Array, d: Array, size: float, strength: float, seed: int) -> Array:
    """Directions turned unevenly, alike within a lock of `size` mm."""
    x, y, z = (p / size).T
    return d + strength * np.stack([noise(x, y, z, seed + axis) for axis in range(3)], axis=1)


def short_tufts(hair: Hair, count: int) -> Tufts:
    """Short hair: away from the crown, over to one side at the front, longer on top."""
    p = roots(hair.scalp, count, (0.0, 20.0, -8.0), 31)
    edge = roots(hair.scalp, 12_000, (0.0, 20.0, -8.0), 34)
    p = np.concatenate([p, edge[np.abs(hair.rim(*edge.T) - 4.0) < 8.0]])
    count = len(p)
    x, y, z = p[:, 0], p[:, 1], p[:, 2]
    x0, y0, z0 = hair.sitter.canonical(np.abs(x), y, z)
    luck = [chance(np.arange(count), np.full(count, j), np.zeros(count), 32) for j in range(5)]
    keep = luck[0] < growth(np.sign(x) * x0, y0, z0, hair.sitter.recede)
    p, (_, b, c, d, e) = p[keep], [v[keep] for v in luck]
    x, y, z = p.T
    x0, y0, z0 = hair.sitter.canonical(np.abs(x), y, z)
    rim, style = hair.rim(x, y, z), hair.style
    top = step(55.0, 95.0, y0)
    full = step(-3.0, 28.0, rim)
    length = 6.5 + 4.0 * step(-10.0, 50.0, y0) + 15.0 * top
    length *= style.length * (0.45 + 0.55 * full) * (0.75 + 0.5 * b)
    width = (0.42 + 0.5 * full + 0.35 * top) * (0.75 + 0.5 * c)

    swept = (chance(np.arange(len(p)), 0 * x, 0 * x, 33) < step(66.0, 20.0, x)).astype(float)

    def way(q: Array, s: float) -> Array:
        away = q - CROWN
        away /= np.linalg.norm(away, axis=1, keepdims=True)
        away[:, 1] -= 0.35 * step(60.0, 20.0, q[:, 1])
        over = -swept
        front = step(10.0, 60.0, q[:, 2]) * step(48.0, 75.0, q[:, 1])
        aside = np.stack([over, 0.15 + 0 * over, 0.25 + 0 * over], axis=1)
        aside -= np.stack(
            [0.0 * over, 1.0 + over, 0.0 * over], axis=1
        )  # the near temple lies forward and down
        mixed = away * (1.0 - 0.8 * front)[:, None] + aside * (0.8 * front)[:, None]
        return _swirl(q, mixed, 11.0, 0.45 * style.tousle, 40)

    k = 4
    s = np.linspace(0.0, 1.0, k)
    lock = noise(x / 8.0, y / 8.0, z / 8.0, 51)
    rise = (0.5 + 1.2 * top + 0.9 * (lock + 0.4)) * full + 0.15 + 1.6 * top * d**3
    rise *= style.depth
    lift = -0.4 * (1.0 - full[:, None]) + rise[:, None] * np.sin(0.5 * np.pi * s) ** 1.2
    lift -= (0.8 * full + 0.3)[:, None] * (1.0 - s) ** 2
    lift -= 0.5 * (full * (1.0 - d))[:, None] * s**2
    line, outward = march(hair.carrier, p, way, length, lift)
    good = even(line)
    taper = np.array([0.85, 1.0, 0.7, 0.0])
    shade = 0.78 + 0.26 * s[None, :] + 0.30 * (e - 0.5)[:, None] + 0.12 * lock[:, None]
    return Tufts(line[good], outward[good], (width[:, None] * taper)[good], shade[good])


def long_tufts(hair: Hair, count: int) -> Tufts:
    """Hair to the jaw: from the parting down over the head to thinned ends; finer along the hairline."""
    p = roots(hair.carrier, count, (0.0, 10.0, -18.0), 61)
    rim = hair.rim(*p.T)
    edge = roots(hair.scalp, 16_000, (0.0, 20.0, -8.0), 64)
    x0, y0, z0 = hair.sitter.canonical(np.abs(edge[:, 0]), edge[:, 1], edge[:, 2])
    near = hair.rim(*edge.T)
    edge = edge[(near > -4.0) & (near < 16.0) & (y0 > 34.0) & (z0 > 0.0)]
    fine = np.concatenate([np.zeros(len(p), bool), np.ones(len(edge), bool)])
    p = np.concatenate([p, edge])
    number = np.arange(len(p))
    luck = [chance(number, np.full(len(p), j), 0 * number, 62) for j in range(5)]
    x0, y0, z0 = hair.sitter.canonical(np.abs(p[:, 0]), p[:, 1], p[:, 2])
    rim = hair.rim(*p.T)
    thick = (rim > 1.0 + 9.0 * luck[0]) | (y0 < 40.0)
    face = (z0 > 34.0 + 0.22 * np.clip(y0 - 10.0, -100.0, 60.0)) & (y0 < 40.0)
    thick &= ~face & (y0 > -70.0 + 25.0 * luck[1])
    keep = np.where(fine, luck[0] < growth(np.sign(p[:, 0]) * x0, y0, z0, hair.sitter.recede), thick)
    p, fine, rim, (_, b, c, d, e) = p[keep], fine[keep], rim[keep], [v[keep] for v in luck]
    x, y, z = p.T
    length = (34.0 + 50.0 * b) * step(-105.0, -35.0, y)
    length = np.minimum(length + 8.0, np.maximum(y + 84.0, 8.0) * 1.05 + 30.0 * step(70.0, 100.0, y))
    length = np.where(fine, (16.0 + 26.0 * b) * (0.35 + 0.65 * step(-4.0, 8.0, rim)), length)
    width = (1.1 + 1.5 * c) * (0.7 + 0.3 * step(-80.0, -40.0, y))
    width = np.where(fine, (0.4 + 0.5 * c) * (0.55 + 0.45 * step(-4.0, 8.0, rim)), width)

    def way(q: Array, s: float) -> Array:
        side = np.tanh((q[:, 0] - MIDDLE) / 5.0)
        up = step(55.0, 100.0, q[:, 1])
        front = step(5.0, 50.0, q[:, 2]) * step(34.0, 66.0, q[:, 1])
        back = np.where(q[:, 2] > 0.0, -0.30 * up, -0.1) - 1.1 * front
        away = np.stack([(1.1 * up + 0.45 * front) * side, -1.0 + 1.4 * front, back], axis=1)
        away[:, 0] -= 0.10 * np.sign(q[:, 0]) * step(-30.0, -75.0, q[:, 1])
        return _swirl(q * (1.0, 0.35, 1.0), away, 13.0, 0.16, 70)

    k = 7
    s = np.linspace(0.0, 1.0, k)
    lock = noise(x / 7.0, y / 40.0, z / 7.0, 71)
    rise = np.where(fine, 0.5 + 0.4 * d, 0.5 + 0.6 * lock + 1.0 * d**4)
    lift = rise[:, None] * np.sin(np.pi * np.clip(s * 0.8, 0, 1)) - 0.9 * (1.0 - s) ** 3 - 0.5 * s**3
    line, outward = march(hair.carrier, p, way, length, lift)
    low = hair.rim(*line.reshape(-1, 3).T).reshape(line.shape[:2])
    good = even(line) & ~((low < -6.0) & (line[:, :, 1] > 30.0) & (line[:, :, 2] > 30.0)).any(axis=1)
    taper = np.array([0.5, 0.95, 1.0, 1.0, 0.85, 0.6, 0.0])
    shade = 0.86 + 0.10 * s[None, :] + 0.34 * (e - 0.5)[:, None] + 0.14 * lock[:, None]
    return Tufts(line[good], outward[good], (width[:, None] * taper)[good], shade[good])
