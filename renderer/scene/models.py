"""A whole scene as it is written: room, sitter, camera, lights, cards, flags, marks."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import Field, PrivateAttr, model_validator

from renderer.scene.board import Board, Card, Flag
from renderer.scene.breakup import Breakup
from renderer.scene.camera import AIM_BELOW_EYES, DEFAULT_DISTANCE, Camera
from renderer.scene.circuit import Circuit
from renderer.scene.field import Problem, Table, plain
from renderer.scene.found import FOUND
from renderer.scene.level import STANDING, STANDING_SPOTS
from renderer.scene.lights import Light
from renderer.scene.mark import FACINGS, Mark
from renderer.scene.name import LightName, Name
from renderer.scene.room import Room, Surfaces, Window
from renderer.scene.sitter import WITHOUT_FILE, Landmarks, Sitter
from renderer.scene.standing import Around
from renderer.scene.support import Support
from renderer.scene.target import Target

__all__ = [
    "Around",
    "Board",
    "Breakup",
    "Camera",
    "Card",
    "Circuit",
    "Flag",
    "Landmarks",
    "Light",
    "Mark",
    "Room",
    "Scene",
    "Sitter",
    "Support",
    "Surfaces",
    "Target",
    "Window",
]


class Scene(Table):
    """Everything that a preview needs to know. Without a room there is open black space."""

    title: str = Field(default="", description="the name of the scene")
    note: str = Field(default="", description="what to look for in the picture")
    room: Room | None = Field(
        default=None, description="the room; without it the scene is in open black space"
    )
    sitter: Sitter = Field(default=Sitter(), description="the person in the chair")
    camera: Camera = Field(description="the camera")
    light: dict[LightName, Light] = Field(default={}, description="lights by name, each a layer of its own")
    card: dict[Name, Card] = Field(default={}, description="cards by name")
    flag: dict[Name, Flag] = Field(default={}, description="flags by name")
    breakup: dict[Name, Breakup] = Field(default={}, description="boards with holes, by name")
    mark: dict[Name, Mark] = Field(default={}, description="places where a meter is held, by name")
    target: Target | None = Field(default=None, description="what the light on the face is wanted to be")
    support: dict[Name, Support] = Field(default={}, description="stands by name, each with its light")
    circuit: dict[Name, Circuit] = Field(default={}, description="circuits by name")
    _source_path: Path | None = PrivateAttr(None)
    _worked_out: tuple[str, ...] = PrivateAttr(())

    @property
    def source_path(self) -> Path | None:
        """The folder that relative paths of files start from; None for a scene that came from no file."""
        return self._source_path

    @property
    def worked_out(self) -> tuple[str, ...]:
        """Keys of the camera that its file left to be worked out from the sitter's eyes."""
        return self._worked_out

    @property
    def windows(self) -> dict[str, Window]:
        """The windows of the room by name; none without a room."""
        return self.room.window if self.room is not None else {}

    def boards(self) -> dict[str, Mapping[str, Board]]:
        """Everything flat that gives no light of its own, by family and name."""
        return {"card": self.card, "flag": self.flag, "breakup": self.breakup}

    def settle(self, folder: Path | None, worked_out: Sequence[str] = ()) -> None:
        """Say where relative paths start, for the sitter's mesh and for the files that lights name, and which
        keys of the camera were not written."""
        self._source_path = folder
        self._worked_out = tuple(worked_out)
        for light in self.light.values():
            light.settle(folder)

    def mesh_path(self) -> Path | None:
        """The sitter's own mesh file, or None for a bundled sitter and for nobody."""
        if self.sitter.mesh in WITHOUT_FILE:
            return None
        return (self._source_path or Path()) / self.sitter.mesh

    @model_validator(mode="before")
    @classmethod
    def _place_camera(cls, data: Any) -> Any:
        """Fill in where the camera stands and looks, from the eyes of the sitter."""
        if not isinstance(data, dict):
            return data
        camera, sitter = data.get("camera", {}), data.get("sitter", {})
        if not isinstance(camera, dict):
            return data
        if isinstance(sitter, Sitter):
            sitter = {"eye_height": sitter.eye_height}
        written = sitter.get("eye_height") if isinstance(sitter, dict) else None
        eyes = Sitter().eye_height
        if isinstance(written, (int, float)) and 0.3 <= written <= 2.5:
            eyes = float(written)
        at, aim = (0.0, DEFAULT_DISTANCE, eyes), (0.0, 0.0, eyes - AIM_BELOW_EYES)
        return {**data, "camera": {"at": at, "aim": aim, **camera}}

    def problems(self) -> Iterator[Problem]:
        for name in self.light:
            if name in self.windows:
                yield ("light", name), "a window has the same name: each light and each window needs its own"
        found = [FOUND] if self.room is not None and self.room.found is not None else []
        for path, named in ((("light",), self.light), (("room", "window"), self.windows)):
            if found and FOUND in named:
                yield (*path, FOUND), "the room's own light has the same name: each light needs its own"
        yield from self._rig_problems()
        lit = [*self.light, *self.windows, *found]
        for name, mark in self.mark.items():
            if isinstance(mark.facing, str) and mark.facing not in (*FACINGS, *lit):
                near = get_close_matches(mark.facing, [*FACINGS, *lit], 1)
                hint = f'; did you mean "{near[0]}"?' if near else ""
                valid = ", ".join([*FACINGS, *(f'the light "{light}"' for light in lit)])
                yield (
                    ("mark", name, "facing"),
                    (f'expected a direction [x, y, z] or one of {valid}; got "{mark.facing}"{hint}'),
                )

        yield from self._level_problems()

    def _level_problems(self) -> Iterator[Problem]:
        spots = {name for name, mark in self.mark.items() if mark.meter == "spot"}
        spots |= set(STANDING_SPOTS) - set(self.mark)
        for name, level in (self.target.level if self.target is not None else {}).items():
            path = ("target", "level", name)
            if name not in self.mark and name not in STANDING:
                near = get_close_matches(name, [*self.mark, *STANDING], 1)
                hint = f'; did you mean "{near[0]}"?' if near else ""
                marks = ", ".join(dict.fromkeys([*self.mark, *STANDING]))
                yield path, f'there is no mark "{name}"{hint} (marks: {marks})'
            elif level.way == "lux" and name in spots:
                yield (*path, "lux"), "a spot meter reads no lux: expected luminance, t_stop or stops"
            elif level.way == "luminance" and name not in spots:
                yield (*path, "luminance"), "only a spot meter reads cd/m2: expected lux, t_stop or stops"

    def _rig_problems(self) -> Iterator[Problem]:
        holders: dict[str, str] = {}
        for name, light in self.light.items():
            if light.circuit is not None and light.circuit not in self.circuit:
                text = _none_such("circuit", light.circuit, self.circuit)
                yield ("light", name, "circuit"), text
        for name, support in self.support.items():
            held = support.holds(name)
            if held not in self.light:
                at = ("support", name) if support.light is None else ("support", name, "light")
                yield at, _none_such("light", held, self.light)
            elif held in holders:
                text = f'the light "{held}" is held by support.{holders[held]} already'
                yield ("support", name), f"{text}: expected one support for each light"
            holders.setdefault(held, name)
            if self.room is not None and support.height is not None and support.height > self.room.height:
                text = f"goes through the ceiling: expected at most {plain(self.room.height)} metres"
                yield ("support", name, "height"), f"{text}; got {plain(support.height)}"


def _none_such(kind: str, name: str, named: Collection[str]) -> str:
    near = get_close_matches(name, named, 1)
    hint = f'; did you mean "{near[0]}"?' if near else ""
    there = ", ".join(named) if named else f"none: write a [{kind}.NAME]"
    return f'there is no {kind} "{name}"{hint} ({kind}s: {there})'
