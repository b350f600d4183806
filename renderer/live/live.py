"""A scene whose lights are being moved: a picture at once, and better ones while one looks.

What has not changed is not traced: the head stays packed, lights that stand where they stood keep their
light, what surfaces do with light is known, and the room is metered on a coarser grid. Then the whole is
traced as any preview is, until it is wanted no more.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from functools import cached_property
from types import TracebackType
from typing import Any, Self

import numpy as np

from renderer.colour import white_balance_matrix
from renderer.film import tracing
from renderer.film.denoise import Grain
from renderer.film.device import AUTO, pool_on
from renderer.film.film import HALVES, Film
from renderer.film.mix import Fader, Mix
from renderer.film.place import Place
from renderer.film.plan import errors_of
from renderer.film.pool import Job, Stop
from renderer.film.wall_light import with_wall_light
from renderer.kernels.entry import PIXEL
from renderer.kernels.layout import MESH
from renderer.live.change import lights_to_trace, moved_bodies, same_view
from renderer.live.lattice import Lattice, covered
from renderer.live.light import Relit
from renderer.meter.found import settled
from renderer.meter.mark import probes_of
from renderer.picture.develop import developed
from renderer.picture.png import png_bytes
from renderer.scene.models import Scene
from renderer.units import grey_luminance
from renderer.world.build import World, build
from renderer.world.material import CORNEA, EYE, FINE_HAIR, IRIS, SKIN
from renderer.world.shining import shining

SAMPLES = {SKIN: 2, EYE: 4, CORNEA: 4, IRIS: 4, FINE_HAIR: 4}
"""Of each half of a pixel, by what it shows: more of what is small and looked at; 1 of all else."""
REFERENCE = 0  # seed of all quick pictures: what does not change does not flicker
Show = Callable[["Shown"], None]


@dataclass(frozen=True)
class Shown:
    """A picture of the scene as it stands.

    picture  (h, w, 3) uint8 sRGB at the camera's exposure
    error    standard error of the sitter's pixels [stops], None for the first picture after a change
    seconds  since the change that it shows
    """

    picture: np.ndarray
    error: float | None
    seconds: float

    def _repr_png_(self) -> bytes:
        return png_bytes(self.picture)


class Kept:
    """What one picture leaves for the next.

    film     that was traced at every pixel
    whole    whether it is still what is to be shown; else `relit` is
    lattice  over the film
    relit    newer light on it
    covered  (n,) bool: pixels that bodies have come to or left since then
    """

    def __init__(self, world: World, film: Film, place: Place) -> None:
        self.world, self.film, self._place = world, film, place
        self.whole = True
        self.lattice = Lattice.over(film)
        self.covered = np.zeros(film.width * film.height, np.bool_)

    @cached_property
    def relit(self) -> Relit:
        return Relit(self._place, self.film, self.lattice, self._single())

    @cached_property
    def jobs(self) -> list[Job]:
        """What a light that has moved is traced with."""
        samples = np.where(self.lattice.traced & ~self.covered, samples_of(self.film.pixels.seen), 0)
        jobs = [_job(samples == count, 1, count) for count in sorted({1, *SAMPLES.values()})]
        return [_job(self.covered, 0, 1), *jobs]

    def cover(self, pixels: np.ndarray) -> None:
        """Bodies have come to pixels, (n,) bool, or left them."""
        if (pixels & ~self.covered).any():
            self.covered |= pixels
            self.__dict__.pop("jobs", None)
            self.relit.single_out(self._single())

    def _single(self) -> np.ndarray:
        return np.flatnonzero(self.lattice.single | self.covered).astype(np.int32)


class Live:
    """Follows a scene. Use it in a `with`; it holds the threads that trace.

    >>> with Live() as live:
    ...     live.show(scene)
    ...     live.show(changed(scene, {"light.key.around.azimuth": 50.0}))
    ...     live.refine(0.1, print)
    """

    def __init__(self, on: str = AUTO, threads: int | None = None) -> None:
        self._on, self._threads = on, threads
        self._open = ExitStack()
        self._kept: Kept | None = None
        self._since = 0.0

    def __enter__(self) -> Self:
        self._pool = self._open.enter_context(pool_on(self._on, self._threads))
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trail: TracebackType | None
    ) -> None:
        self._open.__exit__(kind, error, trail)

    @property
    def halted(self) -> bool:
        """Whether an interrupt from the keyboard asked for an end."""
        return self._pool.halted.is_set()

    def show(self, scene: Scene) -> Shown:
        """The scene as soon as it can be seen. Raises InputError for what cannot be built."""
        self._since = time.monotonic()
        world = build(scene)
        mix = Mix(tuple(map(Fader.of, world.layers)))
        kept = self._kept
        if kept is None or not same_view(kept.world, world):
            film = self._first_pass(world, mix)
            self._kept = Kept(world, film, self._pool.place)
            return self._shown(world, cleaned(film, self._threads), None)
        self._move(kept, world, mix)
        if kept.whole:
            return self._shown(world, cleaned(kept.film, self._threads), None)
        return self._told(world, self._pool.place, kept.relit.picture(mix), None)

    def refine(self, within: float, show: Show, stop: Stop | None = None) -> bool:
        """Trace the scene that was shown last anew, to `within` [stops]; each better picture goes to `show`.

        Whether it was brought to an end: False where `stop` said that it is wanted no more. Raises InputError
        where the room's own light cannot be metered.
        """
        assert self._kept is not None, "show a scene first"
        if self._kept.whole and errors_of(self._kept.film, threads=self._threads).stops() <= within:
            return True
        world = settled(self._kept.world, self._threads)

        def tell(film: Film) -> None:
            show(self._shown(world, cleaned(film, self._threads), film.error))
            self._kept = Kept(world, film, self._pool.place)

        film = tracing.run(
            world.packed,
            world.camera,
            probes_of([]),
            self._kept.film.mix,
            within=within,
            on=self._pool,
            threads=self._threads,
            show=tell,
            stop=stop,
        )
        return not (film.halted or (stop is not None and stop()))

    def _first_pass(self, world: World, mix: Mix) -> Film:
        camera = world.camera
        film = Film.empty(int(camera[0]["width"]), int(camera[0]["height"]), 0, mix)
        scene = with_wall_light(self._pool, world.packed, camera, REFERENCE, coarse=True)
        every = _job(np.ones(film.width * film.height, np.bool_), 0, 1)
        self._pool.run(scene, camera, probes_of([]), film.pixels, REFERENCE, [every])
        return film

    def _move(self, kept: Kept, world: World, mix: Mix) -> None:
        """Trace the lights that are not what they were, at as few pixels as will do."""
        lights = lights_to_trace(kept.world, world)
        if lights is None:
            lights = list(range(len(world.layers)))
            kept.relit.with_lights(len(lights))
            kept.whole = False
        kept.film.mix = mix
        kept.cover(covered(world.camera, moved_bodies(kept.world, world)))
        kept.world = world
        if not lights:
            return
        kept.whole = False
        part = kept.relit.part(len(lights))
        scene = shining(world.packed, lights)
        scene = with_wall_light(self._pool, scene, world.camera, REFERENCE, coarse=True)
        self._pool.run(scene, world.camera, probes_of([]), part, REFERENCE, kept.jobs)
        kept.relit.take_over(part, lights)

    def _shown(self, world: World, radiance: np.ndarray, error: float | None) -> Shown:
        return self._told(world, Place(self._threads), radiance.reshape(-1, 3), error)

    def _told(self, world: World, place: Place, radiance: Any, error: float | None) -> Shown:
        camera = world.scene.camera
        white = camera.white()
        balance = white_balance_matrix(white.cct, white.locus or "blend", white.duv)
        grey = grey_luminance(camera.t_stop, camera.iso, camera.shutter)
        width, height = camera.picture
        picture = developed(place, radiance, grey, balance).reshape(height, width, 3)
        return Shown(picture, error, time.monotonic() - self._since)


def _job(pixels: np.ndarray, first: int, count: int) -> Job:
    """Samples of both halves of some pixels, (n,) bool; number 0 also notes what is seen."""
    return np.flatnonzero(pixels).astype(np.int32), PIXEL, range(HALVES), first, count


def samples_of(seen: np.ndarray) -> np.ndarray:
    """(n,) int: SAMPLES of what each pixel shows."""
    samples = np.ones(len(seen), np.int64)
    sitter = seen["family"] == MESH
    for material, count in SAMPLES.items():
        samples[sitter & (seen["number"] == material)] = count
    return samples


def cleaned(film: Film, threads: int | None = None) -> np.ndarray:
    """(h, w, 3) float32 linear RGB of the film's mix, its grain taken out."""
    picture, half, arriving = film.mixed(threads=threads)
    return Grain(picture, half, arriving, film.seen(), threads).shown
