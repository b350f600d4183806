"""PNG: read back with Pillow and, chunk by chunk, as the standard (PNG third edition) lays them out."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from renderer.errors import InputError
from renderer.picture.png import write_png

PIXELS = np.random.default_rng(1).integers(0, 256, (20, 30, 3), dtype=np.uint8)
SCENE = "[room]\nsize = [4.2, 3.6, 2.4]  # m\u00e8tres \u2212 \u03c1\n" * 2500  # 100 kB


def chunks(path: Path) -> list[tuple[bytes, bytes]]:
    data, found, at = path.read_bytes(), [], 8
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    while at < len(data):
        size, name = struct.unpack(">I4s", data[at : at + 8])
        body = data[at + 8 : at + 8 + size]
        assert struct.unpack(">I", data[at + 8 + size : at + 12 + size])[0] == zlib.crc32(name + body)
        found.append((name, body))
        at += 12 + size
    return found


def test_pixels_and_words_come_back(tmp_path: Path) -> None:
    write_png(tmp_path / "preview.png", PIXELS, {"scene": SCENE, "exposure": "ISO 800 T2.8"})
    with Image.open(tmp_path / "preview.png") as image:
        image.load()
        assert image.mode == "RGB"
        np.testing.assert_array_equal(np.asarray(image), PIXELS)
        assert image.text == {"scene": SCENE, "exposure": "ISO 800 T2.8"}  # type: ignore[attr-defined]
        assert image.info["srgb"] == 0


def test_says_srgb_before_the_pixels(tmp_path: Path) -> None:
    write_png(tmp_path / "a.png", PIXELS)
    names = [name for name, _ in chunks(tmp_path / "a.png")]
    bodies = dict(chunks(tmp_path / "a.png"))
    assert names.index(b"cICP") < names.index(b"sRGB") < names.index(b"IDAT")
    # PNG third edition: values that go with sRGB (11.3.2.5) and the H.273 codes of sRGB (11.3.2.6).
    assert bodies[b"sRGB"] == b"\0"
    assert bodies[b"cICP"] == bytes([1, 13, 0, 1])
    assert struct.unpack(">I", bodies[b"gAMA"]) == (45455,)
    assert struct.unpack(">8I", bodies[b"cHRM"]) == (31270, 32900, 64000, 33000, 30000, 60000, 15000, 6000)


def test_same_input_same_bytes_and_greyscale(tmp_path: Path) -> None:
    for name in ("a.png", "b.png"):
        write_png(tmp_path / name, PIXELS[:, :, 0], {"scene": SCENE})
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
    with Image.open(tmp_path / "a.png") as image:
        assert image.mode == "L"


def test_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "preview.png"
    write_png(path, PIXELS)
    before = path.read_bytes()

    def half(self: Image.Image, file: Path, **_: object) -> None:
        Path(file).write_bytes(b"half a pict")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Image.Image, "save", half)
    with pytest.raises(InputError, match=r"preview.png: cannot be written: no space left on device"):
        write_png(path, PIXELS[::-1])
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["preview.png"]


def test_interrupted_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(self: Image.Image, file: Path, **_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Image.Image, "save", stop)
    with pytest.raises(KeyboardInterrupt):
        write_png(tmp_path / "preview.png", PIXELS)
    assert list(tmp_path.iterdir()) == []


def test_folder_that_cannot_be_written_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    for path, words in (
        (tmp_path / "missing" / "a.png", "the folder .*missing does not exist; make it first"),
        (tmp_path / "file" / "a.png", "the folder .*file is a file"),
        (tmp_path, "it is a folder"),
    ):
        with pytest.raises(InputError, match=words):
            write_png(path, PIXELS)

    def refuse(self: Path, **_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "touch", refuse)  # a real one would not stop root
    with pytest.raises(InputError, match="cannot be written: permission denied; choose another folder"):
        write_png(tmp_path / "a.png", PIXELS)


@pytest.mark.parametrize("keyword", ["", "x" * 80, " scene", "sc\u00e8ne", "a\nb"])
def test_keywords_that_png_has_no_room_for(tmp_path: Path, keyword: str) -> None:
    with pytest.raises(InputError, match="a keyword is 1 to 79"):
        write_png(tmp_path / "a.png", PIXELS, {keyword: "x"})


def test_text_that_could_not_be_read_back(tmp_path: Path) -> None:
    write_png(tmp_path / "a.png", PIXELS, {"scene": "x" * 1_000_000})
    with Image.open(tmp_path / "a.png") as image:
        image.load()
        assert len(image.text["scene"]) == 1_000_000  # type: ignore[attr-defined]
    with pytest.raises(InputError, match="1000001 bytes do not fit; the most is 1000000"):
        write_png(tmp_path / "b.png", PIXELS, {"scene": "x" * 1_000_001})
    with pytest.raises(InputError, match="NUL"):
        write_png(tmp_path / "b.png", PIXELS, {"scene": "a\0b"})
    with pytest.raises(ValueError, match="uint8"):
        write_png(tmp_path / "b.png", PIXELS.astype(np.float32))
