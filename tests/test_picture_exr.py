"""EXR: read back by ourselves and by a second, unrelated decoder (FFmpeg's, through PyAV)."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import OpenEXR  # type: ignore[import-not-found, unused-ignore]
import pytest

from renderer.errors import InputError
from renderer.picture.exr import read_layers, write_layers

RNG = np.random.default_rng(7)
LAYERS = {
    name: RNG.gamma(2.0, 50.0, (24, 32, 3)).astype(np.float32) for name in ("", "key", "fill", "edge lamp.2")
}


def decode(path: Path, layer: str) -> np.ndarray:
    context = av.CodecContext.create("exr", "r")
    context.options = {"layer": layer}
    frame = context.decode(av.Packet(path.read_bytes()))[0]
    assert frame.format.name == "gbrpf32le"
    return frame.to_ndarray(channel_last=True)


def test_second_decoder_finds_every_layer(tmp_path: Path) -> None:
    path = tmp_path / "layers.exr"
    write_layers(path, LAYERS)
    for name, channel in (("", ""), ("key", "key"), ("fill", "fill"), ("edge lamp.2", "edge_lamp_2")):
        np.testing.assert_array_equal(decode(path, channel), LAYERS[name])


def test_channel_names_and_header(tmp_path: Path) -> None:
    write_layers(tmp_path / "a.exr", LAYERS, {"scene": "\u03c1 = 0.18\n", "seed": 3})
    file = OpenEXR.File(str(tmp_path / "a.exr"), separate_channels=True)
    layers = ("", "key.", "fill.", "edge_lamp_2.")
    assert set(file.channels()) == {stem + letter for stem in layers for letter in "RGB"}
    header = file.header()
    assert header["compression"] == OpenEXR.RLE_COMPRESSION
    # Rec. 709 primaries and D65 (ITU-R BT.709); 1.0 is 1 cd/m2.
    np.testing.assert_allclose(
        header["chromaticities"], [0.64, 0.33, 0.3, 0.6, 0.15, 0.06, 0.3127, 0.329], rtol=1e-6
    )
    assert header["whiteLuminance"] == 1.0


def test_round_trip_with_attributes(tmp_path: Path) -> None:
    layers = dict(LAYERS)
    layers["depth"] = RNG.random((24, 32)).astype(np.float32)
    layers["surface"] = RNG.integers(0, 2**32, (24, 32), dtype=np.uint32)  # type: ignore[assignment]
    attributes: dict[str, str | int | float] = {
        "scene": "x" * 100_000 + "\u00e9",
        "seed": 12,
        "within": 0.05,
        "big": 2**40,
        "done": True,
    }
    given = dict(attributes)
    write_layers(tmp_path / "a.exr", layers, attributes)
    assert attributes == given
    back, words = read_layers(tmp_path / "a.exr")
    assert set(back) == set(layers)
    for name, layer in layers.items():
        assert back[name].dtype == layer.dtype
        np.testing.assert_array_equal(back[name], layer)
    assert words == given | {"within": pytest.approx(0.05, rel=1e-7), "big": str(2**40), "done": 1}


def test_views_are_written_as_they_look(tmp_path: Path) -> None:
    views = {"key": LAYERS["key"][::-1, :], "fill": LAYERS["fill"].transpose(1, 0, 2)[:24, :24]}
    views["key"] = views["key"][:, 4:28]
    write_layers(tmp_path / "a.exr", views)
    for name, view in views.items():
        np.testing.assert_array_equal(decode(tmp_path / "a.exr", name), view)


def test_halves_are_held_at_their_end(tmp_path: Path) -> None:
    values = np.zeros((4, 5, 3), dtype=np.float32)
    values[0, 0] = (70000.0, -1e9, 1234.567)
    values[1, 1] = np.nan
    write_layers(tmp_path / "a.exr", {"key": values}, half=True)
    back = read_layers(tmp_path / "a.exr")[0]["key"]
    assert back.dtype == np.float16
    # IEEE 754 binary16: largest finite 65504, 11 significant bits.
    assert back[0, 0, 0] == 65504.0
    assert back[0, 0, 1] == -65504.0
    assert float(back[0, 0, 2]) == pytest.approx(1234.567, rel=2**-11)
    assert np.isnan(back[1, 1]).all()
    assert values[0, 0, 0] == 70000.0


def test_names_that_exr_would_read_otherwise(tmp_path: Path) -> None:
    plane = np.zeros((2, 2, 3), dtype=np.float32)
    names = ("a.b", "a_b", "a b", "cl\u00e9", "key/left", "x" * 300)
    layers = {name: plane + i for i, name in enumerate(names)}
    write_layers(tmp_path / "a.exr", layers)
    written = {
        channel.rpartition(".")[0] for channel in OpenEXR.File(str(tmp_path / "a.exr"), True).channels()
    }
    assert written == {"a_b", "a_b_2", "a_b_3", "cl_", "key_left", "x" * 200}
    assert decode(tmp_path / "a.exr", "a_b")[0, 0, 0] == 1.0  # the one that needed no change keeps its name
    back = read_layers(tmp_path / "a.exr")[0]
    assert {name: float(layer[0, 0, 0]) for name, layer in back.items()} == {
        n: i for i, n in enumerate(names)
    }


def test_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "layers.exr"
    write_layers(path, LAYERS)
    before = path.read_bytes()

    class Broken:
        def __init__(self, *_: object) -> None: ...

        def write(self, name: str) -> None:
            Path(name).write_bytes(b"half")
            raise RuntimeError("disk is full")

    monkeypatch.setattr(OpenEXR, "File", Broken)
    with pytest.raises(InputError, match=r"layers.exr: cannot be written: disk is full"):
        write_layers(path, LAYERS)
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["layers.exr"]


def test_faults(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="missing does not exist"):
        write_layers(tmp_path / "missing" / "a.exr", LAYERS)
    with pytest.raises(InputError, match=r"b.exr: no such file"):
        read_layers(tmp_path / "b.exr")
    (tmp_path / "b.exr").write_bytes(b"no picture at all")
    with pytest.raises(InputError, match=r"b.exr: is cut short or no EXR file"):
        read_layers(tmp_path / "b.exr")
    with pytest.raises(ValueError, match="one size"):
        write_layers(tmp_path / "a.exr", {"key": np.zeros((2, 2, 3)), "fill": np.zeros((3, 2, 3))})
    with pytest.raises(ValueError, match="layer 'key'"):
        write_layers(tmp_path / "a.exr", {"key": np.zeros((2, 2, 4))})
    with pytest.raises(ValueError, match="belongs to the format"):
        write_layers(tmp_path / "a.exr", LAYERS, {"compression": "none"})


@pytest.mark.parametrize("kept", [0, 3, 20, 300, 0.5, 0.99, -1])
def test_a_file_that_is_cut_short(tmp_path: Path, capfd: pytest.CaptureFixture[str], kept: float) -> None:
    """One line, and nothing from the library past it."""
    path = tmp_path / "a.exr"
    write_layers(path, LAYERS)
    whole = path.read_bytes()
    path.write_bytes(whole[: int(kept * len(whole)) if 0 < kept < 1 else int(kept)])
    with pytest.raises(InputError) as caught:
        read_layers(path)
    assert str(caught.value) == f"{path}: is cut short or no EXR file"
    assert capfd.readouterr() == ("", "")
