"""What the figures rest on."""

from __future__ import annotations

from renderer import __version__
from renderer.brief.material import Material
from renderer.brief.page import Section, Text
from renderer.meter.numbers import constants


def source_section(material: Material) -> Section:
    """Constants, standards, how it was traced."""
    layers, it = material.preview.layers, constants()
    texts = (
        f"Meter: {it['source']}; C = {it['C_flat']:g} (flat disc), {it['C_dome']:g} (dome), K ="
        f" {it['K_spot']:g}"
        " (spot); T-stop of a reading N = sqrt(E S t / C). Stands and circuits: sums over what the scene"
        " says; NEC"
        " 210.19(A)(1), 210.20(A), United States, for continuous loads.",
        f"Traced by halfstop {__version__}: seed {layers.seed}, {layers.passes} pass"
        f"{'es' if layers.passes != 1 else ''}, up to {layers.samples} samples a pixel,"
        f" {layers.seconds:.0f} s; the sitter's pixels ±{layers.picture_error:.3f} stop as shown (one"
        " standard error). A light is a layer: levels alone and together are of one trace. Everything is in"
        " brief.json; tables in schedule.csv and readings.csv.",
        "Drawings: lights, boards, windows and walls to true scale; head and shoulders by mean adult sizes;"
        " housings, camera body, trunk and legs of stands sketched. Furniture, doors, north, sprinklers"
        " and sockets"
        " are not in the scene: draw them in.",
    )
    return Section("Sources and constants", tuple(Text(text, "note") for text in texts), least=14.0)
