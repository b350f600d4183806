"""Light known beforehand on the faces of the room: looked up instead of followed further.

Most of a room's bounced light has met a wall twice or more and varies slowly over it. A path that
reaches a wall after its first bounce may therefore end there with what a grid over the wall says, and of a
wall that is looked at only the light straight from the lights has to be sampled.
This smears light over a cell of the grid, so it is used for pictures and never for meter readings.

Where nothing may be smeared, some of the paths go on, as the difference of two: that from where the wall was
met, less that from one of the four nodes around, drawn by its share in what the grid says there. On the mean
this is what straight lines between nodes get wrong; nodes are near, so it is little, and few need to go on.
What nodes scatter by stays: every half of a film has a grid of its own, so that it is told with the rest.

source  light at one place as what is known of it at another and a difference, of which both share the random
        numbers: Hammersley & Handscomb, Monte Carlo Methods, 1964, section 5.5 (control variates)
"""

from renderer.kernels.compiler import inlined, kernel

ALL, BOUNCED_ONCE = 0, 3  # first column of three in the grid
INSET = 1e-3  # m: how far a node stands off its wall, its edges and corners
# Of paths that bring all light of a wall to their receiver, those that go on past it. From 0.12 to 0.3 the
# time to equal error is the same within a tenth, at 0.5 a sixth longer; the fewer, the more specks.
GO_ON = 0.35


@kernel
def is_known(scene):
    return scene.wall_light.shape[2] > 1


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
             made of it. Paths that go on all bring 1 / GO_ON, so that none comes to count without bound.
    """
    share = min(1.0, GO_ON * carried)
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
def place_on_wall(scene, half, face, point):
    """Where a point of a face of the room lies in its grid: (grid, face, node i, node j, share of each of the
    four nodes from there on)."""
    room = scene.room[0]
    grid, nodes = min(half, scene.wall_light.shape[0] - 1), scene.wall_light.shape[2]
    axis = face // 2
    first, second = (1 if axis == 0 else 0), (1 if axis == 2 else 2)
    i, a = cell_of(room.low[first], room.high[first], point[first], nodes)
    j, b = cell_of(room.low[second], room.high[second], point[second], nodes)
    return grid, face, i, j, ((1.0 - a) * (1.0 - b), a * (1.0 - b), (1.0 - a) * b, a * b)


@kernel
def within(room, axis, share):
    """Place on an axis, from the first node there to the last."""
    low, high = room.low[axis] + INSET, room.high[axis] - INSET
    return low + (high - low) * share


@inlined
def node_at(room, face, i, j, last):
    """Where a node stands; `last` is the number of the last on each side."""
    axis, upper, a, b = face // 2, float(face % 2), i / last, j / last
    return (
        within(room, 0, upper if axis == 0 else a),
        within(room, 1, upper if axis == 1 else (a if axis == 0 else b)),
        within(room, 2, upper if axis == 2 else b),
    )


@inlined
def node_near(scene, place, choice):
    """One of the four nodes around a `place_on_wall`, each by its share: (point, what is left of `choice`).

    choice  random, in [0, 1)
    """
    _, face, i, j, shares = place
    corner = 0
    while corner < 3 and choice >= shares[corner]:
        choice -= shares[corner]
        corner += 1
    left = min(choice / max(shares[corner], 1e-12), 1.0 - 1e-12)
    last = scene.wall_light.shape[2] - 1
    return node_at(scene.room[0], face, i + corner % 2, j + corner // 2, last), left


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
    own, face, i, j, shares = place
    return (
        shares[0] * grid[own, face, i, j, light, column]
        + shares[1] * grid[own, face, i + 1, j, light, column]
        + shares[2] * grid[own, face, i, j + 1, light, column]
        + shares[3] * grid[own, face, i + 1, j + 1, light, column]
    )
