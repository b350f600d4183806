"""Order of the day with blanks, and what the figures rest on."""

from __future__ import annotations

from renderer import __version__
from renderer.brief.material import Material
from renderer.brief.page import Section, Table, Text
from renderer.meter.numbers import constants
from renderer.scene.caution import HEADROOM

STEPS = (
    "power",
    "walls, window",
    "boom",
    "key",
    "skirts, flags",
    "fill",
    "background",
    "edge",
    "stand-in",
    "sitter",
    "strike",
)
"""Order in which a light is set: each judged alone before they mix (common practice, no source)."""
PLAN_B = ("black-out fails", "sitter taller, bald, with glasses", "a circuit is dead", "ceiling lower")


def order_section(material: Material) -> Section:
    """Minutes and names are for the crew to fill in."""
    return Section(
        "Order, and what if",
        (
            Table(
                ("step", *STEPS),
                (("minutes", *("" for _ in STEPS)), ("who", *("" for _ in STEPS))),
                (1.0, *(1.0 for _ in STEPS)),
                blank=6.0,
                size=6.4,
            ),
            Table(
                ("if ...", *PLAN_B),
                (("then", *("" for _ in PLAN_B)),),
                (0.5, *(1.0 for _ in PLAN_B)),
                blank=9.0,
                size=6.8,
            ),
        ),
    )


def source_section(material: Material) -> Section:
    """Constants, standards, how it was traced."""
    layers, it = material.preview.layers, constants()
    texts = (
        f"Meter: {it['source']}; C = {it['C_flat']:g} (flat disc), C = {it['C_dome']:g} (dome), K ="
        f" {it['K_spot']:g} (spot)."
        " T-stop of a reading: N = sqrt(E S t / C).",
        f"Traced by halfstop {__version__}: seed {layers.seed}, {layers.passes} passes, {layers.samples}"
        " samples a pixel,"
        f" {layers.seconds:.0f} s; sitter's raw pixels ±{layers.picture_error:.3f} stop."
        " Every light is a layer of its own, so levels alone and together are from one trace."
        + (
            ""
            if layers.followed_all
            else " The picture's paths end on walls metered beforehand; readings do not."
        ),
        "Figures of stands and circuits are sums over what the scene says (NEC 210.19(A)(1), 210.20(A) for"
        " continuous"
        f" loads, United States; {HEADROOM:g} m headroom is common practice, no source). Local codes,"
        " makers' manuals and"
        " licensed practice stand above all of them.",
        "Drawings: lights, cards, flags, windows and walls to true scale; the sitter's head and shoulders"
        " by mean adult"
        " sizes; housings, camera body, trunk and legs of stands are sketched. Furniture, doors, north,"
        " sprinklers and"
        " sockets are not in the scene: draw them in.",
        "All readings, measures and the scene itself are in brief.json; tables in schedule.csv and"
        " readings.csv.",
    )
    return Section("Sources and constants", tuple(Text(text, "note") for text in texts))
