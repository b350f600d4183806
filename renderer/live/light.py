"""What the light at a few pixels becomes: put into a film, and shown."""

from __future__ import annotations

import math

import numpy as np

from renderer.colour import luminance
from renderer.film.denoise import Grain
from renderer.film.film import HALVES, Film
from renderer.film.share import shared_out
from renderer.kernels import lattice as kernel
from renderer.kernels.layout import Tally
from renderer.live.lattice import FAR_STEP, Lattice


def take_over(
    film: Film, part: Film, lights: list[int], lattice: Lattice, single: np.ndarray, threads: int | None
) -> None:
    """Put the light of `part` in the place of that of `lights`, at the nodes and at `single` pixels, (n,)."""
    without_specks(part.pixels, lattice)
    to = np.concatenate([lattice.nodes.ravel(), single]).astype(np.int32)
    by = np.concatenate([lattice.source.ravel(), single]).astype(np.int32)
    how = (film.pixels, part.pixels, np.array(lights, np.int32), to, by)
    shared_out(lambda a, b: kernel.take_over(*how, a, b), len(to), threads)


def without_specks(part: Tally, lattice: Lattice) -> None:
    """Bring light that several nodes take down to the brightest of that about it: a speck would otherwise be
    spread over a patch, which the filter does not take for one."""
    nodes = lattice.nodes[::FAR_STEP, ::FAR_STEP]
    at = nodes.ravel()
    number = np.maximum(1, part.samples[:, at])
    lux = luminance(part.irradiance[:, at].sum(axis=2)) / number
    padded = np.pad(lux.max(axis=0).reshape(nodes.shape), 1)
    rows, columns = nodes.shape
    places = [(j, i) for j in range(3) for i in range(3) if (j, i) != (1, 1)]
    about = np.max([padded[j : j + rows, i : i + columns] for j, i in places], axis=0).ravel()
    for half in range(len(lux)):
        most = np.maximum(about, lux[1 - half])
        speck = (lux[half] > most) & lattice.shared[at]
        share = (most[speck] / lux[half, speck]).astype(np.float32)
        part.irradiance[half, at[speck]] *= share[:, None, None]


def picture_of(film: Film, lattice: Lattice, single: np.ndarray, threads: int | None) -> np.ndarray:
    """(h, w, 3) float32 linear RGB from the light at the nodes, without its grain, and from single pixels."""
    pixels, weights = film.pixels, film.mix.weights().astype(np.float32)
    nodes = lattice.nodes.ravel()
    halves = np.empty((HALVES, len(nodes), 3), np.float32)
    shared_out(lambda a, b: kernel.arriving_at(pixels, weights, nodes, halves, a, b), len(nodes), threads)
    first, second = halves.reshape(HALVES, *lattice.nodes.shape, 3)
    light = _cleaned(first, second, pixels.seen[lattice.nodes], threads).reshape(-1, 3)
    picture = np.zeros((len(pixels.seen), 3), np.float32)
    how = (light, lattice.near, lattice.share, lattice.gain, picture)
    shared_out(lambda a, b: kernel.light_between(*how, a, b), len(picture), threads)
    shared_out(lambda a, b: kernel.sent_by(pixels, weights, single, picture, a, b), len(single), threads)
    return picture.reshape(film.height, film.width, 3)


def _cleaned(first: np.ndarray, second: np.ndarray, seen: np.ndarray, threads: int | None) -> np.ndarray:
    """(h, w, 3) float32 arriving light without its grain, from two independent halves of it."""
    white = np.float32(1.0 / math.pi)  # what a white surface sends back
    light, half = np.float32(0.5) * (first + second), np.float32(0.5) * (first - second)
    return Grain(white * light, white * half, light, seen, threads).shown / white
