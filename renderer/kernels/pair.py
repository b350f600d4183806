"""Two places on a wall whose light is taken one from the other, by one path.

The path leaves either place, in turns by chance, for a point that the other may see as well: light from there
counts at both, once with each sign, and where the places are near each other little is left of it.

source  a path set down beside itself and joined to its next point, what either finds taken with the density
        of both: Lehtinen et al., Gradient-Domain Metropolis Light Transport, ACM TOG 32(4), 2013, and
        Kettunen et al., Gradient-Domain Path Tracing, ACM TOG 34(4), 2015 (from memory)
"""

import math

from renderer.kernels.compiler import inlined
from renderer.kernels.lens import let_through
from renderer.kernels.scene import occluded
from renderer.kernels.vector import dot, scale, sub

NO_SHAPE = -1


@inlined
def shares_of_pair(scene, work, leaving, other, normal, point, seen, direction, distance, mirrored):
    """What light counts for that a path has found from one place of a pair, and what is taken off for the
    other.

    leaving    the place that the path has left, along `direction`; other: of the same wall, with `normal`
    point      what it has found, `distance` away, its unit normal `seen` on the side of the path
    mirrored   by a lens on the way: from the other place the same point is not found so
    returns    (here, there, direction and distance to `point` from the other place)

    With p the density over surfaces with which a place finds the point, each is p / (p_here + p_there) / 0.5.
    """
    toward = sub(point, other)
    square = max(1e-24, dot(toward, toward))
    far = math.sqrt(square)
    w_other = scale(toward, 1.0 / far)
    leaves, arrives = dot(w_other, normal), -dot(w_other, seen)
    if mirrored or leaves <= 0.0 or arrives <= 0.0 or occluded(scene, work, other, w_other, far, NO_SHAPE):
        return 2.0, 0.0, w_other, far
    there = leaves * arrives / square * let_through(scene, other, w_other, far)
    here = dot(direction, normal) * -dot(direction, seen) / (distance * distance)
    here *= let_through(scene, leaving, direction, distance)
    return 2.0 * here / (here + there), 2.0 * there / (here + there), w_other, far
