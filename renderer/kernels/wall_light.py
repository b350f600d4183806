"""Light known beforehand on the faces of the room: looked up instead of followed further.

Most of a room's bounced light has met a wall twice or more and varies slowly over it. A path that
reaches a wall after its first bounce may therefore end there with what a grid over the wall says, and of a
wall that is looked at only the light straight from the lights has to be sampled.
This smears light over a cell of the grid, so it is used for pictures and never for meter readings.

Where nothing may be smeared, some of the paths go on: each of these takes back what the grid has said and
adds what it finds, over the share of such paths. The mean is then that of paths followed to their end,
whatever the grid says, and the few that go on bring only what it lacks.

source  a control variate: Hammersley & Handscomb, Monte Carlo Methods, 1964, section 5.5
"""

from renderer.kernels.compiler import inlined, kernel

ALL, BOUNCED_ONCE = 0, 3  # first column of three in the grid


@kernel
def is_known(scene):
    return scene.wall_light.shape[1] > 1


@kernel
def ends_paths(scene):
    """Whether what is known of the walls is all that is wanted."""
    return is_known(scene) and scene.past_walls[0] == 0


@kernel
def onward(scene, fate, carried):
    """Whether a path goes on past a wall whose light is known: 1 over the share of those that do, or 0; and
    what is left of `fate` to choose by again.

    fate     random, in [0, 1)
    carried  part of the light there that the path brings to its receiver, times what earlier choices have
             made of it. Paths that go on all bring 1, so that none comes to count without bound. (Fewer, each
             with more: 0.7 and 0.5 of them scattered as much more as they took less time.)
    """
    share = min(1.0, carried)
    if scene.past_walls[0] == 0 or fate >= share:
        return 0.0, fate
    return 1.0 / share, fate / share


@kernel
def cell_of(low, high, at, nodes):
    """Node below `at` on a side from low to high, and how far on to the next one (0..1)."""
    place = (at - low) / (high - low) * (nodes - 1)
    node = min(max(int(place), 0), nodes - 2)
    return node, min(max(place - node, 0.0), 1.0)


@inlined
def place_on_wall(scene, face, point):
    """Where a point of a face of the room lies in its grid: (face, node i, node j, share of each of the four
    nodes from there on)."""
    room = scene.room[0]
    nodes = scene.wall_light.shape[1]
    axis = face // 2
    first, second = (1 if axis == 0 else 0), (1 if axis == 2 else 2)
    i, a = cell_of(room.low[first], room.high[first], point[first], nodes)
    j, b = cell_of(room.low[second], room.high[second], point[second], nodes)
    return face, i, j, ((1.0 - a) * (1.0 - b), a * (1.0 - b), (1.0 - a) * b, a * b)


@inlined
def arriving_on_wall(scene, place, light, part):
    """Illuminance (RGB) of `light` at a `place_on_wall`.

    part  ALL of it, or only what has BOUNCED_ONCE at least
    """
    grid = scene.wall_light
    return (
        between_nodes(grid, place, light, part),
        between_nodes(grid, place, light, part + 1),
        between_nodes(grid, place, light, part + 2),
    )


@inlined
def between_nodes(grid, place, light, column):
    """One column of the grid between node i, j and its three neighbours upward."""
    face, i, j, shares = place
    return (
        shares[0] * grid[face, i, j, light, column]
        + shares[1] * grid[face, i + 1, j, light, column]
        + shares[2] * grid[face, i, j + 1, light, column]
        + shares[3] * grid[face, i + 1, j + 1, light, column]
    )
