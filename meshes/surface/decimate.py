"""Edge collapse by quadric error in passes of independent edges; keeps a half surface open on x = 0 weldable.

Quadric error after Garland and Heckbert, "Surface simplification using quadric error metrics", SIGGRAPH 1997.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]
Faces = NDArray[np.int64]


def decimated(
    vertices: Array, faces: Faces, weight: Array, longest: Array, target: int
) -> tuple[Array, Faces]:
    """At most about `target` triangles of the half surface.

    weight   (n,) factor on the error at each vertex: large where detail must stay
    longest  (n,) longest edge wanted near each vertex [mm]
    """
    v, f, w, long = vertices.copy(), faces.copy(), weight.copy(), longest.copy()
    q = _quadrics(v, f, w)
    for _ in range(80):
        if len(f) <= target:
            break
        allowed = max(200, min((len(f) - target) // 2 + 1, len(f) // 12))
        dead = _one_pass(v, f, q, long, w, allowed)
        if dead.sum() < 50:
            break
        f = f[~dead]
        used = np.zeros(len(v), dtype=bool)
        used[f.ravel()] = True
        index = np.cumsum(used) - 1
        v, q, long, w, f = v[used], q[used], long[used], w[used], index[f]
    return v, f


@njit(cache=True)  # type: ignore[untyped-decorator]
def _quadrics(v: Array, f: Faces, w: Array) -> Array:
    """Sum of weighted plane quadrics per vertex, (n, 10)."""
    q = np.zeros((len(v), 10))
    for t in range(len(f)):
        a, b, c = v[f[t, 0]], v[f[t, 1]], v[f[t, 2]]
        n = np.cross(b - a, c - a)
        size = np.sqrt(n[0] ** 2 + n[1] ** 2 + n[2] ** 2)
        if size < 1e-14:
            continue
        n /= size
        d = -(n[0] * a[0] + n[1] * a[1] + n[2] * a[2])
        p = np.array([n[0], n[1], n[2], d])
        for s in range(3):
            i, m = f[t, s], 0
            for r in range(4):
                for e in range(r, 4):
                    q[i, m] += p[r] * p[e] * size * w[i]
                    m += 1
    return q


@njit(cache=True)
def _error(q, p):  # type: ignore[no-untyped-def]
    """Quadric value at a point."""
    x, y, z = p[0], p[1], p[2]
    return (
        q[0] * x * x
        + 2 * q[1] * x * y
        + 2 * q[2] * x * z
        + 2 * q[3] * x
        + q[4] * y * y
        + 2 * q[5] * y * z
        + 2 * q[6] * y
        + q[7] * z * z
        + 2 * q[8] * z
        + q[9]
    )


@njit(cache=True)
def _one_pass(v, f, q, long, w, allowed):  # type: ignore[no-untyped-def]
    """Collapse up to `allowed` independent cheap edges in place; returns which faces died."""
    n, m = len(v), len(f)
    count = np.zeros(n + 1, dtype=np.int64)
    for t in range(m):
        for s in range(3):
            count[f[t, s] + 1] += 1
    first = np.cumsum(count)
    fill = first[:-1].copy()
    ring = np.empty(3 * m, dtype=np.int64)
    for t in range(m):
        for s in range(3):
            ring[fill[f[t, s]]] = t
            fill[f[t, s]] += 1
    # edges once each; on the open side an edge has one face, seen from its smaller or larger end
    ea, eb = np.empty(3 * m, dtype=np.int64), np.empty(3 * m, dtype=np.int64)
    cost = np.empty(3 * m)
    target = np.empty((3 * m, 3))
    k = 0
    for t in range(m):
        for s in range(3):
            a, b = f[t, s], f[t, (s + 1) % 3]
            side_a, side_b = v[a, 0] == 0.0, v[b, 0] == 0.0
            if a > b and not (side_a and side_b):
                continue
            best, point = 1e300, v[a].copy()
            total = q[a] + q[b]
            gap = v[a] - v[b]
            length = np.sqrt(gap[0] ** 2 + gap[1] ** 2 + gap[2] ** 2)
            for option in range(3):
                if (side_a and not side_b and option != 0) or (side_b and not side_a and option != 2):
                    continue
                p = v[a] + (0.5 * option) * (v[b] - v[a])
                e = abs(_error(total, p)) + 1e-5 * (w[a] + w[b]) * length**4
                if e < best:
                    best, point = e, p
            if length > min(long[a], long[b]):
                best = 1e300
            ea[k], eb[k], cost[k] = a, b, best
            target[k] = point
            k += 1
    order = np.argsort(cost[:k], kind="mergesort")
    touched = np.zeros(n, dtype=np.bool_)
    dead = np.zeros(m, dtype=np.bool_)
    near_a, near_b = np.full(n, -1, dtype=np.int64), np.full(n, -1, dtype=np.int64)
    done = 0
    for o in range(k):
        e = order[o]
        if done >= allowed or cost[e] >= 1e299:
            break
        a, b, p = ea[e], eb[e], target[e]
        if touched[a] or touched[b]:
            continue
        ok, shared, faces_here = True, 0, 0
        for i in range(first[a], first[a + 1]):
            for s in range(3):
                c = f[ring[i], s]
                near_a[c] = e
                ok = ok and not touched[c]
                if c == b and s >= 0:
                    faces_here += 1
        on_a, on_b = v[a, 0] == 0.0, v[b, 0] == 0.0
        for i in range(first[b], first[b + 1]):
            for s in range(3):
                c = f[ring[i], s]
                ok = ok and not touched[c]
                if near_b[c] != e:
                    near_b[c] = e
                    if near_a[c] == e and c != a and c != b:
                        shared += 1
        if on_a and on_b:
            ok = ok and faces_here == 1
        elif on_a or on_b:
            # the inner end must not bring a second mid-plane neighbour that is not shared
            inner = b if on_a else a
            other = a if on_a else b
            for i in range(first[inner], first[inner + 1]):
                for s in range(3):
                    c = f[ring[i], s]
                    if v[c, 0] == 0.0 and c != other and not (near_a[c] == e and near_b[c] == e):
                        ok = False
        if not ok or shared != faces_here:
            continue
        for end in range(2):
            me, you = (a, b) if end == 0 else (b, a)
            for i in range(first[me], first[me + 1]):
                t = ring[i]
                if f[t, 0] == you or f[t, 1] == you or f[t, 2] == you:
                    continue
                before = np.cross(v[f[t, 1]] - v[f[t, 0]], v[f[t, 2]] - v[f[t, 0]])
                c0 = p if f[t, 0] == me else v[f[t, 0]]
                c1 = p if f[t, 1] == me else v[f[t, 1]]
                c2 = p if f[t, 2] == me else v[f[t, 2]]
                after = np.cross(c1 - c0, c2 - c0)
                dot = (before * after).sum()
                sizes = np.sqrt((before**2).sum() * (after**2).sum())
                around = ((c1 - c0) ** 2).sum() + ((c2 - c1) ** 2).sum() + ((c0 - c2) ** 2).sum()
                area = np.sqrt((after**2).sum())
                thinner = area < 0.08 * around and area < np.sqrt((before**2).sum())
                if dot < 0.5 * sizes or thinner:
                    ok = False
        if not ok:
            continue
        for i in range(first[a], first[a + 1]):
            for s in range(3):
                touched[f[ring[i], s]] = True
        for i in range(first[b], first[b + 1]):
            t = ring[i]
            for s in range(3):
                touched[f[t, s]] = True
            if f[t, 0] == a or f[t, 1] == a or f[t, 2] == a:
                dead[t] = True
            for s in range(3):
                if f[t, s] == b:
                    f[t, s] = a
        v[a] = p
        q[a] += q[b]
        w[a] = max(w[a], w[b])
        long[a] = min(long[a], long[b])
        done += 1
    return dead
