"""What the sitter is made of: numbers of the materials, and how skin and eyes reflect."""

from __future__ import annotations

import numpy as np

from renderer.kernels.layout import COAT_ALPHAS
from renderer.scene.sitter import Sitter
from renderer.world.coat import even_reflectance
from renderer.world.pack import Material

SKIN, EYE, HAIR, CORNEA, IRIS, FINE_HAIR, CLOTH, FRAME = range(8)
"""Numbers of the materials of the packed mesh: EYE is the white, CORNEA the window over the iris, FINE_HAIR
brows and lashes, FRAME rim, bridge and temples of spectacles."""
EYES = (EYE, CORNEA)  # what is seen of an eye
TEAR_FILM = 1.376  # refractive index of the cornea (Gullstrand's exact eye, as quoted in optics texts)
POLISHED_INDEX = 1.5  # of the polished plastic of a frame
# Skin under its oily film: n about 1.4; a roughness of 0.2 to 0.4 over the face is from memory of Weyrich
# et al., Analysis of Human Faces using a Measurement-Based Skin Reflectance Model, 2006.
SKIN_INDEX = 1.4
SKIN_ALPHA = 0.35
PATCH_ALPHA = {
    "forehead_centre": 0.28,
    "nose_bridge": 0.26,
    "nose_tip": 0.24,
    "nose_wing": 0.26,
    "upper_lip": 0.28,
    "lower_lip": 0.25,
    "malar": 0.32,
    "chin_front": 0.32,
}
# Patches of skin by the number that their vertices carry; sitter's left and right are told by the side of y.
PATCHES = (
    *("none", "forehead_centre", "forehead_side", "temple", "brow", "upper_lid", "lower_lid", "malar"),
    *("nasolabial", "nose_bridge", "nose_tip", "nose_wing", "upper_lip", "lower_lip", "chin_front"),
    *("submental", "jaw_side", "ear", "neck_front", "neck_side", "scalp", "shoulder", "chest"),
)
# Patches that are one, across the middle of the face.
MIDDLE = (
    *("none", "forehead_centre", "nose_bridge", "nose_tip", "upper_lip", "lower_lip", "chin_front"),
    *("submental", "neck_front", "scalp", "chest"),
)
# Diffuse mean free path of skin [m], red, green, blue: from memory of Jensen & Buhler, A Rapid Hierarchical
# Rendering Technique for Translucent Materials, 2002, "skin1".
MEAN_FREE_PATH = np.array([3.67e-3, 1.37e-3, 0.68e-3])


def skin_roughness(patches: np.ndarray) -> np.ndarray:
    """(v,) GGX alpha of the skin's oily film by patch number."""
    table = np.full(len(PATCHES), SKIN_ALPHA)
    for name, alpha in PATCH_ALPHA.items():
        table[PATCHES.index(name)] = alpha
    return np.asarray(table[patches])


def sided(patches: np.ndarray, left: np.ndarray) -> np.ndarray:
    """Patch numbers with the side: negative on the sitter's right, where a patch comes in pairs.

    left  how far to the sitter's left each point lies [m]
    """
    single = np.isin(patches, [PATCHES.index(name) for name in MIDDLE])
    return np.asarray(np.where((left < 0.0) & ~single, -patches, patches))


def patch_name(number: int) -> str:
    """Of a number as `sided` gives it, in words: malar, sitter's right."""
    name = PATCHES[abs(number)].replace("_", " ")
    if PATCHES[abs(number)] in MIDDLE:
        return name
    return f"{name}, sitter's {'right' if number < 0 else 'left'}"


def palette(sitter: Sitter) -> tuple[Material, ...]:
    """Materials by number.

    d = mean free path / s(A) with s = 3.5 + 100 (A - 0.33)^4 for an albedo A: Christensen & Burley,
    Approximate Reflectance Profiles for Efficient Subsurface Scattering, 2015 (diffuse transmission).
    """
    scatter = np.zeros(3)
    if sitter.subsurface:
        albedo = np.array(sitter.skin_rgb)
        scatter = MEAN_FREE_PATH / (3.5 + 100.0 * (albedo - 0.33) ** 4)
    skin = Material(SKIN_INDEX, (float(scatter[0]), float(scatter[1]), float(scatter[2])))
    eye, bare = Material(TEAR_FILM), Material()
    frame = bare if sitter.glasses is None else Material(POLISHED_INDEX)
    return skin, eye, bare, Material(TEAR_FILM, window=True), bare, bare, bare, frame


def under_coat(reflectance: np.ndarray, alpha: np.ndarray) -> np.ndarray:
    """Albedo that the base needs, so that base and film together reflect `reflectance` under even light.

    reflectance (..., 3) and alpha (...) of the film. The inverse of `renderer.kernels.coat.evened_albedo`.
    Below the film's own reflectance (about 0.07) the base can only be black.
    """
    outside = np.interp(alpha, COAT_ALPHAS, even_reflectance(SKIN_INDEX))[..., None]
    inside = 1.0 - (1.0 - outside) / SKIN_INDEX**2
    passed = np.clip((reflectance - outside) / (1.0 - outside), 0.0, 1.0)
    return np.asarray(passed / ((1.0 - inside) + passed * inside))
