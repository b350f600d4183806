"""Rays against the whole scene: room, shapes and mesh together."""

import math

from renderer.kernels.coat import inside_reflectance
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.layout import MESH, NOTHING, PART, WALL
from renderer.kernels.mesh import any_triangle, first_triangle
from renderer.kernels.ray import OFFSET
from renderer.kernels.shape_tree import nearest_shape, shape_between
from renderer.kernels.shapes import normal_at
from renderer.kernels.vector import along, cross, dot, scale, triple, unit

BLACK = (0.0, 0.0, 0.0)


@kernel
def room_exit(room, origin, direction):
    """Distance to the wall of the room from within, and its face (0..5: x-, x+, y-, y+, z-, z+)."""
    best, face = math.inf, -1
    for axis in range(3):
        if direction[axis] != 0.0:
            up = direction[axis] > 0.0
            wall = room.high[axis] if up else room.low[axis]
            t = (wall - origin[axis]) / direction[axis]
            if t < best:
                best, face = max(t, 0.0), 2 * axis + (1 if up else 0)
    return best, face


@inlined
def first_hit(scene, work, origin, direction):
    """The nearest surface: (distance, family, number, u, v, front).

    number = face of the room, place in scene.shapes, or triangle; u, v = barycentrics on a triangle;
    front = whether the front (or inside of the room) was met
    """
    t, family, number, u, v, front = math.inf, NOTHING, -1, 0.0, 0.0, True
    if scene.room[0].present:
        t, number = room_exit(scene.room[0], origin, direction)
        family = WALL
    shape, ti, side = nearest_shape(scene, work, origin, direction, t)
    if shape >= 0:
        t, family, number, front = ti, PART, shape, side
    triangle, ti, bu, bv = first_triangle(scene.mesh, origin, direction, t, work.stack, work.lanes)
    if triangle >= 0:
        t, family, number, u, v = ti, MESH, triangle, bu, bv
        front = dot(direction, triangle_normal(scene.mesh, triangle)) < 0.0
    return t, family, number, u, v, front


@inlined
def occluded(scene, work, origin, direction, distance, shape):
    """Whether anything stands before what `sample` found on a shape: its front, `distance` away."""
    reach = distance - OFFSET
    if shape_between(scene, work, origin, direction, reach, shape):
        return True
    return any_triangle(scene.mesh, origin, direction, reach, work.stack, work.lanes)


@kernel
def triangle_normal(mesh, i):
    """Unit normal of triangle i, outward: corners of the packed mesh turn so that e1 x e2 leaves it."""
    e1 = (float(mesh.triangles[i, 3]), float(mesh.triangles[i, 4]), float(mesh.triangles[i, 5]))
    e2 = (float(mesh.triangles[i, 6]), float(mesh.triangles[i, 7]), float(mesh.triangles[i, 8]))
    return unit(cross(e1, e2))


@kernel
def between_corners(table, i, u, v):
    """Value of a table of corners (n, 9) at barycentrics u, v of triangle i."""
    a = 1.0 - u - v
    return (
        a * table[i, 0] + u * table[i, 3] + v * table[i, 6],
        a * table[i, 1] + u * table[i, 4] + v * table[i, 7],
        a * table[i, 2] + u * table[i, 5] + v * table[i, 8],
    )


@inlined
def surface_at(scene, hit, origin, direction):
    """What was hit, seen from the side it was met: (point, geometric normal, shading normal, albedo,
    eta, inside_reflectance, roughness). Both normals are unit and face the viewer."""
    t, family, number, u, v, front = hit
    point = along(origin, direction, t)
    eta, inside, alpha = 0.0, 0.0, 0.0
    if family == WALL:
        axis = number // 2
        sign = 1.0 if number % 2 == 0 else -1.0
        normal = (sign if axis == 0 else 0.0, sign if axis == 1 else 0.0, sign if axis == 2 else 0.0)
        return point, normal, normal, triple(scene.room[0].albedo[number]), eta, inside, alpha
    if family == PART:
        shape = scene.shapes[number]
        normal = normal_at(shape, point)
        if front:
            return point, normal, normal, triple(shape.front), eta, inside, alpha
        back = scale(normal, -1.0)
        return point, back, back, triple(shape.back), eta, inside, alpha
    normal = triangle_normal(scene.mesh, number)
    shading = unit(between_corners(scene.mesh.normals, number, u, v))
    if not front:  # inside of an open or self-crossing mesh
        normal = scale(normal, -1.0)
        shading = scale(shading, -1.0)
    if dot(shading, direction) > -1e-3:  # a smooth normal that leans away from the viewer
        shading = normal
    material = scene.materials[scene.mesh.materials[number]]
    albedo = between_corners(scene.mesh.albedos, number, u, v)
    a, b, c = (
        scene.mesh.roughness[number, 0],
        scene.mesh.roughness[number, 1],
        scene.mesh.roughness[number, 2],
    )
    alpha = (1.0 - u - v) * a + u * b + v * c
    inside = inside_reflectance(material, alpha) if material.eta > 0.0 else 0.0
    return point, normal, shading, albedo, material.eta, inside, alpha


@kernel
def gloss_of(scene, family, number, front):
    """Table of gloss of what was met, -1 where it scatters as a Lambertian surface."""
    return scene.shapes[number].gloss if family == PART and front else -1
