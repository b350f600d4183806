"""The one compiled entry: trace some pixels and some probes, a run of samples each.

Every receiver is written by one thread only and its samples are named by number, so the result does
not depend on how the work is divided.
"""

import math
from typing import NamedTuple

import numpy as np

from renderer.kernels.apart import asked_seldom
from renderer.kernels.compiler import entry, inlined
from renderer.kernels.glare import in_lenses
from renderer.kernels.lanes import LANES
from renderer.kernels.layout import CONE, FLAT, MESH, NOTHING, PART, SIGHT, Work
from renderer.kernels.path import BARE, NO_WALL, Triple, add_lights, at_start, begin, follow, paths_of
from renderer.kernels.sampler import U32, mix, pair_of
from renderer.kernels.scene import first_hit, surface_at
from renderer.kernels.sight import look
from renderer.kernels.vector import from_frame, scale, tangents, triple, unit
from renderer.kernels.warp import square_to_cone

PIXEL, PROBE = 0, 1
MIRRORED = U32(0x6C656E73)  # names the random numbers of a ray that a lens has mirrored
PI = (math.pi, math.pi, math.pi)  # gain that makes a receptor's radiance its illuminance


@inlined
def camera_ray(camera, pixel, x, y):
    """Direction through the point x, y in [0, 1) of a pixel."""
    column = pixel % camera.width + x - 0.5 * camera.width
    row = pixel // camera.width + y - 0.5 * camera.height
    f, r, d = camera.forward, camera.step_right, camera.step_down
    return unit(
        (
            f[0] + column * r[0] + row * d[0],
            f[1] + column * r[1] + row * d[1],
            f[2] + column * r[2] + row * d[2],
        )
    )


@inlined
def identify(scene, work, origin, direction, note):
    """Note what is seen from `origin` along `direction`."""
    asked_seldom()
    hit = first_hit(scene, work, origin, direction)
    distance, family, number, _, _, front = hit
    note.family = family
    note.number = number
    note.distance = distance
    if family == NOTHING:
        return
    note.emits = 1 if family == PART and front and scene.shapes[number].luminance > 0.0 else 0
    if family == MESH:
        note.number = scene.mesh.materials[number]
        note.patch = scene.mesh.patches[number]
    _, _, normal, albedo, _, _, _ = surface_at(scene, hit, origin, direction)
    for k in range(3):
        note.normal[k] = normal[k]
        note.albedo[k] = albedo[k]


@inlined
def cone_ray(probe, u1, u2):
    """Direction uniform in the cone of a spot meter."""
    axis = triple(probe.axis)
    x, y, z = square_to_cone(u1, u2, 1.0 - math.cos(probe.half_angle))
    s, t = tangents(axis)
    return from_frame(x, y, z, s, t, axis)


class View(NamedTuple):
    """What a sample of a receiver begins with."""

    sees: bool  # whether it looks along the ray; else light is gathered at its origin
    receptor: int  # FLAT or DOME
    origin: Triple  # m
    direction: Triple
    passed: float  # part of what is seen that lenses on the way let through
    counted: float  # as in `renderer.kernels.path.Receiver`


@inlined
def key_of(seed, half, family, receiver):
    """Names the random numbers of a receiver."""
    return mix(mix(U32(seed), U32(2 * half + family)), U32(receiver))


@inlined
def view_of(scene, camera, probes, work, receiver, family, key, half, number, tally):
    """Where a sample looks: (whether anything is to be gathered, view, weight of what a lens mirrors, view of
    that).

    Notes what is seen, where that is wanted, and adds lights that lenses mirror.
    """
    origin, direction = triple(camera[0].at), triple(camera[0].forward)
    receptor, sees, wanted = FLAT, family == PIXEL, True
    u1, u2 = pair_of(key, 0, number)
    if family == PROBE:
        origin, direction = triple(probes[receiver].at), triple(probes[receiver].axis)
        receptor = probes[receiver].kind
        if receptor == SIGHT:
            identify(scene, work, origin, direction, tally.seen[receiver])
            wanted = False
        if receptor == CONE:
            direction = cone_ray(probes[receiver], u1, u2)
            sees, receptor = True, FLAT
    else:
        if number == 0 and half == 0:
            middle = camera_ray(camera[0], receiver, 0.5, 0.5)
            identify(scene, work, origin, middle, tally.seen[receiver])
        direction = camera_ray(camera[0], receiver, u1, u2)
    passed, mirrored, aside, toward = 1.0, 0.0, origin, direction
    if sees and scene.lenses.shape[0] > 0:
        passed, mirrored, aside, toward = in_lenses(
            scene, work, tally, half, receiver, key, number, origin, direction
        )
    view = View(sees, receptor, origin, direction, passed, 1.0)
    return wanted, view, mirrored, View(sees, receptor, aside, toward, mirrored, 0.0)


@inlined
def first_vertex(scene, work, tally, half, receiver, key, number, view):
    """Where the light of a view is gathered: (found, vertex, receiver, face of the room or NO_WALL)."""
    start = (view.origin, view.direction, view.direction, BARE, NO_WALL)
    found, gain, weight, counted = True, PI, 1.0, 1.0
    if view.sees:
        found, start, gain, weight, counted = look(
            scene, work, tally, half, receiver, key, number, view.origin, view.direction, view.passed,
            view.counted,
        )  # fmt: skip
        gain = scale(gain, view.passed)
    vertex, where = at_start(start, view.receptor, gain, weight, counted)
    return found, vertex, where, start[4]


@inlined
def trace_receiver(scene, camera, probes, work, receiver, family, seed, half, first, last, tally):
    """Add the samples from number `first` to before `last` of one receiver and half to `tally`."""
    paths, key = paths_of(scene), key_of(seed, half, family, receiver)
    for number in range(first, last):
        wanted, view, mirrored, beside = view_of(
            scene, camera, probes, work, receiver, family, key, half, number, tally
        )
        if not wanted:
            break
        named = key
        for _ in range(2):  # what is seen, and where a lens mirrors it, what that shows
            found, vertex, start, wall = first_vertex(scene, work, tally, half, receiver, named, number, view)
            if found:
                add_lights(scene, work, tally, half, receiver, named, number, vertex, start, True)
                going, vertex, start = begin(
                    scene, work, tally, half, receiver, named, number, vertex, start, wall
                )
                if going:
                    for path in range(paths):
                        follow(
                            scene, work, tally, half, receiver, named, number * paths + path, vertex, start
                        )
            if mirrored == 0.0:
                break
            named, view, mirrored = mix(key, MIRRORED), beside, 0.0
    tally.samples[half, receiver] += last - first


@entry
def trace(scene, camera, probes, receivers, family, stack, seed, half, first, count, tally):
    """Add `count` samples, from number `first`, to each of `receivers` in the given half of `tally`.

    family     PIXEL or PROBE: what the numbers in `receivers` (int32) mean
    stack      scratch of the calling thread: STACK records
    tally      sums that only this call writes at these receivers
    """
    work = Work(stack, np.empty(LANES, np.float32))
    for i in range(receivers.shape[0]):
        trace_receiver(
            scene, camera, probes, work, receivers[i], family, seed, half, first, first + count, tally
        )
