"""Sizes of a head as a survey measures them.

ANSUR II, 2012 US Army survey, Gordon et al. 2014, NATICK/TR-15/007: means and SD recomputed from the public
working files (4082 men, 1986 women).
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# mean, SD [mm] of men, of women; rows of the survey named in the docstring
ANSUR = {
    "head breadth": ((154.3, 5.5), (147.8, 5.2)),
    "head length": ((199.5, 7.0), (189.8, 7.4)),
    "bizygomatic breadth": ((142.6, 6.2), (133.8, 5.6)),
    "menton-sellion length": ((122.6, 6.7), (113.1, 6.1)),
    "interpupillary breadth": ((64.0, 3.4), (61.7, 3.6)),
    "tragion to top of head": ((131.1, 6.2), (126.5, 6.5)),
    "vertex to eye": ((113.8, 9.0), (108.9, 8.2)),
    "bideltoid breadth": ((510.4, 32.5), (450.3, 28.7)),
    "head circumference": ((574.4, 16.0), (561.1, 19.4)),
    "neck circumference": ((397.7, 25.8), (329.8, 19.2)),
    "ear length": ((64.2, 4.5), (59.4, 3.9)),
    "ear breadth": ((36.1, 3.0), (33.2, 2.8)),
}


def sizes(p: Array, m: dict[str, Array]) -> dict[str, float]:
    """Sizes as in ANSUR from a head's vertices (n, 3) and landmarks, both in mm of the head frame."""
    mid = p[(np.abs(p[:, 1]) < 1.0) & (p[:, 0] < -120) & (p[:, 2] > -40)]
    # head: from the glabella slightly down to the back of the head
    tilt = (p[:, 2] - 18.0) - 0.06 * (p[:, 0] - 18.0)
    round_head = p[np.abs(tilt) < 2.0][:, :2]
    round_head = round_head[np.abs(round_head[:, 1]) < 79.0]  # above and without the ears
    # neck: square to its axis, which leans forward about 15 degrees (read off the mesh)
    tilt = (p[:, 2] + 150.0) + 0.27 * (p[:, 0] + 106.0)
    band = p[(np.abs(tilt) < 3.0) & (np.abs(p[:, 1]) < 75.0)]
    round_neck = np.stack([band[:, 0] * np.hypot(1.0, 0.27), band[:, 1]], axis=1)
    ear = p[(p[:, 1] > m["tragion_l"][1] + 5.0) & (p[:, 2] < 21) & (p[:, 2] > -56) & (p[:, 0] < -70)]
    return {
        "head breadth": 2.0 * p[p[:, 2] > 22.0][:, 1].max(),
        "head length": np.linalg.norm(mid - m["glabella"], axis=1).max(),
        "bizygomatic breadth": m["zygion_l"][1] - m["zygion_r"][1],
        "menton-sellion length": np.linalg.norm(m["nasion"] - m["menton"]),
        "interpupillary breadth": m["pupil_l"][1] - m["pupil_r"][1],
        "tragion to top of head": m["vertex"][2] - m["tragion_l"][2],
        "vertex to eye": m["vertex"][2],
        "bideltoid breadth": 2.0 * p[:, 1].max(),
        "head circumference": hull_length(round_head),
        "neck circumference": hull_length(round_neck),
        "ear length": np.ptp(ear[:, 2]),
        "ear breadth": m["tragion_l"][0] - ear[:, 0].min(),
    }


def features(m: dict[str, Array]) -> list[float]:
    """Sizes of the face that the survey lacks [mm]: nose, jaw, mouth, lower face, brow."""
    return [
        np.linalg.norm(m["nasion"] - m["subnasale"]),
        m["pronasale"][0] - m["alare_l"][0],
        m["alare_l"][1] * 2.0,
        m["gonion_l"][1] * 2.0,
        m["cheilion_l"][1] * 2.0,
        m["subnasale"][2] - m["menton"][2],
        m["glabella"][0] - m["nasion"][0],
    ]


def hull_length(points: Array) -> float:
    """Perimeter of the convex hull of plane points."""
    p = points[np.lexsort(points.T[::-1])]
    chain: list[Array] = []
    for run in (p, p[::-1]):
        half: list[Array] = []
        for q in run:
            while len(half) > 1 and np.linalg.det([half[-1] - half[-2], q - half[-2]]) <= 0.0:
                half.pop()
            half.append(q)
        chain += half[:-1]
    ring = np.array(chain + chain[:1])
    return float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum())
