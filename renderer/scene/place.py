"""Where things are: the frames of the world, the camera, the head and of each light.

World: origin on the floor under the midpoint of the sitter's pupils, +x to camera right, +y from the
sitter towards the camera, +z up [m]. This world is LEFT-handed (x cross y points down), so nothing
here is derived from a right-hand rule: every axis is written out and said in words.

Head frame: origin midway between the pupils, +x out of the nose, +y to the sitter's left (camera
right while the sitter faces the lens), +z up. It is right-handed: a mesh in it is mirrored on its way
into the world, so the order of the corners of its triangles has to be swapped.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from renderer.scene import vector
from renderer.scene.parts import Vec3

if TYPE_CHECKING:
    from renderer.scene.camera import Camera
    from renderer.scene.sitter import Sitter

UP: Vec3 = (0.0, 0.0, 1.0)
DOWN: Vec3 = (0.0, 0.0, -1.0)
NOSE_IN_HEAD: Vec3 = (0.100, 0.0, -0.035)
"""Where lights are aimed unless the scene says otherwise: the nose, in the head frame [m]."""

Rows = tuple[Vec3, Vec3, Vec3]


def towards_camera(camera: Camera) -> Vec3:
    """Horizontal direction (unit) from the sitter to the camera; +y for a camera right above the head."""
    x, y, _ = camera.at
    return vector.unit((x, y, 0.0)) or (0.0, 1.0, 0.0)


def to_camera_right(camera: Camera) -> Vec3:
    """Horizontal direction (unit) square to `towards_camera`, to the right of the picture."""
    x, y, _ = towards_camera(camera)
    return y, -x, 0.0


def around(camera: Camera, azimuth: float, distance: float, height: float) -> Vec3:
    """World point at an azimuth [deg] round the sitter.

    azimuth   from the horizontal direction sitter -> camera, positive to camera right
    distance  horizontal, from the vertical line through the midpoint of the pupils [m]
    height    above the floor [m]
    """
    angle = math.radians(azimuth)
    ahead, right = towards_camera(camera), to_camera_right(camera)
    return vector.blend(
        (distance * math.cos(angle), ahead), (distance * math.sin(angle), right), (height, UP)
    )


def azimuth_of(camera: Camera, point: Vec3) -> float:
    """Azimuth [deg, -180..180] of a world point round the sitter, as in `around`."""
    right, ahead = vector.dot(point, to_camera_right(camera)), vector.dot(point, towards_camera(camera))
    return math.degrees(math.atan2(right, ahead))


def head_axes(sitter: Sitter, camera: Camera) -> tuple[Vec3, Vec3, Vec3]:
    """World directions (unit) of the head's axes: out of the nose, to the sitter's left, up."""
    yaw, pitch = math.radians(sitter.head_yaw), math.radians(sitter.head_pitch)
    ahead, right = towards_camera(camera), to_camera_right(camera)
    level = vector.blend((math.cos(yaw), ahead), (math.sin(yaw), right))
    left = vector.blend((math.cos(yaw), right), (-math.sin(yaw), ahead))
    nose = vector.blend((math.cos(pitch), level), (math.sin(pitch), UP))
    crown = vector.blend((math.cos(pitch), UP), (-math.sin(pitch), level))
    return nose, left, crown


def head_to_world(sitter: Sitter, camera: Camera) -> tuple[Rows, Vec3]:
    """Rows of the 3 x 3 matrix M and the origin o: world = M head + o.

    A yaw of 0 faces the horizontal direction of the camera. The head turns about the midpoint of the
    pupils, which stays over the world's origin. det M = -1, since the world is left-handed.
    """
    nose, left, crown = head_axes(sitter, camera)
    rows = tuple((nose[i], left[i], crown[i]) for i in range(3))
    return (rows[0], rows[1], rows[2]), (0.0, 0.0, sitter.eye_height)


def head_point(sitter: Sitter, camera: Camera, point: Vec3) -> Vec3:
    """World place of a point of the head frame."""
    nose, left, crown = head_axes(sitter, camera)
    eyes = (0.0, 0.0, sitter.eye_height)
    return vector.add(eyes, vector.blend((point[0], nose), (point[1], left), (point[2], crown)))


def nose(sitter: Sitter, camera: Camera) -> Vec3:
    """Where lights are aimed by default: 0.1 m ahead of the eyes along the head, 0.035 m down."""
    return head_point(sitter, camera, NOSE_IN_HEAD)


@dataclass(frozen=True)
class CameraPlace:
    """The camera's axes (unit): `forward` from `at` to the aim, `right` and `up` in the picture."""

    at: Vec3
    forward: Vec3
    right: Vec3
    up: Vec3


def camera_place(camera: Camera) -> CameraPlace:
    """Axes of a level camera; one that looks straight up or down keeps camera right as its right."""
    forward = vector.unit(vector.subtract(camera.aim, camera.at)) or vector.scale(
        towards_camera(camera), -1.0
    )
    right = vector.unit(vector.cross(UP, forward)) if abs(forward[2]) < 1 - 1e-9 else None
    right = right or to_camera_right(camera)
    return CameraPlace(camera.at, forward, right, vector.cross(forward, right))


@dataclass(frozen=True)
class LightPlace:
    """Where a light, card or flag stands, and the directions its own axes are measured from.

    centre          world point of its centre [m]
    aim             world point it is turned to [m]
    towards_camera  horizontal direction (unit) from the sitter to the camera
    """

    centre: Vec3
    aim: Vec3
    towards_camera: Vec3

    def normal(self) -> Vec3:
        """Direction (unit) from the centre to the aim; down where the two are one point."""
        return vector.unit(vector.subtract(self.aim, self.centre)) or DOWN

    def face_axes(self, roll: float = 0.0) -> tuple[Vec3, Vec3, Vec3]:
        """Axes (unit) of a flat face: width direction u, height direction v, normal n.

        v is upwards as far as the face allows; on a face that looks straight up or down it is the
        direction to the camera. u points right as seen from behind the face, looking along n (so to
        camera right, for a face beside the camera). `roll` [deg] turns u towards v.
        """
        n = self.normal()
        v = vector.across(UP, n) or self.towards_camera
        u = vector.cross(v, n)
        turn = math.radians(roll)
        rolled_u = vector.blend((math.cos(turn), u), (math.sin(turn), v))
        rolled_v = vector.blend((math.cos(turn), v), (-math.sin(turn), u))
        return rolled_u, rolled_v, n

    def turn_axes(self, axis: Vec3) -> tuple[Vec3, Vec3]:
        """Directions (unit) of 0 and 90 degrees round a cylinder with the unit `axis`.

        0 is the direction to the aim, square to the axis; where the aim lies on the axis it is the
        direction to the camera (and up, where that runs along the axis too). Positive angles turn
        clockwise as seen from the tip of the axis looking back along it: from above, for an upright
        cylinder. For one between camera and sitter that is from the sitter towards camera right.
        """
        to_aim = vector.subtract(self.aim, self.centre)
        u = vector.across(to_aim, axis) or vector.across(self.towards_camera, axis)
        u = u or vector.across(UP, axis) or (1.0, 0.0, 0.0)
        return u, vector.cross(axis, u)
