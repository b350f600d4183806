"""The brief as plain data: what stands on its pages, at the precision of a preview's numbers."""

from __future__ import annotations

from typing import Any

from renderer import __version__
from renderer.brief.contents import brief_of
from renderer.brief.kit import kit_data
from renderer.brief.material import Material
from renderer.brief.page import Brief, Figure
from renderer.brief.readings import readings_data
from renderer.brief.risk import rows
from renderer.brief.section import reaches
from renderer.meter.numbers import constants

FORMAT = 1


def data(material: Material, brief: Brief | None = None) -> dict[str, Any]:
    """For brief.json; metres, degrees, lux, cd/m2, kelvin, kilograms, watts, amperes."""
    brief = brief or brief_of(material)
    scene, camera = material.scene, material.scene.camera
    numbers = material.numbers.as_json()
    drawings = [
        {"name": block.drawing.name, "scale": block.drawing.scale}
        for section in brief.sections
        for block in section.blocks
        if isinstance(block, Figure) and block.drawing.name != "Key"
    ]
    cuts = []
    if material.key.centre is not None:
        cuts = [
            {"lit": it.lit, "edges": [{"height_m": round(cut.height, 3), "lit": cut.lit} for cut in it.cuts]}
            for it in reaches(scene, material.units, material.key)
        ]
    return {
        "format": FORMAT,
        "program": f"halfstop {__version__}",
        "title": scene.title,
        "note": scene.note,
        "camera": camera.model_dump(mode="json") | {"lux_asked_for": camera.working_lux},
        "drawings": drawings,
        "units": [unit.as_data() for unit in material.units],
        "stands": [
            {
                "support": mast.unit.support,
                "unit": mast.unit.number,
                "mast_m": [round(mast.x, 4), round(mast.y, 4)],
                "proposed": mast.proposed,
            }
            for mast in material.masts
        ],
        "direct_light_of_key_on_walls": {"order": "away from the key, then behind it", "walls": cuts},
        "readings": readings_data(material),
        "measures": numbers["measures"],
        "not_given": numbers["not_given"],
        "kit": kit_data(material),
        "rigging": material.rig.as_data(),
        "risks": [{"hazard": row[0], "here": row[1], "usual_control": row[2]} for row in rows(material)],
        "constants": constants(),
        "scene": scene.model_dump(mode="json", exclude_none=True),
    }
