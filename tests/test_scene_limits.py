"""What a hostile or careless file may bring is answered by one exact line, or at once by a picture."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from renderer.errors import InputError
from renderer.scene.load import load, loads

LAMP = '[light.key]\nsource = "bulb"\nat = [0, 1.5, 2]\ndiameter = 0.1\nlumens = 500\n'
ROOM = "[room]\nwidth = 4\ndepth = 5\nheight = 2.4\nback_wall = 2\n"
WINDOW = '[room.window.key]\nwall = "back"\ncentre = [0, 1]\nwidth = 1\nheight = 1\nlux = 10\n'
DRUM = '[light.key]\nsource = "cylinder"\nat = [0, 1, 2]\ndiameter = 0.5\nlength = 0.4\nlumens = 500\n'
BOARD = "at = [1, 1, 1]\nwidth = 1\nheight = 1\n"
HEAD = (
    '[light.key]\nsource = "diffuser"\nat = [0, 1.5, 2]\nhead = { diameter = 0.1, lumens = 500, beam = 60 }\n'
    "[[light.key.sheet]]\ndistance = 1\ndiameter = 1\n"
)
NAME = "expected a name of at most 40 letters a to z, digits, spaces, _ and -, the first a letter or digit"


def plane(name: str) -> str:
    return (
        f'the name "{name}" is a plane\'s of layers.exr: expected one that is none of seen, distance, patch,'
        ' normal, albedo and ends in none of " bounced", " arriving", " difference"'
    )


CASES = {
    "a folder in a name": (LAMP.replace("key", '"../key"'), f's:1: light."../key": {NAME}'),
    "a line in a name": (LAMP.replace("key", '"a\\nb"'), f's:1: light."a?b": {NAME}'),
    "no name": (LAMP.replace("key", '""'), f's:1: light."": {NAME}'),
    "a long name": (LAMP.replace("key", "k" * 3000), f's:1: light."{"k" * 60}...": {NAME}'),
    "a name of 41": (LAMP.replace("key", "k" * 41), f"s:1: light.{'k' * 41}: {NAME}"),
    "a dash before a name": (LAMP.replace("key", "-key"), f"s:1: light.-key: {NAME}"),
    "a light called as a plane": (LAMP.replace("key", "patch"), f"s:1: light.patch: {plane('patch')}"),
    "a light that ends as a plane": (
        LAMP.replace("key", '"key bounced"'),
        f's:1: light."key bounced": {plane("key bounced")}',
    ),
    "a window called as a plane": (
        ROOM + WINDOW.replace("key", "seen"),
        f"s:6: room.window.seen: {plane('seen')}",
    ),
    "a card's name": (LAMP + f'[card."a/b"]\n{BOARD}', f's:6: card."a/b": {NAME}'),
    "a flag's name": (LAMP + f'[flag."a/b"]\n{BOARD}', f's:6: flag."a/b": {NAME}'),
    "a breakup's name": (
        LAMP + f'[breakup."a/b"]\npattern = "leaves"\n{BOARD}',
        f's:6: breakup."a/b": {NAME}',
    ),
    "a mark's name": (LAMP + '[mark."a.b"]\nat = "nose"\n', f's:6: mark."a.b": {NAME}'),
    "a size of nothing": (
        LAMP.replace("0.1", "1e-200"),
        "s:4: light.key.diameter: expected metres from 0.001 to 10; got 1e-200",
    ),
    "dots without end": (
        LAMP + ".".join("a" * 3000) + " = 1\n",
        f"s:6: light.key.{'.'.join('a' * 11)}: tables or lists are nested too deep; expected at most 12"
        " levels",
    ),
    "too many skirts": (
        DRUM + 13 * "[[light.key.skirt]]\ncovers = [0, 90]\n",
        "s:7: light.key.skirt: expected at most 12 skirts; got 13",
    ),
    "text for no": (
        LAMP + '[sitter]\nhair = "no"\n',
        's:7: sitter.hair: expected true or false; got "no"',
    ),
    "a number for no": (
        LAMP + "[sitter]\nsubsurface = 0\n",
        "s:7: sitter.subsurface: expected true or false; got 0",
    ),
    "true in quotes": (
        LAMP + '[sitter]\nhair = "True"\n',
        's:7: sitter.hair: expected true or false; got "True"; did you mean true?',
    ),
    "black skin": (
        LAMP + "[sitter]\nskin_reflectance = [0, 0, 0]\n",
        "s:7: sitter.skin_reflectance: r: expected a share from 0.01 to 0.9; got 0",
    ),
    "a light aimed at itself": (
        LAMP + "aim = [0, 1.5, 2]\n",
        "s:6: light.key.aim: is its own place; expected a point at least 0.01 metres away; got [0, 1.5, 2]",
    ),
    "a flag aimed at itself": (
        LAMP + f"[flag.a]\n{BOARD}aim = [1, 1, 1]\n",
        "s:10: flag.a.aim: is its own place; expected a point at least 0.01 metres away; got [1, 1, 1]",
    ),
    "a sheet that passes nothing": (
        HEAD + "transmittance = 1e-300\n",
        "s:8: light.key.sheet[1].transmittance: expected a share from 0.001 to 1; got 1e-300",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_fault(case: str) -> None:
    text, line = CASES[case]
    with pytest.raises(InputError) as caught:
        loads(text, "s")
    assert caught.value.lines == (line,)


def test_what_the_limits_take() -> None:
    """The longest name, names that only look like planes, and twelve skirts."""
    for name in ("k" * 40, "2nd key_light-a", "seen light", "bounced"):
        assert list(loads(LAMP.replace("key", f'"{name}"')).light) == [name]
    assert list(loads(LAMP + f"[card.patch]\n{BOARD}").card) == ["patch"]
    loads(DRUM + 12 * "[[light.key.skirt]]\ncovers = [0, 90]\n")
    loads(HEAD + "transmittance = 0.001\n")


def test_true_with_a_capital() -> None:
    with pytest.raises(InputError) as caught:
        loads(LAMP + "[sitter]\nhair = True\n", "s")
    (line,) = caught.value.lines
    assert line.startswith("s:7: not valid TOML: ") and line.endswith("; did you mean true?")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes")
def test_only_files_are_read(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    for path in (pipe, Path(os.devnull)):
        with pytest.raises(InputError) as caught:
            load(path)
        assert caught.value.lines == (f"{path}: is a device or a pipe; expected a scene file",)
    head = '[light.key]\nsource = "head"\nat = [0, 1.5, 2]\nfile = "{}"\ndiameter = 0.1\n'
    (tmp_path / "folder").mkdir()
    for name, what in ((pipe.name, "a device or a pipe"), ("folder", "a folder")):
        with pytest.raises(InputError) as caught:
            loads(head.format(name), "s", tmp_path)
        valid = "expected a photometric file (.ies or .ldt)"
        assert caught.value.lines == (f"s:4: light.key.file: {tmp_path / name}: is {what}; {valid}",)
