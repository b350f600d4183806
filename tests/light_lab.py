"""Readings of probes in small worlds made of parts, with errors from independent replicas.

A test compares a `Reading` with a number from outside the project by `Reading.off`, the deviation in
standard errors. Nothing here knows what is right.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from renderer.colour import Y_WEIGHTS
from renderer.film.pool import Pool
from renderer.kernels import layout
from renderer.kernels.entry import PROBE
from renderer.kernels.ray import OFFSET
from renderer.scene.parts import RGB, Disc, Part, Rectangle, Sphere, Tube, Vec3
from renderer.world.pack import Box, Material, Triangles, pack

REPLICAS = 32
RUN = 256  # samples that are summed in single precision before they go over to double
# A sum of n equal numbers in single precision is off by at most n / 2 half units in the last place;
# numbers that differ round to either side and do far better.
ROUNDING = RUN / 2 * 2.0**-24
LIMIT = 4.0  # standard errors
THREADS = 2
FULL_TURN = 2.0 * math.pi
CAMERA = np.zeros(1, layout.CAMERA)
Layers = Sequence[Iterable[Part]]


def disc(
    centre: Sequence[float], normal: Sequence[float], radius: float, luminance: float = 1000.0, **more: RGB
) -> Part:
    return Part(Disc(triple(centre), unit(normal), radius), luminance, **more)


def rectangle(
    centre: Sequence[float],
    half_u: Sequence[float],
    half_v: Sequence[float],
    normal: Sequence[float],
    luminance: float = 1000.0,
    **more: RGB,
) -> Part:
    shape = Rectangle(triple(centre), triple(half_u), triple(half_v), unit(normal))
    return Part(shape, luminance, **more)


def sphere(centre: Sequence[float], radius: float, luminance: float = 1000.0, **more: RGB) -> Part:
    return Part(Sphere(triple(centre), radius), luminance, **more)


def tube(
    foot: Sequence[float],
    radius: float,
    low: float,
    high: float,
    luminance: float = 1000.0,
    turn: tuple[float, float] = (0.0, FULL_TURN),
    **more: RGB,
) -> Part:
    """Upright, from `low` to `high` above `foot`; the turn [rad] starts at +x and goes towards +y."""
    axes = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    return Part(Tube(triple(foot), *axes, radius, *turn, low, high), luminance, **more)


def triple(values: Sequence[float]) -> Vec3:
    x, y, z = values
    return float(x), float(y), float(z)


def unit(values: Sequence[float]) -> Vec3:
    v = np.asarray(values, float)
    return triple(v / np.linalg.norm(v))


def grey(reflectance: float) -> RGB:
    return reflectance, reflectance, reflectance


def box_of_rectangles(half: float, luminance: float, reflectance: float) -> list[Part]:
    """Six rectangles that look inward, about the origin: a closed shell that emits and reflects."""
    parts = []
    for axis in range(3):
        for sign in (-1.0, 1.0):
            centre, normal = np.zeros(3), np.zeros(3)
            centre[axis], normal[axis] = sign * half, -sign
            u, v = (half * np.eye(3)[k] for k in range(3) if k != axis)
            parts.append(rectangle(centre, u, v, normal, luminance, reflectance=grey(reflectance)))
    return parts


def meshed(
    vertices: np.ndarray,
    normals: np.ndarray,
    faces: Sequence[Sequence[int]] | np.ndarray,
    albedo: RGB,
    eta: float = 0.0,
    roughness: float = 0.0,
) -> Triangles:
    """A mesh all of one material; `eta` 0 for no coat."""
    count = len(vertices)
    return Triangles(
        vertices=np.asarray(vertices, float),
        normals=np.asarray(normals, float),
        albedos=np.tile(np.array(albedo, float), (count, 1)),
        roughness=np.full(count, roughness),
        faces=np.asarray(faces, int).reshape(-1, 3),
        materials=np.zeros(len(faces), int),
        palette=[Material(eta)],
    )


def flat(at: Sequence[float], normal: Sequence[float]) -> np.ndarray:
    """A flat receptor (PROBE, one). Its rays leave OFFSET above it, so it is set as much below `at`."""
    below = np.asarray(at, float) - OFFSET * np.array(unit(normal))
    return _probe(layout.FLAT, below, normal, 0.0)


def dome(at: Sequence[float], axis: Sequence[float]) -> np.ndarray:
    return _probe(layout.DOME, at, axis, 0.0)


def cone(at: Sequence[float], sight: Sequence[float], half_angle: float) -> np.ndarray:
    """A spot meter; half_angle in degrees."""
    return _probe(layout.CONE, at, sight, math.radians(half_angle))


def _probe(kind: int, at: Sequence[float], axis: Sequence[float], half_angle: float) -> np.ndarray:
    probe = np.zeros(1, layout.PROBE)
    probe["kind"], probe["at"], probe["axis"], probe["half_angle"] = kind, at, unit(axis), half_angle
    return probe


@dataclass(frozen=True)
class Reading:
    """replicas  (replicas, probes, lights, 2) luminance or illuminance: direct, bounced"""

    replicas: np.ndarray

    def totals(self, kind: int | None = None) -> np.ndarray:
        """(replicas, probes), all lights together."""
        picked = self.replicas.sum(axis=3) if kind is None else self.replicas[..., kind]
        return np.asarray(picked.sum(axis=2))

    def value(self, probe: int = 0, kind: int | None = None) -> float:
        return float(self.totals(kind)[:, probe].mean())

    def error(self, probe: int = 0, kind: int | None = None) -> float:
        """Standard error of `value`."""
        return standard_error(self.totals(kind)[:, probe])

    def off(self, expected: float, probe: int = 0, kind: int | None = None, bias: float = 0.0) -> float:
        """Deviation from `expected`, less a stated relative bias and rounding, in standard errors."""
        return deviation(self.totals(kind)[:, probe], expected, bias)


def standard_error(replicas: np.ndarray) -> float:
    return float(replicas.std(ddof=1) / math.sqrt(len(replicas)))


def deviation(replicas: np.ndarray, expected: float, bias: float = 0.0) -> float:
    """(mean - expected) in standard errors, after taking off at most the relative bias and rounding.

    The error of n replicas is itself uncertain, so the deviation follows Student's t; it is given as the
    normal score of the same chance.  source  Wallace, Bounds on normal approximations to Student's and the
    chi-square distributions, Ann. Math. Stat. 30, 1959
    """
    gap = float(replicas.mean()) - expected
    allowed = (bias + ROUNDING) * abs(expected)
    beyond = max(0.0, abs(gap) - allowed)
    if beyond == 0.0:
        return 0.0
    error, n = standard_error(replicas), len(replicas) - 1
    if error == 0.0:
        return math.copysign(math.inf, gap)
    t = beyond / error
    score = (8.0 * n + 1.0) / (8.0 * n + 3.0) * math.sqrt(n * math.log1p(t * t / n))
    return math.copysign(score, gap)


def read(
    layers: Layers,
    probes: np.ndarray | Sequence[np.ndarray],
    *,
    solids: Iterable[Part] = (),
    room: Box | None = None,
    mesh: Triangles | None = None,
    samples: int = 4096,
    seed: int = 1,
    replicas: int = REPLICAS,
) -> Reading:
    """Trace `samples` paths of every replica of every probe."""
    return read_packed(pack(layers, solids, room, mesh), probes, samples, seed, replicas)


def read_packed(
    scene: layout.PackedScene,
    probes: np.ndarray | Sequence[np.ndarray],
    samples: int = 4096,
    seed: int = 1,
    replicas: int = REPLICAS,
) -> Reading:
    together = np.concatenate(list(probes)) if not isinstance(probes, np.ndarray) else probes
    sums = np.zeros((replicas, len(together), len(scene.lights), 2, 3))
    shares = np.array_split(np.arange(len(together), dtype=np.int32), min(THREADS, len(together)))
    with Pool(THREADS) as pool:
        for first in range(0, samples, RUN):
            count = min(RUN, samples - first)
            tally = pool.tally(replicas, len(together), len(scene.lights))
            jobs = [(share, PROBE, range(replicas), first, count) for share in shares]
            assert pool.run(scene, CAMERA, together, tally, seed, jobs)
            sums += tally.radiance
    return Reading(sums @ Y_WEIGHTS / samples)
