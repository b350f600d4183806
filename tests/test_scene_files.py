"""Files that cannot be read and text that is no TOML are answered by one exact line."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from renderer.errors import InputError
from renderer.scene.load import load, loads

LAMP = '[light.key]\nsource = "bulb"\nat = [0, 1.5, 2]\ndiameter = 0.1\nlumens = 500\n'

SYNTAX = {
    "point": ("a = 1\nx = .8", "s:2: not valid TOML: invalid value at column 5;"
    " a number needs a digit before its"
              " point: 0.8, not .8"),
    "comma": ("x = 1,2", "s:1: not valid TOML: expected newline or end of document after a statement at"
    " column 6;"
              " a number has a point, not a comma: 1.2, not 1,2"),
    "quotes": ("x = disc", 's:1: not valid TOML: invalid value at column 5; text needs quotes: "disc"'),
    "unit": ("x = 1.2 m", "s:1: not valid TOML: expected newline or end of document after a statement at"
    " column 9;"
             " write the number alone, without its unit"),
    "list": ("x = [1,\n2", "s:2: not valid TOML: unclosed array at the end"),
    "twice": ('[light.key]\ndim = 1\n"dim" = 0.5', "s:3: light.key.dim: given twice;"
    " it is on line 2 already"),
    "table twice": ("[room]\n\n[room]\n", "s:3: room: given twice; it is on line 1 already"),
    "inline twice": ("a = { b = 1, b = 2 }\n", "s:1: a.b: given twice; it is on line 1 already"),
    "dotted table": ("a.b = 1\n[a]\n", "s:2: not valid TOML: the table a is opened here, but exists already,"
                     " at column 3"),
    "digits": ("x = " + "9" * 5000, "s: not valid TOML: a number in it has thousands of digits"),
    "depth": ("x = " + "[" * 5000, "s: lists are nested too deeply; a scene needs two levels"),
}  # fmt: skip


def lines_of(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        loads(text, "s")
    return list(caught.value.lines)


@pytest.mark.parametrize("name", SYNTAX)
def test_syntax(name: str) -> None:
    text, expected = SYNTAX[name]
    assert lines_of(text) == [expected]


def fault_of_file(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        load(path)
    assert len(caught.value.lines) == 1
    return str(caught.value.lines[0])


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "potter.toml").write_text(LAMP)
    (tmp_path / "binary.toml").write_bytes(b"\x89PNG\0\0")
    (tmp_path / "latin.toml").write_bytes("# Stra\xdfe\n".encode("latin-1"))
    (tmp_path / "wide.toml").write_bytes(LAMP.encode("utf-16"))
    there = f"it holds {', '.join(sorted(p.name for p in tmp_path.iterdir()))}"
    assert fault_of_file(tmp_path) == f"{tmp_path}: is a folder; expected a scene file; {there}"
    missing = tmp_path / "poter.toml"
    assert fault_of_file(missing) == f'{missing}: no such file; did you mean "{tmp_path / "potter.toml"}"?'
    nowhere = tmp_path / "no" / "x.toml"
    assert fault_of_file(nowhere) == f'{nowhere}: no such file (there is no folder "{tmp_path / "no"}")'
    binary = tmp_path / "binary.toml"
    assert (
        fault_of_file(binary) == f"{binary}: is not text; expected a scene file, which is TOML text in UTF-8"
    )
    latin = tmp_path / "latin.toml"
    assert fault_of_file(latin) == f"{latin}:1: is not UTF-8 text (the byte 0xdf); save the file as UTF-8"
    wide = tmp_path / "wide.toml"
    assert fault_of_file(wide) == f"{wide}: is UTF-16 text; expected UTF-8: save it so in the editor"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may read all")
def test_file_without_permission(tmp_path: Path) -> None:
    locked = tmp_path / "locked.toml"
    locked.write_text(LAMP)
    locked.chmod(0)
    assert fault_of_file(locked) == f"{locked}: may not be read: permission denied"


def test_mesh_that_is_not_there(tmp_path: Path) -> None:
    scene = tmp_path / "s.toml"
    scene.write_text(LAMP + '[sitter]\nmesh = "grandma.ply"\n')
    assert (
        fault_of_file(scene) == f'{scene}:7: sitter.mesh: no such file: "grandma.ply";'
        " that folder has no mesh file"
    )
    (tmp_path / "grandpa.ply").write_text("ply\n")
    assert (
        fault_of_file(scene) == f'{scene}:7: sitter.mesh: no such file: "grandma.ply";'
        ' did you mean "grandpa.ply"?'
    )
    (tmp_path / "grandma.ply").write_text("ply\n")
    assert load(scene).mesh_path() == tmp_path / "grandma.ply"


def test_a_byte_order_mark_and_windows_line_ends_are_fine(tmp_path: Path) -> None:
    scene = tmp_path / "s.toml"
    scene.write_bytes(b"\xef\xbb\xbf" + (LAMP + "dim = 2\n").replace("\n", "\r\n").encode())
    assert fault_of_file(scene).startswith(f"{scene}:6: light.key.dim:")


def test_the_scene_of_the_guide_is_one() -> None:
    """What scenes/README.md tells a newcomer to write, read as it stands there."""
    guide = (Path(__file__).parents[1] / "scenes" / "README.md").read_text(encoding="utf-8")
    (written,) = re.findall(r"```toml\n(.*?)```", guide, re.DOTALL)
    scene = loads(written, "office.toml")
    assert list(scene.light) == ["key", "edge"] and scene.target is not None
