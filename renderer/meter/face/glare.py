"""Glare: lights, windows and cards that spectacle lenses mirror into the camera, over poses of the head.

Rays go from the camera to points of the lens, of the eye's opening and of the pupil, are mirrored where they
cross the lens, and find what stands there: the very geometry that the picture is traced with, without chance.
A pose turns camera and rays about the eyes instead of the head, so that one packed head serves all.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from renderer.colour import luminance
from renderer.kernels import layout
from renderer.meter.face.catchlight import PUPIL, PUPIL_DEPTH, WHITE_FROM
from renderer.meter.face.mirror_image import SHOWN, Aimed, Field, Lattice, aimed
from renderer.meter.face.points import Tracer, without_bounce, without_sitter
from renderer.meter.face.surface import Grid, Head
from renderer.meter.face.swing import swung
from renderer.world.build import World
from renderer.world.material import EYES, FINE_HAIR

PITCHES = np.arange(-10.0, 11.0)  # deg about the pose as written: chin up is positive
YAWS = np.arange(-15.0, 16.0, 1.5)  # to camera right
LENS_STEP, PUPIL_STEP = 0.0025, 0.0006  # m between points
EDGE_POINTS = 72
CARD_POINTS, CARD_SAMPLES = 48, 16
OFF = 2e-5  # m off a card where its light is read
SIDES = ("sitter_left", "sitter_right")
PARTS = ("lens", "eye", "pupil")


@dataclass(frozen=True)
class Glare:
    """One light, window or card as the lenses show it to the camera.

    mirrored  part of its light that they mirror; luminance: its own, by each light of the scene [cd/m2]
    now       (eyes, PARTS) share of lens, of eye opening and of pupil that it covers, the head as it is; nan
              of an opening that is not known
    lens, pupil  (PITCHES, YAWS) greatest such share of either eye [whole per cent, upward]
    """

    thing: str
    mirrored: float
    luminance: tuple[float, ...]
    now: np.ndarray
    lens: np.ndarray
    pupil: np.ndarray

    def as_json(self) -> dict[str, Any]:
        return {
            "thing": self.thing,
            "mirrored": round(self.mirrored, 5),
            "luminance": [float(f"{value:.6g}") for value in self.luminance],
            "now": [[None if np.isnan(x) else round(float(x), 4) for x in eye] for eye in self.now],
            "lens": self.lens.tolist(),
            "pupil": self.pupil.tolist(),
        }

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Glare:
        return cls(
            str(data["thing"]),
            float(data["mirrored"]),
            tuple(data["luminance"]),
            np.array([[np.nan if x is None else x for x in eye] for eye in data["now"]], float),
            np.array(data["lens"], int),
            np.array(data["pupil"], int),
        )


@dataclass(frozen=True)
class GlareTrace:
    """found: what lenses show in any pose; behind: luminance of the skin behind a lens, for each lux on it
    [cd/m2]; clear_from: lowest elevation [deg] of the key from which up it is clear, the head as it is and
    over all poses, None without a key that could be swung"""

    found: tuple[Glare, ...]
    behind: float
    clear_from: tuple[float, float] | None

    def as_json(self) -> dict[str, Any]:
        clear = None if self.clear_from is None else list(self.clear_from)
        return {"found": [it.as_json() for it in self.found], "behind": self.behind, "clear_from": clear}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> GlareTrace:
        clear = data["clear_from"]
        found = tuple(Glare.from_json(it) for it in data["found"])
        return cls(found, float(data["behind"]), None if clear is None else (clear[0], clear[1]))


def glare_of(tracer: Tracer, worn: World, head: Head, grid: Grid | None, key: int) -> GlareTrace:
    """All that the lenses show, over all poses.

    worn  with the spectacles on; grid: the bare face, None where it has no eyes that could be found
    """
    lattices = _lattices(worn, head, grid)
    field = Field.of(worn, head)
    rays = aimed(field, lattices, PITCHES, YAWS)
    bare = without_sitter(worn.packed)
    shown = _shown(tracer, worn, bare, field, rays)
    found = tuple(_each(worn, tracer, lattices, rays, shown))
    return GlareTrace(found, _behind(worn), swung(tracer, worn, bare, field, lattices, key))


def _lattices(worn: World, head: Head, grid: Grid | None) -> list[Lattice]:
    """Points that the camera looks at through each lens: of the lens itself, of the opening, of the pupil."""
    found = []
    for number, side in enumerate("lr"):
        mark = worn.landmarks[f"pupil_{side}"]
        pupil = head.from_world(mark.position - PUPIL_DEPTH * mark.normal)
        found.append(Lattice.of_lens(worn.packed.lenses[number], number, head, LENS_STEP))
        found.append(Lattice.of_edge(worn.packed.lenses[number], number, head, EDGE_POINTS))
        if grid is not None:
            near = np.isin(grid.material, EYES) & (grid.position[..., 1] * pupil[1] > 0.0)
            if near.any():  # a mesh of one's own has no eyes marked
                found.append(Lattice(number, "eye", grid.position[near]))
        line = np.arange(-PUPIL, PUPIL + 1e-9, PUPIL_STEP)
        y, z = (it.ravel() for it in np.meshgrid(line, line))
        disc = np.stack([np.zeros(y.size), y, z], axis=1)[np.hypot(y, z) <= PUPIL]
        found.append(Lattice(number, "pupil", pupil + disc))
    return found


@dataclass(frozen=True)
class _Shown:
    """Of each ray that shows something: its number, which thing, and by each light how bright it is."""

    rays: np.ndarray
    thing: np.ndarray
    names: list[str]


def _shown(tracer: Tracer, worn: World, bare: layout.PackedScene, field: Field, rays: Aimed) -> _Shown:
    """Rays that end on a light or a board, unless something of the sitter is in their way."""
    names = [layer.name for layer in worn.layers]
    shapes = worn.packed.shapes
    boards = {
        number: name
        for number, name in worn.boards.items()
        if max(shapes[number]["front"].max(), shapes[number]["back"].max()) >= WHITE_FROM
    }
    number_of = np.concatenate([shapes["light"], [-1]])
    things = [*names, *dict.fromkeys(boards.values())]
    for number, name in boards.items():
        number_of[number] = things.index(name)
    some = _toward(rays, shapes[number_of[:-1] >= 0])
    seen = tracer.seen(bare, rays.start[some], rays.way[some])
    met = np.where(seen["family"] == layout.PART, seen["number"], -1)
    thing = np.where((seen["emits"] > 0) | np.isin(met, list(boards)), number_of[met], -1)
    lit = np.flatnonzero((thing >= 0) & (thing < len(names)))
    if len(lit):
        black = without_bounce(bare)
        level = luminance(tracer.looked(black, rays.start[some[lit]], rays.way[some[lit]]))
        own = level[np.arange(len(lit)), thing[lit]]
        face = [float(shapes["luminance"][shapes["light"] == k].max(initial=0.0)) for k in range(len(names))]
        thing[lit[own < SHOWN * np.array(face)[thing[lit]]]] = -1
    dark = np.isin(thing, range(len(names), len(things))) & (
        luminance(np.asarray(seen["albedo"], float)) < WHITE_FROM
    )
    thing[dark] = -1
    kept = np.flatnonzero(thing >= 0)
    clear = _unhidden(tracer, field, rays, some[kept])
    return _Shown(some[kept][clear], thing[kept][clear], things)


def _toward(rays: Aimed, shapes: np.ndarray) -> np.ndarray:
    """Numbers of the rays that pass through the sphere about any of the shapes."""
    hit = np.zeros(len(rays.start), np.bool_)
    for shape in shapes:
        to_middle = shape["middle"] - rays.start
        ahead = np.einsum("ij,ij->i", to_middle, rays.way)
        off2 = np.einsum("ij,ij->i", to_middle, to_middle) - ahead**2
        inside = np.einsum("ij,ij->i", to_middle, to_middle) < shape["reach"] ** 2
        hit |= ((ahead > 0.0) & (off2 < shape["reach"] ** 2)) | inside
    return np.flatnonzero(hit)


def _unhidden(tracer: Tracer, field: Field, rays: Aimed, some: np.ndarray) -> np.ndarray:
    """(n,) bool: whether neither the way from the camera to the lens nor that on from it meets the sitter."""
    past = (FINE_HAIR,)
    eye, view, start, way = field.as_posed(rays, some)
    before = tracer.seen(field.sitter_alone, eye, view, past=past)
    open_ = (before["family"] == layout.NOTHING) | (before["distance"] > rays.distance[some] - 1e-3)
    after = tracer.seen(field.sitter_alone, start, way, past=past)
    return np.asarray(open_ & (after["family"] == layout.NOTHING))


def _each(
    worn: World, tracer: Tracer, lattices: list[Lattice], rays: Aimed, shown: _Shown
) -> Iterator[Glare]:
    shape = (len(PITCHES), len(YAWS))
    level = np.flatnonzero((rays.pitch == 0.0) & (rays.yaw == 0.0))
    for number in np.unique(shown.thing):
        own = shown.rays[shown.thing == number]
        now = np.full((len(SIDES), len(PARTS)), np.nan)
        most = {name: np.zeros(shape, int) for name in ("lens", "pupil")}
        for k, lattice in enumerate(lattices):
            here = own[rays.lattice[own] == k]
            count = np.zeros(shape)
            np.add.at(count, (rays.row[here], rays.column[here]), 1.0)
            if lattice.part == "edge":  # less than the lattice of the lens finds
                most["lens"] = np.maximum(most["lens"], (count > 0.0).astype(int))
                continue
            share = count / len(lattice.points)
            row, column = rays.row[level[0]], rays.column[level[0]]
            now[lattice.lens, PARTS.index(lattice.part)] = share[row, column]
            if lattice.part in most:
                whole = np.ceil(100.0 * share - 1e-9).astype(int)
                most[lattice.part] = np.maximum(most[lattice.part], whole)
        name = shown.names[number]
        bright = _luminance(tracer, worn, rays, own, int(number))
        yield Glare(name, float(rays.mirrored[own].mean()), bright, now, most["lens"], most["pupil"])


def _luminance(tracer: Tracer, worn: World, rays: Aimed, own: np.ndarray, number: int) -> tuple[float, ...]:
    """Mean luminance, by each light, of what some of the rays show."""
    some = own[:: max(1, len(own) // CARD_POINTS)]
    bare = without_sitter(worn.packed)
    if number < len(worn.layers):
        level = luminance(tracer.looked(without_bounce(bare), rays.start[some], rays.way[some]))
        return tuple(float(x) for x in level.mean(axis=0))
    seen = tracer.seen(bare, rays.start[some], rays.way[some])
    facing = np.asarray(seen["normal"], float)
    at = rays.start[some] + seen["distance"][:, None] * rays.way[some] + OFF * facing
    arriving = luminance(tracer.arriving(worn.packed, at, facing, CARD_SAMPLES).sum(axis=3))[0]
    albedo = luminance(np.asarray(seen["albedo"], float))
    return tuple(float(x) for x in (arriving * albedo[:, None]).mean(axis=0) / np.pi)


def _behind(worn: World) -> float:
    """Luminance of skin for each lux on it, seen through a lens [cd/m2]."""
    glasses = worn.scene.sitter.glasses
    passed = 1.0 - glasses.mirrors if glasses is not None else 1.0
    return passed * float(luminance(np.array(worn.scene.sitter.skin_rgb))) / np.pi
