"""Parts of lights and boards as SHAPE records, and the tables that their luminance varies by."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Generic, NamedTuple, TypeVar

import numpy as np

from renderer.kernels import layout
from renderer.kernels.shapes import KIND
from renderer.scene.parts import Disc, Mask, Numbers, Part, Rectangle, Sphere, Tube
from renderer.world.gloss import gloss_table
from renderer.world.shape_tree import pack_shape_tree

WEAVES = 64  # more than one light has
WHITE_FROM = 0.2  # reflectance of a board's front from which it is sampled as a light is


def glow_table(values: Numbers) -> np.ndarray:
    """(GLOW_ROWS, GLOW_COLUMNS) of a table of cells, its mean 1.

    Raises ValueError for one that is nowhere above 0.
    """
    table = _resized(np.array(values, float), (layout.GLOW_ROWS, layout.GLOW_COLUMNS), cells=True)
    mean = float(table.mean())
    if not mean > 0.0 or not (table >= 0.0).all():
        raise ValueError("a table of luminance needs a value above 0, and none below")
    return np.asarray(table / mean)


def beam_table(values: Numbers) -> np.ndarray:
    """(BEAM_ROWS, BEAM_COLUMNS) factors: rows ends included, columns round the turn."""
    table = np.array(values, float)
    around = np.concatenate([table, table[:, :1]], axis=1)
    wide = _resized(around, (layout.BEAM_ROWS, layout.BEAM_COLUMNS + 1), cells=False)
    return np.asarray(wide[:, :-1])


def mask_table(mask: Mask) -> np.ndarray:
    """(MASK_SIDE, MASK_SIDE) uint8: 1 where the shape stops light."""
    table = np.frombuffer(mask.cells, np.uint8).reshape(mask.rows, mask.columns)
    rows, columns = (
        (np.arange(layout.MASK_SIDE) * count // layout.MASK_SIDE).astype(int) for count in table.shape
    )
    return np.asarray(table[rows][:, columns], np.uint8)


def _resized(table: np.ndarray, size: tuple[int, int], cells: bool) -> np.ndarray:
    """Read along straight lines at `size` places: between the middles of cells, or between nodes."""
    for axis, count in enumerate(size):
        old = table.shape[axis]
        if cells:
            here, there = (np.arange(old) + 0.5) / old, (np.arange(count) + 0.5) / count
        else:
            here, there = np.linspace(0.0, 1.0, old), np.linspace(0.0, 1.0, count)
        lines = np.moveaxis(table, axis, -1)
        table = np.moveaxis(np.array([np.interp(there, here, line) for line in lines]), -1, axis)
    return table


Written = TypeVar("Written", bound=Hashable)


@dataclass
class Shelf(Generic[Written]):
    """Tables of one kind; one that is wanted twice is kept once."""

    make: Callable[[Written], np.ndarray]
    empty: tuple[int, ...]
    dtype: type
    kept: dict[Written, int] = field(default_factory=dict)

    def add(self, values: Written | None) -> int:
        """Its number, -1 for none."""
        return -1 if values is None else self.kept.setdefault(values, len(self.kept))

    def packed(self) -> np.ndarray:
        if not self.kept:
            return np.zeros((1, *self.empty), self.dtype)
        return np.stack([self.make(values) for values in self.kept]).astype(self.dtype)


class Tables:
    """What the numbers `glow`, `beam`, `mask` and `gloss` of shapes point to."""

    def __init__(self) -> None:
        self.glows = Shelf(glow_table, (layout.GLOW_ROWS, layout.GLOW_COLUMNS), np.float32)
        self.beams = Shelf(beam_table, (layout.BEAM_ROWS, layout.BEAM_COLUMNS), np.float32)
        self.masks = Shelf(mask_table, (layout.MASK_SIDE, layout.MASK_SIDE), np.uint8)
        self.glosses = Shelf(gloss_table, (2 + layout.GLOSS_COLUMNS,), np.float64)


def _fill_sphere(light: Any, shapes: np.ndarray) -> None:
    """The sphere about all shapes of a light that emit."""
    own = shapes[light["first"] : light["first"] + light["count"]]
    if len(own) == 0:
        return
    low = (own["middle"] - own["reach"][:, None]).min(axis=0)
    high = (own["middle"] + own["reach"][:, None]).max(axis=0)
    light["middle"] = own["middle"][0] if len(own) == 1 else 0.5 * (low + high)
    light["reach"] = (np.linalg.norm(own["middle"] - light["middle"], axis=1) + own["reach"]).max()


def _perpendicular(w: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Any two unit vectors that complete unit `w` to an orthonormal frame."""
    least = np.zeros(3)
    least[int(np.argmin(np.abs(w)))] = 1.0
    u = np.cross(w, least)
    u /= np.linalg.norm(u)
    return u, np.cross(w, u)


def _fill(record: Any, part: Part) -> None:
    shape = part.shape
    record["kind"] = KIND[type(shape).__name__]
    record["centre"] = record["middle"] = shape.centre
    if isinstance(shape, Disc):
        w = np.array(shape.normal, float)
        record["w"] = w
        record["u"], record["v"] = (shape.u, shape.v) if shape.u and shape.v else _perpendicular(w)
        record["size_u"] = record["reach"] = shape.radius
        record["area"] = math.pi * shape.radius**2
    elif isinstance(shape, Rectangle):
        half_u, half_v = np.array(shape.half_u, float), np.array(shape.half_v, float)
        size_u, size_v = np.linalg.norm(half_u), np.linalg.norm(half_v)
        record["u"], record["v"], record["w"] = half_u / size_u, half_v / size_v, shape.normal
        record["size_u"], record["size_v"] = size_u, size_v
        record["reach"] = math.hypot(size_u, size_v)
        record["area"] = 4.0 * size_u * size_v
    elif isinstance(shape, Sphere):
        record["u"], record["v"], record["w"] = np.eye(3)
        record["size_u"] = record["reach"] = shape.radius
        record["area"] = 4.0 * math.pi * shape.radius**2
    elif isinstance(shape, Tube):
        _fill_turn(record, shape)
        turn, height = shape.phi_to - shape.phi_from, shape.z_to - shape.z_from
        record["area"] = shape.radius * turn * height
        middle = 0.5 * (shape.z_from + shape.z_to)
        record["middle"] = np.array(shape.centre) + middle * np.array(shape.axis)
        record["reach"] = math.hypot(shape.radius, 0.5 * height)


def _fill_turn(record: Any, tube: Tube) -> None:
    """Turn the axes of a tube so that u points to the middle of its part of the turn."""
    middle, half = 0.5 * (tube.phi_from + tube.phi_to), 0.5 * (tube.phi_to - tube.phi_from)
    c, s = math.cos(middle), math.sin(middle)
    u, v = np.array(tube.u), np.array(tube.v)
    record["u"], record["v"], record["w"] = c * u + s * v, c * v - s * u, tube.axis
    record["phi_from"], record["phi_to"] = -half, half
    record["z_from"], record["z_to"] = tube.z_from, tube.z_to
    record["size_u"] = tube.radius
    whole = half > math.pi - 1e-9  # then rounding must not open a slit at the seam
    record["size_v"] = -2.0 * tube.radius if whole else tube.radius * math.cos(half)


class PackedShapes(NamedTuple):
    """The fields of PackedScene that come from parts alone."""

    shapes: np.ndarray
    lights: np.ndarray
    shape_nodes: np.ndarray
    shape_links: np.ndarray
    cards: np.ndarray
    glows: np.ndarray
    beams: np.ndarray
    masks: np.ndarray
    glosses: np.ndarray


def pack_shapes(layers: Sequence[Iterable[Part]], solids: Iterable[Part]) -> PackedShapes:
    """Records of all shapes, those that emit first and by light, then boards, then what else is dark."""
    lights = np.zeros(len(layers), layout.LIGHT)
    glowing: list[tuple[int, Part]] = []
    boards = list(solids)
    dark: list[Part] = []
    for number, parts in enumerate(layers):
        own = list(parts)
        emitting = [part for part in own if part.luminance > 0.0]
        lights[number]["first"], lights[number]["count"] = len(glowing), len(emitting)
        glowing += [(number, part) for part in emitting]
        dark += [part for part in own if part.luminance <= 0.0]
    everything = glowing + [(-1, part) for part in boards + dark]
    shapes = np.zeros(len(everything), layout.SHAPE)
    tables = Tables()
    for record, (light, part) in zip(shapes, everything, strict=True):
        _fill(record, part)
        record["light"] = light
        record["luminance"] = part.luminance
        record["front"], record["back"] = part.reflectance, part.back_reflectance
        record["glow"] = tables.glows.add(part.glow)
        record["beam"] = tables.beams.add(part.beam)
        record["mask"] = tables.masks.add(part.mask)
        if part.weave is not None:
            record["straight"] = part.weave.straight
            record["weave"] = WEAVES * (light + 1) + part.weave.number
        record["gloss"] = tables.glosses.add(part.gloss)
    cards = white_boards(shapes, len(glowing), len(boards))
    for row in lights:
        _fill_sphere(row, shapes)
    packed = (tables.glows.packed(), tables.beams.packed(), tables.masks.packed(), tables.glosses.packed())
    return PackedShapes(shapes, lights, *pack_shape_tree(shapes), cards, *packed)


def white_boards(shapes: np.ndarray, first: int, count: int) -> np.ndarray:
    """Numbers (n,) int32 of the flat boards, of `count` shapes from `first` on, that send much light back, or
    send it back as silver does."""
    own = np.arange(first, first + count)
    flat = np.isin(shapes["kind"][own], [KIND["Disc"], KIND["Rectangle"]])
    white = shapes["front"][own].max(axis=1, initial=0.0) >= WHITE_FROM
    whole = shapes["mask"][own] < 0
    return np.asarray(own[flat & whole & (white | (shapes["gloss"][own] >= 0))], np.int32)
