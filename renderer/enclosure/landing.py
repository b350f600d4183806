"""Where the light of a head on the axis lands first: exact for every band and ring."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from renderer.enclosure.beam import Head
from renderer.enclosure.check import SAME, choice, number
from renderer.enclosure.grid import Grid
from renderer.errors import InputError

Floats = NDArray[np.float64]
Points = Literal["down", "up"]


def first_light(grid: Grid, head: Head, at: float, points: Points) -> Floats:
    """Illuminance [lx] straight from a head on the axis, mean of every row (rows, 1).

    at      its height above the lower edge [m]
    points  the way its axis points, down or up

    The edge of every band and ring is seen from the head under one angle, so a row gets the difference of
    the flux within two cones. The head's own body hides nothing and returns nothing.
    Raises InputError for a head that is not inside.
    """
    choice("head: points", points, ("down", "up"))
    tall = grid.heights[-1]
    number("head: at", at, 0.0, tall, "metres, inside the cylinder")
    heights, radii = np.array(grid.heights), np.array(grid.radii)
    before = at if points == "down" else tall - at
    behind = tall - at if points == "down" else at
    ahead = np.arctan2(radii, before)
    back = math.pi - np.arctan2(radii, behind)
    side = np.arctan2(grid.radius, at - heights if points == "down" else heights - at)
    within = head.beam.within
    if before == 0.0 or (behind == 0.0 and float(within(np.array(math.pi / 2.0))) < 1.0 - SAME):
        raise InputError(
            f"head: at {at:g} metres lies in an end that it lights: expected a height inside 0 to {tall:g}"
        )
    landed = np.zeros(grid.rows)
    landed[grid.rows_of("side")] = np.abs(np.diff(within(side)))
    landed[grid.rows_of("bottom" if points == "down" else "top")] = np.diff(within(ahead))
    landed[grid.rows_of("top" if points == "down" else "bottom")] = np.diff(-within(back))
    return np.asarray((head.lumens * landed / grid.row_areas())[:, None])
