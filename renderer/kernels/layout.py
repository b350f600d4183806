"""The packed scene: one NamedTuple of arrays, made by renderer.world.pack and only read by kernels.

Shapes, rooms and cameras are few and kept in double precision; triangles and tree nodes are many and
kept in single. Arithmetic is double everywhere but in the box tests.
"""

from typing import Annotated, NamedTuple

import numpy as np

STACK = np.dtype([("child", "i4"), ("entry", "f4")])  # read as one integer, the entry above the child

SHAPE = np.dtype(
    [
        ("kind", "i4"),  # place in the table of renderer.kernels.shapes
        ("light", "i4"),  # layer it emits into, -1 for none
        ("luminance", "f8"),  # cd/m2 of the front
        ("centre", "f8", 3),  # m
        ("u", "f8", 3),  # unit axes; `w` is the normal, or the axis of a tube
        ("v", "f8", 3),
        ("w", "f8", 3),
        ("size_u", "f8"),  # m: half sides of a rectangle, radius of the others
        ("size_v", "f8"),  # of a tube: the least x along u that belongs to it
        ("phi_from", "f8"),  # rad, tubes only
        ("phi_to", "f8"),
        ("z_from", "f8"),  # m along w, tubes only
        ("z_to", "f8"),
        ("area", "f8"),  # m2
        ("middle", "f8", 3),  # centre and radius of a sphere about the shape
        ("reach", "f8"),
        ("front", "f8", 3),  # albedo, linear RGB
        ("back", "f8", 3),
        ("glow", "i4"),  # its tables in PackedScene, -1 for none: luminance over the surface,
        ("beam", "i4"),  # luminance by direction,
        ("mask", "i4"),  # and where it lets light through
        ("straight", "f8"),  # share of the rays that pass it undeflected, as through a weave; 0 for none
        ("weave", "i4"),  # which one: its shapes pass the same rays
        ("gloss", "i4"),  # its table in PackedScene where the front is a rough metal, -1 where Lambertian
    ],
    align=True,
)

LIGHT = np.dtype(
    [
        ("first", "i4"),  # its shapes are first .. first + count - 1
        ("count", "i4"),
        ("middle", "f8", 3),  # centre and radius of a sphere about them [m]
        ("reach", "f8"),
    ],
    align=True,
)

ROOM = np.dtype(
    [
        ("present", "i4"),
        ("low", "f8", 3),  # m
        ("high", "f8", 3),
        ("albedo", "f8", (6, 3)),  # faces x-, x+, y-, y+, z-, z+
    ],
    align=True,
)

GLOW_ROWS, GLOW_COLUMNS = 24, 24
BEAM_ROWS, BEAM_COLUMNS = 91, 24  # gamma from 0 to 90 degrees, C round the turn
MASK_SIDE = 512
GLOSS_COLUMNS = 65

COAT_ROWS, COAT_COLUMNS, COAT_ROUGHEST = 9, 17, 0.4
COAT_ALPHAS = np.linspace(0.0, COAT_ROUGHEST, COAT_ROWS)  # roughness of the rows of a coat's table
COAT_COSINES = np.linspace(0.0, 1.0, COAT_COLUMNS)  # and cosines of its columns

LENS = np.dtype(  # of spectacles: a part of a sphere
    [
        ("eta", "f8"),  # refractive index whose surfaces mirror as those of the lens do
        ("centre", "f8", 3),  # of the sphere [m]
        ("radius", "f8"),
        ("u", "f8", 3),  # unit axes: across and up the lens, and from the centre to its middle
        ("v", "f8", 3),
        ("w", "f8", 3),
        ("half_u", "f8"),  # m: the outline is |x / half_u|^corner + |y / half_v|^corner = 1
        ("half_v", "f8"),
        ("corner", "f8"),
        (
            "cut",
            "f8",
        ),  # by how much it is narrower below, beside the nose: at u < 0 where above 0, else at u > 0
        ("middle", "f8", 3),  # centre and radius of a sphere about the lens
        ("reach", "f8"),
    ],
    align=True,
)

MATERIAL = np.dtype(
    [
        ("eta", "f8"),  # refractive index of a clear coat, 0 for none
        ("window", "i4"),  # 1 where a smooth coat is seen through, onto the surface behind it
        ("scatter", "f8", 3),  # scale d of subsurface scattering [m] by colour, 0 for none
        (
            "reflected",
            "f8",
            (COAT_ROWS, COAT_COLUMNS),
        ),  # what the coat reflects of light at COAT_COSINES, by COAT_ALPHAS
        ("reflected_evenly", "f8", COAT_ROWS),  # and of even light
    ],
    align=True,
)

CAMERA = np.dtype(
    [
        ("at", "f8", 3),
        ("forward", "f8", 3),
        ("step_right", "f8", 3),  # from one pixel to the next, at distance 1
        ("step_down", "f8", 3),
        ("width", "i4"),
        ("height", "i4"),
    ],
    align=True,
)

NOTHING, WALL, PART, MESH = 0, 1, 2, 3  # families of what a ray can meet
FLAT, DOME, CONE, SIGHT = 0, 1, 2, 3  # kinds of probe; SIGHT only notes what it sees along its axis

PROBE = np.dtype(
    [
        ("kind", "i4"),
        ("at", "f8", 3),
        ("axis", "f8", 3),  # unit: normal of the receptor, or line of sight
        ("half_angle", "f8"),  # rad, cone only
    ],
    align=True,
)


# Structures of arrays. Each is declared with its dtype and its shape: numbers are taken for granted by
# kernels of a card (renderer.kernels.bundle), letters say which extents are the same.


class Mesh(NamedTuple):
    nodes: Annotated[np.ndarray, "f4", "m", 64]  # see renderer.kernels.wide
    blocks: Annotated[np.ndarray, "f4", "b", 80]  # triangles again, as the traversal reads them
    node_links: Annotated[np.ndarray, "i4", "m", 64]  # the memory of nodes and of blocks again: for the whole
    block_links: Annotated[np.ndarray, "i4", "b", 80]  # numbers in them
    triangles: Annotated[np.ndarray, "f4", "n", 9]  # first corner, edge to the second, edge to the third [m]
    normals: Annotated[np.ndarray, "f4", "n", 9]  # unit normals at the three corners, outward
    albedos: Annotated[np.ndarray, "f4", "n", 9]  # albedo (linear RGB) at the three corners
    roughness: Annotated[np.ndarray, "f4", "n", 3]  # GGX alpha of the coat at the three corners, 0 smooth
    materials: Annotated[np.ndarray, "i4", "n"]  # number in PackedScene.materials
    patches: Annotated[np.ndarray, "i4", "n"]  # number of a named patch of skin, only noted in SEEN


class PackedScene(NamedTuple):
    shapes: Annotated[np.ndarray, SHAPE, "s"]
    lights: Annotated[np.ndarray, LIGHT, "l"]
    shape_nodes: Annotated[np.ndarray, "f4", "m", 64]  # as in Mesh, a tree over the boxes about shapes,
    shape_links: Annotated[np.ndarray, "i4", "m", 64]  # and its memory: the number of a child's node, or -1 -
    # number of a shape
    cards: Annotated[np.ndarray, "i4", "c"]  # shapes that are sampled for the light they send back
    room: Annotated[np.ndarray, ROOM, 1]
    lenses: Annotated[np.ndarray, LENS, "n"]  # those of spectacles that are worn
    materials: Annotated[np.ndarray, MATERIAL, "n"]
    mesh: Mesh
    # What a shape's luminance is multiplied by: over its surface, as `place_on` of the shape counts, and by
    # direction.
    glows: Annotated[np.ndarray, "f4", "n", GLOW_ROWS, GLOW_COLUMNS]
    beams: Annotated[np.ndarray, "f4", "n", BEAM_ROWS, BEAM_COLUMNS]
    masks: Annotated[np.ndarray, "u1", "n", MASK_SIDE, MASK_SIDE]  # over a flat shape: 0 where it is open
    # Roughness of a metal, and what it returns: see renderer.kernels.gloss
    glosses: Annotated[np.ndarray, "f8", "n", 2 + GLOSS_COLUMNS]
    # Light that arrives on the room's faces, lux as RGB at the nodes of a grid over each face: all of it, and
    # that which has bounced; n = 1 stands for "not known: follow every path". A grid g for each half of a
    # film, or one for all.
    wall_light: Annotated[np.ndarray, "f4", "g", 6, "n", "n", "l", 6]
    # Where that light is known: how many paths of bounces a receiver gathers in one sample, and whether they
    # go on past such a wall (1) or end there (0).
    paths: Annotated[np.ndarray, "i4", 1]
    past_walls: Annotated[np.ndarray, "i4", 1]


class Work(NamedTuple):
    """Scratch memory of one thread."""

    stack: np.ndarray  # STACK
    lanes: np.ndarray  # (8,) float32


# What is seen through the middle of a pixel.
SEEN = np.dtype(
    [
        ("family", "i4"),  # NOTHING, WALL, PART or MESH
        ("number", "i4"),  # face of the room, shape, or material of the mesh
        ("emits", "i4"),  # 1 for the front of a light
        ("patch", "i4"),  # of the mesh
        ("distance", "f4"),  # m
        ("normal", "f4", 3),
        ("albedo", "f4", 3),
    ],
    align=True,
)


class Tally(NamedTuple):
    """Sums over samples, one slot a receiver (pixel or probe). Halves h are independent estimates."""

    radiance: Annotated[np.ndarray, "f4", "h", "r", "l", 2, 3]  # direct, bounced; of probes: illuminance
    irradiance: Annotated[np.ndarray, "f4", "h", "r", "l", 3]  # light arriving at the first surface seen
    samples: Annotated[np.ndarray, "i4", "h", "r"]  # how many
    seen: Annotated[np.ndarray, SEEN, "r"]  # only pixels and SIGHT probes fill it
