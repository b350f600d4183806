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
from types import TracebackType
from typing import Self

import numpy as np

from renderer.colour import white_balance_matrix
from renderer.film import tracing
from renderer.film.denoise import Grain
from renderer.film.device import AUTO, pool_on
from renderer.film.film import HALVES, Film
from renderer.film.mix import Fader, Mix
from renderer.film.plan import errors_of
from renderer.film.pool import Job, Stop
from renderer.film.wall_light import with_wall_light
from renderer.kernels.entry import PIXEL
from renderer.kernels.layout import MESH
from renderer.live.change import lights_to_trace, moved_bodies, same_view
from renderer.live.lattice import Lattice, covered
from renderer.live.light import picture_of, take_over
from renderer.meter.found import settled
from renderer.meter.mark import probes_of
from renderer.picture.develop import develop
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


@dataclass
class Kept:
    """What one picture leaves for the next.

    lattice  over the whole picture that was traced last
    covered  (n,) bool: pixels that bodies have come to or left since then
    samples  (n,) int: of each half, that a light which has moved is traced with
    whole    whether the film is still that whole picture's, or has newer light at some pixels
    """

    world: World
    film: Film
    lattice: Lattice
    covered: np.ndarray
    samples: np.ndarray
    whole: bool = True

    @classmethod
    def of(cls, world: World, film: Film) -> Kept:
        """That of a film traced at every pixel."""
        lattice = Lattice.over(film)
        samples = np.where(lattice.traced, samples_of(film.pixels.seen), 0)
        return cls(world, film, lattice, np.zeros(len(samples), np.bool_), samples)

    def single(self) -> np.ndarray:
        """(m,) int: pixels that are traced and shown by themselves."""
        return np.flatnonzero(self.lattice.single | self.covered).astype(np.int32)

    def picture(self, threads: int | None) -> np.ndarray:
        """(h, w, 3) float32 linear RGB from the lattice."""
        return picture_of(self.film, self.lattice, self.single(), threads)


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
            self._kept = Kept.of(world, film)
            return self._shown(world, cleaned(film, self._threads), None)
        self._move(kept, world, mix)
        picture = cleaned(kept.film, self._threads) if kept.whole else kept.picture(self._threads)
        return self._shown(world, picture, None)

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
            self._kept = Kept.of(world, film)

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
            kept.film = kept.film.with_lights(mix)
        kept.film.mix = mix
        kept.covered |= covered(world.camera, moved_bodies(kept.world, world))
        kept.world = world
        if not lights:
            return
        kept.whole = False
        film, lattice, seen = kept.film, kept.lattice, kept.film.pixels.seen
        samples = np.where(kept.covered, 0, kept.samples)
        part = Film.empty(film.width, film.height, 0, Mix(tuple(mix.faders[i] for i in lights)))
        scene = shining(world.packed, lights)
        scene = with_wall_light(self._pool, scene, world.camera, REFERENCE, coarse=True)
        jobs = [_job(kept.covered, 0, 1)]
        jobs += [_job(samples == count, 1, int(count)) for count in np.unique(samples[samples > 0])]
        self._pool.run(scene, world.camera, probes_of([]), part.pixels, REFERENCE, jobs)
        seen[kept.covered] = part.pixels.seen[kept.covered]
        take_over(film, part, lights, lattice, kept.single(), self._threads)

    def _shown(self, world: World, radiance: np.ndarray, error: float | None) -> Shown:
        camera = world.scene.camera
        white = camera.white()
        balance = white_balance_matrix(white.cct, white.locus or "blend", white.duv)
        grey = grey_luminance(camera.t_stop, camera.iso, camera.shutter)
        return Shown(develop(radiance, grey, balance), error, time.monotonic() - self._since)


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
