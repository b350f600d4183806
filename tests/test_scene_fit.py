"""What does not fit (room, head, wall, side of a drum) is answered by one exact line."""

from __future__ import annotations

import pytest

from renderer.errors import InputError
from renderer.scene.load import loads

LAMP = '[light.key]\nsource = "bulb"\nat = [0, 1.5, 2]\ndiameter = 0.1\nlumens = 500\n'
ROOM = "[room]\nwidth = 4\ndepth = 5\nheight = 2.4\nback_wall = 2\n"
DRUM = '[light.key]\nsource = "cylinder"\nat = [0, 1, 2]\ndiameter = 0.5\nlength = 0.4\nlumens = 500\n'
HEAD = (
    "expected it clear of the head (0.21 x 0.164 x 0.25 metres) and of the shoulders"
    " (0.2 x 0.436 x 0.2 metres below), eyes at [0, 0, 1.2]"
)

CASES = {
    "camera on the sitter's axis": (
        LAMP + "[camera]\nat = [0, 0, 2.2]\n",
        [
            "s:7: camera.at: the camera is right above or below the sitter, so camera left and right mean"
            " nothing; expected at least 0.01 metres to the side"
        ],
    ),
    "camera outside": (
        ROOM + LAMP + "[camera]\nat = [0, 3.5, 1.2]\n",
        ["s:12: camera.at: goes through the front wall by 0.5 metres; expected y from -2 to 3 metres"],
    ),
    "camera in the head": (
        LAMP + "[camera]\nat = [0, 0.02, 1.2]\n",
        [f"s:7: camera.at: is inside the sitter: {HEAD}"],
    ),
    "camera in a light": (
        LAMP + "[camera]\nat = [0.01, 1.51, 2]\n",
        ['s:7: camera.at: is inside the light "key"; expected a place outside it'],
    ),
    "light outside": (
        ROOM + LAMP.replace("[0, 1.5, 2]", "[-1.98, 1.5, 2.36]"),
        [
            "s:8: light.key.at: goes through the camera left wall by 0.03 and the ceiling by 0.01 metres;"
            " expected x of its centre from -1.95 to 1.95, z of its centre from 0.05 to 2.35 metres"
        ],
    ),
    "light under the floor": (
        LAMP.replace("[0, 1.5, 2]", "[0, 1.5, 0]"),
        [
            "s:3: light.key.at: goes through the floor by 0.05 metres;"
            " expected z of its centre at least 0.05 metres"
        ],
    ),
    "drop through the floor": (
        ROOM + DRUM + "[[light.key.skirt]]\ncovers = [0, 360]\ndrop = 2\n",
        [
            "s:8: light.key.at: goes through the floor by 0.2 metres;"
            " expected a size along z of at most 2.4 metres"
        ],
    ),
    "a landmark that is none": (
        LAMP + '[mark.x]\nat = "chinn"\n',
        ['s:7: mark.x.at: no landmark is called "chinn"; did you mean "chin"?'],
    ),
    "a landmark of nobody": (
        LAMP + '[sitter]\nmesh = "none"\n[mark.x]\nat = "chin"\n',
        ['s:9: mark.x.at: the sitter has no landmark "chin"; expected a point [x, y, z]'],
    ),
    "light in the head": (
        LAMP.replace("[0, 1.5, 2]", "[0, -0.02, 1.2]"),
        [
            "s:1: light.key: the sitter's eyes are inside it, at [0, 0, 1.2]",
            f"s:3: light.key.at: is inside the sitter: {HEAD}; its centre is [0, -0.02, 1.2]",
        ],
    ),
    "card in the shoulders": (
        LAMP + "[card.fill]\nat = [0.1, -0.1, 0.9]\nwidth = 0.1\nheight = 0.1\n",
        [f"s:7: card.fill.at: is inside the sitter: {HEAD}; its centre is [0.1, -0.1, 0.9]"],
    ),
    "flag outside": (
        ROOM + LAMP + "[flag.wall]\nat = [1, -1.99, 1]\naim = [1, -1.99, 9]\ndiameter = 0.4\n",
        [
            "s:12: flag.wall.at: goes through the back wall by 0.19 metres;"
            " expected y of its centre from -1.8 to 2.8 metres"
        ],
    ),
    "mark outside": (
        ROOM + LAMP + "[mark.wall]\nat = [1, -2.5, 1]\n",
        ["s:12: mark.wall.at: goes through the back wall by 0.5 metres; expected y from -2 to 3 metres"],
    ),
    "head through the ceiling": (
        ROOM + LAMP + "[sitter]\neye_height = 2.35\n",
        [
            "s:12: sitter.eye_height: the head is through the ceiling:"
            " expected at most 2.275 metres under this ceiling"
        ],
    ),
    "sitter outside the room": (
        ROOM.replace("back_wall = 2", "back_wall = 6") + LAMP,
        [
            "s:5: room.back_wall: the sitter would be outside the room:"
            " expected above 0 and below the depth, 5 metres; got 6"
        ],
    ),
    "window leaves its wall": (
        ROOM + '[room.window.w]\nwall = "back"\ncentre = [0, 2]\nwidth = 1\nheight = 1\nlux = 10\n',
        [
            "s:8: room.window.w.centre: the window leaves the back wall:"
            " expected height from 0.5 to 1.9 metres; got 2"
        ],
    ),
    "window larger than its wall": (
        ROOM + '[room.window.w]\nwall = "camera_left"\ncentre = [0, 1.2]\nwidth = 6\nheight = 1\nlux = 10\n',
        ["s:9: room.window.w.width: the camera_left wall is 5 metres there; got 6"],
    ),
    "empty skirt": (
        DRUM + "[[light.key.skirt]]\ncovers = [90, 90]\n",
        [
            "s:8: light.key.skirt[1].covers: covers nothing: to must be more than from;"
            " got [90, 90]; did you mean [90, 450]?"
        ],
    ),
    "skirt over more than a turn": (
        DRUM + "[[light.key.skirt]]\ncovers = [-90, 300]\n",
        ["s:8: light.key.skirt[1].covers: covers 390 degrees: expected at most 360; got [-90, 300]"],
    ),
    "skirt leaves the side": (
        DRUM
        + "[[light.key.skirt]]\ncovers = [0, 90]\n"
        + "[[light.key.skirt]]\ncovers = [0, 90]\nheight = [0.2, 0.6]\n",
        ["s:11: light.key.skirt[2].height: leaves the side: expected 0 to 0.4 metres; got [0.2, 0.6]"],
    ),
    "skirt upside down": (
        DRUM + "[[light.key.skirt]]\ncovers = [0, 90]\nheight = [0.3, 0.1]\n",
        ["s:9: light.key.skirt[1].height: is empty: low must be less than high; got [0.3, 0.1]"],
    ),
    "drop from the middle": (
        DRUM + "[[light.key.skirt]]\ncovers = [0, 90]\nheight = [0.1, 0.4]\ndrop = 0.1\n",
        [
            "s:10: light.key.skirt[1].drop: a drop hangs from the lower edge, but the skirt starts above it:"
            " expected height = [0, 0.4] or no drop"
        ],
    ),
}


def lines_of(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        loads(text, "s")
    return list(caught.value.lines)


@pytest.mark.parametrize("name", CASES)
def test_misfit(name: str) -> None:
    text, expected = CASES[name]
    assert lines_of(text) == expected


def test_a_fault_elsewhere_does_not_hide_what_is_outside_the_room() -> None:
    outside = LAMP.replace("light.key", "light.far").replace("1.5", "7")
    found = lines_of(ROOM + LAMP.replace("500", "-5") + outside)
    assert found == [
        "s:10: light.key.lumens: expected lumens above 0 and up to 10000000; got -5",
        "s:13: light.far.at: goes through the front wall by 4.05 metres;"
        " expected y of its centre from -1.95 to 2.95 metres",
    ]
