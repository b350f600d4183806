"""Where a light at infinity reaches a mesh: triangles against points, in the plane across the light."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]
Faces = NDArray[np.int64]


@njit(cache=True)
def _scan(pu, pv, pw, start, u, v, w, faces, depth, which, from_far):  # type: ignore[no-untyped-def]
    """Keep in `depth` the nearest hit above each point (outermost with from_far); points sorted by pu."""
    for t in range(len(faces)):
        a, b, c = faces[t, 0], faces[t, 1], faces[t, 2]
        hi_u = max(u[a], u[b], u[c])
        lo_v, hi_v = min(v[a], v[b], v[c]), max(v[a], v[b], v[c])
        area = (u[b] - u[a]) * (v[c] - v[a]) - (u[c] - u[a]) * (v[b] - v[a])
        if abs(area) < 1e-12:
            continue
        for i in range(start[t], len(pu)):
            if pu[i] > hi_u:
                break
            if pv[i] < lo_v or pv[i] > hi_v:
                continue
            wa = ((u[b] - pu[i]) * (v[c] - pv[i]) - (u[c] - pu[i]) * (v[b] - pv[i])) / area
            wb = ((u[c] - pu[i]) * (v[a] - pv[i]) - (u[a] - pu[i]) * (v[c] - pv[i])) / area
            if wa < 0.0 or wb < 0.0 or wa + wb > 1.0:
                continue
            h = wa * w[a] + wb * w[b] + (1.0 - wa - wb) * w[c]
            if from_far:
                if which[i] < 0 or h > depth[i]:
                    depth[i], which[i] = h, t
            elif h > pw[i] and (which[i] < 0 or h < depth[i]):
                depth[i], which[i] = h, t


def first_hit(
    points: Array, way: Array, p: Array, faces: Faces, right: Array, up: Array, from_far: bool
) -> tuple[Array, Faces]:
    """Depth along `way` of the nearest hit beyond each point (outermost with from_far), and its triangle."""
    order = np.argsort(points @ right)
    pu, pv, pw = (points @ axis for axis in (right, up, way))
    u, v, w = (p @ axis for axis in (right, up, way))
    start = np.searchsorted(pu[order], u[faces].min(axis=1))
    depth, which = np.full(len(points), np.nan), np.full(len(points), -1)
    _scan(pu[order], pv[order], pw[order], start, u, v, w, faces, depth, which, from_far)
    back = np.argsort(order)
    return depth[back], which[back]


def toward(azimuth_deg: float, elevation_deg: float) -> Array:
    """Unit vector from the face to a far light; azimuth from the nose, positive to the sitter's left."""
    a, e = np.radians(azimuth_deg), np.radians(elevation_deg)
    return np.array([np.cos(a) * np.cos(e), np.sin(a) * np.cos(e), np.sin(e)])


def cast(points: Array, way: Array, p: Array, faces: Faces, from_far: bool = False) -> tuple[Array, Faces]:
    """`first_hit` with a frame made up about `way`; triangle -1 and depth NaN where nothing is hit."""
    side = np.cross([0.0, 0.0, 1.0], way) if abs(way[2]) < 0.99 else np.array([0.0, 1.0, 0.0])
    side /= np.linalg.norm(side)
    return first_hit(np.ascontiguousarray(points), way, p, faces, side, np.cross(way, side), from_far)


def shaded(points: Array, normals: Array, way: Array, p: Array, faces: Faces) -> NDArray[np.bool_]:
    """True where the mesh stands between the point, lifted 0.3 mm off the skin, and a far light."""
    return cast(points + 0.3 * normals, way, p, faces)[1] >= 0
