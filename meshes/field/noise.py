"""Smooth value noise that repeats bit for bit: a lattice of hashed values, no random state."""

import numpy as np

from .blend import Array

PRIMES = (np.uint64(0x9E3779B97F4A7C15), np.uint64(0xC2B2AE3D27D4EB4F), np.uint64(0x165667B19E3779F9))


def chance(i: np.ndarray, j: np.ndarray, k: np.ndarray, seed: int) -> Array:
    """Even value in 0..1 for each lattice point; integers may be negative."""
    h = np.full(np.shape(i), (seed * int(PRIMES[0]) + int(PRIMES[1])) % 2**64, np.uint64)
    for part, prime in zip((i, j, k), PRIMES, strict=True):
        h = (h ^ (part.astype(np.int64).astype(np.uint64) * prime)) * np.uint64(0xD6E8FEB86659FD93)
        h ^= h >> np.uint64(32)
    return np.asarray((h >> np.uint64(11)).astype(np.float64) / 2.0**53)


def noise(x: Array, y: Array, z: Array, seed: int) -> Array:
    """Value noise in -1..1 with one lattice cell per unit, C1."""
    corner = [np.floor(c) for c in (x, y, z)]
    t = [c - lo for c, lo in zip((x, y, z), corner, strict=True)]
    u, v, w = (s * s * (3.0 - 2.0 * s) for s in t)
    i, j, k = corner
    total = np.zeros(np.shape(x))
    for a in (0, 1):
        for b in (0, 1):
            for c in (0, 1):
                share = (u if a else 1.0 - u) * (v if b else 1.0 - v) * (w if c else 1.0 - w)
                total += share * chance(i + a, j + b, k + c, seed)
    return np.asarray(2.0 * total - 1.0)
