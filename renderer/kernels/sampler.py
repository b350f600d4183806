"""Points of a scrambled Sobol sequence, any of them at once and without state.

A sample is named by its key (seed, half, receiver), its pair (which two dimensions of the path) and
its number. Every pair is the first two Sobol dimensions, its order shuffled and its digits scrambled
by hashes of key and pair, so pairs are independent and each is a (0, 2)-sequence.

source  Burley, Practical Hash-based Owen Scrambling, JCGT 9(4), 2020, with the constants that Vegdahl
        found for it (from memory; Burley's own tie the digits of neighbours); the hash of keys after
        Jarzynski & Olano, Hash Functions for GPU Rendering, JCGT 9(3), 2020
"""

import numpy as np

from renderer.kernels.compiler import inlined, kernel

U32 = np.uint32
SCALE = 1.0 / 4294967296.0


@inlined
def mix(a, b):
    """Hash of two 32-bit numbers."""
    state = U32(U32(a) * U32(747796405) + U32(U32(b) + U32(2891336453)) * U32(2654435769))
    word = U32(U32((state >> U32((state >> U32(28)) + U32(4))) ^ state) * U32(277803737))
    return U32((word >> U32(22)) ^ word)


@inlined
def reverse_bits(x):
    x = U32((x >> U32(16)) | U32(x << U32(16)))
    x = U32(((x & U32(0x00FF00FF)) << U32(8)) | ((x & U32(0xFF00FF00)) >> U32(8)))
    x = U32(((x & U32(0x0F0F0F0F)) << U32(4)) | ((x & U32(0xF0F0F0F0)) >> U32(4)))
    x = U32(((x & U32(0x33333333)) << U32(2)) | ((x & U32(0xCCCCCCCC)) >> U32(2)))
    return U32(((x & U32(0x55555555)) << U32(1)) | ((x & U32(0xAAAAAAAA)) >> U32(1)))


@inlined
def scramble_reversed(x, seed):
    """Owen scrambling of a number whose digits run from the lowest bit up."""
    x = U32(x ^ U32(x * U32(0x3D20ADEA)))
    x = U32(x + seed)
    x = U32(x * ((seed >> U32(16)) | U32(1)))
    x = U32(x ^ U32(x * U32(0x05526C56)))
    return U32(x ^ U32(x * U32(0x53A22864)))


@inlined
def sobol_second_reversed(x):
    """Second Sobol dimension of index x, digits from the lowest bit up.

    Its generator is Pascal's triangle mod 2, that is the change of variable y -> 1 + y of a polynomial
    over GF(2), done in five steps because (1 + y)^(2^k) = 1 + y^(2^k) there.
    """
    x = U32(x ^ (x >> U32(16)))
    x = U32(x ^ ((x >> U32(8)) & U32(0x00FF00FF)))
    x = U32(x ^ ((x >> U32(4)) & U32(0x0F0F0F0F)))
    x = U32(x ^ ((x >> U32(2)) & U32(0x33333333)))
    return U32(x ^ ((x >> U32(1)) & U32(0x55555555)))


@kernel
def pair_of(key, pair, number):
    """Two numbers in [0, 1): point `number` of the pair's sequence under `key`."""
    seed = mix(key, U32(pair))
    index = reverse_bits(scramble_reversed(reverse_bits(U32(number)), seed))
    first = reverse_bits(scramble_reversed(index, mix(seed, U32(1))))
    second = reverse_bits(scramble_reversed(sobol_second_reversed(index), mix(seed, U32(2))))
    return float(first) * SCALE, float(second) * SCALE
