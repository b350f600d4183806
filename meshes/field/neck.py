"""Neck, its two long muscles, shoulders and upper chest, as sections over height; cut flat at the bottom."""

from collections.abc import Callable

import numpy as np

from .blend import Array, bell, curve, tube, union

Curve = Callable[[Array], Array]
FLOOR = -284.73

NECK_SIDE = curve(
    [(-15, 36), (-40, 46), (-80, 50.5), (-110, 51.5), (-140, 53.5), (-170, 58), (-200, 64), (-230, 66)]
)
NECK_FRONT = curve([(-40, 20), (-80, 26), (-110, 31), (-140, 32.5), (-165, 29.5), (-200, 22), (-230, 16)])
NECK_BACK = curve(
    [(-15, -62), (-40, -72), (-70, -77), (-100, -80), (-130, -88), (-160, -100), (-200, -112), (-230, -118)]
)

BUST_SIDE = curve(
    [
        (-110, 36),
        (-140, 53),
        (-160, 73),
        (-176, 103),
        (-188, 144),
        (-198, 175),
        (-212, 199),
        (-235, 215),
        (-260, 222),
        (-290, 226),
    ]
)
BUST_FRONT = curve([(-120, -20), (-150, -4), (-180, 10), (-205, 24), (-235, 38), (-265, 49), (-290, 55)])
BUST_BACK = curve([(-120, -84), (-150, -98), (-180, -112), (-210, -126), (-250, -138), (-290, -142)])

STERNO = [
    (54.0, -26.0, -24.0, 7.0),
    (48.0, -60.0, -17.0, 8.0),
    (42.0, -100.0, -2.0, 9.0),
    (33.0, -145.0, 12.0, 8.5),
    (21.0, -185.0, 17.5, 6.0),
    (16.0, -206.0, 18.0, 3.5),
]
CLAVICLE = [
    (20.0, -206.0, 20.0, 4.5),
    (45.0, -202.0, 18.5, 5.4),
    (85.0, -195.0, 1.0, 5.2),
    (125.0, -192.0, -22.0, 5.4),
    (165.0, -197.0, -42.0, 6.0),
]


def _section(x: Array, y: Array, z: Array, side: Curve, front: Curve, back: Curve, power: float) -> Array:
    """First-order distance to a stack of superellipses over height [mm]."""

    def value(h: Array) -> tuple[Array, Array, Array, Array]:
        rx, zf, zb = side(h), front(h), back(h)
        mid, rz = 0.5 * (zf + zb), 0.5 * (zf - zb)
        total = ((x / rx) ** 2) ** (power / 2) + (((z - mid) / rz) ** 2) ** (power / 2)
        return total, rx, rz, mid

    q, rx, rz, mid = value(y)
    g = q ** (1.0 / power)
    up, down = value(y + 0.5)[0] ** (1.0 / power), value(y - 0.5)[0] ** (1.0 / power)
    scale = q ** (1.0 / power - 1.0)
    gx = scale * ((x / rx) ** 2) ** ((power - 1) / 2) / rx
    gz = scale * (((z - mid) / rz) ** 2) ** ((power - 1) / 2) / rz
    slope = np.sqrt(gx * gx + gz * gz + (up - down) ** 2)
    return np.asarray((g - 1.0) / np.maximum(slope, 1.0 / 160.0))


def neck(x: Array, y: Array, z: Array) -> Array:
    """Column of the neck with the sternomastoid muscles, distance estimate [mm]."""
    column = _section(x, y, z, NECK_SIDE, NECK_FRONT, NECK_BACK, 2.15)
    column = np.maximum(column, y + 12.0)
    larynx = 2.6 * bell(y + 146.0, 16.0) * bell(x, 13.0) * (z > 0)
    muscle = tube(x, y, z, STERNO, 72)
    return union(column - larynx, muscle, 13.0)


def bust(x: Array, y: Array, z: Array) -> Array:
    """Shoulders and upper chest, distance estimate [mm]."""
    trunk = _section(x, y, z, BUST_SIDE, BUST_FRONT, BUST_BACK, 2.3)
    trunk = np.maximum(trunk, y + 125.0)
    return union(trunk, tube(x, y, z, CLAVICLE, 56), 15.0)


def add_neck(f: Array, x: Array, y: Array, z: Array) -> Array:
    """Join neck and bust to the head (points below y -5); narrow blend under the jaw, wide at the nape."""
    k = np.clip(9.0 + 0.35 * (20.0 - z), 9.0, 30.0)
    body = union(neck(x, y, z), bust(x, y, z), 26.0)
    notch = 3.6 * bell(np.hypot(x, y + 207.0), 10.0) * (z > 0)
    body = np.maximum(body + notch, FLOOR - y)
    return union(f, body, k)
