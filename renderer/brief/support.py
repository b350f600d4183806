"""What holds the lights up, what it leaves clear, and what to look at twice; sums, no permission."""

from __future__ import annotations

from renderer.brief.material import Material
from renderer.brief.page import Block, Section, Table, Text
from renderer.brief.power import joined
from renderer.rigging import words


def support_section(material: Material) -> Section:
    """Stands, heights, cautions; the words are those of the rigging figures."""
    rig, scene = material.rig, material.scene
    blocks: list[Block] = [
        Text(joined(words.of_stand(name, scene.support[name], found)) + ".")
        for name, found in rig.stands.items()
    ]
    if not rig.stands:
        blocks.append(Text("The scene has no [support.NAME]; nothing is said of stands.", "caution"))
    for mast in material.masts:
        if mast.proposed:
            fit = (
                ""
                if mast.fits
                else "; no place with room for its feet was found, off the sitter and out of the picture"
            )
            blocks.append(
                Text(
                    f"Stand of {mast.unit.number} {mast.unit.name}: the scene says how far out the light"
                    " is, not to which"
                    f" side. The plan puts the mast at x {mast.x:+.2f}, y {mast.y:+.2f} m{fit}. As rigged:"
                    " ..............",
                    "note",
                )
            )
    numbers = {unit.path: unit.number for unit in material.units}
    rows = []
    for name, it in rig.clearances.items():
        rows.append(
            (
                f"{numbers.get(name, '')} {name.partition('.')[2]}".strip(),
                f"{it.lowest:.2f} m",
                "" if it.over_head is None else f"{it.over_head:.2f} m",
                f"{it.highest:.2f} m",
                "" if it.to_ceiling is None else f"{it.to_ceiling:.2f} m",
                "",
            )
        )
    head = ("unit", "lowest over the floor", "over the sitter's hair", "top", "to the ceiling", "as rigged")
    if rows:
        blocks.append(Table(head, tuple(rows), (1.5, 1.2, 1.2, 0.8, 1.0, 1.3), bold=()))
    blocks += [Text(f"Look twice: {text}.", "caution") for text in rig.notices]
    blocks += [Text(f"Always: {text}.") for text in rig.as_data()["who_decides"]]
    return Section("Support and clearances", tuple(blocks))
