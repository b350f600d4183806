"""Whether the things of a scene fit: inside the room, outside the head, the camera outside the lights."""

from __future__ import annotations

import errno
import math
import os
from collections.abc import Iterator
from difflib import get_close_matches
from pathlib import Path

from renderer.errors import InputError
from renderer.scene import outline, place
from renderer.scene.board import Board
from renderer.scene.breakup import PICTURE_FILES, Breakup
from renderer.scene.field import Problem, plain, show
from renderer.scene.landmark import bundled_names, unknown
from renderer.scene.lights import Light
from renderer.scene.models import Scene
from renderer.scene.parts import Shape, Vec3
from renderer.scene.sitter import BUNDLED, MESH_FILES, WITHOUT_FILE, landmarks_beside
from renderer.scene.vector import dot, length, subtract

HEAD_CENTRE: Vec3 = (-0.080, 0.0, 0.0)
HEAD_HALF: Vec3 = (0.105, 0.082, 0.125)
"""Ellipsoid about the head with hair, in the head frame [m]: half length, half breadth, half height. Mean
adult: length 0.195, breadth 0.150, chin to vertex 0.229; the rest is hair."""
BUST_CENTRE: Vec3 = (-0.120, 0.0, -0.285)
BUST_HALF: Vec3 = (0.100, 0.218, 0.100)
"""Ellipsoid about the shoulders, in the head frame [m]."""
REACH = max(
    length(centre) + max(half) for centre, half in ((HEAD_CENTRE, HEAD_HALF), (BUST_CENTRE, BUST_HALF))
)
"""Farther from the eyes than this [m] is outside both."""
CLOSE = 0.9
"""A meter may come close to the skin: for marks the ellipsoid of the head is shrunk by this."""
SLACK = 1e-6
NEAREST_AIM = 0.01
"""Metres; from any nearer the direction of a thing is chance."""
WALLS = (("camera left wall", "camera right wall"), ("back wall", "front wall"), ("floor", "ceiling"))
AXES = ("x", "y", "z")


def misfits(scene: Scene) -> Iterator[Problem]:
    """What does not fit, each with its path of keys."""
    yield from _sitter(scene)
    yield from _camera(scene)
    for name, light in scene.light.items():
        where = light.placed(scene.sitter, scene.camera)
        shapes = light.shapes(where)
        yield from _thing(scene, "light", name, light, shapes)
        if light.contains(where, scene.camera.at):
            yield ("camera", "at"), f'is inside the light "{name}"; expected a place outside it'
        if scene.sitter.mesh != "none" and light.contains(where, scene.sitter.eyes):
            yield ("light", name), f"the sitter's eyes are inside it, at {_point(scene.sitter.eyes)}"
    for family, boards in scene.boards().items():
        for name, board in boards.items():
            shapes = [part.shape for part in board.parts(board.placed(scene.sitter, scene.camera))]
            yield from _thing(scene, family, name, board, shapes)
    for name, breakup in scene.breakup.items():
        yield from ((("breakup", name, *path), text) for path, text in _picture(scene, breakup))
    for name, mark in scene.mark.items():
        if not isinstance(mark.at, str):
            yield from _lone_point(scene, ("mark", name, "at"), mark.at, CLOSE)
        elif scene.sitter.mesh in WITHOUT_FILE:
            wrong = unknown(mark.at, bundled_names() if scene.sitter.mesh in BUNDLED else ())
            yield from [(("mark", name, "at"), wrong)] if wrong else []


def _sitter(scene: Scene) -> Iterator[Problem]:
    room, sitter = scene.room, scene.sitter
    if room is not None and sitter.mesh != "none":
        top = sitter.eye_height + HEAD_HALF[2]
        if top > room.height:
            valid = f"at most {plain(round(room.height - HEAD_HALF[2], 3))} metres under this ceiling"
            yield ("sitter", "eye_height"), f"the head is through the ceiling: expected {valid}"
    path = scene.mesh_path()
    if path is None:
        return
    if _too_long(path):
        yield ("sitter", "mesh"), f"{show(sitter.mesh)} is too long for the name of a file"
    elif path.is_dir():
        yield ("sitter", "mesh"), f'"{sitter.mesh}" is a folder; expected a mesh file'
    elif path.exists() and not path.is_file():
        yield ("sitter", "mesh"), f'"{sitter.mesh}" is a device or a pipe; expected a mesh file'
    elif not path.is_file():
        yield ("sitter", "mesh"), f'no such file: "{sitter.mesh}"{_nearest(path, MESH_FILES, "mesh")}'
    elif not os.access(path, os.R_OK):
        yield ("sitter", "mesh"), f'"{sitter.mesh}" may not be read; check its permissions'
    elif sitter.glasses is not None and sitter.landmarks is None:
        beside = landmarks_beside(path)
        if not beside.is_file():
            yield (
                ("sitter", "glasses"),
                (
                    f'"{sitter.mesh}" has no landmarks, so nothing says where its eyes are; expected'
                    f" [sitter.landmarks], or {beside.name} beside the mesh"
                ),
            )


def _picture(scene: Scene, breakup: Breakup) -> Iterator[Problem]:
    path, written = breakup.picture_path(scene.source_path), show(breakup.picture)
    if path is None:
        return
    if _too_long(path):
        yield ("picture",), f"{written} is too long for the name of a file"
    elif path.is_dir():
        yield ("picture",), f"{written} is a folder; expected a picture ({', '.join(PICTURE_FILES)})"
    elif path.suffix.lower() not in PICTURE_FILES:
        yield ("picture",), f"expected a file ending in {', '.join(PICTURE_FILES)}; got {written}"
    elif path.exists() and not path.is_file():
        yield ("picture",), f"{written} is a device or a pipe; expected a picture"
    elif not path.is_file():
        yield ("picture",), f"no such file: {written}{_nearest(path, PICTURE_FILES, 'picture')}"
    elif not os.access(path, os.R_OK):
        yield ("picture",), f"{written} may not be read; check its permissions"
    else:
        try:
            breakup.mask(scene.source_path)
        except InputError as wrong:
            yield from ((("picture",), line) for line in wrong.lines)


def _too_long(path: Path) -> bool:
    """Whether the system cannot even look for a file of that name."""
    try:
        path.exists()
    except OSError as wrong:
        return wrong.errno == errno.ENAMETOOLONG
    return False


def _nearest(path: Path, endings: tuple[str, ...], kind: str) -> str:
    folder = path.parent
    if not folder.is_dir():
        return f' (there is no folder "{folder}")'
    files = sorted(file.name for file in folder.iterdir() if file.suffix.lower() in endings)
    near = get_close_matches(path.name, files, 1, 0.4)
    if near:
        return f'; did you mean "{near[0]}"?'
    return f"; that folder has {', '.join(files[:8])}" if files else f"; that folder has no {kind} file"


def _camera(scene: Scene) -> Iterator[Problem]:
    yield from _lone_point(scene, ("camera", "at"), scene.camera.at, 1.0)


def _lone_point(scene: Scene, path: tuple[str, ...], point: Vec3, size: float) -> Iterator[Problem]:
    yield from _outside(scene, path, point, point, point)
    if _in_person(scene, point, size):
        yield path, f"is inside {_person(scene)}"


def _thing(
    scene: Scene, family: str, name: str, thing: Light | Board, shapes: list[Shape]
) -> Iterator[Problem]:
    centre = thing.centre(scene.sitter, scene.camera)
    path = (family, name, "at" if thing.at is not None else "around")
    if thing.aim is not None and length(subtract(thing.aim, centre)) < NEAREST_AIM:
        text = f"is its own place; expected a point at least {NEAREST_AIM} metres away"
        yield (family, name, "aim"), f"{text}; got {_point(thing.aim)}"
    yield from _outside(scene, path, *outline.box(shapes), centre)
    inside = sum(_in_person(scene, point, 1.0) for shape in shapes for point in outline.points(shape))
    if inside:
        yield path, f"is inside {_person(scene)}; its centre is {_point(centre)}"


def _outside(scene: Scene, path: tuple[str, ...], low: Vec3, high: Vec3, centre: Vec3) -> Iterator[Problem]:
    """One line that names every wall which the box from `low` to `high` goes through."""
    if scene.room is None:
        walls = ((None, None), (None, None), (0.0, None))
    else:
        bottom, top = scene.room.lower, scene.room.upper
        walls = tuple((bottom[i], top[i]) for i in range(3))  # type: ignore[assignment]
    through, valid = [], []
    for i, (least, most) in enumerate(walls):
        under = least - low[i] if least is not None else 0.0
        over = high[i] - most if most is not None else 0.0
        through += [
            f"the {WALLS[i][k]} by {plain(round(by, 3))}" for k, by in ((0, under), (1, over)) if by > SLACK
        ]
        if max(under, over) > SLACK:
            fits_from = None if least is None else least + centre[i] - low[i]
            fits_to = None if most is None else most - (high[i] - centre[i])
            what = AXES[i] if low == high else f"{AXES[i]} of its centre"
            span = most - least if most is not None and least is not None else math.inf
            valid.append(_range(what, AXES[i], fits_from, fits_to, span))
    if through:
        slip = _slip(scene, centre)
        yield path, f"goes through {' and '.join(through)} metres; expected {', '.join(valid)} metres{slip}"


def _range(what: str, axis: str, least: float | None, most: float | None, span: float) -> str:
    if least is None or most is None:
        return f"{what} at least {plain(round(least or 0.0, 3))}"
    if least > most:
        return f"a size along {axis} of at most {plain(round(span, 3))}"
    return f"{what} from {plain(round(least, 3))} to {plain(round(most, 3))}"


def _slip(scene: Scene, centre: Vec3) -> str:
    """A hint where the place makes sense in centimetres."""
    if scene.room is None or max(abs(value) for value in centre) < 10:
        return ""
    x, y, z = (value / 100 for value in centre)
    pairs = zip(scene.room.lower, (x, y, z), scene.room.upper, strict=True)
    if all(low <= value <= high for low, value, high in pairs):
        return f"; {_point(centre)} looks like centimetres: did you mean {_point((x, y, z))}?"
    return ""


def _point(point: Vec3) -> str:
    return f"[{', '.join(plain(round(value, 3)) for value in point)}]"


def _person(scene: Scene) -> str:
    return (
        f"the sitter: expected it clear of the head ({_size(HEAD_HALF)} metres) and of the shoulders"
        f" ({_size(BUST_HALF)} metres below), eyes at {_point(scene.sitter.eyes)}"
    )


def _size(half: Vec3) -> str:
    return " x ".join(plain(round(2 * value, 3)) for value in half)


def _in_person(scene: Scene, point: Vec3, size: float) -> bool:
    """Whether a world point is inside the ellipsoid of the head or that of the shoulders, at `size`."""
    if scene.sitter.mesh == "none":
        return False
    away = subtract(point, scene.sitter.eyes)
    if length(away) > REACH:
        return False
    nose, left, crown = place.head_axes(scene.sitter, scene.camera)
    local = (dot(away, nose), dot(away, left), dot(away, crown))
    for centre, half in ((HEAD_CENTRE, HEAD_HALF), (BUST_CENTRE, BUST_HALF)):
        if sum(((local[i] - centre[i]) / (half[i] * size)) ** 2 for i in range(3)) < 1.0:
            return True
    return False
