"""Brows and lashes as fine tufts: each brow hair follows the brow's flow, each lash leaves the lid's edge."""

import numpy as np

from .blend import Array, spline, step
from .flow import Tufts, march
from .head import Head
from .landmark import shoot
from .noise import chance, noise
from .paint import BROW_HALF, BROW_LINE

BROW_HAIRS = 400
UPPER, LOWER = 72, 40


def _luck(count: int, columns: int, seed: int) -> list[Array]:
    number = np.arange(count)
    return [chance(number, np.full(count, j), 0 * number, seed) for j in range(columns)]


def brow(head: Head) -> Tufts:
    """Hairs of the sitter's left brow: upright at its head, sweeping outward, meeting along its middle."""
    who = head.sitter
    a, b, c, d, e = _luck(BROW_HAIRS, 5, 81)
    t = 0.97 * (a + 0.30 * a * (1.0 - a) * (1.0 - 2.0 * a)) ** 1.08  # fewer towards the tail
    middle = spline([[x, y, 0.0] for x, y in BROW_LINE], 201)
    place = np.stack([np.interp(t, np.linspace(0, 1, 201), middle[:, i]) for i in (0, 1)], axis=1)
    slope = np.stack([np.gradient(middle[:, i]) for i in (0, 1)], axis=1)
    slope /= np.linalg.norm(slope, axis=1, keepdims=True)
    along = np.stack([np.interp(t, np.linspace(0, 1, 201), slope[:, i]) for i in (0, 1)], axis=1)
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    off = np.sign(b - 0.5) * np.abs(2.0 * b - 1.0) ** 0.9  # -1 lower edge, 1 upper edge
    half = who.brow_weight**0.7 * BROW_HALF(t)
    foot = place + across * (off * half * 1.02 - 0.12 * half)[:, None] + along * (2.0 * (c - 0.5))[:, None]
    placed = np.array([who.actual(float(x), float(y)) for x, y in foot])
    start = shoot(head, np.column_stack([placed, np.full(len(t), 125.0)]), (0.0, 0.0, -1.0), 110.0)
    # towards the outer end at the tail; upright at the head; the upper row lies down, the lower row stands up
    climb = (1.15 * step(0.30, 0.0, t) + 0.75 * step(0.75, 0.2, t)) * np.where(off < 0.1, 1.0, 0.45)
    climb += np.where(off < 0.0, 0.34, -0.32) * step(0.05, 0.3, t) + 0.30 * (d - 0.5)
    flow = along + across * climb[:, None]
    flow = np.column_stack([flow / np.linalg.norm(flow, axis=1, keepdims=True), np.zeros(len(t))])
    bend = np.column_stack([along, np.zeros(len(t))])
    length = (5.2 + 2.2 * e) * (0.72 + 0.5 * step(0.0, 0.25, t)) * (1.0 - 0.5 * step(0.55, 1.0, t))

    def way(p: Array, s: float) -> Array:
        return flow * (1.0 - 0.45 * s) + bend * 0.45 * s

    s = np.linspace(0.0, 1.0, 4)
    lift = -0.25 + (0.55 + 0.45 * c[:, None]) * np.sin(0.5 * np.pi * np.minimum(1.0, 1.6 * s)) - 0.15 * s
    line, outward = march(head, start, way, length, lift)
    fine = (0.13 + 0.06 * d) * who.brow_weight**0.5 * (1.0 - 0.25 * step(0.6, 1.0, t))
    taper = np.array([0.8, 1.0, 0.65, 0.0])
    shade = np.repeat((1.05 + 0.6 * (e - 0.5))[:, None], 4, axis=1)
    return Tufts(line, outward, fine[:, None] * taper, shade)


def lashes(head: Head) -> Tufts:
    """Upper and lower lashes of the sitter's left eye, from the front edge of the lids."""
    eye = head.eye
    cx = eye.centre[0]
    parts = []
    for upper, count, seed in ((True, UPPER, 93), (False, LOWER, 92)):
        a, b, c, d = _luck(count, 4, seed)
        t = (np.arange(count) + 0.7 * (a - 0.5)) / (count - 1)
        lo, hi = eye.inner[0] + (3.6 if upper else 6.0), eye.outer[0] - (0.3 if upper else 1.2)
        x = cx + lo + (hi - lo) * np.clip(t, 0.0, 1.0)
        up, down = eye.lids(x)
        edge = up + 0.45 + 0.35 * b if upper else down - 0.75 - 0.35 * b
        start = shoot(head, np.column_stack([x, edge, np.full(count, 125.0)]), (0.0, 0.0, -1.0), 110.0)
        out = (x - cx) / 15.0
        clump = 0.22 * noise(3.1 * x, 0.0 * x, 0.0 * x, seed)  # neighbours lean together
        fan = 0.12 + 0.75 * out + 0.5 * clump + 0.12 * (c - 0.5)
        if upper:
            first = np.column_stack([0.6 * fan, -0.30 + 0.15 * (c - 0.5), np.ones(count)])
            length = (6.2 + 2.0 * step(-0.6, 0.7, out)) * (0.72 + 0.38 * d) * step(-1.25, -0.35, out) ** 0.3
            curl = np.column_stack([0.35 * fan, np.full(count, 0.74), np.full(count, -0.12)])
        else:
            first = np.column_stack([0.7 * fan, np.full(count, -0.35), np.ones(count)])
            length = (3.0 + 1.0 * step(-0.4, 0.8, out)) * (0.7 + 0.5 * d)
            curl = np.column_stack([0.4 * fan, np.full(count, -0.45), np.full(count, -0.25)])
        first /= np.linalg.norm(first, axis=1, keepdims=True)
        s = np.linspace(0.0, 1.0, 5)[None, :, None]
        line = start[:, None] - 0.35 * first[:, None] * (1.0 - s)
        line = line + length[:, None, None] * (s * first[:, None] + s * s * curl[:, None])
        outward = np.broadcast_to([0.0, 1.0 if upper else -1.0, 0.15], line.shape)
        fine = (0.125 if upper else 0.085) * (0.8 + 0.4 * c)
        taper = np.array([1.0, 0.9, 0.65, 0.35, 0.0])
        shade = np.full((count, 5), 0.45 if upper else 0.8)
        parts.append(Tufts(line, outward, fine[:, None] * taper, shade))
    return Tufts(*(np.concatenate(both) for both in zip(*(vars(p).values() for p in parts), strict=True)))
