"""Rigs in the default scene's room that are hard in different ways; `equal_error` runs them.

Lights emit evenly, since that is what both programs have: a lamp behind fabric, beams and masks are left out.
"""

from __future__ import annotations

import tomllib

from renderer.assets import default_scene
from renderer.scene.load import load
from renderer.scene.models import Scene
from renderer.scene.validate import checked

KEY = {"source": "disc", "purpose": "key", "around": {"azimuth": 45, "distance": 1.1, "height": 1.8}}
CARD = {"around": {"azimuth": -55, "distance": 0.6, "height": 1.15}, "width": 0.6, "height": 0.6}
CYLINDER = {
    "source": "cylinder",
    "purpose": "key",
    "at": [0.25, 0.6, 2.0],
    "diameter": 0.55,
    "length": 0.35,
    "lumens": 1150,
    "skirt": [{"covers": [-90, 90]}],
}
SCENES = {
    "one-skirt": {"light": {"key": CYLINDER}},
    "card": {
        "light": {"key": KEY | {"diameter": 0.6, "lumens": 600}},
        "card": {"fill": CARD | {"reflectance": 0.85}},
    },
    "hard": {"light": {"key": KEY | {"diameter": 0.06, "lumens": 900}}},
    "near-wall": {
        "light": {
            "key": KEY | {"diameter": 0.6, "lumens": 600},
            "lamp": {
                "source": "bulb",
                "purpose": "background",
                "at": [-1.55, -1.2, 1.3],
                "diameter": 0.1,
                "lumens": 300,
            },
        }
    },
    "window": {
        "room": {
            "window": {
                "side": {
                    "wall": "camera_right",
                    "centre": [0.5, 1.45],
                    "width": 1.2,
                    "height": 1.2,
                    "lux": 1250,
                }
            }
        }
    },
}
"""What stands in place of the lights, cards and flags of the default scene."""


def scene_called(name: str) -> Scene:
    """The default scene or one of SCENES. Raises KeyError for another name."""
    if name == "default":
        return load(default_scene())
    data = tomllib.loads(default_scene().read_text(encoding="utf-8"))
    rig = SCENES[name]
    kept = {key: data[key] for key in ("sitter", "camera")}
    room = data["room"] | rig.get("room", {})
    scene, faults = checked(kept | rig | {"room": room}, None)
    if scene is None or faults:
        raise ValueError(f"{name}: {faults}")
    return scene
