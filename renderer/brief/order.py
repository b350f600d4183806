"""Order of the day, and what if: blanks for the crew."""

from __future__ import annotations

from renderer.brief.page import Block, Table

STEPS = (
    "power", "walls, window", "boom", "key", "skirts, flags", "fill", "background", "edge", "stand-in",
    "sitter", "strike",
)  # fmt: skip
"""Order in which a light is set, each judged alone before they mix (common practice, no source)."""
PLAN_B = ("black-out fails", "sitter taller, bald, with glasses", "a circuit is dead", "ceiling lower")


AGAINST_GLARE = (
    "raise the key, or take it round; chin down; lift the temples off the ears, which tilts the lenses down;"
    " a flag between key and lens"
)
"""Common practice, no source."""


def order_blocks(glasses: str = "") -> tuple[Block, ...]:
    """Minutes, names and a plan for what goes wrong are for the crew to fill in.

    glasses  what the sitter's spectacles show, empty where none are worn
    """
    worn = ((f"glare in the spectacles: {glasses}", AGAINST_GLARE),) if glasses else ()
    return (
        Table(
            ("order", "minutes", "who"),
            tuple((step, "", "") for step in STEPS),
            (1.4, 0.8, 1.8),
            bold=(),
            size=7.0,
        ),
        Table(
            ("if", "then"),
            (*worn, *((what, "") for what in PLAN_B)),
            (2.0, 2.0) if worn else (1.4, 2.6),
            bold=(),
            size=7.0,
        ),
    )
