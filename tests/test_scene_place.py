"""Frames: where azimuth, camera right, yaw, pitch, roll and the turn of a cylinder point to."""

from __future__ import annotations

import math

import pytest

from renderer.scene import outline, place, sight, vector
from renderer.scene.camera import Camera
from renderer.scene.load import loads
from renderer.scene.parts import Disc, Rectangle, Shape, Sphere, Tube, Vec3
from renderer.scene.place import LightPlace
from renderer.scene.sitter import Sitter
from renderer.scene.standing import Around

AHEAD: Vec3 = (0.0, 1.0, 0.0)
CAMERAS = ((0.0, 2.0, 1.2), (1.3, 1.1, 2.0), (-2.0, -0.4, 0.6))


def camera(at: Vec3 = (0.0, 2.0, 1.2)) -> Camera:
    return Camera.model_validate({"at": at, "aim": (0.0, 0.0, 1.2)})


def sitter(yaw: float = 0.0, pitch: float = 0.0) -> Sitter:
    return Sitter.model_validate({"head_yaw": yaw, "head_pitch": pitch})


def near(a: Vec3, b: Vec3) -> bool:
    return vector.length(vector.subtract(a, b)) < 1e-12


def test_around_a_camera_on_the_y_axis() -> None:
    assert near(place.around(camera(), 0, 1.5, 2), (0, 1.5, 2))
    assert near(place.around(camera(), 90, 1.5, 2), (1.5, 0, 2))  # camera right is +x
    assert near(place.around(camera(), -90, 1.5, 2), (-1.5, 0, 2))
    assert near(place.around(camera(), 180, 1.5, 2), (0, -1.5, 2))


@pytest.mark.parametrize("at", CAMERAS)
def test_azimuth_is_to_the_right_of_the_picture(at: Vec3) -> None:
    """The picture's own axis, from forward and up, agrees with the azimuth from the ground plan."""
    lens = place.camera_place(camera(at))
    for azimuth in (10.0, 45.0, 80.0):
        point = place.around(camera(at), azimuth, 0.8, 1.2)
        assert vector.dot(vector.subtract(point, lens.at), lens.right) > 0
        assert place.azimuth_of(camera(at), point) == pytest.approx(azimuth)
    assert vector.dot(lens.up, place.UP) > 0
    assert abs(vector.dot(lens.up, lens.right)) + abs(vector.dot(lens.up, lens.forward)) < 1e-12


@pytest.mark.parametrize("elevation", [-30.0, 0.0, 35.0, 90.0])
def test_a_place_on_a_circle_about_the_eyes(elevation: float) -> None:
    """Spherical coordinates about the eyes: their definition (ISO 80000-2)."""
    person, lens = sitter(), camera((1.0, 2.0, 1.4))
    found = Around(azimuth=25.0, elevation=elevation, radius=1.3).centre(person, lens)
    azimuth, above, away = sight.bearing(lens, person.eyes, found)
    assert away == pytest.approx(1.3) and above == pytest.approx(elevation)
    assert elevation == 90.0 or azimuth == pytest.approx(25.0)


def test_the_picture_of_a_camera_on_the_y_axis() -> None:
    lens = place.camera_place(Camera.model_validate({"at": (0, 2, 1), "aim": (0, 0, 1)}))
    assert near(lens.forward, (0, -1, 0)) and near(lens.right, (1, 0, 0)) and near(lens.up, (0, 0, 1))
    down = place.camera_place(Camera.model_validate({"at": (0, 2, 3), "aim": (0, 2, 1)}))
    assert near(down.forward, (0, 0, -1)) and near(down.right, (1, 0, 0)) and near(down.up, (0, -1, 0))


def test_the_head_faces_the_camera_and_turns_to_camera_right() -> None:
    nose, left, crown = place.head_axes(sitter(), camera())
    assert near(nose, (0, 1, 0)) and near(left, (1, 0, 0)) and near(crown, (0, 0, 1))
    nose, _, _ = place.head_axes(sitter(yaw=90), camera())
    assert near(nose, (1, 0, 0))
    nose, _, crown = place.head_axes(sitter(pitch=90), camera())
    assert near(nose, (0, 0, 1)) and near(crown, (0, -1, 0))


@pytest.mark.parametrize("at", CAMERAS)
def test_head_to_world_is_a_mirrored_rotation(at: Vec3) -> None:
    rows, origin = place.head_to_world(sitter(20, -10), camera(at))
    for i in range(3):
        for k in range(3):
            assert vector.dot(rows[i], rows[k]) == pytest.approx(float(i == k), abs=1e-12)
    assert vector.dot(rows[0], vector.cross(rows[1], rows[2])) == pytest.approx(-1)
    moved = tuple(vector.dot(rows[i], place.NOSE_IN_HEAD) + origin[i] for i in range(3))
    assert near((moved[0], moved[1], moved[2]), place.nose(sitter(20, -10), camera(at)))


def test_the_default_aim_is_the_nose() -> None:
    scene = loads('[light.key]\nsource = "disc"\nat = [0, 2, 1.165]\ndiameter = 0.5\nlumens = 1\n')
    where = scene.light["key"].placed(scene.sitter, scene.camera)
    assert near(where.aim, (0, 0.1, 1.165)) and near(where.normal(), (0, -1, 0))


def test_a_camera_left_out_stands_before_the_eyes() -> None:
    lamp = '[light.key]\nsource = "bulb"\nat = [0, 1, 2]\ndiameter = 0.1\nlumens = 1\n'
    scene = loads(lamp + "[sitter]\neye_height = 1.5\n[camera]\niso = 400\n")
    assert near(scene.camera.at, (0, 2, 1.5)) and near(scene.camera.aim, (0, 0, 1.445))
    # ISO 2720, incident, C = 250: E = C N^2 / (S t); f/2.8, ISO 400, 1/50 s asks for 245 lux
    assert scene.camera.working_lux == pytest.approx(245)


def test_face_axes() -> None:
    u, v, n = LightPlace((0, 2, 1), (0, 0, 1), AHEAD).face_axes()
    assert near(u, (1, 0, 0)) and near(v, (0, 0, 1)) and near(n, (0, -1, 0))
    u, v, n = LightPlace((0, 0, 2), (0, 0, 1), AHEAD).face_axes()  # looks straight down
    assert near(v, (0, 1, 0)) and near(n, (0, 0, -1)) and abs(abs(u[0]) - 1) < 1e-12
    u, v, _ = LightPlace((0, 2, 1), (0, 0, 1), AHEAD).face_axes(roll=90)
    assert near(u, (0, 0, 1)) and near(v, (-1, 0, 0))


def test_turn_of_an_upright_cylinder() -> None:
    """Clockwise from above: from the sitter's side to camera right, to the camera, to camera left."""
    u, v = LightPlace((0, 1, 2), (0, 0, 1), AHEAD).turn_axes(place.UP)
    assert near(u, (0, -1, 0)) and near(v, (1, 0, 0))
    u, v = LightPlace((0, 0, 2), (0, 0, 1), AHEAD).turn_axes(place.UP)  # the aim is on the axis
    assert near(u, AHEAD) and near(v, (-1, 0, 0))
    u, v = LightPlace((1, 0, 2), (0, 0, 1), AHEAD).turn_axes(place.UP)  # the light is at camera right
    assert near(u, (-1, 0, 0)) and near(v, (0, -1, 0))


@pytest.mark.parametrize("axis", [(0, 0, 1), (1, 0, 0), (0, 1, 0), (0.6, 0, 0.8), (0, 0, -1)])
def test_turn_axes_are_square(axis: Vec3) -> None:
    u, v = LightPlace((0.3, 0.9, 2), (0, 0.1, 1.1), AHEAD).turn_axes(axis)
    assert abs(vector.dot(u, axis)) + abs(vector.dot(v, axis)) + abs(vector.dot(u, v)) < 1e-12
    assert vector.length(u) == pytest.approx(1) and vector.length(v) == pytest.approx(1)


S = math.sqrt(0.5)
SHAPES: dict[str, Shape] = {
    "disc": Disc((1, 2, 3), (S, 0, S), 0.5),
    "rectangle": Rectangle((1, 2, 3), (0.3, 0.1, 0), (-0.1, 0.3, 0.2), (0, 0, 1)),
    "sphere": Sphere((1, 2, 3), 0.5),
    "tube": Tube((1, 2, 3), (S, S, 0), (-S, S, 0), (0, 0, 1), 0.4, 0.2, 1.7, -0.3, 0.1),
    "leaning tube": Tube((1, 2, 3), (S, 0, S), (0, 1, 0), (S, 0, -S), 0.4, -1.0, 5.0, -0.3, 0.1),
}


@pytest.mark.parametrize("name", SHAPES)
def test_extents_hold_the_points_of_a_shape_and_no_more(name: str) -> None:
    low, high = outline.extents(SHAPES[name])
    spread = outline.points(SHAPES[name])
    for i in range(3):
        values = [point[i] for point in spread]
        assert low[i] <= min(values) + 1e-12 and max(values) <= high[i] + 1e-12
        # neighbours on a rim are at most 15 degrees apart: 1 - cos(7.5 deg) of 0.5 m, 0.0043 m, is missed
        assert min(values) - low[i] < 0.0043 and high[i] - max(values) < 0.0043
