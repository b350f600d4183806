"""Breakups: the share they stop, the penumbra of their edges, and pictures of one's own."""

from __future__ import annotations

import math
import time
from pathlib import Path

import numpy as np
import pytest
from light_lab import LIMIT, deviation, disc, flat, read
from PIL import Image

from renderer.errors import InputError
from renderer.scene import foliage
from renderer.scene.breakup import PIECE, SIDE, Breakup
from renderer.scene.layer import boards
from renderer.scene.load import load, loads
from renderer.scene.parts import Mask, Part, Rectangle

SCENE = """
[light.key]
source = "disc"
diameter = 0.1
lumens = 1000
at = [0.5, 1.0, 1.6]
[breakup.leaves]
at = [0.3, 0.5, 1.5]
width = 1.0
height = 0.8
"""


def cells(mask: Mask) -> np.ndarray:
    return np.frombuffer(mask.cells, np.uint8).reshape(mask.rows, mask.columns)


@pytest.mark.parametrize("stopped", [0.2, 0.5, 0.8])
@pytest.mark.parametrize("pattern", PIECE)
def test_it_stops_its_share(pattern: str, stopped: float) -> None:
    """To a few pieces, which is when drawing ends."""
    mask = cells(foliage.drawn(pattern, (1.0, 0.8), PIECE[pattern], stopped, 3))
    assert set(np.unique(mask)) == {0, 1}
    assert mask.mean() == pytest.approx(stopped, abs=0.05)


def test_the_same_seed_draws_the_same_leaves() -> None:
    one, two = (foliage.drawn("leaves", (1.0, 0.8), 0.06, 0.5, seed) for seed in (1, 2))
    foliage.drawn.cache_clear()
    assert foliage.drawn("leaves", (1.0, 0.8), 0.06, 0.5, 1) == one != two


def test_pieces_keep_their_size_on_any_board() -> None:
    """Slats of 0.1 m that stop half of a board of 1 m: ten edges, whatever its width."""
    for wide in (0.5, 2.0):
        column = cells(foliage.drawn("slats", (wide, 1.0), 0.1, 0.5, 0))[:, 0].astype(int)
        assert np.abs(np.diff(column)).sum() == pytest.approx(10, abs=1)


def seen_share(x: float, radius: float) -> float:
    """Share of a disc of `radius` on the open side of a straight edge that is `x` from its middle: area of a
    circular segment."""
    s = min(1.0, max(-1.0, x / radius))
    return 1.0 - (math.acos(s) - s * math.sqrt(1.0 - s * s)) / math.pi


def test_penumbra_of_an_edge() -> None:
    """A lamp of diameter D, `a` before the board, a screen `b` behind: the edge is spread over D b / a, and
    each point of the screen sees a segment of the lamp. Far from the lamp its weight is even to (D / a)^2."""
    d, a, b = 0.2, 2.0, 0.5
    lamp = disc((0, 0, a + b), (0, 0, -1), d / 2)
    half = Mask(1, 2, bytes([1, 0]))
    board = Part(Rectangle((0, 0, b), (0.8, 0, 0), (0, 0.8, 0), (0, 0, 1.0)), mask=half)
    width = d * b / a
    places = [-0.4, -0.2, 0.0, 0.2, 0.4]
    probes = [flat((p * width, 0, 0), (0, 0, 1)) for p in places]
    open_ = read([[lamp]], probes, samples=2048)
    cut = read([[lamp]], probes, solids=[board], samples=2048)
    for k, place in enumerate(places):
        # from the screen the edge, at 0, covers the lamp up to the point -place * D across it
        expected = seen_share(place * d, d / 2)
        visible = cut.totals()[:, k] / open_.value(k)
        assert abs(deviation(visible, expected, bias=(d / a) ** 2)) <= LIMIT, place
    assert cut.value(0) < 0.2 * open_.value(0) and cut.value(4) > 0.8 * open_.value(4)
    beyond = [flat((p * width, 0, 0), (0, 0, 1)) for p in (-0.6, 0.6)]
    dark = read([[lamp]], beyond, solids=[board], samples=256)
    assert dark.value(0) == 0.0 and dark.value(1) == pytest.approx(open_.value(2), rel=0.02)


def test_a_picture_of_ones_own(tmp_path: Path) -> None:
    """White is open, and the picture hangs upright."""
    picture = np.zeros((40, 60), np.uint8)
    picture[:20, :30] = 255  # upper left
    Image.fromarray(picture).save(tmp_path / "mask.png")
    (tmp_path / "scene.toml").write_text(SCENE + 'picture = "mask.png"\n')
    (part,) = boards(load(tmp_path / "scene.toml"))["breakup.leaves"]
    assert part.mask is not None
    table = cells(part.mask)
    assert table.mean() == pytest.approx(0.75, abs=0.01)
    assert table[-1, 0] == 0 and table[0, 0] == 1 and table[-1, -1] == 1  # rows rise, columns follow u


def line(text: str, folder: Path | None = None) -> str:
    with pytest.raises(InputError) as caught:
        if folder is None:
            loads(SCENE + text, "s")
        else:
            (folder / "s.toml").write_text(SCENE + text)
            boards(load(folder / "s.toml"))
    assert len(caught.value.lines) == 1
    return caught.value.lines[0]


def test_faults(tmp_path: Path) -> None:
    assert "expected either pattern or picture; got neither" in line("")
    assert "got both" in line('pattern = "leaves"\npicture = "a.png"\n')
    assert "'leaves', 'twigs', 'slats' or 'holes'" in line('pattern = "leafs"\n').replace('"', "'")
    assert "did you mean 0.4" in line('pattern = "leaves"\nstopped = 40\n')
    assert "belongs to a drawn pattern" in line('picture = "a.png"\nseed = 2\n')
    (tmp_path / "leaves.png").write_bytes(b"no picture")
    assert 'did you mean "leaves.png"?' in line('picture = "leave.png"\n', tmp_path)
    assert "leaves.png: cannot be read as a picture" in line('picture = "leaves.png"\n', tmp_path)


def test_reading_draws_nothing() -> None:
    """A mask is made where it is wanted, not where a scene is read."""
    scene = loads(SCENE + 'pattern = "leaves"\n')
    assert isinstance(scene.breakup["leaves"], Breakup)
    (part,) = boards(scene)["breakup.leaves"]
    assert part.mask is not None and part.luminance == 0.0


@pytest.mark.parametrize("pattern", ["leaves", "twigs", "holes"])
def test_the_finest_pieces_meet_their_share_at_once(pattern: str) -> None:
    """Of a cell of the mask each; a second is the wish of a person who waits, no source."""
    for stopped in (0.05, 0.95):
        start = time.process_time()
        mask = cells(foliage.drawn(pattern, (1.0, 1.0), 1.0 / SIDE, stopped, 5))
        assert time.process_time() - start < 1.0
        assert mask.mean() == pytest.approx(stopped, abs=0.02)


def test_pictures_of_every_depth(tmp_path: Path) -> None:
    """Of each kind the left half is 0.6 of its full range, the right half 0.4: over half is open."""
    share = np.tile(np.repeat([0.6, 0.4], 20), (40, 1))
    alpha = np.zeros((40, 40, 4), np.uint8)
    alpha[:, 20:, 3] = 255  # black on the right, transparent black on the left
    kinds = {
        "8.png": Image.fromarray((share * 255).astype(np.uint8)),
        "16.png": Image.fromarray((share * 65535).astype(np.uint16)),
        "16.tif": Image.fromarray((share * 65535).astype(np.uint16)),
        "float.tif": Image.fromarray(share.astype(np.float32)),
        "alpha.png": Image.fromarray(alpha),
        "grey_alpha.png": Image.fromarray(alpha).convert("LA"),
    }
    for name, picture in kinds.items():
        picture.save(tmp_path / name)
        mask = cells(foliage.from_picture(tmp_path / name))
        assert not mask[:, : SIDE // 2 - 8].any() and mask[:, SIDE // 2 + 8 :].all(), name


def test_a_fault_of_the_picture_has_its_line(tmp_path: Path) -> None:
    (tmp_path / "folder.png").mkdir()
    (tmp_path / "a.gif").write_bytes(b"GIF89a")
    (tmp_path / "text.png").write_bytes(b"no picture")
    Image.new("1", (9_600, 9_600)).save(tmp_path / "large.png")
    Image.new("1", (14_000, 14_000)).save(tmp_path / "bomb.png")
    valid = ".png, .jpg, .jpeg, .tif, .tiff, .webp"
    where = f"{tmp_path / 's.toml'}:11: breakup.leaves.picture: "
    most = "is too large a picture: expected at most 50,000,000 pixels"
    for name, text in {
        "folder.png": f'"folder.png" is a folder; expected a picture ({valid})',
        "a" * 5_000: f'"{"a" * 40}..." is too long for the name of a file',
        "a\\u0007.png": 'no such file: "a?.png"',
        "a.gif": f'expected a file ending in {valid}; got "a.gif"',
        "text.png": f"{tmp_path / 'text.png'}: cannot be read as a picture: ",
        "large.png": f"{tmp_path / 'large.png'}: {most}; got 9600 x 9600",
        "bomb.png": f"{tmp_path / 'bomb.png'}: {most}",
    }.items():
        assert line(f'picture = "{name}"\n', tmp_path).startswith(where + text)


def test_a_piece_finer_than_the_mask() -> None:
    """A board of 1 m has 512 cells: 1.95 mm; level slats are counted along its height of 0.8 m."""
    fine = "piece: is finer than a 512th of the board: expected at least"
    found = line('pattern = "leaves"\npiece = 0.0019\n')
    assert found == f"s:12: breakup.leaves.{fine} 0.00196 metres; got 0.0019"
    assert line('pattern = "slats"\npiece = 0.0015\n').endswith(f"{fine} 0.00157 metres; got 0.0015")
    loads(SCENE + 'pattern = "slats"\npiece = 0.0016\n')
