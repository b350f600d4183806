"""The lighting brief: what a crew needs to rig a scene, as PDF, HTML and data, from a traced preview."""

from renderer.brief.material import Material
from renderer.brief.room_view import room_view
from renderer.brief.save import write_brief

__all__ = ["Material", "room_view", "write_brief"]
