"""The committed head: closed, symmetric, of human size, and shaded by light as a head is.

Sizes: ANSUR II, 2012 US Army survey, Gordon et al. 2014, NATICK/TR-15/007 (figures in meshes/check/size.py).
Light checks: common practice, no source, except where named.
"""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from meshes.check.far_light import cast, shaded, toward
from meshes.check.size import ANSUR, features, sizes
from meshes.surface.ply import read_ply

FOLDER = Path(__file__).resolve().parents[1] / "meshes"
PARTS = ("head", "hair", "fine_hair", "garment", "eye_left", "eye_right")
SITTERS = ("broad", "slender", "deep_set", "round")
FILES = sorted(path.relative_to(FOLDER).with_suffix("").as_posix() for path in FOLDER.rglob("*.ply"))


def load(name):
    rows, faces = read_ply(FOLDER / f"{name}.ply")
    p = np.stack([rows[k] for k in ("x", "y", "z")], axis=1).astype(np.float64) * 1000.0
    n = np.stack([rows[k] for k in ("nx", "ny", "nz")], axis=1).astype(np.float64)
    return p, n, faces.astype(np.int64), rows


def load_marks(folder):
    table = tomllib.loads((FOLDER / folder / "head.toml").read_text())["landmark"]
    return {k: np.array(v["position"]) * 1000.0 for k, v in table.items()}


@pytest.fixture(scope="module")
def parts():
    return {name: load(name) for name in PARTS}


@pytest.fixture(scope="module")
def marks():
    return load_marks(".")


@pytest.fixture(scope="module")
def cast_parts():
    return {
        who: {n: load(f"sitters/{who}/{n}") for n in ("head", "eye_left", "eye_right")} for who in SITTERS
    }


@pytest.mark.parametrize("name", FILES)
def test_closed_and_outward(name):
    p, n, f, _ = load(name)
    edges = np.concatenate([f[:, [0, 1]], f[:, [1, 2]], f[:, [2, 0]]])
    key = np.sort(edges[:, 0] * len(p) + edges[:, 1])
    back = np.sort(edges[:, 1] * len(p) + edges[:, 0])
    assert np.all(np.diff(key) > 0)
    assert np.array_equal(key, back)
    cross = np.cross(p[f[:, 1]] - p[f[:, 0]], p[f[:, 2]] - p[f[:, 0]])
    assert (p[f[:, 0]] * cross).sum() > 0.0
    assert np.einsum("ij,ij->i", cross, cross).min() > 0.0
    agree = np.einsum("ij,ij->i", cross, n[f].sum(axis=1)) > 0.0
    assert agree.mean() > 0.998
    assert np.allclose(np.linalg.norm(n, axis=1), 1.0, atol=1e-5)
    assert np.array_equal(np.unique(f), np.arange(len(p)))


def test_head_is_one_piece_of_the_promised_size(parts):
    p, _, f, _ = parts["head"]
    assert 60_000 <= len(f) <= 150_000
    assert len(p) - len(f) // 2 == 2  # Euler number of a sphere: no handles, one piece
    assert sum(path.stat().st_size for path in FOLDER.rglob("*.ply")) < 40e6
    for folder in (FOLDER, *(FOLDER / "sitters" / who for who in SITTERS)):
        worn = [path for path in folder.glob("*.ply") if path.stem != "hair_bob"]
        assert 60_000 <= sum(len(read_ply(path)[1]) for path in worn) <= 250_000, folder


def test_mirror_symmetry(parts):
    p, _, _, _ = parts["head"]
    order = np.lexsort(p.T)
    twin = p * [1.0, -1.0, 1.0]
    gap = np.abs(p[order] - twin[np.lexsort(twin.T)]).max()
    assert gap < 0.2


def test_sizes_are_human(parts, marks):
    """Every size of the default head within mean +- 1 SD of men or of women."""
    for name, value in sizes(parts["head"][0], marks).items():
        assert any(abs(value - mean) <= sd for mean, sd in ANSUR[name]), (name, value)
    assert 210.0 <= marks["vertex"][2] - marks["menton"][2] <= 240.0  # head height (from memory)


def test_cast_is_human_and_different(cast_parts, parts, marks):
    """Every size of each sitter within mean +- 2 SD of one and the same sex; every pair clearly different."""
    found = {"head": sizes(parts["head"][0], marks)}
    marks_of = {"head": marks} | {who: load_marks(f"sitters/{who}") for who in SITTERS}
    for who in SITTERS:
        found[who] = sizes(cast_parts[who]["head"][0], marks_of[who])
        fits = [
            all(abs(v - ANSUR[n][sex][0]) <= 2 * ANSUR[n][sex][1] for n, v in found[who].items())
            for sex in (0, 1)
        ]
        assert any(fits), (who, found[who])
    for who in found:
        for other in found:
            if who < other:
                gaps = [abs(found[who][n] - found[other][n]) for n in ANSUR if n != "bideltoid breadth"]
                gaps += [
                    abs(a - b)
                    for a, b in zip(features(marks_of[who]), features(marks_of[other]), strict=True)
                ]
                assert sum(g > 3.0 for g in gaps) >= 4, (who, other, gaps)


def test_face_details(marks):
    m = marks
    opening = m["exocanthion_l"][1] - m["endocanthion_l"][1]
    assert 28.0 <= opening <= 32.0  # palpebral opening (from memory)
    nose = np.linalg.norm(m["nasion"] - m["subnasale"])
    assert 47.0 <= nose <= 54.0  # nasal height about 48-51 (from memory)
    assert 33.0 <= m["alare_l"][1] * 2.0 <= 39.0  # nasal breadth about 36 (from memory)
    assert 47.0 <= m["cheilion_l"][1] * 2.0 <= 54.0  # mouth breadth about 51 (from memory)
    half = (m["vertex"][2] + m["menton"][2]) / 2.0
    assert abs(half) < 6.0  # eyes at half the height of the head: common practice, no source


def eye_points(parts):
    """Eyeball vertices of the sitter's left eye seen from the front, with normals."""
    p, n, _, rows = parts["eye_left"]
    ahead = (p[:, 0] > -8.0) & (rows["region"] < 2)  # white and window; behind and below lie iris and tears
    p, n = p[ahead], n[ahead]
    free = ~shaded(p, n, toward(0, 0), parts["head"][0], parts["head"][2])
    return p[free], n[free]


def test_eyes_fill_the_lids(parts):
    """No ray from the front may pass the lids into the socket: every first hit lies outside the globe."""
    head, eye = parts["head"], parts["eye_left"]
    centre = 0.5 * (eye[0].max(axis=0) + eye[0].min(axis=0))
    centre[0] = eye[0][:, 0].min() + 12.0
    grid = np.stack(np.meshgrid(np.arange(-17.0, 17.0, 0.6), np.arange(-9.0, 9.0, 0.6)), axis=-1).reshape(
        -1, 2
    )
    p = np.concatenate([head[0], eye[0]])
    f = np.concatenate([head[2], eye[2] + len(head[0])])
    for azimuth, elevation in ((0, 0), (-35, 0), (35, 0), (0, 25), (0, -25)):
        way = toward(azimuth, elevation)
        side = np.cross([0.0, 0.0, 1.0], way)
        side /= np.linalg.norm(side)
        points = centre + grid[:, :1] * side + grid[:, 1:] * np.cross(way, side)
        depth, _ = cast(points, way, p, f, from_far=True)
        hit = points + (depth - points @ way)[:, None] * way
        assert np.linalg.norm(hit - centre, axis=1).min() > 11.9
    seen, _ = eye_points(parts)
    assert 20.0 <= np.ptp(seen[:, 1]) <= 26.0
    assert 9.0 <= np.ptp(seen[:, 2]) <= 12.0
    assert np.linalg.norm(eye[0] - centre, axis=1).max() < 13.3


def eye_shade(parts, elevation):
    q, n = eye_points(parts)
    return shaded(q, n, toward(0, elevation), parts["head"][0], parts["head"][2]).mean()


def test_overhead_light_leaves_the_sockets_dark(parts):
    """Turning between 55 and 68 degrees for a standard brow: common practice, no source."""
    assert eye_shade(parts, 89.0) >= 0.98
    assert eye_shade(parts, 80) >= 0.98
    assert eye_shade(parts, 70) >= 0.95
    assert eye_shade(parts, 45) <= 0.35
    assert eye_shade(parts, 52) < 0.5 < eye_shade(parts, 68)


def test_deeper_brows_darken_the_eyes_earlier(parts, cast_parts):
    """Cut-off 60-68 degrees, deep-set 50-55: common practice, no source; here the order and a clear gap."""

    assert eye_shade(cast_parts["deep_set"], 58) > 0.5 > eye_shade(parts, 58)
    assert eye_shade(parts, 66) > 0.5 > eye_shade(cast_parts["round"], 66)


def lit_face(parts, azimuth, elevation, noseless=False):
    """Lit mask over a 1 mm grid of the sitter's right half face, indexed [height, side], and its axes."""
    p, n, f, _ = parts["head"]
    side, height = np.arange(-60.0, 20.5, 1.0), np.arange(-80.0, 16.0, 1.0)
    y, z = (g.ravel() for g in np.meshgrid(side, height))
    start = np.stack([0 * y, y, z], axis=1) + 0.0137
    depth, which = cast(start, np.array([1.0, 0.0, 0.0]), p, f, from_far=True)
    q = start.copy()
    q[:, 0] = depth
    normal = n[f[which]].sum(axis=1)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    if noseless:
        middle = p[f].mean(axis=1)
        f = f[
            ~(
                (middle[:, 0] > 12.0)
                & (np.abs(middle[:, 1]) < 25.0)
                & (middle[:, 2] > -48.0)
                & (middle[:, 2] < 10.0)
            )
        ]
    way = toward(azimuth, elevation)
    lit = ~shaded(q, normal, way, p, f) & (normal @ way > 0.0)
    return lit.reshape(len(height), len(side)), side, height


def triangle(parts, azimuth, elevation, noseless=False):
    """Area [mm2] of the lit island holding the far cheek, and whether it is closed off from the lit half."""
    lit, side, height = lit_face(parts, azimuth, elevation, noseless)
    island = np.zeros_like(lit)
    seed = (int(np.argmin(np.abs(height + 22.0))), int(np.argmin(np.abs(side + 33.0))))
    island[seed] = lit[seed]
    while True:
        grown = island.copy()
        grown[1:] |= island[:-1]
        grown[:-1] |= island[1:]
        grown[:, 1:] |= island[:, :-1]
        grown[:, :-1] |= island[:, 1:]
        grown &= lit
        if np.array_equal(grown, island):
            break
        island = grown
    closed = bool(island.any()) and not island[:, side > -6.0].any()
    return float(island.sum()), closed


def test_nose_shadow_closes_a_triangle_on_the_far_cheek(parts):
    for azimuth, elevation in ((45, 35), (50, 35), (55, 35), (60, 35), (55, 45), (60, 45)):
        area, closed = triangle(parts, azimuth, elevation)
        assert closed and 350.0 <= area <= 1600.0, (azimuth, elevation, area, closed)
    assert not triangle(parts, 30, 35)[1]
    assert not triangle(parts, 50, 35, noseless=True)[1]


def test_nose_shadow_reaches_the_cheek(parts, marks):
    p, _, f, _ = parts["head"]
    corner = marks["cheilion_r"] + [[0.6, -1.5, 1.0]]
    assert cast(corner, toward(30, 30), p, f)[1][0] < 0  # the mouth corner stays out of it at 30/30
    lit, side, height = lit_face(parts, 45, 45)
    dark = (
        ~lit
        & (side[None, :] > -45)
        & (side[None, :] < -8)
        & (height[:, None] > -58)
        & (height[:, None] < -30)
    )
    assert dark[:, side <= -25].any()
    assert dark[height <= -55].any()


def test_catchlight_in_both_eyes(parts):
    """Mirror point on the corneal sphere of radius 7.8 mm for a lens straight ahead; law of reflection."""
    p, f = parts["head"][0], parts["head"][2]
    seen = [(0, 0), (0, 30), (0, 45), (30, 30), (45, 30), (45, 35)]
    for azimuth, elevation, wanted in [(*light, True) for light in seen] + [(0, 60, False)]:
        way = toward(azimuth, elevation)
        half = way + toward(0, 0)
        half /= np.linalg.norm(half)
        for side in (1.0, -1.0):
            q = np.array([[-7.8, side * 31.5, 0.0]]) + 7.85 * half
            free = all(cast(q, d, p, f)[1][0] < 0 for d in (way, toward(0, 0)))
            assert free == wanted, (azimuth, elevation, side)


def test_chin_shades_the_neck(parts):
    p, n, f, _ = parts["head"]
    here = (np.abs(p[:, 1]) < 25) & (p[:, 2] < -120) & (p[:, 2] > -182) & (n[:, 0] > 0.3)
    assert 0.2 <= shaded(p[here], n[here], toward(0, 30), p, f).mean() <= 0.5
    assert shaded(p[here], n[here], toward(0, 45), p, f).mean() >= 0.7


def dressed(parts, *names):
    """Head and what is named as one mesh: vertices [mm] and triangles."""
    chosen = [parts["head"], *(parts[name] for name in names)]
    offset = np.cumsum([0] + [len(part[0]) for part in chosen])
    return (
        np.concatenate([part[0] for part in chosen]),
        np.concatenate([part[2] + start for part, start in zip(chosen, offset, strict=False)]),
    )


def test_hair_throws_no_fringe_shadow(parts):
    """Short hair lies behind the brow's cut-off: it takes no light from eyes or forehead up to 50 degrees."""
    q, n = eye_points(parts)
    forehead = (parts["head"][3]["patch"] == 1) | (parts["head"][3]["patch"] == 2)
    skin, out = parts["head"][0][forehead], parts["head"][1][forehead]
    p, f = dressed(parts, "hair")
    for elevation in (0, 30, 50):
        way = toward(0, elevation)
        bare = shaded(q, n, way, parts["head"][0], parts["head"][2])
        assert np.array_equal(shaded(q, n, way, p, f), bare)
        assert shaded(skin, out, way, p, f).mean() < 0.02


def test_lashes_shade_the_upper_eye_a_little(parts):
    """More at its top than at its foot, under a light 40 degrees up; the lens still sees the eye."""
    q, n = eye_points(parts)
    p, f = dressed(parts, "fine_hair")
    open_before = ~shaded(q, n, toward(0, 40), parts["head"][0], parts["head"][2])
    dark = shaded(q, n, toward(0, 40), p, f)
    high = q[:, 2] > 1.0
    top, foot = dark[open_before & high].mean(), dark[open_before & ~high].mean()
    assert 0.05 < top < 0.75 and foot < 0.5 * top, (top, foot)
    assert shaded(q, n, toward(0, 0), p, f).mean() < 0.12


def test_brow_hairs_lie_on_the_brow(parts, marks):
    p, _, _, rows = parts["fine_hair"]
    hairs = p[rows["region"] == 2]
    assert hairs[:, 2].min() > 9.0 and hairs[:, 2].max() < 36.0
    assert np.abs(hairs[:, 1]).min() > 4.0  # the brows do not meet over the nose
    tops = hairs[np.abs(np.abs(hairs[:, 1]) - 31.5) < 6.0]
    assert tops[:, 2].mean() > marks["glabella"][2]  # they arch over the eyes


def test_garment_leaves_the_neck_bare(parts, marks):
    p, f = dressed(parts, "garment")
    for name, covered in (("neck_front", False), ("sternum", True)):
        start = marks[name][None, :] * [0.0, 1.0, 1.0]
        depth, which = cast(start, np.array([1.0, 0.0, 0.0]), p, f, from_far=True)
        assert (which[0] >= len(parts["head"][2])) == covered, name
        assert depth[0] - marks[name][0] < 8.0


def test_skin_varies_faintly_about_what_is_asked(parts):
    """Cheek and forehead, where light is metered, reflect what is asked within 5 %; cheeks are redder."""
    rows = parts["head"][3]
    level = {number: rows["shade"][rows["patch"] == number].mean() / 128.0 for number in (1, 7)}
    flush = {number: rows["flush"][rows["patch"] == number].mean() for number in (1, 7)}
    assert all(abs(value - 1.0) < 0.05 for value in level.values()), level
    assert flush[7] > flush[1] + 25
    skin = rows["region"] == 0
    assert rows["shade"][skin].min() / 128.0 > 0.8 and rows["shade"][skin].max() / 128.0 < 1.15


def test_regions_and_landmarks(parts, marks):
    p, _, _, rows = parts["head"]
    assert set(np.unique(rows["region"])) == {0, 1, 2, 3, 4, 5}
    assert set(np.unique(parts["fine_hair"][3]["region"])) == {2, 3}
    assert set(np.unique(parts["eye_left"][3]["region"])) == {0, 1, 2, 3, 4}
    lips = p[(rows["region"] == 1) & (rows["cover"] > 128)]
    assert np.all(lips[:, 2] < marks["labiale_superius"][2] + 2.5) and np.ptp(lips[:, 1]) > 44.0
    for name, q in marks.items():
        where = (
            parts["eye_left" if name.endswith("_l") else "eye_right"][0] if name.startswith("pupil") else p
        )
        assert np.linalg.norm(where - q, axis=1).min() < 4.0, name
    assert np.allclose(marks["pupil_l"] + marks["pupil_r"], 0.0, atol=0.02)


def test_generator_repeats_the_eyes(tmp_path):
    from meshes.generate import main

    assert main(["head", "--part", "eyes", "--folder", str(tmp_path)]) == 0
    for name in ("eye_left.ply", "eye_right.ply"):
        assert (tmp_path / name).read_bytes() == (FOLDER / name).read_bytes()


LAST_BITS = 2e-6  # of a metre or of a unit normal: a normal takes a few from the corners about it


@pytest.mark.slow
def test_generator_repeats_everything(tmp_path):
    from meshes.generate import main

    assert main(["--folder", str(tmp_path)]) == 0
    made = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert len(made) == 5 * 6 + 5
    for path in made:
        committed = FOLDER / path.relative_to(tmp_path)
        if path.suffix != ".ply":
            assert path.read_bytes() == committed.read_bytes(), path
            continue
        rows, faces = read_ply(path)
        kept, kept_faces = read_ply(committed)
        assert rows.dtype == kept.dtype and (faces == kept_faces).all(), path
        for name in rows.dtype.names:  # processors differ in the last bits of a sine
            least = LAST_BITS if rows[name].dtype.kind == "f" else 0.0
            np.testing.assert_allclose(rows[name], kept[name], rtol=0.0, atol=least, err_msg=f"{path} {name}")
