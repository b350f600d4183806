"""Names of what is measured, in the order in which a light is set: known before anything is traced."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from renderer.scene.level import STANDING

if TYPE_CHECKING:
    from renderer.scene.models import Scene

MEASURES = {
    "pattern": "shadow pattern",
    "key_from_camera": "key from camera",
    "key_from_sitter": "key from sitter",
    "key_azimuth": "key azimuth",
    "key_elevation": "key elevation",
    "broad_or_short": "broad or short",
    "angular_size": "angular size",
    "lighting_ratio": "lighting ratio",
    "key_to_fill": "key to fill",
    "ambient_lift": "ambient lift",
    "highest_ratio": "highest ratio here",
    "eye_shade": "eye shade",
    "brow_margin": "brow margin",
    "catchlights": "catchlights",
    "second_catchlight": "second catchlight",
    "catchlight_clock": "catchlight at",
    "catchlight_size": "catchlight size",
    "glare_lens": "glare on the lens",
    "glare_eye": "glare over the eye",
    "glare_pupil": "glare on the pupil",
    "glare_level": "glare re the skin behind",
    "glare_margin": "margin to glare",
    "glare_clear_from": "key elevation without glare, from",
    "nose_shadow": "nose shadow",
    "nose_shadow_clock": "nose shadow ends at",
    "under_chin": "under chin",
    "forehead": "forehead",
    "evenness": "evenness",
    "edge": "shadow edge",
    "ear_falloff": "ear to ear",
    "background": "background",
    "background_evenness": "background evenness",
    "separation": "separation",
    "rim": "edge light",
    "rim_width": "edge light width",
    "rim_on_nose": "edge light on nose",
}
"""Stems of names, and what they are called on paper."""
OF_EACH_EYE = (
    *("eye_shade", "brow_margin", "catchlight_clock", "catchlight_size"),
    *("glare_lens", "glare_eye", "glare_pupil"),
)
EYES = ("sitter_left", "sitter_right")
EDGES = ("nose", "jaw", "wall")


def measure_names(scene: Scene) -> Iterator[str]:
    """Every name that a measure of the scene can have, whether or not it comes to have a value."""
    yield from ("lighting_ratio_stops", "picture_contrast_stops")
    for stem in MEASURES:
        if stem == "angular_size":
            yield from (f"{stem}.{name}" for name in (*scene.light, *scene.windows))
        elif stem == "edge":
            yield from (f"{stem}.{name}" for name in EDGES)
        elif stem in OF_EACH_EYE:
            yield from (f"{stem}.{eye}" for eye in EYES)
        else:
            yield stem
    yield from (f"level.{name}" for name in dict.fromkeys((*STANDING, *scene.mark)))
