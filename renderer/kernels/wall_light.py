"""Light known beforehand on the faces of the room: looked up instead of followed further.

Most of a room's bounced light has met a wall twice or more and varies slowly over it. A path that
reaches a wall after its first bounce may therefore end there with what a grid over the wall says.
This smears light over a cell of the grid, so it is used for pictures and never for meter readings.
"""

from renderer.kernels.compiler import kernel


@kernel
def is_known(scene):
    return scene.wall_light.shape[1] > 1


@kernel
def cell_of(low, high, at, nodes):
    """Node below `at` on a side from low to high, and how far on to the next one (0..1)."""
    place = (at - low) / (high - low) * (nodes - 1)
    node = min(max(int(place), 0), nodes - 2)
    return node, min(max(place - node, 0.0), 1.0)


@kernel
def arriving_on_wall(scene, face, point, light):
    """Illuminance (RGB) of `light` at a point of a face of the room, between its four nodes."""
    room = scene.room[0]
    nodes = scene.wall_light.shape[1]
    axis = face // 2
    first, second = (1 if axis == 0 else 0), (1 if axis == 2 else 2)
    i, a = cell_of(room.low[first], room.high[first], point[first], nodes)
    j, b = cell_of(room.low[second], room.high[second], point[second], nodes)
    grid = scene.wall_light
    w00, w10, w01, w11 = (1.0 - a) * (1.0 - b), a * (1.0 - b), (1.0 - a) * b, a * b
    red = (
        w00 * grid[face, i, j, light, 0]
        + w10 * grid[face, i + 1, j, light, 0]
        + w01 * grid[face, i, j + 1, light, 0]
        + w11 * grid[face, i + 1, j + 1, light, 0]
    )
    green = (
        w00 * grid[face, i, j, light, 1]
        + w10 * grid[face, i + 1, j, light, 1]
        + w01 * grid[face, i, j + 1, light, 1]
        + w11 * grid[face, i + 1, j + 1, light, 1]
    )
    blue = (
        w00 * grid[face, i, j, light, 2]
        + w10 * grid[face, i + 1, j, light, 2]
        + w01 * grid[face, i, j + 1, light, 2]
        + w11 * grid[face, i + 1, j + 1, light, 2]
    )
    return red, green, blue
