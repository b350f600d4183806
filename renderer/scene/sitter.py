"""The person in the chair: where the eyes are, how the head is turned, what skin and hair reflect."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field

from renderer.scene.field import (
    CENTIMETRES,
    MILLIMETRES,
    RED_GREEN_BLUE,
    XYZ,
    Checked,
    Problem,
    Quantity,
    Reflectance,
    Several,
    Table,
    fault,
    near,
    show,
)
from renderer.scene.glasses import Glasses
from renderer.scene.parts import RGB, Vec3
from renderer.scene.skin import TONES, skin_colour

FilePoint = Annotated[Vec3, Several(Quantity("units of the mesh file", -1e6, 1e6), XYZ, what="a point")]

BUNDLED = ("head", "broad", "slender", "deep_set", "round")
"""Sitters that come with the program."""
WITHOUT_FILE = (*BUNDLED, "none")
MESH_FILES = (".obj", ".ply", ".stl", ".glb")
SKIN_NUMBER = Quantity("luminous reflectance", 0.01, 0.7, slips=((0.01, "per cent"),))
MESH_UNIT = Quantity("metres per unit of the mesh file", 0.0, 1000.0, above=True)
SKIN_COLOUR = Several(Quantity("a share", 0.01, 0.9, slips=((0.01, "per cent"),)), RED_GREEN_BLUE)


@dataclass(frozen=True)
class Skin(Checked):
    """A tone by name or a luminous reflectance, kept as a number, or [r, g, b]."""

    def check(self, value: Any) -> float | tuple[float, ...]:
        if isinstance(value, str) and value.strip()[:1].isalpha():
            if value in TONES:
                return TONES[value]
            valid = f"{', '.join(TONES)}, or {SKIN_NUMBER.valid()}"
            raise fault(f"expected {valid}; got {show(value)}{near(value, tuple(TONES), 0.4)}")
        return SKIN_COLOUR.check(value) if isinstance(value, (list, tuple)) else SKIN_NUMBER.check(value)

    def schema(self) -> dict[str, Any]:
        tones = {"enum": list(TONES)}
        return {"anyOf": [SKIN_NUMBER.schema(), SKIN_COLOUR.schema(), tones]}


def landmarks_beside(mesh: Path) -> Path:
    """Where the landmarks of a person's own mesh lie when the scene does not give them."""
    return mesh.with_suffix(".landmarks.toml")


class Landmarks(Table):
    """Four points of the person's own mesh, in the file's units and axes; they set where it stands."""

    sitter_left_pupil: FilePoint = Field(description="middle of the sitter's left pupil, units of the file")
    sitter_right_pupil: FilePoint = Field(description="middle of the sitter's right pupil, units of the file")
    nose_tip: FilePoint = Field(description="tip of the nose, units of the file")
    chin: FilePoint = Field(description="lowest point of the chin, units of the file")

    def problems(self) -> Iterator[Problem]:
        points = [getattr(self, name) for name in type(self).model_fields]
        if len(set(points)) < len(points):
            yield (), "two landmarks are the same point; expected four different points"


class Sitter(Table):
    """The sitter; the origin of the world is the floor under the midpoint of the pupils."""

    eye_height: Annotated[float, Quantity("metres", 0.3, 2.5, slips=(CENTIMETRES, MILLIMETRES))] = Field(
        default=1.2, description="metres from the floor to the pupils"
    )
    head_yaw: Annotated[float, Quantity("degrees", -180.0, 180.0)] = Field(
        default=0.0, description="degrees; 0 faces the camera, positive turns the nose to camera right"
    )
    head_pitch: Annotated[float, Quantity("degrees", -90.0, 90.0)] = Field(
        default=0.0, description="degrees; 0 is level, positive lifts the chin"
    )
    skin_reflectance: Annotated[float | RGB, Skin()] = Field(
        default=0.36,
        description="tone of the skin by name, its luminous reflectance, 0.01 to 0.7, or linear"
        " [r, g, b], each 0.01 to 0.9",
    )
    subsurface: Annotated[bool, Field(strict=True)] = Field(
        default=False,
        description="whether light spreads a few millimetres inside the skin; takes several times longer",
    )
    hair: Annotated[bool, Field(strict=True)] = Field(
        default=True, description="whether the bundled head wears hair"
    )
    hair_reflectance: Reflectance = Field(
        default=(0.06, 0.045, 0.035), description="reflectance of the hair, 0 to 1, or [r, g, b]"
    )
    iris_reflectance: Reflectance = Field(
        default=(0.16, 0.11, 0.07), description="reflectance of the iris, 0 to 1, or [r, g, b]"
    )
    glasses: Glasses | None = Field(
        default=None, description="spectacles that the sitter wears; an empty table for usual ones"
    )
    mesh: str = Field(
        default="head",
        description='"head", "broad", "slender", "deep_set" or "round" (bundled sitters), "none" (nobody),'
        " or the path of an OBJ, PLY, STL or GLB file,"
        " relative to the scene file",
    )
    mesh_scale: Annotated[float, MESH_UNIT] = Field(
        default=1.0, description="metres per unit of the mesh file"
    )
    landmarks: Landmarks | None = Field(
        default=None,
        description="points of the mesh that place it and name its parts; also taken from a file"
        " NAME.landmarks.toml beside NAME.obj; without them it is in the head frame already",
    )

    @property
    def skin_rgb(self) -> RGB:
        """Linear RGB of the skin; a number takes the hue of measured skin (`renderer.scene.skin`)."""
        skin = self.skin_reflectance
        return skin if isinstance(skin, tuple) else skin_colour(skin)

    @property
    def eyes(self) -> Vec3:
        """World point midway between the pupils [m]."""
        return 0.0, 0.0, self.eye_height

    def problems(self) -> Iterator[Problem]:
        if self.mesh == "none" and self.glasses is not None:
            yield ("glasses",), 'nobody is there to wear them; mesh is "none"'
        if self.mesh in WITHOUT_FILE and self.landmarks is not None:
            yield ("landmarks",), f'only a mesh file has landmarks; mesh is "{self.mesh}"'
        elif self.mesh not in WITHOUT_FILE and not self.mesh.lower().endswith(MESH_FILES):
            yield (
                ("mesh",),
                (
                    f"expected {', '.join(WITHOUT_FILE)} or a file ending in {', '.join(MESH_FILES)};"
                    f' got "{self.mesh}"'
                ),
            )
