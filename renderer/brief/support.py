"""What holds the lights up, what it leaves clear, and what to look at twice; sums, no permission."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from renderer.brief.mast import Mast
from renderer.brief.material import Material
from renderer.brief.page import WIDE, Beside, Block, Section, Table, Text
from renderer.brief.power import joined
from renderer.rigging import words
from renderer.rigging.notice import always
from renderer.rigging.stand import Stand, Tip
from renderer.scene.support import Support
from renderer.units import signed

HALF = (WIDE - 4.0) / 2.0


def support_section(material: Material) -> Section:
    """Stands, heights, cautions; the sums and the words are those of the rigging figures."""
    rig, scene = material.rig, material.scene
    blocks: list[Block] = []
    if rig.stands:
        numbers = {unit.name: unit.number for unit in material.units if unit.family == "light"}
        rows = [
            _stand(name, numbers[found.light], scene.support[name], found)
            for name, found in rig.stands.items()
        ]
        head = (
            "support", "holds", "load, out", "weight", "base line", "as rigged", "one end bare",
            "bag: has; just stands", "pull that tips it", "checked by",
        )  # fmt: skip
        blocks.append(
            Table(head, tuple(rows), (1.2, 1.1, 1.2, 1.3, 1.0, 1.3, 1.3, 1.4, 1.4, 1.2), bold=(0,), size=6.8)
        )
        text = (
            "As rigged, one end bare: N m that hold it / that tip it, to its weakest side; at 1 it goes over."
        )
        blocks.append(Text(text, "note"))
        boomed = [name for name in rig.stands if scene.support[name].boom is not None]
        blocks += [
            Text(joined(words.stand_told(name, scene.support[name], rig.stands[name])), "note")
            for name in boomed
        ]
    else:
        blocks.append(Text("The scene has no [support.NAME]; nothing is said of stands.", "caution"))
    blocks += [Text(_proposed(mast), "note") for mast in material.masts if mast.proposed]
    blocks += _clearances(material)
    blocks += _two_columns([Text(f"Look twice: {text}.", "twice") for text in grouped(rig.notices)])
    blocks += [Text(f"Always: {text}.", "note") for text in always()]
    return Section("Support and clearances", tuple(blocks))


def _stand(name: str, number: int, support: Support, found: Stand) -> tuple[str, ...]:
    counter = ""
    if support.boom is not None:
        counter = "none balances it" if found.balance is None else f"{found.balance:.1f} kg balance it"
        if support.boom.counterweight is not None:
            counter += f", {support.boom.counterweight:g} kg hang"
    bare = [
        tip for tip in (found.weakest("light off"), found.weakest("counterweight off")) if tip is not None
    ]
    weakest = min(bare, key=lambda tip: tip.margin, default=None)
    has = "none" if support.bag is None else f"{support.bag.mass:g} kg"
    needs = "?" if found.bag_to_stand is None else f"{found.bag_to_stand:.1f} kg"
    pull = "" if found.pull is None else f"{found.pull:.0f} N at {support.height:g} m"
    return (
        name, f"{number} {found.light}", f"{support.load:g} kg, {support.out:.2f} m", counter,
        f"{found.edge:.2f} m",
        _tip(found.weakest()), _tip(weakest), f"{has}; {needs}", pull, "",
    )  # fmt: skip


def _tip(tip: Tip | None) -> str:
    if tip is None:
        return ""
    if math.isinf(tip.margin):
        return "nothing tips it"
    return f"{tip.margin:.2f} ({tip.restoring:.0f} / {tip.overturning:.0f})"


def _clearances(material: Material) -> list[Block]:
    numbers = {unit.path: unit.number for unit in material.units}
    rows = []
    for name, it in material.rig.clearances.items():
        rows.append(
            (
                f"{numbers.get(name, '')} {name.partition('.')[2]}".strip(),
                f"{it.lowest:.2f} m",
                "" if it.over_head is None else f"{signed(it.over_head, 2)} m",
                f"{it.highest:.2f} m",
                "" if it.to_ceiling is None else f"{it.to_ceiling:.2f} m",
                "",
            )
        )
    if not rows:
        return []
    head = ("unit", "lowest", "over the hair", "top", "to the ceiling", "as rigged")
    tables = [
        Table(head, tuple(part), (1.5, 1.0, 1.2, 0.9, 1.2, 1.2), bold=(), size=7.0) for part in _halves(rows)
    ]
    return _side_by_side(tables)


def grouped(notices: Iterable[str]) -> list[str]:
    """Like notices as one, with all the names that they are about before it."""
    of: dict[str, list[str]] = {}
    for text in notices:
        name, _, what = text.partition(": ")
        of.setdefault(what, []).append(name)
    return [f"{', '.join(names)}{', each' * (len(names) > 1)}: {what}" for what, names in of.items()]


def _halves(several: list[Any]) -> list[list[Any]]:
    half = -(-len(several) // 2)
    return [several[:half], several[half:]] if len(several) > 3 else [several]


def _two_columns(texts: list[Text]) -> list[Block]:
    """Short lines side by side, read down the left first."""
    if len(texts) < 4:
        return [*texts]
    left, right = _halves(texts)
    return [Beside(tuple(left), tuple(right), HALF, HALF)]


def _side_by_side(tables: list[Table]) -> list[Block]:
    return [*tables] if len(tables) == 1 else [Beside((tables[0],), (tables[1],), HALF, HALF)]


def _proposed(mast: Mast) -> str:
    """Where the plan puts a mast that the scene gives no side for."""
    at = f"x {signed(mast.x, 2)}, y {signed(mast.y, 2)} m"
    misfit = "" if mast.fits else ", though its feet do not keep to the room, off the sitter and the picture"
    return (
        f"Stand of {mast.unit.number} {mast.unit.name}: the scene says how far out the light is, not to which"
        f" side. The plan puts the mast at {at}{misfit}. As rigged: .............."
    )
