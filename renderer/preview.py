"""A traced scene in one's hands: its picture, maps and numbers, mixed anew as often as one likes.

>>> preview = Preview.trace(load("scene.toml"), within=0.1)
>>> preview.mixed(dim={"key": 0.5}, mute=["edge"]).numbers().measures["lighting_ratio"]
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np

from renderer.colour import luminance, white_balance_matrix
from renderer.film import tracing
from renderer.film.denoise import denoised
from renderer.film.device import AUTO, check_place, pool_on
from renderer.film.layers import Layers
from renderer.film.mix import Fader, Mix
from renderer.meter.face import FaceTrace, trace_face
from renderer.meter.found import settled
from renderer.meter.mark import KEY_CHEEK, Mark, marks_of, probes_of
from renderer.meter.numbers import Numbers, numbers
from renderer.picture.develop import auto_grey_luminance, develop
from renderer.picture.incident_map import incident_map
from renderer.picture.legend import Exposure, Place
from renderer.picture.patch_map import patch_map
from renderer.picture.png import png_bytes
from renderer.picture.stops_map import stops_map
from renderer.scene.gel import Entry
from renderer.scene.layer import key_of
from renderer.scene.models import Scene
from renderer.units import MID_GREY, grey_luminance
from renderer.world.build import World, build
from renderer.world.material import SKIN, patch_name
from renderer.world.window import eye_window

AUTO_STOPS_OVER_GREY = 0.5  # automatic exposure sets the sitter's mean here; own choice
# Error of a pixel of the magnified eyes, for one of the picture, which is 16 times as large.
EYES_WITHIN = 2.0
SILHOUETTES = 1000  # more than there are shapes: keeps the families apart in one id


@dataclass(frozen=True)
class Preview:
    """A scene, its traced layers, and where its meters stand; `eyes` are layers of the eyes, magnified."""

    scene: Scene
    layers: Layers
    marks: list[Mark]
    missing: list[str]
    face: FaceTrace | None = None
    eyes: Layers | None = None

    @classmethod
    def trace(
        cls,
        scene: Scene | World,
        *,
        within: float = 0.1,
        seconds: float = math.inf,
        seed: int = 0,
        threads: int | None = None,
        follow_all: bool = False,
        picture: bool = True,
        face: bool = True,
        magnify: bool = True,
        grain: bool = False,
        on: str = AUTO,
        watch: tracing.Watcher | None = None,
        show: Callable[[Preview], None] | None = None,
    ) -> Preview:
        """Trace a scene; see `renderer.film.tracing.run` for the options.

        face     also trace the measures of the light on the sitter's face
        magnify  also trace the eyes, four times magnified
        grain    pictures are wanted raw: their pixels must keep to `within` before any grain is taken out
        on       "cpu", "gpu", or "auto" for a graphics card where there is one
        show     is given the preview as soon as it has its picture, before its eyes and face are traced

        raises InputError for a mesh or a mark that cannot be used, and for a card that is not there
        """
        check_place(on)
        world = settled(build(scene) if isinstance(scene, Scene) else scene, threads, seed)
        marks, missing = marks_of(world)
        faders = [Fader.of(layer) for layer in world.layers]
        started = time.monotonic()
        with pool_on(on, threads) as pool:
            trace = partial(
                tracing.run,
                world.packed,
                mix=Mix(tuple(faders)),
                seed=seed,
                threads=threads,
                follow_all=follow_all,
                grain=grain,
                on=pool,
                metered=world.bare_faced.packed,
            )
            film = trace(
                world.camera, probes_of(marks), within=within, seconds=seconds, picture=picture, watch=watch
            )
            layers = film.layers(time.monotonic() - started, seed, follow_all)
            preview = cls(world.scene, layers, marks, missing)
            if show and picture:
                show(preview)
            window = eye_window(world) if picture and magnify and not film.halted else None
            eyes = None
            if window is not None:
                left = max(0.0, seconds - (time.monotonic() - started))
                coarse = EYES_WITHIN * within
                near = trace(window, probes_of([]), within=coarse, seconds=left, wall_light=film.wall_light)
                eyes = near.layers(time.monotonic() - started, seed, follow_all)
            traced = trace_face(world, pool, seed) if face else None
        whole = replace(preview, face=traced, eyes=eyes)
        if "_clean" in vars(preview):  # what was shown is its picture too
            vars(whole)["_clean"] = preview._clean
        return whole

    def mixed(
        self,
        dim: Mapping[str, float] | None = None,
        cct: Mapping[str, float] | None = None,
        colour: Mapping[str, Sequence[float]] | None = None,
        solo: Collection[str] = (),
        mute: Collection[str] = (),
        gel: Mapping[str, Entry | Sequence[Entry]] | None = None,
    ) -> Preview:
        """The same light in another mix, exactly and without tracing; see `Mix.changed`."""
        if not any((dim, cct, colour, solo, mute, gel)):
            return self
        mix = self.layers.mix.changed(dim, cct, colour, solo, mute, gel)
        eyes = self.eyes.with_mix(mix) if self.eyes else None
        return replace(self, layers=self.layers.with_mix(mix), eyes=eyes)

    def numbers(self) -> Numbers:
        """Every number of this mix, each with its standard error."""
        scene = self.scene
        return numbers(self.layers, self.marks, self.missing, scene.camera, self.face, scene.target)

    def exposure(self) -> Exposure:
        camera = self.scene.camera
        return Exposure(camera.t_stop, camera.iso, camera.shutter)

    def grey(self, automatic: bool = False) -> float:
        """Luminance [cd/m2] that is shown as middle grey: by the camera's exposure, or set by the sitter."""
        camera = self.scene.camera
        if automatic:
            picture = self.layers.picture()
            sitter = self.layers.sitter()
            mask = sitter if sitter.any() else ~self.layers.emitting()
            return auto_grey_luminance(picture, mask, AUTO_STOPS_OVER_GREY)
        return grey_luminance(camera.t_stop, camera.iso, camera.shutter)

    def picture(self, automatic: bool = False, raw: bool = False) -> np.ndarray:
        """The developed picture, (h, w, 3) uint8 sRGB, with its grain taken out unless it is to be `raw`."""
        return self.developed(self.layers.picture() if raw else self._clean, automatic)

    @cached_property
    def _clean(self) -> np.ndarray:
        return denoised(self.layers)

    def _repr_png_(self) -> bytes:
        """The picture, for a notebook."""
        return png_bytes(self.picture())

    def eye_picture(self, automatic: bool = False, raw: bool = False) -> np.ndarray | None:
        """Both eyes, four times magnified, as `picture`; None where the picture shows none."""
        if not self.eyes:
            return None
        return self.developed(self.eyes.picture() if raw else denoised(self.eyes), automatic)

    def key(self) -> str:
        """The light that ratios are read against; see `key_of`."""
        return key_of(self.layers.mix.faders)

    def key_picture(self, automatic: bool = False, raw: bool = False) -> np.ndarray:
        """The key alone at its level, its bounce included, exposed as the whole and made as `picture`."""
        alone = self.layers.with_mix(self.layers.mix.changed(solo=[self.key()]))
        return self.developed(alone.picture() if raw else denoised(alone), automatic)

    def patch_map(self, automatic: bool = False, raw: bool = False) -> np.ndarray:
        """The picture with patches of skin outlined, their stops from middle grey printed on them.

        raw  leaves the grain in the picture; the stops are those of the raw luminance in any case
        """
        return patch_map(
            self.picture(automatic, raw),
            self.layers.seen["patch"],
            luminance(self.layers.picture()),
            self.grey(automatic),
            patch_name,
            noise=self.layers.picture_error,
            exposure=None if automatic else self.exposure(),
        )

    def developed(self, radiance: np.ndarray, automatic: bool = False) -> np.ndarray:
        """Any radiance, (h, w, 3) linear RGB, as `picture` develops it: (h, w, 3) uint8 sRGB."""
        white = self.scene.camera.white()
        balance = white_balance_matrix(white.cct, white.locus or "blend", white.duv)
        return develop(radiance, self.grey(automatic), balance)

    def stops_map(self, automatic: bool = False, legend: Place = "side") -> np.ndarray:
        """Stops from middle grey, with numbers and legend: (h', w', 3) uint8 sRGB."""
        skin = float(luminance(np.array(self.scene.sitter.skin_rgb)))
        grey = self.grey(automatic)
        seen = self.layers.seen
        return stops_map(
            luminance(self.layers.picture()),
            grey,
            exposure=None if automatic else self.exposure(),
            ids=self._surfaces(),
            face_mask=self.layers.sitter() & (seen["number"] == SKIN),
            face_target=grey * skin / MID_GREY,
            legend=legend,
            title="Stops map",
        )

    def incident_map(self) -> np.ndarray:
        """Light arriving, in stops from the metered key: (h', w', 3) uint8 sRGB."""
        lux = self.layers.illuminance()
        zero, name = self.scene.camera.working_lux, "what the exposure asks for"
        marks = [mark.name for mark in self.marks]
        if KEY_CHEEK in marks:
            key = float(self.layers.values()[:, marks.index(KEY_CHEEK)].sum(axis=1).mean())
            if key > 0.0:
                zero, name = key, "key-side cheek, disc to the key"
        return incident_map(lux, zero, exposure=self.exposure(), zero_name=name, ids=self._surfaces())

    def _surfaces(self) -> np.ndarray:
        """One number for each thing seen: skin, eyes, hair, each wall, each shape."""
        seen = self.layers.seen
        return np.asarray(seen["family"] * SILHOUETTES + seen["number"])
