"""Every wrong key or value is answered by one exact line: where, what was found, what is valid."""

from __future__ import annotations

import pytest

from renderer.errors import InputError
from renderer.scene.load import loads

LAMP = '[light.key]\nsource = "bulb"\nat = [0, 1.5, 2]\ndiameter = 0.1\nlumens = 500\n'
ROOM = "[room]\nwidth = 4\ndepth = 5\nheight = 2.4\nback_wall = 2\n"
DRUM = '[light.key]\nsource = "cylinder"\nat = [0, 1, 2]\ndiameter = 0.5\nlength = 0.4\nlumens = 500\n'
BULB_KEYS = (
    "bulb has: at, around, aim, source, purpose, dim, cct, locus, duv, colour, gel, lumens, lux_at_1m,"
    " luminance, watts, circuit, face_reflectance, housing_reflectance, diameter"
)

CASES = {
    "nothing": (
        "",
        [
            "s: light: nothing lights this scene; expected a [light.NAME], a [room.window.NAME] or"
            " [room.found]"
        ],
    ),
    "centimetres": (
        LAMP + "[sitter]\neye_height = 120\n",
        [
            "s:7: sitter.eye_height: expected metres from 0.3 to 2.5; got 120;"
            " 120 looks like centimetres: did you mean 1.2?"
        ],
    ),
    "millimetres": (
        LAMP + "[sitter]\neye_height = 1200\n",
        [
            "s:7: sitter.eye_height: expected metres from 0.3 to 2.5; got 1200;"
            " 1200 looks like millimetres: did you mean 1.2?"
        ],
    ),
    "unit in text": (
        LAMP + '[sitter]\neye_height = "1.2 m"\n',
        [
            "s:7: sitter.eye_height: expected metres from 0.3 to 2.5, written as a number;"
            ' got the text "1.2 m"; did you mean 1.2?'
        ],
    ),
    "centimetres in text": (
        LAMP + '[sitter]\neye_height = "120cm"\n',
        [
            "s:7: sitter.eye_height: expected metres from 0.3 to 2.5, written as a number;"
            ' got the text "120cm"; did you mean 1.2?'
        ],
    ),
    "number as text": (
        LAMP + "dim = true\n",
        ["s:6: light.key.dim: expected a share from 0 to 1; got true"],
    ),
    "per cent": (
        LAMP + "dim = 50\n",
        [
            "s:6: light.key.dim: expected a share from 0 to 1; got 50;"
            " 50 looks like per cent: did you mean 0.5?"
        ],
    ),
    "misspelt key": (
        LAMP.replace("diameter", "raduis"),
        [f's:4: light.key.raduis: unknown key; did you mean "diameter"? ({BULB_KEYS})'],
    ),
    "unknown key": (
        LAMP + "wattage_of_the_moon = 1\n",
        [f"s:6: light.key.wattage_of_the_moon: unknown key ({BULB_KEYS})"],
    ),
    "unknown table": (
        LAMP + "[lihgt.fill]\nx = 1\n",
        [
            's:6: lihgt: unknown key; did you mean "light"?'
            " (a scene has: title, note, room, sitter, camera, light, card, flag, breakup, mark, target,"
            " support, circuit)"
        ],
    ),
    "key of another table": (
        LAMP + "[glasses]\ntilt = 8.0\n",
        [
            "s:6: glasses: unknown key; did you mean sitter.glasses?"
            " (a scene has: title, note, room, sitter, camera, light, card, flag, breakup, mark, target,"
            " support, circuit)"
        ],
    ),
    "negative": (
        LAMP.replace("0.1", "-0.1"),
        ["s:4: light.key.diameter: expected metres from 0.001 to 10; got -0.1"],
    ),
    "not a number": (
        LAMP.replace("500", "nan"),
        [
            "s:5: light.key.lumens: expected lumens above 0 and up to 10000000;"
            " got nan, which is not a finite number"
        ],
    ),
    "infinite": (
        LAMP.replace("1.5", "-inf"),
        [
            "s:3: light.key.at: y: expected metres from -50 to 50; got -inf, which is not a finite number",
        ],
    ),
    "huge": (
        LAMP.replace("500", "1" + "0" * 400),
        [
            "s:5: light.key.lumens: expected lumens above 0 and up to 10000000;"
            " got a whole number of 401 digits"
        ],
    ),
    "short list": (
        LAMP.replace("[0, 1.5, 2]", "[0, 1.5]"),
        [
            "s:3: light.key.at: expected a point [x, y, z], metres from -50 to 50;"
            " got [0, 1.5], which has 2 values"
        ],
    ),
    "kind of light": (
        LAMP.replace('"bulb"', '"bulp"'),
        [
            's:2: light.key.source: expected "disc", "panel", "bulb", "head", "cylinder" or "diffuser";'
            ' got "bulp"; did you mean "bulb"?'
        ],
    ),
    "no kind of light": (
        LAMP.replace('source = "bulb"\n', ""),
        [
            's:1: light.key.source: missing key; expected "disc", "panel", "bulb", "head", "cylinder"'
            ' or "diffuser"'
        ],
    ),
    "light is no table": (
        'light.key = "bulb"\n',
        ['s:1: light.key: expected a table; got "bulb"'],
    ),
    "missing key": (
        LAMP.replace("diameter = 0.1\n", ""),
        ["s:1: light.key.diameter: missing key; expected metres"],
    ),
    "choice": (
        LAMP + 'purpose = "kye"\n',
        [
            's:6: light.key.purpose: expected "key", "fill", "back", "edge", "background" or "practical";'
            ' got "kye"; did you mean "key"?'
        ],
    ),
    "two levels": (
        LAMP + "lux_at_1m = 50\n",
        [
            "s:6: light.key.lux_at_1m: a second level beside lumens:"
            " expected exactly one of lumens, lux_at_1m, luminance"
        ],
    ),
    "no level": (
        LAMP.replace("lumens = 500\n", ""),
        ["s:1: light.key: has no level: expected one of lumens, lux_at_1m, luminance"],
    ),
    "two places": (
        LAMP + "around = { azimuth = 0, distance = 1, height = 2 }\n",
        ["s:6: light.key.around: its place is given twice: expected either at or around, not both"],
    ),
    "a place round the sitter given twice": (
        LAMP.replace("at = [0, 1.5, 2]", "around = { azimuth = 0, distance = 1, height = 2, elevation = 9 }"),
        [
            "s:3: light.key.around.elevation: its place is given twice: expected distance and height or"
            " elevation and radius, not distance with elevation"
        ],
    ),
    "a faulty key is not missing as well": (
        LAMP.replace("at = [0, 1.5, 2]", "around = { azimuth = 0, elevation = 95, radius = 1 }"),
        ["s:3: light.key.around.elevation: expected degrees from -90 to 90; got 95"],
    ),
    "half a circle": (
        LAMP.replace("at = [0, 1.5, 2]", "around = { azimuth = 0, elevation = 9 }"),
        [
            "s:3: light.key.around.radius: missing key; expected metres from the midpoint of the pupils to"
            " the centre; with elevation"
        ],
    ),
    "no place": (
        LAMP.replace("at = [0, 1.5, 2]\n", ""),
        ["s:1: light.key: has no place: expected at = [x, y, z] or around = { azimuth, distance, height }"],
    ),
    "a whole camera of faults": (
        LAMP + '[camera]\nlens_mm = 0.05\nshutter = 50\npicture = [640.5, 800]\nt_stop = "f/2.8"\n',
        [
            "s:7: camera.lens_mm: expected millimetres from 4 to 1200; got 0.05;"
            " 0.05 looks like metres: did you mean 50?",
            's:8: camera.shutter: expected seconds or a fraction such as "1/50"; got 50;'
            ' did you mean "1/50"?',
            "s:9: camera.picture: width: expected a whole number of pixels from 16 to 8192; got 640.5",
            's:10: camera.t_stop: expected T-stop from 0.5 to 64, written as a number; got the text "f/2.8"',
        ],
    ),
    "size of a card": (
        LAMP + "[card.fill]\nat = [1, 1, 1]\nwidth = 0.1\ndiameter = 0.1\n",
        [
            "s:6: card.fill: its size is unclear: expected width and height, or diameter alone;"
            " got width and diameter"
        ],
    ),
    "mark facing nothing": (
        LAMP + '[mark.face]\nat = "nose"\nfacing = "kee"\n',
        [
            "s:8: mark.face.facing: expected a direction [x, y, z] or one of camera, up, down, back,"
            ' camera_left, camera_right, the light "key"; got "kee"; did you mean "key"?'
        ],
    ),
    "mark facing nowhere": (
        LAMP + '[mark.face]\nat = "nose"\nfacing = [0, 0, 0]\n',
        ["s:8: mark.face.facing: expected a direction [x, y, z]; got [0, 0, 0], which points nowhere"],
    ),
    "name of a window": (
        ROOM + '[room.window.key]\nwall = "back"\ncentre = [0, 1]\nwidth = 1\nheight = 1\nlux = 10\n' + LAMP,
        ["s:12: light.key: a window has the same name: each light and each window needs its own"],
    ),
    "name of the room's own light": (
        ROOM + "[room.found]\nlux = 40\n" + LAMP.replace("key", "found"),
        ["s:8: light.found: the room's own light has the same name: each light needs its own"],
    ),
    "room's own light in the dark": (
        ROOM + "[room.found]\nlux = 0\ncct = 3000\n",
        ["s:7: room.found.lux: expected lux above 0 and up to 200000; got 0"],
    ),
    "room's own light without a level": (
        ROOM + "[room.found]\ncct = 3000\n",
        [
            "s:6: room.found.lux: missing key; expected lux; read by a dome at the face, turned to the lens,"
            " with the room's own lights alone"
        ],
    ),
    "room's own light through nothing": (
        ROOM + "[room.found]\nlux = 40\ncolour = [0, 0, 0]\n",
        ["s:8: room.found.colour: expected at least one factor above 0; got [0, 0, 0], which passes nothing"],
    ),
    "skirt is one table": (
        DRUM + "[light.key.skirt]\ncovers = [0, 90]\n",
        ["s:7: light.key.skirt: expected a list of tables, each under [[light.key.skirt]]; got a table"],
    ),
    "all closed": (
        DRUM + 'side = "closed"\nbottom = "closed"\n',
        ['s:1: light.key: side, bottom and top are all closed: expected at least one of them "open"'],
    ),
    "side level of a closed side": (
        DRUM.replace("lumens", "lux_at_1m") + 'side = "closed"\n',
        ["s:6: light.key.lux_at_1m: is measured off the side, which is closed: use lumens or luminance"],
    ),
    "meter inside the light": (
        LAMP.replace("lumens", "lux_at_1m").replace("0.1", "2.2").replace("[0, 1.5, 2]", "[0, 2.5, 3]"),
        [
            "s:5: light.key.lux_at_1m: 1 m from its middle is inside it (radius 1.1 metres);"
            " use lumens or luminance"
        ],
    ),
    "gel that passes nothing": (
        LAMP + "colour = [0, 0, 0]\n",
        ["s:6: light.key.colour: expected at least one factor above 0; got [0, 0, 0], which passes nothing"],
    ),
    "skin in per cent": (
        LAMP + "[sitter]\nskin_reflectance = 36\n",
        [
            "s:7: sitter.skin_reflectance: expected luminous reflectance from 0.01 to 0.7; got 36;"
            " 36 looks like per cent: did you mean 0.36?"
        ],
    ),
    "misspelt tone of skin": (
        LAMP + '[sitter]\nskin_reflectance = "tan"\n',
        [
            "s:7: sitter.skin_reflectance: expected very_light_46, light_37, intermediate_31, tan_22,"
            ' brown_13, dark_10, or luminous reflectance from 0.01 to 0.7; got "tan"; did you mean "tan_22"?'
        ],
    ),
    "mesh of an unknown kind": (
        LAMP + '[sitter]\nmesh = "head.fbx"\n',
        [
            "s:7: sitter.mesh: expected head, broad, slender, deep_set, round, none or a file ending in"
            ' .obj, .ply, .stl, .glb; got "head.fbx"'
        ],
    ),
    "landmarks without a mesh": (
        LAMP + "[sitter.landmarks]\nsitter_left_pupil = [1, 0, 0]\nsitter_right_pupil = [0, 0, 0]\n"
        "nose_tip = [0, 1, 0]\nchin = [0, 0, 1]\n",
        ['s:6: sitter.landmarks: only a mesh file has landmarks; mesh is "head"'],
    ),
    "several at once, in the order of the file": (
        ROOM.replace("height = 2.4\n", "")
        + '[light."soft key"]\nsource = "disc"\nat = [0, 1, 2]\ndiameter = 60\nlumens = 5\nlux_at_1m = 5\n'
        + "[card.fill]\naround = { azimuth = 10, distance = 1, hight = 1 }\ndiameter = 0.5\n"
        + "camera.iso = 0\n",
        [
            "s:1: room.height: missing key; expected metres, floor to ceiling (z)",
            's:8: light."soft key".diameter: expected metres from 0.001 to 10; got 60;'
            " 60 looks like centimetres: did you mean 0.6?",
            's:10: light."soft key".lux_at_1m: a second level beside lumens:'
            " expected exactly one of lumens, lux_at_1m, luminance",
            's:12: card.fill.around.hight: unknown key; did you mean "height"?'
            " (around has: azimuth, distance, height, elevation, radius)",
            "s:14: card.fill.camera: unknown key (card has: at, around, aim, width, height, diameter, roll,"
            " reflectance, back_reflectance, finish, roughness)",
        ],
    ),
}


def lines_of(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        loads(text, "s")
    return list(caught.value.lines)


@pytest.mark.parametrize("name", CASES)
def test_fault(name: str) -> None:
    text, expected = CASES[name]
    assert lines_of(text) == expected


def test_the_lamp_alone_is_a_scene() -> None:
    """The texts above are faulty only by what each changes."""
    assert list(loads(LAMP).light) == ["key"]
    assert list(loads(ROOM + LAMP + DRUM.replace("key", "drum")).light) == ["key", "drum"]


def test_a_mark_that_faces_a_faulty_light_is_no_fault() -> None:
    found = lines_of(LAMP.replace("500", "-5") + '[mark.m]\nat = "nose"\nfacing = "key"\n')
    assert found == ["s:5: light.key.lumens: expected lumens above 0 and up to 10000000; got -5"]
