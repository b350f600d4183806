"""Light of a few pixels put into a film, and read from it at the nodes of a lattice."""

from __future__ import annotations

import numpy as np

from renderer.colour import luminance
from renderer.film.film import HALVES, Film
from renderer.kernels.layout import Tally
from renderer.live.lattice import FAR_STEP, Lattice

Plane = np.ndarray


def take_over(film: Film, part: Film, lights: list[int], lattice: Lattice, single: Plane) -> None:
    """Put the light of `part` in the place of that of `lights`, at the nodes and at single pixels, (n,) int.

    Sums of the film stay sums of as many samples as it has.
    """
    without_specks(part.pixels, lattice)
    nodes, source = lattice.nodes.ravel(), lattice.source.ravel()
    whole, new = film.pixels, part.pixels
    for half in range(HALVES):
        for to, by in ((nodes, source), (single, single)):
            share = (whole.samples[half, to] / new.samples[half, by]).astype(np.float32)
            for i, light in enumerate(lights):
                whole.irradiance[half, to, light] = share[:, None] * new.irradiance[half, by, i]
                whole.radiance[half, to, light] = share[:, None, None] * new.radiance[half, by, i]


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


def arriving(film: Film, pixels: Plane) -> Plane:
    """(HALVES, n, 3) float32 light of the mix arriving at some pixels [lux as RGB], by independent halves."""
    return _mixed(film.pixels.irradiance[:, pixels], film, pixels)


def sent(film: Film, pixels: Plane) -> Plane:
    """(n, 3) float32 linear RGB that some pixels send."""
    return np.asarray(_mixed(film.pixels.radiance[:, pixels].sum(axis=3), film, pixels).mean(axis=0))


def _mixed(sums: Plane, film: Film, pixels: Plane) -> Plane:
    weights = film.mix.weights().astype(np.float32)
    total = np.zeros((*sums.shape[:2], 3), np.float32)
    for light, weight in enumerate(weights):
        total += sums[:, :, light] * weight
    return total / film.pixels.samples[:, pixels, None].astype(np.float32)
