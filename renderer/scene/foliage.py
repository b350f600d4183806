"""Masks of breakups: leaves, twigs, slats and holes drawn by rule, or a person's own picture.

Drawn from a seed by Python's own generator, piece after piece until the wanted share of the board is covered.
Where that takes very many, the rest are moved and mirrored copies of those drawn so far.
"""

from __future__ import annotations

import math
import random
import struct
import warnings
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from renderer.errors import InputError
from renderer.scene.breakup import SIDE
from renderer.scene.parts import Mask

MOST_PIECES = {"leaves": 800, "twigs": 100, "holes": 1600}  # drawn one by one, in a third of a second
MOST_COPIES = 200  # of one step
MOST_PIXELS = 50_000_000  # of a person's own picture
CHECK_EVERY = 8  # pieces between two looks at how much is covered
FORMATS = ("PNG", "JPEG", "TIFF", "WEBP")
DAMAGED = (SyntaxError, KeyError, IndexError, TypeError, OverflowError, struct.error, EOFError, MemoryError)
BROKEN = (OSError, ValueError, *DAMAGED)  # what a file that is no picture raises
Point = tuple[float, float]


def from_picture(path: Path) -> Mask:
    """White (over half) and what is transparent is open. Raises InputError for a file that is no picture.

    Checking a scene, packing it and metering its room ask for the same mask: it is read once as it stands.
    """
    try:
        stands = path.stat()
    except OSError as error:
        raise InputError(f"{path}: cannot be read as a picture: {str(error).splitlines()[0]}") from None
    return _from_picture(path, stands.st_mtime_ns, stands.st_size)


@lru_cache(maxsize=16)
def _from_picture(path: Path, changed: int, size: int) -> Mask:
    """The mask of the file that was last `changed` then, with that `size`: both only name what is kept."""
    too_large = f"{path}: is too large a picture: expected at most {MOST_PIXELS:,} pixels"
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what it warns of is answered here
            with Image.open(path, formats=FORMATS) as picture:
                wide, high = picture.size
                if wide * high > MOST_PIXELS:
                    raise InputError(f"{too_large}; got {wide} x {high}")
                light = np.asarray(_white(picture).resize((SIDE, SIDE), Image.Resampling.BOX))
    except Image.DecompressionBombError:
        raise InputError(too_large) from None
    except BROKEN as error:
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise InputError(f"{path}: cannot be read as a picture: {reason}") from None
    return _mask(light < (128 if light.dtype == np.uint8 else 0.5))


def _white(picture: Image.Image) -> Image.Image:
    """How white each pixel is: of 255, or of 1 in single precision where it has more than 8 bits."""
    if picture.mode == "F":
        return Image.fromarray(np.nan_to_num(np.asarray(picture, np.float32)).clip(0.0, 1.0))
    if picture.mode.startswith("I"):
        numbers = np.asarray(picture).astype(np.float32)
        full = 65535.0 if numbers.max() <= 65535.0 else 2.0**31 - 1.0
        return Image.fromarray((numbers / np.float32(full)).clip(0.0, 1.0))
    if picture.has_transparency_data:
        over = picture.convert("RGBA")
        return Image.alpha_composite(Image.new("RGBA", over.size, "white"), over).convert("L")
    return picture.convert("L")


@lru_cache(maxsize=16)
def drawn(pattern: str, size: tuple[float, float], piece: float, stopped: float, seed: int) -> Mask:
    """A pattern on a board of `size` (width, height) [m], with pieces of `piece` [m]; `stopped` is the share
    that stops light, met to a piece."""
    source = random.Random(f"{pattern} {seed}")
    if pattern == "slats":
        return _mask(_slats(size, piece, stopped))
    inverse = pattern == "holes"
    canvas = Image.new("1", (SIDE, SIDE), 0)
    draw = ImageDraw.Draw(canvas)
    one: Callable[..., None] = {"leaves": _leaf_spray, "twigs": _twig, "holes": _hole}[pattern]
    wanted = 1.0 - stopped if inverse else stopped
    steps: list[np.ndarray] = []  # what was covered after 8, 16, 32 pieces and so on
    for count in range(MOST_PIECES[pattern]):
        if count % CHECK_EVERY == 0 and np.asarray(canvas).mean() >= wanted:
            return _mask(np.asarray(canvas) != inverse)
        if count == CHECK_EVERY << len(steps):
            steps.append(np.array(canvas))
        one(draw, source, size, piece)
    steps.append(np.array(canvas))
    covered = _thickened(steps, wanted, source)
    return _mask(~covered if inverse else covered)


def _thickened(steps: list[np.ndarray], wanted: float, source: random.Random) -> np.ndarray:
    """The last of `steps`, and copies of them over it, moved and mirrored at random, up to `wanted`.

    Copies of many pieces first, and of fewer where those would be too many.
    """
    covered = steps[-1]
    for step in reversed(steps):
        for _ in range(MOST_COPIES):
            turned = step[:: source.choice((1, -1)), :: source.choice((1, -1))]
            more = covered | np.roll(turned, (source.randrange(SIDE), source.randrange(SIDE)), (0, 1))
            if more.mean() > wanted:
                break
            covered = more
    return covered


def _mask(stops: np.ndarray) -> Mask:
    """Rows of pictures run down, those of masks up."""
    cells = np.ascontiguousarray(stops[::-1]).astype(np.uint8)
    return Mask(cells.shape[0], cells.shape[1], cells.tobytes())


def _pixels(points: list[Point], size: tuple[float, float]) -> list[Point]:
    """Places on the board [m, from its lower left corner] in pixels of the canvas."""
    return [(x / size[0] * SIDE, SIDE - y / size[1] * SIDE) for x, y in points]


def _anywhere(source: random.Random, size: tuple[float, float]) -> Point:
    return source.uniform(-0.05, 1.05) * size[0], source.uniform(-0.05, 1.05) * size[1]


def _leaf(at: Point, turn: float, length: float) -> list[Point]:
    """Outline of a leaf whose stalk is at `at`: pointed, widest at two fifths, half as wide as long."""
    c, s = math.cos(turn), math.sin(turn)
    edge = []
    for side in (1.0, -1.0):
        steps = range(13) if side > 0 else range(12, -1, -1)
        for k in steps:
            along = k / 12.0
            across = side * 0.27 * math.sin(math.pi * along**0.8) * (1.0 - 0.25 * along)
            edge.append(
                (at[0] + length * (c * along - s * across), at[1] + length * (s * along + c * across))
            )
    return edge


def _leaf_spray(
    draw: ImageDraw.ImageDraw, source: random.Random, size: tuple[float, float], length: float
) -> None:
    """A bent twig with leaves to both sides."""
    x, y = _anywhere(source, size)
    turn = source.uniform(0.0, 2.0 * math.pi)
    bend = source.gauss(0.0, 0.25)
    path = [(x, y)]
    for k in range(source.randint(4, 8)):
        x, y = x + 0.55 * length * math.cos(turn), y + 0.55 * length * math.sin(turn)
        turn += bend
        path.append((x, y))
        side = 0.8 if k % 2 else -0.8
        leaf = _leaf((x, y), turn + side + source.gauss(0.0, 0.2), length * source.uniform(0.7, 1.15))
        draw.polygon(_pixels(leaf, size), fill=1)
    width = max(1, round(0.05 * length / size[0] * SIDE))
    draw.line(_pixels(path, size), fill=1, width=width, joint="curve")


def _twig(draw: ImageDraw.ImageDraw, source: random.Random, size: tuple[float, float], width: float) -> None:
    """A branch that thins out, with side branches."""
    _branch(draw, source, size, _anywhere(source, size), source.uniform(0.0, 2.0 * math.pi), width, 3)


def _branch(
    draw: ImageDraw.ImageDraw,
    source: random.Random,
    size: tuple[float, float],
    at: Point,
    turn: float,
    width: float,
    order: int,
) -> None:
    x, y = at
    for _ in range(10):
        step = 4.0 * width
        end = (x + step * math.cos(turn), y + step * math.sin(turn))
        pixels = max(1, round(width / size[0] * SIDE))
        if _meets((x, y), end, width, size):
            draw.line(_pixels([(x, y), end], size), fill=1, width=pixels)
        (x, y), turn = end, turn + source.gauss(0.0, 0.22)
        if order > 0 and source.random() < 0.35:
            fork = source.choice((-1.0, 1.0)) * source.uniform(0.5, 1.0)
            _branch(draw, source, size, (x, y), turn + fork, 0.6 * width, order - 1)
        width *= 0.93


def _meets(one: Point, other: Point, width: float, size: tuple[float, float]) -> bool:
    """Whether a line may touch the board; one far off would be followed cell by cell for nothing."""
    spare = [2.0 * width + 2.0 * side / SIDE for side in size]
    return all(
        min(one[i], other[i]) - spare[i] < size[i] and max(one[i], other[i]) + spare[i] > 0.0 for i in (0, 1)
    )


def _hole(draw: ImageDraw.ImageDraw, source: random.Random, size: tuple[float, float], width: float) -> None:
    """A rounded, uneven hole."""
    x, y = _anywhere(source, size)
    lobes = [(k, source.gauss(0.0, 0.14 / k), source.uniform(0.0, 2.0 * math.pi)) for k in (2, 3, 5)]
    size_now = 0.5 * width * source.uniform(0.6, 1.3)
    edge = []
    for k in range(40):
        a = 2.0 * math.pi * k / 40.0
        r = size_now * (1.0 + sum(depth * math.cos(n * a + phase) for n, depth, phase in lobes))
        edge.append((x + r * math.cos(a), y + r * math.sin(a)))
    draw.polygon(_pixels(edge, size), fill=1)


def _slats(size: tuple[float, float], width: float, stopped: float) -> np.ndarray:
    """Level slats, `width` wide, so far apart that they stop the share."""
    y = (np.arange(SIDE) + 0.5) / SIDE * size[1]
    rows = (y % (width / stopped)) < width
    return np.repeat(rows[:, None], SIDE, axis=1)
