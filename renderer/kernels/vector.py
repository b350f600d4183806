"""Vectors as tuples of three floats. The world is left-handed, so `cross` is used only where the
sign of the result does not matter or is fixed by the caller."""

import math

from renderer.kernels.compiler import inlined


@inlined
def add(a, b):
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


@inlined
def sub(a, b):
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


@inlined
def scale(a, s):
    return (a[0] * s, a[1] * s, a[2] * s)


@inlined
def times(a, b):
    """Component by component, for colours."""
    return (a[0] * b[0], a[1] * b[1], a[2] * b[2])


@inlined
def dot(a, b):
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@inlined
def cross(a, b):
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


@inlined
def unit(a):
    return scale(a, 1.0 / math.sqrt(dot(a, a)))


@inlined
def along(origin, direction, t):
    return (origin[0] + t * direction[0], origin[1] + t * direction[1], origin[2] + t * direction[2])


@inlined
def triple(record_field):
    """The three numbers of a record's vector field."""
    return (record_field[0], record_field[1], record_field[2])


@inlined
def max_component(a):
    return max(a[0], max(a[1], a[2]))


@inlined
def max_magnitude(a):
    return max(abs(a[0]), max(abs(a[1]), abs(a[2])))


@inlined
def tangents(n):
    """Two unit vectors that with unit `n` form an orthonormal frame.

    source  Duff et al., Building an Orthonormal Basis, Revisited, JCGT 6(1), 2017
    """
    sign = 1.0 if n[2] >= 0.0 else -1.0
    a = -1.0 / (sign + n[2])
    b = n[0] * n[1] * a
    return (1.0 + sign * n[0] * n[0] * a, sign * b, -sign * n[0]), (b, sign + n[1] * n[1] * a, -n[1])


@inlined
def from_frame(x, y, z, s, t, n):
    """World vector of local coordinates x, y, z along the axes s, t, n."""
    return (
        x * s[0] + y * t[0] + z * n[0],
        x * s[1] + y * t[1] + z * n[1],
        x * s[2] + y * t[2] + z * n[2],
    )
